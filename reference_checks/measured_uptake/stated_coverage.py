"""Question 5: a hygienist who knows nothing of the carbon; how often is the divided prediction below the measured?

The loading stands for the life. It is divided by what the library would divide by for that vapour and a
default carbon, and held to the power rule below the calibrated concentration. Air is dry here and no rate
comes in, so only the capacity's part of the margin is asked. Vapours that lie outside what the margin was
calibrated on (methanol) are left out: the library says so itself, and a divisor of 20 would be no test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy.stats import t

from reference_checks.measured_uptake.default_carbon import (
    CALIBRATED_PRESSURE,
    carbon_levels,
    scatter_carbons,
    wide_pored,
)
from reference_checks.measured_uptake.errors import Prediction
from reference_checks.measured_uptake.fits import DEFAULT_CARBON
from reference_checks.measured_uptake.isotherms import isotherms
from reference_checks.measured_uptake.power_rule import ruled
from respcalc.cartridges import describe_bed
from respcalc.estimate import is_light_halogenated, reduced_potential, shipped_calibration
from respcalc.estimate.margin import DEFAULT_COVERAGE, FLOOR_RECALLED, Margin, margin_of
from respcalc.vapours import find_vapour

__all__ = ["CoverageLine", "coverage_table", "divided", "divided_left_out", "divisor_from", "margin_blind"]


@cache
def margin_blind(vapour: str) -> Margin:
    """The library's margin for a vapour on a default carbon, at its default coverage."""
    pair = describe_bed("default carbon", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
    return margin_of(find_vapour(vapour), pair)


@cache
def divided(grades: str) -> tuple[Prediction, ...]:
    """Every point: the default carbon's loading by the power rule, over the divisor."""
    return tuple(
        Prediction(case, one.vapour, one.carbon, "the default carbon", float(p), float(q), float(said))
        for one in isotherms(grades)
        if not margin_blind(one.known.cas).outside
        for case, p, q, said in zip(
            one.cases,
            one.pressure,
            one.loading,
            ruled(DEFAULT_CARBON, one, one.pressure) / margin_blind(one.known.cas).divisor,
            strict=True,
        )
    )


def divisor_from(vapour: str, carbons: Iterable[str]) -> float:
    """The divisor as the library makes it, its widening made from some carbons; the form is written out again."""
    found, used = find_vapour(vapour), shipped_calibration()
    held, light = reduced_potential(found), is_light_halogenated(found)
    chosen = frozenset(carbons)
    means = [level.mean for level in carbon_levels() if level.carbon in chosen]
    centre, bound = used.centre(held, light), used.bound(held, light, DEFAULT_COVERAGE)
    scatter = t.ppf(DEFAULT_COVERAGE, len(means) - 1) * np.std(means, ddof=1) * math.sqrt(1 + 1 / len(means))
    widened = centre + float(np.mean(means)) + math.hypot(max(0.0, bound - centre), scatter)
    return max(FLOOR_RECALLED, math.exp(max(bound, widened)))


@cache
def divided_left_out() -> tuple[Prediction, ...]:
    """The carbons that the widening was made from, each divided by what the others alone would make."""
    rows = []
    cas = {i.vapour: i.known.cas for i in isotherms()}
    for row in (*divided("A"), *divided("B")):
        if row.carbon in scatter_carbons():
            number = cas[row.vapour]
            share = margin_blind(number).divisor / divisor_from(number, scatter_carbons() - {row.carbon})
            rows.append(replace(row, predicted=row.predicted * share))
    return tuple(rows)


@dataclass(frozen=True)
class CoverageLine:
    """How many points, and how many carbons with all their points, lie below the measured loading."""

    group: str
    points: int
    covered: int
    carbons: int
    carbons_covered: int
    by_carbon: float  # mean over carbons of the share of points covered: each carbon has the same say
    median: float  # of divided over measured, as a factor
    worst: float
    worst_case: str

    @property
    def share(self) -> float:
        return self.covered / self.points


def _line(group: str, rows: list[Prediction]) -> CoverageLine:
    kept: dict[str, list[bool]] = {}
    for row in rows:
        kept.setdefault(row.carbon, []).append(row.error <= 0)
    worst = max(rows, key=lambda row: row.error)
    return CoverageLine(
        group,
        len(rows),
        sum(row.error <= 0 for row in rows),
        len(kept),
        sum(all(each) for each in kept.values()),
        float(np.mean([np.mean(each) for each in kept.values()])),
        float(np.exp(np.median([row.error for row in rows]))),
        float(np.exp(worst.error)),
        worst.case,
    )


def _sorts(grade: str) -> dict[str, Callable[[Prediction], bool]]:
    return {
        f"grade {grade}, 100 Pa and above": lambda r: r.pressure >= CALIBRATED_PRESSURE,
        f"grade {grade}, below 100 Pa": lambda r: r.pressure < CALIBRATED_PRESSURE,
        f"grade {grade}, all": lambda r: True,
        f"grade {grade}, no wide pores": lambda r: r.carbon not in wide_pored(),
    }


@cache
def coverage_table() -> tuple[CoverageLine, ...]:
    """Grade A, then B; above and below 100 Pa; and the carbons that the widening has, and has not, seen."""
    by_grade = [
        _line(group, [row for row in divided(grade) if wanted(row)])
        for grade in "AB"
        for group, wanted in _sorts(grade).items()
    ]
    both = [*divided("A"), *divided("B")]
    seen = [row for row in both if row.carbon in scatter_carbons()]
    other = [row for row in both if row.carbon not in scatter_carbons()]
    return (
        *by_grade,
        _line("both, the carbons that the widening was made from", seen),
        _line("both, the same, each left out of the widening", list(divided_left_out())),
        _line("both, the other carbons", other),
    )
