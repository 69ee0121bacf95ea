"""One table format: headers with units, bad cells that are named, rows that are kept."""

from __future__ import annotations

import datetime

import numpy as np
import openpyxl
import pandas as pd
import pytest

from respcalc.core import tables
from respcalc.core.errors import TableError
from respcalc.core.tables import frame_to_table, parse_table, read_table, shipped_table
from respcalc.core.units import Quantity

PLAN = '''task,volume_fraction [ppm],flow_rate [L/min],relative_humidity [%],note
spraying,200,40,65,
"wiping, by hand",50.5,30,40,"says ""often"""
'''


def parse(text, **options):
    return parse_table("plan.csv", text, **options)


def refused(text, *says, **options):
    with pytest.raises(TableError) as caught:
        parse(text, **options)
    for part in says:
        assert part in str(caught.value), str(caught.value)
    return caught.value


# --- headers


def test_columns_with_a_unit_are_si_floats_and_the_others_text():
    table = parse(PLAN)
    assert len(table) == 2
    assert table.problems == ()
    assert table.units == {"volume_fraction": "ppm", "flow_rate": "L/min", "relative_humidity": "%"}
    first, second = table
    assert first == {
        "row": 2,
        "task": "spraying",
        "volume_fraction": pytest.approx(2e-4),
        "flow_rate": pytest.approx(4e-2 / 60),
        "relative_humidity": pytest.approx(0.65),
        "note": "",
    }
    assert second["task"] == "wiping, by hand"
    assert second["note"] == 'says "often"'
    assert table.strict() is table


@pytest.mark.parametrize(
    ("header", "cell", "si"),
    [
        ("flow_rate[L/min]", "30", 5e-4),
        ("  flow_rate   [ L / min ] ", " 30 ", 5e-4),
        ("mass_concentration [mg/m³]", "750", 7.5e-4),
        ("mass_concentration [μg/m3]", "750", 7.5e-7),
        ("bulk_density [g/cm^3]", "0.45", 450.0),
        ("temperature [°C]", "−5", 268.15),
        ("exit_fraction []", "0.1", 0.1),
        ("relative_humidity [%]", "65%", 0.65),  # as spreadsheets export a percentage
        ("relative_humidity [%]", "65 %", 0.65),
        ("relative_humidity []", "65%", 0.65),
        ("osha_pel [ppm]", "100", 1e-4),  # not in the vocabulary: the unit says what it is
        ("size of bag [L/min]", "30", 5e-4),
    ],
)
def test_header_and_cell_grammar(header, cell, si):
    (row,) = parse(f"name,{header}\na,{cell}\n").strict()
    (value,) = (v for k, v in row.items() if k not in ("row", "name"))
    assert value == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("header", "says"),
    [
        ("flow_rate [kg]", "column 'flow_rate': unit 'kg' is not known for it (units: L/min"),
        ("flow_rate [l/m]", "unit 'l/m' is not known"),
        ("flow_rate []", "column 'flow_rate': unit '' is not known"),
        ("anything [furlong]", "unit 'furlong' is not known for it (units: see the unit list)"),
        ("flow_rate [L/min", "column 2: header 'flow_rate [L/min' cannot be read; write it as 'name [unit]'"),
        ("flow_rate [L/min] [x]", "column 2: header"),
        ("flow_rate ] L/min [", "column 2: header"),
        ("[L/min]", "column 2: header"),
    ],
)
def test_a_bad_header_is_refused(header, says):
    refused(f"name,{header}\na,1\n", "plan.csv", says)


def test_duplicate_and_missing_columns_are_all_named():
    error = refused(
        "a,a,flow_rate [kg]\n1,2,3\n",
        "column 'a' occurs twice",
        "unit 'kg'",
        "column 'task' is missing; the columns are a, a, flow_rate",
        required=("task",),
    )
    assert len(error.problems) == 3
    refused("flow_rate [L/min],flow_rate [m3/h]\n30,1\n", "column 'flow_rate' occurs twice")


def test_a_column_called_row_would_hide_the_row_numbers():
    refused("row,flow_rate [L/min]\n7,30\n", "column 'row'", "rename it")


def test_a_header_without_a_name_between_others_is_refused():
    refused("a,,b\n1,2,3\n", "column 2: header '' cannot be read")


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", ",,,\n"])
def test_an_empty_table_is_refused(text):
    refused(text, "the table is empty; it needs a header row")


def test_semicolons_are_named_instead_of_read_as_one_column():
    refused("task;volume_fraction [ppm]\nspraying;200\n", "semicolons")
    refused("volume_fraction;flow_rate\n37,5;30\n", "semicolons")


# --- cells and rows


