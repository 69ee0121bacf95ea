"""Whether a cartridge may be used at all. A needless yes is the fault that kills."""

from __future__ import annotations

import json
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.errors import DomainError
from respcalc.vapours import define_vapour
from respcalc.workplace import facepieces, may_filter

MASKS = [piece.name for piece in facepieces()]
ABOVE = 1 + 1e-6


def failed(permission):
    return [c.name for c in permission.criteria if not c.met]


# --- each criterion alone

# vapour, ppm, extra for the vapour, extra for the decision, the only criterion that fails, what the refusal must say
ALONE = [
    pytest.param("toluene", 50, {}, {"oxygen": 0.194}, "oxygen",
                 ["oxygen 19.4 %", "at least 19.5 %", "29 CFR 1910.134", "atmosphere-supplying"], id="oxygen"),
    pytest.param("toluene", 50, {}, {"oxygen": None}, "oxygen",
                 ["oxygen was not stated", "at least 19.5 %", "1910.134", "IDLH"], id="oxygen not stated"),
    pytest.param("methylene chloride", 1, {}, {"mask": "powered full facepiece"}, "rule for dichloromethane",
                 ["not permitted", "1910.1052", "atmosphere-supplying"], id="methylene chloride"),
    pytest.param("DBCP", 0.001, {}, {"mask": "powered full facepiece"}, "rule for 1,2-dibromo-3-chloropropane",
                 ["not permitted", "1910.1044", "atmosphere-supplying"], id="DBCP"),
    pytest.param("EtO", 0.1, {}, {"mask": "full facepiece"}, "rule for ethylene oxide",
                 ["not permitted", "1910.1047", "canister approved for ethylene oxide"], id="ethylene oxide"),
    pytest.param("formaldehyde", 0.05, {}, {"mask": "full facepiece"}, "rule for formaldehyde",
                 ["not permitted", "1910.1048", "approved for formaldehyde"], id="formaldehyde"),
    pytest.param("vinyl chloride", 10.01, {"average": 1}, {"mask": "full facepiece"}, "rule for vinyl chloride",
                 ["10.01 ppm, above 10 ppm", "1910.1017", "atmosphere-supplying"], id="vinyl chloride"),
    pytest.param("1,3-butadiene", 50.01, {}, {"mask": "powered full facepiece"}, "rule for 1,3-butadiene",
                 ["50.01 ppm, above 50 ppm", "1910.1051"], id="butadiene"),
    pytest.param("1,3-butadiene", 10.01, {"average": 2}, {}, "rule for 1,3-butadiene",
                 ["10.01 ppm with a half mask; above 10 ppm a full facepiece", "1910.1051"], id="butadiene, half mask"),
    pytest.param("1,3-butadiene", 25.01, {"average": 2}, {"mask": "powered loose-fitting"}, "rule for 1,3-butadiene",
                 ["25.01 ppm with a powered loose-fitting; above 25 ppm a tight-fitting", "1910.1051"],
                 id="butadiene, loose"),
    pytest.param("1,3-butadiene", 1, {}, {"mask": "quarter mask"}, "rule for 1,3-butadiene",
                 ["quarter mask", "1910.1051"], id="butadiene, quarter mask"),
    pytest.param("toluene", 500.5, {}, {"mask": "powered full facepiece"}, "IDLH of toluene",
                 ["500.5 ppm", "the IDLH is 500 ppm", "(d)(2)", "SCBA", "reduce the concentration"], id="IDLH"),
    pytest.param("n-butane", 100, {}, {}, "n-butane on carbon",
                 ["boils at -0.5", "gas at room temperature", "atmosphere-supplying"], id="gas"),
    pytest.param("n-hexane", 500.5, {}, {}, "maximum use concentration, shift average",
                 ["500.5 ppm of n-hexane", "10 x 50 ppm (NIOSH REL) = 500 ppm", "(d)(3)(i)", "full facepiece"],
                 id="use concentration, average"),
    pytest.param("carbon disulfide", 100.5, {"average": 5}, {}, "maximum use concentration, short term",
                 ["100.5 ppm of carbon disulfide", "10 x 10 ppm (NIOSH REL) = 100 ppm", "full facepiece"],
                 id="use concentration, short term"),
    pytest.param("acetone", 1000.5, {}, {}, "use limit of the cartridge",
                 ["in all", "1000 ppm is allowed", "42 CFR 84.190", "canister"], id="cartridge"),
    pytest.param("toluene", 60, {}, {"use_limit": 50}, "use limit of the cartridge",
                 ["60 ppm in all", "50 ppm is allowed", "given by the user"], id="cartridge, own limit"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "ppm", "of_vapour", "of_task", "criterion", "says"), ALONE)
