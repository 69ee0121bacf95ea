"""Six results, from the logarithms to the tolerance limits."""

from __future__ import annotations

import math
from statistics import fmean, stdev

from reference_checks.framework import Check
from reference_checks.tolerance_factors.checks import integrated
from respcalc.workplace.sampling import SampleGroup, describe_samples, fit_samples, group_test

__all__ = ["CHECKS"]


def _group(results: str) -> SampleGroup:
    return describe_samples("toluene", [f"{v} ppm" for v in results.split()], report="handout")


def _logs(results: str) -> list[float]:
    return [math.log(float(v)) for v in results.split()]


def _mean(*, results: str) -> float:
    return float(fit_samples(_group(results)).geometric_mean.m_as("dimensionless"))


def _scatter(*, results: str) -> float:
    return fit_samples(_group(results)).geometric_standard_deviation


def _percentile(*, results: str) -> float:
    return float(fit_samples(_group(results)).percentile("95 %").m_as("dimensionless"))


def _u_r(*, results: str) -> float:
    found = group_test(_group(results), "5 ppm").value
    return math.nan if found is None else found


def _upper(*, results: str, exposure_coverage: float, confidence: float) -> float:
    found = fit_samples(_group(results)).upper_limit(exposure_coverage, confidence)
    return float(found.m_as("dimensionless"))


def _upper_by_hand(*, results: str, exposure_coverage: float, confidence: float) -> float:
    y = _logs(results)
    k = integrated(results=str(len(y)), exposure_coverage=exposure_coverage, confidence=confidence)
    return 1e-6 * math.exp(fmean(y) + k * stdev(y))


def _biased(*, results: str) -> float:
    """Wrong on purpose: divided by n, not n - 1."""
    y = _logs(results)
    return math.exp(stdev(y) * math.sqrt(1 - 1 / len(y)))


def _average(*, results: str) -> float:
    """Wrong on purpose: the arithmetic mean."""
    return 1e-6 * fmean(float(v) for v in results.split())


CHECKS = {
    "geometric_mean": Check(
        _mean, independent=lambda *, results: 1e-6 * math.exp(fmean(_logs(results))), refuses={"arithmetic": _average}
    ),
    "scatter": Check(
        _scatter, independent=lambda *, results: math.exp(stdev(_logs(results))), refuses={"divided by n": _biased}
    ),
    "percentile": Check(_percentile),
    "u_r": Check(_u_r),
    "upper_limits": Check(_upper, independent=_upper_by_hand, independent_rel=1e-7),
}
