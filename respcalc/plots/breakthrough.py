"""The predicted breakthrough curve, with the times that matter marked on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from respcalc.core.vocabulary import term
from respcalc.estimate import SHORT_CAUTION, ServiceLife

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["plot_breakthrough"]

_POINTS = 241
_REST = 1.25  # how far past the breakthrough time the curve is drawn
_HOUR, _MINUTE = 3600.0, 60.0


def plot_breakthrough(result: ServiceLife, ax: Axes | None = None) -> Axes:
    """Draw the predicted exit concentration over time.

    Parameters
    ----------
    result
        From one of the estimate functions.
    ax
        Where to draw; a new figure if None.

    Returns
    -------
    matplotlib.axes.Axes
        With the curve, the exit concentration that counts as breakthrough, the predicted
        breakthrough time and the service life. The curve is the prediction, without margin.

    Raises
    ------
    ImportError
        matplotlib is not installed.
    TypeError
        Something other than a `ServiceLife` is given.

    Examples
    --------
    >>> import matplotlib
    >>> matplotlib.use("Agg")  # no window
    >>> from respcalc import describe_air, describe_bed, estimate_service_life
    >>> life = estimate_service_life("toluene", "200 ppm",
    ...     cartridge=describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2),
    ...     air=describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m"), work_rate="moderate")
    >>> plot_breakthrough(life).get_ylabel()
    'exit concentration [ppm]'
    """
    if not isinstance(result, ServiceLife):
        raise TypeError(f"result = {result!r}: a ServiceLife is needed, from estimate_service_life(...)")
    if ax is None:
        try:
            import matplotlib.pyplot as plt
        except ImportError as error:
            raise ImportError('drawing needs matplotlib; install "respcalc[plot]"') from error
        ax = plt.subplots(layout="constrained")[1]
    breakthrough, life = result.breakthrough.value, result.life.value
    # an immediate breakthrough has no time of its own to scale the picture by
    times = result.curve_times_si(_POINTS)
    if not result.immediate:
        times = times / times[-1] * _REST * breakthrough
    step, unit = (_HOUR, "h") if times[-1] >= 2 * _HOUR else (_MINUTE, "min")
    inlet = result.exit_concentration.value / result.exit_fraction.value
    ppm = term("volume_fraction").in_printed_unit
    ax.plot(times / step, ppm(result.penetration_si(times) * inlet), color="C0", label="predicted exit concentration")
    ax.axhline(
        ppm(result.exit_concentration.value), color="C3", linestyle=":",
        label=f"counts as breakthrough: {result.exit_concentration.printed}",
    )  # fmt: skip
    if result.immediate:
        ax.plot([], [], " ", label="immediate breakthrough: no service life")
    else:
        marks = (
            (breakthrough, "C3", "--", f"predicted breakthrough: {result.breakthrough.printed}"),
            (life, "C2", "-", f"service life after margin: {result.life.printed}"),
        )
        for time, colour, style, label in marks:
            ax.axvline(time / step, color=colour, linestyle=style, label=label)
    ax.set(
        title=f"governed by {result.governed_by}",
        xlabel=f"time of use [{unit}]",
        ylabel="exit concentration [ppm]",
        xlim=(0.0, times[-1] / step),
    )
    ax.set_ylim(bottom=0.0)
    ax.legend(loc="upper left", fontsize="small")
    ax.annotate(
        SHORT_CAUTION, (0.5, 0.0), (0, -44), xycoords="axes fraction", textcoords="offset points", ha="center",
        va="top", fontsize="x-small", style="italic", wrap=True, annotation_clip=False,
    )  # fmt: skip
    return ax
