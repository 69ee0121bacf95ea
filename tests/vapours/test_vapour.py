"""The vapour object: define, limits, serialise, describe."""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
import time

import numpy as np
import pytest

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty, UnitsError, UnknownVapour
from respcalc.core.sources import all_sources
from respcalc.core.tables import shipped_table
from respcalc.vapours import Vapour, define_vapour, describe_vapour, find_vapour, known_vapours

GIVEN = {
    "molar_mass": "92.14 g/mol",
    "boiling_point": "110.6 degC",
    "saturation_pressure": "2.91 kPa",
    "saturation_temperature": "20 degC",
    "liquid_density": "0.867 g/cm3",
    "refractive_index": 1.4967,
}


def own(**changes: object) -> Vapour:
    return define_vapour("solvent X", **{**GIVEN, **changes})  # type: ignore[arg-type]


# --- define_vapour


def test_a_defined_vapour_behaves_like_the_listed_one() -> None:
    mine, listed = own(), find_vapour("toluene")
    for t in (273.15, 298.15, 313.15):
        ratio = mine.saturation_pressures(t) / listed.saturation_pressures(t)
        assert 0.99 < ratio < 1.08  # one point and the boiling point: never much below, a little above when cold
        assert mine.liquid_densities(t) == pytest.approx(listed.liquid_densities(t), rel=0.01)
    assert mine.saturation_pressure(298.15).kind == "given"
    assert mine.molar_polarization.value == pytest.approx(listed.molar_polarization.value, rel=0.005)
    assert mine.cas == ""
    assert mine.formula == ""
    assert mine.elements == {}
    assert mine.diffusion_volume.kind == "predicted"
    assert mine.diffusion_volume.value > listed.diffusion_volume.value
    assert mine.limits.strictest() is None
    assert own(formula="C7H8").diffusion_volume.value == pytest.approx(listed.diffusion_volume.value)


def test_pressure_as_a_mapping() -> None:
    mine = own(saturation_pressure={"40 degC": "7.9 kPa", "20 degC": "2.91 kPa"}, saturation_temperature=None)
    assert mine.saturation_pressures(293.15) == pytest.approx(2910)
    assert mine.saturation_pressures(313.15) == pytest.approx(7900)
    assert np.all(np.diff(mine.saturation_pressures(np.linspace(253.15, 333.15, 200))) > 0)


def test_all_missing_fields_are_listed_at_once() -> None:
    with pytest.raises(UnitsError) as caught:
        define_vapour("solvent X")
    text = str(caught.value)
    for field in ("molar_mass", "boiling_point", "saturation_pressure", "liquid_density", "refractive_index"):
        assert f"{field}" in text
    assert len(caught.value.problems) == 5


def test_bare_numbers_and_missing_temperatures_are_listed_together() -> None:
    with pytest.raises(UnitsError) as caught:
        own(molar_mass=92.14, liquid_density=0.867, saturation_temperature=None)
    text = str(caught.value)
    assert "molar_mass = 92.14" in text
    assert "liquid_density = 0.867" in text
    assert 'saturation_temperature="20 degC"' in text


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"saturation_pressure": "150 kPa"}, r"saturation_pressure = 150 kPa at 20 degC contradicts boiling_point"),
        ({"boiling_point": "10 degC"}, "contradicts boiling_point = 10 degC"),
        ({"saturation_pressure": "0.0001 Pa"}, "entropy of vaporisation"),
        ({"saturation_pressure": "90 kPa"}, "entropy of vaporisation"),
        ({"formula": "C6H6"}, r"molar_mass = 92.14 g/mol does not belong to the formula C6H6"),
        ({"cas": "71-43-2"}, r"does not belong to the CAS number 71-43-2 \(benzene"),
        ({"formula": "toluene"}, "formula = 'toluene' cannot be read"),
        ({"exposure_limit": "50 ppm"}, "limit_authority is missing"),
        ({"exposure_limit": "50 ppm", "limit_authority": "x", "limit_kind": "daily"}, "not a kind of limit"),
    ],
)
def test_contradictions_are_refused(changes: dict[str, object], told: str) -> None:
    with pytest.raises(DomainError, match=told):
        own(**changes)


def test_falling_pressures_and_short_mappings_are_refused() -> None:
    with pytest.raises(DomainError, match="must rise with temperature"):
        own(saturation_pressure={"20 degC": "3 kPa", "40 degC": "2 kPa"}, saturation_temperature=None)
    with pytest.raises(UnitsError, match="two temperatures or more"):
        own(saturation_pressure={"20 degC": "3 kPa"}, saturation_temperature=None)
    with pytest.raises(UnitsError, match="the mapping has its own"):
        own(saturation_pressure={"20 degC": "3 kPa", "40 degC": "8 kPa"})


