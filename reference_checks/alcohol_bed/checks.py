"""A measured curve from a textbook: times read off it, and capacity and rate fitted to it."""

from __future__ import annotations

from functools import cache

import numpy as np

from reference_checks.framework import Check
from respcalc.cartridges import CurveFit, TestCurve, describe_bed, describe_curve, fit_wheeler_jonas
from respcalc.core.units import Quantity
from respcalc.models.breakthrough import bohart_adams_time
from respcalc.models.constants import GAS_CONSTANT

__all__ = ["CHECKS", "curve", "fit"]

_AIR = 28.96e-3  # kg/mol
_ETHANOL = 46.07e-3
_DENSITY = 1.15  # kg/m3 of the gas
_FLOW = 754e-6  # m3/s
_DIAMETER, _DEPTH, _MASS = 0.04, 0.14, 79.2e-3
_POINTS = {  # h: C/C0
    3.0: 0.0, 3.5: 0.002, 4.0: 0.030, 4.5: 0.155, 5.0: 0.396, 5.5: 0.658, 6.0: 0.903, 6.2: 0.933, 6.5: 0.975,
    6.8: 0.993,
}  # fmt: skip


@cache
def curve() -> TestCurve:
    """The points, with the air in which 600 ppm by mass and the book's gas density meet."""
    return describe_curve(
        "ethanol",
        report="Geankoplis, from memory",
        worn_time=Quantity(list(_POINTS), "h"),
        exit_fraction=list(_POINTS.values()),
        concentration=Quantity(600e-6 * _AIR / _ETHANOL, ""),
        flow_rate=Quantity(_FLOW, "m**3/s"),
        temperature=Quantity(101325.0 * _AIR / (GAS_CONSTANT * _DENSITY), "K"),
        relative_humidity="0 %",
        pressure="101.325 kPa",
    )


@cache
def fit() -> CurveFit:
    """Capacity and rate of the bed of 14 cm."""
    bed = describe_bed("book", sorbent_mass=Quantity(_MASS, "kg"), diameter=Quantity(_DIAMETER, "m"),
                       bed_depth=Quantity(_DEPTH, "m"))  # fmt: skip
    return fit_wheeler_jonas(curve(), bed)


def _first_time(*, exit_fraction: float) -> float:
    found = curve().first_time(exit_fraction)
    assert found is not None
    return found


def _stoichiometric(*, liquid_share: float) -> float:
    return liquid_share * curve().stoichiometric_time()


def _capacity(*, sorbent_mass: float) -> float:
    return fit().parameters[0].value * _MASS / sorbent_mass


def _longer_bed(*, bed_depth: float, exit_fraction: float) -> float:
    capacity, rate = (d.value for d in fit().parameters)
    return float(
        bohart_adams_time.si(
            capacity=capacity,
            sorbent_mass=_MASS * bed_depth / _DEPTH,
            mass_concentration=600e-6 * _DENSITY,
            flow_rate=_FLOW,
            bulk_density=_MASS / (np.pi / 4 * _DIAMETER**2 * _DEPTH),
            rate_coefficient=rate,
            exit_fraction=exit_fraction,
        )
    )


CHECKS = {
    "first_time": Check(_first_time),
    "stoichiometric": Check(_stoichiometric),
    "capacity": Check(_capacity),
    "longer_bed": Check(_longer_bed),
}
