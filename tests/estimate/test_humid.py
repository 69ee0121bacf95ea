"""Humid air, 0 to 100 % RH, 0 to 50 degC, sea level to 3000 m, for every vapour that can be estimated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import respcalc
from respcalc import Quantity, describe_air, describe_bed, estimate_service_life, sweep_service_life
from respcalc.cartridges import SEALED, describe_history
from respcalc.core.errors import MissingProperty
from respcalc.estimate import reduced_potential
from respcalc.prediction import Bed, Challenge, run_chain, sorbate_of
from respcalc.workplace import pressure_at_altitude, water_saturation_pressure

OWN_LIMIT = {"exposure_limit": "50 ppm", "exposure_limit_authority": "test (invented)"}


def _usable():
    for name, _ in respcalc.known_vapours():
        found = respcalc.find_vapour(name)
        if found.not_physically_adsorbed:
            continue
        try:
            sorbate_of(found, np.array([273.15, 323.15]))
        except MissingProperty:
            continue
        yield found


VAPOURS = tuple(_usable())
MIXING = tuple(v for v in VAPOURS if v.mixes_with_water)
CELSIUS, METRES, HUMIDITY = np.linspace(0.0, 50.0, 21), np.linspace(0.0, 3000.0, 13), np.linspace(0.0, 1.0, 41)

# half of the examples are of the 35 vapours that mix with water
vapours = st.one_of(st.sampled_from(VAPOURS), st.sampled_from(MIXING))
celsius = st.one_of(st.floats(0.0, 50.0), st.sampled_from([0.0, 25.0, 50.0]))
metres = st.one_of(st.just(0.0), st.floats(0.0, 3000.0))
humidities = st.one_of(st.floats(0.0, 1.0), st.sampled_from([0.0, 0.5, 0.85, 1.0]))
shares_of_saturation = st.floats(-5.0, -0.7).map(lambda x: 10.0**x)
histories = st.one_of(st.just(SEALED), st.floats(0.0, 1.0).map(lambda h: describe_history(dampest_air=h)))
beds = st.builds(
    lambda grams, depth: describe_bed(
        "bed (invented)", sorbent_mass=f"{grams} g", bed_depth=f"{depth} cm", bulk_density="0.45 g/cm3", in_parallel=2
    ),
    st.floats(25.0, 90.0),
    st.floats(1.2, 4.0),
)


def pascal(at):
    return Quantity(pressure_at_altitude.si(altitude=np.asarray(at, dtype=float)), "Pa")


def times(vapour, amount, bed, temperature, at, humidity, history=SEALED):
    """Predicted times and lives [min] along whichever argument is an array; NaN where there is none."""
    frame = sweep_service_life(
        vapour, amount, cartridge=bed, temperature=Quantity(temperature, "degC"), relative_humidity=humidity,
        pressure=pascal(at), flow_rate="40 L/min", history=history, **OWN_LIMIT,
    )  # fmt: skip
    assert ((frame["reason"] == "") == frame["breakthrough_time [min]"].notna()).all()
    return [frame[f"{name} [min]"].to_numpy() for name in ("breakthrough_time", "service_life")]


def ppm_of(vapour, share, temperature, at):
    """A concentration as a share of saturation in some air."""
    held = vapour.saturation_pressure(273.15 + temperature).value / float(pascal(at).magnitude)
    return Quantity(min(5e4, share * min(held, 1.0) * 1e6), "ppm")


def never_rise(columns):
    for column in columns:
        known = column[~np.isnan(column)]
        assert (known >= 0).all()
        assert (np.diff(known) <= 1e-9 * known[:-1] + 1e-7).all()


# --- never longer for damper, hotter or thinner air


@given(vapours, beds, shares_of_saturation, celsius, metres, histories)
def test_damper_air_never_lengthens(vapour, bed, share, warm, high, history):
    found = times(vapour, ppm_of(vapour, share, warm, high), bed, warm, high, HUMIDITY, history)
    never_rise(found)
    # what is outside the model in damp air is not inside it in damper air
    assert (np.diff(np.isnan(found[0]).astype(int)) >= 0).all()


@given(vapours, beds, shares_of_saturation, humidities, metres, histories)
def test_hotter_air_never_lengthens_at_the_same_ppm(vapour, bed, share, damp, high, history):
    never_rise(times(vapour, ppm_of(vapour, share, 0.0, high), bed, CELSIUS, high, damp, history))


@given(vapours, beds, shares_of_saturation, humidities, metres, histories)
def test_hotter_air_never_lengthens_at_the_same_milligrams(vapour, bed, share, damp, high, history):
    """The same mass in a cubic metre of hotter air is more ppm, so it shortens more."""
    ppm = ppm_of(vapour, share, 0.0, high)
    milligrams = _milligrams(vapour, ppm, 0.0, high)
    by_mass = times(vapour, milligrams, bed, CELSIUS, high, damp, history)
    never_rise(by_mass)
    by_moles = times(vapour, ppm, bed, CELSIUS, high, damp, history)
    for mass, moles in zip(by_mass, by_moles, strict=True):
        both = ~(np.isnan(mass) | np.isnan(moles))
        assert (mass[both] <= moles[both] * (1 + 1e-6) + 1e-6).all()


@given(vapours, beds, shares_of_saturation, humidities, celsius, histories)
def test_thinner_air_never_lengthens_at_the_same_ppm(vapour, bed, share, damp, warm, history):
    never_rise(times(vapour, ppm_of(vapour, share, warm, 0.0), bed, warm, METRES, damp, history))


@given(vapours, beds, shares_of_saturation, humidities, celsius, histories)
def test_thinner_air_never_lengthens_at_the_same_milligrams(vapour, bed, share, damp, warm, history):
    """The same mass in a cubic metre of thinner air is more ppm; a breath is counted at sea level and holds more."""
    milligrams = _milligrams(vapour, ppm_of(vapour, share, warm, 0.0), warm, 0.0)
    never_rise(times(vapour, milligrams, bed, warm, METRES, damp, history))


def _milligrams(vapour, ppm, temperature, at):
    moles = ppm.magnitude * 1e-6 * float(pascal(at).magnitude) / (8.314462618 * (273.15 + temperature))
    return f"{moles * vapour.molar_mass.value * 1e6!r} mg/m3"


@given(vapours, beds, shares_of_saturation, celsius, humidities)
def test_a_carbon_that_was_in_damper_air_never_lasts_longer(vapour, bed, share, warm, damp):
    ppm = ppm_of(vapour, share, warm, 0.0)
    before = [SEALED, *(describe_history(dampest_air=h) for h in np.linspace(0.0, 1.0, 11))]
    each = [times(vapour, ppm, bed, warm, 0.0, damp, history) for history in before]
    for column in (0, 1):
        lives = np.array([float(one[column][0]) for one in each])
        assert lives[1] == pytest.approx(lives[0], nan_ok=True)  # open in dry air is as sealed
        never_rise([lives])
        # whether the isotherm is convex in this air is no matter of the store
        assert np.isnan(lives).all() or not np.isnan(lives).any()


@pytest.mark.parametrize("store", [None, *range(0, 101, 5)])
def test_a_damp_store_does_not_turn_a_refused_case_into_an_accepted_one(pair, store):
    """What stands on the carbon may set the time, and the isotherm of the air itself is as convex as before."""
    history = SEALED if store is None else describe_history(dampest_air=f"{store} %")
    one = life("nitroethane", "0.6 ppm", "50 %", pair, history)
    assert "isotherm is convex" in "; ".join(one.outside_model)
    frame = sweep_service_life(
        "nitroethane", "0.6 ppm", cartridge=pair, temperature="25 degC", relative_humidity="50 %", pressure=pascal(0.0),
        flow_rate="40 L/min", history=history, **OWN_LIMIT,
    )  # fmt: skip
    assert "isotherm is convex" in frame["reason"][0]
    assert np.isnan(frame["service_life [min]"][0])


@given(vapours, beds, shares_of_saturation, celsius, st.floats(0.0, 0.5))
def test_a_store_no_damper_than_the_air_of_ordinary_tests_costs_nothing(vapour, bed, share, warm, store):
    ppm = ppm_of(vapour, share, warm, 0.0)
    sealed, stored = (
        times(vapour, ppm, bed, warm, 0.0, HUMIDITY, history)
        for history in (SEALED, describe_history(dampest_air=store))
    )
    for one, other in zip(sealed, stored, strict=True):
        assert np.allclose(one, other, rtol=1e-9, atol=1e-9, equal_nan=True)


# --- no jump with the humidity


def grid_of_humidity(vapour, bed, temperature, fraction, share_before, steps=1001):
    """Predicted times [s] along the humidity, in steps of 0.1 % RH."""
    challenge = Challenge(fraction, temperature, 101325.0, np.linspace(0.0, 1.0, steps), 0.01, 1.0)
    bed = Bed(
        40e-3 / 60 / 2, bed.sorbent_mass.value, bed.face_area.value, bed.bulk_density.value,
        bed.granule_diameter.value, bed.void_fraction.value, bed.micropore_volume.value,
        bed.characteristic_energy.value, share_before,
    )  # fmt: skip
    return run_chain(sorbate_of(vapour, temperature), bed, challenge).breakthrough_time


@given(vapours, beds, shares_of_saturation, celsius, st.one_of(st.just(0.0), st.floats(0.0, 1.0)))
def test_a_tenth_of_a_per_cent_of_humidity_never_makes_a_jump(vapour, bed, share, warm, before):
    """At most 2 % of the time in dry air, and 6 % of the time itself unless that is nearly gone."""
    kelvin = 273.15 + warm
    assume(reduced_potential(vapour) < 1.4)  # held worse than that it is outside the calibration
    fraction = share * min(1.0, vapour.saturation_pressure(kelvin).value / 101325.0)
    found = grid_of_humidity(vapour, bed, kelvin, fraction, before)
    fall = -np.diff(found)
    assert (fall <= 0.02 * found[0] + 1e-6).all()
    much = found[:-1] > 0.1 * found[0]
    assert (fall[much] <= 0.06 * found[:-1][much] + 1e-6).all()


# --- vapours that mix with water


@given(st.sampled_from(VAPOURS), beds, shares_of_saturation, celsius, st.floats(0.0, 1.0))
def test_a_vapour_that_mixes_lies_between_dry_air_and_one_that_does_not(vapour, bed, share, warm, before):
    kelvin = 273.15 + warm
    fraction = share * min(1.0, vapour.saturation_pressure(kelvin).value / 101325.0)
    sorbate = sorbate_of(vapour, kelvin)
    challenge = Challenge(fraction, kelvin, 101325.0, HUMIDITY, 0.01, 1.0)
    one = Bed(
        20e-3 / 60, bed.sorbent_mass.value, bed.face_area.value, bed.bulk_density.value, bed.granule_diameter.value,
        bed.void_fraction.value, bed.micropore_volume.value, bed.characteristic_energy.value, before,
    )  # fmt: skip
    mixing, apart = (
        run_chain(replace(sorbate, mixes_with_water=mixes), one, challenge).breakthrough_time for mixes in (True, False)
    )
    dry_air = run_chain(replace(sorbate, mixes_with_water=True), one, replace(challenge, relative_humidity=0.0))
    assert (mixing >= apart).all()
    assert (mixing <= float(dry_air.breakthrough_time) * (1 + 1e-12)).all()


SOLVENT = {
    "molar_mass": "72.1 g/mol", "boiling_point": "66 degC", "saturation_pressure": "21.6 kPa",
    "saturation_temperature": "25 degC", "liquid_density": "0.88 g/cm3", "refractive_index": 1.405,
}  # fmt: skip


def own(mixes):
    return respcalc.define_vapour("solvent X (invented)", **SOLVENT, mixes_with_water=mixes)


@pytest.fixture(scope="module")
def deep():
    """A canister: in a bed as thin as a cartridge's the treatment of mixing vapours hardly ever decides."""
    return describe_bed("deep (invented)", sorbent_mass="200 g", face_area="60 cm2", bed_depth="7.4 cm", in_parallel=2)


