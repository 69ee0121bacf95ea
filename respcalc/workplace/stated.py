"""What people write as the basis of a number: whether it is one."""

from __future__ import annotations

import re

__all__ = ["names_data", "no_basis", "rests_on_smell", "without_denials"]

_SHEET = re.compile(r"\bm?sds\b|\b\w+ ?sheets?\b|\blabels?\b|\bsection \d|\bcomposition\b|\bper ?cent\w*\b", re.I)
_AIR_DATA = re.compile(
    r"measur|\bsampl|monitor|\btubes?\b|badge|dosimet|detector|instrument|chromatogra|spectro|\b[pf]id\b|photoioni|"
    r"ventilat|evaporation|survey|charcoal",
    re.I,
)
_DATA = re.compile(r"desor|migrat|measur|test|data|stud|breakthrough|laborator|trial", re.I)
_SMELL = re.compile(r"\b(smell\w*|smelt|odou?r\w*|tast(?:e|es|ed|ing)|stink\w*|stench|scent\w*)\b", re.I)
_DENIED = re.compile(
    r"\b(?:no|not|never|nobody|none|without|lacking|un)\b[\s-]*(?:\w+[\s-]+){0,2}?"
    r"(?:\w*measur\w*|sampl\w*|monitor\w*|test\w*|data|stud\w*|desor\w*|survey\w*)(?:\s+(?:data|tests?|samples?|"
    r"measurements?|stud(?:y|ies)|results?)\b)*|\bunmeasured\b|\buntested\b",
    re.I,
)
_GUESS = re.compile(r"\bguess\w*|\bgut feeling\b|\brule of thumb\b|\bunknown\b|\bnot known\b", re.I)
_NOTHING = re.compile(
    r"(?:none|nil|n/?a|not applicable|nothing|t\.?b\.?[cd]\.?|to ?do|to be (?:done|confirmed|determined)|assum\w+|"
    r"experience|common practice|default|as usual|see above|x+|yes|no|ok(?:ay)?)",
    re.I,
)
_WORD = re.compile(r"[^\W\d_]{2,}")


def without_denials(text: str) -> str:
    """Take out what denies that there are data: "nobody measured", "no samples"."""
    return _DENIED.sub(" ", text)


def names_data(text: str) -> bool:
    """Whether data of any kind are named, and not only denied."""
    return bool(_DATA.search(without_denials(text)))


def rests_on_smell(text: str) -> bool:
    """Whether smell or taste is named."""
    return bool(_SMELL.search(text))


def no_basis(text: str) -> str:
    """Why a text is no basis of a concentration in the air; empty if it may be one.

    Returns
    -------
    str
        "a data sheet ...", "a guess", ...: completes "is the basis, and that is ...".
    """
    plain = " ".join(text.split()).strip(" .;,:!?-")
    if not _WORD.search(plain) or _NOTHING.fullmatch(plain):
        return "nothing that anybody could check"
    if _AIR_DATA.search(without_denials(plain)):
        return ""
    if _SHEET.search(plain):
        return "a data sheet or a composition, which gives no air levels"
    if rests_on_smell(plain):
        return "smell or taste, which is no measure of a concentration"
    if _GUESS.search(plain):
        return "a guess"
    return "a denial that anybody measured" if _DENIED.search(plain) else ""
