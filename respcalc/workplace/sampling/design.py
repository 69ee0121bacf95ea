"""The concentration that cartridges are planned for: the highest of what samples, peaks and upsets say."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.cautions import CAUTIONS, SHORT_CAUTION
from respcalc.core.errors import DomainError, RespcalcError
from respcalc.core.vocabulary import read, single, term
from respcalc.workplace.sampling.candidates import USUAL, Candidate, from_peaks, from_wear
from respcalc.workplace.sampling.goodness import Goodness, lognormality
from respcalc.workplace.sampling.lognormal import FEWEST, LEAST_GSD, LognormalFit, few_measured, fit_logs
from respcalc.workplace.sampling.overruled import read_chosen, read_upset
from respcalc.workplace.sampling.samples import SampleGroup
from respcalc.workplace.sampling.tolerance import read_share

__all__ = ["ASSUMED_GSD", "DesignConcentration", "design_concentration", "fit_samples"]

ASSUMED_GSD = 3.0
"""Scatter that stands in where too few results show it (common practice, no source)."""
_MANY_CENSORED = 0.5
_ROOM, _ATMOSPHERE = 293.15, 101325.0
_SLACK = 1 + 1e-9

Label = Literal["usual", "low confidence"]


@dataclass(frozen=True)
class DesignConcentration:
    """The concentration that cartridges are planned for, and why. From `design_concentration`."""

    samples: SampleGroup
    value: Datum
    candidates: tuple[Candidate, ...]
    rule: Datum | None  # what the rule gives; None with fewer than three samples
    because: str  # the name of the candidate that counts, or the reason recorded for another value
    label: Label
    reasons: tuple[str, ...]  # for low confidence
    coverage: float
    confidence: float
    assumed_gsd: float
    fit: LognormalFit | None
    goodness: Goodness | None
    notes: tuple[str, ...]

    @property
    def chosen(self) -> bool:
        """Whether the rule was overruled."""
        return self.rule is not self.value

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text with the unit beside each number, ready for JSON."""
        return {
            "value": self.value.as_dict(),
            "because": self.because,
            "chosen": self.chosen,
            "rule": None if self.rule is None else self.rule.as_dict(),
            "label": self.label,
            "reasons": list(self.reasons),
            "coverage": self.coverage,
            "confidence": self.confidence,
            "candidates": [c.as_dict() for c in self.candidates],
            "fit": None if self.fit is None else self.fit.as_dict(),
            "goodness": None if self.goodness is None else str(self.goodness),
            "notes": list(self.notes),
            "samples": self.samples.as_dict(),
            "cautions": list(CAUTIONS),
        }

    def __str__(self) -> str:
        word = "confidence as usual" if self.label == "usual" else self.label
        lines = [f"{self.samples.title}: planned for {self.value.printed} ({word})"]
        if self.chosen:
            ruled = "nothing: too few samples" if self.rule is None else self.rule.printed
            lines += [f"  chosen because: {self.because}", f"  the rule would have said {ruled}"]
        else:
            lines.append(f"  the highest counts: {self.because}")
        lines += [
            f"  {c.name}: {c.value.printed}{'' if c.counts else ' (does not count)'}; {c.how}" for c in self.candidates
        ]
        lines += [f"  low confidence: {reason}" for reason in self.reasons]
        lines += [f"- {note}" for note in self.notes]
        return "\n".join([*lines, SHORT_CAUTION])


def fit_samples(group: SampleGroup) -> LognormalFit:
    """Fit a lognormal distribution to the long samples of a group, as concentrations while worn.

    Parameters
    ----------
    group
        From `describe_samples` or `read_samples`.

    Returns
    -------
    LognormalFit
        With geometric mean and standard deviation, percentiles, upper tolerance limits and exceedance.

    Raises
    ------
    DomainError
        Fewer than three results, or too few of them measured.

    Examples
    --------
    >>> from respcalc.workplace.sampling import describe_samples
    >>> found = fit_samples(describe_samples("toluene", ["8 ppm", "20 ppm", "11 ppm"], report="own, 2026"))
    >>> f"{found.geometric_mean:.1f~P}, {found.geometric_standard_deviation:.2f}"
    '12.1 ppm, 1.59'
    """
    y, below = _group(group).logs()
    if len(y) < FEWEST:
        raise DomainError(_too_few(len(y)))
    return fit_logs(y, below)


