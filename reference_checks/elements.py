"""Certification tests of elements: what the test draws in, how long a bed lasts, what bed just passes."""

from __future__ import annotations

from scipy.optimize import brentq

from respcalc.prediction import Bed, Challenge, run_chain, sorbate_of
from respcalc.vapours import find_vapour
from respcalc.workplace import mass_from_volume_fraction

__all__ = ["just_passing_mass", "life", "load", "load_at_0_degC"]

ATMOSPHERE = 101325.0


def load(
    *,
    volume_fraction: float,
    molar_mass: float,
    temperature: float,
    pressure: float,
    flow_rate: float,
    worn_time: float,
) -> float:
    """Mass of vapour drawn in."""
    inlet = mass_from_volume_fraction.si(
        volume_fraction=volume_fraction, molar_mass=molar_mass, temperature=temperature, pressure=pressure
    )
    return float(inlet * flow_rate * worn_time)


def load_at_0_degC(*, volume_fraction: float, molar_mass: float, flow_rate: float, worn_time: float) -> float:
    """Wrong on purpose: the molar volume of 0 degC."""
    return volume_fraction * flow_rate * worn_time / 22.414e-3 * molar_mass


def life(
    *,
    vapour: str,
    volume_fraction: float,
    flow_rate: float,
    temperature: float,
    relative_humidity: float,
    exit_concentration: float,
    sorbent_mass: float,
    face_area: float,
) -> float:
    """Predicted time of a bed of the default carbon, by the chain that the library's estimates run."""
    bed = Bed(
        flow_rate=flow_rate,
        sorbent_mass=sorbent_mass,
        face_area=face_area,
        bulk_density=450.0,
        granule_diameter=1.0e-3,
        void_fraction=0.40,
        micropore_volume=0.454e-3,
        characteristic_energy=19.7e3,
    )
    challenge = Challenge(
        volume_fraction=volume_fraction,
        temperature=temperature,
        pressure=ATMOSPHERE,
        relative_humidity=relative_humidity,
        challenge_fraction=exit_concentration / volume_fraction,
        limit_exit=1.0,
    )
    return float(run_chain(sorbate_of(find_vapour(vapour), temperature), bed, challenge).breakthrough_time)


def just_passing_mass(
    *,
    vapour: str,
    volume_fraction: float,
    flow_rate: float,
    temperature: float,
    relative_humidity: float,
    exit_concentration: float,
    least_life: float,
    face_area: float,
) -> float:
    """Carbon with which the predicted time is the required one."""

    def miss(mass: float) -> float:
        return least_life - life(
            vapour=vapour,
            volume_fraction=volume_fraction,
            flow_rate=flow_rate,
            temperature=temperature,
            relative_humidity=relative_humidity,
            exit_concentration=exit_concentration,
            sorbent_mass=mass,
            face_area=face_area,
        )

    return float(brentq(miss, 1e-3, 5.0, xtol=1e-9))
