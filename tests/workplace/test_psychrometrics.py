"""Humidity in whatever measure the site has: what is read, what disagrees, what is refused."""

from __future__ import annotations

import json
import pickle

import numpy as np
import pytest
from chemicals.iapws import iapws95_Tsat
from hypothesis import assume, given
from hypothesis import strategies as st

from respcalc import describe_air
from respcalc.core.errors import DomainError, UnitsError
from respcalc.workplace import (
    HUMIDITY_MEASURES,
    water_pressure_from_absolute_humidity,
    water_pressure_from_humidity_ratio,
    water_saturation_pressure,
)
from respcalc.workplace.psychrometrics import most_possible, relative_humidity_from

WARM = {"temperature": "25 degC", "altitude": "0 m"}
ATMOSPHERE = 101325.0
# the same air of 25 degC at sea level, about half saturated
SAME_AIR = {
    "relative_humidity": "50.5 %",
    "dew_point": "14 degC",
    "wet_bulb": "18 degC",
    "humidity_ratio": "10 g/kg",
    "absolute_humidity": "11.6 g/m3",
}
celsius = st.floats(0, 60)
share = st.floats(0, 1)
pressures = st.floats(5e4, 1.1e5)


def humidity(**given_):
    return describe_air(**WARM | given_).relative_humidity.value


# --- one measure is enough


def test_every_measure_is_an_argument_of_its_own():
    assert set(SAME_AIR) == set(HUMIDITY_MEASURES)


@pytest.mark.parametrize("measure", HUMIDITY_MEASURES)
def test_the_same_air_by_every_measure(measure):
    assert humidity(**{measure: SAME_AIR[measure]}) == pytest.approx(0.505, abs=0.005)


@pytest.mark.parametrize("measure", HUMIDITY_MEASURES[1:])
def test_what_was_given_is_kept_beside_what_follows_from_it(measure):
    air = describe_air(**WARM, **{measure: SAME_AIR[measure]})
    names = [d.name for d in air.data()]
    assert names == ["temperature", measure, "relative_humidity", "pressure"]
    assert [d.kind for d in air.data()] == ["given", "given", "computed", "computed"]
    assert f"from {measure} {SAME_AIR[measure]}" in air.relative_humidity.note
    assert "cooler air of this moisture is more humid" in air.relative_humidity.note
    assert air.relative_humidity.source
    assert f"{measure} {SAME_AIR[measure]}, relative_humidity 50." in str(air)
    written = json.loads(json.dumps(air.as_dict()))["values"]
    assert [v["name"] for v in written] == names
    assert written[1]["value"] == pytest.approx(float(SAME_AIR[measure].split()[0]))
    assert pickle.loads(pickle.dumps(air)) == air


def test_relative_humidity_alone_stays_the_users_own():
    air = describe_air(**WARM, relative_humidity="65 %")
    assert (air.relative_humidity.kind, air.relative_humidity.note, air.humidity_given) == ("given", "", ())
    assert str(air) == "temperature 25 degC, relative_humidity 65 %, pressure 101.3 kPa"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"dew_point": "14 degC"}, {"dew_point": "57.2 degF"}),
        ({"wet_bulb": "18 degC"}, {"wet_bulb": "64.4 degF"}),
        ({"wet_bulb": "18 degC"}, {"wet_bulb": "291.15 K", "temperature": "77 degF"}),
        ({"humidity_ratio": "10 g/kg"}, {"humidity_ratio": "0.01 kg/kg"}),
        ({"humidity_ratio": "10 g/kg"}, {"humidity_ratio": "70 gr/lb"}),
        ({"absolute_humidity": "11.6 g/m3"}, {"absolute_humidity": "11600 mg/m3"}),
    ],
)
def test_units_do_not_matter(one, other):
    assert humidity(**one) == pytest.approx(humidity(**other), rel=1e-9)


def test_fahrenheit_saturation_is_no_contradiction():
    assert humidity(temperature="25 degC", dew_point="77 degF") == pytest.approx(1.0, rel=1e-9)
    assert humidity(temperature="25 degC", wet_bulb="77 degF") == pytest.approx(1.0, rel=1e-9)


# --- properties


