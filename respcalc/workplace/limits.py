"""Which exposure limits a task is held to: the strictest known, one authority's, or the site's own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty, UnknownVapour
from respcalc.core.vocabulary import read, single
from respcalc.vapours import ExposureLimits, Limit, Vapour, find_vapour

__all__ = ["STRICTEST", "ChosenLimits", "choose_limits", "limits_in_force"]

STRICTEST = "strictest"
_SHORT = ("STEL", "ceiling")


@dataclass(frozen=True)
class ChosenLimits:
    """The limits that hold for one vapour in one task, each with its authority."""

    long_term: Limit | None
    short_term: Limit | None
    warnings: tuple[str, ...] = ()

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
    vapour: Vapour, *, limits_from: str = STRICTEST, own_limit: Any = None, own_authority: str | None = None
) -> ChosenLimits:
    """Choose the limits for one vapour.

    Parameters
    ----------
    vapour
        The vapour with its published limits.
    limits_from
        ``"strictest"`` (default) or the name of one authority, such as ``"OSHA PEL"``.
    own_limit
        A limit of the site, as a long-term average [ppm]; it replaces the published averages. The
        published short-term limits stay.
    own_authority
        Whose limit that is. Needed with `own_limit`.

    Returns
    -------
    ChosenLimits

    Raises
    ------
    MissingProperty
        No limit is known and none is given.
    DomainError
        The authority is not known for this vapour; an own limit without its authority.
    UnitsError
        The own limit has no unit, or a wrong one.
    """
    known = [limit for limit in limits_in_force(vapour).limits if limit.kind in ("TWA", *_SHORT)]
    warnings: list[str] = []
    if limits_from != STRICTEST:
        offered = sorted({limit.authority for limit in known})
        if limits_from not in offered:
            raise DomainError(
                f"limits_from = {limits_from!r}: no limit of that name is known for {vapour.name}; "
                f'choose "strictest"{"".join(f", {a!r}" for a in offered)}, or give exposure_limit and '
                "exposure_limit_authority"
            )
        if own_limit is not None:
            raise DomainError("limits_from and exposure_limit are both given; give one of them")
        known = [limit for limit in known if limit.authority == limits_from]
    long_term = _lowest([limit for limit in known if limit.kind == "TWA"])
    short_term = _lowest([limit for limit in known if limit.kind in _SHORT])
    if own_limit is not None:
        if not own_authority or not own_authority.strip():
            raise DomainError(f'exposure_limit of {vapour.name}: say whose limit it is, exposure_limit_authority="..."')
        value = single("exposure_limit", read("exposure_limit", own_limit))
        own = Limit(own_authority, "TWA", Datum("exposure_limit", value, "given"), "", "")
        published = long_term or short_term
        if published is not None and value > published.value.value * (1 + 1e-9):
            warnings.append(
                f"the limit used for {vapour.name}, {own.value.printed} ({own_authority}), is higher than "
                f"{published.value.printed} {published.kind} ({published.authority})"
            )
        long_term = own
    elif own_authority:
        raise DomainError(
            f"exposure_limit_authority = {own_authority!r} is given for {vapour.name} without an exposure_limit"
        )
    if long_term is None and short_term is None:
        raise MissingProperty(
            f"exposure_limit: no exposure limit is known here for {vapour.name}; give one with its authority, for "
            'example exposure_limit="50 ppm", exposure_limit_authority="site limit of 2026"'
        )
    return ChosenLimits(long_term, short_term, tuple(warnings))


def _lowest(limits: list[Limit]) -> Limit | None:
    return min(limits, key=lambda limit: limit.value.value, default=None)
