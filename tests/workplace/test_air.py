"""The air and the breathing: what must be said, what is refused."""

from __future__ import annotations

import json
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import Quantity, describe_air
from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.units import Concentration
from respcalc.core.vocabulary import read_amount
from respcalc.workplace import breathing_rate

GOOD = {"temperature": "25 degC", "relative_humidity": "65 %", "altitude": "0 m"}


@pytest.mark.parametrize(
    ("given_", "state"), [({}, "neither is given"), ({"pressure": "1 atm", "altitude": "0 m"}, "both are given")]
)
def test_pressure_or_altitude_one_of_them(given_, state):
    with pytest.raises(DomainError, match=state) as refused:
        describe_air(temperature="25 degC", relative_humidity="50 %", **given_)
    assert 'altitude="0 m"' in str(refused.value)
    assert 'pressure="101.3 kPa"' in str(refused.value)


@pytest.mark.parametrize(
    ("metres", "kpa"), [("0 m", 101.325), ("1000 m", 89.87), ("1500 m", 84.56), ("3000 m", 70.12), ("-400 m", 106.2)]
)
def test_altitude_becomes_the_pressure_of_the_standard_atmosphere(metres, kpa):
    air = describe_air(**GOOD | {"altitude": metres})
    assert air.pressure.value == pytest.approx(kpa * 1000, rel=3e-4)
    assert air.pressure.kind == "computed"
    assert air.pressure.source == "us_standard_atmosphere_1976"
    assert metres in air.pressure.note


def test_feet_and_metres_agree():
    feet, metres = (describe_air(**GOOD | {"altitude": a}).pressure.value for a in ("5000 ft", "1524 m"))
    assert feet == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"temperature": "25 C"}, None),
        ({"temperature": "77 degF"}, None),
        ({"temperature": "298.15 K"}, None),
        ({"temperature": Quantity(25, "degC")}, None),
        ({"temperature": 25}, "temperature"),
        ({"temperature": 298.15}, "temperature"),
        ({"temperature": "298"}, "temperature"),
        ({"temperature": "77 F"}, "temperature"),
        ({"temperature": "25 deg C"}, "temperature"),
        ({"temperature": "61 degC"}, "temperature"),
        ({"temperature": "-21 degC"}, "temperature"),
        ({"temperature": "-300 degC"}, "temperature"),
        ({"temperature": "250 degC"}, "temperature"),
        ({"temperature": ["25 degC"]}, "temperature"),
        ({"temperature": ["20 degC", "30 degC"]}, "temperature"),
        ({"temperature": None}, "temperature"),
        ({"temperature": "15-30 degC"}, "temperature"),
        ({"relative_humidity": 0.65}, None),
        ({"relative_humidity": 65}, "relative_humidity"),
        ({"relative_humidity": "65"}, "relative_humidity"),
        ({"relative_humidity": 1.2}, "relative_humidity"),
        ({"relative_humidity": "120 %"}, "relative_humidity"),
        ({"relative_humidity": "-1 %"}, "relative_humidity"),
        ({"relative_humidity": "85 %RH"}, "relative_humidity"),
        ({"relative_humidity": float("nan")}, "relative_humidity"),
        ({"relative_humidity": True}, "relative_humidity"),
        ({"relative_humidity": [0.5, 0.6]}, "relative_humidity"),
        ({"altitude": 0}, "altitude"),
        ({"altitude": "7000 m"}, "altitude"),
        ({"altitude": "-900 m"}, "altitude"),
        ({"altitude": "1000"}, "altitude"),
        ({"oxygen": 20.9}, "oxygen"),
        ({"oxygen": "20.9"}, "oxygen"),
        ({"oxygen": "20.9 %"}, None),
        ({"oxygen": 0.209}, None),
        ({"oxygen": "unknown"}, "oxygen"),
    ],
)
def test_each_value_is_read_or_refused_by_name(change, named):
    if named is None:
        assert describe_air(**GOOD | change) == describe_air(**GOOD | change)
        return
    with pytest.raises((DomainError, UnitsError), match=rf"^{named}(:| =| must)"):
        describe_air(**GOOD | change)


def test_humidity_65_is_told_what_to_write():
    with pytest.raises(DomainError, match="65 %"):
        describe_air(**GOOD | {"relative_humidity": 65})


def test_the_spellings_of_a_temperature_mean_the_same():
    spellings = ["25 degC", "25 °C", "25 C", "25 ℃", "77 degF", "298.15 K"]
    values = [describe_air(**GOOD | {"temperature": t}).temperature.value for t in spellings]
    assert values == pytest.approx([298.15] * len(values), rel=1e-12)


def test_all_bad_units_at_once():
    with pytest.raises(UnitsError) as refused:
        describe_air(temperature=25, relative_humidity="50 kPa", pressure="1013", oxygen="20.9")
    named = [p.partition(" = ")[0] for p in refused.value.problems]
    assert {"temperature", "relative_humidity", "pressure"} <= set(named)


