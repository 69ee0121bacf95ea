"""Limits and identities of the breakthrough equations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from respcalc.core.errors import DomainError
from respcalc.models.breakthrough import (
    bohart_adams_penetration,
    bohart_adams_time,
    critical_bed_mass,
    stoichiometric_time,
    transfer_units,
    wheeler_jonas_time,
)

# toluene, 1000 ppm, 25 degC, 30 g of carbon, 30 L/min
BASE = {
    "capacity": 0.3332,
    "sorbent_mass": 0.030,
    "mass_concentration": 3.766e-3,
    "flow_rate": 30e-3 / 60,
    "bulk_density": 450.0,
    "rate_coefficient": 3865.0 / 60,
}
MINUTE = 60.0


def bed(units):
    """The base bed with its rate coefficient set so that it is *units* transfer units long."""
    return BASE | {"rate_coefficient": units * BASE["bulk_density"] * BASE["flow_rate"] / BASE["sorbent_mass"]}


def stoichiometric(numbers):
    return stoichiometric_time.si(**{n: numbers[n] for n in stoichiometric_time.card.arguments})


beds = st.builds(bed, st.floats(0.05, 60))
exits = st.floats(1e-4, 0.49)


def test_the_base_case():
    # stoichiometric 88.5; 41.138 min exact and 41.140 min reaction-kinetic at 1 %; K = 8.59
    assert stoichiometric(BASE) / MINUTE == pytest.approx(88.47, abs=0.02)
    assert bohart_adams_time.si(**BASE, exit_fraction=0.01) / MINUTE == pytest.approx(41.138, abs=0.01)
    assert wheeler_jonas_time.si(**BASE, exit_fraction=0.01) / MINUTE == pytest.approx(41.140, abs=0.01)
    numbers = {n: BASE[n] for n in transfer_units.card.arguments}
    assert transfer_units.si(**numbers) == pytest.approx(8.589, abs=0.001)


def test_five_transfer_units():
    tau = stoichiometric(BASE)
    assert bohart_adams_time.si(**bed(5.0), exit_fraction=0.01) / tau == pytest.approx(0.0796, abs=5e-5)
    assert wheeler_jonas_time.si(**bed(5.0), exit_fraction=0.01) / tau == pytest.approx(0.0810, abs=5e-5)


@given(beds, exits)
def test_the_exact_form_is_never_longer(numbers, exit_fraction):
    exact = bohart_adams_time.si(**numbers, exit_fraction=exit_fraction)
    approximate = wheeler_jonas_time.si(**numbers, exit_fraction=exit_fraction)
    assert 0 <= exact <= approximate + 1e-12 * stoichiometric(numbers)
    assert exact <= stoichiometric(numbers)


@given(st.floats(40, 1e4), exits)
def test_the_two_forms_meet_in_long_beds(units, exit_fraction):
    exact = bohart_adams_time.si(**bed(units), exit_fraction=exit_fraction)
    assert exact == pytest.approx(wheeler_jonas_time.si(**bed(units), exit_fraction=exit_fraction), rel=1e-12)


@given(beds, exits)
def test_the_curve_passes_through_the_breakthrough_time(numbers, exit_fraction):
    time = bohart_adams_time.si(**numbers, exit_fraction=exit_fraction)
    assume(time > 0)
    assert bohart_adams_penetration.si(worn_time=time, **numbers) == pytest.approx(exit_fraction, rel=1e-9)


def test_a_bed_too_short_breaks_through_at_once_and_never_before():
    for units in (1e-6, 0.1, 1.0, 3.0):
        assert bohart_adams_time.si(**bed(units), exit_fraction=0.01) == 0.0
        assert wheeler_jonas_time.si(**bed(units), exit_fraction=0.01) == 0.0
    times = bohart_adams_time.si(**bed(np.array([1.0, 4.0, 6.0])), exit_fraction=0.01)
    assert times[0] == 0.0
    assert 0 <= times[1] < times[2]


def test_the_critical_mass_is_where_the_time_is_zero():
    names = critical_bed_mass.card.arguments
    for exit_fraction in (1e-4, 0.01, 0.1, 0.4):
        numbers = BASE | {"exit_fraction": exit_fraction}
        mass = critical_bed_mass.si(**{n: numbers[n] for n in names})
        assert wheeler_jonas_time.si(**numbers | {"sorbent_mass": 0.999 * mass}) == 0.0
        assert wheeler_jonas_time.si(**numbers | {"sorbent_mass": 1.001 * mass}) > 0.0
    assert critical_bed_mass.si(**{n: (BASE | {"exit_fraction": 0.7})[n] for n in names}) == 0.0


def second_term(**changes):
    numbers = BASE | {"exit_fraction": 0.01} | changes
    return stoichiometric(numbers) - wheeler_jonas_time.si(**numbers)


def test_the_second_term_is_not_one_of_the_misprints():
    # in print with kv in the numerator, or without the capacity, or with the mass and the flow in it
    base = second_term()
    assert base > 0
    assert second_term(rate_coefficient=2 * BASE["rate_coefficient"]) == pytest.approx(base / 2)
    assert second_term(sorbent_mass=2 * BASE["sorbent_mass"]) == pytest.approx(base)
    assert second_term(flow_rate=BASE["flow_rate"] / 2) == pytest.approx(base)
    assert second_term(capacity=2 * BASE["capacity"]) == pytest.approx(2 * base)
    assert second_term(mass_concentration=BASE["mass_concentration"] / 2) == pytest.approx(2 * base)
    by_hand = 0.3332 * 0.45 / (3865 * 3.766e-6) * np.log(99)  # g, cm3 and min
    assert base / MINUTE == pytest.approx(by_hand)


# --- the curve


@pytest.mark.parametrize("units", [1e-3, 1.0, 50.0, 1e3, 1e4])
def test_the_curve_stays_between_0_and_1_without_overflow(units):
    numbers = bed(units)
    one = numbers["capacity"] * numbers["bulk_density"] / (numbers["rate_coefficient"] * numbers["mass_concentration"])
    elapsed = np.concatenate([[0.0], np.logspace(-6, 6, 400), units * np.linspace(0.9, 1.1, 41)])
    with np.errstate(over="raise", invalid="raise", divide="raise"):
        exit_share = bohart_adams_penetration.si(worn_time=one * np.sort(elapsed), **numbers)
    assert np.all((exit_share >= 0) & (exit_share <= 1))
    assert np.all(np.diff(exit_share) >= 0)
    assert exit_share[0] == pytest.approx(np.exp(-units), rel=1e-9)
    assert exit_share[-1] == pytest.approx(1.0)


@pytest.mark.parametrize("units", [0.7, 5.0, 12.0])
def test_the_curve_solves_the_equations_of_the_bed(units):
    """Plug flow and irreversible uptake, dc/dz = -c f and df/dT = -c f, by a plain marching scheme."""
    steps, elapsed = 1500, 1.4 * units + 2
    step = elapsed / steps
    free = np.ones(1501)  # share of sites still free, along the bed
    cells = units / (free.size - 1)
    exits = []
    for _ in range(steps):
        middle = free
        for _ in range(2):  # midpoint: the second pass uses the free sites half a step on
            depth = np.concatenate([[0.0], np.cumsum((middle[1:] + middle[:-1]) / 2) * cells])
            middle = free * np.exp(-np.exp(-depth) * step / 2)
        exits.append(np.exp(-depth[-1]))
        free = free * np.exp(-np.exp(-depth) * step)
    numbers = bed(units)
    one = numbers["capacity"] * numbers["bulk_density"] / (numbers["rate_coefficient"] * numbers["mass_concentration"])
    times = one * step * (np.arange(steps) + 0.5)
    assert bohart_adams_penetration.si(worn_time=times, **numbers) == pytest.approx(np.array(exits), abs=2e-4)


def test_one_is_no_exit_fraction():
    text = {
        "capacity": "0.3332 g/g",
        "sorbent_mass": "30 g",
        "mass_concentration": "3766 mg/m3",
        "flow_rate": "30 L/min",
        "bulk_density": "0.45 g/cm3",
        "rate_coefficient": "3865 1/min",
    }
    with pytest.raises(DomainError, match='write "1 %"'):
        bohart_adams_time(**text, exit_fraction=1)
