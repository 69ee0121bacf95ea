"""A concentration over time: its average, its worst quarter of an hour, its highest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import respcalc
from respcalc.core.errors import DomainError, UnitsError
from respcalc.workplace import Profile, Stretch, describe_exposure, time_weighted_average

AIR = respcalc.describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
LEVELS = st.lists(st.tuples(st.floats(0, 500), st.floats(1, 300)), min_size=1, max_size=8).filter(
    lambda pairs: any(level > 1 for level, _ in pairs)
)


def profile_of(pairs):
    return Profile(tuple(Stretch(level * 1e-6, minutes * 60) for level, minutes in pairs))


def test_the_example_of_the_regulation():
    """29 CFR 1910.1000 (d)(1)(ii): 2 h at 150, 2 h at 75, 4 h at 50 ppm are 81.25 ppm."""
    part = describe_exposure("toluene", [("150 ppm", "2 h"), ("75 ppm", "2 h"), ("50 ppm", "4 h")], air=AIR)
    assert part.average == pytest.approx(81.25e-6)
    assert (part.concentration, part.short_term) == (pytest.approx(150e-6), pytest.approx(150e-6))


def test_eighty_on_average_with_a_quarter_of_an_hour_at_three_hundred():
    """OSHA letters of 1989: 80 ppm over 8 h with 15 min at 300; 72.9 ppm is what the other 7.75 h average."""
    part = describe_exposure("toluene", [("72.9 ppm", "7.75 h"), ("300 ppm", "15 min")], air=AIR)
    assert part.average == pytest.approx(80e-6, rel=1e-3)
    assert part.short_term == part.concentration == pytest.approx(300e-6)


def test_a_burst_shorter_than_a_quarter_is_averaged_with_the_next_highest_wherever_that_stands():
    part = describe_exposure(
        "toluene", [("300 ppm", "5 min"), ("0 ppm", "2 h"), ("90 ppm", "10 min"), ("20 ppm", "1 h")], air=AIR
    )
    assert part.short_term == pytest.approx((300 * 5 + 90 * 10) / 15 * 1e-6)
    assert part.concentration == pytest.approx(300e-6)


def test_mass_and_volume_may_stand_side_by_side():
    part = describe_exposure("toluene", [("376.6 mg/m3", "1 h"), ("100 ppm", "1 h")], air=AIR)
    assert part.average == pytest.approx(100e-6, rel=1e-3)
    assert "average 100 ppm" in part.profile.text


@given(LEVELS, st.randoms())
def test_the_average_is_that_of_the_regulation_and_the_order_does_not_matter(pairs, chance):
    found = profile_of(pairs)
    amounts, times = [f"{level:.12f} ppm" for level, _ in pairs], [f"{minutes:.12f} min" for _, minutes in pairs]
    span = f"{sum(minutes for _, minutes in pairs):.12f} min"
    if sum(minutes for _, minutes in pairs) <= 24 * 60:  # the longest that a shift may be
        printed = time_weighted_average(amounts, times, over=span).to("ppm").magnitude
        assert found.average * 1e6 == pytest.approx(printed, rel=1e-9)
    shuffled = list(pairs)
    chance.shuffle(shuffled)
    for seconds in (60.0, 900.0, 4 * 3600.0):
        assert profile_of(shuffled).highest_average(seconds) == pytest.approx(found.highest_average(seconds))


@given(LEVELS, st.floats(1, 3000), st.floats(1, 3000))
def test_a_shorter_average_is_never_lower_and_none_is_above_the_highest(pairs, one, other):
    found = profile_of(pairs)
    short, long = sorted((one, other))
    assert found.highest >= found.highest_average(short * 60) >= found.highest_average(long * 60) * (1 - 1e-12)
    assert found.highest_average(long * 60) >= found.average * (1 - 1e-12)


@given(LEVELS, st.data())
def test_more_at_any_time_never_lowers_any_of_them(pairs, data):
    which = data.draw(st.integers(0, len(pairs) - 1))
    more = list(pairs)
    more[which] = (pairs[which][0] + data.draw(st.floats(0, 300)), pairs[which][1])
    before, after = profile_of(pairs), profile_of(more)
    assert after.highest >= before.highest
    for seconds in (60.0, 900.0, 8 * 3600.0):
        assert after.highest_average(seconds) >= before.highest_average(seconds) * (1 - 1e-12)


@pytest.mark.parametrize(
    ("pairs", "error", "says"),
    [
        ([], DomainError, "pairs of level and length are needed"),
        (["300 ppm"], DomainError, "no. 1: '300 ppm' is no pair"),
        ([("300 ppm", "1 h"), ("300", "1 h")], UnitsError, "no. 2: level = '300': the unit is missing"),
        ([("300 ppm", 3)], UnitsError, "no. 1: length = 3: a bare number has no unit"),
        ([("-5 ppm", "1 h")], DomainError, "no. 1: level = -5 ppm is not possible"),
        ([("5 ppm", "0 h")], DomainError, "no. 1: length = 0"),
        ([("0 ppm", "1 h")], DomainError, "every level is 0 ppm"),
        ([("<5 ppm", "1 h")], UnitsError, "no. 1: level"),
    ],
)
def test_what_is_no_profile(pairs, error, says):
    with pytest.raises(error, match=r"profile") as found:
        describe_exposure("toluene", pairs, air=AIR)
    assert says in str(found.value)


@pytest.mark.parametrize("key", ["average", "short_term"])
def test_what_follows_from_it_is_not_given_beside_it(key):
    with pytest.raises(DomainError, match=f"{key} = '50 ppm' follows from the profile"):
        describe_exposure("toluene", [("300 ppm", "1 h")], air=AIR, **{key: "50 ppm"})


def test_many_stretches_are_told_in_one_line():
    text = profile_of([(10 * k, 5) for k in range(1, 20)]).text
    assert text.startswith("19 stretches of 10 ppm to 190 ppm; average 100 ppm")
