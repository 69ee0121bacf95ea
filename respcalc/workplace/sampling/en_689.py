"""Comparison with an exposure limit after EN 689: about the air outside a respirator, not about cartridges."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.errors import DomainError
from respcalc.core.sources import source
from respcalc.core.vocabulary import check, read_amount, single, term
from respcalc.workplace.sampling.lognormal import LognormalFit, few_measured, fit_logs
from respcalc.workplace.sampling.samples import Sample, SampleGroup
from respcalc.workplace.sampling.tolerance import tolerance_factor

__all__ = ["Compliance", "group_test", "preliminary_test"]

Decision = Literal["compliant", "not compliant", "no decision"]

_SHARES = {3: 0.10, 4: 0.15, 5: 0.20}
"""Of the limit, which all results must lie below (from memory)."""
_GROUP = 6
_COVERAGE, _CONFIDENCE = 0.95, 0.70
_MONTHS = ((0.1, 36), (0.25, 24), (0.5, 18), (math.inf, 12))
"""Geometric mean over the limit, months to the next assessment (from memory)."""
_SOURCE = "en_689_2018"
_SLACK = 1 + 1e-9
_GROUP_TEST = "EN 689 group test"
_OUTSIDE = (
    "about the air outside a respirator: it says whether exposure without one is within the limit, not how long "
    "cartridges last"
)
_AVERAGES = (
    "the results as reported are compared with the limit, not those while a respirator was worn; they must be of the "
    "limit's own averaging time, or stand for it"
)


@dataclass(frozen=True)
class Compliance:
    """What a test after EN 689 says. ``value`` is held against ``bound``; ``unit`` is empty for plain numbers."""

    test: str
    decision: Decision
    value: float | None  # None where no distribution can be fitted
    bound: float
    unit: str
    because: str
    limit: Datum
    source: str
    notes: tuple[str, ...]
    next_assessment: int | None = None  # months

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text, ready for JSON."""
        return {
            "test": self.test,
            "decision": self.decision,
            "value": self.value,
            "bound": self.bound,
            "unit": self.unit,
            "because": self.because,
            "limit": self.limit.as_dict(),
            "source": str(source(self.source)),
            "next_assessment_months": self.next_assessment,
            "notes": list(self.notes),
        }

    def __str__(self) -> str:
        later = (
            []
            if self.next_assessment is None
            else [f"  next assessment within {self.next_assessment} months (from memory)"]
        )
        return "\n".join(
            [
                f"{self.test}, limit {self.limit.printed}: {self.decision}",
                f"  {self.because}",
                *later,
                *(f"- {note}" for note in self.notes),
                f"- {source(self.source)}",
                SHORT_CAUTION,
            ]
        )


def preliminary_test(group: SampleGroup, exposure_limit: Any) -> Compliance:
    """Compare a few results with a limit.

    Parameters
    ----------
    group
        Samples from `describe_samples` or `read_samples`; a result below a limit of quantification counts by that
        limit.
    exposure_limit
        Limit, ppm or mg/m3.

    Returns
    -------
    Compliance
        Compliant if 3 results are all below 0.10 of the limit, 4 below 0.15, or 5 or more below 0.20; not compliant
        if any measured result is above the limit; otherwise no decision, and at least six results are needed.

    Raises
    ------
    UnitsError, DomainError
        Fewer than three results; no limit; mg/m3 for a group without air.

    Notes
    -----
    Source: ``en_689_2018``; the fractions are from memory.

    Examples
    --------
    >>> from respcalc.workplace.sampling import describe_samples
    >>> group = describe_samples("toluene", ["2 ppm", "3 ppm", "<1 ppm"], report="own, 2026")
    >>> preliminary_test(group, "50 ppm").decision
    'compliant'
    """
    limit, wear = _limit(group, exposure_limit), group.wear
    n = len(wear)
    if n < min(_SHARES):
        raise DomainError(f"results: {n}; the preliminary test needs at least {min(_SHARES)} of the long kind")
    highest = max(s.result for s in wear)
    share = _SHARES[min(n, max(_SHARES))]
    bound = share * limit.value
    show = term("volume_fraction").show
    decision: Decision
    if above := _above(wear, limit.value):
        decision, because = "not compliant", above
    elif highest < bound:
        decision = "compliant"
        because = f"all {n} results are below {share:g} of the limit ({show(bound)}); the highest is {show(highest)}"
    else:
        decision = "no decision"
        then = "the group test decides" if n >= _GROUP else f"take more, at least {_GROUP} in all, for the group test"
        because = (
            f"the highest of {n} results, {show(highest)}, is not below {share:g} of the limit ({show(bound)}); {then}"
        )
    ppm = term("volume_fraction").in_printed_unit
    return Compliance(
        "EN 689 preliminary test", decision, float(ppm(highest)), float(ppm(bound)), "ppm", because, limit, _SOURCE,
        (_OUTSIDE, _AVERAGES),
    )  # fmt: skip


