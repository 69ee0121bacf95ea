"""A lognormal distribution fitted to data with several limits of detection, here and by two general libraries."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy import optimize, special, stats

from reference_checks.framework import Check
from respcalc.workplace.sampling.censored import maximum_likelihood

__all__ = ["CHECKS", "below", "logs"]

_LIMITS = {6: 18, 8: 10, 10: 17, 18: 1}  # ug/L -> results below it
_MEASURED = (
    6, 7, 7, 7, 8, 9, 9, 9, 9, 11, 11, 12, 12, 12, 13, 13, 13, 14, 14, 15, 15, 15, 15, 16, 17, 17, 19, 19, 20, 21, 21,
    22, 22, 23, 23, 24, 28, 30, 30, 31, 33, 34, 36, 36, 42, 49, 52, 58, 59, 60, 65, 74, 80, 88, 121, 253,
)  # fmt: skip


def logs() -> Any:
    """Logarithms of results or limits [kg/m3]: a microgram a litre is 1e-6."""
    limits = [v for v, count in _LIMITS.items() for _ in range(count)]
    return np.log(1e-6 * np.array([*limits, *_MEASURED], dtype=float))


def below() -> Any:
    """Whether each is a limit."""
    return np.arange(sum(_LIMITS.values()) + len(_MEASURED)) < sum(_LIMITS.values())


def _median(*, data: str) -> float:
    return math.exp(float(maximum_likelihood(logs(), below()).mu[0]))


def _scatter(*, data: str) -> float:
    return math.exp(float(maximum_likelihood(logs(), below()).sigma[0]))


def _variance(*, element: str) -> float:
    found = maximum_likelihood(logs(), below())
    return float({"11": found.v11, "12": found.v12, "22": found.v22}[element][0] * found.sigma[0] ** 2)


def _by_scipy() -> tuple[float, float]:
    """The same fit by scipy's own censored data, its optimiser made to look closely."""

    def closely(target: Any, start: Any, args: Any = (), disp: Any = 0) -> Any:
        return optimize.fmin(target, start, args=args, disp=disp, xtol=1e-11, ftol=1e-13, maxiter=5000, maxfun=9000)

    mu, sigma = stats.norm.fit(stats.CensoredData.left_censored(logs(), below()), optimizer=closely)
    return float(mu), float(sigma)


def _variance_by_differences(*, element: str) -> float:
    """From second differences of the log-likelihood in mu and sigma."""
    y, limit = logs(), below()
    at = np.array(_by_scipy())

    def value(mu: float, sigma: float) -> float:
        z = (y - mu) / sigma
        return float(np.sum(np.where(limit, special.log_ndtr(z), -0.5 * z * z - math.log(sigma))))

    h = 1e-3
    steps = np.eye(2) * h
    hessian = np.array(
        [
            [
                (value(*(at + a + b)) - value(*(at + a - b)) - value(*(at - a + b)) + value(*(at - a - b)))
                / (4 * h * h)
                for b in steps
            ]
            for a in steps
        ]
    )
    inverse = np.linalg.inv(-hessian)
    return float(inverse[int(element[0]) - 1, int(element[1]) - 1])


def _half_the_limit(*, data: str) -> float:
    """Wrong on purpose: half the limit put in for what was not detected."""
    y = np.where(below(), logs() - math.log(2), logs())
    return math.exp(float(y.mean()))


def _half_the_limit_scatter(*, data: str) -> float:
    y = np.where(below(), logs() - math.log(2), logs())
    return math.exp(float(y.std()))


CHECKS = {
    "median": Check(
        _median,
        independent=lambda *, data: math.exp(_by_scipy()[0]),
        independent_rel=1e-7,
        refuses={"half the limit": _half_the_limit},
    ),
    "scatter": Check(
        _scatter,
        independent=lambda *, data: math.exp(_by_scipy()[1]),
        independent_rel=1e-7,
        refuses={"half the limit": _half_the_limit_scatter},
    ),
    "covariance": Check(_variance, independent=_variance_by_differences, independent_rel=1e-4),
}
