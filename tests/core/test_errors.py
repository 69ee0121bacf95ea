"""Errors are of the kinds that callers expect, and survive the way back from another process."""

from __future__ import annotations

import pickle

import pytest

from respcalc.core import errors


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (errors.DomainError("x = 5 is not possible"), ValueError),
        (errors.UnitsError(["a = 1: no unit", "b = 2: no unit"]), ValueError),
        (errors.UnknownVapour("'xylene' is three", ["o-xylene", "m-xylene"]), LookupError),
        (errors.MissingProperty("no refractive index"), LookupError),
        (errors.CartridgeError("two masses"), ValueError),
        (errors.ModelError("no value"), ArithmeticError),
        (errors.TableError(["row 2", "row 3"]), ValueError),
        (errors.PlanError(["no shift", "no flow"]), ValueError),
    ],
    ids=lambda e: type(e).__name__ if isinstance(e, Exception) else "",
)
def test_kind_text_and_pickle(error, kind):
    assert isinstance(error, errors.RespcalcError)
    assert isinstance(error, kind)
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is type(error)
    assert str(back) == str(error)
    assert vars(back) == vars(error)


def test_several_problems_are_one_text():
    assert str(errors.UnitsError(["a = 1: no unit", "b = 2: no unit"])) == "a = 1: no unit\nb = 2: no unit"
    assert errors.TableError(["row 2", "row 3"]).problems == ("row 2", "row 3")
    assert errors.UnknownVapour("?", iter(["o-xylene"])).suggestions == ("o-xylene",)


def test_the_warning_can_be_turned_into_an_error_by_kind():
    assert issubclass(errors.OutsideSourceRange, UserWarning)
