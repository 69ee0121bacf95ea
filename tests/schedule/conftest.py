"""A small plan whose every key can be replaced or taken away."""

from __future__ import annotations

import pytest

from respcalc.schedule import make_schedule, read_plan_text

SITE = {
    "name": '"Harbour workshop (invented)"',
    "prepared_by": '"A. Example (invented)"',
    "date": "2026-05-04",
    "altitude": '"0 m"',
    "oxygen": '"20.9 %"',
}
BED = {
    "id": '"pair"',
    "data_from": '"weighed and measured (invented)"',
    "sorbent_mass": '"45 g"',
    "face_area": '"45 cm2"',
    "bed_depth": '"2.2 cm"',
    "in_parallel": "2",
}
TASK = {
    "id": '"gluing"',
    "cartridge": '"pair"',
    "facepiece": '"half mask"',
    "work_rate": '"moderate"',
    "temperature": '"25 degC"',
    "relative_humidity": '"50 %"',
    "hours_of_use": '"8 h"',
    "days_per_week": "5",
}
VAPOUR = {"name": '"toluene"', "concentration": '"100 ppm"', "based_on": '"6 samples (invented)"'}


def _table(head, keys, changes):
    merged = {k: v for k, v in (keys | changes).items() if v is not None}
    return "\n".join([head, *(f"{k} = {v}" for k, v in merged.items()), ""])


def _task(changes=None, vapours=({},)):
    tables = [_table("[[task]]", TASK, changes or {})]
    tables += [_table("[[task.vapour]]", VAPOUR, v) for v in vapours]
    return "\n".join(tables)


def _plan(task=None, vapours=({},), *, bed=None, site=None, rules=None, extra="", tasks=None):
    return "\n".join(
        [
            _table("[site]", SITE, site or {}),
            _table("[rules]", {}, rules or {}),
            _table("[[cartridge]]", BED, bed or {}),
            extra,
            *(tasks if tasks is not None else [_task(task, vapours)]),
        ]
    )


def _entry(*args, **kwargs):
    return make_schedule(read_plan_text(_plan(*args, **kwargs))).entries[0]


@pytest.fixture(scope="session")
def task_text():
    """TOML of one task; values are TOML literals, None takes a key away."""
    return _task


@pytest.fixture(scope="session")
def plan_text():
    """TOML of a whole plan, ``plan_text({"hours_of_use": '"4 h"'}, [{"name": '"MEK"'}], bed=..., rules=...)``."""
    return _plan


@pytest.fixture(scope="session")
def entry():
    """The first line of the schedule made from such a plan."""
    return _entry
