"""The library's vapour pressures against another compilation."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.vapours import find_vapour

__all__ = ["CHECKS"]


def _saturation_pressure(*, cas: str, temperature: float) -> float:
    return find_vapour(cas).saturation_pressure(temperature).value


CHECKS = {"vapour_pressure": Check(_saturation_pressure)}