def test_oxygen_is_kept_apart_when_it_is_not_stated():
    assert describe_air(**GOOD).oxygen is None
    air = describe_air(**GOOD, oxygen="20.9 %")
    assert air.oxygen.value == pytest.approx(0.209)
    assert "oxygen 20.9 %" in str(air)
    assert len(air.data()) == len(describe_air(**GOOD).data()) + 1


def test_air_survives_a_pickle_and_a_file():
    air = describe_air(**GOOD, oxygen="20.9 %")
    assert pickle.loads(pickle.dumps(air)) == air
    written = json.loads(json.dumps(air.as_dict()))
    assert {(v["name"], v["unit"]) for v in written["values"]} == {
        ("temperature", "degC"),
        ("relative_humidity", "%"),
        ("pressure", "kPa"),
        ("oxygen", "%"),
    }


# --- concentration in this air


@given(ppm=st.floats(1e-3, 1e4), celsius=st.floats(-10, 50), kpa=st.floats(60, 105), grams=st.floats(30, 250))
def test_ppm_and_milligrams_per_cubic_metre_are_the_same_air(ppm, celsius, kpa, grams):
    air = describe_air(temperature=f"{celsius} degC", relative_humidity="50 %", pressure=f"{kpa} kPa")
    mg = ppm * 1e-6 * grams * kpa * 1e3 / (8.31446261815324 * (celsius + 273.15)) * 1e3
    by_volume = air.volume_fraction(read_amount("concentration", f"{ppm} ppm"), grams / 1e3)
    by_mass = air.volume_fraction(read_amount("concentration", f"{mg} mg/m3"), grams / 1e3)
    assert by_mass == pytest.approx(by_volume, rel=1e-9)


def test_the_same_milligrams_are_more_ppm_in_thin_hot_air():
    amount = read_amount("concentration", "100 mg/m3")
    low = describe_air(**GOOD).volume_fraction(amount, 0.09214)
    high = describe_air(**GOOD | {"altitude": "2500 m", "temperature": "40 degC"}).volume_fraction(amount, 0.09214)
    assert high > 1.3 * low


@pytest.mark.parametrize("bad", ["0 ppm", "-1 ppm", "0 mg/m3", "150 %", "nan ppm", "1e9 mg/m3"])
def test_no_vapour_less_than_none_or_more_than_everything_is_refused(bad):
    with pytest.raises((DomainError, UnitsError), match="concentration"):
        describe_air(**GOOD).volume_fraction(read_amount("concentration", bad), 0.09214)


@pytest.mark.parametrize("several", [np.array([1e-6, 2e-6]), np.array([1e-6])])
def test_one_task_has_one_concentration(several):
    with pytest.raises(DomainError, match=r"concentration: .* give one value, the worst"):
        describe_air(**GOOD).volume_fraction(Concentration(several, "volume"), 0.09)


def test_integers_do_not_vanish():
    assert describe_air(**GOOD).volume_fraction(read_amount("c", Quantity(100, "ppm")), 0.09) == pytest.approx(1e-4)


# --- breathing


@pytest.mark.parametrize(
    ("name", "litres"),
    [("light", 30), ("moderate", 40), ("heavy", 65), ("very heavy", 105), (" Very_Heavy ", 105), ("very-heavy", 105)],
)
def test_work_rate_classes(name, litres):
    flow = breathing_rate(name)
    assert flow.value * 6e4 == pytest.approx(litres)
    assert flow.source == "breathing_rates"
    assert "work:" in flow.note


@pytest.mark.parametrize("unknown", ["", "hard", "medium", "resting", "unknown", "L/min"])
def test_an_unknown_class_lists_the_known_with_their_flow(unknown):
    with pytest.raises(DomainError, match=r"work_rate = .*light \(30 L/min\), moderate \(40 L/min\)") as refused:
        breathing_rate(unknown)
    assert '"40 L/min"' in str(refused.value)


@pytest.mark.parametrize("same", ["40 L/min", "40 lpm", "2.4 m3/h", "40000 mL/min", Quantity(40, "L/min"), "40 l/min"])
def test_a_flow_may_be_given_in_any_unit(same):
    flow = breathing_rate(same)
    assert flow.value * 6e4 == pytest.approx(40)
    assert (flow.kind, flow.note) == ("given", "")


@pytest.mark.parametrize(
    "bad", [40, "40", "40 L", "0 L/min", "-5 L/min", None, True, "1 300 L/min", "2000 L/min", "nan"]
)
def test_a_bad_flow_is_refused(bad):
    with pytest.raises((DomainError, UnitsError), match="work_rate"):
        breathing_rate(bad)


@pytest.mark.parametrize("several", [["40 L/min"], ["30 L/min", "40 L/min"], Quantity([30, 40], "L/min"), []])
def test_one_task_has_one_flow(several):
    with pytest.raises(DomainError, match=r"work_rate: .* give one value, the worst"):
        breathing_rate(several)


def test_a_flow_below_the_least_class_is_remarked():
    assert "make sure nobody works harder" in breathing_rate("20 L/min").note
    assert breathing_rate("30 L/min").note == ""
