"""What people write as the basis of a number: answers and non-answers."""

from __future__ import annotations

import pytest

from respcalc.workplace import names_data, no_basis, rests_on_smell

NO_BASIS = [
    "unknown", "guess", "not measured", "n/a", "?", "-", "odour", "technical data sheet; nobody measured", "x",
    "unmeasured", "no data", "label", "assumed", "TBD", "nothing was measured", "samples were not taken",
    "monitoring was never done", "sampling has not been done", "wasn't sampled", "unsampled", "to be measured",
    "measurements are planned for 2027", "guess, pending a survey", "SDS, to be sampled later", "0 samples, SDS",
    "No PID available, SDS used", "no tubes were used", "sampling data unavailable; SDS value",
    "smell only, the instrument was broken", "no idea", "the foreman said so", "SDS",
    "safety data sheet, section 3", "MSDS", "the data sheet's percentages", "data sheet",
    "composition of the product", "nobody measured", "never tested", "a rough guess, really", "it stinks at noon",
    "no samples", "no measurements", "not yet sampled",
]  # fmt: skip
BASIS = [
    "6 personal samples, highest taken", "6 samples (invented)", "PID survey after odour complaints",
    "estimated from ventilation rate and evaporation", "report of 1981",
    "no samples below detection: 6 personal samples", "not sampled since 2024; 6 samples of May 2023",
    "laboratory report 12, May 2026", "assumed worst case of the process, calculation in file 12", "own survey",
    "HHE 80-103-827", "expert judgement, J. Doe CIH", "4 tubes", "data sheet for identity; badges for the air",
    "direct readings of June, 40 of them (invented)", "letter of 1989",
    "95th percentile, Bayesian analysis of 7 results", "upper 95 per cent confidence limit of 9 results",
    "IH report 2026-04, table 3, section 4", "Exposure results sheet of 12 March 2026",
    "Label printing line, 5 results", "Steel sheet degreasing, 4 results",
    "Mass balance: 35 per cent toluene, 4000 m3/h extracted", "none of 14 samples was above 80 ppm",
    "No samples exceed 50 ppm in 3 campaigns", "Eight results below 30 ppm; not tested on night shift",
    "6 charcoal tubes by GC-MS, none untested", "Highest of 6 results; odour noticed on two days",
    "Generation rate model; unknown losses neglected", "4 personal samples, March 2026; highest taken",
    "own survey, May 2026", "measured after a spill in 2024 (invented)",
    "hose burst of 2024, direct-reading instrument (invented)", "3 samples (invented)",
    "full-shift samples of 5 workers, no respirator worn", "no sample above 40 ppm in 8",
    "samples of 2024, no change since",
]  # fmt: skip
REUSE_DATA = [
    "own desorption test 2026, 5 days", "desorption data (invented)", "migration study; odour not used",
    "laboratory, 2025", "desorption data of 2025 for toluene, stored in bags", "migration test; odour not used",
    "maker's letter of 2025: reuse up to 3 days for toluene", "re-use experiment of 2025, report 12",
    "never above 1 ppm in re-challenge after 72 h", "desorption tests of May 2026, own laboratory",
]  # fmt: skip
NO_REUSE_DATA = [
    "no data", "they still work fine", "common practice", "no desorption data",
    "smell at donning, agreed with our industrial hygienist", "sniff test each morning",
    "sealed bag, latest practice", "no industrial practice forbids it", "safety data sheet", "user seal test",
    "cost-saving measure", "tests planned", "nothing measured", "no breakthrough seen by smell",
    "changed when they smell", "no odour so far", "kept in a zip bag", "I change it when I smell it",
    "never tested", "habit",
]  # fmt: skip
SMELL = [
    "when odour breaks through, campus table 2019", "until it smells", "as soon as taste is noticed",
]  # fmt: skip
NO_SMELL = [
    "odour thresholds not used", "Odor Lab technical note 2023", "Taste House Ltd policy of 2022",
    "campus table of 2019, 8 h", "tested in the wardrobe of odin",
]  # fmt: skip


@pytest.mark.parametrize("text", NO_BASIS)
def test_a_non_answer_is_no_basis(text):
    assert no_basis(text)


@pytest.mark.parametrize("text", BASIS)
def test_a_basis_may_be_one(text):
    assert no_basis(text) == ""


@pytest.mark.parametrize(
    ("text", "says"),
    [("guess", "guess"), ("nobody measured", "denial"), ("?", "nothing"), ("assumed", "nothing"), ("odour", "smell"),
     ("SDS", "data sheet"), ("technical data sheet; nobody measured", "data sheet")],
)  # fmt: skip
def test_it_is_said_what_it_is_instead(text, says):
    assert says in no_basis(text)


@pytest.mark.parametrize("text", REUSE_DATA)
def test_data_on_reuse_are_named(text):
    assert names_data(text)


@pytest.mark.parametrize("text", ["", *NO_REUSE_DATA])
def test_habit_bags_and_noses_are_no_data_on_reuse(text):
    assert not names_data(text)


@pytest.mark.parametrize("text", SMELL)
def test_a_rule_that_waits_for_smell_rests_on_it(text):
    assert rests_on_smell(text)


@pytest.mark.parametrize("text", NO_SMELL)
def test_smell_that_is_left_out_or_is_a_name_is_none(text):
    assert not rests_on_smell(text)
