"""Air at a height: pressure, and the viscosity that goes with it."""

from __future__ import annotations

from fluids.atmosphere import ATMOSPHERE_1976

from reference_checks.framework import Check
from respcalc.models.transport import air_kinematic_viscosity
from respcalc.workplace import pressure_at_altitude

__all__ = ["CHECKS"]


_EARTH = 6356766.0  # m, the radius that the standard converts heights with


def _pressure_by_lapse_rate(*, altitude: float) -> float:
    """The layer of constant lapse rate, written out; geometric to geopotential height first."""
    return _by_geopotential(geopotential_altitude=_EARTH * altitude / (_EARTH + altitude))


def _by_geopotential(*, geopotential_altitude: float) -> float:
    return float(101325.0 * (1 - 0.0065 * geopotential_altitude / 288.15) ** 5.255876)


def _pressure_geopotential(*, geopotential_altitude: float) -> float:
    """The library takes heights as they are measured, so the table's are turned into those first."""
    altitude = _EARTH * geopotential_altitude / (_EARTH - geopotential_altitude)
    return float(pressure_at_altitude.si(altitude=altitude))


def _viscosity_of_the_fluids_library(*, altitude: float) -> float:
    air = ATMOSPHERE_1976(altitude)
    return float(air.mu / air.rho)


CHECKS = {
    "pressure": Check(pressure_at_altitude.si, independent=_pressure_by_lapse_rate, independent_rel=1e-6),
    "pressure_geopotential": Check(_pressure_geopotential, independent=_by_geopotential, independent_rel=1e-6),
    "viscosity": Check(air_kinematic_viscosity.si, independent=_viscosity_of_the_fluids_library, independent_rel=1e-4),
}
