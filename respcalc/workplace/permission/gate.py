"""Whether a filtering respirator is allowed at all: every criterion with value, bound and source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.cautions import CAUTIONS, SHORT_CAUTION
from respcalc.core.errors import DomainError
from respcalc.core.sources import source
from respcalc.core.vocabulary import read, single, term
from respcalc.vapours import APPROVAL, Limit
from respcalc.workplace.permission.criterion import SUPPLIED, SUPPLIED_IDLH, Criterion
from respcalc.workplace.permission.eyes import judge_eyes
from respcalc.workplace.permission.inhaled import Inhaled
from respcalc.workplace.permission.jurisdictions import HOME, Jurisdiction, jurisdiction
from respcalc.workplace.permission.limits import limits_in_force
from respcalc.workplace.permission.low_boilers import low_boiling
from respcalc.workplace.permission.oxygen import judge_oxygen, thin_air
from respcalc.workplace.permission.respirators import CARTRIDGE_USE_LIMIT, Facepiece, facepiece, facepieces
from respcalc.workplace.permission.substance_rules import acting_rules, rules_for

__all__ = ["Permission", "may_filter"]

_GAS_BELOW = 293.15  # boils below 20 degC: a gas in a workroom
_SLACK = 1 + 1e-9  # 50 ppm read from text and 50 ppm from a table may differ in the last bit

# EN 12941 and 12942: powered devices may be used in less than the class of their filters (from memory)
_POWERED_EN = {1000e-6: 500e-6, 5000e-6: 1000e-6, 10000e-6: 5000e-6}


@dataclass(frozen=True)
class Permission:
    """The answer, with every criterion that was looked at."""

    criteria: tuple[Criterion, ...]
    warnings: tuple[str, ...] = ()
    information: tuple[str, ...] = ()  # what was found and decides nothing
    eyes: tuple[str, ...] = ()  # of the warnings, what is not settled of the eyes

    @property
    def allowed(self) -> bool:
        """Whether every criterion is met."""
        return all(c.met for c in self.criteria)

    @property
    def refusals(self) -> tuple[str, ...]:
        """One sentence a failed criterion: what, against what, what instead; the gravest first."""
        failed = sorted((c for c in self.criteria if not c.met), key=lambda c: -c.air_supply)
        return tuple(f"{c.name}: {c.found}; {c.allowed} ({c.source}). Needed instead: {c.instead}" for c in failed)

    def as_dict(self) -> dict[str, Any]:
        """Return everything as plain text and numbers with their units."""
        return {
            "allowed": self.allowed,
            "criteria": [c.as_dict() for c in self.criteria],
            "warnings": list(self.warnings),
            "information": list(self.information),
            "cautions": list(CAUTIONS),
        }

    def __str__(self) -> str:
        head = "organic-vapour cartridges are allowed here" if self.allowed else "NOT ALLOWED: no filtering respirator"
        lines = [head, *(f"  - {criterion}" for criterion in self.criteria)]
        lines += [f"  warning: {text}" for text in self.warnings]
        lines += [f"  for information: {text}" for text in self.information]
        return "\n".join([*lines, SHORT_CAUTION])


def may_filter(
    inhaled: Sequence[Inhaled],
    *,
    mask: Facepiece | str,
    oxygen: Any,
    use_limit: Any = None,
    total: float | None = None,
    index: float | None = None,
    pressure: Any = None,
    eye_protection: str = "",
    not_known: Sequence[str] = (),
    forbidden: Sequence[str] = (),
    hours_of_use: Any = None,
) -> Permission:
    """Decide whether organic-vapour cartridges may be used for a task.

    Parameters
    ----------
    inhaled
        Each vapour with its concentration and limits, from `describe_exposure`; at least one, or one that is not
        known.
    mask
        The facepiece, from `facepiece`; its jurisdiction is the one whose rules hold. A name is one of the US.
    oxygen
        Oxygen by volume [%]. None counts as not known, which is treated as deficient.
    use_limit
        The cartridge's own use limit [ppm], if one is stated.
    total
        Summed concentration (volume fraction), where it is known to be less than the sum of the highest.
    index
        Sum of concentrations over limits, where it is likewise bounded.
    pressure
        Air pressure [kPa], if known: it says how thin the air is.
    eye_protection
        What covers the eyes beside a mask that does not, such as ``"gas-proof goggles"``.
    not_known
        Vapours whose concentration is not known: such air is treated as immediately dangerous.
    hours_of_use
        Length of the shift with the respirator [h], if known: where it is longer than the averaging time of a limit,
        the dose counts over that time.
    forbidden
        Substances and parts of products that no such cartridge may be used against, each with the reason.

    Returns
    -------
    Permission

    Raises
    ------
    UnitsError, DomainError
        No vapour is given; limits of another jurisdiction than the mask's; a facepiece that is not known;
        a value without its unit or not possible.

    Examples
    --------
    >>> from respcalc.workplace import describe_air, describe_exposure
    >>> air = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m", oxygen="20.9 %")
    >>> toluene = describe_exposure("toluene", "600 ppm", air=air)
    >>> permission = may_filter([toluene], mask="full facepiece", oxygen="20.9 %")
    >>> permission.allowed
    False
    >>> [criterion.name for criterion in permission.criteria if not criterion.met]
    ['IDLH of toluene']
    """
    if not inhaled and not not_known and not forbidden:
        raise DomainError("inhaled: no vapour is given; name at least one")
    mask = facepiece(mask) if isinstance(mask, str) else mask
    oxygen, pressure = _datum("oxygen", oxygen), _datum("pressure", pressure)
    use_limit = _datum("volume_fraction", use_limit, "use_limit")
    length = _datum("change_interval", hours_of_use, "hours_of_use")
    shift = 0.0 if length is None else length.value
    where = jurisdiction(mask.jurisdiction)
    for part in inhaled:
        whose = part.jurisdiction or HOME
        if whose != where.name:
            raise DomainError(
                f"mask: its protection factor is that of {where}, and the limits of {part.vapour.name} are those of "
                f'{whose}; take both from one, facepiece("{mask.name}", jurisdiction="{whose}")'
            )
    at = None if pressure is None else pressure.value
    criteria = judge_oxygen(oxygen, at, where)
    warnings = [text for text in (thin_air(oxygen, at),) if text]
    information: list[str] = []
    if not_known:
        criteria.append(_unknown(not_known))
    criteria += [_forbidden(text) for text in forbidden]
    for part in inhaled:
        criteria += _substance(part, mask, where)
        criteria.append(_idlh(part))
        criteria += _held_by_carbon(part, where)
        warnings += [*part.limits.warnings, *_told(part, where)]
        information += _outside_the_mask(part, where)
    eyes, said = judge_eyes(inhaled, mask, eye_protection)
    criteria += eyes
    warnings += said
    if inhaled:
        criteria += _use_concentrations(inhaled, mask, index, shift)
        criteria.append(_cartridge(inhaled, use_limit, total, mask, where))
    if use_limit is not None and use_limit.value > CARTRIDGE_USE_LIMIT * _SLACK and where.family == "US":
        warnings.append(
            f"the use limit {_ppm(use_limit.value)} is above {_ppm(CARTRIDGE_USE_LIMIT)}, which holds for chemical "
            "cartridges: only a canister approved for more may be used so"
        )
    criteria = _gravest_remedy([replace(c, instead="") if c.met else c for c in criteria])
    return Permission(tuple(criteria), tuple(dict.fromkeys(warnings)), tuple(information), tuple(said))


def _gravest_remedy(criteria: Sequence[Criterion]) -> list[Criterion]:
    """Where one criterion asks for supplied air, another's better mask or element would not do."""
    gravest = max((c for c in criteria if not c.met), key=lambda c: c.air_supply, default=None)
    if gravest is None or gravest.air_supply == 0:
        return list(criteria)
    said = f"no filter will do, see {gravest.name}"
    return [replace(c, instead=said) if not c.met and c.air_supply < gravest.air_supply else c for c in criteria]


