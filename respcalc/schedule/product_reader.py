"""The tables [[product]] and [[task.product]] of a plan: what a liquid is made of, and its total in the air."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from respcalc.core.errors import DomainError, MissingProperty, RespcalcError, UnknownVapour
from respcalc.core.sources import source
from respcalc.core.vocabulary import term
from respcalc.schedule.plan import SiteRules
from respcalc.schedule.toml_fields import Fields
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace import (
    STRICTEST,
    Air,
    ChosenLimits,
    ForbiddenParts,
    Inhaled,
    Jurisdiction,
    Product,
    ProductInAir,
    choose_limits,
    describe_product,
)

__all__ = [
    "NO_AIR_LEVELS",
    "ForbiddenProduct",
    "TaskProduct",
    "product_of_a_cut",
    "read_product",
    "read_task_product",
    "share_of_a_liquid",
]

NO_AIR_LEVELS = (
    "the composition of a product, such as a safety data sheet gives it, is never a concentration in the air: "
    + source("osha_1910_134").citation.partition(",")[0]
    + " (d)(1)(iii) asks for a reasonable estimate of the exposure, and without one the air counts as immediately "
    "dangerous to life or health"
)

_PARTS_EXAMPLE = '{ "toluene" = "60 %", "acetone" = "40 %" }'
_REMAINDER_EXAMPLE = '["not volatile", "resin, supplier\'s letter"]'
_SURROGATES_EXAMPLE = '{ "ligroine" = { "n-heptane" = "60 %", "methylcyclohexane" = "40 %" } }'
_LIMITS_EXAMPLE = '{ "toluene" = ["20 ppm", "site limit of 2026"] }'
_PERCENT = re.compile(r"\s*(\d+(?:\.\d+)?)\s*%\s*")
_NO_TRACE = 1.0  # per cent of the air: above every use limit of a cartridge, so most likely a share of the liquid
_SLACK = 1 + 1e-9


@dataclass(frozen=True)
class TaskProduct:
    """One [[task.product]]: its vapours in the air, and each with its limits, in the same order."""

    there: ProductInAir
    inhaled: tuple[Inhaled, ...]
    average: float | None = None  # shift average of the total, a volume fraction

    @property
    def index(self) -> float:
        """Bound on the sum of concentration over limit."""
        limit = term("exposure_limit").quantity
        return self.there.highest_index([limit(p.limits.least.value.value) for p in self.inhaled])


def share_of_a_liquid(key: str, amount: Any) -> None:
    """Refuse a percentage that no cartridge is for: it is the share of a liquid.

    Raises
    ------
    DomainError
        One per cent of the air or more.
    """
    found = _PERCENT.fullmatch(amount) if isinstance(amount, str) else None
    if found and float(found[1]) >= _NO_TRACE:
        raise DomainError(
            f"{key} = {amount!r} would be {float(found[1]):g} % of the air. If it is a share of a liquid: "
            f"{NO_AIR_LEVELS}. Describe the liquid under [[product]], and give the total that was measured or "
            'estimated in the air under [[task.product]], for example total = "150 ppm"'
        )


def product_of_a_cut(error: UnknownVapour, name: str) -> str:
    """The refusal of a name, with the way through a product where the name is a petroleum cut."""
    if "is a product, not one substance" not in str(error):
        return str(error)
    return (
        f"{error} In a plan: describe it under [[product]], with what stands for it, for example "
        f'parts = {{ "{name}" = "100 %" }} and surrogates = {{ "{name}" = {{ "<vapour>" = "<share> %", ... }} }}, and '
        "give its total in the air under [[task.product]]"
    )


@dataclass(frozen=True)
class ForbiddenProduct:
    """A product that no organic-vapour cartridge may be used against, with the reasons."""

    name: str
    reasons: tuple[str, ...]


def read_product(fields: Fields, own: Mapping[str, Any]) -> Product | ForbiddenProduct | None:
    """Read one [[product]].

    Parameters
    ----------
    fields
        The table; faults are added to it.
    own
        The vapours that the plan describes, by name; a faulty one is its list of faults.

    Returns
    -------
    Product or ForbiddenProduct
        None if the table has a fault.
    """
    name = fields.text("name", required=True, example='"thinner A"')
    data_from = fields.text("data_from", required=True, example='"supplier\'s letter of May 2025"')
    basis = fields.text("basis", required=True, example='"mass" (or "volume", or "mole": what the shares are of)')
    estimated = fields.flag("estimate_missing")

    def who(key: str) -> str | Vapour:
        return _vapour_of(fields, key, own, estimated)

    parts = _table(fields, "parts", _PARTS_EXAMPLE, required=True)
    given = _table(fields, "surrogates", _SURROGATES_EXAMPLE)
    remainder = fields.raw("remainder")
    fields.done()
    if remainder is not None and not (_plain(fields, "remainder", remainder) and _is_remainder(remainder)):
        fields.faults.append(
            f"{fields.where}: remainder = {remainder!r:.80} must be what it is and how that is known, for example "
            f'remainder = {_REMAINDER_EXAMPLE}, or remainder = "unknown"'
        )
    if fields.faults:
        return None
    if isinstance(remainder, list):
        remainder = (who(remainder[0]), remainder[1])
    composition = {who(k): v for k, v in parts.items()}
    surrogates = {k: {who(i): s for i, s in v.items()} if isinstance(v, dict) else v for k, v in given.items()}
    if fields.faults:
        return None

    def described() -> Product | ForbiddenProduct:
        try:
            return describe_product(
                name,
                list(composition.items()),
                data_from=data_from,
                basis=basis,  # type: ignore[arg-type]  # it is checked there
                remainder=remainder,
                surrogates=surrogates or None,
            )
        except ForbiddenParts as error:
            return ForbiddenProduct(name, tuple(str(error).splitlines()))

    made: Product | ForbiddenProduct | None = _attempt(fields, described)
    return made


def _is_remainder(value: Any) -> bool:
    return isinstance(value, str) or (
        isinstance(value, list) and len(value) == 2 and all(isinstance(item, str) for item in value)
    )


def _table(fields: Fields, key: str, example: str, *, required: bool = False) -> dict[str, Any]:
    value = fields.raw(key, required=required, example=example)
    if value is None:
        return {}
    if not isinstance(value, dict) or not (value or not required):
        fields.faults.append(f"{fields.where}: {key} = {value!r:.80} must be a table, for example {key} = {example}")
        return {}
    return value if _plain(fields, key, value) else {}


def _plain(fields: Fields, key: str, value: Any) -> bool:
    """Whether names and values inside a table or list can be printed and computed with; a fault if not."""
    before = len(fields.faults)
    inside = Fields(f"{fields.where}, {key}", {"value": value})
    for number, item in enumerate(_leaves(value)):
        inside.values = {f"entry {number}": item}
        if isinstance(item, str):
            inside.text(f"entry {number}")
        else:
            inside.single(f"entry {number}")
    fields.faults += inside.faults
    return len(fields.faults) == before


def _leaves(value: Any) -> list[Any]:
    """Every name and every value inside."""
    if isinstance(value, dict):
        return [leaf for k, v in value.items() for leaf in (k, *_leaves(v))]
    if isinstance(value, list):
        return [leaf for v in value for leaf in _leaves(v)]
    return [value]


def _vapour_of(fields: Fields, name: str, own: Mapping[str, Any], estimated: bool) -> str | Vapour:
    """A vapour of the plan's own, or one with its gaps estimated; any other name is left to be looked up."""
    found = own.get(name)
    if isinstance(found, list):
        fields.faults += found
        return name
    if isinstance(found, Vapour):
        return found
    if estimated:
        with suppress(RespcalcError):
            return find_vapour(name, estimate_missing=True)
    return name


