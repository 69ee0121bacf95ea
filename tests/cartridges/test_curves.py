"""Test reports as they come: one curve, a table of several; what no breakthrough curve looks like is refused."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

import respcalc
from respcalc.core.errors import CartridgeError, DomainError, TableError, UnitsError, UnknownVapour
from respcalc.core.units import Quantity

TIMES, EXITS = [60, 70, 80, 90, 100, 110], [0.002, 0.02, 0.12, 0.45, 0.82, 0.96]


def test_a_curve_keeps_its_points_and_reads_times_off_between_them(curve_of):
    curve = curve_of(TIMES, EXITS)
    assert curve.first_time(0.02) == pytest.approx(70 * 60)
    assert curve.first_time(0.01) == pytest.approx((60 + 10 * 8 / 18) * 60)
    assert curve.first_time(0.001) == pytest.approx(30 * 60)  # a chord from nothing at the start
    assert curve.first_time(0.99) is None
    assert curve.vapour.name == "toluene"


def test_the_chord_is_never_later_than_the_curve_at_its_foot(curve_of, logistic):
    minutes = [50, 60, 70, 80, 90, 100, 110, 120]
    curve = curve_of(minutes, logistic(minutes, 95, 0.12))
    for share in (0.01, 0.02, 0.05, 0.1, 0.3):
        true = 95 + math.log(share / (1 - share)) / 0.12
        assert curve.first_time(share) <= true * 60 + 1e-6


def test_an_area_above_the_curve(curve_of):
    assert curve_of([50, 100, 150], [0.0, 0.5, 1.0]).stoichiometric_time() == pytest.approx((50 + 37.5 + 12.5) * 60)


def test_points_at_the_foot_are_tests_of_their_own(curve_of):
    tests = curve_of(TIMES, EXITS).tests()
    assert [t.exit_fraction.value for t in tests] == [0.002, 0.02]
    assert [t.breakthrough_time.value for t in tests] == pytest.approx([3600, 4200])


def test_an_exit_in_ppm_is_over_the_inlet():
    curve = respcalc.describe_curve(
        "toluene", report="x", worn_time=["60 min", "80 min"], exit_concentration=["5 ppm", "200 ppm"],
        concentration="500 ppm", flow_rate="30 L/min", temperature="25 degC", relative_humidity="50 %",
        pressure="101 kPa",
    )  # fmt: skip
    assert curve.exit_fractions == pytest.approx((0.01, 0.4))


def test_noise_of_the_analyser_is_no_fault(curve_of):
    curve_of(TIMES, [0.0, 0.03, 0.02, 0.5, 0.9, 1.01])


@pytest.mark.parametrize(
    ("minutes", "through", "says"),
    [
        ([60, 80, 70], [0.1, 0.2, 0.3], "worn_time 70 min after 80 min: times must rise"),
        ([60, 60, 70], [0.1, 0.2, 0.3], "average readings of one time"),
        ([60, 70, 80], [0.1, 0.6, 1.2], "exit_fraction 120 % at 80 min is not possible"),
        ([60, 70, 80], [0.1, -0.2, 0.6], "exit_fraction -20 % at 70 min"),
        ([60, 70, 80], [0.1, 0.6, 0.3], "exit_fraction falls to 30 % at 80 min after 60 %"),
        ([60, 70], [0.1, 0.6, 0.9], "2 times for 3 exit concentrations"),
        ([60, 70], [0.0, 0.0], "every exit_fraction is 0"),
    ],
)
def test_what_no_breakthrough_curve_looks_like_is_refused(curve_of, minutes, through, says):
    with pytest.raises(CartridgeError, match=says):
        curve_of(minutes, through)


def per_cent(minutes, numbers):
    """A curve of toluene whose exits somebody wrote in per cent."""
    return respcalc.describe_curve(
        "toluene", worn_time=[f"{m} min" for m in minutes], exit_fraction=[f"{p:.6f} %" for p in numbers],
        report="simulated", concentration="1000 ppm", flow_rate="60 L/min", temperature="23 degC",
        relative_humidity="50 %", pressure="101.3 kPa",
    )  # fmt: skip


def test_fractions_under_a_header_in_per_cent_are_noticed():
    """0.003 to 0.98 read as per cent: a curve that ends at one per cent of the inlet."""
    shares = [0.003, 0.02, 0.07, 0.22, 0.52, 0.79, 0.93, 0.98]
    minutes = [50, 60, 70, 80, 90, 100, 110, 120]
    per_cent(minutes, [100 * p for p in shares])
    with pytest.raises(CartridgeError, match=r"ends at 0.98 %.*Write exit_fraction \[\] for 0 to 1"):
        per_cent(minutes, shares)
    per_cent(minutes, (0.3, 0.4, 0.6, 0.9, 1.4, 2.2, 3.4, 5.1))  # a true foot


def test_every_faulty_point_is_named(curve_of):
    with pytest.raises(CartridgeError) as caught:
        curve_of([60, 80, 70, 90], [0.1, 1.3, 0.3, 1.4])
    assert len(str(caught.value).splitlines()) == 4


@pytest.mark.parametrize(
    ("changes", "error", "says"),
    [
        ({"report": ""}, CartridgeError, "say whose test it is"),
        ({"vapour": "ammonia"}, UnknownVapour, "ammonia"),
        ({"vapour": "formaldehyde"}, CartridgeError, "formaldehyde polymerises"),
        ({"concentration": "1000"}, UnitsError, "concentration = '1000'"),
        ({"vapour": "n-dodecane"}, CartridgeError, "more than the test's air can hold"),
        ({"exit_uncertainty": "-1 %"}, DomainError, "exit_uncertainty"),
        ({"exit_uncertainty": ["1 %", "2 %"]}, CartridgeError, "2 values for 6 times"),
        ({"exit_concentration": ["1 ppm"]}, CartridgeError, "give one of them"),
    ],
)
def test_bad_input_names_the_field(curve_of, changes, error, says):
    with pytest.raises(error, match=says):
        curve_of(TIMES, EXITS, **changes)


# --- a table of tests

HEADER = (
    "test,vapour,concentration [ppm],flow_rate [L/min],temperature [degC],relative_humidity [%],pressure [kPa],"
    "worn_time [min],exit_fraction [%]\n"
)
GOOD = "T1,toluene,1000,53,22,50,101.3,60,0.4\nT1,,,,,,,80,7\nT1,,,,,,,100,52\nT1,,,,,,,120,94\n"


def table(tmp_path, text):
    path = tmp_path / "tests.csv"
    path.write_text(text, encoding="utf-8")
    return respcalc.read_tests(path, report="house laboratory (invented)")


def test_a_table_holds_several_tests_with_conditions_repeated_or_blank(tmp_path):
    text = HEADER + GOOD + "T2,n-hexane,500,30,25,60,101.3,90,1\nT2,n-hexane,500,30,25,60,101.3,120,20\n"
    curves = table(tmp_path, text).strict()
    assert [c.name for c in curves] == ["T1", "T2"]
    assert curves[0].exit_fractions == pytest.approx((0.004, 0.07, 0.52, 0.94))
    assert curves[1].volume_fraction.value == pytest.approx(500e-6)


def test_a_faulty_test_does_not_cost_the_others(tmp_path):
    text = (
        HEADER
        + GOOD
        + "T2,tolune,500,30,25,60,101.3,90,1\nT3,toluene,500,30,25,60,101.3,90,130\nT4,toluene,x,30,25,60,101.3,90,1\n"
    )
    read = table(tmp_path, text)
    assert [c.name for c in read.curves] == ["T1"]
    faults = dict(read.faults)
    assert "Nearest names: toluene" in faults["T2"][0]
    assert "exit_fraction 130 %" in faults["T3"][0]
    assert "row 8, column 'concentration'" in faults["T4"][0]
    with pytest.raises(TableError, match="tolune"):
        read.strict()
    assert "T2: NOT USED" in str(read)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (HEADER.replace("worn_time [min]", "worn_time") + GOOD, "needs a unit, such as 'worn_time \\[min\\]'"),
        (HEADER.replace("exit_fraction [%]", "exit_fraction") + GOOD, "such as 'exit_fraction \\[%\\]'"),
        (HEADER.replace("concentration [ppm]", "concentration [L/min]") + GOOD, "concentration"),
        (HEADER.replace("exit_fraction [%]", "out [%]") + GOOD, "'exit_fraction .* is needed, and neither is there"),
        (HEADER.replace("vapour", "substance") + GOOD, "column 'vapour' is missing"),
    ],
)
def test_a_table_that_cannot_be_read_says_why(tmp_path, text, says):
    with pytest.raises(TableError, match=says):
        table(tmp_path, text).strict()


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (GOOD.replace("T1,,,,,,,80,7", "T1,,,40,,,,80,7"), "flow_rate differs from the first row of test 'T1'"),
        (GOOD.replace("T1,toluene,1000", "T1,toluene,"), "concentration is blank in the first row"),
        (GOOD.replace("80,7", ",7"), "row 3: worn_time is blank"),
        (GOOD.replace("80,7", "80,"), "row 3: exit_fraction is blank"),
        (GOOD.replace("T1,,,,,,,80,7", ",,,,,,,80,7"), "row 3: test is blank"),
        (GOOD.replace("80,7", "55,7"), "times must rise"),
    ],
)
def test_a_row_that_does_not_fit_is_named(tmp_path, rows, says):
    read = table(tmp_path, HEADER + rows)
    assert says in "\n".join(fault for _, faults in read.faults for fault in faults)


def test_a_frame_and_an_exit_in_ppm_are_read_too():
    frame = pd.DataFrame(
        {"test": ["T1", "T1"], "vapour": ["toluene"] * 2, "concentration [ppm]": [1000, 1000],
         "flow_rate [L/min]": [53, 53], "temperature [degC]": [22, 22], "relative_humidity [%]": [50, 50],
         "pressure [kPa]": [101.3, 101.3], "worn_time [h]": [1.0, 1.5], "exit_concentration [ppm]": [4, 450],
         "exit_uncertainty [%]": [0.5, 2]}
    )  # fmt: skip
    (curve,) = respcalc.read_tests(frame, report="x").strict()
    assert curve.exit_fractions == pytest.approx((0.004, 0.45))
    assert curve.uncertainties == pytest.approx((0.005, 0.02))
    assert curve.times == pytest.approx((3600, 5400))


def test_units_do_not_matter(tmp_path):
    other = (
        "test,vapour,concentration [%],flow_rate [m3/h],temperature [K],relative_humidity [],pressure [bar],"
        "worn_time [h],exit_fraction []\n"
        "T1,toluene,0.1,3.18,295.15,0.5,1.013,1,0.004\nT1,,,,,,,1.5,0.45\n"
    )
    (one,) = table(tmp_path, HEADER + "T1,toluene,1000,53,22,50,101.3,60,0.4\nT1,,,,,,,90,45\n").strict()
    (two,) = table(tmp_path, other).strict()
    assert one.times == pytest.approx(two.times)
    assert one.flow_rate.value == pytest.approx(two.flow_rate.value)
    assert one.volume_fraction.value == pytest.approx(two.volume_fraction.value)


def test_a_pint_quantity_of_times_is_read():
    curve = respcalc.describe_curve(
        "toluene", report="x", worn_time=Quantity([1.0, 1.5], "h"), exit_fraction=[0.01, 0.5], concentration="500 ppm",
        flow_rate="30 L/min", temperature="25 degC", relative_humidity="50 %", pressure="101 kPa",
    )  # fmt: skip
    assert curve.times == pytest.approx((3600, 5400))


# --- whole curves in fractions, plateaus, feet that were not read

WHOLE = ([40, 60, 80, 100, 120, 140, 160], [0.0, 0.004, 0.026, 0.148, 0.50, 0.86, 0.99])


@pytest.mark.parametrize("count", [6, 7])
def test_a_whole_curve_divided_by_a_hundred_is_asked_about(curve_of, count):
    minutes, shares = WHOLE[0][:count], WHOLE[1][:count]
    per_cent(minutes, [100 * p for p in shares])
    with pytest.raises(CartridgeError, match=r"shape of a whole curve.*Write exit_fraction \[\] for 0 to 1"):
        per_cent(minutes, shares)
    curve_of(minutes, [p / 100 for p in shares])  # written as fractions they are what they are


@pytest.mark.parametrize("top", [0.004, 0.0098])
@pytest.mark.parametrize("count", [3, 6, 12, 40])
@pytest.mark.parametrize("noise", [(0.0, 0.0), (5e-5, 0.01), (1e-4, 0.03)])
@pytest.mark.parametrize("seed", range(6))
def test_the_true_foot_of_a_curve_is_no_slip(top, count, noise, seed):
    rng = np.random.default_rng(seed)
    minutes = np.linspace(60, 100, count)
    odds = np.log(top / (1 - top)) - 0.09 * (minutes[-1] - minutes)
    shares = 1 / (1 + np.exp(-odds))
    read_off = np.clip(shares + (noise[0] + noise[1] * shares) * rng.standard_normal(count), 0, None)
    per_cent(minutes, 100 * read_off)


@pytest.mark.parametrize("count", [4, 8, 20])
def test_the_foot_of_a_skewed_curve_is_no_slip(count):
    """Gompertz's curve, whose foot bends in the logarithm as well."""
    minutes = np.linspace(60, 100, count)
    per_cent(minutes, 100 * np.exp(np.log(0.0098) * np.exp(-0.02 * (minutes - 100))))


