"""Pictures of the record, drawn as SVG without a library: they print and need nothing else."""

from __future__ import annotations

import math

from respcalc.core.units import Quantity
from respcalc.core.vocabulary import term
from respcalc.estimate import ServiceLife
from respcalc.schedule.make import Entry
from respcalc.schedule.plan import Task
from respcalc.workplace.sampling import DesignConcentration, probability_plot

__all__ = ["curve_svg", "samples_svg"]

_ABOUT_150 = 150
_LABEL_WIDTH = 110.0
_SHARES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
_QUANTILES = (-1.6449, -1.2816, -0.6745, 0.0, 0.6745, 1.2816, 1.6449)
_Z95 = 1.6449


def curve_svg(entry: Entry, life: ServiceLife) -> str:
    """Predicted exit concentration over time, with the times that matter; drawn without a library."""
    task = entry.task
    if life.immediate or not isinstance(task, Task):
        return ""
    interval = entry.change.interval if entry.change else None
    end = 1.25 * task.lasts(life.breakthrough.value)
    times = [end * i / _ABOUT_150 for i in range(_ABOUT_150 + 1)]
    through = life.penetration_si(times if task.work is None else [task.work.at_highest_si(t) for t in times])
    threshold = life.exit_fraction.value
    top = max(float(through.max()), 1.5 * threshold)
    left, right, height, base = 64.0, 620.0, 150.0, 175.0

    def x(t: float) -> float:
        return left + (right - left) * t / end

    def y(p: float) -> float:
        return base - height * p / top

    def early(t: float) -> bool:
        """Too near the axis for a label on its left."""
        return x(t) < left + _LABEL_WIDTH

    points = " ".join(f"{x(t):.1f},{y(float(p)):.1f}" for t, p in zip(times, through, strict=True))
    marks = [
        ("predicted breakthrough", task.lasts(life.breakthrough.value), "p"),
        ("service life", task.lasts(life.life.value), "s"),
    ]
    if interval is not None and interval <= end:
        marks.append(("change interval", interval, "c"))
    lines = "".join(
        f'<line class="{kind}" x1="{x(t):.1f}" y1="{base}" x2="{x(t):.1f}" y2="{12 + 13 * row}"/>'
        f'<text x="{x(t) + (4 if early(t) else -4):.1f}" y="{20 + 13 * row}" '
        f'text-anchor="{"start" if early(t) else "end"}">{label}</text>'
        for row, (label, t, kind) in enumerate(marks)
    )
    hours = Quantity(end, "s").to("h").magnitude
    ticks = "".join(
        f'<line class="axis" x1="{left + (right - left) * at / hours:.1f}" y1="{base}" '
        f'x2="{left + (right - left) * at / hours:.1f}" y2="{base + 4}"/>'
        f'<text x="{left + (right - left) * at / hours:.1f}" y="{base + 16}" text-anchor="middle">{at:g}</text>'
        for at in _round_steps(hours)
    )
    limit = life.exit_concentration.printed
    return (
        f'<svg class="curve" viewBox="0 0 640 210" role="img" aria-label="Predicted breakthrough curve">'
        f'<line class="axis" x1="{left}" y1="{base}" x2="{right}" y2="{base}"/>'
        f'<line class="axis" x1="{left}" y1="{base}" x2="{left}" y2="{base - height}"/>'
        f'<line class="limit" x1="{left}" y1="{y(threshold):.1f}" x2="{right}" y2="{y(threshold):.1f}"/>'
        f'<text x="{left - 4}" y="{y(threshold) + 4:.1f}" text-anchor="end">{limit}</text>'
        f'<polyline points="{points}"/>{lines}{ticks}'
        f'<text x="{(left + right) / 2}" y="{base + 32}" text-anchor="middle">hours of use (no margin)</text>'
        "</svg>"
    )


