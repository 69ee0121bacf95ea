"""A measured breakthrough curve and the one fitted to it, with the times that are read off it."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.cartridges import CurveFit
from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.vocabulary import term

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_curve_fit"]

_POINTS = 241
_PAST = 1.06  # how far past the last point the curve is drawn
_CONFIDENCE = "95 %"
_FOOT, _HALF = 0.01, 0.5  # exit fractions whose times are marked
_HOUR, _MINUTE = 3600.0, 60.0
_LONG = 10 * _HOUR  # laboratories report minutes, so only a very long test is drawn in hours
_TOP = 106.0  # [%] room for what an analyser reads above the inlet
_LINE = 92  # letters of small text that a picture is wide
_BELOW, _LEADING = 36.0, 10.0  # points of length: from the axis to the text under it, and from line to line


def plot_curve_fit(fit: CurveFit, ax: Axes | None = None) -> Axes:
    """Draw the points of a breakthrough test, the curve fitted to them and its confidence band.

    Parameters
    ----------
    fit
        From `respcalc.cartridges.fit_yoon_nelson` or `respcalc.cartridges.fit_wheeler_jonas`.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    matplotlib.axes.Axes
        With the points (and bars of one standard deviation where it is stated), the fitted curve, the 95 %
        confidence band of the curve (none for two points), and the times at which 1 % and one half of the inlet
        are through. Where the points are there sooner than the curve, theirs is marked. Under the axis stands how
        the points depart from the curve, if they do, and what the fit assumes.

    Raises
    ------
    ImportError
        matplotlib is not installed.
    TypeError
        Something other than a `CurveFit` is given.

    Examples
    --------
    >>> import matplotlib
    >>> matplotlib.use("Agg")  # no window
    >>> from respcalc.cartridges import describe_curve, fit_yoon_nelson
    >>> curve = describe_curve("toluene", report="house laboratory, March 2026 (invented)",
    ...     worn_time=["60 min", "80 min", "100 min", "120 min"], exit_fraction=["0.4 %", "7 %", "52 %", "94 %"],
    ...     concentration="1000 ppm", flow_rate="53 L/min", temperature="22 degC", relative_humidity="50 %",
    ...     pressure="101.3 kPa")
    >>> plot_curve_fit(fit_yoon_nelson(curve)).get_ylabel()
    'exit fraction [%]'
    """
    if not isinstance(fit, CurveFit):
        raise TypeError(f"fit = {fit!r}: a CurveFit is needed, from fit_yoon_nelson(...) or fit_wheeler_jonas(...)")
    if ax is None:
        try:
            import matplotlib.pyplot as plt
        except ImportError as error:
            raise ImportError('drawing needs matplotlib; install "respcalc[plot]"') from error
        ax = plt.subplots(figsize=(7.0, 5.4), layout="constrained")[1]
    curve = fit.curve
    measured, through = np.asarray(curve.times), np.asarray(curve.exit_fractions)
    marks = {share: fit.time_at_si(share) for share in (_FOOT, _HALF)}
    last = _PAST * max(float(measured[-1]), *marks.values())
    times = np.linspace(0.0, last, _POINTS)
    step, unit = (_HOUR, "h") if last >= _LONG else (_MINUTE, "min")
    spread = 100 * np.asarray(curve.uncertainties) if curve.uncertainties else None
    shown: list[Any] = [  # in the order of the legend
        ax.errorbar(
            measured / step, 100 * through, spread, fmt="o", color="black", markersize=4, capsize=2.5, linewidth=1.0,
            label=f"{through.size} points{', ± 1 standard deviation' if spread is not None else ''}",
        ),
        *ax.plot(times / step, 100 * fit.penetration_si(times), color="C0", label=f"fitted: {fit.model}"),
    ]  # fmt: skip
    if fit.covariance is not None:
        low, high = (100 * edge for edge in fit.band_si(times, _CONFIDENCE))
        words = f"{_CONFIDENCE} confidence of the curve"
        shown.append(ax.fill_between(times / step, low, high, color="C0", alpha=0.25, linewidth=0.0, label=words))
    # read off as one does by hand: along to the curve and down to the time; the corner at 1 % is too low to see bare
    for (share, time), colour, marker in zip(marks.items(), ("C3", "C2"), ("D", "s"), strict=True):
        shown += ax.plot(
            np.array([0.0, time, time]) / step, 100 * share * np.array([1.0, 1.0, 0.0]), color=colour, linestyle="--",
            linewidth=1.2, marker=marker, markersize=6, markerfacecolor="none", markeredgewidth=1.6, markevery=[1],
            label=_read_off(fit, share, time, unit), clip_on=False, zorder=3,
        )  # fmt: skip
    ax.set(
        title=(
            f"{curve.name}: {curve.vapour.name} {curve.volume_fraction.printed}, {curve.temperature.printed}, "
            f"{curve.relative_humidity.printed} RH, {curve.flow_rate.printed}\n{curve.report}"
        ),
        xlabel=f"worn time [{unit}]",
        ylabel="exit fraction [%]",
        xlim=(0.0, last / step),
        ylim=(0.0, _TOP),
    )
    ax.title.set_fontsize("medium")
    # in the corner that the curve leaves free
    ax.legend(handles=shown, loc="upper left" if marks[_HALF] >= 0.5 * last else "lower right", fontsize="small")
    below = _BELOW
    notes = "\n".join(fill(f"{words}.", _LINE) for words in (*fit.lack_of_fit.words, *fit.assumptions))
    # broken by hand: text that wraps itself takes the room of its neighbours
    for text, style in ((notes, "normal"), (fill(SHORT_CAUTION, _LINE), "italic")):
        if text:
            ax.annotate(
                text, (0.5, 0.0), (0, -below), xycoords="axes fraction", textcoords="offset points", ha="center",
                va="top", fontsize="x-small", style=style, annotation_clip=False,
            )  # fmt: skip
            below += _LEADING * (text.count("\n") + 1.6)
    return ax


def _read_off(fit: CurveFit, share: float, time: float, unit: str) -> str:
    """When so much is through, and whether the points or the curve say so."""
    if time <= 0.0:
        return f"{100 * share:g} % through: the fitted curve starts above it"
    hours = f" ({time / _HOUR:.3g} h)" if unit == "h" else ""
    by_points = float(fit.penetration_si(time)) < share * (1 - 1e-6)
    return (
        f"{100 * share:g} % through after {term('breakthrough_time').show(time, 3)}{hours}, by the "
        f"{'points' if by_points else 'curve'}"
    )