def _attempt(fields: Fields, action: Callable[[], Any]) -> Any:
    """Run *action*; each line of what it raises on purpose becomes a fault, written as it is in a plan."""
    try:
        return action()
    except RespcalcError as error:
        fields.faults += [f"{fields.where}: {_as_in_a_plan(line)}" for line in str(error).splitlines()]
    return None


def _as_in_a_plan(text: str) -> str:
    """Examples to paste that are spelled as in a script, spelled as in a plan."""
    text = re.sub(r"\{\".*\}", lambda table: table[0].replace('": ', '" = '), text)
    text = re.sub(r"\((\"[^\"()]+\", \"[^\"()]+\")\)", r"[\1]", text)
    return re.sub(r"\b(\w+)=(?=[\"\[{])", r"\1 = ", text)


def read_task_product(
    entry: Fields,
    products: Mapping[str, Any],
    rules: SiteRules,
    air: Air | None,
    where: Jurisdiction | None = None,
) -> tuple[str, TaskProduct | None, bool]:
    """Read one [[task.product]].

    Parameters
    ----------
    entry
        The table; faults are added to it.
    products
        The products of the plan, by name; a faulty one is its list of faults.
    rules
        The site's rules.
    air
        Of the task; None if it could not be read.
    where
        Whose limits hold; None if the plan names no jurisdiction.

    Returns
    -------
    tuple
        Name, the product in the air (None with a fault, or without a total), whether the total is not known.
    """
    name = entry.text("name", required=True, example='"thinner A" (of a [[product]])')
    total = entry.single(
        "total", required=True, example='"150 ppm": all its vapours together, the highest that occurs in the air; '
        f"{NO_AIR_LEVELS}. Where nobody knows it, write total = \"unknown\""
    )  # fmt: skip
    average = entry.single("average")
    based_on = entry.text("based_on", required=True, example='"4 personal samples, March 2026; highest taken"')
    liquid = {k: v for k in ("liquid_temperature", "least_left") if (v := entry.single(k)) is not None}
    limits_from = entry.text("limits_from") or rules.limits_from or STRICTEST
    own_limits = _table(entry, "exposure_limits", _LIMITS_EXAMPLE)
    entry.done()
    product = _find_product(entry, name, products) if name else None
    if isinstance(total, str) and total.strip().lower() in ("unknown", "not known", "?"):
        return name, None, True
    if product is None or air is None or entry.faults:
        return name, None, False
    limits = _limits(entry, product, limits_from, own_limits, where)

    def in_air(key: str, amount: Any) -> ProductInAir:
        share_of_a_liquid(key, amount)
        return product.in_air(amount, air=air, based_on=based_on, **liquid)

    there: ProductInAir | None = _attempt(entry, lambda: in_air("total", total))
    mean: ProductInAir | None = None
    if average is not None and there is not None:
        before = len(entry.faults)
        mean = _attempt(entry, lambda: in_air("average", average))
        entry.faults[before:] = [f.replace(": total = ", ": average = ") for f in entry.faults[before:]]
    if there is not None:
        _attempt(entry, lambda: _fit(there, mean))
    if entry.faults or there is None or limits is None:
        return name, None, False
    means = [None] * len(limits) if mean is None else [part.highest for part in mean.parts]
    inhaled = tuple(
        Inhaled(
            part.vapour,
            part.highest,
            chosen,
            None if m is None else min(m, part.highest),
            jurisdiction="" if where is None else where.name,
        )
        for part, chosen, m in zip(there.parts, limits, means, strict=True)
    )
    return name, TaskProduct(there, inhaled, None if mean is None else mean.total.value), False


