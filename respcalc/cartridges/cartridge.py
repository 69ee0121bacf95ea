"""A cartridge as a bed of carbon: mass, geometry, carbon, and how many share the flow."""

from __future__ import annotations

from dataclasses import dataclass, fields
from html import escape
from typing import Any

import numpy as np

from respcalc.cartridges.tested import CartridgeTest
from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, UnitsError
from respcalc.core.vocabulary import check, read, read_all, term
from respcalc.prediction import Bed

__all__ = ["Cartridge", "describe_bed"]

_GEOMETRY_TOLERANCE = 0.10
_PLAUSIBLE_DENSITY = (250.0, 800.0)  # [kg/m3] packed granular carbon, common practice, no source
_PLAUSIBLE_DEPTH = (0.003, 0.20)  # [m] from a thin disc to a large canister, common practice, no source
_MOST_IN_PARALLEL = 6

# Carbon properties a user may leave out: value (SI), source, why this value
_DEFAULTS: dict[str, tuple[float, str, str]] = {
    "micropore_volume": (0.454e-3, "carbon_defaults", "typical respirator carbon, not this cartridge's"),
    "characteristic_energy": (19.7e3, "carbon_defaults", "typical respirator carbon, not this cartridge's"),
    "bulk_density": (500.0, "common_practice", "upper end of 0.40 to 0.50 g/cm3; the lower life of the range"),
    "granule_diameter": (1.3e-3, "common_practice", "coarse end of the usual 12x20 mesh; the lower life of the range"),
    "void_fraction": (0.40, "common_practice", "random packing of granules"),
}
_OPTIONAL_CARBON = tuple(_DEFAULTS)


@dataclass(frozen=True)
class Cartridge:
    """One sorbent bed and the number of equal beds that share the breathing flow.

    Make one with `describe_bed`, which reads units and checks the geometry.
    """

    name: str
    sorbent_mass: Datum
    bed_depth: Datum
    face_area: Datum
    bulk_density: Datum
    micropore_volume: Datum
    characteristic_energy: Datum
    granule_diameter: Datum
    void_fraction: Datum
    in_parallel: int
    use_limit: Datum | None = None
    notes: tuple[str, ...] = ()
    test: CartridgeTest | None = None

    def flow_share(self, flow_rate: float) -> float:
        """Flow through one bed [m3/s] when the wearer or blower draws *flow_rate* in all."""
        return flow_rate / self.in_parallel

    def bed(self, flow_rate: Any, water_share: Any = 0.0) -> Bed:
        """One bed in floats, with its share of *flow_rate* [m3/s] and the water on it before use."""
        return Bed(
            flow_rate=self.flow_share(1.0) * flow_rate,
            sorbent_mass=self.sorbent_mass.value,
            face_area=self.face_area.value,
            bulk_density=self.bulk_density.value,
            granule_diameter=self.granule_diameter.value,
            void_fraction=self.void_fraction.value,
            micropore_volume=self.micropore_volume.value,
            characteristic_energy=self.characteristic_energy.value,
            water_share=water_share,
        )

    def data(self) -> tuple[Datum, ...]:
        """Every value of the bed with its origin."""
        values = (getattr(self, f.name) for f in fields(self))
        return tuple(v for v in values if isinstance(v, Datum))

    def as_dict(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "in_parallel": self.in_parallel,
            "values": [d.as_dict() for d in self.data()],
            "notes": list(self.notes),
            "test": None if self.test is None else str(self.test),
        }

    def _lines(self) -> list[tuple[str, str]]:
        beds = f"{self.in_parallel} in parallel" if self.in_parallel > 1 else "one bed takes the whole flow"
        lines = [(d.name, f"{d.printed}  ({d.note or d.origin})") for d in self.data()] + [("beds", beds)]
        return lines + ([("own test", str(self.test))] if self.test else [])

    def __str__(self) -> str:
        return "\n".join([f"cartridge {self.name}", *(f"  {k:<22} {v}" for k, v in self._lines())])

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><th>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in self._lines())
        return f"<table><caption>cartridge {escape(self.name)}</caption>{rows}</table>"


