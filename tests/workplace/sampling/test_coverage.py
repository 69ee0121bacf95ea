"""How often an upper limit is one: counted over simulated sets of results, from fixed starts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import special

from respcalc.workplace.sampling import describe_samples, design_concentration
from respcalc.workplace.sampling.censored import maximum_likelihood
from respcalc.workplace.sampling.lognormal import few_measured, fit_logs

Z = float(special.ndtri(0.95))
SETS = 400
LEAST = 0.93
"""Of 400 sets with a true 95 %, fewer than 372 are right once in forty times."""


def sets(n, limits, *, scatter=1.0, count=SETS):
    """Simulated logarithms with limits in turn; sets too poor to be fitted are drawn again."""
    rng = np.random.default_rng(1000 * n + len(limits))
    limit = np.resize(scatter * special.ndtri(np.array(limits)), n) if limits else np.full(n, -np.inf)
    made = 0
    while made < count:
        y = rng.standard_normal(n) * scatter
        below = y < limit
        if not few_measured(n, int(np.sum(~below))):
            made += 1
            yield np.where(below, limit, y), below


@pytest.mark.parametrize("n", [6, 10, 20])
@pytest.mark.parametrize("limits", [(0.2,), (0.4,), (0.6,), (0.2, 0.6), (0.1, 0.4)], ids=str)
@pytest.mark.parametrize("confidence", [0.95, 0.70])
def test_the_upper_limit_of_censored_data_keeps_its_confidence(n, limits, confidence):
    right = np.mean([fit_logs(y, below).ln_upper(0.95, confidence) >= Z for y, below in sets(n, limits)])
    assert right >= (LEAST if confidence > 0.9 else 0.67)


def test_the_published_form_without_the_noncentral_t_does_not():
    """Yp + t sqrt(var Yp), with one less degree of freedom than measured results: too low for few results."""
    found = []
    for n, limits in ((6, (0.4,)), (10, (0.4,)), (20, (0.4,))):
        lot = list(sets(n, limits))
        y, below = np.array([s[0] for s in lot]), np.array([s[1] for s in lot])
        fit = maximum_likelihood(y, below)
        spread = np.sqrt(fit.v11 + Z**2 * fit.v22 + 2 * Z * fit.v12) * fit.sigma
        upper = fit.mu + Z * fit.sigma + special.stdtrit(np.sum(~below, axis=1) - 1, 0.95) * spread
        found.append(np.mean(upper >= Z))
    assert all(0.8 < share < 0.92 for share in found)


@pytest.mark.parametrize("n", [3, 6, 10])
def test_complete_data_keep_it_exactly(n):
    right = np.mean([fit_logs(y, below).ln_upper(0.95, 0.95) >= Z for y, below in sets(n, (), count=1500)])
    assert right == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize(("gsd", "least"), [(1.5, 0.95), (2.0, 0.95), (3.0, 0.90)])
@pytest.mark.parametrize("limits", [(), (0.4,)], ids=["measured", "censored"])
def test_the_rule_of_few_results_covers_what_it_says(gsd, least, limits):
    scatter = math.log(gsd)
    for n in (3, 5):
        right = []
        for y, below in sets(n, limits, scatter=scatter, count=SETS):
            ppm = [f"{'<' if b else ''}{math.exp(v)!r} ppm" for v, b in zip(y, below, strict=True)]
            design = design_concentration(describe_samples("toluene", ppm, report="simulated"))
            right.append(math.log(design.value.value * 1e6) >= Z * scatter)
        assert np.mean(right) >= least - 0.02