def test_readings_in_ppm_are_no_slip_of_the_header():
    minutes, shares = WHOLE
    made = respcalc.describe_curve(
        "toluene", worn_time=Quantity(np.array(minutes, dtype=float), "min"),
        exit_concentration=Quantity(np.array(shares) * 10, "ppm"), report="simulated", concentration="1000 ppm",
        flow_rate="60 L/min", temperature="23 degC", relative_humidity="50 %", pressure="101.3 kPa",
    )  # fmt: skip
    assert max(made.exit_fractions) == pytest.approx(0.0099)


@pytest.mark.parametrize("level", [0.3, 0.6, 0.75, 0.83])
def test_a_bed_that_never_lets_everything_through_is_refused(curve_of, level):
    minutes, shares = WHOLE
    with pytest.raises(CartridgeError, match="levels off at"):
        curve_of([*minutes, 180, 200, 220, 240], [*(level * p for p in shares), *[level] * 4])


@pytest.mark.parametrize("last", [0.5, 0.6, 0.7, 0.8, 0.9])
@pytest.mark.parametrize("seed", range(12))
def test_a_curve_that_was_stopped_on_its_way_is_taken_noise_and_all(curve_of, last, seed):
    """An analyser of 0.5 % of the inlet and 5 % of the reading, 7 to 20 points."""
    rng = np.random.default_rng(seed)
    shares = np.linspace(0.01, last, int(rng.integers(7, 21)))
    minutes = 120 + np.log(shares / (1 - shares)) / 0.09
    curve_of(minutes, np.clip(shares + (0.003 + 0.02 * shares) * rng.standard_normal(shares.size), 0, None))


