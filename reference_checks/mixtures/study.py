"""What this folder holds the rules for mixtures to: theory of sharp fronts, over all its mixtures at once."""

from __future__ import annotations

from reference_checks.mixtures.rules import RULES, compared
from reference_checks.studies import Measured, Study

__all__ = ["STUDIES"]

SIZES = (2, 3, 4, 5)


def _rows(rule: str) -> tuple[Measured, ...]:
    rows = []
    for size in SIZES:
        found = compared(size)
        pairs = zip(found.first, found.ratios[rule], strict=True)
        rows += [Measured(f"{size} components, {i}", float(t), float(t * r)) for i, (t, r) in enumerate(pairs)]
    return tuple(rows)


def _study(
    rule: str,
    model: str,
    bias: tuple[float, float],
    spread: tuple[float, float],
    worst: tuple[float, float],
    why: str,
) -> Study:
    return Study(
        "mixtures", rule, "computed here", model, f"11 vapours in twos to fives; {RULES[rule]}", "computed here",
        "air_volume", "m3/kg", lambda: _rows(rule), bias, spread, worst, why,
    )  # fmt: skip


STUDIES: list[Study] = [
    _study(
        "sum",
        "sum_rule_time",
        (-0.205, -0.194),
        (0.13, 0.145),
        (-0.60, -0.57),
        "never more than 1.2 % above theory (test_rules.py); too short where a rare vapour sets the time",
    ),
    _study(
        "guidance",
        "guidance_time",
        (-0.078, -0.065),
        (0.145, 0.158),
        (-0.60, -0.57),
        "too long, by up to 40 %, where the vapour that is fastest alone is rare and concentration hurts another more",
    ),
    _study(
        "proportionate",
        "proportionate_capacity",
        (-0.742, -0.73),
        (0.204, 0.214),
        (-0.99, -0.985),
        "never above theory, and the shorter the more components there are",
    ),
]
