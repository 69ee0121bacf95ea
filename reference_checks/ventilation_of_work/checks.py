"""Minute ventilation of the classes of ISO 8996, worked out from oxygen uptake."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.workplace import flow_from_metabolic_rate

__all__ = ["CHECKS"]


def _by_oxygen(*, metabolic_rate: float, air_for_oxygen: float) -> float:
    """Litres of oxygen a minute first, as a physiologist would, then air, then cubic metres a second."""
    litres_of_oxygen_a_minute = metabolic_rate * 60 / 20.5e3
    return litres_of_oxygen_a_minute * air_for_oxygen / 1000 / 60


def _calories(*, metabolic_rate: float, air_for_oxygen: float) -> float:
    """Wrong: 4.9 kcal a litre of oxygen taken for kilojoules."""
    return air_for_oxygen * metabolic_rate / 4.9e6


CHECKS = {
    "ventilation": Check(
        flow_from_metabolic_rate.si, independent=_by_oxygen, independent_rel=1e-12, refuses={"kilocalories": _calories}
    )
}
