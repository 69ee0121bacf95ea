"""Which substance a name or CAS number means: exactly one of our own list, or a refusal that helps.

General look-ups guess: they turn petroleum ether into benzene and "xylene" into o-xylene. Nothing
here searches a database, reads a formula, or falls back on a similar name.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache

from respcalc.core.errors import UnknownVapour
from respcalc.core.tables import shipped_table
from respcalc.vapours.composition import ATOMIC_WEIGHTS
from respcalc.vapours.water import WaterMixing, read_mixing

__all__ = ["APPROVAL", "Listed", "check_cas", "identify", "known_vapours", "listed"]

APPROVAL = "follow the approval of a cartridge that is made for it and the rules for the substance"
"""What a refusal says of a substance for which other elements exist."""

_HAS_AN_ELEMENT = re.compile(r"\b(?:needs?|bound by) .*cartridge|impregnated carbon")
_CAS = re.compile(r"\d{2,7}-\d{2}-\d")
_FORMULA = re.compile(r"(?:[A-Z][a-z]?\d*)+")
_DASHES = str.maketrans(dict.fromkeys("‐‑‒–—−﹣－", "-") | {"\u00a0": " ", "\u202f": " "})


@dataclass(frozen=True, slots=True)
class Listed:
    """One row of the name table."""

    name: str
    cas: str
    formula: str
    synonyms: tuple[str, ...]
    groups: str
    not_physically_adsorbed: str
    water_mixing: WaterMixing


@cache
def listed() -> dict[str, Listed]:
    """Every substance of the list, by CAS number."""
    return {
        row["cas"]: Listed(
            row["name"],
            row["cas"],
            row["formula"],
            tuple(s for s in row["synonyms"].split("|") if s),
            row["groups"],
            row["not_physically_adsorbed"],
            read_mixing(row),
        )
        for row in shipped_table("respcalc.vapours", "names.csv")
    }


def known_vapours() -> list[tuple[str, str]]:
    """Name and CAS number of every vapour that `find_vapour` knows, in the order of the table."""
    return [(item.name, cas) for cas, item in listed().items()]


def key(name: str) -> str:
    """Spelling that two names share when only case, blanks or hyphens differ."""
    text = re.sub(r"\s*([-,()])\s*", r"\1", name.translate(_DASHES).strip().casefold())
    return re.sub(r"[\s-]+", " ", text).strip()


@cache
def _aliases() -> dict[str, str]:
    table: dict[str, str] = {}
    for cas, item in listed().items():
        for name in (item.name, *item.synonyms):
            if table.setdefault(key(name), cas) != cas:
                raise ValueError(f"names.csv: {name!r} names both {table[key(name)]} and {cas}")
    return table


@dataclass(frozen=True, slots=True)
class _Refused:
    why: str  # "ambiguous", "product", "by rule", "not adsorbed"
    choices: tuple[str, ...]
    reason: str


@cache
def _refused() -> dict[str, _Refused]:
    """Names and CAS numbers that are known and refused, from refused_names.csv."""
    table: dict[str, _Refused] = {}
    for row in shipped_table("respcalc.vapours", "refused_names.csv"):
        choices = tuple(c for c in row["choices"].split("|") if c)
        for name in row["names"].split("|"):
            if key(name) in table:
                raise ValueError(f"refused_names.csv: {name!r} occurs twice")
            table[key(name)] = _Refused(row["why"], choices, row["reason"])
    return table


def check_digit(body: str) -> int:
    """Check digit of a CAS number whose other digits are *body*."""
    return sum(position * int(digit) for position, digit in enumerate(reversed(body), start=1)) % 10


def _hyphenated(digits: str) -> str:
    digits = digits.lstrip("0")
    return f"{digits[:-3]}-{digits[-3:-1]}-{digits[-1]}"


def check_cas(text: str) -> str:
    """Return a well-formed CAS number, or say what is wrong with it.

    Raises
    ------
    UnknownVapour
        Wrong form or wrong check digit.
    """
    cas = text.translate(_DASHES).strip()
    digits = cas.replace("-", "")
    if not _CAS.fullmatch(cas) or cas.startswith("0"):
        right = _hyphenated(digits) if len(digits.lstrip("0")) >= 5 else ""
        hint = f'; write it as "{right}"' if right and _valid(right) else "; it has the form 108-88-3"
        raise UnknownVapour(
            f"{text!r} is not written as a CAS number{hint}", [right] if right and right in listed() else []
        )
    right_digit = check_digit(digits[:-1])
    if int(digits[-1]) != right_digit:
        right = f"{cas[:-1]}{right_digit}"
        known = f" ({right} is {listed()[right].name})" if right in listed() else ""
        raise UnknownVapour(
            f"CAS number {text!r} is mistyped: its last digit is a check digit, which should be {right_digit} "
            f"if the rest is right{known}. Check it on the label or data sheet",
            [right] if right in listed() else [],
        )
    return cas


def _valid(cas: str) -> bool:
    return bool(_CAS.fullmatch(cas)) and check_digit(cas.replace("-", "")[:-1]) == int(cas[-1])


def _looks_like_cas(text: str) -> bool:
    return bool(re.fullmatch(r"[\d-]+", text)) and sum(c.isdigit() for c in text) >= 5


def _formula_atoms(text: str) -> bool:
    if not _FORMULA.fullmatch(text) or not any(c.isdigit() for c in text):
        return False
    symbols = re.findall(r"[A-Z][a-z]?", text)
    return all(symbol in ATOMIC_WEIGHTS for symbol in symbols)


def _refusal(asked: str, refused: _Refused) -> UnknownVapour:
    reason = f": {refused.reason}" if refused.reason else ""
    if refused.why == "ambiguous":
        choices = ", ".join(f'"{c}"' for c in refused.choices)
        text = f"{asked!r} can mean more than one substance{reason}. Say which: {choices}."
        return UnknownVapour(text, refused.choices)
    if refused.why == "product":
        components = f" Typical components that are listed: {', '.join(refused.choices)}." if refused.choices else ""
        return UnknownVapour(
            f"{asked!r} is a product, not one substance{reason}. Name its components, with the concentration of each "
            f"in the air, or describe a surrogate with define_vapour and name it in the record.{components}",
            refused.choices,
        )
    if refused.why == "by rule":
        return UnknownVapour(
            f"{asked!r} is refused by a rule{reason}. No gas or vapour schedule can be derived for it here; refer to "
            "supplied air, and to the current text of the rule",
            refused.choices,
            refused=True,
        )
    return UnknownVapour(
        f"{asked!r} is refused, because physical adsorption on plain carbon does not describe it{reason}. No time is "
        f"computed here; {APPROVAL if _HAS_AN_ELEMENT.search(refused.reason) else 'no filter is planned for it'}",
        refused.choices,
        refused=True,
    )


def _nearest(name: str) -> tuple[str, ...]:
    names = {key(n): n for item in listed().values() for n in (item.name, *item.synonyms)}
    names |= {k: k for k, r in _refused().items() if r.why == "ambiguous" and not k[0].isdigit()}
    close = difflib.get_close_matches(key(name), names, n=4, cutoff=0.72)
    return tuple(names[k] for k in close)


def identify(name_or_cas: str) -> Listed:
    """Find the one listed substance that *name_or_cas* names.

    Parameters
    ----------
    name_or_cas
        A name or synonym of the list (case, and blanks for hyphens, do not matter) or a CAS number.

    Raises
    ------
    UnknownVapour
        Unknown, ambiguous, a product, a formula, mistyped, or not held by plain carbon.
    """
    if not isinstance(name_or_cas, str):
        raise UnknownVapour(f"a vapour is named by text, such as 'toluene' or '108-88-3', not by {name_or_cas!r}")
    text = name_or_cas.translate(_DASHES).strip()
    if not text:
        raise UnknownVapour(
            "the vapour's name is empty; write a name such as 'toluene' or a CAS number such as '108-88-3'"
        )
    spelled = key(text)
    if spelled in _aliases():
        return listed()[_aliases()[spelled]]
    if spelled in _refused():
        raise _refusal(name_or_cas, _refused()[spelled])
    if _looks_like_cas(text):
        cas = check_cas(text)
        if cas in listed():
            return listed()[cas]
        if key(cas) in _refused():
            raise _refusal(name_or_cas, _refused()[key(cas)])
        if re.match(r"6474[12]-|68\d{3}-|9\d{5}-|8\d{5}-", cas):
            raise _refusal(
                name_or_cas, _Refused("product", (), "CAS numbers of this group belong to petroleum cuts and mixtures")
            )
        raise UnknownVapour(
            f"CAS number {name_or_cas!r} is well formed but not in the list of {len(listed())} vapours; "
            "describe the substance with define_vapour"
        )
    if _formula_atoms(text):
        same = tuple(item.name for item in listed().values() if item.formula == text)
        listed_ones = f" Listed with this formula: {', '.join(same)}." if same else ""
        raise UnknownVapour(
            f"{name_or_cas!r} is a formula, and isomers share one (C2H6O is ethanol and dimethyl ether); "
            f"give the name or CAS number.{listed_ones}",
            same,
        )
    near = _nearest(text)
    hint = f" Nearest names: {', '.join(near)}." if near else ""
    raise UnknownVapour(
        f"no vapour named {name_or_cas!r} is listed.{hint} Look the CAS number up on the data sheet, or describe the "
        "substance with define_vapour",
        near,
    )
