"""Breakthrough tests of a cartridge: one time at one exit concentration, or the points of a curve."""

from __future__ import annotations

import hashlib
import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, UnitsError
from respcalc.core.vocabulary import check, read, read_all, read_amount, single, term
from respcalc.models.constants import GAS_CONSTANT
from respcalc.prediction import Challenge
from respcalc.vapours import Vapour, find_vapour

__all__ = ["CartridgeTest", "TestCurve", "challenge_of", "describe_curve", "describe_test"]

_MOST_EXIT = 1.10  # of the inlet: what an analyser may read over it by noise
_MOST_DIP = 0.15  # of the inlet: what an exit may fall back by noise
_CREDITED = (1e-4, 0.10)  # exit fractions of a curve that stand for tests of their own: where schedules look
_AT_ONCE = 0.01  # exit fraction at 0 min that no baseline explains
_STILL_STEEP, _PLATEAU = 0.85, 0.2  # up to this exit a curve still rises with so much of its greatest slope
_WHOLE = (0.003, 0.0105)  # highest readings of a whole curve in fractions that are taken for per cent
_ENOUGH, _FLAT = 6, 0.35  # points, and the last rise over the steepest, to tell that a curve levels off below one half
_ANALYSER = (0.005, 0.05)  # scatter: of the inlet, of the reading (common practice, no source)
_BENDS = 0.5  # growth of the upper half of the readings over that of the lower half, below which it is a whole curve
_CONDITIONS = ("volume_fraction", "flow_rate", "temperature", "relative_humidity", "pressure")


@dataclass(frozen=True)
class CartridgeTest:
    """One test. Make it with `describe_test`, and give it to `describe_bed` or `fit_bed`."""

    vapour: Vapour
    report: str
    breakthrough_time: Datum
    exit_fraction: Datum
    volume_fraction: Datum
    flow_rate: Datum
    temperature: Datum
    relative_humidity: Datum
    pressure: Datum
    curve: str = ""  # mark of the run of whose points it is one; empty for a test that stands alone

    def __str__(self) -> str:
        return (
            f"{self.vapour.name} {self.volume_fraction.printed}, {self.temperature.printed}, "
            f"{self.relative_humidity.printed} RH, {self.flow_rate.printed}: {self.exit_fraction.printed} through "
            f"after {self.breakthrough_time.printed} ({self.report})"
        )


@dataclass(frozen=True)
class TestCurve:
    """The points of one test: times [s] and exit fractions. Make it with `describe_curve` or `read_tests`."""

    name: str
    vapour: Vapour
    report: str
    times: tuple[float, ...]
    exit_fractions: tuple[float, ...]
    uncertainties: tuple[float, ...]  # standard deviations of the exit fractions; empty where not stated
    volume_fraction: Datum
    flow_rate: Datum
    temperature: Datum
    relative_humidity: Datum
    pressure: Datum

    __test__ = False  # no test class, whatever its name looks like to pytest

    def __str__(self) -> str:
        show = term("worn_time").show
        points = "1 point" if len(self.times) == 1 else f"{len(self.times)} points"
        return (
            f"{self.name}: {self.vapour.name} {self.volume_fraction.printed}, {self.temperature.printed}, "
            f"{self.relative_humidity.printed} RH, {self.flow_rate.printed}: {points} up to "
            f"{100 * max(self.exit_fractions):.3g} % through after {show(self.times[-1])} ({self.report})"
        )

    def first_time(self, exit_fraction: float) -> float | None:
        """First time [s] at which an exit fraction is reached, read off straight between points; None if it is not.

        A curve bends upwards at its foot, so the chord reads a little too early there; the first point has one
        from nothing at the start.
        """
        if max(self.exit_fractions) < exit_fraction:
            return None
        times, highest = (0.0, *self.times), np.maximum.accumulate((0.0, *self.exit_fractions))
        k = max(1, int(np.nonzero(highest >= exit_fraction)[0][0]))
        rise = highest[k] - highest[k - 1]
        share = (exit_fraction - highest[k - 1]) / rise if rise > 0 else 1.0
        return float(times[k - 1] + share * (times[k] - times[k - 1]))

    def stoichiometric_time(self) -> float:
        """Area above the measured curve [s], by the trapezoid rule, from the start to the last point."""
        times, through = (0.0, *self.times), (0.0, *self.exit_fractions)
        if self.times[0] == 0:
            times, through = self.times, self.exit_fractions
        return float(np.trapezoid(1.0 - np.asarray(through), np.asarray(times)))

    @property
    def _mark(self) -> str:
        """What tells this run from any other, whatever they are called."""
        air = [getattr(self, name).value for name in _CONDITIONS]
        return hashlib.sha256(repr((self.name, self.times, self.exit_fractions, air)).encode()).hexdigest()[:16]

    def tests(self) -> tuple[CartridgeTest, ...]:
        """The points at the foot as tests of their own: so much through after so long."""
        low, high = _CREDITED
        at = [p for p in dict.fromkeys(np.maximum.accumulate(self.exit_fractions)) if low <= p <= high]
        if not at and 0 < self.exit_fractions[0] < 1:
            at = [self.exit_fractions[0]]
        found = []
        for share in at:
            time = self.first_time(float(share))
            if time is not None and time > 0:
                found.append(
                    CartridgeTest(
                        vapour=self.vapour,
                        report=f"{self.name}, {self.report}",
                        breakthrough_time=Datum("breakthrough_time", time, "measured"),
                        exit_fraction=Datum("exit_fraction", float(share), "measured"),
                        curve=self._mark,
                        **{name: getattr(self, name) for name in _CONDITIONS},
                    )
                )
        return tuple(found)


