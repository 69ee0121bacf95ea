"""Read the checks, judge them, and say how well each one agrees.

A source is a folder with ``source.toml`` (what the outside world says and how far it is to be
trusted), CSV tables (inputs and results as printed) and ``checks.py`` (which respcalc function
answers). The tolerance follows from the printed digits; see README.md.
"""

from __future__ import annotations

import csv
import importlib
import inspect
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from math import isfinite
from pathlib import Path
from statistics import fmean, pstdev
from typing import Any

from respcalc.core.tables import parse_table

__all__ = ["Case", "Check", "CheckError", "Item", "Judged", "Row", "all_cases", "all_items", "half_digit", "judge"]

HERE = Path(__file__).parent
FACTORS = (1.2, 2.303, 60.0, 1000.0)
"""Wrong by 20 %, log10 for ln, minutes for hours or seconds, grams for milligrams: each must be caught."""

PRINTED = ("worked example", "table", "regulation", "definition", "computed here")
"""Kinds whose value is exact but for its rounding, so that agreeing to the last digit means something."""
OBSERVED = ("measured", "digitised", "compiled", "fit")
"""Kinds with scatter of their own; they can be agreed with, never reproduced."""
FLOOR = "floor"
KINDS = (*PRINTED, *OBSERVED, FLOOR)

_SOURCE_FIELDS = {"citation", "seen", "edition", "notes", "checks"}
_CHECK_FIELDS = {"table", "rows", "result", "model", "locator", "kind", "exact", "within", "why", "rejects"}


class CheckError(Exception):
    """A source folder is wrong: a missing column, a wide tolerance without a reason, a bad kind."""


@dataclass(frozen=True)
class Check:
    """How respcalc answers one table. Arguments of every function are columns of its CSV, in SI.

    ``independent`` derives the same value without respcalc: it must meet the printed value too, and
    respcalc to ``independent_rel``. ``refuses`` holds known wrong forms, by name: each must fail every
    row. ``expected`` works the value out where the source prints a rule instead of a result.
    """

    predict: Callable[..., float]
    independent: Callable[..., float] | None = None
    independent_rel: float = 1e-9
    expected: Callable[..., float] | None = None
    refuses: Mapping[str, Callable[..., float]] = field(default_factory=dict)


@dataclass(frozen=True)
class Row:
    """One line of a CSV: values in SI, and what half of the last printed digit is worth in SI."""

    name: str
    values: Mapping[str, Any]
    halves: Mapping[str, float]

    def call(self, function: Callable[..., float], **changed: float) -> float:
        wanted = inspect.signature(function).parameters
        return float(function(**{name: changed.get(name, self.values[name]) for name in wanted}))


@dataclass(frozen=True)
class Item:
    """One check of one source."""

    key: str
    name: str
    seen: str
    model: str
    locator: str
    kind: str
    result: str
    exact: frozenset[str]
    bounds: Mapping[str, tuple[float, float]]  # by row; empty where the printed digits decide
    why: str
    rejects: tuple[float, ...]
    check: Check
    rows: tuple[Row, ...]
    unit: tuple[str, float]  # of the result as printed, and its size in SI

    @property
    def cases(self) -> list[Case]:
        return [Case(self, row) for row in self.rows]


@dataclass(frozen=True, repr=False)
class Case:
    """One row of one check."""

    item: Item
    row: Row

    def __repr__(self) -> str:
        return f"<{self.id}>"

    @property
    def id(self) -> str:
        return f"{self.item.key}/{self.item.name}/{self.row.name}"

    @property
    def expected(self) -> float:
        own = self.item.check.expected
        return self.row.call(own) if own else float(self.row.values[self.item.result])

    @property
    def predicted(self) -> float:
        return self.row.call(self.item.check.predict)

    def allowance(self) -> float:
        """Half the last printed digit of the result, and what the rounding of each input could do."""
        predict = self.item.check.predict
        total = self.row.halves.get(self.item.result, 0.0)
        centre = self.row.call(predict)
        for name in inspect.signature(predict).parameters:
            if name in self.item.exact or name not in self.row.halves:
                continue
            value, half = self.row.values[name], self.row.halves[name]
            total += max(abs(self.row.call(predict, **{name: v}) - centre) for v in (value - half, value + half))
        return total

    def accepts(self, value: float, factor: float = 1.0) -> bool:
        """Whether *value* agrees with the expectation times *factor*."""
        expected = self.expected * factor
        if not isfinite(value):
            return False
        if self.row.name in self.item.bounds:
            low, high = self.item.bounds[self.row.name]
            return low <= value / expected <= high
        return abs(value - expected) <= self.allowance() * (1 + 1e-9) + 1e-12 * abs(expected)

    def story(self, value: float) -> str:
        """What was compared, in the printed unit, for a failure's message."""
        unit, size = self.item.unit
        expected, got = self.expected / size, value / size
        if self.row.name in self.item.bounds:
            low, high = self.item.bounds[self.row.name]
            room = f"{low:g} to {high:g} of it"
        else:
            room = f"+/- {self.allowance() / size:.3g}"
        return (
            f"{self.id}: {self.item.model} gives {got:.6g} {unit}, {self.item.kind} {expected:.6g} {unit} ({room}; "
            f"{self.item.locator})"
        )