def _round_steps(end: float) -> list[float]:
    """Evenly spaced round values from 0 to at most *end*, five to ten of them."""
    power = 10.0 ** math.floor(math.log10(end))
    step = next(power * part for part in (1.0, 0.5, 0.2) if end / (power * part) >= 4)
    return [round(step * k, 12) for k in range(math.floor(end / step * (1 + 1e-12)) + 1)]


def samples_svg(made: DesignConcentration) -> str:
    """Lay the long samples out on lognormal paper, with the fitted line and the concentration planned for."""
    plot = probability_plot(made.samples)
    if not plot.points:
        return ""
    ppm = term("volume_fraction").in_printed_unit
    planned = float(ppm(made.value.value))
    values = [float(ppm(point.value)) for point in plot.points]
    fitted = None if plot.mu is None else [float(ppm(v)) for v in plot.line([-_Z95, _Z95])]
    every = [*values, planned, *(fitted or [])]
    low, high = min(every) / 1.3, max(every) * 1.3
    far = max(_Z95 + 0.25, max(abs(point.quantile) for point in plot.points) + 0.15)
    left, right, top, base = 64.0, 620.0, 14.0, 206.0

    def x(value: float) -> float:
        return left + (right - left) * math.log(value / low) / math.log(high / low)

    def y(quantile: float) -> float:
        return base - (base - top) * (quantile + far) / (2 * far)

    parts = [
        f'<line class="axis" x1="{left}" y1="{base}" x2="{right}" y2="{base}"/>'
        f'<line class="axis" x1="{left}" y1="{base}" x2="{left}" y2="{top}"/>'
    ]
    for share, quantile in zip(_SHARES, _QUANTILES, strict=True):
        parts.append(f'<text x="{left - 6}" y="{y(quantile) + 4:.1f}" text-anchor="end">{100 * share:g} %</text>')
    for tick in _ticks(low, high):
        parts.append(
            f'<line class="axis" x1="{x(tick):.1f}" y1="{base}" x2="{x(tick):.1f}" y2="{base + 4}"/>'
            f'<text x="{x(tick):.1f}" y="{base + 17}" text-anchor="middle">{tick:g}</text>'
        )
    if fitted is not None:
        parts.append(
            f'<line class="fit" x1="{x(fitted[0]):.1f}" y1="{y(-_Z95):.1f}" x2="{x(fitted[1]):.1f}" '
            f'y2="{y(_Z95):.1f}"/>'
        )
    for point, value in zip(plot.points, values, strict=True):
        at, high_at = x(value), y(point.quantile)
        if point.below:  # it lies somewhere to the left of its limit
            parts.append(
                f'<path class="below" d="M{at:.1f} {high_at - 4:.1f} L{at - 8:.1f} {high_at:.1f} L{at:.1f} '
                f'{high_at + 4:.1f} Z"/>'
            )
        else:
            parts.append(f'<circle class="sample" cx="{at:.1f}" cy="{high_at:.1f}" r="3.5"/>')
    early = x(planned) > (left + right) / 2
    parts.append(
        f'<line class="s" x1="{x(planned):.1f}" y1="{base}" x2="{x(planned):.1f}" y2="{top}"/>'
        f'<text x="{x(planned) + (-5 if early else 5):.1f}" y="{top + 10}" text-anchor="{"end" if early else "start"}">'
        f"planned for {made.value.printed}</text>"
        f'<text x="{(left + right) / 2}" y="{base + 33}" text-anchor="middle">ppm while worn; share of exposures that '
        "are lower. Open triangles: below that value</text>"
    )
    return (
        '<svg class="curve" viewBox="0 0 640 246" role="img" aria-label="Probability plot of the air samples">'
        + "".join(parts)
        + "</svg>"
    )


def _ticks(low: float, high: float) -> list[float]:
    """Round values between two ends, close enough to read and no closer."""
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    for steps in ((1.0, 2.0, 3.0, 5.0), (1.0, 2.0, 5.0), (1.0, 3.0), (1.0,)):
        found = [step * 10.0**k for k in decades for step in steps if low <= step * 10.0**k <= high]
        if len(found) <= 9:
            break
    return found or [math.sqrt(low * high)]
