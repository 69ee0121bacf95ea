"""The straight way from numbers to a breakthrough time: models wired together, in floats.

Everything here takes and returns SI floats or arrays that broadcast. The one-case estimate and
the sweep over a million rows both run this, so they cannot disagree.

Two artefacts of the published correlations would let *more* vapour lengthen the time: a rate
coefficient that grows with loading, and an isotherm without a Henry limit, both of which starve a
bed at low concentrations. So the time for a concentration is the longest that the models give for
it or any *higher* one: on a favourable isotherm a bed that is fed less lets neither more vapour nor
a larger share of it through. The criterion goes along and is never laxer at the higher one.

Water counts twice. What humid air brings is pushed out by the vapour at the cost of work; a vapour
that mixes with water need not push it out, so for it the longer of two treatments counts, the other
being that water keeps its pores and the vapour has the rest. Water that was there before stands in
part or whole.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from respcalc.models.affinity import affinity_least
from respcalc.models.breakthrough import bohart_adams_time, transfer_units
from respcalc.models.capacity import adsorption_potential, dubinin_capacity_at_potential
from respcalc.models.constants import GAS_CONSTANT
from respcalc.models.humidity import WATER_POTENTIAL_SHARE, capacity_beside_water, humidity_rule, manes_potential
from respcalc.models.rate import (
    film_dispersion_ceiling,
    wood_lodewyckx_rate,
    wood_stampfer_exit_floor,
    wood_stampfer_rate,
)
from respcalc.models.transport import air_kinematic_viscosity, fuller_diffusivity
from respcalc.models.water import water_share

__all__ = [
    "CAPACITY_SET_BY",
    "PLANNED_DAMPNESS",
    "RATE_MODELS",
    "TESTED_HUMIDITY",
    "Bed",
    "Challenge",
    "Outcome",
    "Sorbate",
    "breath_over_gas",
    "rows_of",
    "run_chain",
    "run_many",
]

PLANNED_DAMPNESS = 0.5
"""Between the typical carbon and the dampest of twenty [1]: whose carbon is not known plans for more than the half."""

TESTED_HUMIDITY = 0.50
"""Air that the carbon of ordinary breakthrough tests has seen [1]: water counts beyond what it brings."""

CAPACITY_SET_BY = ("dry air", "displacement of water", "water that keeps its pores", "water from before")
RATE_MODELS = ("wood_stampfer_rate", "wood_lodewyckx_rate", "film_dispersion_ceiling")

# A breath has the lung's volume whatever the weather, so the moles of vapour drawn a minute do not
# fall as the air warms or thins. They are counted at 20 degC and at least sea-level pressure.
_BREATH_TEMPERATURE = 293.15
_SEA_LEVEL = 101325.0
# The ceiling on the rate is worked out for cold air: diffusion must not make a hot day look better.
_COLD = 273.15
# In beds that barely hold the wave a steeper coefficient gains a little more than the logarithm of
# Bohart-Adams loses; holding it from an exit fraction 1.2 % larger removes that (see the tests).
_FLOOR_SHARE = 1.012
_DISPLACEMENT, _DISSOLVED, _DAMP_BEFORE = 1, 2, 3
_LEAST_LOADING = 1e-150  # stands for a loading too small for a float, which would divide by itself
# The search: tried concentrations of the first and the later passes, and how many of these. Together
# they narrow 20 e-folds to 1e-11; the peak may be a kink, so its height needs that.
_FIRST, _THEN, _PASSES = 30, 16, 13
_BLOCK = 15_000  # numbers at a time: what is worked out in between then stays in the processor's cache


@dataclass(frozen=True, slots=True)
class Sorbate:
    """The vapour, at the air's temperature."""

    molar_mass: Any
    saturation_pressure: Any
    liquid_density: Any
    molar_polarization: Any
    diffusion_volume: Any
    mixes_with_water: Any = False
    standing_water: Any = 1.0  # share of the water that was there before which it does not push out


@dataclass(frozen=True, slots=True)
class Bed:
    """One cartridge and the flow through it."""

    flow_rate: Any
    sorbent_mass: Any
    face_area: Any
    bulk_density: Any
    granule_diameter: Any
    void_fraction: Any
    micropore_volume: Any
    characteristic_energy: Any
    water_share: Any = 0.0  # of the micropores, before use


