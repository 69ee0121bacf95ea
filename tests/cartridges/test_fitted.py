"""A bed from its tests: known carbons come back, what tests do not tell is assumed and said, nothing is over-fitted."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import respcalc
from respcalc.cartridges import fit_bed, fitted
from respcalc.core.errors import CartridgeError
from respcalc.core.units import Quantity
from respcalc.estimate import shipped_calibration
from respcalc.prediction import Challenge, breath_over_gas, run_chain, sorbate_of

BED = respcalc.describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
AIR = {"report": "simulated", "flow_rate": "53 L/min", "temperature": "22 degC", "relative_humidity": "50 %",
       "pressure": "101.325 kPa"}  # fmt: skip


def true_time(vapour, ppm, volume, energy, rate=1.0, share=0.01, flow=53.0, kelvin=295.15, humidity=0.0):
    """Seconds in a test's own air that a bed of a known carbon lasts."""
    bed = replace(BED.bed(flow * 1e-3 / 60), micropore_volume=volume, characteristic_energy=energy)
    challenge = Challenge(ppm * 1e-6, kelvin, 101325.0, humidity, share, np.inf)
    outcome = run_chain(sorbate_of(respcalc.find_vapour(vapour), kelvin), bed, challenge, rate)
    return float(outcome.breakthrough_time) * breath_over_gas(kelvin, 101325.0)


def time_test(vapour, ppm, volume, energy, rate=1.0, share=0.01, factor=1.0, **changes):
    seconds = factor * true_time(vapour, ppm, volume, energy, rate, share)
    return respcalc.describe_test(vapour, breakthrough_time=Quantity(seconds, "s"), exit_fraction=share,
                                  concentration=f"{ppm} ppm", **(AIR | changes))  # fmt: skip


def curve_test(vapour, ppm, volume, energy, rate=1.0, noise=0.003, seed=0):
    """A curve with a little scatter."""
    shares = np.array([0.005, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97])
    # the curve of the chain at its own rate for 1 %, so that one rate coefficient explains all points
    bed = replace(BED.bed(53e-3 / 60), micropore_volume=volume, characteristic_energy=energy)
    challenge = Challenge(ppm * 1e-6, 295.15, 101325.0, 0.0, 0.01, np.inf)
    outcome = run_chain(sorbate_of(respcalc.find_vapour(vapour), 295.15), bed, challenge, rate)
    seconds = respcalc.models.bohart_adams_time.si(
        capacity=float(outcome.dry_capacity), sorbent_mass=bed.sorbent_mass, flow_rate=bed.flow_rate,
        mass_concentration=float(outcome.mass_per_breath) / breath_over_gas(295.15, 101325.0),
        bulk_density=bed.bulk_density, rate_coefficient=float(outcome.dry_rate_coefficient), exit_fraction=shares,
    )  # fmt: skip
    through = np.clip(shares + noise * np.random.default_rng(seed).normal(size=shares.size), 0, 1)
    return respcalc.describe_curve(vapour, worn_time=Quantity(seconds, "s"), exit_fraction=through,
                                   concentration=f"{ppm} ppm", **AIR)  # fmt: skip


CARBON = (0.50e-3, 18.0e3)


def test_one_time_fixes_one_number_and_the_rest_is_assumed_and_said():
    found = fit_bed(BED, [time_test("toluene", 1000, *CARBON)])
    assert found.told_by_tests < 0.05
    low, high = found.energy_interval
    assert low == pytest.approx(19.0e3 - 1.645 * 1.5e3, rel=0.01)
    assert high == pytest.approx(19.0e3 + 1.645 * 1.5e3, rel=0.01)
    assert any(a.startswith("the energy: the tests hardly tell it") for a in found.assumptions)
    assert any(a.startswith("the rate coefficient: no curve was followed") for a in found.assumptions)
    for bed in found.cartridge.beds()[1:]:  # each of the beds it could be explains the test
        there = run_chain(
            sorbate_of(respcalc.find_vapour("toluene"), 295.15), bed.bed(53e-3 / 60),
            Challenge(1000e-6, 295.15, 101325.0, 0.0, 0.01, np.inf), bed.rate_share,
        )  # fmt: skip
        seconds = float(there.breakthrough_time) * breath_over_gas(295.15, 101325.0)
        assert seconds == pytest.approx(true_time("toluene", 1000, *CARBON), rel=1e-3)


