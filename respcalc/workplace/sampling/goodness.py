"""Do the results look lognormal? A test for complete and one for censored data, and the probability plot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from respcalc.workplace.sampling.censored import plotting_positions

__all__ = ["Goodness", "lognormality", "normal_scores"]

_LEVEL = 0.05
_FLAT = 1e-9
_DRAWS = 2000
_FEWEST = 4  # three results, two of them equal, look like nothing known
_START = 20260511


@dataclass(frozen=True)
class Goodness:
    """How well results agree with a lognormal distribution."""

    name: str
    statistic: float
    poor: bool  # worse than 19 of 20 lognormal sets of the same size
    against: str  # what the statistic is held against

    def __str__(self) -> str:
        verdict = "the results do not look lognormal" if self.poor else "no sign against a lognormal distribution"
        return f"{self.name} {self.statistic:.3g} ({self.against}): {verdict}"


def normal_scores(y: Any, below: Any) -> Any:
    """Quantiles of the standard normal at the plotting positions, one a result."""
    from scipy.special import ndtri

    return ndtri(plotting_positions(y, below))


def lognormality(y: Any, below: Any) -> Goodness | None:
    """Judge logarithms of results; None where too few are measured to tell, or all measured ones are equal.

    Parameters
    ----------
    y
        Logarithms of results or limits.
    below
        Whether each is only a limit that the result is below.

    Returns
    -------
    Goodness or None
        For complete data Shapiro and Wilk's W; for censored data the correlation of the measured results with their
        normal scores, held against 2000 simulated sets of the same size and ranks, drawn from a fixed start so that the
        bound is always the same.

    Notes
    -----
    With few results only gross departures show. Several workers or tasks in one group are the usual reason.
    """
    y, below = np.asarray(y, dtype=float), np.asarray(below, dtype=bool)
    seen = y[~below]
    if len(seen) < 3 or np.ptp(seen) <= _FLAT:
        return None
    if not below.any() and len(y) < _FEWEST:
        return None
    if not below.any():
        from scipy.stats import shapiro

        found = shapiro(seen)
        p = float(found.pvalue)
        return Goodness("Shapiro-Wilk W of the logarithms", float(found.statistic), p < _LEVEL, f"p {p:.2g}")
    if (odd := _limits_below_all(y, below)) is not None:
        return odd
    z = normal_scores(y, below)[~below]
    order = np.argsort(seen, kind="stable")
    statistic = float(np.corrcoef(seen[order], np.sort(z))[0, 1])
    least = _least_correlation(len(y), tuple(_ranks(np.sort(z), len(y))))
    against = f"19 lognormal sets of 20 reach {least:.3f}"
    return Goodness("probability-plot correlation", statistic, statistic < least, against)


def _limits_below_all(y: Any, below: Any) -> Goodness | None:
    """A limit so far under the measured results that hardly any of as many would be below it."""
    from scipy.stats import t

    seen = y[~below]
    m = len(seen)
    z = (float(y[below].min()) - seen.mean()) / (seen.std(ddof=1) * math.sqrt(1 + 1 / m))
    share = float(-np.expm1(len(y) * t.logsf(z, m - 1)))
    if share >= _LEVEL:
        return None
    return Goodness(
        "chance of a result below the lowest limit", share, True,
        "as the measured ones scatter; such a result raises the limit by itself, so look whether it is of the group",
    )  # fmt: skip


def _ranks(z: Any, n: int) -> list[int]:
    """Ranks of the measured results among all, as near to their plotting positions as different ranks can be."""
    from scipy.special import ndtr

    wanted = np.rint(ndtr(z) * (n + 1)).astype(int)
    first = np.arange(len(wanted))
    # at least one apart from below, then from above: rank k of m has k before it and m - 1 - k after it
    up = np.maximum.accumulate(np.clip(wanted, 1, n) - first) + first
    down = np.minimum.accumulate((np.minimum(up, n) - first)[::-1])[::-1] + first
    return [int(r) - 1 for r in np.minimum(down, n - len(wanted) + 1 + first)]


@lru_cache(maxsize=64)
def _draws(n: int) -> Any:
    return np.sort(np.random.default_rng(_START).standard_normal((_DRAWS, n)), axis=1)


@lru_cache(maxsize=256)
def _least_correlation(n: int, ranks: tuple[int, ...]) -> float:
    from scipy.special import ndtri

    x = _draws(n)[:, list(ranks)]
    z = ndtri((np.array(ranks) + 1) / (n + 1))
    off, z = x - x.mean(axis=1, keepdims=True), z - z.mean()
    r = (off @ z) / np.sqrt((off**2).sum(axis=1) * (z @ z))
    return float(np.quantile(r, _LEVEL))
