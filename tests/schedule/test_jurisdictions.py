"""Plans that name their jurisdiction, and work in phases, through to the record."""

from __future__ import annotations

import pytest

from respcalc.schedule import make_schedule, read_plan_text
from respcalc.schedule.documents import csv_text, record_html

GERMANY = {"jurisdiction": '"Germany"'}
NATIONAL = {"exposure_limit": '"50 ppm"', "exposure_limit_authority": '"national limit of 2025 (invented)"'}
PHASES = '[{ work_rate = "heavy", length = "1 h" }, { work_rate = "light", length = "7 h" }]'


@pytest.fixture
def made(plan_text):
    def make(*args, **kwargs):
        schedule = make_schedule(read_plan_text(plan_text(*args, **kwargs)))
        return schedule, schedule.entries[0]

    return make


def test_a_named_jurisdiction_is_printed_and_its_factor_counts(made):
    schedule, entry = made(None, [NATIONAL | {"concentration": '"400 ppm"'}], site=GERMANY)
    assert entry.permission.allowed
    assert "30 x 50 ppm" in "\n".join(c.allowed for c in entry.permission.criteria)
    assert "Rules of: Germany" in record_html(schedule)
    assert ",Germany," in csv_text(schedule)
    _, refused = made(None, [NATIONAL | {"concentration": '"600 ppm"'}])
    assert refused.status == "refused"  # ten times in the US


def test_none_named_is_the_us_with_its_law(made):
    """A site's laxer limit does not replace the PEL because a word was left out."""
    lax = {"name": '"cyclohexanone"', "concentration": '"650 ppm"', "exposure_limit": '"100 ppm"',
           "exposure_limit_authority": '"site"'}  # fmt: skip
    schedule, entry = made(None, [lax])
    assert entry.status == "refused"
    assert any("is law in US" in w for w in entry.permission.warnings)
    assert "no jurisdiction is named" in record_html(schedule)


def test_an_unknown_jurisdiction_is_a_fault_of_the_plan(plan_text):
    with pytest.raises(ValueError, match=r"jurisdiction = 'Atlantis'.*US, UK, Germany"):
        read_plan_text(plan_text(site={"jurisdiction": '"Atlantis"'}))


def test_a_country_that_is_not_known_here_gives_its_own_limits(made):
    site = {"jurisdiction": '"elsewhere"'}
    assert made(None, [NATIONAL], site=site)[1].status == "interval"
    _, entry = made(site=site)
    assert entry.status == "input fault"
    assert any("limits of other countries are not shipped" in r for r in entry.reasons)


def test_low_boilers_need_an_element_that_is_made_for_them(made):
    """DGUV Regel 112-190: type AX, 60 min in all up to 1000 ppm of a vapour with a limit above 10 ppm."""
    acetone = [NATIONAL | {"name": '"acetone"', "concentration": '"60 ppm"', "exposure_limit": '"500 ppm"'}]
    _, plain = made(None, acetone, site=GERMANY)
    assert plain.status == "refused"
    assert any("type AX" in r and "filter_type" in r for r in plain.reasons)
    _, declared = made(None, acetone, site=GERMANY, bed={"filter_type": '"AX"'})
    assert declared.change is not None
    assert any("60 min in all up to 1000 ppm" in cap.reason for cap in declared.change.caps)
    assert declared.change.interval is None or declared.change.interval <= 3600
    _, wrong = made(None, acetone, bed={"filter_type": '"A"'})
    assert any("of a type for vapours that boil above" in r for r in wrong.reasons)
    _, odd = made(None, acetone, bed={"filter_type": '"B"'})
    assert any("filter_type = 'B' is not known here" in r for r in odd.reasons)


def test_a_dose_over_a_long_shift_counts_over_the_averaging_time(made):
    """Hexane's 50 ppm (NIOSH, 10 h): 450 ppm on average over 12 h is 540 over 10; ten times the limit is 500."""
    vapour = {"name": '"n-hexane"', "concentration": '"700 ppm"', "average": '"450 ppm"'}
    _, eight = made({"hours_of_use": '"8 h"'}, [vapour])
    _, twelve = made({"hours_of_use": '"12 h"'}, [vapour])
    assert eight.permission.allowed
    assert not twelve.permission.allowed
    assert any("the dose of 12 h counted over 10 h" in r for r in twelve.reasons)


