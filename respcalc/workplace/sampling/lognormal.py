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
from respcalc.workplace.sampling.tolerance import normal_quantile, pivot_factor, read_share

__all__ = ["FEWEST", "LEAST_GSD", "MEASURED", "MOST_CENSORED", "LognormalFit", "few_measured", "fit_logs"]

FEWEST = 3
"""Results without which nothing is said of the scatter."""
MEASURED = 3
"""Measured results (not below a limit) without which no distribution is fitted."""
MOST_CENSORED = 0.8
"""Share of results below their limits above which no distribution is fitted (common practice, no source)."""
LEAST_GSD = 1.2
"""Scatter below which none is believed: agreement of a few results is chance."""
_SLACK = 1e-9


@dataclass(frozen=True)
class LognormalFit:
    """A lognormal distribution fitted to results. Make one with `fit_samples`.

    ``mu`` and ``sigma`` are mean and (unbiased) standard deviation of the logarithms of volume fractions, by least
    squares where all results are measured, and by maximum likelihood where some are below a limit; ``other`` is then
    the same by regression on order statistics. An upper limit is ``mu + (offset + t) sigma``: mean and standard
    deviation are correlated in censored data, ``mu + offset sigma`` is not correlated with sigma and has the standard
    deviation ``spread`` (in units of sigma), and t comes from the noncentral t with ``degrees`` of freedom.
    """

    n: int
    measured: int
    mu: float
    sigma: float
    degrees: float
    offset: float
    spread: float
    other: tuple[float, float] | None = None
    raised: bool = False  # the scatter is the least that is believed, not that of the results

    def ln_upper(self, coverage: float, confidence: float) -> float:
        """Logarithm of the upper tolerance limit, shares as plain fractions."""
        distance = float(normal_quantile(coverage)) - self._shift
        k = self.offset + float(pivot_factor(self.degrees, distance, self.spread, confidence))
        return max(mu + k * sigma for mu, sigma in self._ways)

    @property
    def _shift(self) -> float:
        """How far the uncorrelated centre lies above the mean, in true standard deviations."""
        return self.offset * math.sqrt((self.degrees + 1) / self.degrees)

    @property
    def _ways(self) -> tuple[tuple[float, float], ...]:
        return ((self.mu, self.sigma), *((self.other,) if self.other else ()))

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
        from scipy.optimize import brentq
        from scipy.special import nctdtr, ndtr

        asked = read_share("confidence", confidence)
        bounds = []
        for mu, sigma in self._ways:
            t = ((_ln(limit) - mu) / sigma - self.offset) / self.spread

            def miss(z: float, t: float = t) -> float:
                return float(nctdtr(self.degrees, (z - self._shift) / self.spread, t)) - asked

            reach = 8.0 + abs(t * self.spread) * 3 + abs(self._shift)
            bounds.append(float(ndtr(-brentq(miss, -reach, reach, xtol=1e-12))))
        return max(bounds)


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
    the
    covariances over sigma squared and c = -v12 / v22, mu + c sigma is uncorrelated with sigma and has the variance
    v11 - v12^2 / v22, so that a noncentral t describes the limit as it does for complete data. The degrees of freedom
    are one less than the measured results, and sigma is made unbiased with them. For complete data all this is the
    exact
    factor. Source: derived here; ``tolerance_limits``, ``cohen_1959``.
    """
    y, below = np.asarray(y, dtype=float), np.asarray(below, dtype=bool)
    n, measured = len(y), int(np.sum(~below))
    if n < FEWEST or few_measured(n, measured):
        raise DomainError(
            f"{n} results, {measured} of them measured: a distribution is fitted to at least {MEASURED} measured "
            "results "
            f"of which no more than {100 * MOST_CENSORED:.0f} % are below their limits"
        )
    least = math.log(least_gsd)
    seen = y[~below]
    flat = bool(np.ptp(seen) <= _SLACK and (not below.any() or np.all(y[below] >= seen.min() - _SLACK)))
    if flat:
        least = max(least, math.log(LEAST_GSD))
    if measured == n:
        s = float(np.std(y, ddof=1))
        return LognormalFit(
            n, n, float(y.mean()), max(s, least), n - 1.0, 0.0, 1 / math.sqrt(n), raised=s < least
        )  # fmt: skip
    unbiased = math.sqrt(measured / (measured - 1))
    found = maximum_likelihood(y, below, least_sigma=least / unbiased)
    v11, v12, v22 = (float(v[0]) for v in (found.v11, found.v12, found.v22))
    mu, sigma = float(found.mu[0]), float(found.sigma[0]) * unbiased
    centre, slope = regression_on_order(y, below)
    return LognormalFit(
        n,
        measured,
        mu,
        sigma,
        measured - 1.0,
        -v12 / v22 / unbiased,
        math.sqrt(v11 - v12**2 / v22),
        (centre, max(slope, least)),
        raised=sigma <= least * (1 + _SLACK),
    )
