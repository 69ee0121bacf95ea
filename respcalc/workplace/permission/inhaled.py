"""What is breathed of one vapour in a task: how much, over which times, held to what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import read, read_amount, single, term
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace.air import Air
from respcalc.workplace.permission.jurisdictions import Jurisdiction, jurisdiction
from respcalc.workplace.permission.limits import STRICTEST, ChosenLimits, choose_limits
from respcalc.workplace.profile import Profile, read_profile

__all__ = ["Inhaled", "describe_exposure"]

_SLACK = 1 + 1e-9
_STEL = 15 * 60.0
_LONG = 4 * 3600.0  # limits averaged over more are held against the shift average


@dataclass(frozen=True)
class Inhaled:
    """One vapour of a task: how much there is and what it is held to.

    ``concentration`` is the highest that occurs, and what cartridges are planned for; ``short_term`` the highest
    average over 15 minutes and ``average`` the shift average, where they are known apart. All are volume fractions.
    """

    vapour: Vapour
    concentration: float
    limits: ChosenLimits
    average: float | None = None
    short_term: float | None = None
    time_above_ceiling: float | None = None  # [s] a shift
    irritates_eyes: bool | None = None  # at this concentration, as the plan says; None: nobody said
    odour_threshold: Datum | None = None  # for information
    jurisdiction: str = ""  # whose limits these are, where one was named
    national_rule: str = ""  # which allows there what a US standard forbids
    from_samples: str = ""  # what of air samples the concentration is, where the rule chose it
    profile: Profile | None = None  # the concentration over the time of the task, where that is known

    @property
    def long_term(self) -> float:
        """Shift average; what is known over a shorter time where it is not known apart."""
        return self.over(_LONG) if self.average is None else self.average

    @property
    def worst_quarter(self) -> float:
        """Highest average over 15 minutes."""
        return self.over(_STEL)

    def over(self, seconds: float) -> float:
        """Highest average over a time, by what is known over that time or a shorter one: never too low."""
        if seconds >= _LONG and self.average is not None:
            return self.average
        if self.short_term is None or seconds < _STEL / _SLACK:
            return self.concentration
        # short samples may have missed the worst: no quarter of an hour is below the average of them all
        return max(self.short_term, self.average or 0.0)


def describe_exposure(
    vapour: str | Vapour,
    concentration: Any,
    *,
    air: Air,
    average: Any = None,
    short_term: Any = None,
    time_above_ceiling: Any = None,
    limits_from: str = STRICTEST,
    exposure_limit: Any = None,
    exposure_limit_authority: str | None = None,
    short_term_limit: Any = None,
    ceiling_limit: Any = None,
    national_rule: str = "",
    jurisdiction: str | Jurisdiction | None = None,
    irritates_eyes: bool | None = None,
    odour_threshold: Any = None,
) -> Inhaled:
    """Say how much of a vapour there is in the air of a task, and what it is held to.

    Parameters
    ----------
    vapour
        Name, CAS number or `Vapour`.
    concentration
        Highest that occurs [ppm], or mg/m3. Cartridges are planned for it. Or how it varies while the respirator is
        worn: pairs of level and length, ``[("300 ppm", "15 min"), ("70 ppm", "7.75 h")]``, of which highest, average
        and worst 15 minutes follow.
    air
        From `describe_air`.
    average
        Shift average [ppm], where it is known apart: held against limits averaged over a shift.
    short_term
        Highest average over 15 minutes [ppm], where it is known apart from the highest at any moment.
    time_above_ceiling
        How long in a shift the air is above the ceiling [min]: a limit of three parts allows its peak that long.
    limits_from, exposure_limit, exposure_limit_authority, short_term_limit, ceiling_limit
        As for `choose_limits`, where those of one's own are ``own_limit``, ``own_short_limit`` and ``own_ceiling``.
    national_rule
        The rule of the jurisdiction, with its edition, that allows what a US standard forbids for this substance.
        None can in the US.
    jurisdiction
        Whose limits hold, by name; None for the US tables without their precedence as law.
    irritates_eyes
        Whether it irritates or harms the eyes at these concentrations (data sheet, section 2 and 11).
    odour_threshold
        Where it can be smelled [ppm]. Printed as information; never the basis of a schedule.

    Returns
    -------
    Inhaled

    Raises
    ------
    UnitsError, DomainError, UnknownVapour, MissingProperty
        Naming the argument, the value and the fix; an average above the highest is one of them.

    Examples
    --------
    >>> from respcalc.workplace import describe_air
    >>> air = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
    >>> part = describe_exposure("toluene", "300 ppm", air=air, average="80 ppm", limits_from="OSHA PEL")
    >>> part.limits.text
    '200 ppm TWA (OSHA PEL), 300 ppm ceiling (OSHA PEL)'
    """
    who = vapour if isinstance(vapour, Vapour) else find_vapour(vapour)

    def fraction(key: str, value: Any) -> float:
        return air.volume_fraction(read_amount(key, value), who.molar_mass.value, as_argument=key)

    profile = None
    if isinstance(concentration, (list, tuple)):
        for key, value in (("average", average), ("short_term", short_term)):
            if value is not None:
                raise DomainError(f"{key} = {value!r:.80} follows from the profile; leave it out, or state the highest")
        profile = read_profile(concentration, air=air, molar_mass=who.molar_mass.value)
    highest = fraction("concentration", concentration) if profile is None else profile.highest
    if profile is None:
        quarter = None if short_term is None else fraction("short_term", short_term)
        mean = None if average is None else fraction("average", average)
    else:
        quarter, mean = profile.highest_average(_STEL), profile.average
    show = term("volume_fraction").show
    for key, value in (("short_term", quarter), ("average", mean)):
        if value is not None and value > highest * _SLACK:
            raise DomainError(
                f"{key} = {show(value)} is above concentration = {show(highest)}; concentration is the highest that "
                "occurs, and no average can exceed it"
            )
    if irritates_eyes is not None and not isinstance(irritates_eyes, bool):
        raise DomainError(f"irritates_eyes = {irritates_eyes!r} must be true or false; leave it out if nobody knows")
    where = None if jurisdiction is None else _named(jurisdiction)
    if national_rule.strip() and (where is None or where.family == "US"):
        raise DomainError(
            f"national_rule = {national_rule!r:.80}: no rule of another country overrules a US standard in the US; "
            "name the jurisdiction"
        )
    limits = choose_limits(
        who,
        limits_from=limits_from,
        own_limit=exposure_limit,
        own_authority=exposure_limit_authority,
        own_short_limit=short_term_limit,
        own_ceiling=ceiling_limit,
        jurisdiction=where,
    )
    return Inhaled(
        who,
        highest,
        limits,
        mean,
        quarter,
        None
        if time_above_ceiling is None
        else single("time_above_ceiling", read("worn_time", time_above_ceiling, as_argument="time_above_ceiling")),
        irritates_eyes,
        None
        if odour_threshold is None
        else Datum("volume_fraction", fraction("odour_threshold", odour_threshold), "given", label="odour threshold"),
        "" if where is None else where.name,
        national_rule.strip(),
        profile=profile,
    )


def _named(name: str | Jurisdiction) -> Jurisdiction:
    return jurisdiction(name)
