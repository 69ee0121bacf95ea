"""`respcalc.models`: all models under one name, a table of cards, and a cheap import."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pandas as pd

import respcalc
from respcalc import models
from respcalc.core.card import all_mixture_models, all_models
from respcalc.core.sources import all_sources

COLUMNS = ["name", "predicts", "equation", "arguments", "returns", "source", "locator", "range", "assumptions"]


def test_the_table_lists_every_card():
    table = models.table()
    assert isinstance(table, pd.DataFrame)
    assert list(table.columns) == COLUMNS
    assert set(table["name"]) == set(all_models()) | set(all_mixture_models())
    assert table["name"].is_unique
    assert table.map(lambda cell: isinstance(cell, str) and bool(cell)).all(axis=None)
    assert set(table["source"]) <= set(all_sources())


def test_a_row_of_the_table():
    row = models.table().set_index("name").loc["wheeler_jonas_time"]
    assert row["range"] == "exit_fraction 0 % to 20 %"
    assert row["returns"] == "breakthrough_time [min]"
    assert row["arguments"].startswith("capacity [g/g], sorbent_mass [g]")
    assert models.table().set_index("name").loc["stoichiometric_time", "range"] == "none stated"


def test_everything_exported_exists_and_is_sorted():
    assert sorted(models.__all__) == models.__all__
    assert all(hasattr(models, name) for name in models.__all__)


def test_the_import_is_cheap():
    heavy = ["pandas", "matplotlib", "jinja2", "chemicals", "thermo", "scipy.optimize", "scipy.special", "scipy.stats"]
    script = f"import sys, respcalc.models; print([m for m in {heavy} if m in sys.modules])"
    home = str(Path(respcalc.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": home},
        check=True,
    )
    assert done.stdout.strip() == "[]"


def test_models_of_mixtures_carry_a_card():
    named = {
        "sum_rule_time", "guidance_time", "mole_fraction_capacity", "proportionate_capacity", "doong_yang_capacity",
        "iast_loading", "equilibrium_fronts",
    }  # fmt: skip
    assert set(all_mixture_models()) == named
    for name in named:
        card = getattr(models, name).card
        assert card.name == name
        assert card.source in all_sources()
        assert "memory" in str(card) or "derived" in str(card) or "not read" in str(card) or name == "sum_rule_time"
        assert card._repr_html_().startswith("<table>")
