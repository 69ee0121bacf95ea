"""How much vapour the carbon holds at equilibrium: the Dubinin family of isotherms."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model
from respcalc.models.constants import GAS_CONSTANT

__all__ = [
    "adsorption_potential",
    "characteristic_energy_from_structural_constant",
    "dubinin_astakhov_capacity",
    "dubinin_capacity_at_potential",
    "dubinin_radushkevich_capacity",
    "dubinin_slope",
    "wood_characteristic_energy",
]

_R_CAL = 1.987  # the gas constant [cal/(mol K)] that Wood's constant was fitted with


@model(
    returns="adsorption_potential",
    equation="A = R T ln(psat/p)",
    source="dubinin_radushkevich_1947",
    locator="definition of the Polanyi potential",
    opposes=("partial_pressure",),
    at_most={"partial_pressure": "saturation_pressure"},
)
def adsorption_potential(*, temperature: Any, saturation_pressure: Any, partial_pressure: Any) -> Any:
    """Work needed to bring the vapour from its partial pressure to saturation.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    saturation_pressure
        Vapour pressure of the liquid at that temperature [kPa]. Scalar or array.
    partial_pressure
        Pressure of the vapour [Pa], not above saturation. Scalar or array.

    Returns
    -------
    adsorption_potential
        [kJ/mol], broadcast shape of the inputs; 0 at saturation.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_radushkevich_1947``. Above saturation the result would be negative, so such
    pressures are refused.

    Examples
    --------
    >>> a = adsorption_potential(temperature="25 degC", saturation_pressure="3.79 kPa", partial_pressure="101.325 Pa")
    >>> f"{a.magnitude:.2f}"
    '8.98'
    """
    return GAS_CONSTANT * temperature * np.log(saturation_pressure / partial_pressure)


@model(
    returns="capacity",
    equation="We = W0 dL exp[-(A/(beta E0))^2]",
    source="dubinin_radushkevich_1947",
    locator="characteristic curve at a given potential",
)
def dubinin_capacity_at_potential(
    *,
    adsorption_potential: Any,
    micropore_volume: Any,
    liquid_density: Any,
    characteristic_energy: Any,
    affinity_coefficient: Any,
) -> Any:
    """Capacity on the Dubinin-Radushkevich curve at a given adsorption potential.

    Parameters
    ----------
    adsorption_potential
        Polanyi potential [kJ/mol]; the humidity models shift it. Scalar or array.
    micropore_volume
        Micropore volume of the carbon [cm3/g]. Scalar or array.
    liquid_density
        Density of the liquid at the air's temperature [g/cm3]. Scalar or array.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]. Scalar or array.
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.

    Returns
    -------
    capacity
        Grams held by a gram of dry carbon [g/g].

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_radushkevich_1947``.

    Examples
    --------
    >>> we = dubinin_capacity_at_potential(adsorption_potential="0 kJ/mol", micropore_volume="0.454 cm3/g",
    ...     liquid_density="0.862 g/cm3", characteristic_energy="19.7 kJ/mol", affinity_coefficient=1.136)
    >>> f"{we.magnitude:.3f}"
    '0.391'
    """
    reduced = adsorption_potential / (affinity_coefficient * characteristic_energy)
    return micropore_volume * liquid_density * np.exp(-reduced * reduced)


@model(
    returns="capacity",
    equation="We = W0 dL exp[-(R T ln(psat/p)/(beta E0))^2]",
    source="dubinin_radushkevich_1947",
    locator="DR isotherm",
    assumptions=("physical adsorption in micropores", "no Henry limit: convex where dubinin_slope exceeds 1"),
    opposes=("partial_pressure",),
    at_most={"partial_pressure": "saturation_pressure"},
)
def dubinin_radushkevich_capacity(
    *,
    temperature: Any,
    saturation_pressure: Any,
    partial_pressure: Any,
    micropore_volume: Any,
    liquid_density: Any,
    characteristic_energy: Any,
    affinity_coefficient: Any,
) -> Any:
    """Equilibrium capacity of dry carbon by the Dubinin-Radushkevich isotherm.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    saturation_pressure
        Vapour pressure of the liquid at that temperature [kPa]. Scalar or array.
    partial_pressure
        Pressure of the vapour [Pa], not above saturation. Scalar or array.
    micropore_volume
        Micropore volume of the carbon [cm3/g]. Scalar or array.
    liquid_density
        Density of the liquid at the air's temperature [g/cm3]. Scalar or array.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]. Scalar or array.
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.

    Returns
    -------
    capacity
        Grams held by a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_radushkevich_1947``. Not for vapours held by reaction, nor where
    `dubinin_slope` exceeds 1 (methanol at any ppm of interest): the wave then does not keep its
    shape and breakthrough models built on it do not apply.

    Examples
    --------
    >>> we = dubinin_radushkevich_capacity(temperature="25 degC", saturation_pressure="3.79 kPa",
    ...     partial_pressure="101.325 Pa", micropore_volume="0.454 cm3/g", liquid_density="0.862 g/cm3",
    ...     characteristic_energy="19.7 kJ/mol", affinity_coefficient=1.136)
    >>> f"{we.magnitude:.3f}"
    '0.333'
    """
    return dubinin_capacity_at_potential.si(
        adsorption_potential=adsorption_potential.si(
            temperature=temperature, saturation_pressure=saturation_pressure, partial_pressure=partial_pressure
        ),
        micropore_volume=micropore_volume,
        liquid_density=liquid_density,
        characteristic_energy=characteristic_energy,
        affinity_coefficient=affinity_coefficient,
    )


@model(
    returns="capacity",
    equation="We = W0 dL exp[-(R T ln(psat/p)/(beta E0))^n]",
    source="dubinin_astakhov_1971",
    locator="DA isotherm",
    assumptions=("physical adsorption in micropores", "n = 2 is the DR isotherm"),
    opposes=("partial_pressure",),
    at_most={"partial_pressure": "saturation_pressure"},
)
def dubinin_astakhov_capacity(
    *,
    temperature: Any,
    saturation_pressure: Any,
    partial_pressure: Any,
    micropore_volume: Any,
    liquid_density: Any,
    characteristic_energy: Any,
    affinity_coefficient: Any,
    astakhov_exponent: Any,
) -> Any:
    """Equilibrium capacity of dry carbon by the Dubinin-Astakhov isotherm.

    Parameters
    ----------
    temperature
        Air temperature [degC]. Scalar or array.
    saturation_pressure
        Vapour pressure of the liquid at that temperature [kPa]. Scalar or array.
    partial_pressure
        Pressure of the vapour [Pa], not above saturation. Scalar or array.
    micropore_volume
        Micropore volume of the carbon [cm3/g]. Scalar or array.
    liquid_density
        Density of the liquid at the air's temperature [g/cm3]. Scalar or array.
    characteristic_energy
        Characteristic energy for benzene [kJ/mol]. Scalar or array.
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.
    astakhov_exponent
        Exponent n. Scalar or array.

    Returns
    -------
    capacity
        Grams held by a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_astakhov_1971``.

    Examples
    --------
    >>> we = dubinin_astakhov_capacity(temperature="25 degC", saturation_pressure="3.79 kPa",
    ...     partial_pressure="101.325 Pa", micropore_volume="0.454 cm3/g", liquid_density="0.862 g/cm3",
    ...     characteristic_energy="19.7 kJ/mol", affinity_coefficient=1.136, astakhov_exponent=2)
    >>> f"{we.magnitude:.3f}"
    '0.333'
    """
    potential = adsorption_potential.si(
        temperature=temperature, saturation_pressure=saturation_pressure, partial_pressure=partial_pressure
    )
    reduced = potential / (affinity_coefficient * characteristic_energy)
    return micropore_volume * liquid_density * np.exp(-(reduced**astakhov_exponent))


@model(
    returns="isotherm_slope",
    equation="d ln We/d ln p = 2 (R T/(beta E0))^2 ln(psat/p)",
    source="dubinin_radushkevich_1947",
    locator="derivative of the DR isotherm",
    assumptions=("above 1 the isotherm is convex and the adsorption wave spreads without end",),
    opposes=("partial_pressure",),
    at_most={"partial_pressure": "saturation_pressure"},
)
def dubinin_slope(
    *,
    temperature: Any,
    saturation_pressure: Any,
    partial_pressure: Any,
    characteristic_energy: Any,
    affinity_coefficient: Any,
) -> Any:
    """Local slope of the Dubinin-Radushkevich isotherm, d ln(loading)/d ln(pressure).

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
    isotherm_slope
        Dimensionless; below 1 the isotherm is favourable.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: derivative of ``dubinin_radushkevich_1947``.

    Examples
    --------
    >>> s = dubinin_slope(temperature="25 degC", saturation_pressure="3.79 kPa", partial_pressure="101.325 Pa",
    ...     characteristic_energy="19.7 kJ/mol", affinity_coefficient=1.136)
    >>> f"{s.magnitude:.2f}"
    '0.09'
    """
    thermal = GAS_CONSTANT * temperature / (affinity_coefficient * characteristic_energy)
    return 2.0 * thermal * thermal * np.log(saturation_pressure / partial_pressure)


@model(
    returns="characteristic_energy",
    equation="E0 = ln(10) R / sqrt(B)",
    source="dubinin_radushkevich_1947",
    locator="B form with log10 and temperature squared",
    assumptions=("B of the log10 form; that of the natural-log form is 5.30 times smaller",),
)
def characteristic_energy_from_structural_constant(*, structural_constant: Any) -> Any:
    """Characteristic energy from Dubinin's structural constant B (log10 form).

    Parameters
    ----------
    structural_constant
        B of the log10 form [1/K2]. Scalar or array.

    Returns
    -------
    characteristic_energy
        [kJ/mol].

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_radushkevich_1947``. Papers print B in the log10 or the natural-log form;
    they differ by ln(10)^2 = 5.30.

    Examples
    --------
    >>> f"{characteristic_energy_from_structural_constant(structural_constant='9.163e-7 1/K2').magnitude:.2f}"
    '20.00'
    """
    return np.log(10.0) * GAS_CONSTANT / np.sqrt(structural_constant)


@model(
    returns="characteristic_energy",
    equation="E0 = 26.2^0.9 / sqrt(3.56e-5 W0) cal/mol",
    source="wood_1992",
    locator="generalised isotherm, benzene equivalent; constant from memory",
    assumptions=("respirator carbons", "the constant belongs to a gas constant in calories"),
    opposes=("micropore_volume",),
)
def wood_characteristic_energy(*, micropore_volume: Any) -> Any:
    """Characteristic energy that Wood's generalised isotherm implies for a micropore volume.

    Parameters
    ----------
    micropore_volume
        Micropore volume of the carbon [cm3/g]. Scalar or array.

    Returns
    -------
    characteristic_energy
        Benzene equivalent [kJ/mol].

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wood_1992``.

    Examples
    --------
    >>> f"{wood_characteristic_energy(micropore_volume='0.454 cm3/g').magnitude:.2f}"
    '19.67'
    """
    energy_cal = 26.2**0.9 / np.sqrt(3.56e-5 * micropore_volume * 1e3)
    return energy_cal * GAS_CONSTANT / _R_CAL