def test_bad_cells_are_named_and_the_other_rows_stay():
    table = parse("task,volume_fraction [ppm],flow_rate [L/min]\na,200,thirty\nb,100,30\nc,1 000,\nd,<0.5,30 m3\n")
    assert [row["task"] for row in table] == ["a", "b", "c", "d"]
    assert table.bad_rows == {2, 4, 5}
    assert [p.partition(": ")[0] for p in table.problems] == [
        "plan.csv, row 2, column 'flow_rate'",
        "plan.csv, row 4, column 'volume_fraction'",
        "plan.csv, row 5, column 'volume_fraction'",
        "plan.csv, row 5, column 'flow_rate'",
    ]
    assert "thirty" in table.problems[0]
    assert "space or apostrophe" in table.problems[1]
    assert "limit of detection" in table.problems[2]
    rows = {row["task"]: row for row in table}
    assert rows["a"]["flow_rate"] is None
    assert rows["a"]["volume_fraction"] == pytest.approx(2e-4)
    assert rows["b"]["flow_rate"] == pytest.approx(5e-4)
    with pytest.raises(TableError, match="row 2") as caught:
        table.strict()
    assert caught.value.problems == table.problems


@pytest.mark.parametrize(
    "cell", ["nan", "NaN", "inf", "N/A", "-", "#DIV/0!", "1 000", "200 mg", "=1+1", "True", "1e5x"]
)
def test_a_cell_that_is_no_number_is_a_problem_never_a_blank(cell):
    table = parse(f"task,relative_humidity [%]\na,{cell}\n")
    assert table.bad_rows == {2}
    assert cell in table.problems[0]
    assert parse("task,relative_humidity [%]\na,6%%\n").bad_rows == {2}


def test_a_comma_in_a_number_is_caught_quoted_or_not():
    assert parse('task,flow_rate [L/min]\na,"37,5"\n').bad_rows == {2}
    table = parse("task,flow_rate [L/min]\na,37,5\nb,30\n")
    assert table.bad_rows == {2}
    assert "row 2: 3 cells for 2 columns; quote text with commas" in table.problems[0]
    assert table.rows[1]["flow_rate"] == pytest.approx(5e-4)


def test_blank_cells_and_short_rows_are_none_or_empty():
    table = parse("task,flow_rate [L/min],note\na\nb,,\nc,30,x\n").strict()
    assert [row["flow_rate"] for row in table][:2] == [None, None]
    assert [row["note"] for row in table] == ["", "", "x"]


def test_empty_columns_at_the_end_are_what_spreadsheets_leave():
    table = parse("task,flow_rate [L/min],,\na,30,,\n,,,\nb,40,,\n").strict()
    assert [row["row"] for row in table] == [2, 4]
    assert parse("task,flow_rate [L/min],,\na,30,,stray\n").bad_rows == {2}


def test_rows_are_counted_as_in_a_spreadsheet():
    table = parse("# made in May\n\ntask,flow_rate [L/min]\n\na,30\n\nb,x\n")
    assert [row["row"] for row in table] == [5, 7]
    assert table.bad_rows == {7}


def test_a_row_that_begins_with_a_hash_is_not_lost():
    table = parse("# a comment\ntask,flow_rate [L/min]\n#3 booth,30\n#N/A,40\n").strict()
    assert [row["task"] for row in table] == ["#3 booth", "#N/A"]


def test_a_quote_that_is_not_closed_does_not_swallow_the_rows_below():
    refused('task,flow_rate [L/min]\n"a,30\nb,40\nc,50\n', "not closed")
    assert len(parse('task,note\na,5" hose\n')) == 1


def test_formula_like_text_stays_text():
    texts = ['=HYPERLINK("http://x","y")', "-2-propanol", "@task", "+1-1", "=1+1"]
    lines = ["task,flow_rate [L/min]"] + ['"{}",30'.format(t.replace('"', '""')) for t in texts]
    assert [row["task"] for row in parse("\n".join(lines)).strict()] == texts


def test_line_breaks_inside_a_quoted_cell():
    table = parse('task,note,flow_rate [L/min]\r\na,"one\ntwo",30\r\nb,,40\r\n').strict()
    assert table.rows[0]["note"] == "one\ntwo"
    assert table.rows[1]["row"] == 3


def test_the_problems_of_one_row():
    table = parse("task,flow_rate [L/min]\na,x\nb,30\nc,y\n" + "d,30\n" * 8 + "e,z\n")
    assert table.bad_rows == {2, 4, 13}
    assert [len(table.problems_in(row)) for row in (2, 3, 4, 13)] == [1, 0, 1, 1]
    assert "'z L/min'" in table.problems_in(13)[0]


# --- data frames


def test_a_data_frame_keeps_the_units_of_its_headers():
    frame = pd.DataFrame({"task": ["a, b", "=1+1"], "flow_rate [L/min]": [30, np.nan], "note": [1, 2]}, index=[7, 8])
    first, second = frame_to_table("frame", frame, required=("task",)).strict()
    assert (first["row"], first["task"], first["note"]) == (2, "a, b", "1")
    assert first["flow_rate"] == pytest.approx(5e-4)
    assert (second["task"], second["flow_rate"]) == ("=1+1", None)


