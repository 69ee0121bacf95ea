"""The model card and the door around a kernel."""

from __future__ import annotations

import inspect
import pickle
import warnings

import numpy as np
import pytest

from respcalc.core import card as card_module
from respcalc.core.card import all_models, model
from respcalc.core.errors import DomainError, ModelError, OutsideSourceRange, UnitsError
from respcalc.core.units import Quantity
from respcalc.models.breakthrough import stoichiometric_time, wheeler_jonas_time

BED = {
    "capacity": "0.3332 g/g",
    "sorbent_mass": "30 g",
    "mass_concentration": "3766 mg/m3",
    "flow_rate": "30 L/min",
    "bulk_density": "0.45 g/cm3",
    "rate_coefficient": "3865 1/min",
}


@pytest.fixture(autouse=True)
def _own_list_of_models(monkeypatch):
    monkeypatch.setattr(card_module, "_REGISTRY", {})


def register(kernel, **changes):
    declared = {"returns": "transfer_units", "equation": "y = x", "source": "wheeler_jonas", "locator": "here"}
    return model(**(declared | changes))(kernel)


def doubled(*, flow_rate):
    """Twice <the> flow.

    More text.
    """
    return 2.0 * flow_rate


# --- registration


def test_a_model_is_listed_and_looks_like_its_function():
    made = register(doubled, returns="flow_rate")
    assert all_models() == {"doubled": made}
    assert made.__name__ == "doubled"
    assert made.__doc__ == doubled.__doc__
    assert made.__module__ == __name__
    assert str(inspect.signature(made)) == "(*, flow_rate)"
    assert made.card.predicts == "Twice <the> flow"
    assert made.card.arguments == ("flow_rate",)
    assert repr(made) == "<model doubled: y = x>"
    assert made.si is doubled


def test_the_list_that_is_handed_out_is_a_copy():
    all_models()["x"] = None
    assert "x" not in all_models()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"returns": "loudness"}, "'loudness' is not in the vocabulary"),
        ({"opposes": ("pressure",)}, "'pressure' is not one of its arguments"),
        ({"rises_with": ("pressure",)}, "'pressure' is not one of its arguments"),
        ({"falls_with": ("pressure",)}, "'pressure' is not one of its arguments"),
        ({"mixed": ("pressure",)}, "'pressure' is not one of its arguments"),
        ({"ranges": {"pressure": (1.0, 2.0)}}, "'pressure' is not one of its arguments"),
        ({"at_most": {"flow_rate": "pressure"}}, "'pressure' is not one of its arguments"),
    ],
)
def test_a_mistake_in_the_declaration_is_refused(changes, says):
    with pytest.raises(KeyError, match=f"doubled: {says}"):
        register(doubled, **changes)


def test_an_argument_outside_the_vocabulary_is_refused():
    def odd(*, flow):
        return flow

    with pytest.raises(KeyError, match="odd: 'flow' is not in the vocabulary"):
        register(odd)


def test_a_second_model_of_the_same_name_is_refused():
    register(doubled)

    def other(*, flow_rate):
        return flow_rate

    other.__name__, other.__module__ = "doubled", "elsewhere"
    with pytest.raises(KeyError, match="already has a model of this name"):
        register(other)


def test_directions_follow_from_the_vocabulary():
    def kernel(*, flow_rate, capacity, pressure, temperature, void_fraction):
        return flow_rate * capacity

    made = register(
        kernel,
        returns="stoichiometric_time",
        opposes=("pressure",),
        mixed=("temperature",),
        rises_with=("void_fraction",),
    )
    assert made.card.rises_with == ("void_fraction", "capacity")
    assert made.card.falls_with == ("flow_rate", "pressure")
    assert made.card.mixed == ("temperature",)
    directions = [made.direction(name) for name in ("capacity", "flow_rate", "temperature")]
    assert directions == ["lengthens", "shortens", "mixed"]


# --- calling


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"flow": "30 L/min"}, r"stoichiometric_time\(\) got an unexpected keyword argument 'flow'; it takes capacity"),
        ({"flow_rate": ...}, r"stoichiometric_time\(\) missing a required argument: 'flow_rate'; it takes capacity"),
    ],
)
def test_a_wrong_or_missing_name_is_a_type_error_that_says_which(change, says):
    arguments = {n: BED[n] for n in stoichiometric_time.card.arguments} | change
    with pytest.raises(TypeError, match=says):
        stoichiometric_time(**{n: v for n, v in arguments.items() if v is not ...})


def test_arguments_go_by_name_only():
    with pytest.raises(TypeError, match="positional"):
        stoichiometric_time("0.3 g/g", "30 g", "3766 mg/m3", "30 L/min")


def test_every_bad_unit_is_reported_at_once():
    with pytest.raises(UnitsError) as caught:
        wheeler_jonas_time(**BED | {"flow_rate": 30, "sorbent_mass": "30"}, exit_fraction="1 %")
    assert [p.partition(" ")[0] for p in caught.value.problems] == ["sorbent_mass", "flow_rate"]


