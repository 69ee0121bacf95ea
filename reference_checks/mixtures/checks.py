"""Closed forms against quadrature, loadings against plain root finding, fronts against a marched bed."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from reference_checks.framework import Check
from reference_checks.mixtures.bed import march
from reference_checks.mixtures.vapours import ATMOSPHERE, KELVIN, NAMES, RT, isotherms, molar_mass
from respcalc.models.capacity import adsorption_potential
from respcalc.models.iast import dubinin_astakhov_grand_potential, iast_loading
from respcalc.models.mixtures import equilibrium_fronts

__all__ = ["CHECKS"]

_TANKS = 16  # and twice as many: what the tanks smear falls with their number, and is taken off


# --- potentials


def _potential(
    *, temperature: float, saturation_pressure: float, partial_pressure: float, characteristic_energy: float,
    affinity_coefficient: float, astakhov_exponent: float,
) -> float:  # fmt: skip
    return float(
        dubinin_astakhov_grand_potential.si(
            temperature=temperature, saturation_pressure=saturation_pressure, partial_pressure=partial_pressure,
            characteristic_energy=characteristic_energy, affinity_coefficient=affinity_coefficient,
            astakhov_exponent=astakhov_exponent,
        )
    )  # fmt: skip


def _potential_by_quadrature(
    *, temperature: float, saturation_pressure: float, partial_pressure: float, characteristic_energy: float,
    affinity_coefficient: float, astakhov_exponent: float,
) -> float:  # fmt: skip
    kappa = 8.314462618 * temperature / (affinity_coefficient * characteristic_energy)

    def filling(log_pressure: float) -> float:
        return math.exp(-((kappa * (math.log(saturation_pressure) - log_pressure)) ** astakhov_exponent))

    top = math.log(partial_pressure)
    return float(quad(filling, top - 12.0 / kappa, top, epsabs=0.0, epsrel=1e-12, limit=400)[0])


def _henry(
    *, temperature: float, saturation_pressure: float, partial_pressure: float, characteristic_energy: float,
    affinity_coefficient: float, astakhov_exponent: float,
) -> float:  # fmt: skip
    """Return the loading itself, which would be the potential if it rose in proportion to the pressure."""
    reduced = adsorption_potential.si(
        temperature=temperature, saturation_pressure=saturation_pressure, partial_pressure=partial_pressure
    ) / (affinity_coefficient * characteristic_energy)
    return math.exp(-(reduced**astakhov_exponent))


# --- mixtures, written as "toluene 100 ppm + acetone 100 ppm"


def _read(mixture: str) -> tuple[list[str], tuple[tuple[float, ...], ...]]:
    """Names, and pressures, saturation pressures, n0 and kappa."""
    parts = [part.rsplit(" ", 2) for part in mixture.split(" + ")]
    names = [name for name, _, _ in parts]
    columns = isotherms([NAMES.index(name) for name in names])
    pressures = tuple(float(ppm) * 1e-6 * ATMOSPHERE for _, ppm, _ in parts)
    return names, (pressures, *(tuple(float(v) for v in column) for column in columns))


def _loading(*, mixture: str, component: str) -> float:
    names, columns = _read(mixture)
    return float(iast_loading(*columns)[names.index(component)]) * molar_mass(component)


def _single_loading(*, mixture: str, component: str) -> float:
    names, columns = _read(mixture)
    p, psat, n0, kappa = (column[names.index(component)] for column in columns)
    return n0 * math.exp(-((kappa * math.log(psat / p)) ** 2)) * molar_mass(component)


def _loading_by_roots(*, mixture: str, component: str) -> float:
    """A root within a root, on the error function of the standard library alone."""
    names, (p, psat, n0, kappa) = _read(mixture)
    count = range(len(p))

    def potential(i: int, log_p: float) -> float:
        depth = math.log(psat[i]) - log_p
        top = n0[i] * math.sqrt(math.pi) / (2 * kappa[i])
        return top * math.erfc(kappa[i] * depth) if depth > 0 else top - n0[i] * depth

    def alone(i: int, psi: float) -> float:
        return math.exp(float(brentq(lambda x: potential(i, x) - psi, -150.0, 80.0, xtol=1e-13)))

    psi = float(brentq(lambda z: sum(p[i] / alone(i, z) for i in count) - 1.0, 1e-3, 100.0, xtol=1e-13))
    share = [p[i] / alone(i, psi) for i in count]
    held = [n0[i] * math.exp(-((kappa[i] * max(math.log(psat[i] / alone(i, psi)), 0.0)) ** 2)) for i in count]
    total = 1.0 / sum(x / n for x, n in zip(share, held, strict=True))
    return share[names.index(component)] * total * molar_mass(component)


# --- fronts


def _front(*, mixture: str, component: str) -> float:
    names, columns = _read(mixture)
    return float(equilibrium_fronts(*columns, KELVIN).air_volume[names.index(component)])


def _feed_equilibrium(*, mixture: str, component: str) -> float:
    names, columns = _read(mixture)
    moles = _loading(mixture=mixture, component=component) / molar_mass(component)
    return moles * RT / columns[0][names.index(component)]


@cache
def _marched(mixture: str) -> tuple[float, ...]:
    """Air until each component comes to half its plateau; the tanks' smearing is removed by doubling them once."""
    _, columns = _read(mixture)
    fronts = equilibrium_fronts(*columns, KELVIN)  # only says how long to march, and what half a plateau is
    until = 1.15 * float(np.max(fronts.air_volume))
    few, many = (march(*columns, KELVIN, until=until, tanks=tanks) for tanks in (_TANKS, 2 * _TANKS))
    halves = [0.5 * float(plateau) for plateau in fronts.plateau_pressure]
    return tuple(2 * many.air_until(i, half) - few.air_until(i, half) for i, half in enumerate(halves))


def _front_by_march(*, mixture: str, component: str) -> float:
    return _marched(mixture)[_read(mixture)[0].index(component)]


CHECKS = {
    "potentials": Check(
        _potential,
        independent=_potential_by_quadrature,
        refuses={"the loading, as if it followed Henry's law": _henry},
    ),
    "loadings": Check(
        _loading,
        independent=_loading_by_roots,
        independent_rel=1e-7,
        refuses={"each vapour as if alone": _single_loading},
    ),
    "fronts": Check(_front, independent=_front_by_march, independent_rel=0.01),
    "light_fronts": Check(_front, refuses={"loading at the feed's concentrations": _feed_equilibrium}),
}
