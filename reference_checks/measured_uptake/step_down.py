"""Question 4: calibrated at about 100 Pa, how far is the model out at lower concentrations?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import log

import numpy as np

from reference_checks.measured_uptake.default_carbon import CALIBRATED_PRESSURE, wide_pored
from reference_checks.measured_uptake.errors import upper_bound
from reference_checks.measured_uptake.fits import DEFAULT_CARBON, Carbon, fit_carbon, predict
from reference_checks.measured_uptake.isotherms import Isotherm, isotherms

__all__ = ["DECADES", "ENERGIES", "PRESSURES", "Step", "StepLine", "decade_table", "step_table", "steps"]

PRESSURES = (50.0, 30.0, 20.0, 10.0, 5.0, 3.0, 1.0)
DECADES = (1000.0, 300.0, 100.0, 30.0, 10.0)
"""Upper ends of the factors of ten that are compared [Pa]."""
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

    @property
    def error(self) -> float:
        return log(self.predicted / self.measured)


@dataclass(frozen=True)
class StepLine:
    """Quantiles over isotherms, and bounds that need no distribution, by isotherm and by carbon."""

    group: str
    isotherms: int
    carbons: int
    median: float
    upper_90: float
    upper_95: float
    worst: float
    bound_90: float | None
    bound_95: float | None
    worst_carbons: tuple[float, ...]


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
    q_low, q_high = (q for q in measured if q is not None)
    return Step(one.vapour, one.carbon, one.grade, one.temperature, top, pressure, q_low / q_high, float(low / high))


@cache
def steps(energy: str = "default", grades: str = "AB", top: float = CALIBRATED_PRESSURE) -> tuple[Step, ...]:
    """From *top* down to each of `PRESSURES` that an isotherm reaches."""
    made = [_step(one, top, p, energy) for p in PRESSURES for one in isotherms(grades) if p < top]
    return tuple(step for step in made if step is not None)


@cache
def _decades(energy: str, grades: str) -> tuple[Step, ...]:
    made = [_step(one, top, top / 10, energy) for top in DECADES for one in isotherms(grades)]
    return tuple(step for step in made if step is not None)


def _line(group: str, chosen: list[Step]) -> StepLine:
    errors = [step.error for step in chosen]
    carbons = _worst_by_carbon(chosen)
    median, upper_90, upper_95 = (float(np.quantile(errors, q)) for q in (0.5, 0.9, 0.95))
    return StepLine(
        group,
        len(chosen),
        len(carbons),
        median,
        upper_90,
        upper_95,
        max(errors),
        upper_bound(errors, 0.90),
        upper_bound(errors, 0.95),
        tuple(sorted(carbons.values(), reverse=True)[:3]),
    )


def _worst_by_carbon(chosen: list[Step]) -> dict[str, float]:
    """Worst step of each carbon: isotherms of one carbon are not independent of each other."""
    worst: dict[str, float] = {}
    for step in chosen:
        worst[step.carbon] = max(worst.get(step.carbon, -np.inf), step.error)
    return worst


def _table(made: tuple[Step, ...], ends: tuple[float, ...], wide: bool, end: str) -> tuple[StepLine, ...]:
    kept = [step for step in made if wide or step.carbon not in wide_pored()]
    groups = [(f"{p:g} Pa", [step for step in kept if getattr(step, end) == p]) for p in ends]
    return tuple(_line(name, chosen) for name, chosen in groups if chosen)


@cache
def step_table(energy: str = "default", grades: str = "AB", *, wide: bool = True) -> tuple[StepLine, ...]:
    """From 100 Pa down, by the lower pressure."""
    return _table(steps(energy, grades), PRESSURES, wide, "pressure")


@cache
def decade_table(energy: str = "default", grades: str = "AB", *, wide: bool = True) -> tuple[StepLine, ...]:
    """One factor of ten, by the pressure that it starts from."""
    return _table(_decades(energy, grades), DECADES, wide, "top")
