"""Which vapours mix with water in all proportions; the recalled list against two other routes."""

from __future__ import annotations

import json
import pickle
import warnings
from typing import Any

import numpy as np
import pytest

from respcalc.core.errors import MissingProperty, UnitsError
from respcalc.core.sources import all_sources
from respcalc.core.tables import shipped_table
from respcalc.vapours import Vapour, define_vapour, describe_vapour, find_vapour, known_vapours
from respcalc.vapours.water import WaterMixing, read_mixing

WATER = "7732-18-5"
ROOM = 298.15
TABLE = list(shipped_table("respcalc.vapours", "names.csv"))
MIX = {
    "1,2-dimethoxyethane", "1,4-dioxane", "2-butoxyethanol", "2-ethoxyethanol", "2-methoxyethanol",
    "2-methoxyethyl acetate", "N,N-dimethylacetamide", "N,N-dimethylformamide", "N-methyl-2-pyrrolidone",
    "acetaldehyde", "acetic acid", "acetone", "acetonitrile", "acrylic acid", "allyl alcohol", "cyclohexylamine",
    "diacetone alcohol", "diethylamine", "dimethyl sulfoxide", "dipropylene glycol methyl ether", "ethanol",
    "ethyl lactate", "ethylene chlorohydrin", "ethylene oxide", "furfuryl alcohol", "gamma-butyrolactone",
    "isopropanol", "methanol", "morpholine", "n-butylamine", "n-propanol", "propionic acid",
    "propylene glycol methyl ether", "pyridine", "tert-butanol", "tetrahydrofuran",
}  # fmt: skip


def own(**changes: object) -> Vapour:
    given = {
        "molar_mass": "92.14 g/mol",
        "boiling_point": "110.6 degC",
        "saturation_pressure": "2.91 kPa",
        "saturation_temperature": "20 degC",
        "liquid_density": "0.867 g/cm3",
        "refractive_index": 1.4967,
    }
    return define_vapour("solvent X", **{**given, **changes})  # type: ignore[arg-type]


# --- the list


def test_every_listed_vapour_has_an_answer_and_the_list_is_pinned() -> None:
    assert len(MIX) == 36
    assert {name for name, cas in known_vapours() if find_vapour(cas).mixes_with_water is True} == MIX
    assert sum(find_vapour(cas).mixes_with_water is False for _, cas in known_vapours()) == 192


def test_every_answer_says_that_it_is_recalled() -> None:
    guide = {row["cas"]: row["guide_page"] for row in shipped_table("respcalc.vapours", "exposure_limits.csv")}
    for row in TABLE:
        fact = find_vapour(row["cas"]).water_mixing
        assert fact.kind == "memory"
        assert fact.provenance.startswith("from memory; ")
        assert fact.source in all_sources()
        if fact.source == "niosh_pocket_guide_2018":
            assert fact.locator == f"entry {guide[row['cas']]}, solubility"
        else:
            assert fact.source == "handbook_recalled"
    assert sum(row["mixes_source"] == "niosh_pocket_guide_2018" for row in TABLE) == 166


@pytest.mark.parametrize(
    ("name", "mixes"),
    [
        ("acetone", True),
        ("IPA", True),
        ("THF", True),
        ("tert-butanol", True),
        ("2-butoxyethanol", True),
        ("2-butanone", False),
        ("methyl acetate", False),
        ("n-butanol", False),
        ("sec-butanol", False),
        ("propylene oxide", False),
        ("propionaldehyde", False),
        ("diethyl ether", False),
        ("acrylonitrile", False),
        ("triethylamine", False),
        ("toluene", False),
        ("n-hexane", False),
    ],
)
def test_spot_checks(name: str, mixes: bool) -> None:
    assert find_vapour(name).mixes_with_water is mixes


def test_the_guide_is_overruled_only_with_a_reason_and_to_no() -> None:
    overruled = {row["name"] for row in TABLE if row["mixes_note"].startswith("the guide says miscible")}
    assert overruled == {"diisopropylamine", "formaldehyde"}
    assert not overruled & MIX


def test_a_cell_that_is_neither_yes_nor_no_is_an_error() -> None:
    with pytest.raises(ValueError, match="row 7: mixes_with_water = 'partly' is neither yes nor no"):
        read_mixing({**TABLE[0], "row": 7, "mixes_with_water": "partly"})


# --- a user's own vapour


@pytest.mark.parametrize(("said", "printed"), [(True, "yes"), (False, "no"), (None, "not known")])
def test_an_own_vapour_keeps_what_the_user_says(said: bool | None, printed: str) -> None:
    vapour = own(mixes_with_water=said)
    assert vapour.mixes_with_water is said
    assert pickle.loads(pickle.dumps(vapour)) == vapour
    assert vapour.with_limit("20 ppm", authority="company limit").mixes_with_water is said
    record = json.loads(json.dumps(vapour.as_dict()))["mixes_with_water"]
    assert record["value"] is said
    assert record["origin"] == ("not given by the user" if said is None else "given by the user")
    assert record["kind"] == ("" if said is None else "given")
    assert printed in str(vapour.water_mixing)
    assert f"<td>mixes with water</td><td style='text-align:right'>{printed}</td>" in vapour._repr_html_()


def test_left_out_is_not_known_and_never_looked_up() -> None:
    assert own().mixes_with_water is None
    assert own() == own(mixes_with_water=None)
    assert len({own(), own(mixes_with_water=True), own(mixes_with_water=False)}) == 3
    assert "write mixes_with_water=True or mixes_with_water=False" in " ".join(describe_vapour(own()).split())


