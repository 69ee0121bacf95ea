"""Exposure arithmetic of 29 CFR 1910.1000: averages over a shift, and several substances at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.units import Quantity, read_value
from respcalc.core.vocabulary import check, read, single, term

__all__ = ["additive_index", "time_weighted_average"]


def time_weighted_average(concentrations: Sequence[Any], durations: Sequence[Any], *, over: Any = "8 h") -> Quantity:
    """Average concentration over a shift: sum of concentration x time, divided by the reference time.

    Parameters
    ----------
    concentrations
        Concentrations of the periods [ppm], one each.
    durations
        Lengths of the periods [h], one each.
    over
        Reference time [h]. The regulation divides by 8 h.

    Returns
    -------
    Quantity
        [ppm]

    Raises
    ------
    UnitsError, DomainError
        Bad units; lists of different length; nothing given.

    Notes
    -----
    Source: ``osha_1910_1000`` (d)(1)(i). A period without exposure may be given as 0 ppm; time not
    listed counts as unexposed. An average says whether a limit is met; it is never the concentration
    to plan cartridges for.

    Examples
    --------
    >>> average = time_weighted_average(["150 ppm", "75 ppm", "50 ppm"], ["2 h", "2 h", "4 h"])
    >>> f"{average:.2f}"
    '81.25 ppm'
    """
    if len(concentrations) != len(durations) or not concentrations:
        raise DomainError(
            f"concentrations, durations: {len(concentrations)} and {len(durations)} entries; one duration is needed "
            "for each concentration, and at least one"
        )
    reference = single("over", read("worn_time", over, as_argument="over"))
    if reference <= 0:
        raise DomainError("over = 0: the reference time must be above 0, 8 h in the regulation")
    dose = sum(
        _measured(f"concentrations[{i}]", c)
        * single(f"durations[{i}]", read("worn_time", d, as_argument=f"durations[{i}]"))
        for i, (c, d) in enumerate(zip(concentrations, durations, strict=True))
    )
    return term("volume_fraction").quantity(float(dose / reference))


def additive_index(concentrations: Sequence[Any], limits: Sequence[Any]) -> float:
    """Sum of concentration over limit for substances that act together; above 1 exceeds the limit.

    Parameters
    ----------
    concentrations
        Concentrations [ppm], one a substance.
    limits
        Limits of the same substances, in the same order [ppm].

    Returns
    -------
    float

    Raises
    ------
    UnitsError, DomainError
        Bad units; lists of different length; nothing given.

    Notes
    -----
    Source: ``osha_1910_1000`` (d)(2)(i).

    Examples
    --------
    >>> f'{additive_index(["500 ppm", "45 ppm", "40 ppm"], ["1000 ppm", "200 ppm", "200 ppm"]):.3f}'
    '0.925'
    """
    if len(concentrations) != len(limits) or not concentrations:
        raise DomainError(
            f"concentrations, limits: {len(concentrations)} and {len(limits)} entries; one limit is needed for each "
            "concentration, and at least one"
        )
    return float(
        sum(
            _measured(f"concentrations[{i}]", c)
            / single(f"limits[{i}]", read("exposure_limit", limit, as_argument=f"limits[{i}]"))
            for i, (c, limit) in enumerate(zip(concentrations, limits, strict=True))
        )
    )


def _measured(name: str, value: Any) -> float:
    """A concentration that may be zero: unexposed periods and absent substances belong in a sum."""
    try:
        number = read_value(name, term("volume_fraction").family, value)
    except ValueError as error:
        raise UnitsError([str(error)]) from None
    return single(name, check("volume_fraction", number, as_argument=name, result=True))
