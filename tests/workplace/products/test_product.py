"""A product by its composition: closing, cuts, gases, unknown remainders, and its vapours in the air."""

from __future__ import annotations

import json
import math
import pickle
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.errors import DomainError, MissingProperty, UnitsError, UnknownVapour
from respcalc.vapours import define_vapour, find_vapour, known_vapours
from respcalc.workplace import additive_index, describe_air, describe_product, rules_for
from respcalc.workplace.products.evaporation import highest_share, shares_at, time_until_left

AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
SAMPLES = "4 personal samples, March 2026; highest taken"
LIQUIDS = ["toluene", "acetone", "n-heptane", "methanol", "n-butyl acetate", "2-butanone", "n-decane", "ethanol"]
LIGROINE = {"ligroine": {"n-heptane": "60 %", "methylcyclohexane": "40 %"}}
THINNER = {"methyl acetate": "50 %", "methanol": "20 %", "toluene": "17 %", "ligroine": "9 %", "THF": "3 %",
           "ethanol": "1 %"}  # fmt: skip
SOLVENT_X = {
    "molar_mass": "100 g/mol", "boiling_point": "110 degC", "saturation_pressure": "3.0 kPa",
    "saturation_temperature": "20 degC", "liquid_density": "0.85 g/cm3", "refractive_index": 1.40,
}  # fmt: skip


def product(parts, **given):
    return describe_product("solvent", parts, **({"data_from": "supplier's letter"} | given))


def amounts(most=6):
    """Names with positive shares that sum to 1."""
    return st.dictionaries(st.sampled_from(LIQUIDS), st.floats(0.01, 1), min_size=1, max_size=most).map(
        lambda d: {k: v / math.fsum(d.values()) for k, v in d.items()}
    )


def highest(there):
    return {p.vapour.name: p.highest for p in there.parts}


# --- what Raoult's law says


def test_the_vapour_of_a_lacquer_thinner_is_not_its_liquid():
    """17 % of the liquid is toluene, 2 % of its vapour is."""
    shares = product(THINNER, surrogates=LIGROINE).vapour_shares("25 degC")
    assert shares["methyl acetate"] == pytest.approx(0.60, abs=0.005)
    assert shares["methanol"] == pytest.approx(0.33, abs=0.005)
    assert shares["toluene"] == pytest.approx(0.02, abs=0.005)
    assert math.fsum(shares.values()) == pytest.approx(1)


def test_the_ranking_is_no_exposure_and_flags_what_carbon_holds_badly():
    table = product(THINNER, surrogates=LIGROINE).ranking("25 degC")
    assert table["vapour"].to_list()[:3] == ["methyl acetate", "methanol", "tetrahydrofuran"]
    assert any("not an exposure" in column for column in table)
    assert "not an exposure" in table.attrs["title"]
    assert any("activity coefficients are neglected" in note for note in table.attrs["notes"])
    flags = dict(zip(table["vapour"], table["flags"], strict=True))
    assert "65 degC" in flags["methanol"]
    assert "same shift only" in flags["methyl acetate"]
    assert "hardly holds" in flags["methanol"]
    assert flags["toluene"] == ""
    assert not any(column.endswith("[ppm]") for column in table)


def test_two_parts_by_hand():
    """Equal moles: the vapour divides as the pressures do."""
    shares = product({"toluene": "50 %", "acetone": "50 %"}, basis="mole").vapour_shares("20 degC")
    toluene, acetone = (find_vapour(n).saturation_pressure(293.15).value for n in ("toluene", "acetone"))
    assert shares["acetone"] == pytest.approx(acetone / (acetone + toluene))


@given(amounts(), st.sampled_from(["mass", "volume", "mole"]), st.sampled_from(["mass", "volume", "mole"]))
def test_shares_go_to_another_basis_and_back(parts, one, other):
    first = product(parts, basis=one)
    back = product(first.shares(other), basis=other).shares(one)
    assert back == pytest.approx(first.shares(one), rel=1e-9)
    assert first.shares(one) == pytest.approx({i.vapour.name: i.share.value for i in first.ingredients}, rel=1e-9)


