"""Diffusivity of a few vapours in air."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.models.transport import fuller_diffusivity
from respcalc.vapours import find_vapour

__all__ = ["CHECKS"]


def _by_hand(*, temperature: float, pressure: float, molar_mass: float, diffusion_volume: float) -> float:
    """In the printed units of the original form: atm, and 0.001 T^1.75 (1/Ma + 1/Mb)^0.5."""
    widths = (diffusion_volume * 1e6) ** (1 / 3) + 19.7 ** (1 / 3)
    share = (1 / (molar_mass * 1e3) + 1 / 28.9644) ** 0.5
    return float(0.001 * temperature**1.75 * share / (pressure / 101325 * widths**2) * 1e-4)


def _as_used(*, vapour: str, temperature: float, pressure: float) -> float:
    found = find_vapour(vapour)
    return float(
        fuller_diffusivity.si(
            temperature=temperature,
            pressure=pressure,
            molar_mass=found.molar_mass.value,
            diffusion_volume=found.diffusion_volume.value,
        )
    )


CHECKS = {
    "diffusivity": Check(fuller_diffusivity.si, independent=_by_hand, independent_rel=3e-3),
    "diffusivity_as_used": Check(_as_used),
}
