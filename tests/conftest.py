"""Hypothesis profiles, and the chain written a second time.

Where CI is set the properties see the same cases every time, so that no draw of the day decides; by hand they see
new ones.

The plain writing is in the units of the papers: g, cm, min, kJ/mol.
"""

from __future__ import annotations

import os
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import settings

import respcalc

settings.register_profile("quick", deadline=None, max_examples=25, database=None)
settings.register_profile("ci", deadline=None, max_examples=25, database=None, derandomize=True)
settings.register_profile("hunt", deadline=None, max_examples=700, database=None)
settings.load_profile("ci" if os.environ.get("CI") else "quick")

R = 8.31446261815324


def do_do(h, sites, site_constant, limit, cluster_constant):
    n = np.arange(1, 11).reshape(-1, *([1] * np.ndim(h)))
    held = sites * site_constant * (n * h**n).sum(axis=0) / (1 + site_constant * (h**n).sum(axis=0))
    return np.minimum(held + limit * cluster_constant * h**5 / (1 + cluster_constant * h**5), 1.0)


def planned_water(h):
    """Share of the pores that water fills: the geometric middle of the typical carbon and the dampest of twenty."""
    h = np.maximum(h, 1e-9)
    return np.sqrt(do_do(h, 0.0279, 19.1, 0.929, 6.23) * do_do(h, 0.195, 5.23, 1.3, 5.30))


def plain_minutes(
    c, *, T, P, RH, M, psat, dL, Pe, vD, Q, W, A, rhoB, dp, eps, W0, E0, challenge_fraction, limit_exit, rate_share=1.0,
    keeps_pores=False, standing=1.0, before=0.0,
):  # fmt: skip
    """Breakthrough time [min] at inlet volume fraction *c*, with every step on the way."""
    x = np.minimum(challenge_fraction, limit_exit / c)
    logit = np.log((1 - x) / x)
    beta = np.minimum(0.0862 * Pe**0.75, (Pe / 26.2) ** 0.9)
    dry_work = np.maximum(R * 1e-3 * T * np.log(psat / (c * P)), 0.0)
    dryness = R * 1e-3 * T * np.log(1 / np.maximum(RH, 1e-12))
    wet_work = np.maximum(dry_work, (dry_work - M / dL / 18.07 * dryness) / 0.72)
    dry, pushed = (W0 * dL * np.exp(-((w / (beta * E0)) ** 2)) for w in (dry_work, wet_work))
    beside, damp = (
        dry * (1 - planned_water(RH)),
        dry * np.minimum(1, (1 - standing * before) / (1 - standing * planned_water(0.5))),
    )

    v = Q / 60 / A  # cm/s
    floor = np.maximum(1e-4, 1 / (1 + np.exp((0.063 + 0.000825 * Pe) / 0.011)))
    held = np.maximum(x, 1.012 * floor)
    stampfer = 1 / ((1 / v + 0.027) * (0.000825 + (0.063 - 0.0055 * np.log((1 - held) / held)) / Pe))
    lodewyckx = 800 * beta**0.33 * v**0.75 * dp**-1.5 * np.sqrt(dry / M)
    cold, bar = np.minimum(T, 273.15), np.maximum(P, 101325.0) / 1e5
    pair = 2 / (1 / M + 1 / 28.9644)
    D = 0.00143 * cold**1.75 / (bar * np.sqrt(pair) * (np.cbrt(vD) + np.cbrt(19.7)) ** 2)
    air_density = bar * 1e5 * 28.9644e-3 / (R * cold)
    nu = 1.458e-6 * cold**1.5 / (cold + 110.4) / air_density * 1e4
    sherwood = 2 + 1.1 * (nu / D) ** (1 / 3) * (v * dp / nu) ** 0.6
    film = sherwood * D / dp * 6 * (1 - eps) / dp
    u = np.maximum(v, 6.149 * eps * D / dp)  # below it dispersion would make a faster flow look better
    dispersion = 0.73 * D + 0.5 * u / eps * dp / (1 + 9.7 * D * eps / (u * dp))
    ceiling = 60 / (1 / film + eps * dispersion / (u * v))
    dry_rate = np.minimum(np.minimum(stampfer, lodewyckx), ceiling) * rate_share
    ways = [(beside, dry_rate * np.sqrt(beside / dry)) if keeps_pores else (pushed, dry_rate * pushed / dry)]
    ways += [(damp, dry_rate * np.sqrt(damp / dry))] if np.any(before) else []

    C0 = c * M * np.maximum(P, 101325.0) / (R * 293.15) * 1e-6  # g/cm3

    def minutes(We, kv):
        K = kv * W / (rhoB * Q)
        return np.maximum(0.0, We * rhoB / (kv * C0) * (K + np.log(-np.expm1(-K)) - logit))

    rule = np.interp(RH, [0.5, 0.85], [1.0, 0.5])
    dry_time, wet_time = minutes(dry, dry_rate), np.minimum.reduce([minutes(*way) for way in ways])
    wet = np.minimum.reduce([w for w, _ in ways])
    return SimpleNamespace(
        time=np.minimum(wet_time, rule * dry_time), dry=dry, wet=wet, dry_time=dry_time, wet_time=wet_time,
        rule=rule, rate=dry_rate, exit_fraction=x,
    )  # fmt: skip


@pytest.fixture(scope="session")
def plain():
    return plain_minutes


@pytest.fixture(scope="session")
def pair():
    return respcalc.describe_bed(
        "pair (invented)", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2
    )
