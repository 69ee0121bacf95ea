"""Whether the eyes need cover: a half mask leaves them in the air."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from respcalc.core.tables import shipped_table
from respcalc.core.vocabulary import term
from respcalc.workplace.permission.criterion import Criterion
from respcalc.workplace.permission.inhaled import Inhaled
from respcalc.workplace.permission.respirators import Facepiece

__all__ = ["GOGGLES", "judge_eyes"]

_SLACK = 1 + 1e-9
GOGGLES = ("gas-proof goggles", "gas-tight goggles", "unvented goggles")
"""What covers the eyes beside a mask that does not; vented goggles let vapour in."""
_INSTEAD = 'a full facepiece, or gas-proof goggles with the mask (eye_protection = "gas-proof goggles")'


@cache
def _irritants() -> dict[str, str]:
    table = shipped_table("respcalc.workplace.permission", "eye_irritants.csv")
    return {row["cas"]: row["effect"] for row in table}


def judge_eyes(
    inhaled: Sequence[Inhaled], mask: Facepiece, eye_protection: str
) -> tuple[list[Criterion], tuple[str, ...]]:
    """Judge the eyes of a wearer whose mask does not cover them.

    Returns
    -------
    tuple
        Criteria for vapours that are known or said to irritate, and what is to be said of the others.
    """
    if mask.covers_eyes:
        return [], ()
    covered = " ".join(eye_protection.lower().split()) in GOGGLES
    criteria, asked = [], []
    for part in inhaled:
        effect, limit = _irritants().get(part.vapour.cas, ""), part.limits.least.value
        harmful = bool(effect) and part.concentration > limit.value * _SLACK
        why = f"{effect} above its limit of {limit.printed} (from memory, to be confirmed)"
        if part.irritates_eyes:
            harmful, why = True, "irritates the eyes at this concentration, says the plan"
        if harmful:
            shown = term("volume_fraction").show(part.concentration)
            worn = f" with {eye_protection}" if eye_protection else ""
            criteria.append(
                Criterion(
                    f"eyes, {part.vapour.name}", covered, f"{shown} with a {mask.name}{worn}",
                    f"{part.vapour.name}: {why}; the eyes must be covered", "common practice, no source", _INSTEAD,
                )
            )  # fmt: skip
        elif part.irritates_eyes is None and part.concentration > limit.value * _SLACK and not effect:
            asked.append(part.vapour.name)
    if not asked or covered:
        return criteria, ()
    note = (
        f"a {mask.name} leaves the eyes in the air: whether {', '.join(asked)} irritates them at this concentration is "
        "not known here (data sheet, sections 2 and 11). If so, a full facepiece or gas-proof goggles are needed"
    )
    return criteria, (note,)