@pytest.mark.parametrize("said", ["yes", "true", 1, 0, 0.5, [], ""])
def test_anything_else_is_an_error_that_names_the_field(said: object) -> None:
    with pytest.raises(UnitsError, match=r"mixes_with_water = .* must be True"):
        own(mixes_with_water=said)
    with pytest.raises(UnitsError) as caught:
        own(mixes_with_water=said, molar_mass=None)
    assert len(caught.value.problems) == 2


def test_a_listed_vapour_prints_it_with_its_origin() -> None:
    vapour = find_vapour("acetone")
    text = " ".join(describe_vapour(vapour).split())
    assert "mixes with water yes from memory; NIOSH Pocket Guide to Chemical Hazards, entry 0004, solubility" in text
    assert vapour.as_dict()["mixes_with_water"] == {
        "value": True,
        "kind": "memory",
        "source": "niosh_pocket_guide_2018",
        "origin": "NIOSH Pocket Guide to Chemical Hazards, entry 0004, solubility",
        "note": "",
    }
    assert "solubility" in vapour._repr_html_()
    assert isinstance(vapour.water_mixing, WaterMixing)
    assert not any("water" in note for note in vapour.property_notes)  # those become warnings of every result


# --- against a group-contribution model: a binary with water is one liquid if activity rises all the way

AMOUNTS = np.concatenate(
    [np.geomspace(1e-6, 0.02, 40), np.linspace(0.025, 0.975, 77), 1 - np.geomspace(0.02, 1e-6, 40)]
)

# The list says yes, the model says that two liquids form
MODEL_SPLITS = {
    "acetonitrile": "at the edge (activity coefficient 12 in water); the measured split ends at -1 degC",
    "tert-butanol": "groups do not see branching: three of the four butanols do separate",
    "2-butoxyethanol": "a measured split begins at 49 degC; the model begins it too low",
    "gamma-butyrolactone": "the ring is built from an open ester's groups",
    "cyclohexylamine": "near the edge (18); the groups do not see the ring",
    "diacetone alcohol": "hydroxyl and carbonyl are taken to be strangers; they share one molecule",
    "ethyl lactate": "as diacetone alcohol; the older set of groups mixes it, and so does Henry's constant (8.6)",
    "ethylene chlorohydrin": "as diacetone alcohol, with chlorine; Henry's constant gives 0.6",
    "2-methoxyethyl acetate": "ether and ester in one molecule; Henry's constant gives 16",
    "tetrahydrofuran": "at the edge (16); the measured split lies between 72 and 137 degC",
}
# The list says no, the model says one liquid: solubility measured, and the model is not to be trusted
MODEL_MIXES = {
    "methylal": "33 % dissolves; its two ethers on one carbon attract water less than two apart",
    "acrolein": "21 % dissolves; the older set of groups does separate it",
    "vinyl acetate": "2 % dissolves; the older set of groups does separate it",
}


def one_liquid(cas: str) -> bool | None:
    """Whether Dortmund UNIFAC mixes a substance with water at 25 degC; None where groups or pairs are missing."""
    from thermo import unifac

    groups = [unifac.UNIFAC_group_assignment_DDBST(c, "MODIFIED_UNIFAC") for c in (cas, WATER)]
    if not all(groups):
        return None
    model = unifac.UNIFAC.from_subgroups(ROOM, [0.5, 0.5], groups, version=1)
    pairs = unifac.DOUFIP2016
    mains = {unifac.DOUFSG[sub].main_group_id for each in groups for sub in each}
    if any(b not in pairs.get(a, {}) for a in mains for b in mains if a != b):
        return None  # the library takes a missing pair for an ideal one
    activities = [x * model.to_T_xs(ROOM, [x, 1 - x]).gammas()[0] for x in AMOUNTS]
    return bool(np.all(np.diff(activities) > 0))


def test_the_list_against_unifac() -> None:
    found = {name: one_liquid(cas) for name, cas in known_vapours()}
    known = {name: mixes for name, mixes in found.items() if mixes is not None}
    assert len(known) == 187
    assert {name for name, mixes in known.items() if not mixes and name in MIX} == set(MODEL_SPLITS)
    assert {name for name, mixes in known.items() if mixes and name not in MIX} == set(MODEL_MIXES)


# --- against compiled Henry's constants (single values scatter threefold): activity coefficient in water

FEW = 10.0  # so near to ideal that nothing separates
MANY = 50.0  # so far from it that nothing mixes; between the two the coefficient does not decide
HENRY_ODD = {
    "formaldehyde": "it reacts with water, which no coefficient describes",
    "2-methoxyethanol": "the compiled constant is a thousand times its neighbour's, 2-ethoxyethanol",
    "2-butoxyethanol": "close to its split at 49 degC, and it gathers in water",
    "pyridine": "the compiled constant; two models give 5 to 7",
}


def constants() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # the library leaves its files open
        from thermo.interaction_parameters import IPDB
    return IPDB


def dilute_coefficient(cas: str) -> float | None:
    if not constants().has_ip_specific("Sander Const", [cas, WATER], "A"):
        return None
    henry = np.exp(constants().get_ip_specific("Sander Const", [cas, WATER], "A"))
    try:
        return float(henry / find_vapour(cas).saturation_pressures(ROOM))
    except MissingProperty:
        return None


def test_the_list_against_henrys_constants() -> None:
    found = {name: dilute_coefficient(cas) for name, cas in known_vapours()}
    known = {name: value for name, value in found.items() if value is not None}
    assert len(known) > 150
    against = {n for n, v in known.items() if (v < FEW and n not in MIX) or (v > MANY and n in MIX)}
    assert against == set(HENRY_ODD)
    decided = [n for n, v in known.items() if not FEW <= v <= MANY]
    assert len(decided) > 150
