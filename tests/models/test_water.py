"""Water isotherms start at nothing, never fall, keep below their limit; the curves between carbons keep their order."""

from __future__ import annotations

import numpy as np
import pytest
from chemicals.iapws import iapws95_Psat
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from respcalc.core.errors import DomainError
from respcalc.models import water
from respcalc.models.constants import GAS_CONSTANT

HUMIDITIES = np.linspace(0.0, 1.0, 401)
DAMPNESS = np.linspace(-1.0, 1.0, 21)

# --- values worked out beforehand from the printed equations, for parameters chosen as illustrations


@pytest.mark.parametrize(
    ("model", "parameters", "expected"),
    [
        (
            water.dubinin_astakhov_water,
            {"temperature": 298.15, "saturation_uptake": 0.40, "water_energy": 1380.0, "astakhov_exponent": 5},
            {0.3: 0.000, 0.4: 0.000, 0.5: 0.020, 0.6: 0.209, 0.7: 0.359, 0.8: 0.396, 0.9: 0.400},
        ),
        (
            water.dubinin_astakhov_water,
            {"temperature": 298.15, "saturation_uptake": 0.40, "water_energy": 1500.0, "astakhov_exponent": 3},
            {0.4: 0.012, 0.5: 0.089, 0.6: 0.219, 0.7: 0.326, 0.8: 0.380, 0.9: 0.398},
        ),
        (
            water.qi_hay_rood_water,
            {"saturation_uptake": 0.40, "filling_steepness": 20, "half_filling_humidity": 0.60},
            {0.3: 0.001, 0.4: 0.007, 0.5: 0.048, 0.6: 0.200, 0.7: 0.352, 0.8: 0.393, 0.9: 0.399},
        ),
        (
            water.dubinin_serpinsky_water,
            {"primary_uptake": 0.5 * 0.018015, "growth_ratio": 1.75, "site_loss": 0.026 / 0.018015},
            {0.3: 0.010, 0.4: 0.019, 0.5: 0.042, 0.6: 0.092, 0.7: 0.158, 0.8: 0.218, 0.9: 0.267},
        ),
        (
            water.cooperative_water,
            {"saturation_uptake": 0.40, "primary_site_constant": 0.02, "side_constant": 1.75},
            {0.3: 0.010, 0.4: 0.028, 0.5: 0.094, 0.6: 0.2445, 0.7: 0.338, 0.8: 0.369, 0.9: 0.381},
        ),
        (
            water.do_do_water,  # in mmol a gram
            {"primary_uptake": 0.25, "primary_site_constant": 8, "saturation_uptake": 20, "cluster_constant": 30,
             "cluster_size": 12},
            {0.4: 5.1, 0.5: 10.1, 0.6: 14.6, 0.8: 19.1},
        ),
    ],
)  # fmt: skip
def test_known_values(model, parameters, expected):
    off = 0.06 if max(expected.values()) > 1 else 0.0006
    for humidity, uptake in expected.items():
        assert model.si(relative_humidity=humidity, **parameters) == pytest.approx(uptake, abs=off)


# --- each isotherm

ISOTHERMS = {
    water.dubinin_astakhov_water: {
        "temperature": st.floats(283, 323),
        "saturation_uptake": st.floats(0.1, 0.6),
        "water_energy": st.floats(800, 3000),
        "astakhov_exponent": st.floats(1, 9),
    },
    water.dubinin_serpinsky_water: {
        "primary_uptake": st.floats(1e-4, 0.15),
        "growth_ratio": st.floats(0.9, 3),
        "site_loss": st.floats(0.5, 6),
    },
    water.cooperative_water: {
        "saturation_uptake": st.floats(0.1, 0.6),
        "primary_site_constant": st.floats(1e-4, 2),
        "side_constant": st.floats(0.4, 2.5),
    },
    water.do_do_water: {
        "primary_uptake": st.floats(1e-3, 0.1),
        "primary_site_constant": st.floats(0.01, 100),
        "saturation_uptake": st.floats(0.1, 0.6),
        "cluster_constant": st.floats(0.5, 100),
        "cluster_size": st.floats(1, 20),
    },
    water.qi_hay_rood_water: {
        "saturation_uptake": st.floats(0.1, 0.6),
        "filling_steepness": st.floats(2, 40),
        "half_filling_humidity": st.floats(0.2, 1),
    },
}
each_isotherm = pytest.mark.parametrize("model", ISOTHERMS, ids=lambda m: m.__name__)


