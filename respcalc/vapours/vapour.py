"""The vapour: identity, properties with their origin, exposure limits; how to find or define one."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty, UnitsError, UnknownVapour
from respcalc.core.vocabulary import check, read
from respcalc.vapours import composition
from respcalc.vapours.curves import Curve
from respcalc.vapours.given import GivenProperties, read_points
from respcalc.vapours.identity import check_cas, identify, listed
from respcalc.vapours.limits import ExposureLimits, Limit, LimitKind, limits_of
from respcalc.vapours.properties import ListedProperties
from respcalc.vapours.water import WaterMixing

__all__ = ["Vapour", "define_vapour", "find_vapour", "vapour_key"]

_ROOM = 298.15

# what stands beside the name of a substance without making it another one
_QUALIFIERS = re.compile(
    r"\b(?:gas|gaseous|vapou?r|fumes?|fuming|anhydrous|aqueous|aq|solution|liquid|elemental|metallic|pure|technical|"
    r"hydrate|concentrated|conc|dilute)\b\.?|\d+(?:\.\d+)? ?%|\([^)]*\)",
    re.IGNORECASE,
)

PROPERTIES = (
    "molar_mass",
    "boiling_point",
    "saturation_pressure",
    "liquid_density",
    "refractive_index",
    "molar_polarization",
    "diffusion_volume",
)


@dataclass(frozen=True)
class Vapour:
    """One substance in the air. Made by `find_vapour` or `define_vapour`; compared by value.

    Properties are looked up when first asked for. Each is a `Datum`: value in SI, kind, source.
    """

    name: str
    cas: str
    formula: str
    limits: ExposureLimits
    properties: ListedProperties | GivenProperties

    # --- identity

    @property
    def elements(self) -> dict[str, int]:
        """Atoms by element; empty when the formula is not known."""
        return dict(self.properties.elements)

    @property
    def not_physically_adsorbed(self) -> str:
        """Why plain carbon is not to be used; empty for the usual vapour."""
        return self.properties.not_physically_adsorbed

    @property
    def mixes_with_water(self) -> bool | None:
        """Whether its liquid mixes with water in all proportions at 20 to 25 degC; None when not known.

        Every listed vapour has an answer. Partly soluble is a no.
        """
        return self.water_mixing.mixes

    @property
    def water_mixing(self) -> WaterMixing:
        """The fact behind `mixes_with_water`, with its origin."""
        return self.properties.water_mixing

    # --- properties that do not depend on temperature

    @property
    def molar_mass(self) -> Datum:
        return self.properties.molar_mass

    @property
    def boiling_point(self) -> Datum:
        return self.properties.boiling_point

    @property
    def refractive_index(self) -> Datum:
        """Refractive index of the liquid at the sodium D line.

        Raises
        ------
        MissingProperty
            Not listed, with how to give it.
        """
        return self.properties.refractive_index

    @property
    def molar_polarization(self) -> Datum:
        """Molar electronic polarization, from refractive index and density at one temperature.

        Raises
        ------
        MissingProperty
            What it needs is not listed, with how to give it.
        """
        return self.properties.molar_polarization

    @property
    def diffusion_volume(self) -> Datum:
        return self.properties.diffusion_volume

    @property
    def property_notes(self) -> tuple[str, ...]:
        """Warnings about the properties: sources that disagree, estimates, values from memory."""
        return self.properties.notes

    # --- properties at a temperature

    def saturation_pressures(self, temperature_K: Any) -> Any:
        """Vapour pressure [Pa] at temperatures [K] from -20 to 60 degC; float or array, as given.

        Raises
        ------
        DomainError
            Outside -20 to 60 degC.
        MissingProperty
            No source reaches this temperature.
        """
        return self.properties.saturation(temperature_K)

    def saturation_pressure(self, temperature_K: float) -> Datum:
        """Vapour pressure at one temperature [K], with its origin."""
        return self._at("saturation_pressure", self.properties.saturation, temperature_K)

    def liquid_densities(self, temperature_K: Any) -> Any:
        """Liquid density [kg/m3] at temperatures [K] from -20 to 60 degC; float or array, as given.

        Raises
        ------
        DomainError
            Outside -20 to 60 degC.
        MissingProperty
            Not listed, with how to give it.
        """
        return self.properties.density(temperature_K)

    def liquid_density(self, temperature_K: float) -> Datum:
        """Liquid density at one temperature [K], with its origin."""
        return self._at("liquid_density", self.properties.density, temperature_K)

    @staticmethod
    def _at(quantity: str, curve: Curve, temperature: float) -> Datum:
        value = curve(float(temperature))
        part = curve.stretch(float(temperature))
        note = "; ".join(filter(None, (f"at {temperature - 273.15:.2f} degC", part.note)))
        return Datum(quantity, value, part.kind, part.source, part.locator, note)

    # --- everything at once

    def datum(self, quantity: str, temperature_K: float = _ROOM) -> Datum:
        """One property by its name, at one temperature [K] where it depends on it."""
        if quantity in ("saturation_pressure", "liquid_density"):
            value: Datum = getattr(self, quantity)(temperature_K)
        else:
            value = getattr(self, quantity)
        return value

    def data(self, temperature_K: float = _ROOM) -> tuple[Datum, ...]:
        """Every property that is known, at one temperature [K]; missing ones are left out."""
        found: list[Datum] = []
        for quantity in PROPERTIES:
            try:
                found.append(self.datum(quantity, temperature_K))
            except MissingProperty:
                continue
        return tuple(found)

    def as_dict(self, temperature_K: float = _ROOM) -> dict[str, Any]:
        """Plain numbers and text with the unit beside each number, ready for JSON."""
        return {
            "name": self.name,
            "cas": self.cas,
            "formula": self.formula,
            "temperature": {"value": round(temperature_K - 273.15, 6), "unit": "degC"},
            "properties": [datum.as_dict() for datum in self.data(temperature_K)],
            "mixes_with_water": self.water_mixing.as_dict(),
            "property_notes": list(self.property_notes),
            "exposure_limits": self.limits.as_dict(),
        }

    def with_limit(self, value: Any, *, authority: str, kind: LimitKind = "TWA", averaging: str = "") -> Vapour:
        """Return the same vapour with one more exposure limit.

        Parameters
        ----------
        value
            The limit [ppm]; text with its unit, or a quantity.
        authority
            Who sets it, as it is to be printed.
        kind
            ``"TWA"``, ``"STEL"``, ``"ceiling"`` or ``"peak"``.
        averaging
            Averaging time, in words.
        """
        limit = _own_limit(value, authority, kind, averaging)
        return replace(self, limits=replace(self.limits, limits=(*self.limits.limits, limit)))

    def __hash__(self) -> int:
        return hash((self.name, self.cas, self.formula, self.limits, self.properties))

    def __reduce__(self) -> tuple[Any, ...]:
        # Without the caches: small, and independent of the version of the property library.
        own = replace(self.properties)
        return Vapour, (self.name, self.cas, self.formula, self.limits, own)

    def __str__(self) -> str:
        number = f" (CAS {self.cas})" if self.cas else ""
        return f"{self.name}{number}, {self.molar_mass.printed}, boils at {self.boiling_point.printed}"

    def __repr__(self) -> str:
        return f"<Vapour {self}>"

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><td>{html.escape(d.name.replace('_', ' '))}</td><td style='text-align:right'>{html.escape(d.printed)}"
            f"</td><td>{html.escape(d.kind)}</td><td>{html.escape(d.origin)}</td></tr>"
            for d in self.data()
        )
        water = self.water_mixing
        rows += (
            f"<tr><td>mixes with water</td><td style='text-align:right'>{water.printed}</td>"
            f"<td>{water.as_dict()['kind']}</td><td>{html.escape('; '.join(filter(None, (water.origin, water.note))))}"
            "</td></tr>"
        )
        limits = "".join(f"<li>{html.escape(str(limit))}</li>" for limit in self.limits)
        notes = "".join(f"<li>{html.escape(note)}</li>" for note in self.property_notes)
        return (
            f"<b>{html.escape(self.name)}</b> CAS {html.escape(self.cas or 'not given')}, at 25 degC<table>"
            f"<tr><th>property</th><th>value</th><th>kind</th><th>origin</th></tr>{rows}</table>"
            f"<ul>{limits}</ul><ul>{notes}</ul>"
        )


@lru_cache(maxsize=4096)
def _listed_vapour(cas: str, estimate_missing: bool) -> Vapour:
    item = listed()[cas]
    properties = ListedProperties(
        item.name, cas, item.formula, item.groups, item.not_physically_adsorbed, estimate_missing
    )
    return Vapour(item.name, cas, item.formula, limits_of(cas), properties)


def find_vapour(name_or_cas: str, *, estimate_missing: bool = False) -> Vapour:
    """Find a vapour by exact name, listed synonym or CAS number.

    Nothing is guessed: a name that could mean two substances, a product, a formula or a mistyped
    CAS number is refused with what to write instead.

    Parameters
    ----------
    name_or_cas
        Such as ``"toluene"``, ``"MEK"`` or ``"108-88-3"``.
    estimate_missing
        Fill a refractive index or density that no source lists with a low estimate, marked as
        predicted, instead of refusing when it is needed.

    Returns
    -------
    Vapour
        The same object for the same substance, so that its properties are looked up once.

    Raises
    ------
    UnknownVapour
        With the nearest names, or the choices.

    Examples
    --------
    >>> find_vapour("MEK").name
    '2-butanone'
    >>> print(find_vapour("108-88-3"))
    toluene (CAS 108-88-3), 92.14 g/mol, boils at 110.6 degC
    """
    return _listed_vapour(identify(name_or_cas).cas, bool(estimate_missing))


def _own_limit(value: Any, authority: str | None, kind: LimitKind, averaging: str = "") -> Limit:
    if not authority or not str(authority).strip():
        raise DomainError('limit_authority is missing: name who sets the exposure limit, such as "company limit 2025"')
    if kind not in ("TWA", "STEL", "ceiling", "peak"):
        raise DomainError(f"kind = {kind!r} is not a kind of limit; it is one of TWA, STEL, ceiling, peak")
    number = float(read("exposure_limit", value))
    return Limit(str(authority), kind, Datum("exposure_limit", number, "given", label=f"{authority} {kind}"), averaging)


def _read_into(numbers: dict[str, float], problems: list[str], fields: dict[str, tuple[str, Any]]) -> None:
    for argument, (word, value) in fields.items():
        try:
            numbers[argument] = float(read(word, value, as_argument=argument))
        except (UnitsError, DomainError) as error:
            problems.append(str(error))


def define_vapour(
    name: str,
    *,
    molar_mass: Any = None,
    boiling_point: Any = None,
    saturation_pressure: Any = None,
    saturation_temperature: Any = None,
    liquid_density: Any = None,
    liquid_density_temperature: Any = "20 degC",
    refractive_index: Any = None,
    molar_polarization: Any = None,
    cas: str = "",
    formula: str = "",
    mixes_with_water: bool | None = None,
    exposure_limit: Any = None,
    limit_authority: str | None = None,
    limit_kind: LimitKind = "TWA",
    idlh: Any = None,
) -> Vapour:
    """Describe a vapour that the list does not have, or whose figures you know better.

    Parameters
    ----------
    name
        As it is to be printed.
    molar_mass
        Molar mass [g/mol].
    boiling_point
        Normal boiling point [degC].
    saturation_pressure
        Vapour pressure [kPa]: one value, with `saturation_temperature`, or a mapping such as
        ``{"20 degC": "2.9 kPa", "40 degC": "7.9 kPa"}`` with two points or more.
    saturation_temperature
        Temperature of a single `saturation_pressure` [degC].
    liquid_density
        Density of the liquid [g/cm3].
    liquid_density_temperature
        Its temperature [degC].
    refractive_index, molar_polarization
        Refractive index of the liquid at the sodium D line at the temperature of the density, or
        the molar polarization itself [cm3/mol]. One of the two.
    cas, formula
        Optional; checked against the molar mass.
    mixes_with_water
        True if the liquid mixes with water in all proportions at room temperature (the data sheet
        says "miscible"), False if it dissolves in part or hardly. Left out: not known.
    exposure_limit, limit_authority, limit_kind
        Optional limit [ppm], who sets it, and its kind.
    idlh
        Optional concentration immediately dangerous to life or health [ppm].

    Returns
    -------
    Vapour
        Its properties are marked as given.

    Raises
    ------
    UnitsError
        Missing or unreadable fields, all at once.
    DomainError
        Figures that contradict each other.
    UnknownVapour
        Name or number is that of a substance that organic-vapour cartridges are not planned for.

    Examples
    --------
    >>> v = define_vapour("solvent X", molar_mass="100 g/mol", boiling_point="110 degC",
    ...     saturation_pressure="3.0 kPa", saturation_temperature="20 degC",
    ...     liquid_density="0.85 g/cm3", refractive_index=1.40)
    >>> v.saturation_pressure(298.15).kind
    'given'
    """
    if not isinstance(name, str) or not name.strip():
        raise DomainError("name is empty; give the vapour the name that is to be printed")
    if not isinstance(cas, str):
        raise DomainError(f'cas = {cas!r}: the CAS number is text, such as cas="108-88-3"')
    _refuse_disguise(name, cas)
    problems = [
        f"{argument} is missing; write for example {argument}={example}"
        for argument, value, example in (
            ("molar_mass", molar_mass, '"92.1 g/mol"'),
            ("boiling_point", boiling_point, '"110 degC"'),
            ("saturation_pressure", saturation_pressure, '"2.9 kPa", saturation_temperature="20 degC"'),
            ("liquid_density", liquid_density, '"0.87 g/cm3"'),
        )
        if value is None
    ]
    if refractive_index is None and molar_polarization is None:
        problems.append("refractive_index (or molar_polarization) is missing; write for example refractive_index=1.496")
    if mixes_with_water is not None and not isinstance(mixes_with_water, bool):
        problems.append(
            f"mixes_with_water = {mixes_with_water!r} must be True (mixes with water in all proportions), False "
            "(partly or hardly soluble), or left out when it is not known"
        )
    fields = {
        "molar_mass": ("molar_mass", molar_mass),
        "boiling_point": ("boiling_point", boiling_point),
        "liquid_density": ("liquid_density", liquid_density),
        "refractive_index": ("refractive_index", refractive_index),
        "molar_polarization": ("molar_polarization", molar_polarization),
    }
    numbers: dict[str, float] = {}
    _read_into(numbers, problems, {k: v for k, v in fields.items() if v[1] is not None})
    _read_into(numbers, problems, {"liquid_density_temperature": ("boiling_point", liquid_density_temperature)})
    points: tuple[tuple[float, float], ...] = ()
    if saturation_pressure is not None:
        points = read_points(saturation_pressure, saturation_temperature, problems)
    if problems:
        raise UnitsError([f"define_vapour({name!r}): {problem}" for problem in problems])
    properties = GivenProperties(
        name,
        numbers["molar_mass"],
        numbers["boiling_point"],
        points,
        numbers["liquid_density"],
        numbers["liquid_density_temperature"],
        numbers.get("refractive_index"),
        numbers.get("molar_polarization"),
        formula,
        mixes_with_water,
    )
    properties.check()
    check("molar_polarization", properties.molar_polarization.value)
    if cas:
        cas = check_cas(cas)
    _check_against_formula(name, cas, formula, numbers["molar_mass"])
    limits: tuple[Limit, ...] = ()
    if exposure_limit is not None:
        limits = (_own_limit(exposure_limit, limit_authority, limit_kind),)
    danger = None
    if idlh is not None:
        danger = Datum("exposure_limit", float(read("exposure_limit", idlh, as_argument="idlh")), "given", label="IDLH")
    return Vapour(name.strip(), cas, formula, ExposureLimits(limits, danger), properties)


def _refuse_disguise(name: str, cas: str) -> None:
    """Refuse what carbon does not hold, or a rule forbids, also where somebody describes it anew."""
    plain = " ".join(_QUALIFIERS.sub(" ", name).split()).strip(" ,;-")
    for who in dict.fromkeys(filter(None, (cas, name, plain))):
        try:
            listed_one = find_vapour(who)
        except UnknownVapour as error:
            if error.refused:
                raise
            continue
        if listed_one.not_physically_adsorbed:
            raise UnknownVapour(f"{listed_one.name}: {listed_one.not_physically_adsorbed}", refused=True)


def vapour_key(vapour: Vapour) -> str:
    """What tells a vapour from others: its number, or its name where it has none."""
    return vapour.cas or vapour.name.casefold()


def _check_against_formula(name: str, cas: str, formula: str, given: float) -> None:
    """Refuse a molar mass that belongs to another formula, or to another substance than the CAS number."""
    known = {"formula": formula, "CAS number": listed()[cas].formula if cas in listed() else ""}
    for what, text in known.items():
        if not text:
            continue
        try:
            expected = composition.molar_mass(composition.parse_formula(text))
        except ValueError as error:
            raise DomainError(f"define_vapour({name!r}): {error}") from None
        if not np.isclose(given, expected, atol=3e-4):
            which = text if what == "formula" else f"{cas} ({listed()[cas].name}, {text})"
            raise DomainError(
                f"define_vapour({name!r}): molar_mass = {given * 1000:.5g} g/mol does not belong to the {what} "
                f"{which}, which has {expected * 1000:.5g} g/mol"
            )
