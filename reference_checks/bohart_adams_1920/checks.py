"""The closed form of plug flow with irreversible uptake, against a numerical solution of its equations."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from reference_checks.framework import Check
from respcalc.models import breakthrough

__all__ = ["CHECKS"]

# A bed in which everything is 1 but its length: times come out in transfer units, as seconds.
_UNIT = {"capacity": 1.0, "mass_concentration": 1.0, "flow_rate": 1.0, "bulk_density": 1.0, "rate_coefficient": 1.0}
_MINUTE = 60.0


def _curve(*, transfer_units: float, elapsed_units: float) -> float:
    return float(
        breakthrough.bohart_adams_penetration.si(worn_time=elapsed_units, sorbent_mass=transfer_units, **_UNIT)
    )


def _time(*, transfer_units: float, exit_fraction: float) -> float:
    return float(breakthrough.bohart_adams_time.si(sorbent_mass=transfer_units, exit_fraction=exit_fraction, **_UNIT))


def _share(*, transfer_units: float, exit_fraction: float) -> float:
    return _MINUTE * _time(transfer_units=transfer_units, exit_fraction=exit_fraction) / transfer_units


def _share_wheeler_jonas(*, transfer_units: float, exit_fraction: float) -> float:
    time = breakthrough.wheeler_jonas_time.si(sorbent_mass=transfer_units, exit_fraction=exit_fraction, **_UNIT)
    return _MINUTE * float(time) / transfer_units


def _outlet(depth: float, cells: int, step: float, steps: int) -> np.ndarray:
    """March the empty sites s in time; the vapour's profile follows by integrating along the bed.

    dc/dx = -c s with c(0) = 1, so c = exp(-integral of s); ds/dt = -c s with s = 1 at the start.
    Fourth-order Runge-Kutta in time, trapezia along the bed.
    """
    width = depth / cells
    sites = np.ones(cells + 1)

    def vapour(s: np.ndarray) -> np.ndarray:
        return np.exp(-width * np.concatenate(([0.0], np.cumsum((s[1:] + s[:-1]) / 2))))

    def change(s: np.ndarray) -> np.ndarray:
        return -vapour(s) * s

    outlet = [vapour(sites)[-1]]
    for _ in range(steps):
        k1 = change(sites)
        k2 = change(sites + step / 2 * k1)
        k3 = change(sites + step / 2 * k2)
        k4 = change(sites + step * k3)
        sites = sites + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
        outlet.append(vapour(sites)[-1])
    return np.array(outlet)


@cache
def _march(depth: float) -> CubicSpline:
    """ln(c) at the outlet over time; the error of the trapezia is removed by halving the cells once."""
    step, cells = 0.02, 400
    steps = math.ceil((depth + 4) / step)
    coarse, fine = _outlet(depth, cells, step, steps), _outlet(depth, 2 * cells, step, steps)
    return CubicSpline(step * np.arange(steps + 1), np.log((4 * fine - coarse) / 3))


def _curve_by_march(*, transfer_units: float, elapsed_units: float) -> float:
    return math.exp(float(_march(transfer_units)(elapsed_units)))


def _time_by_march(*, transfer_units: float, exit_fraction: float) -> float:
    curve = _march(transfer_units)
    wanted = math.log(exit_fraction)
    return float(brentq(lambda t: float(curve(t)) - wanted, 0.0, transfer_units + 4, xtol=1e-12))


def _share_by_march(*, transfer_units: float, exit_fraction: float) -> float:
    return _MINUTE * _time_by_march(transfer_units=transfer_units, exit_fraction=exit_fraction) / transfer_units


CHECKS = {
    "curve": Check(_curve, independent=_curve_by_march, independent_rel=1e-6),
    "time": Check(_time, independent=_time_by_march, independent_rel=1e-6),
    "short_bed": Check(
        _share,
        independent=_share_by_march,
        independent_rel=1e-6,
        refuses={"reaction-kinetic form, 1.7 % longer here": _share_wheeler_jonas},
    ),
    "short_bed_wheeler_jonas": Check(_share_wheeler_jonas, refuses={"exact form": _share}),
}
