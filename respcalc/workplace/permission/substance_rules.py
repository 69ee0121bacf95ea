"""Rules for single substances that stand above any calculation; each clause is a row of data."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Literal

from respcalc.core.tables import shipped_table
from respcalc.core.vocabulary import term
from respcalc.workplace.permission.jurisdictions import HOME
from respcalc.workplace.permission.respirators import Facepiece

__all__ = ["Acts", "SubstanceRule", "acting_rules", "rules_for"]

Acts = Literal[
    "not permitted", "other element", "facepiece", "life at least", "end of shift", "interval", "duty"
]  # fmt: skip
"""What a clause does: forbids, asks for another element or facepiece, asks for a life, caps, or only tells."""

_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class SubstanceRule:
    """One clause: for which substance and concentrations, what follows, where it is written, how that is known."""

    rule: str
    jurisdiction: str
    cas: str
    substance: str
    acts: Acts
    above: float  # volume fraction; the clause holds above it ...
    up_to: float  # ... and up to this
    duration: float  # [s] of an interval or a life, else 0
    facepieces: tuple[str, ...]
    wording: str
    instead: str
    standard: str
    edition: str
    to_confirm: bool

    def holds_at(self, volume_fraction: float) -> bool:
        """Whether a concentration [volume fraction] is in the clause's range."""
        return (self.above == 0.0 or volume_fraction > self.above * _SLACK) and volume_fraction <= self.up_to * _SLACK

    def fault(self, volume_fraction: float, mask: Facepiece) -> str:
        """What the clause holds against a facepiece with organic-vapour cartridges here, or nothing."""
        if not self.holds_at(volume_fraction):
            return ""
        found = term("volume_fraction").show(volume_fraction)
        if self.acts == "not permitted" and self.above:
            return f"{found}, above {term('exposure_limit').show(self.above)}: {self.wording}"
        if self.acts in ("not permitted", "other element"):
            return f"{self.substance}: organic-vapour cartridges are not permitted"
        if self.acts == "facepiece" and mask.name not in self.facepieces:
            return f"{found} with a {mask.name}; {self.wording}"
        return ""

    @property
    def forbids(self) -> bool:
        """Whether no organic-vapour cartridge is permitted at any concentration."""
        return self.acts in ("not permitted", "other element") and not self.above

    @property
    def text(self) -> str:
        """Standard, wording, edition, and whether it must still be confirmed."""
        known = "; from memory, to be confirmed against the current text" if self.to_confirm else ""
        return f"{self.standard} ({self.edition}): {self.wording}{known}"


@cache
def _by_cas() -> dict[str, tuple[SubstanceRule, ...]]:
    found: dict[str, list[SubstanceRule]] = {}
    for row in shipped_table("respcalc.workplace.permission", "substance_rules.csv"):
        rule = SubstanceRule(
            rule=row["rule"],
            jurisdiction=row["jurisdiction"],
            cas=row["cas"],
            substance=row["substance"],
            acts=row["acts"],
            above=row["above"] or 0.0,
            up_to=math.inf if row["up_to"] is None else row["up_to"],
            duration=row["hours"] or 0.0,
            facepieces=tuple(name for name in row["facepieces"].split("|") if name),
            wording=row["wording"],
            instead=row["instead"],
            standard=row["standard"],
            edition=row["edition"],
            to_confirm=row["kind"] == "memory",
        )
        found.setdefault(row["cas"], []).append(rule)
    return {cas: tuple(rules) for cas, rules in found.items()}


def rules_for(cas: str, *, jurisdiction: str | None = None) -> tuple[SubstanceRule, ...]:
    """Every clause for a substance, by its CAS number.

    Parameters
    ----------
    cas
        CAS number; an unlisted one has no clauses.
    jurisdiction
        Only those of one jurisdiction; all if None.

    Returns
    -------
    tuple of SubstanceRule
    """
    return tuple(r for r in _by_cas().get(cas, ()) if jurisdiction in (None, r.jurisdiction))


def acting_rules(
    cas: str, jurisdiction: str, *, national_rule: str = ""
) -> tuple[tuple[SubstanceRule, ...], tuple[SubstanceRule, ...]]:
    """Return the clauses that act in a jurisdiction, and those that are only told.

    Clauses of US standards act everywhere, since no other text is known here, but for the facepieces that they
    name by US classes. What they forbid gives way to a rule of the country that the plan names.

    Parameters
    ----------
    cas
        CAS number; an unlisted one has no clauses.
    jurisdiction
        Name of the jurisdiction.
    national_rule
        The rule of that country which allows what a US standard forbids.

    Returns
    -------
    tuple
        Two tuples of `SubstanceRule`.
    """
    acts: list[SubstanceRule] = []
    told: list[SubstanceRule] = []
    for rule in rules_for(cas):
        away = rule.jurisdiction != jurisdiction
        if away and rule.jurisdiction != HOME:
            continue  # what Germany asks for is no rule elsewhere, where other texts hold
        forbids = rule.acts in ("not permitted", "other element")
        gives_way = away and (rule.acts == "facepiece" or (forbids and bool(national_rule.strip())))
        (told if rule.acts == "duty" or gives_way else acts).append(rule)
    return tuple(acts), tuple(told)