def test_bad_cas_empty_name_and_physical_bounds() -> None:
    with pytest.raises(UnknownVapour, match="check digit"):
        own(cas="108-88-4")
    with pytest.raises(DomainError, match="name is empty"):
        define_vapour("  ", **GIVEN)  # type: ignore[arg-type]
    with pytest.raises(UnitsError, match=r"refractive_index = 0\.9 is not possible"):
        own(refractive_index=0.9)


def test_polarization_instead_of_an_index() -> None:
    mine = own(refractive_index=None, molar_polarization="31.1 cm3/mol")
    assert mine.molar_polarization.value == pytest.approx(31.1e-6)
    with pytest.raises(MissingProperty, match=r"refractive_index=1\.42"):
        _ = mine.refractive_index


# --- limits


def test_limits_of_toluene() -> None:
    limits = find_vapour("toluene").limits
    assert [(x.authority, x.kind, round(x.value.value * 1e6)) for x in limits] == [
        ("OSHA PEL", "TWA", 200),
        ("OSHA PEL", "ceiling", 300),
        ("OSHA PEL", "peak", 500),
        ("NIOSH REL", "TWA", 100),
        ("NIOSH REL", "STEL", 150),
    ]
    strictest = limits.strictest()
    assert strictest is not None
    assert strictest.authority == "NIOSH REL"
    assert limits.strictest("peak").averaging == "10 min"  # type: ignore[union-attr]
    assert limits.strictest_any() == strictest
    assert limits.idlh is not None
    assert limits.idlh.value == pytest.approx(500e-6)
    assert not limits.carcinogen
    assert not limits.skin


@pytest.mark.parametrize(
    ("name", "ppm", "authority"),
    [
        ("dichloromethane", 2.0, "EPA ECEL"),
        ("carbon tetrachloride", 0.03, "EPA ECEL"),
        ("tetrachloroethylene", 0.14, "EPA ECEL"),
        ("trichloroethylene", 0.2, "EPA ECEL"),
        ("benzene", 0.1, "NIOSH REL"),
        ("styrene", 50.0, "NIOSH REL"),
    ],
)
def test_strictest_twa(name: str, ppm: float, authority: str) -> None:
    limit = find_vapour(name).limits.strictest()
    assert limit is not None
    assert limit.value.value == pytest.approx(ppm * 1e-6)
    assert limit.authority == authority


def test_idlh_revisions_are_noted() -> None:
    for name, ppm, before in (
        ("acetonitrile", 137, "500 ppm"),
        ("methacrylonitrile", 4, "none"),
        ("acrylonitrile", 60, "85 ppm"),
        ("n-butyl acrylate", 113, "none"),
        ("n-butane", 1600, "none"),
        ("methyl isocyanate", 0.12, "3 ppm"),
    ):
        idlh = find_vapour(name).limits.idlh
        assert idlh is not None
        assert idlh.value == pytest.approx(ppm * 1e-6)
        assert f"prints {before}" in idlh.note
    changed = [n for n, c in known_vapours() if "revised" in (getattr(find_vapour(c).limits.idlh, "note", ""))]
    assert len(changed) == 6


def test_special_rows() -> None:
    ether = find_vapour("dichloroethyl ether").limits
    assert [x.kind for x in ether if x.authority == "OSHA PEL"] == ["ceiling"]
    assert find_vapour("acrylonitrile").limits.strictest("ceiling").averaging == "15 min"  # type: ignore[union-attr]
    assert find_vapour("chloroform").limits.strictest("STEL").averaging == "60 min"  # type: ignore[union-attr]
    assert find_vapour("phenol").limits.skin
    assert find_vapour("benzene").limits.carcinogen
    assert "1910.1028" in find_vapour("benzene").limits[0].value.locator
    assert find_vapour("3-methylpentane").limits.strictest().value.value == pytest.approx(100e-6)  # type: ignore[union-attr]
    assert find_vapour("PGMEA").limits.strictest() is None
    assert find_vapour("PGMEA").limits.idlh is None


def test_limit_table_is_pinned() -> None:
    table = shipped_table("respcalc.vapours", "exposure_limits.csv")
    assert len(table) == 238
    assert sum(row["guide_page"] != "" for row in table) == 178
    counts = {
        column: sum(row[column] is not None for row in table)
        for column in (
            "osha_pel_twa",
            "osha_peak",
            "niosh_rel_twa",
            "epa_ecel",
            "epa_stel",
            "idlh",
            "guide_vapour_pressure",
        )
    }
    assert counts == PINNED
    for row in table:
        assert row["source"] in all_sources()
        assert row["kind"] in {"regulation", "compiled", "memory"}
        if row["osha_pel_ceiling"] is not None and row["osha_pel_twa"] is not None:
            assert row["osha_pel_ceiling"] > row["osha_pel_twa"]
        if row["osha_peak"] is not None:
            assert row["osha_peak"] > row["osha_pel_ceiling"]
            assert row["osha_peak_averaging"]