def life(vapour, ppm, humidity, bed, history=SEALED):
    air = describe_air(temperature="25 degC", relative_humidity=humidity, altitude="0 m")
    return estimate_service_life(
        vapour, ppm, cartridge=bed, air=air, work_rate="40 L/min", history=history, **OWN_LIMIT
    )


@pytest.mark.parametrize(
    ("humidity", "gains"), [("10 %", 1.0), ("50 %", 1.0), ("57 %", 1.08), ("61 %", 1.12), ("70 %", 1.0), ("95 %", 1.0)]
)
def test_not_known_whether_it_mixes_counts_as_not(deep, humidity, gains):
    """Half its pores full of water, a bed holds a mixing vapour a little longer; the damper carbon leaves no more."""
    unknown, apart, mixing = (life(own(mixes), "1 ppm", humidity, deep) for mixes in (None, False, True))
    assert unknown.life.value == apart.life.value
    assert unknown.breakthrough.value == apart.breakthrough.value
    assert unknown.outside_model == apart.outside_model
    if gains > 1:
        assert gains * apart.life.value < mixing.life.value < 1.15 * apart.life.value
    else:
        assert mixing.life.value == apart.life.value


# --- what set it, in words


@pytest.mark.parametrize(
    ("vapour", "ppm", "humidity", "before", "words"),
    [
        ("toluene", "200 ppm", "30 %", None, "nothing: water takes no capacity here"),
        ("toluene", "200 ppm", "70 %", None, "the 85 % rule"),
        ("acetone", "500 ppm", "30 %", None, "nothing: water takes no capacity here"),
        ("dichloromethane", "500 ppm", "80 %", None, "the work of pushing water out (Polanyi-Manes)"),
        ("acetone", "500 ppm", "85 %", None, "the work of pushing water out (Polanyi-Manes)"),
        ("tetrahydrofuran", "1 ppm", "65 %", None, "the pores that water fills: the vapour mixes with water"),
        ("toluene", "200 ppm", "50 %", "80 %", "the water on the carbon before use, of which part or all stands"),
        ("toluene", "200 ppm", "88 %", "80 %", "the 85 % rule"),
        ("toluene", "200 ppm", "50 %", "50 %", "nothing: water takes no capacity here"),
    ],
)
def test_the_result_says_what_set_the_humidity(pair, deep, vapour, ppm, humidity, before, words):
    history = SEALED if before is None else describe_history(dampest_air=before)
    found = life(vapour, ppm, humidity, deep if vapour == "tetrahydrofuran" else pair, history)
    (told,) = [c for c in found.basis.choices if c.startswith("humidity: ")]
    assert told.startswith(f"humidity: the least of what is credible here, set by {words}")
    sealed = any("stored sealed and dry" in w for w in found.basis.warnings)
    assert sealed == (before is None and float(humidity.split()[0]) > 50)
    (water,) = [d for d in found.basis.data if d.quantity == "water_share"]
    assert water == history.water_share


