"""How much air the wearer draws: work-rate classes, a stated flow, or a blower's."""

from __future__ import annotations

from functools import cache
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.tables import Table, shipped_table
from respcalc.core.vocabulary import read, single, term

__all__ = ["breathing_rate", "work_rates"]

_LEAST_CLASS = 30e-3 / 60


@cache
def work_rates() -> Table:
    """The work-rate classes with their minute volumes and sources."""
    return shipped_table("respcalc.workplace", "work_rates.csv", required=("work_rate", "minute_volume"))


def breathing_rate(value: Any) -> Datum:
    """Read a breathing rate: a work-rate class by name, or a flow with its unit.

    A minute volume is a volume of the lung (37 degC, saturated). Estimates count its moles as if it were
    air of 20 degC, which is up to 13 % more than is really drawn, and at most 1 % less, in saturated air of
    50 degC: the difference is left as a reserve.

    Parameters
    ----------
    value
        ``"light"``, ``"moderate"``, ``"heavy"``, ``"very heavy"``, or a flow [L/min].

    Returns
    -------
    Datum
        The flow the wearer or blower draws in all.

    Raises
    ------
    DomainError
        The class is not known.
    UnitsError
        The flow has no unit, or one of the wrong kind.

    Examples
    --------
    >>> breathing_rate("moderate").printed
    '40 L/min'
    """
    if isinstance(value, str) and not any(c.isdigit() for c in value):
        name = " ".join(value.lower().replace("_", " ").replace("-", " ").split())
        for row in work_rates():
            if row["work_rate"] == name:
                return Datum(
                    "flow_rate", row["minute_volume"], row["kind"], row["source"],
                    note=f"{name} work: {row['meaning']}; {row['origin']}",
                )  # fmt: skip
        offered = ", ".join(f"{r['work_rate']} ({term('flow_rate').show(r['minute_volume'])})" for r in work_rates())
        raise DomainError(f'work_rate = {value!r} is not known; choose {offered}, or give a flow such as "40 L/min"')
    flow = single("work_rate", read("flow_rate", value, as_argument="work_rate"))
    note = ""
    if flow < _LEAST_CLASS * (1 - 1e-9):
        note = "below 30 L/min, the least of the work-rate classes: make sure nobody works harder"
    return Datum("flow_rate", flow, "given", note=note)
