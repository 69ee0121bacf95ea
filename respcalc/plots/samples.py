"""Air samples on lognormal probability paper: do they lie on a line, and what lies above it."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import read, single, term
from respcalc.workplace.sampling import DesignConcentration, SampleGroup, design_concentration, probability_plot

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_samples"]

_SHARES = (0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99)
_LINE = 88


def plot_samples(
    group_or_design: SampleGroup | DesignConcentration, *, exposure_limit: Any = None, ax: Axes | None = None
) -> Axes:
    """Draw the samples of a group on lognormal probability paper.

    Parameters
    ----------
    group_or_design
        Samples from `describe_samples` or `read_samples`, or what `design_concentration` made of them.
    exposure_limit
        A limit to compare with [ppm].
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    matplotlib.axes.Axes
        With a dot a measured result at its concentration while worn, an open triangle that points left at the limit
        that
        a result is below, the fitted line, and upright lines for the 95th percentile, the upper limit, the exposure
        limit, and the concentration that is planned for where a design was given.

    Raises
    ------
    UnitsError, DomainError
        No long sample in the group; a limit that is no concentration by volume.
    ImportError
        matplotlib is not installed.
    TypeError
        Something other than samples or a design is given.

    Examples
    --------
    >>> import matplotlib
    >>> matplotlib.use("Agg")  # no window
    >>> from respcalc.workplace.sampling import describe_samples
    >>> group = describe_samples("toluene", ["8 ppm", "20 ppm", "<5 ppm", "11 ppm"], report="own, 2026")
    >>> plot_samples(group, exposure_limit="50 ppm").get_xlabel()
    'toluene while the respirator was worn (ppm)'
    """
    design = group_or_design if isinstance(group_or_design, DesignConcentration) else None
    group = design.samples if design is not None else group_or_design
    if not isinstance(group, SampleGroup):
        raise TypeError(
            f"group_or_design = {group!r}: give samples from describe_samples(...) or a design concentration"
        )
    limit = None if exposure_limit is None else single("exposure_limit", read("exposure_limit", exposure_limit))
    plot = probability_plot(group)
    if not plot.points:
        raise DomainError(f"{group.title}: there is no long sample to draw")
    enough = design if design is not None else (design_concentration(group) if len(plot.points) >= 3 else None)
    try:
        import matplotlib.pyplot as plt
        from matplotlib.ticker import LogLocator, NullFormatter
    except ImportError as error:
        raise ImportError('drawing needs matplotlib; install "respcalc[plot]"') from error
    if ax is None:
        ax = plt.subplots(layout="constrained")[1]
    ppm = term("volume_fraction").in_printed_unit
    for below, marker, face, words in (
        (False, "o", "C0", "measured"),
        (True, "<", "none", "below this limit of quantification"),
    ):
        mine = [p for p in plot.points if p.below == below]
        if mine:
            ax.plot(
                [float(ppm(p.value)) for p in mine], [p.quantile for p in mine], marker, color="C0",
                markerfacecolor=face, label=f"{words}: {len(mine)}",
            )  # fmt: skip
    quantiles = [p.quantile for p in plot.points]
    low, high = min(*quantiles, -1.3) - 0.25, max(*quantiles, 1.9) + 0.25
    if plot.mu is not None and plot.sigma is not None:
        z = np.array([low, high])
        ax.plot(ppm(plot.line(z)), z, color="C0", linewidth=1.0, label=f"lognormal, GSD {np.exp(plot.sigma):.2f}")
    _upright(ax, enough, design, limit)
    ax.set_xscale("log")
    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter("{x:g}")
    ax.xaxis.set_minor_formatter(NullFormatter())
    shown = [s for s in _SHARES if low <= _quantile(s) <= high]
    ax.set_yticks([_quantile(s) for s in shown], [f"{100 * s:g} %" for s in shown])
    ax.set(
        ylim=(low, high),
        title=group.title,
        xlabel=f"{group.vapour.name} while the respirator was worn (ppm)",
        ylabel="share of exposures below",
    )
    ax.title.set_wrap(True)
    ax.title.set_fontsize("medium")
    ax.grid(which="major", linewidth=0.4, alpha=0.6)
    ax.legend(loc="lower right", fontsize="small", framealpha=0.9)
    ax.annotate(
        fill(SHORT_CAUTION, _LINE), (0.5, 0.0), (0, -36), xycoords="axes fraction", textcoords="offset points",
        ha="center", va="top", fontsize="x-small", style="italic",
    )  # fmt: skip
    return ax


def _upright(
    ax: Axes, enough: DesignConcentration | None, design: DesignConcentration | None, limit: float | None
) -> None:
    """Lines at the concentrations that matter, each with its value in the legend."""
    word = term("volume_fraction")
    lines: list[tuple[float, str, str, str]] = []
    if enough is not None:
        if enough.fit is not None:
            value = float(enough.fit.percentile(enough.coverage).m_as("dimensionless"))
            lines.append((value, f"{100 * enough.coverage:.4g}th percentile, estimated", "C2", "--"))
        top = next((c for c in enough.candidates if c.name.startswith("upper") and c.counts), None)
        if top is not None:
            lines.append((top.value.value, top.name, "C1", "-."))
    if limit is not None:
        lines.append((limit, "exposure limit", "C3", ":"))
    if design is not None:
        lines.append((design.value.value, "planned for", "black", "-"))
    for value, name, colour, dash in lines:
        ax.axvline(
            float(word.in_printed_unit(value)), color=colour, linestyle=dash, linewidth=1.4,
            label=f"{name}: {word.show(value)}",
        )  # fmt: skip


def _quantile(share: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(share))
