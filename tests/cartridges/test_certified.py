"""A certificate alone: the bed that just passes, the worst for the vapour asked for, and types refused by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import respcalc
from respcalc.cartridges import known_certifications
from respcalc.cartridges.certified import UNKNOWNS
from respcalc.core.errors import CartridgeError, UnitsError
from respcalc.prediction import Challenge, breath_over_gas, run_chain, sorbate_of

AIR = respcalc.describe_air(temperature="20 degC", relative_humidity="40 %", pressure="101.325 kPa")
USABLE = [key for key, value in known_certifications().items() if value.tests]


def passes(bed, test, share=1.0):
    """Time of a bed in a certification test over the least time."""
    outcome = run_chain(
        sorbate_of(test.vapour, test.temperature.value), bed.bed(test.flow_rate.value),
        Challenge(test.volume_fraction.value, test.temperature.value, 101325.0, 0.0, test.exit_fraction.value, np.inf),
        bed.rate_share,
    )  # fmt: skip
    seconds = float(outcome.breakthrough_time) * breath_over_gas(test.temperature.value, 101325.0)
    return seconds / (share * test.breakthrough_time.value)


@pytest.mark.parametrize("key", USABLE)
def test_each_row_is_reproduced_by_the_bed_inferred_from_it(key):
    what = known_certifications()[key]
    made = respcalc.certified_bed("x", key, in_parallel=2, combination=False)
    assert len(made.could_be) >= 16
    for bed in made.beds():
        times = [passes(bed, test) for test in what.tests]
        assert min(times) == pytest.approx(1.0, rel=1e-9)  # the harder row is just met, the others with room


@pytest.mark.parametrize("key", [k for k in USABLE if known_certifications()[k].combination_share])
def test_a_combination_need_last_half_the_time(key):
    made = respcalc.certified_bed("x", key, in_parallel=1, combination=True)
    (hardest,) = {round(min(passes(bed, t, 0.5) for t in known_certifications()[key].tests), 9) for bed in made.beds()}
    assert hardest == 1.0
    whole = respcalc.certified_bed("x", key, in_parallel=1, combination=False)
    assert made.sorbent_mass.value < whole.sorbent_mass.value


def life(bed, vapour="toluene", ppm="200 ppm", flow="30 L/min"):
    return respcalc.estimate_service_life(vapour, ppm, cartridge=bed, air=AIR, work_rate=flow)


PAIR = respcalc.certified_bed("pair", "US cartridge OV", combination=False, in_parallel=2)


@given(
    at=st.lists(st.floats(0, 1), min_size=len(UNKNOWNS), max_size=len(UNKNOWNS)),
    vapour=st.sampled_from(["toluene", "n-hexane", "2-butanone", "acetone", "dichloromethane", "styrene", "ethanol"]),
    ppm=st.floats(20, 1000), flow=st.floats(20, 85), grain=st.floats(0.8e-3, 1.3e-3),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_no_bed_within_the_ranges_that_just_passes_lasts_less(at, vapour, ppm, flow, grain):
    values = {k: low + share * (high - low) for (k, (low, high, _)), share in zip(UNKNOWNS.items(), at, strict=True)}
    test = known_certifications()["US cartridge OV"].tests[0]
    values["granule_diameter"] = grain
    start = replace(PAIR, could_be=(), **{k: replace(getattr(PAIR, k), value=v) for k, v in values.items()})

    def of_mass(mass):
        return replace(start, sorbent_mass=replace(start.sorbent_mass, value=mass))

    low, high = 1e-3, 1.0
    for _ in range(50):
        middle = (low * high) ** 0.5
        low, high = (low, middle) if passes(of_mass(middle), test) >= 1 else (middle, high)
    bed = of_mass(high)
    floor, true = (life(b, vapour, f"{ppm!r} ppm", f"{flow!r} L/min") for b in (PAIR, bed))
    assert floor.life.value <= true.life.value * (1 + 1e-6)


def test_the_result_says_that_it_is_a_floor_and_what_real_data_would_allow():
    found = life(PAIR)
    first, second = (c for c in found.basis.choices if c.startswith("bed: "))
    assert "it could be any of 169, because its certificate leaves open: bulk_density" in first
    assert "of the best" in first
    assert "a floor from the certificate" in second
    assert any("known from its certificate alone" in w for w in found.basis.warnings)
    assert "A floor" in found.margin.calibrated_on
    assert PAIR.evidence.floor


def test_the_type_brings_its_use_limit_and_a_stricter_one_wins():
    assert PAIR.use_limit.value == pytest.approx(1000e-6)
    assert respcalc.certified_bed("x", "EN A2", in_parallel=1).use_limit.value == pytest.approx(5000e-6)
    assert respcalc.certified_bed("x", "EN A3", in_parallel=1).use_limit.value == pytest.approx(0.01)
    own = respcalc.certified_bed("x", "EN A2", in_parallel=1, use_limit="800 ppm")
    assert own.use_limit.value == pytest.approx(800e-6)
    lax = respcalc.certified_bed("x", "EN A1", in_parallel=1, use_limit="5000 ppm")
    assert lax.use_limit.value == pytest.approx(1000e-6)


def test_what_is_known_after_all_narrows_the_range_and_never_shortens():
    open_life = life(PAIR).life.value
    for known in (
        {"face_area": "45 cm2 ± 2 cm2"}, {"bulk_density": "0.45 g/cm3"},
        {"micropore_volume": "0.5 cm3/g", "characteristic_energy": "18.7 kJ/mol"},
    ):  # fmt: skip
        narrowed = respcalc.certified_bed("pair", "US cartridge OV", combination=False, in_parallel=2, **known)
        assert life(narrowed).life.value >= open_life * (1 - 1e-9)
        assert len(narrowed.could_be) <= len(PAIR.could_be)


def test_a_harder_class_lasts_longer():
    lives = [life(respcalc.certified_bed("x", key, in_parallel=1)).life.value for key in ("EN A1", "EN A2", "EN A3")]
    assert lives == sorted(lives)


@pytest.mark.parametrize(
    ("key", "says"),
    [
        ("US cartridge ammonia", "needs an ammonia or methylamine cartridge"),
        ("US cartridge chlorine", "halogens react with carbon"),
        ("US cartridge hydrogen chloride", "acid-gas cartridge"),
        ("US cartridge methylamine", "light amines"),
        ("US cartridge sulfur dioxide", "acid-gas"),
        ("US front canister carbon monoxide", "not held by carbon at all"),
        ("US escape canister OV", "never for working in it"),
        ("US benzene canister", "exit limit of its test is not recalled"),
        ("EN B1", "bound chemically: not covered here"),
        ("EN K1", "bound chemically: not covered here"),
        ("EN ABEK1", 'write "EN A1"'),
        ("EN A2P3", 'write "EN A2"'),
        ("A2", 'write "EN A2"'),
        ("EN AXP3", 'write "EN AX"'),
        ("OV/AG", 'is "US cartridge OV", with combination = true'),
        ("us chin canister 0V", 'Did you mean "US chin canister OV"'),
        ("US cartrige OV", 'Did you mean "US cartridge OV"'),
        ("EN Hg-P3", "Mercury is bound by impregnated carbon: not covered here"),
        ("EN NO-P3", "Oxides of nitrogen"),
        ("EN CO", "Carbon monoxide is turned by a catalyst"),
        ("EN SX", "no general test"),
        ("EN reactor P3", "Radioactive iodine"),
        ("US cartridge formaldehyde", "Formaldehyde polymerises"),
        ("US cartridge MA", "Ammonia and light amines"),
        ("US cartridge AG", "Acid gases are bound chemically"),
        ("US cartridge vinyl chloride", "an element of its own"),
        ("US cartridge CO", "Carbon monoxide is turned"),
        ("US chin canister NO", "Oxides of nitrogen"),
        (None, "not known here"),
    ],
)
def test_what_physical_adsorption_does_not_cover_is_refused_by_name(key, says):
    with pytest.raises(CartridgeError, match=says):
        respcalc.certified_bed("x", key, in_parallel=1)


@pytest.mark.parametrize(
    "name",
    ["ammonia", "chlorine", "hydrogen chloride", "hydrogen sulfide", "hydrogen cyanide", "sulfur dioxide", "mercury",
     "carbon monoxide", "nitrogen dioxide", "methylamine", "phosphine", "ozone"],
)  # fmt: skip
def test_gases_that_carbon_binds_or_lets_through_are_refused_by_name(name):
    with pytest.raises(LookupError, match="physical adsorption on plain carbon does not describe it"):
        life(PAIR, name)


@pytest.mark.parametrize(
    "key",
    [
        "EN A4",
        "EN Hg-P3",
        "EN NO-P3",
        "EN SX",
        "US cartridge formaldehyde",
        "EN",
        "US cartridge CO",
        "US cartridge VC",
        "US chin canister CO",
        "US front canister NO",
    ],
)
def test_no_other_type_is_led_to_an_organic_vapour_one(key):
    with pytest.raises(CartridgeError) as refused:
        respcalc.certified_bed("x", key, in_parallel=1)
    assert "Did you mean" not in str(refused.value)
    assert "write" not in str(refused.value)


def test_formaldehyde_is_refused_too():
    with pytest.raises(ValueError, match="formaldehyde polymerises"):
        life(PAIR, "formaldehyde")


@pytest.mark.parametrize(
    ("change", "error", "says"),
    [
        ({"certified_as": "EN A1", "combination": True}, CartridgeError, "passes its test in full"),
        ({"combination": "yes"}, CartridgeError, "True or False"),
        ({"combination": None}, CartridgeError, "combination is missing: as one of several types .* half the time"),
        ({"face_area": "45"}, UnitsError, "face_area = '45'"),
        ({"face_area": "1 cm2"}, CartridgeError, "5 cm2 to 300 cm2 is plausible"),
        ({"in_parallel": 0}, CartridgeError, "in_parallel = 0"),
        ({"largest_share": "30 %"}, CartridgeError, "takes from 50 %"),
    ],
)
def test_bad_input_names_the_field(change, error, says):
    with pytest.raises(error, match=says):
        respcalc.certified_bed(
            "x", **({"certified_as": "US cartridge OV", "combination": False, "in_parallel": 2} | change)
        )


def test_types_for_one_side_of_65_degc_say_so():
    high = respcalc.certified_bed("A", "EN A1", in_parallel=1)
    low = respcalc.certified_bed("AX", "EN AX", in_parallel=1)
    assert any("boil above 65 degC" in t for t in life(high, "acetone").outside_model)
    assert life(high, "toluene").outside_model == ()
    assert any("boil up to 65 degC" in t for t in life(low, "toluene").outside_model)
    assert not any("boil" in t for t in life(low, "acetone").outside_model)
    mixed = respcalc.estimate_mixture_life([("acetone", "50 ppm"), ("n-pentane", "50 ppm")], cartridge=low, air=AIR,
                                           work_rate="light")  # fmt: skip
    assert any("never for a mixture" in t for t in mixed.outside_model)
    assert low.single_use


def test_every_row_of_the_shipped_table_is_used_or_says_why_not():
    table = known_certifications()
    assert len(table) == 23
    for key, what in table.items():
        assert bool(what.tests) != bool(what.why_not) or key == "EN AX"
        assert what.origin
