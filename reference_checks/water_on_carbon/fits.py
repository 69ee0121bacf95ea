"""Each isotherm model fitted to each carbon, and what it makes of points and of carbons left out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from reference_checks.water_on_carbon.isotherms import HUMIDITIES, Isotherm, between, complete, isotherms
from respcalc.models import water

__all__ = ["FORMS", "Form", "Score", "fit", "pooled_fit", "scores"]

Floats = NDArray[np.float64]

_NOISE = 0.02  # of the highest uptake: residuals well above it count less (soft L1)
_CLUSTER_SIZE = 10.0


@dataclass(frozen=True)
class Form:
    """A model of `respcalc.models.water` with the parameters that are fitted, by their logarithms.

    ``own`` are the two that every carbon has for itself, its uptake and the place of its rise; the
    others make the shape.
    """

    name: str
    names: tuple[str, ...]
    starts: tuple[tuple[float, ...], ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    own: tuple[int, int]

    def __call__(self, parameters: Floats, humidity: Floats, temperature: float) -> Floats:
        extra: dict[str, Any] = {}
        if self.name == "dubinin_astakhov_water":
            extra["temperature"] = temperature
        if self.name == "do_do_water":
            extra["cluster_size"] = _CLUSTER_SIZE
        function: Callable[..., Any] = getattr(water, self.name).si
        values = dict(zip(self.names, map(float, parameters), strict=True))
        return np.asarray(function(relative_humidity=humidity, **values, **extra), dtype=float)


FORMS = (
    Form("dubinin_astakhov_water", ("saturation_uptake", "water_energy", "astakhov_exponent"),
         ((0.4, 1500.0, 4.0), (0.4, 2500.0, 2.0)), (0.02, 300.0, 0.7), (1.5, 6000.0, 10.0), (0, 1)),
    Form("qi_hay_rood_water", ("saturation_uptake", "half_filling_humidity", "filling_steepness"),
         ((0.4, 0.6, 15.0), (0.4, 0.5, 8.0)), (0.02, 0.1, 2.0), (1.5, 1.2, 60.0), (0, 1)),
    Form("dubinin_serpinsky_water", ("site_loss", "growth_ratio", "primary_uptake"),
         ((2.2, 1.75, 0.01), (2.5, 2.1, 0.03)), (0.3, 0.2, 1e-5), (30.0, 6.0, 0.5), (0, 1)),
    Form("cooperative_water", ("saturation_uptake", "side_constant", "primary_site_constant"),
         ((0.4, 1.75, 0.02), (0.5, 1.5, 0.1)), (0.02, 0.2, 1e-5), (1.5, 4.0, 2.0), (0, 1)),
    Form("do_do_water", ("saturation_uptake", "cluster_constant", "primary_uptake", "primary_site_constant"),
         ((0.36, 15.0, 0.02, 20.0), (0.3, 60.0, 0.03, 5.0)), (0.005, 0.5, 1e-5, 0.01), (1.5, 1e4, 0.3, 1e3), (0, 1)),
)  # fmt: skip


def _solve(
    form: Form, free: Sequence[int], start: Floats, residuals: Callable[[Floats], Floats], loss: str
) -> tuple[Floats, float]:
    """Fit the logarithms of the *free* parameters within the bounds; the others stay as in *start*."""
    chosen = list(free)
    low, high = np.log(form.low)[chosen], np.log(form.high)[chosen]

    def whole(x: Floats) -> Floats:
        full = start.copy()
        full[chosen] = np.exp(x)
        return full

    first = np.clip(np.log(start[chosen]), low + 1e-6, high - 1e-6)
    done = least_squares(lambda x: residuals(whole(x)), first, bounds=(low, high), loss=loss, ftol=1e-6, xtol=1e-6)
    return whole(done.x), float(done.cost)


def fit(form: Form, curve: Isotherm, keep: NDArray[np.bool_] | None = None, start: Floats | None = None,
        free: Sequence[int] | None = None) -> Floats:  # fmt: skip
    """Parameters for one isotherm, of the points in *keep*; from all of the form's starts unless one is given."""
    kept = np.ones(curve.humidity.size, dtype=bool) if keep is None else keep
    top = float(curve.uptake.max())

    def residuals(parameters: Floats) -> Floats:
        off = form(parameters, curve.humidity[kept], curve.temperature) - curve.uptake[kept]
        return off / (_NOISE * top)

    starts = [start] if start is not None else [np.array(s) for s in form.starts]
    places = range(len(form.names)) if free is None else free
    return min((_solve(form, places, s, residuals, "soft_l1") for s in starts), key=lambda found: found[1])[0]


