"""How fast the carbon takes the vapour up: overall rate coefficients and their physical ceiling."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model

__all__ = [
    "film_dispersion_ceiling",
    "lodewyckx_vansant_rate",
    "wood_lodewyckx_rate",
    "wood_stampfer_exit_floor",
    "wood_stampfer_rate",
]

_CM = 1e2  # cm in a m
_CM3 = 1e6
_PER_MINUTE = 1.0 / 60.0
_INTERCEPT = 0.000825  # Wood-Stampfer I
_SLOPE_AT_HALF = 0.063  # Wood-Stampfer S at an exit fraction of one half
_SLOPE_FALL = 0.0055  # fall of S per unit of ln[(1-x)/x]
_LEAST_EXIT_FRACTION = 1e-4  # S would reach zero near 1e-5
_LEAST_DISPERSION = 6.149  # u dp/(eps D) at which Edwards and Richardson's dispersion height is least


@model(
    returns="rate_coefficient",
    equation="1/kv = (1/vL + 0.027)(I + S/Pe), I = 0.000825, S = 0.063 - 0.0055 ln[(1-x)/x]",
    source="wood_stampfer_1993",
    locator="correlation as used in wood_1994; constants from memory",
    ranges={"exit_fraction": (_LEAST_EXIT_FRACTION, 0.5)},
    assumptions=(
        "granular carbon of the usual cartridge mesh; no particle size in it",
        "below an exit fraction of 1e-4 held at its value there",
    ),
    opposes=("exit_fraction",),
    rises_with=("superficial_velocity",),
)
def wood_stampfer_rate(*, superficial_velocity: Any, molar_polarization: Any, exit_fraction: Any) -> Any:
    """Overall rate coefficient of Wood and Stampfer, with their correction for skewed curves.

    Parameters
    ----------
    superficial_velocity
        Flow through one cartridge over its face area [cm/s]. Scalar or array.
    molar_polarization
        Molar electronic polarization of the vapour [cm3/mol]. Scalar or array.
    exit_fraction
        Exit over inlet concentration that counts as breakthrough [%]. Scalar or array.

    Returns
    -------
    rate_coefficient
        [1/min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Warns
    -----
    OutsideSourceRange
        Exit fraction outside 0.01 % to 50 %.

    Notes
    -----
    Source: ``wood_stampfer_1993``. Not for much coarser or finer carbon than 12x20 to 12x30 mesh.

    Examples
    --------
    >>> kv = wood_stampfer_rate(superficial_velocity="10 cm/s", molar_polarization="31.12 cm3/mol", exit_fraction="1 %")
    >>> f"{kv.magnitude:.0f}"
    '3865'
    """
    held = np.maximum(exit_fraction, _LEAST_EXIT_FRACTION)
    skew = _SLOPE_AT_HALF - _SLOPE_FALL * np.log((1.0 - held) / held)
    resistance = (1.0 / (superficial_velocity * _CM) + 0.027) * (_INTERCEPT + skew / (molar_polarization * _CM3))
    return _PER_MINUTE / resistance


@model(
    returns="exit_fraction",
    equation="ln[(1-x)/x] = (0.063 + 0.000825 Pe)/0.011, at least x = 1e-4",
    source="respcalc_choices",
    locator="where ln[(1-x)/x]/kv of wood_stampfer_1993 stops growing",
    falls_with=("molar_polarization",),
)
def wood_stampfer_exit_floor(*, molar_polarization: Any) -> Any:
    """Exit fraction below which the Wood-Stampfer coefficient must not be raised further.

    Parameters
    ----------
    molar_polarization
        Molar electronic polarization of the vapour [cm3/mol]. Scalar or array.

    Returns
    -------
    exit_fraction
        [%]; use the coefficient at the larger of this and the wanted exit fraction.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``respcalc_choices``. The skew correction raises kv as the exit fraction falls. Below
    this point it would do so faster than the logarithm of the breakthrough equation grows, and a
    stricter criterion would be met *later*: an artefact, and an unsafe one.

    Examples
    --------
    >>> f"{wood_stampfer_exit_floor(molar_polarization='31.12 cm3/mol').magnitude:.4f}"
    '0.0315'
    """
    steepest = (_SLOPE_AT_HALF + _INTERCEPT * molar_polarization * _CM3) / (2.0 * _SLOPE_FALL)
    return np.maximum(1.0 / (1.0 + np.exp(steepest)), _LEAST_EXIT_FRACTION)


@model(
    returns="rate_coefficient",
    equation="kv = 48 beta^0.33 vL^0.75 dp^-1.5",
    source="lodewyckx_vansant_2000",
    locator="correlation; constant from memory",
    assumptions=("vL in cm/s, dp in cm", "loading near 3.6 mmol/g"),
    rises_with=("superficial_velocity",),
)
def lodewyckx_vansant_rate(*, affinity_coefficient: Any, superficial_velocity: Any, granule_diameter: Any) -> Any:
    """Overall rate coefficient of Lodewyckx and Vansant.

    Parameters
    ----------
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.
    superficial_velocity
        Flow through one cartridge over its face area [cm/s]. Scalar or array.
    granule_diameter
        Mean granule diameter [mm]. Scalar or array.

    Returns
    -------
    rate_coefficient
        [1/min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``lodewyckx_vansant_2000``. Kept for comparison; `wood_lodewyckx_rate` extends it.

    Examples
    --------
    >>> kv = lodewyckx_vansant_rate(affinity_coefficient=1.136, superficial_velocity="10 cm/s", granule_diameter="1 mm")
    >>> f"{kv.magnitude:.0f}"
    '8903'
    """
    speed = superficial_velocity * _CM
    return _PER_MINUTE * 48.0 * affinity_coefficient**0.33 * speed**0.75 * (granule_diameter * _CM) ** -1.5


@model(
    returns="rate_coefficient",
    equation="kv = 800 beta^0.33 vL^0.75 dp^-1.5 (We/M)^0.5",
    source="wood_lodewyckx_2003",
    locator="extended equation; constant from memory",
    assumptions=("vL in cm/s, dp in cm, We in g/g, M in g/mol",),
    rises_with=("superficial_velocity",),
    falls_with=("molar_mass",),
)
def wood_lodewyckx_rate(
    *,
    affinity_coefficient: Any,
    superficial_velocity: Any,
    granule_diameter: Any,
    capacity: Any,
    molar_mass: Any,
) -> Any:
    """Overall rate coefficient of Wood and Lodewyckx, which knows granule size and loading.

    Parameters
    ----------
    affinity_coefficient
        Affinity of the vapour relative to benzene. Scalar or array.
    superficial_velocity
        Flow through one cartridge over its face area [cm/s]. Scalar or array.
    granule_diameter
        Mean granule diameter [mm]. Scalar or array.
    capacity
        Loading at equilibrium [g/g]. Scalar or array.
    molar_mass
        Molar mass of the vapour [g/mol]. Scalar or array.

    Returns
    -------
    rate_coefficient
        [1/min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wood_lodewyckx_2003``. Above the film and dispersion ceiling for well-held vapours on
    granules near 1 mm, so never use it alone.

    Examples
    --------
    >>> kv = wood_lodewyckx_rate(affinity_coefficient=1.136, superficial_velocity="10 cm/s", granule_diameter="1 mm",
    ...     capacity="0.333 g/g", molar_mass="92.14 g/mol")
    >>> f"{kv.magnitude:.0f}"
    '8920'
    """
    speed = superficial_velocity * _CM
    loading = np.sqrt(capacity / (molar_mass * 1e3))
    return _PER_MINUTE * 800.0 * affinity_coefficient**0.33 * speed**0.75 * (granule_diameter * _CM) ** -1.5 * loading


@model(
    returns="rate_coefficient",
    equation="1/kv = 1/(kf a) + eps DL/u^2, Sh = 2 + 1.1 Sc^(1/3) Re^0.6, DL = 0.73 D + 0.5 v dp/(1 + 9.7 D/(v dp))",
    source="wakao_funazkri_1978",
    locator="film; dispersion from edwards_richardson_1968; in series",
    assumptions=(
        "no resistance inside the granule, so no coefficient can be larger",
        "at slow flow the dispersion height is held at the least it has",
    ),
    rises_with=("superficial_velocity",),
    mixed=("diffusivity",),
)
def film_dispersion_ceiling(
    *, superficial_velocity: Any, granule_diameter: Any, void_fraction: Any, diffusivity: Any, kinematic_viscosity: Any
) -> Any:
    """Largest rate coefficient that the gas film and axial dispersion allow.

    Parameters
    ----------
    superficial_velocity
        Flow through one cartridge over its face area [cm/s]. Scalar or array.
    granule_diameter
        Mean granule diameter [mm]. Scalar or array.
    void_fraction
        Void between the granules [%]. Scalar or array.
    diffusivity
        Diffusivity of the vapour in air [cm2/s]. Scalar or array.
    kinematic_viscosity
        Kinematic viscosity of air [cm2/s]. Scalar or array.

    Returns
    -------
    rate_coefficient
        [1/min], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``wakao_funazkri_1978`` (stated for Reynolds numbers above 3; cartridges run at 2 to 15)
    and ``edwards_richardson_1968``. At slow flow (2 cm/s for 1 mm granules)
    molecular diffusion along the bed would make a faster flow look better; a guard must not do that.

    Examples
    --------
    >>> kv = film_dispersion_ceiling(superficial_velocity="10 cm/s", granule_diameter="1 mm", void_fraction="40 %",
    ...     diffusivity="0.085 cm2/s", kinematic_viscosity="0.155 cm2/s")
    >>> f"{kv.magnitude:.0f}"
    '6414'
    """
    schmidt = kinematic_viscosity / diffusivity
    reynolds = superficial_velocity * granule_diameter / kinematic_viscosity
    sherwood = 2.0 + 1.1 * np.cbrt(schmidt) * reynolds**0.6
    film = sherwood * diffusivity * 6.0 * (1.0 - void_fraction) / (granule_diameter * granule_diameter)
    speed = np.maximum(superficial_velocity, _LEAST_DISPERSION * void_fraction * diffusivity / granule_diameter)
    interstitial = speed / void_fraction * granule_diameter
    dispersion = 0.73 * diffusivity + 0.5 * interstitial / (1.0 + 9.7 * diffusivity / interstitial)
    spread = void_fraction * dispersion / (speed * superficial_velocity)
    return 1.0 / (1.0 / film + spread)
