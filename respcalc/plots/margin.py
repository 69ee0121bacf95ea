"""What the margin is calibrated on, and the bounds that follow, in one picture."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.estimate import Calibration, read_coverage, shipped_calibration
from respcalc.estimate.margin import FLOOR_MEASURED, FLOOR_RECALLED

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_margin"]

_POINTS = 61
_TICKS = (0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0)
_DASHES = ("-", "--", "-.")  # of the widest coverage first; more than three are hard to tell apart


def plot_margin(
    calibration: Calibration | None = None, coverage: Any = ("80 %", "95 %"), ax: Axes | None = None
) -> Axes:
    """Draw predicted over measured time of the calibrated vapours, with centre and bounds.

    Parameters
    ----------
    calibration
        Your own, from `respcalc.estimate.read_calibration`; None is the one that comes with the library.
    coverage
        One coverage or several [%]: what share of vapours a bound is meant for.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    matplotlib.axes.Axes
        With a point a vapour, and for light halogenated and for other vapours the centre (thin) and
        one bound a coverage, each as far as its vapours reach. The height of a bound is the divisor
        for a measured carbon that was not tested; a default carbon widens it. The floor, below which no
        divisor is believed, is dotted.

    Raises
    ------
    DomainError
        More coverage than the calibrated vapours support.
    ImportError
        matplotlib is not installed.
    TypeError
        Something other than a `Calibration` is given.

    Examples
    --------
    >>> import matplotlib
    >>> matplotlib.use("Agg")  # no window
    >>> plot_margin().get_ylabel()
    'predicted over measured time'
    """
    used = shipped_calibration() if calibration is None else calibration
    if not isinstance(used, Calibration):
        raise TypeError(f"calibration = {used!r}: a Calibration is needed, from read_calibration(...)")
    asked = coverage if isinstance(coverage, (list, tuple)) else (coverage,)
    coverages = sorted({read_coverage(each, used) for each in asked}, reverse=True)
    groups = [
        (light, colour, marker, words, float(used.potential[used.light == light].max()))
        for light, colour, marker, words in (
            (False, "C0", "o", "other vapours"),
            (True, "C3", "^", "light halogenated"),
        )
        if np.any(used.light == light)
    ]
    bounds = [  # before any drawing: a coverage that is refused leaves no half-drawn picture
        [[math.exp(used.bound(x, light, share)) for x in np.linspace(0.0, reach, _POINTS)] for share in coverages]
        for light, _, _, _, reach in groups
    ]
    if ax is None:
        try:
            import matplotlib.pyplot as plt
        except ImportError as error:
            raise ImportError('drawing needs matplotlib; install "respcalc[plot]"') from error
        ax = plt.subplots(layout="constrained")[1]
    for (light, colour, marker, words, reach), lines in zip(groups, bounds, strict=True):
        x, mine = np.linspace(0.0, reach, _POINTS), used.light == light
        ax.plot(
            used.potential[mine], np.exp(used.excess[mine]), marker, color=colour, markersize=5,
            label=f"{words}: {int(mine.sum())}",
        )  # fmt: skip
        ax.plot(x, [math.exp(used.centre(v, light)) for v in x], color=colour, linewidth=0.8, label="  their centre")
        for k, (share, line) in enumerate(zip(coverages, lines, strict=True)):
            ax.plot(
                x, line, color=colour, linestyle=_DASHES[min(k, len(_DASHES) - 1)], linewidth=2.0,
                label=f"  bound, {100 * share:.4g} %",
            )  # fmt: skip
    ax.axhline(1.0, color="black", linewidth=0.8)
    floor, why = (FLOOR_RECALLED, "times from memory") if used.recalled else (FLOOR_MEASURED, "lots and tests differ")
    ax.axhline(floor, color="grey", linestyle=":", label=f"no divisor below {floor:g}: {why}")
    ax.set_yscale("log")
    lowest, highest = ax.get_ylim()
    ax.set_yticks([t for t in _TICKS if lowest <= t <= highest])
    ax.yaxis.set_major_formatter("{x:g}")
    ax.minorticks_off()
    ax.set(
        title=used.name,
        xlabel="reduced potential (to the right: held less well)",
        ylabel="predicted over measured time",
    )
    ax.title.set_wrap(True)
    ax.title.set_fontsize("medium")
    ax.legend(loc="upper left", fontsize="small")
    return ax