@dataclass(frozen=True, slots=True)
class Challenge:
    """The air, how much vapour is in it, and what counts as breakthrough."""

    volume_fraction: Any
    temperature: Any
    pressure: Any
    relative_humidity: Any
    challenge_fraction: Any  # of the inlet
    limit_exit: Any  # exit volume fraction that the exposure limit allows

    def exit_fraction(self, volume_fraction: Any) -> Any:
        """Exit over inlet concentration that counts as breakthrough, at an inlet concentration."""
        return np.minimum(self.challenge_fraction, self.limit_exit / volume_fraction)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the chain found, with the steps in between."""

    breakthrough_time: Any
    dry_potential: Any
    wet_potential: Any
    dry_time: Any
    wet_time: Any
    rule_factor: Any
    capacity: Any
    dry_capacity: Any
    rate_coefficient: Any
    dry_rate_coefficient: Any
    capacity_set_by: Any  # index into CAPACITY_SET_BY
    rate_model: Any  # index into RATE_MODELS
    affinity_coefficient: Any
    planned_fraction: Any  # the concentration that the time belongs to, never below the one asked for
    exit_fraction: Any  # at that concentration
    mass_per_breath: Any  # [kg/m3] of drawn air
    convex: Any  # the isotherm is unfavourable at the concentration asked for: outside the model

    def row(self, index: int) -> Outcome:
        """One row of an outcome in one dimension; what is one number for all stays it."""
        return Outcome(**{name: v[index] if np.ndim(v) else v for name, v in _values(self).items()})


def breath_over_gas(temperature: float, pressure: float) -> float:
    """Vapour that a breath is counted to carry over what the same volume of a test's air [K, Pa] carries."""
    return temperature / _BREATH_TEMPERATURE * max(pressure, _SEA_LEVEL) / pressure


def run_chain(sorbate: Sorbate, bed: Bed, challenge: Challenge, rate_share: Any = 1.0) -> Outcome:
    """Predict the breakthrough time of one bed for one vapour.

    Parameters
    ----------
    sorbate, bed, challenge
        SI floats or arrays; they broadcast.
    rate_share
        Share of the correlated rate coefficient that is believed.

    Returns
    -------
    Outcome
        Times in s; 0 means immediate breakthrough.
    """
    pushed = _run(sorbate, bed, challenge, rate_share, keeps_pores=False)
    mixes = np.asarray(sorbate.mixes_with_water, dtype=bool)
    if not np.any(mixes):
        return pushed
    kept = _run(sorbate, bed, challenge, rate_share, keeps_pores=True)
    better = mixes & (kept.breakthrough_time > pushed.breakthrough_time)
    ours, theirs = _values(pushed), _values(kept)
    longer = Outcome(**{name: np.where(better, theirs[name], value) for name, value in ours.items()})
    # that pushing water out makes an isotherm convex says nothing of a vapour that need not push it out
    return replace(longer, convex=np.where(mixes, pushed.convex & kept.convex, pushed.convex))


def _run(sorbate: Sorbate, bed: Bed, challenge: Challenge, rate_share: Any, *, keeps_pores: bool) -> Outcome:
    """One treatment of the water that humid air brings: pushed out by the vapour, or keeping its pores."""
    fixed = _Fixed(sorbate, bed, challenge, rate_share, keeps_pores)
    first = fixed.at(challenge.volume_fraction)
    may_rise = fixed.may_rise(first)
    convex = fixed.is_convex(first)
    if not np.any(may_rise):
        return replace(first, convex=convex)
    shape = np.shape(may_rise)
    rows = np.nonzero(np.ravel(may_rise))[0]
    share = np.ravel(np.broadcast_to(rate_share, shape))[rows]
    found = _search(*_parts(fixed.parts, rows, shape), rate_share=share, keeps_pores=keeps_pores)
    better = found.breakthrough_time[:, 0] > np.ravel(np.broadcast_to(first.breakthrough_time, shape))[rows]
    merged = {}
    for name, value in _values(first).items():
        merged[name] = np.array(np.broadcast_to(value, shape))
        longer = np.broadcast_to(getattr(found, name), (rows.size, 1))[better, 0]
        merged[name].flat[rows[better]] = longer
    return Outcome(**{**merged, "convex": convex})


