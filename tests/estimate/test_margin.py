"""What the predicted time is divided by, and when a stricter time takes its place."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import respcalc
from respcalc.core.errors import CartridgeError, DomainError, UnitsError, UnknownVapour
from respcalc.estimate import is_light_halogenated, margin_of, reduced_potential, shipped_calibration
from respcalc.estimate.margin import RATE_SHARE, calibrated_concentration, rate_shares, read_coverage, usable_time

FLOOR, MEASURED_FLOOR = 1.5, 1.25


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


@pytest.mark.parametrize("name", ["toluene", "acetone", "chloroform"])
def test_a_default_carbon_widens(name):
    """Centres add up, scatters in quadrature. Student's for an 18th carbon from 17: 1.746 x 0.331 x sqrt(18/17)."""
    used, vapour = shipped_calibration(), respcalc.find_vapour(name)
    x, light = reduced_potential(vapour), is_light_halogenated(vapour)
    bound, centre = used.bound(x, light, 0.95), used.centre(x, light)
    together = centre + 0.136 + math.hypot(bound - centre, 1.7458836763 * 0.331 * math.sqrt(18 / 17))
    margin = margin_of(vapour, DEFAULT)
    assert margin.divisor == pytest.approx(math.exp(together), rel=1e-6)
    assert margin.divisor > margin_of(vapour, KNOWN).divisor
    assert "the carbon is a default" in margin.note


def test_the_floor_says_that_the_times_are_recalled():
    note = margin_of(respcalc.find_vapour("toluene"), KNOWN).note
    assert "held at the floor of 1.5" in note
    assert "recalled" in note


def test_a_lower_floor_where_the_times_were_read():
    read = replace(shipped_calibration(), recalled=False, name="my own tests")
    dodecane = respcalc.find_vapour("n-dodecane")
    margin = margin_of(dodecane, KNOWN, coverage=0.9, calibration=read)
    assert margin.divisor == MEASURED_FLOOR < margin_of(dodecane, KNOWN, coverage=0.9).divisor
    assert "lots and tests differ" in margin.note
    assert margin.calibrated_on == f"{len(read.vapours)} vapours: my own tests"


def only(light):
    """The shipped calibration without one of its two groups."""
    whole = shipped_calibration()
    kept = whole.light == light
    return replace(
        whole, vapours=tuple(v for v, k in zip(whole.vapours, kept, strict=True) if k), excess=whole.excess[kept],
        potential=whole.potential[kept], light=whole.light[kept],
    )  # fmt: skip


def test_a_calibration_that_lacks_a_group_does_not_speak_for_it():
    plain = only(light=False)
    assert (
        "fewer than 5 of them were calibrated"
        in margin_of(respcalc.find_vapour("chloroform"), KNOWN, calibration=plain).outside
    )
    assert not margin_of(respcalc.find_vapour("toluene"), KNOWN, calibration=plain).outside
    acrolein = margin_of(respcalc.find_vapour("acrolein"), KNOWN, calibration=plain)
    assert acrolein.outside


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
    assert "about one vapour in 5 can break through before this life ends" in text
    assert plain["margin"]["coverage"]["value"] == pytest.approx(80.0)
    assert "69 vapours" in plain["margin"]["calibrated_on"]
    assert "recalled" in plain["margin"]["calibrated_on"]
    assert plain["central_estimate"]["value"] == pytest.approx(usual.central.value / 60)
    with pytest.raises(DomainError, match=r"coverage = 99 %: 69 calibrated vapours support at most 98\.5 %"):
        respcalc.estimate_service_life("chloroform", "200 ppm", coverage="99 %", **asked)


def test_other_conditions_than_the_calibrated_ones_are_named(pair, dry_air):
    life = respcalc.estimate_service_life("toluene", "200 ppm", cartridge=pair, air=dry_air, work_rate="moderate")
    (text,) = [w for w in life.basis.warnings if "the models alone vouch" in w]
    assert "200 ppm instead of 1000 ppm" in text
    own = replace(shipped_calibration(), conditions=None)
    asked = {"cartridge": pair, "air": dry_air, "work_rate": "moderate", "calibration": own}
    life = respcalc.estimate_service_life("toluene", "200 ppm", **asked)
    assert any("calibration of your own" in w for w in life.basis.warnings)


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


