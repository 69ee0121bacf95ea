"""Question 1: a carbon known from one vapour only; what of the other vapours on it?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from reference_checks.measured_uptake.errors import Errors, Prediction, predictions, summary
from reference_checks.measured_uptake.fits import AFFINITIES, EXPONENTS, LIBRARY, fit_carbon, isotherm_name
from reference_checks.measured_uptake.isotherms import Isotherm, by, isotherms

__all__ = ["Combination", "cross_predictions", "cross_table"]


@dataclass(frozen=True)
class Combination:
    """How one affinity and one isotherm did on every ordered pair of vapours of a carbon."""

    affinity: str
    isotherm: str
    pairs: int
    errors: Errors


def _pairs(grades: str) -> Iterator[tuple[str, str, list[Isotherm], list[Isotherm]]]:
    """Each ordered pair of vapours of one paper, carbon and temperature, and their isotherms."""
    for same in by(lambda i: (i.doi, i.carbon, i.temperature), isotherms(grades)).values():
        vapours = by(lambda i: i.vapour, same)
        for known, its in vapours.items():
            for other, theirs in vapours.items():
                if other != known:
                    yield known, other, its, theirs


@cache
def cross_predictions(
    grades: str = "A", affinity: str = LIBRARY[0], exponent: float = LIBRARY[1]
) -> tuple[Prediction, ...]:
    """Fit on one vapour, predict each other one; a vapour with fewer than three points tells nothing."""
    rows: list[Prediction] = []
    for known, _, its, theirs in _pairs(grades):
        carbon = fit_carbon(its, affinity, exponent)
        if carbon is None:
            continue
        rows += predictions(carbon, theirs, affinity, told_by=f"{known}, {its[0].carbon}, {its[0].temperature:g} K")
    return tuple(rows)


@cache
def cross_table(grades: str = "A") -> tuple[Combination, ...]:
    """Every affinity with every isotherm, least root mean square error first."""
    lines = []
    for affinity in AFFINITIES:
        for exponent in EXPONENTS:
            rows = cross_predictions(grades, affinity, exponent)
            pairs = len({(row.told_by, row.vapour) for row in rows})
            name = isotherm_name(exponent)
            lines.append(Combination(affinity, name, pairs, summary(f"{affinity}, {name}", [r.error for r in rows])))
    return tuple(sorted(lines, key=lambda line: line.errors.root_mean_square))