def challenge_of(test: CartridgeTest | TestCurve, exit_fraction: float, *, dry: bool) -> Challenge:
    """The air of a test as the chain takes it, *dry* or as humid as it was."""
    return Challenge(
        volume_fraction=test.volume_fraction.value,
        temperature=test.temperature.value,
        pressure=test.pressure.value,
        relative_humidity=0.0 if dry else test.relative_humidity.value,
        challenge_fraction=exit_fraction,
        limit_exit=np.inf,
    )


def _read(given: dict[str, Any], vapour: str | Vapour) -> tuple[dict[str, float], Vapour]:
    """Read the values and the vapour, whose concentration comes as a volume fraction or by mass in the test's air."""
    amount = given["volume_fraction"]
    problems: list[str] = []
    si: dict[str, float] = {}
    try:
        si = {k: single(k, v) for k, v in read_all({k: v for k, v in given.items() if k != "volume_fraction"}).items()}
    except UnitsError as error:
        problems += error.problems
    try:
        found = read_amount("concentration", amount)
    except UnitsError as error:
        problems += error.problems
    if problems:
        raise UnitsError(problems)
    who = vapour if isinstance(vapour, Vapour) else find_vapour(vapour)
    value = single("concentration", found.value)
    if found.basis == "mass":
        value = float(_by_volume(check("mass_concentration", value, as_argument="concentration"), who, si))
    si["volume_fraction"] = float(check("volume_fraction", value, as_argument="concentration"))
    return si, who


def _by_volume(mass: Any, who: Vapour, si: dict[str, float]) -> Any:
    """Turn mass per volume of the test's air into a volume fraction, by the gas law."""
    return mass * GAS_CONSTANT * si["temperature"] / (si["pressure"] * who.molar_mass.value)


def _read_report(report: Any) -> str:
    if not isinstance(report, str) or not report.strip():
        raise CartridgeError(
            f'report = {report!r}: say whose test it is, such as report="house laboratory, March 2026"'
        )
    return report.strip()


def _held(who: Vapour, si: dict[str, float]) -> Vapour:
    """Return the vapour, or refuse one that the test's air cannot hold or that carbon does not hold physically."""
    if who.not_physically_adsorbed:
        raise CartridgeError(f"{who.name}: {who.not_physically_adsorbed}")
    most = float(who.saturation_pressures(si["temperature"])) / si["pressure"]
    if si["volume_fraction"] > most * (1 + 1e-9):
        show = term("volume_fraction").show
        raise CartridgeError(
            f"concentration = {show(si['volume_fraction'])} of {who.name} is more than the test's air can hold "
            f"({show(most)} at saturation); check the value and its unit"
        )
    return who


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
        Inlet concentration [ppm], or mg/m3 of the test's own air.
    flow_rate
        Flow in all, through as many cartridges in parallel as the bed says [L/min]. A test is taken with an even
        split, whatever the bed's ``largest_share``; the task is taken with the uneven one.
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
    whose = _read_report(report)
    given = {
        "breakthrough_time": breakthrough_time,
        "exit_fraction": exit_fraction,
        "volume_fraction": concentration,
        "flow_rate": flow_rate,
        "temperature": temperature,
        "relative_humidity": relative_humidity,
        "pressure": pressure,
    }
    si, who = _read(given, vapour)
    if si["breakthrough_time"] <= 0:
        raise CartridgeError(
            "breakthrough_time = 0 min: a test with immediate breakthrough says nothing about the carbon"
        )
    return CartridgeTest(
        vapour=_held(who, si),
        report=whose,
        **{name: Datum(name, value, "measured") for name, value in si.items()},  # type: ignore[arg-type]
    )


