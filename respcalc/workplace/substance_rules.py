"""Rules for single substances that stand above any calculation."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from respcalc.core.sources import source
from respcalc.core.tables import Table, shipped_table
from respcalc.core.vocabulary import term
from respcalc.workplace.respirators import Facepiece

__all__ = ["SubstanceRule", "rules_for"]

# 29 CFR 1910.1051 Table 1: up to this concentration [volume fraction], at most this long [s].
# The 3 h row and the facepieces are from memory and not confirmed; the other times agree with a
# published summary.
_BUTADIENE_INTERVALS = ((5e-6, 4 * 3600.0), (10e-6, 3 * 3600.0), (25e-6, 2 * 3600.0), (50e-6, 3600.0))
_BUTADIENE_HALF_MASK = 10e-6
_BUTADIENE_LOOSE_HOOD = 25e-6
_VINYL_CHLORIDE_LIFE = 3600.0
_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class SubstanceRule:
    """One standard's demand on respirators for one substance."""

    rule: str
    cas: str
    substance: str
    air_purifying: bool
    highest: float | None  # volume fraction
    cap: Literal["", "shift", "table"]
    duty: str
    standard: str
    to_confirm: bool

    def longest_interval(self, volume_fraction: float) -> float | None:
        """Longest interval [s] at a concentration where the rule prints a table, else None."""
        if self.cap != "table":
            return None
        return next((hours for top, hours in _BUTADIENE_INTERVALS if volume_fraction <= top * _SLACK), 0.0)

    @property
    def least_life(self) -> float:
        """Service life [s] that an element must have to be used at all; 0 where the rule asks for none."""
        return _VINYL_CHLORIDE_LIFE if self.rule == "VC-1" else 0.0

    def facepiece_fault(self, volume_fraction: float, mask: Facepiece) -> str:
        """What the rule holds against a facepiece at this concentration, or nothing."""
        if self.cap != "table":
            return ""
        if mask.name == "quarter mask":
            return "a quarter mask; a half mask or full facepiece is needed"
        above = term("volume_fraction").show(volume_fraction)
        if volume_fraction > _BUTADIENE_HALF_MASK * _SLACK and not mask.powered and not mask.covers_eyes:
            return f"{above}; above 10 ppm a full facepiece or a powered respirator is needed"
        if volume_fraction > _BUTADIENE_LOOSE_HOOD * _SLACK and not mask.tight:
            return f"{above}; above 25 ppm a tight-fitting facepiece is needed"
        return ""

    @property
    def text(self) -> str:
        known = "; from memory, to be confirmed against the current text" if self.to_confirm else ""
        return f"{self.standard}: {self.duty}{known}"


@cache
def _table() -> Table:
    return shipped_table("respcalc.workplace", "substance_rules.csv", required=("rule", "cas", "air_purifying"))


@cache
def rules_for(cas: str) -> tuple[SubstanceRule, ...]:
    """Every rule for a substance, by its CAS number."""
    return tuple(
        SubstanceRule(
            rule=row["rule"],
            cas=row["cas"],
            substance=row["substance"],
            air_purifying=row["air_purifying"] == "yes",
            highest=row["highest"],
            cap=row["longest"],
            duty=row["duty"],
            standard=row["standard"],
            to_confirm=row["kind"] == "memory" or source(row["source"]).seen == "from memory",
        )
        for row in _table()
        if cas and row["cas"] == cas
    )