# --- one case, the sweep, and every measure of humidity agree


@pytest.mark.parametrize("name", ["toluene", "acetone", "dichloromethane", "2-propanol", "n-hexane"])
def test_sweep_and_estimate_agree_on_a_damp_cartridge(pair, name):
    history = describe_history(dampest_air="72 %")
    humidity = np.array([0.0, 0.3, 0.62, 0.78, 0.9, 1.0])
    predicted, usable = times(respcalc.find_vapour(name), "400 ppm", pair, 27.0, 500.0, humidity, history)
    for i, damp in enumerate(humidity):
        one = estimate_service_life(
            name, "400 ppm", cartridge=pair, work_rate="40 L/min", history=history, **OWN_LIMIT,
            air=describe_air(temperature="27 degC", relative_humidity=float(damp), altitude="500 m"),
        )  # fmt: skip
        if one.outside_model:
            assert np.isnan(predicted[i])
            continue
        assert predicted[i] == pytest.approx(one.breakthrough.value / 60, rel=1e-12, abs=1e-12)
        assert usable[i] == pytest.approx(one.life.value / 60, rel=1e-12, abs=1e-12)


def measures_of(humidity, temperature, pressure):
    """The same air by dew point, wet bulb, humidity ratio and grams, worked out apart from the library's reader."""
    from scipy.optimize import brentq

    def saturation(t):
        return water_saturation_pressure.si(temperature=t)

    vapour = humidity * saturation(temperature)
    ratio = 18.015268 / 28.966 * vapour / (pressure - vapour)

    def heat(wet):
        at, t = wet - 273.15, temperature - 273.15
        held = 18.015268 / 28.966 * saturation(wet) / (pressure - saturation(wet))
        return (2501.0 - 2.326 * at) * held - 1.006 * (t - at) - ratio * (2501.0 + 1.86 * t - 4.186 * at)

    measures = {
        "humidity_ratio": f"{ratio!r} g/g",
        "absolute_humidity": f"{vapour * 18.015268 / (8.31446261815324 * temperature)!r} g/m3",
    }
    dew = brentq(lambda t: saturation(t) - vapour, 236.0, temperature + 1e-6, xtol=1e-10)
    measures["dew_point"] = f"{min(dew, temperature) - 273.15:.9f} degC"
    wet = brentq(heat, 240.0, temperature + 1e-6, xtol=1e-10)
    if wet > 273.16:
        measures["wet_bulb"] = f"{min(wet, temperature) - 273.15:.9f} degC"
    return measures


