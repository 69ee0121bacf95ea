"""What the user adds to the samples: a foreseeable upset, or another value than the rule's, each with its reason."""

from __future__ import annotations

import re
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.sources import source
from respcalc.core.vocabulary import check, read_amount, single, term
from respcalc.workplace.sampling.candidates import Candidate
from respcalc.workplace.sampling.samples import SampleGroup
from respcalc.workplace.stated import no_basis, rests_on_smell

__all__ = ["read_chosen", "read_upset"]

_SLACK = 1 + 1e-9
_LEAST_WORDS = 3


def _read_amount(group: SampleGroup, name: str, value: Any) -> float:
    amount = read_amount(name, value)
    if amount.basis == "mass":
        if group.air is None:
            raise DomainError(f"{name} = {value}: the samples came without their air, so give {name} in ppm")
        return group.air.volume_fraction(amount, group.vapour.molar_mass.value, as_argument=name)
    return float(check("volume_fraction", single(name, amount.value), as_argument=name))


def _read_reason(name: str, given: Any, example: str) -> str:
    text = given.strip() if isinstance(given, str) else ""
    if not text:
        raise DomainError(f'{name} = {given!r}: a reason is needed for the record, such as {name}="{example}"')
    if rests_on_smell(text):
        raise DomainError(
            f"{name} = {given!r}: smell or taste is no measure of a concentration; say what was measured or calculated"
        )
    if why := no_basis(text):
        raise DomainError(f"{name} = {given!r} is {why}; say what was measured or estimated")
    if len(re.findall(r"\w+", text)) < _LEAST_WORDS:
        raise DomainError(
            f'{name} = {given!r}: too short for a record; write a reason that others can check, such as "{example}"'
        )
    return text


def read_upset(group: SampleGroup, upset: Any, basis: Any) -> Candidate | None:
    """Read the concentration of an upset and how it is known; None without one.

    Raises
    ------
    UnitsError, DomainError
        One without the other; a basis that tells nothing of the air.
    """
    if upset is None:
        if str(basis or "").strip():
            raise DomainError(f"upset_basis = {basis!r} without an upset; give its concentration too")
        return None
    how = _read_reason("upset_basis", basis, "drum pump left open, direct-reading instrument, May 2026")
    value = Datum("volume_fraction", _read_amount(group, "upset", upset), "given", label="foreseeable upset")
    return Candidate("foreseeable upset", value, how)


def read_chosen(group: SampleGroup, chosen: Any, because: Any) -> Datum | None:
    """Read a value that overrules the rule, and why; None without one.

    Raises
    ------
    UnitsError, DomainError
        One without the other; a reason of no substance; a value below the highest measured result.
    """
    if chosen is None:
        if str(because or "").strip():
            raise DomainError(f"chosen_because = {because!r} without a chosen value; give the concentration too")
        return None
    reason = _read_reason(
        "chosen_because", because, "two tasks of the survey no longer exist; highest of the others taken"
    )
    value = _read_amount(group, "chosen", chosen)
    highest = max((s.while_worn for s in group.samples if not s.below), default=0.0)
    if value * _SLACK < highest:
        show = term("volume_fraction").show
        raise DomainError(
            f"chosen = {show(value)} is below the highest measured result, {show(highest)} while worn; plan for the "
            f"highest that occurs ({source('osha_letter_1990_01_10').citation.partition(':')[0]})"
        )
    return Datum("volume_fraction", value, "given", note=reason, label="chosen design concentration")
