"""What must a life calibrated at about 1000 ppm be divided by at lower concentrations? Rules, compared."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import exp, log, log10

import numpy as np

from reference_checks.measured_uptake.default_carbon import wide_pored
from reference_checks.measured_uptake.errors import upper_bound
from reference_checks.measured_uptake.step_down import Step, steps

__all__ = ["CHOICES", "COVERAGES", "PER_DECADE", "DecadeBound", "RuleLine", "per_decade_bounds", "rule_table"]

COVERAGES = (0.80, 0.90, 0.95)
PER_DECADE = (1.0, 1.3, 1.5, 2.0, 2.5, 3.0)
"""Divisors for each factor of ten below the calibrated concentration."""
_LEAST_STEP = 30.0
"""Shorter steps than from 100 to 30 Pa say too little about a slope [Pa]."""
CHOICES = ("A", "A, no wide pores", "A and B", "A and B, no wide pores")


def _chosen(choice: str, energy: str) -> list[Step]:
    made = steps(energy, "AB" if choice.startswith("A and B") else "A")
    wide = "no wide" not in choice
    return [s for s in made if s.pressure <= _LEAST_STEP and (wide or s.carbon not in wide_pored())]


def _slope(step: Step) -> float:
    """Excess for one factor of ten."""
    return step.error / log10(step.top / step.pressure)


@dataclass(frozen=True)
class DecadeBound:
    """Divisor for one factor of ten that a new carbon needs; None where too few carbons were measured."""

    choice: str
    carbons: int
    steepest: tuple[tuple[str, float], ...]
    bounds: tuple[float | None, ...]


@cache
def per_decade_bounds(energy: str = "default") -> tuple[DecadeBound, ...]:
    """Worst slope of each carbon, and the distribution-free bound for another carbon like them."""
    lines = []
    for choice in CHOICES:
        worst: dict[str, float] = {}
        for step in _chosen(choice, energy):
            worst[step.carbon] = max(worst.get(step.carbon, -np.inf), _slope(step))
        top = sorted(worst.items(), key=lambda item: -item[1])
        bounds = (upper_bound(list(worst.values()), c) for c in COVERAGES)
        lines.append(
            DecadeBound(
                choice,
                len(worst),
                tuple((name, exp(value)) for name, value in top[:4]),
                tuple(None if b is None else exp(b) for b in bounds),
            )
        )
    return tuple(lines)


@dataclass(frozen=True)
class RuleLine:
    """How often a divisor was enough, and by how much it was more than needed in the middle."""

    choice: str
    per_decade: float
    steps: int
    steps_covered: int
    carbons: int
    carbons_covered: int
    typical_reserve: float


@cache
def rule_table(energy: str = "default") -> tuple[RuleLine, ...]:
    """Each divisor for a factor of ten against every step from 100 Pa to 30 Pa or less."""
    lines = []
    for choice in CHOICES:
        chosen = _chosen(choice, energy)
        for divisor in PER_DECADE:
            left = [(s.carbon, s.error - log(divisor) * log10(s.top / s.pressure)) for s in chosen]
            failed = {carbon for carbon, rest in left if rest > 0}
            carbons = {carbon for carbon, _ in left}
            lines.append(
                RuleLine(
                    choice,
                    divisor,
                    len(left),
                    sum(rest <= 0 for _, rest in left),
                    len(carbons),
                    len(carbons - failed),
                    exp(-float(np.median([rest for _, rest in left]))),
                )
            )
    return tuple(lines)
