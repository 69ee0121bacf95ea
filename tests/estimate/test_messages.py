"""What is refused, and that the message names the argument, the value and the way out."""

from __future__ import annotations

import numpy as np
import pytest

import respcalc
from respcalc import BreakthroughCriterion, Quantity, estimate_mixture_life, estimate_service_life
from respcalc.core.errors import DomainError, MissingProperty, UnitsError, UnknownVapour


@pytest.fixture
def usual(pair, dry_air):
    return {"vapour": "toluene", "concentration": "200 ppm", "cartridge": pair, "air": dry_air, "work_rate": "moderate"}


@pytest.mark.parametrize(
    ("change", "error", "parts"),
    [
        ({"concentration": 200}, UnitsError, ["concentration = 200", "no unit", 'concentration="200 ppm"']),
        ({"concentration": "200"}, UnitsError, ["concentration", "unit is missing", '"200 ppm"']),
        ({"concentration": "200 kPa"}, UnitsError, ["concentration", "'kPa'", "ppm", "mg/m3"]),
        ({"concentration": Quantity(25.0, "degC")}, UnitsError, ["concentration", "25"]),
        ({"concentration": "1 000 ppm"}, UnitsError, ["a space", "1000"]),
        ({"concentration": "37,5 ppm"}, UnitsError, ["comma", "37.5"]),
        ({"concentration": "100-200 ppm"}, UnitsError, ["range", "worst"]),
        ({"concentration": "<0.5 ppm"}, UnitsError, ["limit of detection"]),
        ({"concentration": None}, UnitsError, ["concentration", "a value is needed"]),
        ({"concentration": "nan ppm"}, UnitsError, ["concentration", "nan ppm"]),
        ({"concentration": Quantity(np.nan, "ppm")}, DomainError, ["concentration", "finite", "nan"]),
        ({"concentration": Quantity(np.inf, "ppm")}, DomainError, ["concentration", "finite", "inf"]),
        ({"concentration": "0 ppm"}, DomainError, ["concentration = 0 ppm", "above 0"]),
        ({"concentration": "-5 ppm"}, DomainError, ["concentration = -5 ppm", "above 0"]),
        ({"concentration": "-5 mg/m3"}, DomainError, ["concentration = -5 mg/m3"]),
        ({"concentration": "5 %"}, DomainError,
         ["50000 ppm", "toluene", "25 degC", "saturation: 3.75", "ppm", "mist"]),
        ({"concentration": "200 g/m3"}, DomainError, ["more than the air can hold", "saturation"]),
        ({"concentration": Quantity([50.0, 60.0], "ppm")}, DomainError, ["concentration", "one value"]),
        ({"work_rate": 40}, UnitsError, ["40 L/min"]),
        ({"work_rate": "40 ppm"}, UnitsError, ["'ppm'", "L/min"]),
        ({"work_rate": "lazy"}, DomainError, ["work_rate = 'lazy'", "light", "moderate", "heavy"]),
        ({"work_rate": "-3 L/min"}, DomainError, ["-3 L/min", "above 0"]),
        ({"work_rate": Quantity([30.0, 40.0], "L/min")}, DomainError, ["work_rate", "one value"]),
        ({"vapour": "unobtainium"}, UnknownVapour, ["unobtainium"]),
        ({"vapour": "tolune"}, UnknownVapour, ["toluene"]),
        ({"vapour": "xylene"}, UnknownVapour, ["o-xylene", "m-xylene"]),
        ({"vapour": "108-88-4"}, UnknownVapour, ["108-88-4"]),
        ({"vapour": None}, UnknownVapour, ["None"]),
        ({"vapour": "formaldehyde", "concentration": "1 ppm"}, DomainError, ["formaldehyde", "approved"]),
        ({"exposure_limit": 50, "exposure_limit_authority": "us"}, UnitsError, ["exposure_limit = 50", '"50 ppm"']),
        ({"exposure_limit": "50 ppm"}, DomainError, ["exposure_limit of toluene", "exposure_limit_authority="]),
        ({"exposure_limit": "50 ppm", "exposure_limit_authority": " "}, DomainError, ["exposure_limit_authority="]),
        ({"exposure_limit_authority": "us"}, DomainError, ["exposure_limit_authority = 'us'", "exposure_limit"]),
        ({"exposure_limit": "0 ppm", "exposure_limit_authority": "us"}, DomainError, ["exposure_limit = 0 ppm"]),
        ({"limits_from": "ACME"}, DomainError, ["limits_from = 'ACME'", "strictest", "NIOSH REL"]),
        ({"limits_from": "NIOSH REL", "exposure_limit": "5 ppm", "exposure_limit_authority": "us"}, DomainError,
         ["limits_from and exposure_limit"]),
        ({"challenge_fraction": "21 %"}, DomainError, ["challenge_fraction = 0.21", "at most 20%"]),
        ({"challenge_fraction": 0}, DomainError, ["challenge_fraction", "above 0"]),
        ({"challenge_fraction": 5}, DomainError, ["challenge_fraction = 500 %", '"5 %"']),
        ({"limit_fraction": "101 %"}, DomainError, ["limit_fraction"]),
        ({"limit_fraction": "5 ppm"}, UnitsError, ["limit_fraction"]),
        ({"limit_fraction": [0.1, 0.2]}, DomainError, ["limit_fraction", "one value"]),
        ({"cartridge": "pair"}, TypeError, ["cartridge = 'pair'", "describe_bed"]),
        ({"cartridge": None}, TypeError, ["cartridge", "describe_bed"]),
        ({"air": "humid"}, TypeError, ["air = 'humid'", "describe_air"]),
        ({"air": None}, TypeError, ["air", "describe_air"]),
    ],
)  # fmt: skip
def test_what_is_refused_and_how_it_is_said(change, error, parts, usual):
    with pytest.raises(error) as caught:
        estimate_service_life(**{**usual, **change})
    for part in parts:
        assert part in str(caught.value)


