"""The framework itself: tolerances that follow the printed digits, and refusals of careless sources."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from reference_checks import framework, plots
from reference_checks.__main__ import main, report
from reference_checks.framework import Case, Check, CheckError, Item, Row, all_items, half_digit, judge
from reference_checks.plots import parity_plots
from reference_checks.studies import all_studies

SEEN = {
    "read",
    "read in part",
    "read in public slides",
    "read in a public database",
    "from memory",
    "computed here",
}


def _ratio(*, mass: float, volume: float) -> float:
    return mass / volume


def _item(**changed: Any) -> Item:
    row = Row("row", {"mass": 2.0, "volume": 4.0, "density": 0.50}, {"mass": 0.05, "volume": 0.05, "density": 0.005})
    item = Item(
        key="source", name="density", seen="read", model="a model", locator="Table 1", kind="table", result="density",
        exact=frozenset(), bounds={}, why="", rejects=framework.FACTORS, check=Check(_ratio), rows=(row,),
        unit=("", 1.0),
    )  # fmt: skip
    return replace(item, **changed)


@pytest.mark.parametrize(
    ("text", "half"), [("0.291", "0.0005"), ("365", "0.5"), ("6.20e3", "5"), ("-10.8", "0.05"), ("1e-6", "5e-7")]
)
def test_half_of_the_last_digit(text: str, half: str) -> None:
    assert half_digit(text) == Decimal(half)


def test_half_digit_refuses_what_is_no_number() -> None:
    with pytest.raises(CheckError, match="not a finite number"):
        half_digit("NaN")


def test_allowance_adds_result_and_inputs() -> None:
    (case,) = _item().cases
    by_mass = 0.05 / 4.0
    by_volume = 2.0 / 3.95 - 0.5
    assert case.allowance() == pytest.approx(0.005 + by_mass + by_volume)
    assert case.accepts(0.5 + case.allowance())
    assert not case.accepts(0.5 + 1.01 * case.allowance())


def test_exact_inputs_allow_nothing() -> None:
    (case,) = _item(exact=frozenset({"mass", "volume"})).cases
    assert case.allowance() == pytest.approx(0.005)


def test_bounds_replace_the_digits() -> None:
    (case,) = _item(bounds={"row": (0.8, 1.1)}, kind="measured").cases
    assert case.accepts(0.41)
    assert not case.accepts(0.56)
    assert not case.accepts(0.41, factor=1.2)


def test_nothing_is_no_agreement() -> None:
    (case,) = _item().cases
    assert not case.accepts(float("nan"))


@pytest.mark.parametrize(
    ("changed", "verdict"),
    [
        ({}, "reproduces"),
        ({"bounds": {"row": (0.9, 1.1)}, "kind": "measured"}, "agrees within -10 %, +10 %"),
        ({"bounds": {"row": (0.9, 1.1)}, "kind": "floor"}, "floor met"),
        ({"check": Check(lambda *, mass: mass)}, "FAILS 1 of 1"),
    ],
)
def test_verdicts(changed: dict[str, Any], verdict: str) -> None:
    assert judge(_item(**changed)).verdict == verdict


def test_a_bound_beside_equality_is_called_a_difference() -> None:
    item = _item(bounds={"row": (0.4, 0.9)}, kind="fit", check=Check(lambda *, mass: mass / 5))
    assert judge(item).verdict == "known to differ, -60 % to -10 %"


RECORD = {"result": "r", "model": "m", "locator": "l", "kind": "measured", "within": [0.9, 1.1], "why": "x" * 20}


@pytest.mark.parametrize(
    ("changed", "rejects", "message"),
    [
        ({"why": ""}, framework.FACTORS, "needs a 'why'"),
        ({"kind": "hearsay"}, framework.FACTORS, "kind 'hearsay' is none of"),
        ({"tolerance": 0.1}, framework.FACTORS, "unknown fields \\['tolerance'\\]"),
        ({}, (60.0, 1000.0), "must reject the factors"),
        ({"kind": "table"}, framework.FACTORS[1:], "a table value must reject all"),
    ],
)
def test_careless_sources_are_refused(changed: dict[str, Any], rejects: tuple[float, ...], message: str) -> None:
    with pytest.raises(CheckError, match=message):
        framework._vet("source/check", RECORD | changed, rejects)


def test_observed_values_need_bounds() -> None:
    record = {k: v for k, v in RECORD.items() if k != "within"}
    with pytest.raises(CheckError, match="a measured value needs 'within'"):
        framework._vet("source/check", record, framework.FACTORS)


def test_blank_and_repeated_rows_are_refused(tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text("case,flow_rate [L/min]\na,\n", encoding="utf-8")
    with pytest.raises(CheckError, match="flow_rate is blank"):
        framework._read_rows(table)
    twice = tmp_path / "twice.csv"
    twice.write_text("case,flow_rate [L/min]\na,30\na,40\n", encoding="utf-8")
    with pytest.raises(CheckError, match="'a' occurs twice"):
        framework._read_rows(twice)


def test_half_digits_are_converted_with_their_unit(tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    table.write_text("case,flow_rate [L/min],temperature [degC]\na,30.0,25\n", encoding="utf-8")
    rows, _ = framework._read_rows(table)
    assert rows["a"].halves == pytest.approx({"flow_rate": 0.05e-3 / 60, "temperature": 0.5})


def test_every_source_says_how_it_is_known() -> None:
    assert {item.seen for item in all_items()} <= SEEN


def test_failures_name_source_check_and_row() -> None:
    case = Case(_item(), _item().rows[0])
    assert case.id == "source/density/row"
    assert "source/density/row: a model gives 0.9" in case.story(0.9)


def test_report_lists_every_item(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    shown = capsys.readouterr().out
    assert all(item.key in shown and item.name in shown for item in all_items())
    assert "FAILS" not in shown
    assert shown.startswith(report([]).split("  ")[0])


def test_parity_plots(tmp_path: Path) -> None:
    written = parity_plots([judge(_item())], [], tmp_path / "plots")
    assert [path.name for path in written] == ["source-density.png"]
    assert written[0].stat().st_size > 1000


def test_every_plot_says_how_its_source_is_known(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    titles: list[str] = []
    monkeypatch.setattr(plots, "_draw", lambda path, *, title, **rest: titles.append(title))
    studies = all_studies()
    parity_plots([judge(_item(seen="from memory"))], studies, tmp_path)
    assert titles[0].startswith("source\nfrom memory\n")
    assert [title.split("\n")[:2] for title in titles[1:]] == [[s.key, s.seen] for s in studies]