@given(t=celsius, below=st.floats(0, 60), p=pressures)
def test_a_dew_point_comes_back(t, below, p):
    dew = t - below
    assume(dew > -37)
    found = relative_humidity_from("dew_point", dew + 273.15, temperature=t + 273.15, pressure=p)
    back = iapws95_Tsat(found * water_saturation_pressure.si(temperature=t + 273.15)) - 273.15
    assert back == pytest.approx(dew, abs=1e-6)


@given(t=celsius, p=pressures)
def test_a_wet_bulb_as_warm_as_the_air_is_saturation(t, p):
    found = relative_humidity_from("wet_bulb", t + 273.15, temperature=t + 273.15, pressure=p)
    assert found == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("measure", HUMIDITY_MEASURES[1:])
@given(t=celsius, parts=st.tuples(share, share), p=pressures)
def test_more_of_any_measure_is_more_humid(measure, t, parts, p):
    air = {"temperature": t + 273.15, "pressure": p}
    most = most_possible(measure, **air)
    least = 0.0
    if measure == "dew_point":
        least = 243.15
    elif measure == "wet_bulb":
        least = max(273.15, most - 0.2 * (most - 263.15))  # the wet bulb of dry air is far lower
    low, high = (least + part * (most - least) for part in sorted(parts))
    first, second = (relative_humidity_from(measure, value, **air) for value in (low, high))
    assert 0 <= first <= second <= 1
    if high > low * (1 + 1e-6):
        assert first < second


@given(t=celsius, part=share, p=pressures)
def test_the_ratio_and_the_grams_of_the_same_air_agree(t, part, p):
    air = {"temperature": t + 273.15, "pressure": p}
    for measure in ("humidity_ratio", "absolute_humidity"):
        assert relative_humidity_from(measure, most_possible(measure, **air), **air) == pytest.approx(1.0)
    vapour = part * water_saturation_pressure.si(temperature=t + 273.15)
    ratio = 18.015268 / 28.966 * vapour / (p - vapour)
    grams = vapour * 18.015268e-3 / (8.31446261815324 * (t + 273.15))
    assert water_pressure_from_humidity_ratio.si(humidity_ratio=ratio, pressure=p) == pytest.approx(vapour, abs=1e-9)
    back = water_pressure_from_absolute_humidity.si(absolute_humidity=grams, temperature=t + 273.15)
    assert back == pytest.approx(vapour, abs=1e-9)


@given(t=celsius, depression=st.floats(0, 20), p=st.floats(6e4, 1.05e5))
def test_the_heat_balance_is_on_the_humid_side_of_a_ventilated_psychrometer(t, depression, p):
    """Sprung's coefficient (6.62e-4 per kelvin, from memory), the usual one for a ventilated wick."""
    wet = t - depression
    assume(wet >= 0)
    vapour = water_saturation_pressure.si(temperature=wet + 273.15) - 6.62e-4 * p * depression
    assume(vapour > 0)
    sprung = vapour / water_saturation_pressure.si(temperature=t + 273.15)
    ours = relative_humidity_from("wet_bulb", wet + 273.15, temperature=t + 273.15, pressure=p)
    assert -1e-9 <= ours - sprung < 0.015


def test_the_fit_of_supercooled_water_joins_that_of_water():
    below, above = (water_saturation_pressure.si(temperature=273.15 + d) for d in (-1e-6, 1e-6))
    assert below == pytest.approx(above, rel=1e-6)


@pytest.mark.parametrize("shape", [(0,), (3,), (2, 2)])
def test_saturation_of_an_array(shape):
    kelvin = np.linspace(260, 300, int(np.prod(shape))).reshape(shape)
    found = water_saturation_pressure.si(temperature=kelvin)
    assert found.shape == shape
    assert found.ravel().tolist() == [water_saturation_pressure.si(temperature=t) for t in kelvin.ravel().tolist()]


# --- altitude


def test_the_ratio_means_less_water_and_the_wet_bulb_more_in_thin_air():
    low, high = ({"altitude": h} for h in ("0 m", "3000 m"))
    assert humidity(humidity_ratio="10 g/kg", **high) == pytest.approx(
        humidity(humidity_ratio="10 g/kg", **low) * 70121 / ATMOSPHERE, rel=1e-4
    )
    assert humidity(wet_bulb="18 degC", **high) > humidity(wet_bulb="18 degC", **low) + 0.03
    for measure in ("dew_point", "absolute_humidity"):
        assert humidity(**{measure: SAME_AIR[measure]}, **high) == humidity(**{measure: SAME_AIR[measure]}, **low)


