"""United States certification tests of organic-vapour cartridges and canisters."""

from __future__ import annotations

from reference_checks.elements import just_passing_mass, life, load, load_at_0_degC
from reference_checks.framework import Check

__all__ = ["CHECKS"]

CHECKS = {
    "load": Check(load, refuses={"molar volume of 0 degC": load_at_0_degC}),
    "life": Check(life),
    "just_passing_mass": Check(just_passing_mass),
}
