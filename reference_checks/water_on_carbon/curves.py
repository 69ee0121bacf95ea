"""Driest, typical and dampest curve between carbons, refitted from the isotherms."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.stats import t as student

from reference_checks.water_on_carbon.fits import FORMS
from reference_checks.water_on_carbon.isotherms import HUMIDITIES, between

__all__ = ["DO_DO", "Spread", "bound", "dampest", "driest", "spread", "typical"]

Floats = NDArray[np.float64]

DO_DO = next(form for form in FORMS if form.name == "do_do_water")
_STARTS = ((0.9, 10.0, 0.03, 15.0), (0.9, 25.0, 0.06, 60.0), (1.2, 5.0, 0.15, 6.0), (1.1, 2.0, 0.01, 10.0))
_LOW, _HIGH = (0.1, 0.5, 1e-4, 0.01), (1.3, 1e4, 1.0, 1e3)
_FULL = 1.02  # what is above full pores anyway need not be followed


@dataclass(frozen=True)
class Spread:
    """Between carbons at each humidity: how many, the middle, the standard deviation of ln, and the bounds."""

    count: NDArray[np.int64]
    middle: Floats
    sd: Floats
    low: Floats
    high: Floats


def bound(shares: Floats, side: float) -> Floats:
    """One-sided 95 per cent bound for a further carbon, of a lognormal spread whose mean and sd are estimated."""
    logs = np.log(shares)
    count = np.sum(~np.isnan(logs), axis=0)
    reach = student.ppf(0.95, count - 1) * np.sqrt(1.0 + 1.0 / count) * np.nanstd(logs, axis=0, ddof=1)
    return np.asarray(np.exp(np.nanmean(logs, axis=0) + side * reach))


@cache
def spread(*groups: str) -> Spread:
    _, shares = between(*groups)
    logs = np.log(shares)
    return Spread(
        np.sum(~np.isnan(logs), axis=0),
        np.exp(np.nanmean(logs, axis=0)),
        np.nanstd(logs, axis=0, ddof=1),
        bound(shares, -1.0),
        bound(shares, 1.0),
    )


def _through(target: Floats, penalty: float = 1.0) -> Floats:
    """Do and Do's parameters for a curve of shares; being below it costs *penalty* times as much as being above."""

    def residuals(logs: Floats) -> Floats:
        off = np.sqrt(np.minimum(DO_DO(np.exp(logs), HUMIDITIES, 298.15), _FULL)) - np.sqrt(target)
        return np.where(off < 0, penalty * off, off)

    done = [least_squares(residuals, np.log(s), bounds=(np.log(_LOW), np.log(_HIGH))) for s in _STARTS]
    return np.asarray(np.exp(min(done, key=lambda d: d.cost).x))


@cache
def typical() -> Floats:
    """Through the geometric mean of the untreated commercial carbons."""
    return _through(spread("commercial").middle)


@cache
def driest() -> Floats:
    """Through the lower bound of the untreated commercial carbons."""
    return _through(spread("commercial").low)


@cache
def dampest() -> Floats:
    """On or above the upper bound of all commercial carbons, oxidised ones included, up to full pores."""
    return _through(np.maximum.accumulate(np.minimum(spread("commercial", "oxidised").high, 1.0)), penalty=30.0)