# --- frost and dry air


def test_a_winter_dew_point_is_taken_as_dew_on_the_humid_side():
    air = describe_air(temperature="20 degC", dew_point="-8 degC", altitude="0 m")
    frost = 309.8 / 2339.3  # ice at -8 degC, from memory
    assert 1.05 * frost < air.relative_humidity.value < 1.12 * frost
    assert "supercooled water" in air.relative_humidity.note
    assert "supercooled" not in describe_air(**WARM, dew_point="0 degC").relative_humidity.note


def test_a_dry_room_is_not_refused():
    air = describe_air(temperature="20 degC", dew_point="-60 degC", altitude="0 m")
    assert 0.005 < air.relative_humidity.value < 0.01
    assert "counted as -38 degC" in air.relative_humidity.note
    assert air.humidity_given[0].value == pytest.approx(213.15)


def test_air_below_freezing():
    air = {"temperature": "-10 degC", "altitude": "0 m"}
    assert describe_air(**air, dew_point="-10 degC").relative_humidity.value == 1.0
    assert 0.4 < describe_air(**air, dew_point="-20 degC").relative_humidity.value < 0.46


def test_no_water_at_all():
    assert humidity(humidity_ratio="0 g/kg") == 0.0
    assert humidity(absolute_humidity="1e-6 g/m3") < 1e-6


# --- refusals


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"dew_point": "26 degC"}, ["dew_point = 26 degC is above temperature = 25 degC", '"100 %"']),
        ({"dew_point": "25.1 degC"}, ["dew_point = 25.1 degC is above temperature = 25 degC"]),
        ({"dew_point": "57 F"}, ['write "degF"']),
        ({"dew_point": "-101 degC"}, ["dew_point = -101 degC is not possible", "-100 up to 60 degC"]),
        ({"wet_bulb": "25.5 degC"}, ["wet_bulb = 25.5 degC is above temperature = 25 degC", "read together"]),
        ({"wet_bulb": "-1 degC"}, ["wet_bulb = -1 degC is below 0 degC", "ice", "electronic hygrometer"]),
        ({"wet_bulb": "-3 degC", "temperature": "-2 degC"}, ["wet_bulb = -3 degC is below 0 degC"]),
        ({"wet_bulb": "4 degC"}, ["wet_bulb = 4 degC is below 8", "dry air of temperature = 25 degC", "the wick"]),
        ({"humidity_ratio": "25 g/kg"}, ["humidity_ratio = 25 g/kg is above 20.09 g/kg", "25 degC", '"100 %"']),
        ({"humidity_ratio": "10 %"}, ["humidity_ratio", "'%' is not a unit of mass ratio", '"9.3 g/kg"']),
        ({"humidity_ratio": "-1 g/kg"}, ["humidity_ratio = -1 g/kg is not possible"]),
        ({"absolute_humidity": "25 g/m3"}, ["absolute_humidity = 25 g/m3 is above 23.0", "25 degC"]),
        ({"absolute_humidity": "-1 g/m3"}, ["absolute_humidity = -1 g/m3 is not possible"]),
        ({"absolute_humidity": "11 ppm"}, ["absolute_humidity", "'ppm' is not a unit"]),
        ({"relative_humidity": "101 %"}, ["relative_humidity = 101 % is not possible", "up to 100 %"]),
        ({}, ["relative_humidity, dew_point, wet_bulb", "none is given", '"65 %"']),
        ({"relative_humidity": None}, ["relative_humidity, dew_point, wet_bulb", "none is given"]),
        ({"dew_point": ["10 degC", "12 degC"]}, ["dew_point: 2 values", "the worst"]),
        ({"wet_bulb": float("nan")}, ["wet_bulb"]),
        ({"dew_point": 14}, ["dew_point = 14: a bare number has no unit"]),
    ],
)
def test_refusals_name_field_value_and_way_out(change, says):
    with pytest.raises((DomainError, UnitsError)) as refused:
        describe_air(**WARM | change)
    assert [text for text in says if text not in str(refused.value)] == [], str(refused.value)


