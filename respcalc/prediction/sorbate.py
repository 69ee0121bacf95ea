"""A vapour as the chain takes it, in floats, and how weakly carbon holds it."""

from __future__ import annotations

from typing import Any

from respcalc.models.affinity import affinity_least
from respcalc.models.capacity import adsorption_potential
from respcalc.models.humidity import standing_water
from respcalc.prediction.chain import Sorbate
from respcalc.vapours import Vapour

__all__ = [
    "REFERENCE_ENERGY",
    "REFERENCE_PRESSURE",
    "REFERENCE_TEMPERATURE",
    "REFERENCE_VOLUME_FRACTION",
    "reduced_potential",
    "sorbate_of",
]

# The reference state at which "how strongly held" is told: that of the calibrated tests.
REFERENCE_TEMPERATURE, REFERENCE_PRESSURE, REFERENCE_VOLUME_FRACTION = 295.15, 101325.0, 1000e-6
REFERENCE_ENERGY = 19.7e3


def reduced_potential(vapour: Vapour, characteristic_energy: float = REFERENCE_ENERGY) -> float:
    """How weakly a vapour is held: A/(beta E0) at 1000 ppm, 22 degC and 101.325 kPa; 0 is full pores.

    Parameters
    ----------
    vapour
        The vapour.
    characteristic_energy
        Of the carbon [J/mol]. A better carbon than the calibrated one earns no credit.
    """
    saturation = float(vapour.saturation_pressures(REFERENCE_TEMPERATURE))
    potential = adsorption_potential.si(
        temperature=REFERENCE_TEMPERATURE,
        saturation_pressure=saturation,
        partial_pressure=min(saturation, REFERENCE_VOLUME_FRACTION * REFERENCE_PRESSURE),
    )
    affinity = affinity_least.si(molar_polarization=vapour.molar_polarization.value)
    return float(potential / (affinity * min(characteristic_energy, REFERENCE_ENERGY)))


def sorbate_of(vapour: Vapour, temperature: Any) -> Sorbate:
    """A vapour in air of some temperature [K]."""
    return Sorbate(
        molar_mass=vapour.molar_mass.value,
        saturation_pressure=vapour.saturation_pressures(temperature),
        liquid_density=vapour.liquid_densities(temperature),
        molar_polarization=vapour.molar_polarization.value,
        diffusion_volume=vapour.diffusion_volume.value,
        mixes_with_water=vapour.mixes_with_water is True,  # not known: the stricter treatment alone
        standing_water=float(standing_water.si(reduced_potential=reduced_potential(vapour))),
    )
