"""How much of the predicted time may be used: the margin, in one place.

For now a documented constant. The scatter of the models against 36 recalled breakthrough times is
lognormal with a standard deviation near 0.3, so the lower 95 % point is the prediction divided by
1.65. Small, volatile molecules are over-predicted far beyond that scatter (dichloromethane 3.5
times, chloroform 1.9, ethanol 1.6); for them the worst of those is taken. It is no upper bound: with
the bed mass fitted, iodomethane is over-predicted 4.1 times.
"""

from __future__ import annotations

from respcalc.core.basis import Datum
from respcalc.vapours import Vapour

__all__ = ["margin_factor"]

_USUAL_DIVISOR = 1.65
_LIGHT_DIVISOR = 3.5
_LIGHT_CARBONS = 3
_LIGHT_BOILING_POINT = 373.15


def margin_factor(vapour: Vapour) -> Datum:
    """Share of the predicted breakthrough time that may be used as service life.

    Parameters
    ----------
    vapour
        The vapour that governs the prediction.

    Returns
    -------
    Datum
        ``life_factor``, with the reason as its note.

    Notes
    -----
    "Light" means at most three carbon atoms and boiling at or below 100 degC, or boiling at or below
    100 degC where the composition is not known. The breakthrough times behind both numbers are
    recalled, not read.
    """
    carbons = vapour.elements.get("C") if vapour.elements else None
    light = vapour.boiling_point.value <= _LIGHT_BOILING_POINT and (carbons is None or carbons <= _LIGHT_CARBONS)
    divisor = _LIGHT_DIVISOR if light else _USUAL_DIVISOR
    why = (
        "small volatile molecule: over-predictions of 3.5 times and more were seen (recalled data)"
        if light
        else "one-sided 95 % for a lognormal scatter of 0.3 (recalled data)"
    )
    return Datum(
        "life_factor", 1.0 / divisor, "assumed", "margin_study", note=f"predicted time divided by {divisor:g}: {why}"
    )
