"""Loadings, times and equivalences that abstracts print, by the chain that the library's estimates run."""

from __future__ import annotations

from reference_checks.elements import ATMOSPHERE, life
from reference_checks.framework import Check
from respcalc.prediction import Bed, Challenge, run_chain, sorbate_of
from respcalc.vapours import find_vapour
from respcalc.workplace import mass_from_volume_fraction

__all__ = ["CANISTER_FLOW", "CHECKS", "canister_time"]

CANISTER_FLOW = 49e-3 / 60.0
_ROOM = 296.15  # no abstract gives the temperature of these tests
_FACE = 100e-4


def canister_time(*, vapour: str, volume_fraction: float, relative_humidity: float) -> float:
    """Time to 1 % through a front-mounted canister as assumed for the US certification test: 270 g, 100 cm2."""
    return life(
        vapour=vapour,
        volume_fraction=volume_fraction,
        flow_rate=CANISTER_FLOW,
        temperature=_ROOM,
        relative_humidity=relative_humidity,
        exit_concentration=0.01 * volume_fraction,
        sorbent_mass=0.270,
        face_area=_FACE,
    )


def _loading(*, volume_fraction: float, flow_rate: float, relative_humidity: float) -> float:
    """Vinyl chloride drawn in until 5 % passes, over the carbon; what passes before is neglected."""
    found = find_vapour("vinyl chloride")
    mass = 1e-3
    time = run_chain(
        sorbate_of(found, _ROOM),
        Bed(
            flow_rate=flow_rate,
            sorbent_mass=mass,
            face_area=0.5e-4,
            bulk_density=450.0,
            granule_diameter=1.0e-3,
            void_fraction=0.40,
            micropore_volume=0.454e-3,
            characteristic_energy=19.7e3,
        ),
        Challenge(
            volume_fraction=volume_fraction,
            temperature=_ROOM,
            pressure=ATMOSPHERE,
            relative_humidity=relative_humidity,
            challenge_fraction=0.05,
            limit_exit=1.0,
        ),
    ).breakthrough_time
    inlet = mass_from_volume_fraction.si(
        volume_fraction=volume_fraction, molar_mass=found.molar_mass.value, temperature=293.15, pressure=ATMOSPHERE
    )
    return float(time * flow_rate * inlet / mass)


def _challenged(
    *,
    vapour: str,
    volume_fraction: float,
    flow_rate: float,
    relative_humidity: float,
    exit_concentration: float,
    sorbent_mass: float,
) -> float:
    return life(
        vapour=vapour,
        volume_fraction=volume_fraction,
        flow_rate=flow_rate,
        temperature=298.15,
        relative_humidity=relative_humidity,
        exit_concentration=exit_concentration,
        sorbent_mass=sorbent_mass,
        face_area=_FACE,
    )


def _tetrachloride(
    *,
    reference_fraction: float,
    reference_flow: float,
    reference_humidity: float,
    reference_exit: float,
    sorbent_mass: float,
) -> float:
    return _challenged(
        vapour="carbon tetrachloride",
        volume_fraction=reference_fraction,
        flow_rate=reference_flow,
        relative_humidity=reference_humidity,
        exit_concentration=reference_exit,
        sorbent_mass=sorbent_mass,
    )


CHECKS = {
    "vinyl_chloride": Check(_loading),
    "canister_falls_short": Check(canister_time),
    "canister_lasts_too_long": Check(canister_time),
    "cyclohexane": Check(_challenged, expected=_tetrachloride),
    "certification": Check(_challenged, expected=_tetrachloride),
    "conditioned": Check(_challenged, expected=_tetrachloride),
}
