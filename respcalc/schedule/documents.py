"""What is written down: the schedule as CSV, and the record as one printable page."""

from __future__ import annotations

import csv
import io
import math
from contextlib import suppress
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import PlanError
from respcalc.core.sources import source
from respcalc.core.version import __version__
from respcalc.core.vocabulary import term
from respcalc.estimate import CAUTIONS, SHORT_CAUTION, ServiceLife, VaryingLife
from respcalc.schedule.drawings import curve_svg, samples_svg
from respcalc.schedule.make import Entry, Schedule, spell_out
from respcalc.schedule.plan import Plan, Site, Task
from respcalc.schedule.plan_reader import read_plan_text
from respcalc.schedule.product_reader import NO_AIR_LEVELS
from respcalc.workplace import ProductInAir
from respcalc.workplace.sampling import DesignConcentration, group_test, preliminary_test

__all__ = ["csv_text", "demo_plan", "record_html", "write_documents"]

_CSV_NAME, _RECORD_NAME = "change_schedule.csv", "change_schedule_record.html"
_LONG_ENOUGH = 2 * 3600.0
_FEWEST = 3  # results for the preliminary test of EN 689
_GROUP = 6  # results from which EN 689 takes its group test
_LIVE_IN_A_SPREADSHEET = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def demo_plan() -> Plan:
    """The plan of an invented boatyard that the library carries."""
    folder = Path(str(resources.files("respcalc.schedule").joinpath("data")))
    text = (folder / "demo_plan.toml").read_text(encoding="utf-8")
    return read_plan_text(text, name="demo plan", folder=folder)


def write_documents(schedule: Schedule, folder: str | Path) -> tuple[Path, Path]:
    """Write ``change_schedule.csv`` and the record ``change_schedule_record.html`` into a folder.

    Parameters
    ----------
    schedule
        From `make_schedule`.
    folder
        Made if it does not exist. Files of the same names are replaced.

    Returns
    -------
    tuple of Path

    Raises
    ------
    PlanError
        The folder cannot be made or written to.
    """
    folder = Path(folder)
    # Spreadsheets take a CSV for UTF-8 only with the mark in front.
    texts = {
        folder / _CSV_NAME: csv_text(schedule).encode("utf-8-sig"),
        folder / _RECORD_NAME: record_html(schedule).encode("utf-8"),
    }
    drafts: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in texts.items():
            if path.is_dir():
                raise IsADirectoryError(0, f"{path.name} is a folder")
            drafts.append(path.with_suffix(path.suffix + ".new"))
            drafts[-1].write_bytes(content)
        # Both are complete before either takes the place of an older one: they never disagree.
        for draft, path in zip(drafts, texts, strict=True):
            draft.replace(path)
    except OSError as error:
        for draft in drafts:
            with suppress(OSError):
                draft.unlink()
        raise PlanError(
            [f"output folder {folder}: cannot be written ({error.strerror}); choose another with -o"]
        ) from None
    return folder / _CSV_NAME, folder / _RECORD_NAME


def _cell(value: Any) -> Any:
    """Text that a spreadsheet would run as a formula gets an apostrophe; numbers never do.

    So does text that already begins with one before such a sign: taking one apostrophe away from
    either gives the exact text back.
    """
    if isinstance(value, str) and value.lstrip("'").startswith(_LIVE_IN_A_SPREADSHEET):
        return "'" + value
    return value


def csv_text(schedule: Schedule) -> str:
    """The schedule as CSV with units in the header, one row a task."""
    out = io.StringIO()
    rows = [_csv_row(entry, schedule.plan.site) for entry in schedule.entries]
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({k: _cell(v) for k, v in row.items()} for row in rows)
    return out.getvalue()