@pytest.mark.parametrize(("first", "keeps"), [(1, 0.9), (2, 0.9), (3, 0.5), (4, 0.0)])
def test_a_foot_that_was_not_read_leaves_less_and_not_nearly_nothing(curve_of, first, keeps):
    """The same curve without its first readings: never later at one per cent, up to a fifth no chord from 0 min."""
    bed = respcalc.describe_bed("pair", sorbent_mass="42 g", face_area="44 cm2", bed_depth="2 cm", in_parallel=2)
    whole = respcalc.cartridges.fit_wheeler_jonas(curve_of(*WHOLE), bed).time_at_si(0.01)
    found = respcalc.cartridges.fit_wheeler_jonas(curve_of(*(part[first:] for part in WHOLE)), bed).time_at_si(0.01)
    assert keeps * whole < found <= whole * 1.001


@pytest.mark.parametrize(
    ("flat", "first"), [(1.0, 0.02), (1.0, 0.15), (1.25, 0.04), (1.5, 0.08), (1.5, 0.12), (1.9, 0.19)]
)
@pytest.mark.parametrize("kink", [0.9, 1.0])
def test_an_unread_foot_that_is_flatter_than_the_rest_is_not_read_too_late(curve_of, flat, first, kink):
    """The curve is *flat* times as flat from below its first reading on, and nobody saw it."""
    at_kink = float(np.log(kink * first / (1 - kink * first)))
    minutes = 125 + np.log(first / (1 - first)) / 0.09 + np.arange(0.0, 60.0, 6.0)
    odds = 0.09 * (minutes - 125)
    fit = respcalc.cartridges.fit_yoon_nelson(curve_of(minutes, 1 / (1 + np.exp(-odds))))
    true = 125 + (at_kink + flat * (np.log(0.01 / 0.99) - at_kink)) / 0.09
    assert 0 < fit.time_at_si(0.01) / 60 <= true