@each_isotherm
@given(data=st.data())
def test_uptake_never_falls_with_humidity_and_keeps_below_its_limit(model, data):
    parameters = data.draw(st.fixed_dictionaries(ISOTHERMS[model]))
    uptake = model.si(relative_humidity=HUMIDITIES, **parameters)
    assert np.all(np.diff(uptake) >= -1e-15)
    limit = {
        "dubinin_serpinsky_water": lambda p: 1 / p["site_loss"],
        "do_do_water": lambda p: p["saturation_uptake"] + p["primary_uptake"] * p["cluster_size"],
    }.get(model.__name__, lambda p: p["saturation_uptake"])(parameters)
    assert uptake[-1] <= limit
    if model is water.qi_hay_rood_water:  # the logistic form has a remainder in dry air
        assert uptake[0] > 0
    else:
        assert uptake[0] == pytest.approx(0, abs=1e-12)


@given(st.fixed_dictionaries(ISOTHERMS[water.dubinin_serpinsky_water]), st.floats(0.01, 1))
def test_the_root_taken_solves_the_printed_formula(parameters, humidity):
    a0, c, k = (parameters[name] for name in ("primary_uptake", "growth_ratio", "site_loss"))
    held = water.dubinin_serpinsky_water.si(relative_humidity=humidity, **parameters)

    def printed(a):
        return a - humidity * c * (a0 + a) * (1 - k * a)

    assert held == pytest.approx(brentq(printed, 0.0, 1 / k, xtol=1e-15, rtol=1e-13), rel=1e-8, abs=1e-12)


def test_no_isotherm_without_loss_of_sites():
    with pytest.raises(DomainError, match="site_loss = 0 is not possible"):
        water.dubinin_serpinsky_water(
            relative_humidity="60 %", primary_uptake="0.01 g/g", growth_ratio=1.75, site_loss=0
        )


@given(st.fixed_dictionaries(ISOTHERMS[water.do_do_water]), st.floats(0.01, 0.99), st.integers(6, 20))
def test_the_second_term_as_printed_is_the_short_one(parameters, humidity, size):
    parameters = parameters | {"cluster_size": size}
    n = np.arange(1, size + 1)
    site, pore = parameters["primary_site_constant"], parameters["cluster_constant"]
    first = parameters["primary_uptake"] * site * np.sum(n * humidity**n) / (1 + site * np.sum(humidity**n))
    late = humidity ** np.arange(6, size + 1)
    early = humidity ** np.arange(1, size - 4)
    second = parameters["saturation_uptake"] * pore * late.sum() / (pore * late.sum() + early.sum())
    assert water.do_do_water.si(relative_humidity=humidity, **parameters) == pytest.approx(first + second, rel=1e-9)


def test_a_cluster_size_between_whole_numbers_is_between():
    def at(size):
        return water.do_do_water.si(
            relative_humidity=0.9, primary_uptake=0.03, primary_site_constant=10.0, saturation_uptake=0.3,
            cluster_constant=10.0, cluster_size=size,
        )  # fmt: skip

    assert at(7.0) < at(7.4) < at(8.0)
    assert list(at(np.array([7.0, 7.4, 8.0]))) == pytest.approx([at(7.0), at(7.4), at(8.0)])


def test_cooperative_filling_at_half_when_water_likes_water_as_saturated_air():
    """With K1 h = 1 the formula gives exactly one half, whatever the primary sites."""
    for primary in (0.001, 0.1, 10.0):
        half = water.cooperative_water.si(
            relative_humidity=0.5, saturation_uptake=0.4, primary_site_constant=primary, side_constant=2.0
        )
        assert half == pytest.approx(0.2)


# --- between carbons


def test_the_curves_start_at_nothing_never_fall_and_never_overfill():
    for dampness in DAMPNESS:
        share = water.water_share.si(relative_humidity=HUMIDITIES, carbon_dampness=dampness)
        assert share[0] == 0
        assert np.all(np.diff(share) >= -1e-12)
        assert share[-1] <= 1
        assert np.max(np.diff(share)) < 0.02  # no step


def test_a_damper_carbon_holds_no_less_at_any_humidity():
    share = water.water_share.si(relative_humidity=HUMIDITIES[:, None], carbon_dampness=DAMPNESS[None, :])
    assert np.all(np.diff(share, axis=1) >= -1e-12)
    assert np.all(np.diff(share[1:200], axis=1) > 0)


