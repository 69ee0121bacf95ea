"""Air samples of one vapour in one group of workers, and the concentration while the respirator was worn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from respcalc.core.errors import DomainError, RespcalcError, UnitsError
from respcalc.core.units import Concentration, read_censored_concentration
from respcalc.core.vocabulary import check, read, single, term
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace.air import Air

__all__ = ["KINDS", "Sample", "SampleGroup", "SampleKind", "describe_samples", "make_sample"]

SampleKind = Literal["wear", "peak"]
KINDS: tuple[SampleKind, ...] = ("wear", "peak")
_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class Sample:
    """One air sample. Concentrations are volume fractions, times are in seconds."""

    result: float  # as reported: the result, or the limit that it is below
    below: bool
    kind: SampleKind
    given: str
    sampled: float | None = None
    worn: float | None = None
    worker: str = ""
    date: str = ""

    @property
    def while_worn(self) -> float:
        """Concentration while the respirator was worn: all vapour counts as collected in that time."""
        return self.result * self.scale

    @property
    def scale(self) -> float:
        """Factor from the result to the concentration while worn; 1 where worn and sampled are the same or unknown."""
        if self.sampled is None or self.worn is None:
            return 1.0
        return max(1.0, self.sampled / self.worn)

    def as_dict(self) -> dict[str, Any]:
        ppm, minutes = term("volume_fraction").in_printed_unit, term("sampling_time").in_printed_unit
        return {
            "given": self.given,
            "below": self.below,
            "kind": self.kind,
            "result": {"value": float(ppm(self.result)), "unit": "ppm"},
            "while_worn": {"value": float(ppm(self.while_worn)), "unit": "ppm"},
            "sampled": None if self.sampled is None else {"value": float(minutes(self.sampled)), "unit": "min"},
            "worn": None if self.worn is None else {"value": float(minutes(self.worn)), "unit": "min"},
            "worker": self.worker,
            "date": self.date,
        }

    def __str__(self) -> str:
        show = term("volume_fraction").show
        sign = "<" if self.below else ""
        own = f"{sign}{show(self.result)}"
        given = "" if self.given.replace(" ", "") == own.replace(" ", "") else f" ({self.given})"
        scaled = f", {sign}{show(self.while_worn)} while worn" if self.scale > 1 else ""
        times = [
            f"{word} {term('sampling_time').show(value)}"
            for word, value in (("sampled", self.sampled), ("worn", self.worn))
            if value is not None
        ]
        more = "; ".join([*times, *(text for text in (self.worker, self.date) if text)])
        peak = "short-term " if self.kind == "peak" else ""
        return f"{peak}{own}{given}{scaled}{f' [{more}]' if more else ''}"


@dataclass(frozen=True)
class SampleGroup:
    """Samples of one vapour in one group of similar exposure; from `describe_samples` or `read_samples`."""

    name: str
    vapour: Vapour
    samples: tuple[Sample, ...]
    report: str
    air: Air | None = None

    @property
    def wear(self) -> tuple[Sample, ...]:
        """The long samples, which the statistics are made of."""
        return tuple(s for s in self.samples if s.kind == "wear")

    def worn_at_most(self, seconds: float) -> SampleGroup:
        """Return the group with no long sample worn for longer than a time [s]: what ran longer is scaled to it."""
        made = []
        for given in self.samples:
            ran = given.sampled if given.worn is None else given.worn
            longer = given.kind == "wear" and ran is not None and ran > seconds * _SLACK
            sample = replace(given, worn=seconds) if longer else given
            if sample.while_worn > 1.0:
                show = term("sampling_time").show
                raise DomainError(
                    f"sampled = {show(given.sampled or 0.0)} and a respirator worn for {show(seconds)}: {given.given}, "
                    "all collected in that time, would be more than pure vapour; check the two times"
                )
            made.append(sample)
        return replace(self, samples=tuple(made))

    @property
    def peaks(self) -> tuple[Sample, ...]:
        """The short-term samples."""
        return tuple(s for s in self.samples if s.kind == "peak")

    @property
    def title(self) -> str:
        return f"{self.vapour.name}{f', {self.name}' if self.name else ''}"

    def logs(self) -> tuple[Any, Any]:
        """Logarithms of the concentrations while worn (volume fractions) in rising order, and whether each is a limit.

        At one value the censored results come first: they are not above it.
        """
        ranked = sorted(self.wear, key=lambda s: (s.while_worn, not s.below))
        return np.log([s.while_worn for s in ranked]), np.array([s.below for s in ranked], dtype=bool)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was taken for granted of the times."""
        found = []
        wear = self.wear
        if any(s.sampled is None and s.worn is None for s in wear):
            found.append(
                "how long the sampler ran and how long the respirator was worn is not stated for some or all "
                "samples: their results are taken as the concentration while it was worn; a shift average is lower "
                "than that wherever the task is only a part of the shift"
            )
        if any(s.sampled is not None and s.worn is None for s in wear):
            found.append("worn is not stated for some or all samples: the respirator counts as worn while they ran")
        if any(s.scale > 1 for s in self.samples):
            found.append(
                "where the task with the respirator was shorter than the sample, all vapour counts as collected "
                "during it: result times sampled over worn"
            )
        if any(s.sampled is not None and s.worn is not None and s.worn > s.sampled * _SLACK for s in self.samples):
            found.append(
                "the respirator was worn for longer than a sample ran: the sample stands for all of that time, and "
                "is not scaled"
            )
        known = [s for s in self.samples if s.worker or s.date]
        if len(set(known)) < len(known):
            found.append(
                "two samples are the same in worker, date, times and result; if one was entered twice, take it out: "
                "more samples make the limit look better known"
            )
        if self.air is not None and any("/m3" in s.given for s in self.samples):
            found.append(f"mg/m3 turned into ppm at {self.air}")
        return tuple(found)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text with the unit beside each number, ready for JSON."""
        return {
            "group": self.name,
            "vapour": self.vapour.name,
            "cas": self.vapour.cas,
            "report": self.report,
            "samples": [s.as_dict() for s in self.samples],
            "notes": list(self.notes),
        }

    def __str__(self) -> str:
        lines = [f"{self.title}: {len(self.wear)} samples, {len(self.peaks)} short-term ({self.report})"]
        return "\n".join([*lines, *(f"  {s}" for s in self.samples), *(f"- {note}" for note in self.notes)])


def describe_samples(
    vapour: str | Vapour,
    results: Any,
    *,
    sampled: Any = None,
    worn: Any = None,
    peaks: Any = (),
    air: Air | None = None,
    group: str = "",
    report: str,
    shift: Any = None,
) -> SampleGroup:
    """Describe the air samples of one vapour in one group of similar exposure.

    Parameters
    ----------
    vapour
        Name, CAS number, or a vapour of your own.
    results
        Results of the personal samples outside the respirator, ppm or mg/m3, as a list. ``"<0.5 ppm"`` is one below
        the limit of quantification, with that sample's own limit.
    sampled
        How long each sampler ran [min]: one value, or one a result.
    worn
        For how long of that the task with the respirator was done [min]: one value, or one a result. Where it is less
        than *sampled*, all vapour counts as collected while the respirator was worn.
    peaks
        Results of short-term samples (15 min, say) at the worst moments, ppm or mg/m3.
    air
        From `describe_air`; needed for mg/m3.
    group
        Who does what: the group that the samples stand for.
    report
        Whose samples, of when.
    shift
        Length of the shift [min]: no sample can have run or been worn for longer.

    Returns
    -------
    SampleGroup

    Raises
    ------
    UnitsError, DomainError
        A result without a unit, not above zero, "not detected" without a number, or above a value; times of zero, above
        24 h or above the shift, or not one a result; mg/m3 without *air*; no result; no report.
    UnknownVapour
        The name is not known, or means several.

    Examples
    --------
    >>> print(describe_samples("toluene", ["40 ppm", "<5 ppm"], sampled="4 h", worn="2 h", report="own, March 2026"))
    toluene: 2 samples, 0 short-term (own, March 2026)
      40 ppm, 80 ppm while worn [sampled 240 min; worn 120 min]
      <5 ppm, <10 ppm while worn [sampled 240 min; worn 120 min]
    - where the task with the respirator was shorter than the sample, all vapour counts as collected during it: result
    times sampled over worn
    """
    found = vapour if isinstance(vapour, Vapour) else find_vapour(vapour)
    if not isinstance(report, str) or not report.strip():
        raise DomainError(
            f'report = {report!r}: say whose samples these are and of when, such as report="own survey, May 2026"'
        )
    if air is not None and not isinstance(air, Air):
        raise TypeError(f"air = {air!r}: an Air is needed; make one with describe_air(...)")
    long, short = _listed("results", results), _listed("peaks", peaks)
    if not long and not short:
        raise DomainError('results: there is none; give at least one result, such as results=["12 ppm"]')
    times = {name: _one_each(name, value, len(long)) for name, value in (("sampled", sampled), ("worn", worn))}
    longest = None if shift is None else single("shift", read("sampling_time", shift, as_argument="shift"))
    made, faults = [], []
    lots: tuple[tuple[str, Sequence[Any], SampleKind], ...] = (("results", long, "wear"), ("peaks", short, "peak"))
    for name, values, kind in lots:
        for i, value in enumerate(values):
            try:
                amount, below = read_censored_concentration(f"{name}[{i}]", value)
                when = [times[t][i] if kind == "wear" else None for t in ("sampled", "worn")]
                made.append(
                    make_sample(
                        amount,
                        below,
                        kind=kind,
                        sampled=when[0],
                        worn=when[1],
                        vapour=found,
                        air=air,
                        shift=longest,
                        where=lambda field, n=name, i=i: f"{n if field == 'result' else field}[{i}]",
                    )
                )
            except RespcalcError as error:
                faults.append((type(error), str(error)))
            except ValueError as error:
                faults.append((UnitsError, str(error)))
    if faults:
        texts = list(dict.fromkeys(text for _, text in faults))
        raise UnitsError(texts) if all(kind is UnitsError for kind, _ in faults) else DomainError("\n".join(texts))
    return SampleGroup(str(group).strip(), found, tuple(made), report.strip(), air)


def make_sample(
    amount: Concentration,
    below: bool,
    *,
    kind: SampleKind,
    sampled: float | None,
    worn: float | None,
    vapour: Vapour,
    air: Air | None,
    shift: float | None,
    where: Any,
    worker: str = "",
    date: str = "",
) -> Sample:
    """Make a sample of what was read (SI); *where* names a field for messages.

    Raises
    ------
    DomainError
        Naming the field, the value and the fix.
    """
    shown = f"{'<' if below else ''}{amount.quantity.magnitude:.6g} {term(_WORDS[amount.basis]).printed_unit!s}"
    place = where("result")
    if np.ndim(amount.value) == 0 and float(amount.value) == 0.0:
        raise DomainError(f"{place} = {shown}: nothing measures zero; write the limit that it is below, such as <0.5")
    if amount.basis == "volume":
        result = float(check("volume_fraction", amount.value, as_argument=place))
    elif air is None:
        raise DomainError(
            f"{place} = {shown}: what a mass per volume is in ppm depends on the air; give "
            'air=describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m"), with your values'
        )
    else:
        result = air.volume_fraction(amount, vapour.molar_mass.value, as_argument=place)
    for field, word, seconds in (("sampled", "sampling_time", sampled), ("worn", "wearing_time", worn)):
        if seconds is None:
            continue
        check(word, seconds, as_argument=where(field))
        if shift is not None and seconds > shift * _SLACK:
            show = term("sampling_time").show
            raise DomainError(
                f"{where(field)} = {show(seconds)} is more than the shift of {show(shift)}; correct the one or the "
                "other"
            )
    if worn is not None and sampled is None:
        raise DomainError(
            f"{where('worn')} is given without sampled: how long the sampler ran is needed too, to know whether the "
            "sample took in time without the respirator"
        )
    made = Sample(result, below, kind, shown, sampled, worn, worker, date)
    if made.while_worn > 1.0:
        raise DomainError(
            f"{place} = {shown}: scaled from the time sampled to the time worn it is more than pure vapour; check the "
            "two times"
        )
    return made


_WORDS = {"volume": "volume_fraction", "mass": "mass_concentration"}


def _listed(name: str, values: Any) -> list[Any]:
    """Results as a list; one text or one quantity is a list of one."""
    if hasattr(values, "magnitude") and hasattr(values, "units"):
        return [type(values)(v, values.units) for v in np.atleast_1d(values.magnitude)]
    if isinstance(values, Concentration):
        return [Concentration(v, values.basis) for v in np.atleast_1d(values.value)]
    if isinstance(values, str):
        return [values]
    if isinstance(values, (list, tuple)):
        return list(values)
    raise UnitsError([f'{name} = {values!r}: give a list of results with their units, such as ["12 ppm", "<0.5 ppm"]'])


def _one_each(name: str, value: Any, count: int) -> list[float | None]:
    word = {"sampled": "sampling_time", "worn": "wearing_time"}[name]
    if value is None:
        return [None] * count
    if isinstance(value, (list, tuple)):
        given = [
            None if v is None else single(f"{name}[{i}]", read(word, v, as_argument=f"{name}[{i}]"))
            for i, v in enumerate(value)
        ]
    else:
        number = read(word, value, as_argument=name)
        given = [float(v) for v in number] if np.ndim(number) else [float(number)] * count
    if len(given) != count:
        raise DomainError(
            f"{name}: {len(given)} times for {count} results; give one time for all of them, or one a result"
        )
    return given
