"""Exposure limits and IDLH of the shipped list, with their authority and averaging time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from respcalc.core.basis import Datum, Kind
from respcalc.core.tables import shipped_table

__all__ = ["ExposureLimits", "Limit", "LimitKind", "limits_of", "shipped_authorities"]

LimitKind = Literal["TWA", "STEL", "ceiling", "peak"]

_EPA_FROM_MEMORY = ("75-09-2",)
_TIME = re.compile(r"(?P<number>\d+(?:\.\d+)?) (?P<unit>h|min)\b")
_SHIFT = 8 * 3600.0


@dataclass(frozen=True, slots=True)
class Limit:
    """One exposure limit. ``value`` is a volume fraction."""

    authority: str  # "OSHA PEL", "NIOSH REL", "EPA ECEL", or the name that the user gave
    kind: LimitKind
    value: Datum
    averaging: str = ""
    note: str = ""

    def __str__(self) -> str:
        return ", ".join(filter(None, (f"{self.authority} {self.kind} {self.value.printed}", self.period, self.note)))

    @property
    def period(self) -> str:
        """Averaging time in words."""
        if not self.averaging:
            return ""
        return f"over {self.averaging}" if self.averaging[0].isdigit() else f"at {self.averaging}"

    @property
    def averaged_over(self) -> float:
        """Averaging time [s]; 0 for a limit that holds at any moment. Of a peak: how long it may last."""
        found = _TIME.match(self.averaging)
        if found is None:
            return _SHIFT if self.kind == "TWA" else 15 * 60.0 if self.kind == "STEL" else 0.0
        return float(found["number"]) * (3600.0 if found["unit"] == "h" else 60.0)

    def as_dict(self) -> dict[str, Any]:
        return {
            "authority": self.authority,
            "kind": self.kind,
            "averaging": self.averaging,
            "note": self.note,
            **{
                f"limit_{key}": item for key, item in self.value.as_dict().items() if key in ("value", "unit", "origin")
            },
        }


@dataclass(frozen=True, slots=True)
class ExposureLimits:
    """Every limit of one vapour that is shipped or was given; iterates over the limits."""

    limits: tuple[Limit, ...] = ()
    idlh: Datum | None = None
    carcinogen: bool = False
    skin: bool = False
    note: str = ""

    def __iter__(self) -> Iterator[Limit]:
        return iter(self.limits)

    def __len__(self) -> int:
        return len(self.limits)

    def __getitem__(self, index: int) -> Limit:
        return self.limits[index]

    def strictest(self, kind: LimitKind = "TWA") -> Limit | None:
        """Lowest limit of one kind; None when there is none."""
        return min((x for x in self.limits if x.kind == kind), key=lambda x: x.value.value, default=None)

    def strictest_any(self) -> Limit | None:
        """Lowest limit of any kind; None when there is none."""
        return min(self.limits, key=lambda x: x.value.value, default=None)

    def as_dict(self) -> dict[str, Any]:
        return {
            "limits": [limit.as_dict() for limit in self.limits],
            "idlh": None if self.idlh is None else self.idlh.as_dict(),
            "carcinogen": self.carcinogen,
            "skin": self.skin,
            "note": self.note,
        }


# column, authority, kind, column of the averaging time, averaging time when that is blank
_COLUMNS: tuple[tuple[str, str, LimitKind, str, str], ...] = (
    ("osha_pel_twa", "OSHA PEL", "TWA", "", "8 h"),
    ("osha_pel_stel", "OSHA PEL", "STEL", "", "15 min"),
    ("osha_pel_ceiling", "OSHA PEL", "ceiling", "osha_ceiling_averaging", "any time"),
    ("osha_peak", "OSHA PEL", "peak", "osha_peak_averaging", ""),
    ("niosh_rel_twa", "NIOSH REL", "TWA", "", "10 h"),
    ("niosh_rel_stel", "NIOSH REL", "STEL", "niosh_stel_averaging", "15 min"),
    ("niosh_rel_ceiling", "NIOSH REL", "ceiling", "niosh_ceiling_averaging", "any time"),
    ("epa_ecel", "EPA ECEL", "TWA", "", "8 h"),
    ("epa_stel", "EPA ECEL", "STEL", "", "15 min"),
)


def shipped_authorities() -> tuple[str, ...]:
    """Every authority of which limits are shipped."""
    return tuple(dict.fromkeys(authority for _, authority, *_ in _COLUMNS))


def _limit(row: dict[str, Any], column: str, authority: str, kind: LimitKind, averaging: str) -> Limit:
    source, locator, how, note = row["source"], row["locator"], row["kind"], ""
    if authority == "OSHA PEL" and row["osha_standard"]:
        locator = f"{locator}; 29 CFR {row['osha_standard']}"
    if column == "osha_pel_ceiling" and row["cas"] == "111-44-4":
        source, locator = "osha_z_tables", "Table Z-1 (the guide prints a TWA)"
    if authority == "EPA ECEL":
        source, locator = "epa_tsca_751", "40 CFR 751"
        how = "memory" if row["cas"] in _EPA_FROM_MEMORY else "regulation"
    if kind == "peak":
        note = "maximum peak above the ceiling"
    if how == "memory":
        note = "; ".join(filter(None, (note, "from memory")))
    value = Datum("exposure_limit", row[column], how, source, locator, note, f"{authority} {kind}")
    return Limit(authority, kind, value, averaging, note)


def _idlh(row: dict[str, Any]) -> Datum | None:
    value, guide = row["idlh"], row["idlh_guide_2018"]
    if value is None:
        return None
    note = row["note"] if row["note"].startswith("IDLH set") else ""
    if value != guide:
        before = "none" if guide is None else f"{guide * 1e6:g} ppm"
        note = f"revised in 2017; the 2018 guide file prints {before}"
    locator = "value profile" if row["idlh_source"] == "niosh_idlh_profiles_2017" else row["locator"]
    return Datum("exposure_limit", value, _as_kind(row["idlh_kind"]), row["idlh_source"], locator, note, "IDLH")


def _as_kind(text: str) -> Kind:
    return "memory" if text == "memory" else "regulation"


@cache
def _all_limits() -> dict[str, ExposureLimits]:
    found = {}
    for row in shipped_table("respcalc.vapours", "exposure_limits.csv"):
        if not row["cas"]:
            continue
        limits = tuple(
            _limit(row, column, authority, kind, (row[column_of_averaging] if column_of_averaging else "") or usual)
            for column, authority, kind, column_of_averaging, usual in _COLUMNS
            if row[column] is not None
        )
        found[row["cas"]] = ExposureLimits(
            limits,
            _idlh(row),
            carcinogen=row["niosh_carcinogen"] == "Y",
            skin="Y" in (row["osha_skin"], row["niosh_skin"]),
            note=row["note"],
        )
    return found


def limits_of(cas: str) -> ExposureLimits:
    """Limits of one listed substance."""
    return _all_limits()[cas]
