"""What the wearer breathes through: the sorbent bed of a cartridge."""

from __future__ import annotations

from respcalc.cartridges.cartridge import Cartridge, describe_bed

__all__ = ["Cartridge", "describe_bed"]
