"""Parity plots: predicted over expected, one picture for each item."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from reference_checks.framework import Judged

__all__ = ["parity_plots"]


def parity_plots(lines: Iterable[Judged], folder: Path) -> list[Path]:
    """Write one PNG for each item into *folder* and return the paths. Needs matplotlib."""
    try:
        from matplotlib.figure import Figure
    except ImportError:
        raise SystemExit('the parity plots need matplotlib; install "respcalc[plot]"') from None
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for line in lines:
        unit, size = line.item.unit
        expected = [value / size for value in line.expected]
        predicted = [value / size for value in line.predicted]
        low, high = min(expected + predicted), max(expected + predicted)
        figure = Figure(figsize=(4.5, 4.5), layout="constrained")
        axes = figure.subplots()
        if low > 0:
            axes.set(xscale="log", yscale="log")
            ends = [low / 1.1, high * 1.1]
        else:
            ends = [low - 0.1 * (high - low), high + 0.1 * (high - low)]
        axes.plot(ends, ends, color="0.5", linewidth=1, label="equal")
        if line.item.bounds and low > 0:
            least = min(b[0] for b in line.item.bounds.values())
            most = max(b[1] for b in line.item.bounds.values())
            axes.fill_between(ends, [e * least for e in ends], [e * most for e in ends], color="0.9", label="allowed")
        axes.plot(expected, predicted, "o", markersize=4)
        unit = f" [{unit}]" if unit else ""
        axes.set(
            title=f"{line.item.key}\n{line.item.name}: {line.verdict}",
            xlabel=f"{line.item.kind}: {line.item.result}{unit}",
            ylabel=f"{line.item.model}{unit}",
        )
        axes.legend(frameon=False)
        path = folder / f"{line.item.key}-{line.item.name}.png"
        figure.savefig(path, dpi=120)
        written.append(path)
    return written
