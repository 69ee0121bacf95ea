"""Water on a cartridge before use: what air can have brought it, what it may hold, and what is refused."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import Quantity
from respcalc.cartridges import SEALED, CarbonHistory, describe_bed, describe_history
from respcalc.core.errors import CartridgeError, DomainError, UnitsError
from respcalc.models.water import water_share

PAIR = describe_bed(
    "pair (invented)", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2,
    micropore_volume="0.454 cm3/g", characteristic_energy="19.7 kJ/mol",
)  # fmt: skip
WORN = {
    "drawn_time": "20 min", "stored_at": "0 %", "cartridge": PAIR, "flow_rate": "50 L/min", "temperature": "25 degC",
    "saturation_pressure": "3.170 kPa",
}  # fmt: skip
WATER = 0.454 * 45 * 18.015 / 18.07  # g in full pores of one cartridge


def share(**given_):
    return describe_history(**given_).water_share.value


def do_do(h, sites, site_constant, limit, cluster_constant):
    """Do and Do's isotherm, written out, in shares of the pores."""
    powers = [h**n for n in range(1, 11)]
    held = sites * site_constant * sum(n * p for n, p in enumerate(powers, 1)) / (1 + site_constant * sum(powers))
    return min(1.0, held + limit * cluster_constant * h**5 / (1 + cluster_constant * h**5))


def between(h):
    """The geometric middle of the typical carbon and the dampest of twenty."""
    return (do_do(h, 0.0279, 19.1, 0.929, 6.23) * do_do(h, 0.195, 5.23, 1.3, 5.30)) ** 0.5


# --- sealed, and open for long


def test_sealed_holds_no_water_and_is_not_damp():
    assert SEALED.water_share.value == 0.0
    assert not SEALED.damp
    assert SEALED.water_share.kind == "assumed"
    assert "kept sealed until use" in SEALED.water_share.note


@pytest.mark.parametrize(
    ("humidity", "filled", "damp"),
    [
        ("30 %", 0.102, False), ("49 %", 0.305, False), ("50 %", 0.323, False), ("51 %", 0.342, True),
        ("65 %", 0.672, True), ("85 %", 0.894, True),
    ],
)  # fmt: skip
def test_open_for_long_it_is_as_damp_as_a_carbon_damper_than_most_in_that_air(humidity, filled, damp):
    found = describe_history(dampest_air=humidity)
    assert found.water_share.value == pytest.approx(between(float(humidity[:-2]) / 100), rel=1e-9)
    assert found.water_share.value == pytest.approx(filled, abs=0.0006)
    assert found.damp is damp
    assert found.water_share.kind == "computed"
    assert found.water_share.source == "water_on_carbon_study"
    assert found.water_share.note == f"as damp as air of {humidity}; a carbon damper than most"


@given(st.floats(0.001, 1.0))
def test_damper_than_a_typical_carbon_and_no_damper_than_the_dampest(humidity):
    typical, dampest = (water_share.si(relative_humidity=humidity, carbon_dampness=d) for d in (0.0, 1.0))
    assert typical <= share(dampest_air=humidity) <= dampest


def test_open_in_bone_dry_air_is_as_sealed_but_not_assumed():
    dry = describe_history(dampest_air="0 %")
    assert dry.water_share.value == 0.0
    assert not dry.damp
    assert dry.water_share.kind == "computed"
    assert describe_history(dampest_air="0 %", **WORN).water_share.value == 0.0


def test_a_history_is_frozen_and_compares_by_value():
    found = describe_history(dampest_air="80 %")
    assert found == describe_history(dampest_air=0.80)
    assert isinstance(found, CarbonHistory)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.water_share = SEALED.water_share


def test_the_units_it_is_written_in_do_not_matter():
    there = share(dampest_air="85 %", **WORN | {"stored_at": "40 %"})
    other = WORN | {
        "drawn_time": Quantity(1 / 3, "h"), "stored_at": 0.4, "flow_rate": Quantity(3.0, "m**3/h"),
        "temperature": "77 degF", "saturation_pressure": "31.70 hPa",
    }  # fmt: skip
    assert share(dampest_air=Quantity(85, "percent"), **other) == pytest.approx(there, rel=1e-9)


# --- worn for a short time


def brought(minutes, litres, humidity, pascal, kelvin):
    """Grams of water in the air drawn in."""
    return minutes * litres * 1e-3 * humidity * pascal * 18.015 / (8.314462618 * kelvin)


@pytest.mark.parametrize("store", [0.0, 0.30, 0.55])
def test_a_short_wear_by_hand(store):
    """25 L/min through each, 25 degC, 85 % RH: 19.6 g/m3, 0.49 g/min on top of what the store left."""
    held, full = between(store) * WATER if store else 0.0, between(0.85) * WATER
    at = WORN | {"stored_at": f"{100 * store:g} %"}
    for minutes in (1, 5, 10):
        grams = held + brought(minutes, 25, 0.85, 3170.0, 298.15)
        assert grams < full
        found = share(dampest_air="85 %", **at | {"drawn_time": f"{minutes} min"})
        assert found == pytest.approx(grams / WATER, rel=1e-6)
    until = (full - held) / brought(1, 25, 0.85, 3170.0, 298.15)
    for minutes in (until * 1.000001, 60, 480):
        assert share(dampest_air="85 %", **at | {"drawn_time": f"{minutes!r} min"}) == share(dampest_air="85 %")


