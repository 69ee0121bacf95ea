"""A plan becomes a schedule: each task is allowed or refused, estimated, and given its change rule."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from respcalc.cartridges import CarbonHistory
from respcalc.core.basis import Datum
from respcalc.core.errors import RespcalcError
from respcalc.core.sources import source
from respcalc.core.vocabulary import term
from respcalc.estimate import CAUTIONS, ServiceLife, VaryingLife, estimate_inhaled, life_as_it_varies
from respcalc.schedule.interval import Change, decide_change
from respcalc.schedule.plan import FaultyTask, Plan, SiteRules, Task
from respcalc.workplace import Inhaled, Permission, jurisdiction, low_boiling, may_filter

__all__ = ["Entry", "Schedule", "make_schedule", "spell_out"]

_MANY = 4

Status = Literal["interval", "refused", "input fault"]


@dataclass(frozen=True)
class Entry:
    """One task's line on the schedule, with everything behind it."""

    task: Task | FaultyTask
    status: Status
    change: Change | None = None
    life: ServiceLife | None = None
    permission: Permission | None = None
    reasons: tuple[str, ...] = ()  # why refused, or every input fault
    varying: VaryingLife | None = None  # what the concentrations as they vary would allow; it never counts

    @property
    def instruction(self) -> str:
        """What people on the floor are told, in one line."""
        if self.status == "input fault":
            return "NOT COMPUTED: do not start this task until the plan has been mended"
        if self.change is None or self.change.interval is None or not isinstance(self.task, Task):
            return "NO CARTRIDGE: do not start this task until it is settled which respirator it needs"
        expires = self.task.cartridge.expires
        return self._told(self.task, self.change) + ("" if expires is None else f"; none after {expires}")

    @staticmethod
    def _told(task: Task, change: Change) -> str:
        if change.shifts > 1:
            shifts = change.shifts
            if task.discard_by:
                last = task.discard_by
                each = spell_out(task.hours_of_use)
                return (
                    f"one set for {shifts} shifts of {each} each at most, or {change.days} days from first putting on, "
                    f"whichever is first; discard the opened packs at the end of {last}"
                )
            each = spell_out(task.hours_of_use)
            return (
                f"new cartridges after {shifts} shifts of {each} at most each, or {change.days} days from opening, the "
                "day of opening counted, whichever is first"
            )
        opened = f"; the opened packs are used up or discarded by the end of {task.discard_by}"
        opened = opened if task.discard_by else ""
        if not change.moments:
            longest = spell_out(task.hours_of_use)
            return f"new cartridges at the start of every shift; discard at its end, after {longest} at most{opened}"
        every = spell_out(change.interval or 0.0)
        return f"new cartridges at the start of every shift and every {every} after that; discard at its end{opened}"

    @property
    def moments(self) -> tuple[str, ...]:
        """Moments of change within the shift, as clock times where the start is known."""
        if self.change is None or not isinstance(self.task, Task):
            return ()
        if len(self.change.moments) > _MANY and len({m.where for m in self.change.moments}) == 1:
            each = spell_out(self.change.interval or 0.0)
            return (f"every {each} ({self.change.moments[0].where}), {len(self.change.moments)} times a shift",)
        return tuple(f"{_moment(self.task, m.at)} ({m.where})" for m in self.change.moments)

    @property
    def hard_to_keep(self) -> str:
        """What is to be said of very many changes a shift, or nothing."""
        count = 0 if self.change is None else len(self.change.moments)
        if count <= _MANY:
            return ""
        return (
            f"{count} changes a shift, {self.sets_per_week:.3g} sets a week, are hard to keep to: less vapour, more or "
            "larger cartridges, or supplied air are called for"
        )

    @property
    def conditions(self) -> tuple[str, ...]:
        """What goes with the interval, in words: what was accepted, what is not settled, what is warned of."""
        found: list[str] = []
        if self.status == "interval" and isinstance(self.task, Task) and self.life is not None:
            if self.life.outside_model:
                why = "; ".join(self.life.outside_model)
                found.append(f"accepted outside the model, because: {self.task.acknowledged} ({why})")
            found += [self.hard_to_keep] if self.hard_to_keep else []
            found += self.permission.warnings if self.permission else ()
            found += self.life.basis.warnings
        return tuple(dict.fromkeys(found))

    @property
    def sets_per_week(self) -> float:
        if self.change is None or not isinstance(self.task, Task):
            return 0.0
        return self.change.sets_per_shift * self.task.days_per_week

    def as_dict(self) -> dict[str, Any]:
        return {
            "task": self.task.id,
            "description": self.task.description,
            "status": self.status,
            "instruction": self.instruction,
            "moments": list(self.moments),
            "sets_per_week": self.sets_per_week,
            "change": self.change.as_dict() if self.change else None,
            "service_life": self.life.as_dict() if self.life else None,
            "in_phases": self._in_phases(),
            "as_it_varies": self.varying.as_dict() if self.varying else None,
            "conditions": list(self.conditions),
            "permission": self.permission.as_dict() if self.permission else None,
            "design_concentrations": [d.as_dict() for d in self.task.designs] if isinstance(self.task, Task) else [],
            "products": [p.as_dict() for p in self.task.products] if isinstance(self.task, Task) else [],
            "reasons": list(self.reasons),
        }

    def _in_phases(self) -> dict[str, Any] | None:
        """Return the work and the times in its phases; what stands under service_life is at the highest flow."""
        if not isinstance(self.task, Task) or self.task.work is None or self.life is None:
            return None
        times = {"breakthrough_time": self.life.breakthrough, "service_life": self.life.life}
        return {
            "work": self.task.work.text,
            "notes": list(self.task.work.notes),
            **{k: {"value": self.task.lasts(d.value) / 60.0, "unit": "min"} for k, d in times.items()},
        }


