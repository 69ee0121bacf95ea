"""What is written down: it opens in a spreadsheet, prints, runs nothing, and says all that must be said."""

from __future__ import annotations

import csv
import io
import math
import os
import re
from html.parser import HTMLParser

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import CAUTIONS
from respcalc.core.errors import PlanError
from respcalc.estimate import SHORT_CAUTION
from respcalc.schedule import demo_plan, make_schedule, read_plan_text, write_documents
from respcalc.schedule.documents import _cell, csv_text, record_html
from respcalc.schedule.drawings import _round_steps

VOID = {"meta", "br", "line", "polyline", "img", "link", "hr", "input"}
LIVE = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
SCRIPT = '<script>alert("x")</script>'


class Page(HTMLParser):
    """Reads a page strictly: every element closed in order; keeps text, attributes and elements."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.elements: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == [], f"never closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        self.elements.append(tag)
        self.attributes += [(k, v or "") for k, v in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append(tag)
        self.attributes += [(k, v or "") for k, v in attrs]

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open[-1] == tag, f"</{tag}> inside <{self.open[-1]}>"
        self.open.pop()

    def handle_data(self, data):
        if not self.open or self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def varied(plan_text, task_text):
    """One task of every outcome, and names that try to break out."""
    tasks = [
        task_text({"id": '"=1+1"', "description": '"+cmd|x"', "shift_start": '"07:00"'}),
        task_text({"id": f"'{SCRIPT}'", "description": "'\"><img src=x onerror=alert(1)>'"}),
        task_text({"id": '"refused, \\"quoted\\""', "oxygen": '"19 %"'}),
        task_text({"id": '"-2-propanol\\nsecond line"'}, [{"name": '"methanol"'}]),
        task_text({"id": '"@accepted"', "acknowledge_outside_model": '"own <b>tests</b> of 2025"',
                   "relative_humidity": '"85 %"', "work_rate": '"20 L/min"'},
                  [{"name": '"methyl acetate"', "concentration": '"20 ppm"'}]),
        task_text({"id": '"fault"', "temperature": "25", "description": '"Größe, 漆 und ü"'}),
        task_text({"id": '"unknown"'}, [{"concentration": '"unknown"'}]),
        task_text({"id": '"thin"', "cartridge": '"thin"', "work_rate": '"very heavy"'}),
        task_text({"id": '"often"', "relative_humidity": '"90 %"', "work_rate": '"heavy"'},
                  [{"concentration": '"450 ppm"'}]),
        task_text({"id": '"mixture"', "hours_of_use": '"6 h"', "shift_start": '"22:00"',
                   "breaks": '[{after = "2 h", length = "15 min"}]'},
                  [{}, {"name": '"2-butanone"', "concentration": '"150 ppm"'}]),
    ]  # fmt: skip
    thin = '[[cartridge]]\nid = "thin"\ndata_from = "@SUM(1)"\n'
    thin += 'sorbent_mass = "5 g"\nface_area = "20 cm2"\nin_parallel = 1\n'
    large = {"sorbent_mass": '"105 g"', "face_area": '"75 cm2"', "bed_depth": '"3 cm"'}
    rules = {"longest_interval": '"9 h"', "longest_interval_source": '"campus & <i>works</i> rule of 2021"'}
    return make_schedule(read_plan_text(plan_text(tasks=tasks, bed=large, extra=thin, rules=rules)))


@pytest.fixture(scope="module")
def page(varied):
    return Page(record_html(varied))


@pytest.fixture(scope="module")
def rows(varied):
    return list(csv.DictReader(io.StringIO(csv_text(varied))))


def test_the_varied_plan_is_as_varied_as_it_says(varied):
    assert [e.status for e in varied.entries] == [
        "interval", "interval", "refused", "refused", "interval", "input fault", "refused", "refused", "interval",
        "interval",
    ]  # fmt: skip


# --- CSV


def back(text):
    """What a reader of the file does to get the exact text back."""
    return text[1:] if text.startswith("'") and text.lstrip("'").startswith(LIVE) else text


def test_the_csv_gives_the_exact_texts_back(varied, rows):
    assert len(rows) == len(varied.entries)
    for row, entry in zip(rows, varied.entries, strict=True):
        assert back(row["task"]) == entry.task.id
        assert back(row["description"]) == entry.task.description
        assert row["status"] == entry.status
        assert row["instruction"] == entry.instruction
        assert row["why_no_interval"] == " | ".join(entry.reasons)
        assert None not in row.values()


def test_no_cell_of_text_is_a_formula(rows):
    for row in rows:
        assert not any(value.startswith(LIVE) for value in row.values()), row
    assert rows[0]["task"] == "'=1+1"
    assert rows[0]["description"] == "'+cmd|x"
    assert rows[3]["task"].startswith("'-2-propanol\n")
    assert rows[4]["task"] == "'@accepted"


def test_numbers_stay_numbers(varied, rows):
    for row, entry in zip(rows, varied.entries, strict=True):
        if entry.status == "interval":
            told, life, through = (
                float(row[c]) for c in ("change_interval [h]", "service_life [h]", "breakthrough_time [h]")
            )
            assert told <= entry.change.interval / 3600.0 <= told + 0.01
            assert told <= life <= through
            assert life <= entry.life.life.value / 3600.0
            assert float(row["sets_per_week"]) > 0
        else:
            assert row["change_interval [h]"] == row["sets_per_week"] == ""


def test_pandas_reads_the_file_as_written(tmp_path, varied):
    path, _ = write_documents(varied, tmp_path)
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    assert path.read_bytes().count(b"\r\n") == len(varied.entries) + 1
    frame = pd.read_csv(path, encoding="utf-8-sig")
    assert len(frame) == len(varied.entries)
    assert frame["change_interval [h]"].dtype.kind == "f"
    assert frame["service_life [h]"].dtype.kind == "f"
    assert [back(t) for t in frame["task"]] == [e.task.id for e in varied.entries]
    assert frame["description"].iloc[5] == "Größe, 漆 und ü"


def test_our_own_table_reader_takes_it(tmp_path, varied):
    from respcalc.core.tables import read_table

    path, _ = write_documents(varied, tmp_path)
    table = read_table(path)
    assert table.problems == ()
    assert len(table) == len(varied.entries)


def test_a_comma_in_a_name_does_not_move_the_columns(plan_text):
    text = plan_text(None, [{"name": '"1,2-dichloroethane"', "concentration": '"5 ppm"', "limits_from": '"OSHA PEL"'}])
    (row,) = csv.DictReader(io.StringIO(csv_text(make_schedule(read_plan_text(text)))))
    assert row["vapours"].startswith("1,2-dichloroethane (CAS 107-06-2")
    assert row["caution"] == SHORT_CAUTION


def test_a_number_out_of_nowhere_is_not_given_for_what_the_model_cannot_say(varied, rows):
    """A time outside the model that nobody stands for is not left where it can be copied from."""
    assert varied.entries[3].life.outside_model
    assert rows[3]["service_life [h]"] == rows[3]["breakthrough_time [h]"] == ""
    assert rows[4]["service_life [h]"] != ""
    assert rows[7]["service_life [h]"] == "0.0"


@pytest.mark.parametrize("value", [-5.2, -1, 0.0, 1e-9, 12.5, True])
def test_a_number_is_never_touched(value):
    assert _cell(value) is value


@pytest.mark.parametrize(
    "text",
    ['=HYPERLINK("http://x","y")', "-2-propanol", "@task", "\t=1", "\r=1", "\n=1", "+1-1", "=cmd|' /C calc'!A0",
     "＝1+1",     "-5.2", "'=1", "''@x"],
)  # fmt: skip
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text):
    assert _cell(text) == "'" + text
    assert back(_cell(text)) == text


@pytest.mark.parametrize("text", ["", "toluene", "1,2-dichloroethane", "a=b", "'quoted'", "5 - 3", "漆", "'"])
def test_other_text_is_left_alone(text):
    assert _cell(text) == text
    assert back(text) == text


@given(text=st.text(max_size=12))
def test_every_text_comes_back(text):
    assert back(_cell(text)) == text
    assert not _cell(text).startswith(LIVE)


# --- the page


def test_the_page_is_well_formed_and_runs_and_fetches_nothing(page):
    assert page.elements[0] == "html"
    assert page.elements.count("h1") == 1
    assert not {"script", "iframe", "object", "embed", "link", "img", "form", "base"} & set(page.elements)
    for name, value in page.attributes:
        assert not name.startswith("on"), (name, value)
        assert name not in ("src", "href", "action", "data", "srcset"), (name, value)
        assert "http" not in value, (name, value)


def test_the_style_fetches_nothing(varied):
    style = re.search(r"<style>(.*?)</style>", record_html(varied), re.DOTALL)[1]
    assert "url(" not in style
    assert "@import" not in style


def test_what_people_typed_is_text_on_the_page(varied, page):
    html = record_html(varied)
    assert "<script" not in html
    assert "<img" not in html
    assert "<b>tests" not in html
    assert "<i>works" not in html
    for typed in (SCRIPT, '"><img src=x onerror=alert(1)>', "own <b>tests</b> of 2025",
                  "campus & <i>works</i> rule of 2021",
                  "Größe, 漆 und ü", "=1+1"):  # fmt: skip
        assert typed in page.text, typed


def test_every_caution_is_on_the_page_and_the_short_one_everywhere(page, rows):
    for caution in (*CAUTIONS, SHORT_CAUTION):
        assert caution in page.text
    assert all(row["caution"] == SHORT_CAUTION for row in rows)


def test_the_cautions_stand_before_the_first_calculation(varied):
    html = record_html(varied)
    assert html.index("Not for air that is immediately dangerous") < html.index("How it was worked out")


# What a written programme must describe, 29 CFR 1910.134 (d)(3)(iii)(B)(2), and what the record therefore holds.
REQUIRED = [
    "29 CFR 1910.134(d)(3)(iii)(B)(2)",
    "Information relied on, and why",
    "Basis of the schedule: mathematical estimate from published breakthrough models",
    "Why these data are relied on",
    "Odour is not used",
    "concentration from 6 samples (invented)",
    "toluene (CAS 108-88-3)",
    "weighed and measured (invented)",
    "temperature 25 degC, relative humidity 50 %, pressure 101.3 kPa",
    "flow 40 L/min",
    "breakthrough counts at",
    "lower of 1 % of the challenge and 10 % of the exposure limit",
    "margin",
    "predicted breakthrough",
    "service life after margin",
    "change interval",
    "interval set by",
    "held to 100 ppm TWA (NIOSH REL), 150 ppm STEL (NIOSH REL)",
    "May a filtering respirator be used?",
    "IDLH of toluene",
    "maximum use concentration",
    "mixture: each vapour is taken at the summed concentration",
    "Prepared by A. Example (invented). Reviewed by (not yet reviewed)",
    "2026-05-04",
    "Review this record when",
    "at least once a year",
    "Sources",
    "opened cartridges are kept at most 1 day",
    "no interval above 9 h (campus & <i>works</i> rule of 2021; counted by the clock from first putting on)",
    "made with respcalc",
    "Write date and time on each cartridge when it is opened",
    "On a night when the clocks change, count the hours instead of reading the clock",
    "Cartridges are not carried from one task to another",
]


@pytest.mark.parametrize("words", REQUIRED)
def test_the_record_holds_what_the_rule_asks_for(page, words):
    assert words in page.text


def test_each_refusal_and_fault_gives_its_reasons_on_the_page(varied, page):
    for entry in varied.entries:
        for reason in entry.reasons:
            assert " ".join(reason.split()) in page.text


def test_what_was_accepted_outside_the_model_is_printed_with_its_reason(varied, page):
    (text,) = varied.entries[4].life.outside_model
    assert text in page.text
    assert "accepted outside the model own <b>tests</b> of 2025" in page.text


def test_an_acknowledgement_that_was_not_needed_is_not_printed(plan_text):
    text = plan_text({"acknowledge_outside_model": '"just in case"'})
    assert "just in case" not in record_html(make_schedule(read_plan_text(text)))


def test_where_nothing_was_estimated_no_estimate_is_claimed(plan_text):
    made = make_schedule(read_plan_text(plan_text(None, [{"concentration": '"unknown"'}])))
    assert "mathematical estimate" not in Page(record_html(made)).text


def test_immediate_breakthrough_is_in_words(page):
    assert "immediate breakthrough: the bed is too thin" in page.text
    assert "predicted breakthrough immediate" in page.text
    assert "service life after margin none" in page.text


def test_no_number_is_missing_odd_or_negative(varied):
    for text in (record_html(varied), csv_text(varied)):
        assert not re.search(r"\b(nan|inf|None|undefined)\b", text)
        assert not re.search(r"(?<![\w.])-\d+(\.\d+)? (h|min|ppm)\b", text)


def test_each_interval_has_its_curve_and_nothing_else_has(varied, page):
    drawn = sum(e.status == "interval" for e in varied.entries)
    assert page.elements.count("svg") == drawn
    for name, value in page.attributes:
        if name in ("x", "y", "x1", "x2", "y1", "y2"):
            assert math.isfinite(float(value))
            assert -1 <= float(value) <= 640


def test_the_page_of_a_plan_says_demonstration_only_if_it_is(varied, page):
    assert "Do not use for real work" not in page.text
    assert "Do not use for real work" in Page(record_html(make_schedule(demo_plan()))).text


def test_faults_that_no_task_leads_to_are_on_the_page(plan_text):
    spare = '[[cartridge]]\nid = "spare"\ndata_from = "x"\nsorbent_mass = 45\nface_area = "45 cm2"\nin_parallel = 2\n'
    made = make_schedule(read_plan_text(plan_text(extra=spare)))
    assert "sorbent_mass = 45: a bare number" in Page(record_html(made)).text


def test_the_same_plan_makes_the_same_documents(plan_text):
    first, second = (make_schedule(read_plan_text(plan_text())) for _ in range(2))
    assert record_html(first) == record_html(second)
    assert csv_text(first) == csv_text(second)


# --- files


def test_both_files_are_written_into_a_new_folder(tmp_path, varied):
    folder = tmp_path / "new" / "deeper"
    paths = write_documents(varied, folder)
    assert [p.name for p in paths] == ["change_schedule.csv", "change_schedule_record.html"]
    assert sorted(p.name for p in folder.iterdir()) == sorted(p.name for p in paths)
    assert "Größe" in paths[1].read_text(encoding="utf-8")


def test_older_files_are_replaced(tmp_path, varied, plan_text):
    write_documents(varied, str(tmp_path))
    write_documents(make_schedule(read_plan_text(plan_text())), str(tmp_path))
    text = (tmp_path / "change_schedule.csv").read_text(encoding="utf-8-sig")
    assert len(list(csv.DictReader(io.StringIO(text)))) == 1


def test_a_file_in_the_way_of_the_folder(tmp_path, varied):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(PlanError, match=r"output folder .*out: cannot be written .*choose another with -o"):
        write_documents(varied, tmp_path / "out")
    assert (tmp_path / "out").read_text() == "mine"


def test_where_one_cannot_be_written_neither_is_changed(tmp_path, varied):
    """A new schedule beside an old record would be worse than none."""
    (tmp_path / "change_schedule.csv").write_text("old")
    (tmp_path / "change_schedule_record.html").mkdir()
    with pytest.raises(PlanError, match=r"change_schedule_record.html is a folder"):
        write_documents(varied, tmp_path)
    assert (tmp_path / "change_schedule.csv").read_text() == "old"
    assert sorted(os.listdir(tmp_path)) == ["change_schedule.csv", "change_schedule_record.html"]


@given(st.floats(1e-3, 1e3))
def test_the_axis_has_round_values_within_it(end):
    steps = _round_steps(end)
    assert 5 <= len(steps) <= 10
    assert steps[0] == 0
    assert end - (steps[1] - steps[0]) < steps[-1] <= end * (1 + 1e-9)
    assert all(len(f"{at:g}".replace(".", "").strip("0")) <= 3 for at in steps)


def test_how_long_a_set_may_be_worn_stands_on_the_floor_page_and_in_the_table(plan_text):
    """People take a shift for eight hours; where the plan's are fewer it must be said."""
    short = plan_text({"hours_of_use": '"90 min"', "shift_start": '"13:00"', "days_per_week": "3"})
    schedule = make_schedule(read_plan_text(short))
    page = record_html(schedule)
    floor = page.split("For the floor")[1].split("</table>")[0]
    assert "discard at its end, after 1 h 30 min at most" in floor
    assert "from 13:00, 1 h 30 min a shift, 3 days a week" in floor
    assert "if the task takes longer, stop and ask" in page
    assert "Leave the area at once on smell" in page.split("For the floor")[1].split("<table")[0]
    (row,) = csv.DictReader(io.StringIO(csv_text(schedule)))
    assert (row["hours_of_use [h]"], row["shift_start"], row["days_per_week"]) == ("1.5", "13:00", "3")


def test_the_product_is_named_where_its_vapours_are():
    schedule = make_schedule(demo_plan())
    floor = record_html(schedule).split("For the floor")[1].split("</table>")[0]
    assert "in the air (of gun thinner" in floor
    assert "gun thinner" in csv_text(schedule)
