"""How much of the predicted time may be used: the margin, in one place.

Three things stand between a prediction and a time that people may rely on, each with its own evidence:

- vapours differ in ways the models do not see: bounded from measured times (`calibration`);
- the carbon is not known: a default carbon widens the bound by the scatter between carbons, one that was fitted to
  tests, or inferred from a certificate, by what the vapours of those tests leave open;
- the task is unlike the calibrated tests: a concentration below theirs, or a bed so short that an error
  of the rate counts for more than it did there, is held to a second, stricter time.

Near the conditions of a test of the very cartridge with the very vapour none of the three is needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import read, single, term
from respcalc.estimate.calibration import LEAST_OF_A_GROUP, Calibration, shipped_calibration
from respcalc.prediction.sorbate import (
    REFERENCE_PRESSURE,
    REFERENCE_TEMPERATURE,
    REFERENCE_VOLUME_FRACTION,
    reduced_potential,
)
from respcalc.vapours import Vapour

if TYPE_CHECKING:
    from respcalc.cartridges import Cartridge, CartridgeTest

__all__ = [
    "DEFAULT_COVERAGE",
    "DILUTION_POWER",
    "FLOOR_MEASURED",
    "FLOOR_RECALLED",
    "RATE_SHARE",
    "Margin",
    "calibrated_concentration",
    "departures",
    "is_light_halogenated",
    "margin_near_test",
    "margin_of",
    "rate_shares",
    "read_coverage",
    "usable_time",
]

DEFAULT_COVERAGE = 0.95

_LIGHT_CARBONS = 3
_HALOGENS = ("F", "Cl", "Br", "I")
_ROOM = 0.01  # of a reduced potential, so that the worst-held calibrated vapour is inside

# Recalled times may be kinder than the paper's, and the mass of their cartridges was fitted: however
# well the calibrated vapours agree, less than this divisor is not believed.
FLOOR_RECALLED = 1.5
# Lots differ, and so do tests (common practice, no source).
FLOOR_MEASURED = 1.25
# ln(predicted/measured) of 17 commercial or coal carbons with the default one used blind: mean, standard
# deviation (measured uptake at 100 Pa and more; python -m reference_checks.measured_uptake).
_CARBONS, _CARBON_MEAN, _CARBON_SCATTER = 17, 0.136, 0.331

# Below the calibrated concentration a life is not believed to grow faster than this power of the dilution.
DILUTION_POWER = 0.67
# Such correlations of the rate scatter by 20 to 30 % (from memory).
RATE_SHARE = 1 / 1.3


@dataclass(frozen=True)
class Margin:
    """Share of a predicted time that may be used, and why.

    Parameters
    ----------
    coverage
        Share of vapours like the calibrated ones for which the life is not to exceed the measured time;
        None near a test of the cartridge's own, where none can be stated.
    divisor
        What the predicted time is divided by.
    typical
        What vapours held like this one need in the middle of the calibrated ones, at least 1.
    calibrated_concentration
        Volume fraction below which the life is not believed to grow as fast as predicted.
    highest_calibrated
        Volume fraction above which the life is believed to fall in proportion at least; infinite where the models
        are believed throughout.
    reasons
        How the divisor came about, in words.
    calibrated_on
        What the bound rests on, in words.
    outside
        Why the estimate lies outside what was calibrated; empty if it does not.
    """

    coverage: float | None
    divisor: float
    typical: float
    calibrated_concentration: float
    reasons: tuple[str, ...]
    calibrated_on: str
    outside: str
    highest_calibrated: float = math.inf

    @property
    def reference_words(self) -> str:
        """What stands at the calibrated concentration."""
        return "the margin was calibrated at" if math.isinf(self.highest_calibrated) else "the bed was found at"

    def reference(self, volume_fraction: Any) -> Any:
        """The calibrated concentration from which a life is carried to this one."""
        return np.clip(volume_fraction, self.calibrated_concentration, self.highest_calibrated)

    @property
    def note(self) -> str:
        """The margin in one line."""
        return f"predicted time divided by {self.divisor:.3g}: {'; '.join(self.reasons)}"

    @property
    def coverage_in_words(self) -> str:
        """Coverage and what it was calibrated on, in one line."""
        stated = "not stated" if self.coverage is None else f"{100 * self.coverage:.4g} %"
        return f"{stated}, calibrated on {self.calibrated_on}"

    @property
    def datum(self) -> Datum:
        return Datum("life_factor", 1.0 / self.divisor, "computed", "margin_calibration", note=self.note)

    def as_dict(self) -> dict[str, Any]:
        return {
            "coverage": None if self.coverage is None else Datum("coverage", self.coverage, "given").as_dict(),
            "life_factor": self.datum.as_dict(),
            "typical_life_factor": Datum("life_factor", 1.0 / self.typical, "computed").as_dict(),
            "calibrated_concentration": Datum(
                "volume_fraction", self.calibrated_concentration, "computed", label="calibrated concentration"
            ).as_dict(),
            "reasons": list(self.reasons),
            "calibrated_on": self.calibrated_on,
            "outside": self.outside,
        }


def read_coverage(value: Any, calibration: Calibration | None = None) -> float:
    """Read a coverage (``"95 %"`` or 0.95); None is the default.

    Raises
    ------
    DomainError
        Not between 50 and 100 %, both excluded, or more than the calibrated vapours support.
    """
    coverage = DEFAULT_COVERAGE if value is None else single("coverage", read("coverage", value))
    if coverage >= 1.0:
        raise DomainError("coverage = 100 % is not possible; it must be above 50 % and below 100 %")
    return (shipped_calibration() if calibration is None else calibration).check_coverage(coverage)


def rate_shares(cartridge: Cartridge) -> tuple[float, float]:
    """Shares of the correlated rate coefficient at which a bed is run: its own, and what is still believed.

    Beds found from tests or a certificate carry the scatter for the vapours of those tests in the rates that they
    could have. The vapour asked for adds its own, independent of it: what is left is the two in quadrature less
    what the beds carry. The better the tests tell the rate, the less they carry, and the more is added.
    """
    own, carried = cartridge.rate_share, 0.0 if cartridge.evidence is None else cartridge.evidence.rate_reach
    return own, own * math.exp(carried - math.hypot(carried, math.log(RATE_SHARE)))


def is_light_halogenated(vapour: Vapour) -> bool:
    """At most three carbons and a halogen; a vapour whose formula is not known counts as one."""
    if not vapour.elements:
        return True
    return vapour.elements.get("C", 0) <= _LIGHT_CARBONS and any(vapour.elements.get(e) for e in _HALOGENS)


def calibrated_concentration(vapour: Vapour) -> float:
    """The concentration (volume fraction) from which a life is carried to lower ones by the power rule.

    That of the calibrated tests, 1000 ppm, or saturation at 22 degC where it is lower.
    """
    return min(
        REFERENCE_VOLUME_FRACTION, float(vapour.saturation_pressures(REFERENCE_TEMPERATURE)) / REFERENCE_PRESSURE
    )


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
        Whether its carbon is a default decides how much is unknown.
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
    evidence = cartridge.evidence
    made = _margin(
        shipped_calibration() if calibration is None else calibration,
        coverage,
        reduced_potential(vapour, cartridge.characteristic_energy.value),
        reduced_potential(vapour),
        is_light_halogenated(vapour),
        bool(vapour.elements),
        any(d.kind == "default" for d in (cartridge.micropore_volume, cartridge.characteristic_energy)),
        calibrated_concentration(vapour),
        0.0 if evidence is None else evidence.level_scatter,
    )
    if evidence is None:
        return made
    saturation = float(vapour.saturation_pressures(REFERENCE_TEMPERATURE)) / REFERENCE_PRESSURE
    return replace(
        made,
        calibrated_concentration=min(evidence.lowest_for(vapour), saturation),
        highest_calibrated=min(evidence.highest, saturation),
        calibrated_on=f"{made.calibrated_on}; the bed is {evidence.words}",
    )


@lru_cache(maxsize=1024)
def _margin(
    used: Calibration,
    coverage: float,
    potential: float,
    by_itself: float,
    light: bool,
    known: bool,
    default_carbon: bool,
    concentration: float,
    level_scatter: float,
) -> Margin:
    group, as_light, outside = _group(used, potential, by_itself, light, known)
    centre, bound = used.centre(potential, as_light), used.bound(potential, as_light, coverage)
    reasons = [
        f"{math.exp(bound):.3g} at {100 * coverage:.4g} % coverage for {group} (reduced potential {potential:.2f}; 0 "
        "is held fully, 1 badly)"
    ]
    if default_carbon:
        # what is known of either adds up, what scatters adds in quadrature
        shift, scatter = _carbon_bound(coverage)
        bound = max(bound, centre + shift + math.hypot(max(0.0, bound - centre), scatter))
        reasons.append(f"widened to {math.exp(bound):.3g} because the carbon is a default, not this cartridge's")
    elif level_scatter:
        from scipy.stats import norm

        bound = centre + math.hypot(max(0.0, bound - centre), float(norm.ppf(coverage)) * level_scatter)
        reasons.append(
            f"widened to {math.exp(bound):.3g} because the bed was found from tests of certain vapours, which the "
            "models may have missed"
        )
    floor = FLOOR_RECALLED if used.recalled else FLOOR_MEASURED
    if math.exp(bound) < floor:
        why = "the measured times are recalled, not read" if used.recalled else "lots and tests differ"
        reasons.append(f"held at the floor of {floor:g}: {why}")
    return Margin(
        coverage=coverage,
        divisor=max(floor, math.exp(bound)),
        typical=max(1.0, math.exp(centre)),
        calibrated_concentration=concentration,
        reasons=tuple(reasons),
        calibrated_on=f"{len(used.vapours)} vapours: {used.name}",
        outside=outside,
    )


def _group(used: Calibration, potential: float, by_itself: float, light: bool, known: bool) -> tuple[str, bool, str]:
    """The group in words, whether it takes the bound of light halogenated vapours, and what is outside."""
    reach, plain_reach = used.reach(True), used.reach(False)
    as_light = light or plain_reach is None or by_itself > plain_reach + _ROOM
    group = "vapours held like this one"
    if light and known:
        group = "light halogenated vapours held like this one"
    elif light:
        group = "light halogenated vapours, the worst group: its formula is not known"
    elif as_light:
        group = "light halogenated vapours, the worst group: it is held worse than any other that was calibrated"
    if as_light and reach is None:
        return (
            group,
            as_light,
            (
                f"it counts as one of the {group}, and fewer than {LEAST_OF_A_GROUP} of them were calibrated, so the "
                "margin is an extrapolation"
            ),
        )
    furthest = max(r for r in (reach, plain_reach) if r is not None)
    if potential > furthest + _ROOM:
        return (
            group,
            as_light,
            (
                f"it is held worse (reduced potential {potential:.2f}) than any vapour that the margin was calibrated "
                f"on ({furthest:.2f}), so the margin is an extrapolation"
            ),
        )
    return group, as_light, ""


def _carbon_bound(coverage: float) -> tuple[float, float]:
    """Mean and one-sided bound of the scatter for one more carbon: Student's, for so few."""
    from scipy.stats import t

    return _CARBON_MEAN, float(t.ppf(coverage, _CARBONS - 1)) * _CARBON_SCATTER * math.sqrt(1 + 1 / _CARBONS)


