"""Use concentrations of masks, and the oxygen behind the altitude table."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.core.units import quantity
from respcalc.workplace import maximum_use_concentration, pressure_at_altitude

__all__ = ["CHECKS"]


def _maximum_use(*, assigned_protection_factor: float, exposure_limit: float, idlh: float) -> float:
    return maximum_use_concentration(
        protection_factor=assigned_protection_factor,
        exposure_limit=quantity(exposure_limit, "", "ppm"),
        idlh=quantity(idlh, "", "ppm"),
    ).value


def _oxygen_pressure(*, altitude: float, oxygen: float) -> float:
    return float(pressure_at_altitude.si(altitude=altitude)) * oxygen


def _oxygen_by_lapse_rate(*, altitude: float, oxygen: float) -> float:
    """The layer of constant lapse rate, written out (ISO 2533): geometric to geopotential height first."""
    height = 6356766.0 * altitude / (6356766.0 + altitude)
    return float(101325.0 * (1 - 0.0065 * height / 288.15) ** 5.255876 * oxygen)


CHECKS = {
    "maximum_use": Check(_maximum_use),
    "oxygen_pressure": Check(_oxygen_pressure, independent=_oxygen_by_lapse_rate, independent_rel=1e-5),
}
