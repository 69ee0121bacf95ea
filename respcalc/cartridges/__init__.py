"""What the wearer breathes through: the sorbent bed of a cartridge, and how it is known."""

from __future__ import annotations

from respcalc.cartridges.bed import describe_bed
from respcalc.cartridges.cartridge import Cartridge, Evidence
from respcalc.cartridges.certified import Certification, certified_bed, known_certifications
from respcalc.cartridges.curve_fit import CurveFit, LackOfFit, fit_wheeler_jonas, fit_yoon_nelson
from respcalc.cartridges.fitted import ENERGY_RANGE, BedFit, FittedTest, fit_bed
from respcalc.cartridges.history import SEALED, CarbonHistory, describe_history
from respcalc.cartridges.reports import TestTable, read_tests
from respcalc.cartridges.tested import CartridgeTest, TestCurve, describe_curve, describe_test

__all__ = [
    "ENERGY_RANGE",
    "SEALED",
    "BedFit",
    "CarbonHistory",
    "Cartridge",
    "CartridgeTest",
    "Certification",
    "CurveFit",
    "Evidence",
    "FittedTest",
    "LackOfFit",
    "TestCurve",
    "TestTable",
    "certified_bed",
    "describe_bed",
    "describe_curve",
    "describe_history",
    "describe_test",
    "fit_bed",
    "fit_wheeler_jonas",
    "fit_yoon_nelson",
    "known_certifications",
    "read_tests",
]
