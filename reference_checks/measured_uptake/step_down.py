"""Question 4: from about 100 Pa down, how far is the model out, with the library's power rule and without?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import log

import numpy as np

from reference_checks.measured_uptake.default_carbon import CALIBRATED_PRESSURE, wide_pored
from reference_checks.measured_uptake.fits import DEFAULT_CARBON, Carbon, fit_carbon, predict
from reference_checks.measured_uptake.isotherms import Isotherm, isotherms
from reference_checks.measured_uptake.power_rule import ruled

__all__ = ["ENERGIES", "PRESSURES", "Step", "StepLine", "step_table", "steps"]

PRESSURES = (50.0, 30.0, 20.0, 10.0, 5.0, 3.0, 1.0)
ENERGIES = ("default", "own")
"""The default carbon's E0; or the carbon's own, fitted to all its vapours at 100 Pa and above."""
_LEAST_POINTS_OWN = 4  # two more than there are parameters


@dataclass(frozen=True)
class Step:
    """ln of predicted over measured change of loading between two pressures; positive is the unsafe side."""

    vapour: str
    carbon: str
    grade: str
    temperature: float
    top: float
    pressure: float
    measured: float
    predicted: float
    by_rule: float  # predicted, or less where the power rule leaves less

    @property
    def error(self) -> float:
        return log(self.predicted / self.measured)

    @property
    def error_by_rule(self) -> float:
        return log(self.by_rule / self.measured)


@dataclass(frozen=True)
class StepLine:
    """Median, 90 % and worst over isotherms: the isotherm as it is, and with the power rule."""

    group: str
    isotherms: int
    carbons: int
    without: tuple[float, float, float]
    by_rule: tuple[float, float, float]
    worst_by_rule: str


@cache
def _own(doi: str, carbon: str) -> Carbon | None:
    its = [i for i in isotherms() if (i.doi, i.carbon) == (doi, carbon)]
    if sum(int((i.pressure >= CALIBRATED_PRESSURE).sum()) for i in its) < _LEAST_POINTS_OWN:
        return None
    return fit_carbon(its, least_pressure=CALIBRATED_PRESSURE)


def _step(one: Isotherm, top: float, pressure: float, energy: str) -> Step | None:
    carbon = DEFAULT_CARBON if energy == "default" else _own(one.doi, one.carbon)
    measured = [one.loading_at(p) for p in (pressure, top)]
    if carbon is None or None in measured:
        return None
    low, high = predict(carbon, one, pressure=[pressure, top])
    (low_by_rule,) = ruled(carbon, one, [pressure])
    q_low, q_high = (q for q in measured if q is not None)
    return Step(
        one.vapour,
        one.carbon,
        one.grade,
        one.temperature,
        top,
        pressure,
        q_low / q_high,
        float(low / high),
        float(low_by_rule / high),
    )


@cache
def steps(energy: str = "default", grades: str = "AB", top: float = CALIBRATED_PRESSURE) -> tuple[Step, ...]:
    """From *top* down to each of `PRESSURES` that an isotherm reaches."""
    made = [_step(one, top, p, energy) for p in PRESSURES for one in isotherms(grades) if p < top]
    return tuple(step for step in made if step is not None)


def _figures(errors: list[float]) -> tuple[float, float, float]:
    return float(np.median(errors)), float(np.quantile(errors, 0.90)), max(errors)


def _line(group: str, chosen: list[Step]) -> StepLine:
    worst = max(chosen, key=lambda step: step.error_by_rule)
    return StepLine(
        group,
        len(chosen),
        len({step.carbon for step in chosen}),
        _figures([step.error for step in chosen]),
        _figures([step.error_by_rule for step in chosen]),
        f"{worst.vapour} on {worst.carbon}",
    )


@cache
def step_table(energy: str = "default", grades: str = "AB", *, wide: bool = True) -> tuple[StepLine, ...]:
    """From 100 Pa down, by the lower pressure."""
    kept = [step for step in steps(energy, grades) if wide or step.carbon not in wide_pored()]
    groups = [(f"{p:g} Pa", [step for step in kept if step.pressure == p]) for p in PRESSURES]
    return tuple(_line(name, chosen) for name, chosen in groups if chosen)