def test_quantities_in_a_data_frame_are_bad_cells_not_bare_numbers():
    frame = pd.DataFrame({"flow_rate [L/min]": pd.Series([Quantity(1, "m**3/h"), 30.0], dtype=object)})
    table = frame_to_table("frame", frame)
    assert table.bad_rows == {2}
    with pytest.raises(TableError, match="column 'task' is missing"):
        frame_to_table("frame", frame, required=("task",))


# --- files


def test_csv_with_and_without_byte_order_mark(tmp_path):
    for encoding in ("utf-8", "utf-8-sig"):
        path = tmp_path / f"{encoding}.csv"
        path.write_text(PLAN, encoding=encoding, newline="\r\n")
        table = read_table(path, required=("task", "volume_fraction"))
        assert table.name == path.name
        assert [row["task"] for row in table.strict()] == ["spraying", "wiping, by hand"]
    assert parse("\ufeff" + PLAN).strict().rows[0]["task"] == "spraying"


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(TableError, match=r"absent.csv: cannot be read \(No such file"):
        read_table(tmp_path / "absent.csv")
    latin = tmp_path / "latin.csv"
    latin.write_bytes("Räume,x\n".encode("latin-1"))
    with pytest.raises(TableError, match="is not UTF-8 text"):
        read_table(latin)
    broken = tmp_path / "broken.xlsx"
    broken.write_bytes(b"not a workbook")
    with pytest.raises(TableError, match="cannot be read as a workbook"):
        read_table(broken)
    with pytest.raises(TableError, match=r"absent.xlsx: cannot be read"):
        read_table(tmp_path / "absent.xlsx")


def test_xlsx_without_openpyxl_says_how_to_get_it(tmp_path, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "openpyxl", None)
    with pytest.raises(TableError, match=r'needs openpyxl; install "respcalc\[excel\]"'):
        read_table(tmp_path / "plan.xlsx")


def workbook(path, rows, formats=()):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for cell, number_format in dict(formats).items():
        book.active[cell].number_format = number_format
    book.save(path)
    return read_table(path)


def test_xlsx_reads_as_csv_does(tmp_path):
    table = workbook(
        tmp_path / "plan.xlsx",
        [
            ["task", "volume_fraction [ppm]", "flow_rate [L/min]", "day", None],
            ['spraying, "big"', 200, 40.5, datetime.date(2026, 5, 4), None],
            ["#3 booth", 1e-5, None, "x\ny", None],
            [None, None, None, None, None],
            ["yes", True, "1 000", None, None],
        ],
    )
    assert [row["row"] for row in table] == [2, 3, 5]
    first, second, third = table
    assert first["task"] == 'spraying, "big"'
    assert first["volume_fraction"] == pytest.approx(2e-4)
    assert first["flow_rate"] == pytest.approx(40.5e-3 / 60)
    assert first["day"].startswith("2026-05-04")
    assert second["task"] == "#3 booth"
    assert second["volume_fraction"] == pytest.approx(1e-11)
    assert second["flow_rate"] is None
    assert third["volume_fraction"] is None
    assert table.bad_rows == {5}
    assert len(table.problems) == 2


def test_an_xlsx_percentage_is_what_the_reader_sees(tmp_path):
    # 65 % is stored as 0.65: under [%] that would pass as bone-dry air and lengthen the life
    table = workbook(
        tmp_path / "plan.xlsx",
        [["task", "relative_humidity [%]"], ["a", 0.65], ["b", 65], ["c", 65], ["d", 0.655]],
        {"B2": "0%", "B4": '0" %"', "B5": "0.0%"},
    )
    assert [row["relative_humidity"] for row in table.strict()] == pytest.approx([0.65, 0.65, 0.65, 0.655])
    table = workbook(tmp_path / "ppm.xlsx", [["task", "volume_fraction [ppm]"], ["a", 0.02]], {"B2": "0%"})
    assert table.bad_rows == {2}


def test_an_xlsx_formula_whose_result_was_never_stored_is_not_a_blank(tmp_path):
    table = workbook(tmp_path / "plan.xlsx", [["task", "flow_rate [L/min]"], ["a", "=20+20"], ["=1+1", 30]])
    assert table.bad_rows == {2}
    assert "=20+20" in table.problems[0]
    assert table.rows[1]["task"] == "=1+1"


def test_a_shipped_table_with_a_bad_cell_fails(tmp_path, monkeypatch):
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "x.csv").write_text("a,flow_rate [L/min]\n1,x\n", encoding="utf-8")
    monkeypatch.setattr(tables.resources, "files", lambda package: tmp_path)
    with pytest.raises(TableError, match=r"x.csv, row 2, column 'flow_rate'"):
        shipped_table("any.package", "x.csv")
