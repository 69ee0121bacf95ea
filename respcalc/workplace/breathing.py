"""How much air the wearer draws: work-rate classes, a metabolic rate, a stated flow, or a blower's."""

from __future__ import annotations

from functools import cache
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.card import model
from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.tables import Table, shipped_table
from respcalc.core.vocabulary import read, single, term

__all__ = ["breathing_rate", "flow_from_metabolic_rate", "metabolic_rates", "standard_flows", "work_rates"]

_OXYGEN_ENERGY = 20.5e6  # [J/m3] of oxygen taken up
_MOST_AIR = 35.0  # litres of air for a litre of oxygen: the upper end, which shortens
_NOT_SEEN = ("not observed",)
_WHEN_NOT_SEEN = "heavy"
LEAST_PLANNED = 30e-3 / 60
"""Least flow that work is planned for, whatever a formula or a phase says [m3/s]."""


@cache
def work_rates() -> Table:
    """The work-rate classes with their minute volumes and sources."""
    return shipped_table("respcalc.workplace", "work_rates.csv", required=("work_rate", "minute_volume"))


@cache
def metabolic_rates() -> Table:
    """The classes of ISO 8996 with the heat that a man of 1.8 m2 makes, as recalled.

    They are lighter than work-rate classes of the same name: "moderate" is 295 W there, while the breathing machine of
    42 CFR 84.88 works at about twice that.
    """
    return shipped_table("respcalc.workplace", "metabolic_rates.csv", required=("metabolic_class", "metabolic_rate"))


@cache
def standard_flows() -> Table:
    """The flows at which elements are tested for their approval, with their sources."""
    return shipped_table("respcalc.workplace", "standard_flows.csv", required=("test", "flow_rate"))


@model(
    returns="flow_rate",
    equation="V = r M/E",
    source="ventilation_of_work",
    locator="E = 20.5 kJ a litre of oxygen",
    assumptions=("steady work", "air counted as it leaves the lung"),
)
def flow_from_metabolic_rate(*, metabolic_rate: Any, air_for_oxygen: Any) -> Any:
    """Minute ventilation of work whose metabolic rate is known.

    Parameters
    ----------
    metabolic_rate
        Heat that the working body makes [W]. Scalar or array.
    air_for_oxygen
        Litres of air breathed for a litre of oxygen taken up [-]: 25 to 35, more in hard work. Scalar or array.

    Returns
    -------
    flow_rate
        [L/min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``ventilation_of_work``. Derived here; the tables of ISO 16976-1 were not at hand. For work near
    exhaustion the ratio is higher still: state a flow then.

    Examples
    --------
    >>> f"{flow_from_metabolic_rate(metabolic_rate='415 W', air_for_oxygen=35).magnitude:.0f}"
    '43'
    """
    return air_for_oxygen * metabolic_rate / _OXYGEN_ENERGY


def breathing_rate(value: Any) -> Datum:
    """Read a breathing rate: a work-rate class by name, a flow, or a metabolic rate, each with its unit.

    A minute volume is a volume of the lung (37 degC, saturated). Estimates count its moles as if it were
    air of 20 degC, which is up to 13 % more than is really drawn, and at most 1 % less, in saturated air of
    50 degC: the difference is left as a reserve.

    Parameters
    ----------
    value
        ``"light"``, ``"moderate"``, ``"heavy"``, ``"very heavy"``, a flow [L/min], or a metabolic rate [W], of which
        35 L of air are taken for a litre of oxygen, and never less than 30 L/min. ``"not observed"`` counts as
        heavy work, and says so: the least that nobody should have to regret.

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
        seen = name not in _NOT_SEEN
        for row in work_rates():
            if row["work_rate"] == (name if seen else _WHEN_NOT_SEEN):
                note = f"{row['work_rate']} work: {row['meaning']}; {row['origin']}"
                if not seen:
                    note = f"nobody observed the work, so it counts as {note}. Watch it: harder work shortens the life"
                return Datum("flow_rate", row["minute_volume"], row["kind"] if seen else "default", row["source"],
                             note=note)  # fmt: skip
        offered = ", ".join(f"{r['work_rate']} ({term('flow_rate').show(r['minute_volume'])})" for r in work_rates())
        raise DomainError(f'work_rate = {value!r} is not known; choose {offered}, or give a flow such as "40 L/min"')
    try:
        flow = single("work_rate", read("flow_rate", value, as_argument="work_rate"))
    except UnitsError:
        if not _is_power(value):
            raise
        return _of_metabolism(single("work_rate", read("metabolic_rate", value, as_argument="work_rate")))
    note = ""
    if flow < LEAST_PLANNED * (1 - 1e-9):
        note = "below 30 L/min, the least of the work-rate classes: make sure nobody works harder"
    return Datum("flow_rate", flow, "given", note=note)


def _is_power(value: Any) -> bool:
    try:
        read("metabolic_rate", value, as_argument="work_rate")
    except UnitsError:
        return False
    except DomainError:
        return True
    return True


def _of_metabolism(metabolic_rate: float) -> Datum:
    flow = float(flow_from_metabolic_rate.si(metabolic_rate=metabolic_rate, air_for_oxygen=_MOST_AIR))
    shown = term("metabolic_rate").show(metabolic_rate)
    note = f"metabolic rate of {shown}, {_MOST_AIR:g} L of air for a litre of oxygen"
    if flow < LEAST_PLANNED:
        note += f" would be {term('flow_rate').show(flow)}; 30 L/min is the least that is planned for"
        flow = LEAST_PLANNED
    return Datum("flow_rate", flow, "computed", "ventilation_of_work", note=note)
