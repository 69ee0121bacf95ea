"""One published model = one function + one card.

A kernel is written once, in SI floats, with argument names from the vocabulary. ``@model`` adds
the door: called with quantities or text it checks units, bounds and the source's stated ranges;
``.si`` is the bare kernel for loops, fits and solvers; ``.card`` says what the model is.
"""

from __future__ import annotations

import functools
import inspect
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from html import escape
from typing import Any

import numpy as np

from respcalc.core.errors import DomainError, ModelError, OutsideSourceRange
from respcalc.core.sources import source
from respcalc.core.units import Quantity
from respcalc.core.vocabulary import VOCABULARY, Effect, check, read_all, term

__all__ = ["Card", "Model", "all_mixture_models", "all_models", "mixture_model", "model"]

_REGISTRY: dict[str, Model] = {}
_OF_MIXTURES: dict[str, Any] = {}


@dataclass(frozen=True)
class Card:
    """What a model is, in the words a reviewer asks for."""

    name: str
    predicts: str
    equation: str
    arguments: tuple[str, ...]
    returns: str
    source: str
    locator: str
    ranges: Mapping[str, tuple[float, float]] = field(default_factory=dict)  # SI
    assumptions: tuple[str, ...] = ()
    rises_with: tuple[str, ...] = ()
    falls_with: tuple[str, ...] = ()
    mixed: tuple[str, ...] = ()
    at_most: Mapping[str, str] = field(default_factory=dict)  # argument -> the argument it may not exceed

    def rows(self) -> list[tuple[str, str]]:
        ranges = [
            f"{name} {term(name).show(low)} to {term(name).show(high)}" for name, (low, high) in self.ranges.items()
        ]
        limits = [f"{low} not above {high}" for low, high in self.at_most.items()]
        return [
            ("model", self.name),
            ("predicts", self.predicts),
            ("equation", self.equation),
            ("from", ", ".join(_with_unit(a) for a in self.arguments)),
            ("returns", _with_unit(self.returns)),
            ("source", f"{source(self.source)}, {self.locator}"),
            ("source's range", "; ".join(ranges) or "none stated"),
            ("assumes", "; ".join((*self.assumptions, *limits)) or "-"),
        ]

    def __str__(self) -> str:
        return "\n".join(f"{key:>14}  {text}" for key, text in self.rows())

    def _repr_html_(self) -> str:
        body = "".join(f"<tr><th>{escape(k)}</th><td>{escape(t)}</td></tr>" for k, t in self.rows())
        return f"<table>{body}</table>"


def _with_unit(name: str) -> str:
    """A word with its printed unit; the arguments of mixture models are described in their docstrings."""
    return f"{name} [{term(name).printed_unit or '-'}]" if name in VOCABULARY else name


class Model:
    """A published model: call it with units, or use ``.si`` with floats."""

    def __init__(self, kernel: Callable[..., Any], card: Card) -> None:
        functools.update_wrapper(self, kernel)
        self.si = kernel
        self.card = card
        self.__name__ = kernel.__name__
        self.__signature__ = inspect.signature(kernel)

    def __repr__(self) -> str:
        return f"<model {self.__name__}: {self.card.equation}>"

    def __reduce__(self) -> str:
        return self.__name__  # pickled by name, as a function is, so that it can be sent to a process pool

    def __call__(self, **arguments: Any) -> Quantity:
        try:
            self.__signature__.bind(**arguments)
        except TypeError as error:
            raise TypeError(f"{self.__name__}() {error}; it takes {', '.join(self.card.arguments)}") from None
        numbers = read_all(arguments)
        self._check_together(numbers)
        for name, (low, high) in self.card.ranges.items():
            self._warn_outside(name, numbers[name], low, high)
        with np.errstate(all="ignore"):  # what is not finite is an error two lines on
            value = self.si(**numbers)
        try:
            check(self.card.returns, value, result=True)
        except DomainError as error:
            shown = ", ".join(f"{n}={arguments[n]}" for n in arguments)
            raise ModelError(f"{self.__name__} has no sound value for {shown}: {error}") from None
        return term(self.card.returns).quantity(value if np.ndim(value) else float(value))

    def _check_together(self, numbers: Mapping[str, Any]) -> None:
        try:
            np.broadcast_shapes(*(np.shape(number) for number in numbers.values()))
        except ValueError:
            shapes = ", ".join(f"{name} {np.shape(number)}" for name, number in numbers.items() if np.ndim(number))
            raise DomainError(f"{self.__name__}: the arrays do not fit together: {shapes}") from None
        for name, limit in self.card.at_most.items():
            value, most = np.broadcast_arrays(numbers[name], numbers[limit])
            above = value > most
            if above.any():
                raise DomainError(
                    f"{self.__name__}: {name} = {term(name).show(float(value[above][0]))} is above "
                    f"{limit} = {term(limit).show(float(most[above][0]))}; the equation ends there"
                )

    def _warn_outside(self, name: str, value: Any, low: float, high: float) -> None:
        array = np.asarray(value)
        outside = (array < low) | (array > high)
        if outside.any():
            word = term(name)
            first = float(array[outside].flat[0]) if array.ndim else float(value)
            warnings.warn(
                f"{self.__name__}: {name} = {word.show(first)} is outside {word.show(low)} to {word.show(high)}, "
                f"the range stated for it ({self.card.source}, {self.card.locator})",
                OutsideSourceRange,
                stacklevel=3,
            )

    def direction(self, name: str) -> Effect:
        """Whether the result rises ("lengthens"), falls ("shortens") or neither with an argument."""
        if name in self.card.rises_with:
            return "lengthens"
        if name in self.card.falls_with:
            return "shortens"
        return "mixed"