@dataclass(frozen=True)
class Schedule:
    """The schedule of a whole plan, in the order of its tasks."""

    plan: Plan
    entries: tuple[Entry, ...]

    @property
    def faulty(self) -> bool:
        return bool(self.plan.faults) or any(e.status == "input fault" for e in self.entries)

    @property
    def refused(self) -> bool:
        return any(e.status == "refused" for e in self.entries)

    def as_dict(self) -> dict[str, Any]:
        return {
            "site": self.plan.site.name,
            "date": self.plan.site.date,
            "prepared_by": self.plan.site.prepared_by,
            "tasks": [e.as_dict() for e in self.entries],
            "faults_outside_tasks": list(self.plan.faults),
            "cautions": list(CAUTIONS),
        }

    def as_json(self, indent: int | None = 2) -> str:
        return json.dumps(self.as_dict(), indent=indent, ensure_ascii=False)


def make_schedule(plan: Plan) -> Schedule:
    """Work every task of a plan out.

    Parameters
    ----------
    plan
        From `respcalc.schedule.read_plan`.

    Returns
    -------
    Schedule
        One entry a task. A task that may not use cartridges, or whose input has a fault, says so; the
        others are not affected.
    """
    return Schedule(plan, tuple(_entry(task, plan) for task in plan.tasks))


def _entry(task: Task | FaultyTask, plan: Plan) -> Entry:
    if isinstance(task, FaultyTask):
        return Entry(task, "input fault", reasons=task.faults)
    if task.days_open >= plan.rules.days_opened and task.days_open > 0:
        open_for, kept = (f"{n} day{'s' if n > 1 else ''}" for n in (task.days_open, plan.rules.days_opened))
        reason = (
            f"cartridge {task.cartridge.name} has been open for {open_for} at the date of the plan, and [rules] keep "
            f"an opened one {kept}: discard it. Needed instead: cartridges from sealed packs, or days_opened with the "
            "data that allow it"
        )
        return Entry(task, "refused", reasons=(reason,))
    if wrong_type := task.cartridge.not_for([part.vapour for part in task.inhaled]):
        instead = "Needed instead: a type that is made for it, or an atmosphere-supplying respirator"
        return Entry(task, "refused", reasons=tuple(f"{reason}. {instead}" for reason in wrong_type))
    if no_type := _not_known_to_be_ax(task):
        return Entry(task, "refused", reasons=no_type)
    if task.cartridge.single_use and task.days_open:
        reason = (
            f"cartridge {task.cartridge.name} is made for single use, and its packs were opened before the day of use: "
            "discard it. Needed instead: cartridges from sealed packs, opened when they are put on"
        )
        return Entry(task, "refused", reasons=(reason,))
    permission = may_filter(
        task.inhaled,
        mask=task.mask,
        oxygen=task.air.oxygen,
        use_limit=task.cartridge.use_limit,
        total=task.total,
        index=task.index,
        pressure=task.air.pressure,
        eye_protection=task.eye_protection,
        not_known=task.not_known,
        forbidden=task.forbidden,
        hours_of_use=Datum("change_interval", task.hours_of_use, "given"),
    )
    if not permission.allowed:
        return Entry(task, "refused", permission=permission, reasons=(*_from_few_samples(task), *permission.refusals))
    try:
        life, change, history = _life_and_change(task, plan.rules)
    except RespcalcError as error:
        return Entry(task, "input fault", permission=permission, reasons=(str(error),))
    if change.interval is None:
        return Entry(task, "refused", change, life, permission, (change.refusal,))
    varying = _as_it_varies(task, _estimator(task, plan.rules, history))
    return Entry(task, "interval", change, life, permission, varying=varying)