def test_humidity_65_is_refused_where_the_air_is_described():
    with pytest.raises(DomainError, match=r"65 %"):
        respcalc.describe_air(temperature="25 degC", relative_humidity=65, altitude="0 m")


def test_a_vapour_without_a_limit_says_how_to_give_one(usual):
    mine = respcalc.define_vapour(
        "mine", molar_mass="100 g/mol", boiling_point="110 degC", saturation_pressure="3 kPa",
        saturation_temperature="20 degC", liquid_density="0.85 g/cm3", refractive_index=1.4,
    )  # fmt: skip
    with pytest.raises(MissingProperty, match='exposure_limit = "50 ppm" and exposure_limit_authority = "'):
        estimate_service_life(**{**usual, "vapour": mine})
    given = {"exposure_limit": "50 ppm", "exposure_limit_authority": "site limit"}
    life = estimate_service_life(**{**usual, "vapour": mine, **given})
    assert "site limit TWA of mine" in str(life)
    assert "CAS not given" in str(life)


@pytest.mark.parametrize(
    ("components", "error", "parts"),
    [
        ([], DomainError, ["no vapour is given"]),
        ({}, DomainError, ["no vapour is given"]),
        ("toluene", DomainError, ["components = 'toluene'", '[("toluene", "85 ppm")']),
        (["toluene", "acetone"], DomainError, ["pairs of vapour and concentration"]),
        ([("toluene",)], DomainError, ["pairs of vapour and concentration"]),
        (5, DomainError, ["pairs of vapour and concentration"]),
        ([("toluene", "50 ppm"), ("formaldehyde", "1 ppm")], DomainError, ["formaldehyde"]),
        ([("toluene", "50 ppm"), ("styrene", "2 %")], DomainError, ["styrene", "more than the air can hold"]),
        ([("toluene", "50 ppm"), ("acetone", 5)], UnitsError, ['concentration="5 ppm"']),
    ],
)
def test_what_is_refused_of_a_mixture(components, error, parts, pair, dry_air):
    with pytest.raises(error) as caught:
        estimate_mixture_life(components, cartridge=pair, air=dry_air, work_rate="moderate")
    for part in parts:
        assert part in str(caught.value)


def test_more_than_all_of_the_air_is_refused(pair):
    hot = respcalc.describe_air(temperature="30 degC", relative_humidity="10 %", altitude="0 m")
    with pytest.raises(DomainError, match="summed concentration"):
        estimate_mixture_life(
            {"diethyl ether": "60 %", "acetone": "30 %", "n-hexane": "20 %"}, cartridge=pair, air=hot,
            work_rate="moderate",
        )  # fmt: skip


def test_own_limits_of_a_mixture_come_one_for_each_vapour(pair, dry_air):
    both = [("toluene", "50 ppm"), ("acetone", "10 ppm")]

    def life(limits):
        return estimate_mixture_life(both, cartridge=pair, air=dry_air, work_rate="moderate", exposure_limits=limits)

    with pytest.raises(DomainError, match="1 entries for 2 components; use None"):
        life([("5 ppm", "us")])
    with pytest.raises(DomainError, match="no pair of limit and authority"):
        life(["5 ppm", None])
    assert "us TWA of toluene" in str(life([("5 ppm", "us"), None]))
    assert life([("0.5 ppm", "us"), None]).life.value < life(None).life.value


@pytest.mark.parametrize("value", [0.0, -0.1, 0.21, float("nan"), float("inf")])
def test_a_criterion_made_by_hand_is_checked_too(value):
    with pytest.raises(DomainError, match="challenge_fraction"):
        BreakthroughCriterion(challenge_fraction=value)
