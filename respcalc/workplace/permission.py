"""Whether a filtering respirator is allowed at all: every criterion with value, bound and source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.sources import source
from respcalc.core.vocabulary import term
from respcalc.vapours import Vapour
from respcalc.workplace.limits import ChosenLimits, limits_in_force
from respcalc.workplace.respirators import CARTRIDGE_USE_LIMIT, Facepiece, facepieces
from respcalc.workplace.substance_rules import rules_for

__all__ = ["Criterion", "Inhaled", "Permission", "may_filter"]

LEAST_OXYGEN = 0.195
_GAS_BELOW = 293.15  # boils below 20 degC: a gas in a workroom
_SLACK = 1 + 1e-9  # 50 ppm read from text and 50 ppm from a table may differ in the last bit

_SUPPLIED = "an atmosphere-supplying respirator"
_SUPPLIED_IDLH = (
    "a full-facepiece pressure-demand SCBA, or a pressure-demand supplied-air respirator with escape air; reduce the "
    "concentration first if people must work there"
)


@dataclass(frozen=True)
class Criterion:
    """One condition: what was found, what is allowed, where that is written, what to do instead."""

    name: str
    met: bool
    found: str
    allowed: str
    source: str
    instead: str = ""

    def as_dict(self) -> dict[str, Any]:
        return {
            "criterion": self.name, "met": self.met, "found": self.found, "allowed": self.allowed,
            "source": self.source, "instead": self.instead,
        }  # fmt: skip


@dataclass(frozen=True)
class Permission:
    """The answer, with every criterion that was looked at."""

    criteria: tuple[Criterion, ...]
    warnings: tuple[str, ...] = ()

    @property
    def allowed(self) -> bool:
        return all(c.met for c in self.criteria)

    @property
    def refusals(self) -> tuple[str, ...]:
        """One sentence a failed criterion: what, against what, what instead."""
        return tuple(
            f"{c.name}: {c.found}; {c.allowed} ({c.source}). Needed instead: {c.instead}"
            for c in self.criteria
            if not c.met
        )

    def as_dict(self) -> dict[str, Any]:
        return {
            "allowed": self.allowed,
            "criteria": [c.as_dict() for c in self.criteria],
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True)
class Inhaled:
    """One vapour of a task: how much there is and what it is held to.

    ``concentration`` is the highest that occurs; ``average`` the shift average where it is known
    apart, else the same. Both are volume fractions.
    """

    vapour: Vapour
    concentration: float
    limits: ChosenLimits
    average: float | None = None

    @property
    def long_term(self) -> float:
        return self.concentration if self.average is None else self.average


def may_filter(
    inhaled: Sequence[Inhaled],
    *,
    mask: Facepiece,
    oxygen: Datum | None,
    use_limit: Datum | None = None,
    total: float | None = None,
    index: float | None = None,
) -> Permission:
    """Decide whether organic-vapour cartridges may be used for a task.

    Parameters
    ----------
    inhaled
        Each vapour with its concentration and limits; at least one.
    mask
        The facepiece.
    oxygen
        Oxygen by volume. None counts as not known, which is treated as deficient.
    use_limit
        The cartridge's own use limit, if one is stated.
    total
        Summed concentration (volume fraction), where it is known to be less than the sum of the highest.
    index
        Sum of concentrations over limits, where it is likewise bounded.

    Returns
    -------
    Permission

    Raises
    ------
    DomainError
        No vapour is given.
    """
    if not inhaled:
        raise DomainError("inhaled: no vapour is given; name at least one")
    criteria = [_oxygen(oxygen)]
    warnings: list[str] = []
    for part in inhaled:
        criteria += _substance(part, mask)
        criteria.append(_idlh(part))
        criteria += _held_by_carbon(part)
        warnings += part.limits.warnings
        in_force = limits_in_force(part.vapour)
        if not part.vapour.cas:
            warnings.append(
                f"{part.vapour.name} has no CAS number here: rules, limits and an IDLH of its own were not looked up"
            )
        if in_force.carcinogen:
            warnings.append(
                f"{part.vapour.name} is on NIOSH's list of potential occupational carcinogens: NIOSH recommends "
                "the most protective respirators at any detectable level"
            )
        if in_force.skin:
            warnings.append(f"{part.vapour.name} also enters through the skin: a respirator alone is not enough")
    criteria += _use_concentrations(inhaled, mask, index)
    criteria.append(_cartridge(inhaled, use_limit, total))
    if use_limit is not None and use_limit.value > CARTRIDGE_USE_LIMIT * _SLACK:
        warnings.append(
            f"the use limit {_ppm(use_limit.value)} is above {_ppm(CARTRIDGE_USE_LIMIT)}, which holds for chemical "
            "cartridges: only a canister approved for more may be used so"
        )
    return Permission(tuple(criteria), tuple(warnings))


def _ppm(value: float, word: str = "volume_fraction") -> str:
    return term(word).show(value)


def _oxygen(oxygen: Datum | None) -> Criterion:
    found = "oxygen was not stated" if oxygen is None else f"oxygen {oxygen.printed}"
    return Criterion(
        "oxygen", oxygen is not None and oxygen.value >= LEAST_OXYGEN / _SLACK, found, "at least 19.5 % is needed",
        source("osha_1910_134").citation.partition(",")[0] + " (b), (d)(2)", f"{_SUPPLIED}, as in an IDLH atmosphere",
    )  # fmt: skip


def _substance(part: Inhaled, mask: Facepiece) -> list[Criterion]:
    criteria = []
    for rule in rules_for(part.vapour.cas):
        fault = ""
        if not rule.air_purifying:
            fault = f"{rule.substance}: organic-vapour cartridges are not permitted"
        elif rule.highest is not None and part.concentration > rule.highest * _SLACK:
            fault = f"{_ppm(part.concentration)}, above {_ppm(rule.highest)}"
        else:
            fault = rule.facepiece_fault(part.concentration, mask)
        criteria.append(
            Criterion(
                f"rule for {rule.substance}", not fault, fault or "within the rule", rule.text, rule.standard,
                "" if not fault else ("a full facepiece" if "facepiece" in fault else _SUPPLIED),
            )
        )  # fmt: skip
    return criteria


def _idlh(part: Inhaled) -> Criterion:
    idlh = limits_in_force(part.vapour).idlh
    where = source("osha_1910_134").citation.partition(",")[0] + " (d)(2)"
    if idlh is None:
        return Criterion(
            f"IDLH of {part.vapour.name}", True, _ppm(part.concentration),
            "no IDLH is listed here; a qualified person must judge it", where,
        )  # fmt: skip
    return Criterion(
        f"IDLH of {part.vapour.name}", part.concentration <= idlh.value * _SLACK, _ppm(part.concentration),
        f"the IDLH is {_ppm(idlh.value)}", where, _SUPPLIED_IDLH,
    )  # fmt: skip


def _held_by_carbon(part: Inhaled) -> list[Criterion]:
    boiling = part.vapour.boiling_point
    if boiling.value >= _GAS_BELOW or rules_for(part.vapour.cas):
        return []
    return [
        Criterion(
            f"{part.vapour.name} on carbon", False, f"boils at {term('boiling_point').show(boiling.value)}",
            "a gas at room temperature is not usefully held by an organic-vapour cartridge",
            source("common_practice").citation.lower() + ", no source", f"{_SUPPLIED}, or an element approved for it",
        )
    ]  # fmt: skip


def _use_concentrations(inhaled: Sequence[Inhaled], mask: Facepiece, bound: float | None) -> list[Criterion]:
    """Maximum use concentration, additive over the vapours: for averages and for short-term limits."""
    factor = mask.protection_factor.value
    where = source("osha_1910_134").citation.partition(",")[0] + " (b), (d)(3)(i)"
    criteria = []
    for label, pairs in (
        ("shift average", [(p, p.long_term, p.limits.long_term or p.limits.short_term) for p in inhaled]),
        ("short term", [(p, p.concentration, p.limits.short_term) for p in inhaled]),
    ):
        held = [(p.vapour.name, c, limit) for p, c, limit in pairs if limit is not None]
        if not held:
            continue
        index = sum(c / limit.value.value for _, c, limit in held)
        bounded = bound is not None and bound < index
        index = bound if bound is not None and bounded else index
        if len(held) == 1:
            name, concentration, limit = held[0]
            most = factor * limit.value.value
            found = f"{_ppm(concentration)} of {name}"
            allowed = (
                f"the maximum use concentration of a {mask.name} is {factor:g} x {limit.value.printed} "
                f"({limit.authority}) = {_ppm(most, 'exposure_limit')}"
            )
        else:
            parts = " + ".join(f"{_ppm(c)}/{limit.value.printed} ({limit.authority})" for _, c, limit in held)
            sums = f", together at most {index:.4g}" if bounded else f" = {index:.4g}"
            found = f"sum of concentration/limit {parts}{sums}"
            allowed = f"a {mask.name} allows a sum of {factor:g}"
        criteria.append(
            Criterion(
                f"maximum use concentration, {label}", index <= factor * _SLACK, found, allowed, where,
                _better_mask(index, mask),
            )
        )  # fmt: skip
    return criteria


def _better_mask(index: float, mask: Facepiece) -> str:
    """The least facepiece of the same kind of supply that would do, or supplied air."""
    enough = [
        row["facepiece"]
        for row in facepieces()
        if row["assigned_protection_factor"] >= index / _SLACK and row["assigned_protection_factor"] > 1
    ]
    filtering = [name for name in enough if name.startswith("powered") == mask.powered] or enough
    return f"a {filtering[0]} or better, with its own change schedule" if filtering else _SUPPLIED


def _cartridge(inhaled: Sequence[Inhaled], use_limit: Datum | None, total: float | None) -> Criterion:
    total = sum(part.concentration for part in inhaled) if total is None else total
    bound = CARTRIDGE_USE_LIMIT if use_limit is None else use_limit.value
    if use_limit is None:
        where = source("cfr42_84_190").citation.partition(",")[0]
    else:
        where = "given by the user" if use_limit.kind == "given" else use_limit.origin
    return Criterion(
        "use limit of the cartridge", total <= bound * _SLACK, f"{_ppm(total)} in all",
        f"{_ppm(bound)} is allowed", where, "a canister approved for more, or " + _SUPPLIED,
    )  # fmt: skip
