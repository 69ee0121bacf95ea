"""The straight way from numbers to a breakthrough time: no margin, no policy, no tables."""

from __future__ import annotations

from respcalc.prediction.chain import (
    CAPACITY_SET_BY,
    PLANNED_DAMPNESS,
    RATE_MODELS,
    TESTED_HUMIDITY,
    Bed,
    Challenge,
    Outcome,
    Sorbate,
    breath_over_gas,
    rows_of,
    run_chain,
    run_many,
)
from respcalc.prediction.sorbate import reduced_potential, sorbate_of

__all__ = [
    "CAPACITY_SET_BY",
    "PLANNED_DAMPNESS",
    "RATE_MODELS",
    "TESTED_HUMIDITY",
    "Bed",
    "Challenge",
    "Outcome",
    "Sorbate",
    "breath_over_gas",
    "reduced_potential",
    "rows_of",
    "run_chain",
    "run_many",
    "sorbate_of",
]
