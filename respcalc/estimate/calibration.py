"""What the margin is calibrated on, and the bound that follows from it.

Measured breakthrough times beside the times that the chain predicts for the same conditions give, for
each vapour, the excess ln(predicted/measured). A new vapour's excess is bounded from those: jackknife+
(each vapour is scored by a fit that has not seen it). It assumes no distribution, only that the new
vapour is one more of the same kinds; then a bound at 95 % is usually kept by 95 % of new vapours, and
by 90 % at least (1 - 2 alpha, for the two-sided form). That is on average over vapours: the shape below
makes it follow how strongly a vapour is held, and was chosen with these vapours in view.

    g       = max(0, x - 0.40), x the reduced adsorption potential A/(beta E0)
    centre  = a + b g + h F g     F = 1 for a light halogenated molecule; b, h >= 0
    spread  = s0 + s1 g           s1 >= 0

x is taken at one reference state, never at the task's, so that the margin cannot undo what the chain
keeps: nothing that makes the workplace worse may lengthen a life.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import numpy as np

from respcalc.core.errors import DomainError, TableError
from respcalc.core.tables import Table, read_table, shipped_table

__all__ = [
    "LEAST_OF_A_GROUP",
    "LEAST_ROWS",
    "Calibration",
    "TestConditions",
    "read_calibration",
    "shipped_calibration",
]

LEAST_ROWS, LEAST_OF_A_GROUP = 20, 5
_MOST_POTENTIAL = 3.0  # methyl chloride, the worst-held of the list, has 2.2
_WELL_HELD = 0.40  # below this reduced potential the excess shows no trend
_LEAST_SPREAD = 0.05  # no two tests of one cartridge agree better than this
_ROUNDS, _SMALL = 30, 0.03  # least absolute deviations by reweighting; smaller deviations weigh no more
_COLUMNS = ("vapour", "measured_time", "predicted_time", "reduced_potential", "light_halogenated", "calibrates")


@dataclass(frozen=True)
class TestConditions:
    """What all the calibrated tests had in common, in SI."""

    volume_fraction: float
    temperature: float
    relative_humidity: float
    exit_fraction: float

    __test__ = False  # no test class, whatever its name looks like to pytest


@dataclass(frozen=True, eq=False)
class Calibration:
    """Vapours with a measured and a predicted time.

    Parameters
    ----------
    name
        What it rests on, in words that stand on the record.
    recalled
        Whether the measured times are from memory; a floor then holds the margin up.
    vapours
        Their names, shape ``(n,)``.
    excess
        ln(predicted/measured), shape ``(n,)``.
    potential
        Reduced adsorption potential at the reference state, shape ``(n,)``.
    light
        Whether the molecule is light and halogenated, shape ``(n,)``.
    conditions
        Of the tests, if they were all the same.
    """

    name: str
    recalled: bool
    vapours: tuple[str, ...]
    excess: np.ndarray
    potential: np.ndarray
    light: np.ndarray
    conditions: TestConditions | None = None

    def __post_init__(self) -> None:
        for name in ("excess", "potential", "light"):
            values = np.array(getattr(self, name))
            if values.shape != (len(self.vapours),) or not np.all(np.isfinite(values)):
                raise DomainError(f"calibration {self.name}: {name} needs one finite number for each vapour")
            values.setflags(write=False)  # margins are remembered by the calibration they came from
            object.__setattr__(self, name, values)
        if len(self.vapours) and not (self.potential.min() >= 0 and self.potential.max() <= _MOST_POTENTIAL):
            raise DomainError(
                f"calibration {self.name}: reduced_potential must lie from 0 to {_MOST_POTENTIAL:g}; found "
                f"{self.potential.min():g} to {self.potential.max():g}"
            )
        names = [v.strip().casefold() for v in self.vapours]
        if twice := sorted({v for v in names if names.count(v) > 1}):
            raise DomainError(
                f"calibration {self.name}: {', '.join(twice)}: more than one row; a bound over vapours needs one row a "
                "vapour (keep the one with the largest predicted/measured)"
            )
        if len(self.vapours) < LEAST_ROWS:
            raise DomainError(
                f"calibration {self.name}: {len(self.vapours)} vapours that calibrate; at least {LEAST_ROWS} are "
                "needed for a bound"
            )

    @property
    def highest_coverage(self) -> float:
        """The finite-sample limit: n vapours support a coverage of n/(n + 1) at most."""
        return len(self.vapours) / (len(self.vapours) + 1)

    def reach(self, light: bool) -> float | None:
        """Reduced potential of the worst-held calibrated vapour of a group; None where the group has too few."""
        held = self.potential[self.light == light]
        return float(held.max()) if held.size >= LEAST_OF_A_GROUP else None

    def centre(self, potential: float, light: bool) -> float:
        """Median excess of vapours that are held like this one."""
        return float(_centre(self._whole, potential, light))

    def bound(self, potential: float, light: bool, coverage: float) -> float:
        """Bound that the excess of a new vapour keeps with this coverage.

        Parameters
        ----------
        potential, light
            The new vapour, as for the calibrated ones.
        coverage
            Share of vapours, above 0.5 and at most `highest_coverage`.

        Returns
        -------
        float
            Never falls when *potential* rises or *light* becomes true.

        Raises
        ------
        DomainError
            More coverage than the vapours support.
        """
        reached = [_centre(f, potential, light) + s * _spread(f, potential) for f, s in self._left_out]
        return float(np.sort(reached)[self._rank(coverage)])

    def check_coverage(self, coverage: float) -> float:
        """Return the coverage, or refuse it where there are too few vapours for it.

        Raises
        ------
        DomainError
            With the highest coverage that they support.
        """
        if coverage > self.highest_coverage + 1e-12:
            raise DomainError(
                f"coverage = {100 * coverage:.4g} %: {len(self.vapours)} calibrated vapours support at most "
                f"{math.floor(1000 * self.highest_coverage) / 10:g} %; ask for less"
            )
        return coverage

    def _rank(self, coverage: float) -> int:
        count = len(self.vapours)
        return min(math.ceil(self.check_coverage(coverage) * (count + 1) - 1e-9), count) - 1

    @cached_property
    def _whole(self) -> _Fit:
        return _fit(self.excess, self.potential, self.light)

    @cached_property
    def _left_out(self) -> list[tuple[_Fit, float]]:
        """For each vapour the fit without it and its score against that fit, never below zero."""
        found = []
        for j in range(len(self.vapours)):
            rest = np.arange(len(self.vapours)) != j
            fit = _fit(self.excess[rest], self.potential[rest], self.light[rest])
            found.append((fit, max(0.0, self._deviation(fit, j) / _spread(fit, self.potential[j]))))
        return found

    def _deviation(self, fit: _Fit, j: int) -> float:
        return float(self.excess[j] - _centre(fit, self.potential[j], bool(self.light[j])))


@dataclass(frozen=True, slots=True)
class _Fit:
    level: float
    slope: float
    slope_if_light: float
    least_spread: float
    spread_slope: float


def _beyond(potential: Any) -> Any:
    return np.maximum(0.0, np.asarray(potential) - _WELL_HELD)


def _centre(fit: _Fit, potential: float, light: bool) -> float:
    return float(fit.level + (fit.slope + fit.slope_if_light * light) * _beyond(potential))


def _spread(fit: _Fit, potential: float) -> float:
    return float(fit.least_spread + fit.spread_slope * _beyond(potential))


def _fit(excess: np.ndarray, potential: np.ndarray, light: np.ndarray) -> _Fit:
    g = _beyond(potential)
    columns = np.stack([np.ones_like(g), g, g * light], axis=1)
    centre = _least_absolute(columns, excess)
    off, far = np.abs(excess - columns @ centre), g > 0
    least = max(_LEAST_SPREAD, float(off[~far].mean() if np.any(~far) else off.mean()))
    rise = float((off[far] - least) @ g[far] / (g[far] @ g[far])) if np.any(far) else 0.0
    level, slope, slope_if_light = (float(c) for c in centre)
    return _Fit(level, slope, slope_if_light, least, max(0.0, rise))


def _least_absolute(columns: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Least absolute deviations; a slope that comes out negative is dropped and the rest fitted again."""
    kept = list(range(columns.shape[1]))
    while True:
        weight: np.ndarray = np.ones(values.size)
        found: np.ndarray = np.zeros(len(kept))
        for _ in range(_ROUNDS):
            found = np.linalg.lstsq(columns[:, kept] * weight[:, np.newaxis], values * weight, rcond=None)[0]
            weight = 1.0 / np.sqrt(np.maximum(np.abs(values - columns[:, kept] @ found), _SMALL))
        falling = [(value, k) for k, value in zip(kept, found, strict=True) if k and value < 0]
        if not falling:
            whole = np.zeros(columns.shape[1])
            whole[kept] = found
            return whole
        kept.remove(min(falling)[1])


