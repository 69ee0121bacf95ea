"""A property against temperature as one fine table, with the origin of each stretch.

Built once per vapour on -20 to 60 degC in steps of 0.1 K, so that a single value and an array of
them come from the same numbers and cost the same few operations.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from respcalc.core.basis import Kind
from respcalc.core.errors import MissingProperty
from respcalc.core.vocabulary import check

__all__ = ["Curve", "Stretch", "between_points", "extended_line", "grid", "two_point_pressure"]

Floats = NDArray[np.float64]
ATMOSPHERE = 101325.0
GAS_CONSTANT = 8.314462618
TROUTON = 88.0  # J/(mol K), usual entropy of vaporisation at the boiling point

T_LOW, T_HIGH, T_STEP = 253.15, 333.15, 0.1
REFERENCE_T = 293.15
REACH = 40.0  # K from 20 degC within which a correlation's range must come for it to be used
EXPANSION = 1.2e-3  # 1/K, usual thermal expansion of organic liquids


def celsius(temperature: float) -> str:
    """Temperature [K] in words, to whole degrees Celsius."""
    return f"{temperature - 273.15:.0f} degC"


@cache
def grid() -> Floats:
    """Temperatures of the table [K]."""
    points = np.linspace(T_LOW, T_HIGH, round((T_HIGH - T_LOW) / T_STEP) + 1)
    points.setflags(write=False)
    return points


@dataclass(frozen=True)
class Stretch:
    """Where the curve's values come from between two temperatures [K]."""

    low: float
    high: float
    kind: Kind
    source: str
    locator: str
    note: str = ""


class Curve:
    """Values on the grid and the stretches that explain them; a gap has no stretch.

    Parameters
    ----------
    values
        One for each grid temperature; not a number where nothing is known.
    stretches
        Origins, in order of preference where they overlap.
    in_inverse_temperature
        Interpolate ln(value) against 1/T (a vapour pressure); otherwise value against T.
    missing
        What to say where nothing is known.
    """

    def __init__(
        self,
        values: Floats,
        stretches: tuple[Stretch, ...],
        *,
        in_inverse_temperature: bool,
        missing: str,
    ) -> None:
        self.values = values
        self.stretches = stretches
        self.missing = missing
        self._inverse = in_inverse_temperature
        self._x = -1.0 / grid() if in_inverse_temperature else grid()
        self._y = np.log(values) if in_inverse_temperature else values
        self._slope = np.diff(self._y) / np.diff(self._x)

    def __call__(self, temperature: Any) -> Any:
        """Value at *temperature* [K]; float in, float out; array in, array out."""
        scalar = np.ndim(temperature) == 0
        check("temperature", float(temperature) if scalar else temperature)
        points = np.asarray(temperature, dtype=float)
        # the temperatures of the table are evenly spaced, so the place is known without a search
        place = np.clip(((points - T_LOW) / T_STEP).astype(int), 0, self._slope.size - 1)
        x = -1.0 / points if self._inverse else points
        found = self._y[place] + self._slope[place] * (x - self._x[place])
        if not np.all(np.isfinite(found)):
            raise MissingProperty(self.missing)
        if self._inverse:
            found = np.exp(found)
        return float(found) if scalar else found

    def stretch(self, temperature: float) -> Stretch:
        """Origin of the value at *temperature* [K]."""
        for part in self.stretches:
            if part.low - 1e-9 <= temperature <= part.high + 1e-9:
                return part
        raise MissingProperty(self.missing)


def extended_line(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    in_inverse_temperature: bool,
    reach: float,
) -> Floats:
    """Evaluate *function* on the grid; outside its range follow the tangent at the edge.

    In ln p against 1/T a vapour pressure is concave, so its tangent lies above it: extending
    overstates the vapour pressure, which is the safe side.

    Parameters
    ----------
    function
        Value at a temperature [K], good from *low* to *high*.
    low, high
        Range of the function [K].
    in_inverse_temperature
        Tangent of ln(value) against 1/T; otherwise of value against T.
    reach
        How far to extend below and above the range [K]; not a number beyond.
    """
    temperatures = grid()
    values = np.full(temperatures.shape, np.nan)

    def line(edge: float, inner: float) -> tuple[float, float, float]:
        if in_inverse_temperature:
            x, x_in = 1.0 / edge, 1.0 / inner
            y, y_in = np.log(function(edge)), np.log(function(inner))
        else:
            x, x_in, y, y_in = edge, inner, function(edge), function(inner)
        return x, float(y), float((y - y_in) / (x - x_in))

    inside = (temperatures >= low) & (temperatures <= high)
    values[inside] = [function(float(t)) for t in temperatures[inside]]
    for edge, inner, where in (
        (low, low + 2.0, (temperatures < low) & (temperatures >= low - reach)),
        (high, high - 2.0, (temperatures > high) & (temperatures <= high + reach)),
    ):
        if where.any():
            x, y, slope = line(edge, inner)
            if in_inverse_temperature:
                values[where] = np.exp(y + slope * (1.0 / temperatures[where] - x))
            else:
                values[where] = y + slope * (temperatures[where] - x)
    return values


def two_point_pressure(temperature: Any, known_at: float, known: float, boiling_point: float) -> Any:
    """Vapour pressure [Pa] from one known value and the normal boiling point, on the safe side.

    The straight line in ln p against 1/T (Clausius-Clapeyron) lies above the true, concave curve
    outside the two points and below it between them. Between them the line is therefore bent by
    the constant of Thomson's rule, C = 0.19 Tb - 18 K (from memory). Where the two points are too
    close to give a slope, Trouton's rule gives it.

    Parameters
    ----------
    temperature
        Where to evaluate [K], scalar or array.
    known_at, known
        Temperature [K] and vapour pressure [Pa] of the known point.
    boiling_point
        Normal boiling point [K].
    """
    t = np.asarray(temperature, dtype=float)
    rise = np.log(ATMOSPHERE / known)
    if abs(boiling_point - known_at) < 8.0 or rise * (boiling_point - known_at) <= 0:
        slope = TROUTON * boiling_point / GAS_CONSTANT
        value = np.log(known) + slope * (1.0 / known_at - 1.0 / t)
    else:
        straight = np.log(known) + rise * (1.0 / known_at - 1.0 / t) / (1.0 / known_at - 1.0 / boiling_point)
        c = 0.19 * boiling_point - 18.0
        first, last = 1.0 / (known_at - c), 1.0 / (boiling_point - c)
        bent = np.log(known) + rise * (first - 1.0 / (t - c)) / (first - last)
        value = np.maximum(straight, bent)
    found = np.exp(value)
    return float(found) if found.ndim == 0 else found


def between_points(temperature: Any, points: tuple[tuple[float, float], ...]) -> Any:
    """Vapour pressure [Pa] through given points, linear in ln p against 1/T; ends are extended."""
    t = np.atleast_1d(np.asarray(temperature, dtype=float))
    x = np.array([-1.0 / p[0] for p in points])
    y = np.log([p[1] for p in points])
    at = -1.0 / t
    value = np.interp(at, x, y)
    below, above = at < x[0], at > x[-1]
    value[below] = y[0] + (y[1] - y[0]) / (x[1] - x[0]) * (at[below] - x[0])
    value[above] = y[-1] + (y[-1] - y[-2]) / (x[-1] - x[-2]) * (at[above] - x[-1])
    return np.exp(value)
