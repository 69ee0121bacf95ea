"""What people write as the basis of a number: whether it is one."""

from __future__ import annotations

import re

__all__ = ["names_data", "no_basis", "rests_on_smell"]

_SHEET = re.compile(
    r"\bm?sds\b|\b(?:safety|technical|product|data)[ -]?(?:data[ -]?)?sheets?\b|\bdatasheets?\b|"
    r"^(?:the |a )?(?:label|sheet|section \d+|composition)\w*(?: of the (?:product|can|drum))?$|\bcomposition\b|"
    r"\bon the label\b",
    re.I,
)
_NOUN = (
    r"(?:\w*measur\w*|re?sampl\w*|sampl\w*|monitor\w*|surveys?|readings?|results?|badges?|tubes?|pids?|fids?|instruments?|"
    r"dosimet\w*|analys[ei]s)"
)
_AIR_DATA = re.compile(
    rf"\b{_NOUN}\b|detector|chromatogra|spectro|photoioni|ventilat|evaporation|mass balance|\bgc\b|\bgc-ms\b|"
    r"\bftir\b|charcoal|\bextract(?:ed|ion)\b|\bgeneration rate\b",
    re.I,
)
_REUSE_DATA = re.compile(
    r"\b(?:desor\w*|migrat\w*|measur\w*|re-?challeng\w*|tests?|tested|trials?|experiments?|stud(?:y|ies)|"
    r"laborator\w*|data(?! ?sheets?)|letter|report)\b",
    re.I,
)
_NO_REUSE_DATA = re.compile(
    r"\b(?:smell|sniff|odou?r|nose|fit|seal|user seal|leak)[ -](?:tests?|checks?|trials?)\b|"
    r"\b(?:safety |technical )?data ?sheets?\b|\bcost[ -]saving measures?\b|\bseen by smell\b|\bby smell\b",
    re.I,
)
_SMELL = re.compile(
    r"\b(smell\w*|smelt|sniff\w*|odou?rs?|tast(?:e|es|ed|ing)|stink\w*|stench|scent\w*)\b"
    r"(?! (?:lab|laboratory|house)\b)",
    re.I,
)
_SMELL_LEFT_OUT = re.compile(
    r"\b(?:odou?rs?|smell|taste)(?: thresholds?)? (?:is |are |was |were )?(?:not|never) "
    r"(?:used|relied on|counted|the basis)\b",
    re.I,
)
# what denies that there are data: in front of the noun, or behind it; "none of 14 samples above" denies nothing
_DENIED = re.compile(
    rf"\b(?:no|not|never|nobody|nothing|without|lacking|zero|0|n't)\b(?: one| body)?[\s-]+(?:(?!of\b)\w+[\s-]+){{0,2}}?"
    rf"(?:{_NOUN}|test\w*|data|stud\w*|desor\w*)\b(?:\s+(?:data|tests?|samples?|measurements?|stud(?:y|ies)|results?)\b)*"
    rf"(?!\s+(?:above|below|over|exceed\w*|higher|lower|beyond|found|detect\w*|in\b|on\b))|"
    rf"\b(?:un|not )(?:measured|sampled|tested|monitored)\b|"
    rf"\b(?:{_NOUN}|test\w*|data|it|we|they)\b\s+(?:\w+\s+){{0,2}}?"
    rf"(?:\w+n't|not|never|unavailable|missing|pending|planned|to follow)\b"
    rf"(?:\s+(?:been |yet )?(?:done|taken|made|{_NOUN}|tested|available|used|planned))*|"
    rf"\b(?:was|were|has|have|is|are)n't (?:been )?(?:{_NOUN}|tested)|"
    rf"\bto be (?:{_NOUN}|tested)|\b(?:pending|awaiting|until|before) (?:a |an |the )?(?:{_NOUN}|tests?)\b|"
    rf"\b(?:{_NOUN}|tests?) (?:are |is )?(?:planned|pending|to follow)\b|\b(?:{_NOUN}) (?:was|were|is|are) broken\b",
    re.I,
)
_GUESS = re.compile(
    r"\bguess\w*|\bgut feeling\b|\brule of thumb\b|\bno idea\b|\bsaid so\b|^(?:is |are )?(?:unknown|not known)$", re.I
)
_NOTHING = re.compile(
    r"(?:none|nil|n/?a|not applicable|nothing|t\.?b\.?[cd]\.?|to ?do|to be (?:done|confirmed|determined)|assum\w+|"
    r"experience|common practice|default|as usual|see above|x+|yes|no|ok(?:ay)?)",
    re.I,
)
_WORD = re.compile(r"[^\W\d_]{2,}")


def _left(text: str) -> str:
    """Take out what denies that there are data: "nobody measured", "samples were not taken"."""
    return _DENIED.sub(" ", text)


def names_data(text: str) -> bool:
    """Whether data on reuse are named, and not only denied; a sniff or a fit test is none."""
    return bool(_REUSE_DATA.search(_left(_NO_REUSE_DATA.sub(" ", text))))


def rests_on_smell(text: str) -> bool:
    """Whether smell or taste is named as more than what is left out."""
    return bool(_SMELL.search(_SMELL_LEFT_OUT.sub(" ", text)))


def no_basis(text: str) -> str:
    """Why a text is no basis of a concentration in the air; empty if it may be one.

    Returns
    -------
    str
        What it is instead, such as "a guess".
    """
    plain = " ".join(text.split()).strip(" .;,:!?-")
    if not _WORD.search(plain) or _NOTHING.fullmatch(plain):
        return "nothing that anybody could check"
    left = _left(plain)
    if _AIR_DATA.search(left):
        return ""
    if _SHEET.search(plain):
        return "a data sheet or a composition, which gives no air levels"
    if rests_on_smell(plain):
        return "smell or taste, which is no measure of a concentration"
    if _GUESS.search(plain):
        return "a guess"
    return "a denial that anybody measured" if _DENIED.search(plain) else ""
