"""All safety policy: the plan, the change interval, the written record."""

from __future__ import annotations

from respcalc.schedule.documents import demo_plan, write_documents
from respcalc.schedule.interval import Change, ChangeMoment, change_moments, decide_change, low_boiling, round_down
from respcalc.schedule.make import Entry, Schedule, make_schedule, spell_out
from respcalc.schedule.plan import Break, FaultyTask, Plan, Site, SiteRules, Task
from respcalc.schedule.plan_reader import read_plan, read_plan_text

__all__ = [
    "Break",
    "Change",
    "ChangeMoment",
    "Entry",
    "FaultyTask",
    "Plan",
    "Schedule",
    "Site",
    "SiteRules",
    "Task",
    "change_moments",
    "decide_change",
    "demo_plan",
    "low_boiling",
    "make_schedule",
    "read_plan",
    "read_plan_text",
    "round_down",
    "spell_out",
    "write_documents",
]
