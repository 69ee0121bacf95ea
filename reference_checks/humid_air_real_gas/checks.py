"""Each measure of humidity against real-gas humid air."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.workplace import describe_air, water_saturation_pressure

__all__ = ["CHECKS"]


def _humidity(temperature: float, pressure: float, **measure: str) -> float:
    air = describe_air(temperature=f"{temperature!r} K", pressure=f"{pressure!r} Pa", **measure)
    return air.relative_humidity.value


def _by_wet_bulb(*, temperature: float, wet_bulb: float, pressure: float) -> float:
    return _humidity(temperature, pressure, wet_bulb=f"{wet_bulb!r} K")


def _at_sea_level(*, temperature: float, wet_bulb: float) -> float:
    """Wrong at a height; here it must fail at sea level too, so the pressure is that of 6000 m."""
    return _by_wet_bulb(temperature=temperature, wet_bulb=wet_bulb, pressure=47181.0)


def _by_dew_point(*, temperature: float, dew_point: float, pressure: float) -> float:
    return _humidity(temperature, pressure, dew_point=f"{dew_point!r} K")


def _by_ratio(*, temperature: float, humidity_ratio: float, pressure: float) -> float:
    return _humidity(temperature, pressure, humidity_ratio=f"{humidity_ratio!r} kg/kg")


def _over_moist_air(*, temperature: float, humidity_ratio: float, pressure: float) -> float:
    """Wrong: the ratio taken as water over moist air, by volume."""
    return humidity_ratio * pressure / float(water_saturation_pressure.si(temperature=temperature))


def _by_absolute_humidity(*, temperature: float, absolute_humidity: float, pressure: float) -> float:
    return _humidity(temperature, pressure, absolute_humidity=f"{absolute_humidity!r} kg/m3")


def _at_0_degC(*, temperature: float, absolute_humidity: float) -> float:
    """Wrong: the gas law at 0 degC."""
    vapour = absolute_humidity * 8.31446 * 273.15 / 18.015e-3
    return vapour / float(water_saturation_pressure.si(temperature=temperature))


CHECKS = {
    "wet_bulb": Check(_by_wet_bulb, refuses={"pressure of 6000 m": _at_sea_level}),
    "dew_point": Check(_by_dew_point),
    "humidity_ratio": Check(_by_ratio, refuses={"by volume": _over_moist_air}),
    "absolute_humidity": Check(_by_absolute_humidity, refuses={"gas law of 0 degC": _at_0_degC}),
}
