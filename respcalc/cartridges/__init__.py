"""What the wearer breathes through: the sorbent bed of a cartridge."""

from __future__ import annotations

from respcalc.cartridges.cartridge import Cartridge, describe_bed
from respcalc.cartridges.history import SEALED, CarbonHistory, describe_history
from respcalc.cartridges.tested import CartridgeTest, describe_test

__all__ = [
    "SEALED",
    "CarbonHistory",
    "Cartridge",
    "CartridgeTest",
    "describe_bed",
    "describe_history",
    "describe_test",
]
