"""Reading the composition of a product: strict about what is in it, and about what is not said."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, RespcalcError, UnknownVapour
from respcalc.core.sources import source
from respcalc.core.vocabulary import read, single
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace.permission.jurisdictions import HOME
from respcalc.workplace.permission.substance_rules import rules_for
from respcalc.workplace.products.product import Ingredient, Product, ShareBasis, read_basis

__all__ = ["ForbiddenParts", "describe_product"]

_CLOSING = 0.005  # shares that sum to 100 % within this are rescaled
_MOST_UNKNOWN = 0.10  # more than this is no remainder, but an unknown product
_ROUNDING = 1e-9
_GAS_BELOW = 293.15  # as for permission: boils below 20 degC

_UNKNOWN = ("unknown", "not known", "?")
_NOT_VOLATILE = ("not volatile", "non-volatile", "non volatile", "nonvolatile")
_WATER = ("water", "h2o", "7732-18-5")
_ENDS_REFUSED = "an atmosphere-supplying respirator is needed, or another product"
_SURROGATES_EXAMPLE = 'surrogates={"ligroine": {"n-heptane": "60 %", "methylcyclohexane": "40 %"}}'
_REMAINDER_EXAMPLE = '("n-heptane", "supplier\'s letter of May 2025") or ("not volatile", "resin, supplier\'s letter")'


class ForbiddenParts(DomainError):
    """A product, well described, of which a part may not be met with organic-vapour cartridges at all."""


def describe_product(
    name: str,
    parts: Mapping[Any, Any] | Iterable[tuple[Any, Any]],
    *,
    data_from: str,
    basis: ShareBasis = "mass",
    remainder: Any = None,
    surrogates: Mapping[str, Any] | None = None,
) -> Product:
    """Describe a liquid product by its composition.

    Parameters
    ----------
    name
        As it is to be printed.
    parts
        Name, CAS number or `Vapour` of each part and its share of the liquid [%]: a mapping or pairs. Parts
        named twice are added up. Ranges are refused.
    data_from
        Where the composition is from, as it is to be printed.
    basis
        What the shares are of: ``"mass"``, ``"volume"`` (at 20 degC) or ``"mole"``.
    remainder
        What is missing to 100 %: a pair of name and reason; the name is a vapour's, ``"not volatile"`` for
        what gives no vapour, or ``"unknown"``, which needs no reason. An unknown remainder counts as whichever
        named vapour it is worst for; more than 10 % of it is refused.
    surrogates
        What stands for a petroleum cut or another part that is no single substance: the part's name, and the
        composition that stands for it, on the same basis.

    Returns
    -------
    Product

    Raises
    ------
    UnknownVapour
        Names that are not known, or are no single substance.
    DomainError
        All other faults, one a line: shares that do not close, ranges, gases, substances for which
        cartridges are not allowed.

    Examples
    --------
    >>> thinner = describe_product("thinner", {"toluene": "60 %", "acetone": "30 %", "ligroine": "10 %"},
    ...     data_from="supplier's letter of May 2025",
    ...     surrogates={"ligroine": {"n-heptane": "60 %", "methylcyclohexane": "40 %"}})
    >>> {vapour: round(share, 2) for vapour, share in thinner.vapour_shares("20 degC").items()}
    {'acetone': 0.84, 'methylcyclohexane': 0.01, 'n-heptane': 0.02, 'toluene': 0.13}
    """
    return _Reading(name, data_from, basis, surrogates).product(parts, remainder)


class _Reading:
    """One reading of a composition: every fault is collected before any is raised."""

    def __init__(self, name: Any, data_from: Any, basis: Any, surrogates: Any) -> None:
        self.faults: list[str] = []
        self.forbidding: list[str] = []  # those of the faults that are none of the description
        self.unknown_names: list[UnknownVapour] = []
        self.notes: list[str] = []
        for field_name, value, example in (
            ("name", name, '"thinner A"'),
            ("data_from", data_from, '"supplier\'s letter of May 2025"'),
        ):
            if not isinstance(value, str) or not value.strip():
                self.faults.append(f"{field_name} = {value!r}: text is needed, for example {field_name}={example}")
        self.attempt(lambda: read_basis(basis))
        self.name, self.data_from, self.basis = str(name).strip(), str(data_from).strip(), basis
        self.surrogates: dict[str, Any] = {}
        self.used: set[str] = set()
        if surrogates is not None and not isinstance(surrogates, Mapping):
            self.faults.append(f"surrogates = {surrogates!r}: a mapping is needed, {_SURROGATES_EXAMPLE}")
        else:
            self.surrogates = {_key(k): v for k, v in (surrogates or {}).items()}

    def attempt(self, read_it: Callable[[], Any]) -> Any:
        """Keep what it raises as a fault."""
        try:
            return read_it()
        except UnknownVapour as error:
            self.unknown_names.append(error)
        except RespcalcError as error:
            self.faults.append(str(error))
        return None

    def product(self, parts: Any, remainder: Any) -> Product:
        shared: list[tuple[Vapour, float]] = []
        amounts = self.amounts(parts, "parts")
        for who, share in amounts:
            shared += [(vapour, share * of) for vapour, of in self.vapours_of(who)]
        rest = self.rest(remainder)
        self.faults += [
            f"surrogates: {key!r} is not among the parts; write it as the part is written"
            for key in sorted(set(self.surrogates) - self.used)
        ]
        self.stop()
        missing = self.close(math.fsum(share for _, share in amounts), rest is not None)
        scale = 1.0 / math.fsum(share for _, share in amounts) if missing == 0 else 1.0
        shared = [(vapour, share * scale) for vapour, share in shared]
        not_volatile = unknown = 0.0
        if missing and rest is not None:
            kind, standing, text = rest
            if kind == "vapour":
                shared += [(vapour, missing * of) for vapour, of in standing]
                self.notes.append(f"remainder of {_percent(missing)}: {text}")
            elif kind == "not volatile":
                not_volatile = missing
                self.notes.append(f"remainder of {_percent(missing)} gives no vapour: {text}")
            else:
                unknown = self.unknown(missing, text)
        elif rest is not None:
            self.notes.append("the parts close to 100 % and leave nothing to the remainder that was stated")
        merged = self.merged(shared)
        self.stop()
        return Product(
            self.name, self.basis,
            tuple(Ingredient(v, Datum("liquid_share", share, "given", note=f"by {self.basis}")) for v, share in merged),
            self.data_from, not_volatile, unknown, tuple(self.notes),
        )  # fmt: skip

    def amounts(self, parts: Any, where: str) -> list[tuple[Any, float]]:
        """Read pairs of name and share; ranges are told with what they sum to."""
        listed = isinstance(parts, Iterable) and not isinstance(parts, (str, bytes))
        pairs = list(parts.items() if isinstance(parts, Mapping) else parts) if listed else []
        if not pairs or not all(isinstance(p, (list, tuple)) and len(p) == 2 for p in pairs):
            self.faults.append(
                f"{where} = {parts!r:.200}: pairs of vapour and share are needed, for example "
                '{"toluene": "60 %", "acetone": "40 %"}'
            )
            return []
        found: list[tuple[Any, float]] = []
        spans: list[tuple[float, float]] = []
        ranged: list[str] = []
        for who, given in pairs:
            label = who.name if isinstance(who, Vapour) else str(who)
            span = _range(given)
            if span is not None:
                ranged.append(f"{label} {given}")
                spans.append(span)
                found.append((who, span[1]))
                continue
            share = self.attempt(
                lambda g=given, w=label: single(w, read("liquid_share", g, as_argument=f"share of {w}"))  # type: ignore[misc]
            )
            # a part whose share is at fault is kept, so that its name is looked at too
            found.append((who, 1.0 if share is None else share))
            spans.append((found[-1][1],) * 2)
        if ranged:
            low, high = (math.fsum(s[end] for s in spans) for end in (0, 1))
            self.faults.append(
                f"{where}: ranges are no composition ({'; '.join(ranged)}). The lowest shares sum to {_percent(low)} "
                f"and the highest to {_percent(high)}, so that very different liquids fit, and midpoints scaled to "
                "100 % would hide it. Ask the supplier for the composition, or state one composition within the ranges "
                "that sums to 100 %, and say in data_from who chose it and why"
            )
        return found

    def vapours_of(self, who: Any, depth: int = 0) -> list[tuple[Vapour, float]]:
        """Vapours of one part, with their shares of it."""
        if isinstance(who, Vapour):
            return self.fit(who)
        key = _key(who)
        for rule in rules_for(key, jurisdiction=HOME):
            if rule.forbids:
                self.forbid(_forbidden(rule.substance, rule.text))
                self.used.add(key)
                return []
        try:
            vapour = find_vapour(who)
        except UnknownVapour as error:
            self.used.add(key)
            if key in self.surrogates and depth == 0 and not _never_a_surrogate(error):
                return self.stand_in(str(who).strip(), self.surrogates[key])
            self.unknown_names.append(_with_a_way_out(error, str(who).strip()))
            return []
        if key in self.surrogates and depth == 0:
            self.used.add(key)
            self.faults.append(f"surrogates: {who!r} is the substance {vapour.name}, and nothing may stand for it")
        return self.fit(vapour)

    def stand_in(self, cut: str, composition: Any) -> list[tuple[Vapour, float]]:
        """Vapours that are declared to stand for a cut."""
        where = f"surrogates of {cut}"
        amounts = self.amounts(composition, where)
        whole = math.fsum(share for _, share in amounts)
        if amounts and abs(whole - 1.0) > _CLOSING * (1 + _ROUNDING):
            self.faults.append(f"{where}: the shares sum to {_percent(whole)}; they must sum to 100 %")
        found = [(vapour, share / whole) for who, share in amounts for vapour, _ in self.vapours_of(who, depth=1)]
        in_words = sorted(f"{vapour.name} {_percent(share)}" for vapour, share in found)
        self.note(
            f"{cut} is no single substance; by the user's choice {', '.join(in_words)} (by {self.basis}) stands for it"
        )
        return found

    def forbid(self, text: str) -> None:
        """Keep a reason why no cartridge may be used against the product, whatever else holds."""
        self.faults.append(text)
        self.forbidding.append(text)

    def note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)
            self.notes.sort()

    def fit(self, vapour: Vapour) -> list[tuple[Vapour, float]]:
        """Keep a vapour that a cartridge may be planned for; say why another is not."""
        rules = rules_for(vapour.cas, jurisdiction=HOME)
        forbidding = [rule for rule in rules if rule.forbids]
        if forbidding:
            self.forbid(_forbidden(vapour.name, forbidding[0].text))
        elif vapour.not_physically_adsorbed:
            self.forbid(f"{vapour.name}: {vapour.not_physically_adsorbed}; {_ENDS_REFUSED}")
        elif vapour.boiling_point.value < _GAS_BELOW and not rules:
            self.forbid(
                f"{vapour.name} boils at {vapour.boiling_point.printed}: a gas at room temperature is not usefully "
                "held by an organic-vapour cartridge, whatever its share "
                f"({source('common_practice').citation.lower()}, no source); {_ENDS_REFUSED}"
            )
        return [(vapour, 1.0)]

    def rest(self, remainder: Any) -> tuple[str, list[tuple[Vapour, float]], str] | None:
        """What takes the part that is missing: kind, vapours, and the words for it."""
        if remainder is None:
            return None
        pair = isinstance(remainder, (list, tuple)) and len(remainder) == 2
        who, reason = remainder if pair else (remainder, "")
        spelled = who.strip().casefold() if isinstance(who, str) else ""
        reason = reason.strip() if isinstance(reason, str) else ""
        if spelled in _UNKNOWN:
            return "unknown", [], reason
        if not reason or not isinstance(who, (str, Vapour)):
            self.faults.append(
                f"remainder = {remainder!r}: a pair of what it is and how that is known is needed, for example "
                f'{_REMAINDER_EXAMPLE}; "unknown" needs no reason'
            )
            return None
        if spelled in _NOT_VOLATILE:
            return "not volatile", [], reason
        label = who.name if isinstance(who, Vapour) else who.strip()
        return "vapour", self.vapours_of(who), f"{label} ({reason})"

    def close(self, whole: float, has_rest: bool) -> float:
        """Share that is missing to 100 %: 0 where the parts close, and are to be rescaled."""
        missing = 1.0 - whole
        if missing > _ROUNDING and has_rest:
            return missing
        if abs(missing) <= _CLOSING * (1 + _ROUNDING):
            if abs(missing) > _ROUNDING:
                self.notes.append(f"the parts sum to {_percent(whole)} and were rescaled to 100 %")
            return 0.0
        if missing < 0:
            raise DomainError(
                f"parts of {self.name}: they sum to {_percent(whole)} by {self.basis}, more than 100 %; check the "
                "shares, their basis, and whether one of them is a highest value instead of a share"
            )
        raise DomainError(
            f"parts of {self.name}: they sum to {_percent(whole)} by {self.basis}, and {_percent(missing)} is missing. "
            f"Add what is missing, or say what it is: remainder={_REMAINDER_EXAMPLE}, or "
            f'remainder="unknown" for up to {_percent(_MOST_UNKNOWN)}'
        )

    def unknown(self, missing: float, reason: str) -> float:
        if missing > _MOST_UNKNOWN * (1 + _ROUNDING):
            raise DomainError(
                f"remainder of {self.name}: {_percent(missing)} is unknown; up to {_percent(_MOST_UNKNOWN)} can be "
                "counted as the worst vapour of the product, more is an unknown product. Ask the supplier, or name the "
                'worst credible vapour yourself: remainder=("acetone", "lightest solvent of this trade, not disclosed")'
            )
        said = f" ({reason})" if reason else ""
        self.notes.append(
            f"remainder of {_percent(missing)} is unknown{said}: it counts as each vapour of the product in turn, so "
            "that the one that breaks through first has it; a substance that is worse than all of them, or has a lower "
            "limit, would not be covered"
        )
        return missing

    def merged(self, shared: list[tuple[Vapour, float]]) -> list[tuple[Vapour, float]]:
        """One entry a vapour, in the order of the names."""
        groups: dict[str, list[tuple[Vapour, float]]] = {}
        for vapour, share in shared:
            groups.setdefault(vapour.cas or vapour.name.casefold(), []).append((vapour, share))
        found = []
        for group in groups.values():
            vapour = group[0][0]
            if any(other != vapour for other, _ in group):
                self.faults.append(
                    f"parts: {vapour.name} (CAS {vapour.cas or 'not given'}) is described in two ways; name it in one"
                )
            whole = math.fsum(share for _, share in group)
            if len(group) > 1:
                each = " + ".join(_percent(s) for s in sorted((share for _, share in group), reverse=True))
                self.notes.append(
                    f"{vapour.name} is there {len(group)} times and counts once: {each} = {_percent(whole)}"
                )
            found.append((vapour, whole))
        names = [vapour.name.casefold() for vapour, _ in found]
        for twice in sorted({n for n in names if names.count(n) > 1}):
            self.faults.append(f"parts: two different vapours are called {twice!r}; give each a name of its own")
        self.notes.sort()
        return sorted(found, key=lambda pair: pair[0].name.casefold())

    def stop(self) -> None:
        """Raise what was found: as unknown names where it is nothing else."""
        told = list(dict.fromkeys([*self.faults, *(str(e) for e in self.unknown_names)]))
        if self.unknown_names and not self.faults:
            raise UnknownVapour("\n".join(told), [s for e in self.unknown_names for s in e.suggestions])
        if told and set(told) <= set(self.forbidding):
            raise ForbiddenParts("\n".join(told))
        if told:
            raise DomainError("\n".join(told))


_NUMBER = r"(\d+(?:\.\d+)?)\s*(?:%|per ?cent)?"
_SPAN = re.compile(rf"\s*{_NUMBER}\s*(?:-|–|—|−|to|\.\.+|…)\s*{_NUMBER}\s*(?:%|per ?cent)?\s*", re.I)
_BOUND = re.compile(
    rf"\s*(<=?|≤|up to|less than|below|under|at most|max\.?|>=?|≥|more than|over|at least|min\.?)\s*{_NUMBER}\s*", re.I
)


def _range(given: Any) -> tuple[float, float] | None:
    """Lowest and highest share of a text such as ``"30-60 %"`` or ``"< 5 %"``; None for one value."""
    if not isinstance(given, str):
        return None
    if found := _SPAN.fullmatch(given):
        low, high = float(found[1]), float(found[2])
    elif found := _BOUND.fullmatch(given):
        below = found[1].casefold() in (
            "<",
            "<=",
            "≤",
            "up to",
            "less than",
            "below",
            "under",
            "at most",
            "max",
            "max.",
        )
        low, high = (0.0, float(found[2])) if below else (float(found[2]), 100.0)
    else:
        return None
    scale = 1.0 if "%" not in given and "cent" not in given.casefold() and high <= 1 else 100.0
    return low / scale, high / scale


def _key(who: Any) -> str:
    return " ".join(str(who).split()).casefold()


def _percent(share: float) -> str:
    return f"{100 * share:.4g} %"


def _forbidden(name: str, rule: str) -> str:
    return f"{name}: organic-vapour cartridges are not permitted, whatever its share; {rule}"


def _never_a_surrogate(error: UnknownVapour) -> bool:
    """Known substances that carbon does not hold, and mistyped numbers, are not to be declared away."""
    return error.refused or any(text in str(error) for text in ("mistyped", "written as a CAS number"))


def _with_a_way_out(error: UnknownVapour, who: str) -> UnknownVapour:
    """Add what can be done in a product."""
    if _key(who) in _WATER:
        way = (
            "Raoult's law is far off in water, from which many organic vapours escape much more readily: measure the "
            "vapours themselves, or describe the organic part alone and say so in data_from"
        )
    elif _never_a_surrogate(error):
        return error
    else:
        way = (
            f'declare what stands for it, surrogates={{"{who}": {{"<vapour>": "<share> %", ...}}}}; what gives no '
            'vapour is stated as remainder=("not volatile", "<why>")'
        )
    return UnknownVapour(f"{str(error).rstrip('.')}. In a product: {way}", error.suggestions)