@given(amounts(), st.randoms(use_true_random=False))
def test_the_order_never_matters(parts, rng: random.Random):
    pairs = list(parts.items())
    rng.shuffle(pairs)
    one, other = product(parts), product(pairs)
    assert one == other
    assert str(one) == str(other)
    assert one.in_air("90 ppm", air=AIR, based_on=SAMPLES) == other.in_air("90 ppm", air=AIR, based_on=SAMPLES)


@given(amounts(), st.floats(0.05, 0.95))
def test_a_part_in_two_entries_is_one_part(parts, cut):
    name, share = next(iter(parts.items()))
    split = product([*list(parts.items())[1:], (find_vapour(name).cas, share * cut), (name, share * (1 - cut))])
    whole = product(parts)
    assert split.vapour_shares("20 degC") == pytest.approx(whole.vapour_shares("20 degC"), rel=1e-9)
    assert any(f"{name} is there 2 times and counts once" in note for note in split.notes)
    assert whole.notes == ()


# --- closing


@pytest.mark.parametrize(("rest", "noted"), [("40 %", 0), ("39.5 %", 1), ("40.5 %", 1), ("39.9 %", 1)])
def test_parts_that_nearly_close_are_rescaled_and_it_is_said(rest, noted):
    made = product({"toluene": "60 %", "acetone": rest})
    assert math.fsum(i.share.value for i in made.ingredients) == pytest.approx(1)
    assert len([note for note in made.notes if "rescaled to 100 %" in note]) == noted


@pytest.mark.parametrize(
    ("rest", "says"),
    [
        ("39.4 %", "sum to 99.4 % by mass, and 0.6 % is missing. Add what is missing, or say what it is: remainder="),
        ("40.6 %", "sum to 100.6 % by mass, more than 100 %"),
        ("10 %", "30 % is missing"),
    ],
)
def test_parts_that_do_not_close_are_refused(rest, says):
    with pytest.raises(DomainError, match=says):
        product({"toluene": "60 %", "acetone": rest})


@given(st.floats(-0.02, 0.02))
def test_the_tolerance_is_half_a_per_cent(off):
    parts = {"toluene": 0.6, "acetone": 0.4 + off}
    if abs(off) > 0.005 * (1 + 1e-6):
        with pytest.raises(DomainError, match="parts of solvent"):
            product(parts)
    elif abs(off) < 0.005 * (1 - 1e-6):
        assert product(parts).shares("mass")["toluene"] == pytest.approx(0.6 / (1 + off))


def test_a_named_remainder_takes_what_is_missing():
    made = product({"toluene": "60 %", "acetone": "30 %"}, remainder=("n-heptane", "supplier's letter"))
    assert made.shares("mass") == pytest.approx({"acetone": 0.3, "n-heptane": 0.1, "toluene": 0.6})
    assert made.notes == ("remainder of 10 %: n-heptane (supplier's letter)",)


def test_a_cut_may_be_the_remainder_and_a_part_may_be_it_again():
    made = product({"toluene": "60 %", "n-heptane": "30 %"}, remainder=("ligroine", "sheet"), surrogates=LIGROINE)
    assert made.shares("mass") == pytest.approx({"methylcyclohexane": 0.04, "n-heptane": 0.36, "toluene": 0.6})
    assert any("ligroine is no single substance" in note for note in made.notes)
    assert any("n-heptane is there 2 times" in note for note in made.notes)


def test_what_gives_no_vapour_dilutes_all_alike():
    lacquer = product({"toluene": "30 %", "acetone": "15 %"}, remainder=("not volatile", "resin and pigment"))
    assert lacquer.not_volatile == pytest.approx(0.55)
    assert lacquer.notes == ("remainder of 55 % gives no vapour: resin and pigment",)
    assert lacquer.vapour_shares("20 degC") == pytest.approx(
        product({"toluene": 2 / 3, "acetone": 1 / 3}).vapour_shares("20 degC")
    )
    assert "not volatile: 55 %" in str(lacquer)