@pytest.mark.parametrize("flat", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("first", [85, 95, 105])
def test_from_the_first_reading_down_a_flat_foot_is_never_read_too_late(curve_of, flat, first):
    minutes = np.arange(first, 176.0, 5.0)
    odds = 0.09 * np.where(minutes < 125, (minutes - 125) / flat, minutes - 125)
    fit = respcalc.cartridges.fit_yoon_nelson(curve_of(minutes, 1 / (1 + np.exp(-odds))))
    true = 125 + flat * np.log(0.01 / 0.99) / 0.09
    assert 0 < fit.time_at_si(0.01) / 60 <= true * 1.001


def test_a_table_as_laboratories_write_it(tmp_path):
    """A dimensionless header in brackets with a dash, and a vapour in capitals further down."""
    path = tmp_path / "tests.csv"
    head = "test,vapour,concentration [ppm],flow_rate [L/min],temperature [degC],relative_humidity [%],pressure [kPa]"
    rows = ["A,Toluene,1000,60,23,50,101.3,60,0.004", "A,toluene,,,,,,90,0.08", "A,TOLUENE,,,,,,120,0.5"]
    path.write_text("\n".join([f"{head},worn_time [min],exit_fraction [-]", *rows]), encoding="utf-8")
    (curve,) = respcalc.read_tests(path, report="simulated").strict()
    assert curve.exit_fractions == (0.004, 0.08, 0.5)


def test_a_baseline_below_zero_is_told_to_be_written_as_zero(curve_of):
    with pytest.raises(CartridgeError, match="Write 0 where nothing was told from the baseline"):
        curve_of([60, 70, 80], [-0.001, 0.2, 0.6])


def test_concentrations_by_mass_are_those_of_the_tests_own_air(tmp_path):
    """1 ppm of toluene is 3.766 mg/m3 at 25 degC and one atmosphere: 92.14 / 24.465."""
    head = "test,vapour,flow_rate [L/min],temperature [degC],relative_humidity [%],pressure [kPa],worn_time [min]"
    made = []
    for unit, factor in (("ppm", 1.0), ("mg/m3", 92.14 / 24.465), ("g/m3", 92.14 / 24465)):
        path = tmp_path / f"{len(made)}.csv"
        rows = [f"A,toluene,60,25,50,101.325,{m},{1000 * factor!r},{c * factor!r}" for m, c in ((60, 4), (90, 80))]
        path.write_text("\n".join([f"{head},concentration [{unit}],exit_concentration [{unit}]", *rows]))
        made.append(respcalc.read_tests(path, report="simulated").strict()[0])
    for curve in made:
        assert curve.volume_fraction.value == pytest.approx(1e-3, rel=2e-4)
        assert curve.exit_fractions == pytest.approx((0.004, 0.08), rel=1e-9)
    test = respcalc.describe_test(
        "toluene", report="simulated", breakthrough_time="60 min", exit_fraction="1 %", concentration="3766 mg/m3",
        flow_rate="60 L/min", temperature="25 degC", relative_humidity="50 %", pressure="101.325 kPa",
    )  # fmt: skip
    assert test.volume_fraction.value == pytest.approx(1e-3, rel=2e-4)


@pytest.mark.parametrize("at_once", [0.011, 0.03, 0.3])
def test_vapour_that_is_through_at_once_has_not_met_the_bed(curve_of, at_once):
    """The reading at 0 min had been passed over, and the later ones taken for the bed's."""
    with pytest.raises(CartridgeError, match="at 0 min: what is through at once"):
        curve_of([0, 60, 90, 120, 150], [at_once, 0.32, 0.45, 0.70, 0.95])
    curve_of([0, 60, 90, 120, 150], [0.004, 0.05, 0.2, 0.7, 0.95])  # a baseline
