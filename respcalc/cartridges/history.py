"""What a cartridge has been through before it is worn: water that its carbon holds already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, UnitsError
from respcalc.core.units import read_value
from respcalc.core.vocabulary import check, single, term
from respcalc.models.water import absolute_humidity, water_front_time, water_share, water_uptake

__all__ = ["SEALED", "CarbonHistory", "describe_history"]

_TYPICAL_CARBON = 0.0
_WORDS = {"dampest_air": "relative_humidity", "drawn_time": "worn_time"}  # arguments not named as their quantity


@dataclass(frozen=True)
class CarbonHistory:
    """Water on the carbon before use. Make one with `describe_history`; `SEALED` is a cartridge just unpacked."""

    water_share: Datum

    @property
    def damp(self) -> bool:
        return self.water_share.value > 0.0


SEALED = CarbonHistory(
    Datum("water_share", 0.0, "assumed", label="water on the carbon before use", note="kept sealed until use")
)


def describe_history(
    *,
    dampest_air: Any,
    drawn_time: Any = None,
    flow_rate: Any = None,
    temperature: Any = None,
    saturation_pressure: Any = None,
    sorbent_mass: Any = None,
    micropore_volume: Any = None,
) -> CarbonHistory:
    """Describe a cartridge that was open before: stored, worn, or conditioned for a test.

    Parameters
    ----------
    dampest_air
        Relative humidity of the dampest air it has been open in: ``"80 %"``. Damp carbon dries slowly,
        so drier air since then earns nothing.
    drawn_time
        How long that air was drawn through it [min or h], if it was worn and not only kept. With the other
        five given, it holds no more water than that air can have brought; without, it is at equilibrium.
    flow_rate
        Air drawn through one cartridge [L/min].
    temperature
        Of that air [degC].
    saturation_pressure
        Of water at that temperature [kPa], see `respcalc.workplace.water_saturation_pressure`.
    sorbent_mass, micropore_volume
        Of the cartridge [g], [cm3/g].

    Returns
    -------
    CarbonHistory

    Raises
    ------
    UnitsError, DomainError
        A unit is missing; a value is not physical.
    CartridgeError
        Only some of the values for a short time are given.

    Examples
    --------
    >>> print(describe_history(dampest_air="80 %").water_share.printed)
    72.8 %
    """
    for_a_time = {
        "drawn_time": drawn_time,
        "flow_rate": flow_rate,
        "temperature": temperature,
        "saturation_pressure": saturation_pressure,
        "sorbent_mass": sorbent_mass,
        "micropore_volume": micropore_volume,
    }
    missing = [name for name, value in for_a_time.items() if value is None]
    if missing and len(missing) < len(for_a_time):
        raise CartridgeError(
            f"{', '.join(missing)}: missing; give all of {', '.join(for_a_time)}, or none of them for a carbon that is "
            "as damp as its air"
        )
    si = _read({"dampest_air": dampest_air} | ({} if missing else for_a_time))
    humidity = si["relative_humidity"]
    share = float(water_share.si(relative_humidity=humidity, carbon_dampness=_TYPICAL_CARBON))
    note = f"as damp as air of {term('relative_humidity').show(humidity)}, typical carbon"
    if not missing and share > 0:
        held = water_uptake.si(
            relative_humidity=humidity, carbon_dampness=_TYPICAL_CARBON, micropore_volume=si["micropore_volume"]
        )
        brought = absolute_humidity.si(
            relative_humidity=humidity, saturation_pressure=si["saturation_pressure"], temperature=si["temperature"]
        )
        soonest = water_front_time.si(
            water_uptake=held,
            sorbent_mass=si["sorbent_mass"],
            absolute_humidity=brought,
            flow_rate=si["flow_rate"],
        )
        if si["worn_time"] < soonest:
            share *= si["worn_time"] / float(soonest)
            note += f", of which {term('worn_time').show(si['worn_time'])} of it can have brought this much"
    return CarbonHistory(
        Datum(
            "water_share", share, "computed", "water_on_carbon_study", label="water on the carbon before use", note=note
        )
    )


def _read(arguments: dict[str, Any]) -> dict[str, float]:
    """Values by their quantity; faults are told by the name of the argument."""
    numbers, problems = {}, []
    for name, value in arguments.items():
        try:
            numbers[name] = read_value(name, term(_WORDS.get(name, name)).family, value)
        except ValueError as error:
            problems.append(str(error))
    if problems:
        raise UnitsError(problems)
    read = {_WORDS.get(name, name): (name, number) for name, number in numbers.items()}
    return {word: single(name, check(word, number, as_argument=name)) for word, (name, number) in read.items()}
