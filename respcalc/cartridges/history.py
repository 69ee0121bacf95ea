"""What a cartridge has been through before it is worn: water that its carbon holds already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.cartridges.cartridge import Cartridge
from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, UnitsError
from respcalc.core.vocabulary import read, single, term
from respcalc.models.water import absolute_humidity, water_front_time, water_share, water_uptake
from respcalc.prediction import PLANNED_DAMPNESS, TESTED_HUMIDITY

__all__ = ["SEALED", "CarbonHistory", "describe_history"]

_WORDS = {"dampest_air": "relative_humidity", "stored_at": "relative_humidity", "drawn_time": "worn_time"}


@dataclass(frozen=True)
class CarbonHistory:
    """Water on the carbon before use. Make one with `describe_history`; `SEALED` is a cartridge just unpacked."""

    water_share: Datum

    @property
    def damp(self) -> bool:
        """More water than on the carbon of ordinary breakthrough tests."""
        usual = water_share.si(relative_humidity=TESTED_HUMIDITY, carbon_dampness=PLANNED_DAMPNESS)
        return self.water_share.value > float(usual)


SEALED = CarbonHistory(
    Datum("water_share", 0.0, "assumed", label="water on the carbon before use", note="kept sealed until use")
)


def describe_history(
    *,
    dampest_air: Any,
    drawn_time: Any = None,
    stored_at: Any = None,
    cartridge: Cartridge | None = None,
    flow_rate: Any = None,
    temperature: Any = None,
    saturation_pressure: Any = None,
) -> CarbonHistory:
    """Describe a cartridge that was open before: stored, worn, or conditioned for a test.

    Parameters
    ----------
    dampest_air
        Relative humidity of the dampest air it has been open in: ``"80 %"``. Damp carbon dries slowly,
        so drier air since then earns nothing.
    drawn_time
        How long that air was drawn through it [min or h], if it was only worn for a short time. With the
        other five given, it holds no more water than its store and that air can have brought; without,
        it is at equilibrium.
    stored_at
        Relative humidity where it lay open before that wear; ``"0 %"`` if it came from a sealed pack.
    cartridge
        Its bed, from `describe_bed`.
    flow_rate
        Air drawn in all, through as many cartridges in parallel as the bed says [L/min].
    temperature
        Of that air [degC].
    saturation_pressure
        Of water at that temperature [kPa], see `respcalc.workplace.water_saturation_pressure`.

    Returns
    -------
    CarbonHistory

    Raises
    ------
    UnitsError, DomainError
        A unit is missing; a value is not physical.
    CartridgeError
        Only some of the values for a short time are given.
    TypeError
        The cartridge is none.

    Examples
    --------
    >>> print(describe_history(dampest_air="80 %").water_share.printed)
    85.33 %
    """
    for_a_time = {
        "drawn_time": drawn_time,
        "stored_at": stored_at,
        "cartridge": cartridge,
        "flow_rate": flow_rate,
        "temperature": temperature,
        "saturation_pressure": saturation_pressure,
    }
    missing = [name for name, value in for_a_time.items() if value is None]
    if missing and len(missing) < len(for_a_time):
        raise CartridgeError(
            f"{', '.join(missing)}: missing; give all of {', '.join(for_a_time)}, or none of them for a carbon that is "
            "as damp as its air"
        )
    if cartridge is not None and not isinstance(cartridge, Cartridge):
        raise TypeError(f"cartridge = {cartridge!r}: a Cartridge is needed; make one with describe_bed(...)")
    given = {"dampest_air": dampest_air, **({} if cartridge is None else for_a_time)}
    si = _read({name: value for name, value in given.items() if name != "cartridge"})
    humidity = si["dampest_air"]
    share, note = _equilibrium(humidity), f"as damp as air of {term('relative_humidity').show(humidity)}"
    if cartridge is not None:
        store, worn = si["stored_at"], si["drawn_time"]
        held = _equilibrium(store)
        if share > held:
            uptake = water_uptake.si(
                relative_humidity=humidity,
                carbon_dampness=PLANNED_DAMPNESS,
                micropore_volume=cartridge.micropore_volume.value,
            )
            brought = absolute_humidity.si(
                relative_humidity=humidity,
                saturation_pressure=si["saturation_pressure"],
                temperature=si["temperature"],
            )
            soonest = water_front_time.si(
                water_uptake=uptake * (1.0 - held / share),
                sorbent_mass=cartridge.sorbent_mass.value,
                absolute_humidity=brought,
                flow_rate=cartridge.flow_share(si["flow_rate"]),
            )
            if worn < soonest:
                share = held + (share - held) * worn / float(soonest)
                note = (
                    f"stored at {term('relative_humidity').show(store)}, then {term('worn_time').show(worn)} of air of "
                    f"{term('relative_humidity').show(humidity)}"
                )
        else:
            share, note = held, f"as damp as air of {term('relative_humidity').show(store)}"
    return CarbonHistory(
        Datum(
            "water_share", share, "computed", "water_on_carbon_study", label="water on the carbon before use",
            note=f"{note}; a carbon damper than most",
        )
    )  # fmt: skip


def _equilibrium(humidity: float) -> float:
    return float(water_share.si(relative_humidity=humidity, carbon_dampness=PLANNED_DAMPNESS))


def _read(arguments: dict[str, Any]) -> dict[str, float]:
    """Read all values by the names of their arguments, and report all unit faults at once."""
    numbers: dict[str, float] = {}
    problems: list[str] = []
    for name, value in arguments.items():
        try:
            numbers[name] = single(name, read(_WORDS.get(name, name), value, as_argument=name))
        except UnitsError as error:
            problems += error.problems
    if problems:
        raise UnitsError(problems)
    return numbers
