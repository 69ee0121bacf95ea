"""The plan file: a site, its cartridges, its products and its tasks, read from TOML.

A fault in one task or cartridge is kept with it, and the other tasks are still computed. Only what
spoils the whole file stops it.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from respcalc.cartridges import SEALED, CarbonHistory, describe_history
from respcalc.core.basis import Datum
from respcalc.core.errors import PlanError, UnknownVapour
from respcalc.core.vocabulary import humidity_slip, read, term
from respcalc.estimate import DEFAULT_COVERAGE, BreakthroughCriterion, read_coverage
from respcalc.schedule.cartridge_reader import KnownCartridge, read_cartridge
from respcalc.schedule.exposure_reader import read_exposure
from respcalc.schedule.plan import Break, FaultyTask, Plan, Site, SiteRules, Task
from respcalc.schedule.product_reader import read_product
from respcalc.schedule.sample_reader import read_samples_entry
from respcalc.schedule.toml_fields import Fields
from respcalc.vapours import Vapour, define_vapour, find_vapour
from respcalc.workplace import (
    GOGGLES,
    HUMIDITY_MEASURES,
    STRICTEST,
    Air,
    Facepiece,
    Jurisdiction,
    Work,
    breathing_rate,
    describe_air,
    describe_work,
    facepiece,
    jurisdiction,
    names_data,
    rests_on_smell,
)

__all__ = ["read_plan", "read_plan_text"]

_LONGEST_SPAN = 24 * 3600.0
_ROUNDED = 60.0  # phases of a shift are written in whole minutes
_YEAR = re.compile(r"\b(?:19|20)\d\d\b")
_COUNTS = ("the clock", "hours worn")  # what an interval borrowed from a rule counts


def read_plan(path: str | Path) -> Plan:
    """Read a plan file.

    Raises
    ------
    PlanError
        The file cannot be opened, is not TOML (with the line), or lacks what every task needs.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except IsADirectoryError:
        raise PlanError([f"{path}: is a folder; name the plan file itself"]) from None
    except OSError as error:
        raise PlanError([f"{path}: cannot be read ({error.strerror})"]) from None
    except UnicodeDecodeError:
        raise PlanError([f"{path}: is not UTF-8 text; save it as UTF-8"]) from None
    return read_plan_text(text, name=str(path), folder=path.parent)


def read_plan_text(text: str, *, name: str = "plan", folder: str | Path = ".") -> Plan:
    """Read a plan from text; see `read_plan`. Tables of tests are looked for in *folder*."""
    folder = Path(folder)
    try:
        document = tomllib.loads(text)
    except ValueError as error:  # TOMLDecodeError, and whole numbers of thousands of digits
        raise PlanError([f"{name}: not valid TOML: {error}"]) from None
    except RecursionError:
        raise PlanError([f"{name}: not a plan: lists or tables are nested hundreds deep"]) from None
    top = Fields(name, document)
    site_table = top.table("site", required=True)
    rules_table = top.table("rules")
    vapour_tables = top.tables("vapour")
    product_tables = top.tables("product")
    sample_tables = top.tables("samples")
    cartridge_tables = top.tables("cartridge")
    task_tables = top.tables("task")
    top.done()
    if not task_tables and not top.faults:
        top.faults.append(f"{name}: no task is given; add at least one [[task]]")
    site, common = _read_site(site_table)
    own = _by_id(vapour_tables, _read_vapour, "name")
    rules = _read_rules(rules_table, own)
    faults = top.faults + site_table.faults + rules_table.faults
    if faults:
        raise PlanError(faults)

    products = _by_id(product_tables, lambda t: read_product(t, own), "name")
    samples = _by_id(sample_tables, lambda t: read_samples_entry(t, folder), "id")
    cartridges = _by_id(cartridge_tables, lambda t: read_cartridge(t, own, folder), "id")
    twice = _repeated(t.peek("id") for t in task_tables)
    tasks = tuple(_read_task(t, rules, common, own, products, cartridges, samples, twice) for t in task_tables)
    used = {t.cartridge.name for t in tasks if isinstance(t, Task)} | {str(t.peek("cartridge")) for t in task_tables}
    poured = {str(p.get("name")).strip() for t in task_tables for p in _listed(t.peek("product"))}
    told = {fault for t in tasks if isinstance(t, FaultyTask) for fault in t.faults}
    untold = [
        fault
        for t in cartridge_tables + vapour_tables + product_tables + sample_tables
        for fault in t.faults
        if fault not in told
    ]
    return Plan(
        site, rules, tasks, tuple(c for c in cartridges if c not in used), text, tuple(dict.fromkeys(untold)),
        unused_products=tuple(name for name in products if name not in poured),
    )  # fmt: skip


