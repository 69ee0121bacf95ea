"""Which exposure limits hold for a task: the strictest known, one authority's, a jurisdiction's, or the site's own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty, UnknownVapour
from respcalc.core.vocabulary import read, single
from respcalc.vapours import ExposureLimits, Limit, LimitKind, Vapour, find_vapour, shipped_authorities
from respcalc.workplace.permission.jurisdictions import Jurisdiction

__all__ = ["STRICTEST", "ChosenLimits", "choose_limits", "limits_in_force"]

STRICTEST = "strictest"
_SHORT = ("STEL", "ceiling")
_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class ChosenLimits:
    """The limits that hold for one vapour in one task, each with its authority.

    ``long_term`` and ``short_term`` are the lowest of their kind. ``averages`` and ``short`` are all that hold,
    since one may be lower and another averaged over a shorter time; ``peaks`` may be reached above a ceiling of the
    same authority for the time that they state.
    """

    long_term: Limit | None
    short_term: Limit | None
    warnings: tuple[str, ...] = ()
    short: tuple[Limit, ...] = ()
    peaks: tuple[Limit, ...] = ()
    averages: tuple[Limit, ...] = ()

    @property
    def least(self) -> Limit:
        """The lowest of the chosen limits: breakthrough is judged against it."""
        present = [limit for limit in (self.long_term, self.short_term) if limit is not None]
        return min(present, key=lambda limit: limit.value.value)

    @property
    def text(self) -> str:
        present = [limit for limit in (self.long_term, self.short_term) if limit is not None]
        return ", ".join(f"{limit.value.printed} {limit.kind} ({limit.authority})" for limit in present)


def limits_in_force(vapour: Vapour) -> ExposureLimits:
    """Limits and IDLH of a vapour, joined by what is published for its CAS number.

    A user who describes a listed substance anew changes its properties, not the law.

    Parameters
    ----------
    vapour
        Listed, or the user's own.

    Returns
    -------
    ExposureLimits
        Of two IDLH values the lower.
    """
    own = vapour.limits
    try:
        published = find_vapour(vapour.cas).limits if vapour.cas else own
    except UnknownVapour:
        return own
    if published is own:
        return own
    idlh = min((d for d in (own.idlh, published.idlh) if d is not None), key=lambda d: d.value, default=None)
    return replace(
        published, limits=tuple(dict.fromkeys((*own.limits, *published.limits))), idlh=idlh,
        carcinogen=own.carcinogen or published.carcinogen, skin=own.skin or published.skin,
    )  # fmt: skip


def choose_limits(
    vapour: Vapour,
    *,
    limits_from: str = STRICTEST,
    own_limit: Any = None,
    own_authority: str | None = None,
    own_short_limit: Any = None,
    own_ceiling: Any = None,
    jurisdiction: Jurisdiction | None = None,
) -> ChosenLimits:
    """Choose the limits for one vapour.

    Parameters
    ----------
    vapour
        The vapour with its published limits.
    limits_from
        ``"strictest"`` (default) or the name of one authority, such as ``"OSHA PEL"``.
    own_limit
        A limit of the site, as a long-term average [ppm]. Without a jurisdiction it replaces the published
        averages, and a conflict is printed; in a jurisdiction it holds only where it is stricter than the law.
    own_authority
        Whose limit that is. Needed with `own_limit`.
    own_short_limit
        A limit of the site over 15 minutes [ppm]. It joins the published short-term limits: the strictest holds.
    own_ceiling
        A limit of the site at any moment [ppm]. It joins them likewise.
    jurisdiction
        Whose limits hold. Its law stays in force whatever else is chosen; None for the US tables without that.

    Returns
    -------
    ChosenLimits

    Raises
    ------
    MissingProperty
        No limit is known and none is given.
    DomainError
        The authority is not known for this vapour or jurisdiction; an own limit without its authority.
    UnitsError
        The own limit has no unit, or a wrong one.
    """
    known = [limit for limit in limits_in_force(vapour).limits if jurisdiction is None or _holds(limit, jurisdiction)]
    law = [] if jurisdiction is None else [limit for limit in known if limit.authority in jurisdiction.binding]
    warnings: list[str] = []
    any_own = own_limit is not None or own_short_limit is not None or own_ceiling is not None
    if limits_from != STRICTEST:
        offered = sorted({limit.authority for limit in known})
        if limits_from not in offered:
            where = f" in {jurisdiction}" if jurisdiction is not None else ""
            raise DomainError(
                f"limits_from = {limits_from!r}: no limit of that name is known for {vapour.name}{where}; "
                f'choose "strictest"{"".join(f", {a!r}" for a in offered)}, or give exposure_limit and '
                "exposure_limit_authority"
            )
        if own_limit is not None:
            raise DomainError("limits_from and exposure_limit are both given; give one of them")
        known = [limit for limit in known if limit.authority == limits_from]
    averages = [limit for limit in known if limit.kind == "TWA"]
    short = [limit for limit in known if limit.kind in _SHORT]
    peaks = tuple(limit for limit in known if limit.kind == "peak")
    if any_own:
        authority = (own_authority or "").strip()
        if not authority:
            given = next(
                name
                for name, value in (
                    ("exposure_limit", own_limit), ("short_term_limit", own_short_limit), ("ceiling_limit", own_ceiling)
                )
                if value is not None
            )  # fmt: skip
            raise DomainError(f'{given} of {vapour.name}: say whose limit it is, exposure_limit_authority="..."')
        for argument, value, kind in (
            ("short_term_limit", own_short_limit, "STEL"), ("ceiling_limit", own_ceiling, "ceiling")
        ):  # fmt: skip
            if value is not None:
                mine = _own(argument, value, authority, kind)  # type: ignore[arg-type]
                warnings += _conflicts(vapour, mine, [limit for limit in short if limit.kind == kind])
                short.append(mine)
        if own_limit is not None:
            own = _own("exposure_limit", own_limit, authority, "TWA")
            warnings += _conflicts(vapour, own, averages or short)
            # the law of a jurisdiction stays; where none is named the programme answers for its own limit
            averages = [own]
    elif own_authority:
        raise DomainError(
            f"exposure_limit_authority = {own_authority!r} is given for {vapour.name} without an exposure_limit"
        )
    warnings += _keep_the_law(vapour, law, averages, short, jurisdiction)
    none_known = not averages and not short  # what only stands in does not make up for a limit of the country
    if jurisdiction is not None and not jurisdiction.authorities:
        warnings += _stand_in(vapour, short, jurisdiction)
    if none_known:
        where = ""
        if jurisdiction is not None and jurisdiction.limits_note:
            where = f" in {jurisdiction} ({jurisdiction.limits_note})"
        raise MissingProperty(
            f"exposure_limit: no exposure limit is known here for {vapour.name}{where}; give one with its authority, "
            'for example exposure_limit = "50 ppm" and exposure_limit_authority = "site limit of 2026"'
        )
    return ChosenLimits(
        _lowest(averages), _lowest(short), tuple(dict.fromkeys(warnings)), tuple(short), peaks, tuple(averages)
    )


def _keep_the_law(
    vapour: Vapour, law: list[Limit], averages: list[Limit], short: list[Limit], where: Jurisdiction | None
) -> list[str]:
    """Add limits that are law and were not chosen, and say where they bind."""
    said = []
    for limit in law:
        group = averages if limit.kind == "TWA" else short if limit.kind in _SHORT else None
        if group is None or limit in group:
            continue
        chosen = _lowest(group)
        if chosen is None or limit.value.value < chosen.value.value / _SLACK:
            kind = "averages" if group is averages else "short-term limits"
            said.append(
                f"{limit.authority} {limit.value.printed} {limit.kind} is law in {where} and stricter than what was "
                f"chosen of the {kind} of {vapour.name}: it holds"
            )
        group.append(limit)
    return said


def _stand_in(vapour: Vapour, short: list[Limit], where: Jurisdiction) -> list[str]:
    """Let a published limit over a short time act where a country's own of its kind was not given.

    Silence is no permission, and a ceiling does not make up for a limit over 15 minutes.
    """
    said = []
    for kind, key in (("STEL", "short_term_limit"), ("ceiling", "ceiling_limit")):
        if any(limit.kind == kind for limit in short):
            continue
        found = [x for x in limits_in_force(vapour).limits if x.kind == kind and x.authority in shipped_authorities()]
        short += found
        lowest = _lowest(found)
        if lowest is not None:
            said.append(
                f"no {kind} of {where} was given for {vapour.name}: {lowest.value.printed} {kind} ({lowest.authority}) "
                f"stands in for it; give {key}"
            )
    if not short:
        said.append(f"no short-term limit of {where} was given for {vapour.name}, and none is known here")
    return said


def _holds(limit: Limit, where: Jurisdiction) -> bool:
    """Whether a limit is one of a jurisdiction's, or the user's own: those of other countries are not."""
    return limit.authority in where.authorities or limit.authority not in shipped_authorities()


def _own(argument: str, value: Any, authority: str, kind: LimitKind) -> Limit:
    number = single(argument, read("exposure_limit", value, as_argument=argument))
    return Limit(authority, kind, Datum("exposure_limit", number, "given"), "", "")


def _conflicts(vapour: Vapour, own: Limit, published: list[Limit]) -> list[str]:
    lower = _lowest(published)
    if lower is None or own.value.value <= lower.value.value * _SLACK:
        return []
    return [
        f"the limit given for {vapour.name}, {own.value.printed} ({own.authority}), is higher than "
        f"{lower.value.printed} {lower.kind} ({lower.authority})"
    ]


def _lowest(limits: list[Limit]) -> Limit | None:
    return min(limits, key=lambda limit: limit.value.value, default=None)