def model(
    *,
    returns: str,
    equation: str,
    source: str,
    locator: str,
    ranges: Mapping[str, tuple[float, float]] | None = None,
    assumptions: tuple[str, ...] = (),
    opposes: tuple[str, ...] = (),
    rises_with: tuple[str, ...] = (),
    falls_with: tuple[str, ...] = (),
    mixed: tuple[str, ...] = (),
    at_most: Mapping[str, str] | None = None,
) -> Callable[[Callable[..., Any]], Model]:
    """Register a kernel as a published model.

    The direction of each argument follows from the vocabulary (what shortens a life must not
    raise a capacity); ``opposes`` names the arguments that work the other way inside this one
    model, ``rises_with``/``falls_with`` settle words the vocabulary calls mixed, and ``mixed``
    those without a direction here. Property tests hold every model to what is declared.
    ``at_most`` names arguments that another one bounds (a partial pressure, by saturation).
    """

    def register(kernel: Callable[..., Any]) -> Model:
        arguments = tuple(inspect.signature(kernel).parameters)
        for name in (*arguments, returns):
            if name not in VOCABULARY:
                raise KeyError(f"{kernel.__name__}: {name!r} is not in the vocabulary")
        limits = dict(at_most or {})
        for name in (*opposes, *rises_with, *falls_with, *mixed, *(ranges or {}), *limits, *limits.values()):
            if name not in arguments:
                raise KeyError(f"{kernel.__name__}: {name!r} is not one of its arguments")
        known = _REGISTRY.get(kernel.__name__)
        if known is not None and known.__module__ != kernel.__module__:
            raise KeyError(f"{kernel.__name__}: {known.__module__} already has a model of this name")
        up, down = list(rises_with), list(falls_with)
        result = term(returns).effect
        for name in arguments:
            effect = term(name).effect
            if name in up or name in down or name in mixed or "mixed" in (effect, result):
                continue
            (up if (effect == result) != (name in opposes) else down).append(name)
        first_line = (kernel.__doc__ or "").strip().partition("\n")[0].rstrip(".")
        made = Model(
            kernel,
            Card(
                kernel.__name__, first_line, equation, arguments, returns, source, locator, dict(ranges or {}),
                assumptions, tuple(up), tuple(down), mixed, limits,
            ),
        )  # fmt: skip
        _REGISTRY[kernel.__name__] = made
        return made

    return register


def all_models() -> dict[str, Model]:
    """Every model registered so far, by name."""
    return dict(_REGISTRY)


def mixture_model(
    *, returns: str, equation: str, source: str, locator: str, assumptions: tuple[str, ...] = ()
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a model of several vapours its card.

    Such a model takes arrays with the vapours along the last axis, which the door of `model` cannot read: it
    stays a plain function of SI floats, with ``.card``.
    """

    def register(kernel: Callable[..., Any]) -> Callable[..., Any]:
        first_line = (kernel.__doc__ or "").strip().partition("\n")[0].rstrip(".")
        arguments = tuple(inspect.signature(kernel).parameters)
        card = Card(kernel.__name__, first_line, equation, arguments, returns, source, locator, assumptions=assumptions)
        kernel.card = card  # type: ignore[attr-defined]
        _OF_MIXTURES[kernel.__name__] = kernel
        return kernel

    return register


def all_mixture_models() -> dict[str, Any]:
    """Every model of several vapours registered so far, by name."""
    return dict(_OF_MIXTURES)
