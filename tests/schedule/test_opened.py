"""Cartridges that were open before, and cartridges with a test of their own, as a plan tells of them."""

from __future__ import annotations

import csv
import io
import re
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.cartridges import SEALED, describe_history
from respcalc.core.errors import PlanError
from respcalc.schedule import make_schedule, read_plan_text
from respcalc.schedule.documents import csv_text, record_html

DATA = '"desorption data of 2025 for these vapours (invented)"'
KEPT = {
    "days_opened": "3", "reuse_basis": DATA, "stored_at": '"80 %"',
    "reuse_vapours": '["toluene", "m-xylene", "acetone", "n-hexane", "2-butanone"]',
}  # fmt: skip
OPEN = {"opened_on": "2026-05-01", "stored_at": '"80 %"'}


def words(schedule):
    """The record as text without its marks."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", record_html(schedule))))


def rows(schedule):
    return list(csv.DictReader(io.StringIO(csv_text(schedule))))


# --- kept for more than the shift: [rules] days_opened and stored_at


def test_keeping_cartridges_open_needs_the_humidity_of_the_store(plan_text):
    with pytest.raises(PlanError) as refused:
        read_plan_text(plan_text(rules=KEPT | {"stored_at": None}))
    assert list(refused.value.problems) == [
        "[rules]: days_opened = 3 needs stored_at, the highest relative humidity where opened cartridges are kept, for "
        'example stored_at = "60 %": damp carbon holds less vapour'
    ]


@pytest.mark.parametrize(
    ("literal", "says"),
    [
        ("80", 'stored_at = 8000 % is not possible; it must be from 0 up to 100 %; for 80 per cent write "80 %"'),
        ('"80"', "stored_at = 8000 % is not possible"),
        ('"120 %"', "stored_at = 120 % is not possible"),
        ('"dry"', "stored_at = 'dry'"),
        ('["60 %", "80 %"]', "stored_at = ['60 %', '80 %'] must be one value"),
        ("true", "stored_at"),
        ("2026-05-01", "stored_at"),
    ],
)
def test_a_humidity_of_the_store_with_a_fault_is_told_once(plan_text, literal, says):
    with pytest.raises(PlanError) as refused:
        read_plan_text(plan_text(rules=KEPT | {"stored_at": literal}))
    (problem,) = refused.value.problems
    assert problem.startswith("[rules]: ")
    assert says in problem


def test_discarded_after_the_shift_the_store_does_not_matter(entry):
    plain = entry()
    assert entry(rules={"stored_at": '"80 %"'}).life == plain.life
    assert plain.task.history == SEALED


@pytest.mark.parametrize(
    ("humidity", "store", "counts"), [("50 %", "80 %", "80 %"), ("75 %", "40 %", "75 %"), ("60 %", "60 %", "60 %")]
)
def test_the_damper_of_use_and_store_counts(entry, humidity, store, counts):
    found = entry({"relative_humidity": f'"{humidity}"'}, rules=KEPT | {"stored_at": f'"{store}"'})
    assert found.task.kept_history == describe_history(dampest_air=counts)
    assert found.task.history == SEALED  # a set from a sealed pack, where sets are not kept


def test_a_damp_store_shortens_the_life_and_the_rule_to_discard(plan_text):
    def of(**changes):
        (one,) = make_schedule(read_plan_text(plan_text({"hours_of_use": '"1 h"'}, **changes))).entries
        return one

    sealed, dry, damp = of(), of(rules=KEPT | {"stored_at": '"30 %"'}), of(rules=KEPT)
    assert damp.life.life.value < 0.8 * dry.life.life.value
    # kept in drier air and used at 50 % RH it has seen what tested cartridges have seen
    assert dry.life.life.value == sealed.life.life.value
    assert dry.change.shifts == 3
    assert sealed.change.shifts == 1


def test_the_store_is_printed_on_the_record(plan_text):
    page = words(make_schedule(read_plan_text(plan_text({"hours_of_use": '"1 h"'}, rules=KEPT))))
    assert "opened cartridges are kept at most 3 days in air of up to 80 % RH because: desorption data of 2025" in page
    assert "as damp as air of 80 %; a carbon damper than most" in page
    assert "water on the carbon before use 85.33 %" in page
    assert "carbon that was damp before lasts less" not in page  # said only of sealed ones


# --- opened before the plan: opened_on and stored_at of a cartridge


def test_a_cartridge_opened_before_is_as_damp_as_its_store(plan_text):
    schedule = make_schedule(
        read_plan_text(plan_text(bed=OPEN, rules=KEPT | {"stored_at": '"30 %"', "days_opened": "9"}))
    )
    (one,) = schedule.entries
    assert one.status == "interval"
    assert one.task.days_open == 3
    assert one.task.history == describe_history(dampest_air="80 %")
    assert "carbon as damp as air of 80 %; a carbon damper than most" in words(schedule)


def test_opened_on_the_day_of_the_plan(entry):
    """The clock runs from the opening of the pack, and the day is not over; the air of the store counts."""
    today = entry(bed=OPEN | {"opened_on": "2026-05-04"})
    assert today.status == "interval"
    assert today.task.days_open == 0
    assert today.life.life.value < entry().life.life.value


@pytest.mark.parametrize(
    ("opened", "kept", "allowed"), [("2026-05-03", 1, False), ("2026-05-03", 2, True), ("2026-05-01", 3, False)]
)
def test_open_for_longer_than_allowed_is_discarded(entry, opened, kept, allowed):
    rules = {} if kept == 1 else KEPT | {"days_opened": f"{kept}"}
    found = entry(bed=OPEN | {"opened_on": opened}, rules=rules)
    assert (found.status == "interval") == allowed
    if not allowed:
        (reason,) = found.reasons
        days = int("2026-05-04"[-2:]) - int(opened[-2:])
        plural = "s" if days > 1 else ""
        assert f"cartridge pair has been open for {days} day{plural} at the date of the plan" in reason
        assert f"[rules] keep an opened one {kept} day" in reason
        assert "discard it" in reason
        assert "sealed packs" in reason
        assert found.life is None


@pytest.mark.parametrize("kept", ["opened_on", "stored_at"])
def test_one_without_the_other_is_refused(entry, kept):
    found = entry(bed={kept: OPEN[kept]})
    assert found.status == "input fault"
    (fault,) = found.reasons
    assert "cartridge 'pair': opened_on and stored_at belong together" in fault
    assert 'stored_at = "60 %"' in fault


@pytest.mark.parametrize(
    ("literal", "shown"),
    [
        ('"2026-05-01"', "'2026-05-01'"),
        ("2026-05-01T08:00:00", "2026, 5, 1, 8, 0"),
        ("08:00:00", "time(8, 0)"),
        ("20260501", "20260501"),
        ("true", "True"),
        ("[2026-05-01]", "[datetime.date(2026, 5, 1)]"),
    ],
)
def test_a_day_of_opening_that_is_no_date_is_refused_once(entry, literal, shown):
    found = entry(bed=OPEN | {"opened_on": literal})
    assert found.status == "input fault"
    (fault,) = found.reasons
    assert shown in fault
    assert "must be a date without quotes: opened_on = 2026-04-01" in fault


def test_opened_after_the_plan_is_a_slip(entry):
    found = entry(bed=OPEN | {"opened_on": "2026-05-06"})
    assert found.reasons == ("cartridge pair: opened_on = 2026-05-06 is after the date of the plan, 2026-05-04",)


@pytest.mark.parametrize("date", ['"4 May 2026"', '"spring"', "2026-05-04T10:00:00"])
def test_without_a_date_of_the_plan_nobody_can_count_the_days(plan_text, entry, date):
    assert entry(site={"date": date}).status == "interval"  # nobody needs to
    (fault,) = entry(bed=OPEN, site={"date": date}).reasons
    assert "[site]: date = " in fault
    assert "is no date (2026-05-01)" in fault
    assert "cartridge pair has been open" in fault


def test_a_date_in_quotes_is_a_date_of_the_plan(entry):
    found = entry(bed=OPEN, site={"date": '"2026-05-04"'}, rules=KEPT | {"days_opened": "9"})
    assert found.task.days_open == 3


def test_only_the_tasks_with_the_opened_cartridge_are_refused(plan_text, task_text):
    fresh = '[[cartridge]]\nid = "fresh"\ndata_from = "invented"\nsorbent_mass = "45 g"\nface_area = "45 cm2"\n'
    text = plan_text(
        bed=OPEN,
        extra=fresh + 'bed_depth = "2.2 cm"\nin_parallel = 2\n',
        tasks=[task_text({"id": '"old"'}), task_text({"id": '"new"', "cartridge": '"fresh"'})],
    )
    schedule = make_schedule(read_plan_text(text))
    assert [e.status for e in schedule.entries] == ["refused", "interval"]
    old, new = rows(schedule)
    assert old["service_life [h]"] == old["coverage"] == ""
    assert "has been open for 3 days" in old["why_no_interval"]
    assert float(new["service_life [h]"]) > 0


SHARES = st.one_of(st.just(0.0), st.floats(0.011, 1.0))  # between them lie fractions typed as per cent


@given(store=SHARES, more=SHARES, use=SHARES)
def test_no_damper_store_lengthens(entry, store, more, use):
    def lived(humidity):
        found = entry(
            {"relative_humidity": f"{use!r}", "hours_of_use": '"15 min"'},
            bed=OPEN | {"stored_at": f"{humidity!r}"},
            rules=KEPT | {"days_opened": "9", "stored_at": '"30 %"'},
        )
        return (found.life.life.value if found.life else 0.0), (found.change.shifts if found.change else 0)

    before, after = lived(store), lived(store + more * (1 - store))
    assert after[0] <= before[0] * (1 + 1e-9)
    assert after[1] <= before[1]


# --- twenty minutes on Saturdays, mask in a zip bag: a question from practice

SATURDAYS = {"hours_of_use": '"20 min"', "days_per_week": "1", "relative_humidity": '"55 %"'}
XYLENE = [{"name": '"m-xylene"', "concentration": '"40 ppm"'}]
IN_THE_SHED = {"opened_on": "2026-02-03", "stored_at": '"80 %"'}  # 90 days before the plan


def test_opened_ninety_days_ago_it_is_discarded(entry):
    """A clock of wearing time would say: 4.3 h of a life of more than 8 h, keep it."""
    found = entry(SATURDAYS, XYLENE, bed=IN_THE_SHED)
    assert found.status == "refused"
    assert found.task.days_open == 90
    assert "has been open for 90 days" in found.reasons[0]
    assert found.instruction.startswith("NO CARTRIDGE")
    assert entry(SATURDAYS, XYLENE).life.life.value > 13 * 20 * 60


@pytest.mark.parametrize("basis", ["kept in a zip bag", "bagged", "I change it when I smell it"])
def test_neither_a_bag_nor_the_nose_makes_it_last(plan_text, basis):
    rules = KEPT | {"days_opened": "180", "reuse_basis": f'"{basis}"', "stored_at": '"80 %"'}
    with pytest.raises(PlanError) as refused:
        read_plan_text(plan_text(SATURDAYS, XYLENE, bed=IN_THE_SHED, rules=rules))
    (problem,) = refused.value.problems
    assert "smell or taste is never the basis" in problem
    assert "a bag does not stop vapour" in problem


def test_with_desorption_data_the_air_of_the_shed_decides_not_that_of_the_work(entry):
    kept = entry(SATURDAYS, XYLENE, rules=KEPT | {"days_opened": "180", "reuse_basis": DATA, "stored_at": '"80 %"'})
    assert kept.status == "interval"
    assert kept.task.kept_history == describe_history(dampest_air="80 %")
    fresh = entry(SATURDAYS, XYLENE)
    assert kept.life.life.value < 0.7 * fresh.life.life.value
    assert fresh.change.shifts == 1  # from a sealed pack every Saturday


def test_a_low_boiler_is_not_kept_whatever_the_data_say(entry):
    kept = entry(
        SATURDAYS, [{"name": '"acetone"', "concentration": '"100 ppm"'}],
        rules=KEPT | {"days_opened": "180", "reuse_basis": DATA, "stored_at": '"40 %"'},
    )  # fmt: skip
    assert kept.change is not None
    assert kept.change.shifts <= 1


# --- [cartridge.test]

TEST = {
    "vapour": '"toluene"', "report": '"house laboratory, March 2026 (invented)"', "breakthrough_time": '"260 min"',
    "exit_fraction": '"1 %"', "concentration": '"500 ppm"', "flow_rate": '"40 L/min"', "temperature": '"25 degC"',
    "relative_humidity": '"50 %"', "pressure": '"101.3 kPa"',
}  # fmt: skip
CLOSE = [{"concentration": '"480 ppm"', "exposure_limit": '"100 ppm"', "exposure_limit_authority": '"site"'}]


def own_test(**changes):
    lines = [f"{k} = {v}" for k, v in (TEST | changes).items() if v is not None]
    return "\n".join(["[cartridge.test]", *lines, ""])


def test_a_test_of_its_own_stands_in_for_the_margin(plan_text):
    full = {"facepiece": '"full facepiece"'}
    schedule = make_schedule(read_plan_text(plan_text(full, CLOSE, extra=own_test())))
    (near,) = schedule.entries
    (usual,) = make_schedule(read_plan_text(plan_text(full, CLOSE))).entries
    assert near.life.life.value > usual.life.life.value
    assert near.life.margin.coverage is None
    (line,) = rows(schedule)
    assert line["coverage"].startswith("not stated, calibrated on the cartridge's own test: toluene 500 ppm")
    assert "house laboratory, March 2026 (invented)" in line["coverage"]
    page = words(schedule)
    assert "Own test: toluene 500 ppm, 25 degC, 50 % RH, 40 L/min: 1 % through after 260 min (house laboratory" in page
    assert "no coverage can be stated" in page


def test_a_cartridge_that_was_open_is_not_the_one_that_was_tested(entry):
    rules = KEPT | {"days_opened": "9"}
    full = {"facepiece": '"full facepiece"'}
    damp = entry(full, CLOSE, bed=OPEN, rules=rules, extra=own_test())
    assert damp.life.margin.coverage == 0.95
    assert damp.life.life.value == entry(full, CLOSE, bed=OPEN, rules=rules).life.life.value


@pytest.mark.parametrize("missing", list(TEST))
def test_each_missing_field_of_a_test_is_named(entry, missing):
    found = entry(extra=own_test(**{missing: None}))
    assert found.status == "input fault"
    (fault,) = found.reasons
    assert fault.startswith(f"cartridge 'pair', test: {missing} is missing")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"vapour": '"toluen"'}, "Nearest names: toluene"),
        ({"vapour": '"xylene"'}, "can mean more than one"),
        ({"report": '" "'}, "report is empty"),
        ({"breakthrough_time": "95"}, "breakthrough_time = 95: a bare number"),
        ({"breakthrough_time": '"0 min"'}, "immediate breakthrough says nothing"),
        ({"exit_fraction": '"120 %"'}, "exit_fraction"),
        ({"flow_rate": '["40 L/min"]'}, "flow_rate"),
        ({"relative_humidity": "50"}, 'write "50 %"'),
        ({"humidity": '"50 %"'}, "humidity is not a key here; did you mean relative_humidity?"),
    ],
)
def test_a_test_with_a_fault_is_a_fault_of_its_cartridge(entry, change, says):
    found = entry(extra=own_test(**change))
    assert found.status == "input fault"
    (fault,) = found.reasons
    assert fault.startswith("cartridge 'pair', test: ")
    assert says in fault


def test_what_is_no_table_of_a_test_is_one_fault(entry):
    found = entry(bed={"test": '"certified"'})
    assert found.status == "input fault"
    (fault,) = found.reasons
    assert "must be a table [cartridge.test] with vapour, report, breakthrough_time" in fault


def test_a_bed_that_outlasts_its_test_costs_its_own_tasks_only(plan_text, task_text):
    fresh = '[[cartridge]]\nid = "other"\ndata_from = "invented"\nsorbent_mass = "45 g"\nface_area = "45 cm2"\n'
    text = plan_text(
        extra=own_test(breakthrough_time='"160 min"') + fresh + 'bed_depth = "2.2 cm"\nin_parallel = 2\n',
        tasks=[task_text({"id": '"one"'}), task_text({"id": '"two"', "cartridge": '"other"'})],
    )
    schedule = make_schedule(read_plan_text(text))
    assert [e.status for e in schedule.entries] == ["input fault", "interval"]
    (reason,) = schedule.entries[0].reasons
    assert "as described it would have lasted" in reason
    assert "and lasted 160 min (toluene 500 ppm" in reason
    assert "Lower micropore_volume (or characteristic_energy) until it agrees" in reason
    assert schedule.faulty
    assert rows(schedule)[0]["service_life [h]"] == ""
    assert "as described it would have lasted" in words(schedule)


# --- what the documents say of each time


def test_prediction_central_estimate_and_bound_stand_side_by_side(plan_text):
    schedule = make_schedule(read_plan_text(plan_text(rules={"coverage": '"90 %"'})))
    (one,), (line,) = schedule.entries, rows(schedule)
    predicted, central, bound = (
        float(line[f"{name} [h]"]) for name in ("breakthrough_time", "central_estimate", "service_life")
    )
    assert predicted >= central >= bound > 0
    for shown, datum in ((predicted, one.life.breakthrough), (central, one.life.central), (bound, one.life.life)):
        assert shown <= datum.value / 3600 < shown + 0.01 + 1e-9
    assert line["coverage"].startswith("90 %, calibrated on ")
    page = words(schedule)
    for label in (
        "predicted breakthrough",
        "central estimate",
        "service life after margin",
        "coverage 90 %, calibrated",
    ):
        assert label in page
    assert "margin at 90 % coverage" in page


def test_where_keeping_does_not_pay_a_fresh_set_is_estimated_as_fresh(plan_text):
    """A damp store must not shorten the interval of sets that are not kept."""

    def of(rules):
        (one,) = make_schedule(read_plan_text(plan_text({"hours_of_use": '"8 h"'}, rules=rules))).entries
        return one

    fresh, kept = of({}), of(KEPT)
    assert kept.change.shifts == fresh.change.shifts == 1
    assert kept.change.interval == fresh.change.interval
    assert kept.life == fresh.life


def test_packs_that_are_open_lie_in_the_store_of_the_site(entry):
    """The days to come are in the site's store, whatever the air has been so far."""
    rules = KEPT | {"days_opened": "5", "reuse_basis": DATA, "stored_at": '"90 %"'}
    so_far_dry = entry(bed=OPEN | {"opened_on": "2026-05-03", "stored_at": '"30 %"'}, rules=rules)
    damp = entry(bed=OPEN | {"opened_on": "2026-05-03", "stored_at": '"90 %"'}, rules=rules)
    assert so_far_dry.task.history == damp.task.history == describe_history(dampest_air="90 %")


def test_a_rule_by_the_clock_is_told_of_packs_that_are_open_already(entry):
    """Two shifts within 40 h of the clock, not two shifts on any days of the month."""
    rules = KEPT | {"days_opened": "30", "longest_interval": '"40 h"', "longest_interval_source": '"rule of 2021"'}
    found = entry({"hours_of_use": '"1 h"', "days_per_week": "2"}, bed=OPEN, rules=rules)
    assert found.change.shifts == 2
    assert "2 shifts of 1 h each at most, or 2 days from first putting on, whichever is first" in found.instruction
    assert "2026-05-30" in found.instruction
