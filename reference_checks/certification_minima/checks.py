"""Each certification row is met, and just met, by the bed that is inferred from it."""

from __future__ import annotations

import math
from functools import cache

from reference_checks.framework import Check
from respcalc.cartridges import Cartridge, certified_bed
from respcalc.prediction import Challenge, breath_over_gas, run_chain, sorbate_of
from respcalc.vapours import Vapour, find_vapour

__all__ = ["CHECKS"]

_ATM = 101325.0


@cache
def _bed(type: str) -> Cartridge:
    return certified_bed("inferred", type, combination=False, in_parallel=1).beds()[0]


def _time(
    *, type: str, vapour: str, volume_fraction: float, flow_rate: float, temperature: float, exit_concentration: float
) -> float:
    bed = _bed(type)
    outcome = run_chain(
        sorbate_of(find_vapour(vapour), temperature),
        bed.bed(flow_rate),
        Challenge(volume_fraction, temperature, _ATM, 0.0, exit_concentration / volume_fraction, math.inf),
        bed.rate_share,
    )
    return float(outcome.breakthrough_time) * breath_over_gas(temperature, _ATM)


def _by_hand(
    *, type: str, vapour: str, volume_fraction: float, flow_rate: float, temperature: float, exit_concentration: float
) -> float:
    """Wheeler-Jonas with the exact logarithm, DR, the least of three rates, in g, cm3 and min."""
    bed, who = _bed(type), find_vapour(vapour)
    x = exit_concentration / volume_fraction
    polarization, molar = who.molar_polarization.value * 1e6, who.molar_mass.value * 1e3
    saturation, density = float(who.saturation_pressures(temperature)), float(who.liquid_densities(temperature)) / 1e3
    beta = min(0.0862 * polarization**0.75, (polarization / 26.2) ** 0.9)
    work = 8.31446e-3 * temperature * math.log(saturation / (volume_fraction * _ATM))
    held = (
        bed.micropore_volume.value
        * 1e3
        * density
        * math.exp(-((work / (beta * bed.characteristic_energy.value / 1e3)) ** 2))
    )
    area, grams = bed.face_area.value * 1e4, bed.sorbent_mass.value * 1e3
    packed, flow = bed.bulk_density.value / 1e3, flow_rate * 6e7
    velocity = flow / 60 / area
    floor = max(1e-4, 1 / (1 + math.exp((0.063 + 0.000825 * polarization) / 0.011)))
    share = max(x, 1.012 * floor)
    kv = 1 / ((1 / velocity + 0.027) * (0.000825 + (0.063 - 0.0055 * math.log((1 - share) / share)) / polarization))
    lodewyckx = 800 * beta**0.33 * velocity**0.75 * (bed.granule_diameter.value * 100) ** -1.5 * math.sqrt(held / molar)
    ceiling = _ceiling_by_hand(velocity, bed.granule_diameter.value * 100, bed.void_fraction.value, molar, who)
    kv = min(kv, lodewyckx, ceiling) * bed.rate_share
    inlet = volume_fraction * molar * _ATM / (8.31446 * temperature) * 1e-6
    units = kv * grams / (packed * flow)
    return 60 * held * packed / (kv * inlet) * (units + math.log(1 - math.exp(-units)) - math.log((1 - x) / x))


def _ceiling_by_hand(velocity: float, grain: float, void: float, molar: float, who: Vapour) -> float:
    """Gas film (Wakao and Funazkri) and dispersion (Edwards and Richardson) in series, in cold air, 1/min."""
    pair = 2 / (1 / molar + 1 / 28.9644)
    volumes = (who.diffusion_volume.value * 1e6) ** (1 / 3) + 19.7 ** (1 / 3)
    diffusion = 0.00143 * 273.15**1.75 / (1.01325 * math.sqrt(pair) * volumes**2)
    density = 101325.0 * 28.9644e-3 / (8.31446 * 273.15)
    viscosity = 1.458e-6 * 273.15**1.5 / (273.15 + 110.4) / density * 1e4
    sherwood = 2 + 1.1 * (viscosity / diffusion) ** (1 / 3) * (velocity * grain / viscosity) ** 0.6
    film = sherwood * diffusion / grain * 6 * (1 - void) / grain
    at = max(velocity, 6.149 * void * diffusion / grain)
    spread = 0.73 * diffusion + 0.5 * at / void * grain / (1 + 9.7 * diffusion * void / (at * grain))
    return 60 / (1 / film + void * spread / (at * velocity))


CHECKS = {"least_time": Check(_time, independent=_by_hand, independent_rel=1e-5)}
