"""Diffusivity and viscosity against values from elsewhere."""

from __future__ import annotations

import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from respcalc.models.transport import air_kinematic_viscosity, fuller_diffusivity


@pytest.mark.parametrize("height", [0.0, 500.0, 2000.0, 4000.0])
def test_viscosity_against_the_standard_atmosphere(height):
    air = ATMOSPHERE_1976(height)
    found = air_kinematic_viscosity.si(temperature=air.T, pressure=air.P)
    assert found == pytest.approx(air.mu / air.rho, rel=1e-4)


@pytest.mark.parametrize(
    ("mass", "volume", "temperature", "measured"),
    [
        (92.14, 111.5, 298.15, 0.0849),  # toluene; this and the others from memory
        (78.11, 90.96, 298.15, 0.0932),  # benzene
        (76.53, 80.25, 298.0, 0.098),  # allyl chloride
    ],
)
def test_diffusivity_within_ten_per_cent_of_measurement(mass, volume, temperature, measured):
    found = fuller_diffusivity.si(
        temperature=temperature, pressure=101325.0, molar_mass=mass * 1e-3, diffusion_volume=volume * 1e-6
    )
    assert found * 1e4 == pytest.approx(measured, rel=0.10)


def test_scaling_with_temperature_and_pressure():
    base = {"temperature": 300.0, "pressure": 1e5, "molar_mass": 0.09, "diffusion_volume": 1.1e-4}
    one = fuller_diffusivity.si(**base)
    assert fuller_diffusivity.si(**base | {"pressure": 5e4}) == pytest.approx(2 * one)
    assert fuller_diffusivity.si(**base | {"temperature": 330.0}) == pytest.approx(1.1**1.75 * one)
