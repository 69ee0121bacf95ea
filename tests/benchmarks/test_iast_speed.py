"""Mixtures at equilibrium: speed beside a general library, timed in the same run.

The other library is handed closed-form isotherms in plain Python floats, the fastest it can be given;
with isotherms from a table it takes fifty times as long.
"""

from __future__ import annotations

import math
from time import perf_counter

import numpy as np
import pyiast
import pytest

from respcalc.models.iast import iast_loading

ROWS = 100_000
SAMPLE = 400  # of the same mixtures, for the other library, a round
AT_LEAST = 1000.0  # times as fast, a mixture

# psat [Pa], n0 [mol/kg], kappa: toluene, acetone and 2-butanone on a usual carbon at 25 degC
VAPOURS = ((3790.0, 4.2475, 0.1108), (30800.0, 6.1330, 0.1811), (12600.0, 5.0360, 0.1503))


class ClosedForm:
    def __init__(self, psat, n0, kappa):
        self.psat, self.n0, self.kappa = psat, n0, kappa
        self.full = n0 * math.sqrt(math.pi) / (2.0 * kappa)

    def loading(self, pressure):
        return self.n0 * math.exp(-((self.kappa * max(math.log(self.psat / pressure), 0.0)) ** 2))

    def spreading_pressure(self, pressure):
        if not pressure > 0.0:
            return math.nan  # its search tries shares below 0
        depth = math.log(self.psat / pressure)
        return self.full * math.erfc(self.kappa * depth) if depth > 0.0 else self.full - self.n0 * depth


@pytest.mark.benchmark(group="a hundred thousand mixtures")
def test_three_vapours_at_a_time_are_a_thousand_times_as_fast_as_one_by_one(benchmark):
    p = 10 ** np.random.default_rng(1).uniform(0, 2, (ROWS, 3))
    columns = [np.array(column) for column in zip(*VAPOURS, strict=True)]
    isotherms = [ClosedForm(*vapour) for vapour in VAPOURS]
    theirs, expected = [], []

    def one_by_one():
        start = perf_counter()
        expected[:] = [pyiast.iast(row, isotherms, warningoff=True) for row in p[:SAMPLE]]
        theirs.append((perf_counter() - start) / SAMPLE)

    def at_once():
        return iast_loading(p, *columns)

    one_by_one(), at_once()
    theirs.clear()
    loading = benchmark.pedantic(at_once, setup=one_by_one, rounds=9)  # the two take turns
    np.testing.assert_allclose(loading[:SAMPLE], expected, rtol=1e-6)
    if benchmark.enabled:
        ours, baseline = float(benchmark.stats.stats.median) / ROWS, float(np.median(theirs))
        benchmark.extra_info.update(ours=ours, baseline=baseline, ratio=baseline / ours, at_least=AT_LEAST)
        assert baseline / ours >= AT_LEAST


@pytest.mark.benchmark(group="a hundred thousand mixtures")
def test_isotherms_of_their_own_for_every_row_cost_little_more(benchmark):
    rng = np.random.default_rng(2)
    p = 10 ** rng.uniform(0, 2, (ROWS, 3))
    columns = [np.array(column) for column in zip(*VAPOURS, strict=True)]
    each = [column * np.exp(rng.normal(0.0, 0.05, p.shape)) for column in columns]
    theirs = []

    def shared():
        start = perf_counter()
        iast_loading(p, *columns)
        theirs.append(perf_counter() - start)

    shared(), iast_loading(p, *each)
    theirs.clear()
    benchmark.pedantic(lambda: iast_loading(p, *each), setup=shared, rounds=9)
    if benchmark.enabled:
        ratio = float(benchmark.stats.stats.median) / float(np.median(theirs))
        benchmark.extra_info.update(ratio=ratio, at_most=2.0)
        assert ratio <= 2.0
