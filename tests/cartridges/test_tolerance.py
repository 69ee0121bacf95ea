"""A bed as it was measured: tolerances, sieves, round and annular beds, uneven flow; the worst end counts."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

import respcalc
from respcalc.cartridges.shapes import annular_bed, sieved_diameter
from respcalc.core.errors import CartridgeError, DomainError, UnitsError
from respcalc.models import wood_lodewyckx_rate, wood_stampfer_rate

MEASURED = {"sorbent_mass": "45 g", "face_area": "45 cm2", "bed_depth": "2.2 cm", "in_parallel": 2}
AIR = respcalc.describe_air(temperature="25 degC", relative_humidity="60 %", altitude="0 m")


def life(bed, vapour="toluene", ppm="300 ppm", flow="40 L/min"):
    return respcalc.estimate_service_life(vapour, ppm, cartridge=bed, air=AIR, work_rate=flow)


def test_without_a_tolerance_there_is_one_bed():
    assert respcalc.describe_bed("pair", **MEASURED).could_be == ()
    assert respcalc.describe_bed("pair", **(MEASURED | {"sorbent_mass": "45 g ± 0 g"})).could_be == ()


def test_every_tolerance_shortens_and_the_result_says_what_it_costs():
    exact = life(respcalc.describe_bed("pair", **MEASURED))
    for key, value in {
        "sorbent_mass": "45 g ± 2 g", "face_area": "45 cm2 ± 3 cm2", "bed_depth": "2.2 cm ± 0.2 cm",
        "granule_diameter": "1.3 mm ± 0.2 mm", "void_fraction": "40 % ± 4 %", "micropore_volume": "0.454 cm3/g ± 5 %",
        "characteristic_energy": "19.7 kJ/mol ± 1 kJ/mol",
    }.items():  # fmt: skip
        sure = life(respcalc.describe_bed("pair", **(MEASURED | {key: value.split(" ±")[0]})))
        loose = life(respcalc.describe_bed("pair", **(MEASURED | {key: value})))
        assert loose.life.value <= sure.life.value, key
        (told,) = [c for c in loose.basis.choices if c.startswith("bed: ")]
        assert f"the tolerance of {key}" in told
        assert f"of the bed in the middle it would be {sure.life.printed}" in told
    assert not any(c.startswith("bed: ") for c in exact.basis.choices)


def test_a_wider_tolerance_never_lengthens():
    lives = [life(respcalc.describe_bed("p", **(MEASURED | {"bed_depth": f"2.2 cm ± {w} mm"}))).life.value
             for w in (0, 0.5, 1, 2, 4)]  # fmt: skip
    assert lives == sorted(lives, reverse=True)
    assert lives[-1] < lives[0]


@given(
    within=st.lists(st.floats(-1, 1), min_size=4, max_size=4),
    vapour=st.sampled_from(["toluene", "acetone", "n-hexane", "dichloromethane", "styrene"]),
    ppm=st.floats(20, 1500), flow=st.floats(20, 90),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_no_bed_within_the_tolerances_lasts_less_than_the_estimate(within, vapour, ppm, flow):
    middle = {"sorbent_mass": (45, 3, "g"), "face_area": (45, 4, "cm2"), "bed_depth": (2.2, 0.2, "cm"),
              "void_fraction": (40, 4, "%")}  # fmt: skip
    loose = respcalc.describe_bed("p", in_parallel=2, **{k: f"{m} {u} ± {w} {u}" for k, (m, w, u) in middle.items()})
    exact = {k: f"{m + share * w!r} {u}" for (k, (m, w, u)), share in zip(middle.items(), within, strict=True)}
    bed = respcalc.describe_bed("p", in_parallel=2, **exact)
    given_life, there = (life(b, vapour, f"{ppm!r} ppm", f"{flow!r} L/min").life.value for b in (loose, bed))
    assert given_life <= there * (1 + 1e-9)


def test_units_do_not_matter():
    one = respcalc.describe_bed("p", **(MEASURED | {"bed_depth": "2.2 cm ± 1 mm", "sorbent_mass": "45 g ± 2 %"}))
    other = respcalc.describe_bed(
        "p", **(MEASURED | {"bed_depth": "22 mm ± 0.1 cm", "sorbent_mass": "0.045 kg ± 0.9 g"})
    )
    assert life(one).life.value == pytest.approx(life(other).life.value, rel=1e-12)


def test_four_that_were_all_measured_believe_the_depth_too():
    all_four = {"sorbent_mass": "45 g", "face_area": "45 cm2", "bulk_density": "0.4545 g/cm3"}
    thin = respcalc.describe_bed("p", bed_depth="2.2 cm ± 0.3 cm", in_parallel=2, **all_four)
    sure = respcalc.describe_bed("p", bed_depth="2.2 cm", in_parallel=2, **all_four)
    assert life(thin).life.value < life(sure).life.value


# --- shapes


def test_a_round_bed_is_its_diameter():
    by_area = respcalc.describe_bed("p", sorbent_mass="45 g", bed_depth="2.2 cm", face_area=f"{math.pi * 3.8**2!r} cm2")
    by_diameter = respcalc.describe_bed("p", sorbent_mass="45 g", bed_depth="2.2 cm", diameter="76 mm")
    assert by_diameter.face_area.value == pytest.approx(by_area.face_area.value)


@pytest.mark.parametrize("vapour", ["toluene", "acetone", "methyl iodide"])
@pytest.mark.parametrize(("inner", "outer"), [(2.0, 5.0), (1.0, 9.0), (6.0, 7.0)])
@pytest.mark.parametrize("flow", [15.0, 60.0, 200.0])
def test_a_ring_has_no_fewer_transfer_units_than_its_outer_face_throughout(vapour, inner, outer, flow):
    """K = (1/Q) of the integral of kv over the volume, with the velocity of each radius: by quadrature."""
    height, q = 0.06, flow * 1e-3 / 60
    area, depth = annular_bed(inner * 1e-2, outer * 1e-2, height)
    polarization = respcalc.find_vapour(vapour).molar_polarization.value

    def stampfer(v):
        return float(wood_stampfer_rate.si(superficial_velocity=v, molar_polarization=polarization, exit_fraction=0.01))

    def lodewyckx(v):
        return float(wood_lodewyckx_rate.si(affinity_coefficient=1.1, superficial_velocity=v, granule_diameter=1.3e-3,
                                            capacity=0.3, molar_mass=0.09))  # fmt: skip

    for rate in (stampfer, lodewyckx):

        def over(r, rate=rate):
            face = 2 * math.pi * r * height
            return rate(q / face) * face / q

        true, _ = quad(over, inner * 0.5e-2, outer * 0.5e-2)
        assert rate(q / area) * area * depth / q <= true * (1 + 1e-9)
    assert area * depth == pytest.approx(math.pi / 4 * (outer**2 - inner**2) * 1e-4 * height)


def test_a_ring_needs_its_three_lengths_and_nothing_else():
    ring = {"inner_diameter": "30 mm", "outer_diameter": "80 mm", "bed_height": "60 mm"}
    made = respcalc.describe_bed("ring", sorbent_mass="118 g", **ring)
    assert made.face_area.value == pytest.approx(math.pi * 0.08 * 0.06)
    assert "outer face" in made.face_area.note
    for change, says in (
        ({"bed_height": None}, "needs inner_diameter, outer_diameter and bed_height"),
        ({"face_area": "40 cm2"}, "neither face_area nor bed_depth"),
        ({"outer_diameter": "25 mm"}, "an outer diameter above the inner one"),
        ({"outer_diameter": "80 mm ± 1 mm"}, "no tolerance is read for a ring"),
    ):
        with pytest.raises(CartridgeError, match=says):
            respcalc.describe_bed("ring", sorbent_mass="118 g", **(ring | change))
    with pytest.raises(CartridgeError, match="stands for the face_area of a round bed"):
        respcalc.describe_bed("x", sorbent_mass="45 g", diameter="76 mm", face_area="45 cm2")


# --- sieves


@pytest.mark.parametrize(
    "text", ["12x20", "12 x 20", "20x12 mesh", "12×20", "0.85 mm to 1.70 mm", "1700 um to 0.85 mm"]
)
def test_a_sieve_fraction_is_its_middle_give_or_take_a_quarter(text):
    assert sieved_diameter(text) == pytest.approx((1.275e-3, 0.2125e-3))


@pytest.mark.parametrize(
    ("text", "says"),
    [("12", "two mesh numbers"), ("12x13", "13 is no mesh number"), ("1.2 mm", "two openings"),
     ("12x12", "two different openings"), ("1 to 2 mm", "two openings"), ("", "two mesh numbers")],
)  # fmt: skip
def test_a_sieve_that_is_none_is_refused(text, says):
    with pytest.raises(CartridgeError, match=says):
        sieved_diameter(text)


def test_a_sieve_stands_for_the_granules():
    bed = respcalc.describe_bed("p", sieve="12x20", **MEASURED)
    assert bed.granule_diameter.value == pytest.approx(1.275e-3)
    assert bed.could_be[0].granule_diameter.value == pytest.approx(1.4875e-3)
    with pytest.raises(CartridgeError, match="both are given"):
        respcalc.describe_bed("p", sieve="12x20", granule_diameter="1 mm", **MEASURED)


# --- uneven flow, dates, single use


def test_an_uneven_split_is_the_most_loaded_cartridge():
    even = respcalc.describe_bed("p", **MEASURED)
    uneven = respcalc.describe_bed("p", largest_share="60 %", **MEASURED)
    assert life(uneven).life.value < life(even).life.value
    assert life(uneven).life.value == life(even, flow="48 L/min").life.value
    assert "60 %" in str(uneven)
    alone = respcalc.describe_bed("p", largest_share="100 %", **MEASURED)
    single = respcalc.describe_bed("p", **(MEASURED | {"in_parallel": 1}))
    assert life(alone).life.value == life(single).life.value


@pytest.mark.parametrize(
    ("change", "error", "says"),
    [
        ({"largest_share": "40 %"}, CartridgeError, "takes from 50 % to 100 %"),
        ({"largest_share": "60 %", "in_parallel": 1}, CartridgeError, "leave it out for one cartridge"),
        ({"largest_share": "120 %"}, DomainError, "largest_share"),
        ({"sorbent_mass": "45 g ± 30 g"}, CartridgeError, "more than 50% is no measurement"),
        ({"sorbent_mass": "45 g ± 2"}, UnitsError, "the tolerance has no unit"),
        ({"expires": "May 2027"}, CartridgeError, "where only a month is printed, its last day"),
        ({"single_use": "yes"}, CartridgeError, "True or False"),
        ({"sorbent_mass": ["45 g", "46 g"]}, CartridgeError, "a list of values"),
        (
            {"diameter": "76 mm ± 60 mm", "face_area": None},
            CartridgeError,
            "more than 25% is no measurement of a length",
        ),
    ],
)
def test_bad_input_names_the_field(change, error, says):
    with pytest.raises(error, match=says):
        respcalc.describe_bed("p", **(MEASURED | change))


def test_dates_and_single_use_are_kept():
    bed = respcalc.describe_bed("p", expires="2027-05-31", single_use=True, **MEASURED)
    assert bed.expires == dt.date(2027, 5, 31)
    assert bed.single_use
    assert "2027-05-31" in str(bed)
    assert bed.as_dict()["expires"] == "2027-05-31"


def test_a_sweep_agrees_with_the_case_on_a_loose_bed():
    bed = respcalc.describe_bed("p", **(MEASURED | {"sorbent_mass": "45 g ± 2 g", "bed_depth": "2.2 cm ± 2 mm"}))
    amounts = [20.0, 150.0, 700.0]
    frame = respcalc.sweep_service_life(
        "toluene", [f"{a} ppm" for a in amounts], cartridge=bed, temperature="25 degC", relative_humidity="60 %",
        pressure="101.325 kPa", flow_rate="40 L/min",
    )  # fmt: skip
    air = respcalc.describe_air(temperature="25 degC", relative_humidity="60 %", pressure="101.325 kPa")
    for a, row in zip(amounts, frame.to_dict("records"), strict=True):
        one = respcalc.estimate_service_life("toluene", f"{a} ppm", cartridge=bed, air=air, work_rate="40 L/min")
        assert row["service_life [min]"] == pytest.approx(one.life.value / 60, rel=1e-12)
        assert row["breakthrough_time [min]"] == pytest.approx(one.breakthrough.value / 60, rel=1e-12)
    assert not np.any(frame["reason"])
