"""The values that a design concentration could be: the upper end of the results, the highest, twice the highest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.vocabulary import term
from respcalc.workplace.sampling.lognormal import FEWEST, LEAST_GSD, few_measured, fit_logs
from respcalc.workplace.sampling.samples import SampleGroup
from respcalc.workplace.sampling.tolerance import largest_result_factor

__all__ = ["USUAL", "Candidate", "from_peaks", "from_wear"]

USUAL = 6
"""Results from which the confidence is the usual one."""


@dataclass(frozen=True)
class Candidate:
    """One value that the design concentration could be, and how it came about.

    ``counts`` is False for a value that is shown only because another takes its place.
    """

    name: str
    value: Datum
    how: str
    counts: bool = True

    def as_dict(self) -> dict[str, Any]:
        return {"name": self.name, "value": self.value.as_dict(), "how": self.how, "counts": self.counts}


def from_wear(group: SampleGroup, coverage: float, confidence: float, gsd: float) -> list[Candidate]:
    """Everything that the long samples of a group give; shares as plain fractions."""
    y, below = group.logs()
    n, largest = len(y), max(s.while_worn for s in group.wear)  # not through its logarithm, which loses the last bit
    end = _upper_end(y, below, coverage, confidence, gsd)
    code = f"{100 * coverage:.4g},{100 * confidence:.4g}"
    found = []
    if end.fitted:
        fit = fit_logs(y, below)
        way = "" if fit.measured == n else f", {n - fit.measured} below a limit: likelihood and regression, the larger"
        scatter = f" ({LEAST_GSD:g} is the least that is believed)" if fit.scatter_raised else ""
        how = (
            f"of {n} results while worn{way}; geometric mean {term('volume_fraction').show(math.exp(fit.mu))}, "
            f"geometric standard deviation {fit.geometric_standard_deviation:.2f}{scatter}"
        )
        held = end.held is not None and end.held < end.limit
        found.append(_candidate(f"upper tolerance limit {code}", end.limit, how, "tolerance_limits", counts=not held))
        if held and end.held is not None:
            how = (
                f"takes the place of the tolerance limit, which {fit.measured} measured results leave without a "
                f"useful bound: the largest times what a geometric standard deviation of {end.scatter:.3g} leaves "
                "open. The confidence is less than stated where exposures scatter more than that"
            )
            found.append(
                _candidate("upper limit of fewer than six measured results", end.held, how, "exposure_scatter")
            )
    else:
        how = (
            f"{n} results, {int(np.sum(~below))} of them measured: too few to fit a distribution; the largest result "
            f"or limit times what an assumed geometric standard deviation of {gsd:g} leaves open"
        )
        found.append(_candidate("upper limit with an assumed scatter", end.limit, how, "exposure_scatter"))
    sign = "a limit that a result is below" if below[-1] else "measured"
    highest = Datum("volume_fraction", largest, "measured", label="highest result while worn")
    found.append(Candidate(highest.name, highest, f"the highest of {n}, {sign}"))
    if n < USUAL:
        how = f"{n} results are fewer than {USUAL}"
        found.append(_candidate("twice the highest result", end.largest + math.log(2), how, "exposure_scatter"))
    earlier = _without_the_highest(y, below, coverage, confidence, gsd)
    if earlier is not None and earlier.most > end.most:
        how = (
            f"the {earlier.n} lowest results would have called for this by themselves, and that {n - earlier.n} higher "
            "ones came to them is no reason to plan for less"
        )
        name = f"what the {earlier.n} lowest results call for"
        found.append(_candidate(name, earlier.most, how, "tolerance_limits"))
    return found


def from_peaks(group: SampleGroup) -> list[Candidate]:
    """The highest short-term result; one below a limit counts by that limit."""
    if not group.peaks:
        return []
    top = max(group.peaks, key=lambda s: (s.while_worn, not s.below))
    sign = "a limit that a result is below" if top.below else "measured"
    value = Datum("volume_fraction", top.while_worn, "measured", label="highest short-term result")
    return [Candidate("highest short-term result", value, f"the highest of {len(group.peaks)}, {sign}")]


@dataclass(frozen=True)
class _End:
    """The upper end of one set of results (logarithms)."""

    limit: float  # tolerance limit, or the bound of the largest result
    fitted: bool
    held: float | None  # the bound that it may not pass with fewer than six measured results
    largest: float
    n: int
    scatter: float = 0.0  # geometric standard deviation of that bound

    @property
    def upper(self) -> float:
        return self.limit if self.held is None else min(self.limit, self.held)

    @property
    def most(self) -> float:
        twice = math.log(2) if self.n < USUAL else 0.0
        return max(self.upper, self.largest + twice)


def _upper_end(y: Any, below: Any, coverage: float, confidence: float, gsd: float) -> _End:
    n, measured, largest = len(y), int(np.sum(~below)), float(y.max())

    def bound(scatter: float) -> float:
        return largest + math.log(largest_result_factor(n, coverage, confidence, math.log(scatter)))

    if few_measured(n, measured):
        return _End(bound(gsd), False, None, largest, n)
    fits = [fit_logs(lower, below) for lower in _lowered(y, below)]
    limit = max(fit.ln_upper(coverage, confidence) for fit in fits)
    # results that scatter more than is assumed say so themselves
    scatter = max([gsd, *(fit.geometric_standard_deviation for fit in fits)])
    return _End(limit, True, bound(scatter) if measured < USUAL else None, largest, n, scatter)


def _lowered(y: Any, below: Any) -> list[Any]:
    """The results, and the same with the highest measured one just below each limit that lies under it.

    Plotting positions jump where a result passes a limit of others. With these beside it a limit cannot fall when the
    highest result rises.
    """
    top = int(np.flatnonzero(~below)[-1])
    second = float(y[np.flatnonzero(~below)[-2]])
    found = [y]
    for limit in np.unique(y[below & (y > second) & (y <= y[top])]):
        lower = y.copy()
        lower[top] = np.nextafter(limit, -np.inf)
        found.append(lower)
    return found


def _without_the_highest(y: Any, below: Any, coverage: float, confidence: float, gsd: float) -> _End | None:
    """The largest that the rule gives for what was there before the highest measured results, one after the other.

    It stops at a result that is only known to be below a limit: such a one need not lie above the others.
    """
    best: _End | None = None
    for n in range(len(y) - 1, FEWEST - 1, -1):
        if below[n]:
            break
        end = _upper_end(y[:n], below[:n], coverage, confidence, gsd)
        if best is None or end.most > best.most:
            best = end
    return best


def _candidate(name: str, ln_value: float, how: str, key: str, *, counts: bool = True) -> Candidate:
    value = math.exp(min(ln_value, 0.0))  # no air holds more than pure vapour
    return Candidate(name, Datum("volume_fraction", value, "computed", key, label=name), how, counts)