@pytest.mark.parametrize("carbon", [(0.42e-3, 20.5e3), CARBON, (0.60e-3, 16.5e3)])
def test_one_vapour_at_several_strengths_tells_the_carbon(carbon):
    tests = [time_test("toluene", ppm, *carbon) for ppm in (10, 50, 200, 1000, 4000)]
    found = fit_bed(BED, tests)
    low, high = found.energy_interval
    assert low <= carbon[1] <= high
    assert high - low < 0.75 * 2 * 1.645 * 1.5e3
    assert found.cartridge.micropore_volume.value == pytest.approx(carbon[0], rel=0.15)
    assert found.told_by_tests > 0.4


def test_curves_tell_the_rate_scale_and_share_it():
    tests = [
        curve_test(v, 1000, *CARBON, rate=0.8, seed=k) for k, v in enumerate(("toluene", "n-hexane", "2-butanone"))
    ]
    found = fit_bed(BED, tests)
    assert found.cartridge.rate_scale.value == pytest.approx(0.8, rel=0.08)
    assert found.rate_interval[0] <= 0.8 <= found.rate_interval[1]
    assert len(found.curve_fits) == 3
    assert not any(a.startswith("the rate coefficient") for a in found.assumptions)
    for row in found.tests:
        assert "capacity" in row.told
        assert row.factor == pytest.approx(1.0, abs=0.1)


def test_a_foot_alone_is_taken_as_a_time():
    whole = curve_test("toluene", 1000, *CARBON, noise=0.0)
    foot = replace(whole, times=whole.times[:4], exit_fractions=whole.exit_fractions[:4])
    found = fit_bed(BED, [foot])
    assert found.curve_fits == ()
    assert found.tests[0].told.endswith("the least of 4 points at its foot")
    low, high = (min(b.micropore_volume.value for b in found.cartridge.beds()),
                 max(b.micropore_volume.value for b in found.cartridge.beds()))  # fmt: skip
    assert low < CARBON[0] < high


@pytest.mark.parametrize("foot", [[30], [30, 60], [0, 60]])
def test_a_curve_from_nothing_to_above_one_half_is_taken_at_its_first_reading(curve_of, foot):
    """No point up to one half but zeros: the first that is through counts, at its own time."""
    curve = curve_of([*foot, 100], [0.0] * len(foot) + [0.6])
    assert fitted._telling_times(curve, None) == [pytest.approx((100 * 60, 0.6))]
    found = fit_bed(BED, curve)
    assert found.curve_fits == ()
    assert found.tests[0].told.startswith("60 % through after")
    # the same as a time alone, and its first reading is no test near a schedule's exit fraction
    time = respcalc.describe_test("toluene", breakthrough_time="100 min", exit_fraction="60 %",
                                  concentration="1000 ppm", **AIR)  # fmt: skip
    alone = fit_bed(BED, time).cartridge
    assert found.cartridge.tests == ()
    for one, other in zip(found.cartridge.beds(), alone.beds(), strict=True):
        assert one.micropore_volume.value == pytest.approx(other.micropore_volume.value, rel=1e-9)
        assert one.rate_share == other.rate_share
    assert 0 < life_at(found.cartridge) < 100 / 1.25


@pytest.mark.parametrize(
    ("minutes", "through"), [([10, 480], [0.0, 1.0]), ([60, 120, 180], [0, 0, 0.95]), ([480], [1.0])]
)
def test_a_curve_that_was_first_read_when_the_bed_was_full_is_refused(curve_of, minutes, through):
    """It may have been full long before; a bed that lasted until then would have a far too good carbon."""
    with pytest.raises(CartridgeError, match=r"nothing was read between 0 and .* may have been full long before"):
        fit_bed(BED, curve_of(minutes, through))


