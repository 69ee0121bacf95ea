"""Oxygen by volume, by height, and what is needed instead."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.workplace import describe_air, describe_exposure, facepiece, may_filter


def decide(height="0 m", oxygen="20.9 %", where="US"):
    air = describe_air(temperature="20 degC", relative_humidity="50 %", altitude=height, oxygen=oxygen)
    part = describe_exposure(
        "toluene", "50 ppm", air=air, exposure_limit="50 ppm", exposure_limit_authority="site", jurisdiction=where
    )
    return may_filter([part], mask=facepiece("half mask", jurisdiction=where), oxygen=air.oxygen, pressure=air.pressure)


@pytest.mark.parametrize(
    ("feet", "oxygen", "within"),
    [(1000, 16.0, True), (1000, 15.9, False), (3500, 16.4, True), (3500, 16.3, False), (5000, 17.1, True),
     (5500, 17.7, False), (6500, 18.5, True), (7500, 19.3, True), (7500, 19.2, False), (8500, 19.4, False)],
)  # fmt: skip
def test_the_exception_by_height_lets_any_air_supply_be_used_and_never_a_filter(feet, oxygen, within):
    """29 CFR 1910.134 Table II; the row of 6001 to 7000 ft is from memory."""
    permission = decide(f"{feet} ft", f"{oxygen} %")
    assert not permission.allowed
    (refusal,) = [r for r in permission.refusals if r.startswith("oxygen:")]
    assert ("any atmosphere-supplying respirator" in refusal) == within
    assert ("SCBA" in refusal) != within


def test_the_air_of_high_mountains_needs_oxygen():
    assert decide("4260 m").allowed
    high = decide("4275 m")
    assert not high.allowed
    assert any("oxygen-enriched" in r for r in high.refusals)


def test_thin_air_is_said_before_it_is_refused():
    assert not any("partial pressure" in w for w in decide("1500 m").warnings)
    assert any("partial pressure of oxygen 109.9 mmHg" in w for w in decide("3000 m").warnings)


def test_thin_and_depleted_air_is_refused_before_the_percentage_says_so():
    """19.5 % at 4200 m is 88 mmHg; Table II never goes below 108 mmHg, not even for supplied air."""
    assert not decide("4200 m", "19.5 %").allowed
    assert decide("2200 m", "19.5 %").allowed
    assert decide("4200 m", "20.9 %").allowed  # the air of the place, with a warning


@given(
    height=st.floats(0, 5900), up=st.floats(0, 3000), oxygen=st.floats(0.1, 0.21), less=st.floats(0, 0.05),
    where=st.sampled_from(["US", "Germany", "Australia"]),
)  # fmt: skip
def test_higher_or_less_oxygen_never_helps(height, up, oxygen, less, where):
    worse = (f"{min(height + up, 6000)} m", f"{oxygen - less}", where)
    if not decide(f"{height} m", f"{oxygen}", where).allowed:
        assert not decide(*worse).allowed
