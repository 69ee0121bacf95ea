"""Which limit a task is held to, and that nobody talks their way out of a published one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc import Quantity
from respcalc.core.errors import DomainError, MissingProperty, UnitsError
from respcalc.vapours import define_vapour, find_vapour
from respcalc.workplace import choose_limits, limits_in_force

SOLVENT_X = {
    "molar_mass": "100 g/mol",
    "boiling_point": "110 degC",
    "saturation_pressure": "3.0 kPa",
    "saturation_temperature": "20 degC",
    "liquid_density": "0.85 g/cm3",
    "refractive_index": 1.40,
}
BENZENE_ANEW = {
    "molar_mass": "78.11 g/mol",
    "boiling_point": "80.1 degC",
    "saturation_pressure": "10 kPa",
    "saturation_temperature": "20 degC",
    "liquid_density": "0.879 g/cm3",
    "refractive_index": 1.501,
    "cas": "71-43-2",
}


def ppm(limit):
    return None if limit is None else round(limit.value.value * 1e6, 9)


@pytest.mark.parametrize(
    ("name", "limits_from", "long_term", "short_term"),
    [
        ("toluene", "strictest", (100, "NIOSH REL"), (150, "NIOSH REL")),
        ("toluene", "OSHA PEL", (200, "OSHA PEL"), (300, "OSHA PEL")),
        ("toluene", "NIOSH REL", (100, "NIOSH REL"), (150, "NIOSH REL")),
        ("benzene", "strictest", (0.1, "NIOSH REL"), (1, "NIOSH REL")),
        ("benzene", "OSHA PEL", (1, "OSHA PEL"), (5, "OSHA PEL")),
        ("carbon tetrachloride", "strictest", (0.03, "EPA ECEL"), (2, "NIOSH REL")),
        ("carbon tetrachloride", "EPA ECEL", (0.03, "EPA ECEL"), None),
        ("n-hexane", "strictest", (50, "NIOSH REL"), None),
        ("formaldehyde", "OSHA PEL", (0.75, "OSHA PEL"), (2, "OSHA PEL")),
    ],
)
def test_the_chosen_limits(name, limits_from, long_term, short_term):
    chosen = choose_limits(find_vapour(name), limits_from=limits_from)
    for limit, expected in ((chosen.long_term, long_term), (chosen.short_term, short_term)):
        assert (None if limit is None else (ppm(limit), limit.authority)) == expected
    present = [limit for limit in (long_term, short_term) if limit]
    assert ppm(chosen.least) == min(p for p, _ in present)
    assert all(authority in chosen.text for _, authority in present)


def test_a_peak_above_the_ceiling_is_no_limit_to_plan_by():
    """Toluene has a 500 ppm peak in Table Z-2; the 300 ppm ceiling is what counts."""
    assert ppm(choose_limits(find_vapour("toluene"), limits_from="OSHA PEL").short_term) == 300


def test_an_unknown_authority_lists_those_that_are_known():
    with pytest.raises(DomainError, match=r"limits_from = 'ACGIH'.*toluene.*\"strictest\", 'NIOSH REL', 'OSHA PEL'"):
        choose_limits(find_vapour("toluene"), limits_from="ACGIH")


# --- limits of the site


def test_an_own_limit_replaces_the_averages_and_keeps_the_short_term():
    chosen = choose_limits(find_vapour("toluene"), own_limit="20 ppm", own_authority="site limit 2026")
    assert (ppm(chosen.long_term), chosen.long_term.authority) == (20, "site limit 2026")
    assert ppm(chosen.short_term) == 150
    assert chosen.warnings == ()
    assert chosen.long_term.value.kind == "given"


@pytest.mark.parametrize("authority", [None, "", "   "])
def test_an_own_limit_needs_to_be_somebodys(authority):
    with pytest.raises(DomainError, match="exposure_limit of toluene: say whose"):
        choose_limits(find_vapour("toluene"), own_limit="20 ppm", own_authority=authority)


def test_an_authority_without_its_limit_is_not_passed_over():
    with pytest.raises(DomainError, match="'company' is given for toluene without an exposure_limit"):
        choose_limits(find_vapour("toluene"), own_authority="company")


def test_both_ways_of_choosing_at_once_are_refused():
    with pytest.raises(DomainError, match="both given"):
        choose_limits(find_vapour("toluene"), limits_from="OSHA PEL", own_limit="20 ppm", own_authority="site")


@pytest.mark.parametrize(
    ("own", "warned"),
    [("99 ppm", False), ("100 ppm", False), ("100.1 ppm", True), ("200 ppm", True), ("0.01 %", False)],
)
def test_an_own_limit_above_the_published_one_is_warned_of(own, warned):
    warnings = choose_limits(find_vapour("toluene"), own_limit=own, own_authority="site").warnings
    assert bool(warnings) == warned
    if warned:
        assert all(text in warnings[0] for text in ("toluene", own, "site", "higher than 100 ppm TWA", "NIOSH REL"))


def test_where_only_a_ceiling_is_published_it_is_what_an_own_limit_is_held_against():
    ceiling_only = define_vapour(
        "solvent X", **SOLVENT_X, exposure_limit="20 ppm", limit_authority="a", limit_kind="ceiling"
    )
    warnings = choose_limits(ceiling_only, own_limit="50 ppm", own_authority="site").warnings
    assert "higher than 20 ppm ceiling (a)" in warnings[0]


@pytest.mark.parametrize("bad", [20, "20", "0 ppm", "-1 ppm", "20 mg/m3", True, "nan ppm"])
def test_a_bad_own_limit_is_refused(bad):
    with pytest.raises((DomainError, UnitsError), match="exposure_limit"):
        choose_limits(find_vapour("toluene"), own_limit=bad, own_authority="site")


@pytest.mark.parametrize("several", [["20 ppm"], ["20 ppm", "30 ppm"], Quantity([20, 30], "ppm")])
def test_one_limit_is_one_value(several):
    with pytest.raises(DomainError, match=r"exposure_limit: .* give one value"):
        choose_limits(find_vapour("toluene"), own_limit=several, own_authority="site")


def test_without_any_limit_one_is_asked_for():
    with pytest.raises(MissingProperty, match=r'solvent X.*exposure_limit = "50 ppm" and exposure_limit_authority ='):
        choose_limits(define_vapour("solvent X", **SOLVENT_X))


@given(own=st.floats(1e-3, 1e3))
def test_the_least_is_never_above_a_published_short_term_limit(own):
    chosen = choose_limits(find_vapour("toluene"), own_limit=f"{own} ppm", own_authority="site")
    assert chosen.least.value.value <= 150e-6 * (1 + 1e-9)
    assert bool(chosen.warnings) == (own > 100 * (1 + 1e-9))


# --- a listed substance under another name


def test_describing_benzene_anew_does_not_lift_its_limits():
    mine = define_vapour("site solvent", **BENZENE_ANEW, exposure_limit="50 ppm", limit_authority="site")
    in_force = limits_in_force(mine)
    assert in_force.idlh.value == pytest.approx(500e-6)
    assert in_force.carcinogen
    chosen = choose_limits(mine)
    assert (ppm(chosen.long_term), chosen.long_term.authority) == (0.1, "NIOSH REL")
    assert ppm(choose_limits(mine, limits_from="site").long_term) == 50
    warned = choose_limits(mine, own_limit="50 ppm", own_authority="site").warnings
    assert "higher than 0.1 ppm" in warned[0]


@pytest.mark.parametrize(("idlh", "in_force"), [("100 ppm", 100), ("900 ppm", 500)])
def test_of_two_idlh_values_the_lower_holds(idlh, in_force):
    mine = define_vapour("site solvent", **BENZENE_ANEW, idlh=idlh)
    assert limits_in_force(mine).idlh.value * 1e6 == pytest.approx(in_force)


def test_listed_vapours_and_new_ones_keep_their_own():
    toluene, new = find_vapour("toluene"), define_vapour("solvent X", **SOLVENT_X, idlh="700 ppm")
    assert limits_in_force(toluene) is toluene.limits
    assert limits_in_force(new) is new.limits
    stricter = toluene.with_limit("10 ppm", authority="site")
    assert ppm(choose_limits(stricter).long_term) == 10
    assert len(limits_in_force(stricter)) == len(toluene.limits) + 1