def test_each_criterion_alone_refuses_with_value_bound_source_and_way_out(
    inhaled, decide, name, ppm, of_vapour, of_task, criterion, says
):
    permission = decide(inhaled(name, ppm, **of_vapour), **of_task)
    assert failed(permission) == [criterion]
    assert not permission.allowed
    (refusal,) = permission.refusals
    assert "Needed instead: " in refusal
    assert refusal.rpartition("Needed instead: ")[2].strip()
    for text in says:
        assert text in refusal


@pytest.mark.parametrize(
    ("name", "mask", "limits_from", "most"),
    [
        pytest.param("toluene", "half mask", "OSHA PEL", 500, id="capped by IDLH 500"),
        pytest.param("carbon tetrachloride", "half mask", "EPA ECEL", 0.3, id="10 x 0.03"),
        pytest.param("n-hexane", "half mask", "OSHA PEL", 1000, id="capped by 42 CFR 84.190"),
        pytest.param("styrene", "full facepiece", "OSHA PEL", 700, id="capped by IDLH 700"),
        pytest.param("benzene", "half mask", "OSHA PEL", 10, id="1910.1028: 10 x 1"),
        pytest.param("vinyl chloride", "full facepiece", "OSHA PEL", 10, id="1910.1017: 10"),
        pytest.param("1,3-butadiene", "half mask", "OSHA PEL", 10, id="1910.1051: 10"),
        pytest.param("1,3-butadiene", "powered loose-fitting", "OSHA PEL", 25, id="1910.1051: 25"),
        pytest.param("1,3-butadiene", "full facepiece", "OSHA PEL", 50, id="1910.1051: 50"),
        pytest.param("1,3-butadiene", "powered half mask", "OSHA PEL", 50, id="1910.1051: 50, tight blower"),
        pytest.param("acetone", "half mask", "OSHA PEL", 1000, id="acetone"),
    ],
)
def test_the_bound_itself_is_allowed_and_nothing_above(inhaled, decide, name, mask, limits_from, most):
    assert decide(inhaled(name, most, limits_from=limits_from), mask=mask).refusals == ()
    assert not decide(inhaled(name, most * ABOVE, limits_from=limits_from), mask=mask).allowed


@pytest.mark.parametrize(
    ("oxygen", "allowed"), [(0.195, True), (0.1949, False), (0.209, True), (0.16, False), (0.0, False)]
)
def test_oxygen(inhaled, decide, oxygen, allowed):
    assert decide(inhaled("toluene", 50), oxygen=oxygen).allowed == allowed


@pytest.mark.parametrize(
    ("name", "ppm", "more", "gravest"),
    [
        ("benzene", 600, {}, "IDLH of benzene"),
        ("formaldehyde", 20.89, {}, "IDLH of formaldehyde"),
        ("toluene", 600, {"oxygen": 0.18, "pressure": "101.3 kPa"}, "IDLH of toluene"),
        ("styrene", 650, {"oxygen": 0.12}, "oxygen"),
    ],
)
def test_the_gravest_remedy_is_told_first_and_no_weaker_one_beside_it(inhaled, decide, name, ppm, more, gravest):
    refusals = decide(inhaled(name, ppm), **more).refusals
    assert refusals[0].startswith(f"{gravest}:")
    assert "pressure-demand SCBA" in refusals[0]
    for refusal in refusals[1:]:
        instead = refusal.rpartition("Needed instead: ")[2]
        assert "SCBA" in instead or instead == f"no filter will do, see {gravest}", refusal