def margin_near_test(margin: Margin, test: CartridgeTest, divisor: float = FLOOR_MEASURED) -> Margin:
    """Margin where the task is near a test of the cartridge's own with the same vapour."""
    further = f", grown to {divisor:.3g} with the distance in concentration" if divisor > FLOOR_MEASURED else ""
    return replace(
        margin,
        coverage=None,
        divisor=divisor,
        typical=1.0,
        calibrated_concentration=test.volume_fraction.value,
        highest_calibrated=math.inf,
        reasons=(
            "near the cartridge's own test, which the bed does not outlast: carried to another concentration or a "
            "lower flow by rules that are safe, and held to the test's air where the task's is milder otherwise; "
            f"{FLOOR_MEASURED:g} because lots and tests differ (common practice, no source){further}",
        ),
        calibrated_on=f"the cartridge's own test: {test}",
        outside="",
    )


def departures(
    calibration: Calibration, volume_fraction: float, temperature: float, humidity: float, exit_fraction: float
) -> str:
    """Say where a task leaves the conditions of the calibrated tests; empty where it does not."""
    tested = calibration.conditions
    if tested is None:
        return (
            "the margin rests on a calibration of your own: its coverage holds in the conditions of those tests, and "
            "elsewhere the models alone vouch for the time"
        )
    asked = (
        ("volume_fraction", "", volume_fraction, tested.volume_fraction, 2.0),
        ("temperature", "", temperature, tested.temperature, 1.02),
        ("relative_humidity", " RH", humidity, tested.relative_humidity, 1.2),
        ("exit_fraction", " through", exit_fraction, tested.exit_fraction, 1.5),
    )
    off = [
        f"{term(name).show(value)}{word} instead of {term(name).show(there)}{word}"
        for name, word, value, there, room in asked
        if not there / room <= value <= there * room
    ]
    if not off:
        return ""
    return (
        f"the margin was calibrated in the air of certain tests, and this task differs ({', '.join(off)}): the "
        "coverage speaks of other vapours in those tests; for this task the models alone vouch, and may be wrong "
        "either way"
    )


def usable_time(margin: Margin, times: Any, reference_times: Any, volume_fraction: Any) -> Any:
    """Service life [s] from predicted times.

    Parameters
    ----------
    margin
        Of the vapour and the cartridge.
    times
        Predicted, and the same with the lesser of `rate_shares`: what a bed keeps if the rate was
        over-predicted by what such correlations scatter.
    reference_times
        The two at `Margin.reference`, to the exit fraction of the task.
    volume_fraction
        Of the task.

    Returns
    -------
    float or array
        Never rises with the concentration if the times do not.
    """
    own, reference = (np.minimum(np.asarray(t) / margin.divisor, slower) for t, slower in (times, reference_times))
    dilution = margin.reference(volume_fraction) / np.asarray(volume_fraction)
    carried = reference * np.where(dilution > 1.0, dilution**DILUTION_POWER, dilution)
    return np.where(dilution == 1.0, own, np.minimum(own, carried))