def _datum(word: str, value: Any, argument: str = "") -> Datum | None:
    """A value with its origin; text and quantities are the user's own."""
    if value is None or isinstance(value, Datum):
        return value
    name = argument or word
    return Datum(word, single(name, read(word, value, as_argument=name)), "given")


def _ppm(value: float, word: str = "volume_fraction") -> str:
    return term(word).show(value)


def _paragraph(locator: str) -> str:
    return f"{source('osha_1910_134').citation.partition(',')[0]} {locator}"


def _unknown(names: Sequence[str]) -> Criterion:
    return Criterion(
        "concentration", False, f"concentration of {', '.join(names)} is not known",
        "such air is treated as immediately dangerous to life or health", _paragraph("(d)(1)(iii)"),
        "measurements or a reasonable estimate; until then a pressure-demand SCBA, or supplied air with escape air",
        air_supply=2,
    )  # fmt: skip


def _forbidden(text: str) -> Criterion:
    """What no organic-vapour cartridge is planned for; other elements exist for some of it, and the text says so."""
    other = APPROVAL in text
    return Criterion(
        "what is in the air", False, text, "none of it may be in the air", _paragraph("(d)(1)"),
        f"{SUPPLIED}, or an element approved for it" if other else SUPPLIED, air_supply=0 if other else 1,
    )  # fmt: skip


