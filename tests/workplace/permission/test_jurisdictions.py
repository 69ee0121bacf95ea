"""Whose rules hold: limits, protection factors, oxygen; the stricter wins, and conflicts are printed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty
from respcalc.vapours import find_vapour
from respcalc.workplace import (
    choose_limits,
    describe_air,
    describe_exposure,
    facepiece,
    facepieces,
    jurisdiction,
    jurisdictions,
    may_filter,
)

NAMES = [j.name for j in jurisdictions()]
ANZ = "Australia and New Zealand"
AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m", oxygen="20.9 %")
ppm_values = st.floats(0.01, 5000)


def ppm(limit):
    return round(limit.value.value * 1e6, 9)


@pytest.mark.parametrize(
    ("written", "name"),
    [("us", "US"), (" United  States ", "US"), ("GB", "UK"), ("Deutschland", "Germany"), ("AS/NZS", ANZ)],
)
def test_usual_names_are_understood(written, name):
    assert jurisdiction(written).name == name


@pytest.mark.parametrize("written", ["", "Atlantis", "EU", None, 7])
def test_an_unknown_one_lists_the_known_and_a_way_out(written):
    with pytest.raises(DomainError, match=r"jurisdiction = .*US, UK, Germany.*leave it out"):
        jurisdiction(written)


# --- protection factors

READ = {("US", "half mask"): 10, ("US", "full facepiece"): 50, ("Germany", "half mask"): 30,
        ("Germany", "full facepiece"): 400, (ANZ, "half mask"): 10,
        (ANZ, "full facepiece"): 50}  # fmt: skip


@pytest.mark.parametrize(("where", "name"), READ)
def test_factors_that_were_read_count_as_they_are(where, name):
    piece = facepiece(name, jurisdiction=where)
    assert piece.protection_factor.value == READ[where, name]
    assert piece.protection_factor.kind == "regulation"
    assert piece.jurisdiction == where


@pytest.mark.parametrize("where", NAMES)
def test_a_remembered_factor_never_exceeds_what_was_read_for_such_a_device(where):
    most = {"powered half mask": 50, "powered full": 1000, "TH": 25, "hood": 25, "loose": 25, "quarter mask": 5,
            "half mask": 10, "full facepiece": 50}  # fmt: skip
    for piece in facepieces(where):
        if piece.protection_factor.kind == "memory":
            kind = next(k for k in most if k in piece.name)
            assert piece.protection_factor.value <= most[kind]
            assert "to be confirmed" in piece.protection_factor.note


def test_what_is_remembered_counts_once_it_is_confirmed():
    """Finland: 20 for a half mask is remembered; 10 counts until somebody has looked it up."""
    assert facepiece("half mask", jurisdiction="Finland").protection_factor.value == 10
    confirmed = facepiece("half mask", jurisdiction="Finland", protection_factor=20, evidence="national table, 2024")
    assert confirmed.protection_factor.value == 20
    assert "national table, 2024" in confirmed.protection_factor.note
    with pytest.raises(DomainError, match=r"protection_factor = 30 is above 20"):
        facepiece("half mask", jurisdiction="Finland", protection_factor=30, evidence="wishful")


def test_a_hood_counts_1000_only_with_its_makers_evidence():
    assert facepiece("powered hood or helmet").protection_factor.value == 25
    tested = facepiece("powered hood or helmet", protection_factor=1000, evidence="test report of the maker, 2025")
    assert tested.protection_factor.value == 1000
    with pytest.raises(DomainError, match="say what it rests on"):
        facepiece("powered hood or helmet", protection_factor=1000)
    with pytest.raises(DomainError, match="above 25"):
        facepiece("powered loose-fitting", protection_factor=1000, evidence="the same report")
    with pytest.raises(DomainError, match="without a protection_factor"):
        facepiece("half mask", evidence="a table")


def test_a_lower_factor_of_the_programme_always_counts():
    assert facepiece("half mask", protection_factor=5, evidence="site rule 2026").protection_factor.value == 5


def test_a_device_of_another_table_says_where_it_is_known():
    with pytest.raises(DomainError, match=r"powered hood TH3 is in the table of Finland, Germany.*choose one of"):
        facepiece("powered hood TH3")


# --- limits


def test_own_limits_and_the_law_of_a_jurisdiction():
    toluene, us = find_vapour("toluene"), jurisdiction("US")
    stricter = choose_limits(toluene, own_limit="20 ppm", own_authority="site", jurisdiction=us)
    assert (ppm(stricter.long_term), stricter.warnings) == (20, ())
    looser = choose_limits(toluene, own_limit="250 ppm", own_authority="site", jurisdiction=us)
    assert ppm(looser.long_term) == pytest.approx(200)
    assert any("is law in US" in w and "it holds" in w for w in looser.warnings)
    between = choose_limits(toluene, own_limit="150 ppm", own_authority="site", jurisdiction=us)
    assert ppm(between.long_term) == pytest.approx(150)
    assert any("higher than 100 ppm" in w and "NIOSH" in w for w in between.warnings)


def test_two_laws_hold_together():
    """Choosing the PEL of carbon tetrachloride does not do away with EPA's limit."""
    who = find_vapour("carbon tetrachloride")
    assert ppm(choose_limits(who, limits_from="OSHA PEL").long_term) == pytest.approx(10)
    both = choose_limits(who, limits_from="OSHA PEL", jurisdiction=jurisdiction("US"))
    assert ppm(both.long_term) == pytest.approx(0.03)
    assert any("EPA ECEL 0.03 ppm TWA is law in US" in w for w in both.warnings)