# --- phases


def test_phases_lengthen_only_as_the_air_drawn_allows(made):
    vapour = [{"concentration": '"150 ppm"'}]
    _, hard = made({"work_rate": '"heavy"'}, vapour)
    schedule, mixed = made({"work_rate": None, "work_phases": PHASES}, vapour)
    assert mixed.life.life.value == hard.life.life.value  # kinetics at the highest flow
    assert hard.change.interval <= mixed.change.interval
    assert mixed.task.lasts(mixed.life.life.value) <= mixed.life.life.value * 65 / 30
    page = record_html(schedule)
    assert "phases of work" in page
    assert "the hardest first whatever the order" in page
    told = mixed.as_dict()["in_phases"]
    assert told["service_life"]["value"] * 60 >= mixed.change.interval
    assert "mean" in csv_text(schedule)


@pytest.mark.parametrize(
    ("task", "says"),
    [
        ({"work_phases": PHASES}, "work_rate and work_phases are both given"),
        ({"work_rate": None, "work_phases": "[]"}, "phases: pairs of work rate and length are needed"),
        ({"work_rate": None, "work_phases": PHASES, "hours_of_use": '"6 h"'}, "work_phases are 8 h together"),
        ({"work_rate": None, "work_phases": '[{ work_rate = "busy", length = "8 h" }]'}, "no. 1: work_rate = 'busy'"),
        ({"work_rate": None, "work_phases": '[{ work_rate = "heavy" }]'}, "length is missing"),
        ({"work_rate": None, "work_phases": PHASES, "facepiece": '"powered full facepiece"'},
         "draws what its blower gives"),
        ({"eye_protection": '"indirectly vented goggles"'}, "is not known to keep vapour from the eyes"),
    ],
)  # fmt: skip
def test_faults_of_phases_and_eyes(made, task, says):
    _, entry = made(task)
    assert entry.status == "input fault"
    assert any(says in reason for reason in entry.reasons), entry.reasons


def test_what_covers_the_eyes_stands_on_the_floor_page_and_in_the_table(made):
    schedule, entry = made({"facepiece": '"half mask"', "eye_protection": '"gas-proof goggles"'})
    assert entry.status == "interval"
    floor = record_html(schedule).split("For the floor")[1].split("</table>")[0]
    assert "half mask with gas-proof goggles" in floor
    assert "half mask with gas-proof goggles" in csv_text(schedule)


def test_what_goes_with_an_interval_stands_in_the_table_and_open_eyes_on_the_floor(made):
    schedule, entry = made({"facepiece": '"half mask"'}, [{"concentration": '"220 ppm"', "limits_from": '"OSHA PEL"'}])
    assert entry.status == "interval"
    assert any("leaves the eyes in the air" in text for text in entry.conditions)
    assert "leaves the eyes in the air" in csv_text(schedule)
    floor = record_html(schedule).split("For the floor")[1].split("</table>")[0]
    assert "eyes: not settled whether they must be covered; ask" in floor
    assert "in the air: toluene" in floor
    assert "Ask A. Example (invented)" in record_html(schedule)


def test_a_task_that_is_not_settled_says_whom_to_ask(made):
    schedule, entry = made({"oxygen": '"19 %"'})
    assert entry.conditions == ()
    floor = record_html(schedule).split("For the floor")[1].split("</table>")[0]
    assert "not settled: ask" in floor
    assert "NO CARTRIDGE: do not start this task" in floor


def test_a_phase_of_next_to_no_breathing_counts_as_light_work(made):
    tiny = '[{ work_rate = "heavy", length = "1 h" }, { work_rate = "0.01 L/min", length = "7 h" }]'
    light = '[{ work_rate = "heavy", length = "1 h" }, { work_rate = "30 L/min", length = "7 h" }]'
    schedule, one = made({"work_rate": None, "work_phases": tiny})
    _, other = made({"work_rate": None, "work_phases": light})
    assert one.change.interval == other.change.interval
    assert "30 L/min is the least that is planned for" in record_html(schedule)
