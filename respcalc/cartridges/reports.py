"""A laboratory's table of tests: several tests, each with its conditions and one or more points."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from respcalc.cartridges.tested import TestCurve, describe_curve
from respcalc.core.errors import RespcalcError, TableError
from respcalc.core.tables import Table, frame_to_table, read_table
from respcalc.core.units import FAMILIES
from respcalc.core.vocabulary import term

__all__ = ["TestTable", "read_tests"]

_CONDITIONS = {
    "concentration": "ppm",
    "flow_rate": "L/min",
    "temperature": "degC",
    "relative_humidity": "%",
    "pressure": "kPa",
}
_AMOUNTS = ("volume_fraction", "mass_concentration")
_EXITS = ("exit_fraction", "exit_concentration")
_POINT = {"worn_time": "min", "exit_fraction": "%", "exit_concentration": "ppm", "exit_uncertainty": "%"}


@dataclass(frozen=True)
class TestTable:
    """The tests of a table: those that hold, and what is wrong with the others."""

    curves: tuple[TestCurve, ...]
    faults: tuple[tuple[str, tuple[str, ...]], ...] = ()  # name of the test, its faults

    __test__ = False

    def strict(self) -> tuple[TestCurve, ...]:
        """Return the tests, or refuse them if any is faulty.

        Raises
        ------
        TableError
            Listing every fault.
        """
        if self.faults:
            raise TableError([fault for _, faults in self.faults for fault in faults])
        return self.curves

    def __str__(self) -> str:
        lines = [str(curve) for curve in self.curves]
        return "\n".join(lines + [f"{name}: NOT USED: {' | '.join(faults)}" for name, faults in self.faults])


def read_tests(table: Table | str | Path | Any, *, report: str) -> TestTable:
    """Read breakthrough tests from a table, one row a point.

    Parameters
    ----------
    table
        CSV or XLSX file, `Table`, or a DataFrame with units in its headers. Columns: ``test`` (its name),
        ``vapour``, ``concentration [ppm]``, ``flow_rate [L/min]``, ``temperature [degC]``,
        ``relative_humidity [%]``, ``pressure [kPa]``, ``worn_time [min]``, and ``exit_fraction [%]`` or
        ``exit_concentration [ppm]`` (any unit of the same kind; concentrations also mg/m3 of the test's air);
        optional ``exit_uncertainty [%]``. The conditions stand in the first row of a test; in its other rows they are
        repeated or left blank.
        ``flow_rate`` is that through the whole set of ``in_parallel`` cartridges: of one that was tested alone it is
        multiplied by their number. ``worn_time`` counts from when the vapour was switched on.
    report
        Whose tests, of when.

    Returns
    -------
    TestTable
        The tests in their order. One with a faulty row is not used, and says why; the others are.

    Raises
    ------
    TableError
        The table cannot be read, or a column or its unit is missing.
    """
    needed = ("test", "vapour", *_CONDITIONS, "worn_time")
    if isinstance(table, (str, Path)):
        read = read_table(table, required=needed)
    else:
        read = table if isinstance(table, Table) else frame_to_table("table", table, required=needed)
    if not read.rows:
        raise TableError([f"{read.name}: there is no row below the header; one row a point is needed"])
    exits = _check_columns(read, needed)
    groups: dict[str, list[dict[str, Any]]] = {}
    curves: list[TestCurve] = []
    unnamed: list[str] = []
    for row in read.rows:
        if row["test"]:
            groups.setdefault(row["test"], []).append(row)
        else:
            unnamed.append(f"{read.name}, row {row['row']}: test is blank; every row names its test")
    faults: list[tuple[str, tuple[str, ...]]] = [("rows without a test", tuple(unnamed))] if unnamed else []
    for name, rows in groups.items():
        wrong = [fault for row in rows for fault in read.problems_in(row["row"])]
        conditions, more = _conditions(read.name, rows)
        wrong += more + [
            f"{read.name}, row {row['row']}: {c} is blank" for row in rows for c in ("worn_time", exits)
            if row[c] is None and not read.problems_in(row["row"])
        ]  # fmt: skip
        if wrong:
            faults.append((name, tuple(wrong)))
            continue
        try:
            curves.append(_curve(name, rows, conditions, exits, report, read.units))
        except RespcalcError as error:
            faults.append((name, tuple(f"{read.name}: {line}" for line in str(error).splitlines())))
    return TestTable(tuple(curves), tuple(faults))


def _curve(
    name: str, rows: list[dict[str, Any]], conditions: dict[str, Any], exits: str, report: str, units: dict[str, str]
) -> TestCurve:
    si = {key: term(_word(key, units)).quantity(value) for key, value in conditions.items() if key != "vapour"}
    through = np.array([row[exits] for row in rows])
    given: dict[str, Any] = {exits: term(_word(exits, units)).quantity(through)}
    if exits == "exit_fraction" and units[exits] != "%":
        given = {exits: through}
    spreads = [row.get("exit_uncertainty") for row in rows]
    if any(s is not None for s in spreads):
        if any(s is None for s in spreads):
            raise TableError([f"{name}: exit_uncertainty is blank in some rows; give it for all points or for none"])
        given["exit_uncertainty"] = np.array(spreads)
    return describe_curve(
        conditions["vapour"],
        report=report,
        worn_time=term("worn_time").quantity(np.array([row["worn_time"] for row in rows])),
        name=name,
        **given,
        **si,
    )


def _word(column: str, units: dict[str, str]) -> str:
    """The word of the vocabulary that a column holds."""
    if column not in ("concentration", "exit_concentration"):
        return column
    return _AMOUNTS[units[column] in FAMILIES["mass_concentration"].units]


def _conditions(table: str, rows: list[dict[str, Any]]) -> tuple[dict[str, Any], list[str]]:
    """The conditions of one test: from its first row; other rows repeat them or leave them blank."""
    found, faults = {}, []
    for column in ("vapour", *_CONDITIONS):
        first = rows[0][column]
        if first in (None, ""):
            faults.append(f"{table}, row {rows[0]['row']}: {column} is blank in the first row of its test")
            continue
        found[column] = first
        faults += [
            f"{table}, row {row['row']}: {column} differs from the first row of test {row['test']!r}; one test has one "
            "set of conditions, so give another test another name"
            for row in rows[1:]
            if row[column] not in (None, "", first) and not _alike(row[column], first)
        ]
    return found, faults


def _alike(one: Any, other: Any) -> bool:
    """One name in capitals or not."""
    return isinstance(one, str) and isinstance(other, str) and one.casefold() == other.casefold()


def _check_columns(table: Table, needed: tuple[str, ...]) -> str:
    """Refuse columns that are missing or lack a usable unit; say which one has the exits."""
    columns = set(table.units) | {c for row in table.rows[:1] for c in row}
    faults = [f"{table.name}: column {c!r} is missing" for c in needed if c not in columns]
    exits = [c for c in _EXITS if c in columns]
    if len(exits) != 1:
        faults.append(
            f"{table.name}: one column 'exit_fraction [%]' or 'exit_concentration [ppm]' is needed, and "
            f"{'both are there' if exits else 'neither is there'}"
        )
    faults += [
        f"{table.name}, column {c!r}: the header needs a unit, such as '{c} [{unit}]'"
        for c, unit in {**_CONDITIONS, **_POINT}.items()
        if c in columns and c not in table.units
    ]
    for column in ("concentration", "exit_concentration"):
        unit = table.units.get(column, "ppm")
        if not any(unit in FAMILIES[family].units for family in _AMOUNTS):
            faults.append(
                f"{table.name}, column {column!r}: unit {unit!r} is none of a concentration in air: "
                f"{FAMILIES['volume_fraction'].offered()}, or by mass {FAMILIES['mass_concentration'].offered()}"
            )
    if faults:
        raise TableError(faults)
    return exits[0]
