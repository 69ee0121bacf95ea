"""Tests of the cartridge's own with the very vapour: where they stand in for the margin, and where they cap a life.

A test is carried to other concentrations by rules that are safe either way: to a lower one by the lesser of the 0.67
power of the dilution and the local exponent of the isotherm there, to a higher one in proportion; to a lower flow
in proportion. No other milder condition is credited. The margin grows with the distance in concentration.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from respcalc.cartridges import ENERGY_RANGE, CarbonHistory, Cartridge, CartridgeTest
from respcalc.cartridges.tested import challenge_of
from respcalc.core.errors import CartridgeError
from respcalc.core.vocabulary import term
from respcalc.estimate.margin import DILUTION_POWER, FLOOR_MEASURED, rate_shares
from respcalc.models.affinity import affinity_least
from respcalc.models.capacity import dubinin_slope
from respcalc.models.constants import GAS_CONSTANT
from respcalc.prediction import Challenge, breath_over_gas, run_chain, sorbate_of
from respcalc.vapours import Vapour

__all__ = ["TRANSFER_GROWTH", "Credit", "checked_tests", "credit_of", "most_by_tests", "share_by_tests"]

TRANSFER_GROWTH = 0.05
"""Growth of the margin per e-fold of concentration: over measured isotherms of commercial carbons the rule below
overstates a life by less than this in 95 of 100 cases (reference_checks/measured_uptake/test_transfer.py)."""

# The bed may outlast its test by this much in the model, and a task may leave the test's air by this much.
_AGREES = 1.1
_LEAST_ENERGY = ENERGY_RANGE[0] - 2 * ENERGY_RANGE[1]
_WARMER, _MORE_HUMID = 5.0, 0.05
_MORE_FLOW = 1.1
_LESS_PRESSURE, _STRICTER = 0.9, 0.9


@dataclass(frozen=True)
class Credit:
    """What one test makes of a task; floats or arrays."""

    test: CartridgeTest
    times: tuple[Any, Any]  # [s] as carried over, at the two `rate_shares`; 0 where it is not near
    divisor: Any

    @property
    def life(self) -> Any:
        return np.minimum(np.asarray(self.times[0]) / self.divisor, self.times[1])


@dataclass(frozen=True)
class _Checked:
    """A test and the factors that bring the bed's times, at its two rates, to what the tests found."""

    test: CartridgeTest
    ratio: float  # what it found over what the bed would have done
    factors: tuple[float, float | None]  # the first never above 1; None where the test contradicts the slower rate
    # Above 1 where the bed as fitted falls short of the test and of every other run with its vapour: the water of the
    # test's air was not credited, or tests of other vapours pulled the bed down. 1 where by the model nothing lasts.
    raised: float


@lru_cache(maxsize=512)
def checked_tests(cartridge: Cartridge) -> tuple[_Checked, ...]:
    """The cartridge's own tests, each held against the bed.

    Raises
    ------
    CartridgeError
        By the model a bed that somebody described would have outlasted its test.
    """
    ratios: list[float] = []
    slower: list[float | None] = []
    for test in cartridge.tests:
        own, slow = (
            float(
                run_chain(
                    sorbate_of(test.vapour, test.temperature.value),
                    cartridge.tested_bed(test.flow_rate.value),
                    challenge_of(test, test.exit_fraction.value, dry=False),
                    share,
                ).breakthrough_time
            )
            for share in rate_shares(cartridge)
        )
        own *= (breath := breath_over_gas(test.temperature.value, test.pressure.value))
        slow *= breath
        measured = test.breakthrough_time.value
        if cartridge.evidence is None and own > _AGREES * measured:
            raise CartridgeError(
                f"cartridge {cartridge.name}: as described it would have lasted "
                f"{term('breakthrough_time').show(own)} in its own test, and lasted "
                f"{test.breakthrough_time.printed} ({test}). Lower micropore_volume (or characteristic_energy) "
                "until it agrees, find the carbon from the test with fit_bed(...) (carbon_from_tests = true in a "
                "plan), or measure the bed again if the test was very short"
            )
        ratios.append(measured / own if own > 0 else math.inf)
        slower.append(own / slow if slow > 0 else None)  # so slow a rate contradicts the test
    # A described bed that agrees is taken as it is. A fitted one is brought to its tests: of one vapour to the worst
    # of them, since what differs beyond the models is lot or laboratory, and the next lot may be the worst one's. The
    # points of one curve are one test. A slower rate is no news of a test: what it costs there is made up again.
    checked = []
    for test, ratio, made_up in zip(cartridge.tests, ratios, slower, strict=True):
        if cartridge.evidence is None:
            checked.append(_Checked(test, ratio, (1.0, made_up), 1.0))
            continue
        believed = min(ratio, *_of_others(cartridge.tests, ratios, test))
        down = min(1.0, believed)
        raised = believed / down if math.isfinite(believed) else 1.0
        checked.append(_Checked(test, ratio, (down, None if made_up is None else down * made_up), raised))
    return tuple(checked)