def test_water_in_a_humid_test_is_not_credited():
    """The same time in humid air gives the same carbon: never a better one because water took some of it away."""
    dry, humid = (fit_bed(BED, [time_test("toluene", 300, *CARBON, relative_humidity=rh)]) for rh in ("50 %", "85 %"))
    assert humid.cartridge.micropore_volume.value == dry.cartridge.micropore_volume.value
    assert any(a.startswith("dry air") for a in humid.assumptions)


def test_a_flatter_foot_lowers_the_rate(curve_of):
    minutes = np.linspace(40, 170, 27)
    half = 95.0
    straight = 1 / (1 + np.exp(0.1 * (half - minutes)))
    leaky = 1 / (1 + np.exp(np.where(minutes < half, 0.08, 0.1) * (half - minutes)))
    one, other = (fit_bed(BED, [curve_of(minutes, p)]) for p in (straight, leaky))
    assert other.cartridge.rate_scale.value < one.cartridge.rate_scale.value


def test_a_worse_outcome_never_gives_a_longer_life():
    air = respcalc.describe_air(temperature="25 degC", relative_humidity="60 %", altitude="0 m")
    for vapour in ("toluene", "n-hexane", "acetone"):
        lives = []
        for factor in (1.2, 1.0, 0.8, 0.6):
            bed = fit_bed(BED, [time_test("toluene", 500, *CARBON, factor=factor)]).cartridge
            lives.append(
                respcalc.estimate_service_life(
                    vapour, "200 ppm", cartridge=bed, air=air, work_rate="moderate"
                ).life.value
            )
        assert lives == sorted(lives, reverse=True)


@given(
    volume=st.floats(0.40e-3, 0.60e-3), energy=st.floats(16.2e3, 21.8e3), rate=st.floats(0.8, 1.25),
    vapour=st.sampled_from(["n-hexane", "2-butanone", "m-xylene", "ethyl acetate", "toluene"]),
    ppm=st.floats(30, 2000),
    tested=st.sampled_from([("toluene", 1000), ("cyclohexane", 500), ("n-butyl acetate", 300)]),
)  # fmt: skip
@settings(max_examples=25, deadline=None)
def test_no_life_is_beyond_what_the_true_bed_does(volume, energy, rate, vapour, ppm, tested):
    """Within the range of carbons and rates that is assumed: models right, one time of another vapour."""
    found = fit_bed(BED, [time_test(*tested, volume, energy, rate)])
    air = respcalc.describe_air(temperature="22 degC", relative_humidity="40 %", pressure="101.325 kPa")
    life = respcalc.estimate_service_life(vapour, f"{ppm!r} ppm", cartridge=found.cartridge, air=air,
                                          work_rate="53 L/min")  # fmt: skip
    true = true_time(vapour, ppm, volume, energy, rate, share=life.exit_fraction.value)
    assert life.life.value <= true


def test_the_margin_grows_with_the_number_of_things_unknown():
    """One test, three of other vapours, and one more of the vapour itself: the level is known better each time."""
    others = [time_test(v, 1000, *CARBON) for v in ("cyclohexane", "2-butanone", "m-xylene")]
    scatters = [fit_bed(BED, tests).cartridge.evidence.level_scatter for tests in (others[:1], others[:2], others)]
    assert scatters == sorted(scatters, reverse=True)
    twice = fit_bed(BED, [others[0], time_test("cyclohexane", 500, *CARBON)]).cartridge.evidence.level_scatter
    assert twice > scatters[1]  # a second test of one vapour tells less than one of another


def test_an_odd_test_is_named_and_never_lifts_a_life():
    """One that is far below the others pulls the level down to twice its scatter; one far above hardly lifts it."""
    good = [time_test(v, 1000, *CARBON) for v in ("toluene", "cyclohexane", "m-xylene", "n-butyl acetate")]
    volumes = []
    for factor in (1.0, 0.4):
        found = fit_bed(BED, [*good, time_test("styrene", 500, *CARBON, factor=factor)])
        volumes.append(found.cartridge.micropore_volume.value)
    assert volumes[1] < 0.75 * volumes[0]
    assert "ODD" in str(found)
    assert any("is odd" in note for note in found.cartridge.notes)
    assert "ODD" not in str(fit_bed(BED, good))


