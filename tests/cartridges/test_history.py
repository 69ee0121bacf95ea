"""Water on a cartridge before use: what air can have brought it, what it may hold, and what is refused."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import Quantity
from respcalc.cartridges import SEALED, CarbonHistory, describe_history
from respcalc.core.errors import CartridgeError, DomainError, UnitsError

WORN = {
    "drawn_time": "20 min", "flow_rate": "25 L/min", "temperature": "25 degC", "saturation_pressure": "3.170 kPa",
    "sorbent_mass": "45 g", "micropore_volume": "0.454 cm3/g",
}  # fmt: skip


def share(**given_):
    return describe_history(**given_).water_share.value


# --- sealed, and open for long


def test_sealed_holds_no_water_and_is_not_damp():
    assert SEALED.water_share.value == 0.0
    assert not SEALED.damp
    assert SEALED.water_share.kind == "assumed"
    assert "kept sealed until use" in SEALED.water_share.note


@pytest.mark.parametrize(("humidity", "filled"), [("30 %", 0.049), ("50 %", 0.204), ("65 %", 0.464), ("85 %", 0.798)])
def test_open_for_long_it_is_as_damp_as_a_typical_carbon_in_that_air(humidity, filled):
    found = describe_history(dampest_air=humidity)
    assert found.water_share.value == pytest.approx(filled, abs=0.0006)
    assert found.damp
    assert found.water_share.kind == "computed"
    assert found.water_share.source == "water_on_carbon_study"
    assert found.water_share.note == f"as damp as air of {humidity}, typical carbon"


def test_open_in_bone_dry_air_is_as_sealed_but_not_assumed():
    dry = describe_history(dampest_air="0 %")
    assert dry.water_share.value == 0.0
    assert not dry.damp
    assert describe_history(dampest_air="0 %", **WORN).water_share.value == 0.0


def test_a_history_is_frozen_and_compares_by_value():
    found = describe_history(dampest_air="80 %")
    assert found == describe_history(dampest_air=0.80)
    assert isinstance(found, CarbonHistory)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.water_share = SEALED.water_share


def test_the_units_it_is_written_in_do_not_matter():
    there = share(dampest_air="85 %", **WORN)
    other = WORN | {
        "drawn_time": Quantity(1 / 3, "h"), "flow_rate": Quantity(1.5, "m**3/h"), "temperature": "77 degF",
        "saturation_pressure": "31.70 hPa", "sorbent_mass": "0.045 kg", "micropore_volume": Quantity(0.454, "L/kg"),
    }  # fmt: skip
    assert share(dampest_air=Quantity(85, "percent"), **other) == pytest.approx(there, rel=1e-9)


# --- worn for a short time


def brought(minutes, litres, humidity, pascal, kelvin):
    """Grams of water in the air drawn in."""
    return minutes * litres * 1e-3 * humidity * pascal * 18.015 / (8.314462618 * kelvin)


def test_a_short_wear_by_hand():
    """45 g, 25 L/min, 25 degC, 85 % RH: 19.6 g/m3, 0.49 g/min; 45 g hold 0.362 g/g of it when they are damp.

    Typical carbon at 85 %: Do and Do's isotherm with S0 0.0279, Kf 19.1, C 0.929, K 6.23, written out.
    """
    h = 0.85
    powers = [h**n for n in range(1, 11)]
    sites = 0.0279 * 19.1 * sum(n * p for n, p in enumerate(powers, 1)) / (1 + 19.1 * sum(powers))
    filled = sites + 0.929 * 6.23 * h**5 / (1 + 6.23 * h**5)
    held = filled * 0.454 * 45 * 18.015 / 18.07  # g
    for minutes in (1, 5, 10, 20, 30):
        grams = brought(minutes, 25, h, 3170.0, 298.15)
        assert grams < held
        expected = filled * grams / held
        assert share(dampest_air="85 %", **WORN | {"drawn_time": f"{minutes} min"}) == pytest.approx(expected, rel=1e-6)
    assert share(dampest_air="85 %", **WORN) == pytest.approx(0.481, abs=0.001)
    full = held / brought(1, 25, h, 3170.0, 298.15)
    assert full == pytest.approx(33.2, abs=0.1)
    for minutes in (full * 1.000001, 60, 480):
        assert share(dampest_air="85 %", **WORN | {"drawn_time": f"{minutes!r} min"}) == share(dampest_air="85 %")


def test_the_water_that_is_counted_is_never_more_than_the_air_brought():
    """In grams: the share of the pores, as liquid."""
    for humidity in (0.3, 0.6, 0.9, 1.0):
        for minutes in (0.5, 3, 15, 60, 300):
            one = share(dampest_air=humidity, **WORN | {"drawn_time": f"{minutes} min"})
            grams = one * 0.454 * 45 * 18.015 / 18.07
            assert grams <= brought(minutes, 25, humidity, 3170.0, 298.15) * (1 + 1e-6)


def test_a_short_wear_says_so():
    note = describe_history(dampest_air="85 %", **WORN).water_share.note
    assert note == "as damp as air of 85 %, typical carbon, of which 20 min of it can have brought this much"
    long = describe_history(dampest_air="85 %", **WORN | {"drawn_time": "8 h"}).water_share.note
    assert long == "as damp as air of 85 %, typical carbon"


def test_no_time_at_all_brings_nothing():
    assert not describe_history(dampest_air="85 %", **WORN | {"drawn_time": "0 min"}).damp


# --- monotone in everything

numbers = st.fixed_dictionaries(
    {
        "dampest_air": st.one_of(st.just(0.0), st.floats(1e-6, 1.0)),
        "drawn_time": st.floats(0.1, 600.0),
        "flow_rate": st.floats(5.0, 100.0),
        "temperature": st.floats(0.0, 50.0),
        "saturation_pressure": st.floats(0.7, 12.0),
        "sorbent_mass": st.floats(15.0, 300.0),
        "micropore_volume": st.floats(0.2, 0.8),
    }
)
UNITS = {
    "drawn_time": "min", "flow_rate": "L/min", "temperature": "degC", "saturation_pressure": "kPa",
    "sorbent_mass": "g", "micropore_volume": "cm3/g",
}  # fmt: skip


def worn_share(values):
    given_ = {name: f"{values[name]!r} {unit}" for name, unit in UNITS.items()}
    return share(dampest_air=values["dampest_air"], **given_)


@pytest.mark.parametrize(
    ("what", "more", "sign"),
    [
        ("dampest_air", lambda x, u: x + u * (1 - x), 1),
        ("drawn_time", lambda x, u: x * (1 + u), 1),
        ("flow_rate", lambda x, u: x * (1 + u), 1),
        ("saturation_pressure", lambda x, u: x * (1 + u), 1),
        ("temperature", lambda x, u: min(50.0, x + 20 * u), -1),  # at one saturation pressure: thinner gas
        ("sorbent_mass", lambda x, u: x * (1 + u), -1),
        ("micropore_volume", lambda x, u: x * (1 + u), -1),
    ],
)
@given(values=numbers, step=st.floats(0.0, 1.0))
def test_more_air_brings_no_less_and_more_carbon_holds_no_greater_share(what, more, sign, values, step):
    before, after = worn_share(values), worn_share(values | {what: more(values[what], step)})
    assert 0.0 <= after <= 1.0
    assert sign * (after - before) >= -1e-12


@given(values=numbers)
def test_worn_is_never_damper_than_open_for_ever(values):
    assert worn_share(values) <= share(dampest_air=values["dampest_air"])


# --- refused


@pytest.mark.parametrize("missing", list(WORN))
def test_five_of_the_six_are_refused_by_name(missing):
    with pytest.raises(CartridgeError) as refused:
        describe_history(dampest_air="80 %", **{k: v for k, v in WORN.items() if k != missing})
    text = str(refused.value)
    assert text.startswith(f"{missing}: missing; give all of")
    assert all(name in text for name in WORN)


@pytest.mark.parametrize("only", list(WORN))
def test_one_of_the_six_names_the_other_five(only):
    with pytest.raises(CartridgeError) as refused:
        describe_history(dampest_air="80 %", **{only: WORN[only]})
    named = str(refused.value).split(": missing")[0].split(", ")
    assert sorted(named) == sorted(set(WORN) - {only})


@pytest.mark.parametrize(
    ("bad", "error", "says"),
    [
        (80, DomainError, ["dampest_air = 8000 %", 'write "80 %"']),
        ("80", DomainError, ["dampest_air = 8000 %", 'write "80 %"']),
        ("101 %", DomainError, ["dampest_air = 101 %", "0 up to 100 %"]),
        ("-1 %", DomainError, ["dampest_air = -1 %"]),
        ("damp", UnitsError, ["dampest_air = 'damp'"]),
        ("70-80 %", UnitsError, ["dampest_air", "range"]),
        ("18 g/m3", UnitsError, ["dampest_air = '18 g/m3'"]),
        (float("nan"), DomainError, ["dampest_air must be a finite number"]),
        (True, UnitsError, ["dampest_air", "truth value"]),
        (["80 %", "90 %"], DomainError, ["dampest_air: 2 values", "one value"]),
        (None, UnitsError, ["dampest_air = None: a value is needed", 'dampest_air="50 %"']),
    ],
)
def test_what_is_no_humidity_is_refused(bad, error, says):
    with pytest.raises(error) as refused:
        describe_history(dampest_air=bad)
    assert all(text in str(refused.value) for text in says), str(refused.value)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"drawn_time": 20}, "bare number"),
        ({"drawn_time": "20"}, "unit is missing"),
        ({"drawn_time": "-5 min"}, "-5 min"),
        ({"flow_rate": "25 g"}, "L/min"),
        ({"flow_rate": "0 L/min"}, "flow_rate = 0 L/min"),
        ({"temperature": "298"}, "unit is missing"),
        ({"temperature": "90 degC"}, "temperature = 90 degC"),
        ({"saturation_pressure": "0 kPa"}, "saturation_pressure = 0"),
        ({"sorbent_mass": "45"}, "unit is missing"),
        ({"sorbent_mass": "0 g"}, "sorbent_mass = 0"),
        ({"micropore_volume": "0 cm3/g"}, "micropore_volume = 0"),
        ({"micropore_volume": "0.454"}, "unit is missing"),
    ],
)
def test_what_is_no_wear_is_refused_by_name(change, says):
    with pytest.raises((UnitsError, DomainError)) as refused:
        describe_history(dampest_air="85 %", **WORN | change)
    assert says in str(refused.value)
    assert next(iter(change)) in str(refused.value)


def test_all_bad_units_come_at_once():
    with pytest.raises(UnitsError) as refused:
        describe_history(dampest_air="damp", **WORN | {"drawn_time": 20, "sorbent_mass": "45"})
    assert len(refused.value.problems) == 3
    for name in ("dampest_air", "drawn_time", "sorbent_mass"):
        assert any(p.startswith(f"{name} = ") and f"{name}=" in p for p in refused.value.problems)
