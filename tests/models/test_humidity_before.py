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


def test_the_ends_are_what_they_were_drawn_from():
    """Half the capacity of a well-held vapour is left at 90 % RH; a fifth to 0.29 of a badly held one at 80 %."""
    left = [
        capacity_beside_water.si(
            water_share=water_share.si(relative_humidity=humidity, carbon_dampness=0.0),
            standing_water=standing_water.si(reduced_potential=x),
        )
        for humidity, x in ((0.90, 0.3), (0.80, 1.2))
    ]
    assert left[0] == pytest.approx(0.50, abs=0.01)
    assert 0.20 <= left[1] <= 0.29


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
