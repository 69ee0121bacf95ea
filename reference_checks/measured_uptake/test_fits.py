"""The fitting code of this folder, on curves whose answer is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reference_checks.measured_uptake.cross_vapour import cross_predictions, cross_table
from reference_checks.measured_uptake.default_carbon import best_carbons, scatter_table
from reference_checks.measured_uptake.errors import (
    bootstrap_difference,
    grouped,
    predictions,
    summary,
)
from reference_checks.measured_uptake.fits import (
    AFFINITIES,
    DEFAULT_CARBON,
    FREE,
    LIBRARY,
    Carbon,
    affinity_coefficient,
    fit_carbon,
    fit_curve,
    predict,
)
from reference_checks.measured_uptake.isotherms import BANDS, NOT_ADSORBED, Isotherm, band, isotherms
from reference_checks.measured_uptake.left_out import carbon_left_out, picked_blind, vapour_left_out
from reference_checks.measured_uptake.report import report
from reference_checks.measured_uptake.step_down import steps
from respcalc.core.tables import read_table

TRUE = Carbon(0.5e-3, 18e3)


def _one(vapour: str) -> Isotherm:
    return max((i for i in isotherms("A") if i.vapour == vapour), key=lambda i: len(i.cases))


def _made(vapour: str, carbon: Carbon, affinity: str = LIBRARY[0]) -> Isotherm:
    """An isotherm of the table with its loadings replaced by those of a known carbon."""
    one = _one(vapour)
    return replace(one, loading=predict(carbon, one, affinity))


@pytest.mark.parametrize("exponent", [1.5, 2.0, 3.0])
def test_a_known_curve_is_found_again(exponent: float) -> None:
    reduced = np.linspace(5e3, 20e3, 7)
    volume = 0.5e-3 * np.exp(-((reduced / 18e3) ** exponent))
    found = fit_curve(reduced, volume, exponent=exponent)
    assert found is not None
    assert (found.micropore_volume, found.characteristic_energy) == pytest.approx((0.5e-3, 18e3), rel=1e-6)


def test_the_exponent_is_found_too() -> None:
    reduced = np.linspace(5e3, 20e3, 7)
    found = fit_curve(reduced, 0.5e-3 * np.exp(-((reduced / 18e3) ** 2.4)), exponent=FREE)
    assert found is not None
    assert (found.exponent, found.characteristic_energy) == pytest.approx((2.4, 18e3), rel=1e-5)


def test_three_points_leave_the_exponent_alone() -> None:
    reduced = np.array([5e3, 10e3, 15e3])
    found = fit_curve(reduced, 0.5e-3 * np.exp(-((reduced / 18e3) ** 2.4)), exponent=FREE)
    assert found is not None
    assert found.exponent == 2.0


def test_what_cannot_be_fitted_gives_none() -> None:
    assert fit_curve([1e3, 2e3], [1e-4, 9e-5]) is None
    assert fit_curve([1e3, 1e3, 1e3, 2e3], [1e-4, 1e-4, 1e-4, 9e-5]) is None
    assert fit_curve([1e3, 2e3, 3e3], [1e-4, 2e-4, 3e-4]) is None


@pytest.mark.parametrize("affinity", AFFINITIES)
@pytest.mark.parametrize("exponent", [2.0, 2.5])
def test_a_carbon_of_two_vapours_is_found_again(affinity: str, exponent: float) -> None:
    carbon = replace(TRUE, exponent=exponent)
    both = [_made(vapour, carbon, affinity) for vapour in ("toluene", "acetone")]
    found = fit_carbon(both, affinity, exponent)
    assert found is not None
    assert found.micropore_volume == pytest.approx(TRUE.micropore_volume, rel=1e-6)
    assert found.characteristic_energy == pytest.approx(TRUE.characteristic_energy, rel=1e-6)


def test_weights_choose_between_carbons() -> None:
    first, second = _made("toluene", TRUE), _made("toluene", Carbon(0.3e-3, 22e3))
    found = fit_carbon([first, second], weights=[1.0, 1e-12])
    assert found is not None
    assert found.characteristic_energy == pytest.approx(TRUE.characteristic_energy, rel=1e-6)


def test_pressures_below_the_least_are_left_out() -> None:
    one = _made("toluene", TRUE)
    spoilt = replace(one, loading=np.where(one.pressure < 100, one.loading / 9, one.loading))
    found = fit_carbon([spoilt], least_pressure=100.0)
    assert found is not None
    assert found.micropore_volume == pytest.approx(TRUE.micropore_volume, rel=1e-6)


def test_predictions_of_the_true_carbon_have_no_error() -> None:
    rows = predictions(TRUE, [_made("benzene", TRUE)])
    assert [row.error for row in rows] == pytest.approx([0.0] * len(rows), abs=1e-12)


def test_doubling_a_prediction_is_an_error_of_ln_2() -> None:
    rows = predictions(replace(TRUE, micropore_volume=1e-3), [_made("benzene", TRUE)])
    line = summary("doubled", [row.error for row in rows])
    assert (line.bias, line.upper_95, line.high) == pytest.approx((np.log(2),) * 3)
    assert line.spread == pytest.approx(0.0, abs=1e-12)


def test_interpolation_stays_inside_and_is_straight_in_logarithms() -> None:
    one = replace(_one("toluene"), pressure=np.array([10.0, 1000.0]), loading=np.array([0.1, 0.4]))
    assert one.loading_at(100.0) == pytest.approx(0.2)
    assert one.loading_at(9.0) is None
    assert one.loading_at(1001.0) is None


def test_bootstrap_sees_a_difference_and_no_difference() -> None:
    noise = np.random.default_rng(2).normal(scale=0.2, size=(12, 9))
    good = {str(i): list(row) for i, row in enumerate(noise)}
    bad = {name: [3 * e for e in errors] for name, errors in good.items()}
    assert bootstrap_difference(bad, good).real
    assert not bootstrap_difference(good, good).real
    with pytest.raises(ValueError, match="different groups"):
        bootstrap_difference(good, {"0": [0.1]})


def test_the_whole_table_is_read() -> None:
    table = read_table(__file__.replace("test_fits.py", "uptake.csv")).strict()
    used = [case for one in isotherms() for case in one.cases]
    assert len(table) == 377
    assert sorted(used) == sorted(row["case"] for row in table if row["cas"] != NOT_ADSORBED)
    assert all(np.all(np.diff(one.pressure) > 0) for one in isotherms())
    assert {len(isotherms("A")), len(isotherms("B"))} == {54, 50}


def test_every_point_lies_below_saturation() -> None:
    assert all(np.all(one.potential > 0) for one in isotherms())


def test_bands_touch() -> None:
    assert [band(p) for p in (19.0, 20.0, 100.0, 500.0, 3000.0)] == list(BANDS)
    assert [e.group for e in grouped(cross_predictions("A"), lambda row: row.band)] == list(BANDS)


def test_affinities_are_one_for_benzene() -> None:
    one = _one("benzene")
    for name in AFFINITIES:
        assert affinity_coefficient(name, one.vapour, one.known) == pytest.approx(1.0, abs=0.01)


def test_nothing_left_out_is_used() -> None:
    told = {(row.told_by.split(",")[0], row.vapour) for row in cross_predictions("A")}
    assert all(known != vapour for known, vapour in told)
    its = [i for i in isotherms("A") if "Yun" in i.carbon]
    others = fit_carbon([i for i in its if i.vapour != "benzene"])
    assert others is not None
    alone = predictions(others, [i for i in its if i.vapour == "benzene"])
    listed = [row for row in vapour_left_out("A") if row.vapour == "benzene" and "Yun" in row.carbon]
    assert [row.predicted for row in listed] == pytest.approx([row.predicted for row in alone])


def test_every_carbon_is_left_out_once() -> None:
    cases = sorted(case for i in isotherms("A") for case in i.cases)
    assert sorted(row.case for row in carbon_left_out("A")) == cases
    assert sorted(row.case for row in picked_blind("A")) == cases


def test_steps_compare_shares() -> None:
    step = next(s for s in steps("default", "A") if s.vapour == "p-xylene" and s.pressure == 10.0)
    assert step.measured == pytest.approx(0.351 / 0.382)
    one = _one("p-xylene")
    low, high = predict(DEFAULT_CARBON, one, pressure=[10.0, 100.0])
    assert step.predicted == pytest.approx(low / high)


def test_report_answers_all_five_questions() -> None:
    text = report()
    assert all(f"\n{question}. " in text for question in (1, 2, 3, 4, 5))
    assert "nan" not in text
    assert len(cross_table("A")) == 30
    assert [line.group for line in scatter_table()] == [name for name, _ in best_carbons()]