def _fit(there: ProductInAir, mean: ProductInAir | None) -> None:
    """Refuse an average above the highest, and a total that the air cannot hold where the liquid is warmer."""
    if mean is not None and mean.total.value > there.total.value * _SLACK:
        raise DomainError(
            f"average = {mean.total.printed} is above total = {there.total.printed}; total is the highest that occurs"
        )
    held = math.fsum(part.highest for part in there.parts)
    if there.total.value > held * _SLACK:
        raise DomainError(
            f"total = {there.total.printed} is more of these vapours than air of {there.air.temperature.printed} can "
            f"hold ({term('volume_fraction').in_printed_unit(held):.4g} ppm); check the value and its unit, and "
            "whether there is mist, which a vapour cartridge does not stop"
        )


def _find_product(entry: Fields, name: str, products: Mapping[str, Any]) -> Product | None:
    if name not in products:
        known = ", ".join(products) or "none"
        entry.faults.append(
            f"{entry.where}: product {name!r} is not among the [[product]] entries ({known}); one vapour by its name "
            "goes under [[task.vapour]]"
        )
        return None
    found = products[name]
    if isinstance(found, list):
        entry.faults += found
        return None
    if isinstance(found, ForbiddenProduct):
        return None
    product: Product = found
    return product


def _limits(
    entry: Fields, product: Product, limits_from: str, own_limits: Mapping[str, Any], where: Jurisdiction | None
) -> tuple[ChosenLimits, ...] | None:
    """Limits of each vapour, in their order; every one that is missing is a fault of its own."""
    own: dict[str, tuple[Any, str, Any]] = {}
    for who, pair in own_limits.items():
        if not (isinstance(pair, list) and len(pair) in (2, 3) and isinstance(pair[1], str)):
            entry.faults.append(
                f"{entry.where}: exposure_limits, {who} = {pair!r:.80} must be a limit and whose it is, for example "
                f"exposure_limits = {_LIMITS_EXAMPLE}; a third entry is the limit over 15 minutes"
            )
            continue
        vapour = _among(product, who)
        if vapour is None:
            there = ", ".join(v.name for v in product.vapours)
            entry.faults.append(f"{entry.where}: exposure_limits: {who!r} is no vapour of {product.name} ({there})")
        elif vapour.name in own:
            entry.faults.append(f"{entry.where}: exposure_limits: {vapour.name} is there twice; give it one limit")
        else:
            own[vapour.name] = (pair[0], pair[1], pair[2] if len(pair) == 3 else None)
    made = []
    for vapour in product.vapours:
        limit, whose, quarter = own.get(vapour.name, (None, None, None))
        try:
            made.append(
                choose_limits(
                    vapour,
                    limits_from=limits_from if limit is None else STRICTEST,
                    own_limit=limit,
                    own_authority=whose,
                    own_short_limit=quarter,
                    jurisdiction=where,
                )
            )
        except MissingProperty:
            entry.faults.append(
                f"{entry.where}: no exposure limit is known here for {vapour.name}; give one and say whose it is: "
                f'exposure_limits = {{ "{vapour.name}" = ["50 ppm", "site limit of 2026"] }}'
            )
        except RespcalcError as error:
            entry.faults.append(
                f"{entry.where}: {vapour.name}: {error} (in a product: exposure_limits = {_LIMITS_EXAMPLE})"
            )
    return tuple(made) if len(made) == len(product.vapours) else None


def _among(product: Product, who: str) -> Vapour | None:
    """The vapour of the product that a name, synonym or CAS number means."""
    asked = " ".join(who.split()).casefold()
    cas = ""
    with suppress(UnknownVapour):
        cas = find_vapour(who).cas
    return next((v for v in product.vapours if asked in (v.name.casefold(), v.cas) or (cas and cas == v.cas)), None)
