"""The shipped curves are what the isotherms give, and the comparison of models comes out as written down."""

from __future__ import annotations

import numpy as np
import pytest

from reference_checks.water_on_carbon import curves
from reference_checks.water_on_carbon.__main__ import above_dampest, front_minutes, report
from reference_checks.water_on_carbon.fits import scores
from reference_checks.water_on_carbon.isotherms import HUMIDITIES, between, complete, isotherms
from respcalc.models import water_share

FINE = np.linspace(0.0, 1.0, 101)


def test_the_table_is_whole() -> None:
    assert sum(curve.humidity.size for curve in isotherms()) == 276
    assert len(isotherms()) == 40
    assert len(complete(isotherms())) == 24
    assert {c.group for c in isotherms()} == {"commercial", "oxidised", "hot acid", "other"}
    assert all(np.all(np.diff(c.humidity) > 0) for c in isotherms())
    assert len(between("commercial")[0]) == 9
    assert len(between("commercial", "oxidised")[0]) == 17


@pytest.mark.parametrize(("dampness", "refit"), [(-1, curves.driest), (0, curves.typical), (1, curves.dampest)])
def test_the_shipped_curves_are_the_fitted_ones(dampness: int, refit: object) -> None:
    assert callable(refit)
    fitted = np.minimum(curves.DO_DO(refit(), FINE, 298.15), 1.0)
    shipped = water_share.si(relative_humidity=FINE, carbon_dampness=dampness)
    np.testing.assert_allclose(shipped, fitted, atol=0.005)


def test_the_dampest_curve_is_the_bound_between_carbons() -> None:
    bound = np.minimum(curves.spread("commercial", "oxidised").high, 1.0)
    shipped = water_share.si(relative_humidity=HUMIDITIES, carbon_dampness=1.0)
    assert np.all(shipped > bound - 0.002)


def test_the_bound_covers_carbons_it_has_not_seen() -> None:
    _, shares = between("commercial", "oxidised")
    inside = []
    for place, line in enumerate(shares):
        known = ~np.isnan(line)
        top = np.minimum(curves.bound(np.delete(shares, place, axis=0), 1.0), 1.0)
        inside += list(line[known] <= top[known])
    assert np.mean(inside) >= 0.95


def test_points_above_the_dampest_curve() -> None:
    assert above_dampest("commercial") == (104, 0)
    assert above_dampest("oxidised")[1] <= 1


def test_which_model_does_what_best() -> None:
    by_name = {score.form.name: score for score in scores()}

    def best(key: object) -> str:
        assert callable(key)
        return min(by_name, key=lambda name: key(by_name[name]))

    # within a carbon two are level; the average of carbons is followed best by the one that is shipped
    two = {"cooperative_water", "qi_hay_rood_water"}
    assert best(lambda s: np.median(s.points)) in two
    assert best(lambda s: np.mean(s.points)) in two
    assert best(lambda s: s.blind_root) == "do_do_water"
    assert best(lambda s: np.mean(s.carbons)) == "do_do_water"
    blind = [score.blind for score in scores()]
    assert max(blind) < 0.10  # they differ less than carbons do
    assert min(blind) > 0.07


def test_conditioning_of_certification_tests_reaches_equilibrium() -> None:
    assert 360 / front_minutes(0.85, 25) == pytest.approx(10.8, abs=0.2)
    assert front_minutes(0.85, 25, dampness=1.0) < 60


def test_the_report_has_its_parts() -> None:
    text = report()
    for part in ("do_do_water", "upper 95 %", "dampest [cm3/cm3]", "Six hours at 25 L/min"):
        assert part in text
