"""Parity plots: predicted over expected, one picture for each item."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from reference_checks.framework import Judged
from reference_checks.studies import Study

__all__ = ["parity_plots"]


def parity_plots(lines: Iterable[Judged], studies: Iterable[Study], folder: Path) -> list[Path]:
    """Write one PNG for each item and each study into *folder* and return the paths. Needs matplotlib."""
    try:
        import matplotlib.figure  # noqa: F401
    except ImportError:
        raise SystemExit('the parity plots need matplotlib; install "respcalc[plot]"') from None
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for line in lines:
        item, size = line.item, line.item.unit[1]
        bounds = list(item.bounds.values())
        path = folder / f"{item.key}-{item.name}.png"
        _draw(
            path,
            expected=[value / size for value in line.expected],
            predicted=[value / size for value in line.predicted],
            title=f"{item.key}\n{item.seen}\n{item.name}: {line.verdict}",
            labels=(f"{item.kind}: {item.result.partition(' [')[0]}", item.model),
            unit=item.unit[0],
            allowed=(min(b[0] for b in bounds), max(b[1] for b in bounds)) if bounds else None,
        )
        written.append(path)
    for study in studies:
        path = folder / f"{study.key}-{study.name}.png"
        _draw(
            path,
            expected=[row.measured for row in study.measured],
            predicted=[row.predicted for row in study.measured],
            title=f"{study.key}\n{study.seen}\n{study.name}: {len(study.measured)} cases",
            labels=(f"{study.kind}: {study.result}", study.model),
            unit=study.unit,
            allowed=None,
        )
        written.append(path)
    return written


def _draw(
    path: Path,
    *,
    expected: list[float],
    predicted: list[float],
    title: str,
    labels: tuple[str, str],
    unit: str,
    allowed: tuple[float, float] | None,
) -> None:
    from matplotlib.figure import Figure
    from matplotlib.ticker import LogLocator, MaxNLocator, NullLocator

    low, high = min(expected + predicted), max(expected + predicted)
    figure = Figure(figsize=(4.8, 5.0), layout="constrained")
    axes = figure.subplots()
    if low > 0:
        axes.set(xscale="log", yscale="log")
        ends = [low / 1.1, high * 1.1]
        steps = (1, 2, 5) if high < 200 * low else (1,)
        for axis in (axes.xaxis, axes.yaxis):  # few labels: they must not run into each other
            axis.set_major_locator(LogLocator(subs=steps) if high > 5 * low else MaxNLocator(5))
            axis.set_minor_locator(NullLocator())
            axis.set_major_formatter(lambda value, _: f"{value:g}")
    else:
        ends = [low - 0.1 * (high - low), high + 0.1 * (high - low)]
    axes.plot(ends, ends, color="0.5", linewidth=1, label="equal")
    if allowed and low > 0:
        axes.fill_between(
            ends, [e * allowed[0] for e in ends], [e * allowed[1] for e in ends], color="0.9", label="allowed"
        )
    axes.plot(expected, predicted, "o", markersize=4)
    shown = f" [{unit}]" if unit else ""
    axes.set_title(title, fontsize="medium")
    axes.set(xlabel=f"{labels[0]}{shown}", ylabel=f"{labels[1]}{shown}")
    axes.legend(frameon=False)
    figure.savefig(path, dpi=120)