def _csv_row(entry: Entry, site: Site) -> dict[str, Any]:
    task, change, life = entry.task, entry.change, entry.life
    hours: Any = "" if change is None or change.interval is None else _down(change.interval / 3600.0)
    trusted = _trusted(entry)
    lasts = task.lasts if isinstance(task, Task) else float
    return {
        "site": site.name,
        "plan_date": site.date,
        "prepared_by": site.prepared_by,
        "jurisdiction": site.jurisdiction or "not named (US tables)",
        "task": task.id,
        "description": task.description,
        "status": entry.status,
        "instruction": entry.instruction,
        "change_interval [h]": hours,
        "change_moments": "; ".join(entry.moments),
        "sets_per_week": round(entry.sets_per_week, 2) if entry.status == "interval" else "",
        "cartridge": task.cartridge.name if isinstance(task, Task) else "",
        "facepiece": task.worn if isinstance(task, Task) else "",
        "hours_of_use [h]": round(task.hours_of_use / 3600.0, 3) if isinstance(task, Task) else "",
        "shift_start": f"{task.shift_start:%H:%M}" if isinstance(task, Task) and task.shift_start else "",
        "days_per_week": task.days_per_week if isinstance(task, Task) else "",
        "products": task.used if isinstance(task, Task) else "",
        "flow": "" if not isinstance(task, Task) else task.flow.printed if task.work is None else task.work.text,
        "vapours": "; ".join(life.components) if life else _vapours(task),
        "breakthrough_time [h]": "" if trusted is None else _down(lasts(trusted.breakthrough.value) / 3600.0),
        "central_estimate [h]": "" if trusted is None else _down(lasts(trusted.central.value) / 3600.0),
        "service_life [h]": "" if trusted is None else _down(lasts(trusted.life.value) / 3600.0),
        "coverage": "" if trusted is None else trusted.margin.coverage_in_words,
        "interval_set_by": change.set_by if change else "",
        "conditions": " | ".join(entry.conditions),
        "why_no_interval": " | ".join(entry.reasons),
        "caution": SHORT_CAUTION,
    }


def _trusted(entry: Entry) -> ServiceLife | None:
    """The estimate, unless it may not be relied on at all: then nobody should be able to copy its times."""
    life = entry.life
    return life if life is not None and (entry.status == "interval" or not life.outside_model) else None


def _down(hours: float) -> float:
    """Hours to two decimals, downwards."""
    return int(hours * 100 + 1e-6) / 100


def _vapours(task: Any) -> str:
    if not isinstance(task, Task):
        return ""
    show = term("volume_fraction").show
    return "; ".join(
        f"{p.vapour.name} (CAS {p.vapour.cas or 'not given'}), {show(p.concentration)}" for p in task.inhaled
    )