def group_test(group: SampleGroup, exposure_limit: Any) -> Compliance:
    """Test six or more results: with 70 % confidence, do fewer than 5 % of exposures exceed the limit?

    Parameters
    ----------
    group
        Samples from `describe_samples` or `read_samples`, of one group of similar exposure.
    exposure_limit
        Limit, ppm or mg/m3.

    Returns
    -------
    Compliance
        ``value`` is U_R = (ln limit - ln GM) / ln GSD, ``bound`` is U_T: compliant where U_R is at least U_T and no
        measured result is above the limit. With results below a limit of quantification a distribution is fitted to
        them too, and U_T is the factor that its upper limit has; without enough measured ones there is no decision.

    Raises
    ------
    UnitsError, DomainError
        Fewer than six results; no limit; mg/m3 for a group without air.

    Notes
    -----
    U_T is the exact tolerance factor for 95 % coverage and 70 % confidence. Source: ``en_689_2018``,
    ``tolerance_limits``; the form of the test is from memory.

    Examples
    --------
    >>> from respcalc.workplace.sampling import describe_samples
    >>> results = ["0.84 ppm", "0.98 ppm", "0.42 ppm", "1.16 ppm", "1.36 ppm", "2.66 ppm"]
    >>> found = group_test(describe_samples("toluene", results, report="own, 2026"), "5 ppm")
    >>> print(found.decision, round(found.value, 3), round(found.bound, 3))
    compliant 2.555 2.187
    """
    limit, wear = _limit(group, exposure_limit), group.wear
    n = len(wear)
    if n < _GROUP:
        raise DomainError(f"results: {n}; the group test needs at least {_GROUP} of the long kind")
    y = np.log([s.result for s in wear])
    below = np.array([s.below for s in wear], dtype=bool)
    notes = [_OUTSIDE, _AVERAGES]
    above = _above(wear, limit.value)
    if few_measured(n, int(np.sum(~below))):
        because = f"{int(np.sum(~below))} of {n} results are measured: too few to fit a distribution"
        decision: Decision = "no decision"
        if above:
            decision, because = "not compliant", above
        u_t = tolerance_factor(n, _COVERAGE, _CONFIDENCE)
        return Compliance(_GROUP_TEST, decision, None, u_t, "", because, limit, _SOURCE, tuple(notes))
    fit = fit_logs(y, below, least_gsd=1.0)
    if fit.flat:
        notes.append("all results are equal: the least scatter that is believed is used")
    u_r, u_t = _statistics(fit, math.log(limit.value))
    decision = "compliant" if u_r >= u_t and not above else "not compliant"
    censored = int(np.sum(below))
    wider = f", {censored} of them below a limit, which widens U_T" if censored else ""
    because = above or f"U_R = {u_r:.3f}, U_T = {u_t:.3f} for {n} results{wider}"
    mean_share = math.exp(fit.mu) / limit.value
    months = next(m for share, m in _MONTHS if mean_share < share) if decision == "compliant" else None
    if months is not None:
        notes.append(
            f"the geometric mean is {100 * mean_share:.3g} % of the limit; the interval to the next assessment that "
            "goes with it is from memory"
        )
    return Compliance(_GROUP_TEST, decision, u_r, u_t, "", because, limit, _SOURCE, tuple(notes), months)


def _statistics(fit: LognormalFit, ln_limit: float) -> tuple[float, float]:
    """U_R, and the factor that it must reach; for complete data the latter is the tabulated U_T."""
    u_t = (fit.ln_upper(_COVERAGE, _CONFIDENCE) - fit.mu) / fit.sigma
    return (ln_limit - fit.mu) / fit.sigma, u_t


def _above(wear: tuple[Sample, ...], limit: float) -> str:
    over = [s.result for s in wear if not s.below and s.result > limit * _SLACK]
    show = term("volume_fraction").show
    return f"{len(over)} of {len(wear)} results above the limit, up to {show(max(over))}" if over else ""


def _limit(group: SampleGroup, value: Any) -> Datum:
    if not isinstance(group, SampleGroup):
        raise TypeError(
            f"group = {group!r}: samples are needed; make them with describe_samples(...) or read_samples(...)"
        )
    amount = read_amount("exposure_limit", value)
    if amount.basis == "mass":
        if group.air is None:
            raise DomainError(f"exposure_limit = {value}: the samples came without their air, so give the limit in ppm")
        number = group.air.volume_fraction(amount, group.vapour.molar_mass.value, as_argument="exposure_limit")
        return Datum("exposure_limit", number, "given", note=f"given as {value}")
    return Datum("exposure_limit", float(check("exposure_limit", single("exposure_limit", amount.value))), "given")
