"""Molar volume and the two ways between ppm and mg/m3."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.workplace import mass_from_volume_fraction, molar_gas_volume, volume_fraction_from_mass

__all__ = ["CHECKS"]


def _per_cubic_metre_at_0_degC(
    *, volume_fraction: float, molar_mass: float, temperature: float, pressure: float
) -> float:
    """Wrong: the molar volume of 0 degC."""
    return volume_fraction * molar_mass / 22.414e-3


CHECKS = {
    "molar_volume": Check(molar_gas_volume.si),
    "mass_concentration": Check(
        mass_from_volume_fraction.si, refuses={"molar volume of 0 degC": _per_cubic_metre_at_0_degC}
    ),
    "volume_fraction": Check(volume_fraction_from_mass.si),
}
