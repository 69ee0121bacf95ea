"""Change schedules for organic-vapour respirator cartridges, from published breakthrough models.

Estimates, not guarantees: local rules, the maker's instructions and the judgement of a qualified
person come first.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from respcalc.core.version import __version__

if TYPE_CHECKING:
    from respcalc.cartridges import (
        Cartridge,
        certified_bed,
        describe_bed,
        describe_curve,
        describe_history,
        describe_test,
        fit_bed,
        read_tests,
    )
    from respcalc.core.units import Concentration, Quantity
    from respcalc.estimate import (
        CAUTIONS,
        BreakthroughCriterion,
        ServiceLife,
        estimate_mixture_life,
        estimate_product_life,
        estimate_service_life,
        estimate_table,
        sweep_service_life,
    )
    from respcalc.schedule import Schedule, demo_plan, make_schedule, read_plan, write_documents
    from respcalc.vapours import Vapour, define_vapour, find_vapour, known_vapours
    from respcalc.workplace import (
        Air,
        Permission,
        describe_air,
        describe_exposure,
        describe_product,
        describe_work,
        facepiece,
        jurisdiction,
        may_filter,
    )
    from respcalc.workplace.sampling import describe_samples, design_concentration, read_samples

__all__ = [
    "CAUTIONS",
    "Air",
    "BreakthroughCriterion",
    "Cartridge",
    "Concentration",
    "Permission",
    "Quantity",
    "Schedule",
    "ServiceLife",
    "Vapour",
    "__version__",
    "certified_bed",
    "define_vapour",
    "demo_plan",
    "describe_air",
    "describe_bed",
    "describe_curve",
    "describe_exposure",
    "describe_history",
    "describe_product",
    "describe_samples",
    "describe_test",
    "describe_work",
    "design_concentration",
    "estimate_mixture_life",
    "estimate_product_life",
    "estimate_service_life",
    "estimate_table",
    "facepiece",
    "find_vapour",
    "fit_bed",
    "jurisdiction",
    "known_vapours",
    "make_schedule",
    "may_filter",
    "read_plan",
    "read_samples",
    "read_tests",
    "sweep_service_life",
    "write_documents",
]

# Where each name lives. Loaded on first use, so that importing respcalc costs little more than
# importing numpy and pint.
_HOME = {
    "Air": "respcalc.workplace",
    "BreakthroughCriterion": "respcalc.estimate",
    "CAUTIONS": "respcalc.estimate",
    "Cartridge": "respcalc.cartridges",
    "Concentration": "respcalc.core.units",
    "Permission": "respcalc.workplace",
    "Quantity": "respcalc.core.units",
    "Schedule": "respcalc.schedule",
    "ServiceLife": "respcalc.estimate",
    "Vapour": "respcalc.vapours",
    "certified_bed": "respcalc.cartridges",
    "define_vapour": "respcalc.vapours",
    "demo_plan": "respcalc.schedule",
    "describe_air": "respcalc.workplace",
    "describe_bed": "respcalc.cartridges",
    "describe_curve": "respcalc.cartridges",
    "describe_exposure": "respcalc.workplace",
    "describe_history": "respcalc.cartridges",
    "describe_product": "respcalc.workplace",
    "describe_samples": "respcalc.workplace.sampling",
    "describe_test": "respcalc.cartridges",
    "describe_work": "respcalc.workplace",
    "design_concentration": "respcalc.workplace.sampling",
    "estimate_mixture_life": "respcalc.estimate",
    "estimate_product_life": "respcalc.estimate",
    "estimate_service_life": "respcalc.estimate",
    "estimate_table": "respcalc.estimate",
    "facepiece": "respcalc.workplace",
    "find_vapour": "respcalc.vapours",
    "fit_bed": "respcalc.cartridges",
    "jurisdiction": "respcalc.workplace",
    "known_vapours": "respcalc.vapours",
    "make_schedule": "respcalc.schedule",
    "may_filter": "respcalc.workplace",
    "read_plan": "respcalc.schedule",
    "read_samples": "respcalc.workplace.sampling",
    "read_tests": "respcalc.cartridges",
    "sweep_service_life": "respcalc.estimate",
    "write_documents": "respcalc.schedule",
}


_ROOMS = ("cartridges", "estimate", "models", "plots", "prediction", "schedule", "vapours", "workplace")


def __getattr__(name: str) -> Any:
    if name in _ROOMS:
        return import_module(f"respcalc.{name}")
    if name not in _HOME:
        raise AttributeError(f"module 'respcalc' has no attribute {name!r}")
    value = getattr(import_module(_HOME[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)


# The unit door stands open from the start: its registry must exist before any thread asks for it.
import_module("respcalc.core.units")
