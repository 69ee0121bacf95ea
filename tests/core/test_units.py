"""The unit door: what it reads, what it refuses, and that nothing of pint leaks in or out."""

from __future__ import annotations

import math
import os
import pickle
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

import respcalc
from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.units import FAMILIES, Quantity, read_tolerance, read_value
from respcalc.core.vocabulary import VOCABULARY, read, read_all

PINT = pint.UnitRegistry()  # pint's own full definitions, independent of ours
PINT.define("ppb = 1e-9")

SPELLED_OUT = {
    "": "dimensionless",
    "%": "percent",
    "°C": "degC",
    "C": "degC",
    "℃": "degC",
    "°F": "degF",
    "lpm": "liter/minute",
    "cfm": "foot**3/minute",
    "in": "inch",
    "µm": "micrometer",
    "µg/m3": "microgram/meter**3",
    "Torr": "torr",
    "ppmv": "ppm",
    "ppbv": "ppb",
    "min-1": "1/minute",
    "s-1": "1/second",
    "K-2": "1/kelvin**2",
}
EVERY_UNIT = [(family, unit) for family in FAMILIES.values() for unit in family.units]


def by_pint(number: float, unit: str, si: str) -> float:
    """Convert with pint's default registry, without looking at our table of expressions."""
    expression = SPELLED_OUT.get(unit) or re.sub(r"(?<=[a-zA-Z])([23])", r"**\1", unit)
    return float(PINT.Quantity(number, expression).to(si or "dimensionless").magnitude)


# --- the numbers are right


@pytest.mark.parametrize(("family", "unit"), EVERY_UNIT, ids=[f"{f.name} [{u}]" for f, u in EVERY_UNIT])
def test_every_unit_agrees_with_pints_own_registry(family, unit):
    for number in (1.0, 37.5, 1e-3, 12345.678, 6.02e23):
        expected = by_pint(number, unit, family.si)
        assert read_value("x", family.name, f"{number} {unit}") == pytest.approx(expected, rel=1e-12, abs=0)


@given(st.sampled_from(EVERY_UNIT), st.floats(-1e12, 1e12))
def test_any_number_in_any_unit_agrees_with_pint(family_and_unit, number):
    family, unit = family_and_unit
    expected = by_pint(number, unit, family.si)
    offset = 300.0 if family.name == "temperature" else 0.0  # -273.15 degC is zero only to rounding
    assert math.isclose(
        read_value("x", family.name, f"{number!r} {unit}"), expected, rel_tol=1e-12, abs_tol=1e-12 * offset
    )


@given(st.sampled_from(EVERY_UNIT), st.floats(-1e12, 1e12))
def test_a_quantity_reads_as_its_text_does(family_and_unit, number):
    family, unit = family_and_unit
    given_quantity = Quantity(number, family.units[unit])
    from_text = read_value("x", family.name, f"{number!r} {unit}")
    assert read_value("x", family.name, given_quantity) == pytest.approx(from_text, rel=1e-12, abs=1e-10)


@pytest.mark.parametrize("family", FAMILIES.values(), ids=lambda f: f.name)
def test_the_example_of_a_family_can_be_pasted(family):
    assert math.isfinite(read_value("x", family.name, family.example))


def test_a_unit_means_the_same_in_every_family():
    for unit in {u for _, u in EVERY_UNIT}:
        readings = {round(read_value("x", f.name, f"3 {unit}"), 15) for f, u in EVERY_UNIT if u == unit}
        assert len(readings) == 1, unit


