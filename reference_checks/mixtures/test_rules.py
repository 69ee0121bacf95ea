"""Which rules stay on the safe side of equilibrium theory, as found; the study holds their bias and spread."""

from __future__ import annotations

import numpy as np
import pytest

from reference_checks.mixtures.report import report
from reference_checks.mixtures.rules import compared, invented
from reference_checks.mixtures.study import SIZES


def largest(rule: str) -> float:
    return max(float(compared(size).ratios[rule].max()) for size in SIZES)


@pytest.mark.parametrize(
    ("rule", "at_least", "at_most"),
    [
        ("sum", 1.005, 1.012),
        ("proportionate", 0.9, 1.0),
        ("mole_fraction", 0.9, 1.0),
        ("feed", 0.9, 1.0005),
        ("guidance", 1.3, 1.42),
        ("fastest", 1.3, 1.42),
        ("doong_yang", 1.3, 1.42),
        ("single", 3.0, 3.4),
    ],
)
def test_the_longest_that_a_rule_gives(rule: str, at_least: float, at_most: float) -> None:
    assert at_least <= largest(rule) <= at_most


def test_without_interaction_only_far_apart_vapours_are_safe() -> None:
    found = compared(2)
    bands = [found.ratios["single"][found.spread >= apart].max() for apart in (1, 2, 5, 10, 30, 100)]
    assert bands == sorted(bands, reverse=True)
    assert bands[0] > 1.8
    assert bands[-1] < 1.01


@pytest.mark.parametrize("size", SIZES)
def test_the_sum_rule_for_vapours_no_one_has_met(size: int) -> None:
    found = invented(size, 10e-6, 1000e-6)
    assert found.ratios["sum"].max() < 1.02
    assert np.median(found.ratios["sum"]) > 0.75


def test_the_sum_rule_is_blind_to_a_convex_foot() -> None:
    """A trace of a weakly held vapour is held worse than the same vapour at the sum: only sharp fronts are covered."""
    found = invented(2, 0.3e-6, 10e-6)
    assert found.ratios["sum"][found.sharp].max() < 1.02
    assert found.ratios["sum"].max() > 1.5


def test_the_report_has_every_part() -> None:
    text = report()
    for part in ("5 components", "no interaction / theory, by the ratio", "invented vapours", "marched bed"):
        assert part in text