def test_a_worse_outcome_of_either_of_two_tests_lowers_the_level():
    """At one energy the micropore volume falls with each outcome: no agreement between tests is rewarded."""
    lives = []
    air = respcalc.describe_air(temperature="22 degC", relative_humidity="50 %", altitude="0 m")
    for factor in (1.6, 1.3, 1.0, 0.8, 0.6, 0.45):
        tests = [time_test("styrene", 800, *CARBON, factor=0.5), time_test("m-xylene", 800, *CARBON, factor=factor)]
        bed = fit_bed(BED, tests).cartridge
        life = respcalc.estimate_service_life("toluene", "500 ppm", cartridge=bed, air=air, work_rate="50 L/min")
        lives.append(life.life.value)
    assert lives == sorted(lives, reverse=True)


def test_a_carbon_that_is_hardly_one_is_pointed_out():
    """Half the flow written down, or the mass of one of two: a volume that respirator carbons do not have."""
    usual, odd = (fit_bed(BED, [time_test("toluene", 1000, *CARBON, factor=f)]) for f in (1.0, 1.9))
    assert not any("that the figures are right" in a for a in usual.assumptions)
    (said,) = [a for a in odd.assumptions if "that the figures are right" in a]
    assert "respirator carbons have 0.40 to 0.60 cm3/g" in said
    assert any("that the figures are right" in note for note in odd.cartridge.notes)


def test_the_same_test_twice_tells_no_more_than_once():
    test, other = time_test("toluene", 1000, *CARBON), time_test("n-hexane", 1000, *CARBON)
    assert fit_bed(BED, [test] * 20 + [other]).cartridge.evidence == fit_bed(BED, [test, other]).cartridge.evidence


def test_where_no_carbon_explains_the_slowest_rate_the_slowest_that_one_does_is_kept():
    """A thin bed: it could be one with a slower rate than correlated and more pores, up to what a carbon has."""
    thin = respcalc.describe_bed("thin", sorbent_mass="28 g", face_area="46.5 cm2", bulk_density="0.485 g/cm3")
    test = respcalc.describe_test(
        "n-butyl acetate", breakthrough_time="29.9 min", exit_fraction="0.5 %", concentration="200 ppm",
        **(AIR | {"flow_rate": "46.2 L/min"}),
    )  # fmt: skip
    found = fit_bed(thin, [test])
    slow = min(bed.rate_share for bed in found.cartridge.beds())
    assert 0.8 < slow < 0.95
    assert found.rate_interval[0] == pytest.approx(slow)
    assert 0.9e-3 < max(bed.micropore_volume.value for bed in found.cartridge.beds()) <= 1.2e-3
    air = respcalc.describe_air(temperature="15 degC", relative_humidity="40 %", altitude="0 m")
    life = respcalc.estimate_service_life("1-butanol", "12 ppm", cartridge=found.cartridge, air=air,
                                          work_rate="46.2 L/min", exposure_limit="50 ppm",
                                          exposure_limit_authority="site")  # fmt: skip
    assert life.life.value < 60 * 20


@pytest.mark.parametrize(("better", "worse"), [(100.0, 75.0), (100.0, 60.0), (300.0, 60.0)])
@pytest.mark.parametrize(
    "milder", [{"temperature": "22.5 degC"}, {"concentration": "990 ppm"}, {"relative_humidity": "51 %"},
               {"flow_rate": "61 L/min"}, {"exit_fraction": "0.99 %"}, {"pressure": "101.2 kPa"}, {}],
)  # fmt: skip
def test_of_two_tests_that_disagree_the_worse_one_counts_wherever_the_task_lies(better, worse, milder):
    """Tests of lots: another lasted longer in air that hardly differs; nothing is promised beyond the worse one."""
    common = {"report": "lot 1", "exit_fraction": "1 %", "concentration": "1000 ppm", "flow_rate": "60 L/min",
              "temperature": "22 degC", "relative_humidity": "50 %", "pressure": "101.325 kPa"}  # fmt: skip
    tests = [
        respcalc.describe_test("toluene", breakthrough_time=f"{better} min", **common),
        respcalc.describe_test("toluene", breakthrough_time=f"{worse} min", **(common | milder)),
    ]
    bed = fit_bed(BED, tests).cartridge
    air = respcalc.describe_air(temperature="22 degC", relative_humidity="50 %", pressure="101.325 kPa")
    life = respcalc.estimate_service_life("toluene", "1000 ppm", cartridge=bed, air=air, work_rate="60 L/min")
    assert life.life.value <= 60 * worse / 1.05


