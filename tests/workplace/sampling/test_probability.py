"""The probability plot as numbers, and whether results look lognormal."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from respcalc.workplace.sampling import describe_samples, fit_samples, probability_plot
from respcalc.workplace.sampling.goodness import _ranks, lognormality


def group(results, **more):
    return describe_samples("toluene", results, report="invented, 2026", **more)


RESULTS = ["8 ppm", "<5 ppm", "20 ppm", "11 ppm", "<6 ppm", "31 ppm", "14 ppm"]


def test_points_rise_and_the_line_is_that_of_the_fit():
    plot = probability_plot(group(RESULTS, peaks=["90 ppm"]))
    assert len(plot.points) == 7
    assert [p.below for p in plot.points] == [True, True, False, False, False, False, False]
    measured = [p for p in plot.points if not p.below]
    assert [p.value * 1e6 for p in measured] == pytest.approx([8, 11, 14, 20, 31])
    assert np.all(np.diff([p.quantile for p in measured]) > 0)
    assert [p.share for p in plot.points] == pytest.approx(special.ndtr([p.quantile for p in plot.points]))
    fit = fit_samples(group(RESULTS))
    assert plot.line(0.0) == pytest.approx(math.exp(fit.mu))
    assert plot.line([special.ndtri(0.95)])[0] == pytest.approx(fit.percentile("95 %").m_as("dimensionless"))


def test_the_numbers_for_drawing_are_in_ppm():
    found = json.loads(json.dumps(probability_plot(group(RESULTS)).as_dict(), allow_nan=False))
    assert found["points"][0]["value"] == pytest.approx(5)
    fit = fit_samples(group(RESULTS))
    assert math.exp(found["mu"]) == pytest.approx(fit.geometric_mean.magnitude)
    assert found["sigma"] == pytest.approx(fit.sigma)


def test_too_few_measured_results_have_points_and_no_line():
    plot = probability_plot(group(["<5 ppm", "<5 ppm", "7 ppm"]))
    assert len(plot.points) == 3
    assert plot.line(0.0) is None
    assert plot.as_dict()["sigma"] is None
    assert probability_plot(group([], peaks=["4 ppm"])).points == ()


def sets(n, share, count=400):
    rng = np.random.default_rng(97)
    for _ in range(count):
        y = rng.standard_normal(n)
        below = y < (special.ndtri(share) if share else -np.inf)
        if np.sum(~below) >= 3:
            yield np.where(below, special.ndtri(share), y) if share else y, below


@pytest.mark.parametrize(("n", "share"), [(6, 0.0), (20, 0.0), (10, 0.3), (20, 0.5)])
def test_lognormal_results_are_called_poor_once_in_twenty(n, share):
    poor = [lognormality(y, below).poor for y, below in sets(n, share)]
    assert np.mean(poor) == pytest.approx(0.05, abs=0.035)


def test_complete_data_are_judged_by_shapiro_and_wilk():
    y = np.log([8.0, 20.0, 11.0, 31.0, 9.0])
    found = lognormality(y, np.zeros(5, dtype=bool))
    assert found.statistic == pytest.approx(stats.shapiro(y).statistic)
    assert "no sign against" in str(found)


def test_two_tasks_in_one_group_are_noticed_with_and_without_limits():
    y = np.log([1.0, 1.01, 1.02, 1.03, 1.04, 100.0, 101.0, 102.0, 103.0, 104.0])
    assert lognormality(y, np.zeros(10, dtype=bool)).poor
    y = np.log([2.0, 2.0, 1.01, 1.02, 1.03, 1.04, 1000.0, 2100.0, 2200.0, 2300.0, 2400.0, 2450.0])
    below = np.array([True, True] + [False] * 10)
    found = lognormality(y, below)
    assert found.poor
    assert "19 lognormal sets of 20" in str(found)
    assert lognormality(y, below) == found


def test_equal_or_too_few_results_are_not_judged():
    assert lognormality([1.0, 1.0, 1.0], [False] * 3) is None
    assert lognormality([1.0, 2.0, 3.0], [True, False, False]) is None


@given(
    n=st.integers(3, 40), picks=st.lists(st.floats(0.01, 0.99), min_size=3, max_size=12),
)  # fmt: skip
@settings(max_examples=100)
def test_ranks_are_different_and_among_all(n, picks):
    shares = sorted(picks)[:n]
    ranks = _ranks(special.ndtri(shares), n)
    assert len(set(ranks)) == len(shares)
    assert ranks == sorted(ranks)
    assert ranks[0] >= 0
    assert ranks[-1] < n
