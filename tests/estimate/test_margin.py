"""What the predicted time is divided by, and when a stricter time takes its place."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import respcalc
from respcalc.core.errors import CartridgeError, DomainError, UnknownVapour
from respcalc.estimate import is_light_halogenated, margin_of, reduced_potential, shipped_calibration
from respcalc.estimate.margin import RATE_SHARE, calibrated_concentration, read_coverage, usable_time

FLOOR, TESTED_FLOOR = 1.5, 1.25


def bed(**more):
    carbon = {"micropore_volume": "0.454 cm3/g", "characteristic_energy": "19.7 kJ/mol"} | more
    return respcalc.describe_bed(
        "pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2,
        **{k: v for k, v in carbon.items() if v is not None},
    )  # fmt: skip


KNOWN = bed()
DEFAULT = bed(micropore_volume=None, characteristic_energy=None)


@pytest.mark.parametrize(
    ("name", "light"),
    [
        ("dichloromethane", True), ("chloroform", True), ("iodomethane", True), ("trichloroethylene", True),
        ("1,2-dichloropropane", True), ("chlorobenzene", False), ("1-chlorobutane", False), ("acetone", False),
        ("ethanol", False), ("carbon disulfide", False), ("halothane", True),
    ],
)  # fmt: skip
def test_light_halogenated_molecules(name, light):
    assert is_light_halogenated(respcalc.find_vapour(name)) is light


def test_reduced_potential_by_hand():
    """A = RT ln(psat/p) over the lower of the two affinities times 19.7 kJ/mol, at 1000 ppm and 22 degC."""
    acetone = respcalc.find_vapour("acetone")
    psat, polarization = float(acetone.saturation_pressures(295.15)), acetone.molar_polarization.value * 1e6
    beta = min(0.0862 * polarization**0.75, (polarization / 26.2) ** 0.9)
    by_hand = 8.31446261815324e-3 * 295.15 * math.log(psat / 101.325) / (beta * 19.7)
    assert reduced_potential(acetone) == pytest.approx(by_hand, rel=1e-6)
    assert reduced_potential(respcalc.find_vapour("n-dodecane")) == 0.0  # cannot reach 1000 ppm: full pores


def test_a_carbon_that_holds_less_widens_and_a_better_one_earns_nothing():
    acetone = respcalc.find_vapour("acetone")
    assert reduced_potential(acetone, 15e3) == pytest.approx(reduced_potential(acetone) * 19.7 / 15)
    assert reduced_potential(acetone, 25e3) == reduced_potential(acetone)


def test_the_divisor_is_the_bound_or_the_floor():
    used = shipped_calibration()
    for name in ("toluene", "acetone", "chloroform", "2-butanone"):
        vapour = respcalc.find_vapour(name)
        bound = used.bound(reduced_potential(vapour), is_light_halogenated(vapour), 0.95)
        assert margin_of(vapour, KNOWN).divisor == pytest.approx(max(FLOOR, math.exp(bound)))


def test_a_default_carbon_widens():
    """Student's bound for a tenth carbon from nine: 0.04 + 1.860 x 0.31 x sqrt(10/9), added in quadrature."""
    used, toluene = shipped_calibration(), respcalc.find_vapour("toluene")
    bound = used.bound(reduced_potential(toluene), False, 0.95)
    together = math.hypot(bound, 0.04 + 1.8595480375 * 0.31 * math.sqrt(10 / 9))
    margin = margin_of(toluene, DEFAULT)
    assert margin.divisor == pytest.approx(math.exp(together), rel=1e-6)
    assert margin.divisor > margin_of(toluene, KNOWN).divisor
    assert "the carbon is a default" in margin.note


def test_the_floor_says_that_the_times_are_recalled():
    note = margin_of(respcalc.find_vapour("toluene"), KNOWN).note
    assert "held at the floor of 1.5" in note
    assert "recalled" in note


def test_no_floor_where_the_times_were_read():
    read = replace(shipped_calibration(), recalled=False, name="my own tests")
    margin = margin_of(respcalc.find_vapour("toluene"), KNOWN, calibration=read)
    assert 1.0 <= margin.divisor < FLOOR
    assert margin.calibrated_on == f"{len(read.vapours)} vapours: my own tests"


def test_a_cartridge_fitted_to_its_own_test_needs_less():
    toluene, acetone = respcalc.find_vapour("toluene"), respcalc.find_vapour("acetone")
    tested = bed(tested_with="toluene")
    same = margin_of(toluene, tested)
    assert same.divisor == TESTED_FLOOR
    assert "fitted to its own test with toluene" in same.note
    other = margin_of(respcalc.find_vapour("o-xylene"), tested)
    assert TESTED_FLOOR < other.divisor < FLOOR
    assert margin_of(acetone, bed(tested_with="acetone")).divisor < margin_of(acetone, KNOWN).divisor


