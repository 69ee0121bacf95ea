"""A concentration keeps its basis and is never compared with a bare number."""

from __future__ import annotations

import math
import operator
import pickle

import numpy as np
import pandas as pd
import pint
import pytest

from respcalc.core.units import Concentration, Quantity, read_concentration

PINT = pint.UnitRegistry()
ORDER = [operator.lt, operator.le, operator.gt, operator.ge]


@pytest.mark.parametrize(
    ("given", "value", "basis"),
    [
        ("200 ppm", 2e-4, "volume"),
        ("0.02 %", 2e-4, "volume"),
        ("500 ppb", 5e-7, "volume"),
        ("200 mL/m³", 2e-4, "volume"),
        ("750 mg/m3", 7.5e-4, "mass"),
        ("750 mg/m^3", 7.5e-4, "mass"),
        ("750 μg/m3", 7.5e-7, "mass"),
        ("0.75 g/m³", 7.5e-4, "mass"),
        (Quantity(200, "ppm"), 2e-4, "volume"),
        (PINT.Quantity(200, "ppm"), 2e-4, "volume"),
        (PINT.Quantity(750, "mg/m**3"), 7.5e-4, "mass"),
        (Concentration(2e-4, "volume"), 2e-4, "volume"),
    ],
)
def test_value_and_basis(given, value, basis):
    read = read_concentration("exposure", given)
    assert read.value == pytest.approx(value, rel=1e-12)
    assert read.basis == basis


def test_integer_ppm_do_not_vanish():
    for given in (
        ["100 ppm", "200 ppm"],
        [Quantity(100, "ppm"), Quantity(200, "ppm")],
        [PINT.Quantity(100, "ppm"), PINT.Quantity(200, "ppm")],
        PINT.Quantity(np.array([100, 200]), "ppm"),
        ("100 ppm", "0.02 %"),
    ):
        read = read_concentration("exposure", given)
        assert read.value == pytest.approx([1e-4, 2e-4])
        assert read.basis == "volume"


def test_the_quantity_is_in_the_printed_unit():
    assert f"{read_concentration('c', '0.02 %').quantity:.1f~}" == "200.0 ppm"
    assert f"{read_concentration('c', '0.75 g/m3').quantity:.1f~C}" == "750.0 mg/m**3"


@pytest.mark.parametrize("compare", [*ORDER, operator.eq, operator.ne])
@pytest.mark.parametrize("bare", [50, 50.0, np.float64(50), "50 ppm", None])
def test_comparing_with_a_bare_number_raises(compare, bare):
    exposure = read_concentration("exposure", "100 ppm")
    with pytest.raises(TypeError, match="has no unit"):
        compare(exposure, bare)


@pytest.mark.parametrize("compare", ORDER)
def test_the_two_bases_are_not_ordered(compare):
    with pytest.raises(TypeError, match="convert one first"):
        compare(Concentration(1e-4, "volume"), Concentration(1e-4, "mass"))
    assert Concentration(1e-4, "volume") != Concentration(1e-4, "mass")


def test_the_same_basis_compares_and_hashes():
    low, high = Concentration(1e-4, "volume"), Concentration(2e-4, "volume")
    assert low < high
    assert high > low
    assert low <= Concentration(1e-4, "volume")
    assert low >= Concentration(1e-4, "volume")
    assert low == pickle.loads(pickle.dumps(low))
    assert len({low, Concentration(1e-4, "volume")}) == 1
    assert Concentration(np.array([1e-4, 2e-4]), "volume") == Concentration(np.array([1e-4, 2e-4]), "volume")


def test_no_arithmetic_that_loses_the_basis():
    exposure = read_concentration("exposure", "100 ppm")
    for change in (lambda: exposure + 1, lambda: 2 * exposure, lambda: float(exposure), lambda: np.sqrt(exposure)):
        with pytest.raises(TypeError):
            change()


def test_only_the_two_bases_exist():
    with pytest.raises(ValueError, match='"volume" or "mass", not \'ppm\''):
        Concentration(100, "ppm")


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (100, "a bare number has no unit"),
        ([100, 200], "a bare number has no unit"),
        (np.array([100, 200]), "an array without a unit"),
        (pd.Series([100.0]), "pandas drops units"),
        ("1 000 ppm", "space or apostrophe"),
        ("1 000 mg/m3", "space or apostrophe"),
        ("<0.5 mg/m3", "limit of detection"),
        ("5 mg per 0.1 m^3", "is not a unit"),
        ("200 ppm by mass", "is not a unit"),
        ("x5 mg/m3", "no plain number"),
        (None, "a value is needed"),
        (True, "truth value"),
        (PINT.Quantity(5, "kg"), "is not a unit of"),
        (["100 ppm", "5 mg/m3"], "use one basis"),
        (math.nan, "no unit"),
    ],
)
def test_refusals_name_the_field(given, says):
    with pytest.raises(ValueError, match="exposure") as caught:
        read_concentration("exposure", given)
    assert says in str(caught.value)


def test_a_refused_text_offers_both_kinds_of_unit():
    with pytest.raises(ValueError, match=r"units: ppm, .*; by mass: mg/m3, .*\)\.$"):
        read_concentration("exposure", "200 furlongs")


def test_a_list_names_the_entry_that_is_wrong():
    with pytest.raises(ValueError, match=r"exposure\[1\] = '200'"):
        read_concentration("exposure", ["100 ppm", "200"])
