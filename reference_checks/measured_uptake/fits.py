"""Fit a carbon to measured isotherms, and predict others from it with respcalc's own models."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from reference_checks.measured_uptake.isotherms import Isotherm, by
from respcalc.models import affinity, capacity
from respcalc.vapours import Vapour

__all__ = [
    "AFFINITIES",
    "DEFAULT_CARBON",
    "EXPONENTS",
    "FREE",
    "LIBRARY",
    "Carbon",
    "affinity_coefficient",
    "equal_shares",
    "fit_carbon",
    "fit_curve",
    "isotherm_name",
    "predict",
]

_REFERENCE_TEMPERATURE = 298.15  # of the molar volume: an affinity does not change with the test's temperature
_BENZENE_POLARIZATION = 26.2e-6
_LEAST_EXPONENT, _MOST_EXPONENT = 1.0, 4.0
_LEAST_POINTS, _LEAST_POINTS_FREE = 3, 4

FREE = 0.0
"""Stands for "the exponent is fitted too", between 1 and 4; with three points only it stays at 2."""
EXPONENTS = (1.5, 2.0, 2.5, 3.0, FREE)
LIBRARY = ("least of two", 2.0)
"""What respcalc does by default: affinity and exponent."""


@dataclass(frozen=True)
class Carbon:
    """What the Dubinin isotherms need to know of a carbon, in SI units."""

    micropore_volume: float
    characteristic_energy: float
    exponent: float = 2.0


DEFAULT_CARBON = Carbon(0.454e-3, 19.7e3)


def _molar_volume(vapour: Vapour) -> float:
    return vapour.molar_mass.value / vapour.liquid_density(_REFERENCE_TEMPERATURE).value


AFFINITIES: dict[str, Callable[[Vapour], float]] = {
    "least of two": lambda v: affinity.affinity_least.si(molar_polarization=v.molar_polarization.value),
    "Pe^0.75": lambda v: affinity.affinity_wood_polarization.si(molar_polarization=v.molar_polarization.value),
    "Pe^0.9": lambda v: affinity.affinity_polarization_ratio.si(molar_polarization=v.molar_polarization.value),
    "Pe linear": lambda v: v.molar_polarization.value / _BENZENE_POLARIZATION,
    "Vm^0.9": lambda v: affinity.affinity_wood_molar_volume.si(liquid_molar_volume=_molar_volume(v)),
    "none (1)": lambda v: 1.0,
}
"""The candidates. "none" gives every vapour benzene's affinity, to show what the correlations earn."""


def isotherm_name(exponent: float) -> str:
    return {2.0: "DR", FREE: "DA, n free"}.get(exponent, f"DA, n = {exponent:g}")


@cache
def affinity_coefficient(name: str, vapour: str, known: Vapour) -> float:
    """Affinity of one vapour by one of `AFFINITIES`. *vapour* only tells the cached answers apart."""
    return float(AFFINITIES[name](known))


def fit_curve(
    reduced: ArrayLike, volume: ArrayLike, *, exponent: float = 2.0, weight: ArrayLike | None = None
) -> Carbon | None:
    """Least squares of ln(volume) on the characteristic curve ln W0 - (reduced/E0)^n.

    *reduced* is the potential over the affinity [J/mol], *volume* that of the loading as a liquid
    [m3/kg]. None where the points are too few, or the loading does not fall as the potential rises.
    """
    x, y = np.asarray(reduced, dtype=float), np.log(np.asarray(volume, dtype=float))
    w = np.ones_like(x) if weight is None else np.asarray(weight, dtype=float)
    points = len(np.unique(x))
    if points < _LEAST_POINTS:
        return None
    if exponent == FREE:
        exponent = _best_exponent(x, y, w) if points >= _LEAST_POINTS_FREE else LIBRARY[1]
    intercept, slope, _ = _line(x, y, w, exponent)
    if slope >= 0:
        return None
    return Carbon(float(np.exp(intercept)), float((-slope) ** (-1 / exponent)) * 1e3, exponent)


def _line(
    x: NDArray[np.float64], y: NDArray[np.float64], w: NDArray[np.float64], exponent: float
) -> tuple[float, float, float]:
    """Intercept, slope and weighted squares left of y on (x in kJ/mol)^n."""
    z = (x / 1e3) ** exponent
    centre, level = np.average(z, weights=w), np.average(y, weights=w)
    slope = np.sum(w * (z - centre) * (y - level)) / np.sum(w * (z - centre) ** 2)
    left = y - level - slope * (z - centre)
    return float(level - slope * centre), float(slope), float(np.sum(w * left * left))


def _best_exponent(x: NDArray[np.float64], y: NDArray[np.float64], w: NDArray[np.float64]) -> float:
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(
        lambda n: _line(x, y, w, n)[2],
        bounds=(_LEAST_EXPONENT, _MOST_EXPONENT),
        method="bounded",
        options={"xatol": 1e-8},
    )
    return float(found.x)


def fit_carbon(
    measured: Sequence[Isotherm],
    affinity_name: str = LIBRARY[0],
    exponent: float = LIBRARY[1],
    *,
    least_pressure: float = 0.0,
    weights: Iterable[float] | None = None,
) -> Carbon | None:
    """One carbon for all the isotherms together, from their points at *least_pressure* or above."""
    reduced, volume, weight = [], [], []
    for one, share in zip(measured, weights or [1.0] * len(measured), strict=True):
        used = one.pressure >= least_pressure
        beta = affinity_coefficient(affinity_name, one.vapour, one.known)
        reduced.append(one.potential[used] / beta)
        volume.append(one.volume[used])
        weight.append(np.full(int(used.sum()), share))
    return fit_curve(np.concatenate(reduced), np.concatenate(volume), exponent=exponent, weight=np.concatenate(weight))


def equal_shares(among: Sequence[Isotherm]) -> list[float]:
    """Weights that give every carbon the same say, however often it was measured."""
    points = {name: sum(len(i.cases) for i in its) for name, its in by(lambda i: i.carbon, among).items()}
    return [1 / points[i.carbon] for i in among]


def predict(
    carbon: Carbon, of: Isotherm, affinity_name: str = LIBRARY[0], pressure: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Loadings [kg/kg] that respcalc gives for a carbon at the measured pressures, or at others."""
    inputs = {
        "temperature": of.temperature,
        "saturation_pressure": of.saturation_pressure,
        "partial_pressure": of.pressure if pressure is None else np.asarray(pressure, dtype=float),
        "micropore_volume": carbon.micropore_volume,
        "liquid_density": of.liquid_density,
        "characteristic_energy": carbon.characteristic_energy,
        "affinity_coefficient": affinity_coefficient(affinity_name, of.vapour, of.known),
    }
    if carbon.exponent == LIBRARY[1]:
        return np.asarray(capacity.dubinin_radushkevich_capacity.si(**inputs))
    return np.asarray(capacity.dubinin_astakhov_capacity.si(**inputs, astakhov_exponent=carbon.exponent))
