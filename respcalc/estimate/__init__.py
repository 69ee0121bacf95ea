"""Models composed into a conservative service life, for one case or a table of them."""

from __future__ import annotations

from respcalc.core.cautions import CAUTIONS, SHORT_CAUTION
from respcalc.estimate.calibration import Calibration, read_calibration, shipped_calibration
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import (
    DEFAULT_COVERAGE,
    Margin,
    is_light_halogenated,
    margin_of,
    read_coverage,
)
from respcalc.estimate.result import ServiceLife
from respcalc.estimate.service_life import (
    estimate_inhaled,
    estimate_mixture_life,
    estimate_product_life,
    estimate_service_life,
)
from respcalc.estimate.sweep import estimate_table, sweep_service_life
from respcalc.estimate.varying import VaryingLife, life_as_it_varies
from respcalc.prediction import reduced_potential

__all__ = [
    "CAUTIONS",
    "DEFAULT_COVERAGE",
    "SHORT_CAUTION",
    "BreakthroughCriterion",
    "Calibration",
    "Margin",
    "ServiceLife",
    "VaryingLife",
    "estimate_inhaled",
    "estimate_mixture_life",
    "estimate_product_life",
    "estimate_service_life",
    "estimate_table",
    "is_light_halogenated",
    "life_as_it_varies",
    "margin_of",
    "read_calibration",
    "read_coverage",
    "reduced_potential",
    "shipped_calibration",
    "sweep_service_life",
]
