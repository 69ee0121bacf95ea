"""Affinity correlations meet at benzene, and the least of them is the least."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.models.affinity import (
    affinity_least,
    affinity_polarization_ratio,
    affinity_wood_molar_volume,
    affinity_wood_polarization,
    lorentz_lorenz_polarization,
)


def test_all_correlations_make_benzene_one():
    assert affinity_wood_polarization.si(molar_polarization=26.2e-6) == pytest.approx(0.998, abs=5e-4)
    assert affinity_polarization_ratio.si(molar_polarization=26.2e-6) == pytest.approx(1.0)
    assert affinity_wood_molar_volume.si(liquid_molar_volume=89.4e-6) == pytest.approx(1.004, abs=5e-4)


@pytest.mark.parametrize(
    ("polarization", "power", "ratio"),
    [(12.93, 0.588, 0.530), (16.18, 0.695, 0.648), (20.71, 0.837, 0.809), (31.12, 1.136, 1.167), (35.99, 1.266, 1.331)],
)
def test_the_two_polarization_forms(polarization, power, ratio):
    given_polarization = {"molar_polarization": polarization * 1e-6}
    assert affinity_wood_polarization.si(**given_polarization) == pytest.approx(power, abs=1e-3)
    assert affinity_polarization_ratio.si(**given_polarization) == pytest.approx(ratio, abs=1e-3)
    assert affinity_least.si(**given_polarization) == pytest.approx(min(power, ratio), abs=1e-3)


@given(st.floats(5e-6, 1e-4))
def test_the_least_is_the_lower_of_the_two(polarization):
    least = affinity_least.si(molar_polarization=polarization)
    both = [f.si(molar_polarization=polarization) for f in (affinity_wood_polarization, affinity_polarization_ratio)]
    assert least == min(both)


@pytest.mark.parametrize(
    ("index", "mass", "density", "polarization"),
    [(1.5011, 78.11, 0.8765, 26.2), (1.4941, 92.14, 0.8622, 31.1), (1.3588, 58.08, 0.7899, 16.2)],
)
def test_lorentz_lorenz(index, mass, density, polarization):
    found = lorentz_lorenz_polarization.si(refractive_index=index, molar_mass=mass * 1e-3, liquid_density=density * 1e3)
    assert found * 1e6 == pytest.approx(polarization, abs=0.06)
