"""The bound on ln(predicted/measured): against plain re-derivations, and against data with a known answer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from respcalc.core.errors import DomainError, TableError
from respcalc.core.tables import parse_table
from respcalc.estimate import Calibration, read_calibration, shipped_calibration
from respcalc.estimate.calibration import LEAST_ROWS

HEADER = "vapour,measured_time [min],predicted_time [min],reduced_potential [],light_halogenated,calibrates"


def made(n, rng, noise=None):
    """A set whose excess follows the form that the bound assumes, with noise of any shape."""
    x = rng.uniform(0.0, 1.4, n)
    light = rng.random(n) < 0.25
    g = np.maximum(0.0, x - 0.4)
    shape = rng.standard_t(3, n) if noise is None else noise(n)
    excess = 0.25 * g + 1.2 * g * light + (0.1 + 0.2 * g) * shape
    return Calibration("made up", False, tuple(f"v{i}" for i in range(n)), excess, x, light)


def by_linear_program(x, light, r):
    """Centre of least absolute deviations with slopes that may not be negative, by another route."""
    g = np.maximum(0.0, x - 0.4)
    columns = np.stack([np.ones_like(g), g, g * light], axis=1)
    n = len(r)
    cost = np.r_[np.zeros(3), np.ones(2 * n)]
    equal = np.hstack([columns, np.eye(n), -np.eye(n)])
    found = linprog(cost, A_eq=equal, b_eq=r, bounds=[(None, None), (0, None), (0, None)] + [(0, None)] * (2 * n))
    assert found.success
    return found.fun, columns


@pytest.mark.parametrize("start", range(6))
def test_the_centre_is_that_of_a_linear_program(start):
    data = made(60, np.random.default_rng(start))
    best, columns = by_linear_program(data.potential, data.light, data.excess)
    centre = np.array([data.centre(x, bool(f)) for x, f in zip(data.potential, data.light, strict=True)])
    assert columns.shape == (60, 3)
    # reweighting stops short of the corner that a linear program finds, by a hair in the sum of deviations
    assert np.abs(data.excess - centre).sum() == pytest.approx(best, rel=0.01)


def test_the_bound_is_the_jackknife_quantile_written_out():
    data = made(40, np.random.default_rng(3))
    reach = []
    for j in range(40):
        rest = np.arange(40) != j
        part = Calibration(
            "rest", False, tuple(f"v{i}" for i in range(39)),
            data.excess[rest], data.potential[rest], data.light[rest],
        )  # fmt: skip
        fit = part._whole
        spread = [fit.least_spread + fit.spread_slope * max(0.0, x - 0.4) for x in (data.potential[j], 0.9)]
        score = max(0.0, (data.excess[j] - part.centre(data.potential[j], bool(data.light[j]))) / spread[0])
        reach.append(part.centre(0.9, True) + score * spread[1])
    for coverage in (0.6, 0.9, 0.95):
        k = math.ceil(coverage * 41)
        assert data.bound(0.9, True, coverage) == pytest.approx(sorted(reach)[k - 1], abs=1e-12)


@pytest.mark.parametrize("noise", ["heavy", "skewed"])
def test_new_members_keep_the_bound_as_often_as_stated(noise):
    """Counted over 250 sets of 30: 95 % are kept whatever the noise, within three standard errors."""
    rng = np.random.default_rng(11)
    shapes = {
        "heavy": lambda n: rng.standard_t(2, n),
        "skewed": lambda n: rng.exponential(size=n),
    }
    kept = 0
    for _ in range(250):
        whole = made(31, rng, shapes[noise])
        known = Calibration(
            "known", False, whole.vapours[:30], whole.excess[:30], whole.potential[:30], whole.light[:30]
        )
        kept += whole.excess[30] <= known.bound(whole.potential[30], bool(whole.light[30]), 0.95)
    assert kept / 250 >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / 250)


@given(
    x=st.floats(0.0, 3.0), step=st.floats(0.0, 2.0), light=st.booleans(), coverage=st.floats(0.51, 0.98),
    more=st.floats(0.0, 0.4),
)  # fmt: skip
def test_worse_held_or_surer_never_lowers_the_bound(x, step, light, coverage, more):
    data = shipped_calibration()
    bound = data.bound(x, light, coverage)
    assert data.bound(x + step, light, coverage) >= bound
    assert data.bound(x, True, coverage) >= bound
    surer = min(coverage + more, 0.98)
    assert data.bound(x, light, surer) >= bound


def test_more_coverage_than_the_vapours_support_is_refused():
    data = shipped_calibration()
    n = len(data.vapours)
    assert data.highest_coverage == pytest.approx(n / (n + 1))
    assert data.bound(0.5, False, data.highest_coverage) >= data.bound(0.5, False, 0.95)
    with pytest.raises(
        DomainError, match=rf"coverage = 99 %: {n} calibrated vapours support at most 98\.5 %; ask for less"
    ):
        data.bound(0.5, False, 0.99)


def table(rows):
    return parse_table("mine.csv", "\n".join([HEADER, *rows]))


def good(n):
    return [f"v{i},{60 + i},{70 + i},0.{i % 10},no,yes" for i in range(n)]


def test_an_own_table_is_read():
    data = read_calibration(table(good(LEAST_ROWS)), name="my tests", recalled=False)
    assert len(data.vapours) == LEAST_ROWS
    assert data.excess[0] == pytest.approx(math.log(70 / 60))
    assert data.potential[7] == pytest.approx(0.7)


@pytest.mark.parametrize("n", [0, 1, LEAST_ROWS - 1])
def test_an_empty_or_tiny_set_is_refused(n):
    with pytest.raises(DomainError, match=rf"my tests: {n} vapours that calibrate; at least 20 are needed"):
        read_calibration(table(good(n)), name="my tests", recalled=False)


def test_rows_that_do_not_calibrate_do_not_count():
    rows = [*good(LEAST_ROWS - 1), "diethylamine,80,40,0.7,no,no"]
    with pytest.raises(DomainError, match="19 vapours"):
        read_calibration(table(rows), name="my tests", recalled=False)


@pytest.mark.parametrize(
    ("row", "text"),
    [
        (",50,60,0.5,no,yes", "row 27: vapour is missing"),
        ("x,,60,0.5,no,yes", "row 27: measured_time is missing"),
        ("x,50,,0.5,no,yes", "row 27: predicted_time is missing"),
        ("x,50,60,,no,yes", "row 27: reduced_potential is missing"),
        ("x,50,60,0.5,,yes", "row 27: light_halogenated is missing"),
        ("x,50,60,0.5,no,", "row 27: calibrates is missing"),
        ("x,50,60,0.5,maybe,yes", "row 27: light_halogenated = 'maybe' must be yes or no"),
        ("x,0,60,0.5,no,yes", "row 27: measured_time must be above 0"),
        ("x,50,0,0.5,no,yes", "row 27: predicted_time must be above 0"),
        ("x,5o,60,0.5,no,yes", "row 27, column 'measured_time'"),
    ],
)
def test_a_row_with_a_fault_is_named(row, text):
    with pytest.raises(TableError, match=text):
        read_calibration(table([*good(25), row]), name="my tests", recalled=False)


def test_a_missing_column_is_named(tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text("vapour,measured_time [min]\ntoluene,60\n", encoding="utf-8")
    with pytest.raises(TableError, match="column 'predicted_time' is missing"):
        read_calibration(path, name="my tests", recalled=False)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"vapours": ("toluene",) * 25}, "toluene: more than one row"),
        ({"vapours": ("Toluene", "toluene ", *(f"v{i}" for i in range(23)))}, "toluene: more than one row"),
        ({"excess": np.r_[np.nan, np.zeros(24)]}, "excess needs one finite number for each vapour"),
        ({"excess": np.zeros(24)}, "excess needs one finite number for each vapour"),
        ({"potential": np.r_[1e6, np.zeros(24)]}, r"reduced_potential must lie from 0 to 3; found 0 to 1e\+06"),
        ({"potential": np.r_[-0.1, np.zeros(24)]}, "reduced_potential must lie from 0"),
    ],
)
def test_a_set_that_cannot_be_is_refused(change, text):
    sound = {
        "name": "mine", "recalled": False, "vapours": tuple(f"v{i}" for i in range(25)), "excess": np.zeros(25),
        "potential": np.linspace(0.0, 1.2, 25), "light": np.zeros(25, dtype=bool),
    }  # fmt: skip
    assert Calibration(**sound).bound(0.5, False, 0.9) == pytest.approx(0.0)
    with pytest.raises(DomainError, match=text):
        Calibration(**{**sound, **change})


def test_what_a_margin_was_made_from_cannot_change_under_it():
    with pytest.raises(ValueError, match="read-only"):
        shipped_calibration().excess[0] = 5.0
