"""What counts as breakthrough, against the exit limits of certification tests."""

from __future__ import annotations

import pytest

from respcalc.prediction import Challenge


@pytest.mark.parametrize(
    ("exit_ppm", "challenge_ppm", "percent"),
    # 42 CFR 84 Tables 5 and 11, EN 14387: exit limit over challenge
    [(5, 1000, 0.5), (10, 1000, 1.0), (10, 5000, 0.2), (10, 8000, 0.125), (5, 20000, 0.025)],
)
def test_penetration_fractions_of_certification_tests(exit_ppm, challenge_ppm, percent):
    inlet = challenge_ppm * 1e-6
    challenge = Challenge(inlet, 298.15, 101325.0, 0.5, challenge_fraction=1.0, limit_exit=exit_ppm * 1e-6)
    assert 100 * challenge.exit_fraction(inlet) == pytest.approx(percent, rel=1e-12)


def test_the_lower_of_the_two_parts_counts():
    challenge = Challenge(200e-6, 298.15, 101325.0, 0.5, challenge_fraction=0.01, limit_exit=1e-6)
    assert challenge.exit_fraction(200e-6) == pytest.approx(0.005)
    assert challenge.exit_fraction(50e-6) == pytest.approx(0.01)
