"""Hold respcalc to every reference row; a failure's id reads ``source/check/row``."""

from __future__ import annotations

import pytest

from reference_checks.framework import Case, all_cases
from reference_checks.studies import Study, all_studies

CASES = [pytest.param(case, id=case.id) for case in all_cases()]
DERIVED = [pytest.param(case, id=case.id) for case in all_cases() if case.item.check.independent]
REFUSED = [pytest.param(case, form, id=f"{case.id}/{form}") for case in all_cases() for form in case.item.check.refuses]
STUDIES = [pytest.param(study, id=study.id) for study in all_studies()]


@pytest.mark.parametrize("case", CASES)
def test_agrees(case: Case) -> None:
    value = case.predicted
    assert case.accepts(value), case.story(value)


@pytest.mark.parametrize("case", CASES)
def test_would_notice(case: Case) -> None:
    """A check that also passes with a wrong expectation checks nothing."""
    value = case.predicted
    passing = [f for k in case.item.rejects for f in (k, 1 / k) if case.accepts(value, f)]
    assert not passing, f"{case.id} also accepts its expectation times {passing}"


@pytest.mark.parametrize("case", DERIVED)
def test_independent_derivation(case: Case) -> None:
    check = case.item.check
    assert check.independent is not None
    value = case.row.call(check.independent)
    assert case.accepts(value), f"independent derivation; {case.story(value)}"
    assert value == pytest.approx(case.predicted, rel=check.independent_rel)


@pytest.mark.parametrize(("case", "form"), REFUSED)
def test_refuses_wrong_form(case: Case, form: str) -> None:
    value = case.row.call(case.item.check.refuses[form])
    assert not case.accepts(value), f"the wrong form '{form}' passes: {case.story(value)}"


@pytest.mark.parametrize("study", STUDIES)
def test_scatters_as_recorded(study: Study) -> None:
    assert not study.outside()
    assert not study.blind(), f"{study.id} would not notice all predictions times {study.blind()}"
