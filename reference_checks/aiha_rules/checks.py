"""The rules of thumb, as far as the library holds them."""

from __future__ import annotations

import math

from reference_checks.framework import Check
from respcalc.models import humidity

__all__ = ["CHECKS"]


def _chain(
    *, base_time: float, base_fraction: float, volume_fraction: float, work_rates: float, relative_humidity: float
) -> float:
    factor = humidity.humidity_rule.si(relative_humidity=relative_humidity)
    return float(base_time * (base_fraction / volume_fraction) ** math.log10(5) / work_rates * factor)


CHECKS = {"halving": Check(humidity.humidity_rule.si), "chain": Check(_chain)}
