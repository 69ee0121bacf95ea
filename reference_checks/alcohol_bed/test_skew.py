"""The book's curve is steeper at its foot than at its shoulder, as far as ten points can tell."""

from __future__ import annotations

import numpy as np
import pytest

from reference_checks.alcohol_bed.checks import curve, fit
from respcalc.cartridges import fit_yoon_nelson


def test_the_foot_is_steeper_as_far_as_ten_points_can_tell() -> None:
    """Straight lines through the odds: 3.1 an hour over all points, 4.5 over the foot below 20 %."""
    times, through = np.asarray(curve().times) / 3600, np.asarray(curve().exit_fractions)
    odds = np.log(through[1:] / (1 - through[1:]))
    foot = through[1:] < 0.2
    whole_slope, foot_slope = np.polyfit(times[1:], odds, 1)[0], np.polyfit(times[1:][foot], odds[foot], 1)[0]
    assert foot_slope / whole_slope == pytest.approx(4.52 / 3.2, rel=0.1)
    lack = fit_yoon_nelson(curve()).lack_of_fit
    assert lack.skew is not None
    assert lack.skew > 1.1
    assert lack.skew_interval is not None
    assert lack.skew_interval[0] < foot_slope / whole_slope < lack.skew_interval[1]


def test_the_time_at_one_per_cent_is_never_later_than_the_points() -> None:
    assert fit().time_at_si(0.01) <= 3.65 * 3600 * 1.001