def _listed(value: Any) -> list[dict[str, Any]]:
    return [item for item in value if isinstance(item, dict)] if isinstance(value, list) else []


def _repeated(ids: Iterable[Any]) -> set[Any]:
    seen: set[str] = set()
    twice: set[str] = set()
    for i in ids:
        if isinstance(i, str):
            (twice if i.strip() in seen else seen).add(i.strip())
    return twice


@dataclass(frozen=True)
class _Common:
    """What a task takes from the site unless it says otherwise."""

    altitude: Any
    pressure: Any
    oxygen: Any
    date: str
    where: Jurisdiction | None = None


def _read_site(site: Fields) -> tuple[Site, _Common]:
    name = site.text("name", required=True, example='"Harbour workshop"')
    who = site.text("prepared_by", required=True, example='"name and role"')
    date = site.text("date", required=True, example="2026-05-01")
    named = site.text("jurisdiction")
    where: Jurisdiction | None = site.attempt(lambda: jurisdiction(named)) if named else None
    made = Site(
        name=name,
        prepared_by=who,
        date=date,
        reviewed_by=site.text("reviewed_by"),
        invented=site.flag("invented"),
        note=site.text("note"),
        jurisdiction="" if where is None else where.name,
    )
    altitude, pressure, oxygen = site.single("altitude"), site.single("pressure"), site.single("oxygen")
    both = "altitude" in site.values and "pressure" in site.values
    if both or not ("altitude" in site.values or "pressure" in site.values):
        state = "both are given" if both else "neither is given"
        site.faults.append(
            f'{site.where}: altitude, pressure: {state}; give one, for example altitude = "0 m" at sea level'
        )
    for key, word, value in (("altitude", "altitude", altitude), ("pressure", "pressure", pressure)):
        if value is not None:
            site.attempt(lambda w=word, v=value, k=key: read(w, v, as_argument=k))  # type: ignore[misc]
    if oxygen is not None:
        site.attempt(lambda: read("oxygen", oxygen))
    site.done()
    return made, _Common(altitude, pressure, oxygen, date, where)


def _read_rules(rules: Fields, own: dict[str, Any]) -> SiteRules:
    fractions = {k: rules.quantity(k, "exit_fraction") for k in ("challenge_fraction", "limit_fraction")}
    criterion = rules.attempt(lambda: BreakthroughCriterion(**{k: v for k, v in fractions.items() if v is not None}))
    asked = rules.single("coverage")
    coverage = rules.attempt(lambda: read_coverage(asked))
    days = rules.whole("days_opened", 1, 180, default=1)
    basis = rules.text("reuse_basis")
    if days > 1 and not basis:
        rules.faults.append(
            f"{rules.where}: days_opened = {days} lets cartridges be used after the shift in which they were opened; "
            'reuse_basis = "..." must say which desorption data for these vapours and this storage allow it'
        )
    elif basis and not names_data(basis):
        rules.faults.append(
            f"{rules.where}: reuse_basis = {basis!r} names no data: smell or taste is never the basis of a schedule "
            "(29 CFR 1910.134 preamble), habit is none, and a bag does not stop vapour from migrating in the carbon; "
            "name the desorption data"
        )
    tested = _read_reuse_vapours(rules, own, days)
    stored_at = rules.quantity("stored_at", "relative_humidity")
    if stored_at is not None and (slip := humidity_slip("stored_at", stored_at)):
        rules.faults.append(f"{rules.where}: {slip}")
    if days > 1 and "stored_at" not in rules.values:
        rules.faults.append(
            f"{rules.where}: days_opened = {days} needs stored_at, the highest relative humidity where opened "
            'cartridges are kept, for example stored_at = "60 %": damp carbon holds less vapour'
        )
    longest = rules.quantity("longest_interval", "change_interval")
    whose = rules.text("longest_interval_source")
    if longest is not None and (not whose or longest <= 0):
        rules.faults.append(
            f"{rules.where}: longest_interval needs a time above 0, and "
            'longest_interval_source = "whose rule, and its date"'
        )
    if longest is not None and whose and not _YEAR.search(whose):
        rules.faults.append(
            f"{rules.where}: longest_interval_source = {whose!r:.80} has no year; a borrowed rule is kept with whose "
            'it is and its date, for example "university table of 2021"'
        )
    if whose and rests_on_smell(whose):
        rules.faults.append(
            f"{rules.where}: longest_interval_source = {whose!r:.80}: smell or taste is never the basis of a schedule "
            "(29 CFR 1910.134 preamble); name the rule without it, or leave it out"
        )
    counts = rules.text("longest_interval_counts") or _COUNTS[0]
    if counts not in _COUNTS or ("longest_interval_counts" in rules.values and longest is None):
        rules.faults.append(
            f"{rules.where}: longest_interval_counts = {counts!r} goes with longest_interval and is "
            f"{' or '.join(repr(c) for c in _COUNTS)}: from first putting on, or what was worn, over several shifts"
        )
    if whose and "longest_interval" not in rules.values:
        rules.faults.append(f'{rules.where}: longest_interval_source needs longest_interval, for example "8 h"')
    limits_from = rules.text("limits_from") or STRICTEST
    rules.done()
    return SiteRules(
        criterion=criterion or BreakthroughCriterion(),
        limits_from=limits_from,
        days_opened=days,
        reuse_basis=basis,
        reuse_vapours=tested,
        longest_interval=longest,
        longest_interval_source=whose,
        longest_counts_worn=counts == _COUNTS[1],
        coverage=coverage or DEFAULT_COVERAGE,
        stored_at=stored_at,
    )