def test_saturated_air_out_of_a_table_is_not_called_impossible():
    """Tables print real air, which holds 0.1 to 0.7 % more water than ideal gases."""
    assert humidity(humidity_ratio="20.17 g/kg") == 1.0
    assert humidity(absolute_humidity="23.1 g/m3") == 1.0


# --- more than one measure


def test_the_most_humid_of_what_agrees_counts():
    air = describe_air(**WARM, relative_humidity="49 %", dew_point="14 degC")
    assert air.relative_humidity.value == humidity(dew_point="14 degC")
    assert air.relative_humidity.kind == "computed"
    assert "most humid" in air.relative_humidity.note
    assert [d.name for d in air.humidity_given] == ["relative_humidity as given", "dew_point"]
    assert len({d.name for d in air.data()}) == len(air.data())

    air = describe_air(**WARM, relative_humidity="52 %", dew_point="14 degC")
    assert (air.relative_humidity.value, air.relative_humidity.kind) == (pytest.approx(0.52), "given")
    assert "dew_point = 14 degC (50.4 % RH)" in air.relative_humidity.note
    assert [d.name for d in air.humidity_given] == ["dew_point"]


def test_all_measures_at_once():
    air = describe_air(**WARM, **SAME_AIR)
    each = {measure: humidity(**{measure: text}) for measure, text in SAME_AIR.items()}
    assert air.relative_humidity.value == max(each.values())
    assert len(air.humidity_given) == 5


@pytest.mark.parametrize(
    ("measures", "shown"),
    [
        ({"relative_humidity": "60 %", "dew_point": "10 degC"}, ["relative_humidity = 60 %", "10 degC (38.7 % RH)"]),
        ({"dew_point": "10 degC", "wet_bulb": "18 degC"}, ["(38.7 % RH)", "wet_bulb = 18 degC (50.7 % RH)"]),
        ({"humidity_ratio": "9 g/kg", "absolute_humidity": "12 g/m3"}, ["(45.6 % RH)", "12 g/m3 (52.1 % RH)"]),
    ],
)
def test_measures_that_disagree_are_both_shown(measures, shown):
    with pytest.raises(DomainError, match="disagree by more than 3 % RH") as refused:
        describe_air(**WARM, **measures)
    assert all(text in str(refused.value) for text in [*shown, *measures, "give the one you trust"])


@pytest.mark.parametrize(
    ("given_", "agrees"), [("53.4 %", True), ("53.5 %", False), ("47.5 %", True), ("47.4 %", False)]
)
def test_three_per_cent_of_relative_humidity_is_agreement(given_, agrees):
    both = WARM | {"relative_humidity": given_, "dew_point": "14 degC"}
    if agrees:
        assert describe_air(**both).relative_humidity.value >= humidity(dew_point="14 degC")
        return
    with pytest.raises(DomainError, match="disagree"):
        describe_air(**both)


def test_bad_units_of_several_measures_come_together():
    with pytest.raises(UnitsError) as refused:
        describe_air(**WARM, dew_point=10, wet_bulb="18", humidity_ratio="9 g")
    assert len(refused.value.problems) == 3


# --- what the measures are for


def test_a_breath_measured_warm_and_wet_is_smaller_as_room_air():
    """A minute volume at body temperature, saturated, overstates what a cartridge in cooler air sees."""

    def ambient(t, rh, p=ATMOSPHERE):
        lung = p - water_saturation_pressure.si(temperature=310.15)
        room = p - rh * water_saturation_pressure.si(temperature=t + 273.15)
        return lung / room * (t + 273.15) / 310.15

    common = [ambient(t, rh) for t in (20, 25, 30) for rh in (0.3, 0.5, 0.7)]
    assert min(common) == pytest.approx(0.89, abs=0.01)
    assert max(common) == pytest.approx(0.95, abs=0.01)
    assert all(ambient(t, rh, p) <= 1 for t in range(-20, 38) for rh in (0, 0.5, 1) for p in (7e4, ATMOSPHERE))
    assert 1 < ambient(45, 0.5) < 1.02  # hotter than the body it is the other way round, by little