def design_concentration(
    group: SampleGroup,
    *,
    upset: Any = None,
    upset_basis: str = "",
    chosen: Any = None,
    chosen_because: str = "",
    coverage: Any = "95 %",
    confidence: Any = "95 %",
    assumed_gsd: Any = ASSUMED_GSD,
) -> DesignConcentration:
    """Choose the concentration that cartridges are planned for.

    Parameters
    ----------
    group
        Samples of one vapour, from `describe_samples` or `read_samples`.
    upset
        Highest concentration of a foreseeable upset that nothing else takes care of, ppm or mg/m3.
    upset_basis
        How it was measured or estimated.
    chosen
        Another value than the rule's, ppm or mg/m3; never below the highest measured result.
    chosen_because
        The reason, for the record.
    coverage
        Share of exposures that the upper tolerance limit is to cover [%].
    confidence
        Share of sets of samples for which it does [%].
    assumed_gsd
        Geometric standard deviation to assume where too few results are measured to show it.

    Returns
    -------
    DesignConcentration

    Raises
    ------
    UnitsError, DomainError
        Fewer than three samples and no chosen value; an upset or a chosen value without its basis or below the highest
        measured result; mg/m3 for a group without air.

    Notes
    -----
    The highest counts of: the upper tolerance limit of the samples while worn, the highest of them, the highest
    short-term result, a foreseeable upset, and with fewer than six samples twice the highest. Where fewer than three
    are measured or more than 80 % are below their limits, no distribution is fitted: the largest result or limit,
    times what the assumed scatter leaves open with that many results, stands in for the tolerance limit.

    A further measured result at or above all others never lowers it (one below a limit may): the rule also takes what
    it gives without the highest measured results, one after the other, and the largest of these counts. Three to five
    results give tolerance limits of a hundred times their median now and then, and would then bind every later
    survey. So with fewer than six measured results the tolerance limit counts no further than the assumed scatter
    explains, or the one that they show if that is more: the confidence stays at 95 % for a true scatter up to 2, and is
    91 to 93 % at 3 and 81 to 88 % at 5. What is left of that costs nothing in the median, and in one survey of ten a
    factor of up to 2 at a scatter of 1.5, of 1.4 at 2, and of 1.2 at 3. A higher *low* result narrows the scatter and
    can lower the value. Source for planning for the highest: ``osha_letter_1990_01_10``; for the factors:
    ``tolerance_limits``, ``exposure_scatter``.

    Examples
    --------
    >>> from respcalc.workplace.sampling import describe_samples
    >>> group = describe_samples(
    ...     "toluene", ["8 ppm", "20 ppm", "11 ppm", "31 ppm", "<5 ppm", "14 ppm", "9 ppm"], peaks=["60 ppm"],
    ...     sampled="4 h", worn="4 h", report="own, 2026"
    ... )
    >>> design_concentration(group).because
    'upper tolerance limit 95,95'
    """
    _group(group)
    share, sure = read_share("coverage", coverage), read_share("confidence", confidence)
    gsd = single("assumed_gsd", read("geometric_standard_deviation", assumed_gsd, as_argument="assumed_gsd"))
    if gsd < LEAST_GSD:
        raise DomainError(f"assumed_gsd = {gsd:g}: a scatter below {LEAST_GSD:g} is not believed of exposures")
    foreseen = read_upset(group, upset, upset_basis)
    y, below = group.logs()
    own = read_chosen(group, chosen, chosen_because)
    candidates = from_wear(group, share, sure, gsd) if len(y) >= FEWEST else []
    candidates += from_peaks(group) + ([foreseen] if foreseen else [])
    counted = [c for c in candidates if c.counts]
    top = max(counted, key=lambda c: c.value.value) if len(y) >= FEWEST else None
    fit = fit_logs(y, below) if len(y) >= FEWEST and not few_measured(len(y), int(np.sum(~below))) else None
    goodness = None if fit is None else lognormality(y, below)
    reasons = _reasons(y, below, fit, goodness, gsd)
    notes = list(group.notes)
    if goodness is not None:
        notes.append(str(goodness))
    if top is not None and top.value.value >= 1.0:
        notes.append(
            "the rule's value is held at pure vapour: these samples say nothing of the upper end. Take more of them, "
            "or state a concentration with a reason"
        )
    if sure < 0.95 or share < 0.95:
        notes.append(f"less than the usual 95,95 was asked for: coverage {share:.4g}, confidence {sure:.4g}")
    rule = None if top is None else replace(top.value, label="design concentration", note=top.name)
    if own is not None:
        value, because = own, own.note
        for other in dict.fromkeys((foreseen, top)):
            if other is not None and own.value * _SLACK < other.value.value:
                notes.append(f"the chosen value lies below {other.value.printed}: {other.name}")
    elif rule is not None:
        value, because = rule, rule.note
    else:
        raise DomainError(_too_few(len(y)))
    notes += _beyond_saturation(group, value.value)
    return DesignConcentration(
        group, value, tuple(candidates), rule, because, "low confidence" if reasons else "usual", reasons, share, sure,
        gsd, fit, goodness, tuple(notes),
    )  # fmt: skip