def test_the_calibrated_concentration():
    """That of the tests, 1000 ppm, or saturation at 22 degC."""
    assert calibrated_concentration(respcalc.find_vapour("toluene")) == 1000e-6
    dodecane = respcalc.find_vapour("n-dodecane")
    assert calibrated_concentration(dodecane) == pytest.approx(float(dodecane.saturation_pressures(295.15)) / 101325.0)


def test_below_the_calibrated_concentration_it_says_so(pair, dry_air):
    life = respcalc.estimate_service_life("toluene", "20 ppm", cartridge=pair, air=dry_air, work_rate="moderate")
    assert life.life.value < life.breakthrough.value / life.margin.divisor
    assert "five times the life for a tenth" in life.life_set_by
    assert life.life_set_by in str(life)


def test_a_short_bed_is_held_to_the_slower_rate(dry_air):
    thin = respcalc.describe_bed(
        "thin", sorbent_mass="24 g", face_area="45 cm2", bulk_density="0.45 g/cm3", in_parallel=2,
        micropore_volume="0.454 cm3/g", characteristic_energy="19.7 kJ/mol",
    )  # fmt: skip
    life = respcalc.estimate_service_life("toluene", "100 ppm", cartridge=thin, air=dry_air, work_rate="heavy")
    assert 0 <= life.life.value < life.breakthrough.value / life.margin.divisor
    assert f"{100 * RATE_SHARE:.0f} % of the rate coefficient" in life.life_set_by


AT_MOST = math.exp(-(math.sqrt(2.0) - 1.0) * math.log(1.3))  # 0.897, where the tests say nothing of the rate


@given(reach=st.floats(0.0, math.log(1.3)), less=st.floats(0.0, 1.0))
def test_what_is_left_of_the_rate_is_the_two_scatters_in_quadrature_less_what_the_beds_carry(reach, less):
    certified = respcalc.certified_bed("pair", "US cartridge OV", combination=False, in_parallel=2)

    def left(carried):
        own, slow = rate_shares(replace(certified, evidence=replace(certified.evidence, rate_reach=carried)))
        return slow / own

    assert -math.log(left(reach)) == pytest.approx(math.hypot(reach, math.log(1.3)) - reach)
    assert RATE_SHARE * (1 - 1e-12) <= left(less * reach) <= left(reach) * (1 + 1e-12) <= AT_MOST * (1 + 2e-12)
    # what the slowest bed is run at rises the better its rate is known
    assert left(less * reach) * math.exp(-less * reach) >= left(reach) * math.exp(-reach) * (1 - 1e-12)


def test_the_better_curves_tell_the_rate_the_less_of_it_is_left_for_another_vapour():
    own, slow = rate_shares(KNOWN)
    assert slow / own == pytest.approx(RATE_SHARE)
    common = {"report": "simulated", "concentration": "1000 ppm", "flow_rate": "53 L/min", "temperature": "22 degC",
              "relative_humidity": "50 %", "pressure": "101.325 kPa"}  # fmt: skip
    minutes = np.linspace(45.0, 140.0, 14)
    through = 1 / (1 + np.exp(0.11 * (90.0 - minutes)))
    curves = [
        respcalc.describe_curve(vapour, worn_time=[f"{m!r} min" for m in minutes.tolist()], exit_fraction=through,
                                **common)
        for vapour in ("toluene", "m-xylene", "styrene")
    ]  # fmt: skip
    time = respcalc.describe_test("toluene", breakthrough_time="60 min", exit_fraction="1 %", **common)
    beds = [respcalc.certified_bed("pair", "US cartridge OV", combination=False, in_parallel=2)]
    beds += [respcalc.fit_bed(KNOWN, tests).cartridge for tests in (time, curves[:1], curves[:2], curves)]
    left = [slow / own for own, slow in map(rate_shares, beds)]
    assert left[:2] == pytest.approx([AT_MOST, AT_MOST])
    assert AT_MOST - 0.02 > left[2] > left[3] > left[4] > RATE_SHARE
    for one in beds:  # the beds reach as far as they say
        scales = [b.rate_share for b in one.beds()]
        assert math.log(max(scales) / min(scales)) == pytest.approx(2 * one.evidence.rate_reach)


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


