"""A test of the cartridge's own: that the bed as described agrees with it, and where it may stand in for the margin."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from respcalc.cartridges import CarbonHistory, Cartridge, CartridgeTest
from respcalc.core.errors import CartridgeError
from respcalc.core.vocabulary import term
from respcalc.estimate.margin import RATE_SHARE
from respcalc.prediction import Challenge, run_chain, sorbate_of
from respcalc.vapours import Vapour

__all__ = ["checked_test", "is_near", "times_by_test"]

# The bed may outlast its test by this much in the model, and a task may leave the test's air by this much.
_AGREES = 1.1
_WARMER, _MORE_HUMID = 5.0, 0.05
_MORE_FLOW, _MORE_VAPOUR = 1.1, 2.0
_LESS_PRESSURE, _STRICTER = 0.9, 0.9


@lru_cache(maxsize=256)
def checked_test(cartridge: Cartridge) -> CartridgeTest | None:
    """The cartridge's own test, or None if there is none.

    Raises
    ------
    CartridgeError
        By the model the bed as described would have outlasted its test.
    """
    test = cartridge.test
    if test is None:
        return None
    outcome = run_chain(
        sorbate_of(test.vapour, test.temperature.value),
        cartridge.bed(test.flow_rate.value),
        Challenge(
            volume_fraction=test.volume_fraction.value,
            temperature=test.temperature.value,
            pressure=test.pressure.value,
            relative_humidity=test.relative_humidity.value,
            challenge_fraction=test.exit_fraction.value,
            limit_exit=np.inf,
        ),
    )
    predicted, measured = float(outcome.breakthrough_time), test.breakthrough_time.value
    if predicted > _AGREES * measured:
        raise CartridgeError(
            f"cartridge {cartridge.name}: as described it would have lasted "
            f"{term('breakthrough_time').show(predicted)} in its own test, and lasted "
            f"{test.breakthrough_time.printed} ({test}). Lower micropore_volume (or characteristic_energy) until it "
            "agrees, or measure the bed again if the test was very short"
        )
    return test


def is_near(
    test: CartridgeTest | None,
    vapour: Vapour,
    history: CarbonHistory,
    *,
    volume_fraction: Any,
    flow_rate: Any,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
    exit_fraction: Any,
) -> Any:
    """Whether a task's own test may stand in for the margin; what is worse than near is not near.

    What is milder is near: `times_by_test` gives it no more than the test's own air would.
    """
    if test is None or history.damp or not _same(vapour, test.vapour, test.temperature.value):
        return False
    return (
        (np.asarray(volume_fraction) <= _MORE_VAPOUR * test.volume_fraction.value)
        & (np.asarray(flow_rate) <= _MORE_FLOW * test.flow_rate.value)
        & (np.asarray(temperature) <= test.temperature.value + _WARMER)
        & (np.asarray(relative_humidity) <= test.relative_humidity.value + _MORE_HUMID)
        & (np.asarray(pressure) >= _LESS_PRESSURE * test.pressure.value)
        & (np.asarray(exit_fraction) >= _STRICTER * test.exit_fraction.value)
    )


def times_by_test(
    test: CartridgeTest,
    cartridge: Cartridge,
    *,
    volume_fraction: Any,
    flow_rate: Any,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
    exit_fraction: Any,
) -> tuple[Any, Any]:
    """Predicted times [s] in the worse of the task's and the test's conditions, each by itself.

    One time fixes one number of the bed: it says nothing of how the bed does in milder conditions, so
    none are credited.

    Returns
    -------
    tuple
        As predicted, and with `RATE_SHARE` of the rate.
    """
    warm = np.maximum(temperature, test.temperature.value)
    parts = (
        sorbate_of(test.vapour, warm),
        cartridge.bed(np.maximum(flow_rate, test.flow_rate.value)),
        Challenge(
            volume_fraction=np.maximum(volume_fraction, test.volume_fraction.value),
            temperature=warm,
            pressure=np.minimum(pressure, test.pressure.value),
            relative_humidity=np.maximum(relative_humidity, test.relative_humidity.value),
            challenge_fraction=np.minimum(exit_fraction, test.exit_fraction.value),
            limit_exit=np.inf,
        ),
    )
    own, slower = (run_chain(*parts, rate_share).breakthrough_time for rate_share in (1.0, RATE_SHARE))
    return own, slower


def _same(one: Vapour, other: Vapour, temperature: float) -> bool:
    """One substance, with one set of properties."""
    named = one.cas == other.cas if one.cas or other.cas else one.name.casefold() == other.name.casefold()
    return named and sorbate_of(one, temperature) == sorbate_of(other, temperature)
