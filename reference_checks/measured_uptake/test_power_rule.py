"""The power rule and the divisor on measured isotherms: what they do, and the figures that both README files state."""

from __future__ import annotations

import numpy as np
import pytest

from reference_checks.measured_uptake.default_carbon import scatter_carbons
from reference_checks.measured_uptake.fits import DEFAULT_CARBON, predict
from reference_checks.measured_uptake.isotherms import Isotherm, isotherms
from reference_checks.measured_uptake.power_rule import calibrated_pressure, ruled
from reference_checks.measured_uptake.stated_coverage import (
    CoverageLine,
    coverage_table,
    divided,
    divisor_from,
    margin_blind,
)
from reference_checks.measured_uptake.step_down import step_table, steps
from respcalc.estimate import margin


def _one(vapour: str) -> Isotherm:
    return next(i for i in isotherms("A") if i.vapour == vapour)


def test_above_the_calibrated_concentration_nothing_changes() -> None:
    one = _one("acetone")
    at = calibrated_pressure(one.known.cas) * np.array([1.0, 1.5, 30.0])
    assert ruled(DEFAULT_CARBON, one, at) == pytest.approx(predict(DEFAULT_CARBON, one, pressure=at), rel=1e-12)


def test_below_it_a_life_grows_at_most_as_the_power() -> None:
    one = _one("p-xylene")
    start = calibrated_pressure(one.known.cas)
    at = start / np.array([1.0, 10.0, 100.0])
    life = ruled(DEFAULT_CARBON, one, at) / at
    assert life[1:] / life[:-1] == pytest.approx(10**margin.DILUTION_POWER)


def test_the_rule_never_adds_to_a_loading() -> None:
    assert all(step.by_rule <= step.predicted * (1 + 1e-12) for e in ("default", "own") for step in steps(e))


def test_from_100_pa_to_10_pa() -> None:
    (line,) = [line for line in step_table("default", "A") if line.group == "10 Pa"]
    assert (line.isotherms, line.carbons) == (15, 8)
    assert line.without == pytest.approx((0.12, 0.44, 0.67), abs=0.01)
    assert line.by_rule == pytest.approx((-0.10, 0.19, 0.38), abs=0.01)
    assert line.worst_by_rule == "benzene on commercial, extruded (Yun)"


def _line(group: str) -> CoverageLine:
    (line,) = [line for line in coverage_table() if line.group == group]
    return line


@pytest.mark.parametrize(
    ("group", "covered", "points", "carbons_covered", "carbons"),
    [
        ("grade A, 100 Pa and above", 149, 153, 15, 16),
        ("grade A, below 100 Pa", 46, 47, 9, 10),
        ("grade B, 100 Pa and above", 143, 157, 16, 20),
        ("grade B, below 100 Pa", 6, 8, 4, 6),
        # of the 17 one was measured with methanol only
        ("both, the carbons that the widening was made from", 151, 151, 16, 16),
        ("both, the same, each left out of the widening", 150, 151, 15, 16),
        ("both, the other carbons", 193, 214, 13, 20),
    ],
)
def test_how_often_the_default_carbon_is_covered(
    group: str, covered: int, points: int, carbons_covered: int, carbons: int
) -> None:
    """The stated coverage is 95 %: met by grade A, missed by grade B, whose carbons are mostly laboratory ones."""
    found = _line(group)
    assert (found.points, found.carbons) == (points, carbons)
    # a few points lie within 2 % of the measured loading and may change sides with a property table
    assert found.covered == pytest.approx(covered, abs=1)
    assert found.carbons_covered == pytest.approx(carbons_covered, abs=1)


def test_coverage_of_each_grade() -> None:
    assert _line("grade A, all").share >= 0.95
    assert 0.85 <= _line("grade B, all").share < 0.95


@pytest.mark.parametrize(("cas", "divisor"), [("108-88-3", 2.1), ("67-64-1", 3.0), ("67-66-3", 4.3), ("75-09-2", 8.5)])
def test_divisors_that_the_readme_states(cas: str, divisor: float) -> None:
    assert margin_blind(cas).divisor == pytest.approx(divisor, abs=0.05)


def test_vapours_outside_the_calibration_are_left_out() -> None:
    assert "methanol" in {i.vapour for i in isotherms("B")}
    assert "methanol" not in {row.vapour for row in divided("B")}


def test_the_widening_was_made_from_the_carbons_it_says() -> None:
    assert len(scatter_carbons()) == margin._CARBONS
    for cas in {i.known.cas for i in isotherms()} - {"67-56-1"}:  # methanol is outside
        assert divisor_from(cas, scatter_carbons()) == pytest.approx(margin_blind(cas).divisor, rel=0.002)
