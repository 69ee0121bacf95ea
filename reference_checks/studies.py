"""Sets of measured values that scatter, judged as a set.

A row of an `Item` stands or falls alone. Where the model is asked about carbons and vapours it was
not fitted to, single rows may miss by a factor; what can be held is the bias, the spread and the
worst of the set, as they were found. A folder with a ``study.py`` hands its studies to this module.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property
from math import isfinite
from pathlib import Path
from statistics import fmean, pstdev

from reference_checks.framework import CheckError

__all__ = ["Measured", "Study", "all_studies"]

_NOTICED = 1.2
"""A study must notice when every prediction moves by this factor."""


@dataclass(frozen=True)
class Measured:
    """One measured value and what respcalc says of it, in one unit."""

    name: str
    measured: float
    predicted: float

    @property
    def deviation(self) -> float:
        return self.predicted / self.measured - 1.0


@dataclass(frozen=True)
class Study:
    """One set. ``bias``, ``spread`` and ``worst`` are bounds that record what was found."""

    key: str
    name: str
    seen: str
    model: str
    locator: str
    kind: str
    result: str
    unit: str
    rows: Callable[[], tuple[Measured, ...]]
    bias: tuple[float, float]
    spread: tuple[float, float]
    worst: tuple[float, float]
    why: str

    @property
    def id(self) -> str:
        return f"{self.key}/{self.name}"

    @cached_property
    def measured(self) -> tuple[Measured, ...]:
        rows = self.rows()
        wrong = [r.name for r in rows if not (isfinite(r.predicted) and isfinite(r.measured) and r.measured > 0)]
        if wrong or not rows:
            raise CheckError(f"{self.id}: {wrong or 'no rows'}: a number above 0 is needed")
        return rows

    def statistics(self, factor: float = 1.0) -> dict[str, float]:
        """Bias, spread and worst of predicted/measured - 1, with every prediction times *factor*."""
        off = [factor * (r.deviation + 1.0) - 1.0 for r in self.measured]
        return {"bias": fmean(off), "spread": pstdev(off), "worst": max(off, key=abs)}

    def outside(self, factor: float = 1.0) -> list[str]:
        """Which statistics left their recorded bounds, in words."""
        return [
            f"{self.id}: {name} {value:+.1%} is not within {low:+.1%} to {high:+.1%}"
            for name, value in self.statistics(factor).items()
            for low, high in (getattr(self, name),)
            if not low <= value <= high
        ]

    def blind(self) -> list[float]:
        """The factors on every prediction that would go unnoticed, of the two that must not."""
        return [f for f in (_NOTICED, 1 / _NOTICED) if not self.outside(f)]


@cache
def all_studies() -> tuple[Study, ...]:
    """Every study of every source folder, in order of folder name."""
    found: list[Study] = []
    for path in sorted(Path(__file__).parent.glob("*/study.py")):
        found += importlib.import_module(f"reference_checks.{path.parent.name}.study").STUDIES
    return tuple(found)
