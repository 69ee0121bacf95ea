"""What the library makes of a low concentration: the isotherm's loading, or less where the power rule says so.

The rule speaks of lives: below the concentration that the margin is calibrated at, a life grows no faster
than a power of the dilution. A life is a loading over a concentration, so the loading falls at least as
the dilution to that power less one.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reference_checks.measured_uptake.fits import Carbon, predict
from reference_checks.measured_uptake.isotherms import Isotherm
from respcalc.estimate.margin import DILUTION_POWER, calibrated_concentration
from respcalc.vapours import find_vapour

__all__ = ["calibrated_pressure", "ruled"]

_ATMOSPHERE = 101325.0


@cache
def calibrated_pressure(vapour: str) -> float:
    """Partial pressure [Pa] from which the library carries a life down by the power rule."""
    return _ATMOSPHERE * calibrated_concentration(find_vapour(vapour))


def ruled(carbon: Carbon, of: Isotherm, pressure: ArrayLike) -> NDArray[np.float64]:
    """Loadings [kg/kg] that the library's lives answer to: predicted, and at most what the rule leaves."""
    at = np.asarray(pressure, dtype=float)
    start = calibrated_pressure(of.known.cas)
    dilution = np.maximum(1.0, start / at)
    most = predict(carbon, of, pressure=[start]) * dilution ** (DILUTION_POWER - 1.0)
    own = predict(carbon, of, pressure=at)
    return np.where(dilution > 1.0, np.minimum(own, most), own)
