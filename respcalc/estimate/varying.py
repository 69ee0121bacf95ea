"""What a concentration that varies would allow: shown beside the life at the highest, never instead of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from respcalc.core.basis import Datum
from respcalc.core.vocabulary import term
from respcalc.estimate.result import ServiceLife
from respcalc.workplace import Inhaled

__all__ = ["VaryingLife", "life_as_it_varies"]

_SAME_MOMENT = 1e-6  # of the whole: ends of stretches of different vapours that are meant to be one


@dataclass(frozen=True)
class VaryingLife:
    """Life under the concentrations as they vary, or why there is none to show.

    ``life`` is at the flow of the estimates; None where a stretch cannot be estimated.
    """

    life: Datum | None
    because: str

    def as_dict(self) -> dict[str, object]:
        """Plain numbers and text, with the unit beside the number."""
        told = None if self.life is None else {"value": self.life.value / 60.0, "unit": "min"}
        return {"service_life": told, "because": self.because, "counts": False}


def life_as_it_varies(
    inhaled: Sequence[Inhaled], estimate: Callable[[Sequence[Inhaled]], ServiceLife]
) -> VaryingLife | None:
    """Add up what each stretch of a varying concentration takes of a cartridge.

    Parameters
    ----------
    inhaled
        The vapours of a task. One without a profile is at its highest all the time.
    estimate
        Estimates the life against vapours at given concentrations.

    Returns
    -------
    VaryingLife or None
        None where no vapour has a profile.

    Raises
    ------
    RespcalcError
        What *estimate* raises.

    Notes
    -----
    A stretch takes of the life the share that it is of the life under its own concentrations; the hardest stretch
    comes first, whatever the order of the plan, and all stretches come again every shift. Source: none; a bed that is
    half spent by one concentration is taken to be half spent for any other. It is no bound, so nothing rests on it.
    """
    profiles = [part.profile for part in inhaled if part.profile is not None]
    if not profiles:
        return None
    ends = sorted(
        {0.0, *(math.fsum(s.length for s in p.stretches[: i + 1]) for p in profiles for i in range(len(p.stretches)))}
    )
    lengths: dict[tuple[float, ...], list[float]] = {}
    for start, end in pairwise(ends):
        if end - start < _SAME_MOMENT * ends[-1]:
            continue
        middle = (start + end) / 2
        levels = tuple(p.concentration if p.profile is None else p.profile.at(middle) for p in inhaled)
        lengths.setdefault(levels, []).append(end - start)
    shares: list[tuple[float, float]] = []  # length of a stretch, share of the life that a second of it takes
    for levels, parts in lengths.items():
        there = [
            replace(part, concentration=level, average=None, short_term=None, profile=None)
            for part, level in zip(inhaled, levels, strict=True)
            if level > 0
        ]
        life = estimate(there) if there else None
        if life is not None and (life.outside_model or life.immediate):
            show = term("volume_fraction").show
            which = ", ".join(f"{show(part.concentration)} of {part.vapour.name}" for part in there)
            return VaryingLife(None, f"{which}: {'immediate breakthrough' if life.immediate else 'outside the model'}")
        shares.append((math.fsum(parts), 0.0 if life is None else 1.0 / life.life.value))
    time = _until_spent(shares)
    hardest = f"{len(shares)} different stretches" if len(shares) > 1 else "one stretch"
    because = f"each of {hardest} takes its share of the life that it alone would leave, the hardest first"
    return VaryingLife(Datum("service_life", time, "computed"), because)


def _until_spent(shares: Sequence[tuple[float, float]]) -> float:
    """Time until the shares of the stretches, the hardest first and all of them each shift, add up to a life."""
    a_shift = math.fsum(length * rate for length, rate in shares)
    span = math.fsum(length for length, _ in shares)
    whole = math.floor(1.0 / a_shift)
    left, time = 1.0 - whole * a_shift, whole * span
    for length, rate in sorted(shares, key=lambda part: -part[1]):
        if length * rate >= left:
            return time + left / rate
        time += length
        left -= length * rate
    return time