def describe_curve(
    vapour: str | Vapour,
    *,
    report: str,
    worn_time: Any,
    exit_fraction: Any = None,
    exit_concentration: Any = None,
    exit_uncertainty: Any = None,
    concentration: Any,
    flow_rate: Any,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
    name: str = "test",
) -> TestCurve:
    """Describe the points of a breakthrough curve of this type of cartridge, as received.

    Parameters
    ----------
    vapour, report, concentration, flow_rate, temperature, relative_humidity, pressure
        As for `describe_test`.
    worn_time
        Times of the points in rising order [min], shape ``(n,)``.
    exit_fraction
        Exit over inlet concentration at these times [%], shape ``(n,)``; a reading below detection is 0.
    exit_concentration
        The same as a concentration [ppm, or mg/m3], in place of the exit fraction.
    exit_uncertainty
        Standard deviation of the exit fractions [%], one value or shape ``(n,)``. Without it the points are
        weighted as an analyser of 0.5 % of the inlet and 5 % of the reading (common practice, no source); only
        the ratio counts then, since the scatter is taken from the points themselves.
    name
        What this test is called in a table of several.

    Returns
    -------
    TestCurve

    Raises
    ------
    UnitsError, DomainError
        A unit is missing or of the wrong kind; a value is not physical.
    CartridgeError
        Times out of order, an exit above the inlet, an exit that falls back by more than noise, and what
        `describe_test` refuses. Every faulty point is named.
    UnknownVapour
        The vapour is not listed.

    Examples
    --------
    >>> import respcalc
    >>> curve = describe_curve("toluene", report="house laboratory, March 2026 (invented)",
    ...     worn_time=["60 min", "80 min", "100 min", "120 min"], exit_fraction=["0.4 %", "7 %", "52 %", "94 %"],
    ...     concentration="1000 ppm", flow_rate="53 L/min", temperature="22 degC", relative_humidity="50 %",
    ...     pressure="101.3 kPa")
    >>> print(curve)
    test: toluene 1000 ppm, 22 degC, 50 % RH, 53 L/min: 4 points up to 94 % through after 120 min (house laboratory, March 2026 (invented))
    """  # noqa: E501
    whose = _read_report(report)
    if not isinstance(name, str) or not name.strip():
        raise CartridgeError(f"name = {name!r}: what the test is called is needed, as text")
    if (exit_fraction is None) == (exit_concentration is None):
        raise CartridgeError("exit_fraction, exit_concentration: give one of them, for each time")
    given = {
        "volume_fraction": concentration,
        "flow_rate": flow_rate,
        "temperature": temperature,
        "relative_humidity": relative_humidity,
        "pressure": pressure,
    }
    si, who = _read(given, vapour)
    who = _held(who, si)
    times = np.atleast_1d(np.asarray(read("worn_time", worn_time), dtype=float))
    if exit_concentration is not None:
        amount = read_amount("exit_concentration", exit_concentration)
        there = amount.value if amount.basis == "volume" else _by_volume(amount.value, who, si)
        through = np.atleast_1d(np.asarray(there, dtype=float)) / si["volume_fraction"]
    else:
        through = _exits(exit_fraction)
    spread: tuple[float, ...] = ()
    if exit_uncertainty is not None:
        read_off = np.asarray(read("exit_uncertainty", exit_uncertainty), dtype=float)
        if read_off.ndim and read_off.shape != times.shape:
            raise CartridgeError(f"exit_uncertainty: {read_off.size} values for {times.size} times")
        spread = tuple(float(v) for v in np.broadcast_to(read_off, times.shape))
    _check_points(name, times, through, in_per_cent=_in_per_cent(exit_fraction))
    return TestCurve(
        name=name,
        vapour=who,
        report=whose,
        times=tuple(float(t) for t in times),
        exit_fractions=tuple(float(p) for p in through),
        uncertainties=spread,
        **{key: Datum(key, value, "measured") for key, value in si.items()},
    )