def _told(part: Inhaled, where: Jurisdiction) -> list[str]:
    """What a respirator does not settle, and rules that do not act here."""
    who, found = part.vapour, []
    in_force = limits_in_force(who)
    if not who.cas:
        found.append(f"{who.name} has no CAS number here: rules, limits and an IDLH of its own were not looked up")
    if in_force.carcinogen:
        found.append(
            f"{who.name} is on NIOSH's list of potential occupational carcinogens: NIOSH recommends the most "
            "protective respirators at any detectable level"
        )
    if in_force.skin:
        found.append(f"{who.name} also enters through the skin: a respirator alone is not enough")
    boiling = who.boiling_point.value
    if boiling >= _GAS_BELOW and low_boiling(boiling):
        found.append(
            f"{who.name} boils at {term('boiling_point').show(boiling)}, not above 65 degC: poorly held by "
            "organic-vapour cartridges (other types are made for it) and apt to migrate in them, so never beyond "
            "the shift"
        )
    for rule in acting_rules(who.cas, where.name, national_rule=part.national_rule)[1]:
        aside = "" if rule.jurisdiction == where.name else f"; not a rule of {where}, look up what holds there"
        found.append(f"{rule.substance}, {rule.text}{aside}")
    if part.national_rule:
        found.append(f"{who.name}: allowed here by a rule that the programme names: {part.national_rule}")
    return found


def _outside_the_mask(part: Inhaled, where: Jurisdiction) -> list[str]:
    """Limits that the air itself exceeds, and the odour threshold that decides nothing."""
    found = []
    authorities = (where if where.authorities else jurisdiction(HOME)).authorities
    for limit in limits_in_force(part.vapour).limits:
        there = part.concentration if limit.kind == "peak" else part.over(limit.averaged_over)
        shipped = limit.authority in authorities or limit.value.kind == "given"
        if shipped and there > limit.value.value * _SLACK:
            found.append(f"outside the mask {part.vapour.name}, {_ppm(there)}, is above {limit}")
    if part.odour_threshold is not None:
        times = part.odour_threshold.value / part.limits.least.value.value
        found.append(
            f"odour threshold of {part.vapour.name} {part.odour_threshold.printed}, {times:.3g} times its least limit: "
            "never the basis of a schedule (29 CFR 1910.134, preamble)"
        )
    return found


def _substance(part: Inhaled, mask: Facepiece, where: Jurisdiction) -> list[Criterion]:
    """One criterion a substance with rules of its own: what its clauses hold against this mask and air."""
    rules = acting_rules(part.vapour.cas, where.name, national_rule=part.national_rule)[0]
    if not rules:
        return []
    failed = [(rule, fault) for rule in rules if (fault := rule.fault(part.concentration, mask))]
    shown = [rule for rule, _ in failed] or [r for r in rules if r.holds_at(part.concentration)]
    instead = [rule.instead for rule, _ in failed if rule.instead]
    if failed and any(rule.jurisdiction != where.name for rule, _ in failed):
        instead.append(f"a rule of {where} that allows it (national_rule)")
    if any(rule.acts == "not permitted" for rule, _ in failed):
        instead = [rule.instead for rule, _ in failed if rule.acts == "not permitted"] + instead[len(failed) :]
    found = "; ".join(dict.fromkeys(fault for _, fault in failed))
    return [
        Criterion(
            f"rule for {rules[0].substance}", not failed, found or "within the rule",
            "; ".join(dict.fromkeys(rule.text for rule in shown)),
            "; ".join(dict.fromkeys(rule.standard for rule in shown)), "; or ".join(dict.fromkeys(instead)),
            part.concentration, None, "volume_fraction", air_supply=int(set(instead) == {SUPPLIED}),
        )
    ]  # fmt: skip


