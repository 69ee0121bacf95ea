"""Fits of one curve: known parameters come back, intervals cover what they say, independent fits agree."""

from __future__ import annotations

import math

import lmfit
import numpy as np
import pytest
from scipy.optimize import minimize

import respcalc
from respcalc.cartridges import curve_fit, fit_wheeler_jonas, fit_yoon_nelson
from respcalc.core.errors import CartridgeError, DomainError
from respcalc.models import logistic_rate, stoichiometric_time

MINUTES = np.linspace(45.0, 140.0, 14)
HALF, RATE = 90.0, 0.11
BED = respcalc.describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)


def scatter_of(through):
    """An analyser of 0.5 % of the inlet and 5 % of the reading, at a third of that."""
    return 0.3 * (0.005 + 0.05 * through)


def test_exact_points_give_their_parameters_back(curve_of, logistic):
    fit = fit_yoon_nelson(curve_of(MINUTES, logistic(MINUTES, HALF, RATE)))
    half, rate = fit.parameters
    assert half.value == pytest.approx(HALF * 60, rel=1e-9)
    assert rate.value == pytest.approx(RATE / 60, rel=1e-8)
    assert fit.lack_of_fit.largest < 1e-8
    assert fit.lack_of_fit.words == ()


def test_capacity_and_rate_come_back_through_the_exact_solution(curve_of):
    minutes = np.linspace(20, 260, 16)
    curve = curve_of(minutes, np.linspace(0.01, 0.99, 16))
    inlet, bed = curve_fit.inlet_of(curve), BED.bed(curve.flow_rate.value)
    true = {"capacity": 0.31, "rate_coefficient": 3500 / 60}
    through = respcalc.models.bohart_adams_penetration.si(
        worn_time=minutes * 60, **true, sorbent_mass=bed.sorbent_mass, mass_concentration=inlet,
        flow_rate=bed.flow_rate, bulk_density=bed.bulk_density,
    )  # fmt: skip
    fit = fit_wheeler_jonas(curve_of(minutes, through), BED)
    for datum in fit.parameters:
        assert datum.value == pytest.approx(true[datum.quantity], rel=1e-7)
    # and Yoon-Nelson is the same logistic in other words, for a bed of many transfer units
    half, rate = fit_yoon_nelson(curve_of(minutes, through)).parameters
    assert half.value == pytest.approx(
        stoichiometric_time.si(capacity=0.31, sorbent_mass=bed.sorbent_mass, mass_concentration=inlet,
                               flow_rate=bed.flow_rate), rel=1e-3)  # fmt: skip
    assert rate.value == pytest.approx(
        logistic_rate.si(rate_coefficient=true["rate_coefficient"], mass_concentration=inlet, capacity=0.31,
                         bulk_density=bed.bulk_density), rel=1e-3)  # fmt: skip


def test_a_bed_that_is_unevenly_loaded_in_use_was_tested_at_an_even_split(curve_of, logistic):
    curve = curve_of(MINUTES, logistic(MINUTES, HALF, RATE))
    uneven = respcalc.describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2,
                                   largest_share="65 %")  # fmt: skip
    assert fit_wheeler_jonas(curve, uneven).logarithms == pytest.approx(fit_wheeler_jonas(curve, BED).logarithms)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("stated", [True, False])
def test_an_independent_fit_agrees(curve_of, logistic, seed, stated):
    """lmfit and scipy on the same clipped sum, from another start, by other methods; one point lies far off."""
    true = logistic(MINUTES, HALF, RATE)
    through = true + np.random.default_rng(seed).normal(size=true.size) * scatter_of(true)
    through[8] += 0.08
    through = np.clip(through, 0, 1.05)
    fit = fit_yoon_nelson(curve_of(MINUTES, through, **({"exit_uncertainty": "1 %"} if stated else {})))
    knee = 1.345 * fit._scale

    def residuals(params):
        off = fit._weights * (through - logistic(MINUTES, math.exp(params["half"]), math.exp(params["rate"])))
        size = np.abs(off)
        return np.where(size <= knee, off, np.sign(off) * np.sqrt(np.maximum(2 * knee * size - knee**2, 0)))

    params = lmfit.Parameters()
    params.add("half", value=math.log(80.0))
    params.add("rate", value=math.log(0.2))
    found = lmfit.minimize(residuals, params, method="bfgs", options={"gtol": 1e-10})
    polished = minimize(lambda p: (residuals({"half": p[0], "rate": p[1]}) ** 2).sum(),
                        [found.params["half"].value, found.params["rate"].value], method="Nelder-Mead",
                        options={"xatol": 1e-11, "fatol": 1e-16, "maxiter": 9999})  # fmt: skip
    ours = fit.logarithms - np.log([60.0, 1 / 60.0])
    assert ours == pytest.approx([found.params["half"].value, found.params["rate"].value], abs=1e-6)
    assert ours == pytest.approx(polished.x, abs=1e-6)


