"""A vapour and a cartridge as the chain takes them: in floats."""

from __future__ import annotations

from typing import Any

from respcalc.cartridges import CarbonHistory, Cartridge
from respcalc.estimate.chain import Bed, Sorbate
from respcalc.estimate.margin import reduced_potential
from respcalc.models.humidity import standing_water
from respcalc.vapours import Vapour

__all__ = ["bed_of", "sorbate_of"]


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


def bed_of(cartridge: Cartridge, flow_rate: Any, history: CarbonHistory) -> Bed:
    """The bed of a cartridge with the flow [m3/s] through it, and the water on it before use."""
    return Bed(
        flow_rate=flow_rate,
        sorbent_mass=cartridge.sorbent_mass.value,
        face_area=cartridge.face_area.value,
        bulk_density=cartridge.bulk_density.value,
        granule_diameter=cartridge.granule_diameter.value,
        void_fraction=cartridge.void_fraction.value,
        micropore_volume=cartridge.micropore_volume.value,
        characteristic_energy=cartridge.characteristic_energy.value,
        water_share=history.water_share.value,
    )
