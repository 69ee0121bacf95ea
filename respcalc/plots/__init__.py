"""Pictures of results; matplotlib is loaded only when one is drawn."""

from __future__ import annotations

from respcalc.plots.breakthrough import plot_breakthrough
from respcalc.plots.curve_fit import plot_curve_fit
from respcalc.plots.life_map import plot_life_map
from respcalc.plots.margin import plot_margin
from respcalc.plots.samples import plot_samples

__all__ = ["plot_breakthrough", "plot_curve_fit", "plot_life_map", "plot_margin", "plot_samples"]