@dataclass(frozen=True)
class Judged:
    """One line of the report."""

    item: Item
    expected: tuple[float, ...]
    predicted: tuple[float, ...]
    failed: tuple[str, ...]

    @property
    def deviations(self) -> tuple[float, ...]:
        return tuple(p / e - 1.0 for p, e in zip(self.predicted, self.expected, strict=True))

    @property
    def bias(self) -> float:
        return fmean(self.deviations)

    @property
    def spread(self) -> float:
        return pstdev(self.deviations)

    @property
    def worst(self) -> float:
        return max(self.deviations, key=abs)

    @property
    def verdict(self) -> str:
        if self.failed:
            return f"FAILS {len(self.failed)} of {len(self.predicted)}"
        if self.item.kind == FLOOR:
            return "floor met"
        if not self.item.bounds:
            return "reproduces"
        low = min(b[0] for b in self.item.bounds.values())
        high = max(b[1] for b in self.item.bounds.values())
        if any(not b[0] <= 1 <= b[1] for b in self.item.bounds.values()):
            return f"known to differ, {100 * (low - 1):+.3g} % to {100 * (high - 1):+.3g} %"
        return f"agrees within {100 * (low - 1):+.3g} %, {100 * (high - 1):+.3g} %"


def judge(item: Item) -> Judged:
    """Compute every row of an item and compare."""
    cases = item.cases
    predicted = tuple(c.predicted for c in cases)
    failed = tuple(c.id for c, p in zip(cases, predicted, strict=True) if not c.accepts(p))
    return Judged(item, tuple(c.expected for c in cases), predicted, failed)


def half_digit(text: str) -> Decimal:
    """Half of the last printed digit: ``"0.291"`` gives 0.0005, ``"1.91e4"`` gives 50."""
    exponent = Decimal(text.strip()).as_tuple().exponent
    if not isinstance(exponent, int):
        raise CheckError(f"{text!r} is not a finite number")
    return Decimal(5).scaleb(exponent - 1)


def _in_si(header: str, cell: str) -> float:
    (row,) = parse_table("reference table", f'"{header}"\n"{cell}"').strict().rows
    return float(next(v for k, v in row.items() if k != "row"))


def _column(header: str) -> str:
    return header.partition("[")[0].strip()


@cache
def _read_rows(path: Path) -> tuple[dict[str, Row], dict[str, str]]:
    """All rows of a CSV by name, and the header of each column."""
    text = path.read_text(encoding="utf-8")
    table = parse_table(path.name, text, required=["case"]).strict()
    lines = [x for x in csv.reader(text.splitlines()) if any(cell.strip() for cell in x) and not x[0].startswith("#")]
    headers = {_column(header): header for header in lines[0]}
    rows: dict[str, Row] = {}
    for parsed, cells in zip(table.rows, lines[1:], strict=True):
        halves = {}
        for (name, header), cell in zip(headers.items(), cells, strict=True):
            if "[" not in header:
                continue
            if not cell.strip():
                raise CheckError(f"{path.name}, {cells[0]}: {name} is blank; a reference row has all its cells")
            half = half_digit(cell)
            up, down = (_in_si(header, str(Decimal(cell.strip()) + sign * half)) for sign in (1, -1))
            halves[name] = (up - down) / 2
        name = parsed["case"]
        if name in rows:
            raise CheckError(f"{path.name}: the case {name!r} occurs twice")
        rows[name] = Row(name, {k: v for k, v in parsed.items() if k not in ("row", "case")}, halves)
    return rows, headers


