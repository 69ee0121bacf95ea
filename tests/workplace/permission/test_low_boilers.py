"""German limits of use for type AX: by group of the exposure limit and by concentration."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.workplace import low_boiler_limit

fractions = st.floats(1e-7, 2e-2)


@pytest.mark.parametrize(
    ("ppm", "limit", "minutes"),
    [(100, 10, 40), (101, 10, 20), (500, 10, 20), (501, 10, 0), (1000, 11, 60), (1001, 11, 20), (5000, 500, 20),
     (5001, 500, 0)],
)  # fmt: skip
def test_the_groups(ppm, limit, minutes):
    """DGUV Regel 112-190: group 1 up to 10 mL/m3, group 2 above."""
    assert low_boiler_limit(ppm * 1e-6, limit * 1e-6, "Germany").longest == minutes * 60


def test_no_such_rule_is_known_elsewhere():
    assert low_boiler_limit(1e-4, 1e-4, "UK") is None


@given(a=fractions, b=fractions, limit=fractions, other=fractions)
def test_more_vapour_or_a_lower_limit_never_allows_longer(a, b, limit, other):
    low, high = sorted((a, b))
    strict, lax = sorted((limit, other))
    assert low_boiler_limit(high, limit, "Germany").longest <= low_boiler_limit(low, limit, "Germany").longest
    assert low_boiler_limit(a, strict, "Germany").longest <= low_boiler_limit(a, lax, "Germany").longest
