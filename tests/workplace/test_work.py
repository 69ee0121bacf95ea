"""Work that is not equally hard throughout, metabolic rates, and what nobody observed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.errors import DomainError, UnitsError
from respcalc.workplace import breathing_rate, describe_work, metabolic_rates, standard_flows

phases = st.lists(st.tuples(st.floats(5, 120), st.floats(0.1, 6)), min_size=1, max_size=5)


def work_of(pairs):
    return describe_work([(f"{flow} L/min", f"{hours} h") for flow, hours in pairs])


def test_the_hardest_counts_first_whatever_the_order():
    """65 L/min for 1 h, then 30: two hours at 65 draw 7.8 m3; 3.9 m3 go in the first hour, the rest takes 2 h 10."""
    one = describe_work([("heavy", "1 h"), ("light", "5 h")])
    other = describe_work([("light", "3 h"), ("heavy", "1 h"), ("light", "2 h")])
    for work in (one, other):
        assert work.highest.value * 6e4 == pytest.approx(65)
        assert work.mean * 6e4 == pytest.approx((65 + 5 * 30) / 6)
        assert work.lasts_si(7200) / 3600 == pytest.approx(1 + 65 / 30)


@given(pairs=phases, life=st.floats(1, 1e5))
def test_there_and_back(pairs, life):
    work = work_of(pairs)
    time = work.lasts_si(life)
    assert time >= life * (1 - 1e-9)
    assert work.at_highest_si(time) == pytest.approx(life, rel=1e-9, abs=1e-6)


@given(pairs=phases, life=st.floats(1, 1e5), which=st.integers(0, 4), up=st.floats(1, 3))
def test_harder_work_never_lasts_longer(pairs, life, which, up):
    """The same air at the highest flow: a harder phase shortens, also where it becomes the hardest."""
    flows = [flow for flow, _ in pairs]
    harder = [*pairs]
    i = which % len(pairs)
    harder[i] = (pairs[i][0] * up, pairs[i][1])
    volume = life * max(flows)  # what the bed takes at the old highest flow; at a higher one it takes no more
    assert work_of(harder).lasts_si(volume / max(f for f, _ in harder)) <= work_of(pairs).lasts_si(life) * (1 + 1e-9)


@given(pairs=phases, life=st.floats(1, 1e5), start=st.floats(0, 1))
def test_no_stretch_of_the_shift_draws_more(pairs, life, start):
    """Any window of the time that is allowed, wherever in one shift it begins, draws at most what the bed takes."""
    work = work_of(pairs)
    time = work.lasts_si(life)
    if time > work.span:
        return
    begin, drawn, clock = start * (work.span - time), 0.0, 0.0
    for phase in work.phases:
        inside = min(clock + phase.length, begin + time) - max(clock, begin)
        drawn += max(inside, 0.0) * phase.flow.value
        clock += phase.length
    assert drawn <= life * work.highest.value * (1 + 1e-9)


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        ([], "pairs of work rate and length"),
        ("heavy", "pairs of work rate and length"),
        ([("heavy",)], "no. 1: .* is no pair"),
        ([("heavy", "1 h"), ("light", "0 h")], "no. 2: length = 0"),
        ([("heavy", 1)], "no. 1, length"),
        ([("busy", "1 h")], "no. 1: work_rate = 'busy' is not known"),
    ],
)
def test_phases_that_cannot_be(bad, says):
    with pytest.raises((DomainError, UnitsError), match=says):
        describe_work(bad)


# --- metabolic rates


@pytest.mark.parametrize(
    ("watt", "litres"), [(115, 30), (295, 30.2), (415, 42.5), (520, 53.3), (720, 73.8), (1080, 110.6)]
)
def test_metabolic_rates_become_flows_at_the_upper_ratio_and_not_below_30(watt, litres):
    found = breathing_rate(f"{watt} W")
    assert found.value * 6e4 == pytest.approx(litres, rel=2e-3)
    assert found.kind == "computed"
    assert f"{watt} W" in found.note


def test_kilocalories_do_as_well():
    assert breathing_rate("500 kcal/h").value == pytest.approx(breathing_rate("581.1111111 W").value)


def test_a_bad_flow_is_still_refused_as_a_flow():
    with pytest.raises(UnitsError, match="work_rate"):
        breathing_rate("40 ppm")
    with pytest.raises(DomainError, match=r"metabolic_rate|work_rate"):
        breathing_rate("5000 W")


def test_what_nobody_observed_counts_as_heavy_and_says_so():
    found = breathing_rate("not observed")
    assert found.value * 6e4 == pytest.approx(65)
    assert found.kind == "default"
    assert "nobody observed" in found.note


def test_rows_of_the_tables():
    assert [round(r["metabolic_rate"]) for r in metabolic_rates()] == [115, 180, 295, 415, 520]
    assert [round(r["flow_rate"] * 6e4) for r in standard_flows()] == [64, 32, 115, 170, 40, 30]
