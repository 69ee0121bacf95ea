"""What is in the air of a task: its vapours one by one, its products by their totals, and both together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from respcalc.core.errors import UnknownVapour
from respcalc.core.vocabulary import term
from respcalc.schedule.plan import SiteRules
from respcalc.schedule.product_reader import (
    ForbiddenProduct,
    TaskProduct,
    product_of_a_cut,
    read_task_product,
    share_of_a_liquid,
)
from respcalc.schedule.sample_reader import read_sample_keys
from respcalc.schedule.toml_fields import Fields
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace import (
    STRICTEST,
    Air,
    Inhaled,
    Jurisdiction,
    ProductInAir,
    describe_exposure,
    no_basis,
)
from respcalc.workplace.products.product_in_air import IDEAL
from respcalc.workplace.sampling import DesignConcentration

__all__ = ["Exposure", "read_exposure"]

_UNKNOWN = ("unknown", "not known", "?")
_SLACK = 1 + 1e-9
_ROUNDED = 60.0  # stretches of a shift are written in whole minutes


@dataclass(frozen=True)
class Exposure:
    """What is in the air, each vapour once; ``based_on`` goes with ``inhaled``.

    ``total`` and ``index`` bound the summed concentration and the sum of concentrations over limits
    where products are given, whose vapours are not all at their highest at once.
    """

    inhaled: tuple[Inhaled, ...] = ()
    based_on: tuple[str, ...] = ()
    not_known: tuple[str, ...] = ()
    products: tuple[ProductInAir, ...] = ()
    total: float | None = None
    index: float | None = None
    notices: tuple[str, ...] = ()
    forbidden: tuple[str, ...] = ()  # why no cartridge may be used against a product
    designs: tuple[DesignConcentration, ...] = ()  # how concentrations came from air samples


@dataclass(frozen=True)
class _Source:
    """One vapour from one table of the task."""

    part: Inhaled
    based_on: str
    origin: str
    of_a_product: bool
    design: DesignConcentration | None = None


def read_exposure(
    task: Fields,
    rules: SiteRules,
    own: Mapping[str, Any],
    products: Mapping[str, Any],
    air: Air | None,
    where: Jurisdiction | None = None,
    samples: Mapping[str, Any] | None = None,
    hours: float | None = None,
    span: float | None = None,
) -> Exposure:
    """Read [[task.vapour]] and [[task.product]] of one task.

    Parameters
    ----------
    task
        The table of the task; faults are added to it.
    rules
        The site's rules.
    own, products
        Vapours and products of the plan, by name; a faulty one is its list of faults.
    air
        Of the task; None if it could not be read.
    where
        Whose limits hold; None if the plan names no jurisdiction.
    samples
        The [[samples]] of the plan, by id; a faulty one is its list of faults.
    hours
        How long the respirator is worn a shift, without breaks [s]; None if it could not be read.
    span
        From first donning to last doffing [s], which a profile has to cover; None if it could not be read.

    Returns
    -------
    Exposure
        Of what could be read. A vapour that comes from several of them is there once, with the sum.
    """
    vapour_entries, product_entries = _entries(task, "vapour"), _entries(task, "product")
    if not vapour_entries and not product_entries and all(task.peek(k) in (None, []) for k in ("vapour", "product")):
        task.faults.append(
            f"{task.where}: no vapour is given; add [[task.vapour]] with name and concentration, or [[task.product]] "
            "with the name of a [[product]] and its total in the air"
        )
    measured, not_known, refused = _read_vapours(
        task, vapour_entries, rules, own, products, air, where, samples or {}, hours, span
    )
    there = []
    for entry in product_entries:
        name, product, unknown = read_task_product(entry, products, rules, air, where)
        task.faults += entry.faults
        if unknown:
            not_known.append(f"the vapours of {name} (its composition gives no concentration in the air)")
        if product is not None:
            there.append(product)
    names = [str(entry.peek("name")).strip() for entry in product_entries]
    forbidden = (
        *refused,
        *(
            f"{name}: {reason}"
            for name in dict.fromkeys(names)
            if isinstance(banned := products.get(name), ForbiddenProduct)
            for reason in banned.reasons
        ),
    )
    for name in dict.fromkeys(n for i, n in enumerate(names) if n in names[:i]):
        task.faults.append(f"{task.where}: product {name!r} is named twice; give it once, with its whole total")
    if not there or air is None:
        return Exposure(
            tuple(s.part for s in measured), tuple(s.based_on for s in measured), tuple(not_known),
            designs=_designs(measured), forbidden=forbidden,
        )  # fmt: skip
    return replace(_together(task, measured, there, not_known, air), forbidden=forbidden)


def _entries(task: Fields, key: str) -> list[Fields]:
    entries = task.tables(key)
    for entry in entries:
        entry.faults = [f"{task.where}, {fault}" for fault in entry.faults]
        entry.where = f"{task.where}, {entry.where}"
    return entries


def _read_vapours(
    task: Fields,
    entries: Sequence[Fields],
    rules: SiteRules,
    own: Mapping[str, Any],
    products: Mapping[str, Any],
    air: Air | None,
    where: Jurisdiction | None,
    samples: Mapping[str, Any],
    hours: float | None,
    span: float | None,
) -> tuple[list[_Source], list[str], list[str]]:
    """Read what could be read; the names of what is not known; and what no such cartridge is planned for."""
    found: list[_Source] = []
    not_known: list[str] = []
    refused: list[str] = []
    for entry in entries:
        name = entry.text("name", required=True, example='"toluene"')
        estimate_missing = entry.flag("estimate_missing")
        vapour = _find_vapour(entry, name, own, products, estimate_missing, refused) if name else None
        sampled = read_sample_keys(entry)
        profile = _read_profile(entry)
        amount = entry.single(
            "concentration", required=not sampled.given and profile is None,
            example='"120 ppm" (the highest that occurs), or samples',
        )  # fmt: skip
        if profile is not None:
            _refuse_beside_a_profile(entry, sampled.given)
            amount = profile or None
        more = {key: entry.single(key) for key in ("average", "short_term", "time_above_ceiling", "odour_threshold")}
        basis = entry.text(
            "based_on", required=not sampled.group, example='"4 personal samples, March 2026; highest taken"'
        )
        if basis and (why := no_basis(basis)):
            entry.faults.append(
                f"{entry.where}: based_on = {basis!r} is {why}; measure the vapour in the air, or write "
                'concentration = "unknown"'
            )
        limits_from = entry.text("limits_from") or (rules.limits_from if entry.peek("exposure_limit") is None else "")
        own_limit, own_short = entry.single("exposure_limit"), entry.single("short_term_limit")
        own_ceiling, national = entry.single("ceiling_limit"), entry.text("national_rule")
        authority = entry.text("exposure_limit_authority")
        irritates = entry.flag("irritates_eyes") if entry.peek("irritates_eyes") is not None else None
        entry.done()
        if isinstance(amount, str) and amount.strip().lower() in _UNKNOWN:
            not_known.append(vapour.name if vapour is not None else name)
            amount = None
        design = None
        if sampled.given and vapour is not None and air is not None and not entry.faults:
            mine = [v for v in own.values() if isinstance(v, Vapour)]
            design = sampled.design(entry, vapour, air, samples, amount, basis, mine, hours)
            amount = None if design is None else term("volume_fraction").quantity(design.value.value)
            basis = basis if design is None else _from_samples(design, basis)
        if vapour is not None and amount is not None and air is not None:
            levels = [("concentration", amount)] if profile is None else [("level", level) for level, _ in profile]
            for key, value in [*levels, *more.items()]:
                entry.attempt(partial(share_of_a_liquid, key, value))
            part = None
            if not entry.faults:
                part = entry.attempt(
                    partial(
                        describe_exposure, vapour, amount, air=air, **more, limits_from=limits_from or STRICTEST,
                        exposure_limit=own_limit, short_term_limit=own_short, ceiling_limit=own_ceiling,
                        exposure_limit_authority=authority or None, jurisdiction=where, national_rule=national,
                        irritates_eyes=irritates,
                    )
                )  # fmt: skip
            if part is not None and part.profile is not None:
                basis = f"{basis}: {part.profile.text}, which counts"
                if span is not None and abs(part.profile.span - span) > _ROUNDED:
                    time = term("change_interval").show
                    entry.faults.append(
                        f"{entry.where}: the stretches of profile are {time(part.profile.span)} together, hours_of_use "
                        f'is {time(span)}; name all of that time, breaks in clean air at level = "0 ppm"'
                    )
            if part is not None and design is not None and not design.chosen:
                part = replace(part, from_samples=f"from air samples: {design.because}")
            if part is not None:
                found.append(_Source(part, basis, "its own entry", False, design))
        task.faults += entry.faults
    who = [s.part.vapour.cas or s.part.vapour.name for s in found]
    for part in (s.part for i, s in enumerate(found) if who[i] in who[:i]):
        task.faults.append(
            f"{task.where}: vapour {part.vapour.name!r} is named twice; add the two concentrations and name it once"
        )
    return found, not_known, refused


def _read_profile(entry: Fields) -> list[tuple[Any, Any]] | None:
    """Take the pairs of level and length; None without the key."""
    if entry.peek("profile") is None:
        entry.asked.append("profile")
        return None
    written = entry.raw("profile")
    if not isinstance(written, list) or not written:
        entry.faults.append(
            f"{entry.where}: profile = {written!r:.80} must be a list of stretches, for example "
            'profile = [{ level = "300 ppm", length = "15 min" }, { level = "70 ppm", length = "7.75 h" }]'
        )
        return []
    pairs: list[tuple[Any, Any]] = []
    for number, item in enumerate(written, start=1):
        stretch = Fields(f"{entry.where}: profile, no. {number}", item)
        level = stretch.single("level", required=True, example='"80 ppm"')
        pairs.append((level, stretch.single("length", required=True, example='"2 h"')))
        stretch.done()
        entry.faults += stretch.faults
    return pairs


def _refuse_beside_a_profile(entry: Fields, sampled: bool) -> None:
    """Refuse what a profile tells already."""
    for key in ("concentration", "average", "short_term"):
        if entry.peek(key) is not None:
            entry.faults.append(f"{entry.where}: {key} and profile are both given; it follows from the profile")
    if sampled:
        entry.faults.append(f"{entry.where}: samples and profile are both given; give one of them")


def _find_vapour(
    entry: Fields,
    name: str,
    own: Mapping[str, Any],
    products: Mapping[str, Any],
    estimate_missing: bool,
    refused: list[str],
) -> Vapour | None:
    if name in own:
        found = own[name]
        if isinstance(found, list):
            entry.faults += found
            return None
        vapour: Vapour = found
        return vapour
    try:
        return find_vapour(name, estimate_missing=estimate_missing)
    except UnknownVapour as error:
        if error.refused:  # no fault of the plan: the task itself is refused
            refused.append(str(error))
            return None
        told = product_of_a_cut(error, name).replace(" with define_vapour", " under [[vapour]]")
        if name in products:
            told = f"{name!r} is a [[product]]: give its total in the air under [[task.product]]"
        entry.faults.append(f"{entry.where}: {told}")
    return None


def _together(
    task: Fields, measured: Sequence[_Source], there: Sequence[TaskProduct], not_known: Sequence[str], air: Air
) -> Exposure:
    """Add what several tables give of one vapour; totals and bounds on the index add up likewise."""
    sources = list(measured)
    for product in there:
        name = product.there.product.name
        basis = f"the total of {name} in the air, divided by its composition (see there)"
        sources += [_Source(part, basis, name, True) for part in product.inhaled]
    groups: list[list[_Source]] = []
    for found in sources:
        same = next((g for g in groups if _same(g[0].part.vapour, found.part.vapour)), None)
        if same is None:
            groups.append([found])
        else:
            same.append(found)
    notices = [note for product in there for note in _notes(product)]
    inhaled, capped = [], False
    for group in groups:
        if not _agree(task, group):
            continue
        part, at_most = _sum(group, air)
        capped = capped or at_most
        inhaled.append(part)
        if len(group) > 1:
            show = term("volume_fraction").show
            terms = " + ".join(f"{show(s.part.concentration)} from {s.origin}" for s in group)
            most = ", which is all that the air can hold" if at_most else ""
            notices.append(
                f"{part.vapour.name}: {terms}; they are added to {show(part.concentration)}{most}. If one of them "
                "already counts the other, take it out of one"
            )
    if len(inhaled) < len(groups):
        return Exposure(not_known=tuple(not_known))
    total = math.fsum([*(p.there.total.value for p in there), *(s.part.concentration for s in measured)])
    by_parts = math.fsum(p.concentration / p.limits.least.value.value for p in inhaled)
    alone = (s.part.concentration / s.part.limits.least.value.value for s in measured)
    return Exposure(
        inhaled=tuple(inhaled),
        based_on=tuple(" and ".join(s.based_on for s in group) for group in groups),
        not_known=tuple(not_known),
        products=tuple(p.there for p in there),
        total=min(total, math.fsum(p.concentration for p in inhaled)) if capped else total,
        index=min(by_parts, math.fsum([*(p.index for p in there), *alone])),
        notices=tuple(dict.fromkeys(notices)),
        designs=_designs(measured),
    )


def _designs(measured: Sequence[_Source]) -> tuple[DesignConcentration, ...]:
    return tuple(s.design for s in measured if s.design is not None)


def _from_samples(design: DesignConcentration, basis: str) -> str:
    """How the concentration of a task came from samples, in one line."""
    group, word = design.samples, "chosen by the programme, because " if design.chosen else ""
    counted = f"{len(group.wear)} samples{f' and {len(group.peaks)} short-term' if group.peaks else ''}"
    label = "" if design.label == "usual" else f"; {design.label}"
    said = "" if not basis or basis == group.report else f" ({basis})"
    who = f" of {group.name}" if group.name else ""
    return f"{counted}{who}, {group.report}{said}: {word}{design.because}{label}"


def _same(one: Vapour, other: Vapour) -> bool:
    return (bool(one.cas) and one.cas == other.cas) or one.name.casefold() == other.name.casefold()


def _agree(task: Fields, group: Sequence[_Source]) -> bool:
    """Whether the tables mean the same vapour and hold it to the same limits; a fault if not."""
    first = group[0]
    for other in group[1:]:
        name, where = other.part.vapour.name, f"{first.origin} and {other.origin}"
        if other.part.vapour != first.part.vapour:
            task.faults.append(
                f"{task.where}: {name} is described in two ways ({where}); name it alike in both, and write "
                "estimate_missing in both or in neither"
            )
            return False
        if other.part.limits != first.part.limits:
            task.faults.append(
                f"{task.where}: {name} is held to two limits ({first.part.limits.text}, {first.origin}; "
                f"{other.part.limits.text}, {other.origin}); give it the same in both: limits_from, or exposure_limit "
                f'under [[task.vapour]] and exposure_limits = {{ "{name}" = ["50 ppm", "whose limit"] }} under '
                "[[task.product]]"
            )
            return False
    return True


def _sum(group: Sequence[_Source], air: Air) -> tuple[Inhaled, bool]:
    """The vapour at the sum of what its sources give, and whether the air can hold no more.

    Highest values that each fit may together exceed saturation. What was measured beyond it is left
    alone, to be refused.
    """
    first = group[0].part
    if len(group) == 1:
        return first, False
    whole = math.fsum(s.part.concentration for s in group)
    mean = None if all(s.part.average is None for s in group) else math.fsum(s.part.long_term for s in group)
    held = first.vapour.saturation_pressure(air.temperature.value).value / air.pressure.value
    capped = whole > held and all(s.part.concentration <= held * _SLACK for s in group)
    if capped:
        whole = held
    quarter = None
    if any(s.part.short_term is not None for s in group):
        quarter = min(math.fsum(s.part.worst_quarter for s in group), whole)
    # what only some of the sources tell of the time above a ceiling says nothing of their sum
    said = {s.part.irritates_eyes for s in group}
    irritates = True if True in said else False if said == {False} else None
    made = replace(
        first, concentration=whole, average=None if mean is None else min(mean, whole), short_term=quarter,
        time_above_ceiling=None, irritates_eyes=irritates, from_samples="",
    )  # fmt: skip
    return made, capped


def _notes(product: TaskProduct) -> list[str]:
    there, name = product.there, product.there.product.name
    notes = [note if note == IDEAL else f"{name}: {note}" for note in there.notes]
    if product.average is not None:
        mean = term("volume_fraction").show(product.average)
        notes.append(
            f"{name}: shift average of the total {mean}; each vapour's average is bounded by its largest share of it"
        )
    return notes