def pooled_fit(form: Form, shares: Floats) -> Floats:
    """One set of parameters for all carbons, each carbon with the same weight.

    Square roots of the shares are compared, so that the foot of the curve counts beside its top.
    """
    lines = [(HUMIDITIES[~np.isnan(line)], line[~np.isnan(line)]) for line in shares]

    def residuals(parameters: Floats) -> Floats:
        return np.concatenate(
            [(np.sqrt(form(parameters, h, 298.15)) - np.sqrt(share)) / np.sqrt(h.size) for h, share in lines]
        )

    scaled = [np.array([s[0] * (0.45 if form.names[0] == "site_loss" else 2.2), *s[1:]]) for s in form.starts]
    return min(
        (_solve(form, range(len(form.names)), s, residuals, "linear") for s in scaled), key=lambda found: found[1]
    )[0]


def _rms(values: Sequence[float] | Floats) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


@dataclass(frozen=True)
class Score:
    """Root mean squares of the errors, three ways; the first two over the carbon's highest uptake, by isotherm.

    ``blind`` is in shares of the micropore volume: the average curve of the other carbons, with no
    parameter of the carbon's own.
    """

    form: Form
    fitted: tuple[float, ...]
    points: tuple[float, ...]
    carbons: tuple[float, ...]
    blind: float
    blind_root: float


def _left_out_points(form: Form, curve: Isotherm, best: Floats) -> float:
    """Each point but the ends predicted from the others."""
    off = []
    for place in range(1, curve.humidity.size - 1):
        keep = np.arange(curve.humidity.size) != place
        there = form(fit(form, curve, keep, best), curve.humidity[~keep], curve.temperature)
        off.append(float(there[0] - curve.uptake[place]))
    return _rms(off) / float(curve.uptake.max())


def _blind(form: Form, shares: Floats) -> tuple[float, float]:
    """Each carbon predicted by the curve of all others, in shares and in square roots of shares."""
    plain, root = [], []
    for place, line in enumerate(shares):
        known = ~np.isnan(line)
        share = form(pooled_fit(form, np.delete(shares, place, axis=0)), HUMIDITIES[known], 298.15)
        plain.append(_rms(share - line[known]))
        root.append(_rms(np.sqrt(share) - np.sqrt(line[known])))
    return _rms(plain), _rms(root)


@cache
def scores() -> tuple[Score, ...]:
    """Every form, on every isotherm that shows the whole rise."""
    curves = complete(isotherms())
    _, shares = between("commercial")
    found = []
    for form in FORMS:
        shape = [place for place in range(len(form.names)) if place not in form.own]
        own = [fit(form, curve) for curve in curves]
        fitted, points, carbons = [], [], []
        for curve, best in zip(curves, own, strict=True):
            top = float(curve.uptake.max())
            fitted.append(_rms(form(best, curve.humidity, curve.temperature) - curve.uptake) / top)
            points.append(_left_out_points(form, curve, best))
            others = [
                parameters
                for other, parameters in zip(curves, own, strict=True)
                if (other.carbon, other.laboratory) != (curve.carbon, curve.laboratory)
            ]
            start = best.copy()
            start[shape] = np.exp(np.median(np.log(others), axis=0))[shape]
            shared = fit(form, curve, start=start, free=form.own)
            carbons.append(_rms(form(shared, curve.humidity, curve.temperature) - curve.uptake) / top)
        found.append(Score(form, tuple(fitted), tuple(points), tuple(carbons), *_blind(form, shares)))
    return tuple(found)
