"""What a benzene canister takes up in its proof."""

from __future__ import annotations

from reference_checks.elements import load, load_at_0_degC
from reference_checks.framework import Check

__all__ = ["CHECKS"]

CHECKS = {"load": Check(load, refuses={"molar volume of 0 degC": load_at_0_degC})}