@pytest.mark.parametrize(
    ("name", "text", "si"),
    [
        ("temperature", "25 C", 298.15),
        ("temperature", "25 °C", 298.15),
        ("temperature", "25°C", 298.15),
        ("temperature", "298.15 K", 298.15),
        ("temperature", "77 degF", 298.15),
        ("temperature", "−5 °C", 268.15),  # the minus sign of typesetting
        ("temperature", "-5 °C", 268.15),
        ("temperature", "25\u00a0°C", 298.15),  # no-break space before the unit
        ("temperature", "25\u202f°C", 298.15),
        ("temperature", "25\u2009°C", 298.15),
        ("flow_rate", "30 lpm", 5e-4),
        ("flow_rate", "30 L / min", 5e-4),
        ("flow_rate", "30 l/min", 5e-4),
        ("volume_fraction", "200 ppmv", 2e-4),
        ("volume_fraction", "200ppm", 2e-4),
        ("volume_fraction", " 2e2 ppm\n", 2e-4),
        ("volume_fraction", "+200 ppm", 2e-4),
        ("volume_fraction", "200. ppm", 2e-4),
        ("volume_fraction", ".2 mL/m3", 2e-7),
        ("volume_fraction", "500 ppb", 5e-7),
        ("volume_fraction", "0.02 %", 2e-4),
        ("mass_concentration", "750 mg/m3", 7.5e-4),
        ("mass_concentration", "750 mg/m³", 7.5e-4),
        ("mass_concentration", "750 mg/m^3", 7.5e-4),
        ("mass_concentration", "750 mg/m**3", 7.5e-4),
        ("mass_concentration", "750 µg/m3", 7.5e-7),  # micro sign
        ("mass_concentration", "750 μg/m3", 7.5e-7),  # Greek mu
        ("mass_concentration", "750 ug/m3", 7.5e-7),
        ("bulk_density", "0.45 g/cm3", 450.0),
        ("relative_humidity", "85 %", 0.85),
        ("relative_humidity", "85%", 0.85),
        ("relative_humidity", "0.85", 0.85),
        ("relative_humidity", 0.85, 0.85),
        ("relative_humidity", np.float32(0.5), 0.5),
        ("relative_humidity", np.int64(1), 1.0),
        ("worn_time", "8 h", 28800.0),
    ],
)
def test_what_people_write_is_read_right(name, text, si):
    assert read(name, text) == pytest.approx(si, rel=1e-12)


# --- what pint reads wrongly without a word is refused, with the fix

FIELDS = {  # a concentration, a flow, a duration, a humidity, a pressure, with a unit that fits each
    "volume_fraction": "ppm",
    "flow_rate": "L/min",
    "worn_time": "min",
    "relative_humidity": "%",
    "pressure": "kPa",
}
WRONG_NUMBERS = {
    "1 000": "space or apostrophe",
    "1 250": "space or apostrophe",
    "1\u00a0250": "space or apostrophe",
    "1\u202f250": "space or apostrophe",
    "1'250": "space or apostrophe",
    "1’250": "space or apostrophe",
    "37,5": "comma",
    "1,250": "comma",
    "1.250,0": "comma",
    "<0.5": "limit of detection",
    "< 0.5": "limit of detection",
    ">200": "limit of detection",
    "≤200": "limit of detection",
    "100-200": "range",
    "100 - 200": "range",
    "100–200": "range",
    "100 to 200": "range",
    "–5": "no plain number",  # an en dash is no minus sign
    "ca. 5": "no plain number",
    "nan": "no plain number",
    "inf": "no plain number",
    "1_000": "is not a unit",
    "5/2": "is not a unit",
    "2*5": "is not a unit",
}


def refused(name, value, *says):
    with pytest.raises(UnitsError) as caught:
        read(name, value)
    message = str(caught.value)
    assert message.startswith(f"{name} = ")
    assert f'{name}="' in message  # a line to paste
    for text in says:
        assert text in message, message
    return message


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("number", WRONG_NUMBERS)
def test_numbers_that_pint_reads_wrongly_are_refused(name, number):
    text = f"{number} {FIELDS[name]}"
    refused(name, text, repr(text), WRONG_NUMBERS[number])


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize(
    "text",
    ["1 cfm", "8 H", "30 m", "10 pct", "85 %RH", "5 mg per 0.1 m^3", "5 PPM", "600mg/24h", "25 C", "", "ppm", " "],
)
def test_units_that_pint_reads_as_something_else_are_refused(name, text):
    if (name, text) == ("flow_rate", "1 cfm"):
        assert read(name, text) == pytest.approx(0.0283168466 / 60)
    else:
        refused(name, text, repr(text))