def test_from_a_sealed_pack_by_figures():
    assert share(dampest_air="85 %", **WORN) == pytest.approx(0.481, abs=0.001)
    assert between(0.85) * WATER / brought(1, 25, 0.85, 3170.0, 298.15) == pytest.approx(37.2, abs=0.1)


def test_the_flow_is_shared_by_the_cartridges():
    alone = describe_bed(
        "one (invented)", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=1,
        micropore_volume="0.454 cm3/g",
    )  # fmt: skip
    for_one = share(dampest_air="85 %", **WORN | {"cartridge": alone, "flow_rate": "25 L/min"})
    assert for_one == pytest.approx(share(dampest_air="85 %", **WORN), rel=1e-12)


def test_the_water_that_is_counted_is_never_more_than_the_store_left_and_the_air_brought():
    """In grams: the share of the pores, as liquid."""
    for store in (0.0, 0.4, 0.8):
        for humidity in (0.3, 0.6, 0.9, 1.0):
            for minutes in (0.5, 3, 15, 60, 300):
                at = WORN | {"drawn_time": f"{minutes} min", "stored_at": store}
                grams = share(dampest_air=humidity, **at) * WATER
                most = brought(minutes, 25, humidity, 3170.0, 298.15) + share(dampest_air=store) * WATER
                assert grams <= most * (1 + 1e-6)


def test_two_minutes_of_damp_air_do_not_dry_a_damp_store():
    stored = share(dampest_air="80 %")
    worn = share(dampest_air="90 %", **WORN | {"stored_at": "80 %", "drawn_time": "2 min"})
    assert stored < worn < share(dampest_air="90 %")
    assert worn - stored == pytest.approx(brought(2, 25, 0.9, 3170.0, 298.15) / WATER, rel=1e-6)


@pytest.mark.parametrize("minutes", ["0 min", "2 min", "8 h"])
@pytest.mark.parametrize("drier", ["0 %", "30 %", "80 %"])
def test_air_no_damper_than_the_store_changes_nothing(drier, minutes):
    worn = describe_history(dampest_air=drier, **WORN | {"stored_at": "80 %", "drawn_time": minutes})
    assert worn == describe_history(dampest_air="80 %")


def test_a_short_wear_says_so():
    note = describe_history(dampest_air="85 %", **WORN | {"stored_at": "40 %"}).water_share.note
    assert note == "stored at 40 %, then 20 min of air of 85 %; a carbon damper than most"
    long = describe_history(dampest_air="85 %", **WORN | {"drawn_time": "8 h"}).water_share.note
    assert long == "as damp as air of 85 %; a carbon damper than most"


def test_no_time_at_all_brings_nothing():
    for store in ("0 %", "35 %", "70 %"):
        at = WORN | {"drawn_time": "0 min", "stored_at": store}
        assert share(dampest_air="85 %", **at) == pytest.approx(share(dampest_air=store), rel=1e-12)
    assert not describe_history(dampest_air="85 %", **WORN | {"drawn_time": "0 min"}).damp


# --- monotone in everything

numbers = st.fixed_dictionaries(
    {
        "dampest_air": st.one_of(st.just(0.0), st.floats(1e-6, 1.0)),
        "stored_at": st.one_of(st.just(0.0), st.floats(1e-6, 1.0)),
        "drawn_time": st.floats(0.0, 600.0),
        "flow_rate": st.floats(5.0, 100.0),
        "temperature": st.floats(0.0, 50.0),
        "saturation_pressure": st.floats(0.7, 12.0),
        "sorbent_mass": st.floats(15.0, 300.0),
        "micropore_volume": st.floats(0.2, 0.8),
    }
)
UNITS = {"drawn_time": "min", "flow_rate": "L/min", "temperature": "degC", "saturation_pressure": "kPa"}


def worn_share(values):
    bed = describe_bed(
        "bed (invented)", sorbent_mass=f"{values['sorbent_mass']!r} g", face_area="90 cm2", bulk_density="0.45 g/cm3",
        micropore_volume=f"{values['micropore_volume']!r} cm3/g", in_parallel=1,
    )  # fmt: skip
    given_ = {name: f"{values[name]!r} {unit}" for name, unit in UNITS.items()}
    return share(dampest_air=values["dampest_air"], stored_at=values["stored_at"], cartridge=bed, **given_)