def lot(times, name="test", vapour="toluene", **changes):
    """A curve of one lot."""
    shares = np.array([0.001, 0.002, 0.005, 0.01, 0.03, 0.1, 0.3, 0.5, 0.7, 0.9, 0.97])
    minutes = times(np.log(shares / (1 - shares)))
    common = {"report": "lots", "concentration": "1000 ppm", "flow_rate": "60 L/min", "temperature": "22 degC",
              "relative_humidity": "50 %", "pressure": "101.325 kPa"}  # fmt: skip
    return respcalc.describe_curve(vapour, name=name, worn_time=Quantity(minutes, "min"), exit_fraction=shares,
                                   **(common | changes))  # fmt: skip


def life_at(bed, ppm="990 ppm", share="1 %", vapour="toluene", rh="50 %", limit="500 ppm", flow="60 L/min"):
    air = respcalc.describe_air(temperature="22 degC", relative_humidity=rh, pressure="101.325 kPa")
    return respcalc.estimate_service_life(
        vapour, ppm, cartridge=bed, air=air, work_rate=flow, challenge_fraction=share, exposure_limit=limit,
        exposure_limit_authority="site",
    ).life.value / 60  # fmt: skip


@pytest.mark.parametrize("share", [0.002, 0.005, 0.01])
def test_a_flat_foot_of_one_lot_counts_beside_the_steep_one_of_another(share):
    flat = lot(lambda logit: 120 + 16 * logit, "flat")
    steep = lot(lambda logit: 120 + 6 * logit, "steep")
    both = life_at(fit_bed(BED, [steep, flat]).cartridge, share=f"{100 * share} %")
    measured = 120 + 16 * math.log(share / (1 - share))
    assert both <= measured / 1.25 * 1.02


@pytest.mark.parametrize("factor", [0.5, 0.7])
def test_two_curves_of_one_name_are_two_runs(factor):
    one = lot(lambda logit: 120 + 10 * logit)
    other = lot(lambda logit: factor * (120 + 10 * logit))
    named = lot(lambda logit: factor * (120 + 10 * logit), "another name")
    assert life_at(fit_bed(BED, [one, other]).cartridge) == life_at(fit_bed(BED, [one, named]).cartridge)
    assert life_at(fit_bed(BED, [one, other]).cartridge) <= factor * (120 - 10 * math.log(99)) / 1.25 * 1.02


@pytest.mark.parametrize(
    ("vapour", "ppm", "rh", "minutes"),
    [("tetrahydrofuran", 1000, "80 %", 25), ("2-butanone", 300, "80 %", 60), ("toluene", 300, "85 %", 100)],
)
def test_less_vapour_never_shortens_beside_a_humid_test(vapour, ppm, rh, minutes):
    test = respcalc.describe_test(
        vapour, report="x", breakthrough_time=f"{minutes} min", exit_fraction="1 %", concentration=f"{ppm} ppm",
        flow_rate="60 L/min", temperature="22 degC", relative_humidity=rh, pressure="101.325 kPa",
    )  # fmt: skip
    bed = fit_bed(BED, test).cartridge
    lives = [life_at(bed, f"{p} ppm", vapour=vapour, rh=rh) for p in (5, 20, 60, 150, 300, 500, 900, 1100)]
    assert all(b <= a * (1 + 1e-6) for a, b in itertools.pairwise(lives))


