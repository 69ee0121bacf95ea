"""A breakthrough test of the very cartridge: one time at one exit concentration, with its conditions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, DomainError, UnitsError
from respcalc.core.vocabulary import read_all, single, term
from respcalc.vapours import Vapour, find_vapour

__all__ = ["CartridgeTest", "describe_test"]


@dataclass(frozen=True)
class CartridgeTest:
    """One test. Make it with `describe_test`, and give it to `describe_bed`."""

    vapour: Vapour
    report: str
    breakthrough_time: Datum
    exit_fraction: Datum
    volume_fraction: Datum
    flow_rate: Datum
    temperature: Datum
    relative_humidity: Datum
    pressure: Datum

    def __str__(self) -> str:
        return (
            f"{self.vapour.name} {self.volume_fraction.printed}, {self.temperature.printed}, "
            f"{self.relative_humidity.printed} RH, {self.flow_rate.printed}: {self.exit_fraction.printed} through "
            f"after {self.breakthrough_time.printed} ({self.report})"
        )


def _read(given: dict[str, Any]) -> dict[str, Any]:
    """Read the values; what is wrong with the concentration is said of it by that name."""
    try:
        return read_all(given)
    except UnitsError as error:
        raise UnitsError([p.replace("volume_fraction", "concentration") for p in error.problems]) from None
    except DomainError as error:
        raise DomainError(str(error).replace("volume_fraction", "concentration")) from None


def describe_test(
    vapour: str | Vapour,
    *,
    report: str,
    breakthrough_time: Any,
    exit_fraction: Any,
    concentration: Any,
    flow_rate: Any,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
) -> CartridgeTest:
    """Describe a breakthrough test of this type of cartridge, as received.

    Parameters
    ----------
    vapour
        Name, synonym or CAS number of a listed vapour, or a `Vapour`.
    report
        Whose test, of when: it is printed on the record.
    breakthrough_time
        Time at which the exit fraction was reached, the shortest of the cartridges tested [min].
    exit_fraction
        Exit over inlet concentration at that time [%].
    concentration
        Inlet concentration [ppm].
    flow_rate
        Flow in all, through as many cartridges in parallel as the bed says [L/min].
    temperature, relative_humidity, pressure
        Of the test's air [degC], [%], [kPa].

    Returns
    -------
    CartridgeTest

    Raises
    ------
    UnitsError, DomainError
        A unit is missing or of the wrong kind; a value is not physical.
    CartridgeError
        No report is named; more vapour than the test's air can hold; a substance that carbon does not hold by
        physical adsorption; immediate breakthrough.
    UnknownVapour
        The vapour is not listed.

    Examples
    --------
    >>> print(describe_test("toluene", report="house laboratory, March 2026 (invented)", breakthrough_time="95 min",
    ...     exit_fraction="1 %", concentration="1000 ppm", flow_rate="53 L/min", temperature="22 degC",
    ...     relative_humidity="50 %", pressure="101.3 kPa"))
    toluene 1000 ppm, 22 degC, 50 % RH, 53 L/min: 1 % through after 95 min (house laboratory, March 2026 (invented))
    """
    if not isinstance(report, str) or not report.strip():
        raise CartridgeError(
            f'report = {report!r}: say whose test it is, such as report="house laboratory, March 2026"'
        )
    given = {
        "breakthrough_time": breakthrough_time,
        "exit_fraction": exit_fraction,
        "volume_fraction": concentration,
        "flow_rate": flow_rate,
        "temperature": temperature,
        "relative_humidity": relative_humidity,
        "pressure": pressure,
    }
    si = {name: single(name, value) for name, value in _read(given).items()}
    if si["breakthrough_time"] <= 0:
        raise CartridgeError(
            "breakthrough_time = 0 min: a test with immediate breakthrough says nothing about the carbon"
        )
    who = vapour if isinstance(vapour, Vapour) else find_vapour(vapour)
    if who.not_physically_adsorbed:
        raise CartridgeError(f"{who.name}: {who.not_physically_adsorbed}")
    most = float(who.saturation_pressures(si["temperature"])) / si["pressure"]
    if si["volume_fraction"] > most * (1 + 1e-9):
        show = term("volume_fraction").show
        raise CartridgeError(
            f"concentration = {show(si['volume_fraction'])} of {who.name} is more than the test's air can hold "
            f"({show(most)} at saturation); check the value and its unit"
        )
    return CartridgeTest(
        vapour=who,
        report=report.strip(),
        **{name: Datum(name, value, "measured") for name, value in si.items()},
    )