def test_a_test_needs_the_values_that_were_fitted_to_it():
    with pytest.raises(
        CartridgeError, match="tested_with = 'toluene': micropore_volume and characteristic_energy must"
    ):
        bed(micropore_volume=None, characteristic_energy=None, tested_with="toluene")
    with pytest.raises(UnknownVapour, match="xylene"):
        bed(tested_with="xylene")


def test_a_vapour_of_unknown_formula_counts_as_the_worst_group():
    def own(formula):
        return respcalc.define_vapour(
            "mine", molar_mass="86.2 g/mol", boiling_point="60 degC", saturation_pressure="22 kPa",
            saturation_temperature="20 degC", liquid_density="0.9 g/cm3", refractive_index=1.4, formula=formula,
        )  # fmt: skip

    unknown, known = margin_of(own(""), KNOWN), margin_of(own("C6H14"), KNOWN)
    assert unknown.divisor > known.divisor
    assert "formula is not known" in unknown.note


def test_beyond_the_plain_vapours_the_worst_group_counts():
    acrolein = margin_of(respcalc.find_vapour("acrolein"), KNOWN)
    assert "held worse than any other" in acrolein.note
    assert acrolein.divisor > 4
    assert not acrolein.outside


def test_beyond_every_vapour_it_is_outside(pair, dry_air):
    life = respcalc.estimate_service_life(
        "methyl formate", "200 ppm", cartridge=pair, air=dry_air, work_rate="moderate"
    )
    assert any("held worse" in text and "extrapolation" in text for text in life.outside_model)
    frame = respcalc.sweep_service_life(
        "methyl formate", "200 ppm", cartridge=pair, temperature="20 degC", relative_humidity="30 %",
        pressure="101 kPa", flow_rate="30 L/min",
    )  # fmt: skip
    assert "extrapolation" in frame["reason"][0]
    assert np.isnan(frame["service_life [min]"][0])


@pytest.mark.parametrize("bad", ["50 %", "20 %", "100 %", 0.0, 1.0, "120 %"])
def test_coverage_outside_its_bounds_is_refused(bad):
    with pytest.raises(DomainError, match="coverage"):
        read_coverage(bad)


@pytest.mark.parametrize(("given_as", "value"), [(None, 0.95), ("90 %", 0.9), (0.8, 0.8)])
def test_coverage_is_read(given_as, value):
    assert read_coverage(given_as) == pytest.approx(value)


def test_coverage_reaches_the_result(pair, dry_air):
    asked = {"cartridge": pair, "air": dry_air, "work_rate": "moderate"}
    usual = respcalc.estimate_service_life("chloroform", "200 ppm", **asked)
    less = respcalc.estimate_service_life("chloroform", "200 ppm", coverage="80 %", **asked)
    assert less.life.value > usual.life.value
    assert less.breakthrough.value == usual.breakthrough.value
    assert usual.life.value < usual.central.value < usual.breakthrough.value
    text, plain = str(less), less.as_dict()
    assert "coverage                80 %, calibrated on 69 vapours" in text
    assert plain["margin"]["coverage"]["value"] == pytest.approx(80.0)
    assert "69 vapours" in plain["margin"]["calibrated_on"]
    assert "recalled" in plain["margin"]["calibrated_on"]
    assert plain["central_estimate"]["value"] == pytest.approx(usual.central.value / 60)
    with pytest.raises(DomainError, match=r"69 calibrated vapours support at most 0\.98"):
        respcalc.estimate_service_life("chloroform", "200 ppm", coverage="99 %", **asked)


def test_other_conditions_than_the_calibrated_ones_are_named(pair, dry_air):
    life = respcalc.estimate_service_life("toluene", "200 ppm", cartridge=pair, air=dry_air, work_rate="moderate")
    (text,) = [w for w in life.basis.warnings if "calibrated in other conditions" in w]
    assert "200 ppm instead of 1000 ppm" in text


# --- the second, stricter time