def _reasons(y: Any, below: Any, fit: LognormalFit | None, goodness: Goodness | None, gsd: float) -> tuple[str, ...]:
    n, censored = len(y), int(np.sum(below))
    found = []
    if n < USUAL:
        found.append(f"{n} sample{'s' if n != 1 else ''}, fewer than {USUAL}")
    elif n - censored < USUAL:
        found.append(f"{n - censored} of {n} results measured, fewer than {USUAL}")
    if fit is None and n >= FEWEST:
        found.append(
            f"{n - censored} of {n} results measured: the scatter is assumed (geometric standard deviation {gsd:g})"
        )
    elif n and censored > _MANY_CENSORED * n:
        found.append(f"{censored} of {n} results are below their limits")
    if n and fit is not None and below[-1]:
        found.append("a limit of quantification lies above every measured result")
    if fit is not None and fit.scatter_raised:
        found.append(
            f"the results scatter less than is believed of exposures; a geometric standard deviation of {LEAST_GSD:g} "
            "is used"
        )
    if goodness is not None and goodness.poor:
        found.append("the results do not look lognormal; look whether they are of one group")
    return tuple(found)


def _beyond_saturation(group: SampleGroup, value: float) -> list[str]:
    """Say so where no air without mist holds the value; not knowing the vapour pressure is no fault here."""
    kelvin = group.air.temperature.value if group.air else _ROOM
    pressure = group.air.pressure.value if group.air else _ATMOSPHERE
    try:
        saturated = group.vapour.saturation_pressure(kelvin).value / pressure
    except RespcalcError:
        return []
    if value <= saturated * _SLACK:
        return []
    show = term("volume_fraction").show
    return [
        f"{show(value)} is more than the saturated vapour at {term('temperature').show(kelvin)}, about "
        f"{show(saturated)}: no air without mist holds it"
    ]


def _too_few(n: int) -> str:
    count = {0: "no sample", 1: "one sample", 2: "two samples"}[n]
    return (
        f"results: {count} of the time while worn; {'that says' if n < 2 else 'they say'} next to nothing of the "
        "scatter. Take at least three, six for usual confidence, or state a concentration yourself with a reason: "
        'chosen="200 ppm", chosen_because="..."'
    )


def _group(group: Any) -> SampleGroup:
    if not isinstance(group, SampleGroup):
        raise TypeError(
            f"group = {group!r}: samples are needed; make them with describe_samples(...) or read_samples(...)"
        )
    return group
