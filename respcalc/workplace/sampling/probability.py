"""The probability plot of a group's samples, as numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.vocabulary import term
from respcalc.workplace.sampling.goodness import normal_scores
from respcalc.workplace.sampling.lognormal import few_measured, fit_logs
from respcalc.workplace.sampling.samples import SampleGroup

__all__ = ["ProbabilityPlot", "ProbabilityPoint", "probability_plot"]


@dataclass(frozen=True)
class ProbabilityPoint:
    """One result: its quantile of the standard normal distribution, and its volume fraction while worn."""

    quantile: float
    value: float
    below: bool  # the value is only a limit that the result is below

    @property
    def share(self) -> float:
        """Share of exposures below it, as estimated from its rank."""
        return 0.5 * math.erfc(-self.quantile / math.sqrt(2))


@dataclass(frozen=True)
class ProbabilityPlot:
    """Points in rising order, and the line of the fitted distribution: ln(volume fraction) = mu + sigma quantile.

    ``mu`` and ``sigma`` are None where too few results are measured to fit a distribution.
    """

    points: tuple[ProbabilityPoint, ...]
    mu: float | None
    sigma: float | None

    def line(self, quantile: Any) -> Any:
        """Volume fraction of the fitted line at quantiles of the standard normal, of the same shape."""
        if self.mu is None or self.sigma is None:
            return None
        return np.exp(self.mu + self.sigma * np.asarray(quantile, dtype=float))

    def as_dict(self) -> dict[str, Any]:
        ppm = term("volume_fraction").in_printed_unit
        return {
            "points": [
                {"quantile": p.quantile, "value": float(ppm(p.value)), "unit": "ppm", "below": p.below}
                for p in self.points
            ],
            "mu": None if self.mu is None else self.mu + math.log(float(ppm(1.0))),
            "sigma": self.sigma,
        }


def probability_plot(group: SampleGroup) -> ProbabilityPlot:
    """Lay the long samples of a group out for a lognormal probability plot.

    Parameters
    ----------
    group
        From `describe_samples` or `read_samples`.

    Returns
    -------
    ProbabilityPlot
        Points at Helsel-Cohn plotting positions; results below a limit are spread over the probability below it. In
        ``as_dict`` the line is that of ln(ppm).

    Examples
    --------
    >>> from respcalc.workplace.sampling import describe_samples
    >>> group = describe_samples("toluene", ["8 ppm", "20 ppm", "<5 ppm", "11 ppm"], report="own, 2026")
    >>> plot = probability_plot(group)
    >>> [round(p.share, 3) for p in plot.points]
    [0.125, 0.438, 0.625, 0.812]
    """
    y, below = group.logs()
    if not len(y):
        return ProbabilityPlot((), None, None)
    points = tuple(
        ProbabilityPoint(float(z), math.exp(v), bool(b))
        for z, v, b in zip(normal_scores(y, below), y, below, strict=True)
    )
    if few_measured(len(y), int(np.sum(~below))):
        return ProbabilityPlot(points, None, None)
    fit = fit_logs(y, below)
    return ProbabilityPlot(points, fit.mu, fit.sigma)