def _read_reuse_vapours(rules: Fields, own: dict[str, Any], days: int) -> tuple[Vapour, ...]:
    """Read which vapours the desorption data are of: others may move in the carbon quite differently."""
    names = rules.raw("reuse_vapours")
    if names is None:
        if days > 1:
            rules.faults.append(
                f"{rules.where}: days_opened = {days} needs reuse_vapours, the vapours that the data are of, "
                'for example reuse_vapours = ["toluene", "m-xylene"]; a set that was worn in others is not kept. '
                "[] keeps only packs that were opened and not worn"
            )
        return ()
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        rules.faults.append(f'{rules.where}: reuse_vapours = {names!r:.80} must be a list of names, ["toluene"]')
        return ()
    found: list[Vapour] = []
    for name in names:
        mine = own.get(name.strip())
        if isinstance(mine, list):
            rules.faults.append(f"{rules.where}: reuse_vapours: {name!r} is a [[vapour]] with a fault: {mine[0]}")
            continue
        try:
            found.append(mine or find_vapour(name))
        except UnknownVapour as error:
            rules.faults.append(f"{rules.where}: reuse_vapours: {error}")
    return tuple(found)


def _by_id(tables: list[Fields], reader: Callable[[Fields], Any], key: str) -> dict[str, Any]:
    """Read tables that tasks refer to; a faulty one becomes its list of faults."""
    twice = _repeated(t.peek(key) for t in tables)
    made: dict[str, Any] = {}
    for t in tables:
        label = t.peek(key)
        value = reader(t)
        if not isinstance(label, str) or not label.strip():
            continue  # its fault is reported with the plan: no task can refer to it
        label = label.strip()
        if label in twice:
            t.faults.append(f"{t.where}: {key} {label!r} is used twice; give each its own")
        before = made.get(label)
        made[label] = [*(before if isinstance(before, list) else []), *t.faults] if t.faults else value
    return made


_VAPOUR_WORDS = ("cas", "formula", "limit_authority", "limit_kind")
_VAPOUR_VALUES = (
    "molar_mass", "boiling_point", "saturation_temperature", "liquid_density", "liquid_density_temperature",
    "refractive_index", "molar_polarization", "exposure_limit", "idlh",
)  # fmt: skip


