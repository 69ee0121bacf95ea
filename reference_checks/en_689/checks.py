"""The group test's U_T, by the function and by the test itself."""

from __future__ import annotations

import numpy as np

from reference_checks.framework import Check
from reference_checks.tolerance_factors.checks import integrated
from respcalc.workplace.sampling import describe_samples, group_test, tolerance_factor

__all__ = ["CHECKS"]


def _of_the_test(*, results: str) -> float:
    """What `group_test` holds U_R against, for any data of that size."""
    values = [f"{v:.6f} ppm" for v in 10 + np.arange(int(results))]
    return group_test(describe_samples("toluene", values, report="invented"), "500 ppm").bound


def _integrated(*, results: str) -> float:
    return integrated(results=results, exposure_coverage=0.95, confidence=0.70)


def _at_95(*, results: str) -> float:
    """Wrong on purpose: the strict confidence."""
    return tolerance_factor(int(results))


CHECKS = {
    "u_t": Check(_of_the_test, independent=_integrated, independent_rel=1e-7, refuses={"95 % confidence": _at_95}),
}
