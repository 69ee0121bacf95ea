"""Numbers of regulations and of gas arithmetic, each with its source: what the rest is built on."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.vapours import find_vapour
from respcalc.workplace import (
    additive_index,
    facepiece,
    mass_from_volume_fraction,
    maximum_use_concentration,
    molar_gas_volume,
    pressure_at_altitude,
    rules_for,
    time_weighted_average,
    volume_fraction_from_mass,
)

ROOM = {"temperature": "25 degC", "pressure": "1 atm"}
MMHG = 133.322387415


# --- gas arithmetic


@pytest.mark.parametrize(
    ("temperature", "litres"),
    [
        pytest.param("20 degC", 24.055, id="molar_gas_law/20 degC"),
        pytest.param("25 degC", 24.465, id="molar_gas_law/25 degC"),
        pytest.param("0 degC", 22.414, id="molar_gas_law/0 degC"),
    ],
)
def test_molar_volume(temperature, litres):
    assert molar_gas_volume(temperature=temperature, pressure="1 atm").magnitude == pytest.approx(litres, abs=5e-4)


def test_toluene_in_milligrams_per_cubic_metre():
    """The NIOSH pocket guide prints 1 ppm = 3.77 mg/m3."""
    mass = mass_from_volume_fraction(volume_fraction="100 ppm", molar_mass="92.14 g/mol", **ROOM)
    assert mass.magnitude == pytest.approx(376.6, abs=0.05)
    one = mass_from_volume_fraction(volume_fraction="1 ppm", molar_mass="92.14 g/mol", **ROOM)
    assert round(one.magnitude, 2) == 3.77


def test_formaldehyde_of_an_embalming_study():
    """5.64 mg/m3 is 4.59 ppm."""
    ppm = volume_fraction_from_mass(mass_concentration="5.64 mg/m3", molar_mass="30.03 g/mol", **ROOM)
    assert ppm.magnitude == pytest.approx(4.59, abs=5e-3)


# Test flow [L/min], minutes, concentration [ppm], molar mass, temperature [degC], grams in the element.
LOADS = [
    pytest.param(30, 70, 1000, 84.16, 20, 7.35, id="EN 14387 A1 cyclohexane"),
    pytest.param(30, 35, 5000, 84.16, 20, 18.37, id="EN 14387 A2 cyclohexane"),
    pytest.param(30, 65, 8000, 84.16, 20, 54.6, id="EN 14387 A3 cyclohexane"),
    pytest.param(30, 50, 500, 46.07, 20, 1.44, id="EN 14387 AX dimethyl ether"),
    pytest.param(30, 50, 2500, 58.12, 20, 9.06, id="EN 14387 AX isobutane"),
    pytest.param(64, 50, 1000, 153.8, 25, 20.12, id="42 CFR 84 subpart L as received"),
    pytest.param(32, 50, 1000, 153.8, 25, 10.06, id="42 CFR 84 subpart L equilibrated"),
    pytest.param(64, 12, 20000, 153.8, 25, 96.6, id="42 CFR 84 subpart I front canister"),
    pytest.param(32, 12, 20000, 153.8, 25, 48.3, id="42 CFR 84 subpart I front canister equilibrated"),
    pytest.param(64, 12, 5000, 153.8, 25, 24.1, id="42 CFR 84 subpart I chin canister"),
    pytest.param(32, 12, 5000, 153.8, 25, 12.1, id="42 CFR 84 subpart I chin canister equilibrated"),
    pytest.param(64, 240, 150, 78.11, 25, 7.36, id="1910.1028 canister 64 L/min"),
    pytest.param(115, 240, 150, 78.11, 25, 13.2, id="1910.1028 canister 115 L/min"),
    pytest.param(170, 240, 150, 78.11, 25, 19.5, id="1910.1028 canister 170 L/min"),
]


@pytest.mark.parametrize(("flow", "minutes", "ppm", "molar_mass", "celsius", "grams"), LOADS)
def test_load_of_a_certification_test(flow, minutes, ppm, molar_mass, celsius, grams):
    mass = mass_from_volume_fraction(
        volume_fraction=f"{ppm} ppm", molar_mass=f"{molar_mass} g/mol", temperature=f"{celsius} degC", pressure="1 atm"
    )
    digits = len(f"{grams}".partition(".")[2])
    assert mass.magnitude * 1e-3 * flow * minutes * 1e-3 == pytest.approx(grams, abs=0.7 * 10**-digits)


def test_oxygen_pressure_of_the_altitude_table():
    """29 CFR 1910.134 Table II: 19.3 % at 8000 ft is 109 mmHg."""
    air = pressure_at_altitude(altitude="8000 ft").magnitude * 1000.0 / MMHG
    assert round(0.193 * air) == 109


@pytest.mark.parametrize(
    ("feet", "percent", "mmhg"),
    [(3000, 16.0, 109), (4000, 16.4, 108), (5000, 17.1, 108), (6000, 17.8, 108), (7000, 18.5, 109)],
)
def test_the_whole_altitude_table_agrees_with_the_standard_atmosphere(feet, percent, mmhg):
    air = pressure_at_altitude(altitude=f"{feet} ft").magnitude * 1000.0 / MMHG
    assert percent / 100 * air == pytest.approx(mmhg, abs=0.7)


volumes = st.floats(1e-9, 1e-2)
masses = st.floats(0.016, 0.4)
kelvins = st.floats(253.15, 333.15)
pascals = st.floats(4e4, 1.1e5)


@given(c=volumes, m=masses, t=kelvins, p=pascals)
def test_ppm_and_milligrams_go_there_and_back(c, m, t, p):
    mass = mass_from_volume_fraction.si(volume_fraction=c, molar_mass=m, temperature=t, pressure=p)
    back = volume_fraction_from_mass.si(mass_concentration=mass, molar_mass=m, temperature=t, pressure=p)
    assert back == pytest.approx(c, rel=1e-12)
    assert mass == pytest.approx(c * m / molar_gas_volume.si(temperature=t, pressure=p), rel=1e-12)


# --- 29 CFR 1910.1000


def test_average_of_the_regulation():
    """1910.1000 (d)(1)(ii): 150 ppm for 2 h, 75 for 2 h, 50 for 4 h."""
    average = time_weighted_average(["150 ppm", "75 ppm", "50 ppm"], ["2 h", "2 h", "4 h"])
    assert average.magnitude == pytest.approx(81.25, rel=1e-12)
    assert str(average.units) == "ppm"


def test_mixture_of_the_regulation():
    """1910.1000 (d)(2)(ii): 500/1000 + 45/200 + 40/200."""
    index = additive_index(["500 ppm", "45 ppm", "40 ppm"], ["1000 ppm", "200 ppm", "200 ppm"])
    assert index == pytest.approx(0.925, rel=1e-12)


def test_an_average_of_a_long_shift_still_divides_by_eight_hours():
    assert time_weighted_average(["100 ppm"], ["12 h"]).magnitude == pytest.approx(150.0)
    assert time_weighted_average(["100 ppm"], ["12 h"], over="12 h").magnitude == pytest.approx(100.0)


def test_time_without_exposure_counts_with_or_without_being_named():
    """The short spell of an OSHA letter of 18 Dec 1989: 80 ppm over 8 h with 15 min at 300 ppm."""
    rest = (80 * 8 - 300 * 0.25) / 7.75
    assert rest == pytest.approx(72.9, abs=0.05)
    assert time_weighted_average([f"{rest} ppm", "300 ppm"], ["7.75 h", "15 min"]).magnitude == pytest.approx(80.0)
    assert time_weighted_average(["80 ppm", "0 ppm"], ["4 h", "4 h"]).magnitude == pytest.approx(40.0)
    assert time_weighted_average(["80 ppm"], ["4 h"]).magnitude == pytest.approx(40.0)


def test_printers_with_five_solvents():
    """Maxima of a NIOSH evaluation of 1981 on the limits printed there; toluene at 20 ppm fails a half mask alone."""
    maxima = ["85 ppm", "356 ppm", "126 ppm", "25 ppm", "14 ppm"]
    index = additive_index(maxima, ["100 ppm", "200 ppm", "100 ppm", "200 ppm", "25 ppm"])
    assert index == pytest.approx(4.57, abs=5e-3)
    assert additive_index(["356 ppm"], ["20 ppm"]) == pytest.approx(17.8)


@pytest.mark.parametrize("function", [time_weighted_average, additive_index])
@pytest.mark.parametrize(("first", "second"), [([], []), (["1 ppm"], []), (["1 ppm", "2 ppm"], ["1 h"])])
def test_lists_that_do_not_match_are_refused(function, first, second):
    with pytest.raises(ValueError, match=f"{len(first)} and {len(second)} entries"):
        function(first, second)


@pytest.mark.parametrize("bad", [80, 80.0, "80", "80 C", "1 000 ppm", "-1 ppm", "nan ppm", "<5 ppm", None, "80 mg/m3"])
def test_a_bad_concentration_is_named_by_its_place(bad):
    with pytest.raises(ValueError, match=r"concentrations\[1\]"):
        time_weighted_average(["10 ppm", bad], ["1 h", "1 h"])
    with pytest.raises(ValueError, match=r"concentrations\[1\]"):
        additive_index(["10 ppm", bad], ["100 ppm", "100 ppm"])


@pytest.mark.parametrize("bad", ["0 ppm", "-5 ppm", 5, "5 h"])
def test_a_limit_of_nothing_is_refused(bad):
    with pytest.raises(ValueError, match=r"limits\[0\]"):
        additive_index(["10 ppm"], [bad])


@pytest.mark.parametrize("over", ["0 h", "-8 h", 8, "8 ppm"])
def test_a_reference_time_of_nothing_is_refused(over):
    with pytest.raises(ValueError, match="over = "):
        time_weighted_average(["10 ppm"], ["1 h"], over=over)


def test_a_list_where_one_period_is_meant_is_refused():
    with pytest.raises(ValueError, match=r"concentrations\[0\].*one value"):
        time_weighted_average([["10 ppm", "20 ppm"]], ["1 h"])


# --- maximum use concentrations


MOST = [
    pytest.param("toluene", "half mask", "200 ppm", 500, "the IDLH", id="toluene, PEL 200, IDLH 500"),
    pytest.param(
        "carbon tetrachloride", "half mask", "0.03 ppm", 0.3, "protection factor x limit", id="CCl4, ECEL 0.03"
    ),
    pytest.param("n-hexane", "half mask", "500 ppm", 1000, "the use limit of the cartridge", id="n-hexane, PEL 500"),
    pytest.param("styrene", "full facepiece", "100 ppm", 700, "the IDLH", id="styrene, PEL 100, IDLH 700"),
]


@pytest.mark.parametrize(("name", "mask", "limit", "ppm", "set_by"), MOST)
def test_maximum_use_concentration(name, mask, limit, ppm, set_by):
    idlh = f"{find_vapour(name).limits.idlh.value * 1e6} ppm"
    factor = facepiece(mask).protection_factor.value
    most = maximum_use_concentration(protection_factor=factor, exposure_limit=limit, idlh=idlh)
    assert most.value == pytest.approx(ppm * 1e-6)
    assert most.set_by == set_by
    assert set_by in most.text
    assert f"{ppm:g} ppm" in most.text


@given(factor=st.floats(1, 1e4), limit=st.floats(1e-3, 5e3), idlh=st.floats(1, 1e4), cartridge=st.floats(1, 5e3))
def test_no_bound_is_ever_passed(factor, limit, idlh, cartridge):
    most = maximum_use_concentration(
        protection_factor=factor, exposure_limit=f"{limit} ppm", idlh=f"{idlh} ppm", cartridge_limit=f"{cartridge} ppm"
    )
    assert most.value == pytest.approx(min(factor * limit, idlh, cartridge) * 1e-6, rel=1e-9)


@pytest.mark.parametrize(
    ("bad", "named"),
    [
        ({"protection_factor": 0.5}, "protection_factor"),
        ({"protection_factor": math.nan}, "protection_factor"),
        ({"protection_factor": True}, "protection_factor"),
        ({"protection_factor": [10, 50]}, "protection_factor"),
        ({"exposure_limit": 200}, "exposure_limit"),
        ({"exposure_limit": "0 ppm"}, "exposure_limit"),
        ({"idlh": "500"}, "idlh"),
        ({"cartridge_limit": "1000 mg/m3"}, "cartridge_limit"),
    ],
)
def test_a_bad_bound_is_named(bad, named):
    with pytest.raises(ValueError, match=named):
        maximum_use_concentration(**{"protection_factor": 10, "exposure_limit": "200 ppm"} | bad)


# --- tables


FACTORS = {
    "quarter mask": 5,
    "half mask": 10,
    "full facepiece": 50,
    "powered half mask": 50,
    "powered full facepiece": 1000,
    "powered hood or helmet": 25,
    "powered loose-fitting": 25,
}


@pytest.mark.parametrize(("name", "factor"), FACTORS.items())
def test_protection_factors_of_table_1(name, factor):
    """29 CFR 1910.134 Table 1; a hood counts 25 without evidence from its maker."""
    found = facepiece(name)
    assert found.protection_factor.value == factor
    assert found.protection_factor.source == "osha_1910_134"
    assert found.powered == name.startswith("powered")
    assert found.covers_eyes == (not name.endswith("mask"))


@pytest.mark.parametrize("spelling", ["Half Mask", " half  mask ", "half-mask", "half_mask", "HALF MASK"])
def test_the_spelling_of_a_facepiece_is_forgiven(spelling):
    assert facepiece(spelling).name == "half mask"


@pytest.mark.parametrize("unknown", ["", "mask", "N95", "surgical mask", "half", None, 10, True, ["half mask"], "scba"])
def test_an_unknown_facepiece_lists_the_known(unknown):
    with pytest.raises(ValueError, match=r"facepiece = .*quarter mask, half mask, full facepiece"):
        facepiece(unknown)


def test_rows_of_the_tables():
    from respcalc.workplace import facepieces, work_rates

    assert len(facepieces()) == 7
    assert [r["work_rate"] for r in work_rates()] == ["light", "moderate", "heavy", "very heavy"]
    assert [round(r["minute_volume"] * 6e4) for r in work_rates()] == [30, 40, 65, 105]


@pytest.mark.parametrize(
    ("cas", "standard", "filtering"),
    [
        ("107-13-1", "1910.1045", True),
        ("71-43-2", "1910.1028", True),
        ("106-99-0", "1910.1051", True),
        ("50-00-0", "1910.1048", False),
        ("75-01-4", "1910.1017", True),
        ("75-09-2", "1910.1052", False),
        ("75-21-8", "1910.1047", False),
        ("96-12-8", "1910.1044", False),
        ("107-30-2", "1910.1003", False),
        ("542-88-1", "1910.1003", False),
        ("151-56-4", "1910.1003", False),
        ("57-57-8", "1910.1003", False),
        ("62-75-9", "1910.1003", False),
    ],
)
def test_the_substances_with_rules_of_their_own(cas, standard, filtering):
    rules = rules_for(cas)
    assert any(standard in rule.standard for rule in rules)
    assert any(rule.forbids for rule in rules) != filtering
    assert all(rule.wording in rule.text and rule.edition in rule.text for rule in rules)


def test_what_comes_from_memory_says_so():
    assert "to be confirmed" in rules_for("107-13-1")[0].text
    assert all("to be confirmed" in rule.text for rule in rules_for("106-99-0"))


@pytest.mark.parametrize("cas", ["", "108-88-3", "benzene", "0071-43-2"])
def test_other_substances_have_none(cas):
    assert rules_for(cas) == ()


@pytest.mark.parametrize(
    ("ppm", "hours"),
    [(0.1, 4), (5, 4), (5.01, 3), (10, 3), (10.5, 2), (25, 2), (25.01, 1), (50, 1), (50.01, 0), (1000, 0)],
)
def test_butadiene_intervals(ppm, hours):
    """29 CFR 1910.1051 Table 1: 4, 3, 2 and 1 h up to 5, 10, 25 and 50 ppm; nothing above."""
    holding = [rule for rule in rules_for("106-99-0") if rule.holds_at(ppm * 1e-6)]
    assert [rule.duration / 3600 for rule in holding if rule.acts == "interval"] == [hours] * (hours > 0)
    assert any(rule.acts == "not permitted" for rule in holding) == (hours == 0)
    assert not any(rule.acts == "interval" for rule in rules_for("71-43-2"))
