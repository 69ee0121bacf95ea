"""What an ideal liquid mixture gives off: its fresh vapour, and the vapour while it evaporates down.

Amounts are relative, pressures are those of the pure liquids. Each part evaporates in proportion to
its share of the liquid and its pressure, so that its amount falls as ``exp(-pressure x t)``; ``t`` is
a pseudo-time [1/Pa] that only orders the states of the liquid.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

__all__ = ["highest_share", "shares_at", "time_until_left", "times_along"]

_TIE = 1 + 1e-9  # pressures closer than this leave together


def shares_at(t: float, weights: Any, pressures: Any) -> Any:
    """Shares of the vapour at one moment.

    Parameters
    ----------
    t
        Pseudo-time; 0 is the fresh liquid, infinity the last drop.
    weights
        Rate at which each part leaves the fresh liquid: moles x pressure for shares by mole, mass x
        pressure for shares by mass.
    pressures
        Vapour pressures of the pure liquids.

    Returns
    -------
    array
        They sum to 1.
    """
    least = pressures.min()
    left = weights * (pressures <= least * _TIE) if math.isinf(t) else weights * np.exp(-(pressures - least) * t)
    return left / left.sum()


def time_until_left(share: float, masses: Any, pressures: Any) -> float:
    """Moment at which a share of the liquid's mass is left; infinity for none."""
    if share <= 0:
        return math.inf
    from scipy.optimize import brentq

    whole, latest = masses.sum(), -math.log(share) / pressures.min()

    def more(t: float) -> float:
        return float(masses @ np.exp(-pressures * t) / whole - share)

    end = float(latest) * (1 + 1e-9)
    if more(0.0) <= 0 or more(end) >= 0:  # a share of 1, or one that only rounding tells from it
        return end
    return float(brentq(more, 0.0, end))


def highest_share(own: int, weights: Any, pressures: Any, *, until: float = math.inf) -> float:
    """Largest share of the vapour that part number *own* reaches while the liquid evaporates.

    Its share rises as long as the vapour leaves faster than the part does, and falls from then on, so
    there is one highest point: where the vapour's mean pressure has come down to the part's own.
    """

    def excess(t: float) -> float:
        return float(shares_at(t, weights, pressures) @ pressures - pressures[own])

    if excess(0.0) <= 0:
        best = 0.0
    elif pressures[own] <= pressures.min() * _TIE:
        best = until
    else:
        late = 1.0 / pressures.max()
        while late < until and excess(late) > 0:
            late *= 2.0
        if excess(min(late, until)) > 0:
            best = until
        else:
            from scipy.optimize import brentq

            best = float(brentq(excess, 0.0, min(late, until)))
    return float(shares_at(best, weights, pressures)[own])


def times_along(pressures: Any, *, until: float = math.inf, count: int = 1000) -> list[float]:
    """Moments that cover the whole evaporation, from fresh to the last drop or *until*."""
    steps = np.geomspace(1e-4 / pressures.max(), 50.0 / pressures.min(), count)
    return [0.0, *(float(t) for t in steps if t < until), until]
