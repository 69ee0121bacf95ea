"""The two examples that the regulation prints."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.core.units import quantity
from respcalc.workplace import additive_index, time_weighted_average

__all__ = ["CHECKS"]


def _average(
    *, first: float, first_time: float, second: float, second_time: float, third: float, third_time: float
) -> float:
    average = time_weighted_average(
        [quantity(c, "", "ppm") for c in (first, second, third)],
        [quantity(t, "s", "h") for t in (first_time, second_time, third_time)],
    )
    return float(average.m_as("dimensionless"))


def _mixture(
    *, first: float, first_limit: float, second: float, second_limit: float, third: float, third_limit: float
) -> float:
    return additive_index(
        [quantity(c, "", "ppm") for c in (first, second, third)],
        [quantity(c, "", "ppm") for c in (first_limit, second_limit, third_limit)],
    )


CHECKS = {"average": Check(_average), "mixture": Check(_mixture)}