def test_a_remainder_with_nothing_left_for_it_is_told():
    made = product({"toluene": "60 %", "acetone": "40.2 %"}, remainder=("not volatile", "resin"))
    assert any("leave nothing to the remainder" in note for note in made.notes)
    assert made.not_volatile == 0


@pytest.mark.parametrize("remainder", ["not volatile", "n-heptane", ("n-heptane", " "), ("not volatile", None), 3, ()])
def test_a_remainder_needs_its_reason(remainder):
    with pytest.raises(DomainError, match=r"remainder = .* a pair of what it is and how that is known is needed"):
        product({"toluene": "60 %", "acetone": "30 %"}, remainder=remainder)


# --- the unknown remainder


@pytest.mark.parametrize("remainder", ["unknown", "not known", ("Unknown", "trade secret")])
def test_an_unknown_remainder_counts_as_whichever_vapour_it_is_worst_for(remainder):
    known = {"toluene": "60 %", "acetone": "30 %"}
    made = product(known, remainder=remainder)
    assert made.unknown == pytest.approx(0.1)
    assert any("is unknown" in note and "counts as each vapour" in note for note in made.notes)
    there = highest(made.in_air("100 ppm", air=AIR, based_on=SAMPLES))
    for name in known:
        as_named = product(known, remainder=(name, "supposed")).in_air("100 ppm", air=AIR, based_on=SAMPLES)
        assert there[name] == pytest.approx(highest(as_named)[name])
    ranked = product(known, remainder=("acetone", "supposed")).vapour_shares("20 degC")
    assert made.vapour_shares("20 degC") == pytest.approx(ranked)


def test_much_that_is_unknown_is_an_unknown_product():
    assert product({"toluene": "90 %"}, remainder="unknown").unknown == pytest.approx(0.1)
    with pytest.raises(DomainError, match=r"11 % is unknown; up to 10 % .* name the worst credible vapour yourself"):
        product({"toluene": "89 %"}, remainder="unknown")


@pytest.mark.parametrize("remainder", ["unknown", ("not volatile", "resin"), None])
def test_a_product_without_a_vapour_is_refused(remainder):
    with pytest.raises(DomainError, match="pairs of vapour and share are needed"):
        product({}, remainder=remainder)


# --- ranges and bounds


def test_the_ranges_of_a_data_sheet_are_refused_with_their_sums():
    ranges = {"methyl acetate": "30-60 %", "methanol": "10-30 %", "toluene": "10 to 30 %", "ligroine": "7 – 13 %",
              "THF": "1 % - 5 %", "ethanol": "0.1-1 %"}  # fmt: skip
    with pytest.raises(DomainError) as caught:
        product(ranges, surrogates=LIGROINE)
    for text in ("methyl acetate 30-60 %", "lowest shares sum to 58.1 %", "highest to 139 %", "midpoints", "supplier"):
        assert text in str(caught.value)
    with pytest.raises(DomainError, match=r"58\.1 %(.|\n)*'ligroine' is a product"):
        product(ranges)


@pytest.mark.parametrize("bound", ["<40 %", "less than 40 %", "up to 40 %", "≤ 40 %", "max. 40 %", "> 40 %", "30–40"])
def test_a_bound_is_no_share(bound):
    with pytest.raises(DomainError, match="ranges are no composition"):
        product({"toluene": "60 %", "acetone": bound})