@cache
def _template() -> Any:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("respcalc.schedule", "data"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("record.html")


def record_html(schedule: Schedule) -> str:
    """The written record: one self-contained page that prints on paper."""
    keys = dict.fromkeys(d.source for e in schedule.entries if e.life for d in e.life.basis.data if d.source)
    numbers = {key: n for n, key in enumerate(keys, start=1)}
    text: str = _template().render(
        schedule=schedule,
        how_known=lambda d: _how_known(d, numbers),
        sources=[source(key) for key in keys],
        site=schedule.plan.site,
        rules=schedule.plan.rules,
        entries=[_for_page(e) for e in schedule.entries],
        cautions=CAUTIONS,
        short_caution=SHORT_CAUTION,
        version=__version__,
        spell_out=spell_out,
        no_air_levels=NO_AIR_LEVELS,
    )
    return text


def _how_known(datum: Datum, numbers: dict[str, int]) -> str:
    """Kind, number in the list of sources, locator and note of a value."""
    cited = f" [{numbers[datum.source]}]" if datum.source else ""
    return "; ".join(part for part in (f"{datum.kind}{cited}", datum.locator, datum.note) if part)


def _for_page(entry: Entry) -> dict[str, Any]:
    trusted = _trusted(entry)
    return {
        "entry": entry,
        "task": entry.task if isinstance(entry.task, Task) else None,
        "facts": _facts(entry),
        "mixture": _mixture(entry),
        "judged_at": _judged_at(entry),
        "hours": _hours(entry),
        "products": [_product(p) for p in entry.task.products] if isinstance(entry.task, Task) else [],
        "notices": entry.task.notices if isinstance(entry.task, Task) else (),
        "curve": curve_svg(entry, trusted) if trusted else "",
        "designs": [_design(d, entry.task) for d in entry.task.designs] if isinstance(entry.task, Task) else [],
    }


def _hours(entry: Entry) -> str:
    """When a task is done and for how long, in words."""
    task = entry.task
    if not isinstance(task, Task):
        return ""
    start = f"from {task.shift_start:%H:%M}, " if task.shift_start else ""
    days = "1 day" if task.days_per_week == 1 else f"{task.days_per_week} days"
    return f"{start}{spell_out(task.hours_of_use)} a shift, {days} a week"


def _facts(entry: Entry) -> list[tuple[str, str]]:
    """The line of reasoning in numbers: predicted, after margin, told."""
    task, life, change = entry.task, entry.life, entry.change
    if not isinstance(task, Task) or life is None or change is None:
        return []
    told = "none" if change.interval is None else spell_out(change.interval)
    if change.shifts > 1:
        told += f" ({change.shifts} whole shifts)"
    predicted, central, left = (
        spell_out(task.lasts(datum.value)) for datum in (life.breakthrough, life.central, life.life)
    )
    if life.breakthrough.value <= 0:
        predicted = central = "immediate"
    if life.immediate:
        left = "none"
    elif not _trusted(entry):
        predicted = central = left = "not known"
    facts = [
        ("governed by", life.governed_by),
        ("breakthrough counts at", f"{life.exit_concentration.printed} behind the cartridge"),
        ("predicted breakthrough", predicted),
        ("central estimate", central),
        ("service life after margin", left),
        ("life set by", life.life_set_by + (" (at the highest flow of the phases)" if task.work is not None else "")),
        ("margin", life.margin.note),
        ("coverage", life.margin.coverage_in_words),
        ("change interval", told),
    ]
    if change.set_by:
        facts.append(("interval set by", change.set_by))
    if entry.hard_to_keep:
        facts.append(("how often", entry.hard_to_keep))
    if entry.varying is not None:
        facts.append(("as the concentration varies", _varying(entry.varying)))
    if task.work is not None:
        facts.append(
            (
                "phases of work",
                f"{task.work.text}. Times are for these phases, the hardest first whatever the order; kinetics at the "
                f"highest flow. At that flow throughout the service life would be {spell_out(life.life.value)}",
            )
        )
    facts += [("no longer than", f"{spell_out(c.longest)}: {c.reason}") for c in change.caps]
    facts += [("outside the model", text) for text in life.outside_model]
    if life.outside_model and task.acknowledged:
        facts.append(("accepted outside the model", task.acknowledged))
    return facts


def _varying(found: VaryingLife) -> str:
    """What the concentrations as they vary would allow, and why it does not count."""
    told = "not known" if found.life is None else spell_out(found.life.value)
    return (
        f"{told} ({found.because}). Shown for comparison: the interval rests on the highest concentration throughout, "
        "which never gives more"
    )


def _mixture(entry: Entry) -> list[dict[str, Any]]:
    """Each vapour of a mixture as a row of text, the one that leaves first in front."""
    task, life = entry.task, entry.life
    if not isinstance(task, Task) or life is None:
        return []
    trusted = _trusted(entry) is not None
    shortest = min((part.life_at_sum.value for part in life.mixture), default=0.0)

    def time(datum: Datum, at_zero: str) -> str:
        if not trusted:
            return "not known"
        return spell_out(task.lasts(datum.value)) if datum.value > 0 else at_zero

    rows = []
    for part in life.mixture:
        held = next(p.limits.least for p in task.inhaled if p.vapour.name == part.vapour)
        rows.append(
            {
                "vapour": part.vapour,
                "cas": part.cas or "not given",
                "concentration": part.concentration.printed,
                "limit": f"{held.value.printed} {held.kind} ({held.authority})",
                "alone": time(part.time_alone, "immediate"),
                "at_sum": time(part.time_at_sum, "immediate"),
                "life": time(part.life_at_sum, "none"),
                "shortest": trusted and part.life_at_sum.value == shortest,
                "leaves": _ordinal(part.leaves),
                "leaves_at": part.leaves_at.printed,
                "of_limit": f"{part.share_of_limit:.3g} times its limit",
            }
        )
    return rows


def _ordinal(number: int) -> str:
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _judged_at(entry: Entry) -> str:
    """The summed concentration that a mixture is judged at, beside the sum of the rows if that is more."""
    task, life = entry.task, entry.life
    if not isinstance(task, Task) or life is None:
        return ""
    show = term("volume_fraction").show
    rows = math.fsum(part.concentration for part in task.inhaled)
    total = rows if task.total is None else task.total
    if total >= rows * (1 - 1e-9):
        return f"{show(total)}, the sum of the concentrations below"
    return (
        f"{show(total)}, the total; the highest concentrations below do not occur together and sum to {show(rows)}, so "
        "that what they leave at is an upper bound"
    )


def _product(there: ProductInAir) -> dict[str, Any]:
    """A product in the air as text."""
    product, show = there.product, term("volume_fraction").show
    of_liquid = term("liquid_share").show
    rows = [
        {
            "vapour": i.vapour.name,
            "cas": i.vapour.cas or "not given",
            "share": i.share.printed,
            "fresh": show(part.fresh),
            "highest": show(part.highest),
        }
        for i, part in zip(product.ingredients, there.parts, strict=True)
    ]
    for word, share in (("gives no vapour", product.not_volatile), ("unknown", product.unknown)):
        if share:
            rows.append({"vapour": word, "cas": "", "share": of_liquid(share), "fresh": "", "highest": ""})
    return {
        "name": product.name,
        "basis": product.basis,
        "data_from": product.data_from,
        "total": there.total.printed,
        "based_on": there.based_on,
        "rows": rows,
    }


def _design(made: DesignConcentration, task: Task) -> dict[str, Any]:
    """The way from air samples to a concentration as text."""
    group = made.samples
    return {
        "title": group.title,
        "planned": made.value.printed,
        "label": "confidence as usual" if made.label == "usual" else made.label,
        "chosen": made.chosen,
        "because": made.because,
        "ruled": "nothing: too few samples" if made.rule is None else made.rule.printed,
        "candidates": [
            {"name": c.name, "value": c.value.printed, "how": c.how, "counts": c.counts} for c in made.candidates
        ],
        "samples": [str(s) for s in group.samples],
        "report": group.report,
        "reasons": made.reasons,
        "notes": made.notes,
        "picture": samples_svg(made),
        "compliance": _compliance(made, task),
    }


def _compliance(made: DesignConcentration, task: Task) -> list[str]:
    """What EN 689 says of the air without a respirator, where the samples can be held against an average limit."""
    held = next((p.limits.long_term for p in task.inhaled if p.vapour == made.samples.vapour), None)
    if held is None or len(made.samples.wear) < _FEWEST:
        return []
    if any(s.sampled is None or s.sampled < _LONG_ENOUGH for s in made.samples.wear):
        return [
            "not held against the limit here: EN 689 wants samples of 2 h or more where they stand for a shift, and "
            "some of these are shorter, or how long they ran is not stated"
        ]
    test = preliminary_test if len(made.samples.wear) < _GROUP else group_test
    found = test(made.samples, term("exposure_limit").quantity(held.value.value))
    return [f"{found.test}, limit {held.value.printed} ({held.authority}): {found.decision}; {found.because}"]
