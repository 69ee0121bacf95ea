"""European tests of gas filters for organic vapours, and which type a vapour needs."""

from __future__ import annotations

from reference_checks.elements import just_passing_mass, life, load, load_at_0_degC
from reference_checks.framework import Check
from respcalc.schedule import low_boiling
from respcalc.vapours import find_vapour

__all__ = ["CHECKS"]


def _boiling_point(*, vapour: str, type: str) -> float:
    """The library's boiling point; the schedule's rule must put it on the side of 65 degC of the filter type."""
    found = find_vapour(vapour).boiling_point.value
    own = "AX" if low_boiling(found) else "A"
    if own != type:
        raise AssertionError(
            f"{vapour}: boils at {found - 273.15:.1f} degC, so type {own}, and the standard says {type}"
        )
    return found


CHECKS = {
    "load": Check(load, refuses={"molar volume of 0 degC": load_at_0_degC}),
    "life": Check(life),
    "just_passing_mass": Check(just_passing_mass),
    "type": Check(_boiling_point),
}
