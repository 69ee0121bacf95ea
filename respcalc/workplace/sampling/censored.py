"""Normal distribution from results of which some are only known to be below a limit: likelihood and plotting positions.

Everything here is in logarithms. Several sets are fitted at once: a set is a row, and a column that a set
does not use is left out by its mask.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

__all__ = ["Likelihood", "maximum_likelihood", "plotting_positions", "regression_on_order"]

_STEPS = 200
_CLOSE = 1e-12
_ROOT_2_PI = 2.5066282746310002


@dataclass(frozen=True)
class Likelihood:
    """Maximum-likelihood estimates, one a set, and their covariance over the square of sigma."""

    mu: Any
    sigma: Any
    v11: Any  # variance of mu
    v12: Any  # covariance of mu and sigma
    v22: Any  # variance of sigma


def _hazard(x: Any) -> Any:
    """Density over distribution function of the standard normal, also far out on the left."""
    from scipy.special import log_ndtr

    return np.exp(-0.5 * x * x - log_ndtr(x)) / _ROOT_2_PI


def _value(eta: Any, tau: Any, y: Any, seen: Any, below: Any) -> Any:
    from scipy.special import log_ndtr

    u = tau[:, None] * y - eta[:, None]
    return (seen * (np.log(tau)[:, None] - 0.5 * u * u) + np.where(below, log_ndtr(u), 0.0)).sum(axis=1)


def _slopes(eta: Any, tau: Any, y: Any, seen: Any, below: Any) -> tuple[Any, Any, Any, Any, Any]:
    """Gradient and (negated) second derivatives of the log-likelihood in eta = mu / sigma and tau = 1 / sigma."""
    u = tau[:, None] * y - eta[:, None]
    h = np.where(below, _hazard(u), 0.0)
    w = h * (h + u)
    count = seen.sum(axis=1)
    by_eta = (seen * u).sum(axis=1) - h.sum(axis=1)
    by_tau = count / tau - (seen * u * y).sum(axis=1) + (h * y).sum(axis=1)
    weight = seen + w
    return (
        by_eta,
        by_tau,
        weight.sum(axis=1),
        -(weight * y).sum(axis=1),
        count / tau**2 + (weight * y * y).sum(axis=1),
    )


def maximum_likelihood(y: Any, below: Any, used: Any = None, *, least_sigma: float = 0.0) -> Likelihood:
    """Fit normal distributions to results of which some are only known to be below a limit.

    Parameters
    ----------
    y
        Logarithms of results or limits, sets by results.
    below
        Whether each is only a limit that the result is below.
    used
        Whether each counts; None: all.
    least_sigma
        Standard deviation below which none is believed; there the mean is fitted with sigma held.

    Returns
    -------
    Likelihood
        One entry a set.

    Notes
    -----
    In eta = mu / sigma and tau = 1 / sigma the log-likelihood is concave, so damped Newton steps reach its maximum
    from anywhere. Every set needs two different measured results, or a limit below its measured ones, or a
    *least_sigma* above zero. The covariance is the inverse of the observed information. Source: ``cohen_1959``.
    """
    y = np.atleast_2d(np.asarray(y, dtype=float))
    mask = np.ones(y.shape, dtype=bool) if used is None else np.atleast_2d(used)
    below = np.atleast_2d(below) & mask
    seen = (mask & ~below).astype(float)
    # centred and scaled, so that the first guess is near and the steps are of order one
    number = mask.sum(axis=1)
    centre = np.where(mask, y, 0.0).sum(axis=1) / number
    scale = np.sqrt((np.where(mask, y - centre[:, None], 0.0) ** 2).sum(axis=1) / number)
    scale = np.maximum(np.where(scale > 0, scale, 1.0), least_sigma)
    x = np.where(mask, (y - centre[:, None]) / scale[:, None], 0.0)
    most = np.full(scale.shape, np.inf) if least_sigma <= 0 else scale / least_sigma
    eta, tau = _climb(x, seen, below, most)
    mu, sigma = centre + scale * eta / tau, scale / tau
    _, _, a, b, c = _slopes(eta, tau, x, seen, below)
    det = a * c - b * b
    v_ee, v_et, v_tt = c / det, -b / det, a / det
    # to mu = eta / tau, sigma = 1 / tau, and over sigma squared
    return Likelihood(
        mu,
        sigma,
        v_ee - 2 * v_et * eta / tau + v_tt * (eta / tau) ** 2,
        -v_et / tau + v_tt * eta / tau**2,
        v_tt / tau**2,
    )


def _climb(x: Any, seen: Any, below: Any, most: Any) -> tuple[Any, Any]:
    """Newton steps with halving, tau held where it would pass its upper bound."""
    eta, tau = np.zeros(len(x)), np.minimum(np.ones(len(x)), most)
    now = _value(eta, tau, x, seen, below)
    for _ in range(_STEPS):
        by_eta, by_tau, a, b, c = _slopes(eta, tau, x, seen, below)
        det = a * c - b * b
        step_eta, step_tau = (c * by_eta - b * by_tau) / det, (a * by_tau - b * by_eta) / det
        held = (tau >= most) & (by_tau > 0)
        passing = ~held & (tau + step_tau > most)
        step_tau = np.where(held, 0.0, np.where(passing, most - tau, step_tau))
        step_eta = np.where(held | passing, (by_eta - b * step_tau) / a, step_eta)
        gain = by_eta * step_eta + by_tau * step_tau
        if np.all(gain <= _CLOSE) and np.all(np.abs(step_tau) <= 1e-9 * tau):
            break
        size = np.where(tau + step_tau > 0, 1.0, 0.5 * tau / np.where(step_tau < 0, -step_tau, 1.0))
        for _ in range(60):
            tried = _value(eta + size * step_eta, tau + size * step_tau, x, seen, below)
            worse = tried < now - 1e-13 * np.abs(now)
            if not worse.any():
                break
            size = np.where(worse, 0.5 * size, size)
        eta, tau, now = eta + size * step_eta, tau + size * step_tau, tried
    return eta, tau


def plotting_positions(y: Any, below: Any) -> Any:
    """Helsel-Cohn plotting positions: the probability below each measured result.

    Parameters
    ----------
    y
        Results or limits of one set (their logarithms will do).
    below
        Whether each is only a limit.

    Returns
    -------
    numpy.ndarray
        One a result; a censored result's is spread below its limit.

    Notes
    -----
    Between two neighbouring limits the measured results are spread evenly over the probability that lies there; that
    of being above a limit is estimated from the results that tell on which side of it they lie, from the highest
    limit down. Without censored results it is rank / (n + 1). Source: ``helsel_cohn_1988``.
    """
    y, below = np.asarray(y, dtype=float), np.asarray(below, dtype=bool)
    limits = np.unique(y[below])
    edges = np.concatenate([[-np.inf], limits])
    above = np.zeros(len(edges) + 1)
    above[0] = 1.0
    for j in range(len(limits), 0, -1):
        top = edges[j + 1] if j < len(limits) else np.inf
        here = int(np.sum(~below & (y >= edges[j]) & (y < top)))
        lower = int(np.sum(~below & (y < edges[j])) + np.sum(below & (y <= edges[j])))
        above[j] = above[j + 1] + here / (here + lower) * (1 - above[j + 1])
    found = np.empty(len(y))
    for j in range(len(edges)):
        top = edges[j + 1] if j < len(limits) else np.inf
        for kind, part in ((False, ~below & (y >= edges[j]) & (y < top)), (True, below & (y == edges[j]))):
            index = np.flatnonzero(part)
            index = index[np.argsort(y[index], kind="stable")]
            rank = np.arange(1, len(index) + 1) / (len(index) + 1)
            start = 0.0 if kind else 1 - above[j]
            found[index] = start + rank * (1 - above[j] if kind else above[j] - above[j + 1])
    return found


def regression_on_order(y: Any, below: Any) -> tuple[float, float]:
    """Mean and standard deviation by a line through the measured results against their normal scores.

    Parameters
    ----------
    y
        Logarithms of results or limits of one set.
    below
        Whether each is only a limit.

    Returns
    -------
    tuple of float
        Mean and standard deviation.

    Notes
    -----
    Regression on order statistics at the plotting positions of `plotting_positions`. Needs two measured results.
    Source: ``helsel_cohn_1988``.
    """
    from scipy.special import ndtri

    y, below = np.asarray(y, dtype=float), np.asarray(below, dtype=bool)
    z = ndtri(plotting_positions(y, below)[~below])
    seen = y[~below]
    off = z - z.mean()
    slope = float(off @ (seen - seen.mean()) / (off @ off))
    return float(seen.mean() - slope * z.mean()), slope
