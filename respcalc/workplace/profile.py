"""A concentration that is known over the time of a task, one stretch after another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.vocabulary import read, read_amount, single, term
from respcalc.workplace.air import Air

__all__ = ["Profile", "Stretch", "read_profile"]

_FEW = 6  # stretches that are spelled out


@dataclass(frozen=True)
class Stretch:
    """A time [s] at one concentration (volume fraction, 0 where there is none)."""

    concentration: float
    length: float


@dataclass(frozen=True)
class Profile:
    """Stretches in the order of the clock. `describe_exposure` makes one of pairs of level and length.

    Cartridges are planned for the highest, and averages over less than the whole are taken over the highest
    stretches wherever they stand: nobody keeps to the order of a plan.
    """

    stretches: tuple[Stretch, ...]

    @property
    def span(self) -> float:
        """Length of all stretches [s]."""
        return math.fsum(part.length for part in self.stretches)

    @property
    def highest(self) -> float:
        """Highest concentration."""
        return max(part.concentration for part in self.stretches)

    @property
    def average(self) -> float:
        """Average over the whole."""
        return self.highest_average(self.span)

    def highest_average(self, seconds: float) -> float:
        """Highest average over a time, the stretches in any order; over the whole where that is shorter."""
        left = whole = min(seconds, self.span)
        dose = []
        for part in sorted(self.stretches, key=lambda part: -part.concentration):
            used = min(left, part.length)
            dose.append(used * part.concentration)
            left -= used
        return min(math.fsum(dose) / whole, self.highest)

    def at(self, seconds: float) -> float:
        """Concentration at a time from the start."""
        end = 0.0
        for part in self.stretches:
            end += part.length
            if seconds < end:
                return part.concentration
        return self.stretches[-1].concentration

    @property
    def text(self) -> str:
        """The stretches in words, with their average and the highest."""
        show = term("volume_fraction").show
        if len(self.stretches) > _FEW:
            least = min(part.concentration for part in self.stretches)
            said = f"{len(self.stretches)} stretches of {_level(least)} to {show(self.highest)}"
        else:
            said = ", ".join(f"{_time(part.length)} at {_level(part.concentration)}" for part in self.stretches)
        return f"{said}; average {show(self.average)}, highest {show(self.highest)}"


def _level(concentration: float) -> str:
    return term("volume_fraction").show(concentration) if concentration > 0 else "0 ppm"


def _time(seconds: float) -> str:
    return term("worn_time" if seconds < 3600.0 else "change_interval").show(seconds)


def read_profile(pairs: Sequence[Any], *, air: Air, molar_mass: float) -> Profile:
    """Read a concentration over time.

    Parameters
    ----------
    pairs
        Pairs of level [ppm, or mg/m3] and length [h], in the order of the clock. A level is the highest of its
        stretch, or 0 ppm where there is none.
    air
        From `describe_air`.
    molar_mass
        Of the vapour [kg/mol].

    Returns
    -------
    Profile

    Raises
    ------
    UnitsError, DomainError
        Naming the stretch and what is wrong with it; nothing in the air at any time.
    """
    example = 'for example [("300 ppm", "15 min"), ("70 ppm", "7.75 h")]'
    if not pairs:
        raise DomainError(f"profile: pairs of level and length are needed, {example}")
    made = []
    for number, pair in enumerate(pairs, start=1):
        which = f"profile, no. {number}"
        if isinstance(pair, str) or not isinstance(pair, Sequence) or len(pair) != 2:
            raise DomainError(f"{which}: {pair!r:.80} is no pair of level and length, {example}")
        try:
            amount = read_amount("level", pair[0])
            none = single("level", amount.value) == 0
            level = 0.0 if none else air.volume_fraction(amount, molar_mass, as_argument="level")
            length = single("length", read("worn_time", pair[1], as_argument="length"))
        except UnitsError as error:
            raise UnitsError([f"{which}: {problem}" for problem in error.problems]) from None
        except DomainError as error:
            raise DomainError(f"{which}: {error}") from None
        if length <= 0:
            raise DomainError(f"{which}: length = 0; leave a stretch out that does not occur")
        made.append(Stretch(level, length))
    profile = Profile(tuple(made))
    if profile.highest <= 0:
        raise DomainError("profile: every level is 0 ppm; a task without vapour needs no cartridge")
    return profile
