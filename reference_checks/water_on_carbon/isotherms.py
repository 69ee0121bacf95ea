"""The measured isotherms: one carbon at one temperature, measured once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from respcalc.core.tables import read_table
from respcalc.models.constants import WATER_MOLAR_VOLUME

__all__ = ["DEFAULT_VOLUME", "HUMIDITIES", "WATER_VOLUME", "Isotherm", "between", "complete", "isotherms"]

Floats = NDArray[np.float64]

WATER_VOLUME = WATER_MOLAR_VOLUME / 18.015e-3
"""Volume of liquid water [m3/kg]."""

DEFAULT_VOLUME = 0.454e-3
"""Micropore volume of the library's default carbon [m3/kg], for carbons whose own is unknown."""

HUMIDITIES = np.arange(1, 10) / 10.0

_HERE = Path(__file__).parent
_LEAST_POINTS = 7


@dataclass(frozen=True, eq=False)
class Isotherm:
    """Points in order of rising humidity; uptake in kg of water a kg of carbon."""

    name: str
    carbon: str
    laboratory: str
    group: str  # commercial, oxidised, hot acid, other
    doi: str
    note: str
    temperature: float
    humidity: Floats
    uptake: Floats

    @property
    def share(self) -> Floats:
        """Volume of water over the micropore volume of the default carbon."""
        return self.uptake * WATER_VOLUME / DEFAULT_VOLUME


@cache
def isotherms() -> tuple[Isotherm, ...]:
    """Every isotherm of ``uptake.csv``."""
    rows = read_table(_HERE / "uptake.csv").strict().rows
    found = []
    for (carbon, name), points in groupby(rows, key=lambda r: (r["carbon"], r["isotherm"])):
        listed = list(points)
        first = listed[0]
        found.append(
            Isotherm(
                name, carbon, first["laboratory"], first["group"], first["doi"], first["note"],
                float(first["temperature"]),
                np.array([r["relative_humidity"] for r in listed]),
                np.array([r["water_uptake"] for r in listed]),
            )
        )  # fmt: skip
    return tuple(found)


def complete(curves: Iterable[Isotherm]) -> list[Isotherm]:
    """Those that show the whole rise, on one branch: only they can tell the shapes of models apart."""
    return [
        c for c in curves if c.humidity.size >= _LEAST_POINTS and c.humidity[-1] > 0.85 and c.note != "branches mixed"
    ]


def between(*groups: str) -> tuple[list[str], Floats]:
    """Names of the carbons of some groups, and a share for each at `HUMIDITIES`, NaN where none was measured.

    Isotherms of one carbon from one laboratory are averaged: the same carbon twice is one carbon.
    """
    own: dict[str, list[Floats]] = {}
    for curve in isotherms():
        if curve.group in groups:
            line = np.full(HUMIDITIES.size, np.nan)
            line[np.rint(curve.humidity * 10).astype(int) - 1] = curve.share
            own.setdefault(f"{curve.carbon} ({curve.laboratory})", []).append(line)
    shares = []
    for lines in own.values():
        stack = np.array(lines)
        count = np.sum(~np.isnan(stack), axis=0)
        shares.append(np.where(count > 0, np.nansum(stack, axis=0) / np.maximum(count, 1), np.nan))
    return list(own), np.array(shares)
