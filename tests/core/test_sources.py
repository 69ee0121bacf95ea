"""Every source record is complete, and every key that is cited has one."""

from __future__ import annotations

import csv
import importlib
import pkgutil
from pathlib import Path

import pytest

import respcalc
from respcalc.core.card import all_models
from respcalc.core.sources import all_sources, source

SEEN = {"read", "abstract read", "from memory", "computed here", "common practice, no source"}
HOME = Path(respcalc.__file__).parent

for found in pkgutil.walk_packages(respcalc.__path__, "respcalc."):
    if not found.name.endswith("__main__"):
        importlib.import_module(found.name)


@pytest.mark.parametrize("record", all_sources().values(), ids=lambda r: r.key)
def test_a_record_is_complete(record):
    assert record.key == record.key.lower()
    assert record.key.replace("_", "").isalnum()
    assert len(record.citation) > 10
    assert record.seen in SEEN
    assert not record.doi or record.doi.startswith("10.")
    assert record.citation in str(record)
    assert f"[{record.seen}]" in str(record)


def test_no_record_is_there_twice():
    citations = [r.citation for r in all_sources().values()]
    assert len(set(citations)) == len(citations)


@pytest.mark.parametrize("made", all_models().values(), ids=lambda m: m.__name__)
def test_a_model_cites_a_record_and_says_where(made):
    assert made.card.source in all_sources()
    assert made.card.locator


def shipped_rows():
    for path in sorted(HOME.glob("*/data/*.csv")):
        lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
        for number, row in enumerate(csv.DictReader(lines), start=2):
            if row.get("source"):
                yield f"{path.name}:{number}", row["source"]


def test_every_row_of_the_shipped_tables_cites_a_record():
    missing = {f"{where}: {key}" for where, key in shipped_rows() if key not in all_sources()}
    assert not missing


def test_an_unknown_key_is_named():
    with pytest.raises(KeyError, match=r"'nobody_1900' has no record in sources.toml"):
        source("nobody_1900")