def test_the_text_names_what_sets_the_life(pair, dry_air):
    """Over a grid: the head's reason is the one whose number is the life."""
    seen = set()
    for ppm in (10, 100, 900, 3000):
        for mass in (14, 24, 45, 90):
            cartridge = respcalc.describe_bed(
                "b", sorbent_mass=f"{mass} g", face_area="45 cm2", bulk_density="0.45 g/cm3", in_parallel=2,
                micropore_volume="0.454 cm3/g", characteristic_energy="19.7 kJ/mol",
            )  # fmt: skip
            life = respcalc.estimate_service_life(
                "toluene", f"{ppm} ppm", cartridge=cartridge, air=dry_air, work_rate="moderate"
            )
            divided = life.breakthrough.value / life.margin.divisor
            reason = life.life_set_by.split(":")[0]
            seen.add(reason)
            assert (reason == "the divisor of the margin") == (life.life.value == pytest.approx(divided))
            if reason == "the concentration":
                assert ppm < 1000
    assert seen == {"the divisor of the margin", "the concentration", "the rate"}


# --- a test of the cartridge's own

TEST = {
    "report": "house laboratory, March 2026 (invented)", "exit_fraction": "1 %", "concentration": "300 ppm",
    "flow_rate": "40 L/min", "temperature": "25 degC", "relative_humidity": "50 %", "pressure": "101.3 kPa",
}  # fmt: skip
LIMIT = {"exposure_limit": "100 ppm", "exposure_limit_authority": "site", "work_rate": "40 L/min"}


def own_test(minutes="205 min", vapour="2-butanone", **changes):
    return respcalc.cartridges.describe_test(vapour, breakthrough_time=minutes, **{**TEST, **changes})


def life_of(
    cartridge, ppm="300 ppm", vapour="2-butanone", celsius="25 degC", rh="50 %", flow="40 L/min", kpa="101.3 kPa"
):
    air = respcalc.describe_air(temperature=celsius, relative_humidity=rh, pressure=kpa)
    return respcalc.estimate_service_life(vapour, ppm, cartridge=cartridge, air=air, **{**LIMIT, "work_rate": flow})


def sweep_of(cartridge, ppm, vapour="2-butanone"):
    return respcalc.sweep_service_life(
        vapour, [ppm], cartridge=cartridge, temperature="25 degC", relative_humidity="50 %",
        pressure="101.3 kPa", flow_rate="40 L/min", exposure_limit="100 ppm", exposure_limit_authority="site",
    )  # fmt: skip


def test_near_its_own_test_a_cartridge_needs_less():
    plain = life_of(DEFAULT)
    minutes = plain.breakthrough.value / 60
    near = life_of(bed(micropore_volume=None, characteristic_energy=None, test=own_test(f"{minutes:.6g} min")))
    assert near.margin.divisor == MEASURED_FLOOR
    assert near.margin.coverage is None
    assert near.life.value == pytest.approx(near.breakthrough.value / 1.25)
    assert near.life.value > plain.life.value
    text = str(near)
    assert "not stated, calibrated on the cartridge's own test: 2-butanone 300 ppm" in text
    assert "house laboratory, March 2026 (invented)" in text
    assert "common practice, no source" in text


@pytest.mark.parametrize(
    "away",
    [
        {"celsius": "31 degC"}, {"rh": "60 %"}, {"flow": "50 L/min"}, {"kpa": "80 kPa"},
        {"vapour": "toluene"},
    ],
)  # fmt: skip
def test_away_from_it_the_usual_margin_holds(away):
    minutes = life_of(DEFAULT).breakthrough.value / 60
    there = life_of(bed(micropore_volume=None, characteristic_energy=None, test=own_test(f"{minutes:.6g} min")), **away)
    assert there.life.value == life_of(DEFAULT, **away).life.value
    assert there.margin.coverage == 0.95