def read_calibration(table: str | Path | Table, *, name: str, recalled: bool) -> Calibration:
    """Read a calibration table.

    Parameters
    ----------
    table
        CSV or XLSX file, or a `Table`. Columns: ``vapour``, ``measured_time [min]``,
        ``predicted_time [min]``, ``reduced_potential []`` (see `reduced_potential`),
        ``light_halogenated`` (yes or no), ``calibrates`` (yes or no).
    name, recalled
        As for `Calibration`.

    Returns
    -------
    Calibration
        Of the rows that calibrate.

    Raises
    ------
    TableError
        A column or a cell is missing or makes no sense; all such cells are listed.
    DomainError
        Fewer than 20 rows calibrate.
    """
    read = (table if isinstance(table, Table) else read_table(table, required=_COLUMNS)).strict()
    faults, rows = [], []
    for row in read.rows:
        where = f"{read.name}, row {row['row']}"
        faults += [f"{where}: {c} is missing" for c in _COLUMNS if row.get(c) in (None, "")]
        faults += [
            f"{where}: {c} = {row[c]!r} must be yes or no"
            for c in ("light_halogenated", "calibrates")
            if row.get(c) and row[c] not in ("yes", "no")
        ]
        if row.get("calibrates") == "yes":
            faults += [
                f"{where}: {c} must be above 0 for a row that calibrates"
                for c in ("measured_time", "predicted_time")
                if row.get(c) is not None and not row[c] > 0
            ]
            rows.append(row)
    if faults:
        raise TableError(faults)
    return Calibration(
        name=name,
        recalled=recalled,
        vapours=tuple(r["vapour"] for r in rows),
        excess=np.array([math.log(r["predicted_time"] / r["measured_time"]) for r in rows]),
        potential=np.array([r["reduced_potential"] for r in rows]),
        light=np.array([r["light_halogenated"] == "yes" for r in rows], dtype=bool),
    )


@cache
def shipped_calibration() -> Calibration:
    """The table that comes with the library; ``python -m reference_checks.calibrate`` makes it."""
    read = read_calibration(
        shipped_table("respcalc.estimate", "calibration.csv", required=_COLUMNS),
        name="one-per-cent breakthrough times recalled from Nelson and Harder (1974), the mass of carbon fitted to "
        "them",
        recalled=True,
    )
    return replace(read, conditions=TestConditions(1000e-6, 295.15, 0.50, 0.01))
