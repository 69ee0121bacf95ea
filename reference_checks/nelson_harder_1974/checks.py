"""Single rows that can be held: vapours that are held well, and the descriptions of the unlisted ones."""

from __future__ import annotations

from functools import cache

from reference_checks.framework import Check
from reference_checks.nelson_harder_1974.rows import fitted_pair_mass, predicted_minutes, timed_vapours
from respcalc.vapours import composition

__all__ = ["CHECKS"]


@cache
def _seconds() -> dict[str, float]:
    rows = timed_vapours()
    return dict(zip((row.cas for row in rows), 60.0 * predicted_minutes(fitted_pair_mass(rows)), strict=True))


def _time(*, cas: str) -> float:
    return float(_seconds()[cas])


def _molar_mass(*, formula: str) -> float:
    return composition.molar_mass(composition.parse_formula(formula))


CHECKS = {"well_held": Check(_time), "molar_mass": Check(_molar_mass)}