@pytest.mark.parametrize(
    ("name", "text", "hint"),
    [
        ("temperature", "77 F", 'write "degF"'),
        ("temperature", "25 deg C", 'write "degC"'),
        ("temperature", "25 degc", 'write "degC"'),
        ("temperature", "298", "the unit is missing"),
        ("temperature", "+10 %", "'%' is not a unit of temperature"),
        ("worn_time", "8 H", 'write "h"'),
        ("worn_time", "8 hours", 'write "h"'),
        ("worn_time", "30 m", 'write "min"'),
        ("relative_humidity", "85 %RH", 'write "%"'),
        ("relative_humidity", "10 pct", 'write "%"'),
        ("volume_fraction", "200 PPM", 'write "ppm"'),
        ("volume_fraction", "200 ml/m3", 'write "mL/m3"'),
        ("pressure", "101 kpa", 'write "kPa"'),
        ("bed_depth", "2 CM", 'write "cm"'),
        ("flow_rate", "30", 'flow_rate="30 L/min"'),
    ],
)
def test_the_refusal_says_what_to_write(name, text, hint):
    refused(name, text, repr(text), hint)


def test_a_hint_is_given_only_where_it_helps():
    assert "minutes" not in refused("flow_rate", "30 m")
    assert "degF" not in refused("pressure", "77 F").partition("Write it")[0]


# --- types


@pytest.mark.parametrize("number", [30, 30.0, np.float64(30.0), np.int32(30)])
def test_a_bare_number_is_refused_and_comes_back_in_the_line_to_paste(number):
    refused("flow_rate", number, f'flow_rate="{number} L/min"', "a bare number has no unit")


def test_a_bare_temperature_is_not_guessed_to_be_celsius():
    assert "298.15 degC" not in refused("temperature", 298.15, "a bare number has no unit")


NOT_NUMBERS = {
    "True": True,
    "numpy True": np.True_,
    "array of bool": np.array([True, False]),
    "list of bool": [True],
    "complex": 1j,
    "numpy complex": np.complex128(0.5),
    "complex array": np.array([0.5 + 0j]),
    "None": None,
    "list with None": ["50 %", None],
    "dict": {"value": 0.5},
    "set": {0.5},
    "bytes": b"50 %",
    "object": object(),
    "timedelta": np.timedelta64(5, "m"),
    "dates": np.array(["2026-01-01"], dtype="datetime64[D]"),
    "pandas timestamp": pd.Timestamp("2026-01-01"),
    "pandas NA": pd.NA,
    "array of text without a number": np.array(["dry"]),
    "complex quantity": Quantity(1j, "dimensionless"),
    "ragged list": [[0.5], [0.5, 0.6]],
}


@pytest.mark.parametrize("name", ["flow_rate", "relative_humidity"])
@pytest.mark.parametrize("value", NOT_NUMBERS.values(), ids=NOT_NUMBERS.keys())
def test_what_is_no_number_is_refused_by_name(name, value):
    refused(name, value)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_nan_and_infinity_are_refused(bad):
    for name, value in [
        ("relative_humidity", bad),
        ("relative_humidity", [0.5, bad]),
        ("relative_humidity", pd.Series([0.5, bad])),
        ("flow_rate", Quantity(bad, "L/min")),
        ("flow_rate", PINT.Quantity([30.0, bad], "L/min")),
        ("flow_rate", "1e999 L/min"),
    ]:
        with pytest.raises(DomainError, match=f"{name} must be a finite number"):
            read(name, value)


