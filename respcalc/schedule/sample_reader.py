"""Air samples of a plan: tables of them, and the concentration that a task is planned for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import TableError
from respcalc.core.vocabulary import read
from respcalc.schedule.toml_fields import Fields
from respcalc.vapours import Vapour, vapour_key
from respcalc.workplace import Air
from respcalc.workplace.sampling import (
    DesignConcentration,
    SampleGroup,
    describe_samples,
    design_concentration,
    read_samples,
)

__all__ = ["KnownSamples", "SampleKeys", "read_sample_keys", "read_samples_entry"]

_STANDARD = (
    Datum("temperature", 298.15, "assumed", note="standard air"),
    Datum("pressure", 101325.0, "assumed", note="standard air"),
)
_INLINE = ("results", "peaks", "sampled", "worn")
_CHOSEN = re.compile(r"\bchosen(_because\b|(?= ?=))")  # the argument, by the plan's name for it
_UPSET = ("upset", "upset_basis")


@dataclass(frozen=True)
class KnownSamples:
    """A table of samples that the plan names."""

    id: str
    path: Path
    report: str
    shift: Any = None  # no sample can have run for longer

    def groups(
        self, name: str, vapour: Vapour, air: Air, own: Sequence[Vapour]
    ) -> tuple[SampleGroup | None, list[str], list[str]]:
        """Find a group by its name, or say what is wrong with it; and the names of all groups of the table."""
        try:
            table = read_samples(self.path, report=self.report, air=safe_air(air), shift=self.shift, vapours=own)
        except TableError as error:
            return None, list(error.problems), []
        there = list(dict.fromkeys(g.name for g in table.groups))
        wanted = _plain(name)
        rows = [g for g in table.groups if _plain(g.name) == wanted]
        titles = (wanted, f"{wanted}, {vapour.name.casefold()}")  # of a fault that hits all of a group, or one vapour
        faults = [f for title, fs in table.faults for f in fs if _plain(title) in titles]
        found = next((g for g in rows if vapour_key(g.vapour) == vapour_key(vapour)), None)
        if found is not None:
            return found, [], there
        if rows or faults:
            has = ", ".join(g.vapour.name for g in rows) or "none"
            fault = f"samples {self.id}: group {name!r} has none of {vapour.name} (it has: {has})"
            return None, faults or [fault], there
        return None, [], there


def safe_air(air: Air) -> Air:
    """Return the air that mg/m3 become ppm in: that of the task, or 25 degC and one atmosphere where that is more ppm.

    A laboratory states mg/m3 for the air that was sampled or for standard air, and a table does not say which.
    """
    return replace(
        air,
        temperature=max((air.temperature, _STANDARD[0]), key=lambda d: d.value),
        pressure=min((air.pressure, _STANDARD[1]), key=lambda d: d.value),
    )


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


def read_samples_entry(fields: Fields, folder: Path) -> KnownSamples | None:
    """Read one [[samples]] entry; its table is read for each task, in that task's air.

    Parameters
    ----------
    fields
        The table of the entry; faults are added to it.
    folder
        Where the table is looked for.

    Returns
    -------
    KnownSamples or None
        None with a fault.
    """
    name = fields.text("id", required=True, example='"survey of May"')
    table = fields.text("table", required=True, example='"samples.csv" (beside the plan)')
    report = fields.text("report", required=True, example='"own survey, May 2026, laboratory report 12"')
    shift = fields.single("shift")
    if shift is not None:
        fields.attempt(lambda: read("sampling_time", shift, as_argument="shift"))
    fields.done()
    path = folder / table
    if table and not path.is_file():
        fields.faults.append(f"{fields.where}: table = {table!r}: there is no such file beside the plan ({path})")
    return None if fields.faults else KnownSamples(name, path, report, shift)


@dataclass(frozen=True)
class SampleKeys:
    """What one [[task.vapour]] says of samples, taken from it as they are."""

    group: str
    table: str
    inline: Mapping[str, Any]
    upset: Any
    upset_basis: str
    because: str

    @property
    def given(self) -> bool:
        """Whether the concentration comes from samples."""
        return bool(self.group) or "results" in self.inline

    def design(
        self,
        entry: Fields,
        vapour: Vapour,
        air: Air,
        tables: Mapping[str, Any],
        stated: Any,
        basis: str,
        own: Sequence[Vapour] = (),
        hours_of_use: float | None = None,
    ) -> DesignConcentration | None:
        """Choose the concentration from the samples; what is wrong becomes a fault of the entry.

        Parameters
        ----------
        entry
            The table of the vapour.
        vapour, air
            What was sampled, in the air of the task.
        tables
            The [[samples]] of the plan, by id; a faulty one is its list of faults.
        stated
            ``concentration`` of the entry, which overrules the rule; None without.
        basis
            ``based_on`` of the entry: the report of results that stand in the plan itself.
        own
            The vapours that the plan describes itself.
        hours_of_use
            How long the respirator is worn a shift, without breaks [s]: a sample that ran longer is scaled to it.

        Returns
        -------
        DesignConcentration or None
        """
        group = self._inline(entry, vapour, air, basis) if "results" in self.inline else self._group(
            entry, vapour, air, tables, own
        )  # fmt: skip
        if group is None:
            return None
        if hours_of_use is not None:
            group = entry.attempt(partial(group.worn_at_most, hours_of_use))
        if group is None:
            return None
        before = len(entry.faults)
        made: DesignConcentration | None = entry.attempt(
            lambda: design_concentration(
                group, upset=self.upset, upset_basis=self.upset_basis, chosen=stated, chosen_because=self.because
            )
        )
        entry.faults[before:] = [_CHOSEN.sub(r"concentration\1", fault) for fault in entry.faults[before:]]
        return made

    def _inline(self, entry: Fields, vapour: Vapour, air: Air, basis: str) -> SampleGroup | None:
        made: SampleGroup | None = entry.attempt(
            lambda: describe_samples(
                vapour, self.inline["results"], sampled=self.inline.get("sampled"), worn=self.inline.get("worn"),
                peaks=self.inline.get("peaks", ()), air=safe_air(air), report=basis,
            )
        )  # fmt: skip
        return made

    def _group(
        self, entry: Fields, vapour: Vapour, air: Air, tables: Mapping[str, Any], own: Sequence[Vapour]
    ) -> SampleGroup | None:
        if self.table and self.table not in tables:
            known = ", ".join(tables) or "none"
            entry.faults.append(f"{entry.where}: samples_from {self.table!r} is not among the [[samples]] ({known})")
            return None
        found: list[SampleGroup] = []
        faults: list[str] = []
        there: list[str] = []
        for name, table in tables.items():
            if self.table in ("", name):
                if isinstance(table, list):
                    entry.faults += table
                    return None
                group, wrong, names = table.groups(self.group, vapour, air, own)
                faults += wrong
                there += names
                found += [group] if group is not None else []
        if len(found) == 1 and not faults:
            return found[0]
        if len(found) > 1:
            faults = [f"group {self.group!r} is in several [[samples]]; say which: samples_from"]
        elif not faults:
            known = ", ".join(tables) or "none"
            faults = [
                f"samples = {self.group!r}: no table of [[samples]] ({known}) has a group of that name; there are: "
                f"{', '.join(dict.fromkeys(there)) or 'none'}"
            ]
        entry.faults += [f"{entry.where}: {fault}" for fault in faults]
        return None


def read_sample_keys(entry: Fields) -> SampleKeys:
    """Take what one [[task.vapour]] says of samples.

    Parameters
    ----------
    entry
        The table of the vapour; faults are added to it.

    Returns
    -------
    SampleKeys
    """
    keys = SampleKeys(
        group=entry.text("samples"),
        table=entry.text("samples_from"),
        inline={key: value for key in _INLINE if (value := entry.raw(key)) is not None},
        upset=entry.single("upset"),
        upset_basis=entry.text("upset_basis"),
        because=entry.text("concentration_because"),
    )
    if keys.group and keys.inline:
        entry.faults.append(f"{entry.where}: samples and {', '.join(keys.inline)} are both given; give one of them")
    elif keys.inline and "results" not in keys.inline:
        entry.faults.append(f"{entry.where}: {', '.join(keys.inline)} without results, the long samples")
    if keys.table and not keys.group:
        entry.faults.append(f"{entry.where}: samples_from is given without samples, the name of a group in it")
    if not keys.given:
        loose = [key for key in (*_UPSET, "concentration_because") if entry.peek(key) is not None]
        if loose:
            entry.faults.append(
                f"{entry.where}: {', '.join(loose)} belong to samples or results; without them the concentration is "
                "the highest that occurs, upsets included"
            )
    return keys
