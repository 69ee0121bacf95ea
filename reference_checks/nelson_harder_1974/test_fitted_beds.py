"""Lives of beds found from tests or a certificate stay below the recalled times of other vapours."""

from __future__ import annotations

import numpy as np
import pytest

from reference_checks.nelson_harder_1974.fitted_beds import certified_shares, fitted_shares


@pytest.mark.parametrize(("tested", "least_median"), [(1, 0.40), (2, 0.45), (3, 0.45), (5, 0.45)])
def test_beds_fitted_to_a_few_vapours_are_not_outlasted_by_their_lives(tested: int, least_median: float) -> None:
    """At least 95 of 100 lives hold, the worst is over by a quarter at most, and half reach this share of the time."""
    shares, refused = fitted_shares(tested)
    assert np.mean(shares <= 1.0) >= 0.95
    assert shares.max() <= 1.3
    assert np.median(shares) >= least_median
    assert refused == []


@pytest.mark.parametrize("agent", ["carbon tetrachloride", "benzene", "toluene", "methylcyclohexane"])
def test_a_certificate_with_a_test_that_is_just_met_is_a_floor(agent: str) -> None:
    shares = certified_shares(agent)
    assert shares.max() <= 1.0
    assert np.median(shares) >= 0.15
