"""Whether a vapour's liquid mixes with water in all proportions: a yes or a no, with its origin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Kind
from respcalc.core.sources import source

__all__ = ["WaterMixing", "given_mixing", "read_mixing"]

_PRINTED = {True: "yes", False: "no", None: "not known"}


@dataclass(frozen=True, slots=True)
class WaterMixing:
    """Full miscibility with water at 20 to 25 degC. Water held by carbon dissolves such a vapour.

    Only mixing in all proportions counts: 2-butanone, of which water takes up a quarter, is a no.
    """

    mixes: bool | None  # None: not known
    kind: Kind
    source: str = ""  # key in sources.toml; empty for a user's own word
    locator: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        if self.source:
            source(self.source)

    def __str__(self) -> str:
        return f"mixes with water: {self.printed} ({self.provenance})"

    @property
    def printed(self) -> str:
        return _PRINTED[self.mixes]

    @property
    def origin(self) -> str:
        """Source and locator in words."""
        if self.mixes is None:
            return "not given by the user"
        where = source(self.source).citation if self.source else "given by the user"
        return ", ".join(filter(None, (where, self.locator)))

    @property
    def provenance(self) -> str:
        """Kind, origin and note in one line."""
        kind = {"memory": "from memory", "given": ""}.get(self.kind, self.kind)
        return "; ".join(filter(None, (kind, self.origin, self.note)))

    def as_dict(self) -> dict[str, Any]:
        return {
            "value": self.mixes,
            "kind": "" if self.mixes is None else self.kind,
            "source": self.source,
            "origin": self.origin,
            "note": self.note,
        }


def read_mixing(row: dict[str, Any]) -> WaterMixing:
    """Read the fact from a row of names.csv."""
    cell = row["mixes_with_water"]
    if cell not in ("yes", "no"):
        raise ValueError(f"names.csv, row {row['row']}: mixes_with_water = {cell!r} is neither yes nor no")
    return WaterMixing(cell == "yes", row["mixes_kind"], row["mixes_source"], row["mixes_locator"], row["mixes_note"])


def given_mixing(value: bool | None) -> WaterMixing:
    """Wrap a user's own word, or its absence."""
    note = "" if value is not None else "write mixes_with_water=True or mixes_with_water=False if you know it"
    return WaterMixing(value, "given", note=note)