@pytest.mark.parametrize(
    ("share", "says"),
    [
        (40, 'share of acetone = 4000 % .* for 40 per cent write "40 %"'),
        ("40", 'for 40 per cent write "40 %"'),
        ("0 %", "share of acetone = 0 % .* above 0"),
        ("-5 %", "share of acetone = -5 %"),
        ("40,5 %", "a comma inside a number"),
        ("40 ppm", "not a unit of fraction"),
        (None, "share of acetone = None: a value is needed"),
        ("balance", "no plain number"),
        (float("nan"), "finite"),
        (["40 %"], "share of acetone: 1 values in a list|acetone: 1 values"),
    ],
)
def test_a_share_that_cannot_be_read_is_named(share, says):
    with pytest.raises((DomainError, UnitsError), match=says):
        product({"toluene": "60 %", "acetone": share})


# --- what may not be in it


@pytest.mark.parametrize("basis", ["mass", "volume"])
def test_a_paint_remover_with_dichloromethane_is_refused_by_its_rule(basis):
    parts = {"toluene": "36 %", "methanol": "28 %", "acetone": "21-25 %", "methylene chloride": "14 %"}
    with pytest.raises(DomainError, match=r"dichloromethane: organic-vapour cartridges are not permitted.*1910\.1052"):
        product(parts, basis=basis)


def test_an_aerosol_with_propane_and_butane_is_refused_for_them():
    parts = {"toluene": "<30 %", "acetone": "<25 %", "propane": "<25 %", "n-butane": "<10 %", "xylene": "<5 %",
             "PGMEA": "<5 %", "ethylbenzene": "<1 %"}  # fmt: skip
    with pytest.raises(DomainError) as caught:
        product(parts)
    for text in ("propane boils at -42", "n-butane boils at", "not usefully held", "highest to 101 %",
                 "'xylene' can mean more than one substance", "lowest shares sum to 0 %"):  # fmt: skip
        assert text in str(caught.value)


@pytest.mark.parametrize("name", ["dichloromethane", "75-09-2", "96-12-8", "ethylene oxide", "formaldehyde"])
def test_a_trace_of_what_cartridges_are_forbidden_for_is_not_passed_over(name):
    with pytest.raises(DomainError, match="organic-vapour cartridges are not permitted"):
        product({"toluene": "99.9 %", name: "0.1 %"})


def test_describing_a_forbidden_substance_anew_does_not_help():
    mine = define_vapour("site solvent", **(SOLVENT_X | {"molar_mass": "84.93 g/mol"}), cas="75-09-2")
    with pytest.raises(DomainError, match="site solvent: organic-vapour cartridges are not permitted"):
        product({"toluene": "50 %", mine: "50 %"})


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("ammonia", "ammonia or methylamine cartridge"),
        ("carbon monoxide", "supplied air"),
        ("water", "Raoult's law is far off in water"),
        ("mineral spirits", "is a product, not one substance"),
        ("white spirit", "is a product, not one substance"),
        ("naphtha", "is a product, not one substance"),
        ("8032-32-4", "is a product, not one substance"),
        ("64742-47-8", "is a product, not one substance"),
        ("petroleum ether", "is a product, not one substance"),
        ("gasoline", "is a product, not one substance"),
        ("kerosene", 'surrogates={"kerosene": {"<vapour>": "<share> %", ...}}'),
        ("xylene", "can mean more than one substance"),
        ("toluen", "Nearest names: toluene"),
        ("108-88-4", "mistyped"),
        (3, "named by text"),
    ],
)
def test_a_name_that_is_no_single_vapour_is_refused(name, says):
    with pytest.raises(UnknownVapour) as caught:
        product({"acetone": "60 %", name: "40 %"})
    assert says in str(caught.value)


# --- surrogates


def test_a_declared_surrogate_stands_for_its_cut_and_is_printed():
    made = product(THINNER, surrogates=LIGROINE)
    assert made.shares("mass")["n-heptane"] == pytest.approx(0.054)
    assert made.shares("mass")["methylcyclohexane"] == pytest.approx(0.036)
    said = "ligroine is no single substance; by the user's choice methylcyclohexane 40 %, n-heptane 60 % (by mass)"
    for text in (str(made), json.dumps(made.as_dict()), str(made.in_air("90 ppm", air=AIR, based_on=SAMPLES))):
        assert said in text


