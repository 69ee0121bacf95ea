"""Three commands: a plan becomes a schedule, samples a concentration, and a vapour shows what is known of it.

Exit codes: 0 done, 2 bad input, 3 done but some task was refused.
"""

from __future__ import annotations

import argparse
import io
import re
import sys
import textwrap
from collections.abc import Sequence

from respcalc.core.errors import DomainError, PlanError, RespcalcError, TableError, UnitsError
from respcalc.core.vocabulary import read
from respcalc.estimate import SHORT_CAUTION
from respcalc.schedule import Entry, Schedule, Task, demo_plan, make_schedule, read_plan, spell_out, write_documents
from respcalc.vapours import describe_vapour, find_vapour
from respcalc.workplace import describe_air
from respcalc.workplace.sampling import design_concentration, read_samples

__all__ = ["BAD_INPUT", "DONE", "SOME_REFUSED", "main"]

DONE, BAD_INPUT, SOME_REFUSED = 0, 2, 3
_WIDTH = 100


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m respcalc",
        description="Change schedules for organic-vapour respirator cartridges.",
        epilog=SHORT_CAUTION,
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    schedule = commands.add_parser(
        "schedule", help="make a change schedule and its record from a plan file", epilog=SHORT_CAUTION
    )
    source = schedule.add_mutually_exclusive_group(required=True)
    source.add_argument("plan", nargs="?", metavar="PLAN.toml", help="the plan file")
    source.add_argument("--demo", action="store_true", help="use the plan of an invented boatyard")
    schedule.add_argument("-o", "--output", required=True, metavar="FOLDER", help="folder for the documents")
    samples = commands.add_parser(
        "samples", help="choose the concentrations to plan for from a table of air samples", epilog=SHORT_CAUTION
    )
    samples.add_argument("table", metavar="SAMPLES.csv", help="group, vapour, result [ppm] and more (see read_samples)")
    samples.add_argument("--report", required=True, help="whose samples, of when")
    samples.add_argument("--temperature", help='of the sampled air, for results in mg/m3, such as "25 degC"')
    samples.add_argument("--pressure", help='of the sampled air, for results in mg/m3, such as "101.3 kPa"')
    vapour = commands.add_parser("vapour", help="show what is known of a vapour", epilog=SHORT_CAUTION)
    vapour.add_argument("name", help="name, synonym or CAS number")
    vapour.add_argument("--temperature", default="25 degC", help='air temperature, such as "30 degC" (default 25 degC)')
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; the exit code is returned.

    Parameters
    ----------
    arguments
        Words of the command; those of the process if None.
    """
    asked = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal without the letters of a name still gets the schedule
            stream.reconfigure(errors="backslashreplace")
    try:
        if asked.command == "vapour":
            return _show_vapour(asked.name, asked.temperature)
        if asked.command == "samples":
            return _show_samples(asked.table, asked.report, asked.temperature, asked.pressure)
        plan = demo_plan() if asked.demo else read_plan(asked.plan)
        made = make_schedule(plan)
        written = write_documents(made, asked.output)  # before a word is printed: a closed pipe must not lose them
        print(schedule_text(made))
        for path in written:
            print(f"written: {path}")
    except (PlanError, TableError, UnitsError) as error:
        for problem in error.problems:
            print(f"error: {problem}", file=sys.stderr)
        if asked.command == "schedule":
            print("nothing was written; documents of an earlier run may be there still", file=sys.stderr)
        return BAD_INPUT
    except RespcalcError as error:
        print(f"error: {error}", file=sys.stderr)
        return BAD_INPUT
    if made.faulty:
        return BAD_INPUT
    return SOME_REFUSED if made.refused else DONE


def _show_vapour(name: str, temperature: str) -> int:
    kelvin = float(read("temperature", temperature))
    print(describe_vapour(find_vapour(name, estimate_missing=True), kelvin, caution=SHORT_CAUTION))
    return DONE


def _show_samples(table: str, report: str, temperature: str | None, pressure: str | None) -> int:
    """Print the concentration to plan for of every group, and what is wrong with the others."""
    air = None
    if temperature is not None or pressure is not None:
        if temperature is None or pressure is None:
            raise DomainError("--temperature, --pressure: give both, they turn mg/m3 into ppm together")
        # the humidity of the air does not matter for that
        air = describe_air(temperature=temperature, pressure=pressure, relative_humidity="0 %")
    found = read_samples(table, report=report, air=air)
    faults = [fault for _, wrong in found.faults for fault in wrong]
    for group in found.groups:
        try:
            print(design_concentration(group), end="\n\n")
        except RespcalcError as error:
            faults.append(f"{group.title}: {error}")
    for fault in faults:
        told = re.sub(r"chosen(?=_because|=)", "concentration", fault).replace(
            "yourself with a reason", "in a plan with a reason"
        )
        here = " (here: --temperature and --pressure)" if "describe_air" in fault else ""
        print(f"error: {told}{here}", file=sys.stderr)
    return BAD_INPUT if faults else DONE


def schedule_text(schedule: Schedule) -> str:
    """The schedule as a table for a terminal, with the reasons of what was refused below it."""
    site = schedule.plan.site
    lines = [f"Change schedule for organic-vapour cartridges: {site.name}, {site.date}", ""]
    rows = [("task", "service life", "instruction", "change at")]
    for entry in schedule.entries:
        life = "-"
        if entry.life is not None:
            life = "immediate" if entry.life.immediate else spell_out(_lived(entry))
            if entry.life.outside_model and entry.status != "interval":
                life = "not known"
        rows.append((entry.task.id, life, entry.instruction, "; ".join(entry.moments) or "-"))
    lines += _columns(rows, (16, 12, 44, 24))
    for entry in schedule.entries:
        if entry.reasons:
            lines += ["", f"{entry.task.id}: {entry.status}"]
            lines += [
                textwrap.fill(reason, _WIDTH, initial_indent="  - ", subsequent_indent="    ")
                for reason in entry.reasons
            ]
    if schedule.plan.faults:
        lines += ["", "input faults that no task leads to"]
        lines += [
            textwrap.fill(fault, _WIDTH, initial_indent="  - ", subsequent_indent="    ")
            for fault in schedule.plan.faults
        ]
    if schedule.plan.unused_cartridges:
        lines += ["", f"note: no task uses cartridge {', '.join(schedule.plan.unused_cartridges)}"]
    if schedule.plan.unused_products:
        lines += ["", f"note: no task uses product {', '.join(schedule.plan.unused_products)}"]
    lines += ["", textwrap.fill(SHORT_CAUTION, _WIDTH)]
    return "\n".join(lines)


def _lived(entry: Entry) -> float:
    """The service life in the phases of the task's work [s]."""
    at_highest = 0.0 if entry.life is None else entry.life.life.value
    return entry.task.lasts(at_highest) if isinstance(entry.task, Task) else at_highest


def _columns(rows: Sequence[Sequence[str]], widths: Sequence[int]) -> list[str]:
    """Wrap cells into columns of fixed width, with a rule under the header."""
    lines = []
    for number, row in enumerate(rows):
        cells = [textwrap.wrap(cell, width) or [""] for cell, width in zip(row, widths, strict=True)]
        for k in range(max(len(c) for c in cells)):
            parts = [(c[k] if k < len(c) else "").ljust(width) for c, width in zip(cells, widths, strict=True)]
            lines.append("  ".join(parts).rstrip())
        if number == 0:
            lines.append("  ".join("-" * width for width in widths))
    return lines