def test_a_thin_bed_that_held_in_its_test_has_a_life_in_that_air():
    thin = respcalc.describe_bed("thin", sorbent_mass="20.5 g", face_area="52.5 cm2", bulk_density="0.45 g/cm3")
    test = {"report": "x", "exit_fraction": "1 %", "concentration": "1000 ppm", "flow_rate": "45.9 L/min",
            "temperature": "22 degC", "relative_humidity": "50 %", "pressure": "101.325 kPa"}  # fmt: skip
    for minutes in (8.0, 6.4):
        bed = fit_bed(thin, respcalc.describe_test("n-hexane", breakthrough_time=f"{minutes} min", **test)).cartridge
        life = life_at(bed, "1000 ppm", vapour="n-hexane", flow="45.9 L/min", limit="5000 ppm")
        assert life == pytest.approx(minutes / 1.25, rel=0.02)
    loose = respcalc.describe_bed("thin", sorbent_mass="20.5 g", face_area="52.5 cm2", bulk_density="0.45 g/cm3",
                                  granule_diameter="1.3 mm ± 0.4 mm")  # fmt: skip
    assert fit_bed(loose, respcalc.describe_test("n-hexane", breakthrough_time="6.4 min", **test)).cartridge.could_be


@pytest.mark.parametrize("humidity", ["50 %", "70 %", "85 %"])
def test_in_the_very_air_of_a_humid_test_the_test_is_credited_in_full(humidity):
    common = {"report": "lot 1", "exit_fraction": "1 %", "concentration": "1000 ppm", "flow_rate": "60 L/min",
              "temperature": "22 degC", "relative_humidity": humidity, "pressure": "101.325 kPa"}  # fmt: skip
    bed = fit_bed(BED, [respcalc.describe_test("toluene", breakthrough_time="60 min", **common)]).cartridge

    def life(rh):
        air = respcalc.describe_air(temperature="22 degC", relative_humidity=rh, pressure="101.325 kPa")
        return respcalc.estimate_service_life("toluene", "1000 ppm", cartridge=bed, air=air, work_rate="60 L/min").life

    assert life(humidity).value == pytest.approx(60 * 60 / 1.25, rel=0.01)
    lives = [life(f"{rh} %").value for rh in (30, 50, 60, 70, 75, 85, 90, 95)]
    assert all(b <= a * (1 + 1e-9) for a, b in itertools.pairwise(lives))


def test_a_fitted_or_certified_cartridge_is_not_fitted_again():
    test = time_test("toluene", 1000, *CARBON)
    fitted_bed = fit_bed(BED, test).cartridge
    for known in (fitted_bed, respcalc.certified_bed("x", "US cartridge OV", combination=False, in_parallel=2)):
        with pytest.raises(CartridgeError, match="give all its tests at once"):
            fit_bed(known, [test])
    with pytest.raises(CartridgeError, match="tests = None: tests are needed"):
        fit_bed(BED, None)
    with pytest.raises(TypeError, match="a Cartridge is needed"):
        fit_bed("pair", [test])


@pytest.mark.parametrize("kilopascal", [66, 75, 101.325])
def test_a_described_bed_is_held_against_its_test_in_the_air_of_the_test(kilopascal):
    """At altitude the same ppm is less vapour: a bed that agrees with its test there is no better at sea level."""
    true = 60 * 77.8
    thin_air = true * 101.325 / kilopascal  # about what the same bed lasts there
    test = respcalc.describe_test(
        "toluene", breakthrough_time=Quantity(thin_air, "s"), exit_fraction="1 %", concentration="1000 ppm",
        **(AIR | {"flow_rate": "60 L/min", "pressure": f"{kilopascal} kPa"}),
    )  # fmt: skip
    air = respcalc.describe_air(temperature="22 degC", relative_humidity="50 %", pressure="101.325 kPa")
    for volume in np.arange(0.30, 0.80, 0.02):
        bed = respcalc.describe_bed("p", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2,
                                    micropore_volume=f"{volume} cm3/g", characteristic_energy="19.7 kJ/mol",
                                    test=test)  # fmt: skip
        try:
            life = respcalc.estimate_service_life("toluene", "1000 ppm", cartridge=bed, air=air, work_rate="60 L/min")
        except CartridgeError as error:
            assert "as described it would have lasted" in str(error)  # noqa: PT017
            break
        assert life.life.value <= true
    else:
        pytest.fail("no volume was refused")