def _idlh(part: Inhaled) -> Criterion:
    idlh = limits_in_force(part.vapour).idlh
    if idlh is None:
        return Criterion(
            f"IDLH of {part.vapour.name}", True, _ppm(part.concentration),
            "no IDLH is listed here; a qualified person must judge it", _paragraph("(d)(2)"), "",
            part.concentration, None, "volume_fraction", judged=False,
        )  # fmt: skip
    return Criterion(
        f"IDLH of {part.vapour.name}", part.concentration <= idlh.value * _SLACK, _ppm(part.concentration),
        f"the IDLH is {_ppm(idlh.value)}", _paragraph("(d)(2)"), SUPPLIED_IDLH,
        part.concentration, idlh.value, "volume_fraction", air_supply=2,
    )  # fmt: skip


def _held_by_carbon(part: Inhaled, where: Jurisdiction) -> list[Criterion]:
    practice = source("common_practice").citation.lower() + ", no source"
    name, boiling = f"{part.vapour.name} on carbon", part.vapour.boiling_point
    rules = rules_for(part.vapour.cas, jurisdiction=where.name)
    if part.vapour.not_physically_adsorbed and not any(r.acts == "other element" for r in rules):
        return [
            Criterion(
                name, False, part.vapour.not_physically_adsorbed,
                "physical adsorption on plain carbon does not describe it", practice,
                f"{SUPPLIED}, or an element approved for it",
            )
        ]  # fmt: skip
    if boiling.value >= _GAS_BELOW or rules:
        return []
    return [
        Criterion(
            name, False, f"boils at {term('boiling_point').show(boiling.value)}",
            "a gas at room temperature is not usefully held by an organic-vapour cartridge", practice,
            f"{SUPPLIED}, or an element approved for it", boiling.value, _GAS_BELOW, "boiling_point",
        )
    ]  # fmt: skip


@dataclass(frozen=True)
class _Held:
    """One vapour against the limit that binds it most."""

    name: str
    concentration: float
    limit: Limit
    words: str = ""

    @property
    def share(self) -> float:
        return self.concentration / self.limit.value.value


def _against_average(part: Inhaled, shift: float) -> _Held:
    """The average that binds most. A shift longer than its averaging time counts by the dose over that time."""
    held = []
    one = part.limits.long_term or part.limits.short_term
    assert one is not None  # choose_limits refuses a vapour without any
    for limit in part.limits.averages or (one,):
        over = limit.averaged_over
        there, words = part.long_term, ""
        if limit.kind == "TWA" and shift > over * _SLACK:
            most = part.worst_quarter  # no eight hours of a shift are worse than its worst quarter of an hour
            there = max(there, min(there * shift / over, most))
            if there > part.long_term * _SLACK:
                words = f" (the dose of {term('change_interval').show(shift)} counted over {limit.averaging or '8 h'})"
        held.append(_Held(part.vapour.name, there, limit, words))
    return max(held, key=lambda h: h.share)


def _against_short(part: Inhaled) -> _Held | None:
    """The short-term limit that binds most: each against what is known over its own averaging time."""
    held = []
    for limit in part.limits.short or ((part.limits.short_term,) if part.limits.short_term else ()):
        bound, words = limit, ""
        peak = _peak_in_reach(part, limit)
        if peak is not None:
            bound = peak
            words = f" (peak of {peak.averaging}, since the air is above the ceiling no longer than that)"
        held.append(_Held(part.vapour.name, part.over(limit.averaged_over), bound, words))
    return max(held, key=lambda h: h.share, default=None)


def _peak_in_reach(part: Inhaled, limit: Limit) -> Limit | None:
    """The peak above a ceiling of three parts, if the time above the ceiling is known to be short enough."""
    if limit.kind != "ceiling" or part.time_above_ceiling is None:
        return None
    peaks = [p for p in part.limits.peaks if p.authority == limit.authority and p.value.value > limit.value.value]
    return next((p for p in peaks if part.time_above_ceiling <= p.averaged_over * _SLACK), None)


