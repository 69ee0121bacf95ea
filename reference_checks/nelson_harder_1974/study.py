"""The recalled times (FROM MEMORY of the paper) as sets: all, each chemical class, the molecules that stand out."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from reference_checks.nelson_harder_1974.combinations import is_light_halogenated
from reference_checks.nelson_harder_1974.rows import (
    LEAST_CALIBRATING_MINUTES,
    TimedVapour,
    calibrates,
    fitted_pair_mass,
    predicted_minutes,
    timed_vapours,
)
from reference_checks.studies import Measured, Study

__all__ = ["STUDIES"]

_ROOM, _ROOM_WORST = 0.03, 0.06  # around the recorded value: other versions of the property tables move it a little


@cache
def _compared() -> tuple[tuple[TimedVapour, Measured], ...]:
    rows = timed_vapours()
    predicted = predicted_minutes(fitted_pair_mass(rows))
    return tuple(
        (row, Measured(row.name, row.measured_minutes, float(value)))
        for row, value in zip(rows, predicted, strict=True)
    )


def _study(name: str, what: str, wanted: Callable[[TimedVapour], bool], record: tuple[float, float, float]) -> Study:
    bias, spread, worst = record
    return Study(
        key="nelson_harder_1974",
        name=name,
        seen="from memory",
        model="prediction.chain",
        locator=f"recalled times to 1 % breakthrough (FROM MEMORY), {what}",
        kind="measured",
        result="breakthrough_time",
        unit="min",
        rows=lambda: tuple(measured for row, measured in _compared() if wanted(row)),
        bias=(bias - _ROOM, bias + _ROOM),
        spread=(spread - _ROOM, spread + _ROOM),
        worst=(worst - _ROOM_WORST, worst + _ROOM_WORST),
        why="one mass of carbon is fitted to all rows, so their level says nothing; the carbon itself is not known",
    )


def _timed(row: TimedVapour) -> bool:
    return row.measured_minutes > LEAST_CALIBRATING_MINUTES


def _of(chemical_class: str) -> Callable[[TimedVapour], bool]:
    return lambda row: _timed(row) and row.chemical_class == chemical_class


_CLASSES = {  # bias, spread and worst as found
    "aromatic": (0.039, 0.101, 0.207),
    "alcohol": (0.159, 0.168, 0.459),
    "monochloride": (0.423, 0.634, 1.892),
    "dichloride": (0.792, 0.818, 2.134),
    "trichloride": (0.536, 0.418, 0.952),
    "tetra/pentachloride": (0.004, 0.038, -0.049),
    "acetate": (0.039, 0.087, 0.272),
    "ketone": (-0.144, 0.055, -0.253),
    "alkane": (-0.110, 0.102, -0.216),
    "amine": (-0.297, 0.136, -0.498),
    "miscellaneous": (0.463, 1.200, 3.112),
}

STUDIES: list[Study] = [
    _study("all", "all above 2 min", _timed, (0.140, 0.568, 3.112)),
    _study(
        "light_halogenated",
        "halogenated, at most three carbons",
        lambda row: calibrates(row) and is_light_halogenated(row),
        (0.853, 0.878, 3.112),
    ),
    _study(
        "all_others",
        "without those and the amines",
        lambda row: calibrates(row) and not is_light_halogenated(row),
        (-0.017, 0.153, 0.459),
    ),
    *(
        _study(name.replace("/", "_"), f"class {name}, above 2 min", _of(name), record)
        for name, record in _CLASSES.items()
    ),
]
