"""One condition of the gate, and the words that several of them share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.vocabulary import term

__all__ = ["SUPPLIED", "SUPPLIED_IDLH", "Criterion"]

SUPPLIED = "an atmosphere-supplying respirator"
SUPPLIED_IDLH = (
    "a full-facepiece pressure-demand SCBA, or a pressure-demand supplied-air respirator with escape air; reduce the "
    "concentration first if people must work there"
)


@dataclass(frozen=True)
class Criterion:
    """One condition: what was found, what is allowed, where that is written, what to do instead.

    ``value`` and ``bound`` are the numbers behind the words, in SI, named by ``quantity`` in the vocabulary;
    None where the condition is none of numbers.
    """

    name: str
    met: bool
    found: str
    allowed: str
    source: str
    instead: str = ""
    value: float | None = None
    bound: float | None = None
    quantity: str = ""
    judged: bool = True  # False: there is nothing to hold it against, and a qualified person must
    air_supply: int = 0  # where it is not met: 1 no filter will do, 2 only what air at the IDLH level asks for

    def as_dict(self) -> dict[str, Any]:
        """Return the condition with its numbers in the printed unit."""
        numbers: dict[str, Any] = {"value": self.value, "bound": self.bound, "unit": ""}
        if self.quantity:
            word = term(self.quantity)
            numbers = {
                key: None if number is None else float(word.in_printed_unit(number))
                for key, number in (("value", self.value), ("bound", self.bound))
            } | {"unit": word.printed_unit}
        return {
            "criterion": self.name, "met": self.met, "judged": self.judged, "found": self.found,
            "allowed": self.allowed, **numbers, "source": self.source, "instead": self.instead,
        }  # fmt: skip

    def __str__(self) -> str:
        verdict = "met" if self.met else f"NOT MET; needed instead: {self.instead}"
        verdict = verdict if self.judged else "not judged here"
        return f"{self.name}: {self.found}; {self.allowed} ({self.source}): {verdict}"