@pytest.mark.parametrize("cut", ["Mineral Spirits", "64742-47-8", "xylene", "Solvent 100"])
def test_what_is_no_single_substance_may_have_one(cut):
    made = product({"toluene": "60 %", cut: "40 %"}, surrogates={cut.lower(): {"m-xylene": "99.8 %"}})
    assert made.shares("mass") == pytest.approx({"m-xylene": 0.4, "toluene": 0.6})


@pytest.mark.parametrize(
    ("part", "surrogates", "says"),
    [
        ("toluene", {"toluene": {"n-heptane": "100 %"}}, "'toluene' is the substance toluene, and nothing may stand"),
        ("ammonia", {"ammonia": {"n-heptane": "100 %"}}, "ammonia or methylamine cartridge"),
        ("75-09-2", {"75-09-2": {"n-heptane": "100 %"}}, "not permitted"),
        ("108-88-4", {"108-88-4": {"n-heptane": "100 %"}}, "mistyped"),
        ("LPG", {"LPG": {"propane": "100 %"}}, "propane boils at"),
        ("naphtha", {"naphtha": {"dichloromethane": "100 %"}}, "not permitted"),
        ("naphtha", {"naphtha": {"n-heptane": "60 %"}}, "surrogates of naphtha: the shares sum to 60 %"),
        ("naphtha", {"naphtha": {"n-heptane": "60-100 %"}}, "surrogates of naphtha: ranges are no composition"),
        ("naphtha", {"naphtha": {"white spirit": "100 %"}}, "'white spirit' is a product"),
        ("naphtha", {"naphtha": "n-heptane"}, "surrogates of naphtha = 'n-heptane': pairs"),
        ("naphtha", {"ligroine": {"n-heptane": "100 %"}}, "'ligroine' is not among the parts"),
        ("naphtha", "n-heptane", "surrogates = 'n-heptane': a mapping is needed"),
    ],
)
def test_a_surrogate_that_will_not_do(part, surrogates, says):
    with pytest.raises((DomainError, UnknownVapour)) as caught:
        product({"acetone": "60 %", part: "40 %"}, surrogates=surrogates)
    assert says in str(caught.value)


# --- other bad input


@pytest.mark.parametrize("parts", [None, "toluene", 3, ["toluene"], [("toluene", "60 %", 1)], {}, b"toluene"])
def test_parts_are_pairs(parts):
    with pytest.raises(DomainError, match=r"parts = .*pairs of vapour and share are needed"):
        product(parts)


def test_every_fault_is_told_at_once():
    with pytest.raises(DomainError) as caught:
        describe_product(" ", {"propane": "10-20 %", "acetone": 50}, data_from="", basis="weight", remainder=4)  # type: ignore[arg-type]
    for text in (
        "name = ",
        "data_from = ",
        "basis = 'weight'",
        "ranges",
        "propane boils",
        "50 per cent",
        "remainder = 4",
    ):
        assert text in str(caught.value)


def test_one_substance_described_in_two_ways_is_refused():
    mine = define_vapour("my toluene", **(SOLVENT_X | {"molar_mass": "92.14 g/mol"}), cas="108-88-3")
    with pytest.raises(DomainError, match="described in two ways"):
        product([("toluene", "50 %"), (mine, "50 %")])
    namesake = define_vapour("Acetone", **SOLVENT_X)
    with pytest.raises(DomainError, match="two different vapours are called 'acetone'"):
        product([("acetone", "50 %"), (namesake, "50 %")])


def test_a_vapour_of_the_users_own_is_a_part():
    made = product([("toluene", "50 %"), (define_vapour("solvent X", **SOLVENT_X), "50 %")], basis="volume")
    assert made.shares("volume") == pytest.approx({"solvent X": 0.5, "toluene": 0.5})