def test_a_bed_with_tolerances_could_be_all_that_its_ends_could_be():
    loose = respcalc.describe_bed("pair", sorbent_mass="45 g ± 2 g", face_area="45 cm2", bed_depth="2.2 cm",
                                  in_parallel=2)  # fmt: skip
    test = time_test("toluene", 1000, *CARBON)
    found, exact = fit_bed(loose, [test]).cartridge, fit_bed(BED, [test]).cartridge
    assert len(found.could_be) > len(exact.could_be)
    assert "the tolerance of sorbent_mass" in found.because


@pytest.mark.parametrize(
    ("tests", "says"),
    [
        ([], "at least one breakthrough test is needed"),
        (["toluene"], "'toluene' is no test; make one with describe_test"),
        ([time_test("methanol", 300, *CARBON, share=0.5)], "isotherm of methanol is convex"),
        ([time_test("toluene", 1000, *CARBON, factor=20)], "more than any carbon has|no micropore_volume up to"),
        ([time_test("toluene", 1000, *CARBON, factor=0.1)], "ask for a micropore volume of"),
    ],
)
def test_tests_that_tell_nothing_are_refused(tests, says):
    with pytest.raises(CartridgeError, match=says):
        fit_bed(BED, tests)


def test_the_report_says_what_was_found_and_carries_the_caution():
    text = str(fit_bed(BED, [time_test("toluene", 1000, *CARBON)]))
    for part in (
        "micropore volume",
        "told by the tests",
        "the bed would have lasted 1 times",
        "Estimate, not a guarantee",
    ):
        assert part in text


def test_one_other_bed_is_said_in_the_singular():
    found = fit_bed(BED, [time_test("toluene", 1000, *CARBON)])
    several = replace(found.cartridge, could_be=found.cartridge.could_be[:2])
    single = replace(found.cartridge, could_be=found.cartridge.could_be[:1])
    for cartridge, words in ((several, "2 other beds: the tests leave"), (single, "1 other bed: the tests leave")):
        assert words in str(replace(found, cartridge=cartridge))
        assert words in str(cartridge)


def test_the_scatter_between_vapours_is_that_of_the_shipped_calibration():
    """Residuals about its centre: of well-held vapours, and of all with the rise that is stated."""
    used = shipped_calibration()
    off = used.excess - np.array([used.centre(p, bool(f)) for p, f in zip(used.potential, used.light, strict=True)])
    stated = np.array([fitted.vapour_scatter(p) for p in used.potential])
    assert np.std(off[used.potential <= 0.40]) <= 0.14
    assert 0.7 <= np.sqrt(np.mean((off / stated) ** 2)) <= 1.0
    assert math.isclose(fitted.vapour_scatter(0.2), fitted.vapour_scatter(0.4))


@pytest.mark.parametrize(("vapour", "ppm"), [("m-xylene", "10 ppm"), ("m-xylene", "100 ppm"), ("toluene", "10 ppm")])
def test_a_dilute_test_of_one_vapour_does_not_vouch_for_dilute_air_of_another(vapour, ppm):
    """Toluene at 1000 ppm, acetone at 10: the isotherm of a well-held vapour is believed from 1000 ppm on only."""
    bed = _bed_of_a_dilute_test()
    air = respcalc.describe_air(temperature="22 degC", relative_humidity="50 %", altitude="0 m")

    def life(at):
        return respcalc.estimate_service_life(vapour, at, cartridge=bed, air=air, work_rate="53 L/min").life.value

    assert bed.evidence.lowest_for(respcalc.find_vapour(vapour)) == 1e-3
    dilution = 1000 / float(ppm.split()[0])
    assert life(ppm) <= life("1000 ppm") * dilution**0.67 * (1 + 1e-9)


