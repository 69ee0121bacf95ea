"""The share of the prediction that may be used, and which vapours get less."""

from __future__ import annotations

import pytest

import respcalc
from respcalc.estimate import margin_factor

LIGHT = (
    "dichloromethane", "chloroform", "1,2-dichloroethane", "1,1,1-trichloroethane", "trichloroethylene", "acetone",
    "methanol", "ethanol", "2-propanol", "1-propanol", "methyl acetate", "acetonitrile", "acrylonitrile",
    "propylene oxide", "carbon disulfide", "methyl formate", "carbon tetrachloride",
)  # fmt: skip
USUAL = (
    "toluene", "benzene", "n-hexane", "cyclohexane", "2-butanone", "ethyl acetate", "diethyl ether", "tetrahydrofuran",
    "styrene", "tetrachloroethylene", "1-butanol", "vinyl acetate", "1,1,2-trichloroethane", "nitromethane",
)  # fmt: skip


@pytest.mark.parametrize("name", LIGHT)
def test_small_and_volatile_molecules_get_the_whole_worst_case(name):
    vapour = respcalc.find_vapour(name)
    assert vapour.elements["C"] <= 3
    assert vapour.boiling_point.value <= 373.15
    assert margin_factor(vapour).value == pytest.approx(1 / 3.5)


@pytest.mark.parametrize("name", USUAL)
def test_the_others_get_the_usual_margin(name):
    vapour = respcalc.find_vapour(name)
    assert vapour.elements["C"] > 3 or vapour.boiling_point.value > 373.15
    assert margin_factor(vapour).value == pytest.approx(1 / 1.65)


def own(boiling_point, formula=""):
    pressure = {"60 degC": "22 kPa", "100 degC": "5 kPa", "101 degC": "4.8 kPa"}[boiling_point]
    return respcalc.define_vapour(
        "mine", molar_mass="84.9 g/mol" if formula == "CH2Cl2" else "86.2 g/mol", boiling_point=boiling_point,
        saturation_pressure=pressure, saturation_temperature="20 degC", liquid_density="0.9 g/cm3",
        refractive_index=1.4, formula=formula,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("boiling_point", "formula", "divisor"),
    [
        ("60 degC", "", 3.5),
        ("100 degC", "", 3.5),
        ("101 degC", "", 1.65),
        ("60 degC", "C6H14", 1.65),
        ("60 degC", "CH2Cl2", 3.5),
    ],
)
def test_an_unknown_composition_is_light_when_it_boils_low(boiling_point, formula, divisor):
    assert margin_factor(own(boiling_point, formula)).value == pytest.approx(1 / divisor)


def test_the_margin_says_why_and_shows_in_the_result(pair, dry_air):
    life = respcalc.estimate_service_life("acetone", "100 ppm", cartridge=pair, air=dry_air, work_rate="moderate")
    assert life.life.value == pytest.approx(life.breakthrough.value / 3.5)
    assert "divided by 3.5" in life.margin.note
    assert "recalled" in life.margin.note
    assert life.margin in life.basis.data
    assert "divided by 3.5" in str(life)
