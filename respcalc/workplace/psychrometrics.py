"""Moist air: relative humidity from a dew point, a wet bulb, a humidity ratio or grams per cubic metre.

Relative humidity is over liquid water, below 0 degC too, as hygrometers report it. Gases are taken as
ideal: real saturated air holds 0.1 to 0.5 % more water up to 45 degC (0.7 % at 60 degC), so a humidity
ratio or an absolute humidity comes out that much too humid, the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.card import model
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import term
from respcalc.models.constants import GAS_CONSTANT

__all__ = [
    "HUMIDITY_MEASURES",
    "Moisture",
    "combine_humidity",
    "most_possible",
    "relative_humidity_from",
    "water_pressure_from_absolute_humidity",
    "water_pressure_from_humidity_ratio",
    "water_saturation_pressure",
]

HUMIDITY_MEASURES = ("relative_humidity", "dew_point", "wet_bulb", "humidity_ratio", "absolute_humidity")
"""What a user may give; one is enough."""

_WATER = 18.015268e-3  # molar mass [kg/mol], IAPWS
_DRY_AIR = 28.966e-3  # ASHRAE; the ratio is its 0.621945
_RATIO = _WATER / _DRY_AIR
_FREEZING = 273.15
_COLDEST = 235.15  # -38 degC, about where the saturation formula ends and supercooled water freezes anyway
_SLACK = 1e-9  # rounding of unit conversion: 77 degF is 25 degC
_REAL_GAS = 0.007  # what ideal gases may overstate: no reason to call saturated air impossible
_AGREE = 0.03  # share of saturation: good hygrometers are stated to 2 to 3 % RH, and a wet bulb read to 0.3 K gives 3 %


@model(
    returns="saturation_pressure",
    equation="IAPWS-95, saturation line",
    source="iapws_95",
    locator="saturation pressure",
    assumptions=("liquid water, supercooled below 0 degC",),
)
def water_saturation_pressure(*, temperature: Any) -> Any:
    """Saturation pressure of water over the liquid.

    Parameters
    ----------
    temperature
        Temperature of the water [degC]. Scalar or array; -38 degC at the least.

    Returns
    -------
    saturation_pressure
        [kPa], shape of the input.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``iapws_95``, through the chemicals library, whose fit reaches down to 235 K.

    Examples
    --------
    >>> f"{water_saturation_pressure(temperature='25 degC').magnitude:.4f}"
    '3.1699'
    """
    from chemicals.iapws import iapws95_Psat

    if np.ndim(temperature) == 0:
        return float(iapws95_Psat(float(temperature)))  # type: ignore[no-untyped-call]
    flat = [iapws95_Psat(float(t)) for t in np.ravel(temperature)]  # type: ignore[no-untyped-call]
    return np.reshape(np.array(flat, dtype=float), np.shape(temperature))


@model(
    returns="partial_pressure",
    equation="e = P W/(Mw/Ma + W)",
    source="ashrae_psychrometrics",
    locator="humidity ratio of ideal gases",
    opposes=("pressure",),
)
def water_pressure_from_humidity_ratio(*, humidity_ratio: Any, pressure: Any) -> Any:
    """Pressure of the water vapour in air of a known humidity ratio.

    Parameters
    ----------
    humidity_ratio
        Water vapour over dry air, by mass [g/kg]. Scalar or array.
    pressure
        Air pressure [kPa]. Scalar or array.

    Returns
    -------
    partial_pressure
        [Pa], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``ashrae_psychrometrics``.

    Examples
    --------
    >>> f"{water_pressure_from_humidity_ratio(humidity_ratio='10 g/kg', pressure='1 atm').magnitude:.0f}"
    '1603'
    """
    return pressure * humidity_ratio / (_RATIO + humidity_ratio)


@model(
    returns="partial_pressure",
    equation="e = d R T/Mw",
    source="molar_gas_law",
    locator="ideal gas",
)
def water_pressure_from_absolute_humidity(*, absolute_humidity: Any, temperature: Any) -> Any:
    """Pressure of the water vapour in air of a known mass of water per volume.

    Parameters
    ----------
    absolute_humidity
        Water vapour per volume of air [g/m3]. Scalar or array.
    temperature
        Temperature of that air [degC]. Scalar or array.

    Returns
    -------
    partial_pressure
        [Pa], broadcast shape of the inputs.

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``molar_gas_law``.

    Examples
    --------
    >>> f"{water_pressure_from_absolute_humidity(absolute_humidity='11 g/m3', temperature='25 degC').magnitude:.0f}"
    '1514'
    """
    return absolute_humidity * GAS_CONSTANT * temperature / _WATER


def _ratio_from_wet_bulb(temperature: float, wet_bulb: float, pressure: float) -> float:
    """Humidity ratio by the heat balance of the thermodynamic wet bulb (ASHRAE, SI form); below 0 is impossible.

    Chosen over a psychrometer coefficient because it can be derived, holds at any pressure, and is up to
    1.4 % RH more humid than Sprung's coefficient for a ventilated wick, the safe side.
    """
    t, w = temperature - _FREEZING, wet_bulb - _FREEZING
    vapour = water_saturation_pressure.si(temperature=wet_bulb)
    saturated = _RATIO * vapour / (pressure - vapour)
    return float(((2501.0 - 2.326 * w) * saturated - 1.006 * (t - w)) / (2501.0 + 1.86 * t - 4.186 * w))


def most_possible(measure: str, *, temperature: float, pressure: float) -> float:
    """Value of a measure (SI) in saturated air of this temperature and pressure."""
    saturation = water_saturation_pressure.si(temperature=temperature)
    if measure == "humidity_ratio":
        return float(_RATIO * saturation / (pressure - saturation))
    if measure == "absolute_humidity":
        return float(saturation * _WATER / (GAS_CONSTANT * temperature))
    return 1.0 if measure == "relative_humidity" else temperature


def relative_humidity_from(measure: str, value: float, *, temperature: float, pressure: float) -> float:
    """Relative humidity as a fraction, from any one of `HUMIDITY_MEASURES` (all SI).

    Parameters
    ----------
    measure
        Which of the measures *value* is.
    value
        A dew point below -38 degC counts as -38 degC (more humid, and next to nothing). One below 0 degC
        is taken over supercooled water: a frost point read as a dew point makes the air look more humid.
    temperature
        Air temperature when the measure was read.
    pressure
        Air pressure.

    Returns
    -------
    float

    Raises
    ------
    DomainError
        More water than the air can hold; a wet bulb below 0 degC, or below that of dry air.
    """
    if measure == "relative_humidity":
        return value  # the vocabulary bounds it
    _check_saturation(measure, value, temperature, pressure)
    if measure == "dew_point":
        vapour = water_saturation_pressure.si(temperature=max(value, _COLDEST))
    elif measure == "absolute_humidity":
        vapour = water_pressure_from_absolute_humidity.si(absolute_humidity=value, temperature=temperature)
    else:
        ratio = _by_wet_bulb(temperature, value, pressure) if measure == "wet_bulb" else value
        vapour = water_pressure_from_humidity_ratio.si(humidity_ratio=ratio, pressure=pressure)
    return min(1.0, float(vapour / water_saturation_pressure.si(temperature=temperature)))


def _check_saturation(measure: str, value: float, temperature: float, pressure: float) -> None:
    most = most_possible(measure, temperature=temperature, pressure=pressure)
    by_temperature = measure in ("dew_point", "wet_bulb")
    if value <= most * (1.0 + (_SLACK if by_temperature else _REAL_GAS)):
        return
    shown, air = term(measure).show, f"temperature = {term('temperature').show(temperature)}"
    bound = f"is above {air}" if by_temperature else f"is above {shown(most)}, which saturates air of {air}"
    raise DomainError(
        f"{measure} = {shown(value)} {bound}; check both and that they were read together, or for saturated air write "
        'relative_humidity="100 %"'
    )


def _by_wet_bulb(temperature: float, wet_bulb: float, pressure: float) -> float:
    shown = term("wet_bulb").show
    if wet_bulb < _FREEZING - 1e-6:
        raise DomainError(
            f"wet_bulb = {shown(wet_bulb)} is below 0 degC, where ice on the wick and water read differently; give "
            "relative_humidity from an electronic hygrometer, or dew_point"
        )
    ratio = _ratio_from_wet_bulb(temperature, wet_bulb, pressure)
    if ratio < 0:
        from scipy.optimize import brentq

        least = brentq(lambda w: _ratio_from_wet_bulb(temperature, w, pressure), wet_bulb, temperature)
        raise DomainError(
            f"wet_bulb = {shown(wet_bulb)} is below {shown(least)}, that of quite dry air of temperature = "
            f"{term('temperature').show(temperature)}; check both and the wick, or give relative_humidity"
        )
    return ratio


@dataclass(frozen=True)
class Moisture:
    """The relative humidity that counts, and the other measures that were given for it."""

    relative_humidity: Datum
    given: tuple[Datum, ...] = ()


_FROM = {
    "dew_point": "iapws_95",
    "wet_bulb": "ashrae_psychrometrics",
    "humidity_ratio": "ashrae_psychrometrics",
    "absolute_humidity": "molar_gas_law",
}


def combine_humidity(measures: dict[str, float], *, temperature: float, pressure: float) -> Moisture:
    """Relative humidity from every measure that was given (SI); the most humid counts.

    Raises
    ------
    DomainError
        A measure is impossible, or two of them are more than 3 % RH apart.
    """
    values = {
        name: relative_humidity_from(name, value, temperature=temperature, pressure=pressure)
        for name, value in measures.items()
    }
    wettest, driest = max(values, key=lambda n: values[n]), min(values, key=lambda n: values[n])
    if values[wettest] - values[driest] > _AGREE + _SLACK:
        listed = ", ".join(_in_words(name, measures[name], values[name]) for name in measures)
        raise DomainError(
            f"{listed}: these humidity measures disagree by more than 3 % RH; check that all were read together with "
            "the temperature, and give the one you trust"
        )
    counts = _counting(wettest, measures[wettest], values[wettest])
    if len(measures) > 1:
        others = ", ".join(_in_words(n, measures[n], values[n]) for n in measures if n != wettest)
        note = "; ".join(filter(None, (counts.note, f"the most humid of what was given, beside {others}")))
        counts = Datum("relative_humidity", counts.value, counts.kind, counts.source, note=note)
    given = [
        Datum(name, value, "given", label="relative_humidity as given" if name == "relative_humidity" else "")
        for name, value in measures.items()
        if not (name == wettest == "relative_humidity")
    ]
    return Moisture(counts, tuple(given))


def _in_words(name: str, value: float, humidity: float) -> str:
    shown = f"{name} = {term(name).show(value)}"
    return shown if name == "relative_humidity" else f"{shown} ({100 * humidity:.1f} % RH)"


def _counting(name: str, value: float, humidity: float) -> Datum:
    if name == "relative_humidity":
        return Datum("relative_humidity", humidity, "given")
    note = f"from {name} {term(name).show(value)} at this temperature; cooler air of this moisture is more humid"
    if name == "dew_point" and value < _COLDEST:
        note += "; counted as -38 degC, where the formula ends"
    elif name == "dew_point" and value < _FREEZING:
        note += "; taken over supercooled water, which is the safe side if it was a frost point"
    elif name in ("humidity_ratio", "absolute_humidity"):
        note += "; ideal gases, which overstate it by less than 0.7 %"
    return Datum("relative_humidity", humidity, "computed", _FROM[name], note=note)
