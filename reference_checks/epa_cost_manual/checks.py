"""Dubinin-Radushkevich capacities of the default carbon against Freundlich fits of one granular carbon."""

from __future__ import annotations

import math

from reference_checks.framework import Check
from respcalc.models import affinity, capacity
from respcalc.vapours import find_vapour

__all__ = ["CHECKS"]

_PSI = 6894.757


def _pressure(at: str, least: float, most: float) -> float:
    """Least, greatest, or the geometric middle of the pressures that the fit holds for."""
    return {"least": least, "middle": math.sqrt(least * most), "most": most}[at]


def _freundlich(
    *, loading_at_1_psi: float, isotherm_slope: float, least_pressure: float, most_pressure: float, at: str
) -> float:
    return loading_at_1_psi * (_pressure(at, least_pressure, most_pressure) / _PSI) ** isotherm_slope


def _capacity(*, vapour: str, temperature: float, least_pressure: float, most_pressure: float, at: str) -> float:
    found = find_vapour(vapour)
    return float(
        capacity.dubinin_radushkevich_capacity.si(
            temperature=temperature,
            saturation_pressure=found.saturation_pressure(temperature).value,
            partial_pressure=_pressure(at, least_pressure, most_pressure),
            micropore_volume=0.454e-3,
            liquid_density=found.liquid_density(temperature).value,
            characteristic_energy=19.7e3,
            affinity_coefficient=affinity.affinity_least.si(molar_polarization=found.molar_polarization.value),
        )
    )


CHECKS = {
    name: Check(_capacity, expected=_freundlich)
    for name in (
        "benzene",
        "toluene",
        "m_xylene",
        "phenol",
        "chlorobenzene",
        "cyclohexane",
        "1_2_dichloroethane",
        "1_1_1_trichloroethane",
        "vinyl_chloride",
        "acrylonitrile",
        "acetone",
    )
}