@cache
def _bed_of_a_dilute_test():
    toluene, acetone = time_test("toluene", 1000, *CARBON), time_test("acetone", 10, *CARBON, share=0.1)
    return fit_bed(BED, [toluene, acetone]).cartridge


def test_a_laboratory_splits_the_flow_evenly_and_the_most_loaded_bed_of_the_task_does_not() -> None:
    r = respcalc
    air = r.describe_air(temperature="22 degC", relative_humidity="50 %", altitude="0 m")
    test = r.describe_test(
        "toluene", report="invented", breakthrough_time="95 min", exit_fraction="1 %", concentration="1000 ppm",
        flow_rate="53 L/min", temperature="22 degC", relative_humidity="50 %", pressure="101.325 kPa",
    )  # fmt: skip
    bed = respcalc.describe_bed(
        "invented pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2,
        largest_share="65 %",
    )  # fmt: skip
    cartridge = r.fit_bed(bed, test).cartridge
    found = r.estimate_service_life("toluene", "1000 ppm", cartridge=cartridge, air=air, work_rate="53 L/min")
    assert found.life.value <= 95 * 60 * 0.5 / 0.65


# --- the points of a foot, and tolerances


def foot_of(minutes, per_cent):
    return respcalc.describe_curve(
        "toluene", worn_time=[f"{m} min" for m in minutes], exit_fraction=[f"{p} %" for p in per_cent],
        concentration="1000 ppm", **AIR,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("minutes", "per_cent"),
    [([65, 90, 120], [1, 3, 8]), ([65, 200, 400], [1, 1.6, 2.1]), ([65, 80, 100, 130], [1, 4, 9, 30])],
)
def test_further_points_of_a_foot_never_lift_what_its_first_one_says(minutes, per_cent):
    first = fit_bed(BED, foot_of(minutes[:1], per_cent[:1])).cartridge
    more = fit_bed(BED, foot_of(minutes, per_cent)).cartridge
    for vapour in ("n-hexane", "toluene", "m-xylene"):
        assert life_at(more, "50 ppm", vapour=vapour) <= life_at(first, "50 ppm", vapour=vapour) * (1 + 1e-9)


def test_points_of_a_foot_that_no_bed_can_give_together_are_pointed_out():
    assert "was there a leak?" in fit_bed(BED, foot_of([65, 200, 400], [1, 1.6, 2.1])).tests[0].told
    whole = curve_test("toluene", 1000, *CARBON, noise=0.0)
    foot = replace(whole, times=whole.times[:4], exit_fractions=whole.exit_fractions[:4])
    assert "leak" not in fit_bed(BED, foot).tests[0].told


def test_a_foot_below_one_per_cent_that_asks_for_too_good_a_carbon_is_taken_for_a_slip():
    with pytest.raises(CartridgeError, match="fractions under a header in per cent"):
        fit_bed(BED, foot_of([170, 200, 230], [0.004, 0.026, 0.148]))


@pytest.mark.parametrize("vapour", ["n-hexane", "trichloroethylene", "toluene"])
@pytest.mark.parametrize("ppm", [5, 200])
def test_a_wider_tolerance_never_lengthens_a_fitted_life(vapour, ppm):
    """More carbon can be the worse: the volume from the test makes up for it, and a longer wave comes with it."""
    test = time_test("toluene", 1000, *CARBON)
    lives = []
    for spread in (0, 2, 5, 10):
        bed = respcalc.describe_bed(
            "pair", sorbent_mass=f"45 g ± {spread} g" if spread else "45 g", bed_depth="2.2 cm", in_parallel=2
        )
        lives.append(life_at(fit_bed(bed, test).cartridge, f"{ppm} ppm", vapour=vapour))
    assert lives == sorted(lives, reverse=True)
    for grams in (35, 40, 50, 55):
        bed = respcalc.describe_bed("pair", sorbent_mass=f"{grams} g", bed_depth="2.2 cm", in_parallel=2)
        assert lives[-1] <= life_at(fit_bed(bed, test).cartridge, f"{ppm} ppm", vapour=vapour) * (1 + 1e-6)
