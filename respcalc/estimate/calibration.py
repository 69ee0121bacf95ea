"""What the margin is calibrated on, and the bound that follows from it.

Measured breakthrough times beside the times that the chain predicts for the same conditions give, for
each vapour, the excess ln(predicted/measured). A new vapour's excess is bounded from those: jackknife+
(each vapour is scored by a fit that has not seen it), which needs no assumption on how the excess is
distributed, only that a new vapour is like the calibrated ones. The bound is conditional on how
strongly the vapour is held:

    g       = max(0, x - 0.40), x the reduced adsorption potential A/(beta E0)
    centre  = a + b g + h F g     F = 1 for a light halogenated molecule; b, h >= 0
    spread  = s0 + s1 g           s1 >= 0

x is taken at one reference state, never at the task's, so that the margin cannot undo what the chain
keeps: nothing that makes the workplace worse may lengthen a life.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import numpy as np

from respcalc.core.errors import DomainError, TableError
from respcalc.core.tables import Table, read_table, shipped_table

__all__ = ["LEAST_ROWS", "Calibration", "read_calibration", "shipped_calibration"]

LEAST_ROWS = 20
_WELL_HELD = 0.40  # below this reduced potential the excess shows no trend
_LEAST_SPREAD = 0.05  # no two tests of one cartridge agree better than this
_ROUNDS, _SMALL = 30, 0.03  # least absolute deviations by reweighting; smaller deviations weigh no more
_COLUMNS = ("vapour", "measured_time", "predicted_time", "reduced_potential", "light_halogenated", "calibrates")


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
    """

    name: str
    recalled: bool
    vapours: tuple[str, ...]
    excess: np.ndarray
    potential: np.ndarray
    light: np.ndarray

    def __post_init__(self) -> None:
        if len(self.vapours) < LEAST_ROWS:
            raise DomainError(
                f"calibration {self.name}: {len(self.vapours)} vapours that calibrate; at least {LEAST_ROWS} are "
                "needed for a bound"
            )

    @property
    def highest_coverage(self) -> float:
        """The finite-sample limit: n vapours support a coverage of n/(n + 1) at most."""
        return len(self.vapours) / (len(self.vapours) + 1)

    @property
    def reach(self) -> float:
        """Reduced potential of the worst-held vapour that was calibrated."""
        return float(self.potential.max())

    @property
    def plain_reach(self) -> float:
        """The same among those that are not light and halogenated."""
        return float(self.potential[~self.light].max(initial=0.0))

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
        reach = [_centre(f, potential, light) + s * _spread(f, potential) for f, s in self._left_out]
        return float(np.sort(reach)[self._rank(coverage, len(self.vapours))])

    def bound_from_test(self, potential: float, light: bool, tested: tuple[float, bool], coverage: float) -> float:
        """The same for a cartridge that was fitted to a test with another vapour, *tested*.

        The scale of the cartridge is then known as well as the tested vapour's own excess: what is left
        is the difference between two vapours. Scored over all ordered pairs, for which the
        finite-sample correction is no exact guarantee.
        """
        rank = self._rank(coverage, self._pairs.size)
        scale = math.hypot(_spread(self._whole, potential), _spread(self._whole, tested[0]))
        shift = self.centre(potential, light) - self.centre(*tested)
        return shift + max(0.0, float(self._pairs[rank])) * scale

    def _rank(self, coverage: float, count: int) -> int:
        if coverage > self.highest_coverage + 1e-12:
            raise DomainError(
                f"coverage = {coverage:.4g}: {len(self.vapours)} calibrated vapours support at most "
                f"{self.highest_coverage:.4f}; ask for less, or calibrate on more vapours"
            )
        return min(math.ceil(coverage * (count + 1) - 1e-9), count) - 1

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

    @cached_property
    def _pairs(self) -> np.ndarray:
        """Scores of every vapour against every other one, sorted."""
        off = np.array([self._deviation(fit, j) for j, (fit, _) in enumerate(self._left_out)])
        spread = np.array([_spread(fit, self.potential[j]) for j, (fit, _) in enumerate(self._left_out)])
        scores = (off[:, np.newaxis] - off) / np.hypot(spread[:, np.newaxis], spread)
        return np.sort(scores[~np.eye(off.size, dtype=bool)])

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
    return read_calibration(
        shipped_table("respcalc.estimate", "calibration.csv", required=_COLUMNS),
        name="one-per-cent breakthrough times recalled from Nelson and Harder (1974)",
        recalled=True,
    )
