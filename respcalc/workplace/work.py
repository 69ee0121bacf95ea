"""A task of several phases: what is drawn in all, and what is drawn at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.units import Quantity
from respcalc.core.vocabulary import read, single, term
from respcalc.workplace.breathing import LEAST_PLANNED, breathing_rate

__all__ = ["Phase", "Work", "describe_work"]


@dataclass(frozen=True)
class Phase:
    """Work at one rate for a time [s]."""

    length: float
    flow: Datum


@dataclass(frozen=True)
class Work:
    """The phases of one shift's task. Make one with `describe_work`.

    Cartridges are estimated at the highest flow, which is what their kinetics have to stand. The load follows the
    air that is drawn: a life at the highest flow becomes a longer time in these phases. Nobody keeps to the order
    of a plan, and a set may be put on at any moment, so the hardest phases count first: no stretch of the shift
    draws more.
    """

    phases: tuple[Phase, ...]

    @property
    def span(self) -> float:
        """Length of all phases [s]."""
        return math.fsum(phase.length for phase in self.phases)

    @property
    def highest(self) -> Datum:
        """Flow of the hardest phase."""
        return max((phase.flow for phase in self.phases), key=lambda flow: flow.value)

    @property
    def mean(self) -> float:
        """Time-weighted mean flow [m3/s]."""
        return math.fsum(phase.length * phase.flow.value for phase in self.phases) / self.span

    def _hardest_first(self) -> list[Phase]:
        return sorted(self.phases, key=lambda phase: -phase.flow.value)

    def at_highest_si(self, seconds: float) -> float:
        """Time at the highest flow [s] in which as much air is drawn as at most in a time of these phases."""
        whole, rest = divmod(seconds, self.span)
        drawn = whole * math.fsum(phase.length * phase.flow.value for phase in self.phases)
        for phase in self._hardest_first():
            part = min(rest, phase.length)
            drawn += part * phase.flow.value
            rest -= part
        return drawn / self.highest.value

    def lasts(self, life: Any) -> Quantity:
        """Time in these phases that a life at the highest flow covers, both with units: ``work.lasts("2 h")``."""
        seconds = single("life", read("service_life", life, as_argument="life"))
        return term("service_life").quantity(self.lasts_si(seconds))

    def lasts_si(self, life: float) -> float:
        """Time in these phases [s] that a life at the highest flow [s] is sure to cover.

        Beyond one shift whole shifts are counted, each with all its phases.
        """
        left = life
        shares = [(phase.length, phase.flow.value / self.highest.value) for phase in self._hardest_first()]
        a_shift = math.fsum(length * share for length, share in shares)
        whole = math.floor(left / a_shift) if math.isfinite(left) else 0
        if not math.isfinite(left):
            return left
        left -= whole * a_shift
        time = whole * self.span
        for length, share in shares:
            part = min(left / share, length)
            time += part
            left -= part * share
            if left <= 0 or part < length:
                break
        return max(time, life)

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be said of the flows of the phases, each once."""
        return tuple(dict.fromkeys(phase.flow.note for phase in self.phases if phase.flow.note))

    @property
    def text(self) -> str:
        """The phases in words."""
        flow = term("flow_rate").show
        parts = ", ".join(f"{_time(phase.length)} at {phase.flow.printed}" for phase in self.phases)
        return f"{parts}; mean {flow(self.mean)}, highest {self.highest.printed}"


def _time(seconds: float) -> str:
    return term("worn_time" if seconds < 3600.0 else "change_interval").show(seconds)


def describe_work(phases: Sequence[tuple[Any, Any]]) -> Work:
    """Describe a task whose work is not equally hard throughout.

    Parameters
    ----------
    phases
        Pairs of work rate (as for `breathing_rate`; less than 30 L/min counts as that) and length [h]; together the
        time from first donning to last doffing.

    Returns
    -------
    Work

    Raises
    ------
    UnitsError, DomainError
        Naming the phase and what is wrong with it.

    Examples
    --------
    >>> work = describe_work([("heavy", "1 h"), ("light", "5 h")])
    >>> work.highest.printed
    '65 L/min'
    >>> f"{work.lasts('2 h'):.0f~P}"
    '190 min'
    """
    if isinstance(phases, str) or not isinstance(phases, Sequence) or not phases:
        raise DomainError('phases: pairs of work rate and length are needed, for example [("heavy", "1 h")]')
    made = []
    for number, phase in enumerate(phases, start=1):
        if isinstance(phase, str) or not isinstance(phase, Sequence) or len(phase) != 2:
            raise DomainError(f'phases, no. {number}: {phase!r:.80} is no pair such as ("heavy", "1 h")')
        length = single("length", read("worn_time", phase[1], as_argument=f"phases, no. {number}, length"))
        if length <= 0:
            raise DomainError(f"phases, no. {number}: length = 0; leave a phase out that does not occur")
        try:
            flow = breathing_rate(phase[0])
        except DomainError as error:
            raise DomainError(f"phases, no. {number}: {error}") from None
        if flow.value < LEAST_PLANNED:
            note = f"{flow.printed} was given for a phase; 30 L/min is the least that is planned for"
            flow = Datum("flow_rate", LEAST_PLANNED, flow.kind, flow.source, note=note)
        made.append(Phase(length, flow))
    return Work(tuple(made))
