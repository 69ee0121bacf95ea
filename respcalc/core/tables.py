"""One table format for shipped data, reference cases and users' files.

The first row holds ``name [unit]`` headers; a column without brackets is text. Everything is
read as text first. A cell that does not parse is a problem with its row and column, never a
missing value; the other cells and rows are still read. Lines that start with ``#`` are comments
above the header only: further down they may be data.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

from respcalc.core.errors import TableError
from respcalc.core.units import FAMILIES, read_censored, read_value, unit_text
from respcalc.core.vocabulary import VOCABULARY

__all__ = ["Table", "frame_to_table", "read_table", "shipped_table"]

_BARE = ("-", "–", "1")  # how others write that a number has no unit
_HEADER = re.compile(r"^\s*(?P<name>[^\[\]]*?)\s*(?:\[(?P<unit>[^\[\]]*)\])?\s*$")

_UNIT_IN_CELL = re.compile(r"[<≤]?=? *[\d.]+(?:[eE][+-]?\d+)? *([a-zA-Zµμ%][^\s\d,]*\d?)")


@dataclass(frozen=True)
class Table:
    """Rows as dictionaries. Numeric columns are SI floats (None where the cell is blank).

    ``problems`` has one text for each cell that did not parse; ``bad_rows`` their row numbers,
    counted as in a spreadsheet (the first line is row 1, blank lines count).
    """

    name: str
    rows: tuple[dict[str, Any], ...]
    units: dict[str, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    bad_rows: frozenset[int] = frozenset()

    def __iter__(self) -> Iterator[dict[str, Any]]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def problems_in(self, row: int) -> list[str]:
        """The faults of one row, by its number as in a spreadsheet."""
        return [p for p in self.problems if re.search(rf", row {row}\b", p)] if row in self.bad_rows else []

    def strict(self) -> Table:
        """Return the table itself, or refuse it if any cell was bad.

        Raises
        ------
        TableError
            Listing every bad cell.
        """
        if self.problems:
            raise TableError(self.problems)
        return self


def _family_of_unit(name: str, unit: str) -> str | None:
    if name in VOCABULARY:
        family = VOCABULARY[name].family
        return family if unit in FAMILIES[family].units else None
    return next((f.name for f in FAMILIES.values() if unit and unit in f.units), None)


def _without_blank_end(line: list[str]) -> list[str]:
    """Drop the empty cells that spreadsheets leave at the end of a row."""
    while line and not line[-1].strip():
        line = line[:-1]
    return line


def parse_table(name: str, text: str, *, required: Sequence[str] = (), censored: Sequence[str] = ()) -> Table:
    """Read a table from text in CSV form; a cell of a *censored* column is a `Reading`, and may be ``<0.5``."""
    try:
        # strict: an unclosed quote would otherwise swallow every row below it
        lines = [_without_blank_end(line) for line in csv.reader(io.StringIO(text.removeprefix("\ufeff")), strict=True)]
    except csv.Error as error:
        raise TableError([f"{name}: is not readable as CSV ({error}); look for a quote that is not closed"]) from None
    numbered = [(number, line) for number, line in enumerate(lines, start=1) if line]
    while numbered and numbered[0][1][0].startswith("#"):
        numbered.pop(0)
    if not numbered:
        raise TableError([f"{name}: the table is empty; it needs a header row and at least one row of values"])
    headers = numbered[0][1]
    if len(headers) == 1 and ";" in headers[0]:
        raise TableError(
            [f"{name}: the columns are separated by semicolons; separate them by commas, or save as .xlsx"]
        )
    columns: list[tuple[str, str, str | None]] = []
    problems: list[str] = []
    for position, header in enumerate(headers, start=1):
        match = _HEADER.match(header)
        if match is None or not match["name"]:
            problems.append(f"{name}, column {position}: header {header!r} cannot be read; write it as 'name [unit]'")
            columns.append((header, "", None))
            continue
        column, unit = match["name"], match["unit"]
        family = None
        if unit is not None:
            unit = "" if unit.strip() in _BARE else unit_text(unit)
            family = _family_of_unit(column, unit)
            if family is None:
                known = FAMILIES[VOCABULARY[column].family].offered() if column in VOCABULARY else "see the unit list"
                problems.append(f"{name}, column {column!r}: unit {unit!r} is not known for it (units: {known})")
        columns.append((column, unit or "", family))
    names = [c[0] for c in columns]
    if "row" in names:
        problems.append(f"{name}: column 'row' would hide the row numbers that faults are reported by; rename it")
    for twice in sorted({n for n in names if names.count(n) > 1}):
        problems.append(f"{name}: column {twice!r} occurs twice")
    for missing in (c for c in required if c not in names):
        problems.append(f"{name}: column {missing!r} is missing; the columns are {', '.join(names)}")
    if problems:
        raise TableError(problems)

    rows: list[dict[str, Any]] = []
    bad: set[int] = set()
    for number, line in numbered[1:]:
        if len(line) > len(columns):
            problems.append(
                f"{name}, row {number}: {len(line)} cells for {len(columns)} columns; quote text with commas"
            )
            bad.add(number)
        row: dict[str, Any] = {"row": number}
        for (column, unit, family), cell in zip(columns, line + [""] * (len(columns) - len(line)), strict=False):
            text_cell = cell.strip()
            if family is None:
                row[column] = text_cell
                continue
            if not text_cell:
                row[column] = None
                continue
            try:
                # a spreadsheet's "65%" under [%] repeats the unit, which does no harm
                plain = text_cell.removesuffix(unit) if unit else text_cell
                if column in censored and (own := _UNIT_IN_CELL.fullmatch(plain.strip())):
                    raise ValueError(
                        f"{text_cell!r} has the unit {own[1]!r} of its own; a column has one unit, here {unit!r}"
                    )
                take = read_censored if column in censored else read_value
                row[column] = take(column, family, f"{plain} {unit}".strip())
            except ValueError as error:
                row[column] = None
                bad.add(number)
                problems.append(f"{name}, row {number}, column {column!r}: {error}")
        rows.append(row)
    units = {column: unit for column, unit, family in columns if family is not None}
    return Table(name, tuple(rows), units, tuple(problems), frozenset(bad))


def read_table(path: str | Path, *, required: Sequence[str] = (), censored: Sequence[str] = ()) -> Table:
    """Read a CSV file, or the first sheet of an XLSX file, with ``name [unit]`` headers.

    Cells of *censored* columns are read as `Reading`: a value, or the limit that it is below.

    Raises
    ------
    TableError
        The file cannot be opened, has no header, or a header is bad. Bad cells do not raise:
        they are listed in ``problems`` and the other rows are kept.
    """
    path = Path(path)
    if path.suffix.lower() == ".xlsx":
        return parse_table(path.name, _xlsx_as_csv(path), required=required, censored=censored)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise TableError([f"{path}: cannot be read ({error.strerror})"]) from None
    except UnicodeDecodeError:
        raise TableError([f"{path}: is not UTF-8 text; save it as CSV (UTF-8)"]) from None
    return parse_table(path.name, text, required=required, censored=censored)


def _xlsx_as_csv(path: Path) -> str:
    try:
        import openpyxl
    except ImportError:
        raise TableError([f'{path}: reading .xlsx needs openpyxl; install "respcalc[excel]" or save as CSV']) from None
    try:
        values, formulas = (
            openpyxl.load_workbook(path, data_only=data_only).worksheets[0] for data_only in (True, False)
        )
    except Exception as error:  # openpyxl raises many kinds for a broken file
        raise TableError([f"{path}: cannot be read as a workbook ({error})"]) from None
    out = io.StringIO()
    writer = csv.writer(out)
    for line, written in zip(values.iter_rows(), formulas.iter_rows(), strict=True):
        writer.writerow([_cell_text(cell, formula.value) for cell, formula in zip(line, written, strict=True)])
    return out.getvalue()


def _cell_text(cell: Any, formula: Any) -> str:
    """Write an XLSX cell as the text that its reader sees.

    A percentage is stored as a fraction: 65 % as 0.65, which under ``[%]`` would read as dry air.
    A formula whose result was never stored stays visible instead of turning into a blank.
    """
    value = cell.value if cell.value is not None else formula
    shape = re.sub(r'"[^"]*"|\\.', "", str(cell.number_format))  # a % that is quoted is only a letter
    if isinstance(value, (int, float)) and not isinstance(value, bool) and "%" in shape:
        return f"{100 * value:.12g}%"
    return "" if value is None else str(value)


def frame_to_table(name: str, frame: Any, *, required: Sequence[str] = (), censored: Sequence[str] = ()) -> Table:
    """Read a pandas DataFrame whose headers carry units; a column without one is text.

    Cells of *censored* columns are read as `Reading`.

    Raises
    ------
    TableError
        As `read_table`.
    """
    return parse_table(name, frame.to_csv(index=False), required=required, censored=censored)


def shipped_table(package: str, filename: str, *, required: Sequence[str] = ()) -> Table:
    """Read a table that the library carries; any bad cell is an error."""
    text = resources.files(package).joinpath(f"data/{filename}").read_text(encoding="utf-8")
    return parse_table(filename, text, required=required).strict()
