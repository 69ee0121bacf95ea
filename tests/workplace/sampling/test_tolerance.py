"""Tolerance factors: exact, monotone, and refusing what is no size or share."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import stats

from respcalc.core.errors import DomainError
from respcalc.workplace.sampling import tolerance_factor
from respcalc.workplace.sampling.tolerance import exceedance_bound, largest_result_factor, pivot_factor

shares = st.floats(0.5, 0.999)


@given(n=st.integers(2, 300), coverage=shares, confidence=shares)
def test_it_is_the_quantile_of_the_noncentral_t(n, coverage, confidence):
    root = math.sqrt(n)
    k = tolerance_factor(n, coverage, confidence)
    assert stats.nct.cdf(k * root, n - 1, stats.norm.ppf(coverage) * root) == pytest.approx(confidence, abs=1e-8)


@given(n=st.integers(2, 200), coverage=st.floats(0.6, 0.99), confidence=st.floats(0.6, 0.99))
def test_more_results_lower_it_and_more_coverage_or_confidence_raise_it(n, coverage, confidence):
    k = tolerance_factor(n, coverage, confidence)
    assert tolerance_factor(n + 1, coverage, confidence) < k
    assert tolerance_factor(n, coverage + 0.005, confidence) > k
    assert tolerance_factor(n, coverage, confidence + 0.005) > k
    assert k > stats.norm.ppf(coverage)


def test_with_very_many_results_only_the_quantile_is_left():
    assert tolerance_factor(100_000) == pytest.approx(1.645, abs=0.02)


def test_a_known_scatter_is_the_end_of_many_degrees():
    spread = 1 / math.sqrt(8)
    assert pivot_factor(math.inf, 1.645, spread, 0.95) == pytest.approx(
        pivot_factor(1e7, 1.645, spread, 0.95), abs=1e-4
    )
    assert exceedance_bound(2.0, math.inf, spread, 0.95) == pytest.approx(
        exceedance_bound(2.0, 1e6, spread, 0.95), rel=1e-2
    )


@given(n=st.integers(2, 60), share=st.floats(0.51, 0.99), confidence=st.floats(0.55, 0.99))
@example(n=2, share=0.75, confidence=0.984375)  # the library's distribution is nan on the way
def test_the_bound_of_exceedance_is_the_factor_turned_round(n, share, confidence):
    k = tolerance_factor(n, share, confidence)
    assert exceedance_bound(k, n - 1, 1 / math.sqrt(n), confidence) == pytest.approx(1 - share, rel=1e-6)


@pytest.mark.parametrize("distance", [-60.0, -5.0, 5.0, 100.0, 400.0])
@pytest.mark.parametrize("degrees", [2.0, 5.0, 200.0])
def test_far_out_the_share_is_all_or_nothing(distance, degrees):
    bound = exceedance_bound(distance, degrees, 0.4, 0.95)
    assert 0 <= bound <= 1
    assert bound > 0.99 if distance < 0 else bound < 0.2


def test_the_largest_result_bounds_the_percentile_from_59_on():
    assert largest_result_factor(58, 0.95, 0.95, math.log(3)) > 1
    assert largest_result_factor(59, 0.95, 0.95, math.log(3)) == 1
    assert largest_result_factor(3, 0.95, 0.95, math.log(3)) == pytest.approx(8.81, abs=0.01)


@pytest.mark.parametrize(("n", "gsd"), [(3, 3.0), (7, 2.0), (20, 3.0)])
def test_the_bound_of_the_largest_result_keeps_its_confidence(n, gsd):
    largest = np.random.default_rng(41).standard_normal((20_000, n)).max(axis=1) * math.log(gsd)
    bound = largest + math.log(largest_result_factor(n, 0.95, 0.95, math.log(gsd)))
    assert np.mean(bound >= stats.norm.ppf(0.95) * math.log(gsd)) == pytest.approx(0.95, abs=0.006)


@pytest.mark.parametrize("n", [1, 0, -3, 6.0, True, "6"])
def test_a_size_that_is_none(n):
    with pytest.raises(DomainError, match="a whole number of results from 2 up"):
        tolerance_factor(n)


@pytest.mark.parametrize(
    ("shares", "says"),
    [(("95", "95 %"), None), ((95, 0.95), 'for 95 per cent write "95 %"'), (("95 %", "100 %"), "confidence = 100 %"),
     (("40 %", "95 %"), "coverage = 40 %")],
)  # fmt: skip
def test_a_share_that_is_none(shares, says):
    with pytest.raises(DomainError, match=says):
        tolerance_factor(6, *shares)
