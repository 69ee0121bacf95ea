"""What else is known of the vapours that stand out, to hold each correction against.

A correction fitted to breakthrough times in half-damp air claims something about the carbon that
other measurements can deny: dry isotherms of the same molecules, and how far humid air cuts the
loading of one of them. None of these values is used in a fit.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from reference_checks.nelson_harder_1974.combinations import Models, loading, longest_minutes
from reference_checks.nelson_harder_1974.rows import CHALLENGE, bed, stacked
from respcalc.core.tables import read_table
from respcalc.prediction import sorbate_of
from respcalc.vapours import find_vapour

__all__ = ["DRY", "MEASURED_FALL", "WATER_UPTAKE", "dry_ratio", "fall_by_measured_water", "vinyl_chloride_fall"]

_PSI = 6894.757
_FITS = Path(__file__).parents[1] / "epa_cost_manual" / "fits.csv"

DRY = ("vinyl chloride", "1,1,1-trichloroethane", "1,2-dichloroethane")
"""Halogenated molecules of at most three carbons with a Freundlich fit of the EPA cost manual."""

MEASURED_FALL = (2.0 / 0.58, 2.5 / 0.52)
"""Vinyl chloride, 10 ppm: 2.0 to 2.5 mg/g at 15 % RH, 0.52 to 0.58 mg/g at 80 % (see published_abstracts)."""

WATER_UPTAKE = {  # [kg/kg] at 15, 50 and 80 % RH, 293 to 298 K; 15 % between the nearest humidities printed
    "coal-based granular": (0.0095, 0.0858, 0.371),  # 10.1177/0263617415623423, in a public database, paper not read
    "extruded": (0.0131, 0.120, 0.327),  # 10.1021/je400517c, likewise
    "commercial 1": (0.0204, 0.0914, 0.367),  # 10.1016/s0040-6031(99)00375-5, likewise; 15 % along a line from 0
    "commercial 2": (0.0089, 0.0424, 0.236),  # the same
}


def dry_ratio(models: Models, name: str) -> float:
    """Loading in dry air over the fit, at the vapour pressure of 1000 ppm, inside the range of every fit."""
    row = next(row for row in read_table(_FITS).strict() if row["vapour"] == name)
    pressure = 1000e-6 * 101325.0
    fit = row["loading_at_1_psi"] * (pressure / _PSI) ** row["isotherm_slope"]
    _, dry, _ = loading(
        models,
        sorbate_of(find_vapour(name), row["temperature"]),
        True,
        volume_fraction=1000e-6,
        temperature=row["temperature"],
        relative_humidity=0.0,
    )
    return float(dry / fit)


def vinyl_chloride_fall(models: Models) -> float:
    """Loading at 15 % RH over that at 80 % RH, as what a small bed draws in until 5 % passes, 10 ppm.

    The bed of 1 g and 0.5 cm2 and 23 degC are assumed. The 85 % rule is left out: it is the
    displacement model, or what stands in its place, that is asked.
    """
    kelvin = 296.15
    one = stacked([sorbate_of(find_vapour("vinyl chloride"), kelvin)])
    small = replace(bed(1e-3), flow_rate=70e-6 / 60.0, face_area=0.5e-4, bulk_density=450.0, granule_diameter=1e-3)
    dry, damp = (
        longest_minutes(
            models,
            one,
            np.array([True]),
            small,
            replace(
                CHALLENGE,
                volume_fraction=10e-6,
                temperature=kelvin,
                relative_humidity=relative_humidity,
                challenge_fraction=0.05,
            ),
        )[0]
        for relative_humidity in (0.15, 0.80)
    )
    return float(dry / damp) if damp > 0 else math.inf


def fall_by_measured_water(micropore_volume: float = 0.454) -> dict[str, float]:
    """The same fall if the vapour has only the pores [cm3/g] that water leaves, by measured uptake of water."""
    return {
        carbon: (micropore_volume - dry) / (micropore_volume - damp) for carbon, (dry, _, damp) in WATER_UPTAKE.items()
    }
