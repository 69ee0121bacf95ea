"""The rule: the highest counts, more and higher never lowers, and everything is said."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from respcalc import describe_air
from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.errors import DomainError, UnitsError
from respcalc.workplace.sampling import describe_samples, design_concentration, fit_samples, tolerance_factor

AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
SIX = ["0.84 ppm", "0.98 ppm", "0.42 ppm", "1.16 ppm", "1.36 ppm", "2.66 ppm"]
EIGHT = ["8 ppm", "20 ppm", "11 ppm", "31 ppm", "9 ppm", "14 ppm", "17 ppm", "12 ppm"]


def group(results, **more):
    return describe_samples("toluene", results, report="invented, 2026", **more)


def texts(results):
    return [f"{'<' if below else ''}{value!r} ppm" for value, below in results]


def planned(results, **more):
    """In ppm."""
    peaks = more.pop("peaks", ())
    return design_concentration(group(texts(results), peaks=texts(peaks)), **more).value.value * 1e6


def named(design):
    return {c.name: c.value.value * 1e6 for c in design.candidates}


# --- the candidates


def test_with_enough_results_the_tolerance_limit_counts():
    design = design_concentration(group(EIGHT))
    y = [math.log(float(r.split()[0])) for r in EIGHT]
    mean = sum(y) / 8
    s = math.sqrt(sum((v - mean) ** 2 for v in y) / 7)
    assert design.value.value * 1e6 == pytest.approx(math.exp(mean + tolerance_factor(8) * s))
    assert design.because == "upper tolerance limit 95,95"
    assert design.value == design.rule
    assert (design.label, design.reasons, design.chosen) == ("usual", (), False)
    assert named(design)["highest result while worn"] == pytest.approx(31)


@pytest.mark.parametrize(
    ("more", "value", "because"),
    [
        ({"peaks": ["300 ppm", "90 ppm"]}, 300, "highest short-term result"),
        ({"peaks": ["<400 ppm", "90 ppm"]}, 400, "highest short-term result"),
    ],
)
def test_the_highest_counts(more, value, because):
    design = design_concentration(group(EIGHT, **more))
    assert design.value.value * 1e6 == pytest.approx(value)
    assert design.because == because


def test_an_upset_counts_with_its_basis():
    design = design_concentration(group(EIGHT), upset="500 ppm", upset_basis="drum pump left open, detector, May 2026")
    assert design.value.value * 1e6 == pytest.approx(500)
    assert design.because == "foreseeable upset"
    assert "drum pump left open" in str(design)
    lower = design_concentration(group(EIGHT), upset="5 ppm", upset_basis="drum pump left open, detector, May 2026")
    assert lower.value.value == design_concentration(group(EIGHT)).value.value


def test_fewer_than_six_are_at_least_doubled_and_labelled():
    design = design_concentration(group(["10 ppm", "10.5 ppm", "11 ppm", "10.2 ppm"]))
    assert design.value.value * 1e6 == pytest.approx(22)
    assert design.because == "twice the highest result"
    assert design.label == "low confidence"
    assert "4 samples, fewer than 6" in design.reasons


def test_a_tolerance_limit_of_few_results_counts_no_further_than_the_assumed_scatter_explains():
    design = design_concentration(group(["12 ppm", "40 ppm", "90 ppm"]))
    limit, stands_in = (c for c in design.candidates if c.name.startswith("upper"))
    assert not limit.counts
    assert design.because == stands_in.name
    assert design.value.value * 1e6 == pytest.approx(90 * 8.81, rel=1e-3)
    assert "(does not count)" in str(design)
    wider = design_concentration(group(["12 ppm", "40 ppm", "90 ppm"]), assumed_gsd=5)
    assert wider.value.value > design.value.value


def test_results_that_scatter_more_than_is_assumed_say_so_themselves():
    """12, 14 and 900 ppm: a geometric standard deviation of 12, which no assumption of 3 makes go away."""
    design = design_concentration(group(["12 ppm", "14 ppm", "900 ppm"]))
    assert design.value.value * 1e6 > 900 * 20
    assert any("geometric standard deviation of 11.6" in c.how for c in design.candidates), design.candidates


def test_equal_results_do_not_pass_for_no_scatter():
    for n in (3, 6, 20):
        design = design_concentration(group(["10 ppm"] * n))
        assert 10 * 1.3 < design.value.value * 1e6 < 10 * 2.01
        assert any("scatter less than is believed" in r for r in design.reasons)
        assert design.label == "low confidence"


@pytest.mark.parametrize("n", [3, 6, 20, 80])
def test_results_all_below_their_limits_never_give_zero(n):
    design = design_concentration(group(["<10 ppm"] * n))
    assert design.value.value * 1e6 >= 10
    assert design.fit is None
    assert design.label == "low confidence"
    assert any(f"0 of {n} results measured" in r for r in design.reasons)
    assert design_concentration(group(["<10 ppm"] * n), assumed_gsd=5).value.value >= design.value.value


def test_more_of_them_below_one_limit_say_more():
    assert planned([(10.0, True)] * 20) < planned([(10.0, True)] * 6) < planned([(10.0, True)] * 3)


def test_what_lowers_the_confidence_is_said():
    half = [(1.0, True)] * 7 + [(float(v), False) for v in (2, 3, 4, 5, 6, 8)]
    assert "7 of 13 results are below their limits" in design_concentration(group(texts(half))).reasons
    few = [(1.0, True)] * 4 + [(2.0, False), (3.0, False), (4.0, False)]
    assert "3 of 7 results measured, fewer than 6" in design_concentration(group(texts(few))).reasons
    loose = [(50.0, True)] + [(float(v), False) for v in (2, 3, 4, 5, 6, 8, 9)]
    assert any("lies above every measured result" in r for r in design_concentration(group(texts(loose))).reasons)
    two_tasks = [(float(v), False) for v in (1, 1.01, 1.02, 1.03, 1.04, 100, 101, 102, 103, 104)]
    assert any("do not look lognormal" in r for r in design_concentration(group(texts(two_tasks))).reasons)


def test_pure_vapour_is_the_end():
    design = design_concentration(group(["1 %", "90 %", "30 %"]))
    assert design.value.value == 1.0
    assert "held at pure vapour" in str(design)


def test_more_than_saturated_is_said():
    assert "more than the saturated vapour at 20 degC" in str(design_concentration(group(["4 %", "2 %", "1 %"])))
    assert "saturated" not in str(design_concentration(group(EIGHT)))


# --- monotone

value = st.one_of(st.floats(0.5, 200.0), st.sampled_from([1.0, 2.0, 5.0, 10.0, 50.0]))
result = st.tuples(value, st.sampled_from([False, False, True]))
sets = st.lists(result, min_size=3, max_size=12)
SLACK = 1 - 1e-9


@given(results=sets, step=st.one_of(st.just(1.0), st.floats(1.0, 5.0)))
@settings(max_examples=150, deadline=None)
def test_a_further_result_at_or_above_all_others_never_lowers_it(results, step):
    top = max(v for v, _ in results) * step
    assert planned([*results, (top, False)]) >= planned(results) * SLACK


@given(
    results=st.lists(st.tuples(value, st.just(False)), min_size=3, max_size=8),
    more=st.lists(st.floats(1, 3), max_size=4),
)
@settings(max_examples=60, deadline=None)
def test_nor_do_several(results, more):
    now = planned(results)
    for step in more:
        results = [*results, (max(v for v, _ in results) * step, False)]
        assert planned(results) >= now * SLACK
        now = planned(results)


@given(results=sets, factor=st.one_of(st.floats(1.0, 1.01), st.floats(1.0, 20.0)))
@settings(max_examples=150, deadline=None)
def test_raising_the_highest_result_never_lowers_it(results, factor):
    measured = [i for i, (_, below) in enumerate(results) if not below]
    if not measured:
        return
    top = max(measured, key=lambda i: results[i][0])
    raised = list(results)
    raised[top] = (results[top][0] * factor, False)
    assert planned(raised) >= planned(results) * SLACK


@pytest.mark.parametrize("top", [0.344, 0.747, 0.7479, 0.7481, 0.75, 0.9, 2.0])
def test_nor_does_raising_it_past_the_limits_of_others(top):
    low = [(math.exp(-2.845), False), (math.exp(-1.786), False)]
    limits = [(math.exp(0.748), True)] * 5
    before = planned([*low, *limits, (math.exp(0.343), False)])
    assert planned([*low, *limits, (math.exp(top), False)]) >= before * SLACK


@given(results=sets, peak=result)
@settings(max_examples=40, deadline=None)
def test_a_peak_or_an_upset_never_lowers_it(results, peak):
    plain = planned(results)
    assert planned(results, peaks=[peak]) == pytest.approx(max(plain, peak[0]))
    upset = planned(results, upset=f"{peak[0]!r} ppm", upset_basis="calculated from the spill, May 2026")
    assert upset == pytest.approx(max(plain, peak[0]))


@given(results=sets)
@settings(max_examples=60, deadline=None)
def test_it_is_never_below_what_was_found_and_the_order_does_not_matter(results):
    found = planned(results)
    assert found >= max(v for v, _ in results) * SLACK
    assert planned(list(reversed(results))) == pytest.approx(found, rel=1e-9)


@given(results=sets)
@settings(max_examples=40, deadline=None)
def test_units_do_not_change_it(results):
    by_volume = [f"{'<' if below else ''}{v * 1e3!r} ppb" for v, below in results]
    first = planned(results)
    assert design_concentration(group(by_volume)).value.value * 1e6 == pytest.approx(first, rel=1e-7)
    per_ppm = group(["1 mg/m3"], air=AIR).samples[0].result * 1e6
    by_mass = [f"{'<' if below else ''}{v / per_ppm!r} mg/m3" for v, below in results]
    assert design_concentration(group(by_mass, air=AIR)).value.value * 1e6 == pytest.approx(first, rel=1e-7)


@given(results=sets, times=st.floats(1.0, 8.0))
@settings(max_examples=30, deadline=None)
def test_a_shorter_task_scales_it(results, times):
    scaled = group(texts(results), sampled=f"{60 * times!r} min", worn="60 min")
    most = min(planned(results) * times, 1e6)  # it is held at pure vapour
    assert design_concentration(scaled).value.value * 1e6 == pytest.approx(most, rel=1e-7)


@given(results=st.lists(st.tuples(value, st.just(False)), min_size=6, max_size=10))
@settings(max_examples=30, deadline=None)
def test_more_coverage_or_confidence_never_lowers_it(results):
    values = [
        planned(results, coverage=c, confidence=g) for c, g in ((0.9, 0.7), (0.95, 0.7), (0.95, 0.95), (0.99, 0.95))
    ]
    assert values == sorted(values)


# --- overruled


REASON = "two tasks of the survey no longer exist; highest of the others taken"


def test_another_value_is_printed_beside_what_the_rule_says():
    design = design_concentration(group(EIGHT), chosen="40 ppm", chosen_because=REASON)
    assert design.chosen
    assert design.value.value * 1e6 == pytest.approx(40)
    assert design.rule.value == design_concentration(group(EIGHT)).rule.value
    text = str(design)
    assert f"chosen because: {REASON}" in text
    assert f"the rule would have said {design.rule.printed}" in text
    assert f"the chosen value lies below {design.rule.printed}" in text
    assert design.value.note == REASON


def test_a_higher_value_may_be_chosen_without_a_word_on_the_rule():
    design = design_concentration(group(EIGHT), chosen="400 ppm", chosen_because=REASON)
    assert not any("below" in note for note in design.notes)


def test_a_chosen_value_below_the_upset_is_said():
    design = design_concentration(
        group(EIGHT),
        chosen="100 ppm",
        chosen_because=REASON,
        upset="500 ppm",
        upset_basis="spill of a drum, calculated",
    )
    assert any("foreseeable upset" in note for note in design.notes)


@pytest.mark.parametrize("peaks", [[], ["90 ppm"]])
def test_never_below_the_highest_measured_result(peaks):
    with pytest.raises(
        DomainError, match=r"is below the highest measured result, .*OSHA interpretation letter, 10 January"
    ):
        design_concentration(group(EIGHT, peaks=peaks), chosen="30 ppm", chosen_because=REASON)
    assert design_concentration(
        group(EIGHT), chosen="31 ppm", chosen_because=REASON
    ).value.value * 1e6 == pytest.approx(31)


def test_a_limit_of_quantification_is_no_measured_result():
    design = design_concentration(group(EIGHT, peaks=["<400 ppm"]), chosen="60 ppm", chosen_because=REASON)
    assert design.value.value * 1e6 == pytest.approx(60)


@pytest.mark.parametrize("n", [0, 1, 2])
def test_with_fewer_than_three_results_a_value_must_be_stated(n):
    few = group(["10 ppm"] * n, peaks=["40 ppm"])
    with pytest.raises(
        DomainError, match=r"at least three, six for usual confidence, or state a concentration yourself"
    ):
        design_concentration(few)
    design = design_concentration(few, chosen="200 ppm", chosen_because="mass balance of the bath, worst case")
    assert design.rule is None
    assert design.label == "low confidence"
    assert "the rule would have said nothing" in str(design)
    json.dumps(design.as_dict(), allow_nan=False)
    with pytest.raises(DomainError, match="three"):
        fit_samples(few)


@pytest.mark.parametrize(
    ("more", "error", "says"),
    [
        ({"chosen": "100 ppm"}, DomainError, "chosen_because = '': a reason is needed"),
        ({"chosen": "100 ppm", "chosen_because": "  "}, DomainError, "a reason is needed"),
        (
            {"chosen": "100 ppm", "chosen_because": "no smell noticed there"},
            DomainError,
            "smell or taste is no measure",
        ),
        ({"chosen": "100 ppm", "chosen_because": "below the odour threshold"}, DomainError, "smell or taste"),
        ({"chosen": "100 ppm", "chosen_because": "ok"}, DomainError, "nothing that anybody could check"),
        ({"chosen": "100 ppm", "chosen_because": "model run"}, DomainError, "too short for a record"),
        ({"chosen": "100 ppm", "chosen_because": "my best guess here"}, DomainError, "is a guess"),
        ({"chosen": "100 ppm", "chosen_because": "safety data sheet section 8"}, DomainError, "no air level"),
        ({"chosen": "100", "chosen_because": REASON}, UnitsError, "chosen = '100': the unit is missing"),
        ({"chosen": "1000 mg/m3", "chosen_because": REASON}, DomainError, "give chosen in ppm"),
        ({"chosen_because": REASON}, DomainError, "without a chosen value"),
        ({"upset": "300 ppm"}, DomainError, "upset_basis = '': a reason is needed"),
        ({"upset": "300 ppm", "upset_basis": "composition of the product"}, DomainError, "no air level"),
        ({"upset": "300 ppm", "upset_basis": "strong smell in the room"}, DomainError, "smell"),
        ({"upset_basis": REASON}, DomainError, "without an upset"),
        ({"upset": "<300 ppm", "upset_basis": REASON}, UnitsError, "limit of detection"),
        ({"upset": "0 ppm", "upset_basis": REASON}, DomainError, "upset = 0 ppm"),
        ({"coverage": 95}, DomainError, 'write "95 %"'),
        ({"confidence": "30 %"}, DomainError, "confidence = 30 %"),
        ({"assumed_gsd": 1.0}, DomainError, "not believed"),
        ({"assumed_gsd": 0.5}, DomainError, "assumed_gsd"),
    ],
)
def test_what_is_refused(more, error, says):
    with pytest.raises(error, match=says):
        design_concentration(group(EIGHT), **more)


def test_other_things_are_no_samples():
    with pytest.raises(TypeError, match="describe_samples"):
        design_concentration(EIGHT)
    with pytest.raises(TypeError, match="describe_samples"):
        fit_samples(EIGHT)


def test_mass_per_volume_with_the_air_of_the_samples():
    by_mass = group([r.replace("ppm", "mg/m3") for r in EIGHT], air=AIR)
    design = design_concentration(by_mass, upset="1000 mg/m3", upset_basis="spill of a drum, calculated")
    assert design.value.value * 1e6 == pytest.approx(1000 * 24.465 / 92.14, rel=1e-3)


# --- what is written


def test_it_reads_well_and_ends_with_the_caution():
    design = design_concentration(group(SIX, group="spray booth", peaks=["3 ppm"]))
    text = str(design)
    assert text.startswith("toluene, spray booth: planned for ")
    assert text.endswith(SHORT_CAUTION)
    for name in named(design):
        assert f"  {name}: " in text
    assert "geometric mean 1.064 ppm, geometric standard deviation 1.83" in text
    assert "no sign against a lognormal distribution" in text
    assert "is not stated" in text


def test_it_can_be_written_as_json():
    design = design_concentration(group(SIX, peaks=["<3 ppm"]))
    found = json.loads(json.dumps(design.as_dict(), allow_nan=False))
    assert found["value"]["unit"] == "ppm"
    assert found["value"]["name"] == "design concentration"
    assert found["rule"] == found["value"]
    assert len(found["candidates"]) == len(design.candidates)
    assert len(found["samples"]["samples"]) == 7
    assert len(found["cautions"]) > 3
    assert found["fit"]["geometric_standard_deviation"] == pytest.approx(1.832, abs=1e-3)
    assert found["fit"]["geometric_mean"] == {"value": pytest.approx(1.064, abs=1e-3), "unit": "ppm"}
    assert design.samples.samples[0].given == "0.84 ppm"


def test_less_than_95_95_is_said():
    design = design_concentration(group(EIGHT), confidence="70 %")
    assert "upper tolerance limit 95,70" in named(design)
    assert any("less than the usual 95,95" in note for note in design.notes)


def test_a_result_far_below_all_others_is_pointed_out():
    """18 to 41 ppm and one "<2": the limit is large because of that one, and the note says so."""
    results = ["18 ppm", "41 ppm", "25 ppm", "33 ppm", "22 ppm", "29 ppm", "<2 ppm"]
    design = design_concentration(group(results))
    assert design.label == "low confidence"
    assert any("such a result raises the limit by itself" in note for note in design.notes)
    near = design_concentration(group([*results[:-1], "<15 ppm"]))
    assert near.label == "usual"
    assert near.value.value < design.value.value


def test_ten_results_alike_and_a_limit_far_above_them_are_judged_without_a_warning():
    design = design_concentration(group([*(f"1.00{i} ppm" for i in range(10)), "<50 ppm"]))
    assert design.value.value == pytest.approx(50e-6, rel=1e-9)
