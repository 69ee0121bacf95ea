"""A name means exactly one listed substance, or it is refused with what to write instead."""

from __future__ import annotations

import csv
import pickle
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from respcalc.core.errors import DomainError, UnknownVapour
from respcalc.vapours import define_vapour, find_vapour, known_vapours
from respcalc.vapours.composition import groups_match, molar_mass, parse_formula, parse_groups
from respcalc.vapours.identity import _aliases, _refused, check_digit, key, listed

ROWS = list(listed().values())


def read_csv(name: str) -> list[dict[str, str]]:
    text = resources.files("respcalc.vapours").joinpath(f"data/{name}").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def test_table_sizes_are_pinned() -> None:
    assert len(known_vapours()) == 228
    assert len(read_csv("names.csv")) == 228
    assert sum(len(r["names"].split("|")) for r in read_csv("refused_names.csv")) == len(_refused())


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.name)
def test_every_alias_names_its_own_row(row) -> None:
    for alias in (row.name, row.cas, *row.synonyms):
        for spelled in (alias, alias.upper(), f"  {alias} ", alias.replace("-", "‑")):
            assert find_vapour(spelled).cas == row.cas
    assert find_vapour(row.name).name == row.name


def test_aliases_are_unique_and_not_refused() -> None:
    spelled = [key(a) for row in ROWS for a in (row.name, *row.synonyms)]
    assert len(spelled) == len(set(spelled)) == len(_aliases())
    assert not set(spelled) & set(_refused())
    assert not set(listed()) & set(_refused())


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.name)
def test_formula_cas_and_name_agree(row) -> None:
    from chemicals import MW

    digits = row.cas.replace("-", "")
    assert check_digit(digits[:-1]) == int(digits[-1])
    own = molar_mass(parse_formula(row.formula)) * 1000
    if row.cas != "626-38-0":  # sec-amyl acetate is not in that database; the guide's value is checked below
        assert own == pytest.approx(MW(row.cas), abs=0.3)
    guide = next(r for r in read_csv("exposure_limits.csv") if r["cas"] == row.cas)
    assert guide["name"] == row.name
    if guide["guide_molar_mass [g/mol]"]:
        assert own == pytest.approx(float(guide["guide_molar_mass [g/mol]"]), abs=0.3)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r.name)
def test_groups_account_for_every_hetero_atom(row) -> None:
    groups = parse_groups(row.groups)
    if groups is not None:
        assert groups_match(parse_formula(row.formula), groups)
    else:
        assert row.name in {
            "formaldehyde",
            "ethyl silicate",
            "hexamethyldisiloxane",
            "octamethylcyclotetrasiloxane",
            "carbon disulfide",
            "dimethyl sulfoxide",
            "furan",
            "thiophene",
        }


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("methylbenzene", "toluene"),
        ("toluol", "toluene"),
        ("MEK", "2-butanone"),
        ("butanone", "2-butanone"),
        ("DCM", "dichloromethane"),
        ("methylene chloride", "dichloromethane"),
        ("IPA", "isopropanol"),
        ("2-propanol", "isopropanol"),
        ("THF", "tetrahydrofuran"),
        ("DMF", "N,N-dimethylformamide"),
        ("NMP", "N-methyl-2-pyrrolidone"),
        ("N-Methyl-2-pyrrolidone", "N-methyl-2-pyrrolidone"),
        ("mibk", "methyl isobutyl ketone"),
        ("PGMEA", "propylene glycol methyl ether acetate"),
        ("MTBE", "methyl tert-butyl ether"),
        ("mesitylene", "1,3,5-trimethylbenzene"),
        ("methyl ethyl-ketone", "2-butanone"),
        ("n hexane", "n-hexane"),
        (" 108-88-3 ", "toluene"),
    ],
)
def test_common_names(asked: str, name: str) -> None:
    assert find_vapour(asked).name == name


AMBIGUOUS = [
    "xylene", "Xylenes", "1330-20-7", "hexane", "hexanes", "hexane isomers", "dichloroethylene", "trichloroethane",
    "trichlorobenzene", "trimethylbenzene", "25551-13-7", "butanol", "propanol", "cresol", "dichlorobenzene",
    "1,2-dichloroethylene", "540-59-0", "vinyl toluene", "25013-15-4", "amyl acetate", "butyl acetate", "PM acetate",
    "TCE", "heptanone", "DMS", "Hexane isomers (excluding n-Hexane)",
]  # fmt: skip


@pytest.mark.parametrize("asked", AMBIGUOUS)
def test_ambiguous_names_ask_which(asked: str) -> None:
    with pytest.raises(UnknownVapour, match="more than one substance") as caught:
        find_vapour(asked)
    assert caught.value.suggestions
    for choice in caught.value.suggestions:
        assert f'"{choice}"' in str(caught.value)


PRODUCTS = [
    "naphtha", "8030-30-6", "Stoddard solvent", "8052-41-3", "mineral spirits", "white spirit", "gasoline", "petrol",
    "8006-61-9", "kerosene", "8008-20-6", "turpentine", "8006-64-2", "thinner", "lacquer thinner", "petroleum ether",
    "ligroine", "VM&P naphtha", "VM & P Naphtha", "8032-32-4", "benzine", "64742-47-8", "64742-88-7",
    "Petroleum distillates (naphtha)", "Naphtha (coal tar)",
]  # fmt: skip