def describe_bed(
    name: str,
    *,
    sorbent_mass: Any = None,
    bed_depth: Any = None,
    face_area: Any = None,
    bulk_density: Any = None,
    micropore_volume: Any = None,
    characteristic_energy: Any = None,
    granule_diameter: Any = None,
    void_fraction: Any = None,
    in_parallel: int = 1,
    use_limit: Any = None,
    test: CartridgeTest | None = None,
) -> Cartridge:
    """Describe a cartridge by its bed.

    The bed needs its geometry: mass, depth, face area and bulk density are tied by
    mass = area x depth x density. Give three of the four, or mass with depth or face area (the
    density default is then used and flagged). All four are checked against each other.

    Parameters
    ----------
    name
        What the site calls the cartridge.
    sorbent_mass
        Dry carbon in one cartridge [g].
    bed_depth
        Depth of the bed along the flow [cm].
    face_area
        Area of the bed across the flow [cm2].
    bulk_density
        Packed density [g/cm3]; default 0.50, flagged.
    micropore_volume
        Micropore volume [cm3/g]; default 0.454, flagged.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]; default 19.7, flagged.
    granule_diameter
        Mean diameter of the granules [mm]; default 1.3, flagged.
    void_fraction
        Void between the granules [%]; default 40 %, flagged.
    in_parallel
        How many equal cartridges share the flow (2 for a pair).
    use_limit
        Highest concentration the maker or approval allows for this cartridge [ppm], if one is stated.
    test
        A breakthrough test of this very cartridge, from `describe_test`; near its conditions, and for its
        vapour, the margin is smaller. The bed must not be described as lasting longer than the test did.

    Returns
    -------
    Cartridge

    Raises
    ------
    UnitsError
        A unit is missing or of the wrong kind; all bad arguments are listed.
    DomainError
        A value is not physical.
    CartridgeError
        Too little is given, or mass, area, depth and density contradict each other.

    Examples
    --------
    >>> pair = describe_bed("pair of 45 g", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
    >>> pair.bulk_density.printed
    '0.4546 g/cm3'
    """
    if not isinstance(name, str) or not name.strip():
        raise CartridgeError(f"name = {name!r}: a cartridge needs a name that the floor will recognise")
    if isinstance(in_parallel, bool) or not isinstance(in_parallel, int) or not 1 <= in_parallel <= _MOST_IN_PARALLEL:
        raise CartridgeError(
            f"in_parallel = {in_parallel!r}: a whole number from 1 to {_MOST_IN_PARALLEL} is needed (2 for a pair)"
        )
    asked = {
        "sorbent_mass": sorbent_mass,
        "bed_depth": bed_depth,
        "face_area": face_area,
        "bulk_density": bulk_density,
        "micropore_volume": micropore_volume,
        "characteristic_energy": characteristic_energy,
        "granule_diameter": granule_diameter,
        "void_fraction": void_fraction,
    }
    if test is not None and not isinstance(test, CartridgeTest):
        raise CartridgeError(f"test = {test!r}: a CartridgeTest is needed; make one with describe_test(...)")
    given, limit = _read_given({k: v for k, v in asked.items() if v is not None}, use_limit)
    data = {k: Datum(k, v, "given") for k, v in given.items()}
    for key in ("micropore_volume", "characteristic_energy", "granule_diameter", "void_fraction"):
        data.setdefault(key, _default(key))
    data |= _complete_geometry(name, data)
    return Cartridge(
        name=name.strip(),
        in_parallel=in_parallel,
        use_limit=None if limit is None else Datum("volume_fraction", limit, "given", label="use_limit of cartridge"),
        notes=tuple(
            f"{d.quantity} of cartridge {name.strip()} is a default ({d.printed}: {d.note})"
            for d in data.values()
            if d.kind == "default"
        ),
        test=test,
        **data,
    )


