"""A survey's table: one faulty row costs its own group, and says which cell."""

from __future__ import annotations

import openpyxl
import pandas as pd
import pytest

from respcalc import define_vapour, describe_air
from respcalc.core.errors import DomainError, TableError, UnknownVapour
from respcalc.core.tables import parse_table
from respcalc.workplace.sampling import describe_samples, design_concentration, read_samples

AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
HEAD = "group,vapour,result [ppm],kind,sampled [min],worn [min],worker,date\n"
SOUND = (
    "booth,toluene,12,wear,240,120,A,2026-03-02\n"
    "booth,toluene,<2,,240,120,B,2026-03-02\n"
    "booth,108-88-3,30,,240,240,C,2026-03-03\n"
    "booth,toluene,80,peak,15,15,A,2026-03-02\n"
    "Booth ,MEK,5,,,,,\n"
    "cleaning,toluene,3,,,,,\n"
)


def read(rows, head=HEAD, **more):
    return read_samples(parse_table("survey.csv", head + rows, censored=("result",)), report="invented", **more)


def test_groups_and_vapours_are_told_apart_and_names_of_one_vapour_merged():
    table = read(SOUND)
    assert [(g.name, g.vapour.name, len(g.wear), len(g.peaks)) for g in table.groups] == [
        ("booth", "toluene", 3, 1), ("booth", "2-butanone", 1, 0), ("cleaning", "toluene", 1, 0),
    ]  # fmt: skip
    assert table.strict() == table.groups
    first = table["booth", "toluene"]
    assert table["BOOTH", "108-88-3"] is first
    assert table["booth", first.vapour] is first
    assert [s.while_worn * 1e6 for s in first.wear] == pytest.approx([24, 4, 30])
    assert [s.below for s in first.wear] == [False, True, False]
    assert (first.wear[0].worker, first.wear[0].date) == ("A", "2026-03-02")
    assert design_concentration(first).value.value == pytest.approx(24e-6 * 8.81, rel=0.3)


def test_a_table_says_the_same_as_the_function():
    by_table = read("g,toluene,12,,240,120,,\ng,toluene,<2,,240,120,,\ng,toluene,9,,240,120,,\n")["g", "toluene"]
    by_hand = describe_samples(
        "toluene", ["12 ppm", "<2 ppm", "9 ppm"], sampled="4 h", worn="2 h", group="g", report="invented"
    )
    assert [s.while_worn for s in by_table.samples] == pytest.approx([s.while_worn for s in by_hand.samples], rel=1e-12)
    assert design_concentration(by_table).value.value == pytest.approx(design_concentration(by_hand).value.value)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("booth,toluene,-3,,,,,", "row 8, column 'result' = -3 ppm is not possible"),
        ("booth,toluene,0,,,,,", "row 8, column 'result' = 0 ppm: nothing measures zero"),
        ("booth,toluene,<0,,,,,", "nothing measures zero"),
        ("booth,toluene,<,,,,,", "row 8, column 'result': result = .* no number after the sign"),
        ("booth,toluene,ND,,,,,", "needs the number that it is below"),
        ("booth,toluene,>50,,,,,", "overloaded"),
        ("booth,toluene,5 mg/m3,,,,,", "row 8, column 'result': '5 mg/m3' has the unit 'mg/m3' of its own"),
        ("booth,toluene,,,,,,", "row 8, column 'result' is blank"),
        ("booth,toluene,about 5,,,,,", "row 8, column 'result': .*no plain number"),
        ("booth,toluene,5,short,,,,", "row 8, column 'kind': 'short' is not one of wear, peak"),
        ("booth,toluene,5,,0,,,", "row 8, column 'sampled' = 0 min is not possible"),
        ("booth,toluene,5,,240,0,,", "row 8, column 'worn' = 0 min is not possible"),
        ("booth,toluene,5,,1500,,,", "row 8, column 'sampled' = 1500 min is not possible; .* up to 1440 min"),
        ("booth,toluene,5,,500,,,", "row 8, column 'sampled' = 500 min is more than the shift of 480 min"),
        ("booth,toluene,5,,,240,,", "row 8, column 'worn' is given without sampled"),
        ("booth,toluene,5,,4 h,,,", "row 8, column 'sampled'"),
    ],
)
def test_one_faulty_row_costs_its_own_group_only(row, says):
    table = read(SOUND + row + "\n", shift="8 h")
    assert [(g.name, g.vapour.name) for g in table.groups] == [("booth", "2-butanone"), ("cleaning", "toluene")]
    with pytest.raises(TableError, match=says) as caught:
        table["booth", "toluene"]
    assert "survey.csv, row 8" in str(caught.value)
    with pytest.raises(TableError, match=says):
        table.strict()
    assert "booth, toluene: NOT USED: survey.csv, row 8" in str(table)
    assert len(table["cleaning", "toluene"].samples) == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [("booth,toluen,5,,,,,", "no vapour named 'toluen'"), ("booth,,5,,,,,", "column 'vapour' is blank"),
     ("booth,xylene,5,,,,,", "row 8, column 'vapour'")],
)  # fmt: skip
def test_a_vapour_that_is_not_known_could_be_any_of_its_group(row, says):
    table = read(SOUND + row + "\n")
    assert [(g.name, g.vapour.name) for g in table.groups] == [("cleaning", "toluene")]
    for vapour in ("toluene", "MEK"):
        with pytest.raises(TableError, match=says):
            table["booth", vapour]
    assert "booth: NOT USED" in str(table)