def test_without_an_outlier_and_with_stated_scatter_it_is_weighted_least_squares(curve_of, logistic):
    """Points within the knee: lmfit's plain weighted fit and its standard errors."""
    true = logistic(MINUTES, HALF, RATE)
    through = true + 0.003 * (-1.0) ** np.arange(true.size)  # all equally far off, so that none is beyond the knee
    fit = fit_yoon_nelson(curve_of(MINUTES, through, exit_uncertainty="2 %"))
    model = lmfit.Model(
        lambda t, half, rate: 1 / (1 + np.exp(np.exp(rate) * (np.exp(half) - t))), independent_vars=["t"]
    )
    found = model.fit(through, t=MINUTES, half=4.4, rate=-2.0, weights=1 / 0.02, scale_covar=False,
                      fit_kws={"xtol": 1e-14, "ftol": 1e-14})  # fmt: skip
    inside = np.abs(fit._weights * (through - fit.penetration_si(MINUTES * 60))) < 1.345 * fit._scale
    assert inside.all()
    ours = fit.logarithms - np.log([60.0, 1 / 60.0])
    assert ours == pytest.approx([found.params["half"].value, found.params["rate"].value], abs=1e-6)
    errors = np.array(fit.standard_errors) * math.sqrt(0.95)
    assert errors == pytest.approx([found.params["half"].stderr, found.params["rate"].stderr], rel=0.02)


# --- coverage, counted over 500 draws


def many(curve_of, logistic, minutes, stated, draws=500):
    """Intervals of both parameters for simulated curves, and the truth."""
    true = logistic(minutes, HALF, RATE)
    random = np.random.default_rng(11)
    for _ in range(draws):
        through = true + random.normal(size=true.size) * scatter_of(true)
        # what lies above 105 % cannot be read; below 0 % it is noise around nothing, kept as it is for the count
        known = {"exit_uncertainty": scatter_of(true)} if stated else {}
        yield fit_yoon_nelson(curve_of(minutes, np.clip(through, 0, 1.05), **known))


TRUTH = np.log([HALF * 60, RATE / 60])


@pytest.mark.parametrize("points", [8, 14, 25])
@pytest.mark.parametrize("stated", [False, True])
def test_95_per_cent_intervals_hold_the_truth_in_93_to_97_of_100_draws(curve_of, logistic, points, stated):
    hits = np.zeros(2)
    for fit in many(curve_of, logistic, np.linspace(52.0, 130.0, points), stated):
        low, high = fit._bounds(0.95, "linearised")
        hits += (low <= TRUTH) & (high >= TRUTH)
    assert np.all(hits / 500 >= 0.93), hits / 500
    assert np.all(hits / 500 <= 0.97), hits / 500


def test_the_bootstrap_interval_holds_it_too_and_agrees_with_the_linearised(curve_of, logistic):
    hits, ratio = np.zeros(2), []
    for fit in many(curve_of, logistic, np.linspace(52.0, 130.0, 14), False):
        fit.__dict__["_draws"] = curve_fit._bootstrap(fit, 119)
        low, high = fit._bounds(0.95, "bootstrap")
        hits += (low <= TRUTH) & (high >= TRUTH)
        first, last = fit._bounds(0.95, "linearised")
        ratio.append((high - low) / (last - first))
    assert np.all((hits / 500 >= 0.93) & (hits / 500 <= 0.97)), hits / 500
    assert np.median(ratio, axis=0) == pytest.approx([1.0, 1.0], abs=0.25)


def test_the_joint_region_holds_both_at_once(curve_of, logistic):
    inside = 0
    for fit in many(curve_of, logistic, np.linspace(52.0, 130.0, 20), True):
        off = fit.logarithms - TRUTH
        edge = np.log(fit.region(points=4)) - fit.logarithms  # four points of the ellipse give its quadratic form
        scale = edge[0] @ np.linalg.inv(fit.covariance) @ edge[0]
        inside += off @ np.linalg.inv(fit.covariance) @ off <= scale
    assert 0.93 <= inside / 500 <= 0.97


def test_the_band_holds_the_curve_and_one_wild_point_hardly_moves_it(curve_of, logistic):
    true = logistic(MINUTES, HALF, RATE)
    clean = np.clip(true + np.random.default_rng(5).normal(size=14) * scatter_of(true), 0, 1)
    wild = clean.copy()
    wild[4] += 0.09
    one, other = (fit_yoon_nelson(curve_of(MINUTES, p)) for p in (clean, wild))
    low, high = one.band_si(MINUTES * 60)
    assert np.all(low <= one.penetration_si(MINUTES * 60))
    assert np.mean((low <= true) & (true <= high)) > 0.7
    assert other.logarithms == pytest.approx(one.logarithms, abs=0.02)


# --- skew and lack of fit


def skewed(minutes, half, below, above):
    minutes = np.asarray(minutes, dtype=float)
    return 1 / (1 + np.exp(np.where(minutes < half, below, above) * (half - minutes)))


