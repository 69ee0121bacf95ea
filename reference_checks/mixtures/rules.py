"""Each rule for mixtures against the theory of sharp fronts, over many mixtures.

Everything is a volume of air per mass of carbon until the first component comes through, if only
equilibrium counts; the margin, kinetics and non-ideality are left out on both sides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import combinations, product
from typing import Any

import numpy as np

from reference_checks.mixtures.vapours import ATMOSPHERE, KELVIN, NAMES, RT, isotherms
from respcalc.models.iast import iast_loading
from respcalc.models.mixtures import (
    doong_yang_capacity,
    equilibrium_fronts,
    guidance_time,
    mole_fraction_capacity,
    proportionate_capacity,
    sum_rule_time,
)

__all__ = ["RULES", "Compared", "compared", "fastest_at_sum", "invented"]

LOWEST, HIGHEST = 10e-6, 1000e-6  # volume fraction of each component
LEVELS = {2: 5, 3: 3}  # each component at so many levels; above three components, drawn
DRAWN = 4000
SEED = 20240

RULES = {
    "single": "shortest single-vapour time, no interaction",
    "guidance": "enforcement guidance: fastest alone, at the sum if comparable",
    "fastest": "component fastest alone, always at the sum",
    "sum": "sum rule: least over all components at the sum",
    "mole_fraction": "mole fractions, capacity at own concentration",
    "proportionate": "molar-proportionate (reconstructed), least",
    "doong_yang": "mutual exclusion of volumes, least",
    "feed": "IAST loading at the feed's concentrations, least",
}


@dataclass(frozen=True)
class Compared:
    """Mixtures of one size: who, how much, and each rule over theory."""

    which: Any  # index into NAMES, a row a mixture; None for invented vapours
    fraction: Any
    first: Any  # theory [m3/kg]
    sharp: Any
    spread: Any  # longest over shortest single-vapour time
    ratios: Mapping[str, Any]

    def name(self, row: int) -> str:
        parts = zip(self.which[row], self.fraction[row], strict=True)
        return ", ".join(f"{NAMES[i]} {1e6 * x:.0f} ppm" for i, x in parts)


def fastest_at_sum(alone: Any, at_sum: Any) -> Any:
    """Time, at the summed concentration, of the component that is fastest alone."""
    return np.take_along_axis(at_sum, np.argmin(alone, axis=-1)[..., np.newaxis], axis=-1)[..., 0]


def _mixtures(size: int) -> tuple[Any, Any]:
    groups = np.array(list(combinations(range(len(NAMES)), size)))
    if size in LEVELS:
        levels = np.array(list(product(np.geomspace(LOWEST, HIGHEST, LEVELS[size]), repeat=size)))
        return np.repeat(groups, len(levels), axis=0), np.tile(levels, (len(groups), 1))
    rng = np.random.default_rng(SEED + size)
    which = groups[rng.integers(0, len(groups), DRAWN)]
    return which, np.exp(rng.uniform(np.log(LOWEST), np.log(HIGHEST), which.shape))


@cache
def compared(size: int) -> Compared:
    """All rules for mixtures of *size* vapours."""
    which, fraction = _mixtures(size)
    return _compare(which, fraction, *isotherms(which))


@cache
def invented(size: int, lowest: float, highest: float) -> Compared:
    """All rules for vapours that no one has met: affinity, size and volatility drawn apart from one another."""
    rng = np.random.default_rng(SEED + 10 * size)
    shape = (DRAWN, size)
    affinity = rng.uniform(0.55, 1.5, shape)
    molar_volume = (affinity / 0.0176) ** (1 / 0.9) * 1e-6 * np.exp(rng.normal(0.0, 0.12, shape))
    psat = np.exp(rng.uniform(np.log(400.0), np.log(6e4), shape))
    fraction = np.exp(rng.uniform(np.log(lowest), np.log(highest), shape))
    fraction = np.minimum(fraction, 0.5 * psat / ATMOSPHERE)
    return _compare(None, fraction, psat, 0.454e-3 / molar_volume, RT / (affinity * 19.7e3))


def _compare(which: Any, fraction: Any, psat: Any, n0: Any, kappa: Any) -> Compared:
    p = fraction * ATMOSPHERE

    def loading(pressure: Any) -> Any:
        return n0 * np.exp(-np.square(kappa * np.maximum(np.log(psat / pressure), 0.0)))

    total = np.broadcast_to(p.sum(axis=-1, keepdims=True), p.shape)
    single, at_sum = loading(p) * RT / p, loading(total) * RT / total
    fronts = equilibrium_fronts(p, psat, n0, kappa, KELVIN)
    times = {
        "single": single.min(axis=-1),
        "guidance": guidance_time(single, at_sum),
        "fastest": fastest_at_sum(single, at_sum),
        "sum": sum_rule_time(at_sum),
        "mole_fraction": (mole_fraction_capacity(p, loading(p)) * RT / p).min(axis=-1),
        "proportionate": (proportionate_capacity(loading(p)) * RT / p).min(axis=-1),
        "doong_yang": (doong_yang_capacity(loading(p) / n0) * n0 * RT / p).min(axis=-1),
        "feed": (iast_loading(p, psat, n0, kappa) * RT / p).min(axis=-1),
    }
    ratios = {name: time / fronts.first for name, time in times.items()}
    return Compared(which, fraction, fronts.first, fronts.sharp, single.max(axis=-1) / single.min(axis=-1), ratios)