def _use_concentrations(
    inhaled: Sequence[Inhaled], mask: Facepiece, bound: float | None, shift: float
) -> list[Criterion]:
    """Maximum use concentration, additive over the vapours: for averages and for short-term limits."""
    factor = mask.protection_factor.value
    where = source(mask.protection_factor.source).citation if mask.protection_factor.source else "given by the user"
    where = _paragraph("(b), (d)(3)(i)") if mask.jurisdiction == HOME else where
    criteria = []
    for label, held in (
        ("shift average", [_against_average(part, shift) for part in inhaled]),
        ("short term", [h for part in inhaled if (h := _against_short(part)) is not None]),
    ):
        if not held:
            continue
        index = sum(h.share for h in held)
        bounded = bound is not None and bound < index
        index = bound if bound is not None and bounded else index
        value, limited, quantity, also = index, factor, "", ""
        if len(held) == 1:
            one = held[0]
            value, limited, quantity = one.concentration, factor * one.limit.value.value, "volume_fraction"
            found = f"{_ppm(one.concentration)} of {one.name}"
            allowed = (
                f"the maximum use concentration of a {mask.name} is {factor:g} x {one.limit.value.printed} "
                f"({one.limit.authority}) = {_ppm(limited, 'exposure_limit')}, {_kind(one.limit)}{one.words}"
            )
        else:
            parts = " + ".join(
                f"{_ppm(h.concentration)}/{h.limit.value.printed} ({h.limit.authority}){h.words}" for h in held
            )
            sums = f", together at most {index:.4g}" if bounded else f" = {index:.4g}"
            found = f"sum of concentration/limit {parts}{sums}"
            allowed = f"a {mask.name} allows a sum of {factor:g}; limits: {', '.join(_kind(h.limit) for h in held)}"
            also = "; 29 CFR 1910.1000 (d)(2)(i)"
        if mask.protection_factor.note:
            allowed += f"; protection factor: {mask.protection_factor.note}"
        criteria.append(
            Criterion(
                f"maximum use concentration, {label}", index <= factor * _SLACK, found, allowed, where + also,
                _better_mask(index, mask), value, limited, quantity,
            )
        )  # fmt: skip
    return criteria


def _kind(limit: Limit) -> str:
    return f"{limit.kind} {limit.period}".strip()


def _better_mask(index: float, mask: Facepiece) -> str:
    """The least facepiece of the same kind of supply that would do, or supplied air."""
    enough = [
        piece for piece in facepieces(mask.jurisdiction)
        if piece.name != mask.name and piece.protection_factor.value >= max(index, 1.0 + _SLACK) / _SLACK
    ]  # fmt: skip
    alike = [piece.name for piece in enough if piece.powered == mask.powered] or [piece.name for piece in enough]
    return f"a {alike[0]} or better, with its own change schedule" if alike else SUPPLIED


def _cartridge(
    inhaled: Sequence[Inhaled], use_limit: Datum | None, total: float | None, mask: Facepiece, where: Jurisdiction
) -> Criterion:
    total = sum(part.concentration for part in inhaled) if total is None else total
    bound = CARTRIDGE_USE_LIMIT if use_limit is None else use_limit.value
    if use_limit is None:
        written = source("cfr42_84_190").citation.partition(",")[0]
    else:
        written = "given by the user" if use_limit.kind == "given" else use_limit.origin
    aside = ""
    if where.family == "EN" and mask.powered:
        lower = max((low for c, low in _POWERED_EN.items() if c <= bound * _SLACK), default=bound / 2)
        aside = f" ({_ppm(bound, 'exposure_limit')} without a blower; EN 12941 and 12942, from memory, to be confirmed)"
        bound = lower
    return Criterion(
        "use limit of the cartridge", total <= bound * _SLACK, f"{_ppm(total)} in all",
        f"{_ppm(bound, 'exposure_limit')} is allowed{aside}", written, f"a canister approved for more, or {SUPPLIED}",
        total, bound, "volume_fraction",
    )  # fmt: skip