def _bounds(where: str, record: Mapping[str, Any], rows: tuple[Row, ...]) -> dict[str, tuple[float, float]]:
    within = record.get("within")
    if within is None:
        return {}
    if isinstance(within, list):
        return {row.name: (float(within[0]), float(within[1])) for row in rows}
    column = within["column"]
    unused = set(within) - {"column"} - {row.values[column] for row in rows}
    if unused:
        raise CheckError(f"{where}: no row has {column} = {', '.join(sorted(unused))}")
    try:
        return {row.name: (float(within[row.values[column]][0]), float(within[row.values[column]][1])) for row in rows}
    except KeyError as missing:
        raise CheckError(f"{where}: within has no bounds for {column} = {missing}") from None


def _vet(where: str, record: Mapping[str, Any], rejects: tuple[float, ...]) -> None:
    """Hold the record to the rules of README.md before a single number is compared."""
    problems = []
    if unknown := set(record) - _CHECK_FIELDS:
        problems.append(f"unknown fields {sorted(unknown)}")
    if missing := {"result", "model", "locator", "kind"} - set(record):
        problems.append(f"missing fields {sorted(missing)}")
    kind = record.get("kind")
    if kind not in KINDS:
        problems.append(f"kind {kind!r} is none of {', '.join(KINDS)}")
    if kind not in PRINTED and "within" not in record:
        problems.append(f"a {kind} value needs 'within', the range of predicted over {kind} that counts as agreeing")
    if "within" in record and len(record.get("why", "")) < 20:
        problems.append("'within' is looser than the printed digits and needs a 'why'")
    if not set(FACTORS[1:]) <= set(rejects):
        problems.append(f"every check must reject the factors {FACTORS[1:]}")
    if rejects != FACTORS and kind in PRINTED:
        problems.append(f"a {kind} value must reject all of {FACTORS}")
    if problems:
        raise CheckError(f"{where}: " + "; ".join(problems))


def _read_source(folder: Path) -> Iterator[Item]:
    key = folder.name
    source = tomllib.loads((folder / "source.toml").read_text(encoding="utf-8"))
    if unknown := set(source) - _SOURCE_FIELDS:
        raise CheckError(f"{key}/source.toml: unknown fields {sorted(unknown)}")
    written: Mapping[str, Check] = importlib.import_module(f"{__package__}.{key}.checks").CHECKS
    if set(written) != set(source["checks"]):
        raise CheckError(f"{key}: source.toml and checks.py differ in {sorted(set(written) ^ set(source['checks']))}")
    tables = {record.get("table", name) for name, record in source["checks"].items()}
    if spare := {path.stem for path in folder.glob("*.csv")} - tables:
        raise CheckError(f"{key}: no check reads {sorted(spare)}")
    for name, record in source["checks"].items():
        where = f"{key}/{name}"
        rejects = tuple(float(f) for f in record.get("rejects", FACTORS))
        _vet(where, record, rejects)
        check = written[name]
        by_name, headers = _read_rows(folder / f"{record.get('table', name)}.csv")
        chosen = record.get("rows", list(by_name))
        if absent := [r for r in chosen if r not in by_name]:
            raise CheckError(f"{where}: no such rows: {absent}")
        rows = tuple(by_name[r] for r in chosen)
        result, exact = record["result"], frozenset(record.get("exact", []))
        functions = [check.predict, check.independent, check.expected, *check.refuses.values()]
        asked = {p for f in functions if f for p in inspect.signature(f).parameters} | exact
        if check.expected is None:
            asked |= {result}
        if lost := asked - set(headers):
            raise CheckError(f"{where}: no such columns: {sorted(lost)}")
        header = headers.get(result, result)
        unit = header.partition("[")[2].rstrip("] ") if "[" in header else ""
        if unit in ("degC", "degF"):
            header, unit = result, "K"  # a factor on a temperature means one on the absolute scale
        size = _in_si(header, "1") if "[" in header else 1.0
        yield Item(
            key, name, source["seen"], record["model"], record["locator"], record["kind"], result, exact,
            _bounds(where, record, rows), record.get("why", ""), rejects, check, rows, (unit, size),
        )  # fmt: skip


@cache
def all_items() -> tuple[Item, ...]:
    """Every check of every source folder, in order of folder name."""
    folders = sorted(path.parent for path in HERE.glob("*/source.toml"))
    return tuple(item for folder in folders for item in _read_source(folder))


def all_cases() -> list[Case]:
    """Every row of every check."""
    return [case for item in all_items() for case in item.cases]
