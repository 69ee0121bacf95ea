"""Huber's robust least squares for curves of few parameters, many sets of points at once.

All sets of a bootstrap are minimised together in numpy; the tests hold it against general libraries to 1e-6.
Source: Huber, Robust Statistics (1981), and White, Econometrica 48 (1980) 817 for the covariance (both from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

__all__ = ["Curve", "covariances", "robust_fit", "slopes_of"]

Curve = Callable[[Any, Any], Any]
"""Exit fractions of times ``(n,)`` and logarithms of the parameters ``(p,)`` or ``(sets, p)``."""

_HUBER = 1.345  # keeps 95 % of the efficiency where the scatter is normal
_LEAST_SCATTER = 1e-6  # of the analyser's scatter: points that lie on the curve exactly have none of their own
_STEPS, _DIFFERENCE, _SETTLED = 100, 1e-5, 1e-9
_FEW = 9  # points, below which a median says less than a sum of squares


def robust_fit(
    times: np.ndarray, through: np.ndarray, weights: np.ndarray, penetration: Curve, start: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Huber's estimates for sets of points ``(sets, n)``, and the scatter of the weighted residuals of each."""
    found = _minimised(times, through, weights, penetration, start, np.full(start.shape[0], math.inf))
    for _ in range(3):
        scales = _scatter(weights * (through - penetration(times, found)), found.shape[1])
        found = _minimised(times, through, weights, penetration, found, _HUBER * scales)
    return found, scales


def _minimised(
    times: np.ndarray,
    through: np.ndarray,
    weights: np.ndarray,
    penetration: Curve,
    start: np.ndarray,
    knees: np.ndarray,
) -> np.ndarray:
    """Least Huber sums, by damped Gauss-Newton steps, all sets at once."""
    knee = knees[:, np.newaxis]

    def off(logarithms: np.ndarray) -> np.ndarray:
        return np.asarray(weights * (through - penetration(times, logarithms)))

    def worth(residuals: np.ndarray) -> np.ndarray:
        size = np.abs(residuals)
        beyond = size - np.minimum(size, knee)  # 0 within the knee, however far the knee
        inner = np.minimum(size, knee)
        return np.asarray((0.5 * inner**2 + np.where(beyond > 0, inner * beyond, 0.0)).sum(axis=-1))

    found, damping = np.array(start, dtype=float), np.full(start.shape[0], 1e-3)
    residuals = off(found)
    least = worth(residuals)
    identity = np.eye(found.shape[1])
    for _ in range(_STEPS):
        size = np.abs(residuals)
        share = np.where(size > knee, knee / np.maximum(size, 1e-300), 1.0) if np.all(np.isfinite(knee)) else 1.0
        slopes = weights[:, np.newaxis] * slopes_of(penetration, times, found)
        weighted = slopes * np.broadcast_to(share, size.shape)[..., np.newaxis]
        square = np.swapaxes(weighted, -1, -2) @ slopes
        pull = np.einsum("bnp,bn->bp", weighted, residuals)
        ridge = damping[:, np.newaxis, np.newaxis] * (square * identity + 1e-30 * identity)
        step = np.clip(np.linalg.solve(square + ridge, pull[..., np.newaxis])[..., 0], -1.0, 1.0)
        tried = found + step
        there = off(tried)
        now = worth(there)
        better = now <= least
        settled = np.abs(step).max(axis=-1) < _SETTLED
        found = np.where(better[:, np.newaxis], tried, found)
        residuals = np.where(better[:, np.newaxis], there, residuals)
        least = np.where(better, now, least)
        damping = np.clip(np.where(better, damping / 10, damping * 10), 1e-12, 1e8)
        if np.all(settled | (~better & (damping >= 1e6))):
            break
    return found


def slopes_of(penetration: Curve, times: np.ndarray, logarithms: np.ndarray) -> np.ndarray:
    """Derivatives of the exit fractions ``(sets, n)`` by the parameters, by central differences."""
    columns = []
    for k in range(logarithms.shape[-1]):
        move = np.zeros(logarithms.shape[-1])
        move[k] = _DIFFERENCE
        ahead, behind = (penetration(times, logarithms + sign * move) for sign in (1, -1))
        columns.append((ahead - behind) / (2 * _DIFFERENCE))
    return np.stack(columns, axis=-1)


def _scatter(residuals: np.ndarray, parameters: int) -> np.ndarray:
    """Robust standard deviation of the residuals of each set; never zero."""
    count = residuals.shape[-1]
    if count < _FEW:
        spread = np.sqrt((residuals**2).sum(axis=-1) / max(count - parameters, 1))
    else:
        # the curve was drawn through as many points as it has parameters: their residuals say nothing
        rest = np.sort(np.abs(residuals), axis=-1)[..., parameters:]
        spread = np.median(rest, axis=-1) / 0.6745
    return np.asarray(np.maximum(spread, _LEAST_SCATTER))


def covariances(
    times: np.ndarray,
    through: np.ndarray,
    weights: np.ndarray,
    penetration: Curve,
    found: np.ndarray,
    scales: np.ndarray,
) -> np.ndarray:
    """Sandwich of Huber and White: holds where the points were not weighed by their true scatter."""
    residuals = weights * (through - penetration(times, found))
    slopes = weights[:, np.newaxis] * slopes_of(penetration, times, found)
    knee = _HUBER * scales[:, np.newaxis]
    inside = np.abs(residuals) <= knee
    bread = np.linalg.inv(np.einsum("bnp,bn,bnq->bpq", slopes, inside.astype(float), slopes) + 1e-300)
    leverage = np.einsum("bnp,bpq,bnq->bn", slopes, bread, slopes) * inside
    clipped = np.clip(residuals, -knee, knee) / np.clip(1.0 - leverage, 0.05, 1.0)
    meat = np.einsum("bnp,bn,bnq->bpq", slopes, np.maximum(clipped**2, _LEAST_SCATTER**2), slopes)
    # Huber's correction for points that were clipped
    count, parameters = slopes.shape[-2:]
    kept = np.maximum(inside.mean(axis=-1), 1.0 / count)
    correction = 1.0 + parameters / count * (1.0 - kept) / kept
    return np.asarray(correction[:, np.newaxis, np.newaxis] ** 2 * (bread @ meat @ bread))
