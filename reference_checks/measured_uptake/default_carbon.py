"""Question 3: the library's default carbon, used by somebody who knows nothing of the real one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from reference_checks.measured_uptake.errors import Errors, Prediction, grouped, predictions, summary
from reference_checks.measured_uptake.fits import DEFAULT_CARBON, Carbon, equal_shares, fit_carbon
from reference_checks.measured_uptake.isotherms import Isotherm, by, isotherms

__all__ = [
    "CALIBRATED_PRESSURE",
    "WIDENED_BY",
    "WIDE_PORE_ENERGY",
    "CarbonLevel",
    "best_carbons",
    "blind_predictions",
    "carbon_levels",
    "pressure_table",
    "scatter_carbons",
    "scatter_table",
    "wide_pored",
]

CALIBRATED_PRESSURE = 100.0
"""About 1000 ppm, where breakthrough times are measured [Pa]."""
WIDE_PORE_ENERGY = 15e3
"""A carbon whose own characteristic energy lies below this has wide pores [J/mol]; respirator carbons have 16 to 22
(from memory)."""
WIDENED_BY = "commercial or coal, A and B"
"""The choice whose scatter the library's margin takes for a default carbon: all that are used in practice."""
_USUAL = ("commercial", "coal")


@cache
def blind_predictions(grades: str = "A") -> tuple[Prediction, ...]:
    """Every point from the default carbon."""
    return tuple(predictions(DEFAULT_CARBON, isotherms(grades), told_by="the default carbon"))


@cache
def wide_pored() -> frozenset[str]:
    """Carbons whose isotherms ask for a low characteristic energy, all vapours together.

    Only points at 100 Pa and above are used: what lies below is what other questions are about.
    """
    found = set()
    for carbon, its in by(lambda i: i.carbon, isotherms()).items():
        own = fit_carbon(its, least_pressure=CALIBRATED_PRESSURE)
        if own is not None and own.characteristic_energy < WIDE_PORE_ENERGY:
            found.add(carbon)
    return frozenset(found)


def _side(row: Prediction) -> str:
    return "at 100 Pa and above" if row.pressure >= CALIBRATED_PRESSURE else "below 100 Pa"


@cache
def pressure_table(grades: str = "A") -> tuple[Errors, ...]:
    """Above and below 100 Pa, wide pores in or out."""
    rows = blind_predictions(grades)
    kept = [row for row in rows if row.carbon not in wide_pored()]
    lines = [*grouped(rows, _side), *grouped(kept, lambda row: f"{_side(row)}, no wide pores")]
    return (*lines, summary("all", [row.error for row in rows]))


@dataclass(frozen=True)
class CarbonLevel:
    """Where one carbon lies, on average, against the default one at 100 Pa and above."""

    carbon: str
    grade: str
    wide_pored: bool
    micropore_volume: float
    characteristic_energy: float
    points: int
    vapours: int
    mean: float


@cache
def carbon_levels(grades: str = "AB") -> tuple[CarbonLevel, ...]:
    """Mean ln(default/measured) of each carbon at 100 Pa and above, the safest first, beside its own fit."""
    levels = [_level(its) for its in by(lambda i: i.carbon, isotherms(grades)).values()]
    return tuple(sorted(levels, key=lambda level: level.mean))


def _level(its: list[Isotherm]) -> CarbonLevel:
    own = fit_carbon(its)
    rows = [r for r in predictions(DEFAULT_CARBON, its) if r.pressure >= CALIBRATED_PRESSURE]
    return CarbonLevel(
        its[0].carbon,
        its[0].grade,
        its[0].carbon in wide_pored(),
        own.micropore_volume if own else np.nan,
        own.characteristic_energy if own else np.nan,
        len(rows),
        len({r.vapour for r in rows}),
        float(np.mean([r.error for r in rows])),
    )


def _choices() -> dict[str, list[CarbonLevel]]:
    """Which carbons may count, from narrow to wide; their names are those of the report."""
    levels = carbon_levels()
    usual = [x for x in levels if x.carbon.startswith(_USUAL)]
    usual_a = [x for x in usual if x.grade == "A"]
    return {
        "grade A": [x for x in levels if x.grade == "A"],
        "grade A, no wide pores": [x for x in levels if x.grade == "A" and not x.wide_pored],
        "commercial or coal, A": usual_a,
        "the same, no wide pores": [x for x in usual_a if not x.wide_pored],
        "the same, three points or more": [x for x in usual_a if not x.wide_pored and x.points >= 3],
        WIDENED_BY: usual,
        "grade B": [x for x in levels if x.grade == "B"],
        "all": list(levels),
    }


def scatter_carbons() -> frozenset[str]:
    """The carbons whose scatter widens the library's margin where the carbon is a default: none picked by result."""
    return frozenset(x.carbon for x in _choices()[WIDENED_BY])


@cache
def scatter_table() -> tuple[Errors, ...]:
    """Spread of the carbons' means: one value a carbon, several choices of which carbons count."""
    return tuple(summary(name, [x.mean for x in chosen]) for name, chosen in _choices().items())


@cache
def best_carbons() -> tuple[tuple[str, Carbon | None], ...]:
    """The one carbon that each choice would make the default: DR, least of two, every carbon with the same say."""
    lines = []
    for name, chosen in _choices().items():
        its = [i for i in isotherms() if i.carbon in {x.carbon for x in chosen}]
        lines.append((name, fit_carbon(its, weights=equal_shares(its))))
    return tuple(lines)