def test_a_damp_carbon_is_away_from_it():
    minutes = life_of(DEFAULT).breakthrough.value / 60
    cartridge = bed(micropore_volume=None, characteristic_energy=None, test=own_test(f"{minutes:.6g} min"))
    air = respcalc.describe_air(temperature="25 degC", relative_humidity="50 %", pressure="101.3 kPa")
    damp = respcalc.cartridges.describe_history(dampest_air="60 %")
    life = respcalc.estimate_service_life("2-butanone", "300 ppm", cartridge=cartridge, air=air, history=damp, **LIMIT)
    assert life.margin.coverage == 0.95


def just(ppm, vapour="2-butanone"):
    """A bed that lasts just as long as its own test at some concentration."""
    minutes = life_of(DEFAULT, ppm=ppm, vapour=vapour).breakthrough.value / 60
    test = own_test(f"{minutes:.15g} min", vapour=vapour, concentration=ppm)
    return bed(micropore_volume=None, characteristic_energy=None, test=test)


MILDER = [{"celsius": "5 degC"}, {"rh": "10 %"}, {"celsius": "5 degC", "rh": "10 %"}]


@pytest.mark.parametrize("away", MILDER)
@pytest.mark.parametrize("vapour", ["2-butanone", "acetone", "toluene", "n-hexane"])
def test_no_milder_conditions_than_the_tests_are_credited(vapour, away):
    """By the test a task lasts as long as the test's own air; only the usual margin may give it more."""
    cartridge = just("1000 ppm", vapour)
    there, milder, usual = (
        life_of(c, **{"ppm": "1000 ppm", "vapour": vapour, **more})
        for c, more in ((cartridge, {}), (cartridge, away), (DEFAULT, away))
    )
    assert there.margin.coverage is None
    assert there.life_set_by.startswith("the cartridge's own test, carried")
    assert milder.life.value == pytest.approx(max(usual.life.value, there.life.value), rel=1e-12)
    assert (milder.margin.coverage is None) == (there.life.value > usual.life.value)


@pytest.mark.parametrize("vapour", ["2-butanone", "acetone", "toluene", "n-hexane"])
@pytest.mark.parametrize("ppm", [1.0, 10.0, 50.0, 300.0, 900.0])
def test_a_test_is_carried_to_less_vapour_by_the_lesser_exponent_and_a_grown_margin(vapour, ppm):
    """At most the 0.67 power of the dilution, the local exponent of a weak carbon there, and what the chain gives."""
    cartridge = just("1000 ppm", vapour)
    there = life_of(cartridge, ppm="1000 ppm", vapour=vapour)
    here = life_of(cartridge, ppm=f"{ppm} ppm", vapour=vapour)
    usual = life_of(DEFAULT, ppm=f"{ppm} ppm", vapour=vapour)
    assert here.life.value >= usual.life.value
    if here.margin.coverage is None:
        known, best = respcalc.find_vapour(vapour), 0.0
        beta = min(0.0862 * (known.molar_polarization.value * 1e6) ** 0.75,
                   (known.molar_polarization.value * 1e6 / 26.2) ** 0.9)  # fmt: skip
        kappa = 8.31446e-3 * 298.15 / (beta * 16.0)
        for share in np.linspace(0.0, 1.0, 2001):  # no further than where the exponent still gains
            log = share * np.log(1000.0 / ppm)
            y = np.log(float(known.saturation_pressures(298.15)) / (1000e-6 * 101300.0)) + log
            best = max(best, (min(0.67, 1.0 - 2.0 * kappa**2 * y) - 0.05) * log)
        assert here.life.value <= there.life.value * np.exp(best) * (1 + 1e-6)
        assert here.life.value <= here.breakthrough.value / MEASURED_FLOOR * (1 + 1e-12)
        assert "carried to another concentration" in here.margin.note
    assert (here.life.value > there.life.value) or vapour == "acetone"