def _read_vapour(fields: Fields) -> Vapour | None:
    name = fields.text("name", required=True, example='"solvent X"')
    given: dict[str, Any] = {k: v for k in _VAPOUR_WORDS if (v := fields.text(k))}
    given |= {k: v for k in _VAPOUR_VALUES if (v := fields.single(k)) is not None}
    mixes = fields.flag("mixes_with_water")
    if "mixes_with_water" in fields.values:  # left out is not the same as false
        given["mixes_with_water"] = mixes
    pressures = fields.peek("saturation_pressure")
    if isinstance(pressures, dict):  # temperature = pressure, several points
        fields.asked.append("saturation_pressure")
        points = Fields(f"{fields.where}, saturation_pressure", pressures)
        given["saturation_pressure"] = {k: points.single(k) for k in points.values}
        fields.faults += points.faults
    elif (pressures := fields.single("saturation_pressure")) is not None:
        given["saturation_pressure"] = pressures
    fields.text("data_from", required=True, example='"safety data sheet of 2025, section 9"')
    fields.done()
    if fields.faults:
        return None
    _refuse_disguise(fields, name, given.get("cas", ""))
    made: Vapour | None = fields.attempt(lambda: define_vapour(name, **given))
    return made


def _refuse_disguise(fields: Fields, name: str, cas: str) -> None:
    """A listed substance described anew keeps its number, and with it its limits and rules."""
    for key in filter(None, (cas, name)):
        try:
            listed = find_vapour(key)
        except UnknownVapour:
            continue
        if listed.cas != cas:
            fields.faults.append(
                f'{fields.where}: {key!r} is the listed vapour {listed.name}; write cas = "{listed.cas}" so that its '
                "limits and rules hold, or give another substance another name"
            )


def _read_task(
    task: Fields,
    rules: SiteRules,
    common: _Common,
    own: dict[str, Any],
    products: dict[str, Any],
    cartridges: dict[str, Any],
    samples: dict[str, Any],
    twice: set[Any],
) -> Task | FaultyTask:
    identity = task.text("id", required=True, example='"gluing"')
    if identity in twice:
        task.faults.append(f"{task.where}: id {identity!r} is used twice; give each task its own")
    description = task.text("description")
    bed = _find_cartridge(task, cartridges)
    mask = _read_mask(task, common)
    work, flow = _read_work(task)
    if mask is not None and mask.powered and work is not None:
        task.faults.append(
            f"{task.where}: work_phases: a {mask.name} draws what its blower gives, however hard the work; write the "
            'blower flow, for example work_rate = "170 L/min"'
        )
    elif mask is not None and mask.powered and flow is not None and flow.kind != "given":
        task.faults.append(
            f"{task.where}: work_rate = {task.peek('work_rate')!r}: a {mask.name} draws what its blower gives; write "
            'the blower flow, for example work_rate = "170 L/min"'
        )
    elif mask is not None and flow is not None and flow.value < mask.least_blower_flow * (1 - 1e-9):
        least = term("flow_rate").show(mask.least_blower_flow)
        task.faults.append(
            f"{task.where}: work_rate = {flow.printed} is less than the {least} that the blower of a {mask.name} must "
            "give (42 CFR 84); less flow makes cartridges seem to last longer. Measure it, or read its approval"
        )
    air = _read_air(task, common)
    hours = task.quantity("hours_of_use", "change_interval", required=True, example='"6 h"')
    if hours is not None and not 0 < hours <= _LONGEST_SPAN:
        shown = term("change_interval").show(hours)
        task.faults.append(f"{task.where}: hours_of_use = {shown}: from first donning to last doffing, above 0 to 24 h")
        hours = None
    if work is not None and hours is not None and abs(work.span - hours) > _ROUNDED:
        show = term("change_interval").show
        task.faults.append(
            f"{task.where}: work_phases are {show(work.span)} together, hours_of_use is {show(hours)}; name the work "
            "of all that time, breaks at the rate beside them"
        )
    breaks = _read_breaks(task, hours)
    days = task.whole("days_per_week", 1, 7)
    start = _read_start(task)
    acknowledged = task.text("acknowledge_outside_model")
    worn = None if hours is None else max(hours - sum(b.length for b in breaks), 0.0) or hours
    eye_protection = task.text("eye_protection")
    if eye_protection and " ".join(eye_protection.lower().split()) not in GOGGLES:
        task.faults.append(
            f"{task.where}: eye_protection = {eye_protection!r:.80} is not known to keep vapour from the eyes; "
            f"write one of {', '.join(GOGGLES)}, or leave it out"
        )
    exposure = read_exposure(task, rules, own, products, air, common.where or jurisdiction(), samples, worn, hours)
    days_open = _days_open(task, bed, common)
    _refuse_expired(task, bed, common)
    task.done()
    if task.faults or bed is None or mask is None or flow is None or air is None or hours is None:
        return FaultyTask(identity or task.where, description, tuple(task.faults))
    return Task(
        id=identity,
        description=description,
        cartridge=bed.cartridge,
        cartridge_data_from=bed.data_from,
        cartridge_description=bed.description,
        mask=mask,
        flow=flow,
        air=air,
        inhaled=exposure.inhaled,
        based_on=exposure.based_on,
        hours_of_use=hours,
        days_per_week=days,
        work=work,
        breaks=breaks,
        shift_start=start,
        acknowledged=acknowledged,
        not_known=exposure.not_known,
        history=_history(bed, rules),
        kept_history=_kept_history(bed, rules, air),
        days_open=days_open,
        discard_by=_discard_by(bed, rules),
        products=exposure.products,
        total=exposure.total,
        index=exposure.index,
        notices=exposure.notices,
        forbidden=exposure.forbidden,
        designs=exposure.designs,
        eye_protection=eye_protection,
    )


