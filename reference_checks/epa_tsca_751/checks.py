"""The bands of EPA's rules against protection factor times limit, as the gate holds them."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.vapours import find_vapour
from respcalc.workplace import choose_limits, facepiece, jurisdiction

__all__ = ["CHECKS"]


def _band(*, vapour: str, device: str) -> float:
    """The least average limit of the US times the factor; OSHA's own limit does not make it looser."""
    held = choose_limits(find_vapour(vapour), limits_from="OSHA PEL", jurisdiction=jurisdiction("US")).long_term
    assert held is not None
    return facepiece(device).protection_factor.value * held.value.value


CHECKS = {"bands": Check(_band)}