def test_a_row_without_a_group_may_be_of_any_group_with_its_vapour():
    """A merged cell of a spreadsheet must not make 500 ppm of a group vanish."""
    sound = read(SOUND)
    table = read(SOUND + ",toluene,500,,,,,\n")
    assert {g.vapour.name for g in table.groups} == {g.vapour.name for g in sound.groups} - {"toluene"}
    assert all(any("row 8, column 'group' is blank" in f for f in faults) for _, faults in table.faults)
    assert read(SOUND + ",no such vapour,500,,,,,\n").groups == ()
    with pytest.raises(TableError, match="row 8, column 'group' is blank"):
        table.strict()


@pytest.mark.parametrize("column", ["wear time min", "qualifier", "sample type", "Kind of sample", "STEL"])
def test_a_column_that_could_mean_something_is_never_passed_over(column):
    head, *rows = (HEAD + SOUND).splitlines()
    text = "\n".join([f"{head},{column}", *(f"{row},x" for row in rows)])
    with pytest.raises(TableError, match=f"column '{column}' is not known here"):
        read_samples(parse_table("survey.csv", text, censored=("result",)), report="invented")


def test_mass_needs_the_air_and_says_so_once_a_group():
    head = HEAD.replace("ppm", "mg/m3")
    table = read(SOUND, head)
    assert table.groups == ()
    assert len(table.faults) == 3
    for _, faults in table.faults:
        assert len(faults) == 1
        assert "give air=describe_air(" in faults[0]
    found = read(SOUND, head, air=AIR)["booth", "toluene"]
    assert found.wear[2].result * 1e6 == pytest.approx(30 * 24.465 / 92.14, rel=1e-3)
    assert found.wear[2].given == "30 mg/m3"


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ("group,vapour\n", "'result' is missing"),
        ("group,vapour,result\n", r"the header needs a unit, such as 'result \[ppm\]'"),
        ("group,vapour,result [min]\n", "unit 'min' is not one of ppm"),
        ("group,vapour,result [ppm],sampled\n", r"'sampled \[min\]'"),
        ("group,vapour,result [ppm],sampeld [min]\n", "'sampeld' is not known here; 'sampled' may be meant"),
        ("group,vapour,result [ppm],Worn\n", "'worn' may be meant"),
        ("group,vapour,result [ppm],flow [L/min]\n", "'flow' is not known here"),
        ("group,vapour,result [ppm],kind [min]\n", "'kind' is text and takes no unit"),
    ],
)
def test_columns_that_cannot_be_used(head, says):
    with pytest.raises(TableError, match=says):
        read(
            "a,toluene,1,1\n" if head.count(",") == 3 else "a,toluene,1\n" if head.count(",") == 2 else "a,toluene\n",
            head,
        )


def test_a_sample_entered_twice_is_noticed():
    twice = read(SOUND + "booth,toluene,12,wear,240,120,A,2026-03-02\n")["booth", "toluene"]
    assert any("entered twice" in note for note in twice.notes)
    assert not any("entered twice" in note for g in read(SOUND).groups for note in g.notes)
    nameless = read("g,toluene,3,,,,,\ng,toluene,3,,,,,\n")["g", "toluene"]
    assert not any("entered twice" in note for note in nameless.notes)


def test_vapours_of_ones_own_are_called_by_their_names():
    first, second = (
        define_vapour(
            name, molar_mass="100 g/mol", boiling_point="120 degC", saturation_pressure="2 kPa",
            saturation_temperature="20 degC", liquid_density="0.8 g/cm3", refractive_index=1.4,
        )
        for name in ("Solvent A", "Solvent B")
    )  # fmt: skip
    table = read("g,solvent a,1,,,,,\ng,Solvent B,2,,,,,\ng,toluene,3,,,,,\n", vapours=[first, second])
    assert [g.vapour.name for g in table.strict()] == ["Solvent A", "Solvent B", "toluene"]
    assert table["g", "solvent B"].vapour is second
    assert table["g", first].samples[0].result == pytest.approx(1e-6)


def test_remarks_may_stand_beside():
    assert len(read("a,toluene,5,windy\n", "group,vapour,result [ppm],remark\n").groups) == 1


def test_other_faults():
    with pytest.raises(TableError, match="no row below the header"):
        read("")
    with pytest.raises(DomainError, match="say whose samples"):
        read_samples(parse_table("t", HEAD + SOUND, censored=("result",)), report=" ")
    with pytest.raises(TypeError, match="describe_air"):
        read(SOUND, air=25)
    table = read(SOUND)
    with pytest.raises(
        TableError, match="there are no samples of acetone in the group 'booth'; there are: booth, toluene"
    ):
        table["booth", "acetone"]
    with pytest.raises(UnknownVapour):
        table["booth", "toluen"]
    with pytest.raises(TypeError, match="by its name and vapour"):
        table["booth"]


def test_files_workbooks_and_frames(tmp_path):
    (tmp_path / "survey.csv").write_text(HEAD + SOUND, encoding="utf-8")
    book = openpyxl.Workbook()
    for line in [HEAD.strip().split(","), *(line.split(",") for line in SOUND.splitlines())]:
        book.active.append([float(c) if c.replace(".", "").isdigit() else c or None for c in line])
    book.save(tmp_path / "survey.xlsx")
    frame = pd.read_csv(tmp_path / "survey.csv")
    expected = [s.while_worn for g in read(SOUND).groups for s in g.samples]
    for source in (tmp_path / "survey.csv", str(tmp_path / "survey.xlsx"), frame):
        table = read_samples(source, report="invented")
        assert [s.while_worn for g in table.strict() for s in g.samples] == pytest.approx(expected)
    plain = read_samples(parse_table("t", "group,vapour,result [ppm]\na,toluene,3\n"), report="invented")
    assert plain.groups[0].samples[0].result == pytest.approx(3e-6)
