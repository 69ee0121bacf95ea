"""Samples: results and times as people give them, and the concentration while the respirator was worn."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import Quantity, define_vapour, describe_air
from respcalc.core.errors import DomainError, UnitsError, UnknownVapour
from respcalc.workplace.sampling import describe_samples

AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")


def group(*results, **more):
    return describe_samples("toluene", list(results), report="invented, 2026", **more)


def ppm(values):
    return [v * 1e6 for v in values]


def test_results_and_limits_are_kept_apart():
    made = group("12 ppm", "<0.5 ppm", peaks=["80 ppm", "<100 ppm"])
    assert [(s.result * 1e6, s.below, s.kind) for s in made.samples] == [
        (pytest.approx(12), False, "wear"), (pytest.approx(0.5), True, "wear"),
        (pytest.approx(80), False, "peak"), (pytest.approx(100), True, "peak"),
    ]  # fmt: skip
    assert len(made.wear) == len(made.peaks) == 2


@pytest.mark.parametrize(
    ("sampled", "worn", "expected"),
    [
        (None, None, [10, 20]),
        ("4 h", "2 h", [20, 40]),
        (["4 h", "8 h"], "2 h", [20, 80]),
        (["4 h", "8 h"], ["4 h", "1 h"], [10, 160]),
        ("2 h", "4 h", [10, 20]),
        ("2 h", None, [10, 20]),
        (Quantity([240, 480], "min"), "2 h", [20, 80]),
        (["4 h", None], ["2 h", None], [20, 20]),
    ],
)
def test_all_vapour_counts_as_collected_while_the_respirator_was_worn(sampled, worn, expected):
    made = group("10 ppm", "20 ppm", sampled=sampled, worn=worn)
    assert ppm(s.while_worn for s in made.samples) == pytest.approx(expected)
    limits = group("<10 ppm", "<20 ppm", sampled=sampled, worn=worn)
    assert ppm(s.while_worn for s in limits.samples) == pytest.approx(expected)
    assert all(s.below for s in limits.samples)


def test_peaks_have_no_times_of_the_long_samples():
    made = group("10 ppm", sampled="4 h", worn="1 h", peaks=["50 ppm"])
    assert made.peaks[0].while_worn == pytest.approx(50e-6)


@pytest.mark.parametrize(
    ("times", "says"),
    [
        ({}, "is not stated for some or all samples"),
        ({"sampled": "4 h"}, "worn is not stated"),
        ({"sampled": "4 h", "worn": "1 h"}, "result times sampled over worn"),
        ({"sampled": "1 h", "worn": "4 h"}, "the sample stands for all of that time"),
    ],
)
def test_what_is_taken_for_granted_is_said(times, says):
    made = group("10 ppm", **times)
    assert says in " ".join(made.notes)
    assert says in str(made)


def test_nothing_is_said_where_all_is_known():
    assert group("10 ppm", sampled="4 h", worn="4 h").notes == ()


@given(result=st.floats(1, 1e3))
def test_mass_and_volume_are_one_result(result):
    by_mass = group(f"{result!r} mg/m3", air=AIR)
    by_volume = group(f"{by_mass.samples[0].result * 1e6!r} ppm")
    assert by_mass.samples[0].result == pytest.approx(by_volume.samples[0].result, rel=1e-12)
    assert by_mass.samples[0].result * 1e6 == pytest.approx(result * 24.465 / 92.14, rel=1e-3)
    assert "mg/m3 turned into ppm at temperature 25 degC" in " ".join(by_mass.notes)


def test_quantities_and_a_single_text_are_lists():
    assert len(describe_samples("toluene", Quantity([3, 4], "ppm"), report="invented").samples) == 2
    assert len(describe_samples("toluene", "<3 ppm", report="invented").samples) == 1
    assert len(describe_samples("toluene", Quantity(3, "ppm"), report="invented").samples) == 1
    assert ppm([group(Quantity(3, "ppm")).samples[0].result]) == pytest.approx([3])


def test_a_vapour_of_ones_own():
    own = define_vapour(
        "process solvent", molar_mass="100 g/mol", boiling_point="120 degC", saturation_pressure="2 kPa",
        saturation_temperature="20 degC", liquid_density="0.8 g/cm3", refractive_index=1.4,
    )  # fmt: skip
    assert describe_samples(own, ["3 ppm"], report="invented").vapour is own


@pytest.mark.parametrize(
    ("results", "more", "error", "says"),
    [
        ([], {}, DomainError, "there is none"),
        (["5"], {}, UnitsError, r"results\[0\] = '5': the unit is missing"),
        ([5.0, 6.0], {}, UnitsError, r"results\[1\] = 6.0: a bare number"),
        (["0 ppm"], {}, DomainError, r"results\[0\] = 0 ppm: nothing measures zero"),
        (["-1 ppm"], {}, DomainError, "above 0"),
        (["<0 ppm"], {}, DomainError, "nothing measures zero"),
        (["1 ppm", "ND"], {}, UnitsError, r"results\[1\] = 'ND': what was not detected needs the number"),
        ([">50 ppm"], {}, UnitsError, "repeat the sample"),
        (["1 ppm"], {"peaks": [">50 ppm"]}, UnitsError, r"peaks\[0\]"),
        (["5 mg/m3"], {}, DomainError, r"give air=describe_air\("),
        (["5 ppm", "6 ppm"], {"sampled": ["4 h"]}, DomainError, "1 times for 2 results"),
        (["5 ppm"], {"worn": "4 h"}, DomainError, r"worn\[0\] is given without sampled"),
        (["5 ppm"], {"sampled": "0 h"}, DomainError, "sampled = 0 min is not possible"),
        (["5 ppm"], {"sampled": "4 h", "worn": "0 min"}, DomainError, "worn = 0 min"),
        (["5 ppm"], {"sampled": "25 h"}, DomainError, "up to 1440 min"),
        (
            ["5 ppm"],
            {"sampled": "9 h", "shift": "8 h"},
            DomainError,
            r"sampled\[0\] = 540 min is more than the shift of 480",
        ),
        (["5 ppm"], {"sampled": "4 h", "worn": "9 h", "shift": "8 h"}, DomainError, r"worn\[0\] = 540 min is more"),
        (["5 ppm"], {"sampled": "4"}, UnitsError, "sampled = '4': the unit is missing"),
        (["60 %"], {"sampled": "8 h", "worn": "1 h"}, DomainError, "more than pure vapour"),
        (12, {}, UnitsError, "give a list of results"),
    ],
)
def test_a_fault_names_the_result_and_the_fix(results, more, error, says):
    with pytest.raises(error, match=says):
        describe_samples("toluene", results, report="invented", **more)


def test_all_faults_come_at_once():
    with pytest.raises(DomainError) as caught:
        describe_samples("toluene", ["5", "-1 ppm", "3 ppm", "ND"], report="invented")
    assert all(f"results[{i}]" in str(caught.value) for i in (0, 1, 3))


@pytest.mark.parametrize("report", ["", "  ", None])
def test_whose_samples_these_are_must_be_said(report):
    with pytest.raises(DomainError, match="say whose samples"):
        describe_samples("toluene", ["1 ppm"], report=report)


def test_other_faults():
    with pytest.raises(UnknownVapour, match="toluene"):
        describe_samples("toluen", ["1 ppm"], report="invented")
    with pytest.raises(TypeError, match="describe_air"):
        group("1 ppm", air="25 degC")


def test_it_can_be_written_as_json_and_read_by_people():
    made = group("12 ppm", "<0.5 mg/m3", sampled="4 h", worn="2 h", peaks=["80 ppm"], air=AIR, group="spray booth")
    found = json.loads(json.dumps(made.as_dict(), allow_nan=False))
    assert found["group"] == "spray booth"
    assert found["cas"] == "108-88-3"
    assert found["samples"][0]["while_worn"] == {"value": pytest.approx(24), "unit": "ppm"}
    assert found["samples"][1]["given"] == "<0.5 mg/m3"
    assert "toluene, spray booth: 2 samples, 1 short-term (invented, 2026)" in str(made)
    assert "12 ppm, 24 ppm while worn [sampled 240 min; worn 120 min]" in str(made)