PINNED = {
    "osha_pel_twa": 147,
    "osha_peak": 9,
    "niosh_rel_twa": 140,
    "epa_ecel": 4,
    "epa_stel": 1,
    "idlh": 153,
    "guide_vapour_pressure": 169,
}


def test_own_limit_with_its_authority() -> None:
    mine = own(exposure_limit="20 ppm", limit_authority="company limit", idlh="500 ppm")
    limit = mine.limits.strictest()
    assert limit is not None
    assert str(limit) == "company limit TWA 20 ppm"
    assert limit.value.kind == "given"
    assert mine.limits.idlh is not None
    added = find_vapour("PGMEA").with_limit("50 ppm", authority="national limit", averaging="8 h")
    assert str(added.limits.strictest()) == "national limit TWA 50 ppm, over 8 h"
    assert find_vapour("PGMEA").limits.strictest() is None
    with pytest.raises(DomainError, match="limit_authority"):
        find_vapour("PGMEA").with_limit("50 ppm", authority="")
    with pytest.raises(UnitsError, match="bare number"):
        find_vapour("PGMEA").with_limit(50, authority="national limit")


# --- the object itself


@pytest.mark.parametrize("vapour", [find_vapour("toluene"), own(cas="108-88-3", formula="C7H8")], ids=["listed", "own"])
def test_value_semantics(vapour: Vapour) -> None:
    vapour.saturation_pressure(298.15)
    again = pickle.loads(pickle.dumps(vapour))
    assert again == vapour
    assert hash(again) == hash(vapour)
    assert again.saturation_pressures(298.15) == vapour.saturation_pressures(298.15)
    assert len(pickle.dumps(vapour)) < 8000
    with pytest.raises(AttributeError):
        vapour.name = "other"  # type: ignore[misc]
    elements = vapour.elements
    elements["C"] = 99
    assert vapour.elements["C"] == 7


def test_same_object_for_the_same_substance_and_fast() -> None:
    assert find_vapour("toluene") is find_vapour("108-88-3")
    start = time.perf_counter()
    for _ in range(100):
        find_vapour("Toluene")
    assert (time.perf_counter() - start) / 100 < 1e-3


@pytest.mark.parametrize(("name", "cas"), known_vapours(), ids=lambda x: x)
def test_as_dict_is_json_and_every_source_is_on_record(name: str, cas: str) -> None:
    vapour = find_vapour(cas)
    record = json.loads(json.dumps(vapour.as_dict(), allow_nan=False))
    assert record["name"] == name
    assert record["cas"] == cas
    for prop in record["properties"]:
        assert set(prop) >= {"name", "value", "unit", "kind", "origin"}
    for datum in vapour.data():
        assert isinstance(datum, Datum)
        assert datum.kind == "given" or datum.source in all_sources()
        assert datum.origin
    for limit in vapour.limits:
        assert limit.value.source in all_sources()
        assert limit.value.value > 0


@pytest.mark.parametrize("vapour", [find_vapour(c) for _, c in known_vapours()] + [own()], ids=lambda v: v.name)
def test_description_fits_100_columns_and_ends_with_the_caution(vapour: Vapour) -> None:
    text = describe_vapour(vapour, caution="Read the current limits before relying on these.")
    lines = text.splitlines()
    assert max(map(len, lines)) <= 100
    assert lines[-1] == "Read the current limits before relying on these."
    assert lines[0].startswith(vapour.name)
    for word in ("molar mass", "boiling point", "saturation pressure", "liquid density", "IDLH"):
        assert word in text
    for note in vapour.property_notes:
        assert note[1:30] in " ".join(text.split()) or note[1:20] in text
    assert "nan" not in text.lower().split()
    html = vapour._repr_html_()
    assert vapour.name in html
    assert "<script" not in html


def test_html_is_escaped() -> None:
    assert "&lt;b&gt;" in define_vapour("<b>x", **GIVEN)._repr_html_()  # type: ignore[arg-type]


def test_import_is_light() -> None:
    code = (
        "import sys, respcalc.vapours as v; v.find_vapour('toluene'); "
        "print([m for m in ('chemicals', 'thermo', 'pandas') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
