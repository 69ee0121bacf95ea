"""From the samples in a plan to the concentration that is planned for, and to the record."""

from __future__ import annotations

import pytest

from respcalc.schedule import make_schedule, read_plan_text
from respcalc.schedule.documents import csv_text, record_html

HEADER = "group,vapour,result [ppm],kind,sampled [min],worn [min]"
ROWS = [
    "sprayers,toluene,20,wear,240,240",
    "sprayers,toluene,26,wear,240,240",
    "sprayers,toluene,31,wear,240,240",
    "sprayers,toluene,<10,wear,240,240",
    "sprayers,toluene,24,wear,240,240",
    "sprayers,toluene,18,wear,240,240",
    "sprayers,toluene,60,peak,15,15",
    "brushers,acetone,40,wear,240,240",
]
TABLE = '[[samples]]\nid = "May"\ntable = "samples.csv"\nreport = "own survey of May (invented)"\n'
FROM = {"concentration": None, "based_on": None, "samples": '"sprayers"'}


@pytest.fixture
def made(tmp_path, plan_text):
    """The only entry of a plan whose one vapour is changed; a table of samples lies beside it."""

    def make(vapour, *, rows=ROWS, extra=TABLE, task=None, **more):
        (tmp_path / "samples.csv").write_text("\n".join([HEADER, *rows]), encoding="utf-8")
        plan = read_plan_text(plan_text(task, [vapour], extra=extra, **more), folder=tmp_path)
        return make_schedule(plan)

    return make


def entry_of(schedule):
    (entry,) = schedule.entries
    return entry


def faults(schedule):
    entry = entry_of(schedule)
    assert entry.status == "input fault"
    return "\n".join(entry.reasons)


def test_the_rule_chooses_and_the_record_shows_how(made):
    schedule = made(FROM)
    entry = entry_of(schedule)
    assert entry.status == "interval"
    (design,) = entry.task.designs
    (part,) = entry.task.inhaled
    assert part.concentration == pytest.approx(design.value.value)
    assert part.concentration > 60e-6
    assert {"upper tolerance limit 95,95", "highest short-term result"} <= {c.name for c in design.candidates}
    page = record_html(schedule)
    for words in ("From air samples to the concentration: toluene, sprayers", "own survey of May (invented)",
                  "upper tolerance limit 95,95", "Probability plot of the air samples",
                  "EN 689 group test"):  # fmt: skip
        assert words in page
    assert "6 samples and 1 short-term of sprayers" in entry.task.based_on[0]
    (value,) = [d for d in entry.life.basis.data if d.name == "concentration of toluene"]
    assert (value.kind, value.note) == ("computed", f"from air samples: {design.because}")
    assert entry.as_dict()["design_concentrations"][0]["value"]["unit"] == "ppm"
    assert csv_text(schedule)


def test_an_upset_counts_with_its_basis(made):
    upset = FROM | {"upset": '"400 ppm"', "upset_basis": '"measured after a spill in 2024 (invented)"'}
    (part,) = entry_of(made(upset)).task.inhaled
    assert part.concentration == pytest.approx(400e-6)
    assert "upset_basis" in faults(made(FROM | {"upset": '"400 ppm"'}))


def test_an_overruled_rule_stands_beside_its_reason(made):
    own = FROM | {
        "concentration": '"70 ppm"', "concentration_because": '"direct readings of June, 40 of them (invented)"',
    }  # fmt: skip
    schedule = made(own)
    entry = entry_of(schedule)
    assert entry.task.inhaled[0].concentration == pytest.approx(70e-6)
    page = record_html(schedule)
    assert "chosen by the programme: direct readings of June" in page
    assert "The rule would have said" in page
    low = own | {"concentration": '"50 ppm"'}
    assert "below the highest measured" in faults(made(low)).replace("highest result", "highest measured")
    assert "concentration_because" in faults(made(FROM | {"concentration": '"70 ppm"'}))


