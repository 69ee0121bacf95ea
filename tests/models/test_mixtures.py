"""Mixtures: closed forms against quadrature, loadings against another library, fronts against their limits."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pandas as pd
import pyiast
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from respcalc.core.errors import DomainError
from respcalc.models.constants import GAS_CONSTANT
from respcalc.models.iast import (
    dubinin_astakhov_grand_potential,
    dubinin_radushkevich_grand_potential,
    iast_loading,
    pressure_at_grand_potential,
)
from respcalc.models.mixtures import (
    doong_yang_capacity,
    equilibrium_fronts,
    guidance_time,
    mole_fraction_capacity,
    proportionate_capacity,
    sum_rule_time,
)

KELVIN = 298.15
RT = GAS_CONSTANT * KELVIN
# psat [Pa], n0 [mol/kg], kappa of a usual carbon at 25 degC
TOLUENE, ACETONE, BUTANONE = (3790.0, 4.2475, 0.1108), (30800.0, 6.1330, 0.1811), (12600.0, 5.0360, 0.1503)


def table(*vapours):
    return [np.array(column) for column in zip(*vapours, strict=True)]


def held_alone(p, psat, n0, kappa, exponent=2.0):
    """Loading of one vapour, by the isotherm as it is written."""
    return n0 * np.exp(-((kappa * np.maximum(np.log(psat / p), 0.0)) ** exponent))


@st.composite
def mixtures(draw, least=1, most=4, high=500.0):
    """Pressures and isotherms of vapours whose size and affinity go together, as those of real ones do."""
    count = draw(st.integers(least, most))

    def several(low, top):
        return np.array(draw(st.lists(st.floats(low, top), min_size=count, max_size=count)))

    affinity = several(0.55, 1.5)
    molar_volume = (affinity / 0.0176) ** (1 / 0.9) * 1e-6 * np.exp(several(-0.2, 0.2))
    psat = np.exp(several(np.log(500.0), np.log(6e4)))
    p = np.minimum(np.exp(several(np.log(0.3), np.log(high))), 0.5 * psat)
    return p, psat, 0.454e-3 / molar_volume, RT / (affinity * 19.7e3)


# --- the Dubinin potentials


@given(st.floats(1.0, 3.5), st.floats(0.05, 0.35), st.floats(1e-4, 1.0))
def test_the_closed_forms_are_the_integrals(exponent, kappa, relative_pressure):
    air = {
        "temperature": KELVIN, "saturation_pressure": 5000.0, "partial_pressure": 5000.0 * relative_pressure,
        "characteristic_energy": RT / kappa, "affinity_coefficient": 1.0,
    }  # fmt: skip
    depth = kappa * np.log(1.0 / relative_pressure)  # where the integral begins, in units of 1/kappa
    end = (depth**exponent + 45.0) ** (1.0 / exponent)
    expected = quad(lambda y: np.exp(-(y**exponent)), depth, end, epsabs=0.0, epsrel=1e-11, limit=200)[0] / kappa
    assert dubinin_astakhov_grand_potential.si(**air, astakhov_exponent=exponent) == pytest.approx(expected, rel=1e-8)
    two = dubinin_astakhov_grand_potential.si(**air, astakhov_exponent=2.0)
    assert dubinin_radushkevich_grand_potential.si(**air) == pytest.approx(two, rel=1e-12)


@given(st.sampled_from([1.5, 2.0, 3.0]), st.floats(0.05, 0.35), st.floats(1e-4, 30.0))
def test_pressure_of_a_potential_is_the_way_back_also_past_saturation(exponent, kappa, relative_pressure):
    below = dubinin_astakhov_grand_potential.si(
        temperature=KELVIN, saturation_pressure=1.0, partial_pressure=min(relative_pressure, 1.0),
        characteristic_energy=RT / kappa, affinity_coefficient=1.0, astakhov_exponent=exponent,
    )  # fmt: skip
    potential = 3.0 * (below + max(np.log(relative_pressure), 0.0))
    assert pressure_at_grand_potential(potential, 1.0, 3.0, kappa, exponent) == pytest.approx(
        relative_pressure, rel=1e-9
    )


# --- ideal adsorbed solution


def excess(p, loading, psat, n0, kappa, exponent=2.0):
    """How far the equations of the theory are from being met, from the loadings alone, by quadrature."""
    share = loading / loading.sum()
    alone = p / share

    def potential(i):
        def held(log_p):
            return held_alone(np.exp(log_p), psat[i], n0[i], kappa[i], exponent)

        lowest, end, top = np.log(psat[i]) - 12.0 / kappa[i], np.log(psat[i]), np.log(alone[i])
        parts = [(lowest, min(top, end)), (end, top)] if top > end else [(lowest, top)]
        return sum(quad(held, a, b, epsrel=1e-10, limit=200)[0] for a, b in parts)

    psi = [potential(i) for i in range(len(p))]
    total = 1.0 / np.sum(share / held_alone(alone, psat, n0, kappa, exponent))
    return max(np.ptp(psi) / psi[0], abs(loading.sum() / total - 1.0))


@settings(max_examples=40)
@given(mixtures(least=2))
def test_loadings_meet_the_equations(mixture):
    assert excess(mixture[0], iast_loading(*mixture), *mixture[1:]) < 1e-7


@settings(max_examples=10)
@given(mixtures(least=2, most=3), st.sampled_from([1.5, 3.0]))
def test_loadings_meet_the_equations_on_other_isotherms(mixture, exponent):
    assert excess(mixture[0], iast_loading(*mixture, exponent), *mixture[1:], exponent) < 1e-7


def test_an_exponent_near_two_gives_what_two_gives():
    rng = np.random.default_rng(2)
    p = 10 ** rng.uniform(-1, 2.5, (200, 3))
    vapours = table(TOLUENE, ACETONE, BUTANONE)
    np.testing.assert_allclose(iast_loading(p, *vapours), iast_loading(p, *vapours, 2.0 + 1e-12), rtol=1e-8)


@pytest.mark.parametrize("spread", [1e-6, 1e-3, 1.0, 1e3, 1e6])
def test_the_equations_are_met_far_from_usual_pressures(spread):
    p, vapours = np.array([50.0, 50.0 * spread, 3.0]), table(TOLUENE, ACETONE, BUTANONE)
    p = np.minimum(p, 0.9 * vapours[0])
    assert excess(p, iast_loading(p, *vapours), *vapours) < 1e-6


@given(mixtures(most=1))
def test_one_vapour_is_held_as_its_isotherm_says(mixture):
    assert iast_loading(*mixture) == pytest.approx(held_alone(*mixture), rel=1e-9)


@given(mixtures(least=2, most=4), st.randoms(use_true_random=False))
def test_neither_order_nor_splitting_changes_a_loading(mixture, random):
    loading = iast_loading(*mixture)
    order = list(range(loading.size))
    random.shuffle(order)
    assert iast_loading(*(column[order] for column in mixture)) == pytest.approx(loading[order], rel=1e-9)
    split = [np.append(column, column[0]) for column in mixture]
    split[0][[0, -1]] /= 2.0
    halves = iast_loading(*split)
    assert halves[:-1] == pytest.approx(np.where(np.arange(loading.size) == 0, loading / 2.0, loading), rel=1e-8)
    assert halves[-1] == pytest.approx(halves[0], rel=1e-12)


def test_an_absent_vapour_holds_nothing_and_changes_nothing():
    two = iast_loading([10.0, 10.0], *table(TOLUENE, ACETONE))
    three = iast_loading([10.0, 0.0, 10.0], *table(TOLUENE, BUTANONE, ACETONE))
    assert three == pytest.approx([two[0], 0.0, two[1]], rel=1e-12)
    assert (iast_loading([[0.0, 0.0], [1.0, 0.0]], *table(TOLUENE, ACETONE))[0] == 0.0).all()


def test_components_lie_along_the_last_axis_and_everything_broadcasts():
    p = 10 ** np.random.default_rng(3).uniform(0, 2, (4, 5, 2))
    together = iast_loading(p, *table(TOLUENE, ACETONE))
    assert together.shape == (4, 5, 2)
    for row in np.ndindex(4, 5):
        assert together[row] == pytest.approx(iast_loading(p[row], *table(TOLUENE, ACETONE)), rel=1e-12)
    kappa = np.array([[0.1108, 0.1811], [0.12, 0.19]])
    each = iast_loading([10.0, 20.0], [3790.0, 30800.0], [4.2, 6.1], kappa)
    assert each[1] == pytest.approx(iast_loading([10.0, 20.0], [3790.0, 30800.0], [4.2, 6.1], kappa[1]), rel=1e-12)
    assert iast_loading(np.ones((0, 2)), *table(TOLUENE, ACETONE)).shape == (0, 2)


def test_a_million_mixtures_stay_within_200_bytes_a_component():
    p = 10 ** np.random.default_rng(4).uniform(0, 2, (1_000_000, 3))
    vapours = [np.broadcast_to(v, p.shape).copy() for v in table(TOLUENE, ACETONE, BUTANONE)]
    iast_loading(p[:1], *table(TOLUENE, ACETONE, BUTANONE))
    tracemalloc.start()
    try:
        loading = iast_loading(p, *vapours)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert np.isfinite(loading).all()
    assert peak <= 200 * p.size


class ClosedForm:
    """A Dubinin-Radushkevich isotherm as the other library wants one."""

    def __init__(self, psat, n0, kappa):
        self.vapour = (psat, n0, kappa)

    def loading(self, pressure):
        return held_alone(pressure, *self.vapour)

    def spreading_pressure(self, pressure):
        psat, n0, kappa = self.vapour
        if not pressure > 0.0:
            return np.nan
        inside = dubinin_radushkevich_grand_potential.si(
            temperature=KELVIN, saturation_pressure=psat, partial_pressure=min(pressure, psat),
            characteristic_energy=RT / kappa, affinity_coefficient=1.0,
        )  # fmt: skip
        return n0 * (inside + max(np.log(pressure / psat), 0.0))


def test_another_library_agrees_where_it_works():
    vapours = (TOLUENE, ACETONE, BUTANONE)
    isotherms = [ClosedForm(*v) for v in vapours]
    p = 10 ** np.random.default_rng(5).uniform(0, 2, (60, 3))
    theirs = np.array([pyiast.iast(row, isotherms, warningoff=True) for row in p])
    np.testing.assert_allclose(iast_loading(p, *table(*vapours)), theirs, rtol=1e-6)


def test_it_works_where_the_other_library_leaves_the_fitted_range():
    """Beside a heavy vapour a light one is held as if at a pressure far above any that was measured."""
    vapours, p = (TOLUENE, ACETONE), np.array([50.0, 50.0])
    measured = np.geomspace(1e-3, 300.0, 40)
    isotherms = [
        pyiast.InterpolatorIsotherm(
            pd.DataFrame({"p": measured, "n": held_alone(measured, *v)}), loading_key="n", pressure_key="p"
        )
        for v in vapours
    ]
    with pytest.raises(Exception, match=r"extrapolate|interpolation range"):
        pyiast.iast(p, isotherms, warningoff=True)
    assert excess(p, iast_loading(p, *table(*vapours)), *table(*vapours)) < 1e-8


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({0: [10.0, -1.0]}, "partial_pressure must be a finite number"),
        ({0: [10.0, np.nan]}, "partial_pressure must be a finite number"),
        ({1: [0.0, 1.0]}, "saturation_pressure must be a finite number above 0"),
        ({2: [4.0, np.inf]}, "molar_capacity must be"),
        ({3: [0.1, 0.2, 0.3]}, "do not fit together"),
        ({0: 10.0, 1: 3790.0, 2: 4.2, 3: 0.11}, "needs an axis of components"),
    ],
)
def test_bad_input_is_named(changed, message):
    good = dict(enumerate([[10.0, 10.0], *table(TOLUENE, ACETONE)]))
    for calculate in (iast_loading, lambda *a: equilibrium_fronts(*a, KELVIN)):
        with pytest.raises(DomainError, match=message):
            calculate(*(good | changed).values())


# --- fronts


def air_alone(p, psat, n0, kappa):
    """Air a kilogram of carbon cleans of one vapour alone [m3/kg]."""
    return held_alone(p, psat, n0, kappa) * RT / p


def test_feed_equilibrium_is_not_breakthrough_capacity():
    """Acetone runs ahead of toluene through free carbon: it lasts 25 times what the loading at the feed says."""
    p, vapours = np.array([10.1325, 10.1325]), table(TOLUENE, ACETONE)
    fronts = equilibrium_fronts(p, *vapours, KELVIN)
    by_feed = iast_loading(p, *vapours) * RT / p
    assert by_feed[0] == pytest.approx(fronts.air_volume[0], rel=1e-9)  # the vapour that leaves last
    assert by_feed[1] / fronts.air_volume[1] == pytest.approx(0.037, abs=0.002)
    assert fronts.air_volume[1] / air_alone(p, *vapours)[1] == pytest.approx(0.87, abs=0.02)
    assert fronts.plateau_pressure[1] > 1.2 * p[1]  # it rolls up
    assert fronts.first == fronts.air_volume[1]
    assert fronts.sharp


@settings(max_examples=50)
@given(mixtures(least=2, most=2))
def test_two_fronts_keep_the_balance_of_each_vapour(mixture):
    """The two-front equations as they are written down for a heavy and a light vapour."""
    p, psat, n0, kappa = mixture
    fronts = equilibrium_fronts(*mixture, KELVIN)
    heavy = int(np.argmax(fronts.air_volume))
    light, n = 1 - heavy, iast_loading(*mixture)
    plateau = fronts.plateau_pressure[light]
    if not fronts.sharp or not plateau > p[light] * (1 + 1e-6):
        return
    ahead = held_alone(plateau, psat[light], n0[light], kappa[light])
    assert fronts.air_volume[heavy] == pytest.approx(n[heavy] / p[heavy] * RT, rel=1e-7)
    assert fronts.air_volume[light] == pytest.approx(ahead / plateau * RT, rel=1e-7)
    moved, left_behind = n[heavy] / p[heavy] * (plateau - p[light]), ahead - n[light]
    assert moved == pytest.approx(left_behind, abs=1e-6 * ahead)


@given(mixtures(most=1))
def test_one_vapour_leaves_when_the_carbon_is_full(mixture):
    fronts = equilibrium_fronts(*mixture, KELVIN)
    assert fronts.air_volume == pytest.approx(air_alone(*mixture), rel=1e-9)
    assert fronts.plateau_pressure == pytest.approx(mixture[0], rel=1e-12)


@pytest.mark.parametrize("heavy_is_trace", [True, False])
def test_beside_a_trace_a_vapour_leaves_as_if_alone(heavy_is_trace):
    p = np.array([1e-5, 20.0]) if heavy_is_trace else np.array([20.0, 2e-3])
    vapours = table(TOLUENE, BUTANONE)
    fronts = equilibrium_fronts(p, *vapours, KELVIN)
    main = 1 if heavy_is_trace else 0
    assert fronts.air_volume[main] == pytest.approx(air_alone(p, *vapours)[main], rel=1e-4)


def test_a_light_trace_is_swept_ahead_and_never_outlasts_the_vapour_that_sweeps_it():
    vapours, p = table(TOLUENE, BUTANONE), np.array([100.0, 0.2])
    fronts = equilibrium_fronts(p, *vapours, KELVIN)
    assert air_alone(p, *vapours)[1] > 2 * fronts.air_volume[0]  # alone it would last far longer
    assert fronts.air_volume[1] < fronts.air_volume[0]
    assert fronts.plateau_pressure[1] > 20 * p[1]


@given(mixtures(least=1, most=3), st.floats(0.05, 0.95))
def test_identical_components_are_one_at_the_sum(mixture, part):
    split = [np.append(column, column[0]) for column in mixture]
    split[0][0], split[0][-1] = part * mixture[0][0], (1 - part) * mixture[0][0]
    one, two = equilibrium_fronts(*mixture, KELVIN), equilibrium_fronts(*split, KELVIN)
    assert two.air_volume == pytest.approx(np.append(one.air_volume, one.air_volume[0]), rel=1e-8)
    assert two.plateau_pressure[0] + two.plateau_pressure[-1] == pytest.approx(one.plateau_pressure[0], rel=1e-8)
    assert two.sharp == one.sharp


@given(mixtures(least=2, most=4), st.randoms(use_true_random=False))
def test_the_order_of_components_never_matters(mixture, random):
    fronts = equilibrium_fronts(*mixture, KELVIN)
    order = list(range(mixture[0].size))
    random.shuffle(order)
    again = equilibrium_fronts(*(column[order] for column in mixture), KELVIN)
    assert again.air_volume == pytest.approx(fronts.air_volume[order], rel=1e-8)
    assert again.plateau_pressure == pytest.approx(fronts.plateau_pressure[order], rel=1e-8)


@given(mixtures(least=2, most=4))
def test_adding_a_vapour_never_lengthens_the_first_breakthrough(mixture):
    more = equilibrium_fronts(*mixture, KELVIN)
    fewer = equilibrium_fronts(*(column[:-1] for column in mixture), KELVIN)
    if more.sharp and fewer.sharp:  # elsewhere a foot runs ahead of what is called the time
        assert more.first <= fewer.first * (1 + 1e-9)
    times = air_alone(*mixture)
    total = mixture[0].sum()
    at_sum = air_alone(np.full_like(mixture[0], total), *mixture[1:])
    less = air_alone(np.full_like(times[:-1], total - mixture[0][-1]), *(column[:-1] for column in mixture[1:]))
    if (2 * mixture[3] ** 2 * np.log(mixture[1] / mixture[0]) < 1).all():  # favourable isotherms
        assert sum_rule_time(at_sum) <= sum_rule_time(less) * (1 + 1e-9)


def test_fronts_of_many_mixtures_are_those_of_each():
    rng = np.random.default_rng(6)
    p = 10 ** rng.uniform(-1, 2, (30, 3))
    p[rng.random(p.shape) < 0.2] = 0.0
    p[:, 0] = np.maximum(p[:, 0], 0.1)
    vapours, kelvin = table(TOLUENE, ACETONE, BUTANONE), rng.uniform(280, 310, 30)
    together = equilibrium_fronts(p, *vapours, kelvin)
    assert (np.isinf(together.air_volume) == (p == 0)).all()
    assert together.sharp.shape == together.first.shape == (30,)
    for row in range(30):
        single = equilibrium_fronts(p[row], *vapours, kelvin[row])
        assert single.air_volume == pytest.approx(together.air_volume[row], rel=1e-9)
        assert single.plateau_pressure == pytest.approx(together.plateau_pressure[row], rel=1e-9)


def test_another_exponent_has_fronts_too():
    p, vapours = np.array([10.0, 10.0]), table(TOLUENE, ACETONE)
    fronts = equilibrium_fronts(p, *vapours, KELVIN, exponent=1.8)
    near_two = equilibrium_fronts(p, *vapours, KELVIN, exponent=2.0 + 1e-9)
    assert near_two.air_volume == pytest.approx(equilibrium_fronts(p, *vapours, KELVIN).air_volume, rel=1e-6)
    assert fronts.air_volume[1] < fronts.air_volume[0] < iast_loading(p, *vapours, 1.8)[0] * RT / p[0] * (1 + 1e-9)


def test_where_fronts_are_not_sharp_they_say_so():
    convex = (100_000.0, 9.0, 0.30)  # a vapour like methanol, convex below some 400 Pa
    assert not equilibrium_fronts([10.0, 10.0], *table(TOLUENE, convex), KELVIN).sharp
    reversing = table((30800.0, 6.136, 0.1942), (7870.0, 7.736, 0.2375))  # the second holds better only when crowded
    assert not equilibrium_fronts([32.0, 1.0], *reversing, KELVIN).sharp


def test_a_mixture_of_nothing_and_a_bad_temperature_are_refused():
    with pytest.raises(DomainError, match="0 for every component"):
        equilibrium_fronts([0.0, 0.0], *table(TOLUENE, ACETONE), KELVIN)
    with pytest.raises(DomainError, match="temperature = -1"):
        equilibrium_fronts([1.0, 1.0], *table(TOLUENE, ACETONE), -1.0)


# --- rules


def test_the_sum_rule_takes_the_least():
    assert sum_rule_time([30.0, 20.0, 25.0]) == 20.0
    assert sum_rule_time([[3.0, 2.0], [1.0, 4.0]]) == pytest.approx([2.0, 1.0])


@pytest.mark.parametrize(
    ("alone", "at_sum", "expected"),
    [
        ([10.0, 99.0], [6.0, 5.0], 6.0),  # similar: the fastest, not the least, at the sum
        ([10.0, 1000.0], [6.0, 5.0], 10.0),  # two orders apart: alone
        ([10.0, 999.0], [6.0, 5.0], 6.0),  # between: the stricter
        ([10.0, 500.0], [12.0, 5.0], 10.0),
        ([5000.0, 10.0, 40.0], [1.0, 6.0, 7.0], 6.0),  # one comparable vapour is enough
        ([5000.0, 10.0, 4000.0], [1.0, 6.0, 7.0], 10.0),
        ([10.0, 10.0], [6.0, 5.0], 5.0),  # a tie: order does not decide
        ([10.0], [10.0], 10.0),
    ],
)
def test_the_guidance(alone, at_sum, expected):
    assert guidance_time(alone, at_sum) == expected
    assert guidance_time(alone[::-1], at_sum[::-1]) == expected
    assert guidance_time([alone, alone], [at_sum, at_sum]) == pytest.approx([expected, expected])


@given(mixtures(least=2, most=4), st.randoms(use_true_random=False))
def test_no_rule_depends_on_the_order_of_components(mixture, random):
    p = mixture[0]
    order = list(range(p.size))
    random.shuffle(order)
    alone = held_alone(*mixture)
    times, at_sum = air_alone(*mixture), air_alone(np.full_like(p, p.sum()), *mixture[1:])
    assert guidance_time(times[order], at_sum[order]) == guidance_time(times, at_sum)
    assert sum_rule_time(at_sum[order]) == sum_rule_time(at_sum)
    filling = alone / mixture[2]
    for rule in (lambda o: mole_fraction_capacity(p[o], alone[o]), lambda o: proportionate_capacity(alone[o]),
                 lambda o: doong_yang_capacity(filling[o])):  # fmt: skip
        assert rule(order) == pytest.approx(rule(list(range(p.size)))[order], rel=1e-12)


@given(mixtures(least=2, most=4))
def test_the_mole_fraction_rule_at_the_sum_is_the_sum_rule(mixture):
    p = mixture[0]
    at_sum = held_alone(np.full_like(p, p.sum()), *mixture[1:])
    times = mole_fraction_capacity(p, at_sum) * RT / p
    assert sum_rule_time(times) == pytest.approx(sum_rule_time(at_sum * RT / p.sum()), rel=1e-12)


def test_proportionate_capacity():
    assert proportionate_capacity([3.0, 1.0]) == pytest.approx([9 / 4, 1 / 4])
    assert proportionate_capacity([3.0, 0.0]) == pytest.approx([3.0, 0.0])
    assert proportionate_capacity([0.0, 0.0]) == pytest.approx([0.0, 0.0])


@given(st.lists(st.floats(0.0, 0.999), min_size=2, max_size=5))
def test_doong_yang_solves_its_equations(filling):
    theta = np.array(filling)
    volume = doong_yang_capacity(theta, 0.45)
    assert volume == pytest.approx((0.45 - (volume.sum() - volume)) * theta, abs=1e-12)
    assert volume.sum() <= 0.45 * (1 + 1e-12)


def test_doong_yang_of_two_and_of_a_full_carbon():
    one, two = 0.6, 0.3
    assert doong_yang_capacity([one, two])[0] == pytest.approx(one * (1 - two) / (1 - one * two), rel=1e-12)
    assert doong_yang_capacity([1.0, 0.3]) == pytest.approx([1.0, 0.0], abs=1e-12)
    assert doong_yang_capacity([[0.5, 0.5], [0.5, 0.0]], [0.4, 0.5]) == pytest.approx(
        np.array([[0.4 / 3, 0.4 / 3], [0.25, 0.0]])
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: sum_rule_time([]), "times_at_sum must be finite times"),
        (lambda: sum_rule_time([1.0, np.nan]), "times_at_sum must be finite times"),
        (lambda: guidance_time([1.0, 2.0], [1.0]), "has 2 components"),
        (lambda: proportionate_capacity([1.0, -1.0]), "single_capacity must be finite"),
        (lambda: mole_fraction_capacity([0.0, 0.0], [1.0, 1.0]), "0 for every component"),
        (lambda: doong_yang_capacity([0.5, 1.2]), "single_filling = 1.2"),
    ],
)
def test_bad_input_of_a_rule_is_named(call, message):
    with pytest.raises(DomainError, match=message):
        call()
