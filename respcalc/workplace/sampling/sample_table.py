"""A survey's table of samples: several groups and vapours, one row a sample."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from respcalc.core.errors import DomainError, RespcalcError, TableError, UnknownVapour
from respcalc.core.tables import Table, frame_to_table, read_table
from respcalc.core.units import FAMILIES, Concentration, Reading
from respcalc.core.vocabulary import read, single
from respcalc.vapours import Vapour, find_vapour, vapour_key
from respcalc.workplace.air import Air
from respcalc.workplace.sampling.samples import KINDS, Sample, SampleGroup, make_sample

__all__ = ["SampleTable", "read_samples"]

_NEEDED = ("group", "vapour", "result")
_TIMES = ("sampled", "worn")
_TEXT = ("group", "vapour", "kind", "worker", "date")
_COLUMNS = {*_NEEDED, *_TIMES, *_TEXT}
_REMARKS = {"remark", "remarks", "note", "notes", "comment", "comments", "sample", "id", "task", "place", "method"}


@dataclass(frozen=True)
class SampleTable:
    """The groups of a table: those that hold, and what is wrong with the others.

    ``table["spray booth", "toluene"]`` is the group of that name and vapour.
    """

    groups: tuple[SampleGroup, ...]
    faults: tuple[tuple[str, tuple[str, ...]], ...] = ()  # group and vapour, the faults

    def strict(self) -> tuple[SampleGroup, ...]:
        """Return the groups, or refuse them if any is faulty.

        Raises
        ------
        TableError
            Listing every fault.
        """
        if self.faults:
            raise TableError([fault for _, faults in self.faults for fault in faults])
        return self.groups

    def __getitem__(self, key: tuple[str, str | Vapour]) -> SampleGroup:
        """Find a group by its name and any name of its vapour.

        Raises
        ------
        TableError
            The table has no such group, or its rows are faulty.
        UnknownVapour
            The name of the vapour is not known, or means several.
        """
        if not isinstance(key, tuple) or len(key) != 2:
            raise TypeError(f'{key!r}: look a group up by its name and vapour, such as table["spray booth", "toluene"]')
        own = {_same(g.vapour.name): g.vapour for g in self.groups}
        vapour = key[1] if isinstance(key[1], Vapour) else own.get(_same(key[1])) or find_vapour(key[1])
        for group in self.groups:
            if _same(group.name) == _same(key[0]) and vapour_key(group.vapour) == vapour_key(vapour):
                return group
        wrong = [
            fault
            for name, faults in self.faults
            for fault in faults
            if _same(name) in (_same(f"{key[0]}, {vapour.name}"), _same(key[0]))
        ]
        if wrong:
            raise TableError(wrong)
        there = "; ".join(f"{g.name}, {g.vapour.name}" for g in self.groups) or "none"
        raise TableError([f"there are no samples of {vapour.name} in the group {key[0]!r}; there are: {there}"])

    def __str__(self) -> str:
        lines = [str(group) for group in self.groups]
        return "\n".join(lines + [f"{name}: NOT USED: {' | '.join(faults)}" for name, faults in self.faults])


def read_samples(
    table: Table | str | Path | Any,
    *,
    report: str,
    air: Air | None = None,
    shift: Any = None,
    vapours: Sequence[Vapour] = (),
) -> SampleTable:
    """Read air samples from a table, one row a sample.

    Parameters
    ----------
    table
        CSV or XLSX file, `Table`, or a DataFrame with units in its headers. Columns: ``group`` (of similar exposure),
        ``vapour``, ``result [ppm]`` or ``result [mg/m3]``; ``<0.5`` is below that limit. Optional: ``kind`` (``wear``,
        also where blank, or ``peak`` for a short-term sample), ``sampled [min]`` (how long the sampler ran), ``worn
        [min]`` (for how long of that the respirator was worn), ``worker``, ``date``, and remarks (``note``, ``sample``,
        ``place``, ``method`` and the like).
    report
        Whose samples, of when.
    air
        From `describe_air`; needed for mg/m3.
    shift
        Length of the shift [min]: no sample can have run or been worn for longer.
    vapours
        Vapours of your own, from `define_vapour`; the table calls them by their names.

    Returns
    -------
    SampleTable
        The groups in their order. A group with a faulty row is not used, and says why; the others are. A row whose
        vapour is not known could be of any vapour of its group, so none of that group is used; one without a group
        could be of any group with its vapour.

    Raises
    ------
    TableError
        The table cannot be read, has no rows, or a column or its unit is missing or unknown.
    UnitsError, DomainError
        A shift that is no time; no report.
    """
    if not isinstance(report, str) or not report.strip():
        raise DomainError(
            f'report = {report!r}: say whose samples these are and of when, such as report="own, May 2026"'
        )
    if air is not None and not isinstance(air, Air):
        raise TypeError(f"air = {air!r}: an Air is needed; make one with describe_air(...)")
    longest = None if shift is None else single("shift", read("sampling_time", shift, as_argument="shift"))
    if table is None:
        raise TypeError("table = None: a file, a Table or a DataFrame is needed")
    if isinstance(table, (str, Path)):
        rows = read_table(table, required=_NEEDED, censored=("result",))
    else:
        rows = (
            table
            if isinstance(table, Table)
            else frame_to_table("table", table, required=_NEEDED, censored=("result",))
        )
    _check_columns(rows)
    own = {_same(vapour.name): vapour for vapour in vapours}
    return _Survey(rows, report.strip(), air, longest, own).read()


@dataclass
class _Survey:
    """The rows of a table on their way into groups."""

    table: Table
    report: str
    air: Air | None
    shift: float | None
    own: Mapping[str, Vapour]

    def read(self) -> SampleTable:
        names: dict[str, str] = {}  # as compared -> as first written
        samples: dict[tuple[str, str], list[Sample]] = {}
        vapours: dict[tuple[str, str], Vapour] = {}
        faults: dict[tuple[str, str], list[str]] = {}
        whole: dict[str, list[str]] = {}  # faults that hit every vapour of a group
        nowhere: list[str] = []
        stray: set[str] = set()  # vapours of rows without a group: of any group, for all that is known
        for row in self.table.rows:
            name = _same(row["group"])
            if not name:
                nowhere += [f"{self._at(row, 'group')} is blank; every row names its group"]
                try:
                    stray.add(vapour_key(self._vapour(row)))
                except (UnknownVapour, DomainError):
                    stray.add("")
                continue
            names.setdefault(name, row["group"].strip())
            try:
                vapour = self._vapour(row)
            except (UnknownVapour, DomainError) as error:
                whole.setdefault(name, []).append(str(error))
                continue
            key = (name, vapour_key(vapour))
            vapours.setdefault(key, vapour)
            samples.setdefault(key, [])
            wrong = self.table.problems_in(row["row"])
            if self.air is None and self._by_mass:
                wrong = [self._no_air, *wrong]
            elif not wrong:
                try:
                    samples[key].append(self._sample(row, vapour))
                except RespcalcError as error:
                    wrong = [f"{self.table.name}, {line}" for line in str(error).splitlines()]
            if wrong:
                known = faults.setdefault(key, [])
                known += [fault for fault in wrong if fault not in known]
        for key in samples:
            if "" in stray or key[1] in stray:
                faults.setdefault(key, []).extend(nowhere)
        groups = tuple(
            SampleGroup(names[key[0]], vapours[key], tuple(found), self.report, self.air)
            for key, found in samples.items()
            if key not in faults and key[0] not in whole
        )
        listed = [("rows without a group", tuple(nowhere))] if nowhere else []
        listed += [(names[name], tuple(wrong)) for name, wrong in whole.items()]
        listed += [(f"{names[key[0]]}, {vapours[key].name}", tuple(wrong)) for key, wrong in faults.items()]
        return SampleTable(groups, tuple(listed))

    @property
    def _by_mass(self) -> bool:
        return self.table.units["result"] in FAMILIES["mass_concentration"].units

    @property
    def _no_air(self) -> str:
        return (
            f"{self.table.name}, column 'result' is in {self.table.units['result']}: what that is in ppm depends on "
            'the air; give air=describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m"), with '
            "your values"
        )

    def _at(self, row: dict[str, Any], column: str) -> str:
        return f"{self.table.name}, row {row['row']}, column {column!r}"

    def _vapour(self, row: dict[str, Any]) -> Vapour:
        if not row["vapour"]:
            raise DomainError(f"{self._at(row, 'vapour')} is blank; every row names its vapour")
        if (mine := self.own.get(_same(row["vapour"]))) is not None:
            return mine
        try:
            return find_vapour(row["vapour"])
        except UnknownVapour as error:
            raise UnknownVapour(f"{self._at(row, 'vapour')}: {error}", error.suggestions) from None

    def _sample(self, row: dict[str, Any], vapour: Vapour) -> Sample:
        def where(field: str) -> str:
            return f"row {row['row']}, column {field!r}"

        kind = (row.get("kind") or "wear").strip().casefold()
        if kind not in KINDS:
            raise DomainError(
                f"{where('kind')}: {row['kind']!r} is not one of {', '.join(KINDS)} (peak: a short-term sample, of "
                "15 min, say)"
            )
        reading = row["result"]
        if not isinstance(reading, Reading):
            if reading is None:
                raise DomainError(
                    f"{where('result')} is blank; every row has a result, or the limit it is below (<0.5)"
                )
            reading = Reading(float(reading))
        date = str(row.get("date") or "").removesuffix(" 00:00:00")  # what a workbook adds to a day
        return make_sample(
            Concentration(reading.value, "mass" if self._by_mass else "volume"),
            reading.below,
            kind="peak" if kind == "peak" else "wear",
            sampled=row.get("sampled"),
            worn=row.get("worn"),
            vapour=vapour,
            air=self.air,
            shift=self.shift,
            where=where,
            worker=str(row.get("worker") or ""),
            date=date,
        )


def _same(name: str) -> str:
    """Spelling that two names of a group share when only case or blanks differ."""
    return " ".join(str(name).split()).casefold()


def _check_columns(table: Table) -> None:
    if not table.rows:
        raise TableError([f"{table.name}: there is no row below the header; one row a sample is needed"])
    columns = {c for c in table.rows[0] if c != "row"}
    faults = [f"{table.name}: column {c!r} is missing" for c in _NEEDED if c not in columns]
    for column in sorted(columns - _COLUMNS - _REMARKS):  # a time, sign or kind under another name must not be lost
        meant = difflib.get_close_matches(column.casefold(), sorted(_COLUMNS), n=1, cutoff=0.6)
        hint = f"; {meant[0]!r} may be meant" if meant else ""
        known, aside = ", ".join(sorted(_COLUMNS)), ", ".join(sorted(_REMARKS))
        faults.append(
            f"{table.name}, column {column!r} is not known here{hint}; the columns are {known}, and for remarks {aside}"
        )
    wanted = {"result": ("volume_fraction", "mass_concentration"), "sampled": ("time",), "worn": ("time",)}
    for column, families in wanted.items():
        if column not in columns:
            continue
        unit = table.units.get(column)
        if unit is None:
            faults.append(
                f"{table.name}, column {column!r}: the header needs a unit, such as '{column} [{_USUAL[column]}]'"
            )
        elif not any(unit in FAMILIES[f].units for f in families):
            offered = ", ".join(FAMILIES[f].offered() for f in families)
            faults.append(f"{table.name}, column {column!r}: unit {unit!r} is not one of {offered}")
    faults += [f"{table.name}, column {c!r} is text and takes no unit" for c in _TEXT if c in table.units]
    if faults:
        raise TableError(faults)


_USUAL = {"result": "ppm", "sampled": "min", "worn": "min"}
