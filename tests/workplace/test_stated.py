"""What people write as the basis of a number: answers and non-answers."""

from __future__ import annotations

import pytest

from respcalc.workplace import names_data, no_basis, rests_on_smell


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("unknown", "guess"), ("guess", "guess"), ("a rough guess, really", "guess"), ("not measured", "denial"),
        ("nobody measured", "denial"), ("unmeasured", "denial"), ("no data", "denial"), ("no samples", "denial"),
        ("n/a", "nothing"), ("?", "nothing"), ("-", "nothing"), ("...", "nothing"), ("x", "nothing"), ("12", "nothing"),
        ("assumed", "nothing"), ("TBD", "nothing"), ("common practice", "nothing"), ("odour", "smell"),
        ("it stinks at noon", "smell"), ("SDS", "data sheet"), ("label", "data sheet"),
        ("technical data sheet; nobody measured", "data sheet"),
    ],
)  # fmt: skip
def test_non_answers_are_told_apart(text, says):
    assert says in no_basis(text)


@pytest.mark.parametrize(
    "text",
    [
        "6 personal samples, highest taken", "PID survey after odour complaints", "4 tubes", "report of 1981",
        "estimated from evaporation and ventilation rate", "no samples below detection: 6 personal samples",
        "not sampled since 2024; 6 samples of May 2023", "laboratory report 12", "HHE 80-103-827",
        "assumed worst case of the process, calculation in file 12", "expert judgement, J. Doe (invented)",
        "data sheet for identity; badges for the air",
    ],
)  # fmt: skip
def test_a_basis_may_be_one(text):
    assert no_basis(text) == ""


@pytest.mark.parametrize("text", ["no data", "no desorption data", "they still work fine", "never tested", "habit", ""])
def test_data_that_are_denied_are_none(text):
    assert not names_data(text)


@pytest.mark.parametrize("text", ["own desorption test of 2026", "migration study; odour not used", "laboratory, 2025"])
def test_data_are_named(text):
    assert names_data(text)


def test_smell_has_many_names():
    assert all(rests_on_smell(f"when it {word}") for word in ("smells", "tastes", "stinks"))
    assert not rests_on_smell("tested in the wardrobe of odin")
