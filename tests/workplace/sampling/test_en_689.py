"""Comparison with an exposure limit: the preliminary and the group test."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from respcalc import describe_air
from respcalc.core.errors import DomainError, UnitsError
from respcalc.workplace.sampling import (
    describe_samples,
    fit_samples,
    group_test,
    preliminary_test,
    tolerance_factor,
)

AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
SIX = ["0.84 ppm", "0.98 ppm", "0.42 ppm", "1.16 ppm", "1.36 ppm", "2.66 ppm"]


def group(results, **more):
    return describe_samples("toluene", results, report="invented, 2026", **more)


@pytest.mark.parametrize(
    ("results", "decision"),
    [
        (["4.9 ppm"] * 3, "compliant"),
        (["4.9 ppm", "4.9 ppm", "5 ppm"], "no decision"),
        (["7.4 ppm"] * 4, "compliant"),
        (["7.4 ppm"] * 3, "no decision"),
        (["9.9 ppm"] * 5, "compliant"),
        (["9.9 ppm"] * 4, "no decision"),
        (["9.9 ppm"] * 7, "compliant"),
        (["1 ppm", "1 ppm", "50 ppm"], "no decision"),
        (["1 ppm", "1 ppm", "50.1 ppm"], "not compliant"),
        (["<4.9 ppm"] * 3, "compliant"),
        (["<5 ppm", "1 ppm", "1 ppm"], "no decision"),
        (["<80 ppm", "1 ppm", "1 ppm"], "no decision"),
    ],
)
def test_the_preliminary_test(results, decision):
    found = preliminary_test(group(results), "50 ppm")
    assert found.decision == decision
    assert found.unit == "ppm"
    assert "outside a respirator" in str(found)
    assert "[from memory]" in str(found)
    if decision == "no decision":
        assert "at least 6 in all" in found.because


def test_the_group_test_of_a_worked_data_set():
    found = group_test(group(SIX), "5 ppm")
    assert found.decision == "compliant"
    assert (found.value, found.bound) == (pytest.approx(2.555, abs=5e-4), pytest.approx(2.187, abs=5e-4))
    assert found.next_assessment == 24
    assert "next assessment within 24 months (from memory)" in str(found)
    assert group_test(group(SIX), "3.9 ppm").decision == "not compliant"
    assert group_test(group(SIX), "3.9 ppm").next_assessment is None


@given(
    results=st.lists(st.floats(0.1, 100), min_size=6, max_size=15, unique=True),
    limit=st.floats(1, 1000),
)
@settings(max_examples=60, deadline=None)
def test_it_agrees_with_the_tolerance_limit_of_95_70(results, limit):
    made = group([f"{r!r} ppm" for r in results])
    found = group_test(made, f"{limit!r} ppm")
    if max(results) > limit:
        assert found.decision == "not compliant"
        assert "above the limit" in found.because
        return
    assert found.bound == pytest.approx(tolerance_factor(len(results), "95 %", "70 %"), rel=1e-6)
    logs = [math.log(r) for r in results]
    mean = sum(logs) / len(logs)
    upper = mean + found.bound * math.sqrt(sum((v - mean) ** 2 for v in logs) / (len(logs) - 1))
    if abs(upper - math.log(limit)) > 1e-6:
        assert (found.decision == "compliant") == (upper <= math.log(limit))


def test_results_below_a_limit_are_fitted_too():
    results = ["<1 ppm", "<1 ppm", "1.2 ppm", "2 ppm", "3 ppm", "1.5 ppm", "<0.8 ppm", "2.2 ppm"]
    found = group_test(group(results), "50 ppm")
    assert found.decision == "compliant"
    upper = fit_samples(group(results)).upper_limit("95 %", "70 %")
    just = group_test(group(results), upper * 1.001)
    assert just.decision == "compliant"
    assert just.value == pytest.approx(just.bound, rel=1e-2)
    assert group_test(group(results), upper * 0.999).decision == "not compliant"


def test_too_few_measured_results_leave_it_open():
    found = group_test(group(["<1 ppm"] * 5 + ["2 ppm"]), "50 ppm")
    assert (found.decision, found.value) == ("no decision", None)
    json.dumps(found.as_dict(), allow_nan=False)
    assert group_test(group(["<1 ppm"] * 5 + ["60 ppm"]), "50 ppm").decision == "not compliant"


def test_equal_results_are_told():
    assert any("all results are equal" in note for note in group_test(group(["5 ppm"] * 6), "50 ppm").notes)


def test_the_results_as_reported_count_not_those_while_worn():
    scaled = group(["4 ppm"] * 3, sampled="8 h", worn="1 h")
    assert preliminary_test(scaled, "50 ppm").decision == "compliant"
    assert "not those while a respirator was worn" in str(preliminary_test(scaled, "50 ppm"))


def test_peaks_do_not_take_part():
    assert preliminary_test(group(["4 ppm"] * 3, peaks=["90 ppm"]), "50 ppm").decision == "compliant"


def test_a_limit_by_mass():
    made = group(["4 mg/m3"] * 3, air=AIR)
    assert preliminary_test(made, "50 mg/m3").decision == "compliant"
    with pytest.raises(DomainError, match="give the limit in ppm"):
        preliminary_test(group(["4 ppm"] * 3), "50 mg/m3")


@pytest.mark.parametrize("test", [preliminary_test, group_test])
def test_what_is_refused(test):
    with pytest.raises(DomainError, match="needs at least"):
        test(group(["4 ppm"] * 2), "50 ppm")
    with pytest.raises(UnitsError, match="exposure_limit"):
        test(group(SIX), "50")
    with pytest.raises(DomainError, match="exposure_limit"):
        test(group(SIX), "0 ppm")
    with pytest.raises(TypeError, match="describe_samples"):
        test(SIX, "50 ppm")


def test_it_can_be_written_as_json():
    found = json.loads(json.dumps(group_test(group(SIX), "5 ppm").as_dict(), allow_nan=False))
    assert found["decision"] == "compliant"
    assert "EN 689" in found["source"]
    assert found["limit"]["unit"] == "ppm"