def test_results_may_stand_in_the_plan_itself(made):
    inline = {
        "concentration": None, "results": '["12 ppm", "<4 ppm", "30 mg/m3", "9 ppm", "11 ppm", "8 ppm"]',
        "sampled": '"4 h"', "worn": '["2 h", "4 h", "4 h", "4 h", "4 h", "4 h"]', "peaks": '["44 ppm"]',
    }  # fmt: skip
    (design,) = entry_of(made(inline, extra="")).task.designs
    assert max(s.while_worn for s in design.samples.wear) == pytest.approx(24e-6)
    assert design.value.value >= 44e-6


def test_a_refusal_that_comes_from_few_samples_says_so(made):
    wild = [*ROWS[:2], "sprayers,toluene,300,wear,240,240"]
    entry = entry_of(made(FROM, rows=wild))
    assert entry.status == "refused"
    assert any("More samples narrow it" in reason and "300 ppm" in reason for reason in entry.reasons)


@pytest.mark.parametrize(
    ("changes", "rows", "extra", "says"),
    [
        ({"samples": '"painters"'}, ROWS, TABLE, "no table of [[samples]] (May) has a group of that name"),
        ({"samples": '"brushers"'}, ROWS, TABLE, "group 'brushers' has none of toluene (it has: acetone)"),
        ({}, [*ROWS, "sprayers,toluene,5 mg/m3,wear,240,240"], TABLE, "row 10, column 'result'"),
        ({}, [*ROWS, "sprayers,toluene,0,wear,240,240"], TABLE, "row 10"),
        ({}, [*ROWS, "sprayers,toluene,-3,wear,240,240"], TABLE, "row 10"),
        ({}, [*ROWS, "sprayers,toluene,12,wear,2000,240"], TABLE, "row 10"),
        ({}, [*ROWS, "sprayers,toluene,12,wear,600,240"], TABLE + 'shift = "8 h"\n', "more than the shift"),
        ({}, ROWS, TABLE + 'shift = "8"\n', "shift = '8': the unit is missing"),
        ({}, ROWS[:1], TABLE, 'yourself with a reason: concentration="200 ppm", concentration_because'),
        ({}, ROWS, "", "no table of [[samples]] (none)"),
        ({"samples_from": '"June"'}, ROWS, TABLE, "samples_from 'June' is not among the [[samples]] (May)"),
        ({"results": '["12 ppm"]'}, ROWS, TABLE, "samples and results are both given"),
        ({"samples": None, "peaks": '["12 ppm"]', "concentration": '"9 ppm"', "based_on": '"x y"'}, ROWS, TABLE,
         "peaks without results"),
        ({"samples": None, "upset": '"12 ppm"', "concentration": '"9 ppm"', "based_on": '"x y"'}, ROWS, TABLE,
         "upset belong to samples or results"),
        ({}, ROWS, TABLE.replace("samples.csv", "other.csv"), "there is no such file beside the plan"),
        ({}, ROWS, TABLE + TABLE.replace('"May"', '"June"'), "is in several [[samples]]; say which: samples_from"),
    ],
)  # fmt: skip
def test_faults_name_the_row_or_the_way_out(made, changes, rows, extra, says):
    assert says in faults(made(FROM | changes, rows=rows, extra=extra))


def test_other_groups_of_a_table_with_a_fault_are_still_used(made):
    rows = [*ROWS, "brushers,acetone,oops,wear,240,240"]
    assert entry_of(made(FROM, rows=rows)).status == "interval"


def test_all_below_detection_is_never_zero(made):
    rows = [f"sprayers,toluene,<{limit},wear,240,240" for limit in (2, 2, 2, 1, 2, 2)]
    (design,) = entry_of(made(FROM, rows=rows)).task.designs
    assert design.value.value > 2e-6
    assert design.label == "low confidence"