@pytest.mark.parametrize(("below", "above", "word"), [(0.18, 0.08, "steeper"), (0.07, 0.16, "flatter")])
def test_a_skewed_curve_says_so_with_its_factor(curve_of, below, above, word):
    minutes = np.linspace(40, 150, 20)
    true = skewed(minutes, 90, below, above)
    through = np.clip(true + 0.002 * np.random.default_rng(3).normal(size=20), 0, 1)
    fit = fit_yoon_nelson(curve_of(minutes, through))
    lack = fit.lack_of_fit
    assert lack.skew == pytest.approx(below / above, rel=0.15)
    assert lack.skew_interval[0] < below / above < lack.skew_interval[1]
    assert f"its foot is {word} than its shoulder" in lack.words[0]
    assert lack.runs_chance < 0.05


def test_where_the_foot_is_flatter_the_points_are_believed_before_the_curve(curve_of):
    minutes = np.linspace(30, 150, 25)
    fit = fit_yoon_nelson(curve_of(minutes, skewed(minutes, 90, 0.07, 0.16)))
    true = 90 + math.log(0.01 / 0.99) / 0.07
    assert fit.time_at("1 %").magnitude <= true
    steep = fit_yoon_nelson(curve_of(minutes, skewed(minutes, 90, 0.18, 0.08)))
    assert steep.time_at("1 %").magnitude < 90 + math.log(0.01 / 0.99) / 0.18  # too early, which is safe


def test_points_that_scatter_more_than_stated_widen_the_interval(curve_of, logistic):
    true = logistic(MINUTES, HALF, RATE)
    through = np.clip(true + 0.02 * np.random.default_rng(2).normal(size=14), 0, 1)
    honest, boastful = (fit_yoon_nelson(curve_of(MINUTES, through, exit_uncertainty=u)) for u in ("2 %", "0.2 %"))
    assert any("more than their stated uncertainty" in w for w in boastful.lack_of_fit.words)
    assert not any("stated uncertainty" in w for w in honest.lack_of_fit.words)
    assert boastful.standard_errors[0] > 0.5 * honest.standard_errors[0]


def test_the_chance_of_so_few_runs_is_counted():
    assert curve_fit._runs_chance(np.array([1, 1, 1, 1, -1, -1, -1, -1.0])) == pytest.approx(2 / 70)
    assert curve_fit._runs_chance(np.array([1.0, -1, 1, -1, 1, -1])) == pytest.approx(1.0)
    assert curve_fit._runs_chance(np.ones(8)) == pytest.approx(2**-7)


# --- no more is fitted than the points bear


def test_two_points_are_fitted_exactly_and_have_no_interval(curve_of, logistic):
    fit = fit_yoon_nelson(curve_of([80, 110], logistic([80, 110], HALF, RATE)))
    assert fit.parameters[0].value == pytest.approx(HALF * 60, rel=1e-6)
    assert fit.covariance is None
    for ask in (lambda: fit.interval("half_time"), lambda: fit.band_si([60.0]), fit.region):
        with pytest.raises(DomainError, match="at least three points"):
            ask()
    assert "95 %" not in str(fit).split("half_time")[1].splitlines()[0]


@pytest.mark.parametrize(
    ("minutes", "through", "says"),
    [
        ([60], [0.01], "1 of 1 points lie between .* two parameters need at least two.*fit_bed"),
        ([60, 90, 120], [0.0, 0.6, 1.0], "1 of 3 points"),
        ([60, 70, 80], [0.01, 0.05, 0.123], "the exit reached 12.3 % of the inlet at most"),
    ],
)
def test_too_little_for_two_parameters_is_refused_with_what_to_do(curve_of, minutes, through, says):
    for ask in (fit_yoon_nelson, lambda c: fit_wheeler_jonas(c, BED)):
        with pytest.raises(CartridgeError, match=says):
            ask(curve_of(minutes, through))


def test_bad_questions_name_the_field(curve_of, logistic):
    fit = fit_yoon_nelson(curve_of(MINUTES, logistic(MINUTES, HALF, RATE)))
    for ask, says in (
        (lambda: fit.interval("capacity"), "the fitted parameters are half_time, logistic_rate"),
        (lambda: fit.interval("half_time", "100 %"), "confidence = 100 %"),
        (lambda: fit.interval("half_time", how="guess"), 'it is "linearised" or "bootstrap"'),
        (lambda: fit.time_at("0 %"), "exit_fraction"),
    ):
        with pytest.raises(DomainError, match=says):
            ask()


def test_a_fit_reads_the_same_twice_and_in_any_unit(curve_of, logistic):
    through = np.clip(logistic(MINUTES, HALF, RATE) + 0.003 * np.sin(np.arange(14)), 0, 1)
    one, two = (fit_yoon_nelson(curve_of(MINUTES, through)) for _ in range(2))
    assert str(one) == str(two)
    assert "by bootstrap" in str(one)
    hours = respcalc.describe_curve(
        "toluene", report="simulated", worn_time=[f"{m / 60:.17g} h" for m in MINUTES], exit_fraction=through,
        concentration="0.1 %", flow_rate="53 L/min", temperature="22 degC", relative_humidity="50 %",
        pressure="101.325 kPa",
    )  # fmt: skip
    assert fit_yoon_nelson(hours).logarithms == pytest.approx(one.logarithms, abs=1e-9)
    assert "<table>" in one._repr_html_()