def _not_known_to_be_ax(task: Task) -> tuple[str, ...]:
    """Where types are made for low boilers, nothing else may be used against them."""
    needed = jurisdiction(task.mask.jurisdiction).low_boiler_type
    if not needed or task.cartridge.most_boiling_point is not None:
        return ()
    return tuple(
        f"{part.vapour.name} boils at {part.vapour.boiling_point.printed}: in {task.mask.jurisdiction} vapours up to "
        f"65 degC need an element of type {needed} ({source('en14387_types').citation}), and cartridge "
        f"{task.cartridge.name} is not known to be one. Needed instead: a fresh element of type {needed} "
        '(certified_as = "EN AX", or filter_type = "AX" where its bed was measured), or an '
        "atmosphere-supplying respirator"
        for part in task.inhaled
        if low_boiling(part.vapour.boiling_point.value)
    )


def _from_few_samples(task: Task) -> tuple[str, ...]:
    """Where a concentration is what samples leave open, more of them may be what is needed."""
    show, found = term("volume_fraction").show, []
    for made in task.designs:
        highest = max(sample.while_worn for sample in made.samples.samples)
        if not made.chosen and made.value.value > highest * (1 + 1e-9):
            found.append(
                f"{made.samples.title}: {made.value.printed} comes of: {made.because}; the highest result is "
                f"{show(highest)}. More samples narrow it; a programme that knows better states concentration and "
                "concentration_because, which the record prints beside it"
            )
    return tuple(found)


def _estimator(
    task: Task, rules: SiteRules, history: CarbonHistory, **more: Any
) -> Callable[[Sequence[Inhaled]], ServiceLife]:
    """Estimate against other concentrations as in this task."""
    return lambda inhaled: estimate_inhaled(
        inhaled,
        cartridge=task.cartridge,
        air=task.air,
        flow=task.flow,
        criterion=rules.criterion,
        coverage=rules.coverage,
        history=history,
        **more,
    )


def _as_it_varies(task: Task, estimate: Callable[[Sequence[Inhaled]], ServiceLife]) -> VaryingLife | None:
    if task.products and any(part.profile for part in task.inhaled):
        return VaryingLife(None, "not worked out beside products, whose vapours are not all at their highest at once")
    try:
        return life_as_it_varies(task.inhaled, estimate)
    except RespcalcError as error:
        return VaryingLife(None, str(error))


def _life_and_change(task: Task, rules: SiteRules) -> tuple[ServiceLife, Change, CarbonHistory]:
    """A set that is kept over several shifts is damp carbon; where that does not pay, a fresh one each time."""

    def life_of(history: CarbonHistory) -> ServiceLife:
        estimate = _estimator(task, rules, history, total=task.total, index=task.index, notes=task.notices)
        return estimate(task.inhaled)

    if task.cartridge.single_use:
        rules = replace(rules, days_opened=1)
    if rules.days_opened - task.days_open > 1 and not rules.without_reuse_data(task.inhaled):
        life = life_of(task.kept_history)
        change = decide_change(task, life, rules)
        if change.shifts > 1:
            return life, change, task.kept_history
    if rules.days_opened - task.days_open > 1:
        rules = replace(rules, days_opened=task.days_open + 1)
    life = life_of(task.history)
    return life, decide_change(task, life, rules), task.history


def _moment(task: Task, seconds: float) -> str:
    if task.shift_start is None:
        return f"{spell_out(seconds)} after the start"
    minutes = task.shift_start.hour * 60 + task.shift_start.minute + int(seconds / 60 + 1e-6)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def spell_out(seconds: float) -> str:
    """A time as people say it, in whole minutes downwards: 45 min, 2 h, 2 h 30 min."""
    if 0 < seconds < 60:
        return "less than 1 min"
    hours, minutes = divmod(int(seconds / 60 + 1e-6), 60)
    parts = ([f"{hours} h"] if hours else []) + ([f"{minutes} min"] if minutes or not hours else [])
    return " ".join(parts)
