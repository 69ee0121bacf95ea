"""Ideal adsorbed solution theory on Dubinin isotherms, in closed form, and its Dubinin potentials.

A single vapour at pressure p holds n = n0 exp[-y^m] with y = kappa ln(psat/p) and kappa = R T/(beta E0);
m = 2 is Dubinin-Radushkevich, any other m Dubinin-Astakhov. Vapours that share a carbon sit at one
grand potential, the integral of n dln(p), and each is held as if at the pressure that gives it alone.

`iast_loading` carries the components of a mixture along the last axis, which a card cannot say; it
takes plain floats and has no card. The potentials are cards as all other models are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.card import mixture_model, model
from respcalc.core.errors import DomainError, ModelError
from respcalc.models.constants import GAS_CONSTANT

__all__ = [
    "dubinin_astakhov_grand_potential",
    "dubinin_radushkevich_grand_potential",
    "iast_loading",
    "pressure_at_grand_potential",
]

_HALF_ROOT_PI = math.sqrt(math.pi) / 2.0
_BLOCK = 8_000  # rows at a time: what is worked out in between then stays in the processor's cache
_CLOSE = 0.006  # residual ln(sum of mole fractions) below which a last step by series is good for 1e-8
_PASSES = 60
_WITH_CURVATURE = 8  # passes that use it; the plain step that follows cannot fail to converge
_UPRIGHT = 1e-6  # an exponent below 1 has an upright end at saturation: no slope is taken closer to it
_LEAST = 1e-290  # stands for a grand potential too small for a float


@model(
    returns="grand_potential",
    equation="psi = sqrt(pi)/(2 kappa) erfc[kappa ln(psat/p)], kappa = R T/(beta E0)",
    source="iast_closed_forms",
    locator="integral of the DR isotherm over ln(p)",
    assumptions=("in moles of micropore filling and R T: divide the grand potential by n0 R T",),
    rises_with=("partial_pressure", "characteristic_energy", "affinity_coefficient"),
    falls_with=("temperature", "saturation_pressure"),
    at_most={"partial_pressure": "saturation_pressure"},
)
def dubinin_radushkevich_grand_potential(
    *,
    temperature: Any,
    saturation_pressure: Any,
    partial_pressure: Any,
    characteristic_energy: Any,
    affinity_coefficient: Any,
) -> Any:
    """Grand potential of one vapour on the Dubinin-Radushkevich isotherm, over that of a mole of filling.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    saturation_pressure
        Vapour pressure of the liquid at that temperature [kPa]. Scalar or array.
    partial_pressure
        Pressure of the vapour [Pa], not above saturation. Scalar or array.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]. Scalar or array.
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.

    Returns
    -------
    grand_potential
        Dimensionless: the grand potential over R T and over the moles n0 that fill the micropores.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``iast_closed_forms``. Vapours that are held together have equal n0 times this.

    Examples
    --------
    >>> psi = dubinin_radushkevich_grand_potential(temperature="25 degC", saturation_pressure="3.79 kPa",
    ...     partial_pressure="100 Pa", characteristic_energy="19.7 kJ/mol", affinity_coefficient=1.136)
    >>> f"{psi.magnitude:.3f}"
    '4.553'
    """
    from scipy.special import erfc

    kappa = GAS_CONSTANT * temperature / (affinity_coefficient * characteristic_energy)
    return _HALF_ROOT_PI / kappa * erfc(kappa * np.log(saturation_pressure / partial_pressure))


@model(
    returns="grand_potential",
    equation="psi = Gamma(1/n, [kappa ln(psat/p)]^n)/(n kappa), kappa = R T/(beta E0)",
    source="iast_closed_forms",
    locator="integral of the DA isotherm over ln(p); upper incomplete gamma function",
    assumptions=("in moles of micropore filling and R T: divide the grand potential by n0 R T",),
    rises_with=("partial_pressure", "characteristic_energy", "affinity_coefficient"),
    falls_with=("temperature", "saturation_pressure"),
    at_most={"partial_pressure": "saturation_pressure"},
)
def dubinin_astakhov_grand_potential(
    *,
    temperature: Any,
    saturation_pressure: Any,
    partial_pressure: Any,
    characteristic_energy: Any,
    affinity_coefficient: Any,
    astakhov_exponent: Any,
) -> Any:
    """Grand potential of one vapour on the Dubinin-Astakhov isotherm, over that of a mole of filling.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    saturation_pressure
        Vapour pressure of the liquid at that temperature [kPa]. Scalar or array.
    partial_pressure
        Pressure of the vapour [Pa], not above saturation. Scalar or array.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]. Scalar or array.
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.
    astakhov_exponent
        Exponent n. Scalar or array.

    Returns
    -------
    grand_potential
        Dimensionless: the grand potential over R T and over the moles n0 that fill the micropores.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``iast_closed_forms``. With n = 2 it is `dubinin_radushkevich_grand_potential`.

    Examples
    --------
    >>> psi = dubinin_astakhov_grand_potential(temperature="25 degC", saturation_pressure="3.79 kPa",
    ...     partial_pressure="100 Pa", characteristic_energy="19.7 kJ/mol", affinity_coefficient=1.136,
    ...     astakhov_exponent=3)
    >>> f"{psi.magnitude:.3f}"
    '4.485'
    """
    from scipy.special import gamma, gammaincc

    kappa = GAS_CONSTANT * temperature / (affinity_coefficient * characteristic_energy)
    reduced = kappa * np.log(saturation_pressure / partial_pressure)
    share = 1.0 / astakhov_exponent
    return gamma(1.0 + share) / kappa * gammaincc(share, np.maximum(reduced, 0.0) ** astakhov_exponent)


@dataclass(frozen=True, slots=True)
class Curves:
    """Dubinin isotherms of the components (first axis) in mol/kg, by y = kappa ln(psat/p).

    Past saturation, where y is negative, the loading stays at n0: a light vapour among heavy ones is
    held as if it were alone at such a pressure.
    """

    n0: Any
    kappa: Any
    exponent: Any  # None is 2, the form with the error function

    @property
    def full(self) -> Any:
        """Grand potential over R T at saturation [mol/kg]."""
        if self.exponent is None:
            return self.n0 * _HALF_ROOT_PI / self.kappa
        from scipy.special import gamma

        return self.n0 * gamma(1.0 + 1.0 / self.exponent) / self.kappa

    def loading(self, y: Any) -> Any:
        held = np.maximum(y, 0.0)
        return self.n0 * np.exp(-held * held if self.exponent is None else -(held**self.exponent))

    def inverse_loading(self, y: Any) -> Any:
        held = np.maximum(y, 0.0)
        return np.exp(held * held if self.exponent is None else held**self.exponent) * (1.0 / self.n0)

    def slope(self, y: Any) -> Any:
        """Return d ln(n)/d ln(p)."""
        held = np.maximum(y, 0.0)
        if self.exponent is None:
            return (2.0 * self.kappa) * held
        return self.exponent * self.kappa * np.maximum(held, _UPRIGHT) ** (self.exponent - 1.0)

    def potential(self, y: Any) -> Any:
        from scipy.special import erfc, gammaincc

        held = np.maximum(y, 0.0)
        part = erfc(held) if self.exponent is None else gammaincc(1.0 / self.exponent, held**self.exponent)
        return self.full * part + self.n0 * np.maximum(-y, 0.0) / self.kappa

    def height(self, potential: Any) -> Any:
        """Return y at a grand potential; the inverse of `potential`."""
        from scipy.special import erfcinv, gammainccinv

        full = self.full
        part = potential / full
        within = np.minimum(part, 1.0)
        if self.exponent is None:
            y = erfcinv(within)
        else:
            y = gammainccinv(1.0 / self.exponent, within) ** (1.0 / self.exponent)
        if np.max(part) <= 1.0:
            return y
        return np.where(part <= 1.0, y, self.kappa * (full - potential) / self.n0)

    def rows(self, which: Any) -> Curves:
        return Curves(*(_rows(value, which) for value in (self.n0, self.kappa, self.exponent)))


def pressure_at_grand_potential(
    grand_potential: Any, saturation_pressure: Any, molar_capacity: Any, thermal_ratio: Any, exponent: Any = 2.0
) -> Any:
    """Pressure at which one vapour alone has a grand potential; the inverse of the closed forms.

    Parameters
    ----------
    grand_potential
        Grand potential over R T [mol/kg]: n0 times what `dubinin_astakhov_grand_potential` returns. Above 0.
    saturation_pressure
        [Pa].
    molar_capacity
        Moles n0 that fill the micropores of a kilogram of carbon: W0 dL/M [mol/kg].
    thermal_ratio
        kappa = R T/(beta E0).
    exponent
        Of Dubinin-Astakhov; 2 is Dubinin-Radushkevich.

    Returns
    -------
    float or numpy.ndarray
        [Pa]. Above saturation where the potential asks for it: the loading is then taken to stay at n0.

    Raises
    ------
    DomainError
        A value that is not above 0 or not finite.

    Notes
    -----
    Equation: p = psat exp[-erfcinv(2 kappa psi/(n0 sqrt(pi)))/kappa], and with the inverse of the upper
    incomplete gamma function for n other than 2. Source: ``iast_closed_forms``.

    Examples
    --------
    >>> f"{pressure_at_grand_potential(19.33, 3790.0, 4.2475, 0.1108):.1f}"
    '100.0'
    """
    given = _positive(
        grand_potential=grand_potential, saturation_pressure=saturation_pressure, molar_capacity=molar_capacity,
        thermal_ratio=thermal_ratio, exponent=exponent,
    )  # fmt: skip
    potential, psat, n0, kappa, power = np.broadcast_arrays(*given)
    curves = Curves(n0, kappa, None if np.all(power == 2.0) else power)
    return (psat * np.exp(-curves.height(potential) / kappa))[()]


@mixture_model(
    returns="capacity",
    equation="sum of p_i/p_i*(psi) = 1; 1/n_T = sum of x_i/n_i(p_i*); n_i = x_i n_T",
    source="iast_closed_forms",
    locator="closed forms of the grand potential; derived here",
    assumptions=("ideal adsorbed solution", "loading at the feed is not what a bed holds at breakthrough"),
)
def iast_loading(
    partial_pressure: Any, saturation_pressure: Any, molar_capacity: Any, thermal_ratio: Any, exponent: Any = 2.0
) -> Any:
    """Loading of each vapour of a mixture at equilibrium, by ideal adsorbed solution theory.

    Components lie along the last axis, mixtures along the others; all arguments broadcast.

    Parameters
    ----------
    partial_pressure
        [Pa]; 0 where a component is absent.
    saturation_pressure
        [Pa].
    molar_capacity
        Moles n0 that fill the micropores of a kilogram of carbon: W0 dL/M [mol/kg].
    thermal_ratio
        kappa = R T/(beta E0).
    exponent
        Of Dubinin-Astakhov; 2 is Dubinin-Radushkevich, and far faster.

    Returns
    -------
    numpy.ndarray
        Moles of each component on a kilogram of carbon [mol/kg].

    Raises
    ------
    DomainError
        A value that is not possible, or shapes that do not fit.
    ModelError
        No solution was found (naming the first mixture).

    Notes
    -----
    Equations: sum of p_i/p_i*(psi) = 1 over the pressures of equal grand potential psi; x_i = p_i/p_i*;
    1/n_T = sum of x_i/n_i(p_i*); n_i = x_i n_T. Source: ``iast_closed_forms``. The logarithm of the sum is
    convex and falls with psi, so Newton's method finds the one solution from anywhere near; curvature
    and a series for the last step save passes.

    The loading **at the feed's concentrations** is not what a bed holds at breakthrough, when a light
    vapour has run ahead of a heavy one: see `respcalc.models.mixtures.equilibrium_fronts`.

    Assumes an ideal adsorbed phase (activity coefficients of 1) that any vapour may enter. Dubinin isotherms
    have no Henry limit; a trace among other vapours has, since its loading is p n_T/p*(psi).

    Examples
    --------
    >>> toluene_and_acetone = iast_loading([10.1325, 10.1325], [3790.0, 30800.0], [4.2475, 6.1330], [0.1108, 0.1811])
    >>> [f"{1e3 * float(n):.0f} mmol/kg" for n in toluene_and_acetone]
    ['2749 mmol/kg', '24 mmol/kg']
    """
    p, curves, psat = read_mixture(partial_pressure, saturation_pressure, molar_capacity, thermal_ratio, exponent)
    flat = p.reshape(-1, p.shape[-1])
    found = np.empty(flat.shape)
    for rows, block in _blocks(flat, psat, curves):
        with np.errstate(all="ignore"):  # what is not finite is an error two lines on
            found[rows] = _loadings(*block).T
    if not np.isfinite(found.sum()):
        bad = int(np.nonzero(~np.isfinite(found).all(axis=-1))[0][0])
        raise ModelError(f"iast_loading found no solution for mixture {bad}, partial_pressure = {flat[bad]} Pa")
    return found.reshape(p.shape)


def read_mixture(
    partial_pressure: Any, saturation_pressure: Any, molar_capacity: Any, thermal_ratio: Any, exponent: Any
) -> tuple[Any, tuple[Any, Any, Any], Any]:
    """Check what describes mixtures; pressures, (n0, kappa, exponent or None for 2) and psat, in one shape.

    Raises
    ------
    DomainError
        Naming the argument.
    """
    p = np.asarray(partial_pressure, dtype=float)
    if p.size and not (p.min() >= 0.0 and p.max() < np.inf):  # not a number is neither
        raise DomainError("partial_pressure must be a finite number of Pa from 0, for each component")
    rest = _positive(
        saturation_pressure=saturation_pressure, molar_capacity=molar_capacity, thermal_ratio=thermal_ratio,
        exponent=exponent,
    )  # fmt: skip
    try:
        shape = np.broadcast_shapes(p.shape, *(value.shape for value in rest))
    except ValueError:
        shapes = ", ".join(str(value.shape) for value in (p, *rest))
        raise DomainError(f"the components lie along the last axis, and these do not fit together: {shapes}") from None
    if not shape or not shape[-1]:
        raise DomainError("a mixture needs an axis of components; for one vapour alone write [value]")
    p, psat, n0, kappa, power = (np.broadcast_to(value, shape) for value in (p, *rest))
    return p, (n0, kappa, None if np.all(rest[3] == 2.0) else power), psat


def solve_potential(p: Any, psat: Any, curves: Curves) -> tuple[Any, Any]:
    """Grand potential over R T [mol/kg] and y of each component, components on the first axis."""
    depth = np.log(psat / p)
    potential = np.maximum(curves.potential(curves.kappa * depth).max(axis=0), _LEAST)
    for count in range(_PASSES):
        y = curves.height(potential)
        error, step, *_ = _step(curves, depth, y, curved=count < _WITH_CURVATURE)
        potential = np.maximum(potential + step, potential / 2.0)
        if np.max(np.abs(error)) < 1e-12 or np.max(np.abs(step) / potential) < 1e-15:
            break
    return potential, curves.height(potential)


def _loadings(p: Any, psat: Any, curves: Curves) -> Any:
    """Loadings of a block, components on the first axis."""
    if some_absent := p.min() <= 0.0:
        empty = ~(p > 0.0).any(axis=0)
        p = np.where(empty, psat, p)
    depth = np.log(psat / p)
    if curves.exponent is None:
        late, weight, inverse = _quickly(depth, curves)
    else:
        late, weight, inverse = np.ones(p.shape[1], dtype=bool), np.empty(p.shape), np.empty(p.shape)
    if late.any():
        some = curves.rows(late)
        _, y = solve_potential(p[:, late], _rows(psat, late), some)
        weight[:, late], inverse[:, late] = np.exp(y / some.kappa - depth[:, late]), 1.0 / some.loading(y)
    # total moles: sum of x / sum of x/n, so that x need not be brought to a sum of exactly 1 before
    held = weight / (weight * inverse).sum(axis=0)
    return np.where(empty, 0.0, held) if some_absent else held


def _quickly(depth: Any, curves: Curves) -> tuple[Any, Any, Any]:
    """Two steps and a series on Dubinin-Radushkevich curves; mixtures not close enough by then are *late*.

    The first step only has to come near: half the digits do, and roots stand for erfc and its inverse.
    Returns which mixtures are late, the mole fractions times any factor, and 1/n of each component alone.
    """
    half = np.float32
    rough = Curves(curves.n0.astype(half), curves.kappa.astype(half), None)
    rough_depth = depth.astype(half)
    full, y = rough.full, rough.kappa * rough_depth
    alone = _erfc_nearly(y) if y.min() >= 0.0 else np.where(y > 0.0, _erfc_nearly(y), 1.0 - y / _HALF_ROOT_PI)
    potential = (full * alone).max(axis=0)
    part = potential / full
    y = _erfcinv_nearly(np.minimum(part, 1.0))
    if part.max() > 1.0:
        y = np.where(part < 1.0, y, _HALF_ROOT_PI * (1.0 - part))
    step = _step(rough, rough_depth, y)[1]
    potential = np.maximum(potential + step, 0.5 * potential).astype(float)
    y = curves.height(potential)
    error, step, weight, inverse, slope = _step(curves, depth, y)
    far = np.abs(step) * (inverse * (slope + curves.kappa)).max(axis=0)  # how far the series reaches
    late = ~((np.abs(error) < _CLOSE) & (far < _CLOSE))
    # the series of ln(p) in the grand potential
    t = step * inverse
    k2 = np.where(y > 0.0, curves.kappa * curves.kappa, 0.0) if y.min() < 0.0 else curves.kappa * curves.kappa
    rise = t * (1.0 + t * (t * ((k2 + slope * slope) * (1.0 / 3.0)) - 0.5 * slope))
    weight *= np.exp(-rise)
    y -= curves.kappa * rise
    inverse = curves.inverse_loading(y)
    # what is left, to first order
    total = weight.sum(axis=0)
    t = (np.log(total) * total / (weight * inverse).sum(axis=0)) * inverse
    return late, weight * (1.0 - t), inverse * (1.0 - curves.slope(y) * t)


def _step(curves: Curves, depth: Any, y: Any, *, curved: bool = True) -> tuple[Any, ...]:
    """Residual ln(sum of mole fractions), step of the grand potential, mole fractions, 1/n of each alone, slopes."""
    inverse, slope = curves.inverse_loading(y), curves.slope(y)
    weight = np.exp(y * (1.0 / curves.kappa) - depth)
    ratio = weight * inverse
    total, first = weight.sum(axis=0), ratio.sum(axis=0)
    error, fall = np.log(total), first / total
    step = error / fall
    if curved:
        ratio *= inverse
        ratio *= 1.0 + slope
        bend = ratio.sum(axis=0) / total - fall * fall
        step /= np.maximum(1.0 - 0.5 * error * bend / (fall * fall), 0.5)
    return error, step, weight, inverse, slope


def _erfc_nearly(y: Any) -> Any:
    """Upper bound of erfc for y above 0, within 6 %."""
    square = y * y
    return np.exp(-square) / (_HALF_ROOT_PI * y + np.sqrt(_HALF_ROOT_PI * _HALF_ROOT_PI * square + 1.0))


_WINITZKI = 8.0 * (math.pi - 3.0) / (3.0 * math.pi * (4.0 - math.pi))


def _erfcinv_nearly(part: Any) -> Any:
    """Inverse of erfc for a part from 0 to 1, within 0.01."""
    log = np.log(part * (2.0 - part))
    half = 2.0 / (math.pi * _WINITZKI) + log / 2.0
    return np.sqrt(np.maximum(np.sqrt(half * half - log / _WINITZKI) - half, 0.0))


def _blocks(p: Any, psat: Any, parts: tuple[Any, Any, Any]) -> Iterator[tuple[slice, tuple[Any, Any, Curves]]]:
    """Blocks of rows with the components on the first axis; what is the same for all rows stays one column."""
    columns = [None if v is None else _column(v) for v in (psat, *parts)]
    for start in range(0, p.shape[0], _BLOCK):
        rows = slice(start, start + _BLOCK)
        psat_, n0, kappa, power = (None if c is None else _rows(c, rows) for c in columns)
        yield rows, (np.ascontiguousarray(p[rows].T), psat_, Curves(n0, kappa, power))


def _column(value: Any) -> Any:
    """Components first, and one column where all rows are the same (broadcast: no stride along the rows)."""
    leading = value.strides[:-1]
    if all(step == 0 or size == 1 for step, size in zip(leading, value.shape[:-1], strict=True)):
        return np.ascontiguousarray(value[(0,) * len(leading)])[:, np.newaxis] if value.size else np.ones((1, 1))
    return value.reshape(-1, value.shape[-1]).T


def _rows(value: Any, which: Any) -> Any:
    if value is None or value.shape[1] == 1:
        return value
    return np.ascontiguousarray(value[:, which])


def _positive(**values: Any) -> list[Any]:
    """Each as an array of floats above 0."""
    arrays = []
    for name, value in values.items():
        array = np.asarray(value, dtype=float)
        if array.size and not (array.min() > 0.0 and array.max() < np.inf):
            raise DomainError(f"{name} must be a finite number above 0, for each component; got {value}")
        arrays.append(array)
    return arrays
