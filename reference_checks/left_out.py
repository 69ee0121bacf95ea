"""``python -m reference_checks.left_out``: how the margin does on vapours it has not seen.

Each vapour is left out in turn: the mass of carbon is fitted without it, the bound is made without it,
and the life it would have got is held against its measured time. All measured times are FROM MEMORY.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from reference_checks.calibrate import SHIPPED
from respcalc.core.tables import read_table
from respcalc.estimate import Calibration, shipped_calibration
from respcalc.estimate.margin import FLOOR_RECALLED

__all__ = ["LeftOut", "Timed", "classes", "figures", "left_out_classes", "left_out_vapours", "main", "timed"]

_LEAST_MINUTES = 2.0
_CLASS_OF = 5
"""Classes of fewer vapours are not judged by themselves."""


@dataclass(frozen=True)
class Timed:
    """A row of the calibration table above two minutes, amines too."""

    vapour: str
    chemical_class: str
    excess: float
    potential: float
    light: bool
    calibrates: bool


@dataclass(frozen=True)
class LeftOut:
    """Conservative life over measured time of a vapour that the bound had not seen; above 1 it over-ran."""

    vapour: str
    group: str
    light: bool
    ratio: float


def timed() -> tuple[Timed, ...]:
    """Every row of the shipped table with a measured time above two minutes."""
    return tuple(
        Timed(
            row["vapour"],
            row["chemical_class"],
            math.log(row["predicted_time"] / row["measured_time"]),
            row["reduced_potential"],
            row["light_halogenated"] == "yes",
            row["calibrates"] == "yes",
        )
        for row in read_table(SHIPPED).strict()
        if row["measured_time"] / 60 > _LEAST_MINUTES
    )


def _without(rows: Iterable[Timed]) -> tuple[Calibration, float]:
    """The calibration of some rows, its mass of carbon fitted to them, and ln of that against the shipped mass."""
    kept = [r for r in rows if r.calibrates]
    excess = np.array([r.excess for r in kept])
    shift = float(np.median(excess))
    return (
        replace(
            shipped_calibration(),
            vapours=tuple(r.vapour for r in kept),
            excess=excess - shift,
            potential=np.array([r.potential for r in kept]),
            light=np.array([r.light for r in kept]),
        ),
        shift,
    )


def left_out_vapours(coverage: float = 0.95, floor: float = FLOOR_RECALLED) -> list[LeftOut]:
    """Each vapour against the bound of all others."""
    rows, found = timed(), []
    for row in rows:
        rest, shift = _without(r for r in rows if r is not row)
        bound = max(rest.bound(row.potential, row.light, coverage), math.log(floor))
        found.append(LeftOut(row.vapour, row.chemical_class, row.light, math.exp(row.excess - shift - bound)))
    return found


def left_out_classes(coverage: float = 0.95, floor: float = FLOOR_RECALLED) -> list[LeftOut]:
    """Each vapour against the bound of all other classes, the light halogenated ones taken as one class."""
    rows, found = timed(), []
    for group in dict.fromkeys(_kind(r) for r in rows):
        rest, shift = _without(r for r in rows if _kind(r) != group)
        for row in (r for r in rows if _kind(r) == group):
            bound = max(rest.bound(row.potential, row.light, coverage), math.log(floor))
            found.append(LeftOut(row.vapour, row.chemical_class, row.light, math.exp(row.excess - shift - bound)))
    return found


def _kind(row: Timed) -> str:
    return "light halogenated" if row.light else row.chemical_class


def figures(found: list[LeftOut]) -> dict[str, float]:
    """Coverage, least coverage of a class of five or more, median share used, worst over-run."""
    ratios = np.array([f.ratio for f in found])
    return {
        "coverage": float(np.mean(ratios <= 1.0)),
        "least class": min(kept / size for kept, size in classes(found).values() if size >= _CLASS_OF),
        "median": float(np.median(ratios)),
        "worst": float(ratios.max()),
    }


def classes(found: list[LeftOut]) -> dict[str, tuple[int, int]]:
    """How many of each class kept the bound, and how many there are."""
    groups: dict[str, list[float]] = {}
    for f in found:
        groups.setdefault(f.group, []).append(f.ratio)
        if f.light:
            groups.setdefault("light halogenated (of several classes)", []).append(f.ratio)
    return {group: (sum(r <= 1.0 for r in ratios), len(ratios)) for group, ratios in groups.items()}


_RUNS: tuple[tuple[str, Callable[[], list[LeftOut]]], ...] = (
    ("one vapour left out, 95 %, as shipped", left_out_vapours),
    ("  97 %", lambda: left_out_vapours(0.97)),
    ("  95 % without the floor", lambda: left_out_vapours(floor=1.0)),
    ("  97 % without the floor", lambda: left_out_vapours(0.97, floor=1.0)),
    ("  90 %", lambda: left_out_vapours(0.90)),
    ("  80 %", lambda: left_out_vapours(0.80)),
    ("a whole class left out, 95 %", left_out_classes),
)


def main() -> None:
    print("conservative life over measured time (FROM MEMORY); above 1 is an over-run\n")
    print(f"{'':<44}{'cases':>7}{'coverage':>10}{'least class':>13}{'median':>8}{'worst':>7}   without amines")
    for label, run in _RUNS:
        found = run()
        f = figures(found)
        shares = f"{f['coverage']:>10.1%}{f['least class']:>13.1%}{f['median']:>8.3f}{f['worst']:>7.2f}"
        rest = figures([f for f in found if f.group != "amine"])
        print(f"{label:<44}{len(found):>7}{shares}   {rest['coverage']:.1%}, {rest['median']:.3f}")
    found = left_out_vapours()
    print("\nby class, as shipped:", ", ".join(f"{g} {kept}/{size}" for g, (kept, size) in classes(found).items()))
    over = sorted((f for f in found if f.ratio > 1), key=lambda f: -f.ratio)
    print("over-runs:", ", ".join(f"{f.vapour} {f.ratio:.2f}" for f in over) or "none")


if __name__ == "__main__":
    main()
