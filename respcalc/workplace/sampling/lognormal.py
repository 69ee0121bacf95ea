"""A lognormal distribution fitted to results, and the upper end that follows from it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.errors import DomainError
from respcalc.core.units import Quantity
from respcalc.core.vocabulary import read, single, term
from respcalc.workplace.sampling.censored import maximum_likelihood, regression_on_order
from respcalc.workplace.sampling.tolerance import (
    exceedance_bound,
    normal_quantile,
    pivot_factor,
    read_share,
)

__all__ = ["FEWEST", "LEAST_GSD", "MEASURED", "MOST_CENSORED", "LognormalFit", "Way", "few_measured", "fit_logs"]

FEWEST = 3
"""Results without which nothing is said of the scatter."""
MEASURED = 3
"""Measured results (not below a limit) without which no distribution is fitted."""
MOST_CENSORED = 0.8
"""Share of results below their limits above which no distribution is fitted (common practice, no source)."""
LEAST_GSD = 1.2
"""Scatter below which none is believed: agreement of a few results is chance."""
_SLACK = 1e-9
_FLAT = 1e-9
"""Spread of logarithms below which results count as equal."""


@dataclass(frozen=True)
class Way:
    """One way to an upper limit: mean and standard deviation of logarithms, and how the two are known.

    ``mu + offset sigma`` is not correlated with sigma. It has the standard deviation ``spread`` (in units of the true
    one), and sigma has ``degrees`` of freedom. The limit is ``mu + (offset + t) sigma``, t from the noncentral t.
    """

    mu: float
    sigma: float
    degrees: float
    spread: float
    offset: float = 0.0

    @property
    def _shift(self) -> float:
        """How far the uncorrelated centre lies above the mean, in true standard deviations."""
        return self.offset * math.sqrt(1 + 1 / self.degrees)

    def ln_upper(self, z: float, confidence: float) -> float:
        """Upper tolerance limit of the percentile that is z standard deviations above the mean."""
        t = float(pivot_factor(self.degrees, z - self._shift, self.spread, confidence))
        return self.mu + (self.offset + t) * self.sigma

    def exceedance_upper(self, ln_limit: float, confidence: float) -> float:
        """Share above a limit for which that limit is the upper tolerance limit."""
        distance = (ln_limit - self.mu) / self.sigma - self.offset
        return exceedance_bound(distance, self.degrees, self.spread, confidence, self._shift)


@dataclass(frozen=True)
class LognormalFit:
    """A lognormal distribution fitted to results. Make one with `fit_samples`.

    ``mu`` and ``sigma`` are mean and (unbiased) standard deviation of the logarithms of volume fractions: of the
    results where all are measured, by maximum likelihood where some are below a limit. ``ways`` are the ways to an
    upper limit, of which the largest counts: for complete data that of the results; for others likelihood and
    regression on order statistics; and always that of the least scatter that is believed, as a known one. With
    ``flat`` results (all equal) only the last is left.
    """

    n: int
    measured: int
    mu: float
    sigma: float
    ways: tuple[Way, ...]
    least_sigma: float
    flat: bool

    def ln_upper(self, coverage: float, confidence: float) -> float:
        """Logarithm of the upper tolerance limit, shares as plain fractions."""
        z = float(normal_quantile(coverage))
        return max(way.ln_upper(z, confidence) for way in self.ways)

    @property
    def scatter_raised(self) -> bool:
        """Whether the results scatter less than is believed."""
        return self.flat or self.sigma < self.least_sigma

    @property
    def geometric_mean(self) -> Quantity:
        """Median of the fitted distribution [ppm]."""
        return _ppm(self.mu)

    @property
    def geometric_standard_deviation(self) -> float:
        """Factor by which the exposures scatter about their median."""
        return math.exp(self.sigma)

    @property
    def arithmetic_mean(self) -> Quantity:
        """Estimate of the long-term average, exp(mu + sigma^2 / 2) [ppm]."""
        return _ppm(self.mu + 0.5 * self.sigma**2)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers with the unit beside each, ready for JSON."""
        return {
            "results": self.n,
            "measured": self.measured,
            "geometric_mean": {"value": float(self.geometric_mean.magnitude), "unit": "ppm"},
            "geometric_standard_deviation": self.geometric_standard_deviation,
            "arithmetic_mean": {"value": float(self.arithmetic_mean.magnitude), "unit": "ppm"},
            "percentile_95": {"value": float(self.percentile().magnitude), "unit": "ppm"},
            "scatter_raised": self.scatter_raised,
        }

    def percentile(self, coverage: Any = "95 %") -> Quantity:
        """Point estimate of the concentration that a share of exposures lies below.

        Parameters
        ----------
        coverage
            Share of exposures [%].

        Returns
        -------
        Quantity
            [ppm]. As often too low as too high: for a plan take `upper_limit`.

        Raises
        ------
        UnitsError, DomainError
            A share outside 50 to 99.99 %.
        """
        return _ppm(self.mu + float(normal_quantile(read_share("coverage", coverage))) * self.sigma)

    def upper_limit(self, coverage: Any = "95 %", confidence: Any = "95 %") -> Quantity:
        """Upper tolerance limit: with the confidence, the share of exposures lies below it.

        Parameters
        ----------
        coverage
            Share of exposures [%].
        confidence
            Share of sets of samples for which the limit is right [%].

        Returns
        -------
        Quantity
            [ppm]. Exact where all results are measured. With results below a limit the larger of two ways, likelihood
            and regression, which keeps its confidence to a point or better (measured by simulation from 4 to 30
            results with 10 to 75 % below one, two or three limits).

        Raises
        ------
        UnitsError, DomainError
            A share outside 50 to 99.99 %.
        """
        return _ppm(self.ln_upper(read_share("coverage", coverage), read_share("confidence", confidence)))

    def exceedance(self, limit: Any) -> float:
        """Estimate the share of exposures above a limit.

        Parameters
        ----------
        limit
            Such as an exposure limit [ppm].

        Returns
        -------
        float
            From 0 to 1.

        Raises
        ------
        UnitsError, DomainError
            No concentration by volume.
        """
        from scipy.special import ndtr

        return float(ndtr((self.mu - _ln(limit)) / self.sigma))

    def exceedance_upper(self, limit: Any, confidence: Any = "95 %") -> float:
        """Upper confidence bound of the share of exposures above a limit.

        Parameters
        ----------
        limit
            Such as an exposure limit [ppm].
        confidence
            Of the bound [%].

        Returns
        -------
        float
            The share whose upper tolerance limit is *limit*: exact where all results are measured.

        Raises
        ------
        UnitsError, DomainError
            No concentration by volume, no share.
        """
        asked = read_share("confidence", confidence)
        return max(way.exceedance_upper(_ln(limit), asked) for way in self.ways)