def _read_work(task: Fields) -> tuple[Work | None, Datum | None]:
    """One work rate, or phases of unlike work with the flow of the hardest."""
    if task.peek("work_phases") is None:
        task.asked.append("work_phases")
        flow: Datum | None = _of(task, "work_rate", breathing_rate, '"moderate"')
        return None, flow
    pairs: list[tuple[Any, Any]] = []
    for phase in task.tables("work_phases"):
        pair = phase.single("work_rate", required=True, example='"heavy"'), phase.single("length", required=True)
        phase.done()
        task.faults += [f"{task.where}, {fault}" for fault in phase.faults]
        if None not in pair:
            pairs.append(pair)
    if task.peek("work_rate") is not None:
        task.asked.append("work_rate")
        task.faults.append(f"{task.where}: work_rate and work_phases are both given; give one of them")
    made: Work | None = None if task.faults else task.attempt(lambda: describe_work(pairs))
    return made, None if made is None else made.highest


def _read_mask(task: Fields, common: _Common) -> Facepiece | None:
    """The facepiece, with the factor of the jurisdiction or the programme's own."""
    name = task.single("facepiece", required=True, example='"half mask"')
    factor, evidence = task.single("protection_factor"), task.text("protection_factor_evidence")
    if name is None:
        return None
    made: Facepiece | None = task.attempt(
        lambda: facepiece(
            name, jurisdiction=common.where or jurisdiction(), protection_factor=factor, evidence=evidence
        )
    )
    return made


def _days_open(task: Fields, bed: KnownCartridge | None, common: _Common) -> int:
    """Days from the opening of the packs to the date of the plan."""
    if bed is None or bed.opened_on is None:
        return 0
    try:
        days = (dt.date.fromisoformat(common.date) - bed.opened_on).days
    except ValueError:
        task.faults.append(
            f"[site]: date = {common.date!r} is no date (2026-05-01), so nobody can tell how long cartridge "
            f"{bed.cartridge.name} has been open"
        )
        return 0
    if days < 0:
        task.faults.append(
            f"cartridge {bed.cartridge.name}: opened_on = {bed.opened_on} is after the date of the plan, {common.date}"
        )
    return max(days, 0)


def _history(bed: KnownCartridge, rules: SiteRules) -> CarbonHistory:
    """The dampest air that a set has been open in before it is put on for the first time.

    Packs that are open lie in the site's store until they are used up.
    """
    if bed.stored_at is None:
        return SEALED
    return describe_history(dampest_air=max(bed.stored_at, rules.stored_at or 0.0))


def _kept_history(bed: KnownCartridge, rules: SiteRules, air: Air) -> CarbonHistory:
    """The same of a set that was worn in this air and kept."""
    return describe_history(dampest_air=max(bed.stored_at or 0.0, rules.stored_at or 0.0, air.relative_humidity.value))


def _discard_by(bed: KnownCartridge, rules: SiteRules) -> str:
    """The last day of packs that are open already."""
    if bed.opened_on is None:
        return ""
    last = bed.opened_on + dt.timedelta(days=rules.days_opened - 1)
    return str(last if bed.cartridge.expires is None else min(last, bed.cartridge.expires))


