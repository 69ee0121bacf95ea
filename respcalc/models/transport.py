"""Diffusion of the vapour and flow of the air between the granules."""

from __future__ import annotations

from typing import Any

from respcalc.core.card import model
from respcalc.models.constants import GAS_CONSTANT

__all__ = ["air_kinematic_viscosity", "fuller_diffusivity"]

_AIR_MOLAR_MASS = 28.9644e-3
_AIR_DIFFUSION_VOLUME = 19.7


@model(
    returns="diffusivity",
    equation="D = 0.00143 T^1.75 / (P M_ab^0.5 (v_a^(1/3) + v_b^(1/3))^2) cm2/s",
    source="fuller_1966",
    locator="as restated with air's diffusion volume 19.7",
    rises_with=("temperature",),
    falls_with=("pressure", "molar_mass"),
)
def fuller_diffusivity(*, temperature: Any, pressure: Any, molar_mass: Any, diffusion_volume: Any) -> Any:
    """Diffusivity of a vapour in air by the method of Fuller, Schettler and Giddings.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    pressure
        Air pressure [kPa]. Scalar or array.
    molar_mass
        Molar mass of the vapour [g/mol]. Scalar or array.
    diffusion_volume
        Sum of atomic diffusion volumes [cm3/mol]. Scalar or array.

    Returns
    -------
    diffusivity
        [cm2/s], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``fuller_1966``. Not for strongly polar vapours at high pressure; at room conditions
    within about 10 %.

    Examples
    --------
    >>> d = fuller_diffusivity(temperature="25 degC", pressure="1 atm", molar_mass="92.14 g/mol",
    ...     diffusion_volume="111.5 cm3/mol")
    >>> f"{d.magnitude:.3f}"
    '0.081'
    """
    pair_mass = 2.0 / (1.0 / (molar_mass * 1e3) + 1.0 / (_AIR_MOLAR_MASS * 1e3))
    widths = (diffusion_volume * 1e6) ** (1.0 / 3.0) + _AIR_DIFFUSION_VOLUME ** (1.0 / 3.0)
    return 1e-4 * 0.00143 * temperature**1.75 / (pressure / 1e5 * pair_mass**0.5 * widths * widths)


@model(
    returns="kinematic_viscosity",
    equation="nu = 1.458e-6 T^1.5/(T + 110.4) / (P M_air/(R T))",
    source="us_standard_atmosphere_1976",
    locator="viscosity law; ideal gas density",
    rises_with=("temperature",),
    falls_with=("pressure",),
)
def air_kinematic_viscosity(*, temperature: Any, pressure: Any) -> Any:
    """Kinematic viscosity of dry air.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    pressure
        Air pressure [kPa]. Scalar or array.

    Returns
    -------
    kinematic_viscosity
        [cm2/s], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``us_standard_atmosphere_1976``.

    Examples
    --------
    >>> f"{air_kinematic_viscosity(temperature='25 degC', pressure='1 atm').magnitude:.4f}"
    '0.1552'
    """
    dynamic = 1.458e-6 * temperature**1.5 / (temperature + 110.4)
    return dynamic * GAS_CONSTANT * temperature / (pressure * _AIR_MOLAR_MASS)
