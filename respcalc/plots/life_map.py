"""The service life over temperature and relative humidity, as a map."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np

from respcalc.core.errors import DomainError
from respcalc.estimate import SHORT_CAUTION

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

__all__ = ["plot_life_map"]

_ACROSS, _UP, _LIFE, _REASON = "temperature [degC]", "relative_humidity [%]", "service_life [min]", "reason"
_ALSO = ("volume_fraction [ppm]", "pressure [kPa]", "flow_rate [L/min]")  # told in the title where they are one value
_HOURS = (0.5, 1.0, 2.0, 4.0, 8.0)
_LINE = 66  # letters of the caution that a small picture is wide
_REFUSED, _AT_ONCE = "///", "xxx"


def plot_life_map(frame: pd.DataFrame, vapour: str, *, hours: Sequence[float] = _HOURS, ax: Axes | None = None) -> Axes:
    """Draw the service life over temperature and relative humidity.

    Parameters
    ----------
    frame
        From `respcalc.sweep_service_life`, over every pair of some temperatures and some humidities.
    vapour
        What the title calls the vapour, since the frame does not name it.
    hours
        Lives at which a line is drawn and the colour changes, two or more, shortest first [h].
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    matplotlib.axes.Axes
        With the lives as bands of colour and labelled lines between them. Hatched: no life, because the
        case is outside the model (the frame's ``reason``), or because breakthrough is immediate.

    Raises
    ------
    DomainError
        The pairs are not a full grid of at least two by two; the hours are fewer than two, or do not rise from above
        0.
    ImportError
        matplotlib is not installed.
    TypeError
        Something other than a frame with these columns is given.

    Examples
    --------
    >>> import matplotlib
    >>> matplotlib.use("Agg")  # no window
    >>> import numpy as np
    >>> from respcalc import Quantity, describe_bed, sweep_service_life
    >>> warmth, humidity = np.meshgrid([10.0, 20.0, 30.0], [30.0, 60.0, 90.0])
    >>> frame = sweep_service_life("toluene", "50 ppm", pressure="101.3 kPa", flow_rate="40 L/min",
    ...     temperature=Quantity(warmth, "degC"), relative_humidity=Quantity(humidity, "percent"),
    ...     cartridge=describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2))
    >>> plot_life_map(frame, "toluene").get_title()
    'toluene: 50 ppm, 101.3 kPa, 40 L/min'
    """
    columns = getattr(frame, "columns", ())
    missing = [c for c in (_ACROSS, _UP, _LIFE, _REASON) if c not in columns]
    if missing:
        raise TypeError(f"frame: {', '.join(missing)}: missing; a frame is needed, from sweep_service_life(...)")
    lines = [float(h) for h in hours]
    if len(lines) < 2 or lines[0] <= 0 or any(b <= a for a, b in pairwise(lines)):
        raise DomainError(f"hours = {hours!r}: two or more are needed, above 0 and rising, such as (2, 4, 8)")
    across, up, life, refused = _grid(frame)
    try:
        from matplotlib.colors import BoundaryNorm
        from matplotlib.patches import Patch
    except ImportError as error:
        raise ImportError('drawing needs matplotlib; install "respcalc[plot]"') from error
    if ax is None:
        import matplotlib.pyplot as plt

        ax = plt.subplots(layout="constrained")[1]
    norm = BoundaryNorm(lines, 256, extend="both")
    mesh = ax.pcolormesh(across, up, np.ma.masked_invalid(life), cmap="viridis", norm=norm, shading="nearest")
    drawn = [h for h in lines if np.nanmin(life, initial=np.inf) < h < np.nanmax(life, initial=0.0)]
    if drawn:
        # white on a black rim is legible on every colour
        from matplotlib import patheffects

        marks = ax.contour(across, up, life, drawn, colors="white", linewidths=1.2)
        rim: list[patheffects.AbstractPathEffect] = [patheffects.withStroke(linewidth=2.6, foreground="black")]
        marks.set_path_effects(rim)
        for text in ax.clabel(marks, fmt="%g h", fontsize="small"):
            text.set_path_effects(rim)
    handles = []
    for mask, hatch, words in (
        (refused, _REFUSED, "outside the model: no life"),
        (life <= 0.0, _AT_ONCE, "immediate breakthrough"),
    ):
        if mask.any():
            ax.contourf(across, up, mask.astype(float), [0.5, 1.5], colors="none", hatches=[hatch])
            handles.append(Patch(facecolor="white", edgecolor="black", hatch=hatch, label=words))
    if handles:
        ax.legend(handles=handles, loc="lower left", fontsize="small")
    ax.figure.colorbar(mesh, ax=ax, label="service life [h]", ticks=lines, format="%g")
    ax.set(
        title=f"{vapour}: {', '.join(_constants(frame))}",
        xlabel="air temperature [degC]",
        ylabel="relative humidity [%]",
        xlim=(across[0], across[-1]),
        ylim=(up[0], up[-1]),
    )
    ax.annotate(  # broken by hand: text that wraps itself takes the room of its neighbours
        fill(SHORT_CAUTION, _LINE), (0.5, 0.0), (0, -36), xycoords="axes fraction", textcoords="offset points",
        ha="center", va="top", fontsize="x-small", style="italic", annotation_clip=False,
    )  # fmt: skip
    return ax


def _grid(frame: pd.DataFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Both axes, and the lives [h] and the refusals of every pair: rows are humidities."""
    # rounded: what a unit conversion leaves behind makes no new temperature
    warmth, humidity = (np.round(frame[c].to_numpy(dtype=float), 6) for c in (_ACROSS, _UP))
    across, column = np.unique(warmth, return_inverse=True)
    up, row = np.unique(humidity, return_inverse=True)
    shape = (up.size, across.size)
    counts = np.zeros(shape, dtype=int)
    np.add.at(counts, (row, column), 1)
    if min(shape) < 2 or np.any(counts != 1):
        raise DomainError(
            f"frame: {len(frame)} rows are no full grid of {across.size} temperatures and {up.size} humidities (each "
            "pair once, two by two at the least); pass both flattened from numpy.meshgrid to sweep_service_life"
        )
    life, refused = np.empty(shape), np.empty(shape, dtype=bool)
    life[row, column] = frame[_LIFE].to_numpy(dtype=float) / 60.0
    refused[row, column] = frame[_REASON].to_numpy() != ""
    return across, up, life, refused


def _constants(frame: pd.DataFrame) -> list[str]:
    """What is the same in every row, as ``50 ppm``."""
    told = []
    for name in _ALSO:
        values = frame[name].to_numpy(dtype=float) if name in frame else np.empty(0)
        if values.size and np.ptp(values) <= 1e-6 * abs(values[0]):
            told.append(f"{values[0]:.4g} {name[name.index('[') + 1 : -1]}")
    return told
