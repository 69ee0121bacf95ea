"""A vapour in plain text: every property and limit, with its origin."""

from __future__ import annotations

import textwrap

from respcalc.core.basis import Datum
from respcalc.core.errors import MissingProperty
from respcalc.vapours.vapour import PROPERTIES, Vapour

__all__ = ["describe_vapour"]

_WIDTH = 100


def _row(left: str, value: str, rest: str) -> str:
    return textwrap.fill(
        rest,
        _WIDTH,
        initial_indent=f"  {left:<22}{value:>16}  ",
        subsequent_indent=" " * 42,
        break_long_words=False,
    )


def _origin(datum: Datum) -> str:
    parts: list[str] = [datum.kind]
    if datum.origin:
        parts.append(datum.origin)
    if datum.note:
        parts.append(datum.note)
    return "; ".join(parts)


def _property(vapour: Vapour, name: str, temperature_K: float) -> str:
    title = name.replace("_", " ")
    try:
        datum = vapour.datum(name, temperature_K)
    except MissingProperty as error:
        return _row(title, "not known", str(error))
    return _row(title, datum.printed, _origin(datum))


def describe_vapour(vapour: Vapour, temperature_K: float = 298.15, *, caution: str = "") -> str:
    """Every property and exposure limit of a vapour, with its origin, as plain text.

    Parameters
    ----------
    vapour
        From `find_vapour` or `define_vapour`.
    temperature_K
        Temperature of vapour pressure and density [K].
    caution
        Line to end with.

    Returns
    -------
    str
        Aligned for 100 columns.
    """
    number = f", CAS {vapour.cas}" if vapour.cas else ", no CAS number given"
    formula = f", {vapour.formula}" if vapour.formula else ""
    lines = [f"{vapour.name}{number}{formula}", "", f"Properties at {temperature_K - 273.15:.4g} degC"]
    lines += [_property(vapour, name, temperature_K) for name in PROPERTIES]
    lines.append(_row("mixes with water", vapour.water_mixing.printed, vapour.water_mixing.provenance))
    lines += ["", "Exposure limits (8-h or 10-h TWA, STEL, ceiling and peak as the authority defines them)"]
    if not len(vapour.limits):
        lines.append("  none shipped or given; look up the limit that applies to you and give it with its authority")
    for limit in vapour.limits:
        period = limit.period or "averaging time not stated"
        origin = "; ".join(filter(None, (period, limit.value.origin, limit.note)))
        lines.append(_row(f"{limit.authority} {limit.kind}", limit.value.printed, origin))
    if vapour.limits.idlh is not None:
        lines.append(_row("IDLH", vapour.limits.idlh.printed, _origin(vapour.limits.idlh)))
    else:
        lines.append(_row("IDLH", "none listed", "no value in the sources here; that does not mean there is no danger"))
    remarks = []
    if vapour.limits.carcinogen:
        remarks.append("NIOSH lists it as a potential occupational carcinogen.")
    if vapour.limits.skin:
        remarks.append("It is taken up through the skin (skin notation).")
    if vapour.limits.note:
        remarks.append(f"Limits: {vapour.limits.note}.")
    remarks += [f"{note[0].upper()}{note[1:]}." for note in vapour.property_notes]
    if remarks:
        lines += ["", "Notes"]
        lines += [textwrap.fill(r, _WIDTH, initial_indent="  - ", subsequent_indent="    ") for r in remarks]
    if caution:
        lines += ["", textwrap.fill(caution, _WIDTH)]
    return "\n".join(lines)