def test_fifty_parts():
    names = []
    for name, cas in known_vapours():
        vapour = find_vapour(cas)
        if vapour.boiling_point.value > 295 and not vapour.not_physically_adsorbed and not rules_for(cas):
            names.append(name)
    names = [name for name in names if name != "gamma-butyrolactone"][:50]  # no vapour pressure is listed for it
    made = product([(name, "2 %") for name in names])
    there = made.in_air("50 mg/m3", air=AIR, based_on=SAMPLES)
    assert len(there.components) == 50
    assert math.fsum(made.vapour_shares("25 degC").values()) == pytest.approx(1)
    assert all(0 < p.fresh <= p.highest <= there.total.value * (1 + 1e-9) for p in there.parts)


# --- in the air


def test_a_dried_liquid_ends_as_its_heaviest_part():
    there = product(THINNER, surrogates=LIGROINE).in_air("300 ppm", air=AIR, based_on=SAMPLES)
    most = highest(there)
    assert most["methyl acetate"] == pytest.approx(300e-6 * 0.599, rel=1e-3)  # the lightest never has more than fresh
    assert most["toluene"] == pytest.approx(300e-6)
    assert 98.7e-6 < most["methanol"] < 300e-6
    assert math.fsum(most.values()) > there.total.value
    assert there.total.value == pytest.approx(300e-6)
    assert any("their sum may exceed the total" in note for note in there.notes)
    assert any("methanol" in note and "several times" in note for note in there.notes)
    assert [c.value for _, c in there.components] == [p.highest for p in there.parts]


@given(amounts(), st.sampled_from(["ppm", "mg/m3"]), st.floats(1, 200), st.floats(0, 12))
def test_no_state_of_the_liquid_beats_the_highest(parts, unit, number, log_time):
    made = product(parts)
    there = made.in_air(f"{number} {unit}", air=AIR, based_on=SAMPLES)
    pressures, masses = made.pressures(298.15), np.array([v.molar_mass.value for v in made.vapours])
    left = made.moles() * np.exp(-(pressures - pressures.min()) * 10**log_time / 1e7)
    vapour = left * pressures / (left * pressures).sum()
    total = number * 1e-6
    if unit == "mg/m3":
        total = total / (vapour @ masses) * 8.314462618 * 298.15 / 101325
    assert there.total.value >= total * (1 - 1e-4)
    for part, share in zip(there.parts, vapour, strict=True):
        saturated = part.vapour.saturation_pressure(298.15).value / 101325
        assert part.highest >= min(share * total, saturated) * (1 - 1e-6)
        assert part.fresh <= part.highest * (1 + 1e-9)


@given(st.lists(st.tuples(st.floats(1e-3, 1), st.floats(1, 1e5)), min_size=1, max_size=6), st.floats(0.01, 1))
def test_the_highest_share_is_the_highest_on_the_way(liquid, left):
    weights, pressures = (np.array(column) for column in zip(*liquid, strict=True))
    until = time_until_left(left, weights, pressures)
    moments = [*np.linspace(0, until, 60), *np.geomspace(1e-4 / pressures.max(), max(until, 1e-9), 60)]
    for own in range(len(liquid)):
        best = highest_share(own, weights, pressures, until=until)
        seen = max(shares_at(t, weights, pressures)[own] for t in moments if t <= until)
        assert seen * (1 - 1e-6) <= best <= 1 + 1e-12
        assert best <= highest_share(own, weights, pressures) * (1 + 1e-6)


def test_a_share_that_only_rounding_tells_from_all_is_the_fresh_liquid():
    weights, pressures = np.array([1.0, 1.0, 1.0, 1.0, 0.13356872536071626]), np.ones(5)
    assert time_until_left(0.9999999999999999, weights, pressures) == pytest.approx(0.0, abs=1e-12)


def test_parts_of_one_pressure_keep_their_shares():
    weights, pressures = np.array([1.0, 3.0, 4.0]), np.array([100.0, 100.0, 900.0])
    assert highest_share(0, weights, pressures) == pytest.approx(0.25)
    assert highest_share(1, weights, pressures) == pytest.approx(0.75)
    assert highest_share(2, weights, pressures) == pytest.approx(0.5)


