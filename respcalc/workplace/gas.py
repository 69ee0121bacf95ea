"""Gas arithmetic: molar volume, ppm and mg/m3, pressure at a height."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model
from respcalc.models.constants import GAS_CONSTANT

__all__ = ["mass_from_volume_fraction", "molar_gas_volume", "pressure_at_altitude", "volume_fraction_from_mass"]


@model(
    returns="molar_gas_volume",
    equation="Vm = R T/P",
    source="molar_gas_law",
    locator="ideal gas",
    rises_with=("temperature",),
    falls_with=("pressure",),
)
def molar_gas_volume(*, temperature: Any, pressure: Any) -> Any:
    """Volume of one mole of gas.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    pressure
        Air pressure [kPa]. Scalar or array.

    Returns
    -------
    molar_gas_volume
        [L/mol], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``molar_gas_law``.

    Examples
    --------
    >>> f"{molar_gas_volume(temperature='20 degC', pressure='1 atm').magnitude:.3f}"
    '24.055'
    """
    return GAS_CONSTANT * temperature / pressure


@model(
    returns="mass_concentration",
    equation="C = c M P/(R T)",
    source="molar_gas_law",
    locator="ideal gas",
    rises_with=("volume_fraction", "molar_mass", "pressure"),
    falls_with=("temperature",),
)
def mass_from_volume_fraction(*, volume_fraction: Any, molar_mass: Any, temperature: Any, pressure: Any) -> Any:
    """Turn ppm into mg/m3.

    Parameters
    ----------
    volume_fraction
        Concentration by volume [ppm]. Scalar or array.
    molar_mass
        Molar mass of the vapour [g/mol]. Scalar or array.
    temperature
        Temperature of the air the concentration is stated for [degC]. Scalar or array.
    pressure
        Pressure of that air [kPa]. Scalar or array.

    Returns
    -------
    mass_concentration
        [mg/m3], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``molar_gas_law``.

    Examples
    --------
    >>> c = mass_from_volume_fraction(volume_fraction="100 ppm", molar_mass="92.14 g/mol", temperature="25 degC",
    ...     pressure="1 atm")
    >>> f"{c.magnitude:.1f}"
    '376.6'
    """
    return volume_fraction * molar_mass * pressure / (GAS_CONSTANT * temperature)


@model(
    returns="volume_fraction",
    equation="c = C R T/(M P)",
    source="molar_gas_law",
    locator="ideal gas",
    rises_with=("mass_concentration", "temperature"),
    falls_with=("molar_mass", "pressure"),
)
def volume_fraction_from_mass(*, mass_concentration: Any, molar_mass: Any, temperature: Any, pressure: Any) -> Any:
    """Turn mg/m3 into ppm.

    Parameters
    ----------
    mass_concentration
        Mass of vapour per volume of air [mg/m3]. Scalar or array.
    molar_mass
        Molar mass of the vapour [g/mol]. Scalar or array.
    temperature
        Temperature of the air the concentration is stated for [degC]. Scalar or array.
    pressure
        Pressure of that air [kPa]. Scalar or array.

    Returns
    -------
    volume_fraction
        [ppm], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``molar_gas_law``.

    Examples
    --------
    >>> c = volume_fraction_from_mass(mass_concentration="376.6 mg/m3", molar_mass="92.14 g/mol", temperature="25 degC",
    ...     pressure="1 atm")
    >>> f"{c.magnitude:.1f}"
    '100.0'
    """
    return mass_concentration * GAS_CONSTANT * temperature / (molar_mass * pressure)


@model(
    returns="pressure",
    equation="standard atmosphere",
    source="us_standard_atmosphere_1976",
    locator="troposphere, geometric height",
)
def pressure_at_altitude(*, altitude: Any) -> Any:
    """Air pressure at a height above sea level in the standard atmosphere.

    Parameters
    ----------
    altitude
        Height above sea level [m]. Scalar or array.

    Returns
    -------
    pressure
        [kPa], shape of the input.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``us_standard_atmosphere_1976``, through the fluids library.

    Examples
    --------
    >>> f"{pressure_at_altitude(altitude='1500 m').magnitude:.1f}"
    '84.6'
    """
    from fluids.atmosphere import ATMOSPHERE_1976

    if np.ndim(altitude) == 0:
        return float(ATMOSPHERE_1976(float(altitude)).P)
    flat = [ATMOSPHERE_1976(float(h)).P for h in np.ravel(altitude)]
    return np.reshape(np.array(flat, dtype=float), np.shape(altitude))
