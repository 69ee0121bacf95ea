"""Eleven vapours on a usual carbon at 25 degC; handbook values from memory, good enough to compare rules with."""

from __future__ import annotations

from typing import Any

import numpy as np

from respcalc.models.affinity import affinity_least
from respcalc.models.constants import GAS_CONSTANT

__all__ = ["ATMOSPHERE", "KELVIN", "NAMES", "RT", "isotherms", "molar_mass"]

ATMOSPHERE = 101325.0
KELVIN = 298.15
RT = GAS_CONSTANT * KELVIN
_W0, _E0 = 0.454e-3, 19.7e3

# vapour pressure [kPa], molar polarization [cm3/mol], molar mass [g/mol], liquid density [g/cm3]
_VAPOURS = {
    "benzene": (12.69, 26.20, 78.11, 0.874),
    "toluene": (3.79, 31.12, 92.14, 0.862),
    "m-xylene": (1.11, 35.99, 106.17, 0.860),
    "n-hexane": (20.2, 29.93, 86.18, 0.655),
    "cyclohexane": (13.02, 27.72, 84.16, 0.774),
    "acetone": (30.8, 16.18, 58.08, 0.785),
    "2-butanone": (12.6, 20.71, 72.11, 0.800),
    "ethyl acetate": (12.6, 22.27, 88.11, 0.895),
    "ethanol": (7.87, 12.93, 46.07, 0.785),
    "carbon tetrachloride": (15.2, 26.46, 153.82, 1.584),
    "dichloromethane": (58.2, 16.36, 84.93, 1.317),
}
NAMES = tuple(_VAPOURS)


def isotherms(which: Any) -> tuple[Any, Any, Any]:
    """Saturation pressure [Pa], n0 [mol/kg] and kappa of vapours by index, in the shape of *which*."""
    psat, polarization, molar_mass, density = np.array(list(_VAPOURS.values())).T
    affinity = affinity_least.si(molar_polarization=polarization * 1e-6)
    columns = psat * 1e3, _W0 * density * 1e6 / molar_mass, RT / (affinity * _E0)
    return tuple(column[which] for column in columns)  # type: ignore[return-value]


def molar_mass(name: str) -> float:
    """[kg/mol]."""
    return _VAPOURS[name][2] * 1e-3
