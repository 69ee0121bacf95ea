"""Fits of results below a limit: against two general libraries, a general optimiser, and complete data."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, special, stats

from respcalc.core.errors import DomainError
from respcalc.workplace.sampling.censored import maximum_likelihood, plotting_positions, regression_on_order
from respcalc.workplace.sampling.lognormal import fit_logs
from respcalc.workplace.sampling.tolerance import tolerance_factor


def drawn(start, n, limits, scatter=0.8):
    """Invented logarithms with one or more limits in turn; at least three are measured."""
    rng = np.random.default_rng(start)
    while True:
        y = rng.standard_normal(n) * scatter + 1.5
        limit = np.resize(1.5 + scatter * special.ndtri(np.array(limits)), n)
        below = y < limit
        if np.sum(~below) >= 3 and below.any():
            return np.where(below, limit, y), below


CASES = [drawn(start, n, limits) for start, (n, limits) in enumerate(
    [(6, [0.4]), (10, [0.2]), (10, [0.2, 0.6]), (20, [0.1, 0.3, 0.7]), (60, [0.5]), (15, [0.75])]
)]  # fmt: skip
each_case = pytest.mark.parametrize(("y", "below"), CASES, ids=[f"{len(y)} with {int(b.sum())}" for y, b in CASES])


def minus_log_likelihood(parameters, y, below):
    mu, ln_sigma = parameters
    z = (y - mu) / math.exp(ln_sigma)
    return -float(np.sum(np.where(below, special.log_ndtr(z), stats.norm.logpdf(z) - ln_sigma)))


@each_case
def test_likelihood_as_a_general_optimiser_finds_it(y, below):
    found = optimize.minimize(
        minus_log_likelihood, [y.mean(), 0.0], args=(y, below), method="Nelder-Mead",
        options={"xatol": 1e-10, "fatol": 1e-13, "maxiter": 4000},
    )  # fmt: skip
    ours = maximum_likelihood(y, below)
    assert ours.mu[0] == pytest.approx(found.x[0], abs=1e-6)
    assert ours.sigma[0] == pytest.approx(math.exp(found.x[1]), rel=1e-6)


@each_case
def test_likelihood_as_scipys_censored_data(y, below):
    def closely(target, start, args=(), disp=0):
        return optimize.fmin(target, start, args=args, disp=disp, xtol=1e-11, ftol=1e-13, maxiter=6000, maxfun=9000)

    mu, sigma = stats.norm.fit(stats.CensoredData.left_censored(y, below), optimizer=closely)
    ours = maximum_likelihood(y, below)
    assert (ours.mu[0], ours.sigma[0]) == (pytest.approx(mu, abs=1e-7), pytest.approx(sigma, rel=1e-7))


@each_case
def test_its_covariance_is_the_curvature_of_the_likelihood(y, below):
    """By differences of the likelihood itself; the figures of another library are a reference check."""
    ours = maximum_likelihood(y, below)
    best, h = np.array([ours.mu[0], ours.sigma[0]]), 1e-4 * ours.sigma[0]

    def nll(i, j):
        mu, sigma = best + h * np.array([i, j])
        return minus_log_likelihood((mu, math.log(sigma)), y, below)

    second = np.array(
        [
            [nll(1, 0) - 2 * nll(0, 0) + nll(-1, 0), (nll(1, 1) - nll(1, -1) - nll(-1, 1) + nll(-1, -1)) / 4],
            [(nll(1, 1) - nll(1, -1) - nll(-1, 1) + nll(-1, -1)) / 4, nll(0, 1) - 2 * nll(0, 0) + nll(0, -1)],
        ]
    )
    cov = np.array([[ours.v11[0], ours.v12[0]], [ours.v12[0], ours.v22[0]]]) * ours.sigma[0] ** 2
    assert cov == pytest.approx(np.linalg.inv(second / h**2), rel=1e-4, abs=1e-9)


@each_case
def test_the_slopes_are_those_of_the_likelihood(y, below):
    """At the maximum nothing nearby is likelier, in any direction."""
    found = maximum_likelihood(y, below)
    best = np.array([found.mu[0], math.log(found.sigma[0])])
    top = minus_log_likelihood(best, y, below)
    for angle in np.linspace(0, 2 * math.pi, 12):
        assert minus_log_likelihood(best + 1e-3 * np.array([math.cos(angle), math.sin(angle)]), y, below) > top


def test_several_sets_at_once_are_each_by_itself():
    width = max(len(y) for y, _ in CASES)
    padded = np.array([np.pad(y, (0, width - len(y)), constant_values=99.0) for y, _ in CASES])
    below = np.array([np.pad(b, (0, width - len(b))) for _, b in CASES])
    used = np.array([np.arange(width) < len(y) for y, _ in CASES])
    together = maximum_likelihood(padded, below, used)
    for i, (y, b) in enumerate(CASES):
        alone = maximum_likelihood(y, b)
        for field in ("mu", "sigma", "v11", "v12", "v22"):
            assert getattr(together, field)[i] == pytest.approx(getattr(alone, field)[0], rel=1e-6, abs=1e-9)


def test_complete_data_are_mean_and_root_mean_square():
    y = np.log([3.0, 5.0, 8.0, 20.0])
    found = maximum_likelihood(y, np.zeros(4, dtype=bool))
    assert found.mu[0] == pytest.approx(y.mean())
    assert found.sigma[0] == pytest.approx(y.std())
    assert (found.v11[0], found.v12[0], found.v22[0]) == pytest.approx((1 / 4, 0, 1 / 8), abs=1e-9)


@given(shift=st.floats(-30, 30), scale=st.floats(0.01, 50))
@settings(max_examples=40)
def test_units_and_powers_pass_through(shift, scale):
    y, below = CASES[2]
    plain, moved = maximum_likelihood(y, below), maximum_likelihood(scale * y + shift, below)
    assert moved.mu[0] == pytest.approx(scale * plain.mu[0] + shift, abs=1e-6 * (1 + scale))
    assert moved.sigma[0] == pytest.approx(scale * plain.sigma[0], rel=1e-6)
    mu, sigma = regression_on_order(y, below)
    assert regression_on_order(scale * y + shift, below) == pytest.approx((scale * mu + shift, scale * sigma), rel=1e-7)


def test_sigma_can_be_held():
    y, below = CASES[1]
    found = maximum_likelihood(y, below, least_sigma=3.0)
    assert found.sigma[0] == pytest.approx(3.0)
    best = optimize.minimize_scalar(lambda mu: minus_log_likelihood((mu, math.log(3.0)), y, below))
    assert found.mu[0] == pytest.approx(best.x, abs=1e-5)
    assert maximum_likelihood(y, below, least_sigma=0.01).mu[0] == pytest.approx(maximum_likelihood(y, below).mu[0])


# --- plotting positions


def test_positions_of_complete_data_are_rank_over_n_plus_one():
    assert plotting_positions([4.0, 1.0, 3.0], [False] * 3) == pytest.approx([0.75, 0.25, 0.5])


def test_positions_with_two_limits_by_hand():
    # two of six measured results are above 10 and eight results tell on which side of 10 they lie: P(>10) = 2/8;
    # above 3: that, and of the results that tell, 3 of 6 of the rest: 1/4 + 3/(3+3) * 3/4
    y = np.array([3, 3, 10, 4, 5, 6, 12, 20], dtype=float)
    below = np.array([True, True, True, False, False, False, False, False])
    above_10 = 2 / 8
    above_3 = above_10 + 3 / (3 + 2) * (1 - above_10)
    expected = [1 - above_3 + (above_3 - above_10) * r / 4 for r in (1, 2, 3)]
    expected += [1 - above_10 + above_10 * r / 3 for r in (1, 2)]
    found = plotting_positions(y, below)
    assert found[3:] == pytest.approx(expected)
    assert found[:2] == pytest.approx([(1 - above_3) / 3, 2 * (1 - above_3) / 3])
    assert found[2] == pytest.approx((1 - above_10) / 2)


@given(
    results=st.lists(st.tuples(st.sampled_from([1.0, 2.0, 2.5, 3.0, 5.0, 9.0]), st.booleans()), min_size=1, max_size=15)
)
def test_positions_are_shares_and_rise_with_the_measured_results(results):
    y, below = np.array([r[0] for r in results]), np.array([r[1] for r in results])
    found = plotting_positions(y, below)
    assert np.all((found > 0) & (found < 1))
    seen = np.argsort(y[~below], kind="stable")
    assert np.all(np.diff(found[~below][seen]) > 0)


def test_regression_meets_its_own_line():
    n, below = 9, np.arange(9) < 3
    z = special.ndtri(plotting_positions(np.where(below, 0.0, np.arange(n)), below))
    y = np.where(below, -10.0, 2.0 + 0.7 * z)
    # one limit under everything: positions as before
    assert regression_on_order(y, below) == pytest.approx((2.0, 0.7))


# --- the upper limit


@pytest.mark.parametrize("n", [3, 4, 6, 10, 30])
@pytest.mark.parametrize(("coverage", "confidence"), [(0.95, 0.95), (0.95, 0.7), (0.99, 0.95), (0.9, 0.5)])
def test_the_form_for_censored_data_is_the_exact_one_for_complete_data(n, coverage, confidence):
    """Worked through the likelihood as though something were censored, and by the table's factor."""
    y = np.sort(np.random.default_rng(n).standard_normal(n)) * 0.9 + 2
    found = maximum_likelihood(y, np.zeros(n, dtype=bool))
    v11, v12, v22 = found.v11[0], found.v12[0], found.v22[0]
    assert 1 / (2 * v22) - 1 == pytest.approx(n - 1)
    c = -v12 / v22
    from respcalc.workplace.sampling.lognormal import Way

    unbiased = math.sqrt(n / (n - 1))
    way = Way(found.mu[0], found.sigma[0] * unbiased, n - 1.0, math.sqrt(v11 - v12**2 / v22), c / unbiased)
    by_table = y.mean() + tolerance_factor(n, coverage, confidence) * y.std(ddof=1)
    assert way.ln_upper(stats.norm.ppf(coverage), confidence) == pytest.approx(by_table, rel=1e-7)
    assert fit_logs(y, np.zeros(n, dtype=bool)).ln_upper(coverage, confidence) == pytest.approx(by_table, rel=1e-9)


