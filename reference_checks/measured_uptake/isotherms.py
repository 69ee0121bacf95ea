"""The measured isotherms, with what respcalc knows of each vapour at the temperature of the test."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import groupby
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from respcalc.core.tables import read_table
from respcalc.models import capacity
from respcalc.vapours import Vapour, find_vapour

__all__ = ["BANDS", "NOT_ADSORBED", "Isotherm", "band", "by", "isotherms"]

NOT_ADSORBED = "50-00-0"
"""Formaldehyde: the library refuses it, and so its four rows are kept in the table but not predicted."""

BANDS = ("below 20 Pa", "20-100 Pa", "100-500 Pa", "500-2000 Pa", "above 2000 Pa")
_EDGES = (20.0, 100.0, 500.0, 2000.0)


def band(pressure: float) -> str:
    """Name of the band that a partial pressure [Pa] lies in; each edge belongs to the band above it."""
    return BANDS[int(np.searchsorted(_EDGES, pressure, side="right"))]


@dataclass(frozen=True, eq=False)
class Isotherm:
    """One vapour on one carbon at one temperature, as one paper measured it once. Pressures rise."""

    cases: tuple[str, ...]
    vapour: str
    carbon: str
    doi: str
    grade: str
    temperature: float
    pressure: NDArray[np.float64]
    loading: NDArray[np.float64]
    known: Vapour

    @cached_property
    def saturation_pressure(self) -> float:
        return self.known.saturation_pressure(self.temperature).value

    @cached_property
    def liquid_density(self) -> float:
        return self.known.liquid_density(self.temperature).value

    @cached_property
    def potential(self) -> NDArray[np.float64]:
        """Adsorption potential of each point [J/mol]."""
        return np.asarray(
            capacity.adsorption_potential.si(
                temperature=self.temperature,
                saturation_pressure=self.saturation_pressure,
                partial_pressure=self.pressure,
            )
        )

    @cached_property
    def volume(self) -> NDArray[np.float64]:
        """Volume that the loading would fill as a liquid [m3/kg]."""
        return self.loading / self.liquid_density

    def loading_at(self, pressure: float) -> float | None:
        """Loading at a pressure, straight in logarithms between measured neighbours; None outside them."""
        if not self.pressure[0] <= pressure <= self.pressure[-1]:
            return None
        return float(np.exp(np.interp(np.log(pressure), np.log(self.pressure), np.log(self.loading))))


def _isotherm(rows: list[dict[str, Any]]) -> Isotherm:
    first = rows[0]
    return Isotherm(
        tuple(row["case"] for row in rows),
        first["vapour"],
        first["carbon"],
        first["doi"],
        first["grade"],
        first["temperature"],
        np.array([row["partial_pressure"] for row in rows]),
        np.array([row["capacity"] for row in rows]),
        find_vapour(first["cas"]),
    )


@cache
def isotherms(grades: str = "AB") -> tuple[Isotherm, ...]:
    """Every isotherm of these grades, in the order of the table."""
    table = read_table(Path(__file__).parent / "uptake.csv", required=["case"]).strict()
    chosen = [row for row in table if row["grade"] in grades and row["cas"] != NOT_ADSORBED]
    names = ("doi", "carbon", "temperature", "cas", "locator")
    return tuple(_isotherm(list(rows)) for _, rows in groupby(chosen, key=lambda row: tuple(row[n] for n in names)))


def by(key: Callable[[Isotherm], Any], among: Iterable[Isotherm]) -> dict[Any, list[Isotherm]]:
    """Gather isotherms by a key, in order of first appearance."""
    found: dict[Any, list[Isotherm]] = {}
    for isotherm in among:
        found.setdefault(key(isotherm), []).append(isotherm)
    return found
