"""Change schedules for organic-vapour respirator cartridges, from published breakthrough models.

Estimates, not guarantees: local rules, the maker's instructions and the judgement of a qualified
person come first.
"""

from __future__ import annotations

from respcalc.cartridges import Cartridge, describe_bed
from respcalc.core.units import Concentration, Quantity
from respcalc.estimate import (
    CAUTIONS,
    BreakthroughCriterion,
    ServiceLife,
    estimate_mixture_life,
    estimate_service_life,
    estimate_table,
    sweep_service_life,
)
from respcalc.schedule import Schedule, demo_plan, make_schedule, read_plan, write_documents
from respcalc.vapours import Vapour, define_vapour, find_vapour, known_vapours
from respcalc.workplace import Air, describe_air

__version__ = "0.1.0"

__all__ = [
    "CAUTIONS",
    "Air",
    "BreakthroughCriterion",
    "Cartridge",
    "Concentration",
    "Quantity",
    "Schedule",
    "ServiceLife",
    "Vapour",
    "__version__",
    "define_vapour",
    "demo_plan",
    "describe_air",
    "describe_bed",
    "estimate_mixture_life",
    "estimate_service_life",
    "estimate_table",
    "find_vapour",
    "known_vapours",
    "make_schedule",
    "read_plan",
    "sweep_service_life",
    "write_documents",
]
