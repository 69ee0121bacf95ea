"""The bed of a cartridge: geometry that must agree, defaults that are shown, refusals that help."""

from __future__ import annotations

import json
import pickle

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import Quantity, describe_bed
from respcalc.core.errors import CartridgeError, DomainError, UnitsError

GEOMETRY = ("sorbent_mass", "bed_depth", "face_area", "bulk_density")
UNITS = {"sorbent_mass": "g", "bed_depth": "cm", "face_area": "cm2", "bulk_density": "g/cm3"}
MEASURED = {"sorbent_mass": "45 g", "face_area": "45 cm2", "bed_depth": "2.2 cm"}
CARBON = {
    "micropore_volume": ("0.48 cm3/g", 0.48e-3),
    "characteristic_energy": ("19 kJ/mol", 19e3),
    "granule_diameter": ("1.2 mm", 1.2e-3),
    "void_fraction": ("38 %", 0.38),
}


def text(name: str, value: float) -> str:
    return f"{value!r} {UNITS[name]}"


beds = st.tuples(
    st.floats(0.4, 15.0),  # depth, cm
    st.floats(2.0, 400.0),  # area, cm2
    st.floats(0.26, 0.79),  # density, g/cm3
).map(lambda t: {"bed_depth": t[0], "face_area": t[1], "bulk_density": t[2], "sorbent_mass": t[0] * t[1] * t[2]})


# --- geometry


@given(bed=beds, missing=st.sampled_from(GEOMETRY))
def test_any_three_of_the_four_give_the_fourth(bed, missing):
    made = describe_bed("bed", **{k: text(k, v) for k, v in bed.items() if k != missing})
    whole = describe_bed("bed", **{k: text(k, v) for k, v in bed.items()})
    assert getattr(made, missing).value == pytest.approx(getattr(whole, missing).value, rel=1e-9)
    assert getattr(made, missing).kind == "computed"
    assert "mass = area x depth x density" in getattr(made, missing).note
    assert all(getattr(made, k).kind == "given" for k in GEOMETRY if k != missing)
    assert made.notes == tuple(n for n in made.notes if missing not in n)


@given(bed=beds, wrong=st.sampled_from(GEOMETRY), factor=st.sampled_from([0.5, 0.85, 1.15, 2.0, 10.0, 1000.0]))
def test_four_that_contradict_are_refused_with_every_number(bed, wrong, factor):
    given_texts = {k: text(k, v * (factor if k == wrong else 1.0)) for k, v in bed.items()}
    with pytest.raises((CartridgeError, DomainError)) as refused:
        describe_bed("number 7", **given_texts)
    if "contradicts itself" in str(refused.value):
        message = str(refused.value)
        assert message.startswith("cartridge number 7:")
        assert all(unit in message for unit in ("cm2", "cm", "g/cm3", "g"))
        assert "sorbent_mass" in message


def test_the_contradiction_names_all_four_numbers_and_what_to_do():
    with pytest.raises(
        CartridgeError, match=r"70 cm2 x 2 cm x 0\.5 g/cm3 is 70 g, but sorbent_mass is 45 g.*10%.*leave out"
    ):
        describe_bed("A", sorbent_mass="45 g", face_area="70 cm2", bed_depth="2 cm", bulk_density="0.5 g/cm3")


@pytest.mark.parametrize("off", [0.92, 1.0, 1.09])
def test_measuring_errors_of_a_tenth_are_let_through(off):
    bed = describe_bed("A", **MEASURED | {"sorbent_mass": f"{45 * off} g"}, bulk_density="0.4545 g/cm3")
    assert all(getattr(bed, k).kind == "given" for k in GEOMETRY)


@pytest.mark.parametrize(
    ("only", "computed"),
    [({"face_area": "45 cm2"}, ("bed_depth", 0.02)), ({"bed_depth": "2 cm"}, ("face_area", 45e-4))],
)
def test_mass_and_one_length_take_the_default_density_and_say_so(only, computed):
    bed = describe_bed("A", sorbent_mass="45 g", **only)
    assert bed.bulk_density.kind == "default"
    assert getattr(bed, computed[0]).value == pytest.approx(computed[1])
    assert any("bulk_density of cartridge A is a default (0.5 g/cm3" in note for note in bed.notes)