@pytest.mark.parametrize("where", [n for n in NAMES if n != "US"])
def test_where_no_limits_are_shipped_one_must_be_given(where):
    there = jurisdiction(where)
    with pytest.raises(MissingProperty, match=rf"no exposure limit is known here for toluene in {where} .*not shipped"):
        choose_limits(find_vapour("toluene"), jurisdiction=there)
    chosen = choose_limits(
        find_vapour("toluene"), own_limit="50 ppm", own_authority="national limit 2025", own_short_limit="100 ppm",
        jurisdiction=there,
    )  # fmt: skip
    assert (ppm(chosen.long_term), ppm(chosen.short_term)) == (50, pytest.approx(100))
    with pytest.raises(DomainError, match="OSHA PEL"):
        choose_limits(find_vapour("toluene"), limits_from="OSHA PEL", jurisdiction=there)


@given(own=ppm_values, where=st.sampled_from([None, jurisdiction("US")]), short=st.none() | ppm_values)
def test_a_short_limit_of_ones_own_never_raises_any(own, where, short):
    plain = choose_limits(find_vapour("toluene"), own_limit=f"{own} ppm", own_authority="s", jurisdiction=where)
    more = choose_limits(
        find_vapour("toluene"), own_limit=f"{own} ppm", own_authority="s", jurisdiction=where,
        own_short_limit=None if short is None else f"{short} ppm",
    )  # fmt: skip
    assert ppm(more.short_term) <= ppm(plain.short_term)
    assert ppm(more.least) <= ppm(plain.least)


@given(own=ppm_values)
def test_in_a_jurisdiction_nobody_talks_his_way_above_the_law(own):
    for name in ("toluene", "carbon tetrachloride", "benzene", "n-hexane"):
        law = choose_limits(find_vapour(name), limits_from="OSHA PEL").long_term
        chosen = choose_limits(
            find_vapour(name), own_limit=f"{own} ppm", own_authority="s", jurisdiction=jurisdiction("US")
        )
        assert ppm(chosen.long_term) <= ppm(law) * (1 + 1e-9)


# --- the gate


def decide(where, name="toluene", amount="90 ppm", oxygen=0.209, mask="half mask", **more):
    part = describe_exposure(
        name, amount, air=AIR, jurisdiction=where, exposure_limit="50 ppm", exposure_limit_authority="national", **more
    )
    return may_filter([part], mask=facepiece(mask, jurisdiction=where), oxygen=Datum("oxygen", oxygen, "given"))


@pytest.mark.parametrize("where", NAMES)
def test_oxygen_has_the_bound_of_the_jurisdiction(where):
    least = jurisdiction(where).least_oxygen.value
    assert least >= 0.19
    assert decide(where, oxygen=least).allowed
    assert not decide(where, oxygen=least - 1e-4).allowed


@pytest.mark.parametrize("where", [n for n in NAMES if n != "US"])
@pytest.mark.parametrize("name", ["dichloromethane", "DBCP", "ethylene oxide"])
def test_what_a_us_standard_forbids_is_forbidden_elsewhere_too_unless_a_rule_there_is_named(where, name):
    """No text of these countries was read: naming one must not lift a prohibition."""
    refused = decide(where, name, "1 ppm", mask="full facepiece")
    (criterion,) = [c for c in refused.criteria if c.name.startswith("rule for")]
    assert not criterion.met
    assert "national_rule" in criterion.instead
    allowed = decide(where, name, "1 ppm", mask="full facepiece", national_rule="national text of 2025, section 3")
    assert not any(c.name.startswith("rule for") and not c.met for c in allowed.criteria)
    assert any("national text of 2025" in w for w in allowed.warnings)
    assert any("1910.10" in w and f"not a rule of {where}" in w for w in allowed.warnings)


def test_in_the_us_no_other_rule_overrules_a_standard():
    with pytest.raises(DomainError, match="national_rule"):
        decide("US", "dichloromethane", "1 ppm", national_rule="some other text")


