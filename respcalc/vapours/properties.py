"""Physical properties of listed vapours: which source is used, and how two that disagree are settled.

No property rests on one database where two exist. Where they disagree, the value that gives the
shorter cartridge life is used (higher vapour pressure, lower boiling point), unless a reviewed row
overrules it; either way the vapour's notes print both numbers.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from respcalc.core.basis import Datum, Kind
from respcalc.core.errors import MissingProperty
from respcalc.vapours import composition
from respcalc.vapours.correlations import (
    DENSITY_METHODS,
    GUIDE,
    LIBRARY,
    Correlation,
    correlations,
    guide_rows,
    reviews,
)
from respcalc.vapours.curves import EXPANSION, REACH, REFERENCE_T, Curve, Stretch, celsius, extended_line, grid
from respcalc.vapours.identity import listed
from respcalc.vapours.pressure import PressureSettling
from respcalc.vapours.water import WaterMixing

__all__ = ["ListedProperties", "diffusion_volume_from_density", "polarization_by_refraction"]

BOILING_GAP = 2.5  # K between two boiling points that is reported and settled

# Bounds of the two estimates from Eisenlohr's increments, checked against every listed vapour
# with measured data (see tests): the estimate times the bound is not above the measured value.
REFRACTION_BOUND = 0.97
DENSITY_BOUND = 0.96


def polarization_by_refraction(elements: dict[str, int], groups: dict[str, int] | None) -> float | None:
    """Low estimate of the molar polarization [m3/mol] from atomic increments; None if they do not cover it."""
    whole = composition.molar_refraction(elements, groups)
    return None if whole is None else REFRACTION_BOUND * whole


@dataclass(frozen=True)
class ListedProperties:
    """Properties of one vapour of the shipped list; computed when first asked for."""

    name: str
    cas: str
    formula: str
    groups: str
    not_physically_adsorbed: str = ""
    estimate_missing: bool = False

    # --- what follows from the tables at once

    @cached_property
    def elements(self) -> dict[str, int]:
        return composition.parse_formula(self.formula)

    @cached_property
    def _guide(self) -> dict[str, Any]:
        return guide_rows()[self.cas]

    @cached_property
    def molar_mass(self) -> Datum:
        return Datum(
            "molar_mass",
            composition.molar_mass(self.elements),
            "computed",
            "iupac_atomic_weights",
            f"sum over {self.formula}",
        )

    @cached_property
    def boiling_point(self) -> Datum:
        guide, database = self._guide["boiling_point"], self._guide["boiling_point_database"]
        by_guide = Datum("boiling_point", guide or 0.0, "compiled", GUIDE, self._guide["locator"])
        by_database = Datum("boiling_point", database or 0.0, "compiled", LIBRARY, "boiling point tables")
        if guide is None or database is None:
            return by_database if guide is None else by_guide
        if abs(guide - database) <= BOILING_GAP:
            return by_database
        review = reviews().get((self.cas, "boiling_point"))
        if review is not None:
            return by_guide if review.decision == "guide" else by_database
        return by_guide if guide < database else by_database

    @cached_property
    def _boiling_notes(self) -> tuple[str, ...]:
        guide, database = self._guide["boiling_point"], self._guide["boiling_point_database"]
        if guide is None or database is None or abs(guide - database) <= BOILING_GAP:
            return ()
        review = reviews().get((self.cas, "boiling_point"))
        why = review.reason if review else "the lower one is used, which is the safe side"
        return (
            f"boiling point: {guide - 273.15:.1f} degC in the guide, {database - 273.15:.1f} degC in the database;"
            f" {self.boiling_point.printed} is used: {why}",
        )

    @property
    def water_mixing(self) -> WaterMixing:
        return listed()[self.cas].water_mixing

    # --- vapour pressure

    @property
    def saturation(self) -> Curve:
        return self._saturation[0]

    @cached_property
    def _saturation(self) -> tuple[Curve, tuple[str, ...]]:
        return PressureSettling(
            self.name, self.cas, self._guide, self.boiling_point.value, self.estimate_missing
        ).settled()

    # --- liquid density

    @property
    def density(self) -> Curve:
        return self._density[0]

    @cached_property
    def _density_correlation(self) -> Correlation | None:
        mass = self.molar_mass.value
        near = [c for c in correlations(self.cas, "volume", DENSITY_METHODS) if c.reaches(REFERENCE_T, REACH)]
        if not near:
            return None
        best = min(near, key=lambda c: round(c.distance(REFERENCE_T) / 10.0))
        return Correlation(best.method, best.low, best.high, lambda t: mass / best.function(t))

    @cached_property
    def _density(self) -> tuple[Curve, tuple[str, ...]]:
        best = self._density_correlation
        if best is not None:
            where = f"{best.method} ({DENSITY_METHODS[best.method]})"
            values = extended_line(best.function, best.low, best.high, in_inverse_temperature=False, reach=np.inf)
            curve = self._density_curve(
                values,
                Stretch(best.low, best.high, "compiled", LIBRARY, where),
                Stretch(0.0, np.inf, "predicted", LIBRARY, where, "extended along its tangent"),
            )
            return curve, ()
        review = reviews().get((self.cas, "liquid_density"))
        if review is not None and review.value is not None and review.temperature is not None:
            values = review.value * (1.0 - EXPANSION * (grid() - review.temperature))
            note = f"read at {celsius(review.temperature)}, with a usual thermal expansion"
            part = Stretch(0.0, np.inf, "memory", review.source, review.locator, note)
            return self._density_curve(values, part), ("liquid density: recalled from memory, not read on a page",)
        by_index = self._density_by_refraction
        if by_index is not None:
            at, value = by_index
            values = DENSITY_BOUND * value * (1.0 - EXPANSION * (grid() - at))
            note = f"refractive index and atomic refractions, lowered by {1 - DENSITY_BOUND:.0%} as a bound"
            part = Stretch(0.0, np.inf, "predicted", "eisenlohr_refraction", "increments from memory", note)
            return self._density_curve(values, part), (f"liquid density: no correlation; estimated from the {note}",)
        volume = composition.volume_at_boiling_point(self.elements)
        if self.estimate_missing and volume is not None:
            values = np.full(grid().shape, self.molar_mass.value / volume)
            note = "molar mass over the volume at the boiling point, which is the larger volume"
            part = Stretch(0.0, np.inf, "predicted", "le_bas_volumes", "increments from memory", note)
            return self._density_curve(values, part), (f"liquid density: low estimate, {note}",)
        return self._density_curve(np.full(grid().shape, np.nan)), ()

    def _density_curve(self, values: Any, *parts: Stretch) -> Curve:
        return Curve(
            values,
            parts,
            in_inverse_temperature=False,
            missing=self._lacking("liquid density", "liquid_density='0.90 g/cm3'"),
        )

    @cached_property
    def _density_by_refraction(self) -> tuple[float, float] | None:
        """Temperature and density at it, from the refractive index and the molar refraction."""
        index = self._index
        whole = composition.molar_refraction(self.elements, composition.parse_groups(self.groups))
        if index is None or whole is None:
            return None
        datum, at = index
        square = datum.value**2
        return at, (square - 1.0) / (square + 2.0) * self.molar_mass.value / whole

    # --- refractive index and polarization

    def _lacking(self, what: str, argument: str) -> str:
        if self.not_physically_adsorbed:
            return f"{self.name}: no {what} is listed; {self.not_physically_adsorbed}"
        return (
            f"{self.name}: no {what} is listed here. Give it with define_vapour({self.name!r}, ..., {argument}), "
            f"or accept a low, flagged estimate with find_vapour({self.name!r}, estimate_missing=True)"
        )

    @cached_property
    def _index(self) -> tuple[Datum, float] | None:
        """Refractive index and its temperature, from the reviewed rows or the handbook table."""
        review = reviews().get((self.cas, "refractive_index"))
        if review is not None and review.value is not None and review.temperature is not None:
            locator = ", ".join(filter(None, (review.locator, f"at {celsius(review.temperature)}")))
            return Datum("refractive_index", review.value, "memory", review.source, locator), review.temperature
        from chemicals import RI

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                value, at = RI(self.cas)
            except (TypeError, ValueError):  # how that library says "unknown"
                return None
        if value is None or at is None or not np.isfinite(at):
            return None
        locator = f"refractive index tables (CRC Handbook), at {celsius(at)}"
        return Datum("refractive_index", float(value), "compiled", LIBRARY, locator), float(at)

    @cached_property
    def refractive_index(self) -> Datum:
        if self._index is not None:
            return self._index[0]
        if not self.estimate_missing or self.not_physically_adsorbed:
            raise MissingProperty(self._lacking("refractive index", "refractive_index=1.42"))
        ratio = self.molar_polarization.value * self.density(REFERENCE_T) / self.molar_mass.value
        return Datum(
            "refractive_index",
            float(np.sqrt((1.0 + 2.0 * ratio) / (1.0 - ratio))),
            "predicted",
            "lorentz_lorenz",
            "from the estimated polarization and the density at 20 degC",
            "low estimate",
        )

    @cached_property
    def molar_polarization(self) -> Datum:
        if self.not_physically_adsorbed:
            raise MissingProperty(f"{self.name}: {self.not_physically_adsorbed}")
        low = polarization_by_refraction(self.elements, composition.parse_groups(self.groups))
        if self._index is None:
            if self.estimate_missing and low is not None:
                return self._low_polarization(low, "refractive index not listed")
            raise MissingProperty(self._lacking("refractive index", "refractive_index=1.42"))
        index, at = self._index
        density = self._density_at(at)
        if density is None:
            if low is None:
                raise MissingProperty(self._lacking("liquid density", "liquid_density='0.90 g/cm3'"))
            return self._low_polarization(low, "liquid density not listed")
        from respcalc.models.affinity import lorentz_lorenz_polarization

        value = lorentz_lorenz_polarization.si(
            refractive_index=index.value, molar_mass=self.molar_mass.value, liquid_density=density
        )
        kind: Kind = "memory" if index.kind == "memory" else "computed"
        return Datum(
            "molar_polarization",
            float(value),
            kind,
            "lorentz_lorenz",
            f"refractive index {index.value:g} and density {density / 1000:.4g} g/cm3, both at {celsius(at)}",
        )

    def _low_polarization(self, low: float, why: str) -> Datum:
        return Datum(
            "molar_polarization",
            low,
            "predicted",
            "eisenlohr_refraction",
            "sum of atomic increments from memory",
            f"{why}; lowered by {1 - REFRACTION_BOUND:.0%} as a bound",
        )

    def _density_at(self, at: float) -> float | None:
        """Density at the temperature of the refractive index, from a source other than that index."""
        best = self._density_correlation
        if best is not None:
            if best.reaches(at):
                return best.function(at)
            edge = best.low if at < best.low else best.high
            inner = edge + 2.0 if at < best.low else edge - 2.0
            return best.function(edge) + (best.function(edge) - best.function(inner)) / (edge - inner) * (at - edge)
        review = reviews().get((self.cas, "liquid_density"))
        if review is not None and review.value is not None and review.temperature is not None:
            return review.value * (1.0 - EXPANSION * (at - review.temperature))
        return None

    @cached_property
    def diffusion_volume(self) -> Datum:
        value = composition.diffusion_volume(self.elements)
        if value is not None:
            return Datum(
                "diffusion_volume",
                value,
                "memory",
                "fuller_1966",
                "sum of atomic volumes, from memory",
                "no ring correction, which slows diffusion",
            )
        return diffusion_volume_from_density(self.molar_mass.value, self.density(REFERENCE_T))

    @cached_property
    def notes(self) -> tuple[str, ...]:
        """What a reader must know about the properties, both numbers of each disagreement included."""
        found = self._boiling_notes + self._saturation[1] + self._density[1]
        if self.not_physically_adsorbed:
            found += (self.not_physically_adsorbed,)
        try:
            if self.molar_polarization.kind in ("predicted", "memory"):
                datum = self.molar_polarization
                found += (f"molar polarization: {datum.note or 'refractive index recalled from memory'}",)
        except MissingProperty as error:
            found += (str(error),)
        boiling_point = self.boiling_point.value
        if boiling_point < 293.15:
            found += (f"a liquefied gas: it boils at {boiling_point - 273.15:.0f} degC and is held weakly by carbon",)
        return found


def diffusion_volume_from_density(molar_mass: float, density: float) -> Datum:
    """High estimate where the formula gives none: Fuller's sums are at most 1.42 times the liquid's volume."""
    return Datum(
        "diffusion_volume",
        1.45 * molar_mass / density,
        "predicted",
        "respcalc_choices",
        "1.45 times the molar volume of the liquid",
        "larger than the sum of atomic volumes of any listed vapour, which slows diffusion",
    )