@pytest.mark.parametrize(
    "few",
    [
        {},
        {"sorbent_mass": "45 g"},
        {"face_area": "45 cm2", "bed_depth": "2 cm"},  # volume alone: no mass is guessed from it
        {"bed_depth": "2 cm", "bulk_density": "0.5 g/cm3"},
        {"sorbent_mass": "45 g", "bulk_density": "0.5 g/cm3"},
    ],
)
def test_too_little_is_refused_and_the_message_can_be_pasted(few):
    with pytest.raises(CartridgeError) as refused:
        describe_bed("A", **few)
    message = str(refused.value)
    assert all(key in message for key in few) if few else "given: nothing" in message
    assert 'sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm"' in message


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        ({"bed_depth": "22 cm"}, "bulk_density is 0.04546 g/cm3"),
        ({"bed_depth": "2.2 mm"}, "bulk_density is 4.546 g/cm3"),
        ({"face_area": "45 mm2"}, "bulk_density is 45.46 g/cm3"),
        ({"sorbent_mass": "450 g"}, "bulk_density is 4.546 g/cm3"),
    ],
)
def test_a_slip_of_the_unit_shows_in_the_density(slip, says):
    with pytest.raises(CartridgeError) as refused:
        describe_bed("A", **MEASURED | slip)
    message = str(refused.value)
    assert says in message
    assert "0.25 g/cm3 to 0.8 g/cm3" in message
    assert all(value in message for value in (MEASURED | slip)["sorbent_mass"].split())


@pytest.mark.parametrize("density", ["0.24 g/cm3", "0.81 g/cm3"])
def test_an_implausible_density_that_was_given_is_not_blamed_on_the_others(density):
    with pytest.raises(CartridgeError, match=f"bulk_density is {density}; packed carbon"):
        describe_bed("A", sorbent_mass="45 g", face_area="45 cm2", bulk_density=density)


@pytest.mark.parametrize("slip", [{"face_area": "45 mm2"}, {"bed_depth": "22 cm"}, {"bed_depth": "0.2 mm"}])
def test_a_slip_that_the_default_density_would_hide_shows_in_the_depth(slip):
    with pytest.raises(CartridgeError, match=r"bed_depth is .*0.3 cm to 20 cm"):
        describe_bed("A", sorbent_mass="45 g", **slip)


@pytest.mark.parametrize("quantity", GEOMETRY + tuple(CARBON))
@pytest.mark.parametrize("value", ["0", "-1", "nan", "inf"])
def test_nothing_of_a_bed_is_zero_negative_or_not_finite(quantity, value):
    unit = {**UNITS, **{k: v[0].split()[1] for k, v in CARBON.items()}}[quantity]
    asked = MEASURED | {quantity: f"{value} {unit}"}
    with pytest.raises((DomainError, UnitsError), match=quantity):
        describe_bed("A", **asked)


# --- carbon


def test_only_carbon_has_defaults_and_each_is_flagged():
    bed = describe_bed("A", **MEASURED)
    defaults = [d for d in bed.data() if d.kind == "default"]
    assert [d.quantity for d in defaults] == list(CARBON)
    assert len(bed.notes) == len(CARBON)
    for d in defaults:
        assert d.source in ("carbon_defaults", "common_practice")
        assert any(d.quantity in note and d.printed in note and d.note in note for note in bed.notes)


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        ("micropore_volume", 0.454e-3),
        ("characteristic_energy", 19.7e3),
        ("granule_diameter", 1.3e-3),
        ("void_fraction", 0.4),
    ],
)
def test_the_defaults_are_the_ones_that_are_written_down(quantity, value):
    assert getattr(describe_bed("A", **MEASURED), quantity).value == pytest.approx(value)


def test_given_carbon_is_used_and_not_flagged():
    bed = describe_bed("A", **MEASURED, **{k: v[0] for k, v in CARBON.items()})
    assert bed.notes == ()
    for name, (_, value) in CARBON.items():
        assert getattr(bed, name).value == pytest.approx(value)
        assert getattr(bed, name).kind == "given"


# --- several cartridges


def test_the_flow_is_shared_and_nothing_else():
    one, pair = describe_bed("A", **MEASURED), describe_bed("A", **MEASURED, in_parallel=2)
    assert pair.flow_share(1e-3) == pytest.approx(0.5e-3)
    assert one.flow_share(1e-3) == pytest.approx(1e-3)
    assert pair.sorbent_mass == one.sorbent_mass
    assert "2 in parallel" in str(pair)
    assert "takes the whole flow" in str(one)


@pytest.mark.parametrize("count", [0, -2, 7, 100, 2.0, 1.5, "2", True, None, [2], float("nan")])
def test_a_count_that_is_no_whole_number_of_cartridges_is_refused(count):
    with pytest.raises(CartridgeError, match=r"in_parallel = .*whole number from 1 to 6"):
        describe_bed("A", **MEASURED, in_parallel=count)