def _refuse_expired(task: Fields, bed: KnownCartridge | None, common: _Common) -> None:
    """A pack past its date has no life to speak of: whatever the carbon was, nobody stands for it."""
    if bed is None or bed.cartridge.expires is None:
        return
    try:
        today = dt.date.fromisoformat(common.date)
    except ValueError:
        task.faults.append(
            f"[site]: date = {common.date!r} is no date (2026-05-01), so nobody can tell whether cartridge "
            f"{bed.cartridge.name} has expired"
        )
        return
    if today > bed.cartridge.expires:
        task.faults.append(
            f"cartridge {bed.cartridge.name}: expires = {bed.cartridge.expires} is before the date of the plan, "
            f"{common.date}: discard these packs and plan with fresh ones"
        )


def _of(task: Fields, key: str, reader: Callable[[Any], Any], example: str) -> Any:
    value = task.single(key, required=True, example=example)
    return None if value is None else task.attempt(lambda: reader(value))


def _find_cartridge(task: Fields, cartridges: dict[str, Any]) -> KnownCartridge | None:
    wanted = task.text("cartridge", required=True, example='"pair-A"')
    if not wanted:
        return None
    if wanted not in cartridges:
        known = ", ".join(cartridges) or "none"
        task.faults.append(f"{task.where}: cartridge {wanted!r} is not among the [[cartridge]] entries ({known})")
        return None
    found = cartridges[wanted]
    if isinstance(found, list):
        task.faults += found
        return None
    bed: KnownCartridge = found
    return bed


def _read_air(task: Fields, common: _Common) -> Air | None:
    temperature = task.single("temperature", required=True, example='"25 degC" (the highest that occurs)')
    humidity = {key: value for key in HUMIDITY_MEASURES if (value := task.single(key)) is not None}
    if not any(key in task.values for key in HUMIDITY_MEASURES):
        task.faults.append(
            f'{task.where}: relative_humidity is missing, for example relative_humidity = "65 %" (the highest that '
            f"occurs); or give one of {', '.join(HUMIDITY_MEASURES[1:])}, read together with the temperature"
        )
    if "relative_humidity" in humidity:
        written = task.attempt(lambda: read("relative_humidity", humidity["relative_humidity"]))
        if written is None:
            return None
        if slip := humidity_slip("relative_humidity", float(written)):
            task.faults.append(f"{task.where}: {slip}")
    oxygen = task.single("oxygen")
    oxygen = common.oxygen if oxygen is None else oxygen
    if temperature is None or not humidity:
        return None
    air: Air | None = task.attempt(
        lambda: describe_air(
            temperature=temperature,
            **humidity,
            altitude=common.altitude,
            pressure=common.pressure,
            oxygen=oxygen,
        )
    )
    return air


def _read_breaks(task: Fields, hours: float | None) -> tuple[Break, ...]:
    value = task.raw("breaks")
    if value is None:
        return ()
    if not isinstance(value, list):
        task.faults.append(
            f'{task.where}: breaks must be a list, for example breaks = [{{after = "2 h", length = "15 min"}}]'
        )
        return ()
    made: list[Break] = []
    for number, item in enumerate(value, start=1):
        fields = Fields(f"{task.where}, breaks no. {number}", item)
        after = fields.quantity("after", "worn_time", required=True, example='"2 h"')
        length = fields.quantity("length", "worn_time", required=True, example='"15 min"')
        fields.done()
        task.faults += fields.faults
        if after is None or length is None:
            continue
        earliest = made[-1].after + made[-1].length if made else 0.0
        if after < earliest or length <= 0 or (hours is not None and after + length > hours * (1 + 1e-9)):
            task.faults.append(
                f"{fields.where}: after {term('change_interval').show(after)} for {term('worn_time').show(length)} is "
                "not inside hours_of_use, overlaps the break before it, or has no length"
            )
            continue
        made.append(Break(after, length))
    return tuple(made)


def _read_start(task: Fields) -> dt.time | None:
    value = task.raw("shift_start")
    if value is None or isinstance(value, dt.time):
        return value
    try:
        return dt.time.fromisoformat(value)
    except (TypeError, ValueError):
        task.faults.append(
            f'{task.where}: shift_start = {value!r:.80} is not a time of day; write shift_start = "07:00"'
        )
        return None
