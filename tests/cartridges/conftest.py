"""Simulated tests: curves of a bed whose parameters are known."""

from __future__ import annotations

import numpy as np
import pytest

import respcalc
from respcalc.core.units import Quantity

CONDITIONS = {
    "report": "simulated", "concentration": "1000 ppm", "flow_rate": "53 L/min", "temperature": "22 degC",
    "relative_humidity": "50 %", "pressure": "101.325 kPa",
}  # fmt: skip


@pytest.fixture(scope="session")
def curve_of():
    """A curve of toluene from times in min and exit fractions."""

    def make(minutes, through, vapour="toluene", **changes):
        return respcalc.describe_curve(
            vapour, worn_time=Quantity(np.asarray(minutes, dtype=float), "min"),
            exit_fraction=np.asarray(through, dtype=float), **(CONDITIONS | changes),
        )  # fmt: skip

    return make


@pytest.fixture(scope="session")
def logistic():
    def through(minutes, half, rate):
        return 1.0 / (1.0 + np.exp(rate * (half - np.asarray(minutes, dtype=float))))

    return through
