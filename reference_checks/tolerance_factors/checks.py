"""Tolerance factors against tables, and against an integration that knows nothing of the noncentral t."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from scipy import integrate, optimize, special

from reference_checks.framework import Check
from respcalc.workplace.sampling import tolerance_factor

__all__ = ["CHECKS", "integrated"]


def _factor(*, results: str, exposure_coverage: float, confidence: float) -> float:
    return tolerance_factor(int(results), exposure_coverage, confidence)


def integrated(*, results: str, exposure_coverage: float, confidence: float) -> float:
    """The k for which mean + k s reaches the percentile: the mean is normal, s over sigma is chi over its root."""
    n, z = int(results), float(special.ndtri(exposure_coverage))
    freedom = n - 1
    log_norm = math.log(2) - 0.5 * freedom * math.log(2) - math.lgamma(0.5 * freedom)

    def reached(k: float) -> float:
        def density(chi: float) -> float:
            s = chi / math.sqrt(freedom)
            weight = math.exp(log_norm + (freedom - 1) * math.log(chi) - 0.5 * chi * chi)
            return weight * float(special.ndtr(math.sqrt(n) * (k * s - z)))

        middle = math.sqrt(freedom)
        pieces = np.array([1e-12, *(max(1e-12, middle + d) for d in (-6.0, -2.0, 0.0, 2.0, 6.0)), middle + 12.0])
        return math.fsum(
            integrate.quad(density, a, b, epsabs=1e-13, epsrel=1e-12)[0] for a, b in pairwise(pieces) if b > a
        )

    return float(optimize.brentq(lambda k: reached(k) - confidence, 0.1, 40.0, xtol=1e-11))


def _large_sample(*, results: str, exposure_coverage: float, confidence: float) -> float:
    """Wrong on purpose: only the error of the mean, as though the scatter were known."""
    z, g = special.ndtri(exposure_coverage), special.ndtri(confidence)
    return float(z + g / math.sqrt(int(results)))


def _of_one_more(*, results: str, exposure_coverage: float, confidence: float) -> float:
    """Wrong on purpose: a prediction limit of one further result."""
    n = int(results)
    return float(special.stdtrit(n - 1, confidence) * math.sqrt(1 + 1 / n))


_CHECK = Check(
    _factor,
    independent=integrated,
    independent_rel=1e-8,
    refuses={"scatter known": _large_sample, "prediction of one more": _of_one_more},
)
CHECKS = {"recalled": _CHECK, "computed": _CHECK}