def test_a_bath_that_is_topped_up_never_dries():
    bath = product({"acetone": "90 %", "toluene": "10 %"})
    dry = bath.in_air("200 ppm", air=AIR, based_on=SAMPLES)
    topped = bath.in_air("200 ppm", air=AIR, based_on=SAMPLES, least_left="50 %")
    full = bath.in_air("200 ppm", air=AIR, based_on=SAMPLES, least_left="100 %")
    assert highest(dry)["toluene"] > highest(topped)["toluene"] > highest(full)["toluene"]
    assert [p.highest for p in full.parts] == pytest.approx([p.fresh for p in full.parts])
    assert any("until 50 % of its mass is left" in note for note in topped.notes)


def test_a_total_by_mass_counts_as_the_most_molecules_it_can_be():
    """100 mg/m3 of acetone and n-decane is most molecules as the fresh vapour, mostly acetone."""
    there = product({"acetone": "50 %", "n-decane": "50 %"}).in_air("100 mg/m3", air=AIR, based_on=SAMPLES)
    as_acetone = AIR.volume_fraction(_mass(100), 0.05808)
    as_decane = AIR.volume_fraction(_mass(100), 0.14229)
    assert 0.97 * as_acetone < there.total.value < as_acetone
    assert highest(there)["n-decane"] == pytest.approx(as_decane, rel=1e-4)
    assert there.total.kind == "computed"


def _mass(milligrams):
    from respcalc.core.vocabulary import read_amount

    return read_amount("total", f"{milligrams} mg/m3")


def test_no_vapour_is_above_its_own_saturation():
    there = product({"acetone": "90 %", "n-dodecane": "10 %"}).in_air("900 ppm", air=AIR, based_on=SAMPLES)
    saturated = find_vapour("n-dodecane").saturation_pressure(298.15).value / 101325
    assert highest(there)["n-dodecane"] == pytest.approx(saturated)


def test_more_than_the_liquid_can_give_is_refused():
    with pytest.raises(DomainError, match=r"total = 40000 ppm is more than this liquid can give off.*mist"):
        product({"toluene": "100 %"}).in_air("40000 ppm", air=AIR, based_on=SAMPLES)
    warm = product({"toluene": "100 %"}).in_air("40000 ppm", air=AIR, based_on=SAMPLES, liquid_temperature="40 degC")
    assert "liquid at 40 degC" in str(warm)


@pytest.mark.parametrize(
    "based_on", ["SDS", "safety data sheet, section 3", "label", "the data sheet's percentages", "MSDS", "", "  ", None]
)
def test_a_data_sheet_gives_no_air_levels(based_on):
    with pytest.raises(DomainError, match="based_on = "):
        product(THINNER, surrogates=LIGROINE).in_air("300 ppm", air=AIR, based_on=based_on)


def test_the_refusal_names_the_rule():
    with pytest.raises(DomainError, match=r"29 CFR 1910\.134 \(d\)\(1\)\(iii\).*reasonable estimate"):
        product({"toluene": "100 %"}).in_air("300 ppm", air=AIR, based_on="SDS, section 3")


@pytest.mark.parametrize("based_on", ["charcoal tubes", "SDS composition and a measured evaporation rate, box model"])
def test_a_measurement_or_an_estimate_is_taken(based_on):
    assert product({"toluene": "100 %"}).in_air("30 ppm", air=AIR, based_on=based_on).based_on == based_on


def test_a_direct_reading_instrument_is_warned_of():
    notes = product({"toluene": "100 %"}).in_air("30 ppm", air=AIR, based_on="PID, March 2026").notes
    assert any("calibration gas" in note for note in notes)


