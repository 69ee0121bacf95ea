"""The air of a workplace: temperature, humidity, pressure, oxygen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.units import Concentration
from respcalc.core.vocabulary import check, read_all, single, term
from respcalc.workplace.gas import pressure_at_altitude, volume_fraction_from_mass
from respcalc.workplace.psychrometrics import HUMIDITY_MEASURES, combine_humidity

__all__ = ["Air", "describe_air"]


@dataclass(frozen=True)
class Air:
    """The air that is drawn through the cartridge. Make one with `describe_air`."""

    temperature: Datum
    relative_humidity: Datum
    pressure: Datum
    oxygen: Datum | None = None
    humidity_given: tuple[Datum, ...] = ()  # what the relative humidity was computed from or agrees with

    def data(self) -> tuple[Datum, ...]:
        """Every value with its origin."""
        oxygen = [self.oxygen] if self.oxygen else []
        return (self.temperature, *self.humidity_given, self.relative_humidity, self.pressure, *oxygen)

    def as_dict(self) -> dict[str, Any]:
        return {"values": [d.as_dict() for d in self.data()]}

    def __str__(self) -> str:
        return ", ".join(f"{d.name} {d.printed}" for d in self.data())

    def volume_fraction(
        self, concentration: Concentration, molar_mass: float, *, as_argument: str = "concentration"
    ) -> float:
        """Concentration as a volume fraction in this air, whichever way it was given.

        Raises
        ------
        DomainError
            Not above zero, or more than the air can hold.
        """
        value = single(as_argument, concentration.value)
        if concentration.basis == "mass":
            check("mass_concentration", value, as_argument=as_argument)
            value = volume_fraction_from_mass.si(
                mass_concentration=value,
                molar_mass=molar_mass,
                temperature=self.temperature.value,
                pressure=self.pressure.value,
            )
        return float(check("volume_fraction", value, as_argument=as_argument))


def describe_air(
    *,
    temperature: Any,
    relative_humidity: Any = None,
    dew_point: Any = None,
    wet_bulb: Any = None,
    humidity_ratio: Any = None,
    absolute_humidity: Any = None,
    pressure: Any = None,
    altitude: Any = None,
    oxygen: Any = None,
) -> Air:
    """Describe the air of a workplace.

    One measure of humidity is needed. More may be given if they agree within 3 % RH, and then the
    most humid counts.

    Parameters
    ----------
    temperature
        Air temperature, the highest that occurs during the task [degC].
    relative_humidity
        Relative humidity, the highest that occurs: ``"65 %"`` or a fraction from 0 to 1.
    dew_point
        Dew point [degC]. Below 0 degC a frost point may be given as it is: it counts as dew, the safe side.
    wet_bulb
        Wet-bulb temperature, read together with *temperature* [degC]. An unventilated wick reads higher,
        which makes the air look more humid.
    humidity_ratio
        Mass of water vapour over that of dry air [g/kg].
    absolute_humidity
        Mass of water vapour per volume of air [g/m3].
    pressure
        Air pressure [kPa]; give this or the altitude.
    altitude
        Height above sea level [m]; turned into the pressure of the standard atmosphere.
    oxygen
        Oxygen by volume [%], if measured.

    Returns
    -------
    Air

    Raises
    ------
    UnitsError
        A unit is missing or of the wrong kind.
    DomainError
        A value is not physical; pressure and altitude both given or both missing; no humidity, measures
        of it that disagree, or more water than the air can hold.

    Notes
    -----
    Only the air drawn in counts. Exhaled air leaves by the exhalation valve, so the moisture of the
    breath does not pass the cartridge. The same moisture is a higher relative humidity in the cool
    hours of a task than in its hottest. Cartridges that a damp morning has wetted go into the heat of the
    day: the safe description of a day is its highest temperature with its highest relative humidity.

    Examples
    --------
    >>> print(describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m"))
    temperature 25 degC, relative_humidity 50 %, pressure 101.3 kPa
    >>> print(describe_air(temperature="25 degC", dew_point="14 degC", altitude="0 m"))
    temperature 25 degC, dew_point 14 degC, relative_humidity 50.45 %, pressure 101.3 kPa
    """
    if (pressure is None) == (altitude is None):
        state = "both are given" if pressure is not None else "neither is given"
        raise DomainError(
            f'pressure, altitude: {state}; give one of them, for example altitude="0 m" at sea level, or '
            'pressure="101.3 kPa"'
        )
    humidity = {
        "relative_humidity": relative_humidity,
        "dew_point": dew_point,
        "wet_bulb": wet_bulb,
        "humidity_ratio": humidity_ratio,
        "absolute_humidity": absolute_humidity,
    }
    if all(value is None for value in humidity.values()):
        raise DomainError(
            f"{', '.join(HUMIDITY_MEASURES)}: none is given; give one of them, for example "
            'relative_humidity="65 %" or dew_point="14 degC"'
        )
    optional = humidity | {"pressure": pressure, "altitude": altitude, "oxygen": oxygen}
    asked = {"temperature": temperature} | {k: v for k, v in optional.items() if v is not None}
    si = {name: single(name, value) for name, value in read_all(asked).items()}
    if altitude is None:
        air_pressure = Datum("pressure", si["pressure"], "given")
    else:
        air_pressure = Datum(
            "pressure",
            pressure_at_altitude.si(altitude=si["altitude"]),
            "computed",
            "us_standard_atmosphere_1976",
            note=f"standard atmosphere at {term('altitude').show(si['altitude'])}",
        )
    moisture = combine_humidity(
        {name: si[name] for name in HUMIDITY_MEASURES if name in si},
        temperature=si["temperature"],
        pressure=air_pressure.value,
    )
    return Air(
        Datum("temperature", si["temperature"], "given"),
        moisture.relative_humidity,
        air_pressure,
        Datum("oxygen", si["oxygen"], "given") if oxygen is not None else None,
        moisture.given,
    )
