"""What counts as breakthrough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import read, single

__all__ = ["BreakthroughCriterion"]


@dataclass(frozen=True)
class BreakthroughCriterion:
    """What counts as breakthrough: the lower of two exit concentrations.

    Parameters
    ----------
    challenge_fraction
        Share of the concentration outside. 1 % by default: the margin was studied at 1 %.
    limit_fraction
        Share of the exposure limit. 10 % by default: leakage at the seal must have its share too.
    """

    challenge_fraction: float = 0.01
    limit_fraction: float = 0.10

    def __post_init__(self) -> None:
        for name, highest in (("challenge_fraction", 0.2), ("limit_fraction", 1.0)):
            value = getattr(self, name)
            if not 0 < value <= highest:
                raise DomainError(f"{name} = {value:g}: it must be above 0 and at most {highest:.0%}")

    @classmethod
    def of(cls, challenge_fraction: Any = None, limit_fraction: Any = None) -> BreakthroughCriterion:
        """Read the two fractions (``"1 %"`` or 0.01); None keeps the default."""
        given = {"challenge_fraction": challenge_fraction, "limit_fraction": limit_fraction}
        return cls(**{k: single(k, read("penetration", v, as_argument=k)) for k, v in given.items() if v is not None})