def _of_others(tests: tuple[CartridgeTest, ...], ratios: list[float], test: CartridgeTest) -> list[float]:
    """What every other run with the vapour found over what the bed would have done, at this exit fraction.

    Of a curve its points on either side count, the worse of them: its foot and its shoulder are different questions.
    """
    runs: dict[str, list[tuple[float, float]]] = {}
    for number, (other, ratio) in enumerate(zip(tests, ratios, strict=True)):
        own = other is test or (other.curve and other.curve == test.curve)
        if not own and _same(other.vapour, test.vapour, test.temperature.value):
            runs.setdefault(other.curve or f"{number}", []).append((other.exit_fraction.value, ratio))
    found, share = [math.inf], test.exit_fraction.value
    for points in runs.values():
        below = [p for p in points if p[0] <= share * (1 + 1e-9)]
        above = [p for p in points if p[0] >= share * (1 - 1e-9)]
        found += [max(below)[1]] if below else []
        found += [min(above)[1]] if above else []
    return found


def credit_of(
    cartridge: Cartridge, vapour: Vapour, history: CarbonHistory, here: tuple[Any, Any], limit_exit: float, **task: Any
) -> list[Credit]:
    """What each of the cartridge's own tests with this vapour makes of a task.

    Parameters
    ----------
    cartridge, vapour, history
        Of the task; a damp carbon has no credit.
    here
        Predicted times of the task itself [s], at the two `rate_shares`; the first is never exceeded.
    limit_exit
        Exit volume fraction that the task's exposure limit allows, as in `Challenge`.
    task
        ``volume_fraction``, ``flow_rate``, ``temperature``, ``relative_humidity``, ``pressure``,
        ``exit_fraction`` (SI, floats or arrays).

    Raises
    ------
    CartridgeError
        As `checked_tests`.
    """
    tests = checked_tests(cartridge)
    if history.damp:
        return []
    found = []
    for one in tests:
        test = one.test
        if not _same(vapour, test.vapour, test.temperature.value):
            continue
        # a test is taken with an even split: of an uneven one the most loaded bed's flow counts
        uneven = cartridge.flow_share(1.0) * cartridge.in_parallel
        near = _is_near(test, **{**task, "flow_rate": uneven * np.asarray(task["flow_rate"])})
        if not np.any(near):
            continue
        carried, divisor = _carried(cartridge, test, limit_exit, **task)
        # Where the bed falls short of its tests with the vapour (most often by the water of their air, since the carbon
        # was found as though it had been dry) that is given back once, and the prediction of the task is no bound.
        full, slow = (
            t if factor is None else one.raised * factor * t for factor, t in zip(one.factors, carried, strict=True)
        )
        full = full if one.raised > 1.0 else np.minimum(full, here[0])
        slow = full if one.factors[1] is None else slow if one.raised > 1.0 else np.minimum(slow, here[0])
        times = (np.where(near, full, 0.0), np.where(near, slow, 0.0))
        found.append(Credit(test, times, divisor))
    return found


def share_by_tests(cartridge: Cartridge, vapour: Vapour, exit_fraction: Any) -> Any:
    """Share of a fitted bed's times that its worst test with the vapour leaves, at an exit fraction; 1 for others.

    All points at this exit fraction and above count, and the next below: a stricter question is never answered
    more kindly.
    """
    if cartridge.evidence is None or not cartridge.tests:
        return 1.0
    points = [
        (one.test.exit_fraction.value, one.ratio)
        for one in checked_tests(cartridge)
        if _same(vapour, one.test.vapour, one.test.temperature.value)
    ]
    shares = np.asarray(exit_fraction, dtype=float)
    least: Any = np.ones(shares.shape)
    for place, ratio in points:
        nearer = [p for p, _ in points if p > place * (1 + 1e-9)]
        # it is at this exit fraction or above, or no other lies between
        counts = (place >= shares * (1 - 1e-9)) | (shares < (min(nearer) if nearer else np.inf))
        least = np.where(counts, np.minimum(least, ratio), least)
    return least


def most_by_tests(cartridge: Cartridge, vapour: Vapour, **task: Any) -> Any:
    """Longest life [s] that the tests leave a task that is nowhere milder than theirs; infinite where none is.

    What was measured in air no worse is not to be outlasted.
    """
    most: Any = np.inf
    for one in checked_tests(cartridge):
        test = one.test
        if not _same(vapour, test.vapour, test.temperature.value):
            continue
        no_milder = np.asarray(True)
        for name in ("volume_fraction", "flow_rate", "temperature", "relative_humidity"):
            no_milder = no_milder & (np.asarray(task[name]) >= getattr(test, name).value * (1 - 1e-9))
        for name in ("pressure", "exit_fraction"):
            no_milder = no_milder & (np.asarray(task[name]) <= getattr(test, name).value * (1 + 1e-9))
        most = np.minimum(most, np.where(no_milder, test.breakthrough_time.value / FLOOR_MEASURED, np.inf))
    return most


