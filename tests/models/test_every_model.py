"""What holds for every published model: units do not matter, directions are as declared, no surprises."""

from __future__ import annotations

import importlib
import math
import pkgutil
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import respcalc
import respcalc.models
from respcalc.core.card import Model, all_models
from respcalc.core.errors import DomainError, OutsideSourceRange, UnitsError
from respcalc.core.units import FAMILIES, Quantity
from respcalc.core.vocabulary import term

for found in pkgutil.walk_packages(respcalc.__path__, "respcalc."):
    if not found.name.endswith("__main__"):
        importlib.import_module(found.name)

MODELS = list(all_models().values())
each_model = pytest.mark.parametrize("made", MODELS, ids=lambda m: m.__name__)


def usual(name, share):
    """The value at *share* of the way through a word's usual range, by decades where it spans several."""
    low, high = term(name).usual
    return low * (high / low) ** share if low > 0 and high / low > 20 else low + share * (high - low)


def shares(count):
    return st.lists(st.floats(0, 1), min_size=count, max_size=count)


def arguments_of(made, parts):
    return {name: usual(name, share) for name, share in zip(made.card.arguments, parts, strict=True)}


def as_quantities(numbers):
    return {name: term(name).quantity(value) for name, value in numbers.items()}


def quietly(made, **arguments):
    """Call with units; a source's range may be left in a usual range, nothing else may warn."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        warnings.simplefilter("ignore", OutsideSourceRange)
        return made(**arguments)


def rounding(made, numbers):
    """What rounding of the inputs alone may change: 1e-15 of each, carried through the model."""
    base = made.si(**numbers)
    moved = (made.si(**numbers | {name: value * (1 + 1e-6)}) for name, value in numbers.items())
    return 1e-9 * sum(abs(m - base) for m in moved)


# --- every model is covered


def test_every_model_of_the_package_is_registered_and_exported():
    found = {}
    for info in pkgutil.iter_modules(respcalc.models.__path__, "respcalc.models."):
        module = importlib.import_module(info.name)
        found |= {name: value for name, value in vars(module).items() if isinstance(value, Model)}
        own = {
            name for name, value in vars(module).items() if isinstance(value, Model) and value.__module__ == info.name
        }
        assert own <= set(module.__all__), f"{info.name} does not export {own - set(module.__all__)}"
    assert len(found) > 20
    for name, made in found.items():
        assert all_models()[name] is made
        assert getattr(respcalc.models, name) is made, f"{name} is not exported by respcalc.models"
        assert name in respcalc.models.__all__


# --- declarations


@each_model
def test_every_argument_with_a_meaning_for_life_has_a_declared_direction(made):
    card = made.card
    for name in card.arguments:
        declared = [name in group for group in (card.rises_with, card.falls_with, card.mixed)]
        assert sum(declared) <= 1, f"{made.__name__}: {name} is declared twice"
        if term(name).effect != "mixed":
            assert sum(declared) == 1, f"{made.__name__}: {name} has no declared direction"


@each_model
def test_stated_ranges_and_limits_are_possible(made):
    for name, (low, high) in made.card.ranges.items():
        assert term(name).low <= low < high <= term(name).high
    for name, limit in made.card.at_most.items():
        assert term(name).family == term(limit).family


# --- behaviour over the usual ranges


@each_model
@given(data=st.data())
def test_si_equals_the_call_and_the_result_is_sound(made, data):
    numbers = arguments_of(made, data.draw(shares(len(made.card.arguments))))
    value = made.si(**numbers)
    assert np.ndim(value) == 0
    assert not isinstance(value, np.ndarray)  # a scalar, not an array without dimensions
    assert math.isfinite(value)
    called = quietly(made, **as_quantities(numbers))
    assert type(called) is Quantity
    assert type(called.magnitude) is float
    si = called.m_as(term(made.card.returns).si or "dimensionless")
    assert abs(si - value) <= 1e-12 * abs(value) + rounding(made, numbers)


@each_model
@given(data=st.data())
def test_the_unit_of_an_argument_never_changes_the_answer(made, data):
    numbers = arguments_of(made, data.draw(shares(len(made.card.arguments))))
    written = {}
    for name, value in numbers.items():
        family = FAMILIES[term(name).family]
        unit = data.draw(st.sampled_from(sorted(family.units)), label=name)
        number = Quantity(value, family.si or "dimensionless").to(family.units[unit]).magnitude
        written[name] = f"{number!r} {unit}"
    expected = made.si(**numbers)
    got = quietly(made, **written).m_as(term(made.card.returns).si or "dimensionless")
    assert abs(got - expected) <= 1e-12 * abs(expected) + rounding(made, numbers), written


@each_model
@given(data=st.data())
def test_the_result_moves_in_the_declared_direction(made, data):
    numbers = arguments_of(made, data.draw(shares(len(made.card.arguments))))
    for name in (*made.card.rises_with, *made.card.falls_with):
        first, second = sorted(data.draw(shares(2), label=name))
        low = made.si(**numbers | {name: usual(name, first)})
        high = made.si(**numbers | {name: usual(name, second)})
        if name in made.card.falls_with:
            low, high = high, low
        assert low <= high + 1e-12 * abs(high), f"{made.__name__} does not follow {name}"


@each_model
def test_the_declared_directions_are_not_empty_words(made):
    """Somewhere in the usual ranges the argument does matter."""
    rng = np.random.default_rng(1)
    points = [arguments_of(made, rng.random(len(made.card.arguments))) for _ in range(40)]
    for name in (*made.card.rises_with, *made.card.falls_with):
        ends = [[made.si(**numbers | {name: usual(name, end)}) for end in (0.02, 0.98)] for numbers in points]
        assert any(low != high for low, high in ends), f"{made.__name__} does not depend on {name}"


@each_model
@given(data=st.data())
def test_arrays_broadcast_as_numpy_does(made, data):
    count = len(made.card.arguments)
    numbers = arguments_of(made, data.draw(shares(count)))
    along = data.draw(st.sampled_from(made.card.arguments))
    values = np.array([usual(along, share) for share in data.draw(shares(3))])
    got = quietly(made, **as_quantities(numbers | {along: values})).magnitude
    assert got.shape == (3,)
    singly = [quietly(made, **as_quantities(numbers | {along: value})).magnitude for value in values]
    np.testing.assert_allclose(got, singly, rtol=1e-12, atol=1e-300 + 1e6 * rounding(made, numbers))
    other = data.draw(st.sampled_from(made.card.arguments))
    column = np.array([[usual(other, share)] for share in data.draw(shares(2))])
    both = quietly(made, **as_quantities(numbers | {along: values} | {other: column})).magnitude
    assert both.shape == ((2, 1) if other == along else (2, 3))


# --- refusals


@each_model
def test_every_argument_is_checked_by_name(made):
    numbers = arguments_of(made, [0.5] * len(made.card.arguments))
    for name in made.card.arguments:
        with pytest.raises(UnitsError, match=f"^{name} = None"):
            made(**as_quantities(numbers) | {name: None})
        with pytest.raises(DomainError, match=f"^{name} "):
            made(**as_quantities(numbers) | {name: term(name).quantity(term(name).low - 1.0)})
        # newer Pythons say "keyword-only argument"
        missing = f"^{made.__name__}.* missing a required (keyword-only )?argument: '{name}'"
        with pytest.raises(TypeError, match=missing):
            made(**{other: value for other, value in as_quantities(numbers).items() if other != name})
        if not FAMILIES[term(name).family].bare_number:
            with pytest.raises(UnitsError, match=f"^{name} = .* a bare number has no unit"):
                made(**as_quantities(numbers) | {name: numbers[name]})


@each_model
def test_an_argument_above_its_limit_is_refused(made):
    numbers = arguments_of(made, [0.5] * len(made.card.arguments))
    for name, limit in made.card.at_most.items():
        with pytest.raises(DomainError, match=f"^{made.__name__}: {name} = .* is above {limit}"):
            made(**as_quantities(numbers | {name: 1.5 * numbers[limit]}))
        assert np.isfinite(made(**as_quantities(numbers | {name: numbers[limit]})).magnitude)


# --- cards


@each_model
def test_the_card_says_everything(made):
    rows = dict(made.card.rows())
    assert list(rows) == ["model", "predicts", "equation", "from", "returns", "source", "source's range", "assumes"]
    assert all(rows.values())
    assert made.card.predicts
    assert all(name in rows["from"] for name in made.card.arguments)
    assert made.card._repr_html_().count("<tr>") == len(rows)
