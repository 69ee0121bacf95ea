"""Who the contaminant is: strict identity, properties with their origin, exposure limits, IDLH."""

from __future__ import annotations

from respcalc.vapours.describe import describe_vapour
from respcalc.vapours.identity import APPROVAL, known_vapours
from respcalc.vapours.limits import ExposureLimits, Limit, LimitKind, shipped_authorities
from respcalc.vapours.vapour import Vapour, define_vapour, find_vapour, vapour_key

__all__ = [
    "APPROVAL",
    "ExposureLimits",
    "Limit",
    "LimitKind",
    "Vapour",
    "define_vapour",
    "describe_vapour",
    "find_vapour",
    "known_vapours",
    "shipped_authorities",
    "vapour_key",
]
