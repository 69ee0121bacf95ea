"""The bed as somebody measured it: read, checked against itself, with the tolerance of each measurement."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from respcalc.cartridges.cartridge import Cartridge
from respcalc.cartridges.shapes import annular_bed, round_face, sieved_diameter
from respcalc.cartridges.tested import CartridgeTest, TestCurve
from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, DomainError, UnitsError
from respcalc.core.units import read_tolerance
from respcalc.core.vocabulary import check, read, term

__all__ = [
    "DEFAULT_CARBON",
    "PLAUSIBLE_DENSITY",
    "PLAUSIBLE_DEPTH",
    "describe_bed",
    "read_expiry",
    "read_limit",
    "read_name",
    "read_parallel",
    "read_share",
    "read_within",
]

_GEOMETRY_TOLERANCE = 0.10
PLAUSIBLE_DENSITY = (250.0, 800.0)
"""[kg/m3] of packed granular carbon (common practice, no source)."""
PLAUSIBLE_DEPTH = (0.003, 0.20)
"""[m] from a thin disc to a large canister (common practice, no source)."""
_MOST_IN_PARALLEL = 6
_MOST_TOLERANCE = 0.5  # of the value: more is no measurement

# Carbon properties a user may leave out: value (SI), source, why this value
DEFAULT_CARBON: dict[str, tuple[float, str, str]] = {
    "micropore_volume": (0.454e-3, "carbon_defaults", "typical respirator carbon, not this cartridge's"),
    "characteristic_energy": (19.7e3, "carbon_defaults", "typical respirator carbon, not this cartridge's"),
    "bulk_density": (500.0, "common_practice", "upper end of 0.40 to 0.50 g/cm3; the lower life of the range"),
    "granule_diameter": (1.3e-3, "common_practice", "coarse end of the usual 12x20 mesh; the lower life of the range"),
    "void_fraction": (0.40, "common_practice", "random packing of granules"),
}
_GEOMETRY = ("sorbent_mass", "bed_depth", "face_area", "bulk_density")
_CARBON = ("micropore_volume", "characteristic_energy", "granule_diameter", "void_fraction")
# The end of a tolerance that shortens a life whatever else holds; of the others both ends are tried.
_BAD_END = {"sorbent_mass": -1, "micropore_volume": -1, "characteristic_energy": -1, "granule_diameter": 1}
_LENGTHS = ("diameter", "inner_diameter", "outer_diameter", "bed_height")


def describe_bed(
    name: str,
    *,
    sorbent_mass: Any = None,
    bed_depth: Any = None,
    face_area: Any = None,
    bulk_density: Any = None,
    diameter: Any = None,
    inner_diameter: Any = None,
    outer_diameter: Any = None,
    bed_height: Any = None,
    micropore_volume: Any = None,
    characteristic_energy: Any = None,
    granule_diameter: Any = None,
    sieve: str | None = None,
    void_fraction: Any = None,
    in_parallel: int = 1,
    largest_share: Any = None,
    use_limit: Any = None,
    expires: dt.date | str | None = None,
    single_use: bool = False,
    test: CartridgeTest | TestCurve | Sequence[CartridgeTest | TestCurve] | None = None,
) -> Cartridge:
    """Describe a cartridge by its bed.

    The bed needs its geometry: mass, depth, face area and bulk density are tied by
    mass = area x depth x density. Give three of the four, or mass with depth or face area (the
    density default is then used and flagged). All four are checked against each other.

    Every measurement may carry its tolerance, ``"42 g ± 2 g"``: an estimate then takes the ends that last least.

    Parameters
    ----------
    name
        What the site calls the cartridge.
    sorbent_mass
        Dry carbon in one cartridge [g].
    bed_depth
        Depth of the bed along the flow [cm]; of an uneven bed its mean, with a tolerance down to its shallowest.
    face_area
        Area of the bed across the flow [cm2]; of an irregular bed its volume over its mean depth, with a
        tolerance from its smallest to its largest section.
    bulk_density
        Packed density [g/cm3]; default 0.50, flagged.
    diameter
        Of a round bed [mm], in place of the face area.
    inner_diameter, outer_diameter, bed_height
        Of a ring of carbon with the flow across it [mm], in place of face area and depth. Without tolerance.
    micropore_volume
        Micropore volume [cm3/g]; default 0.454, flagged.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]; default 19.7, flagged.
    granule_diameter
        Mean diameter of the granules [mm]; default 1.3, flagged.
    sieve
        Sieve fraction in place of the mean diameter: ``"12x20"`` or ``"0.85 mm to 1.70 mm"``.
    void_fraction
        Void between the granules [%]; default 40 %, flagged.
    in_parallel
        How many equal cartridges share the flow (2 for a pair).
    largest_share
        Share of the flow through the most loaded of them in use [%], where they do not share equally: ``"55 %"``.
        The whole set then lasts as long as that one. Tests are taken with an even split, the task with this one.
    use_limit
        Highest concentration the maker or approval allows for this cartridge [ppm], if one is stated.
    expires
        Last day of use printed on the pack, ``"2027-05-31"``.
    single_use
        Made to be discarded after the shift in which it was put on.
    test
        A breakthrough test of this very cartridge, from `describe_test` or `describe_curve` (whose foot counts), or
        several; near its conditions, and for its vapour, the margin is smaller. The bed must not be described as
        lasting longer than the test did.

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
    >>> weighed = describe_bed("round", sorbent_mass="45 g ± 1 g", diameter="76 mm ± 1 mm", bed_depth="22 mm ± 1 mm")
    >>> len(weighed.could_be)
    4
    """
    name = read_name(name)
    count = read_parallel(in_parallel)
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
    shape = {
        "diameter": diameter,
        "inner_diameter": inner_diameter,
        "outer_diameter": outer_diameter,
        "bed_height": bed_height,
    }
    tests = _read_own_tests(test)
    given, limit, share = _read_given(
        {k: v for k, v in asked.items() if v is not None},
        {k: v for k, v in shape.items() if v is not None},
        sieve,
        use_limit,
        largest_share,
        count,
    )
    data = {k: Datum(k, v[0], "given", note=_toleranced(k, v)) for k, v in given.items()}
    for key in _CARBON:
        data.setdefault(key, _default(key))
    data |= _complete_geometry(name, data, ring=inner_diameter is not None)
    bed = Cartridge(
        name=name,
        in_parallel=count,
        use_limit=limit,
        largest_share=share,
        notes=tuple(
            f"{d.quantity} of cartridge {name} is a default ({d.printed}: {d.note})"
            for d in data.values()
            if d.kind == "default"
        ),
        tests=tests,
        expires=read_expiry(expires),
        single_use=_flag("single_use", single_use),
        **data,  # type: ignore[arg-type]
    )
    loose = {k: v for k, v in given.items() if v[1] < v[0] or v[2] > v[0]}
    if not loose:
        return bed
    because = "the tolerance of " + " and of ".join(
        f"{k} ({term(k).show(v[1])} to {term(k).show(v[2])})" for k, v in loose.items()
    )
    shortening = {
        k: (v[1],) if _BAD_END.get(k) == -1 else (v[2],) if k in _BAD_END else v[1:] for k, v in loose.items()
    }
    return replace(
        bed, could_be=tuple(_ends(bed, data, shortening)), because=because,
        tolerated=tuple(_ends(bed, data, shortening | {k: v[1:] for k, v in loose.items() if k == "sorbent_mass"})),
    )  # fmt: skip


def _read_own_tests(test: Any) -> tuple[CartridgeTest, ...]:
    """Tests as given; a curve stands for the points at its foot."""
    listed = [] if test is None else list(test) if isinstance(test, (list, tuple)) else [test]
    found: list[CartridgeTest] = []
    for one in listed:
        if not isinstance(one, (CartridgeTest, TestCurve)):
            raise CartridgeError(
                f"test = {one!r:.80}: a test is needed; make one with describe_test(...) or describe_curve(...)"
            )
        found += [one] if isinstance(one, CartridgeTest) else one.tests()
    return tuple(found)


Range = tuple[float, float, float]
"""A value, and the ends of its tolerance."""


def _toleranced(key: str, value: Range) -> str:
    show = term(key).show
    return "" if value[1] == value[2] else f"given by the user as {show(value[1])} to {show(value[2])}"


def _ends(bed: Cartridge, data: dict[str, Datum], tried: Mapping[str, tuple[float, ...]]) -> list[Cartridge]:
    """The bed at every combination of the values that are tried."""
    measured = [k for k in _GEOMETRY if data[k].kind in ("given", "default")]
    made = []
    for corner in itertools.product(*tried.values()):
        ends = dict(zip(tried, corner, strict=True))
        values = {k: ends.get(k, data[k].value) for k in (*_GEOMETRY, *_CARBON)}
        derived = [k for k in _GEOMETRY if k not in measured]
        # four that were all measured may disagree a little: then each of the last two is believed in turn
        for key in derived or (["", "bulk_density"] if "bed_depth" in tried else [""]):
            solved = dict(values)
            if key:
                solved[key] = _solve(key, {k: Datum(k, values[k], "given") for k in _GEOMETRY if k != key})
            changed = {
                k: replace(data[k], value=v, note=f"an end of its tolerance, {data[k].printed} as given")
                for k, v in solved.items()
                if v != data[k].value
            }
            made.append(replace(bed, **changed))  # type: ignore[arg-type]
    return made


def read_name(name: Any) -> str:
    """Return the name of a cartridge, or refuse an empty one."""
    if not isinstance(name, str) or not name.strip():
        raise CartridgeError(f"name = {name!r}: a cartridge needs a name that the floor will recognise")
    return name.strip()


def read_parallel(in_parallel: Any) -> int:
    """Return how many share the flow, or refuse what is no such number."""
    if isinstance(in_parallel, bool) or not isinstance(in_parallel, int) or not 1 <= in_parallel <= _MOST_IN_PARALLEL:
        raise CartridgeError(
            f"in_parallel = {in_parallel!r}: a whole number from 1 to {_MOST_IN_PARALLEL} is needed (2 for a pair)"
        )
    return in_parallel


def read_limit(use_limit: Any) -> Datum | None:
    """Highest concentration that the maker or the approval allows [ppm], if one is stated."""
    if use_limit is None:
        return None
    value = read("volume_fraction", use_limit, as_argument="use_limit")
    if np.ndim(value):
        raise CartridgeError("use_limit: a list of values; a cartridge has one, so describe each apart")
    return Datum("volume_fraction", float(value), "given", label="use_limit of cartridge")


def read_expiry(expires: Any) -> dt.date | None:
    """Return the last day of use that is printed on the pack."""
    if expires is None or (isinstance(expires, dt.date) and not isinstance(expires, dt.datetime)):
        return expires
    try:
        return dt.date.fromisoformat(expires)
    except (TypeError, ValueError):
        raise CartridgeError(
            f'expires = {expires!r:.80}: the date on the pack is needed as "2027-05-31"; where only a month is '
            "printed, its last day"
        ) from None


def _flag(name: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise CartridgeError(f"{name} = {value!r}: True or False is needed")
    return value


def read_share(largest_share: Any, count: int) -> Datum | None:
    """Share of the flow through the most loaded of *count*; None where they share equally."""
    if largest_share is None:
        return None
    if isinstance(largest_share, str) and "±" in largest_share:
        raise CartridgeError(
            f'largest_share = {largest_share!r}: no tolerance is read here; give the largest that occurs, "55 %"'
        )
    share = float(read("flow_share", largest_share, as_argument="largest_share"))
    if not 1.0 / count - 1e-9 <= share <= 1.0 or count == 1:
        raise CartridgeError(
            f"largest_share = {100 * share:.4g} %: with in_parallel = {count} the most loaded takes from "
            f"{100 / count:.4g} % to 100 % of the flow" + ("; leave it out for one cartridge" if count == 1 else "")
        )
    return Datum(
        "flow_share", share, "given", label="largest share of the flow", note="through the most loaded of the set"
    )


def _read_given(
    asked: dict[str, Any], shape: dict[str, Any], sieve: str | None, use_limit: Any, largest_share: Any, count: int
) -> tuple[dict[str, Range], Datum | None, Datum | None]:
    """Read the bed and what goes with it; every fault of a unit in one error."""
    problems: list[str] = []
    lists = [
        k
        for k, v in {**asked, **shape, "largest_share": largest_share}.items()
        if isinstance(v, list) or (np.ndim(getattr(v, "magnitude", 0)) > 0)
    ]
    if lists:
        raise CartridgeError(f"{', '.join(lists)}: a list of values; a cartridge has one, so describe each apart")
    read_off: dict[str, tuple[float, float]] = {}
    for key, value in {**asked, **shape}.items():
        try:
            read_off[key] = read_tolerance(key, "length" if key in _LENGTHS else term(key).family, value)
        except ValueError as error:
            problems.append(str(error))
    limit, share = None, None
    try:
        limit = read_limit(use_limit)
    except UnitsError as error:
        problems += error.problems
    try:
        share = read_share(largest_share, count)
    except UnitsError as error:
        problems += error.problems
    if problems:
        raise UnitsError(problems)
    given = {k: read_within(k, *v) for k, v in read_off.items() if k not in _LENGTHS}
    for key, value in read_off.items():
        if key in _LENGTHS and not value[0] > 0:
            raise DomainError(f"{key} = {1e3 * value[0]:g} mm: a length above 0 is needed")
        if key in _LENGTHS and value[1] > _MOST_TOLERANCE / 2 * value[0]:
            raise CartridgeError(
                f"{key} = {1e3 * value[0]:g} mm ± {1e3 * value[1]:g} mm: a tolerance of more than "
                f"{_MOST_TOLERANCE / 2:.0%} is no measurement of a length; measure again"
            )
    _add_shape(given, read_off)
    if sieve is not None:
        if "granule_diameter" in given:
            raise CartridgeError(
                "granule_diameter, sieve: both are given; the mean diameter says more, so leave out sieve"
            )
        given["granule_diameter"] = read_within("granule_diameter", *sieved_diameter(sieve))
    return given, limit, share


def _add_shape(given: dict[str, Range], shape: dict[str, tuple[float, float]]) -> None:
    """Turn diameters into a face area, and for a ring into a depth too."""
    ring = [k for k in ("inner_diameter", "outer_diameter", "bed_height") if k in shape]
    if "diameter" in shape:
        if ring or "face_area" in given:
            raise CartridgeError("diameter: it stands for the face_area of a round bed; give one of them, and no ring")
        given["face_area"] = round_face(*shape["diameter"])
    if not ring:
        return
    if len(ring) < 3 or "face_area" in given or "bed_depth" in given:
        raise CartridgeError(
            f"{', '.join(ring)}: a ring of carbon needs inner_diameter, outer_diameter and bed_height, and neither "
            "face_area nor bed_depth"
        )
    if any(shape[k][1] for k in ring):
        raise CartridgeError(
            f"{', '.join(k for k in ring if shape[k][1])}: no tolerance is read for a ring; give the smaller outer and "
            "the larger inner diameter that you found"
        )
    area, depth = annular_bed(*(shape[k][0] for k in ("inner_diameter", "outer_diameter", "bed_height")))
    given["face_area"], given["bed_depth"] = (area, area, area), (depth, depth, depth)


def read_within(key: str, value: float, half: float) -> Range:
    """Value and the ends of its tolerance (SI), each of them possible, or refuse what is no measurement."""
    check(key, value)
    if half > _MOST_TOLERANCE * value:
        show = term(key).show
        raise CartridgeError(
            f"{key} = {show(value)} ± {show(half)}: a tolerance of more than {_MOST_TOLERANCE:.0%} is no measurement; "
            "measure again, or leave it out where a default is offered"
        )
    for end in (value - half, value + half):
        check(key, end, as_argument=f"{key} at the end of its tolerance")
    return value, value - half, value + half


def _default(key: str) -> Datum:
    value, source, why = DEFAULT_CARBON[key]
    return Datum(key, value, "default", source, note=why)


def _complete_geometry(name: str, data: dict[str, Datum], ring: bool = False) -> dict[str, Datum]:
    """Fill in the missing one of mass, depth, area and density, or check all four."""
    geometry = {k: data[k] for k in _GEOMETRY if k in data}
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
        missing = next(k for k in _GEOMETRY if k not in geometry)
        geometry[missing] = Datum(
            missing, _solve(missing, geometry), "computed", note="from mass = area x depth x density"
        )
    if ring:
        outer = "of the outer face, taken throughout: the ring then has no more transfer units than it has"
        geometry["face_area"] = replace(geometry["face_area"], note=outer)
        geometry["bed_depth"] = replace(geometry["bed_depth"], note="volume of the ring over its outer face")
    for key, bounds, what in (
        ("bulk_density", PLAUSIBLE_DENSITY, "packed carbon has"),
        ("bed_depth", PLAUSIBLE_DEPTH, "beds of cartridges and canisters have"),
    ):
        _refuse_implausible(name, geometry, key, bounds, what)
    for key in _GEOMETRY:
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
