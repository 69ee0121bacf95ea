"""How much of the predicted time may be used: the margin, in one place.

Three things stand between a prediction and a time that people may rely on, each with its own evidence:

- vapours differ in ways the models do not see: bounded from measured times (`calibration`);
- the carbon is not known: a default carbon widens the bound by the scatter between carbons;
- the task is unlike the calibrated tests: a concentration below theirs, or a bed so short that an error
  of the rate counts for more than it did there, is held to a second, stricter time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import read, single, term
from respcalc.estimate.calibration import Calibration, shipped_calibration
from respcalc.models.affinity import affinity_least
from respcalc.models.capacity import adsorption_potential
from respcalc.models.constants import GAS_CONSTANT
from respcalc.vapours import Vapour

if TYPE_CHECKING:
    from respcalc.cartridges import Cartridge

__all__ = [
    "DEFAULT_COVERAGE",
    "FLOOR_RECALLED",
    "FLOOR_TESTED",
    "RATE_SHARE",
    "Margin",
    "calibrated_concentration",
    "departures",
    "is_light_halogenated",
    "margin_of",
    "read_coverage",
    "reduced_potential",
    "usable_time",
]

DEFAULT_COVERAGE = 0.95

# The reference state at which "how strongly held" is told: that of the calibrated tests.
_TEMPERATURE, _PRESSURE, _VOLUME_FRACTION = 295.15, 101325.0, 1000e-6
_REFERENCE_ENERGY = 19.7e3
_HUMIDITY, _EXIT = 0.50, 0.01
_LIGHT_CARBONS = 3
_ROOM = 0.01  # of a reduced potential, so that the worst-held calibrated vapour is inside
_HALOGENS = ("F", "Cl", "Br", "I")

# Recalled times may be kinder than the paper's, and the mass of their cartridges was fitted: however
# well the calibrated vapours agree, less than this divisor is not believed.
FLOOR_RECALLED = 1.5
# A cartridge fitted to its own test: lots differ, and so do tests (common practice, no source).
FLOOR_TESTED = 1.25
# ln(predicted/measured) of nine commercial or coal carbons with the default one used blind: mean, standard
# deviation (measured uptake at 100 Pa and more; python -m reference_checks.measured_uptake).
_CARBONS, _CARBON_MEAN, _CARBON_SCATTER = 9, 0.04, 0.31

# Below the calibrated concentrations a life is not believed to grow faster than this power of the dilution.
_WELL_HELD = 0.40
DILUTION_POWER = 0.67
# Such correlations of the rate scatter by 20 to 30 % (from memory).
RATE_SHARE = 1 / 1.3


@dataclass(frozen=True)
class Margin:
    """Share of a predicted time that may be used, and why.

    Parameters
    ----------
    coverage
        Share of vapours like the calibrated ones for which the life is not to exceed the measured time.
    divisor
        What the predicted time is divided by.
    typical
        What vapours held like this one need in the middle of the calibrated ones, at least 1.
    calibrated_concentration
        Volume fraction below which the life is not believed to grow as fast as predicted.
    reasons
        How the divisor came about, in words.
    calibrated_on
        What the bound rests on, in words.
    outside
        Why the estimate lies outside what was calibrated; empty if it does not.
    """

    coverage: float
    divisor: float
    typical: float
    calibrated_concentration: float
    reasons: tuple[str, ...]
    calibrated_on: str
    outside: str

    @property
    def note(self) -> str:
        """The margin in one line."""
        return f"predicted time divided by {self.divisor:.3g}: {'; '.join(self.reasons)}"

    @property
    def datum(self) -> Datum:
        return Datum("life_factor", 1.0 / self.divisor, "computed", "margin_calibration", note=self.note)

    def as_dict(self) -> dict[str, Any]:
        return {
            "coverage": Datum("coverage", self.coverage, "given").as_dict(),
            "life_factor": self.datum.as_dict(),
            "typical_life_factor": Datum("life_factor", 1.0 / self.typical, "computed").as_dict(),
            "calibrated_concentration": Datum(
                "volume_fraction", self.calibrated_concentration, "computed", label="calibrated concentration"
            ).as_dict(),
            "reasons": list(self.reasons),
            "calibrated_on": self.calibrated_on,
            "outside": self.outside,
        }


def read_coverage(value: Any) -> float:
    """Read a coverage (``"95 %"`` or 0.95); None is the default.

    Raises
    ------
    DomainError
        Not between 50 and 100 %, both excluded.
    """
    if value is None:
        return DEFAULT_COVERAGE
    coverage = single("coverage", read("coverage", value))
    if coverage >= 1.0:
        raise DomainError("coverage = 100 % is not possible; it must be above 50 % and below 100 %")
    return coverage


def reduced_potential(vapour: Vapour, characteristic_energy: float = _REFERENCE_ENERGY) -> float:
    """How weakly a vapour is held: A/(beta E0) at 1000 ppm, 22 degC and 101.325 kPa; 0 is full pores.

    Parameters
    ----------
    vapour
        The vapour.
    characteristic_energy
        Of the carbon [J/mol]. A better carbon than the calibrated one earns no credit.
    """
    saturation = float(vapour.saturation_pressures(_TEMPERATURE))
    potential = adsorption_potential.si(
        temperature=_TEMPERATURE,
        saturation_pressure=saturation,
        partial_pressure=min(saturation, _VOLUME_FRACTION * _PRESSURE),
    )
    affinity = affinity_least.si(molar_polarization=vapour.molar_polarization.value)
    return float(potential / (affinity * min(characteristic_energy, _REFERENCE_ENERGY)))


def is_light_halogenated(vapour: Vapour) -> bool:
    """At most three carbons and a halogen; a vapour whose formula is not known counts as one."""
    if not vapour.elements:
        return True
    return vapour.elements.get("C", 0) <= _LIGHT_CARBONS and any(vapour.elements.get(e) for e in _HALOGENS)


def margin_of(
    vapour: Vapour,
    cartridge: Cartridge,
    *,
    coverage: float = DEFAULT_COVERAGE,
    calibration: Calibration | None = None,
) -> Margin:
    """Margin for one vapour and one cartridge.

    Parameters
    ----------
    vapour
        The vapour that governs the prediction.
    cartridge
        Whether its carbon is a default or was fitted to a test of its own decides how much is unknown.
    coverage
        Share of vapours for which the life is not to exceed the measured time.
    calibration
        Your own, from `read_calibration`; None is the one that comes with the library.

    Returns
    -------
    Margin
        Its divisor never falls when the vapour is held less well.

    Raises
    ------
    DomainError
        More coverage than the calibrated vapours support.
    """
    used = shipped_calibration() if calibration is None else calibration
    tested = cartridge.tested_with
    energy = cartridge.characteristic_energy.value
    return _margin(
        used,
        coverage,
        reduced_potential(vapour, energy),
        reduced_potential(vapour),
        is_light_halogenated(vapour),
        bool(vapour.elements),
        None if tested is None else (reduced_potential(tested), is_light_halogenated(tested)),
        tested is not None and _same(vapour, tested),
        "" if tested is None else tested.name,
        any(d.kind == "default" for d in (cartridge.micropore_volume, cartridge.characteristic_energy)),
        calibrated_concentration(vapour),
    )


@lru_cache(maxsize=1024)
def _margin(
    used: Calibration,
    coverage: float,
    potential: float,
    by_itself: float,
    light: bool,
    known: bool,
    tested: tuple[float, bool] | None,
    same: bool,
    tested_name: str,
    default_carbon: bool,
    concentration: float,
) -> Margin:
    reasons: list[str] = []
    beyond = by_itself > used.plain_reach + _ROOM and not light
    held_as_light = light or beyond
    centre = used.centre(potential, held_as_light)
    kind = (
        "light halogenated vapours"
        if light and known
        else "light halogenated vapours, the worst group (its formula is not known)"
        if light
        else "light halogenated vapours, the worst group (it is held worse than any other that was calibrated)"
        if beyond
        else "vapours"
    )
    held = f"{kind} held like this one (reduced potential {potential:.2f})"
    if tested is None:
        bound = used.bound(potential, held_as_light, coverage)
        reasons.append(f"{math.exp(bound):.3g} covers {100 * coverage:.4g} % of {held}")
    elif same:
        bound = centre = 0.0
        reasons.append(f"the cartridge was fitted to its own test with {tested_name}")
    else:
        bound = used.bound_from_test(potential, held_as_light, tested, coverage)
        centre -= used.centre(*tested)
        reasons.append(
            f"{math.exp(bound):.3g} covers the step from the test with {tested_name} to {100 * coverage:.4g} % of "
            f"{held}"
        )
    if default_carbon:
        bound = math.hypot(max(0.0, bound), _carbon_bound(coverage))
        reasons.append(f"widened to {math.exp(bound):.3g} because the carbon is a default, not this cartridge's")
    floor = FLOOR_TESTED if tested is not None else FLOOR_RECALLED if used.recalled else 1.0
    divisor = max(floor, math.exp(bound))
    if divisor == floor and math.exp(bound) < floor:
        why = "lots and tests differ" if tested is not None else "the measured times are recalled, not read"
        reasons.append(f"held at the floor of {floor:g}: {why}")
    return Margin(
        coverage=coverage,
        divisor=divisor,
        typical=max(1.0, math.exp(centre)),
        calibrated_concentration=concentration,
        reasons=tuple(reasons),
        calibrated_on=f"{len(used.vapours)} vapours: {used.name}",
        outside=(
            f"it is held worse (reduced potential {potential:.2f}) than any vapour that the margin was calibrated on "
            f"({used.reach:.2f}), so the margin is an extrapolation"
            if potential > used.reach + _ROOM
            else ""
        ),
    )


def _carbon_bound(coverage: float) -> float:
    """One-sided bound for one more carbon, from the scatter of a few: Student's, for so few."""
    from scipy.stats import t

    return _CARBON_MEAN + float(t.ppf(coverage, _CARBONS - 1)) * _CARBON_SCATTER * math.sqrt(1 + 1 / _CARBONS)


