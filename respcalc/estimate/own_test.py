"""A test of the cartridge's own: that the bed as described agrees with it, and where it may stand in for the margin."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from respcalc.cartridges import SEALED, CarbonHistory, Cartridge, CartridgeTest
from respcalc.core.errors import CartridgeError
from respcalc.core.vocabulary import term
from respcalc.estimate.chain import Challenge, run_chain
from respcalc.estimate.parts import bed_of, sorbate_of
from respcalc.vapours import Vapour

__all__ = ["checked_test", "is_near"]

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
        bed_of(cartridge, cartridge.flow_share(test.flow_rate.value), SEALED),
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
            "agrees"
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

    A lower concentration is near: the power rule carries the test down to it.
    """
    if test is None or not _same(vapour, test.vapour) or history.damp:
        return False
    return (
        (np.asarray(volume_fraction) <= _MORE_VAPOUR * test.volume_fraction.value)
        & (np.asarray(flow_rate) <= _MORE_FLOW * test.flow_rate.value)
        & (np.asarray(temperature) <= test.temperature.value + _WARMER)
        & (np.asarray(relative_humidity) <= test.relative_humidity.value + _MORE_HUMID)
        & (np.asarray(pressure) >= _LESS_PRESSURE * test.pressure.value)
        & (np.asarray(exit_fraction) >= _STRICTER * test.exit_fraction.value)
    )


def _same(one: Vapour, other: Vapour) -> bool:
    return one.cas == other.cas if one.cas or other.cas else one.name.casefold() == other.name.casefold()
