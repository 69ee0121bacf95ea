"""Relative humidity from a wet bulb, a dew point and a humidity ratio; water in saturated air."""

from __future__ import annotations

from reference_checks.framework import Check
from respcalc.workplace import describe_air, water_saturation_pressure
from respcalc.workplace.psychrometrics import most_possible

__all__ = ["CHECKS"]


def _saturated_ratio(*, temperature: float, pressure: float) -> float:
    return most_possible("humidity_ratio", temperature=temperature, pressure=pressure)


def _over_moist_air(*, temperature: float, pressure: float) -> float:
    """Wrong: water over moist instead of dry air."""
    ratio = _saturated_ratio(temperature=temperature, pressure=pressure)
    return ratio / (1 + ratio)


def _humidity(temperature: float, pressure: float, **measure: str) -> float:
    air = describe_air(temperature=f"{temperature!r} K", pressure=f"{pressure!r} Pa", **measure)
    return air.relative_humidity.value


def _by_wet_bulb(*, temperature: float, wet_bulb: float, pressure: float) -> float:
    return _humidity(temperature, pressure, wet_bulb=f"{wet_bulb!r} K")


def _by_dew_point(*, temperature: float, dew_point: float, pressure: float) -> float:
    return _humidity(temperature, pressure, dew_point=f"{dew_point!r} K")


def _by_ratio(*, temperature: float, humidity_ratio: float, pressure: float) -> float:
    return _humidity(temperature, pressure, humidity_ratio=f"{humidity_ratio!r} kg/kg")


def _psychrometer(*, temperature: float, wet_bulb: float, pressure: float) -> float:
    """Sprung's coefficient for a ventilated wick."""
    vapour = water_saturation_pressure.si(temperature=wet_bulb) - 6.62e-4 * pressure * (temperature - wet_bulb)
    return float(vapour / water_saturation_pressure.si(temperature=temperature))


def _wet_bulb_as_dew_point(*, temperature: float, wet_bulb: float, pressure: float) -> float:
    """Wrong: the wet bulb taken for the dew point."""
    return _by_dew_point(temperature=temperature, dew_point=wet_bulb, pressure=pressure)


def _still_air(*, temperature: float, wet_bulb: float, pressure: float) -> float:
    """Wrong: the coefficient of still air, 1.2e-3 per kelvin."""
    vapour = water_saturation_pressure.si(temperature=wet_bulb) - 1.2e-3 * pressure * (temperature - wet_bulb)
    return float(vapour / water_saturation_pressure.si(temperature=temperature))


_WRONG = {"wet bulb taken for the dew point": _wet_bulb_as_dew_point, "coefficient of still air": _still_air}

CHECKS = {
    "saturated_ratio": Check(_saturated_ratio, refuses={"over moist air": _over_moist_air}),
    "worked_example": Check(_by_wet_bulb, refuses=_WRONG),
    "worked_example_dew_point": Check(_by_dew_point),
    "worked_example_ratio": Check(_by_ratio),
    "wet_bulb_tables": Check(_by_wet_bulb, independent=_psychrometer, independent_rel=0.04, refuses=_WRONG),
}