@pytest.mark.parametrize("ppm", [400.0, 1000.0, 3000.0])
def test_a_test_is_carried_to_more_vapour_in_proportion_at_least(ppm):
    cartridge = just("300 ppm", "toluene")
    there, here = (life_of(cartridge, ppm=f"{p} ppm", vapour="toluene") for p in (300.0, ppm))
    assert here.life.value <= there.life.value * 300.0 / ppm
    if here.margin.coverage is None:
        assert here.margin.divisor == pytest.approx(MEASURED_FLOOR * (ppm / 300.0) ** 0.05)
        assert "grown to" in here.margin.note


def test_a_test_is_carried_to_less_flow_in_proportion():
    cartridge = just("300 ppm", "toluene")
    there, here = (life_of(cartridge, vapour="toluene", flow=f) for f in ("40 L/min", "20 L/min"))
    assert here.life.value == pytest.approx(2 * there.life.value)


def test_what_a_test_measured_in_air_no_worse_is_not_outlasted():
    """Two tests of one vapour that disagree: the lesser stands for all air that is no milder than its own."""
    first = own_test("400 min", "toluene", concentration="300 ppm")
    poor = own_test("30 min", "toluene", concentration="600 ppm")
    fitted = respcalc.fit_bed(bed(micropore_volume=None, characteristic_energy=None), [first, poor]).cartridge
    for ppm in ("600 ppm", "700 ppm"):
        life = life_of(fitted, ppm=ppm, vapour="toluene")
        assert life.life.value <= 30 * 60 / MEASURED_FLOOR
        frame = sweep_of(fitted, ppm, "toluene")
        assert frame["service_life [min]"][0] == pytest.approx(life.life.value / 60, rel=1e-9)


@pytest.mark.parametrize("ppm", ["300 ppm", "100 ppm"])
def test_a_tie_of_two_lives_of_nothing(ppm):
    """A bed that holds no wave: both ways leave nothing, and the case and the sweep name the same margin."""
    shape = {"face_area": "45 cm2", "bulk_density": "0.45 g/cm3", "in_parallel": 2}
    thin = respcalc.describe_bed("thin", sorbent_mass="12 g", **shape, test=own_test("1 min"))
    one = life_of(thin, ppm=ppm)
    frame = sweep_of(thin, ppm)
    assert one.life.value == frame["service_life [min]"][0] == 0.0
    assert one.margin.coverage == 0.95
    assert frame["coverage [%]"][0] == pytest.approx(95.0)
    assert frame["calibrated_on"][0] == one.margin.calibrated_on


@pytest.mark.parametrize(
    ("kinder", "near"), [({}, True), ({"saturation_pressure": 0.5}, False), ({"liquid_density": 1.2}, False)]
)
def test_only_the_same_properties_are_the_same_substance(kinder, near):
    """Toluene with kinder data goes by its own name and number, and not by the test of the listed one."""
    listed, cartridge = respcalc.find_vapour("toluene"), just("300 ppm", "toluene")
    scale = {"saturation_pressure": 1.0, "liquid_density": 1.0, **kinder}
    kelvin = 298.15
    own = respcalc.define_vapour(
        "toluene", cas=listed.cas, molar_mass="92.14 g/mol", boiling_point="110.6 degC",
        saturation_pressure=f"{scale['saturation_pressure'] * float(listed.saturation_pressures(kelvin))!r} Pa",
        saturation_temperature="25 degC", formula="C7H8", refractive_index=1.4941,
        liquid_density=f"{scale['liquid_density'] * float(listed.liquid_densities(kelvin))!r} kg/m3",
    )  # fmt: skip
    tested = listed if near else own
    assert (tested.cas, tested.name) == (listed.cas, listed.name)
    assert (life_of(cartridge, vapour=tested).margin.coverage is None) == near
    assert (sweep_of(cartridge, "300 ppm", tested)["coverage [%]"].isna()[0]) == near


def test_a_bed_that_outlasts_its_test_is_refused():
    with pytest.raises(
        CartridgeError, match=r"as described it would have lasted .* and lasted 60 min .*micropore_volume"
    ):
        life_of(bed(test=own_test("60 min")))


