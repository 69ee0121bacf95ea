"""A bed of stirred tanks in a row, each at equilibrium, marched in time: it knows nothing of fronts.

Loadings are the state. The gas above a loading follows from ideal adsorbed solution theory run
backwards, which is simple: the shares x are known, so 1/n_T = sum of x/n(psi) gives the grand potential
psi and p = x p(psi). Numbers, not respcalc's functions, so that the two can disagree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import lil_matrix
from scipy.special import erfcinv

__all__ = ["Outlet", "march"]

_R = 8.314462618
_HALVINGS = 48
_NOTHING = 1e-9  # mol/kg that stand for none at all in the shares


@dataclass(frozen=True)
class Outlet:
    """What leaves the last tank: air passed per mass of carbon [m3/kg], and pressures [Pa] by component."""

    air_volume: Any
    pressure: Any

    def air_until(self, component: int, pressure: float) -> float:
        """Air until the component first reaches a pressure, drawn straight between two steps."""
        curve = self.pressure[component]
        after = int(np.argmax(curve >= pressure))
        low, high = curve[after - 1], curve[after]
        share = (pressure - low) / (high - low)
        return float(self.air_volume[after - 1] + share * (self.air_volume[after] - self.air_volume[after - 1]))


def _gas(loading: Any, psat: Any, n0: Any, kappa: Any) -> Any:
    """Pressures over loadings; components on the first axis, tanks on the second."""
    held = np.maximum(loading, 0.0)
    total = held.sum(axis=0) + _NOTHING
    share = held / total
    full = n0 * np.sqrt(np.pi) / (2.0 * kappa)
    low, high = np.full(total.shape, -300.0), np.full(total.shape, 6.0)  # ln of psi
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        alone = n0 * np.exp(-np.square(erfcinv(np.minimum(np.exp(middle) / full, 1.0))))
        enough = total * ((share + _NOTHING) / alone).sum(axis=0) < 1.0
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    psi = np.exp(0.5 * (low + high))
    part = psi / full
    exponent = np.where(part < 1.0, -erfcinv(np.minimum(part, 1.0)) / kappa, (psi - full) / n0)
    return share * psat * np.exp(exponent)


def march(
    pressure: Any, psat: Any, n0: Any, kappa: Any, temperature: float, *, until: float, tanks: int, steps: int = 2000
) -> Outlet:
    """Feed a clean bed until so much air per mass of carbon [m3/kg] has passed."""
    p, psat, n0, kappa = (np.asarray(v, dtype=float)[:, np.newaxis] for v in (pressure, psat, n0, kappa))
    count = p.shape[0]
    carried = tanks / (_R * temperature)

    def change(_: float, flat: Any) -> Any:
        gas = _gas(flat.reshape(tanks, count).T, psat, n0, kappa)
        before = np.concatenate((p, gas[:, :-1]), axis=1)
        return ((before - gas) * carried).T.ravel()

    pattern = lil_matrix((tanks * count, tanks * count))
    for tank in range(tanks):
        rows = slice(tank * count, (tank + 1) * count)
        pattern[rows, max(tank - 1, 0) * count : (tank + 1) * count] = 1
    times = np.linspace(0.0, until, steps + 1)
    done = solve_ivp(
        change, (0.0, until), np.zeros(tanks * count), method="BDF", t_eval=times, jac_sparsity=pattern,
        rtol=1e-5, atol=1e-8, first_step=until * 1e-9,
    )  # fmt: skip
    if not done.success:
        raise ArithmeticError(done.message)
    last = done.y[-count:]
    return Outlet(done.t, _gas(last, psat, n0, kappa))
