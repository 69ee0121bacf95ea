"""Beds found from some of the recalled tests, or from one of them as a certificate, held against the others.

Asks what a user asks: these vapours were tested on this cartridge; how often would the life for another vapour
have been longer than that vapour's own test? The times are FROM MEMORY and of one carbon close to the default, so
the counts speak of vapours, not of carbons.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from reference_checks.nelson_harder_1974.rows import (
    CHALLENGE,
    TimedVapour,
    bed,
    calibrates,
    fitted_pair_mass,
    stacked,
    timed_vapours,
)
from respcalc.cartridges import (
    Cartridge,
    CartridgeTest,
    certified_bed,
    describe_bed,
    describe_test,
    fit_bed,
    known_certifications,
)
from respcalc.core.errors import CartridgeError
from respcalc.core.units import Quantity
from respcalc.estimate.margin import margin_of, rate_shares, usable_time
from respcalc.prediction import run_chain, sorbate_of

__all__ = ["certified_shares", "fitted_shares", "rows"]

_DRAWS, _SEED = 15, 1974


@cache
def rows() -> tuple[TimedVapour, ...]:
    """The rows that calibrate."""
    return tuple(row for row in timed_vapours() if calibrates(row))


@cache
def _described() -> Cartridge:
    half = bed(fitted_pair_mass(timed_vapours()) / 2)
    return describe_bed(
        "pair", sorbent_mass=Quantity(half.sorbent_mass, "kg"), face_area="45 cm2",
        bulk_density=Quantity(half.bulk_density, "kg/m**3"), in_parallel=2,
    )  # fmt: skip


def _test(row: TimedVapour) -> CartridgeTest:
    return describe_test(
        row.vapour, report="recalled from Nelson and Harder (1974)", exit_fraction="1 %", concentration="1000 ppm",
        breakthrough_time=Quantity(row.measured_minutes, "min"), flow_rate="53.3 L/min", temperature="22 degC",
        relative_humidity="50 %", pressure="101.325 kPa",
    )  # fmt: skip


def _lives(cartridge: Cartridge, asked: Sequence[TimedVapour]) -> NDArray[np.float64]:
    """Lives [min] in the air of the tests, the bed's tests with the very vapour left out."""
    sorbates = stacked([sorbate_of(row.vapour, CHALLENGE.temperature) for row in asked])
    least = np.full(len(asked), np.inf)
    for one in cartridge.beds():
        times = [
            np.asarray(run_chain(sorbates, one.bed(53.3e-3 / 60), CHALLENGE, share).breakthrough_time)
            for share in rate_shares(one)
        ]
        for k, row in enumerate(asked):
            own = (times[0][k], times[1][k])
            life = usable_time(margin_of(row.vapour, one), own, own, CHALLENGE.volume_fraction)
            least[k] = min(least[k], float(life))
    return least / 60.0


def fitted_shares(count: int) -> tuple[NDArray[np.float64], list[str]]:
    """Life over measured time of every vapour that was not tested, for draws of *count* tested ones; and refusals."""
    random = np.random.default_rng(_SEED + count)
    draws = [[k] for k in range(len(rows()))] if count == 1 else [
        list(random.choice(len(rows()), count, replace=False)) for _ in range(_DRAWS)
    ]  # fmt: skip
    shares, refused = [], []
    for draw in draws:
        try:
            found = fit_bed(_described(), [_test(rows()[k]) for k in draw])
        except CartridgeError as error:
            refused.append(str(error))
            continue
        others = [row for k, row in enumerate(rows()) if k not in draw]
        shares.append(_lives(found.cartridge, others) / np.array([row.measured_minutes for row in others]))
    return np.concatenate(shares), refused


def certified_shares(agent: str) -> NDArray[np.float64]:
    """Life over measured time of every other vapour, of a bed known by one test as if it were its certificate."""
    (tested,) = [row for row in rows() if row.name == agent]
    what = replace(known_certifications()["US cartridge OV"], tests=(_test(tested),))
    made = certified_bed("pair", what, combination=False, in_parallel=2)
    others = [row for row in rows() if row.name != agent]
    return _lives(made, others) / np.array([row.measured_minutes for row in others])
