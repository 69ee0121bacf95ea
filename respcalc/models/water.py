"""Water on carbon: isotherms against relative humidity, the curve between carbons, how soon it is reached."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model
from respcalc.models.constants import GAS_CONSTANT, WATER_MOLAR_VOLUME

__all__ = [
    "absolute_humidity",
    "cooperative_water",
    "do_do_water",
    "dubinin_astakhov_water",
    "dubinin_serpinsky_water",
    "qi_hay_rood_water",
    "water_front_time",
    "water_share",
    "water_uptake",
]

_WATER_MOLAR_MASS = 18.015e-3  # [kg/mol]
_BONE_DRY = 1e-300  # the logarithm needs a number; no carbon holds water in such air
_NEARLY_DRY = 1e-9  # two curves are compared there where their ratio at 0 is asked for

# Do and Do's S0, Kf, C and K in shares of the micropore volume, fitted to curves between carbons by
# reference_checks/water_on_carbon, which also refits them in a test
_CLUSTER_SIZE = 10.0
_DRIEST = (0.0107, 10.2, 1.29, 1.59)
_TYPICAL = (0.0279, 19.1, 0.929, 6.23)
_DAMPEST = (0.195, 5.23, 1.3, 5.30)


@model(
    returns="water_uptake",
    equation="a = as exp{-[R T ln(1/h)/E]^n}",
    source="dubinin_astakhov_1971",
    locator="DA isotherm, applied to water",
    assumptions=("one kind of site: the first molecules on oxygen groups are left out",),
    opposes=("temperature",),
    mixed=("astakhov_exponent",),
)
def dubinin_astakhov_water(
    *, relative_humidity: Any, temperature: Any, saturation_uptake: Any, water_energy: Any, astakhov_exponent: Any
) -> Any:
    """Water held at equilibrium by the Dubinin-Astakhov isotherm.

    Parameters
    ----------
    relative_humidity
        Relative humidity h [%]. Scalar or array.
    temperature
        Air temperature [degC]. Scalar or array.
    saturation_uptake
        Limit of the uptake as [g/g]. Scalar or array.
    water_energy
        Characteristic energy E of water [kJ/mol]; about 1 to 3. Scalar or array.
    astakhov_exponent
        Exponent n; about 2 to 8 for water. Scalar or array.

    Returns
    -------
    water_uptake
        Grams of water on a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_astakhov_1971``. The affinity of water is part of E. Too steep at the foot: with
    the Dubinin-Serpinsky form it predicts points left out worst of the five isotherms here.

    Examples
    --------
    >>> a = dubinin_astakhov_water(relative_humidity="60 %", temperature="25 degC", saturation_uptake="0.40 g/g",
    ...     water_energy="1.50 kJ/mol", astakhov_exponent=3)
    >>> f"{a.magnitude:.3f}"
    '0.219'
    """
    dryness = -np.log(np.clip(relative_humidity, _BONE_DRY, 1.0))  # 100 % may come as 1 and a bit from its unit
    potential = GAS_CONSTANT * temperature * dryness
    return saturation_uptake * np.exp(-((potential / water_energy) ** astakhov_exponent))


@model(
    returns="water_uptake",
    equation="h = a/[c (a0 + a)(1 - k a)], solved for a",
    source="dubinin_serpinsky_1981",
    locator="second form (DS-2)",
    assumptions=("each molecule held is a site for another one; sites are lost in proportion to the uptake",),
)
def dubinin_serpinsky_water(*, relative_humidity: Any, primary_uptake: Any, growth_ratio: Any, site_loss: Any) -> Any:
    """Water held at equilibrium by the second Dubinin-Serpinsky isotherm.

    Parameters
    ----------
    relative_humidity
        Relative humidity h [%]. Scalar or array.
    primary_uptake
        Primary sites a0, as the water that they hold [g/g]. Scalar or array.
    growth_ratio
        Ratio c of the rates of adsorption and desorption; the rise is near h = 1/c. Scalar or array.
    site_loss
        Loss k of sites with uptake, per gram a gram: the paper's k in g/mmol divided by 0.018015. Scalar or array.

    Returns
    -------
    water_uptake
        Grams of water on a gram of dry carbon [g/g], broadcast shape of the inputs, always below 1/k.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``dubinin_serpinsky_1981``. As printed the formula diverges at a = 1/k. Solved for a it is
    a quadratic with one positive root, which starts at 0, rises with h and stays below 1/k; that root
    is taken, in the form that does not cancel. Without loss (k = 0, the first form) the uptake is
    infinite from h = 1/c on, so k must be above 0.

    Examples
    --------
    >>> a = dubinin_serpinsky_water(relative_humidity="60 %", primary_uptake="0.0090 g/g", growth_ratio=1.75,
    ...     site_loss=1.443)
    >>> f"{a.magnitude:.3f}"
    '0.092'
    """
    rise = growth_ratio * relative_humidity
    linear = 1.0 - rise * (1.0 - site_loss * primary_uptake)
    root = np.sqrt(linear * linear + 4.0 * rise * rise * site_loss * primary_uptake)
    low = linear > 0
    return np.where(low, 2.0 * rise * primary_uptake, root - linear) / np.where(
        low, linear + root, 2.0 * rise * site_loss
    )


@model(
    returns="water_uptake",
    equation="a = as/{1 + exp[k (h50 - h)]}",
    source="qi_hay_rood_1998",
    locator="logistic isotherm",
    assumptions=("not zero in dry air: as/[1 + exp(k h50)] remains",),
    mixed=("filling_steepness",),
)
def qi_hay_rood_water(
    *, relative_humidity: Any, saturation_uptake: Any, filling_steepness: Any, half_filling_humidity: Any
) -> Any:
    """Water held at equilibrium by the logistic isotherm of Qi, Hay and Rood.

    Parameters
    ----------
    relative_humidity
        Relative humidity h [%]. Scalar or array.
    saturation_uptake
        Limit of the uptake as [g/g]. Scalar or array.
    filling_steepness
        Steepness k of the rise. Scalar or array.
    half_filling_humidity
        Relative humidity h50 at which half the limit is held [%]. Scalar or array.

    Returns
    -------
    water_uptake
        Grams of water on a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``qi_hay_rood_1998``.

    Examples
    --------
    >>> a = qi_hay_rood_water(relative_humidity="50 %", saturation_uptake="0.40 g/g", filling_steepness=20,
    ...     half_filling_humidity="60 %")
    >>> f"{a.magnitude:.3f}"
    '0.048'
    """
    return saturation_uptake / (1.0 + np.exp(filling_steepness * (half_filling_humidity - relative_humidity)))


@model(
    returns="water_uptake",
    equation="a = am K0 h/(K0 h + w^2), w = {1 - K1 h + sqrt[(1 - K1 h)^2 + 4 K0 h]}/2",
    source="cooperative_multimolecular_sorption",
    locator="isotherm for one kind of pore",
    assumptions=("a molecule is held more strongly beside another one",),
    mixed=("primary_site_constant",),
)
def cooperative_water(
    *, relative_humidity: Any, saturation_uptake: Any, primary_site_constant: Any, side_constant: Any
) -> Any:
    """Water held at equilibrium by cooperative multimolecular sorption.

    Parameters
    ----------
    relative_humidity
        Relative humidity h [%]. Scalar or array.
    saturation_uptake
        Limit of the uptake am [g/g]; not quite reached in saturated air. Scalar or array.
    primary_site_constant
        Constant K0 of water on a primary site. Scalar or array.
    side_constant
        Constant K1 of water beside water; the rise is near h = 1/K1. Scalar or array.

    Returns
    -------
    water_uptake
        Grams of water on a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``cooperative_multimolecular_sorption``. Fitted to one carbon it predicts points left out
    better than the other isotherms here. Once water favours water (K1 h above 1), stronger primary
    sites lower the uptake: that many clusters start, and none grows large.

    Examples
    --------
    >>> a = cooperative_water(relative_humidity="60 %", saturation_uptake="0.40 g/g", primary_site_constant=0.02,
    ...     side_constant=1.75)
    >>> f"{a.magnitude:.3f}"
    '0.244'
    """
    free, primary = 1.0 - side_constant * relative_humidity, primary_site_constant * relative_humidity
    root = np.sqrt(free * free + 4.0 * primary)
    w = np.where(free > 0, free + root, 4.0 * primary) / np.where(free > 0, 2.0, 2.0 * (root - free))
    return saturation_uptake * primary / (primary + w * w)


@model(
    returns="water_uptake",
    equation="a = S0 Kf sum(n h^n)/[1 + Kf sum(h^n)] + C K h^5/(K h^5 + 1), sums over n = 1 to N",
    source="do_do_2000",
    locator="clusters on primary sites, five molecules at a time into the micropores",
    assumptions=("the sums of the second term cancel to h^5",),
)
def do_do_water(
    *,
    relative_humidity: Any,
    primary_uptake: Any,
    primary_site_constant: Any,
    saturation_uptake: Any,
    cluster_constant: Any,
    cluster_size: Any,
) -> Any:
    """Water held at equilibrium by the isotherm of Do and Do.

    Parameters
    ----------
    relative_humidity
        Relative humidity h [%]. Scalar or array.
    primary_uptake
        Primary sites S0, as the water that they hold one molecule each [g/g]. Scalar or array.
    primary_site_constant
        Constant Kf of water on a primary site. Scalar or array.
    saturation_uptake
        Limit C of the uptake in the micropores [g/g]. Scalar or array.
    cluster_constant
        Constant K of clusters in the micropores. Scalar or array.
    cluster_size
        Most molecules N on a primary site; between whole numbers the next term counts in part. Scalar or array.

    Returns
    -------
    water_uptake
        Grams of water on a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``do_do_2000``. Printed, the second term is K sum(h^n)/[K sum(h^n) + sum(h^(n-5))] over
    n = 6 to N, in which N cancels. It cannot rise as steeply as the isotherm of a carbon with pores of
    one size; the average of many carbons it follows best.

    Examples
    --------
    >>> a = do_do_water(relative_humidity="50 %", primary_uptake="0.0045 g/g", primary_site_constant=8,
    ...     saturation_uptake="0.36 g/g", cluster_constant=30, cluster_size=12)
    >>> f"{a.magnitude:.3f}"
    '0.182'
    """
    power = 1.0
    clusters = molecules = 0.0 * cluster_size  # its shape counts although all its values may be one
    whole = int(np.floor(np.min(cluster_size)))
    for n in range(1, int(np.ceil(np.max(cluster_size))) + 1):
        power = power * relative_humidity
        part = power if n <= whole else np.clip(cluster_size - (n - 1), 0.0, 1.0) * power
        clusters, molecules = clusters + part, molecules + n * part
    on_sites = primary_uptake * primary_site_constant * molecules / (1.0 + primary_site_constant * clusters)
    in_pores = cluster_constant * relative_humidity**5
    return on_sites + saturation_uptake * in_pores / (1.0 + in_pores)


def _share(curve: tuple[float, float, float, float], relative_humidity: Any) -> Any:
    """One of the three curves, at most full pores."""
    sites, site_constant, limit, cluster_constant = curve
    share = do_do_water.si(
        relative_humidity=relative_humidity,
        primary_uptake=sites,
        primary_site_constant=site_constant,
        saturation_uptake=limit,
        cluster_constant=cluster_constant,
        cluster_size=_CLUSTER_SIZE,
    )
    return np.minimum(share, 1.0)


@model(
    returns="water_share",
    equation="typical (driest/typical)^(-d) for d < 0, typical (dampest/typical)^d for d > 0; Do and Do's form each",
    source="water_on_carbon_study",
    locator="curves between commercial carbons, 10 to 90 % RH, 10 to 50 degC",
    assumptions=(
        "shares of a micropore volume of 0.454 cm3/g, with water as dense as the liquid",
        "adsorption: for carbon that was in damper air, give the dampest air it has seen",
        "no impregnants that draw water",
    ),
)
def water_share(*, relative_humidity: Any, carbon_dampness: Any) -> Any:
    """Share of the micropores of a carbon of unknown make that water fills at equilibrium.

    Parameters
    ----------
    relative_humidity
        Relative humidity [%], the highest since the cartridge was opened. Scalar or array.
    carbon_dampness
        -1 for the driest and 1 for the dampest carbon (19 of 20 are drier), 0 for a typical one. Scalar or array.

    Returns
    -------
    water_share
        Water over micropore volume [%], broadcast shape of the inputs; 0 in dry air, never above 1 in SI.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``water_on_carbon_study``. The typical curve follows untreated commercial carbons, the
    dampest one lies on or above the one-sided 95 per cent bound of all commercial carbons, oxidised
    ones included, since carbon oxidises with age. Both branches of the hysteresis loop meet at the
    highest humidity a carbon has seen, and what it holds afterwards in drier air is not more than it
    held there. At one relative humidity, temperature matters little (measured from 10 to 50 degC).

    Examples
    --------
    >>> typical = water_share(relative_humidity=["50 %", "65 %", "85 %"], carbon_dampness=0)
    >>> [f"{share:.0f}" for share in typical.magnitude]
    ['20', '46', '80']
    >>> dampest = water_share(relative_humidity=["50 %", "65 %", "85 %"], carbon_dampness=1)
    >>> [f"{share:.0f}" for share in dampest.magnitude]
    ['51', '98', '100']
    """
    typical = _share(_TYPICAL, relative_humidity)
    floor = np.maximum(relative_humidity, _NEARLY_DRY)
    middle = _share(_TYPICAL, floor)
    damper = (_share(_DAMPEST, floor) / middle) ** np.maximum(carbon_dampness, 0.0)
    drier = (_share(_DRIEST, floor) / middle) ** np.maximum(np.negative(carbon_dampness), 0.0)
    return np.minimum(typical * damper * drier, 1.0)


@model(
    returns="water_uptake",
    equation="a = share W0 (M/V) of water",
    source="water_on_carbon_study",
    locator="curves between commercial carbons, 10 to 90 % RH, 10 to 50 degC",
    assumptions=("those of water_share", "in proportion to the micropore volume"),
    opposes=("micropore_volume",),
)
def water_uptake(*, relative_humidity: Any, carbon_dampness: Any, micropore_volume: Any) -> Any:
    """Water that a carbon of unknown make holds at equilibrium with humid air.

    Parameters
    ----------
    relative_humidity
        Relative humidity [%], the highest since the cartridge was opened. Scalar or array.
    carbon_dampness
        -1 for the driest and 1 for the dampest carbon (19 of 20 are drier), 0 for a typical one. Scalar or array.
    micropore_volume
        Micropore volume of the carbon [cm3/g]. Scalar or array.

    Returns
    -------
    water_uptake
        Grams of water on a gram of dry carbon [g/g], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``water_on_carbon_study``. See `water_share`.

    Examples
    --------
    >>> a = water_uptake(relative_humidity="85 %", carbon_dampness=0, micropore_volume="0.454 cm3/g")
    >>> f"{a.magnitude:.2f}"
    '0.36'
    """
    share = water_share.si(relative_humidity=relative_humidity, carbon_dampness=carbon_dampness)
    return share * micropore_volume * (_WATER_MOLAR_MASS / WATER_MOLAR_VOLUME)


@model(
    returns="absolute_humidity",
    equation="C = h psat M/(R T)",
    source="molar_gas_law",
    locator="water vapour as an ideal gas",
    opposes=("temperature",),
)
def absolute_humidity(*, relative_humidity: Any, saturation_pressure: Any, temperature: Any) -> Any:
    """Mass of water vapour in a volume of air.

    Parameters
    ----------
    relative_humidity
        Relative humidity h [%]. Scalar or array.
    saturation_pressure
        Saturation pressure of water at the air's temperature [kPa]. Scalar or array.
    temperature
        Air temperature [degC]. Scalar or array.

    Returns
    -------
    absolute_humidity
        [g/m3], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``molar_gas_law``. Temperature alone makes the gas thinner; it is the saturation pressure
    that rises with it, and the caller gives both.

    Examples
    --------
    >>> c = absolute_humidity(relative_humidity="85 %", saturation_pressure="3.170 kPa", temperature="25 degC")
    >>> f"{c.magnitude:.1f}"
    '19.6'
    """
    return relative_humidity * saturation_pressure * _WATER_MOLAR_MASS / (GAS_CONSTANT * temperature)


@model(
    returns="water_front_time",
    equation="t = a W/(C Q)",
    source="water_on_carbon_study",
    locator="mass balance of water over the cartridge; derived here",
    assumptions=("all water that is drawn in stays until the carbon is at equilibrium: the soonest it can be wet",),
    opposes=("water_uptake",),
)
def water_front_time(*, water_uptake: Any, sorbent_mass: Any, absolute_humidity: Any, flow_rate: Any) -> Any:
    """Soonest time at which humid air can have brought a cartridge to equilibrium.

    Parameters
    ----------
    water_uptake
        Water held at equilibrium less what is held already [g/g]. Scalar or array.
    sorbent_mass
        Dry carbon in the cartridge [g]. Scalar or array.
    absolute_humidity
        Water vapour in the air [g/m3]. Scalar or array.
    flow_rate
        Air drawn through the carbon [L/min]. Scalar or array.

    Returns
    -------
    water_front_time
        [min], broadcast shape of the inputs. Before it, at most the elapsed share of the water is held.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``water_on_carbon_study``. A bound for wetting, not a prediction: below the
    rise of the isotherm the front spreads and some water comes through early. Not for drying, which
    takes longer: dry air can only carry off what the damp carbon lets go.

    Examples
    --------
    Six hours at 25 L/min and 85 % humidity, the conditioning of certification tests, bring eleven times
    what a typical carbon holds:

    >>> t = water_front_time(water_uptake="0.36 g/g", sorbent_mass="45 g", absolute_humidity="19.6 g/m3",
    ...     flow_rate="25 L/min")
    >>> f"{t.magnitude:.0f}"
    '33'
    """
    return water_uptake * sorbent_mass / (absolute_humidity * flow_rate)
