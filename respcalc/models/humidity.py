"""What humid air takes away: water that the vapour must push out, and the rule of thumb."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.core.card import model
from respcalc.models.constants import GAS_CONSTANT, WATER_MOLAR_VOLUME

__all__ = [
    "WATER_POTENTIAL_SHARE",
    "capacity_beside_water",
    "humidity_rule",
    "manes_onset_humidity",
    "manes_potential",
    "standing_water",
]

WATER_POTENTIAL_SHARE = 0.28
"""Potential of water per volume relative to a hydrocarbon on the same carbon (Wohleber & Manes, from memory)."""

_BONE_DRY = 1e-12  # the logarithm needs a number; at this humidity no vapour meets water
_NO_EFFECT, _HALVED, _HALF = 0.50, 0.85, 0.5
# Standing water: well held (reduced potential 0.40 and less) half the life at 50 % RH is left at 90 % RH; badly
# held (1.0 and more) none of the water is pushed out.
_WELL_HELD, _BADLY_HELD, _LEAST_STANDING = 0.40, 1.00, 0.58


@model(
    returns="adsorption_potential",
    equation="eps = max(A, [A - (Vo/Vw) R T ln(1/RH)]/(1 - 0.28))",
    source="manes_1984",
    locator="closed form of the displacement of condensed water; derived here",
    assumptions=(
        "organic and water do not mix; the water potential is 0.28 of the organic's, volume for volume",
        "equilibrium: no hysteresis, no slow displacement from carbon that was damp before",
    ),
    rises_with=("adsorption_potential", "relative_humidity"),
    falls_with=("temperature", "liquid_molar_volume"),
)
def manes_potential(
    *, adsorption_potential: Any, temperature: Any, relative_humidity: Any, liquid_molar_volume: Any
) -> Any:
    """Adsorption potential that is left for a vapour which must displace adsorbed water.

    Parameters
    ----------
    adsorption_potential
        Polanyi potential of the vapour in dry air [kJ/mol]. Scalar or array.
    temperature
        Air temperature [degC]. Scalar or array.
    relative_humidity
        Relative humidity [%]. Scalar or array.
    liquid_molar_volume
        Molar volume of the organic liquid [cm3/mol]. Scalar or array.

    Returns
    -------
    adsorption_potential
        [kJ/mol], never below the dry one; feed it to `dubinin_capacity_at_potential`.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``manes_1984``. Too hopeful alone for carbon conditioned in damp air (the measured
    halving at 85 to 90 % humidity is not reached at 1000 ppm), so it is combined with
    `humidity_rule`. A vapour that mixes with water need not push it out, see `capacity_beside_water`.

    Examples
    --------
    >>> e = manes_potential(adsorption_potential="12 kJ/mol", temperature="25 degC", relative_humidity="85 %",
    ...     liquid_molar_volume="106.9 cm3/mol")
    >>> f"{e.magnitude:.2f}"
    '13.36'
    """
    dryness = -GAS_CONSTANT * temperature * np.log(np.maximum(relative_humidity, _BONE_DRY))
    displaced = adsorption_potential - liquid_molar_volume / WATER_MOLAR_VOLUME * dryness
    return np.maximum(adsorption_potential, displaced / (1.0 - WATER_POTENTIAL_SHARE))


@model(
    returns="relative_humidity",
    equation="RH* = (p/psat)^(0.28 Vw/Vo)",
    source="manes_1984",
    locator="onset of the water effect; derived here",
    rises_with=("partial_pressure", "liquid_molar_volume"),
    falls_with=("saturation_pressure",),
    at_most={"partial_pressure": "saturation_pressure"},
)
def manes_onset_humidity(*, saturation_pressure: Any, partial_pressure: Any, liquid_molar_volume: Any) -> Any:
    """Relative humidity above which adsorbed water begins to cost capacity.

    Parameters
    ----------
    saturation_pressure
        Vapour pressure of the organic liquid [kPa]. Scalar or array.
    partial_pressure
        Pressure of the vapour [Pa], not above saturation. Scalar or array.
    liquid_molar_volume
        Molar volume of the organic liquid [cm3/mol]. Scalar or array.

    Returns
    -------
    relative_humidity
        [%], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``manes_1984``.

    Examples
    --------
    >>> r = manes_onset_humidity(saturation_pressure="3.79 kPa", partial_pressure="101.325 Pa",
    ...     liquid_molar_volume="106.9 cm3/mol")
    >>> f"{r.magnitude:.0f}"
    '84'
    """
    power = WATER_POTENTIAL_SHARE * WATER_MOLAR_VOLUME / liquid_molar_volume
    return (partial_pressure / saturation_pressure) ** power


@model(
    returns="life_factor",
    equation="1 up to 50 % RH, falling in a line to 0.5 at 85 % RH and held there",
    source="aiha_humidity_rule",
    locator="halving above 85 %; the line between 50 and 85 % is this library's",
)
def humidity_rule(*, relative_humidity: Any) -> Any:
    """Share of the dry service life that the 85 % rule leaves.

    Parameters
    ----------
    relative_humidity
        Relative humidity [%]. Scalar or array.

    Returns
    -------
    life_factor
        Between 0.5 and 1, shape of the input.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``aiha_humidity_rule``. A step at 85 % would make 84 % look dry; the line removes it on
    the safe side.

    Examples
    --------
    >>> f"{humidity_rule(relative_humidity='67.5 %').magnitude:.2f}"
    '0.75'
    """
    share = np.clip((relative_humidity - _NO_EFFECT) / (_HALVED - _NO_EFFECT), 0.0, 1.0)
    return 1.0 - (1.0 - _HALF) * share


@model(
    returns="standing_water",
    equation="0.58 up to a reduced potential of 0.40, rising in a line to 1 at 1.00",
    source="respcalc_choices",
    locator="no published form; drawn between two measured ends, see the notes",
    assumptions=("one line for all vapours",),
)
def standing_water(*, reduced_potential: Any) -> Any:
    """Share of the water already on a carbon that a vapour does not push out.

    Parameters
    ----------
    reduced_potential
        A/(beta E0) of the vapour at 1000 ppm, 22 degC and 101.325 kPa. Scalar or array.

    Returns
    -------
    standing_water
        [%], shape of the input.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``respcalc_choices``. Well-held vapours at 1000 ppm kept about half their life at 50 % RH
    in cartridges conditioned and tested at 90 % RH (a trade article quoting Nelson). A typical carbon
    is then 86 % full of water against 20 % (the planned one 93 % against 32 %); if 0.58 of it stands,
    0.57 of the capacity is left, and with a rate that falls with its root about half the life. The
    loading of vinyl chloride at 10 ppm fell to between a fifth and 0.29 from 15 to 80 % RH (abstract
    of Stampfer, Weeks & Ettinger), as if all of it stood.

    Examples
    --------
    >>> f"{standing_water(reduced_potential=0.7).magnitude:.0f}"
    '79'
    """
    share = np.clip((reduced_potential - _WELL_HELD) / (_BADLY_HELD - _WELL_HELD), 0.0, 1.0)
    return _LEAST_STANDING + (1.0 - _LEAST_STANDING) * share


@model(
    returns="capacity_ratio",
    equation="1 - s a",
    source="respcalc_choices",
    locator="volume exclusion: pores that hold water hold no vapour",
    assumptions=("the standing water stays where it is", "the rest of the pores hold vapour as in dry air"),
)
def capacity_beside_water(*, water_share: Any, standing_water: Any) -> Any:
    """Share of the dry capacity that is left beside water on the carbon.

    Parameters
    ----------
    water_share
        Share of the micropores that water fills [%]. Scalar or array.
    standing_water
        Share of that water which the vapour does not push out [%]. Scalar or array.

    Returns
    -------
    capacity_ratio
        Between 0 and 1, broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``respcalc_choices``. With all water standing it is full exclusion, the lower bound for a
    vapour that mixes with water as well.

    Examples
    --------
    >>> f"{capacity_beside_water(water_share='80 %', standing_water='58 %').magnitude:.2f}"
    '0.54'
    """
    return 1.0 - standing_water * water_share
