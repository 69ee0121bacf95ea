"""Question 2: which affinity and isotherm do best on vapours, and on carbons, that they have not seen?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np

from reference_checks.measured_uptake.errors import (
    Difference,
    Errors,
    Prediction,
    bootstrap_difference,
    predictions,
    summary,
)
from reference_checks.measured_uptake.fits import (
    AFFINITIES,
    DEFAULT_CARBON,
    EXPONENTS,
    LIBRARY,
    Carbon,
    equal_shares,
    fit_carbon,
    isotherm_name,
)
from reference_checks.measured_uptake.isotherms import Isotherm, by, isotherms

__all__ = [
    "CARBONS_PICKED",
    "Contest",
    "carbon_left_out",
    "carbon_table",
    "default_everywhere",
    "picked_blind",
    "vapour_left_out",
    "vapour_table",
]

CARBONS_PICKED = "picked on the others"
"""Affinity and isotherm are chosen anew for each carbon, from the other carbons only."""


@dataclass(frozen=True)
class Contest:
    """One combination on left-out data, and its difference from what the library does."""

    affinity: str
    isotherm: str
    errors: Errors
    difference: Difference


@cache
def vapour_left_out(
    grades: str = "A", affinity: str = LIBRARY[0], exponent: float = LIBRARY[1]
) -> tuple[Prediction, ...]:
    """Each vapour of a carbon, predicted from a carbon fitted to all its other vapours, all temperatures together."""
    rows: list[Prediction] = []
    for its in by(lambda i: (i.doi, i.carbon), isotherms(grades)).values():
        vapours = by(lambda i: i.vapour, its)
        for out, measured in vapours.items():
            others = [i for i in its if i.vapour != out]
            carbon = fit_carbon(others, affinity, exponent) if others else None
            if carbon is not None:
                rows += predictions(carbon, measured, affinity, told_by="the other vapours")
    return tuple(rows)


@cache
def _fit_without(carbon: str, grades: str, affinity: str, exponent: float) -> tuple[Carbon, float]:
    """One carbon for all carbons but this one, and the mean square of ln(measured volume/curve) it leaves there."""
    others = [i for i in isotherms(grades) if i.carbon != carbon]
    found = fit_carbon(others, affinity, exponent, weights=equal_shares(others))
    if found is None:
        raise ValueError(f"no carbon fits the carbons other than {carbon}")
    left = {
        name: np.mean([row.error**2 for row in predictions(found, its, affinity)])
        for name, its in by(lambda i: i.carbon, others).items()
    }
    return found, float(np.mean(list(left.values())))


def _by_carbon(grades: str) -> dict[str, list[Isotherm]]:
    return by(lambda i: i.carbon, isotherms(grades))


@cache
def carbon_left_out(
    grades: str = "A", affinity: str = LIBRARY[0], exponent: float = LIBRARY[1]
) -> tuple[Prediction, ...]:
    """Each carbon, predicted blind from the one carbon that fits all the others best."""
    rows: list[Prediction] = []
    for name, its in _by_carbon(grades).items():
        rows += predictions(
            _fit_without(name, grades, affinity, exponent)[0], its, affinity, told_by="the other carbons"
        )
    return tuple(rows)


@cache
def picked_blind(grades: str = "A") -> tuple[Prediction, ...]:
    """Each carbon blind, with affinity, isotherm and parameters all picked on the other carbons."""
    rows: list[Prediction] = []
    for name, its in _by_carbon(grades).items():
        affinity, exponent = min(
            ((a, n) for a in AFFINITIES for n in EXPONENTS), key=lambda c: _fit_without(name, grades, *c)[1]
        )
        told_by = f"{affinity}, {isotherm_name(exponent)}"
        rows += predictions(_fit_without(name, grades, affinity, exponent)[0], its, affinity, told_by=told_by)
    return tuple(rows)


@cache
def default_everywhere(grades: str = "A", affinity: str = LIBRARY[0]) -> tuple[Prediction, ...]:
    """The library's default carbon for every carbon."""
    return tuple(predictions(DEFAULT_CARBON, isotherms(grades), affinity, told_by="the default carbon"))


def _errors(rows: Iterable[Prediction], field: str) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for row in rows:
        found.setdefault(getattr(row, field), []).append(row.error)
    return found


def _contest(name: tuple[str, str], rows: tuple[Prediction, ...], base: tuple[Prediction, ...], field: str) -> Contest:
    """Compare on the points that both could answer."""
    both = {r.case for r in rows} & {r.case for r in base}
    ours, theirs = ([r for r in some if r.case in both] for some in (rows, base))
    return Contest(
        *name,
        summary(", ".join(name), [r.error for r in ours]),
        bootstrap_difference(_errors(ours, field), _errors(theirs, field)),
    )


def _ranked(lines: Iterable[Contest]) -> tuple[Contest, ...]:
    return tuple(sorted(lines, key=lambda line: line.difference.difference))


@cache
def vapour_table(grades: str = "A") -> tuple[Contest, ...]:
    """All combinations against the library's, on left-out vapours; every vapour weighs the same."""
    base = vapour_left_out(grades)
    return _ranked(
        _contest((a, isotherm_name(n)), vapour_left_out(grades, a, n), base, "vapour")
        for a in AFFINITIES
        for n in EXPONENTS
    )


@cache
def carbon_table(grades: str = "A") -> tuple[Contest, ...]:
    """All combinations against the library's default carbon, on left-out carbons; every carbon weighs the same."""
    base = default_everywhere(grades)
    lines = [
        _contest((a, isotherm_name(n)), carbon_left_out(grades, a, n), base, "carbon")
        for a in AFFINITIES
        for n in EXPONENTS
    ]
    lines.append(_contest((CARBONS_PICKED, ""), picked_blind(grades), base, "carbon"))
    lines.append(_contest((LIBRARY[0], "DR, default carbon"), base, base, "carbon"))
    return _ranked(lines)
