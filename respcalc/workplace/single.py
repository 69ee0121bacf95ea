"""One task has one temperature, one flow, one limit: an array is refused where one value is meant."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.errors import DomainError

__all__ = ["single"]


def single(name: str, value: Any) -> float:
    """Return *value* (SI) as a float, or refuse an array.

    Raises
    ------
    DomainError
        Naming the argument and how many values came.
    """
    if np.ndim(value):
        raise DomainError(f"{name}: {np.size(value)} values in a list; give one value, the worst that occurs")
    return float(value)