def run_many(
    sorbate: Sorbate, bed: Bed, challenge: Challenge, rate_shares: tuple[float, ...] = (1.0,)
) -> tuple[tuple[Any, ...], Any]:
    """Breakthrough times as `run_chain` gives them, for a great many rows, without the steps in between.

    Parameters
    ----------
    sorbate, bed, challenge
        SI floats or one-dimensional arrays of one length.
    rate_shares
        As for `run_chain`; what does not depend on them is worked out once for all.

    Returns
    -------
    tuple
        Times [s] for each of *rate_shares*, and where the isotherm is convex.
    """
    times, convex = _run_many(sorbate, bed, challenge, rate_shares, keeps_pores=False)
    if not np.any(sorbate.mixes_with_water):
        return times, convex
    kept_times, kept_convex = _run_many(sorbate, bed, challenge, rate_shares, keeps_pores=True)
    mixes = np.asarray(sorbate.mixes_with_water, dtype=bool)
    longest = tuple(np.where(mixes, np.maximum(a, b), a) for a, b in zip(times, kept_times, strict=True))
    return longest, np.where(mixes, convex & kept_convex, convex)


def _run_many(
    sorbate: Sorbate, bed: Bed, challenge: Challenge, rate_shares: tuple[float, ...], *, keeps_pores: bool
) -> tuple[tuple[Any, ...], Any]:
    parts = (sorbate, bed, challenge)
    size = math.prod(np.broadcast_shapes(*(np.shape(v) for part in parts for v in _values(part).values())))
    times, convex = tuple(np.empty(size) for _ in rate_shares), np.empty(size, dtype=bool)
    may_rise = tuple(np.empty(size, dtype=bool) for _ in rate_shares)
    for start in range(0, size, _BLOCK):
        rows = slice(start, start + _BLOCK)
        fixed = _Fixed(*_parts(parts, rows, (size,)), keeps_pores=keeps_pores)
        first = fixed.at(fixed.challenge.volume_fraction)
        for share, time, rises in zip(rate_shares, times, may_rise, strict=True):
            if share != 1.0 and np.any(fixed.bed.water_share):  # another treatment of water may then be the stricter
                fixed = _Fixed(*_parts(parts, rows, (size,)), rate_share=share, keeps_pores=keeps_pores)
                slower = fixed.at(fixed.challenge.volume_fraction)
            else:
                slower = fixed.with_rate_share(first, share)
            rises[rows] = fixed.may_rise(slower)
            time[rows], convex[rows] = slower.breakthrough_time, fixed.is_convex(slower)
    for share, time, rises in zip(rate_shares, times, may_rise, strict=True):
        searched = np.nonzero(rises)[0]
        for start in range(0, searched.size, _BLOCK // _FIRST):
            some = searched[start : start + _BLOCK // _FIRST]
            found = _search(*_parts(parts, some, (size,)), rate_share=share, keeps_pores=keeps_pores)
            time[some] = np.maximum(time[some], found.breakthrough_time[:, 0])
    return times, convex


def _search(sorbate: Sorbate, bed: Bed, challenge: Challenge, rate_share: Any, *, keeps_pores: bool) -> Outcome:
    """Outcome of each row at its best concentration; the rows become columns."""
    sorbate, bed, challenge = (_map(part, lambda v: v[:, np.newaxis]) for part in (sorbate, bed, challenge))
    share = np.asarray(rate_share)[:, np.newaxis] if np.ndim(rate_share) else rate_share
    search = _Fixed(sorbate, bed, challenge, share, keeps_pores)
    return search.at(search.longest_above())


def _values(part: Any) -> dict[str, Any]:
    return {name: getattr(part, name) for name in part.__dataclass_fields__}


def _map(part: Any, change: Callable[[Any], Any]) -> Any:
    """A set of arrays, changed; what is one number for all stays one number."""
    return type(part)(**{name: change(v) if np.ndim(v) else v for name, v in _values(part).items()})


def rows_of(part: Any, which: Any, shape: tuple[int, ...]) -> Any:
    """Some of the rows of a set of arrays that broadcast to *shape*."""
    return _map(part, lambda v: np.ravel(np.broadcast_to(v, shape))[which])


def _parts(parts: Any, which: Any, shape: tuple[int, ...]) -> tuple[Any, Any, Any]:
    sorbate, bed, challenge = (rows_of(part, which, shape) for part in parts)
    return sorbate, bed, challenge


def _one_if_equal(value: Any) -> Any:
    """An array of one value throughout as that value: what follows from it is then worked out once."""
    flat = np.ravel(value)
    return float(flat[0]) if flat.size and np.all(flat == flat[0]) else value


class _Fixed:
    """All that does not depend on the concentration, worked out once."""

    def __init__(
        self,
        sorbate: Sorbate,
        bed: Bed,
        challenge: Challenge,
        rate_share: Any = 1.0,
        keeps_pores: bool = False,
    ) -> None:
        self.rate_share, self.keeps_pores = rate_share, keeps_pores
        self.parts = self.sorbate, self.bed, self.challenge = sorbate, bed, challenge
        self.affinity = affinity_least.si(molar_polarization=sorbate.molar_polarization)
        self.thermal = GAS_CONSTANT * challenge.temperature
        self.scale = self.affinity * bed.characteristic_energy
        self.molar_volume = sorbate.molar_mass / sorbate.liquid_density
        self.velocity = bed.flow_rate / bed.face_area
        self.rule = humidity_rule.si(relative_humidity=challenge.relative_humidity)
        self.left_beside_water = self._left_beside_water()
        breath = GAS_CONSTANT * _BREATH_TEMPERATURE / np.maximum(challenge.pressure, _SEA_LEVEL)
        self.mass_of_fraction = sorbate.molar_mass / breath
        self.exit_floor = _FLOOR_SHARE * wood_stampfer_exit_floor.si(molar_polarization=sorbate.molar_polarization)
        cold = _one_if_equal(np.minimum(challenge.temperature, _COLD))
        thick = _one_if_equal(np.maximum(challenge.pressure, _SEA_LEVEL))
        self.ceiling = film_dispersion_ceiling.si(
            superficial_velocity=self.velocity,
            granule_diameter=bed.granule_diameter,
            void_fraction=bed.void_fraction,
            diffusivity=fuller_diffusivity.si(
                temperature=cold,
                pressure=thick,
                molar_mass=sorbate.molar_mass,
                diffusion_volume=sorbate.diffusion_volume,
            ),
            kinematic_viscosity=air_kinematic_viscosity.si(temperature=cold, pressure=thick),
        )

    def _left_beside_water(self) -> tuple[Any, Any]:
        """Shares of the dry capacity left by water that humid air brings and that stays, and by water from before."""
        brought = before = None
        if self.keeps_pores:
            humidity = _one_if_equal(self.challenge.relative_humidity)
            share = water_share.si(relative_humidity=humidity, carbon_dampness=PLANNED_DAMPNESS)
            brought = capacity_beside_water.si(water_share=share, standing_water=1.0)
        if np.any(self.bed.water_share):
            usual = water_share.si(relative_humidity=TESTED_HUMIDITY, carbon_dampness=PLANNED_DAMPNESS)
            left, in_tests = (
                capacity_beside_water.si(water_share=share, standing_water=self.sorbate.standing_water)
                for share in (self.bed.water_share, usual)
            )
            before = np.minimum(left / in_tests, 1.0)
        return brought, before

    def at(self, volume_fraction: Any) -> Outcome:
        """Outcome at one concentration, as the models give it."""
        exit_fraction = self.challenge.exit_fraction(volume_fraction)
        dry_potential, wet_potential = self._potentials(volume_fraction)
        dry = self._capacity(dry_potential)
        dry_rate, rate_model = self._rate(exit_fraction, dry)
        dry_rate = dry_rate * self.rate_share
        mass = volume_fraction * self.mass_of_fraction
        dry_time = self._time(dry, dry_rate, mass, exit_fraction)
        brought, before = self.left_beside_water
        if brought is None:
            pushed = wet_potential > dry_potential
            wet = np.where(pushed, self._capacity(wet_potential), dry)
            # an assumption, stronger than the square root that Wood-Lodewyckx implies
            wet_rate, set_by = dry_rate * (wet / dry), np.where(pushed, _DISPLACEMENT, 0)
        else:
            wet, wet_rate, set_by = self._beside(dry, dry_rate, brought, _DISSOLVED)
        wet_time = self._time(wet, wet_rate, mass, exit_fraction)
        if before is not None:
            damp, damp_rate, number = self._beside(dry, dry_rate, before, _DAMP_BEFORE)
            damp_time = self._time(damp, damp_rate, mass, exit_fraction)
            shorter = (damp_time < wet_time) | ((damp_time == wet_time) & (damp_rate < wet_rate))
            wet, wet_rate, wet_time, set_by = (
                np.where(shorter, a, b)
                for a, b in ((damp, wet), (damp_rate, wet_rate), (damp_time, wet_time), (number, set_by))
            )
        return Outcome(
            breakthrough_time=np.minimum(wet_time, self.rule * dry_time),
            dry_potential=dry_potential,
            wet_potential=wet_potential,
            dry_time=dry_time,
            wet_time=wet_time,
            rule_factor=self.rule,
            capacity=wet,
            dry_capacity=dry,
            rate_coefficient=wet_rate,
            dry_rate_coefficient=dry_rate,
            capacity_set_by=set_by,
            rate_model=rate_model,
            affinity_coefficient=self.affinity,
            planned_fraction=volume_fraction,
            exit_fraction=exit_fraction,
            mass_per_breath=mass,
            convex=False,
        )

    def with_rate_share(self, outcome: Outcome, share: float) -> Outcome:
        """An outcome at the full rate as it is at a share of it."""
        if share == 1.0:
            return outcome
        dry_rate, wet_rate = share * outcome.dry_rate_coefficient, share * outcome.rate_coefficient
        exit_fraction, mass = outcome.exit_fraction, outcome.mass_per_breath
        dry_time = self._time(outcome.dry_capacity, dry_rate, mass, exit_fraction)
        wet_time = self._time(outcome.capacity, wet_rate, mass, exit_fraction)
        return replace(
            outcome,
            breakthrough_time=np.minimum(wet_time, self.rule * dry_time),
            dry_time=dry_time,
            wet_time=wet_time,
            rate_coefficient=wet_rate,
            dry_rate_coefficient=dry_rate,
        )

    def is_convex(self, outcome: Outcome) -> Any:
        """Where loading falls faster than concentration in this air, whichever water sets the time."""
        pushed = (outcome.wet_potential > outcome.dry_potential) & (not self.keeps_pores)
        return self._slope(outcome, pushed) > 1.0

    def may_rise(self, outcome: Outcome) -> Any:
        """Where the time may rise with the concentration.

        With G = ln(e^K - 1) and L = ln[(1-x)/x], d ln t/d ln c is at most
        slope - 1 + growth (K G'/(G - L) - 1), where slope is d ln(loading)/d ln(concentration) and growth
        bounds d ln K/d ln c whichever rate model is the least. That the exit fraction falls with the
        concentration only lowers it.
        """
        slope = self._slope(outcome, outcome.capacity_set_by == _DISPLACEMENT)
        units, held = self._units_and_held(outcome)
        filled = -np.expm1(-units)
        growth = slope - 0.5 * self._slope(outcome, False)
        return (held <= 0.0) | ((slope - 1.0) * held + growth * (units / filled - held) > 0.0)

    def _slope(self, outcome: Outcome, displacing: Any) -> Any:
        """Slope d ln(loading)/d ln(concentration), where water is displaced and where not."""
        unit = 2.0 * self.thermal / (self.scale * self.scale)
        steeper = outcome.wet_potential / (1.0 - WATER_POTENTIAL_SHARE)
        return unit * np.where(displacing, steeper, outcome.dry_potential)

    def longest_above(self) -> Any:
        """The concentration, not below the one asked for, where the time is longest.

        Rows run down, tried concentrations across. The logarithms of loading and transfer units are
        concave in that of the concentration, so the time has one peak below the concentration at which
        the exposure limit begins to set the exit fraction, and one above: each side is searched by
        itself, the first pass to find the peak and each later one to keep the stretch around the best.
        """
        start = np.log(self.challenge.volume_fraction) + np.zeros((1, 1))
        end = np.maximum(start, np.log(self.sorbate.saturation_pressure / self.challenge.pressure))
        kink = np.clip(np.log(self.challenge.limit_exit / self.challenge.challenge_fraction), start, end)
        low, high = np.stack(np.broadcast_arrays(start, kink)), np.stack(np.broadcast_arrays(kink, end))
        for count in (_FIRST, *[_THEN] * _PASSES):
            tried = low + (high - low) * np.linspace(0.0, 1.0, count)
            worth = self._worth(np.exp(tried))
            best = np.argmax(worth, axis=-1)[..., np.newaxis]
            low, high = (
                np.take_along_axis(tried, np.maximum(best - 1, 0), axis=-1),
                np.take_along_axis(tried, np.minimum(best + 1, count - 1), axis=-1),
            )
        peaks, heights = (np.take_along_axis(part, best, axis=-1) for part in (tried, worth))
        return np.exp(np.where(heights[1] > heights[0], peaks[1], peaks[0]))

    def _worth(self, volume_fraction: Any) -> Any:
        """The time; where nothing is held yet, how nearly the bed holds the wave shows the way."""
        outcome = self.at(volume_fraction)
        time = outcome.breakthrough_time
        if np.all(time > 0):
            return time
        return np.where(time > 0, time, np.minimum(self._units_and_held(outcome)[1], 0.0))

    def _potentials(self, volume_fraction: Any) -> tuple[Any, Any]:
        # One vapour above its saturation is refused before it gets here. A heavy trace that stands in
        # for a whole mixture may pass it: its loading then stays at the full pore volume.
        pressure = np.minimum(volume_fraction * self.challenge.pressure, self.sorbate.saturation_pressure)
        dry = adsorption_potential.si(
            temperature=self.challenge.temperature,
            saturation_pressure=self.sorbate.saturation_pressure,
            partial_pressure=pressure,
        )
        wet = manes_potential.si(
            adsorption_potential=dry,
            temperature=self.challenge.temperature,
            relative_humidity=self.challenge.relative_humidity,
            liquid_molar_volume=self.molar_volume,
        )
        return dry, wet

    def _capacity(self, potential: Any) -> Any:
        loading = dubinin_capacity_at_potential.si(
            adsorption_potential=potential,
            micropore_volume=self.bed.micropore_volume,
            liquid_density=self.sorbate.liquid_density,
            characteristic_energy=self.bed.characteristic_energy,
            affinity_coefficient=self.affinity,
        )
        return np.maximum(loading, _LEAST_LOADING)

    @staticmethod
    def _beside(dry: Any, dry_rate: Any, left: Any, number: int) -> tuple[Any, Any, Any]:
        """Loading and rate beside water that stays; the rate goes with its root, as in Wood-Lodewyckx."""
        wet = np.maximum(dry * left, _LEAST_LOADING)
        return wet, dry_rate * np.sqrt(wet / dry), np.where(wet < dry, number, 0)

    def _rate(self, exit_fraction: Any, loading: Any) -> tuple[Any, Any]:
        """Least of the two correlations and the physical ceiling, and which of them it was."""
        stampfer = wood_stampfer_rate.si(
            superficial_velocity=self.velocity,
            molar_polarization=self.sorbate.molar_polarization,
            exit_fraction=np.maximum(exit_fraction, self.exit_floor),
        )
        lodewyckx = wood_lodewyckx_rate.si(
            affinity_coefficient=self.affinity,
            superficial_velocity=self.velocity,
            granule_diameter=self.bed.granule_diameter,
            capacity=loading,
            molar_mass=self.sorbate.molar_mass,
        )
        least = np.minimum(np.minimum(stampfer, lodewyckx), self.ceiling)
        return least, np.where(least == stampfer, 0, np.where(least == lodewyckx, 1, 2))

    def _units_and_held(self, outcome: Outcome) -> tuple[Any, Any]:
        """Transfer units K, and ln(e^K - 1) - ln[(1-x)/x]: above 0 the bed holds the wave."""
        units = transfer_units.si(
            rate_coefficient=outcome.rate_coefficient,
            sorbent_mass=self.bed.sorbent_mass,
            bulk_density=self.bed.bulk_density,
            flow_rate=self.bed.flow_rate,
        )
        wave = np.log((1.0 - outcome.exit_fraction) / outcome.exit_fraction)
        return units, units + np.log(-np.expm1(-units)) - wave

    def _time(self, capacity: Any, rate: Any, mass: Any, exit_fraction: Any) -> Any:
        return bohart_adams_time.si(
            capacity=capacity,
            sorbent_mass=self.bed.sorbent_mass,
            mass_concentration=mass,
            flow_rate=self.bed.flow_rate,
            bulk_density=self.bed.bulk_density,
            rate_coefficient=rate,
            exit_fraction=exit_fraction,
        )
