"""The rows, the vapours, and the library's prediction for one pair of cartridges of unknown mass.

All times are FROM MEMORY of the paper: its figures were recalled, not read, and its bed was not
recalled at all. So one number, the mass of carbon in the pair, is fitted to all rows at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from respcalc.core.tables import read_table
from respcalc.prediction import Bed, Challenge, Sorbate, run_chain, sorbate_of
from respcalc.vapours import Vapour, define_vapour, find_vapour

__all__ = [
    "CHALLENGE",
    "LEAST_CALIBRATING_MINUTES",
    "TimedVapour",
    "bed",
    "calibrates",
    "fitted_pair_mass",
    "log_ratio",
    "predicted_minutes",
    "sorbate",
    "stacked",
    "timed_vapours",
]

_HERE = Path(__file__).parent
_TEMPERATURE = 295.15

CHALLENGE = Challenge(
    volume_fraction=1000e-6,
    temperature=_TEMPERATURE,
    pressure=101325.0,
    relative_humidity=0.50,
    challenge_fraction=0.01,
    limit_exit=1.0,  # no exposure limit: the paper's criterion is 1 % of the challenge
)
LEAST_CALIBRATING_MINUTES = 2.0
"""At or below, the time is that of sweeping the bed out rather than of adsorption."""
_AMINE = "amine"


@dataclass(frozen=True)
class TimedVapour:
    """One recalled time and the vapour it belongs to."""

    name: str
    cas: str
    chemical_class: str
    measured_minutes: float
    vapour: Vapour
    confidence: str


def _unlisted() -> dict[str, dict[str, Any]]:
    return {row["case"]: row for row in read_table(_HERE / "vapours.csv", required=["case"]).strict()}


def _define(row: dict[str, Any]) -> Vapour:
    """Build one vapour of vapours.csv; the table reader has turned its figures to SI."""
    return define_vapour(
        row["case"],
        cas=row["cas"],
        formula=row["formula"],
        molar_mass=f"{row['molar_mass']!r} kg/mol",
        boiling_point=f"{row['boiling_point']!r} K",
        saturation_pressure=f"{row['saturation_pressure']!r} Pa",
        saturation_temperature=f"{row['saturation_temperature']!r} K",
        liquid_density=f"{row['liquid_density']!r} kg/m3",
        liquid_density_temperature=f"{row['density_temperature']!r} K",
        refractive_index=row["refractive_index"],
    )


@cache
def timed_vapours() -> tuple[TimedVapour, ...]:
    """Every row that the library can be asked about, in file order; ``left_out`` says why the others are not here."""
    unlisted = _unlisted()
    found = []
    for row in read_table(_HERE / "times.csv", required=["case", "left_out"]).strict():
        if row["left_out"]:
            continue
        name = row["case"]
        vapour = _define(unlisted[name]) if name in unlisted else find_vapour(name)
        if vapour.cas != row["cas"]:
            raise ValueError(f"times.csv: {name} is {vapour.cas}, not {row['cas']}")
        found.append(
            TimedVapour(
                name, vapour.cas, row["chemical_class"], row["breakthrough_time"] / 60.0, vapour, row["confidence"]
            )
        )
    return tuple(found)


def calibrates(row: TimedVapour) -> bool:
    """Whether a row may help to fit the mass: not an amine (held by more than its vapour pressure), not swept out."""
    return row.measured_minutes > LEAST_CALIBRATING_MINUTES and row.chemical_class != _AMINE


def sorbate(rows: Sequence[TimedVapour]) -> Sorbate:
    """The rows at the paper's temperature as the library takes them, in arrays."""
    return stacked([sorbate_of(row.vapour, _TEMPERATURE) for row in rows])


def stacked(vapours: Sequence[Sorbate]) -> Sorbate:
    """Several vapours as one set of arrays."""
    return Sorbate(**{f.name: np.array([getattr(v, f.name) for v in vapours]) for f in fields(Sorbate)})


def bed(pair_mass: float) -> Bed:
    """Return the pair as one bed: the library's default carbon, and a usual size of face."""
    return Bed(
        flow_rate=53.3e-3 / 60.0,
        sorbent_mass=pair_mass,
        face_area=90e-4,
        bulk_density=500.0,
        granule_diameter=1.3e-3,
        void_fraction=0.40,
        micropore_volume=0.454e-3,
        characteristic_energy=19.7e3,
    )


def predicted_minutes(pair_mass: float, rows: Sequence[TimedVapour] | None = None) -> NDArray[np.float64]:
    """Breakthrough times [min] as the library predicts them, for all rows in file order or for *rows*."""
    return _minutes(sorbate(timed_vapours() if rows is None else rows), pair_mass)


def _minutes(properties: Sorbate, pair_mass: float) -> NDArray[np.float64]:
    return np.asarray(run_chain(properties, bed(pair_mass), CHALLENGE).breakthrough_time / 60.0)


def log_ratio(predicted: Any, measured: Any) -> NDArray[np.float64]:
    """Natural logarithm of predicted/measured; immediate breakthrough is -inf, which a median bears."""
    with np.errstate(divide="ignore"):
        return np.log(np.asarray(predicted) / np.asarray(measured))


def fitted_pair_mass(rows: Sequence[TimedVapour]) -> float:
    """Carbon in the pair [kg] at which the median of ln(predicted/measured) over the calibrating rows is zero."""
    used = [row for row in rows if calibrates(row)]
    properties = sorbate(used)
    measured = np.array([row.measured_minutes for row in used])
    low, high = 0.01, 1.0
    while high - low > 1e-12:
        middle = 0.5 * (low + high)
        if np.median(log_ratio(_minutes(properties, middle), measured)) > 0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
