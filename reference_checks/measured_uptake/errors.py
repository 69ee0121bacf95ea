"""Predictions beside measurements, and plain statistics of ln(predicted/measured)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import ArrayLike

from reference_checks.measured_uptake.fits import LIBRARY, Carbon, predict
from reference_checks.measured_uptake.isotherms import BANDS, Isotherm, band

__all__ = [
    "Difference",
    "Errors",
    "Prediction",
    "bootstrap_difference",
    "grouped",
    "predictions",
    "summary",
]

_RESAMPLES, _START = 4000, 20260101


@dataclass(frozen=True)
class Prediction:
    """One measured point and what was predicted for it."""

    case: str
    vapour: str
    carbon: str
    told_by: str
    pressure: float
    measured: float
    predicted: float

    @property
    def error(self) -> float:
        """ln(predicted/measured); positive is the unsafe side."""
        return log(self.predicted / self.measured)

    @property
    def band(self) -> str:
        return band(self.pressure)


@dataclass(frozen=True)
class Errors:
    """Statistics of ln(predicted/measured) over a group; ``high`` and ``low`` are the extremes."""

    group: str
    count: int
    bias: float
    spread: float
    robust_spread: float
    root_mean_square: float
    upper_95: float
    high: float
    low: float


def predictions(
    carbon: Carbon, of: Iterable[Isotherm], affinity_name: str = LIBRARY[0], *, told_by: str = ""
) -> list[Prediction]:
    """Predict every point of some isotherms from one carbon."""
    return [
        Prediction(case, one.vapour, one.carbon, told_by, float(p), float(q), float(said))
        for one in of
        for case, p, q, said in zip(
            one.cases, one.pressure, one.loading, predict(carbon, one, affinity_name), strict=True
        )
    ]


def summary(group: str, errors: ArrayLike) -> Errors:
    """Bias, spread, 1.4826 times the median absolute deviation, 95th percentile and extremes."""
    e = np.asarray(errors, dtype=float)
    middle = np.median(e)
    return Errors(
        group,
        len(e),
        float(e.mean()),
        float(e.std(ddof=1)) if len(e) > 1 else 0.0,
        float(1.4826 * np.median(np.abs(e - middle))),
        float(np.sqrt(np.mean(e * e))),
        float(np.quantile(e, 0.95)),
        float(e.max()),
        float(e.min()),
    )


def grouped(rows: Sequence[Prediction], key: Callable[[Prediction], str]) -> list[Errors]:
    """One line for each value of the key; bands in order of pressure, the rest by name."""
    found: dict[str, list[float]] = {}
    for row in rows:
        found.setdefault(key(row), []).append(row.error)
    return [
        summary(name, found[name]) for name in sorted(found, key=lambda n: (BANDS.index(n) if n in BANDS else 0, n))
    ]


@dataclass(frozen=True)
class Difference:
    """A minus B of the root of the mean over groups of the mean square error, and its 95 % interval."""

    groups: int
    a: float
    b: float
    difference: float
    low: float
    high: float

    @property
    def real(self) -> bool:
        return not self.low <= 0 <= self.high


def bootstrap_difference(a: Mapping[str, Sequence[float]], b: Mapping[str, Sequence[float]]) -> Difference:
    """Compare two sets of errors, given by group; whole groups are drawn again, every group weighing the same."""
    names = sorted(a)
    if names != sorted(b):
        raise ValueError(f"the two sets have different groups: {sorted(set(a) ^ set(b))}")
    squares = np.array([[np.mean(np.square(errors[name])) for name in names] for errors in (a, b)])
    draws = np.random.default_rng(_START).integers(len(names), size=(_RESAMPLES, len(names)))
    again = np.sqrt(squares[:, draws].mean(axis=2))
    whole = np.sqrt(squares.mean(axis=1))
    low, high = np.quantile(again[0] - again[1], (0.025, 0.975))
    return Difference(len(names), *(float(x) for x in (*whole, whole[0] - whole[1], low, high)))