def test_where_supplied_air_is_needed_no_better_mask_is_named(inhaled, decide):
    refusals = decide(inhaled("dichloromethane", 300), mask="half mask").refusals
    assert len(refusals) > 1
    assert "atmosphere-supplying" in refusals[0]
    assert all("facepiece or better" not in refusal for refusal in refusals)


# --- situations from practice


def test_an_average_of_80_with_15_minutes_at_300(inhaled, decide):
    """OSHA letters of 1989 and 1990: APF 10 gives 8 and 30 ppm inside; the design concentration is the highest."""
    part = inhaled("toluene", 300, average=80, limits_from="OSHA PEL")
    permission = decide(part)
    assert permission.allowed
    by_name = {c.name: c for c in permission.criteria}
    assert by_name["maximum use concentration, shift average"].found.startswith("80 ppm")
    assert by_name["maximum use concentration, short term"].found.startswith("300 ppm")
    assert part.concentration == pytest.approx(300e-6)


@pytest.mark.parametrize(
    ("mask", "allowed"), [("half mask", False), ("full facepiece", False), ("powered full facepiece", True)]
)
def test_the_same_numbers_for_benzene(inhaled, decide, mask, allowed):
    permission = decide(inhaled("benzene", 300, average=80, limits_from="OSHA PEL"), mask=mask)
    assert permission.allowed == allowed
    if not allowed:
        assert failed(permission) == [
            "maximum use concentration, shift average",
            "maximum use concentration, short term",
        ]
        assert all("powered full facepiece" in r for r in permission.refusals)


def test_a_short_spell_is_not_hidden_by_a_low_average(inhaled, decide):
    assert failed(decide(inhaled("benzene", 60, average=1, limits_from="OSHA PEL"))) == [
        "maximum use concentration, short term"
    ]


@pytest.mark.parametrize("mask", MASKS)
def test_embalming_before_ventilation_is_refused_with_any_mask(inhaled, decide, mask):
    """15-min samples up to 20.89 ppm, average 2.86: above IDLH 20, above 10 x STEL 2, and the wrong sorbent."""
    permission = decide(inhaled("formaldehyde", 20.89, average=2.86, limits_from="OSHA PEL"), mask=mask)
    assert {"rule for formaldehyde", "IDLH of formaldehyde"} <= set(failed(permission))
    assert any("element approved for formaldehyde" in r for r in permission.refusals)
    assert ("maximum use concentration, short term" in failed(permission)) == (mask in ("quarter mask", "half mask"))


def test_embalming_after_ventilation_still_needs_another_element(inhaled, decide):
    permission = decide(inhaled("formaldehyde", 3.44, average=1.0, limits_from="OSHA PEL"), mask="full facepiece")
    assert failed(permission) == ["rule for formaldehyde"]


def test_printers_with_five_solvents_pass_on_the_printed_limits(inhaled, decide):
    parts = [
        inhaled("m-xylene", 85, own="100 ppm", authority="1981 report"),
        inhaled("toluene", 356, own="200 ppm", authority="1981 report"),
        inhaled("MIBK", 126, own="100 ppm", authority="1981 report"),
        inhaled("MEK", 25, own="200 ppm", authority="1981 report"),
        inhaled("isophorone", 14, own="25 ppm", authority="1981 report"),
    ]
    permission = decide(*parts)
    by_name = {c.name: c for c in permission.criteria}
    assert "= 4.57" in by_name["maximum use concentration, shift average"].found
    assert by_name["maximum use concentration, shift average"].met
    assert by_name["IDLH of toluene"].met
    assert by_name["use limit of the cartridge"].found == "606 ppm in all"
    stricter = decide(*(inhaled("toluene", 356, own="20 ppm", authority="stricter") if p.vapour.name == "toluene" else p
                        for p in parts))  # fmt: skip
    assert "maximum use concentration, shift average" in failed(stricter)