def test_arrays_and_lists():
    assert read("flow_rate", []).shape == (0,)
    assert read("flow_rate", Quantity([], "L/min")).shape == (0,)
    assert read("flow_rate", Quantity([[30, 60]], "L/min")) == pytest.approx(np.array([[5e-4, 1e-3]]))
    assert read("flow_rate", ["30 L/min", Quantity(1, "L/s"), PINT.Quantity(30, "L/min")]) == pytest.approx(
        [5e-4, 1e-3, 5e-4]
    )
    assert read("flow_rate", (["30 L/min"], ["60 L/min"])).shape == (2, 1)
    assert read("relative_humidity", np.array(["50 %", "0.4"])) == pytest.approx([0.5, 0.4])
    refused("flow_rate", np.array([30.0, 60.0]), "an array without a unit")
    refused("flow_rate", [30, 60], "a bare number has no unit")


@pytest.mark.parametrize("name", ["flow_rate", "temperature", "volume_fraction", "loading"])
def test_a_pandas_column_is_refused_with_the_way_out(name):
    name = "capacity" if name == "loading" else name
    for column in (
        pd.Series([1.0, 2.0]),
        pd.Series(["30 L/min"]),
        pd.DataFrame({"a": [1.0]}),
        pd.Index([1.0]),
        pd.array([1.0, 2.0]),
        pd.Series([Quantity(1.0, "L/min")], dtype=object),
    ):
        message = refused(name, column, "pandas drops units", f'"{name} [', "Quantity(column.to_numpy()")
        assert "to_numpy" in message


def test_a_pandas_column_of_pure_fractions_is_read():
    assert read("relative_humidity", pd.Series([0.5, 0.65])) == pytest.approx([0.5, 0.65])
    assert read("relative_humidity", pd.Series(["50 %", "65 %"], dtype=object)) == pytest.approx([0.5, 0.65])


def test_a_difference_of_temperatures_is_not_a_temperature():
    refused("temperature", PINT.Quantity(300, "delta_degC"), "a difference of temperatures")


def test_a_quantity_of_the_wrong_kind_is_refused():
    refused("flow_rate", PINT.Quantity(30, "kg"), "kilogram is not a unit of flow")
    refused("volume_fraction", Quantity(5, "mg/m**3"), "is not a unit of volume fraction")


def test_all_bad_arguments_are_reported_at_once():
    with pytest.raises(UnitsError) as caught:
        read_all({"flow_rate": 30, "temperature": "25 F", "pressure": "101.3 kPa", "sorbent_mass": "30 oz"})
    assert [p.split(" =")[0] for p in caught.value.problems] == ["flow_rate", "temperature", "sorbent_mass"]
    assert len(str(caught.value).splitlines()) == 3


# --- ppm are dimensionless and integers vanish, but not here


def test_integer_ppm_do_not_vanish():
    assert read("volume_fraction", [Quantity(100, "ppm"), Quantity(200, "ppm")]) == pytest.approx([1e-4, 2e-4])
    assert read("volume_fraction", [PINT.Quantity(100, "ppm"), PINT.Quantity(200, "ppm")]) == pytest.approx(
        [1e-4, 2e-4]
    )
    assert read("volume_fraction", PINT.Quantity(np.array([100, 200]), "ppm")) == pytest.approx([1e-4, 2e-4])
    assert read("volume_fraction", Quantity(np.array([100, 200]), "ppm")) == pytest.approx([1e-4, 2e-4])
    assert read("relative_humidity", PINT.Quantity(85, "percent")) == pytest.approx(0.85)


def test_stripping_the_unit_of_our_quantities_leaves_a_fraction_that_is_refused():
    stripped = np.array([Quantity(100, "ppm"), Quantity(200, "ppm")])
    assert stripped == pytest.approx([1e-4, 2e-4])  # pint's own integers give 0 here
    refused("volume_fraction", stripped, "an array without a unit")
    assert np.mean([Quantity(100, "ppm"), Quantity(200, "ppm")]) == pytest.approx(1.5e-4)


def test_humidity_65_is_refused_and_0_65_is_not():
    assert read("relative_humidity", 0.65) == 0.65
    for value in (65, 65.0, "65", PINT.Quantity(65, "dimensionless")):
        with pytest.raises(DomainError, match=r'relative_humidity = 6500 % .* write "65 %"'):
            read("relative_humidity", value)


