"""The sources under the properties: the property library's correlations, the guide's rows, the reviewed rows."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from respcalc.core.tables import shipped_table

__all__ = [
    "DENSITY_METHODS",
    "GUIDE",
    "LIBRARY",
    "PRESSURE_METHODS",
    "Correlation",
    "Review",
    "correlations",
    "corresponding_states",
    "guide_rows",
    "reviews",
]

LIBRARY = "chemicals_library"
GUIDE = "niosh_pocket_guide_2018"

# Order of trust, and what each label of the property library stands for. VDI_TABULAR is left out
# (interpolation beyond its table went wrong by factors). Corresponding-states estimates only check a line through
# the guide's value, see corresponding_states.
PRESSURE_METHODS = {
    "HEOS_FIT": "fit to reference equations of state",
    "DIPPR_PERRY_8E": "Perry's Handbook, 8th ed., DIPPR 101",
    "WAGNER_MCGARRY": "McGarry 1983, Wagner equation",
    "WAGNER_POLING": "Poling et al. 2001, Wagner equation",
    "VDI_PPDS": "VDI Heat Atlas, Wagner equation",
    "ANTOINE_POLING": "Poling et al. 2001, Antoine equation",
    "LANDOLT": "Landolt-Boernstein, Antoine equation",
    "ANTOINE_WEBBOOK": "NIST Chemistry WebBook, Antoine equation",
}
DENSITY_METHODS = {
    "HEOS_FIT": "fit to reference equations of state",
    "DIPPR_PERRY_8E": "Perry's Handbook, 8th ed., DIPPR 105",
    "VDI_PPDS": "VDI Heat Atlas",
    "HTCOSTALDFIT": "COSTALD with a fitted characteristic volume",
}


@dataclass(frozen=True)
class Review:
    """One reviewed row: a decision or a value that overrules the automatic choice."""

    decision: str
    value: float | None
    temperature: float | None
    kind: str
    source: str
    locator: str
    reason: str


@cache
def reviews() -> dict[tuple[str, str], Review]:
    """Reviewed rows by (CAS, property)."""
    rows: dict[tuple[str, str], Review] = {}
    for row in shipped_table("respcalc.vapours", "reviewed_properties.csv"):
        value = row[row["property"]] if row["decision"] == "value" else None
        rows[row["cas"], row["property"]] = Review(
            row["decision"],
            value,
            row["temperature"],
            row["kind"],
            row["source"],
            row["locator"],
            row["reason"],
        )
    return rows


@cache
def guide_rows() -> dict[str, dict[str, Any]]:
    return {row["cas"]: row for row in shipped_table("respcalc.vapours", "exposure_limits.csv") if row["cas"]}


@dataclass(frozen=True)
class Correlation:
    """One correlation of the property library with its temperature range [K]."""

    method: str
    low: float
    high: float
    function: Callable[[float], float]

    def reaches(self, temperature: float, by: float = 0.0) -> bool:
        return self.low - by <= temperature <= self.high + by

    def distance(self, temperature: float) -> float:
        return max(self.low - temperature, temperature - self.high, 0.0)


def correlations(cas: str, kind: str, methods: dict[str, str]) -> list[Correlation]:
    """Correlations of the property library for one CAS number, in order of trust."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the table reading underneath, not of the values
        if kind == "pressure":
            from thermo.vapor_pressure import VaporPressure

            held = VaporPressure(CASRN=cas)
        else:
            from thermo.volume import VolumeLiquid

            held = VolumeLiquid(CASRN=cas)
    found = []
    for method in methods:
        if method in held.all_methods:
            low, high = held.T_limits[method]

            def function(temperature: float, held: Any = held, method: str = method) -> float:
                return float(held.calculate(temperature, method))

            found.append(Correlation(method, float(low), float(high), function))
    return found


def corresponding_states(cas: str) -> Callable[[float], float] | None:
    """Ambrose-Walton vapour pressure [Pa] at a temperature [K], where critical constants are listed.

    An estimate, often from estimated constants: a second opinion where only the guide speaks, never
    a first one.
    """
    from chemicals import Pc, Tc, omega
    from chemicals.vapor_pressure import Ambrose_Walton

    critical = Tc(cas), Pc(cas), omega(cas)
    if any(value is None for value in critical):
        return None
    return lambda temperature: float(Ambrose_Walton(temperature, *critical))