def test_a_higher_sample_a_new_peak_or_an_upset_never_lengthens(made):
    before = entry_of(made(FROM)).life.life.value
    for more in (
        "sprayers,toluene,32,wear,240,240",
        "sprayers,toluene,90,peak,15,15",
        "sprayers,toluene,99,wear,240,200",
    ):
        after = entry_of(made(FROM, rows=[*ROWS, more]))
        assert after.life is None or after.life.life.value <= before * (1 + 1e-9)
        assert after.task.inhaled[0].concentration >= entry_of(made(FROM)).task.inhaled[0].concentration


def test_a_row_without_a_group_is_not_lost(made):
    """A merged cell: 500 ppm that belong to somebody."""
    assert "column 'group' is blank" in faults(made(FROM, rows=[*ROWS, ",toluene,500,wear,240,240"]))


def test_a_full_shift_sample_of_a_short_task_is_scaled_to_the_task(made):
    """Eight hours of sampling, one hour of use: all the vapour was collected in that hour."""
    rows = [row.replace("240,240", "480,") for row in ROWS if "peak" not in row]
    short = entry_of(made(FROM, rows=rows, task={"hours_of_use": '"1 h"'}))
    whole = entry_of(made(FROM, rows=rows))
    (one,), (other,) = short.task.designs, whole.task.designs
    assert one.value.value == pytest.approx(8 * other.value.value)


def test_a_vapour_of_the_plan_may_stand_in_a_table(made):
    own = (
        TABLE
        + """
[[vapour]]
name = "solvent X"
molar_mass = "100 g/mol"
boiling_point = "110 degC"
saturation_pressure = "3.0 kPa"
saturation_temperature = "20 degC"
liquid_density = "0.85 g/cm3"
refractive_index = 1.40
exposure_limit = "50 ppm"
limit_authority = "site"
data_from = "data sheet (invented)"
"""
    )
    rows = [row.replace("toluene", "solvent X") for row in ROWS]
    assert entry_of(made(FROM | {"name": '"solvent X"'}, rows=rows, extra=own)).task.designs


def test_two_samples_and_a_reason_do_not_stop_the_record(made):
    own = FROM | {"concentration": '"70 ppm"', "concentration_because": '"forty direct readings of June (invented)"'}
    rows = ["sprayers,toluene,40,wear,240,240", "sprayers,toluene,20,wear,240,240"]
    schedule = made(own, rows=rows)
    assert entry_of(schedule).task.inhaled[0].concentration == pytest.approx(70e-6)
    assert "chosen by the programme" in record_html(schedule)


@pytest.mark.parametrize("celsius", [0, 25, 40])
def test_mass_becomes_ppm_at_the_warmer_of_task_and_standard_air(made, tmp_path, celsius):
    """40 mg/m3 of toluene is 10.6 ppm at 25 degC; a cold task must not make it less."""
    inline = {"concentration": None, "results": '["40 mg/m3", "38 mg/m3", "39 mg/m3"]'}
    (design,) = entry_of(made(inline, extra="", task={"temperature": f'"{celsius} degC"'})).task.designs
    highest = max(s.while_worn for s in design.samples.wear) * 1e6
    assert highest == pytest.approx(40 / 3.7662 * max(1, (celsius + 273.15) / 298.15), rel=1e-3)


def test_breaks_are_not_worn(made):
    """Eight hours from first donning to last doffing with a break of six: the respirator was worn for two."""
    rows = [row.replace("240,240", "480,") for row in ROWS if "peak" not in row]
    breaks = '[{ after = "1 h", length = "6 h" }]'
    (long,) = entry_of(made(FROM, rows=rows, task={"hours_of_use": '"8 h"', "breaks": breaks})).task.designs
    (short,) = entry_of(made(FROM, rows=rows, task={"hours_of_use": '"2 h"'})).task.designs
    assert long.value.value == pytest.approx(short.value.value)


def test_scaled_beyond_pure_vapour_is_a_fault_of_the_times(made):
    rows = [row.replace("240,240", "480,") for row in ROWS]
    assert "check the two times" in faults(made(FROM, rows=rows, task={"hours_of_use": '"0.001 min"'}))