# --- our quantities


@pytest.mark.parametrize("arguments", [("1 000 ppm",), ("37,5 ppm",), ("30 L/min",), ("30", "L/min")])
def test_text_never_reaches_pints_parser_through_our_quantity(arguments):
    with pytest.raises(ValueError, match="is text"):
        Quantity(*arguments)


def test_quantities_hold_floats_and_stay_themselves_in_arithmetic():
    flow = Quantity(30, "L/min")
    assert isinstance(flow.magnitude, float)
    assert Quantity([1, 2], "g").magnitude.dtype == float
    assert type(flow + flow) is Quantity
    assert type(2 * flow * Quantity(1, "h")) is Quantity


def test_equality_across_registries_is_by_value_and_order_is_refused():
    ours, theirs = Quantity(30, "L/min"), PINT.Quantity(0.5, "L/s")
    assert ours == theirs
    assert ours != PINT.Quantity(30, "L/s")
    with pytest.raises(ValueError, match="different registries"):
        _ = ours < PINT.Quantity(1, "L/min")


@pytest.mark.parametrize(
    "quantity", [Quantity(30, "L/min"), Quantity(25, "degC"), Quantity([1, 2], "ppm"), Quantity(1, "")]
)
def test_a_pickled_quantity_comes_back_as_ours(quantity):
    back = pickle.loads(pickle.dumps(quantity))
    assert type(back) is Quantity
    assert np.all(back == quantity)
    assert back.units == quantity.units


def test_a_pickled_foreign_quantity_is_read():
    assert read("flow_rate", pickle.loads(pickle.dumps(PINT.Quantity(30, "L/min")))) == pytest.approx(5e-4)


# --- fresh interpreters: threads, processes, the user's registry