@pytest.mark.parametrize(
    ("humidity", "driest", "typical", "dampest"),
    [(0.3, 0.02, 0.05, 0.21), (0.5, 0.08, 0.20, 0.51), (0.65, 0.23, 0.46, 0.98), (0.85, 0.57, 0.80, 1.0)],
)
def test_shares_of_the_pores(humidity, driest, typical, dampest):
    got = water.water_share.si(relative_humidity=humidity, carbon_dampness=np.array([-1.0, 0.0, 1.0]))
    assert list(got) == pytest.approx([driest, typical, dampest], abs=0.01)


def test_uptake_is_the_share_of_the_pores_as_liquid():
    arguments = {"relative_humidity": "70 %", "carbon_dampness": 0.5}
    share = water.water_share(**arguments).m_as("")
    held = water.water_uptake(**arguments, micropore_volume="0.5 cm3/g").m_as("g/g")
    assert held == pytest.approx(share * 0.5 * 0.997, rel=1e-3)


@pytest.mark.parametrize("dampness", [-1.1, 1.1])
def test_there_is_nothing_beyond_the_bounds_between_carbons(dampness):
    with pytest.raises(DomainError, match="carbon_dampness"):
        water.water_share(relative_humidity="50 %", carbon_dampness=dampness)


# --- how soon


def test_humid_air_at_25_degrees():
    got = water.absolute_humidity.si(
        relative_humidity=1.0, saturation_pressure=iapws95_Psat(298.15), temperature=298.15
    )
    assert got == pytest.approx(23.04e-3, rel=1e-3)  # saturated air


def test_conditioning_of_certification_tests():
    """Six hours at 25 L/min and 85 % humidity bring about eleven times what 45 g of carbon can hold."""
    c = water.absolute_humidity.si(relative_humidity=0.85, saturation_pressure=iapws95_Psat(298.15), temperature=298.15)
    held = water.water_uptake.si(relative_humidity=0.85, carbon_dampness=0.0, micropore_volume=0.454e-3)
    seconds = water.water_front_time.si(
        water_uptake=held, sorbent_mass=0.045, absolute_humidity=c, flow_rate=25e-3 / 60
    )
    brought = c * 25e-3 / 60 * 6 * 3600
    assert brought == pytest.approx(0.176, rel=0.01)
    assert 6 * 3600 / seconds == pytest.approx(brought / (held * 0.045))
    assert 6 * 3600 / seconds == pytest.approx(10.8, abs=0.2)


@given(st.floats(0.05, 1), st.floats(0.1, 0.9))
def test_the_front_time_is_a_bound_for_equilibrium_stages(humidity, start):
    """A row of well-stirred stages in equilibrium holds no more than the bound says, at any moment."""
    stages, steps = 15, 400
    held = water.water_uptake.si(relative_humidity=humidity, carbon_dampness=0.0, micropore_volume=0.454e-3)
    c = humidity * iapws95_Psat(298.15) * 18.015e-3 / (GAS_CONSTANT * 298.15)
    flow, mass = 5e-4, 0.045
    total = water.water_front_time.si(water_uptake=held, sorbent_mass=mass, absolute_humidity=c, flow_rate=flow)
    grid = np.linspace(0, humidity, 200)
    curve = water.water_uptake.si(relative_humidity=grid, carbon_dampness=0.0, micropore_volume=0.454e-3)
    load, step = np.zeros(stages), total * (0.3 + start) / steps
    for done in range(1, steps + 1):
        inlet = c
        for place in range(stages):
            outlet = c / humidity * np.interp(load[place], curve, grid)
            load[place] += flow * max(inlet - outlet, 0.0) * step * stages / mass
            inlet = min(inlet, outlet)
        assert load.mean() <= held * min(1.0, done * step / total) * (1 + 1e-9)


def test_dry_air_brings_no_water():
    with pytest.raises(DomainError, match="absolute_humidity = 0 g/m3"):
        water.water_front_time(
            water_uptake="0.3 g/g", sorbent_mass="45 g", absolute_humidity="0 g/m3", flow_rate="25 L/min"
        )


def test_equal_cluster_sizes_in_an_array_give_an_array():
    """Found by many random cases: equal whole sizes never entered a sum of their own shape."""
    sizes = np.array([4.0, 4.0, 4.0])
    got = water.do_do_water.si(
        relative_humidity=0.5, primary_uptake=0.01, primary_site_constant=8.0, saturation_uptake=0.3,
        cluster_constant=30.0, cluster_size=sizes,
    )  # fmt: skip
    assert got.shape == (3,)
    assert np.ptp(got) == 0
