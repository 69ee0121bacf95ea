"""Water displaces the vapour only where it should, without a seam, and stays finite at both ends."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from respcalc.models.capacity import adsorption_potential, dubinin_capacity_at_potential
from respcalc.models.constants import GAS_CONSTANT, WATER_MOLAR_VOLUME
from respcalc.models.humidity import humidity_rule, manes_onset_humidity, manes_potential

SHARE = 0.28
vapours = st.fixed_dictionaries(
    {
        "temperature": st.floats(273, 313),
        "liquid_molar_volume": st.floats(5e-5, 2.5e-4),
        "saturation_pressure": st.floats(800, 4e4),
        "partial_pressure": st.floats(0.5, 700),
    }
)


def potentials(vapour, humidity):
    dry = adsorption_potential.si(**{n: vapour[n] for n in ("temperature", "saturation_pressure", "partial_pressure")})
    wet = manes_potential.si(
        adsorption_potential=dry,
        temperature=vapour["temperature"],
        relative_humidity=humidity,
        liquid_molar_volume=vapour["liquid_molar_volume"],
    )
    return dry, wet


def onset(vapour):
    return manes_onset_humidity.si(**{n: v for n, v in vapour.items() if n != "temperature"})


@given(vapours, st.floats(0, 1))
def test_dry_below_the_onset_and_continuous_there(vapour, share):
    start = onset(vapour)
    dry, below = potentials(vapour, share * start)
    assert below == pytest.approx(dry, rel=1e-9)
    _, just_above = potentials(vapour, min(1.0, start * (1 + 1e-9)))
    assert just_above == pytest.approx(dry, rel=1e-5)
    _, above = potentials(vapour, start + 0.9 * (1 - start) + 1e-6)
    assert above >= dry


@given(vapours)
def test_bone_dry_and_saturated_air_are_finite(vapour):
    dry, at_zero = potentials(vapour, 0.0)
    assert at_zero == dry
    _, at_one = potentials(vapour, 1.0)
    assert at_one == pytest.approx(dry / (1 - SHARE))
    called = manes_potential(
        adsorption_potential="12 kJ/mol",
        temperature="25 degC",
        relative_humidity=[0, 1],
        liquid_molar_volume="107 cm3/mol",
    )
    assert called.magnitude == pytest.approx([12, 12 / (1 - SHARE)])


@given(vapours, st.floats(0.3, 1.0))
def test_the_closed_form_solves_the_balance_of_potentials(vapour, humidity):
    dry, wet = potentials(vapour, humidity)
    ratio = vapour["liquid_molar_volume"] / WATER_MOLAR_VOLUME
    water = -GAS_CONSTANT * vapour["temperature"] * np.log(humidity)

    def balance(potential):
        return potential - ratio * max(0.0, SHARE * potential / ratio - water) - dry

    assert wet == pytest.approx(brentq(balance, 0.0, 3 * dry, xtol=1e-9, rtol=1e-13), rel=1e-9)


@pytest.mark.parametrize(
    ("ppm", "onset_at", "shares"),
    [
        (200, 0.78, {0.50: 1.0, 0.75: 1.0, 0.80: 0.97, 0.85: 0.91, 0.90: 0.85}),
        (50, 0.73, {0.65: 1.0, 0.75: 0.97, 0.80: 0.88, 0.85: 0.80, 0.90: 0.73}),
        (5, 0.66, {0.65: 1.0, 0.75: 0.77, 0.80: 0.68, 0.85: 0.59, 0.90: 0.52}),
    ],
)
def test_toluene_in_damp_air(ppm, onset_at, shares):
    vapour = {
        "temperature": 298.15,
        "liquid_molar_volume": 106.9e-6,
        "saturation_pressure": 3790.0,
        "partial_pressure": ppm * 0.101325,
    }
    assert onset(vapour) == pytest.approx(onset_at, abs=0.005)
    for humidity, share in shares.items():
        dry, wet = (
            dubinin_capacity_at_potential.si(
                adsorption_potential=potential,
                micropore_volume=0.454e-3,
                liquid_density=862.0,
                characteristic_energy=19.7e3,
                affinity_coefficient=1.136,
            )
            for potential in potentials(vapour, humidity)
        )
        assert wet / dry == pytest.approx(share, abs=0.006)


@pytest.mark.parametrize(
    ("humidity", "factor"),
    [(0.0, 1.0), (0.5, 1.0), (0.675, 0.75), (0.84, 0.5142857), (0.85, 0.5), (0.95, 0.5), (1.0, 0.5)],
)
def test_the_rule_of_85_per_cent(humidity, factor):
    assert humidity_rule.si(relative_humidity=humidity) == pytest.approx(factor)