def _is_near(
    test: CartridgeTest,
    *,
    volume_fraction: Any,
    flow_rate: Any,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
    exit_fraction: Any,
) -> Any:
    """Whether a test may stand in for the margin. What is milder is near: it gets no more than the test's own air."""
    return (
        (np.asarray(flow_rate) <= _MORE_FLOW * test.flow_rate.value)
        & (np.asarray(temperature) <= test.temperature.value + _WARMER)
        & (np.asarray(relative_humidity) <= test.relative_humidity.value + _MORE_HUMID)
        & (np.asarray(pressure) >= _LESS_PRESSURE * test.pressure.value)
        & (np.asarray(exit_fraction) >= _STRICTER * test.exit_fraction.value)
        & (np.asarray(volume_fraction) > 0)
    )


def _carried(
    cartridge: Cartridge,
    test: CartridgeTest,
    limit_exit: float,
    *,
    volume_fraction: Any,
    flow_rate: Any,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
    exit_fraction: Any,
) -> tuple[tuple[Any, Any], Any]:
    """Times [s] in the worse of the task's and the test's conditions, each by itself, and the divisor."""
    warm = np.maximum(temperature, test.temperature.value)
    tested, asked = test.volume_fraction.value, np.asarray(volume_fraction, dtype=float)
    thin = np.minimum(pressure, test.pressure.value)
    sorbate = sorbate_of(test.vapour, warm)
    share = np.minimum(exit_fraction, test.exit_fraction.value)
    bed = cartridge.bed(np.maximum(flow_rate, test.flow_rate.value))
    slower_flow = np.maximum(1.0, test.flow_rate.value / np.asarray(flow_rate))
    dilution = np.log(tested / asked)
    power = np.where(dilution > 0, _power(cartridge, test, warm, thin, dilution), np.exp(np.minimum(dilution, 0.0)))

    # the search for a longest time above an amount keeps to what the exposure limit may let through
    def run(amount: Any, limit: Any, rate: float) -> Any:
        air = Challenge(
            volume_fraction=amount,
            temperature=warm,
            pressure=thin,
            relative_humidity=np.maximum(relative_humidity, test.relative_humidity.value),
            challenge_fraction=share,
            limit_exit=limit,
        )
        return run_chain(sorbate, bed, air, rate).breakthrough_time

    there = np.maximum(limit_exit, share * tested)
    times = [
        np.minimum(run(asked, limit_exit, rate), run(tested, there, rate) * power) * slower_flow
        for rate in rate_shares(cartridge)
    ]
    richer = np.exp(TRANSFER_GROWTH * np.maximum(0.0, -dilution))
    return (times[0], times[1]), FLOOR_MEASURED * richer


def _power(cartridge: Cartridge, test: CartridgeTest, temperature: Any, pressure: Any, dilution: Any) -> Any:
    """Factor on a life for a dilution given by its logarithm, the growth of the margin taken off.

    The local exponent falls with the dilution, and the factor with it beyond some point: there it stays, since
    less vapour does not break through sooner.
    """
    affinity = float(affinity_least.si(molar_polarization=test.vapour.molar_polarization.value))
    energy = cartridge.characteristic_energy.value
    if cartridge.evidence is None:  # no test told it, and a weaker carbon gains less by dilution
        energy = min(energy, _LEAST_ENERGY)
    slope = dubinin_slope.si(
        temperature=temperature,
        saturation_pressure=test.vapour.saturation_pressures(temperature),
        partial_pressure=np.minimum(
            test.volume_fraction.value * np.asarray(pressure), test.vapour.saturation_pressures(temperature)
        ),
        affinity_coefficient=affinity,
        characteristic_energy=energy,
    )
    exponent = 1.0 - slope
    fall = 2.0 * (GAS_CONSTANT * np.asarray(temperature) / (affinity * energy)) ** 2
    linear = np.maximum(0.0, (exponent - DILUTION_POWER) / fall)
    best = np.maximum(linear, (exponent - TRANSFER_GROWTH) / (2.0 * fall))
    reached = np.clip(dilution, 0.0, np.maximum(best, 0.0))
    local = np.minimum(DILUTION_POWER, exponent - fall * reached)
    return np.exp(np.maximum(0.0, (local - TRANSFER_GROWTH) * reached))


def _same(one: Vapour, other: Vapour, temperature: float) -> bool:
    """One substance, with one set of properties."""
    named = one.cas == other.cas if one.cas or other.cas else one.name.casefold() == other.name.casefold()
    return named and sorbate_of(one, temperature) == sorbate_of(other, temperature)