def run(script: str, tmp_path: Path) -> list[str]:
    file = tmp_path / "script.py"
    file.write_text(script, encoding="utf-8")
    home = str(Path(respcalc.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-W", "error", str(file)],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": home, "PYTHONDONTWRITEBYTECODE": "1"},
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_eight_threads_on_a_fresh_interpreter(tmp_path):
    script = """
import threading
from concurrent.futures import ThreadPoolExecutor
from respcalc.core.units import Quantity
from respcalc.models.breakthrough import stoichiometric_time

start = threading.Barrier(8)

def work(i):
    start.wait()
    t = stoichiometric_time(capacity="0.3 g/g", sorbent_mass=Quantity(30, "g"), mass_concentration="3000 mg/m3",
                            flow_rate="30 lpm")
    return f"{t.to('h').magnitude:.6f}"

with ThreadPoolExecutor(8) as pool:
    print(*pool.map(work, range(8)))
"""
    assert run(script, tmp_path) == ["1.666667"] * 8


def test_spawned_processes_return_quantities_that_add_up(tmp_path):
    script = """
import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from respcalc.core.units import Quantity
from respcalc.models.breakthrough import stoichiometric_time

if __name__ == "__main__":
    flows = [Quantity(flow, "L/min") for flow in (30, 60)]
    work = partial(call, stoichiometric_time)
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        times = list(pool.map(work, flows))
    print(f"{sum(times, Quantity(0, 'min')).to('h').magnitude:.6f}", times[0] > times[1])
"""
    script = script.replace(
        "\nif __name__",
        """
def call(model, flow):
    return model(capacity="0.3 g/g", sorbent_mass="30 g", mass_concentration="3000 mg/m3", flow_rate=flow)

if __name__""",
    )
    assert run(script, tmp_path) == ["2.500000", "True"]


def test_the_users_application_registry_is_left_alone(tmp_path):
    script = """
import pickle
import pint
mine = pint.UnitRegistry()
mine.define("scoop = 250 * gram")
pint.set_application_registry(mine)
import respcalc.models
from respcalc.core.units import Quantity
from respcalc.core.vocabulary import read
assert pint.get_application_registry().get() is mine
assert pickle.loads(pickle.dumps(mine.Quantity(2, "scoop"))) + mine.Quantity(1, "scoop") == mine.Quantity(3, "scoop")
pickle.loads(pickle.dumps(Quantity(30, "L/min")))
assert pint.get_application_registry().get() is mine
assert not hasattr(mine, "respcalc")
print(f"{read('sorbent_mass', mine.Quantity(2, 'scoop')):.3f}")
"""
    assert run(script, tmp_path) == ["0.500"]


def test_every_word_of_the_vocabulary_can_be_read_by_its_printed_unit():
    for word in VOCABULARY.values():
        middle = sum(word.usual) / 2
        text = f"{float(word.in_printed_unit(middle))!r} {word.printed_unit}"
        assert read(word.name, text) == pytest.approx(middle, rel=1e-12), word.name
        assert read(word.name, word.quantity(middle)) == pytest.approx(middle, rel=1e-12), word.name


@pytest.mark.parametrize("family", ["fraction", "flow"])
def test_an_integer_larger_than_a_float_is_refused(family):
    with pytest.raises(ValueError, match="larger than a float can hold"):
        read_value("x", family, 10**400)


# --- values with a tolerance


@pytest.mark.parametrize(
    ("value", "middle", "half"),
    [
        ("42 g ± 2 g", 0.042, 0.002),
        ("42 ± 2 g", 0.042, 0.002),
        ("42 g ± 500 mg", 0.042, 0.0005),
        ("42 g ± 5 %", 0.042, 0.0021),
        ("42 g +/- 2 g", 0.042, 0.002),
        ("42 g +- 2 g", 0.042, 0.002),
        ("42 g", 0.042, 0.0),
        (("42 g", "2 g"), 0.042, 0.002),
        (("42 g", "5 %"), 0.042, 0.0021),
        ((Quantity(42, "g"), Quantity(2, "g")), 0.042, 0.002),
        (Quantity(42, "g"), 0.042, 0.0),
    ],
)
def test_a_tolerance_is_read(value, middle, half):
    assert read_tolerance("sorbent_mass", "mass", value) == pytest.approx((middle, half))


def test_the_tolerance_of_a_percentage_is_in_points():
    assert read_tolerance("void_fraction", "fraction", "40 % ± 2 %") == pytest.approx((0.40, 0.02))


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("42 ± 2", "the unit is missing"),
        ("42 g ± 2", 'the tolerance has no unit. Write it as sorbent_mass="42 g ± 2 g"'),
        ("43-47 g", 'this reads as a range; write its middle with a tolerance: sorbent_mass="45 g ± 2 g"'),
        ("43 to 47 g", 'sorbent_mass="45 g ± 2 g"'),
        ("42 g ± 2 cm", "the tolerance '2 cm' is not read"),
        ("42 g ± -2 g", "a tolerance is not negative"),
        ("42 g ± 1 g ± 2 g", "more than one ±"),
        ("± 2 g", "no plain number at the start"),
        ("42 g ±", "the tolerance '' is not read"),
        (("42 g", None), "the tolerance None is not read"),
        ([42, 43], "a bare number has no unit"),
        (Quantity([42, 43], "g"), "a list of values"),
    ],
)
def test_a_tolerance_with_a_fault_says_what_to_write(value, says):
    with pytest.raises(ValueError, match="sorbent_mass") as caught:
        read_tolerance("sorbent_mass", "mass", value)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("name", "family", "number", "unit"),
    [("altitude", "length", "1500", "m"), ("diameter", "length", "75", "mm"), ("bed_depth", "length", "2.1", "cm")],
)
def test_a_line_to_paste_has_the_unit_that_the_field_is_usually_in(name, family, number, unit):
    """1500 cm in place of 1500 m would be thicker air than there is."""
    with pytest.raises(ValueError, match=f'{name}="{number} {unit}"'):
        read_value(name, family, number)