@pytest.mark.parametrize(
    ("given_", "error", "says"),
    [
        ({"total": 300}, UnitsError, "total = 300: a bare number has no unit"),
        ({"total": "0 ppm"}, DomainError, "total = 0 ppm"),
        ({"total": "-5 mg/m3"}, DomainError, "total = -5"),
        ({"total": ["5 ppm", "6 ppm"]}, DomainError, "total: 2 values"),
        ({"air": "25 degC"}, TypeError, "make one with describe_air"),
        ({"liquid_temperature": 25}, UnitsError, "liquid_temperature = 25"),
        ({"liquid_temperature": "90 degC"}, DomainError, "liquid_temperature = 90 degC"),
        ({"least_left": 50}, DomainError, 'least_left = 5000 % .* write "50 %"'),
    ],
)
def test_bad_arguments_are_named(given_, error, says):
    with pytest.raises(error, match=says):
        product({"toluene": "100 %"}).in_air(**({"total": "30 ppm", "air": AIR, "based_on": SAMPLES} | given_))


def test_a_missing_vapour_pressure_is_told_and_may_be_estimated():
    missing = {"toluene": "50 %", "gamma-butyrolactone": "50 %"}
    with pytest.raises(MissingProperty, match="gamma-butyrolactone: no vapour pressure"):
        product(missing).vapour_shares("20 degC")
    made = product({"toluene": "50 %", find_vapour("gamma-butyrolactone", estimate_missing=True): "50 %"})
    assert made.vapour_shares("20 degC")["toluene"] > 0.9


# --- several vapours against their limits


def test_the_index_takes_the_least_limit_for_all_at_most():
    there = product({"toluene": "50 %", "n-heptane": "50 %"}).in_air("100 ppm", air=AIR, based_on=SAMPLES)
    limits = ["85 ppm", "20 ppm"]  # n-heptane, toluene
    most = [f"{p.highest * 1e6} ppm" for p in there.parts]
    assert there.highest_index(limits) == pytest.approx(min(additive_index(most, limits), 100 / 20))
    assert there.highest_index(limits) <= 5 * (1 + 1e-9)
    with pytest.raises(DomainError, match="limits: 1 entries for 2 vapours"):
        there.highest_index(["85 ppm"])


def test_five_solvents_measured_at_once(inhaled, decide):
    """Screen printers: the maxima of five vapours, of different people, against the limits of then."""
    measured = {"m-xylene": (85, 100), "toluene": (356, 200), "MIBK": (126, 100), "MEK": (25, 200),
                "isophorone": (14, 25)}  # fmt: skip
    then = [
        inhaled(name, ppm, own=f"{limit} ppm", authority="limits of 1981") for name, (ppm, limit) in measured.items()
    ]
    assert sum(p.concentration for p in then) == pytest.approx(606e-6)
    index = additive_index(
        [f"{c} ppm" for c, _ in measured.values()], [f"{limit} ppm" for _, limit in measured.values()]
    )
    assert index == pytest.approx(4.57, abs=0.02)
    average = next(c for c in decide(*then).criteria if c.name == "maximum use concentration, shift average")
    assert average.met
    assert f"= {index:.4g}" in average.found
    stricter = [p for p in then if p.vapour.name != "toluene"]
    stricter.append(inhaled("toluene", 356, own="20 ppm", authority="a stricter limit"))
    again = next(c for c in decide(*stricter).criteria if c.name == "maximum use concentration, shift average")
    assert not again.met


# --- what comes back


def test_results_are_plain_and_survive_a_process():
    made = product({"toluene": "60 %", "acetone": "35 %"}, remainder="unknown")
    there = made.in_air("300 mg/m3", air=AIR, based_on=SAMPLES)
    for result in (made, there):
        assert pickle.loads(pickle.dumps(result)) == result
        assert json.loads(json.dumps(result.as_dict())) == result.as_dict()
    assert there.as_dict()["based_on"] == SAMPLES
    assert there.as_dict()["components"][0]["highest"]["unit"] == "ppm"
    assert "supplier's letter" in str(made)
    assert "at most" in str(there)