def _ppm(ln_value: float) -> Quantity:
    return term("volume_fraction").quantity(math.exp(ln_value))


def _ln(limit: Any) -> float:
    return math.log(single("limit", read("exposure_limit", limit, as_argument="limit")))


def few_measured(n: int, measured: int) -> bool:
    """Whether too few results are measured, or too many below their limits, to fit a distribution."""
    return measured < MEASURED or (n - measured) > MOST_CENSORED * n * (1 + _SLACK)


def fit_logs(y: Any, below: Any, *, least_gsd: float = LEAST_GSD) -> LognormalFit:
    """Fit a normal distribution to logarithms.

    Parameters
    ----------
    y
        Logarithms of results or limits.
    below
        Whether each is only a limit that the result is below.
    least_gsd
        Scatter below which none is believed.

    Returns
    -------
    LognormalFit

    Raises
    ------
    DomainError
        Fewer than three results; fewer than three measured, or more than 80 % below their limits.

    Notes
    -----
    With censored results the covariance of mean and standard deviation comes from the likelihood. With v11, v12, v22
    the covariances over sigma squared and c = -v12 / v22, mu + c sigma is uncorrelated with sigma and has the
    variance v11 - v12^2 / v22, so that a noncentral t describes the limit as it does for complete data. The degrees
    of freedom are one less than the measured results, and sigma is made unbiased with them; 1 / (2 v22) - 1 of them
    would do as well, with limits far above these where few are measured. For complete data all this is the
    exact factor. Source: derived here; ``tolerance_limits``, ``cohen_1959``.
    """
    y, below = np.asarray(y, dtype=float), np.asarray(below, dtype=bool)
    n, measured = len(y), int(np.sum(~below))
    if n < FEWEST or few_measured(n, measured):
        raise DomainError(
            f"{n} results, {measured} of them measured: a distribution is fitted to at least {MEASURED} measured "
            f"results of which no more than {100 * MOST_CENSORED:.0f} % are below their limits"
        )
    seen = y[~below]
    flat = bool(np.ptp(seen) <= _FLAT and (not below.any() or np.all(y[below] >= seen.min() - _FLAT)))
    least = math.log(LEAST_GSD if flat else least_gsd)
    # results below a limit count as their limits here: that only raises the mean, and less than the largest limit
    floor = Way(float(y.mean()), least, math.inf, 1 / math.sqrt(n))
    if measured == n:
        sigma = least if flat else float(np.std(y, ddof=1))
        own = Way(float(y.mean()), sigma, n - 1.0, 1 / math.sqrt(n))
        return LognormalFit(n, n, own.mu, sigma, (floor,) if flat else (own, floor), least, flat)
    unbiased = math.sqrt(measured / (measured - 1))
    found = maximum_likelihood(y, below, least_sigma=least / unbiased if flat else 0.0)
    mu, sigma = float(found.mu[0]), float(found.sigma[0]) * unbiased
    if flat:
        return LognormalFit(n, measured, mu, sigma, (floor,), least, flat)
    v11, v12, v22 = (float(v[0]) for v in (found.v11, found.v12, found.v22))
    spread, offset = math.sqrt(v11 - v12**2 / v22), -v12 / v22 / unbiased
    ways = (Way(m, s, measured - 1.0, spread, offset) for m, s in ((mu, sigma), regression_on_order(y, below)))
    return LognormalFit(n, measured, mu, sigma, (*ways, floor), least, flat)
