"""What a facepiece is trusted for: assigned protection factor and maximum use concentration."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.tables import shipped_table
from respcalc.core.vocabulary import read, single, term
from respcalc.workplace.permission.jurisdictions import HOME, Jurisdiction, jurisdiction

__all__ = ["Facepiece", "UseConcentration", "facepiece", "facepieces", "maximum_use_concentration"]

CARTRIDGE_USE_LIMIT = 1000e-6
"""Organic-vapour chemical cartridges, 42 CFR 84.190 [volume fraction]."""


_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class Facepiece:
    """A kind of facepiece with the protection factor that counts for it in one jurisdiction."""

    name: str
    protection_factor: Datum
    powered: bool
    covers_eyes: bool
    tight: bool
    jurisdiction: str = HOME
    at_most: float = 0.0  # highest factor that a plan may state with its evidence
    least_blower_flow: float = 0.0  # [m3/s] that the blower must give: 42 CFR 84, elsewhere the lesser of its two


@dataclass(frozen=True)
class UseConcentration:
    """Highest concentration a facepiece may be used in, and which bound set it."""

    value: float  # volume fraction
    set_by: str
    text: str


@cache
def _table() -> dict[str, tuple[Facepiece, ...]]:
    """Facepieces by jurisdiction, in the order of the table, the one that was read whole first.

    A factor recalled from memory counts no higher than what was read for the same kind of device, until a plan
    confirms it with its source: recalled numbers act on the safe side.
    """
    found: dict[str, list[Facepiece]] = {}
    for row in shipped_table("respcalc.workplace.permission", "protection_factors.csv"):
        stated, where, kind = row["assigned_protection_factor"], row["origin"], row["kind"]
        counts, note = stated, ""
        if kind == "memory":
            read_for = next(f.protection_factor.value for f in found[HOME] if f.name == row["like"])
            counts = min(stated, read_for)
            note = "from memory, to be confirmed"
            if counts < stated:
                note += f": {stated:g} is remembered and {counts:g} counts, which was read for a {row['like']} (US)"
        factor = Datum("assigned_protection_factor", counts, kind, row["source"], where, note)
        found.setdefault(row["jurisdiction"], []).append(
            Facepiece(
                row["facepiece"], factor, row["powered"] == "yes", row["covers_eyes"] == "yes", row["tight"] == "yes",
                row["jurisdiction"], max(stated, float(row["with_evidence"] or 0.0)), row["least_flow"] or 0.0,
            )
        )  # fmt: skip
    return {where: tuple(pieces) for where, pieces in found.items()}


def facepieces(where: str | Jurisdiction = HOME) -> tuple[Facepiece, ...]:
    """Every kind of facepiece of a jurisdiction, with the protection factor that counts.

    Raises
    ------
    DomainError
        The jurisdiction is not known.
    """
    return _table()[jurisdiction(where).name]


def facepiece(
    name: Any, *, jurisdiction: str | Jurisdiction = HOME, protection_factor: Any = None, evidence: str = ""
) -> Facepiece:
    """Look a kind of facepiece up by its name.

    Parameters
    ----------
    name
        Such as ``"half mask"``; case and hyphens do not matter.
    jurisdiction
        Whose table of protection factors holds; the US where none is given.
    protection_factor
        The programme's own factor, with its evidence. A lower one always counts; a higher one as far as the table
        allows it with evidence.
    evidence
        Whose test, or which edition of the standard, the own factor rests on.

    Returns
    -------
    Facepiece

    Raises
    ------
    DomainError
        The kind is not known there; an own factor without evidence, or above what the table allows.

    Examples
    --------
    >>> facepiece("half mask").protection_factor.printed
    '10'
    >>> facepiece("half mask", jurisdiction="Germany").protection_factor.printed
    '30'
    """
    wanted = _plain(str(name))
    offered = facepieces(jurisdiction)
    found = next((piece for piece in offered if _plain(piece.name) == wanted), None)
    if found is None:
        elsewhere = sorted({w for w, all_ in _table().items() for p in all_ if _plain(p.name) == wanted})
        hint = f" ({name} is in the table of {', '.join(elsewhere)})" if elsewhere else ""
        known = ", ".join(piece.name for piece in offered)
        raise DomainError(f"facepiece = {name!r} is not known in {jurisdiction}{hint}; choose one of: {known}")
    if protection_factor is None:
        if evidence.strip():
            raise DomainError(
                f"protection_factor_evidence = {evidence!r:.80} is given without a protection_factor for the {name}"
            )
        return found
    own = single(
        "protection_factor", read("assigned_protection_factor", protection_factor, as_argument="protection_factor")
    )
    if not evidence.strip():
        raise DomainError(
            f"protection_factor = {own:g}: say what it rests on, for example "
            'protection_factor_evidence = "national table, edition and page"'
        )
    if own > found.at_most * _SLACK:
        raise DomainError(
            f"protection_factor = {own:g} is above {found.at_most:g}, the most that {found.protection_factor.origin} "
            f"gives for a {found.name}"
        )
    note = f"stated by the programme: {evidence.strip()}; the table counts {found.protection_factor.value:g} without it"
    return replace(found, protection_factor=Datum("assigned_protection_factor", own, "given", note=note))


def _plain(name: str) -> str:
    return " ".join(name.lower().replace("_", " ").replace("-", " ").split())


def maximum_use_concentration(
    *, protection_factor: float, exposure_limit: Any, idlh: Any = None, cartridge_limit: Any = None
) -> UseConcentration:
    """Highest concentration outside the mask in which it may be used.

    Parameters
    ----------
    protection_factor
        Assigned protection factor of the facepiece.
    exposure_limit
        Exposure limit [ppm].
    idlh
        Concentration immediately dangerous to life or health [ppm], if one is known.
    cartridge_limit
        Use limit of the cartridge [ppm]; 1000 ppm (42 CFR 84.190) where none is stated.

    Returns
    -------
    UseConcentration

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``osha_1910_134`` (b), (d)(3)(i)(B); ``cfr42_84_190``.

    Examples
    --------
    >>> maximum_use_concentration(protection_factor=10, exposure_limit="200 ppm", idlh="500 ppm").text
    '500 ppm (the IDLH; protection factor x limit would be 2000 ppm)'
    """
    factor = single(
        "protection_factor", read("assigned_protection_factor", protection_factor, as_argument="protection_factor")
    )
    product = factor * single("exposure_limit", read("exposure_limit", exposure_limit))
    cartridge_bound = CARTRIDGE_USE_LIMIT
    if cartridge_limit is not None:
        cartridge_bound = single(
            "cartridge_limit", read("volume_fraction", cartridge_limit, as_argument="cartridge_limit")
        )
    bounds = {"protection factor x limit": product, "the use limit of the cartridge": cartridge_bound}
    if idlh is not None:
        bounds["the IDLH"] = single("idlh", read("volume_fraction", idlh, as_argument="idlh"))
    set_by = min(bounds, key=lambda k: bounds[k])
    show = term("exposure_limit").show
    aside = "" if set_by == "protection factor x limit" else f"; protection factor x limit would be {show(product)}"
    return UseConcentration(bounds[set_by], set_by, f"{show(bounds[set_by])} ({set_by}{aside})")
