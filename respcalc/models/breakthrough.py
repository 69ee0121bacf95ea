"""When vapour comes through: the Wheeler-Jonas equation and its exact parent."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model

__all__ = [
    "bohart_adams_penetration",
    "bohart_adams_time",
    "critical_bed_mass",
    "logistic_rate",
    "stoichiometric_time",
    "transfer_units",
    "wheeler_jonas_time",
    "yoon_nelson_penetration",
    "yoon_nelson_time",
]

_IDEAL = (
    "constant concentration, flow, temperature and humidity",
    "isothermal, physical adsorption",
    "favourable isotherm, so that the wave keeps its shape",
)


@model(
    returns="stoichiometric_time",
    equation="ts = We W/(C0 Q)",
    source="wheeler_jonas",
    locator="first term",
    assumptions=_IDEAL,
)
def stoichiometric_time(*, capacity: Any, sorbent_mass: Any, mass_concentration: Any, flow_rate: Any) -> Any:
    """Time at which the bed would be full if it filled without a wave front.

    Parameters
    ----------
    capacity
        Loading at equilibrium with the inlet [g/g]. Scalar or array.
    sorbent_mass
        Dry carbon in one cartridge [g]. Scalar or array.
    mass_concentration
        Inlet concentration [mg/m3]. Scalar or array.
    flow_rate
        Flow through that cartridge [L/min]. Scalar or array.

    Returns
    -------
    stoichiometric_time
        [min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wheeler_jonas``. No bed lasts this long; it is the upper end of the models.

    Examples
    --------
    >>> t = stoichiometric_time(capacity="0.3332 g/g", sorbent_mass="30 g", mass_concentration="3766 mg/m3",
    ...     flow_rate="30 L/min")
    >>> f"{t.magnitude:.1f}"
    '88.5'
    """
    return capacity * sorbent_mass / (mass_concentration * flow_rate)


@model(
    returns="transfer_units",
    equation="K = kv W/(rhoB Q)",
    source="bohart_adams_1920",
    locator="dimensionless bed length",
)
def transfer_units(*, rate_coefficient: Any, sorbent_mass: Any, bulk_density: Any, flow_rate: Any) -> Any:
    """Length of the bed in transfer units: how many times over it can form the wave.

    Parameters
    ----------
    rate_coefficient
        Overall rate coefficient [1/min]. Scalar or array.
    sorbent_mass
        Dry carbon in one cartridge [g]. Scalar or array.
    bulk_density
        Packed density of the bed [g/cm3]. Scalar or array.
    flow_rate
        Flow through that cartridge [L/min]. Scalar or array.

    Returns
    -------
    transfer_units
        Dimensionless, broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``bohart_adams_1920``.

    Examples
    --------
    >>> k = transfer_units(rate_coefficient="3865 1/min", sorbent_mass="30 g", bulk_density="0.45 g/cm3",
    ...     flow_rate="30 L/min")
    >>> f"{k.magnitude:.2f}"
    '8.59'
    """
    return rate_coefficient * sorbent_mass / (bulk_density * flow_rate)


@model(
    returns="critical_bed_mass",
    equation="Wc = (rhoB Q/kv) ln[(1-x)/x]",
    source="wheeler_jonas",
    locator="bed mass for a breakthrough time of zero",
)
def critical_bed_mass(*, bulk_density: Any, flow_rate: Any, rate_coefficient: Any, exit_fraction: Any) -> Any:
    """Least carbon that delays the vapour at all; less breaks through at once.

    Parameters
    ----------
    bulk_density
        Packed density of the bed [g/cm3]. Scalar or array.
    flow_rate
        Flow through the cartridge [L/min]. Scalar or array.
    rate_coefficient
        Overall rate coefficient [1/min]. Scalar or array.
    exit_fraction
        Exit over inlet concentration that counts as breakthrough [%]. Scalar or array.

    Returns
    -------
    critical_bed_mass
        [g], broadcast shape of the inputs; 0 where the exit fraction is one half or more.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wheeler_jonas``.

    Examples
    --------
    >>> w = critical_bed_mass(bulk_density="0.45 g/cm3", flow_rate="30 L/min", rate_coefficient="3865 1/min",
    ...     exit_fraction="1 %")
    >>> f"{w.magnitude:.1f}"
    '16.1'
    """
    return np.maximum(0.0, bulk_density * flow_rate / rate_coefficient * np.log((1.0 - exit_fraction) / exit_fraction))


@model(
    returns="breakthrough_time",
    equation="tb = We W/(C0 Q) - (We rhoB/(kv C0)) ln[(1-x)/x]",
    source="lodewyckx_wood_ryu_2004",
    locator="reaction-kinetic form of the Wheeler-Jonas equation",
    ranges={"exit_fraction": (0.0, 0.2)},
    assumptions=(*_IDEAL, "bed longer than about 5 transfer units; 0 means immediate breakthrough"),
)
def wheeler_jonas_time(
    *,
    capacity: Any,
    sorbent_mass: Any,
    mass_concentration: Any,
    flow_rate: Any,
    bulk_density: Any,
    rate_coefficient: Any,
    exit_fraction: Any,
) -> Any:
    """Breakthrough time by the Wheeler-Jonas equation, reaction-kinetic form.

    Parameters
    ----------
    capacity
        Loading at equilibrium with the inlet [g/g]. Scalar or array.
    sorbent_mass
        Dry carbon in one cartridge [g]. Scalar or array.
    mass_concentration
        Inlet concentration [mg/m3]. Scalar or array.
    flow_rate
        Flow through that cartridge [L/min]. Scalar or array.
    bulk_density
        Packed density of the bed [g/cm3]. Scalar or array.
    rate_coefficient
        Overall rate coefficient [1/min]. Scalar or array.
    exit_fraction
        Exit over inlet concentration that counts as breakthrough [%]. Scalar or array.

    Returns
    -------
    breakthrough_time
        [min], broadcast shape of the inputs. 0 means immediate breakthrough, never negative.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Warns
    -----
    OutsideSourceRange
        Exit fraction above 20 %, where the skew of real curves matters.

    Notes
    -----
    Source: ``lodewyckx_wood_ryu_2004``. The second term does not depend on bed mass or flow except
    through kv; it falls as kv rises. Public texts misprint it; a test here refuses the misprints.
    `bohart_adams_time` is the exact parent and is never longer.

    Examples
    --------
    >>> t = wheeler_jonas_time(capacity="0.3332 g/g", sorbent_mass="30 g", mass_concentration="3766 mg/m3",
    ...     flow_rate="30 L/min", bulk_density="0.45 g/cm3", rate_coefficient="3865 1/min", exit_fraction="1 %")
    >>> f"{t.magnitude:.1f}"
    '41.1'
    """
    stoichiometric = capacity * sorbent_mass / (mass_concentration * flow_rate)
    wave = capacity * bulk_density / (rate_coefficient * mass_concentration)
    return np.maximum(0.0, stoichiometric - wave * np.log((1.0 - exit_fraction) / exit_fraction))


@model(
    returns="breakthrough_time",
    equation="tb = (We rhoB/(kv C0)) ln[(e^K - 1) x/(1-x)], K = kv W/(rhoB Q)",
    source="bohart_adams_1920",
    locator="closed form for plug flow and irreversible uptake, solved for time",
    assumptions=(*_IDEAL, "0 means immediate breakthrough"),
)
def bohart_adams_time(
    *,
    capacity: Any,
    sorbent_mass: Any,
    mass_concentration: Any,
    flow_rate: Any,
    bulk_density: Any,
    rate_coefficient: Any,
    exit_fraction: Any,
) -> Any:
    """Breakthrough time by the exact solution that Wheeler-Jonas approximates (the default).

    Parameters
    ----------
    capacity
        Loading at equilibrium with the inlet [g/g]. Scalar or array.
    sorbent_mass
        Dry carbon in one cartridge [g]. Scalar or array.
    mass_concentration
        Inlet concentration [mg/m3]. Scalar or array.
    flow_rate
        Flow through that cartridge [L/min]. Scalar or array.
    bulk_density
        Packed density of the bed [g/cm3]. Scalar or array.
    rate_coefficient
        Overall rate coefficient [1/min]. Scalar or array.
    exit_fraction
        Exit over inlet concentration that counts as breakthrough [%]. Scalar or array.

    Returns
    -------
    breakthrough_time
        [min], broadcast shape of the inputs. 0 means immediate breakthrough, never negative.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``bohart_adams_1920``. Never longer than Wheeler-Jonas; the difference is 1.7 % at five
    transfer units and vanishes for long beds, so one form serves thin and thick beds without a seam.

    Examples
    --------
    >>> t = bohart_adams_time(capacity="0.3332 g/g", sorbent_mass="30 g", mass_concentration="3766 mg/m3",
    ...     flow_rate="30 L/min", bulk_density="0.45 g/cm3", rate_coefficient="3865 1/min", exit_fraction="1 %")
    >>> f"{t.magnitude:.1f}"
    '41.1'
    """
    units = rate_coefficient * sorbent_mass / (bulk_density * flow_rate)
    wave = capacity * bulk_density / (rate_coefficient * mass_concentration)
    # ln(e^K - 1) written so that neither a long nor a short bed overflows or cancels
    grown = units + np.log(-np.expm1(-units))
    return np.maximum(0.0, wave * (grown - np.log((1.0 - exit_fraction) / exit_fraction)))


@model(
    returns="penetration",
    equation="C/C0 = e^T/(e^T + e^K - 1), T = kv C0 t/(We rhoB), K = kv W/(rhoB Q)",
    source="bohart_adams_1920",
    locator="closed form for plug flow and irreversible uptake",
    assumptions=_IDEAL,
    mixed=("bulk_density", "rate_coefficient"),
)
def bohart_adams_penetration(
    *,
    worn_time: Any,
    capacity: Any,
    sorbent_mass: Any,
    mass_concentration: Any,
    flow_rate: Any,
    bulk_density: Any,
    rate_coefficient: Any,
) -> Any:
    """Breakthrough curve: exit over inlet concentration after a time.

    Parameters
    ----------
    worn_time
        Time for which air has been drawn through [min]. Scalar or array.
    capacity
        Loading at equilibrium with the inlet [g/g]. Scalar or array.
    sorbent_mass
        Dry carbon in one cartridge [g]. Scalar or array.
    mass_concentration
        Inlet concentration [mg/m3]. Scalar or array.
    flow_rate
        Flow through that cartridge [L/min]. Scalar or array.
    bulk_density
        Packed density of the bed [g/cm3]. Scalar or array.
    rate_coefficient
        Overall rate coefficient [1/min]. Scalar or array.

    Returns
    -------
    penetration
        [%], broadcast shape of the inputs, between 0 and 1 in SI.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``bohart_adams_1920``. A symmetric curve: real curves are skewed, and their upper part is
    not described. A faster uptake steepens it: less comes through before the stoichiometric time,
    more after it.

    Examples
    --------
    >>> p = bohart_adams_penetration(worn_time="41.138 min", capacity="0.3332 g/g", sorbent_mass="30 g",
    ...     mass_concentration="3766 mg/m3", flow_rate="30 L/min", bulk_density="0.45 g/cm3",
    ...     rate_coefficient="3865 1/min")
    >>> f"{p.magnitude:.2f}"
    '1.00'
    """
    units = rate_coefficient * sorbent_mass / (bulk_density * flow_rate)
    elapsed = rate_coefficient * mass_concentration * worn_time / (capacity * bulk_density)
    # 1/(1 + (e^K - 1) e^-T) through its logarithm, so that long beds do not overflow
    exponent = units + np.log(-np.expm1(-units)) - elapsed
    return np.where(exponent > 0, np.exp(-np.abs(exponent)), 1.0) / (1.0 + np.exp(-np.abs(exponent)))


@model(
    returns="logistic_rate",
    equation="k' = kv C0/(We rhoB)",
    source="yoon_nelson_1984",
    locator="rate constant in the terms of Wheeler-Jonas (derived here: both curves are one logistic)",
    assumptions=_IDEAL,
    rises_with=("rate_coefficient", "mass_concentration"),
    falls_with=("capacity", "bulk_density"),
)
def logistic_rate(*, rate_coefficient: Any, mass_concentration: Any, capacity: Any, bulk_density: Any) -> Any:
    """Rate constant of the Yoon-Nelson curve from capacity and rate coefficient.

    Parameters
    ----------
    rate_coefficient
        Overall rate coefficient [1/min]. Scalar or array.
    mass_concentration
        Inlet concentration [mg/m3]. Scalar or array.
    capacity
        Loading at equilibrium with the inlet [g/g]. Scalar or array.
    bulk_density
        Packed density of the bed [g/cm3]. Scalar or array.

    Returns
    -------
    logistic_rate
        [1/min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``yoon_nelson_1984``. The half time is the stoichiometric time.

    Examples
    --------
    >>> k = logistic_rate(rate_coefficient="3865 1/min", mass_concentration="3766 mg/m3", capacity="0.3332 g/g",
    ...     bulk_density="0.45 g/cm3")
    >>> f"{k.magnitude:.4f}"
    '0.0971'
    """
    return rate_coefficient * mass_concentration / (capacity * bulk_density)


@model(
    returns="penetration",
    equation="C/C0 = 1/(1 + exp[k'(tau - t)])",
    source="yoon_nelson_1984",
    locator="theory",
    assumptions=("constant concentration and flow", "a bed much longer than its wave"),
    mixed=("logistic_rate",),
)
def yoon_nelson_penetration(*, worn_time: Any, half_time: Any, logistic_rate: Any) -> Any:
    """Breakthrough curve from its half time and rate constant: exit over inlet concentration.

    Parameters
    ----------
    worn_time
        Time for which air has been drawn through [min]. Scalar or array.
    half_time
        Time at which half of the inlet concentration comes through [min]. Scalar or array.
    logistic_rate
        Rate constant k' [1/min]. Scalar or array.

    Returns
    -------
    penetration
        [%], broadcast shape of the inputs, between 0 and 1 in SI.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``yoon_nelson_1984``. Symmetric about the half time, which real curves are not. Before use
    the exit is not quite zero: a bed of few transfer units is better described by
    `bohart_adams_penetration`.

    Examples
    --------
    >>> p = yoon_nelson_penetration(worn_time="41.14 min", half_time="88.47 min", logistic_rate="0.09708 1/min")
    >>> f"{p.magnitude:.2f}"
    '1.00'
    """
    exponent = logistic_rate * (half_time - worn_time)
    return np.where(exponent > 0, np.exp(-np.abs(exponent)), 1.0) / (1.0 + np.exp(-np.abs(exponent)))


@model(
    returns="breakthrough_time",
    equation="t = tau + (1/k') ln[x/(1-x)]",
    source="yoon_nelson_1984",
    locator="theory, solved for time",
    assumptions=("constant concentration and flow", "0 means immediate breakthrough"),
    mixed=("logistic_rate",),
)
def yoon_nelson_time(*, half_time: Any, logistic_rate: Any, exit_fraction: Any) -> Any:
    """Time at which an exit fraction is reached, from half time and rate constant.

    Parameters
    ----------
    half_time
        Time at which half of the inlet concentration comes through [min]. Scalar or array.
    logistic_rate
        Rate constant k' [1/min]. Scalar or array.
    exit_fraction
        Exit over inlet concentration that counts as breakthrough [%]. Scalar or array.

    Returns
    -------
    breakthrough_time
        [min], broadcast shape of the inputs. 0 means immediate breakthrough, never negative.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``yoon_nelson_1984``. With the half time We W/(C0 Q) and the rate constant kv C0/(We rhoB) it
    is the reaction-kinetic form of Wheeler-Jonas.

    Examples
    --------
    >>> t = yoon_nelson_time(half_time="88.47 min", logistic_rate="0.09708 1/min", exit_fraction="1 %")
    >>> f"{t.magnitude:.2f}"
    '41.14'
    """
    return np.maximum(0.0, half_time + np.log(exit_fraction / (1.0 - exit_fraction)) / logistic_rate)