@pytest.mark.parametrize(
    ("changes", "error", "text"),
    [
        ({"minutes": "60"}, UnitsError, "breakthrough_time"),
        ({"minutes": "0 min"}, CartridgeError, "immediate breakthrough says nothing"),
        ({"vapour": "xylene"}, UnknownVapour, "xylene"),
        ({"report": " "}, CartridgeError, "say whose test it is"),
        ({"exit_fraction": "0 %"}, DomainError, "exit_fraction"),
        ({"relative_humidity": "120 %"}, DomainError, "relative_humidity"),
        ({"concentration": "300"}, UnitsError, "concentration = '300'"),
        ({"vapour": "n-dodecane", "concentration": "1000 ppm"}, CartridgeError, "concentration = .* at saturation"),
        ({"vapour": "formaldehyde"}, CartridgeError, "formaldehyde polymerises"),
    ],
)
def test_a_test_with_a_fault_is_refused(changes, error, text):
    with pytest.raises(error, match=text):
        own_test(**changes)


def test_what_is_no_test_is_refused():
    with pytest.raises(CartridgeError, match="describe_test"):
        bed(test="toluene")


@given(
    step=st.floats(0.0, 1.0), ppm=st.floats(5.0, 1500.0),
    worse=st.sampled_from(["ppm", "celsius", "rh", "flow", "kpa"]), start=st.floats(0.0, 1.0),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_no_step_for_the_worse_lengthens_a_tested_life(step, ppm, worse, start):
    cartridge = bed(micropore_volume=None, characteristic_energy=None, test=own_test("230 min"))

    def life(u):
        values = {
            "ppm": ppm * (1 + 2 * u), "celsius": 15 + 20 * u, "rh": 100 * u, "flow": 20 + 60 * u, "kpa": 101.3 - 30 * u,
        }  # fmt: skip
        fixed = {"ppm": ppm, "celsius": 22.0, "rh": 45.0, "flow": 38.0, "kpa": 101.0}
        at = {**fixed, worse: values[worse]}
        return life_of(
            cartridge, ppm=f"{at['ppm']} ppm", celsius=f"{at['celsius']} degC", rh=f"{at['rh']} %",
            flow=f"{at['flow']} L/min", kpa=f"{at['kpa']} kPa",
        ).life.value  # fmt: skip

    end = start + step * (1 - start)
    assert life(end) <= life(start) * (1 + 1e-9)


@pytest.mark.parametrize("ppm", [20.0, 100.0, 200.0, 290.0, 620.0])
def test_the_sweep_sees_the_test_too(ppm):
    minutes = life_of(DEFAULT).breakthrough.value / 60
    cartridge = bed(micropore_volume=None, characteristic_energy=None, test=own_test(f"{minutes:.6g} min"))
    frame = sweep_of(cartridge, f"{ppm} ppm")
    one = life_of(cartridge, ppm=f"{ppm} ppm")
    assert frame["service_life [min]"][0] == pytest.approx(one.life.value / 60, rel=1e-12)
    assert ("own test" in frame["calibrated_on"][0]) == (one.margin.coverage is None)
    assert np.isnan(frame["coverage [%]"][0]) == (one.margin.coverage is None)


@pytest.mark.parametrize("ppm", [1.0, 5.0, 20.0, 300.0])
@pytest.mark.parametrize("vapour", ["dichloromethane", "2-butanone"])
def test_a_tested_life_is_never_above_its_own_prediction(vapour, ppm):
    """The search of the test's air must not forget the exposure limit of the task."""
    cartridge = bed(micropore_volume=None, characteristic_energy=None)
    alone = life_of(cartridge, vapour=vapour, ppm="1000 ppm").breakthrough.value / 60
    report = own_test(f"{1.3 * alone:.4g} min", vapour=vapour, concentration="1000 ppm")
    life = life_of(bed(micropore_volume=None, characteristic_energy=None, test=report), vapour=vapour, ppm=f"{ppm} ppm")
    assert life.life.value <= life.breakthrough.value / life.margin.divisor * (1 + 1e-12)
