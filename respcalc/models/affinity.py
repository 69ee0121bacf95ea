"""How strongly a vapour is held, relative to benzene: molar polarization and affinity coefficient."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model

__all__ = [
    "affinity_least",
    "affinity_polarization_ratio",
    "affinity_wood_molar_volume",
    "affinity_wood_polarization",
    "lorentz_lorenz_polarization",
]

_BENZENE_POLARIZATION = 26.2  # cm3/mol
_CM3 = 1e6  # cm3 in a m3


@model(
    returns="molar_polarization",
    equation="Pe = (n^2 - 1)/(n^2 + 2) M/dL",
    source="lorentz_lorenz",
    locator="definition of molar refraction",
    assumptions=("refractive index and density at the same temperature",),
    opposes=("liquid_density",),
    rises_with=("molar_mass",),
)
def lorentz_lorenz_polarization(*, refractive_index: Any, molar_mass: Any, liquid_density: Any) -> Any:
    """Molar electronic polarization from refractive index, molar mass and density.

    Parameters
    ----------
    refractive_index
        Refractive index of the liquid at the sodium D line. Scalar or array.
    molar_mass
        Molar mass [g/mol]. Scalar or array.
    liquid_density
        Liquid density at the temperature of the refractive index [g/cm3]. Scalar or array.

    Returns
    -------
    molar_polarization
        [cm3/mol], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``lorentz_lorenz``. A lower density raises the result; use density and index of one
    temperature, or the error of the one is not cancelled by the other.

    Examples
    --------
    >>> pe = lorentz_lorenz_polarization(refractive_index=1.4941, molar_mass="92.14 g/mol",
    ...     liquid_density="0.8622 g/cm3")
    >>> f"{pe.magnitude:.1f}"
    '31.1'
    """
    square = refractive_index * refractive_index
    return (square - 1.0) / (square + 2.0) * molar_mass / liquid_density


@model(
    returns="affinity_coefficient",
    equation="beta = 0.0862 Pe^0.75",
    source="wood_2001",
    locator="correlation with molar polarization; constants from memory",
    assumptions=("benzene is the reference vapour",),
)
def affinity_wood_polarization(*, molar_polarization: Any) -> Any:
    """Affinity coefficient from molar polarization, Wood's 0.75 power.

    Parameters
    ----------
    molar_polarization
        Molar electronic polarization [cm3/mol]. Scalar or array.

    Returns
    -------
    affinity_coefficient
        Dimensionless, benzene = 1.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wood_2001``. Polar and small molecules scatter about it; do not use it for vapours
    that are held by chemical reaction.

    Examples
    --------
    >>> f"{affinity_wood_polarization(molar_polarization='26.20 cm3/mol').magnitude:.3f}"
    '0.998'
    """
    return 0.0862 * (molar_polarization * _CM3) ** 0.75


@model(
    returns="affinity_coefficient",
    equation="beta = (Pe/26.2)^0.9",
    source="wood_1992",
    locator="exponent implicit in the generalised isotherm; constants from memory",
    assumptions=("benzene is the reference vapour",),
)
def affinity_polarization_ratio(*, molar_polarization: Any) -> Any:
    """Affinity coefficient from molar polarization relative to benzene, 0.9 power.

    Parameters
    ----------
    molar_polarization
        Molar electronic polarization [cm3/mol]. Scalar or array.

    Returns
    -------
    affinity_coefficient
        Dimensionless, benzene = 1.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wood_1992``. Lower than the 0.75 power for molecules smaller than benzene, higher
    for larger ones.

    Examples
    --------
    >>> f"{affinity_polarization_ratio(molar_polarization='16.18 cm3/mol').magnitude:.3f}"
    '0.648'
    """
    return (molar_polarization * _CM3 / _BENZENE_POLARIZATION) ** 0.9


@model(
    returns="affinity_coefficient",
    equation="beta = 0.0176 Vm^0.90",
    source="wood_2001",
    locator="correlation with molar volume; constants from memory",
    assumptions=("benzene is the reference vapour",),
)
def affinity_wood_molar_volume(*, liquid_molar_volume: Any) -> Any:
    """Affinity coefficient from the molar volume of the liquid.

    Parameters
    ----------
    liquid_molar_volume
        Molar mass over liquid density [cm3/mol]. Scalar or array.

    Returns
    -------
    affinity_coefficient
        Dimensionless, benzene = 1.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wood_2001``. For comparison only: it gives the highest values of the correlations
    for alkanes, ketones and esters, so it is no conservative default.

    Examples
    --------
    >>> f"{affinity_wood_molar_volume(liquid_molar_volume='89.4 cm3/mol').magnitude:.3f}"
    '1.004'
    """
    return 0.0176 * (liquid_molar_volume * _CM3) ** 0.90


@model(
    returns="affinity_coefficient",
    equation="beta = min(0.0862 Pe^0.75, (Pe/26.2)^0.9)",
    source="respcalc_choices",
    locator="the lower of two published correlations",
    assumptions=("the two cross near benzene, so the lower of them is conservative on both sides",),
)
def affinity_least(*, molar_polarization: Any) -> Any:
    """Affinity coefficient, the lower of the two polarization correlations (the default).

    Parameters
    ----------
    molar_polarization
        Molar electronic polarization [cm3/mol]. Scalar or array.

    Returns
    -------
    affinity_coefficient
        Dimensionless, benzene = 1.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``respcalc_choices``, from ``wood_2001`` and ``wood_1992``.

    Examples
    --------
    >>> f"{affinity_least(molar_polarization='31.12 cm3/mol').magnitude:.3f}"
    '1.136'
    """
    return np.minimum(
        affinity_wood_polarization.si(molar_polarization=molar_polarization),
        affinity_polarization_ratio.si(molar_polarization=molar_polarization),
    )
