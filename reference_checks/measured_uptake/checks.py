"""Dubinin-Radushkevich capacities of the default carbon against measured loadings of other carbons."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.models import affinity, capacity
from respcalc.vapours import find_vapour

__all__ = ["CHECKS"]


def _capacity(*, cas: str, temperature: float, partial_pressure: float) -> float:
    found = find_vapour(cas)
    return float(
        capacity.dubinin_radushkevich_capacity.si(
            temperature=temperature,
            saturation_pressure=found.saturation_pressure(temperature).value,
            partial_pressure=partial_pressure,
            micropore_volume=0.454e-3,
            liquid_density=found.liquid_density(temperature).value,
            characteristic_energy=19.7e3,
            affinity_coefficient=affinity.affinity_least.si(molar_polarization=found.molar_polarization.value),
        )
    )


CHECKS = {
    name: Check(_capacity)
    for name in (
        "sochard",
        "nastaj_2013",
        "nastaj_2016",
        "yun",
        "lillo_rodenas_low",
        "lillo_rodenas_middle",
        "lillo_rodenas_high",
        "wang",
    )
}