@pytest.mark.parametrize("gas", ["n-butane", "isobutane", "methyl chloride", "propane"])
def test_propellants_are_gases_at_room_temperature(inhaled, decide, gas):
    part = inhaled(gas, 10, own="100 ppm", authority="test")
    assert f"{part.vapour.name} on carbon" in failed(decide(part, mask="powered full facepiece"))


# --- mixtures


def test_limits_add_up_over_the_mixture(inhaled, decide):
    """Each alone is far below ten times its limit; together they are not (1910.1000 (d)(2)(i))."""
    parts = [inhaled("toluene", 450, limits_from="OSHA PEL"), inhaled("MEK", 400, limits_from="OSHA PEL")]
    assert all(decide(p).allowed for p in parts)
    tight = [inhaled("n-hexane", 300), inhaled("toluene", 450)]
    assert all(decide(p).allowed for p in tight)
    permission = decide(*tight)
    assert failed(permission) == ["maximum use concentration, shift average"]
    assert "300 ppm/50 ppm (NIOSH REL) + 450 ppm/100 ppm (NIOSH REL) = 10.5" in permission.refusals[0]
    assert "allows a sum of 10" in permission.refusals[0]


def test_the_use_limit_holds_for_the_sum(inhaled, decide):
    parts = [inhaled("acetone", 600), inhaled("ethyl acetate", 401)]
    assert all(decide(p).allowed for p in parts)
    assert failed(decide(*parts)) == ["use limit of the cartridge"]


def test_one_forbidden_vapour_forbids_the_mixture(inhaled, decide):
    """A paint remover with 14 % methylene chloride, and an aerosol with butane."""
    for bad in ("methylene chloride", "n-butane"):
        permission = decide(inhaled("toluene", 36), inhaled("acetone", 25), inhaled(bad, 1))
        assert len(permission.refusals) == 1


def test_no_vapour_at_all_is_no_permission(decide):
    with pytest.raises(DomainError, match="no vapour is given"):
        decide()


# --- warnings


@pytest.mark.parametrize(
    ("name", "says"),
    [("benzene", "carcinogen"), ("acrylonitrile", "carcinogen"), ("carbon disulfide", "through the skin")],
)
def test_what_a_mask_alone_does_not_settle_is_said(inhaled, decide, name, says):
    assert any(says in w and name in w for w in decide(inhaled(name, 0.5), mask="full facepiece").warnings)
    assert not any(says in w for w in decide(inhaled("toluene", 50)).warnings)


def test_an_own_limit_above_the_published_one_is_printed(inhaled, decide):
    permission = decide(inhaled("toluene", 90, own="200 ppm", authority="site"))
    assert any("higher than 100 ppm" in w for w in permission.warnings)


def test_a_use_limit_above_that_of_cartridges_is_for_canisters(inhaled, decide):
    permission = decide(inhaled("acetone", 1500), use_limit=2000)
    assert permission.allowed
    assert any("only a canister approved for more" in w for w in permission.warnings)


def test_a_vapour_without_a_number_was_not_looked_up(inhaled, decide):
    new = define_vapour(
        "solvent X", molar_mass="100 g/mol", boiling_point="110 degC", saturation_pressure="3.0 kPa",
        saturation_temperature="20 degC", liquid_density="0.85 g/cm3", refractive_index=1.40,
        exposure_limit="50 ppm", limit_authority="site",
    )  # fmt: skip
    permission = decide(inhaled("", 50, vapour=new))
    assert permission.allowed
    assert any("solvent X has no CAS number" in w for w in permission.warnings)
    assert any("no IDLH is listed here" in c.allowed for c in permission.criteria)


def test_the_rules_follow_the_number_whatever_the_name(inhaled, decide):
    disguised = define_vapour(
        "degreaser", molar_mass="84.93 g/mol", boiling_point="39.8 degC", saturation_pressure="47 kPa",
        saturation_temperature="20 degC", liquid_density="1.33 g/cm3", refractive_index=1.424, cas="75-09-2",
        exposure_limit="500 ppm", limit_authority="an old data sheet",
    )  # fmt: skip
    assert "rule for dichloromethane" in failed(decide(inhaled("", 1, vapour=disguised), mask="full facepiece"))


