"""Factors and bounds for the upper end of a lognormal distribution: exact, from the noncentral t."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import read, single

__all__ = [
    "exceedance_bound",
    "largest_result_factor",
    "normal_quantile",
    "pivot_factor",
    "read_share",
    "tolerance_factor",
]

_NODES, _WEIGHTS = (np.polynomial.legendre.leggauss(64)[0] + 1) / 2, np.polynomial.legendre.leggauss(64)[1] / 2
"""Gauss and Legendre's points between 0 and 1, and their weights."""

_LEAST = 2
"""Fewer results have no scatter."""


def read_share(name: str, value: Any) -> float:
    """Read a coverage or a confidence: a share between one half and one.

    Raises
    ------
    UnitsError, DomainError
        No share, or outside the bounds of the vocabulary.
    """
    word = {"coverage": "exposure_coverage", "confidence": "confidence"}[name]
    return single(name, read(word, value, as_argument=name))


def normal_quantile(share: Any) -> Any:
    """Quantile of the standard normal distribution; shares and quantiles of the same shape."""
    from scipy.special import ndtri

    return ndtri(share)


def pivot_factor(degrees: Any, distance: Any, spread: Any, confidence: float) -> Any:
    """How many (unbiased) standard deviations an upper limit lies above an estimate of the centre.

    Parameters
    ----------
    degrees
        Degrees of freedom of the standard deviation; infinite where it is known.
    distance
        How far above the centre the percentile truly lies, in standard deviations.
    spread
        Standard deviation of the estimate of the centre, in standard deviations.
    confidence
        With which the limit is at or above the percentile.

    Returns
    -------
    float or numpy.ndarray
        ``spread * t'``, with t' the quantile of the noncentral t with noncentrality ``distance / spread``.
    """
    from scipy.special import nctdtrit

    if np.ndim(degrees) == 0 and math.isinf(degrees):
        return distance + spread * normal_quantile(confidence)
    return spread * nctdtrit(degrees, distance / spread, confidence)


def tolerance_factor(n: int, coverage: Any = "95 %", confidence: Any = "95 %") -> float:
    """How many standard deviations above the mean an upper tolerance limit lies.

    Parameters
    ----------
    n
        Number of results, none of them censored.
    coverage
        Share of all exposures that is to lie below the limit [%].
    confidence
        Probability with which it does, over many sets of n results [%].

    Returns
    -------
    float

    Raises
    ------
    UnitsError, DomainError
        n below 2 or no whole number; coverage or confidence outside 50 to 99.99 %.

    Notes
    -----
    Exact for normal data: k = t'(confidence; n - 1, z sqrt(n)) / sqrt(n), with t' the quantile of the noncentral t and
    z that of the standard normal for the coverage. For lognormal data it is applied to the logarithms. With 95 % and
    70 % it is the U_T of EN 689. Source: ``tolerance_limits``.

    Examples
    --------
    >>> round(tolerance_factor(6), 3)
    3.708
    >>> round(tolerance_factor(6, "95 %", "70 %"), 3)
    2.187
    """
    size = _read_size(n)
    z = normal_quantile(read_share("coverage", coverage))
    return float(pivot_factor(size - 1, z, 1 / math.sqrt(size), read_share("confidence", confidence)))


def largest_result_factor(n: int, coverage: float, confidence: float, ln_gsd: float) -> float:
    """Factor from the largest of n results to an upper limit, the scatter being known; never below 1.

    Parameters
    ----------
    n
        Number of results; none of them is above the largest result or limit of detection.
    coverage, confidence
        Shares, as plain fractions.
    ln_gsd
        Logarithm of the geometric standard deviation.

    Returns
    -------
    float
        With the stated confidence the percentile is at most the largest result times this.

    Notes
    -----
    All n results are below a value M with probability F(M)^n. Were F(M) less than (1 - confidence)^(1/n), that would
    be less likely than 1 - confidence: so M is at least that quantile, and the percentile lies no further above it
    than the scatter says. From 59 results on (95 %, 95 %) the largest is a bound by itself, whatever the
    distribution.
    """
    reached = (1 - confidence) ** (1 / n)
    return max(1.0, math.exp(ln_gsd * float(normal_quantile(coverage) - normal_quantile(reached))))


def exceedance_bound(distance: float, degrees: float, spread: float, confidence: float, shift: float = 0.0) -> float:
    """Upper bound of the share of a normal distribution above a limit.

    Parameters
    ----------
    distance
        How far the limit lies above the centre, in estimated standard deviations.
    degrees
        Degrees of freedom of the standard deviation; infinite where it is known.
    spread
        Standard deviation of the estimate of the centre, in true standard deviations.
    confidence
        Of the bound, as a plain fraction.
    shift
        How far the centre lies above the mean, in true standard deviations.

    Returns
    -------
    float
        Share between 0 and 1: the one whose tolerance factor is *distance*.
    """
    from scipy.optimize import brentq
    from scipy.special import chdtri, nctdtr, ndtr

    if math.isinf(degrees):
        return float(ndtr(spread * normal_quantile(confidence) - distance - shift))

    def miss(z: float) -> float:
        centre, t = (z - shift) / spread, distance / spread
        found = float(nctdtr(degrees, centre, t))
        if math.isnan(
            found
        ):  # far out, where the library gives up and only the side matters: the mean over the scatter
            scale = np.sqrt(chdtri(degrees, _NODES) / degrees)
            found = float(_WEIGHTS @ ndtr(t * scale - centre))
        return found - confidence

    # past these the share is nil or all of it, whatever the scatter
    reach = 10.0 + 5 * abs(distance) + abs(shift)
    return float(ndtr(-brentq(miss, -reach, reach, xtol=1e-12)))


def _read_size(n: Any) -> int:
    if isinstance(n, bool) or not isinstance(n, (int, np.integer)) or n < _LEAST:
        raise DomainError(f"n = {n!r}: a whole number of results from {_LEAST} up is needed")
    return int(n)
