"""Water that was on the carbon before: how much of it stands, and what it leaves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.models.humidity import capacity_beside_water, standing_water
from respcalc.models.water import water_share

shares = st.floats(0.0, 1.0)
potentials = st.floats(0.0, 3.0)


@pytest.mark.parametrize(
    ("x", "stands"), [(0.0, 0.58), (0.40, 0.58), (0.55, 0.685), (0.70, 0.79), (1.0, 1.0), (2.5, 1.0)]
)
def test_the_line_between_its_two_ends(x, stands):
    assert standing_water.si(reduced_potential=x) == pytest.approx(stands)


@pytest.mark.parametrize("dampness", [0.0, 0.5])  # a typical carbon, and the one that lives are planned for
def test_the_ends_are_what_they_were_drawn_from(dampness):
    """Well held: half the life at 50 % RH is left at 90 % RH, and the rate takes its root; badly held: all stands."""

    def left(humidity, x):
        return capacity_beside_water.si(
            water_share=water_share.si(relative_humidity=humidity, carbon_dampness=dampness),
            standing_water=standing_water.si(reduced_potential=x),
        )

    assert left(0.90, 0.3) / left(0.50, 0.3) == pytest.approx(0.57, abs=0.005)
    low, high = (0.52 / 2.5, 0.58 / 2.0)  # the printed loadings, 80 over 15 % RH
    found = left(0.80, 1.2) / left(0.15, 1.2)
    if dampness == 0.0:
        assert low <= found <= high
    else:
        assert 0.12 < found < low  # a damper carbon leaves less than was measured: the safe side


@given(potentials, st.floats(0.0, 1.0))
def test_worse_held_never_pushes_out_more(x, step):
    assert standing_water.si(reduced_potential=x + step) >= standing_water.si(reduced_potential=x)
    assert 0.58 <= standing_water.si(reduced_potential=x) <= 1.0
    near = standing_water.si(reduced_potential=x + 1e-6 * step)
    assert near == pytest.approx(standing_water.si(reduced_potential=x), abs=1e-6)  # no seam


@given(shares, shares, shares)
def test_more_water_or_more_of_it_standing_never_leaves_more(water, stands, step):
    left = capacity_beside_water.si(water_share=water, standing_water=stands)
    assert 0.0 <= left <= 1.0
    assert capacity_beside_water.si(water_share=water + step * (1 - water), standing_water=stands) <= left + 1e-15
    assert capacity_beside_water.si(water_share=water, standing_water=stands + step * (1 - stands)) <= left + 1e-15


def test_ends_and_arrays():
    assert capacity_beside_water.si(water_share=0.0, standing_water=1.0) == 1.0
    assert capacity_beside_water.si(water_share=1.0, standing_water=1.0) == 0.0
    assert capacity_beside_water.si(water_share=np.array([0.0, 0.5]), standing_water=1.0).tolist() == [1.0, 0.5]
