"""What a varying concentration would allow: no less than the highest throughout, and never counted."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import respcalc
from respcalc.estimate import BreakthroughCriterion, estimate_inhaled, life_as_it_varies
from respcalc.workplace import breathing_rate, describe_exposure

AIR = respcalc.describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")
BED = respcalc.describe_bed("one (invented)", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm")


def estimate(inhaled):
    return estimate_inhaled(
        inhaled, cartridge=BED, air=AIR, flow=breathing_rate("moderate"), criterion=BreakthroughCriterion.of(None, None)
    )


def part(levels, vapour="toluene"):
    pairs = [(f"{level:.9f} ppm", f"{minutes:.9f} min") for level, minutes in levels]
    return describe_exposure(vapour, pairs, air=AIR)


def seconds(*parts):
    return life_as_it_varies(parts, estimate).life.value


def alone(level, vapour="toluene"):
    return estimate([describe_exposure(vapour, f"{level} ppm", air=AIR)]).life.value


def test_without_a_profile_there_is_nothing_to_show():
    assert life_as_it_varies([describe_exposure("toluene", "300 ppm", air=AIR)], estimate) is None


def test_a_level_profile_is_the_life_itself():
    assert seconds(part([(200, 100), (200, 140)])) == pytest.approx(alone(200))


def test_each_stretch_takes_its_share_the_hardest_first():
    high, low = alone(300), alone(60)
    assert high > 15 * 60
    rest = (1 - 15 * 60 / high) * low
    assert rest < 465 * 60  # spent within the first shift
    assert seconds(part([(60, 465), (300, 15)])) == pytest.approx(15 * 60 + rest)


def test_whole_shifts_are_counted_with_all_their_stretches():
    high, low = alone(100), alone(10)
    a_shift = 600 / high + 600 / low
    assert a_shift < 0.5
    whole = int(1 / a_shift)
    left = 1 - whole * a_shift
    more = left * high if left * high <= 600 else 600 + (left - 600 / high) * low
    assert seconds(part([(10, 10), (100, 10)])) == pytest.approx(whole * 1200 + more)


def test_time_in_clean_air_takes_nothing():
    assert seconds(part([(200, 10), (0, 470)])) > 10 * alone(200)


def test_several_vapours_are_taken_by_the_clock():
    together = [describe_exposure(n, "150 ppm", air=AIR) for n in ("toluene", "n-hexane")]
    apart = seconds(part([(150, 5), (0, 5)]), part([(0, 5), (150, 5)], "n-hexane"))
    at_once = seconds(part([(150, 5), (0, 5)]), part([(150, 5), (0, 5)], "n-hexane"))
    a_shift = 300 / estimate(together).life.value
    assert int(1 / a_shift) * 600 <= at_once <= (int(1 / a_shift) + 1) * 600
    a_shift = 300 * (1 / alone(150) + 1 / alone(150, "n-hexane"))
    assert int(1 / a_shift) * 600 <= apart <= (int(1 / a_shift) + 1) * 600


def test_a_stretch_that_cannot_be_estimated_is_named():
    found = life_as_it_varies([part([(200, 10), (1, 10)], "methanol")], estimate)
    assert found.life is None
    assert "methanol: immediate breakthrough" in found.because
    assert found.as_dict() == {"service_life": None, "because": found.because, "counts": False}


LEVELS = st.lists(st.tuples(st.floats(1, 400), st.floats(2, 300)), min_size=1, max_size=5)


@settings(max_examples=20)
@given(LEVELS, st.floats(1, 3), st.data())
def test_never_less_than_the_highest_allows_and_never_more_for_more_vapour(levels, factor, data):
    before = seconds(part(levels))
    assert before >= alone(max(level for level, _ in levels)) * (1 - 1e-9)
    which = data.draw(st.integers(0, len(levels) - 1))
    more = [(level * (factor if i == which else 1), minutes) for i, (level, minutes) in enumerate(levels)]
    assert seconds(part(more)) <= before * (1 + 1e-9)
    assert seconds(part(levels[::-1])) == pytest.approx(before)


def test_the_life_that_counts_does_not_know_of_it():
    told = part([(300, 15), (60, 465)])
    assert estimate([told]).life.value == estimate([replace(told, profile=None)]).life.value == alone(300)