def test_a_value_that_is_not_possible_is_refused():
    with pytest.raises(DomainError, match=r"^exit_fraction = 500 % .* write \"5 %\""):
        wheeler_jonas_time(**BED, exit_fraction=5)


def test_scalar_in_scalar_out_array_in_array_out():
    one = wheeler_jonas_time(**BED, exit_fraction="1 %")
    assert type(one) is Quantity
    assert type(one.magnitude) is float
    assert f"{one:.2f~}" == "41.14 min"
    several = wheeler_jonas_time(**BED, exit_fraction=["1 %", 0.1])
    assert several.magnitude.shape == (2,)
    assert several.magnitude[0] == one.magnitude
    grid = wheeler_jonas_time(**BED | {"flow_rate": [["30 L/min"], ["60 L/min"]]}, exit_fraction=[0.01, 0.02, 0.1])
    assert grid.magnitude.shape == (2, 3)
    assert wheeler_jonas_time(**BED, exit_fraction=np.array([])).magnitude.shape == (0,)


def test_arrays_that_do_not_fit_are_named():
    with pytest.raises(DomainError, match=r"do not fit together: flow_rate \(2,\), exit_fraction \(3,\)"):
        wheeler_jonas_time(**BED | {"flow_rate": ["30 lpm", "60 lpm"]}, exit_fraction=[0.01, 0.02, 0.1])


def test_si_equals_the_call_and_checks_nothing():
    numbers = {"capacity": 0.3332, "sorbent_mass": 0.03, "mass_concentration": 3.766e-3, "flow_rate": 5e-4}
    called = stoichiometric_time(**{n: BED[n] for n in numbers})
    assert stoichiometric_time.si(**numbers) == pytest.approx(called.m_as("s"), rel=1e-14)
    assert stoichiometric_time.si(**numbers | {"capacity": -1.0}) < 0


def test_a_model_travels_to_another_process_by_name():
    assert pickle.loads(pickle.dumps(wheeler_jonas_time)) is wheeler_jonas_time


# --- outside the source's range


def test_outside_the_stated_range_is_computed_with_one_warning_at_the_caller():
    with pytest.warns(OutsideSourceRange) as caught:
        time = wheeler_jonas_time(**BED, exit_fraction=[0.01, 0.3, 0.4])
    assert np.all(np.isfinite(time.magnitude))
    (warning,) = caught
    assert str(warning.message) == (
        "wheeler_jonas_time: exit_fraction = 30 % is outside 0 % to 20 %, the range stated for it "
        "(lodewyckx_wood_ryu_2004, reaction-kinetic form of the Wheeler-Jonas equation)"
    )
    assert warning.filename == __file__


def test_inside_and_at_the_ends_nothing_is_said():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        wheeler_jonas_time(**BED, exit_fraction=[0.001, 0.2])


# --- what the mathematics cannot do


@pytest.mark.parametrize("value", [np.nan, np.inf, -5.0, np.array([1.0, np.nan])])
def test_a_result_that_is_not_sound_is_an_error_not_a_nan(value):
    def broken(*, flow_rate):
        return value * np.ones_like(flow_rate)

    made = register(broken)
    with pytest.raises(ModelError, match=r"^broken has no sound value for flow_rate=30 L/min: transfer_units"):
        made(flow_rate="30 L/min")
    assert np.array_equal(made.si(flow_rate=5e-4), value, equal_nan=True)  # the float form checks nothing


def test_numpy_warnings_become_the_error_and_nothing_else():
    def log_of_nothing(*, flow_rate):
        return np.log(flow_rate - flow_rate)

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(ModelError, match="must be a finite number"):
            register(log_of_nothing)(flow_rate="30 L/min")


def test_an_argument_above_its_limit_is_refused_with_both_values():
    def kernel(*, partial_pressure, saturation_pressure):
        return partial_pressure / saturation_pressure

    made = register(kernel, at_most={"partial_pressure": "saturation_pressure"})
    assert made(partial_pressure="1 kPa", saturation_pressure="1 kPa").magnitude == 1.0
    with pytest.raises(DomainError, match=r"^kernel: partial_pressure = 2000 Pa is above saturation_pressure = 1 kPa"):
        made(partial_pressure=["500 Pa", "2 kPa"], saturation_pressure="1 kPa")
    assert "partial_pressure not above saturation_pressure" in str(made.card)


# --- the card


def test_the_card_in_text():
    text = str(wheeler_jonas_time.card)
    for part in ("wheeler_jonas_time", "capacity [g/g]", "breakthrough_time [min]", "exit_fraction 0 % to 20 %"):
        assert part in text
    assert "[abstract read]" in text
    assert "none stated" in str(stoichiometric_time.card)


def test_the_card_in_a_notebook_is_escaped():
    made = register(doubled, equation="y < x & z", assumptions=("<b>bold</b>",), locator='"page"')
    html = made.card._repr_html_()
    assert html.startswith("<table>")
    assert html.endswith("</table>")
    assert "y &lt; x &amp; z" in html
    assert "Twice &lt;the&gt; flow" in html
    assert "&lt;b&gt;bold&lt;/b&gt;" in html
    assert html.count("<tr>") == len(made.card.rows())
