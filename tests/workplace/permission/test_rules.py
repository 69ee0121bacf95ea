"""Rules for single substances are data: every clause complete, and none that more vapour could escape."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.vapours.identity import check_cas
from respcalc.workplace import facepiece, facepieces, rules_for
from respcalc.workplace.permission.substance_rules import _by_cas

CLAUSES = [rule for rules in _by_cas().values() for rule in rules]


@pytest.mark.parametrize("rule", CLAUSES, ids=[r.rule for r in CLAUSES])
def test_a_clause_is_complete(rule):
    assert check_cas(rule.cas) == rule.cas
    assert rule.standard
    assert rule.edition
    assert rule.wording
    assert rule.above < rule.up_to
    assert (rule.duration > 0) == (rule.acts in ("interval", "life at least"))
    assert bool(rule.facepieces) == (rule.acts == "facepiece")
    assert bool(rule.instead) == (rule.acts in ("not permitted", "other element", "facepiece", "life at least"))
    assert {*rule.facepieces} <= {piece.name for piece in facepieces()}


def test_how_many_there_are():
    assert len(CLAUSES) == len({r.rule for r in CLAUSES}) == 43
    assert len(_by_cas()) == 29
    assert sum(r.standard.startswith("29 CFR 1910.1003") for r in CLAUSES) == 13


@given(
    cas=st.sampled_from(sorted(_by_cas())), a=st.floats(1e-9, 1e-3), b=st.floats(1e-9, 1e-3),
    mask=st.sampled_from([p.name for p in facepieces()]),
)  # fmt: skip
def test_more_vapour_never_escapes_a_clause(cas, a, b, mask):
    low, high = sorted((a, b))
    piece = facepiece(mask)

    def refused(amount):
        return any(rule.fault(amount, piece) for rule in rules_for(cas))

    def longest(amount):
        return min((r.duration for r in rules_for(cas) if r.acts == "interval" and r.holds_at(amount)), default=1e9)

    assert refused(high) >= refused(low)
    if not refused(high):
        assert longest(high) <= longest(low)
