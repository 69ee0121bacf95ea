"""Saturation pressure of water, over the liquid."""

from __future__ import annotations

import math

from reference_checks.framework import Check
from respcalc.workplace import water_saturation_pressure

__all__ = ["CHECKS"]

_IF97 = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def _if97(*, temperature: float) -> float:
    """The saturation equation of IAPWS-IF97 (its region 4)."""
    n = _IF97
    x = temperature + n[8] / (temperature - n[9])
    a, b, c = x * x + n[0] * x + n[1], n[2] * x * x + n[3] * x + n[4], n[5] * x * x + n[6] * x + n[7]
    return 1e6 * (2 * c / (-b + math.sqrt(b * b - 4 * a * c))) ** 4


def _murphy_koop(*, temperature: float) -> float:
    """Over supercooled water, from memory."""
    t, log = temperature, math.log(temperature)
    warm = 53.878 - 1331.22 / t - 9.44523 * log + 0.014025 * t
    return math.exp(54.842763 - 6763.22 / t - 4.210 * log + 0.000367 * t + math.tanh(0.0415 * (t - 218.8)) * warm)


def _over_ice(*, temperature: float) -> float:
    """Wrong here: saturation over ice, which is lower (Murphy & Koop, from memory)."""
    t = temperature
    return math.exp(9.550426 - 5723.265 / t + 3.53068 * math.log(t) - 0.00728332 * t)


def _celsius_for_kelvin(*, temperature: float) -> float:
    """Wrong: 273 instead of 273.15."""
    return float(water_saturation_pressure.si(temperature=temperature - 0.15))


CHECKS = {
    "steam_table": Check(
        water_saturation_pressure.si,
        refuses={"over ice": _over_ice, "0 degC taken as 273 K": _celsius_for_kelvin},
    ),
    "verification": Check(water_saturation_pressure.si),
    "other_formulation": Check(
        water_saturation_pressure.si, independent=_if97, independent_rel=1e-4, refuses={"273 K": _celsius_for_kelvin}
    ),
    "supercooled": Check(
        water_saturation_pressure.si, independent=_murphy_koop, independent_rel=2e-3, refuses={"over ice": _over_ice}
    ),
}