def test_a_limit_far_below_all_results_hardly_changes_a_fit():
    y = np.log([8.0, 11.0, 14.0, 20.0, 31.0, 9.0, 17.0])
    complete = fit_logs(y, np.zeros(7, dtype=bool))
    below = np.array([True] + [False] * 7)
    one_more = fit_logs(np.concatenate([[math.log(7.9)], y]), below)
    assert one_more.mu < complete.mu + 0.05
    assert one_more.ln_upper(0.95, 0.95) == pytest.approx(complete.ln_upper(0.95, 0.95), abs=0.6)


@each_case
def test_exceedance_turns_the_upper_limit_round(y, below):
    fit = fit_logs(y - 12, below)
    limit = fit.upper_limit("95 %", "90 %")
    assert fit.exceedance_upper(limit, "90 %") == pytest.approx(0.05, rel=1e-5)
    assert fit.exceedance(limit) < 0.05
    assert fit.exceedance(fit.percentile("95 %")) == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("y", "below"),
    [([1, 2], [False, False]), ([1, 2, 3, 4], [True, True, False, False]),
     ([1] * 13 + [2, 3, 4], [True] * 13 + [False] * 3)],
)  # fmt: skip
def test_too_few_measured_results_are_not_fitted(y, below):
    with pytest.raises(DomainError, match="at least 3 measured results"):
        fit_logs(y, below)


def test_equal_results_take_the_least_scatter_that_is_believed():
    for y, below in (([2.0] * 5, [False] * 5), ([2.0] * 6, [False] * 4 + [True] * 2)):
        fit = fit_logs(y, below)
        assert fit.flat
        assert fit.scatter_raised
        # a known scatter of 1.2: the mean, its error, and the percentile
        rise = (special.ndtri(0.95) + special.ndtri(0.95) / math.sqrt(len(y))) * math.log(1.2)
        assert fit.ln_upper(0.95, 0.95) == pytest.approx(2.0 + rise)
        assert fit.exceedance_upper("99 %", "95 %") > 0