def calibrated_concentration(vapour: Vapour) -> float:
    """The concentration (volume fraction) from which a life is carried to lower ones by the power rule.

    1000 ppm, as in the calibrated tests; less for a vapour that is held so well that its reduced potential
    reaches 0.40, below which the calibrated vapours show no trend, at a lower concentration only.
    """
    affinity = affinity_least.si(molar_polarization=vapour.molar_polarization.value)
    exponent = _WELL_HELD * affinity * _REFERENCE_ENERGY / (GAS_CONSTANT * _TEMPERATURE)
    saturation = float(vapour.saturation_pressures(_TEMPERATURE)) / _PRESSURE
    return min(_VOLUME_FRACTION, saturation * math.exp(-exponent))


def departures(volume_fraction: float, temperature: float, relative_humidity: float, exit_fraction: float) -> str:
    """Say where a task leaves the conditions of the calibrated tests; empty where it does not.

    The coverage holds for other vapours in that air. For other air it holds as far as the models carry over.
    """
    asked = (
        ("volume_fraction", volume_fraction, _VOLUME_FRACTION, 2.0),
        ("temperature", temperature, _TEMPERATURE, 1.02),
        ("relative_humidity", max(relative_humidity, 0.01), _HUMIDITY, 1.2),
        ("exit_fraction", exit_fraction, _EXIT, 1.5),
    )
    off = [
        f"{term(name).show(value)} instead of {term(name).show(tested)}"
        for name, value, tested, room in asked
        if abs(math.log(value / tested)) > math.log(room)
    ]
    if not off:
        return ""
    return (
        f"the margin was calibrated in other conditions ({', '.join(off)}): its coverage speaks of vapours, and holds "
        "for this air as far as the models carry over"
    )


def _same(one: Vapour, other: Vapour) -> bool:
    return one.cas == other.cas if one.cas and other.cas else one.name.casefold() == other.name.casefold()


def usable_time(margin: Margin, times: Any, reference_times: Any, volume_fraction: Any) -> Any:
    """Service life [s] from predicted times.

    Parameters
    ----------
    margin
        Of the vapour and the cartridge.
    times
        Predicted, and the same with the rate coefficient times `RATE_SHARE`: what a bed keeps if the rate
        was over-predicted by what such correlations scatter.
    reference_times
        The two at `Margin.calibrated_concentration`, to the exit fraction of the task.
    volume_fraction
        Of the task.

    Returns
    -------
    float or array
        Never rises with the concentration if the times do not.
    """
    own, reference = (np.minimum(np.asarray(t) / margin.divisor, slower) for t, slower in (times, reference_times))
    dilution = margin.calibrated_concentration / np.asarray(volume_fraction)
    return np.where(dilution > 1.0, np.minimum(own, reference * dilution**DILUTION_POWER), own)
