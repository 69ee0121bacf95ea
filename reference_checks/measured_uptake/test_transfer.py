"""The rule by which an own test is carried to less vapour, held against measured isotherms."""

from __future__ import annotations

import numpy as np
import pytest

from reference_checks.measured_uptake.isotherms import isotherms
from respcalc.cartridges import ENERGY_RANGE
from respcalc.estimate.credit import TRANSFER_GROWTH
from respcalc.estimate.margin import DILUTION_POWER
from respcalc.models.affinity import affinity_least
from respcalc.models.constants import GAS_CONSTANT


def overstated(energy: float) -> np.ndarray:
    """By how much the rule overstates a life, per e-fold of dilution, over pairs of points of commercial carbons.

    A life goes as loading over concentration. Points from 20 to 1000 Pa (200 ppm to 1 %), at least 1.6 times apart.
    """
    found = []
    for one in isotherms("A"):
        vapour, kelvin = one.known, one.temperature
        beta = float(affinity_least.si(molar_polarization=vapour.molar_polarization.value))
        kappa = GAS_CONSTANT * kelvin / (beta * energy)
        for high, n_high in zip(one.pressure, one.loading, strict=True):
            for low, n_low in zip(one.pressure, one.loading, strict=True):
                dilution = np.log(high / low)
                if low >= 20 and high <= 1000 and dilution > 0.5:
                    local = 1.0 - 2.0 * kappa**2 * np.log(one.saturation_pressure / low)
                    rule = min(DILUTION_POWER, local) * dilution
                    found.append((rule - np.log(n_low / n_high) - dilution) / dilution)
    return np.array(found)


def test_by_the_low_end_of_respirator_carbons_95_of_100_are_overstated_by_less_than_the_growth_of_the_margin() -> None:
    """Where no test told the energy, the rule takes 16 kJ/mol."""
    off = overstated(ENERGY_RANGE[0] - 2 * ENERGY_RANGE[1])
    assert off.size > 100
    assert np.quantile(off, 0.95) <= TRANSFER_GROWTH
    assert off.max() < 0.15
    assert np.median(off) < -0.1


def test_even_by_the_default_energy_it_holds_for_19_of_20() -> None:
    off = overstated(19.7e3)
    assert np.quantile(off, 0.95) <= TRANSFER_GROWTH
    assert off.max() == pytest.approx(0.35, abs=0.03)  # acetone, badly held: why the low end is taken
