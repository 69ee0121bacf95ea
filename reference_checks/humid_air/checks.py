"""Cartridges conditioned in damp air, light vapours in damp air, warm air: by the chain that the estimates run."""

from __future__ import annotations

from scipy.optimize import brentq

from reference_checks.elements import ATMOSPHERE
from reference_checks.framework import Check
from respcalc.cartridges import describe_history
from respcalc.core.units import Quantity
from respcalc.models.humidity import capacity_beside_water
from respcalc.models.water import water_share
from respcalc.prediction import Bed, Challenge, run_chain, sorbate_of
from respcalc.vapours import find_vapour

__all__ = ["AS_RECEIVED_FLOW", "CHECKS", "EQUILIBRATED_FLOW", "damp", "time"]

AS_RECEIVED_FLOW, EQUILIBRATED_FLOW = 64e-3 / 60.0, 32e-3 / 60.0
_TETRACHLORIDE = "carbon tetrachloride"
_PAIR_MASS, _FACE = 0.100, 100e-4
_ROOM, _WARMER = 293.15, 303.15


def damp(relative_humidity: float) -> float:
    """Share of the pores that water fills after conditioning, as a user would have it."""
    return describe_history(dampest_air=Quantity(relative_humidity, "")).water_share.value


def time(
    vapour: str,
    *,
    volume_fraction: float,
    exit_fraction: float,
    flow_rate: float,
    relative_humidity: float,
    sorbent_mass: float,
    face_area: float = _FACE,
    temperature: float = 298.15,
    water_share: float = 0.0,
) -> float:
    """Predicted time of a bed of the default carbon that may have been damp before."""
    bed = Bed(
        flow_rate=flow_rate,
        sorbent_mass=sorbent_mass,
        face_area=face_area,
        bulk_density=450.0,
        granule_diameter=1.0e-3,
        void_fraction=0.40,
        micropore_volume=0.454e-3,
        characteristic_energy=19.7e3,
        water_share=water_share,
    )
    challenge = Challenge(
        volume_fraction=volume_fraction,
        temperature=temperature,
        pressure=ATMOSPHERE,
        relative_humidity=relative_humidity,
        challenge_fraction=exit_fraction,
        limit_exit=1.0,
    )
    return float(run_chain(sorbate_of(find_vapour(vapour), temperature), bed, challenge).breakthrough_time)


def _passing_mass(
    volume_fraction: float, exit_concentration: float, least_life: float, face_area: float, flow: float, before: float
) -> float:
    def miss(mass: float) -> float:
        return least_life - time(
            _TETRACHLORIDE,
            volume_fraction=volume_fraction,
            exit_fraction=exit_concentration / volume_fraction,
            flow_rate=flow,
            relative_humidity=0.50,
            sorbent_mass=mass,
            face_area=face_area,
            water_share=before,
        )

    return float(brentq(miss, 1e-3, 5.0, xtol=1e-9))


def _equilibrated(
    *, damp_before: float, received_fraction: float, exit_concentration: float, least_life: float, face_area: float
) -> float:
    """Carbon that just passes after conditioning, at 32 L/min."""
    return _passing_mass(
        received_fraction, exit_concentration, least_life, face_area, EQUILIBRATED_FLOW, damp(damp_before)
    )


def _received(*, received_fraction: float, exit_concentration: float, least_life: float, face_area: float) -> float:
    """Carbon that just passes as received, at 64 L/min: one element must do both."""
    return _passing_mass(received_fraction, exit_concentration, least_life, face_area, AS_RECEIVED_FLOW, 0.0)


def _conditioned(*, vapour: str, exit_fraction: float) -> float:
    """Time of a pair conditioned and used at 90 % RH over that of a fresh one at 50 % RH."""
    used, fresh = (
        time(
            vapour,
            volume_fraction=1000e-6,
            exit_fraction=exit_fraction,
            flow_rate=EQUILIBRATED_FLOW,
            relative_humidity=humidity,
            sorbent_mass=_PAIR_MASS,
            water_share=share,
        )
        for humidity, share in ((0.90, damp(0.90)), (0.50, 0.0))
    )
    return used / fresh


def _vinyl_chloride(*, water: str) -> float:
    """Loading at 80 % over that at 15 % RH, from the time to 5 %; or the capacity beside standing water alone."""
    before = damp(0.80)
    if water.startswith("standing"):
        typical = float(water_share.si(relative_humidity=0.80, carbon_dampness=0.0))
        share = typical if water == "standing_typical" else before
        return float(capacity_beside_water.si(water_share=share, standing_water=1.0))
    damp_air, dry_air = (
        time(
            "vinyl chloride",
            volume_fraction=10e-6,
            exit_fraction=0.05,
            flow_rate=70e-6 / 60.0,
            relative_humidity=humidity,
            sorbent_mass=1e-3,
            face_area=0.5e-4,
            temperature=296.15,
            water_share=share,
        )
        for humidity, share in ((0.80, before if water == "both" else 0.0), (0.15, 0.0))
    )
    return damp_air / dry_air


def _warmer(*, vapour: str) -> float:
    """Time at 30 degC over that at 20 degC, 1000 ppm, 50 % RH, to 1 %."""
    warm, room = (
        time(
            vapour,
            volume_fraction=1000e-6,
            exit_fraction=0.01,
            flow_rate=53.3e-3 / 60.0,
            relative_humidity=0.50,
            sorbent_mass=0.0896,
            temperature=temperature,
        )
        for temperature in (_WARMER, _ROOM)
    )
    return warm / room


def _test_air(
    *,
    vapour: str,
    volume_fraction: float,
    exit_concentration: float,
    sorbent_mass: float,
    relative_humidity: float,
) -> float:
    """Time in the air of the European test over that in the air of the US one."""
    european, american = (
        time(
            vapour,
            volume_fraction=volume_fraction,
            exit_fraction=exit_concentration / volume_fraction,
            flow_rate=30e-3 / 60.0,
            relative_humidity=humidity,
            sorbent_mass=sorbent_mass,
            face_area=60e-4,
            temperature=_ROOM,
        )
        for humidity in (relative_humidity, 0.50)
    )
    return european / american


def _line(*, relative_humidity: float) -> float:
    """From 1 at 50 % to one half at 85 %."""
    return 1.0 - 0.5 * (relative_humidity - 0.50) / 0.35


CHECKS = {
    "equilibrated": Check(_equilibrated, expected=_received),
    "halving": Check(_conditioned),
    "vinyl_chloride": Check(_vinyl_chloride),
    "warmer_from_memory": Check(_warmer),
    "test_air": Check(_test_air, independent=_line, refuses={"a step at 85 %": lambda: 1.0}),
}
