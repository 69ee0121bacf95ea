"""A result can say what it rests on, in words and as plain data."""

from __future__ import annotations

import json
import pickle

import pytest

from respcalc.core.basis import Basis, Datum

GIVEN = Datum("flow_rate", 40e-3 / 60, "given", label="flow_rate of one cartridge")
KNOWN = Datum("micropore_volume", 0.454e-3, "memory", "carbon_defaults", "typical carbon", "not measured")


def test_a_datum_prints_safely_and_in_its_unit():
    assert GIVEN.printed == "40 L/min"
    assert Datum("flow_rate", 40.001e-3 / 60, "given").printed == "40.01 L/min"
    assert KNOWN.printed == "0.454 cm3/g"


def test_names_and_origins():
    assert GIVEN.name == "flow_rate of one cartridge"
    assert GIVEN.origin == "given by the user"
    assert KNOWN.name == "micropore_volume"
    assert KNOWN.origin.startswith("Typical respirator carbon")
    assert KNOWN.origin.endswith(", typical carbon")
    assert Datum("flow_rate", 1e-3, "assumed").origin == ""


@pytest.mark.parametrize(
    ("quantity", "source", "says"), [("flow", "", "'flow'"), ("flow_rate", "nobody_1900", "'nobody_1900'")]
)
def test_a_word_or_source_that_does_not_exist_is_refused_at_once(quantity, source, says):
    with pytest.raises(KeyError, match=says):
        Datum(quantity, 1.0, "given", source)


def test_bases_add_up_in_order():
    both = Basis((GIVEN,), ("exact form",), ("warm",)) + Basis((KNOWN,), ("the lower of two",), ("damp",))
    assert both.data == (GIVEN, KNOWN)
    assert both.choices == ("exact form", "the lower of two")
    assert both.warnings == ("warm", "damp")


def test_as_dict_is_plain_json():
    basis = Basis((GIVEN, KNOWN), ("exact form",), ("warm",))
    back = json.loads(json.dumps(basis.as_dict(), allow_nan=False))
    assert back["choices"] == ["exact form"]
    assert back["warnings"] == ["warm"]
    first, second = back["values"]
    assert first["value"] == pytest.approx(40)
    assert first["unit"] == "L/min"
    assert first["origin"] == "given by the user"
    assert second["kind"] == "memory"
    assert second["source"] == "carbon_defaults"
    assert second["note"] == "not measured"


def test_a_basis_survives_a_pickle():
    basis = Basis((GIVEN, KNOWN), ("exact form",), ("warm",))
    assert pickle.loads(pickle.dumps(basis)) == basis
