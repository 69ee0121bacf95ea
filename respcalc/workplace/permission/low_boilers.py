"""How much of a low-boiling vapour, and for how long, an element of type AX may be used in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from respcalc.core.sources import source
from respcalc.core.tables import Table, shipped_table
from respcalc.core.vocabulary import term

__all__ = ["LOW_BOILING", "LowBoilerLimit", "low_boiler_limit", "low_boiling"]

LOW_BOILING = 338.15
"""65 degC: types of element part here, and at or below it cartridges are not kept for another shift [K]."""

_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class LowBoilerLimit:
    """The longest use in all [s], 0 where none is allowed, and where that is written."""

    longest: float
    reason: str


def low_boiling(boiling_point: float) -> bool:
    """Whether a vapour boils at or below 65 degC (EN 14387 type AX; migration in storage)."""
    return boiling_point <= LOW_BOILING * _SLACK


@cache
def _table() -> Table:
    return shipped_table("respcalc.workplace.permission", "ax_limits.csv")


def low_boiler_limit(volume_fraction: float, exposure_limit: float, jurisdiction: str) -> LowBoilerLimit | None:
    """Find the longest use of an element of type AX in a concentration of one low boiler.

    Parameters
    ----------
    volume_fraction
        Concentration [volume fraction].
    exposure_limit
        The lowest limit that it is held to [volume fraction]; it says which group of the rule holds.
    jurisdiction
        Name of the jurisdiction; only Germany's rule is known here.

    Returns
    -------
    LowBoilerLimit or None
        None where no such rule is known.

    Notes
    -----
    Source: ``dguv_112_190``.

    Examples
    --------
    >>> low_boiler_limit(400e-6, 500e-6, "Germany").longest / 60
    60.0
    """
    rows = [
        row
        for row in _table()
        if row["jurisdiction"] == jurisdiction
        and (row["limit_above"] is None or exposure_limit > row["limit_above"] * _SLACK)
        and exposure_limit <= (math.inf if row["limit_up_to"] is None else row["limit_up_to"]) * _SLACK
    ]
    if not rows:
        return None
    fits = next((row for row in rows if volume_fraction <= row["up_to"] * _SLACK), None)
    most = term("exposure_limit").show(max(row["up_to"] for row in rows))
    written = source("dguv_112_190").citation.partition(",")[0]
    if fits is None:
        return LowBoilerLimit(0.0, f"{written}, low boilers of group {rows[0]['group']}: not above {most} with type AX")
    up_to = term("exposure_limit").show(fits["up_to"])
    return LowBoilerLimit(
        fits["longest"],
        f"{written}, low boilers of group {fits['group']}: {fits['longest'] / 60:g} min in all up to {up_to}",
    )
