"""From a service life to what people are told: caps, rounding down, and the moments of a shift.

All of this is policy. Nothing here makes an interval longer than the service life.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import Any

from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import term
from respcalc.estimate import ServiceLife
from respcalc.schedule.plan import Break, SiteRules, Task
from respcalc.workplace import acting_rules, low_boiler_limit, low_boiling

__all__ = ["Cap", "Change", "ChangeMoment", "change_moments", "decide_change", "low_boiling", "round_down"]

_STEPS = tuple(h * 3600.0 for h in (0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9, 10, 11, 12, 16, 20, 24))
_PAUSE, _LEAVE = "in the break", "leave the area"
_DAY = 86400.0
_SLACK = 1 + 1e-9  # a life of 4 h written as 239.9999999999 min is 4 h


@dataclass(frozen=True)
class Cap:
    """A bound on the interval that does not come from the service life."""

    longest: float  # [s] since the cartridges were first put on
    reason: str
    by_clock: bool = False  # the time between shifts counts too


@dataclass(frozen=True)
class ChangeMoment:
    """When within a shift to change [s after the start of use]."""

    at: float
    where: str  # _PAUSE or _LEAVE


@dataclass(frozen=True)
class Change:
    """What people are told, or why there is no interval.

    ``interval`` [s] counts from first putting the fresh cartridges on, breaks included. With
    ``shifts`` above 1 the cartridges serve that many whole shifts.
    """

    interval: float | None
    shifts: int = 0
    days: int = 1  # from the day of opening, or of first putting on, to the last day of use, both counted
    served: float = 1.0  # shifts that a set serves in the mean, if the worked days lie as badly as they can
    moments: tuple[ChangeMoment, ...] = ()
    set_by: str = ""
    caps: tuple[Cap, ...] = ()
    refusal: str = ""

    @property
    def sets_per_shift(self) -> float:
        if self.interval is None:
            return 0.0
        return 1.0 / self.served if self.shifts > 1 else len(self.moments) + 1.0

    def as_dict(self) -> dict[str, Any]:
        hours = None if self.interval is None else self.interval / 3600.0
        return {
            "change_interval": {"value": hours, "unit": "h"},
            "whole_shifts": self.shifts,
            "days_from_opening": self.days,
            "change_within_shift": [{"after": m.at / 3600.0, "unit": "h", "where": m.where} for m in self.moments],
            "sets_per_shift": self.sets_per_shift,
            "set_by": self.set_by,
            "caps": [{"longest": c.longest / 3600.0, "unit": "h", "reason": c.reason} for c in self.caps],
            "refusal": self.refusal,
        }


def round_down(seconds: float) -> float:
    """The longest practical step that is not longer; 0 below a quarter of an hour."""
    return max((step for step in _STEPS if step <= seconds * _SLACK), default=0.0)


def decide_change(task: Task, life: ServiceLife, rules: SiteRules) -> Change:
    """Turn a service life into a change interval for one task.

    Parameters
    ----------
    task
        The task, already found to be allowed.
    life
        Its estimated service life.
    rules
        The site's rules.

    Returns
    -------
    Change
        Without an interval where none can be stood for; the refusal says why.
    """
    if life.outside_model and not task.acknowledged:
        return Change(
            None,
            refusal=f"{'; '.join(life.outside_model)}. Needed instead: an atmosphere-supplying respirator. Where "
            "breakthrough data of this cartridge, also for the lowest concentration that occurs, stand behind it, "
            'acknowledge_outside_model = "reason" in the task accepts the estimate and prints the reason on the record',
        )
    caps = _caps(task, rules)
    if life.immediate:
        return Change(
            None,
            caps=caps,
            refusal="immediate breakthrough: the bed is too thin for this flow and vapour, so no interval protects. "
            "Needed instead: more or larger cartridges in parallel, less vapour, or an atmosphere-supplying respirator",
        )
    lived = task.lasts(life.life.value)
    shortest = min((c.longest for c in caps), default=math.inf)
    short_life = _life_too_short(task, lived)
    if short_life:
        return Change(None, caps=caps, refusal=short_life)
    if min(lived, shortest) * _SLACK < min(_STEPS[0], task.hours_of_use):
        shown = term("service_life").show(min(lived, shortest))
        if shortest < lived:
            shown += f" ({min(caps, key=lambda c: c.longest).reason})"
        return Change(
            None,
            caps=caps,
            refusal=f"only {shown} could be allowed, less than the shortest practical interval of 15 min. Needed "
            "instead: more or larger cartridges in parallel, less vapour, or an atmosphere-supplying respirator",
        )
    whole_shifts, days = _whole_shifts(task, rules, lived, caps)
    if whole_shifts > 1:
        return Change(
            whole_shifts * task.hours_of_use,
            whole_shifts,
            days,
            _served(whole_shifts, days, task.days_per_week),
            set_by=_shift_reason(whole_shifts, lived, caps, task, rules),
            caps=caps,
        )
    allowed = min(lived, shortest)
    if allowed * _SLACK >= task.hours_of_use:
        return Change(task.hours_of_use, 1, set_by="the end of the shift", caps=caps)
    interval = round_down(allowed)
    reason = "the service life" if lived <= shortest else min(caps, key=lambda c: c.longest).reason
    moments = change_moments(task.hours_of_use, task.breaks, interval)
    return Change(interval, 1, moments=moments, set_by=reason, caps=caps)


def _life_too_short(task: Task, lived: float) -> str:
    """What a substance rule holds against so short a life, or nothing."""
    for part in task.inhaled:
        for rule in acting_rules(part.vapour.cas, task.mask.jurisdiction, national_rule=part.national_rule)[0]:
            asked = rule.duration if rule.acts == "life at least" and rule.holds_at(part.concentration) else 0.0
            if lived * _SLACK < asked:
                life = term("service_life")
                return (
                    f"service life {life.show(lived)}; {rule.text}: an element of at least {life.show(asked)} is "
                    f"needed. Needed instead: {rule.instead}"
                )
    return ""


def _caps(task: Task, rules: SiteRules) -> tuple[Cap, ...]:
    caps = []
    shift = task.hours_of_use
    for part in task.inhaled:
        vapour = part.vapour
        if low_boiling(vapour.boiling_point.value):
            boils = term("boiling_point").show(vapour.boiling_point.value)
            caps.append(Cap(shift, f"{vapour.name} boils at {boils}, not above 65 degC: never beyond the shift"))
            ax = low_boiler_limit(part.concentration, part.limits.least.value.value, task.mask.jurisdiction)
            if ax is not None:
                caps.append(Cap(ax.longest, f"{vapour.name}: {ax.reason}"))
        for rule in acting_rules(vapour.cas, task.mask.jurisdiction, national_rule=part.national_rule)[0]:
            longest = {"end of shift": shift, "interval": rule.duration}.get(rule.acts)
            if longest is not None and rule.holds_at(part.concentration):
                caps.append(Cap(longest, f"{rule.substance}, {rule.text}"))
    if task.cartridge.single_use:
        caps.append(Cap(shift, f"cartridge {task.cartridge.name} is made for single use: one shift at most"))
    if rules.days_opened - task.days_open == 1:
        missing = rules.without_reuse_data(task.inhaled) if rules.reuse_basis else ()
        why = f": the data of reuse_basis are not of {', '.join(missing)}" if missing else ""
        caps.append(Cap(shift, f"cartridges that were worn are discarded at the end of the shift{why}"))
    if rules.longest_interval is not None:
        by_clock = not rules.longest_counts_worn
        caps.append(Cap(rules.longest_interval, f"site rule: {rules.longest_interval_source}", by_clock))
    return tuple(caps)


def _whole_shifts(task: Task, rules: SiteRules, lived: float, caps: Sequence[Cap]) -> tuple[int, int]:
    """How many whole shifts a set may serve, 1 unless caps and stated days allow more; and in how many days."""
    shift = task.hours_of_use
    worn = min((c.longest for c in caps if not c.by_clock), default=math.inf)
    days = rules.days_opened - task.days_open
    days = min([days, *(_days_by_clock(cap, shift) for cap in caps if cap.by_clock)])
    return max(1, min(_most_shifts(days, task.days_per_week), math.floor(min(lived, worn) * _SLACK / shift))), days


def _days_by_clock(cap: Cap, shift: float) -> int:
    """Days on the last of which a shift is still over in time, the nights between counted."""
    return 1 + max(0, math.floor((cap.longest * _SLACK - shift) / _DAY))


def _most_shifts(days: int, per_week: int) -> int:
    """The most shifts, one a day, that so many days can hold."""
    weeks, rest = divmod(days, 7)
    return weeks * per_week + min(per_week, rest)


@lru_cache(maxsize=256)
def _served(shifts: int, days: int, per_week: int) -> float:
    """How many shifts a set serves in the mean where the worked days of the week lie as badly as they can."""
    least = math.inf
    for worked in combinations(range(7), per_week):
        seen: dict[int, tuple[int, int]] = {}  # first day of a set in the week -> shifts and sets up to then
        number = sets = 0
        while (phase := number % per_week) not in seen:
            seen[phase] = number, sets
            opened = 7 * (number // per_week) + worked[phase]
            first = number
            while number < first + shifts and 7 * (number // per_week) + worked[number % per_week] < opened + days:
                number += 1
            sets += 1
        before, fewer = seen[phase]
        least = min(least, (number - before) / (sets - fewer))
    return least


def _shift_reason(shifts: int, lived: float, caps: Sequence[Cap], task: Task, rules: SiteRules) -> str:
    """What keeps the number of shifts from being one more: life, cap or days."""
    more = shifts + 1
    if more * task.hours_of_use > lived * _SLACK:
        return "the service life"
    for cap in caps:
        most = _most_shifts(_days_by_clock(cap, task.hours_of_use), task.days_per_week)
        if more > most if cap.by_clock else more * task.hours_of_use > cap.longest * _SLACK:
            return cap.reason
    already = f", {task.days_open} of which have passed" if task.days_open else ""
    return f"{rules.days_opened} days after opening{already} ({rules.reuse_basis})"


def change_moments(span: float, breaks: Sequence[Break], interval: float) -> tuple[ChangeMoment, ...]:
    """Moments within a shift at which to change, moved forward to a break where there is one.

    Parameters
    ----------
    span
        Time from first donning to last doffing [s].
    breaks
        Pauses in it.
    interval
        Change interval [s].

    Returns
    -------
    tuple of ChangeMoment
        No stretch between two changes, or to the end, is longer than the interval.

    Raises
    ------
    DomainError
        The interval is shorter than the shortest practical step, or the span longer than a day.

    Examples
    --------
    >>> pauses = [Break(2 * 3600, 900), Break(5 * 3600, 1800)]
    >>> [(m.at / 3600, m.where) for m in change_moments(8 * 3600, pauses, 3 * 3600)]
    [(2.0, 'in the break'), (5.0, 'in the break')]
    """
    if not interval * _SLACK >= _STEPS[0]:
        raise DomainError(f"interval = {interval:g} s is below the shortest practical interval of 900 s")
    if not 0 < span <= _DAY * _SLACK:
        raise DomainError(f"span = {span:g} s must be above 0 and at most a day, 86400 s")
    return _fewest(span, tuple(breaks), interval, 0.0)


@lru_cache(maxsize=4096)
def _fewest(span: float, breaks: tuple[Break, ...], interval: float, fresh_since: float) -> tuple[ChangeMoment, ...]:
    """The fewest changes from here to the end; among equals the one that leaves the work least often."""
    due = fresh_since + interval
    if due * _SLACK >= span:
        return ()
    ways = [(ChangeMoment(due, _LEAVE), *_fewest(span, breaks, interval, due))]
    usable = [b for b in breaks if fresh_since < b.after <= due * _SLACK]
    if usable:
        pause = usable[-1]
        after = _fewest(span, breaks, interval, pause.after + pause.length)
        ways.append((ChangeMoment(pause.after, _PAUSE), *after))
    return min(ways, key=lambda way: (len(way), sum(m.where == _LEAVE for m in way)))
