"""Oxygen: enough by volume for a filter, and what height does to it."""

from __future__ import annotations

import math
from functools import cache

from respcalc.core.basis import Datum
from respcalc.core.sources import source
from respcalc.core.tables import Table, shipped_table
from respcalc.core.vocabulary import term
from respcalc.workplace.gas import pressure_at_altitude
from respcalc.workplace.permission.criterion import SUPPLIED, SUPPLIED_IDLH, Criterion
from respcalc.workplace.permission.jurisdictions import Jurisdiction

__all__ = ["judge_oxygen", "thin_air"]

_SLACK = 1 + 1e-9
_HIGHEST = 14000 * 0.3048  # [m] above it 29 CFR 1910.134 wants an oxygen-enriched supply
_MMHG = 133.322387415  # [Pa]
_LEAST_PRESSURE = 122 * _MMHG  # of oxygen: ANSI/ASSE Z88.2, from memory
_TABLE_II = 108 * _MMHG  # of oxygen: the least in any row of the table
_NATURAL = 0.205  # less than that is not the air of the mountain but depleted


@cache
def _exceptions() -> Table:
    return shipped_table("respcalc.workplace.permission", "oxygen_exception.csv")


def judge_oxygen(oxygen: Datum | None, pressure: float | None, where: Jurisdiction) -> list[Criterion]:
    """Judge the oxygen of the air a filter would be used in.

    Parameters
    ----------
    oxygen
        Oxygen by volume; None counts as not known, which is treated as deficient.
    pressure
        Air pressure [Pa], if known: height decides what is needed instead, and whether a filter will do at all.
    where
        Whose bound holds.

    Returns
    -------
    list of Criterion

    Notes
    -----
    Source: ``osha_1910_134`` (b), (d)(2) and Table II; ``en_529``.
    """
    least = where.least_oxygen
    paragraph = source("osha_1910_134").citation.partition(",")[0]
    written = f"{paragraph} (b), (d)(2)" if where.family == "US" else source(least.source).citation
    found = (
        'oxygen was not stated (measured, write oxygen = "20.9 %")' if oxygen is None else f"oxygen {oxygen.printed}"
    )
    enough = oxygen is not None and oxygen.value >= least.value / _SLACK
    note = "" if where.family == "US" else f" ({least.note})"
    criteria = [
        Criterion(
            "oxygen", enough, found, f"at least {least.printed} is needed{note}", written,
            (instead := _instead(oxygen, pressure, where)), None if oxygen is None else oxygen.value, least.value,
            "oxygen", air_supply=2 if SUPPLIED_IDLH in instead else 1,
        )
    ]  # fmt: skip
    if pressure is not None and pressure < float(pressure_at_altitude.si(altitude=_HIGHEST)) / _SLACK:
        criteria.append(
            Criterion(
                "oxygen at this height", False, f"air pressure {term('pressure').show(pressure)}",
                f"above 14000 ft ({term('pressure').show(float(pressure_at_altitude.si(altitude=_HIGHEST)))}) an "
                "oxygen-enriched supply is needed (from memory, to be confirmed)", f"{paragraph} Table II",
                f"{SUPPLIED} with oxygen-enriched air", pressure, float(pressure_at_altitude.si(altitude=_HIGHEST)),
                "pressure", air_supply=1,
            )
        )  # fmt: skip
    if oxygen is not None and pressure is not None and oxygen.value < _NATURAL / _SLACK:
        there = oxygen.value * pressure
        if there < _TABLE_II / _SLACK:
            criteria.append(
                Criterion(
                    "oxygen pressure", False, f"{_floor(there / _MMHG)} mmHg of oxygen, in air that is depleted",
                    "Table II never goes below 108 mmHg; thinner air with its natural share of oxygen is warned of",
                    f"{paragraph} Table II", SUPPLIED, there, _TABLE_II, "partial_pressure", air_supply=1,
                )
            )  # fmt: skip
    return criteria


def _floor(number: float) -> str:
    return f"{math.floor(10 * number) / 10:g}"


def _instead(oxygen: Datum | None, pressure: float | None, where: Jurisdiction) -> str:
    """Any air supply within the exception by height, else what an IDLH atmosphere asks for."""
    if oxygen is not None and pressure is not None and where.family == "US":
        for row in _exceptions():
            if pressure >= float(pressure_at_altitude.si(altitude=row["up_to_altitude"])) / _SLACK:
                if oxygen.value >= row["least_oxygen"] / _SLACK:
                    feet = round(row["up_to_altitude"] / 0.3048)
                    return (
                        f"any atmosphere-supplying respirator: up to {feet} ft that will do down to "
                        f"{term('oxygen').show(row['least_oxygen'])} (29 CFR 1910.134 Table II); find out why oxygen "
                        "is missing"
                    )
                break
    return f"{SUPPLIED}, as in an IDLH atmosphere: {SUPPLIED_IDLH}"


def thin_air(oxygen: Datum | None, pressure: float | None) -> str:
    """What is to be said of the partial pressure of oxygen at this height, or nothing."""
    if oxygen is None or pressure is None or oxygen.value * pressure >= _LEAST_PRESSURE / _SLACK:
        return ""
    found = _floor(oxygen.value * pressure / _MMHG)  # 121.98 mmHg must not read as 122
    return (
        f"partial pressure of oxygen {found} mmHg: below 122 mmHg a consensus standard "
        "(ANSI/ASSE Z88.2, from memory) sees a deficiency that the percentage does not show; a qualified person must "
        "judge work at this height"
    )
