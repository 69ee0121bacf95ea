"""Speed, as ratios to a baseline that is timed in the same run, and the time of one estimate.

Every figure is in ``extra_info`` of the benchmark's record; a busy machine slows both sides alike.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest

import respcalc
from respcalc import Quantity, describe_air, describe_bed, estimate_service_life, sweep_service_life
from respcalc.estimate import margin_of

IMPORT_AT_MOST = 1.5  # times `import numpy, pint`
ESTIMATE_AT_MOST = 5e-3  # [s], the median after the first
SWEEP_AT_MOST = 3.0  # times the same equations in plain numpy

ROWS = 1_000_000


def ratio_of(benchmark, ours, theirs, at_most):
    ratio = ours / theirs
    benchmark.extra_info.update(ours=ours, baseline=theirs, ratio=ratio, at_most=at_most)
    assert ratio <= at_most


# --- import


def seconds_to_import(what):
    code = f"from time import perf_counter as now; t = now(); import {what}; print(now() - t)"
    environment = {**os.environ, "PYTHONPATH": str(Path(respcalc.__file__).parents[1])}
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment)
    return float(run.stdout)


@pytest.mark.benchmark(group="import")
def test_importing_costs_little_more_than_numpy_and_pint(benchmark):
    theirs, ours = [], []
    seconds_to_import("numpy, pint"), seconds_to_import("respcalc")  # byte code and disk cache
    benchmark.pedantic(
        lambda: ours.append(seconds_to_import("respcalc")),
        setup=lambda: theirs.append(seconds_to_import("numpy, pint")),  # the two take turns
        rounds=9,
    )
    if benchmark.enabled:
        ratio_of(benchmark, min(ours), min(theirs), IMPORT_AT_MOST)


# --- one estimate


@pytest.mark.benchmark(group="one estimate")
@pytest.mark.parametrize(
    ("vapours", "humidity"),
    [
        pytest.param({"toluene": "200 ppm"}, "50 %", id="usual"),
        pytest.param({"benzene": "0.1 ppm"}, "90 %", id="searched"),
        pytest.param({"toluene": "85 ppm", "2-butanone": "60 ppm"}, "50 %", id="mixture"),
    ],
)
def test_one_estimate_is_instant(benchmark, vapours, humidity):
    def estimate():
        cartridge = describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
        air = describe_air(temperature="25 degC", relative_humidity=humidity, altitude="0 m")
        return respcalc.estimate_mixture_life(vapours, cartridge=cartridge, air=air, work_rate="moderate")

    life = estimate()
    assert ("cannot break through sooner" in str(life)) == ("benzene" in vapours)
    assert benchmark(estimate) == life
    if benchmark.enabled:
        median = benchmark.stats.stats.median
        benchmark.extra_info.update(median=median, at_most=ESTIMATE_AT_MOST)
        assert median <= ESTIMATE_AT_MOST


# --- a million rows


class PlainToluene:
    """The equations for one vapour and one cartridge as one would write them for the day, in g, cm and min."""

    def __init__(self, vapour, cartridge):
        kelvin = np.linspace(275.0, 318.0, 50)
        self.ln_psat = np.polyfit(1000 / kelvin, np.log(vapour.saturation_pressures(kelvin)), 2)
        self.density = np.polyfit(kelvin, vapour.liquid_densities(kelvin) / 1e3, 1)
        self.M, self.Pe = vapour.molar_mass.value * 1e3, vapour.molar_polarization.value * 1e6
        self.vD = vapour.diffusion_volume.value * 1e6
        margin = margin_of(vapour, cartridge)
        self.divisor, self.top = margin.divisor, margin.calibrated_concentration

    def minutes(self, c, T, RH, flow, x=None):
        R, P, W, A, depth, dp, eps, W0, E0, limit = (
            8.31446261815324,
            101325.0,
            45.0,
            45.0,
            2.2,
            0.13,
            0.4,
            0.454,
            19.7,
            1e-4,
        )
        rho, Q, M, Pe = W / (A * depth), flow * 500.0, self.M, self.Pe
        a, b, k = self.ln_psat
        inverse = 1000 / T
        psat = np.exp((a * inverse + b) * inverse + k)
        dL = self.density[0] * T + self.density[1]
        beta = min(0.0862 * Pe**0.75, (Pe / 26.2) ** 0.9)
        RT = R * 1e-3 * T
        dry_work = RT * np.log(psat / (c * P))
        wet_work = np.maximum(dry_work, (dry_work + M / dL / 18.07 * RT * np.log(RH)) / 0.72)
        dry, wet = (W0 * dL * np.exp(-((w / (beta * E0)) ** 2)) for w in (dry_work, wet_work))
        x = np.minimum(0.01, 0.1 * limit / c) if x is None else x
        logit = np.log((1 - x) / x)
        floor = 1.012 / (1 + np.exp((0.063 + 0.000825 * Pe) / 0.011))
        held = np.maximum(x, floor)
        v = Q / 60 / A
        stampfer = 1 / ((1 / v + 0.027) * (0.000825 + (0.063 - 0.0055 * np.log((1 - held) / held)) / Pe))
        lodewyckx = 800 * beta**0.33 * v**0.75 * dp**-1.5 * np.sqrt(dry / M)
        cold = np.minimum(T, 273.15)
        D = (
            0.00143
            * cold**1.75
            / (1.01325 * np.sqrt(2 / (1 / M + 1 / 28.9644)) * (self.vD ** (1 / 3) + 19.7 ** (1 / 3)) ** 2)
        )
        nu = 1.458e-6 * cold**1.5 / (cold + 110.4) * R * cold / (P * 28.9644e-3) * 1e4
        film = (2 + 1.1 * np.cbrt(nu / D) * (v * dp / nu) ** 0.6) * D * 6 * (1 - eps) / dp**2
        u = np.maximum(v, 6.149 * eps * D / dp)
        spread = eps * (0.73 * D + 0.5 * u * dp / eps / (1 + 9.7 * D * eps / (u * dp))) / (u * v)
        rate = np.minimum(np.minimum(stampfer, lodewyckx), 60 / (1 / film + spread))
        mass = c * M * P / (R * 293.15) * 1e-6

        def time(We, kv):
            K = kv * W / (rho * Q)
            return np.maximum(0, We * rho / (kv * mass) * (K + np.log(-np.expm1(-K)) - logit))

        rule = 1 - 0.5 * np.clip((RH - 0.5) / 0.35, 0, 1)
        full, slow = (np.minimum(time(wet, k * wet / dry), rule * time(dry, k)) for k in (rate, rate / 1.3))
        return np.minimum(full / self.divisor, slow)

    def life(self, c, T, RH, flow):
        own, rare = self.minutes(c, T, RH, flow), c < self.top
        there = self.minutes(self.top, T[rare], RH[rare], flow[rare], np.minimum(0.01, 1e-5 / c[rare]))
        own[rare] = np.minimum(own[rare], there * (self.top / c[rare]) ** 0.67)
        return own


@pytest.mark.benchmark(group="a million rows")
def test_a_million_rows_cost_little_more_than_plain_numpy(benchmark):
    rng = np.random.default_rng(1)
    ppm, celsius = rng.uniform(1, 1000, ROWS), rng.uniform(5, 40, ROWS)
    humidity, flow = rng.uniform(0.1, 0.9, ROWS), rng.uniform(20, 60, ROWS)
    cartridge = describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
    conditions = {
        "temperature": Quantity(celsius, "degC"), "relative_humidity": humidity, "pressure": "101.325 kPa",
        "flow_rate": Quantity(flow, "L/min"),
    }  # fmt: skip
    plain = PlainToluene(respcalc.find_vapour("toluene"), cartridge)
    theirs, expected = [], []

    def by_hand():
        start = perf_counter()
        expected[:] = [plain.life(ppm * 1e-6, celsius + 273.15, humidity, flow)]
        theirs.append(perf_counter() - start)

    def by_us():
        return sweep_service_life("toluene", Quantity(ppm, "ppm"), cartridge=cartridge, **conditions)

    by_hand(), by_us()  # pandas and the tables of the vapour are loaded once
    theirs.clear()
    frame = benchmark.pedantic(by_us, setup=by_hand, rounds=5)  # the two take turns
    assert len(frame) == ROWS
    assert (frame["reason"] == "").all()
    # the same answers, but for the line through the vapour's properties and the rows that are searched
    error = np.abs(frame["service_life [min]"].to_numpy() / np.maximum(expected[0], 1e-9) - 1)
    assert np.quantile(error, 0.99) < 1e-3
    if benchmark.enabled:
        ratio_of(benchmark, float(benchmark.stats.stats.median), float(np.median(theirs)), SWEEP_AT_MOST)


@pytest.mark.benchmark(group="a million rows")
def test_a_searched_row_costs_far_less_than_an_estimate(benchmark):
    cartridge = describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
    air = describe_air(temperature="25 degC", relative_humidity="90 %", altitude="0 m")
    ppm = np.geomspace(0.05, 5.0, 20_000)  # benzene in damp air: every row is searched
    one = []

    def single():
        start = perf_counter()
        estimate_service_life("benzene", "0.5 ppm", cartridge=cartridge, air=air, work_rate="moderate")
        one.append(perf_counter() - start)

    def many():
        return sweep_service_life(
            "benzene", Quantity(ppm, "ppm"), cartridge=cartridge, temperature="25 degC", relative_humidity="90 %",
            pressure="101.325 kPa", flow_rate="40 L/min",
        )  # fmt: skip

    single(), many()
    frame = benchmark.pedantic(many, setup=single, rounds=5)
    assert (np.diff(frame["service_life [min]"]) <= 1e-9 * frame["service_life [min]"][1:]).all()
    if benchmark.enabled:
        ratio_of(benchmark, float(benchmark.stats.stats.median) / len(ppm), float(np.median(one)), 1 / 10)