@pytest.mark.parametrize("asked", PRODUCTS)
def test_products_ask_for_components(asked: str) -> None:
    with pytest.raises(UnknownVapour, match=r"a product, not one substance.*[Nn]ame its components"):
        find_vapour(asked)


INORGANIC = [
    "ammonia", "chlorine", "sulfur dioxide", "HCl", "H2S", "CO", "mercury", "ozone", "nitrogen dioxide",
    "hydrogen cyanide", "phosgene", "7664-41-7", "630-08-0", "7439-97-6", "methylamine", "methane", "water",
]  # fmt: skip


@pytest.mark.parametrize("asked", INORGANIC)
def test_gases_that_carbon_does_not_hold_are_refused_with_the_reason(asked: str) -> None:
    with pytest.raises(UnknownVapour, match="physical adsorption on plain carbon does not describe it"):
        find_vapour(asked)


@pytest.mark.parametrize("choice", sorted({c for r in _refused().values() for c in r.choices}))
def test_every_offered_choice_resolves(choice: str) -> None:
    assert find_vapour(choice).name == choice


@pytest.mark.parametrize("reason", sorted({r.why for r in _refused().values()}))
def test_reasons_are_the_four_known(reason: str) -> None:
    assert reason in {"ambiguous", "product", "by rule", "not adsorbed"}


def test_cas_numbers_among_the_refused_have_valid_check_digits() -> None:
    numbers = [
        n for r in read_csv("refused_names.csv") for n in r["names"].split("|") if n[0].isdigit() and n[-2] == "-"
    ]
    assert len(numbers) > 50
    for number in numbers:
        digits = number.replace("-", "")
        if digits.isdigit():
            assert check_digit(digits[:-1]) == int(digits[-1]), number


def test_formulae_are_refused() -> None:
    with pytest.raises(UnknownVapour, match=r"formula, and isomers share one.*ethanol") as caught:
        find_vapour("C2H6O")
    assert caught.value.suggestions == ("ethanol",)
    with pytest.raises(UnknownVapour, match=r"o-xylene.*m-xylene.*p-xylene|m-xylene"):
        find_vapour("C8H10")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("108-88-4", r"check digit, which should be 3.*108-88-3 is toluene"),
        ("108883", r'write it as "108-88-3"'),
        ("0108-88-3", r'write it as "108-88-3"'),
        ("7440-44-0", r"well formed but not in the list of 228 vapours"),
        ("12345", "not written as a CAS number"),
    ],
)
def test_mistyped_cas_numbers(asked: str, told: str) -> None:
    with pytest.raises(UnknownVapour, match=told):
        find_vapour(asked)


@pytest.mark.parametrize(
    ("asked", "nearest"),
    [("toluen", "toluene"), ("aceton", "acetone"), ("methyl ethyl keton", "methyl ethyl ketone"), ("xylen", "xylene")],
)
def test_odd_spellings_get_a_suggestion_and_no_guess(asked: str, nearest: str) -> None:
    with pytest.raises(UnknownVapour, match="Nearest names") as caught:
        find_vapour(asked)
    assert nearest in caught.value.suggestions


@pytest.mark.parametrize("asked", ["", "   ", "zzzz", "unobtainium", "toluene + xylene", "toluene 99 %"])
def test_nonsense_is_refused(asked: str) -> None:
    with pytest.raises(UnknownVapour):
        find_vapour(asked)


@pytest.mark.parametrize("asked", [None, 108, 108.88, ["toluene"]])
def test_other_types_are_refused(asked: object) -> None:
    with pytest.raises(UnknownVapour, match="named by text"):
        find_vapour(asked)  # type: ignore[arg-type]


@given(st.text(max_size=30))
def test_any_text_resolves_strictly_or_is_refused(text: str) -> None:
    try:
        found = find_vapour(text)
    except UnknownVapour:
        return
    names = {key(n) for n in (found.name, found.cas, *listed()[found.cas].synonyms)}
    assert key(text) in names


@given(st.sampled_from(sorted(listed())), st.integers(0, 9))
def test_one_wrong_check_digit_never_resolves(cas: str, digit: int) -> None:
    altered = f"{cas[:-1]}{digit}"
    if altered == cas:
        assert find_vapour(altered).cas == cas
    else:
        with pytest.raises(UnknownVapour, match="check digit"):
            find_vapour(altered)


@pytest.mark.parametrize(
    ("name", "cas"),
    [("mercury", "7439-97-6"), ("quicksilver", ""), ("shiny liquid", "7439-97-6"), ("bromine", ""), ("aziridine", ""),
     ("cleaner", "50-00-0"), ("ammonia gas", ""), ("Anhydrous Ammonia", ""), ("CO gas", ""), ("mercury, elemental", ""),
     ("peracetic acid 15 %", ""), ("hydrogen sulphide (gas)", "")],
)  # fmt: skip
def test_what_carbon_does_not_hold_cannot_be_described_anew(name, cas):
    with pytest.raises(UnknownVapour) as refused:
        define_vapour(
            name, cas=cas, molar_mass="100 g/mol", boiling_point="110 degC", saturation_pressure="3.0 kPa",
            saturation_temperature="20 degC", liquid_density="0.85 g/cm3", refractive_index=1.40,
        )  # fmt: skip
    assert refused.value.refused
    assert pickle.loads(pickle.dumps(refused.value)).refused


def test_a_number_is_text():
    with pytest.raises(DomainError, match="cas = 7664417: the CAS number is text"):
        define_vapour("solvent X", cas=7664417)
