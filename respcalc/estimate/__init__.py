"""Models composed into a conservative service life, for one case or a table of them."""

from __future__ import annotations

from respcalc.estimate.cautions import CAUTIONS, SHORT_CAUTION
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import margin_factor
from respcalc.estimate.result import ServiceLife
from respcalc.estimate.service_life import estimate_inhaled, estimate_mixture_life, estimate_service_life
from respcalc.estimate.sweep import estimate_table, sweep_service_life

__all__ = [
    "CAUTIONS",
    "SHORT_CAUTION",
    "BreakthroughCriterion",
    "ServiceLife",
    "estimate_inhaled",
    "estimate_mixture_life",
    "estimate_service_life",
    "estimate_table",
    "margin_factor",
    "sweep_service_life",
]