@pytest.mark.parametrize(
    ("times", "there", "ppm", "life"),
    [
        ((90.0, 80.0), (90.0, 80.0), 1000.0, 60.0),  # the divisor
        ((90.0, 50.0), (90.0, 50.0), 2000.0, 50.0),  # a short bed: the slower rate
        ((90.0, 0.0), (90.0, 0.0), 1000.0, 0.0),
        ((900.0, 800.0), (90.0, 80.0), 100.0, 60.0 * 10**0.67),  # the power rule
        ((300.0, 280.0), (90.0, 80.0), 100.0, 200.0),  # the isotherm is stricter than the rule
        ((900.0, 800.0), (90.0, 50.0), 100.0, 50.0 * 10**0.67),
    ],
)
def test_usable_time_by_cases(times, there, ppm, life):
    margin = replace(margin_of(respcalc.find_vapour("benzene"), KNOWN), divisor=1.5, calibrated_concentration=1e-3)
    assert usable_time(margin, times, there, ppm * 1e-6) == pytest.approx(life)


def test_the_calibrated_concentration_by_hand():
    """Where A = RT ln(psat/p) is 0.40 beta E0 at 22 degC, and 1000 ppm at most."""
    cumene = respcalc.find_vapour("cumene")
    top = calibrated_concentration(cumene)
    polarization = cumene.molar_polarization.value * 1e6
    beta = min(0.0862 * polarization**0.75, (polarization / 26.2) ** 0.9)
    work = 8.31446261815324e-3 * 295.15 * math.log(float(cumene.saturation_pressures(295.15)) / (top * 101325.0))
    assert work == pytest.approx(0.4 * beta * 19.7)
    assert 30e-6 < top < 100e-6
    assert calibrated_concentration(respcalc.find_vapour("acetone")) == 1000e-6


def test_below_the_calibrated_concentration_it_says_so(pair, dry_air):
    life = respcalc.estimate_service_life("toluene", "20 ppm", cartridge=pair, air=dry_air, work_rate="moderate")
    assert life.life.value < life.breakthrough.value / life.margin.divisor
    assert any("five times for ten" in c for c in life.basis.choices)


def test_a_short_bed_is_held_to_the_slower_rate(dry_air):
    thin = respcalc.describe_bed(
        "thin", sorbent_mass="24 g", face_area="45 cm2", bulk_density="0.45 g/cm3", in_parallel=2,
        micropore_volume="0.454 cm3/g", characteristic_energy="19.7 kJ/mol",
    )  # fmt: skip
    life = respcalc.estimate_service_life("toluene", "100 ppm", cartridge=thin, air=dry_air, work_rate="heavy")
    assert 0 <= life.life.value < life.breakthrough.value / life.margin.divisor
    assert any(f"{RATE_SHARE:.2g} of the rate coefficient" in c for c in life.basis.choices)


@given(
    first=st.floats(1e-6, 2e-3), ratio=st.floats(1.0, 50.0),
    name=st.sampled_from(["toluene", "acetone", "chloroform", "n-hexane", "ethanol", "dichloromethane"]),
    humid=st.floats(0.0, 1.0), scale=st.floats(0.2, 2.0),
)  # fmt: skip
@settings(max_examples=150)
def test_more_vapour_never_lengthens_a_life(first, ratio, name, humid, scale):
    cartridge = respcalc.describe_bed(
        "pair", sorbent_mass=f"{45 * scale:.6g} g", face_area="45 cm2", bulk_density="0.45 g/cm3", in_parallel=2
    )
    frame = respcalc.sweep_service_life(
        name, [f"{1e6 * first:.12g} ppm", f"{1e6 * first * ratio:.12g} ppm"], cartridge=cartridge,
        temperature="22 degC", relative_humidity=humid, pressure="101.325 kPa", flow_rate="40 L/min",
    )  # fmt: skip
    lives = frame["service_life [min]"].to_numpy()
    if np.isfinite(lives).all():
        assert lives[1] <= lives[0] * (1 + 1e-9)


@pytest.mark.parametrize("name", ["toluene", "chloroform", "acetone"])
@pytest.mark.parametrize("ppm", [2.0, 30.0, 90.0, 110.0, 900.0])
def test_one_case_and_the_sweep_agree(pair, name, ppm):
    air = respcalc.describe_air(temperature="24 degC", relative_humidity="40 %", pressure="100 kPa")
    one = respcalc.estimate_service_life(name, f"{ppm} ppm", cartridge=pair, air=air, work_rate="35 L/min")
    frame = respcalc.sweep_service_life(
        name, f"{ppm} ppm", cartridge=pair, temperature="24 degC", relative_humidity="40 %", pressure="100 kPa",
        flow_rate="35 L/min",
    )  # fmt: skip
    assert frame["service_life [min]"][0] == pytest.approx(one.life.value / 60, rel=1e-12)
    assert one.margin.divisor > 1
