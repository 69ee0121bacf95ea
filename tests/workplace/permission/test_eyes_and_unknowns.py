"""Eyes that a half mask leaves in the air, concentrations that nobody knows, and the answer as an object."""

from __future__ import annotations

import json

import pytest

from respcalc.vapours import find_vapour, known_vapours
from respcalc.workplace import describe_air, describe_exposure, facepiece, may_filter
from respcalc.workplace.permission.eyes import _irritants

AIR = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m", oxygen="20.9 %")


def decide(*parts, mask="half mask", **more):
    return may_filter(parts, mask=facepiece(mask), oxygen=AIR.oxygen, pressure=AIR.pressure, **more)


def exposure(name, amount, **more):
    return describe_exposure(name, f"{amount} ppm", air=AIR, **more)


def eyes(permission):
    return [c for c in permission.criteria if c.name.startswith("eyes")]


def test_a_strong_irritant_above_its_limit_needs_covered_eyes():
    part = exposure("triethylamine", 26, limits_from="OSHA PEL")
    (criterion,) = eyes(decide(part))
    assert not criterion.met
    assert "full facepiece" in criterion.instead
    assert "to be confirmed" in criterion.allowed
    assert eyes(decide(part, mask="full facepiece")) == []
    assert eyes(decide(part, eye_protection="gas-tight goggles"))[0].met
    assert not eyes(decide(part, eye_protection="safety glasses"))[0].met
    assert eyes(decide(exposure("triethylamine", 20, limits_from="OSHA PEL"))) == []


def test_what_the_plan_says_of_irritation_counts():
    assert not eyes(decide(exposure("toluene", 40, irritates_eyes=True)))[0].met
    quiet = decide(exposure("toluene", 140, irritates_eyes=False))
    assert eyes(quiet) == []
    assert not any("leaves the eyes" in w for w in quiet.warnings)
    asked = decide(exposure("toluene", 140))
    assert any("whether toluene irritates them" in w for w in asked.warnings)
    assert not any("leaves the eyes" in w for w in decide(exposure("toluene", 40)).warnings)
    # saying that it does not irritate never overrules what is known
    assert not eyes(decide(exposure("acrolein", 0.5, irritates_eyes=False)))[0].met


def test_the_table_names_listed_vapours():
    listed = {cas for _, cas in known_vapours()}
    assert set(_irritants()) <= listed
    assert len(_irritants()) == 21


def test_what_nobody_knows_is_treated_as_immediately_dangerous():
    permission = decide(not_known=["toluene"])
    assert not permission.allowed
    (refusal,) = permission.refusals
    assert "concentration of toluene is not known" in refusal
    assert "(d)(1)(iii)" in refusal
    both = decide(exposure("acetone", 50), not_known=["toluene"])
    assert len(both.refusals) == 1


@pytest.mark.parametrize("name", ["methyl acetate", "methanol", "acetone"])
def test_low_boilers_are_called_poor_candidates(name):
    assert find_vapour(name).boiling_point.value < 338.15
    assert any("poorly held" in w and "never beyond the shift" in w for w in decide(exposure(name, 50)).warnings)


def test_the_answer_carries_numbers_and_cautions():
    written = json.loads(json.dumps(decide(exposure("toluene", 600)).as_dict()))
    idlh = next(c for c in written["criteria"] if c["criterion"] == "IDLH of toluene")
    assert (idlh["value"], idlh["bound"], idlh["unit"]) == (pytest.approx(600), pytest.approx(500), "ppm")
    assert written["cautions"]
    text = str(decide(exposure("toluene", 600)))
    assert text.startswith("NOT ALLOWED")
    assert "Estimate, not a guarantee" in text
    assert str(decide(exposure("toluene", 60))).startswith("organic-vapour cartridges are allowed here")


def test_formaldehyde_says_which_element_and_for_how_long():
    """After ventilation, 3.44 ppm over 15 min: another element; end of shift; 3 h where the older text holds."""
    part = exposure("formaldehyde", 3.44, average="1 ppm", limits_from="OSHA PEL")
    (refusal,) = decide(part, mask="full facepiece").refusals
    for words in ("an element approved for formaldehyde", "end of the shift", "3 h of use", "gas-proof goggles"):
        assert words in refusal