@given(vapours, shares_of_saturation, st.floats(5.0, 50.0), st.floats(0.05, 0.99), metres)
def test_every_measure_of_the_same_air_gives_the_same_life(vapour, share, warm, humidity, high):
    bed = describe_bed("pair (invented)", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
    ppm = ppm_of(vapour, share, warm, high)
    usual = {"temperature": f"{warm!r} degC", "altitude": f"{high!r} m"}
    task = {"cartridge": bed, "work_rate": "40 L/min", **OWN_LIMIT}
    expected = estimate_service_life(vapour, ppm, air=describe_air(relative_humidity=humidity, **usual), **task)
    measures = measures_of(humidity, 273.15 + warm, float(pascal(high).magnitude))
    for name, value in measures.items():
        one = estimate_service_life(vapour, ppm, air=describe_air(**{name: value}, **usual), **task)
        for which in ("breakthrough", "life"):
            old, new = getattr(expected, which).value, getattr(one, which).value
            assert new == pytest.approx(old, rel=2e-5, abs=0.5), (name, value)


def test_the_cool_hours_of_the_same_moisture_are_the_shorter_ones_when_humidity_decides(pair):
    """Cooler air of one dew point is more humid: neither hour is always the worse, so both are to be estimated."""
    lives = {}
    for celsius_ in (16.0, 32.0):
        for name, ppm in (("toluene", "100 ppm"), ("n-pentane", "100 ppm")):
            air = describe_air(temperature=f"{celsius_} degC", dew_point="14.5 degC", altitude="0 m")
            found = estimate_service_life(name, ppm, cartridge=pair, air=air, work_rate="40 L/min", **OWN_LIMIT)
            assert any("cooler hours" in w for w in found.basis.warnings)
            lives[name, celsius_] = found.life.value
    assert lives["toluene", 16.0] < lives["toluene", 32.0]


def test_which_vapours_can_be_estimated():
    """The lists that the tests above draw from."""
    assert len(VAPOURS) > 200
    assert 30 < len(MIXING) < 60