def test_caps_of_the_us_act_everywhere_and_rules_of_germany_only_there():
    assert any(c.name == "rule for benzene" for c in decide("Sweden", "benzene", "1 ppm").criteria)
    assert not decide("Germany", "carbon disulfide", "1 ppm", mask="full facepiece").allowed
    assert decide("Sweden", "carbon disulfide", "1 ppm", mask="full facepiece").allowed


def test_limits_and_mask_of_two_jurisdictions_do_not_go_together():
    part = describe_exposure("toluene", "50 ppm", air=AIR, jurisdiction="US")
    with pytest.raises(DomainError, match=r"factor is that of Germany.*limits of toluene are those of US"):
        may_filter([part], mask=facepiece("half mask", jurisdiction="Germany"), oxygen="20.9 %")


def test_a_short_term_limit_that_nobody_gave_is_stood_in_for():
    """n-Butylamine has a ceiling of 5 ppm in the US; naming Germany with an average alone does not make it go away."""
    alone = decide("Germany", "n-butylamine", "200 ppm", mask="full facepiece")
    assert any("stands in" in w and "5 ppm ceiling" in w for w in alone.warnings)
    mask = facepiece("half mask", jurisdiction="Germany", protection_factor=10, evidence="test")
    limits = {"exposure_limit": "50 ppm", "exposure_limit_authority": "national", "jurisdiction": "Germany"}
    for more, met in (({}, False), ({"ceiling_limit": "30 ppm"}, True), ({"short_term_limit": "10 ppm"}, False)):
        part = describe_exposure("n-butylamine", "200 ppm", air=AIR, **limits, **more)
        by_name = {c.name: c.met for c in may_filter([part], mask=mask, oxygen=AIR.oxygen).criteria}
        assert by_name["maximum use concentration, short term"] == met


def test_powered_devices_keep_below_the_class_of_their_filters():
    """EN 12941 and 12942, from memory: 0.05, 0.1 and 0.5 per cent by volume for classes 1, 2 and 3."""
    for limit, powered in ((1000, 500), (5000, 1000), (10000, 5000)):
        use_limit = Datum("volume_fraction", limit * 1e-6, "given")
        for amount, fits in ((powered, True), (powered * 1.001, False)):
            part = describe_exposure("acetone", f"{amount} ppm", air=AIR, exposure_limit="500 ppm",
                                     exposure_limit_authority="national", jurisdiction="Germany")  # fmt: skip
            mask = facepiece("powered half mask TM2", jurisdiction="Germany")
            permission = may_filter([part], mask=mask, oxygen=AIR.oxygen, use_limit=use_limit)
            met = {c.name: c.met for c in permission.criteria}
            assert met["use limit of the cartridge"] == fits


@given(a=st.floats(1, 2e4), b=st.floats(1, 2e4))
def test_a_lower_use_limit_never_helps_a_powered_device(a, b):
    low, high = sorted((a, b))
    part = describe_exposure("acetone", "400 ppm", air=AIR, exposure_limit="500 ppm",
                             exposure_limit_authority="national", jurisdiction="UK")  # fmt: skip
    mask = facepiece("powered half mask TM3", jurisdiction="UK")
    met = [
        {c.name: c.met for c in may_filter(
            [part], mask=mask, oxygen=AIR.oxygen, use_limit=Datum("volume_fraction", x * 1e-6, "given")).criteria
         }["use limit of the cartridge"]
        for x in (low, high)
    ]  # fmt: skip
    assert met[0] <= met[1]


def test_a_lax_ceiling_does_not_take_the_place_of_a_limit_over_15_minutes():
    """Benzene: the US STEL of 1 ppm stands in where a country's own was not given, whatever ceiling is."""
    limits = {"exposure_limit": "29 ppm", "exposure_limit_authority": "national", "jurisdiction": ANZ}
    mask = facepiece("full facepiece", jurisdiction=ANZ)
    for more in ({}, {"ceiling_limit": "439 ppm"}):
        part = describe_exposure("benzene", "353 ppm", air=AIR, **limits, **more)
        assert not may_filter([part], mask=mask, oxygen=AIR.oxygen).allowed


def test_limits_of_no_named_jurisdiction_are_those_of_the_us():
    part = describe_exposure("n-hexane", "400 ppm", air=AIR)
    with pytest.raises(DomainError, match=r"limits of n-hexane are those of US"):
        may_filter([part], mask=facepiece("half mask", jurisdiction="Germany"), oxygen="20.9 %")


@pytest.mark.parametrize("hours", [12.0, 12, "12", float("nan")])
def test_a_bare_number_of_hours_is_refused(hours):
    part = describe_exposure("toluene", "50 ppm", air=AIR)
    with pytest.raises(ValueError, match="hours_of_use"):
        may_filter([part], mask="half mask", oxygen="20.9 %", hours_of_use=hours)
