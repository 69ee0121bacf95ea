"""Cartridges of a plan by what is known of them: a bed with tolerances, tests, a certificate, dates, single use."""

from __future__ import annotations

import re
from html import unescape

import pytest

from respcalc.schedule import make_schedule, read_plan, read_plan_text
from respcalc.schedule.documents import csv_text, record_html

CERTIFIED = {
    "sorbent_mass": None, "face_area": None, "bed_depth": None, "certified_as": '"US cartridge OV"',
    "combination": "false",
}  # fmt: skip
HEADER = (
    "test,vapour,concentration [ppm],flow_rate [L/min],temperature [degC],relative_humidity [%],pressure [kPa],"
    "worn_time [min],exit_fraction [%]\n"
)
ROWS = "T1,toluene,1000,64,25,50,101.3,50,0.3\n" + "".join(
    f"T1,,,,,,,{t},{p}\n" for t, p in ((60, 1.2), (70, 5), (80, 17), (90, 44), (100, 75), (110, 92))
)


def words(schedule):
    """The record as text without its marks."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", record_html(schedule))))


def test_a_tolerance_is_written_in_the_plan(entry):
    sure, loose = entry(), entry(bed={"sorbent_mass": '"45 g ± 3 g"', "bed_depth": '"2.2 cm ± 1 mm"'})
    assert loose.life.life.value < sure.life.life.value
    assert any(c.startswith("bed: it could be any of 3") for c in loose.life.basis.choices)


def test_a_certificate_alone_makes_a_schedule_that_says_so(plan_text):
    schedule = make_schedule(read_plan_text(plan_text(bed=CERTIFIED)))
    (entry,) = schedule.entries
    assert entry.status == "interval"
    text = words(schedule)
    assert "The bed is inferred from its certificate alone: chemical cartridge, organic vapour" in text
    assert "this life is a floor from the certificate" in text
    assert "42 CFR part 84" in text


def test_a_combination_lasts_less(entry):
    one, several = (entry(bed=CERTIFIED | {"combination": flag}) for flag in ("false", "true"))
    assert several.life.life.value < one.life.life.value


@pytest.mark.parametrize(
    ("bed", "says"),
    [
        (CERTIFIED | {"certified_as": '"US cartridge ammonia"'}, "needs an ammonia or methylamine cartridge"),
        (CERTIFIED | {"certified_as": '"EN Z9"'}, "this type is not known here; it is one of US cartridge OV"),
        (CERTIFIED | {"sorbent_mass": '"45 g"'}, "sorbent_mass is not a key here"),
        ({"combination": "true"}, "combination is not a key here"),
        (CERTIFIED | {"combination": None}, "combination is missing"),
        (CERTIFIED | {"combination": '"no"'}, "must be true or false"),
        ({"carbon_from_tests": "true"}, "carbon_from_tests needs tests"),
        ({"tests_table": '"tests.csv"'}, "tests_table and tests_report belong together"),
        ({"tests_table": '"none.csv"', "tests_report": '"x"'}, "none.csv: cannot be read"),
        ({"expires": '"2027-01-01"'}, "expires = '2027-01-01' must be a date without quotes"),
        ({"expires": "2026-05-03"}, "expires = 2026-05-03 is before the date of the plan, 2026-05-04: discard"),
        ({"single_use": '"yes"'}, "single_use = 'yes' must be true or false"),
        ({"largest_share": '"30 %"'}, "takes from 50 % to 100 %"),
        ({"sieve": '"12x13"'}, "13 is no mesh number"),
        ({"sorbent_mass": '"45 g ± 2"'}, "the tolerance has no unit"),
        ({"diameter": '"76 mm"'}, "stands for the face_area"),
    ],
)
def test_a_fault_names_the_cartridge_and_the_key(entry, bed, says):
    found = entry(bed=bed)
    assert found.status == "input fault"
    assert says in " ".join(found.reasons)
    assert "pair" in " ".join(found.reasons)


def test_the_last_day_of_use_is_on_the_instruction_and_the_record(plan_text):
    schedule = make_schedule(read_plan_text(plan_text(bed={"expires": "2027-03-31"})))
    assert schedule.entries[0].instruction.endswith("; none after 2027-03-31")
    assert "none after 2027-03-31" in csv_text(schedule)
    assert "Packs expire on 2027-03-31." in words(schedule)
    on_the_day = make_schedule(read_plan_text(plan_text(bed={"expires": "2026-05-04"})))
    assert on_the_day.entries[0].status == "interval"


def test_open_packs_are_used_up_by_the_earlier_day(entry):
    rules = {
        "days_opened": "30",
        "reuse_basis": '"desorption data (invented)"',
        "stored_at": '"60 %"',
        "reuse_vapours": '["toluene"]',
    }
    opened = {"opened_on": "2026-05-01", "stored_at": '"60 %"'}
    assert "2026-05-10" in entry(bed=opened | {"expires": "2026-05-10"}, rules=rules).instruction
    assert "2026-05-30" in entry(bed=opened | {"expires": "2026-12-31"}, rules=rules).instruction


def test_single_use_is_one_shift_whatever_the_site_keeps(entry):
    rules = {
        "days_opened": "3",
        "reuse_basis": '"desorption data (invented)"',
        "stored_at": '"60 %"',
        "reuse_vapours": '["toluene"]',
    }
    task = {"hours_of_use": '"1 h"'}
    kept, single = (entry(task, bed=b, rules=rules) for b in ({}, {"single_use": "true"}))
    assert kept.change.shifts == 3
    assert single.change.shifts == 1
    assert any("single use" in c.reason for c in single.change.caps)
    opened = {"single_use": "true", "opened_on": "2026-05-01", "stored_at": '"60 %"'}
    refused = entry(task, bed=opened, rules=rules | {"days_opened": "9"})
    assert refused.status == "refused"
    assert "made for single use, and its packs were opened before" in refused.reasons[0]


def test_a_type_that_is_not_made_for_the_vapour_is_refused_even_if_acknowledged(entry):
    bed = CERTIFIED | {"certified_as": '"EN A2"', "in_parallel": "1"}
    for task in ({}, {"acknowledge_outside_model": '"we have always done so (invented)"'}):
        found = entry(task, [{"name": '"acetone"'}], bed=bed)
        assert found.status == "refused"
        assert "acetone boils at 56.1 degC" in found.reasons[0]
        assert "a type that is made for it" in found.reasons[0]
    mixed = entry({}, [{"name": '"acetone"'}, {"name": '"n-pentane"'}],
                  bed=CERTIFIED | {"certified_as": '"EN AX"', "in_parallel": "1"})  # fmt: skip
    assert "never for a mixture" in " ".join(mixed.reasons)


# --- tests in a table beside the plan


@pytest.fixture
def beside(tmp_path, plan_text):
    """The first entry of a plan with a table of tests in its folder."""

    def make(rows=ROWS, bed=None, task=None, vapours=({},)):
        (tmp_path / "tests.csv").write_text(HEADER + rows, encoding="utf-8")
        more = {"tests_table": '"tests.csv"', "tests_report": '"house laboratory, March 2026 (invented)"'}
        path = tmp_path / "plan.toml"
        path.write_text(plan_text(task, vapours, bed=more | (bed or {})), encoding="utf-8")
        return make_schedule(read_plan(path))

    return make


def test_the_carbon_is_found_from_the_tests_beside_the_plan(beside):
    schedule = beside(bed={"carbon_from_tests": "true"})
    (entry,) = schedule.entries
    assert entry.status == "interval"
    text = words(schedule)
    assert "The bed is fitted to 1 test (toluene); the bed's geometry as described" in text
    assert "T1: toluene 1000 ppm, 25 degC, 50 % RH, 64 L/min: 7 points up to 92 % through" in text
    assert "(house laboratory, March 2026 (invented)): capacity" in text
    assert "the bed would have lasted" in text


def test_tests_beside_a_described_bed_are_its_own_tests(beside):
    (entry,) = beside().entries
    assert len(entry.task.cartridge.tests) == 3  # the points at the foot
    assert entry.task.cartridge.evidence is None


def test_a_faulty_test_is_named_and_costs_its_own_tasks_only(beside):
    (entry,) = beside(rows=ROWS + "T2,tolune,1000,64,25,50,101.3,50,0.3\n").entries
    assert entry.status == "input fault"
    assert "cartridge 'pair': tests.csv: " in entry.reasons[0]
    assert "Nearest names: toluene" in entry.reasons[0]


def test_several_tests_are_written_in_the_plan_itself(entry):
    test = (
        '[[cartridge.test]]\nvapour = "{0}"\nreport = "house laboratory (invented)"\nbreakthrough_time = "{1} min"\n'
        'exit_fraction = "1 %"\nconcentration = "1000 ppm"\nflow_rate = "53 L/min"\ntemperature = "22 degC"\n'
        'relative_humidity = "50 %"\npressure = "101.3 kPa"\n'
    )
    found = entry(bed={"carbon_from_tests": "true"}, extra=test.format("toluene", 95) + test.format("n-hexane", 52))
    assert found.status == "interval"
    assert found.task.cartridge.evidence.words.startswith("fitted to 2 tests (n-hexane, toluene)")


def test_the_floor_is_told_the_cartridge_by_its_description(plan_text):
    page = record_html(make_schedule(read_plan_text(plan_text(bed={"description": '"the two grey ones (invented)"'}))))
    assert "the two grey ones (invented)" in page.split("For the floor")[1].split("</table>")[0]


def test_a_class_beside_the_type_is_led_to_the_use_limit(entry):
    found = entry(bed={"filter_type": '"A2"'})
    assert any('use_limit, such as "5000 ppm" for A2' in reason for reason in found.reasons)
