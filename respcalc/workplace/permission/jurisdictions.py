"""Whose rules hold: where limits, protection factors and the least oxygen are taken from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.tables import shipped_table

__all__ = ["Jurisdiction", "jurisdiction", "jurisdictions"]

HOME = "US"
"""The jurisdiction whose limits are shipped; its tables hold where none is named, and that is said."""


@dataclass(frozen=True)
class Jurisdiction:
    """One set of rules: a country, or countries that share a standard."""

    name: str
    family: str  # "US", "EN", "AS/NZS"
    binding: tuple[str, ...]  # authorities whose limits are law there and are shipped
    advisory: tuple[str, ...]  # authorities whose limits are recommendations there and are shipped
    least_oxygen: Datum
    limits_note: str = ""
    low_boiler_type: str = ""  # the type of element that low boilers need there, if types part at 65 degC

    @property
    def authorities(self) -> tuple[str, ...]:
        """Authorities of which limits are shipped, those that are law first."""
        return self.binding + self.advisory

    def __str__(self) -> str:
        return self.name


@cache
def _all() -> dict[str, tuple[Jurisdiction, tuple[str, ...]]]:
    found = {}
    for row in shipped_table("respcalc.workplace.permission", "jurisdictions.csv"):
        oxygen = Datum("oxygen", row["least_oxygen"], row["kind"], row["source"], note=row["oxygen_note"])
        made = Jurisdiction(
            row["jurisdiction"], row["family"], _listed(row["binding"]), _listed(row["advisory"]), oxygen,
            row["limits_note"], row["low_boiler_type"],
        )  # fmt: skip
        found[made.name] = (made, _listed(row["also"]))
    return found


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split("|") if part)


def jurisdictions() -> tuple[Jurisdiction, ...]:
    """Every jurisdiction whose rules are known here."""
    return tuple(made for made, _ in _all().values())


def jurisdiction(name: Any = HOME) -> Jurisdiction:
    """Look a jurisdiction up by its name.

    Parameters
    ----------
    name
        Such as ``"US"``, ``"Germany"``, ``"UK"``; a usual other name will do. The US where none is given: its
        limits are the ones that are shipped.

    Returns
    -------
    Jurisdiction

    Raises
    ------
    DomainError
        Not known; the message lists those that are.

    Examples
    --------
    >>> jurisdiction("Deutschland").least_oxygen.printed
    '19.5 %'
    """
    if isinstance(name, Jurisdiction):
        return name
    wanted = " ".join(str(name).split()).casefold()
    for made, also in _all().values():
        if wanted in (made.name.casefold(), *(other.casefold() for other in also)):
            return made
    known = ", ".join(made.name for made in jurisdictions())
    raise DomainError(
        f"jurisdiction = {name!r:.80} is not known here; choose one of: {known}. For any other leave it out, give the "
        "limits with their authority, and have a qualified person confirm protection factors and rules"
    )
