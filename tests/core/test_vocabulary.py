"""Every word has a unit, bounds and a safe direction, and the bounds are enforced."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.units import FAMILIES
from respcalc.core.vocabulary import VOCABULARY, check, read, read_all, term

WORDS = list(VOCABULARY.values())
each_word = pytest.mark.parametrize("word", WORDS, ids=lambda w: w.name)


@each_word
def test_a_word_is_complete(word):
    family = FAMILIES[word.family]
    assert word.name.isidentifier()
    assert word.name == word.name.lower()
    assert word.meaning
    assert word.printed_unit in family.units or (not word.printed_unit and family.bare_number)
    assert word.effect in ("shortens", "lengthens", "mixed")
    low, high = word.usual
    assert word.low <= low < high <= word.high
    assert check(word.name, low) == low or (word.open_low and low == word.low)
    assert check(word.name, high) == high


def test_no_two_words_mean_the_same():
    assert len({w.meaning for w in WORDS}) == len(WORDS)
    assert all(name == word.name for name, word in VOCABULARY.items())


@each_word
def test_the_bounds_are_enforced(word):
    outside = [word.high * 1.01] if math.isfinite(word.high) else []
    outside.append(word.low - 1e-3 * max(1.0, abs(word.low)))
    if word.open_low:
        outside.append(word.low)
    for value in outside:
        with pytest.raises(DomainError, match=rf"^{word.name} = .* is not possible; it must be ") as caught:
            check(word.name, value)
        assert word.bounds() in str(caught.value)
        with pytest.raises(DomainError):
            check(word.name, np.array([word.usual[1], value]))


@each_word
@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_refused(word, bad):
    with pytest.raises(DomainError, match=f"^{word.name} must be a finite number"):
        check(word.name, bad)
    with pytest.raises(DomainError, match=f"^{word.name} must be a finite number"):
        check(word.name, np.array([word.usual[1], bad]))


def test_a_bound_as_people_write_it_is_inside():
    assert read("temperature", "-20 degC") == pytest.approx(253.15)  # 253.14999999999998 in floats
    assert read("temperature", "-4 degF") == pytest.approx(253.15)
    assert read("temperature", "60 degC") == pytest.approx(333.15)
    assert read("relative_humidity", "100 %") == 1.0
    assert read("relative_humidity", "0 %") == 0.0
    assert read("pressure", "40 kPa") == 4e4
    with pytest.raises(DomainError, match="must be from -20 up to 60 degC"):
        read("temperature", "60.1 degC")


@pytest.mark.parametrize(
    ("name", "given", "message"),
    [
        ("relative_humidity", 65, 'relative_humidity = 6500 % .* from 0 up to 100 %; for 65 per cent write "65 %"'),
        ("oxygen", 20.9, 'for 20.9 per cent write "20.9 %"'),
        ("exit_fraction", 1, 'exit_fraction = 100 % .* for 1 per cent write "1 %"'),
        ("void_fraction", 40, 'for 40 per cent write "40 %"'),
        ("flow_rate", "-30 L/min", r"flow_rate = -30 L/min is not possible; it must be above 0 up to 1200 L/min"),
        ("flow_rate", "0 L/min", "flow_rate = 0 L/min"),
        ("temperature", "77 degC", "temperature = 77 degC is not possible; it must be from -20 up to 60 degC"),
        ("pressure", "1 kPa", "it must be from 40 up to 110 kPa"),
        ("worn_time", "-1 h", "worn_time = -60 min is not possible; it must be from 0 min"),
        ("relative_humidity", "6500 %", 'for 65 per cent write "65 %"'),
        ("volume_fraction", ["5 ppm", "-1 ppm", "-2 ppm"], r"volume_fraction = -1 ppm \(and 1 more\)"),
    ],
)
def test_the_message_names_argument_value_bound_and_fix(name, given, message):
    with pytest.raises(DomainError, match=message):
        read(name, given)


def test_another_name_can_be_shown():
    with pytest.raises(DomainError, match=r"^wearers flow = -30 L/min"):
        read("flow_rate", "-30 L/min", as_argument="wearers flow")
    with pytest.raises(UnitsError, match=r"^wearers flow = 30: .* wearers flow=\"30 L/min\""):
        read("flow_rate", 30, as_argument="wearers flow")


def test_a_result_may_be_zero_where_an_argument_may_not():
    assert check("capacity", 0.0, result=True) == 0.0
    for value in (0.0, -1e-9):
        with pytest.raises(DomainError):
            check("capacity", value, result=value < 0)


def test_outside_works_on_arrays():
    flow = term("flow_rate")
    assert flow.outside(np.array([-1.0, 0.0, 5e-4, 0.02, 1.0])).tolist() == [True, True, False, False, True]
    assert flow.outside(np.array([-1.0, 0.0]), result=True).tolist() == [True, False]
    assert not term("temperature").outside(-20 + 273.15)


def test_read_all_checks_bounds_after_units():
    assert read_all({"flow_rate": "30 L/min", "temperature": "25 degC"}) == pytest.approx(
        {"flow_rate": 5e-4, "temperature": 298.15}
    )
    with pytest.raises(UnitsError, match=r"^temperature"):
        read_all({"flow_rate": "-30 L/min", "temperature": 25})
    with pytest.raises(DomainError, match=r"^flow_rate"):
        read_all({"flow_rate": "-30 L/min", "temperature": "25 degC"})


def test_an_unknown_word_is_named():
    with pytest.raises(KeyError, match="'flow' is not in the vocabulary"):
        term("flow")


# --- printing


def printed(word, value, digits):
    """The number that `show` prints, and the exact one, in the printed unit."""
    shown = word.show(value, digits)
    number, _, unit = shown.partition(" ")
    assert unit == word.printed_unit
    return float(number), float(word.in_printed_unit(value))


@given(st.sampled_from(WORDS), st.floats(0, 1), st.integers(2, 6))
def test_rounding_is_on_the_safe_side(word, share, digits):
    low, high = word.usual
    value = low * (high / low) ** share if low > 0 else low + share * (high - low)
    shown, exact = printed(word, value, digits)
    noise = 2e-9 * abs(exact)
    if word.effect == "lengthens":
        assert shown <= exact + noise
    if word.effect == "shortens":
        assert shown >= exact - noise
    last_digit = 10.0 ** (math.floor(math.log10(abs(exact))) - digits + 1) if exact else 0.0
    assert abs(shown - exact) <= last_digit * (1 + 1e-6) + noise


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("breakthrough_time", 59.999 * 60, "59.99 min"),
        ("breakthrough_time", 41.138 * 60, "41.13 min"),
        ("breakthrough_time", 12345.6 * 60, "12340 min"),  # not 1.234e+04
        ("breakthrough_time", 99999 * 60, "99990 min"),
        ("flow_rate", 30.001e-3 / 60, "30.01 L/min"),
        ("flow_rate", 30e-3 / 60, "30 L/min"),
        ("volume_fraction", 123.41e-6, "123.5 ppm"),
        ("temperature", 298.15, "25 degC"),
        ("temperature", 268.1512, "-4.998 degC"),
        ("relative_humidity", 0.65, "65 %"),
        ("exit_fraction", 1e-4, "0.01 %"),
        ("affinity_coefficient", 1.13599, "1.135"),
        ("oxygen", 0.20946, "20.95 %"),
        ("worn_time", 0.0, "0 min"),
        ("volume_fraction", 0.999999, "1000000 ppm"),
    ],
)
def test_printed_values(name, value, text):
    assert term(name).show(value) == text


def test_bounds_in_words():
    assert term("flow_rate").bounds() == "above 0 up to 1200 L/min"
    assert term("worn_time").bounds() == "from 0 min"
    assert term("affinity_coefficient").bounds() == "above 0 up to 10"