@pytest.mark.parametrize(
    ("what", "more", "sign"),
    [
        ("dampest_air", lambda x, u: x + u * (1 - x), 1),
        ("stored_at", lambda x, u: x + u * (1 - x), 1),
        ("drawn_time", lambda x, u: x * (1 + u), 1),
        ("flow_rate", lambda x, u: x * (1 + u), 1),
        ("saturation_pressure", lambda x, u: x * (1 + u), 1),
        ("temperature", lambda x, u: min(50.0, x + 20 * u), -1),  # at one saturation pressure: thinner gas
        ("sorbent_mass", lambda x, u: x * (1 + u), -1),
        ("micropore_volume", lambda x, u: x * (1 + u), -1),
    ],
)
@given(values=numbers, step=st.one_of(st.just(0.0), st.floats(1e-6, 1.0)))
def test_more_air_brings_no_less_and_more_carbon_holds_no_greater_share(what, more, sign, values, step):
    before, after = worn_share(values), worn_share(values | {what: more(values[what], step)})
    assert 0.0 <= after <= 1.0
    assert sign * (after - before) >= -1e-12


@given(values=numbers)
def test_worn_is_never_damper_than_open_for_ever_and_never_drier_than_its_store(values):
    store, air = share(dampest_air=values["stored_at"]), share(dampest_air=values["dampest_air"])
    assert store * (1 - 1e-12) <= worn_share(values) <= max(store, air) * (1 + 1e-12)


# --- refused


@pytest.mark.parametrize("missing", list(WORN))
def test_five_of_the_six_are_refused_by_name(missing):
    with pytest.raises(CartridgeError) as refused:
        describe_history(dampest_air="80 %", **{k: v for k, v in WORN.items() if k != missing})
    text = str(refused.value)
    assert text.startswith(f"{missing}: missing; give all of")
    assert all(name in text for name in WORN)


@pytest.mark.parametrize("only", list(WORN))
def test_one_of_the_six_names_the_other_five(only):
    with pytest.raises(CartridgeError) as refused:
        describe_history(dampest_air="80 %", **{only: WORN[only]})
    named = str(refused.value).split(": missing")[0].split(", ")
    assert sorted(named) == sorted(set(WORN) - {only})


@pytest.mark.parametrize(
    ("bad", "error", "says"),
    [
        (80, DomainError, ["dampest_air = 8000 %", 'write "80 %"']),
        ("80", DomainError, ["dampest_air = 8000 %", 'write "80 %"']),
        ("101 %", DomainError, ["dampest_air = 101 %", "0 up to 100 %"]),
        ("-1 %", DomainError, ["dampest_air = -1 %"]),
        ("damp", UnitsError, ["dampest_air = 'damp'"]),
        ("70-80 %", UnitsError, ["dampest_air", "range"]),
        ("18 g/m3", UnitsError, ["dampest_air = '18 g/m3'"]),
        (float("nan"), DomainError, ["dampest_air must be a finite number"]),
        (True, UnitsError, ["dampest_air", "truth value"]),
        (["80 %", "90 %"], DomainError, ["dampest_air: 2 values", "one value"]),
        (None, UnitsError, ["dampest_air = None: a value is needed", 'dampest_air="50 %"']),
    ],
)
def test_what_is_no_humidity_is_refused(bad, error, says):
    with pytest.raises(error) as refused:
        describe_history(dampest_air=bad)
    assert all(text in str(refused.value) for text in says), str(refused.value)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"drawn_time": 20}, "bare number"),
        ({"drawn_time": "20"}, "unit is missing"),
        ({"drawn_time": "-5 min"}, "-5 min"),
        ({"flow_rate": "25 g"}, "L/min"),
        ({"flow_rate": "0 L/min"}, "flow_rate = 0 L/min"),
        ({"temperature": "298"}, "unit is missing"),
        ({"temperature": "90 degC"}, "temperature = 90 degC"),
        ({"saturation_pressure": "0 kPa"}, "saturation_pressure = 0"),
        ({"stored_at": 40}, "stored_at = 4000 %"),
        ({"stored_at": "101 %"}, "0 up to 100 %"),
        ({"stored_at": "sealed"}, "stored_at = 'sealed'"),
        ({"drawn_time": ["5 min", "10 min"]}, "one value"),
    ],
)
@pytest.mark.parametrize("air", ["85 %", "0 %"])  # whether or not that air brings anything
def test_what_is_no_wear_is_refused_by_name(air, change, says):
    with pytest.raises((UnitsError, DomainError)) as refused:
        describe_history(dampest_air=air, **WORN | change)
    assert says in str(refused.value)
    assert next(iter(change)) in str(refused.value)


def test_all_bad_units_come_at_once():
    with pytest.raises(UnitsError) as refused:
        describe_history(dampest_air="damp", **WORN | {"drawn_time": 20, "stored_at": "dry"})
    assert len(refused.value.problems) == 3
    for name in ("dampest_air", "drawn_time", "stored_at"):
        assert any(p.startswith(f"{name} = ") and f"{name}=" in p for p in refused.value.problems)


@pytest.mark.parametrize("what", ["pair", "45 g", 2])
def test_what_is_no_cartridge_is_refused_by_name(what):
    with pytest.raises(TypeError, match=r"cartridge = .*describe_bed"):
        describe_history(dampest_air="85 %", **WORN | {"cartridge": what})
