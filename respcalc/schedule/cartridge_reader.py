"""The cartridges of a plan: a bed that was measured, one found from tests, or a certificate alone."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from respcalc.cartridges import (
    Cartridge,
    CartridgeTest,
    TestCurve,
    certified_bed,
    describe_bed,
    describe_test,
    fit_bed,
    read_tests,
)
from respcalc.core.basis import Datum
from respcalc.core.errors import RespcalcError, TableError
from respcalc.core.vocabulary import humidity_slip
from respcalc.schedule.toml_fields import Fields
from respcalc.workplace import LOW_BOILING

__all__ = ["KnownCartridge", "read_cartridge"]

_BED_KEYS = (
    "sorbent_mass", "bed_depth", "face_area", "bulk_density", "diameter", "inner_diameter", "outer_diameter",
    "bed_height", "micropore_volume", "characteristic_energy", "granule_diameter", "sieve", "void_fraction",
    "largest_share", "use_limit",
)  # fmt: skip
_CERTIFIED_KEYS = (
    "face_area", "bulk_density", "micropore_volume", "characteristic_energy", "largest_share", "use_limit"
)  # fmt: skip
_TEST_KEYS = (
    "breakthrough_time", "exit_fraction", "concentration", "flow_rate", "temperature", "relative_humidity", "pressure",
)  # fmt: skip


@dataclass(frozen=True)
class KnownCartridge:
    """A cartridge of the plan, where its data are from, and since when it has been open, in which air."""

    cartridge: Cartridge
    data_from: str
    opened_on: dt.date | None = None
    stored_at: float | None = None
    description: str = ""  # by which the floor tells it from others


def read_cartridge(fields: Fields, own: dict[str, Any], folder: Path) -> KnownCartridge | None:
    """Read one [[cartridge]] of a plan.

    Parameters
    ----------
    fields
        Its table; faults are added to it.
    own
        The plan's own vapours, or the faults of each.
    folder
        Of the plan file: a table of tests is looked for beside it.
    """
    name = fields.text("id", required=True, example='"pair-A"')
    source = fields.text("data_from", required=True, example='"three cartridges weighed and measured, March 2026"')
    description = fields.text("description")
    count = fields.single("in_parallel", required=True, example="2")
    certified_as = fields.text("certified_as")
    expires = _date(fields, "expires", "the last day of use on the pack")
    opened_on, stored_at = _read_opening(fields)
    made: Cartridge | None
    if certified_as:
        combination = None if fields.peek("combination") is None else fields.flag("combination")
        fields.asked.append("combination")
        given = {k: v for k in _CERTIFIED_KEYS if (v := fields.single(k)) is not None}
        made = _finish(
            fields,
            lambda: certified_bed(
                name, certified_as, in_parallel=count, combination=combination, expires=expires, **given
            ),
            "certified_as stands for a bed that nobody opened: a bed that was measured is described without it",
        )
    else:
        given = {k: v for k in _BED_KEYS if (v := fields.single(k)) is not None}
        single_use = fields.flag("single_use")
        made_for = _read_type(fields)
        fit = fields.flag("carbon_from_tests")
        tests, curves = _read_tests(fields, own), _read_table(fields, folder)
        if fit and (told := [k for k in ("micropore_volume", "characteristic_energy") if k in given]):
            fields.faults.append(
                f"{fields.where}: carbon_from_tests finds {' and '.join(told)}; leave out one or the other"
            )
        if fit and not tests and not curves and not fields.faults:
            fields.faults.append(
                f"{fields.where}: carbon_from_tests needs tests: [[cartridge.test]], or tests_table with tests_report"
            )

        def describe() -> Cartridge:
            if fit:
                bed = describe_bed(name, in_parallel=count, expires=expires, single_use=single_use, **given)
                return fit_bed(bed, [*tests, *curves]).cartridge
            feet = [test for curve in curves for test in curve.tests()]
            return describe_bed(
                name, in_parallel=count, expires=expires, single_use=single_use, test=[*tests, *feet], **given
            )

        made = _finish(fields, describe)
        if made is not None:
            made = replace(made, least_boiling_point=made_for[0], most_boiling_point=made_for[1])
    return None if made is None else KnownCartridge(made, source, opened_on, stored_at, description)


def _read_type(fields: Fields) -> tuple[Datum | None, Datum | None]:
    """The boiling points that the type on the element is made for: A above 65 degC, AX up to it."""
    asked = fields.text("filter_type").upper()
    if asked not in ("", "A", "AX"):
        fields.faults.append(
            f"{fields.where}: filter_type = {asked!r} is not known here; A (vapours that boil above 65 degC) or AX "
            '(one vapour that boils at 65 degC or below). The class goes into use_limit, such as "5000 ppm" for A2'
        )
    limit = Datum("boiling_point", LOW_BOILING, "regulation", "en14387_types", label="boiling point of the type")
    return (limit if asked == "A" else None), (limit if asked == "AX" else None)


def _finish(fields: Fields, make: Any, hint: str = "") -> Cartridge | None:
    before = len(fields.faults)
    fields.done()
    if hint and len(fields.faults) > before:
        fields.faults.append(f"{fields.where}: {hint}")
    if fields.faults:
        return None
    made: Cartridge | None = fields.attempt(make)
    return made


def _read_tests(cartridge: Fields, own: dict[str, Any]) -> list[CartridgeTest]:
    """Breakthrough tests of the cartridge: the table [cartridge.test], or several [[cartridge.test]]."""
    given = cartridge.raw("test")
    if given is None:
        return []
    listed = given if isinstance(given, list) else [given]
    if not all(isinstance(one, dict) for one in listed):
        cartridge.faults.append(
            f"{cartridge.where}: test = {given!r:.80} must be a table [cartridge.test] with vapour, report, "
            f"{', '.join(_TEST_KEYS)}"
        )
        return []
    made = []
    for number, values in enumerate(listed, start=1):
        where = f"{cartridge.where}, test" + (f" no. {number}" if len(listed) > 1 else "")
        test = Fields(where, values)
        vapour = test.text("vapour", required=True, example='"toluene"')
        report = test.text("report", required=True, example='"house laboratory, March 2026"')
        told = {k: test.single(k, required=True) for k in _TEST_KEYS}
        test.done()
        who = own.get(vapour, vapour)
        if isinstance(who, list):
            test.faults += who
        if not test.faults:
            found = test.attempt(partial(describe_test, who, report=report, **told))
            made += [] if found is None else [found]
        cartridge.faults += test.faults
    return made


def _read_table(cartridge: Fields, folder: Path) -> tuple[TestCurve, ...]:
    """Tests in a table of their own beside the plan; a faulty test is named and stops this cartridge."""
    file = cartridge.text("tests_table")
    report = cartridge.text("tests_report")
    if bool(file) != bool(report):
        cartridge.faults.append(
            f"{cartridge.where}: tests_table and tests_report belong together: the file beside the plan, and whose "
            'tests, of when: tests_table = "tests.csv", tests_report = "house laboratory, March 2026"'
        )
    if not file or not report:
        return ()
    try:
        return read_tests(folder / file, report=report).strict()
    except TableError as error:
        cartridge.faults += [f"{cartridge.where}: {problem}" for problem in error.problems]
    except RespcalcError as error:
        cartridge.faults.append(f"{cartridge.where}: {error}")
    return ()


def _date(fields: Fields, key: str, what: str) -> dt.date | None:
    value = fields.raw(key)
    if value is not None and (not isinstance(value, dt.date) or isinstance(value, dt.datetime)):
        fields.faults.append(
            f"{fields.where}: {key} = {value!r:.80} must be a date without quotes: {key} = 2026-04-01 ({what})"
        )
        return None
    return value


def _read_opening(fields: Fields) -> tuple[dt.date | None, float | None]:
    """Since when the cartridges have been open, and in which air; opened and worn is another matter."""
    stored_at = fields.quantity("stored_at", "relative_humidity")
    if stored_at is not None and (slip := humidity_slip("stored_at", stored_at)):
        fields.faults.append(f"{fields.where}: {slip}")
    opened = _date(fields, "opened_on", "the day on which the packs were opened")
    if ("opened_on" in fields.values) != ("stored_at" in fields.values):
        fields.faults.append(
            f"{fields.where}: opened_on and stored_at belong together: the day on which the packs were opened, and "
            'the highest relative humidity where the cartridges have been since, for example stored_at = "60 %"'
        )
    return opened, stored_at
