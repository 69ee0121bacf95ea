"""Physical constants that more than one family of models uses."""

from __future__ import annotations

__all__ = ["GAS_CONSTANT", "WATER_MOLAR_VOLUME"]

GAS_CONSTANT = 8.31446261815324
"""Molar gas constant [J/(mol K)], exact since the 2019 SI."""

WATER_MOLAR_VOLUME = 18.07e-6
"""Molar volume of liquid water near 25 degC [m3/mol]."""
