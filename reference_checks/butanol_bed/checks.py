"""A measured pair of carbon beds: does a rate coefficient from one predict the other?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scipy.optimize import brentq

from reference_checks.framework import Check
from respcalc.models import affinity, breakthrough, capacity, rate
from respcalc.workplace import mass_from_volume_fraction

__all__ = ["CHECKS"]

_AREA = 1e-4  # m2; the examples count by bed area
_HOUR = 3600.0


def _concentration(volume_fraction: float, temperature: float, pressure: float, molar_mass: float) -> float:
    return float(
        mass_from_volume_fraction.si(
            volume_fraction=volume_fraction, molar_mass=molar_mass, temperature=temperature, pressure=pressure
        )
    )


def _feed(
    *,
    volume_fraction: float,
    temperature: float,
    pressure: float,
    molar_mass: float,
    superficial_velocity: float,
) -> float:
    inlet = _concentration(volume_fraction, temperature, pressure, molar_mass)
    return inlet * superficial_velocity * _AREA * _HOUR


def _stoichiometric(
    *,
    volume_fraction: float,
    temperature: float,
    pressure: float,
    molar_mass: float,
    superficial_velocity: float,
    bulk_density: float,
    capacity: float,
    bed_depth: float,
) -> float:
    return float(
        breakthrough.stoichiometric_time.si(
            capacity=capacity,
            sorbent_mass=bulk_density * bed_depth * _AREA,
            mass_concentration=_concentration(volume_fraction, temperature, pressure, molar_mass),
            flow_rate=superficial_velocity * _AREA,
        )
    )


def _time(model: Callable[..., Any], depth: float, kv: float, **bed: float) -> float:
    return float(
        model(
            capacity=bed["capacity"],
            sorbent_mass=bed["bulk_density"] * depth * _AREA,
            mass_concentration=bed["mass_concentration"],
            flow_rate=bed["superficial_velocity"] * _AREA,
            bulk_density=bed["bulk_density"],
            rate_coefficient=kv,
            exit_fraction=bed["exit_fraction"],
        )
    )


def _fit(model: Callable[..., Any], depth: float, time: float, **bed: float) -> float:
    """Rate coefficient that returns a bed's time."""
    return float(brentq(lambda kv: _time(model, depth, kv, **bed) - time, 1.0, 1e4, xtol=1e-10))


def _implied_rate(
    *,
    volume_fraction: float,
    temperature: float,
    pressure: float,
    molar_mass: float,
    superficial_velocity: float,
    bulk_density: float,
    capacity: float,
    bed_depth: float,
    exit_fraction: float,
    breakthrough_time: float,
) -> float:
    return _fit(
        breakthrough.wheeler_jonas_time.si,
        bed_depth,
        breakthrough_time,
        capacity=capacity,
        bulk_density=bulk_density,
        mass_concentration=_concentration(volume_fraction, temperature, pressure, molar_mass),
        superficial_velocity=superficial_velocity,
        exit_fraction=exit_fraction,
    )


def _scaled_with(model: Callable[..., Any]) -> Callable[..., float]:
    def scaled(
        *,
        volume_fraction: float,
        temperature: float,
        pressure: float,
        molar_mass: float,
        superficial_velocity: float,
        bulk_density: float,
        capacity: float,
        exit_fraction: float,
        fitted_depth: float,
        fitted_time: float,
        bed_depth: float,
    ) -> float:
        bed = {
            "capacity": capacity,
            "bulk_density": bulk_density,
            "mass_concentration": _concentration(volume_fraction, temperature, pressure, molar_mass),
            "superficial_velocity": superficial_velocity,
            "exit_fraction": exit_fraction,
        }
        return _time(model, bed_depth, _fit(model, fitted_depth, fitted_time, **bed), **bed)

    return scaled


def _capacity(
    *,
    volume_fraction: float,
    temperature: float,
    pressure: float,
    molar_mass: float,
    saturation_pressure: float,
    refractive_index: float,
    liquid_density: float,
) -> float:
    polarization = affinity.lorentz_lorenz_polarization.si(
        refractive_index=refractive_index, molar_mass=molar_mass, liquid_density=liquid_density
    )
    return float(
        capacity.dubinin_radushkevich_capacity.si(
            temperature=temperature,
            saturation_pressure=saturation_pressure,
            partial_pressure=volume_fraction * pressure,
            micropore_volume=0.454e-3,
            liquid_density=liquid_density,
            characteristic_energy=19.7e3,
            affinity_coefficient=affinity.affinity_least.si(molar_polarization=polarization),
        )
    )


CHECKS = {
    "feed": Check(_feed),
    "stoichiometric": Check(_stoichiometric),
    "implied_rate": Check(_implied_rate),
    "thinner_bed": Check(_scaled_with(breakthrough.wheeler_jonas_time.si)),
    "thinner_bed_exact_form": Check(_scaled_with(breakthrough.bohart_adams_time.si)),
    "thicker_bed": Check(_scaled_with(breakthrough.wheeler_jonas_time.si)),
    "capacity": Check(_capacity),
    "film_ceiling": Check(rate.film_dispersion_ceiling.si),
}
