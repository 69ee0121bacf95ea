"""Pictures of results; matplotlib is loaded only when one is drawn."""

from __future__ import annotations

from respcalc.plots.breakthrough import plot_breakthrough

__all__ = ["plot_breakthrough"]
