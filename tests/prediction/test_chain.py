"""The chain in floats: no step for the worse lengthens it, and it is what the equations say."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import respcalc
from respcalc.prediction import Bed, Challenge, Sorbate, run_chain, run_many
from respcalc.workplace import pressure_at_altitude

SLACK = 1e-6  # [s] what rounding leaves of two terms that nearly cancel


def _usable():
    for name, _ in respcalc.known_vapours():
        vapour = respcalc.find_vapour(name)
        if vapour.not_physically_adsorbed:
            continue
        try:
            vapour.molar_polarization, vapour.saturation_pressures(300.0), vapour.liquid_densities(300.0)
        except LookupError:
            continue
        yield vapour


VAPOURS = tuple(_usable())


def sorbate_of(vapour, temperature):
    return Sorbate(
        molar_mass=vapour.molar_mass.value,
        saturation_pressure=vapour.saturation_pressures(temperature),
        liquid_density=vapour.liquid_densities(temperature),
        molar_polarization=vapour.molar_polarization.value,
        diffusion_volume=vapour.diffusion_volume.value,
    )


def at_pressure(altitude):
    return pressure_at_altitude.si(altitude=altitude)


def log_uniform(low, high):
    """Between two values, evenly in the logarithm, with both ends tried often."""
    inner = st.floats(np.log(low), np.log(high)).map(lambda x: float(np.clip(np.exp(x), low, high)))
    return st.one_of(inner, st.sampled_from([low, high]))


@st.composite
def worlds(draw):
    """One vapour, bed and air, from the everyday to the absurd."""
    vapour = draw(st.sampled_from(VAPOURS))
    celsius = draw(st.one_of(st.floats(0.0, 50.0), st.sampled_from([0.0, 25.0, 50.0])))
    pressure = at_pressure(draw(st.one_of(st.just(0.0), st.floats(0.0, 3000.0))))
    sorbate = sorbate_of(vapour, 273.15 + celsius)
    area, depth = draw(log_uniform(10e-4, 150e-4)), draw(log_uniform(3e-3, 8e-2))
    density = draw(st.floats(250.0, 700.0))
    bed = Bed(
        flow_rate=draw(log_uniform(1e-3 / 60, 0.4 / 60)),
        sorbent_mass=area * depth * density,
        face_area=area,
        bulk_density=density,
        granule_diameter=draw(log_uniform(2e-4, 6e-3)),
        void_fraction=draw(st.floats(0.3, 0.6)),
        micropore_volume=draw(st.floats(0.2e-3, 1e-3)),
        characteristic_energy=draw(st.floats(10e3, 30e3)),
        water_share=draw(st.one_of(st.just(0.0), st.floats(0.0, 1.0))),
    )
    sorbate = replace(sorbate, mixes_with_water=draw(st.booleans()), standing_water=draw(st.floats(0.5, 1.0)))
    saturated = min(1.0, sorbate.saturation_pressure / pressure)
    challenge = Challenge(
        volume_fraction=saturated * draw(log_uniform(1e-9, 1.0)),
        temperature=273.15 + celsius,
        pressure=pressure,
        relative_humidity=draw(st.one_of(st.floats(0.0, 1.0), st.sampled_from([0.0, 0.5, 0.85, 1.0]))),
        challenge_fraction=draw(log_uniform(1e-5, 0.2)),
        limit_exit=draw(log_uniform(1e-16, 1e-3)),
    )
    return vapour, sorbate, bed, challenge


# What makes the workplace worse: (vapour, sorbate, bed, challenge, step in 0..1) -> the same, worse
def more_vapour(v, s, b, c, u):
    most = np.maximum(c.volume_fraction, np.minimum(1.0, s.saturation_pressure / c.pressure))
    return s, b, replace(c, volume_fraction=c.volume_fraction * (most / c.volume_fraction) ** u)


def more_humid(v, s, b, c, u):
    return s, b, replace(c, relative_humidity=c.relative_humidity + u * (1.0 - c.relative_humidity))


def hotter(v, s, b, c, u):
    temperature = c.temperature + u * (323.15 - c.temperature)
    warmer = v(temperature) if callable(v) else sorbate_of(v, temperature)
    as_before = {f.name: getattr(s, f.name) for f in fields(Sorbate)[5:]}
    return replace(warmer, **as_before), b, replace(c, temperature=temperature)


def higher_up(v, s, b, c, u):
    return s, b, replace(c, pressure=c.pressure - u * np.maximum(0.0, c.pressure - 70100.0))


def damper_before(v, s, b, c, u):
    return s, replace(b, water_share=b.water_share + u * (1.0 - b.water_share)), c


def more_water_stands(v, s, b, c, u):
    return replace(s, standing_water=s.standing_water + u * (1.0 - s.standing_water)), b, c


def more_flow(v, s, b, c, u):
    return s, replace(b, flow_rate=b.flow_rate * (1 + 3 * u)), c


def thinner_bed(v, s, b, c, u):
    return s, replace(b, sorbent_mass=b.sorbent_mass / (1 + 3 * u)), c


def smaller_face(v, s, b, c, u):
    return s, replace(b, sorbent_mass=b.sorbent_mass / (1 + 3 * u), face_area=b.face_area / (1 + 3 * u)), c


def coarser_granules(v, s, b, c, u):
    return s, replace(b, granule_diameter=b.granule_diameter * (1 + 2 * u)), c


def less_pore_volume(v, s, b, c, u):
    return s, replace(b, micropore_volume=b.micropore_volume / (1 + u)), c


def weaker_carbon(v, s, b, c, u):
    return s, replace(b, characteristic_energy=b.characteristic_energy / (1 + u)), c


def lower_limit(v, s, b, c, u):
    return s, b, replace(c, limit_exit=c.limit_exit * 10 ** (-3 * u))


def lower_challenge_fraction(v, s, b, c, u):
    return s, b, replace(c, challenge_fraction=c.challenge_fraction * 10 ** (-3 * u))


WORSE = (
    more_vapour, more_humid, hotter, higher_up, damper_before, more_water_stands, more_flow, thinner_bed,
    smaller_face, coarser_granules, less_pore_volume, weaker_carbon, lower_limit, lower_challenge_fraction,
)  # fmt: skip
steps = st.one_of(st.floats(0.0, 1.0), st.sampled_from([1e-9, 1e-6, 1e-3]))


@pytest.mark.parametrize("worse", WORSE)
@given(world=worlds(), step=steps)
def test_no_step_for_the_worse_lengthens_the_time(worse, world, step):
    vapour, *parts = world
    before = run_chain(*parts).breakthrough_time
    after = run_chain(*worse(vapour, *parts, step)).breakthrough_time
    assert np.isfinite(before)
    assert before >= 0
    assert after <= before * (1 + 1e-9) + SLACK


class Many:
    """Some ten thousand random worlds at once."""

    SIZE = 12_000

    def __init__(self, start):
        rng = self.rng = np.random.default_rng(start)
        n = self.SIZE

        def logs(low, high):
            return np.exp(rng.uniform(np.log(low), np.log(high), n))

        self.which = rng.integers(0, len(VAPOURS), n)
        temperature = rng.uniform(273.15, 323.15, n)
        pressure = np.where(rng.random(n) < 0.5, 101325.0, at_pressure(rng.uniform(0.0, 3000.0, n)))
        area, depth, density = logs(10e-4, 150e-4), logs(3e-3, 8e-2), rng.uniform(250.0, 700.0, n)
        bed = Bed(
            logs(5e-3 / 60, 0.2 / 60), area * depth * density, area, density, logs(2e-4, 6e-3),
            rng.uniform(0.3, 0.6, n), rng.uniform(0.2e-3, 1e-3, n), rng.uniform(10e3, 30e3, n),
            np.where(rng.random(n) < 0.6, 0.0, rng.random(n)),
        )  # fmt: skip
        self.beside_water = rng.random(n) < 0.4, rng.uniform(0.5, 1.0, n)
        sorbate = self.at(temperature)
        saturated = np.minimum(1.0, sorbate.saturation_pressure / pressure)
        humidity = np.where(rng.random(n) < 0.2, rng.choice([0.0, 0.5, 0.85, 1.0], n), rng.uniform(0.0, 1.0, n))
        challenge = Challenge(
            saturated * logs(1e-8, 1.0), temperature, pressure, humidity, logs(1e-4, 0.2), logs(1e-12, 1e-3)
        )
        self.parts = (sorbate, bed, challenge)
        self.outcome = run_chain(*self.parts)

    def at(self, temperature):
        """Properties of each row's vapour at each row's temperature."""
        rows = np.empty((5, self.SIZE))
        for i in np.unique(self.which):
            here = self.which == i
            s = sorbate_of(VAPOURS[i], temperature[here])
            for k, f in enumerate(fields(Sorbate)[:5]):
                rows[k, here] = getattr(s, f.name)
        return Sorbate(*rows, *self.beside_water)


@pytest.fixture(scope="module")
def many():
    return Many(20260504)


def test_the_random_worlds_are_worth_testing(many):
    time = many.outcome.breakthrough_time
    searched = many.outcome.planned_fraction > many.parts[2].volume_fraction
    assert np.all(np.isfinite(time))
    assert np.all(time >= 0)
    assert 0.25 < np.mean(time > 0) < 0.9
    assert np.mean(searched) > 0.05
    assert set(np.unique(many.outcome.rate_model)) == {0, 1, 2}
    assert set(np.unique(many.outcome.capacity_set_by)) == {0, 1, 2, 3}


@pytest.mark.parametrize("worse", WORSE)
def test_no_step_for_the_worse_lengthens_any_of_many(worse, many):
    step = many.rng.choice([1e-6, 1e-3, 0.03, 0.3, 1.0], many.SIZE) * many.rng.random(many.SIZE)
    before = many.outcome.breakthrough_time
    after = run_chain(*worse(many.at, *many.parts, step)).breakthrough_time
    longer = after - before * (1 + 1e-9) - SLACK
    assert longer.max() <= 0
    assert np.mean(after < before) > 0.05  # the step does something


def plain_arguments(sorbate, bed, challenge):
    """Our SI in the units of the plain writing."""
    return {
        "T": challenge.temperature, "P": challenge.pressure, "RH": challenge.relative_humidity,
        "challenge_fraction": challenge.challenge_fraction, "limit_exit": challenge.limit_exit,
        "M": sorbate.molar_mass * 1e3, "psat": sorbate.saturation_pressure, "dL": sorbate.liquid_density / 1e3,
        "Pe": sorbate.molar_polarization * 1e6, "vD": sorbate.diffusion_volume * 1e6,
        "Q": bed.flow_rate * 6e7, "W": bed.sorbent_mass * 1e3, "A": bed.face_area * 1e4,
        "rhoB": bed.bulk_density / 1e3, "dp": bed.granule_diameter * 1e2, "eps": bed.void_fraction,
        "W0": bed.micropore_volume * 1e3, "E0": bed.characteristic_energy / 1e3,
        "standing": sorbate.standing_water, "before": bed.water_share,
    }  # fmt: skip


def rows(part, places):
    """Some rows of a dataclass of arrays, as columns."""
    return type(part)(*(getattr(part, f.name)[places][:, np.newaxis] for f in fields(part)))


def plain_time(plain, c, parts):
    """Plain time [s]; a vapour that mixes with water has the longer of the two treatments."""
    arguments = plain_arguments(*parts)
    pushed, kept = (plain(c, keeps_pores=keeps, **arguments).time for keeps in (False, True))
    return np.where(parts[0].mixes_with_water, np.maximum(pushed, kept), pushed) * 60.0


def scan(plain, parts, points=4000):
    """Longest plain time [s] at the concentration or any above it, by brute force."""
    sorbate, _, challenge = parts
    low = np.log(challenge.volume_fraction)
    high = np.maximum(low, np.log(sorbate.saturation_pressure / challenge.pressure))
    c = np.exp(low + (high - low) * np.linspace(0.0, 1.0, points))
    times = plain_time(plain, c, parts)
    return times.max(axis=1), times[:, 0], c[np.arange(len(c)), times.argmax(axis=1)]


def test_the_time_is_the_longest_that_the_plain_model_gives_for_this_or_more_vapour(many, plain):
    time, asked = many.outcome.breakthrough_time, many.parts[2].volume_fraction
    searched = np.nonzero(many.outcome.planned_fraction > asked)[0][:700]
    for places in np.array_split(searched, 20):
        longest, _, best = scan(plain, [rows(p, places) for p in many.parts])
        ours = time[places]
        # never below what any tried concentration gives, and only as far above as the grid is coarse
        assert np.all(ours >= longest * (1 - 1e-9) - SLACK)
        planned = many.outcome.planned_fraction[places][:, np.newaxis]
        near = plain_time(plain, planned, [rows(p, places) for p in many.parts])[:, 0]
        assert ours == pytest.approx(near, rel=1e-6, abs=SLACK)
        smooth = longest > 0.9 * ours
        assert np.mean(smooth) > 0.95
        assert np.median(np.abs(np.log(best[smooth] / many.outcome.planned_fraction[places][smooth]))) < 0.02


def test_where_it_is_not_searched_it_is_the_plain_model_and_nothing_above_is_longer(many, plain):
    asked = many.parts[2].volume_fraction
    kept = np.nonzero(many.outcome.planned_fraction == asked)[0]
    held = kept[many.outcome.breakthrough_time[kept] > 0][:600]
    gone = kept[many.outcome.breakthrough_time[kept] == 0][:300]
    for places in (*np.array_split(held, 10), *np.array_split(gone, 5)):
        longest, here, _ = scan(plain, [rows(p, places) for p in many.parts], points=1000)
        assert many.outcome.breakthrough_time[places] == pytest.approx(here, rel=1e-8, abs=SLACK)
        assert np.all(longest <= here * (1 + 1e-8) + SLACK)


def test_a_bed_never_lasts_longer_than_it_can_hold_vapour_at_equilibrium(many, plain):
    # also where the time is that of a higher concentration: less than the ideal time at the one asked for
    sorbate, bed, challenge = many.parts
    treatments = [
        plain(challenge.volume_fraction, keeps_pores=keeps, **plain_arguments(*many.parts)) for keeps in (False, True)
    ]
    wet = np.where(sorbate.mixes_with_water, np.maximum(*(t.wet for t in treatments)), treatments[0].wet)
    breath = (
        challenge.volume_fraction * sorbate.molar_mass * np.maximum(challenge.pressure, 101325.0) / (8.314462 * 293.15)
    )
    ideal = np.minimum(treatments[0].dry, wet) * bed.sorbent_mass / (breath * bed.flow_rate)
    # a vapour that mixes with water may have the time of a higher concentration, at which it does push water out
    favourable = ~many.outcome.convex & ~sorbate.mixes_with_water
    assert np.mean(favourable) > 0.4
    assert np.all((many.outcome.breakthrough_time <= ideal * (1 + 1e-6))[favourable])


def test_humid_air_never_leaves_more_than_the_rule_of_thumb_does_of_the_dry_time(many):
    sorbate, bed, challenge = many.parts
    dry_carbon = replace(bed, water_share=0.0)
    dry = run_chain(sorbate, dry_carbon, replace(challenge, relative_humidity=0.0)).breakthrough_time
    rule = np.interp(challenge.relative_humidity, [0.5, 0.85], [1.0, 0.5])
    assert np.all(many.outcome.breakthrough_time <= rule * dry * (1 + 1e-9) + SLACK)


WELL_HELD = ("toluene", "m-xylene", "styrene", "cyclohexane", "n-butyl acetate", "tetrachloroethylene", "n-heptane")


@pytest.mark.parametrize("name", WELL_HELD)
@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.65])
def test_the_usual_case_is_not_searched(name, humidity, pair):
    vapour = respcalc.find_vapour(name)
    ppm = np.array([50.0, 100.0, 300.0, 1000.0])
    bed = Bed(20e-3 / 60, *(getattr(pair, f.name).value for f in fields(Bed)[1:-1]))
    outcome = run_chain(sorbate_of(vapour, 298.15), bed, Challenge(ppm * 1e-6, 298.15, 101325.0, humidity, 0.01, 1e-5))
    assert np.all(outcome.planned_fraction == ppm * 1e-6)
    assert np.all(outcome.breakthrough_time > 0)
    assert not np.any(outcome.convex)


def test_arrays_of_any_mix_agree_with_one_case_at_a_time():
    vapour = respcalc.find_vapour("benzene")
    bed = Bed(20e-3 / 60, 0.045, 45e-4, 454.5, 1.3e-3, 0.4, 0.454e-3, 19.7e3)
    fraction, humidity = np.array([1e-7, 1e-5, 1e-3])[:, np.newaxis], np.array([0.0, 0.6, 0.9, 1.0])
    for c, rh in ((fraction, humidity), (1e-7, humidity), (fraction, 0.9)):
        outcome = run_chain(sorbate_of(vapour, 298.15), bed, Challenge(c, 298.15, 101325.0, rh, 0.01, 1e-8))
        time = outcome.breakthrough_time
        assert time.shape == np.broadcast_shapes(np.shape(c), np.shape(rh))
        for place in np.ndindex(time.shape):
            one = Challenge(
                float(np.broadcast_to(c, time.shape)[place]), 298.15, 101325.0,
                float(np.broadcast_to(rh, time.shape)[place]), 0.01, 1e-8,
            )  # fmt: skip
            alone = run_chain(sorbate_of(vapour, 298.15), bed, one)
            assert float(alone.breakthrough_time) == pytest.approx(time[place], rel=1e-12)
            assert float(alone.planned_fraction) == pytest.approx(outcome.planned_fraction[place], rel=1e-9)


def test_a_great_many_rows_are_taken_in_blocks_without_a_seam(many):
    (time,), convex = run_many(*many.parts)
    assert np.array_equal(convex, many.outcome.convex)
    assert time == pytest.approx(many.outcome.breakthrough_time, rel=1e-12, abs=1e-12)
    # and where every one of them is searched, over several blocks of both kinds
    sorbate = sorbate_of(respcalc.find_vapour("benzene"), 298.15)
    bed = Bed(20e-3 / 60, 0.045, 45e-4, 454.5, 1.3e-3, 0.4, 0.454e-3, 19.7e3)
    c = np.geomspace(5e-8, 1e-6, 20_000)
    (time,), _ = run_many(sorbate, bed, Challenge(c, 298.15, 101325.0, 0.9, 0.01, 1e-8))
    assert time.shape == c.shape
    assert np.all(np.diff(time) <= 1e-9 * time[1:])
    for i in (0, 249, 250, 14_999, 15_000, 19_999):
        alone = run_chain(sorbate, bed, Challenge(c[i], 298.15, 101325.0, 0.9, 0.01, 1e-8))
        assert alone.planned_fraction > c[i]
        assert float(alone.breakthrough_time) == pytest.approx(time[i], rel=1e-12)


@pytest.mark.parametrize("fraction", [1e-9, 1e-15, 1e-30, 1e-60])
@pytest.mark.parametrize("humidity", [0.0, 1.0])
@pytest.mark.parametrize("name", ["methanol", "acetone", "toluene", "diethyl ether"])
def test_next_to_no_vapour_gives_a_number_and_no_warning(name, humidity, fraction):
    bed = Bed(20e-3 / 60, 0.045, 45e-4, 454.5, 1.3e-3, 0.4, 0.454e-3, 10e3)
    outcome = run_chain(
        sorbate_of(respcalc.find_vapour(name), 298.15), bed,
        Challenge(fraction, 298.15, 101325.0, humidity, 0.01, 1e-16),
    )  # fmt: skip
    assert np.isfinite(outcome.breakthrough_time)
    assert outcome.breakthrough_time >= 0
    assert outcome.planned_fraction >= fraction


def test_a_saturated_or_supersaturated_trace_is_held_at_the_pore_volume():
    # the heavy trace that stands in for a whole mixture may pass its own saturation
    sorbate = sorbate_of(respcalc.find_vapour("styrene"), 298.15)
    bed = Bed(20e-3 / 60, 0.045, 45e-4, 454.5, 1.3e-3, 0.4, 0.454e-3, 19.7e3)
    most = sorbate.saturation_pressure / 101325.0
    outcome = run_chain(sorbate, bed, Challenge(np.array([1.0, 1.5]) * most, 298.15, 101325.0, 0.5, 0.01, 1e-5))
    assert outcome.capacity == pytest.approx(0.454e-3 * sorbate.liquid_density)
    assert outcome.breakthrough_time[1] < outcome.breakthrough_time[0]


def test_a_convex_isotherm_is_marked_at_the_concentration_asked_for():
    bed = Bed(20e-3 / 60, 0.045, 45e-4, 454.5, 1.3e-3, 0.4, 0.454e-3, 19.7e3)
    c = np.array([1e-4, 5e-2])
    outcome = run_chain(
        sorbate_of(respcalc.find_vapour("methanol"), 298.15), bed, Challenge(c, 298.15, 101325.0, 0.3, 0.01, 2e-5)
    )
    assert outcome.convex.tolist() == [True, False]


def test_a_stricter_criterion_is_never_met_later_at_the_edge_of_a_short_bed():
    # where the skew correction stops being raised, a bed that just holds the wave is the hardest case
    x = np.geomspace(1e-5, 1e-2, 1501)
    for name in ("methanol", "acetone", "n-hexane", "toluene"):
        sorbate = sorbate_of(respcalc.find_vapour(name), 298.15)
        for depth in np.linspace(0.5e-2, 4e-2, 30):
            bed = Bed(20e-3 / 60, 45e-4 * depth * 450.0, 45e-4, 450.0, 2e-4, 0.4, 0.8e-3, 25e3)
            time = run_chain(sorbate, bed, Challenge(1e-2, 298.15, 101325.0, 0.0, x, 1.0)).breakthrough_time
            assert np.all(np.diff(time) >= -1e-12 * time[1:])
