"""The comparisons of this folder as one readable text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import exp, isnan

from reference_checks.measured_uptake.cross_vapour import cross_predictions, cross_table
from reference_checks.measured_uptake.default_carbon import (
    best_carbons,
    blind_predictions,
    carbon_levels,
    pressure_table,
    scatter_table,
)
from reference_checks.measured_uptake.errors import Errors, Prediction, grouped, summary
from reference_checks.measured_uptake.isotherms import isotherms
from reference_checks.measured_uptake.left_out import Contest, carbon_table, vapour_left_out, vapour_table
from reference_checks.measured_uptake.power_rule import calibrated_pressure
from reference_checks.measured_uptake.stated_coverage import coverage_table, margin_blind
from reference_checks.measured_uptake.step_down import ENERGIES, StepLine, step_table

__all__ = ["report"]

_ERRORS = ("n", "bias", "sd", "robust sd", "rms", "P95", "highest", "lowest")
_STEPS = ("isotherms", "carbons", "median", "90 %", "worst", "by rule: median", "90 %", "worst", "worst by rule")
_OPENING = """Measured loadings of vapours on activated carbons, and respcalc's capacity models

Every figure is of ln(predicted/measured) unless it says otherwise: +0.10 is 10 % too much, +0.69 twice too much, and
positive is the unsafe side. bias is the mean, robust sd 1.4826 times the median absolute deviation, rms the root of the
mean square, P95 the 95th percentile. DR and DA: Dubinin-Radushkevich and Dubinin-Astakhov. "By rule": below a vapour's
calibrated concentration the life grows no faster than the power of the dilution that the library uses (from memory)."""


def _number(value: float | None, plus: bool = True) -> str:
    if value is None or isnan(value):
        return "-"
    return f"{value:+.2f}" if plus else f"{value:.2f}"


def _table(title: str, headers: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [tuple(headers), *(tuple(row) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(headers))]
    text = [
        "  ".join(
            c.ljust(w) if i == 0 or not (c[:1].isdigit() or c[:1] in "+-") else c.rjust(w)
            for i, (c, w) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    ]
    return "\n".join([title, "-" * len(title), *text])


def _errors(e: Errors) -> tuple[str, ...]:
    return (
        str(e.count),
        _number(e.bias),
        *(_number(x, plus=False) for x in (e.spread, e.robust_spread, e.root_mean_square)),
        *(_number(x) for x in (e.upper_95, e.high, e.low)),
    )


def _groups(title: str, rows: Sequence[Prediction]) -> Iterator[str]:
    for name, field in (("vapour", "vapour"), ("pressure band", "band"), ("carbon", "carbon")):
        lines = grouped(rows, lambda row, field=field: getattr(row, field))  # type: ignore[misc]
        total = summary("all", [row.error for row in rows])
        yield _table(f"{title}, by {name}", (name, *_ERRORS), ((e.group, *_errors(e)) for e in (*lines, total)))


def _contest(title: str, lines: Sequence[Contest], groups: str) -> str:
    return _table(
        f"{title} (rms with every {groups[:-1]} weighing the same; difference from the library's, 95 % interval)",
        ("affinity", "isotherm", groups, "rms", "library's", "difference", "from", "to", "real?", *_ERRORS[1:]),
        (
            (
                c.affinity,
                c.isotherm,
                str(c.difference.groups),
                f"{c.difference.a:.3f}",
                f"{c.difference.b:.3f}",
                *(f"{x:+.3f}" for x in (c.difference.difference, c.difference.low, c.difference.high)),
                "yes" if c.difference.real else "no",
                *_errors(c.errors)[1:],
            )
            for c in lines
        ),
    )


def _steps(title: str, lines: Sequence[StepLine]) -> str:
    return _table(
        title,
        ("to", *_STEPS),
        (
            (
                s.group,
                str(s.isotherms),
                str(s.carbons),
                *(_number(x) for x in (*s.without, *s.by_rule)),
                s.worst_by_rule,
            )
            for s in lines
        ),
    )


def _question_1() -> Iterator[str]:
    for grade in "AB":
        yield _table(
            f"1. One vapour tells another, grade {grade}: every affinity with every isotherm",
            ("affinity", "isotherm", "pairs", *_ERRORS),
            ((c.affinity, c.isotherm, str(c.pairs), *_errors(c.errors)) for c in cross_table(grade)),
        )
    for grade in "AB":
        yield from _groups(f"1. The library's choice (least of two, DR), grade {grade}", cross_predictions(grade))


def _question_2() -> Iterator[str]:
    for grade in "AB":
        yield _contest(f"2. Each vapour left out, grade {grade}", vapour_table(grade), "vapours")
    yield from _groups("2. Each vapour left out, grade A, the library's choice", vapour_left_out("A"))
    for grade in "AB":
        yield _contest(f"2. Each carbon left out, grade {grade}", carbon_table(grade), "carbons")


def _question_3() -> Iterator[str]:
    for grade in "AB":
        lines = pressure_table(grade)
        yield _table(
            f"3. The default carbon blind, grade {grade}",
            ("points", *_ERRORS, "P95 as a factor"),
            ((e.group, *_errors(e), f"{exp(e.upper_95):.2f}") for e in lines),
        )
        yield from _groups(f"3. The default carbon blind, grade {grade}", blind_predictions(grade))
    yield _table(
        "3. Each carbon's mean at 100 Pa and above, the default carbon blind",
        ("carbon", "grade", "own W0 cm3/g", "own E0 kJ/mol", "points", "vapours", "mean", "pores"),
        (
            (
                c.carbon,
                c.grade,
                _number(c.micropore_volume * 1e3, plus=False),
                _number(c.characteristic_energy / 1e3, plus=False),
                str(c.points),
                str(c.vapours),
                _number(c.mean),
                "wide" if c.wide_pored else "",
            )
            for c in carbon_levels()
        ),
    )
    yield _table(
        "3. Scatter of those means between carbons (n = carbons)",
        ("carbons", *_ERRORS, "mean as a factor"),
        ((e.group, *_errors(e), f"{exp(e.bias):.2f}") for e in scatter_table()),
    )

    yield _table(
        "3. The one carbon that fits each choice best (DR, least of two; every carbon with the same say)",
        ("carbons", "W0 cm3/g", "E0 kJ/mol"),
        (
            (name, _number(c.micropore_volume * 1e3, plus=False), _number(c.characteristic_energy / 1e3, plus=False))
            for name, c in best_carbons()
            if c is not None
        ),
    )


def _question_4() -> Iterator[str]:
    for energy in ENERGIES:
        for grades in ("A", "AB"):
            for wide in (True, False):
                which = f"{energy} E0, grade {' and '.join(grades)}{'' if wide else ', no wide pores'}"
                yield _steps(f"4. From 100 Pa down, {which}", step_table(energy, grades, wide=wide))


def _question_5() -> Iterator[str]:
    yield _table(
        "5. The default carbon blind, by the power rule, over the library's divisor: how often below what was measured",
        ("points", "covered", "of", "share", "carbons all covered", "of", "by carbon", "median", "worst", "worst is"),
        (
            (
                c.group,
                str(c.covered),
                str(c.points),
                f"{c.share:.1%}",
                str(c.carbons_covered),
                str(c.carbons),
                f"{c.by_carbon:.1%}",
                f"x{c.median:.2f}",
                f"x{c.worst:.2f}",
                c.worst_case,
            )
            for c in coverage_table()
        ),
    )
    yield _table(
        "5. The divisor of each vapour on a default carbon, and where the power rule sets in",
        ("vapour", "divisor", "calibrated Pa", "note"),
        (
            (
                name,
                f"{margin_blind(cas).divisor:.2f}",
                f"{calibrated_pressure(cas):.0f}",
                "outside what was calibrated, left out" if margin_blind(cas).outside else "",
            )
            for name, cas in sorted({(i.vapour, i.known.cas) for i in isotherms()})
        ),
    )


def report() -> str:
    """Lay out the answers to the five questions, grade A first."""
    counts = [
        f"grade {g}: {sum(len(i.cases) for i in its)} points, {len(its)} isotherms, "
        f"{len({i.carbon for i in its})} carbons, {len({i.vapour for i in its})} vapours"
        for g in "AB"
        for its in (isotherms(g),)
    ]
    answers = (_question_1, _question_2, _question_3, _question_4, _question_5)
    return "\n\n".join([_OPENING, "\n".join(counts), *(part for answer in answers for part in answer())])
