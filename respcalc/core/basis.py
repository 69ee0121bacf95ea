"""The reasons behind a number: every value used, where it came from, every warning."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from respcalc.core.sources import source
from respcalc.core.vocabulary import term

__all__ = ["Basis", "Datum", "Kind"]

Kind = Literal["given", "measured", "compiled", "predicted", "computed", "regulation", "memory", "assumed", "default"]
"""How a value is known. "given" is the user's own; "assumed" and "default" are ours and shown as such."""


@dataclass(frozen=True, slots=True)
class Datum:
    """One value (SI) with its origin. ``quantity`` names it in the vocabulary."""

    quantity: str
    value: float
    kind: Kind
    source: str = ""  # key in sources.toml; empty for a user's own value
    locator: str = ""
    note: str = ""
    label: str = ""  # when the vocabulary's name is not enough ("flow_rate of one cartridge")

    def __post_init__(self) -> None:
        term(self.quantity)  # a wrong word or key fails here, not on the day the record is printed
        if self.source:
            source(self.source)

    @property
    def name(self) -> str:
        return self.label or self.quantity

    @property
    def printed(self) -> str:
        return term(self.quantity).show(self.value)

    def __str__(self) -> str:
        return f"{self.name} {self.printed}"

    @property
    def origin(self) -> str:
        """Source and locator in words."""
        where = source(self.source).citation if self.source else {"given": "given by the user"}.get(self.kind, "")
        return ", ".join(part for part in (where, self.locator) if part)

    @property
    def provenance(self) -> str:
        """Kind, origin and note in one line."""
        origin = f": {self.origin}" if self.source or self.locator else ""
        return f"{self.kind}{origin}{f' ({self.note})' if self.note else ''}"

    def as_dict(self) -> dict[str, Any]:
        word = term(self.quantity)
        return {
            "name": self.name,
            "value": float(word.in_printed_unit(self.value)),
            "unit": word.printed_unit,
            "kind": self.kind,
            "source": self.source,
            "origin": self.origin,
            "note": self.note,
        }


@dataclass(frozen=True, slots=True)
class Basis:
    """Everything that one result rests on."""

    data: tuple[Datum, ...] = ()
    choices: tuple[str, ...] = ()  # which model, which rule, and why
    warnings: tuple[str, ...] = ()

    def __add__(self, other: Basis) -> Basis:
        return Basis(self.data + other.data, self.choices + other.choices, self.warnings + other.warnings)

    def as_dict(self) -> dict[str, Any]:
        return {
            "values": [d.as_dict() for d in self.data],
            "choices": list(self.choices),
            "warnings": list(self.warnings),
        }