# --- properties

NAMES = ["toluene", "benzene", "n-hexane", "acetone", "styrene", "1,3-butadiene", "vinyl chloride", "carbon disulfide",
         "acrylonitrile", "methylene chloride", "n-butyl acetate", "trichloroethylene"]  # fmt: skip
amounts = st.floats(1e-2, 3e3)


@given(data=st.data(), worse=st.floats(1.0, 50.0))
def test_more_vapour_never_turns_a_refusal_into_permission(inhaled, decide, data, worse):
    names = data.draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=3, unique=True))
    ppm = [data.draw(amounts) for _ in names]
    mean = [c * data.draw(st.floats(0.05, 1.0)) for c in ppm]
    mask = data.draw(st.sampled_from(MASKS))
    which = data.draw(st.integers(0, len(names) - 1))
    before = decide(*(inhaled(n, c, average=m) for n, c, m in zip(names, ppm, mean, strict=True)), mask=mask)
    ppm[which] *= worse
    if data.draw(st.booleans()):
        mean[which] = min(mean[which] * worse, ppm[which])
    after = decide(*(inhaled(n, c, average=m) for n, c, m in zip(names, ppm, mean, strict=True)), mask=mask)
    assert set(failed(before)) <= set(failed(after))


@given(data=st.data(), ppm=amounts, limit=st.floats(1e-2, 1e3), lower=st.floats(0.01, 1.0))
def test_a_lower_limit_never_turns_a_refusal_into_permission(inhaled, decide, data, ppm, limit, lower):
    name, mask = data.draw(st.sampled_from(NAMES)), data.draw(st.sampled_from(MASKS))
    before = decide(inhaled(name, ppm, own=f"{limit} ppm", authority="a"), mask=mask)
    after = decide(inhaled(name, ppm, own=f"{limit * lower} ppm", authority="a"), mask=mask)
    assert set(failed(before)) <= set(failed(after))


@given(data=st.data(), ppm=amounts)
def test_a_lower_protection_factor_never_turns_a_refusal_into_permission(inhaled, decide, data, ppm):
    name = data.draw(st.sampled_from(NAMES))
    factors = {piece.name: piece.protection_factor.value for piece in facepieces()}
    better, worse = sorted(data.draw(st.permutations(MASKS))[:2], key=lambda m: -factors[m])
    if not decide(inhaled(name, ppm), mask=better).allowed and factors[worse] < factors[better]:
        assert not decide(inhaled(name, ppm), mask=worse).allowed


@given(data=st.data(), ppm=amounts, extra=amounts)
def test_another_vapour_in_the_air_never_helps(inhaled, decide, data, ppm, extra):
    first, second = data.draw(st.permutations(NAMES))[:2]
    mask = data.draw(st.sampled_from(MASKS))
    if not decide(inhaled(first, ppm), mask=mask).allowed:
        assert not decide(inhaled(first, ppm), inhaled(second, extra), mask=mask).allowed


@given(ppm=st.floats(1, 2e3), oxygen=st.floats(0, 0.21), limit=st.floats(1, 2e3))
def test_a_lower_use_limit_or_less_oxygen_never_helps(inhaled, decide, ppm, oxygen, limit):
    part = inhaled("acetone", ppm)
    loose, strict = decide(part, oxygen=0.209, use_limit=limit), decide(part, oxygen=oxygen, use_limit=limit * 0.9)
    assert set(failed(loose)) <= set(failed(strict))


# --- forms


def test_a_decision_can_be_filed_and_pickled(inhaled, decide):
    permission = decide(inhaled("toluene", 600))
    written = json.loads(json.dumps(permission.as_dict()))
    assert written["allowed"] is False
    assert {c["criterion"] for c in written["criteria"] if not c["met"]} == set(failed(permission))
    assert all(c["source"] for c in written["criteria"])
    assert pickle.loads(pickle.dumps(permission)) == permission


def test_may_filter_asks_for_oxygen_and_mask_by_name(inhaled):
    with pytest.raises(TypeError):
        may_filter([inhaled("toluene", 50)])