# --- units and names


SAME = {
    "sorbent_mass": ["45 g", "0.045 kg", "45000 mg", Quantity(45, "g"), Quantity(0.045, "kg")],
    "face_area": ["45 cm2", "4500 mm2", "0.0045 m2", "45 cm^2", "45 cm²", Quantity(45, "cm**2")],
    "bed_depth": ["2.2 cm", "22 mm", "0.022 m", Quantity(22, "mm")],
    "micropore_volume": ["0.48 cm3/g", "0.48 mL/g", "0.48e-3 m3/kg"],
    "characteristic_energy": ["19 kJ/mol", "19000 J/mol", Quantity(19, "kJ/mol")],
    "granule_diameter": ["1.2 mm", "1200 um", "0.12 cm", "1200 µm"],
    "void_fraction": ["38 %", "0.38", 0.38],
}


@given(data=st.data())
def test_it_does_not_matter_in_which_unit_the_bed_is_given(data):
    reference = describe_bed("A", **{k: v[0] for k, v in SAME.items()})
    other = describe_bed("A", **{k: data.draw(st.sampled_from(v), label=k) for k, v in SAME.items()})
    for one, two in zip(reference.data(), other.data(), strict=True):
        assert two.value == pytest.approx(one.value, rel=1e-12)


def test_every_bad_unit_is_named_at_once():
    with pytest.raises(UnitsError) as refused:
        describe_bed("A", sorbent_mass=45, face_area="45 cm", bed_depth="2,2 cm", use_limit="5 mg/m3")
    assert len(refused.value.problems) == 4
    for key, problem in zip(
        ("sorbent_mass", "bed_depth", "face_area", "use_limit"), refused.value.problems, strict=True
    ):
        assert problem.startswith(f"{key} = ")
        assert f'{key}="' in problem


@pytest.mark.parametrize(
    "bad",
    [
        45,
        45.0,
        np.float64(45),
        np.array([45.0]),
        pd.Series([45.0, 45.0]),
        "45",
        "45 oz",
        "45 cm",
        True,
        {},
        b"45 g",
        "45 g g",
    ],
)
def test_a_mass_without_a_unit_of_mass_is_refused(bad):
    with pytest.raises(UnitsError, match='sorbent_mass="'):
        describe_bed("A", **MEASURED | {"sorbent_mass": bad})


@pytest.mark.parametrize(
    ("quantity", "unit"), [("sorbent_mass", "g"), ("granule_diameter", "mm"), ("use_limit", "ppm")]
)
@pytest.mark.parametrize("several", [[], [1.5], [1.5, 1.6]])
def test_one_cartridge_has_one_of_each(quantity, unit, several):
    for values in ([f"{v} {unit}" for v in several], Quantity(several, unit)):
        with pytest.raises(CartridgeError, match=f"{quantity}: a list"):
            describe_bed("A", **MEASURED | {quantity: values})


@pytest.mark.parametrize("name", ["", "  ", None, 7, ["A"]])
def test_a_cartridge_needs_a_name(name):
    with pytest.raises(CartridgeError, match="needs a name"):
        describe_bed(name, **MEASURED)


def test_the_use_limit_is_kept_and_labelled():
    limit = describe_bed("A", **MEASURED, use_limit="0.1 %").use_limit
    assert limit.value == pytest.approx(1e-3)
    assert limit.name == "use_limit of cartridge"
    assert describe_bed("A", **MEASURED).use_limit is None


# --- forms


def test_text_html_dictionary_and_pickle_carry_everything():
    bed = describe_bed("<b>A & B</b>", **MEASURED, in_parallel=2, use_limit="500 ppm")
    assert "45 g" in str(bed)
    assert "typical respirator carbon" in str(bed)
    page = bed._repr_html_()
    assert "<b>A" not in page
    assert "&lt;b&gt;A &amp; B" in page
    written = json.loads(json.dumps(bed.as_dict()))
    assert written["in_parallel"] == 2
    assert {v["name"] for v in written["values"]} >= {*GEOMETRY, *CARBON, "use_limit of cartridge"}
    assert {v["unit"] for v in written["values"] if v["name"] == "sorbent_mass"} == {"g"}
    assert pickle.loads(pickle.dumps(bed)) == bed
    assert hash(pickle.loads(pickle.dumps(bed))) == hash(bed)


def test_a_cartridge_cannot_be_changed_behind_the_records_back():
    bed = describe_bed("A", **MEASURED)
    with pytest.raises(AttributeError):
        bed.in_parallel = 2