def _levels_off(times: np.ndarray, through: np.ndarray) -> bool:
    """Whether a curve flattens below the inlet; a true one steepens up to one half, and is steep up to nine tenths."""
    if times.size < _ENOUGH or through.max() >= _STILL_STEEP:
        return False
    wide = max(3, times.size // 4)
    slopes = [float(np.polyfit(times[k : k + wide], through[k : k + wide], 1)[0]) for k in range(times.size - wide + 1)]
    lacking = (max(slopes) - slopes[-1]) * float(times[-1] - times[-wide])
    return bool(
        slopes[-1] < (_FLAT if through.max() < 0.5 else _PLATEAU) * max(slopes)
        and lacking > 3.0 * (_ANALYSER[0] + _ANALYSER[1] * through.max())  # and not by noise
    )


def _like_fractions(times: np.ndarray, through: np.ndarray) -> bool:
    """Whether readings of a hundredth at most have the shape of a whole curve: fractions under per cent.

    The foot of a curve rises by nearly the same factor in each stretch of time; a whole curve by less and less.
    """
    top = float(through.max())
    there = through >= 0.05 * top
    if not _WHOLE[0] <= top <= _WHOLE[1] or there.sum() < 3:
        return False
    at, logs = times[there], np.log(through[there])
    half = max(2, (at.size + 1) // 2)
    before, after = (float(np.polyfit(at[part], logs[part], 1)[0]) for part in (slice(None, half), slice(-half, None)))
    return after < _BENDS * before


def _in_per_cent(value: Any) -> bool:
    """Whether somebody wrote per cent."""
    if isinstance(value, str):
        return "%" in value
    if isinstance(value, (list, tuple)):
        return any(_in_per_cent(one) for one in value)
    return "percent" in str(getattr(value, "units", ""))


def _exits(value: Any) -> np.ndarray:
    from respcalc.core.units import read_value

    try:
        return np.atleast_1d(np.asarray(read_value("exit_fraction", "fraction", value), dtype=float))
    except ValueError as error:
        raise UnitsError([str(error)]) from None


def _check_points(name: str, times: np.ndarray, through: np.ndarray, *, in_per_cent: bool) -> None:
    """Refuse what no breakthrough curve looks like, naming every such point."""
    if times.shape != through.shape or times.ndim != 1 or not times.size:
        raise CartridgeError(
            f"{name}: {times.size} times for {through.size} exit concentrations; each point needs both"
        )
    show = term("worn_time").show
    faults = [
        f"{name}: worn_time {show(t)} after {show(before)}: times must rise from point to point; put the rows in "
        "order, and average readings of one time"
        for before, t in itertools.pairwise(times)
        if not t > before
    ]
    faults += [
        f"{name}: exit_fraction {100 * p:.4g} % at {show(t)} is not possible; it must be from 0 to 100 % of the inlet "
        f"(up to {100 * _MOST_EXIT:g} % is taken as noise of the analyser). "
        + (
            "Write 0 where nothing was told from the baseline"
            if p < 0
            else "Divide by the inlet of the same run, or give ppm as exit_concentration"
        )
        for t, p in zip(times, through, strict=True)
        if not 0 <= p <= _MOST_EXIT
    ]
    highest = np.maximum.accumulate(through)
    faults += [
        f"{name}: exit_fraction falls to {100 * p:.4g} % at {show(t)} after {100 * top:.4g} %: an exit at constant "
        f"inlet does not fall by more than noise ({100 * _MOST_DIP:g} % of the inlet); leave out what was read while "
        "the inlet or the flow was off"
        for t, p, top in zip(times, through, highest, strict=True)
        if top - p > _MOST_DIP
    ]
    if not faults and _levels_off(times, through):
        faults = [
            f"{name}: exit_fraction levels off at {100 * through.max():.3g} %, and a bed that is full lets 100 % "
            "through. Fractions under a header in per cent? Write exit_fraction [] for 0 to 1; or the inlet was not "
            "what is stated"
        ]
    if not faults and times[0] == 0 and through[0] > _AT_ONCE:
        faults = [
            f"{name}: exit_fraction {100 * through[0]:.3g} % at 0 min: what is through at once has not met the bed. "
            "Was there a leak, or the analyser not at zero? Such a test says nothing of the carbon"
        ]
    if not faults and in_per_cent and _like_fractions(times, through):
        faults = [
            f"{name}: exit_fraction has the shape of a whole curve and ends at {100 * through.max():.3g} %: fractions "
            "under a header in per cent? Write exit_fraction [] for 0 to 1. If so little came through, give it in ppm "
            "as exit_concentration"
        ]
    if not faults and not through.max() > 0:
        faults = [f"{name}: every exit_fraction is 0; a test in which nothing came through gives no time"]
    if faults:
        raise CartridgeError("\n".join(faults))
