"""What can go wrong, by name. Every message says what to do about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = [
    "CartridgeError",
    "DomainError",
    "MissingProperty",
    "ModelError",
    "OutsideSourceRange",
    "PlanError",
    "RespcalcError",
    "TableError",
    "UnitsError",
    "UnknownVapour",
]


class RespcalcError(Exception):
    """Base of every error that respcalc raises on purpose."""


class DomainError(RespcalcError, ValueError):
    """A value is not physical, or not possible for the field it was given for."""


class UnitsError(RespcalcError, ValueError):
    """One or more arguments lack a unit, or carry one of the wrong kind.

    ``problems`` holds one line for each bad argument; the text lists them all.
    """

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))

    def __reduce__(self) -> tuple[type[UnitsError], tuple[tuple[str, ...]]]:
        return type(self), (self.problems,)


class UnknownVapour(RespcalcError, LookupError):
    """A name or CAS number that is unknown, ambiguous, or a product instead of one substance.

    ``suggestions`` holds names that do resolve. ``refused`` is true for a substance that is known and that
    no organic-vapour cartridge may be planned for.
    """

    def __init__(self, message: str, suggestions: Iterable[str] = (), refused: bool = False) -> None:
        self.message = message
        self.suggestions = tuple(suggestions)
        self.refused = refused
        super().__init__(message)

    def __reduce__(self) -> tuple[type[UnknownVapour], tuple[str, tuple[str, ...], bool]]:
        return type(self), (self.message, self.suggestions, self.refused)


class MissingProperty(RespcalcError, LookupError):
    """A physical property or limit that no source here gives; the text says how to supply it."""


class CartridgeError(RespcalcError, ValueError):
    """The description of a cartridge contradicts itself or is not enough."""


class ModelError(RespcalcError, ArithmeticError):
    """The mathematics of a model failed for these inputs (never a silent NaN)."""


class TableError(RespcalcError, ValueError):
    """A table cannot be read; ``problems`` names each bad cell by row and column."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))

    def __reduce__(self) -> tuple[type[TableError], tuple[tuple[str, ...]]]:
        return type(self), (self.problems,)


class PlanError(RespcalcError, ValueError):
    """A plan file is wrong; ``problems`` lists every fault that was found, not only the first."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))

    def __reduce__(self) -> tuple[type[PlanError], tuple[tuple[str, ...]]]:
        return type(self), (self.problems,)


class OutsideSourceRange(UserWarning):
    """An input lies outside the range that the model's source states; the value is still computed."""
