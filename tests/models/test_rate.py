"""Rate correlations: printed values, the holds that keep them safe, and the ceiling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.errors import OutsideSourceRange
from respcalc.models.breakthrough import bohart_adams_time
from respcalc.models.rate import (
    film_dispersion_ceiling,
    lodewyckx_vansant_rate,
    wood_lodewyckx_rate,
    wood_stampfer_exit_floor,
    wood_stampfer_rate,
)

MINUTE = 60.0
TOLUENE = 31.12e-6


def per_minute(rate):
    return rate * MINUTE


@pytest.mark.parametrize(("exit_fraction", "rate"), [(0.001, 4834), (0.01, 3865), (0.1, 3199), (0.5, 2763)])
def test_wood_stampfer_at_10_cm_per_second(exit_fraction, rate):
    found = wood_stampfer_rate.si(superficial_velocity=0.1, molar_polarization=TOLUENE, exit_fraction=exit_fraction)
    assert per_minute(found) == pytest.approx(rate, abs=1)


@pytest.mark.parametrize(
    ("speed", "exit_fraction", "rate"), [(0.05, 0.1, 1790), (0.05, 0.01, 2162), (0.2, 0.1, 5277), (0.2, 0.01, 6374)]
)
def test_wood_stampfer_at_other_speeds(speed, exit_fraction, rate):
    found = wood_stampfer_rate.si(superficial_velocity=speed, molar_polarization=TOLUENE, exit_fraction=exit_fraction)
    assert per_minute(found) == pytest.approx(rate, abs=1)


def test_wood_stampfer_is_held_below_its_least_exit_fraction():
    def rate(exit_fraction):
        return wood_stampfer_rate.si(superficial_velocity=0.1, molar_polarization=TOLUENE, exit_fraction=exit_fraction)

    assert rate(1e-5) == rate(1e-8) == rate(1e-4) > rate(2e-4)
    with pytest.warns(OutsideSourceRange, match=r"exit_fraction = 0.001 % is outside 0.01 % to 50 %"):
        called = wood_stampfer_rate(
            superficial_velocity="10 cm/s", molar_polarization="31.12 cm3/mol", exit_fraction="0.001 %"
        )
    assert called.m_as("1/s") == pytest.approx(rate(1e-4))


@given(st.floats(8e-6, 8e-5))
def test_the_exit_floor_is_where_log_over_rate_peaks(polarization):
    floor = wood_stampfer_exit_floor.si(molar_polarization=polarization)
    exits = np.logspace(-4, np.log10(0.45), 4001)
    rate = wood_stampfer_rate.si(superficial_velocity=0.1, molar_polarization=polarization, exit_fraction=exits)
    wave = np.log((1 - exits) / exits) / rate
    peak = exits[np.argmax(wave)]
    assert floor == pytest.approx(peak, rel=5e-3)


@given(st.floats(8e-6, 8e-5), st.floats(0.02, 0.6), st.floats(0, 1), st.floats(0, 1))
def test_with_the_floor_a_stricter_criterion_is_never_met_later(polarization, speed, first, second):
    strict, mild = sorted(10 ** (-4 + 3.6 * share) for share in (first, second))
    floor = wood_stampfer_exit_floor.si(molar_polarization=polarization)
    times = [
        bohart_adams_time.si(
            capacity=0.3,
            sorbent_mass=0.05,
            mass_concentration=3e-3,
            flow_rate=speed * 5e-3,
            bulk_density=450.0,
            rate_coefficient=wood_stampfer_rate.si(
                superficial_velocity=speed, molar_polarization=polarization, exit_fraction=max(wanted, floor)
            ),
            exit_fraction=wanted,
        )
        for wanted in (strict, mild)
    ]
    assert times[0] <= times[1] * (1 + 1e-12)


def test_without_the_floor_it_would_be():
    """Why the floor exists: the bare correlation meets 0.1 % later than 1 %."""
    wave = [
        np.log((1 - x) / x)
        / wood_stampfer_rate.si(superficial_velocity=0.1, molar_polarization=TOLUENE, exit_fraction=x)
        for x in (1e-4, 5e-4)
    ]
    assert wave[0] < wave[1]


@pytest.mark.parametrize(("diameter", "rate"), [(0.6, 19100), (1.0, 8879), (1.27, 6200), (1.8, 3680)])
def test_wood_lodewyckx_by_granule_size(diameter, rate):
    found = wood_lodewyckx_rate.si(
        affinity_coefficient=1.136,
        superficial_velocity=0.1,
        granule_diameter=diameter * 1e-3,
        capacity=0.333,
        molar_mass=92.14e-3,
    )
    assert per_minute(found) == pytest.approx(rate, rel=6e-3)


def test_the_two_correlations_join_at_the_usual_loading():
    common = {"affinity_coefficient": 1.136, "superficial_velocity": 0.1, "granule_diameter": 1e-3}
    short = lodewyckx_vansant_rate.si(**common)
    long = wood_lodewyckx_rate.si(**common, capacity=3.6e-3 * 92.14, molar_mass=92.14e-3)
    assert long == pytest.approx(short, rel=1e-6)


@pytest.mark.parametrize(
    ("speed", "diameter", "ceiling"),
    [(5, 1.0, 4301), (10, 0.6, 13262), (10, 1.0, 6414), (10, 1.5, 3627), (20, 1.0, 9714)],
)
def test_the_ceiling(speed, diameter, ceiling):
    found = film_dispersion_ceiling.si(
        superficial_velocity=speed * 1e-2,
        granule_diameter=diameter * 1e-3,
        void_fraction=0.4,
        diffusivity=0.085e-4,
        kinematic_viscosity=0.155e-4,
    )
    assert per_minute(found) == pytest.approx(ceiling, rel=2e-3)


@given(st.floats(1e-3, 0.6), st.floats(1.001, 3), st.floats(5e-4, 3e-3), st.floats(0.35, 0.5), st.floats(3e-6, 2e-5))
def test_a_faster_flow_never_lengthens_the_bed_at_the_ceiling(speed, faster, diameter, void, diffusivity):
    """The bed counted in transfer units, kv/u, falls with flow, for fine granules and light vapours too."""
    slow, fast = (
        film_dispersion_ceiling.si(
            superficial_velocity=u,
            granule_diameter=diameter,
            void_fraction=void,
            diffusivity=diffusivity,
            kinematic_viscosity=0.155e-4,
        )
        / u
        for u in (speed, faster * speed)
    )
    assert fast <= slow * (1 + 1e-12)


@pytest.mark.parametrize(("diameter", "diffusivity"), [(0.5e-3, 2e-5), (1e-3, 2e-5), (1e-3, 0.85e-5)])
def test_the_ceiling_has_no_bump_at_slow_flow(diameter, diffusivity):
    speeds = np.geomspace(1e-3, 0.6, 3000)
    ceiling = film_dispersion_ceiling.si(
        superficial_velocity=speeds,
        granule_diameter=diameter,
        void_fraction=0.5,
        diffusivity=diffusivity,
        kinematic_viscosity=0.155e-4,
    )
    spread_only = 1 / (1 / ceiling - 1 / film_alone(speeds, diameter, diffusivity))
    assert np.all(np.diff(spread_only / speeds) <= 1e-9 * (spread_only / speeds)[1:])


def film_alone(speed, diameter, diffusivity):
    schmidt, reynolds = 0.155e-4 / diffusivity, speed * diameter / 0.155e-4
    return (2 + 1.1 * np.cbrt(schmidt) * reynolds**0.6) * diffusivity * 6 * 0.5 / diameter**2
