"""The shipped calibration is what the command makes, and the margin does on left-out vapours what is claimed for it."""

from __future__ import annotations

import csv
import io
import math

import pytest

from reference_checks.calibrate import SHIPPED, calibration_table
from reference_checks.left_out import classes, figures, left_out_classes, left_out_vapours
from reference_checks.measured_uptake.default_carbon import WIDENED_BY, scatter_table
from respcalc.estimate import margin

DIGITS = {"predicted_time [min]": 1e-3, "reduced_potential []": 2e-4}
"""How far a printed figure may move from one machine to another: one in its last digit."""


def rows(text):
    lines = text.splitlines()
    return [line for line in lines if line.startswith("#")], list(
        csv.DictReader(io.StringIO("\n".join(line for line in lines if not line.startswith("#"))))
    )


def test_making_the_table_again_gives_the_table():
    (head, made), (head_shipped, shipped) = rows(calibration_table()), rows(SHIPPED.read_text(encoding="utf-8"))
    assert head == head_shipped
    assert [list(r) for r in made] == [list(r) for r in shipped]
    for new, old in zip(made, shipped, strict=True):
        for column, room in DIGITS.items():
            a, b = float(new.pop(column)), float(old.pop(column))
            assert math.isclose(a, b, rel_tol=room, abs_tol=room), (old["vapour"], column, a, b)
        assert new == old


@pytest.fixture(scope="module")
def left_out():
    return left_out_vapours()


def test_figures_on_left_out_vapours(left_out):
    """Asked for: coverage 95 %, 85 % in each class of five or more, median 0.60, worst 1.6."""
    found = figures(left_out)
    assert len(left_out) == 76
    assert found["coverage"] >= 0.95
    assert found["median"] >= 0.60
    assert found["worst"] <= 1.6
    # missed by one vapour of six, by 4 %: the class of that size has no room for any
    short = {group: kept for group, kept in classes(left_out).items() if kept[1] >= 5 and kept[0] / kept[1] < 0.85}
    assert short == {"miscellaneous": (5, 6)}
    assert [(f.vapour, round(f.ratio, 2)) for f in left_out if f.ratio > 1] == [("methyl iodide", 1.04)]


def test_97_per_cent_reaches_every_figure():
    found = figures(left_out_vapours(0.97))
    assert found["coverage"] == 1.0
    assert found["least class"] == 1.0
    assert found["median"] >= 0.60
    assert found["worst"] <= 1.0


def test_a_kind_of_vapour_never_seen_is_not_covered():
    """What the bound does not promise: with all light halogenated vapours left out, most of them over-run."""
    kept, size = classes(left_out_classes())["light halogenated (of several classes)"]
    assert size == 16
    assert kept <= 8


def test_the_scatter_between_carbons_is_the_measured_one():
    """All commercial or coal carbons: the default one used blind, at 100 Pa and more. The third digit is rounded up."""
    (found,) = [line for line in scatter_table() if line.group == WIDENED_BY]
    assert found.count == margin._CARBONS
    assert 0 <= margin._CARBON_MEAN - found.bias < 0.001
    assert 0 <= margin._CARBON_SCATTER - found.spread < 0.001