def _read_given(asked: dict[str, Any], use_limit: Any) -> tuple[dict[str, float], float | None]:
    """Read the bed and the use limit; every fault of a unit in one error."""
    given: dict[str, Any] = {}
    problems: list[str] = []
    try:
        given = read_all(asked)
    except UnitsError as error:
        problems += error.problems
    limit = None
    if use_limit is not None:
        try:
            limit = read("volume_fraction", use_limit, as_argument="use_limit")
        except UnitsError as error:
            problems += error.problems
    if problems:
        raise UnitsError(problems)
    lists = [k for k, v in {**given, "use_limit": limit}.items() if np.ndim(v)]
    if lists:
        raise CartridgeError(f"{', '.join(lists)}: a list of values; a cartridge has one, so describe each apart")
    return {k: float(v) for k, v in given.items()}, None if limit is None else float(limit)


def _default(key: str) -> Datum:
    value, source, why = _DEFAULTS[key]
    return Datum(key, value, "default", source, note=why)


def _complete_geometry(name: str, data: dict[str, Datum]) -> dict[str, Datum]:
    """Fill in the missing one of mass, depth, area and density, or check all four."""
    keys = ("sorbent_mass", "bed_depth", "face_area", "bulk_density")
    geometry = {k: data[k] for k in keys if k in data}
    if len(geometry) == 2 and "bulk_density" not in geometry and "sorbent_mass" in geometry:
        geometry["bulk_density"] = _default("bulk_density")
    if len(geometry) < 3:
        have = ", ".join(geometry) or "nothing"
        raise CartridgeError(
            f"cartridge {name}: the bed is not described well enough (given: {have}). Give the sorbent_mass with "
            "face_area or bed_depth, or three of sorbent_mass, bed_depth, face_area, bulk_density; for example "
            'sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm"'
        )
    if len(geometry) == 4:
        expected = geometry["face_area"].value * geometry["bed_depth"].value * geometry["bulk_density"].value
        mass = geometry["sorbent_mass"].value
        if abs(expected - mass) > _GEOMETRY_TOLERANCE * mass:
            shown = " x ".join(geometry[k].printed for k in ("face_area", "bed_depth", "bulk_density"))
            raise CartridgeError(
                f"cartridge {name}: the bed contradicts itself. {shown} is {term('sorbent_mass').show(expected)}, but "
                f"sorbent_mass is {geometry['sorbent_mass'].printed} (allowed difference "
                f"{_GEOMETRY_TOLERANCE:.0%}). Measure again, or leave out the least certain of the four"
            )
    else:
        missing = next(k for k in keys if k not in geometry)
        geometry[missing] = Datum(
            missing, _solve(missing, geometry), "computed", note="from mass = area x depth x density"
        )
    for key, bounds, what in (
        ("bulk_density", _PLAUSIBLE_DENSITY, "packed carbon has"),
        ("bed_depth", _PLAUSIBLE_DEPTH, "beds of cartridges and canisters have"),
    ):
        _refuse_implausible(name, geometry, key, bounds, what)
    for key in keys:
        check(key, geometry[key].value)
    return geometry


def _refuse_implausible(
    name: str, geometry: dict[str, Datum], key: str, bounds: tuple[float, float], what: str
) -> None:
    """Refuse what only a slip in a unit can explain."""
    found, show = geometry[key], term(key).show
    if bounds[0] <= found.value <= bounds[1]:
        return
    others = {k: d for k, d in geometry.items() if k != key}
    made = ""
    if found.kind != "given":
        made = f" (from {', '.join(f'{k} {d.printed}' for k, d in others.items())})"
    raise CartridgeError(
        f"cartridge {name}: {key} is {found.printed}{made}; {what} {show(bounds[0])} to {show(bounds[1])}. Check the "
        "numbers and units of sorbent_mass, face_area, bed_depth and bulk_density"
    )


def _solve(missing: str, geometry: dict[str, Datum]) -> float:
    value = {k: d.value for k, d in geometry.items()}
    if missing == "sorbent_mass":
        return value["face_area"] * value["bed_depth"] * value["bulk_density"]
    rest = 1.0
    for key in ("face_area", "bed_depth", "bulk_density"):
        if key != missing:
            rest *= value[key]
    return value["sorbent_mass"] / rest
