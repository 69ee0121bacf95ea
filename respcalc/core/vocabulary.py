"""Every quantity that respcalc speaks of: name, meaning, unit, physical bounds, safer direction.

Docstrings, unit conversion, bounds, rounding and the property tests all read this one list.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from respcalc.core.errors import DomainError, UnitsError
from respcalc.core.units import (
    FAMILIES,
    Concentration,
    Quantity,
    is_finite,
    quantity,
    read_concentration,
    read_value,
)

__all__ = [
    "VOCABULARY",
    "Effect",
    "Term",
    "check",
    "humidity_slip",
    "read",
    "read_all",
    "read_amount",
    "single",
    "term",
]

Effect = Literal["shortens", "lengthens", "mixed"]
"""What a rise of the quantity does to the time a cartridge lasts."""


@dataclass(frozen=True, slots=True)
class Term:
    """One word of the vocabulary. Bounds and the usual range are in SI."""

    name: str
    meaning: str
    family: str
    printed: str
    low: float
    high: float
    effect: Effect
    usual: tuple[float, float]
    open_low: bool = False  # the lower bound itself is not allowed (a mass of zero, say)

    @property
    def si(self) -> str:
        return FAMILIES[self.family].si

    @property
    def printed_unit(self) -> str:
        return self.printed.replace("**", "")

    def quantity(self, value: Any) -> Quantity:
        return quantity(value, self.si, self.printed)

    def in_printed_unit(self, value: Any) -> Any:
        return self.quantity(value).magnitude

    def show(self, value: float, digits: int = 4) -> str:
        """Print with *digits* figures, rounded towards the safe side where there is one."""
        factor, offset = _to_printed(self.si, self.printed)
        number = float(value) * factor + offset
        return f"{_safe_round(number, digits, self.effect)} {self.printed_unit}".strip()

    def outside(self, value: Any, *, result: bool = False) -> Any:
        """Whether a finite value, or each of an array, is beyond the bounds; rounding is forgiven."""
        array = np.asarray(value)
        low, high = self.low - _SLACK * abs(self.low), self.high + _SLACK * abs(self.high)
        return (array > high) | ((array <= self.low) if self.open_low and not result else (array < low))

    def bounds(self) -> str:
        left = "above " if self.open_low else "from "
        high = "" if math.isinf(self.high) else f" up to {_plain(self.in_printed_unit(self.high))}"
        return f"{left}{_plain(self.in_printed_unit(self.low))}{high} {self.printed_unit}".strip()


@lru_cache(maxsize=256)
def _to_printed(si: str, printed: str) -> tuple[float, float]:
    """Factor and offset from SI to a printed unit, worked out once by pint: a record prints hundreds of values."""
    zero, one = (float(quantity(x, si, printed).magnitude) for x in (0.0, 1.0))
    return round(one - zero, 12) if zero else one, zero


def _plain(number: float) -> str:
    return f"{number:.6g}"


def _safe_round(number: float, digits: int, effect: Effect) -> str:
    if number == 0 or not math.isfinite(number):
        return f"{number:g}"
    nearest = float(f"{number:.{digits - 1}e}")
    if effect != "mixed" and not math.isclose(nearest, number, rel_tol=1e-9):
        step = 10.0 ** (math.floor(math.log10(abs(number))) - digits + 1)
        nearest = (math.floor if effect == "lengthens" else math.ceil)(number / step) * step
    text = f"{nearest:.{digits}g}"
    return f"{nearest:.0f}" if "e+" in text and abs(nearest) < _WRITTEN_OUT else text


_INF = math.inf
_WRITTEN_OUT = 1e9  # below it 12340 is printed, not 1.234e+04
_SLACK = 1e-9  # share of a bound that is forgiven: -20 degC is 253.14999999999998 K
_L_MIN = 1e-3 / 60
_G = 1e-3


def _t(
    name: str,
    meaning: str,
    family: str,
    printed: str,
    low: float,
    high: float,
    effect: Effect,
    usual: tuple[float, float],
    *,
    open_low: bool = False,
) -> Term:
    return Term(name, meaning, family, printed, low, high, effect, usual, open_low)


VOCABULARY: dict[str, Term] = {
    t.name: t
    for t in (
        # --- the air
        _t("temperature", "air temperature", "temperature", "degC", 253.15, 333.15, "shortens", (273.15, 323.15)),
        _t("pressure", "air pressure", "pressure", "kPa", 4.0e4, 1.1e5, "lengthens", (7.0e4, 101325.0)),
        _t("altitude", "height above sea level", "length", "m", -450.0, 6000.0, "shortens", (0.0, 3000.0)),
        _t("relative_humidity", "relative humidity, as a fraction", "fraction", "%", 0.0, 1.0, "shortens", (0.0, 1.0)),
        _t("dew_point", "temperature at which dew would form", "temperature", "degC", 173.15, 333.15, "shortens",
           (253.15, 303.15)),
        _t("wet_bulb", "temperature of a wet, ventilated thermometer", "temperature", "degC", 253.15, 333.15,
           "shortens", (273.15, 303.15)),
        _t("humidity_ratio", "water vapour over dry air, by mass", "mass_ratio", "g/kg", 0.0, 1.0, "shortens",
           (1e-3, 3e-2)),
        _t("oxygen", "oxygen by volume", "fraction", "%", 0.0, 1.0, "mixed", (0.195, 0.21)),
        _t("flow_rate", "air drawn through the sorbent", "flow", "L/min", 0.0, 0.02, "shortens",
           (5 * _L_MIN, 120 * _L_MIN), open_low=True),
        _t("metabolic_rate", "heat that a working body makes", "power", "W", 0.0, 2500.0, "shortens", (70.0, 1080.0),
           open_low=True),
        _t("air_for_oxygen", "air breathed over oxygen taken up, by volume", "factor", "", 0.0, 100.0, "shortens",
           (25.0, 35.0), open_low=True),
        _t("flow_share", "share of the flow through the most loaded of several cartridges", "fraction", "%", 0.0, 1.0,
           "shortens", (0.3, 1.0), open_low=True),
        _t("superficial_velocity", "flow over the face area of the bed", "velocity", "cm/s", 0.0, 10.0, "mixed",
           (0.02, 0.6), open_low=True),
        _t("molar_gas_volume", "volume of a mole of gas", "molar_volume", "L/mol", 0.0, 1.0, "mixed", (0.022, 0.035),
           open_low=True),
        _t("kinematic_viscosity", "kinematic viscosity of air", "diffusivity", "cm**2/s", 0.0, 1e-3, "mixed",
           (1.2e-5, 3e-5), open_low=True),
        # --- the vapour in it
        _t("volume_fraction", "concentration by volume", "volume_fraction", "ppm", 0.0, 1.0, "shortens", (1e-6, 1e-2),
           open_low=True),
        _t("mass_concentration", "mass of vapour per volume of air", "mass_concentration", "mg/m**3", 0.0, 100.0,
           "shortens", (4e-6, 4e-2), open_low=True),
        _t("partial_pressure", "pressure of the vapour alone", "pressure", "Pa", 0.0, 1.1e5, "shortens", (0.1, 500.0),
           open_low=True),
        _t("exposure_limit", "occupational exposure limit by volume", "volume_fraction", "ppm", 0.0, 1.0, "lengthens",
           (1e-7, 1e-3), open_low=True),
        _t("molar_mass", "molar mass", "molar_mass", "g/mol", 1e-3, 2.0, "mixed", (0.03, 0.25)),
        _t("boiling_point", "normal boiling point", "temperature", "degC", 20.0, 1000.0, "mixed", (290.0, 500.0)),
        _t("saturation_pressure", "vapour pressure of the liquid at the air's temperature", "pressure", "kPa", 0.0,
           1e8, "shortens", (600.0, 1e5), open_low=True),
        _t("liquid_density", "density of the liquid at the air's temperature", "density", "g/cm**3", 100.0, 2e4,
           "lengthens", (650.0, 2000.0)),
        _t("liquid_molar_volume", "molar volume of the liquid", "molar_volume", "cm**3/mol", 0.0, 1e-2, "lengthens",
           (4e-5, 3e-4), open_low=True),
        _t("refractive_index", "refractive index of the liquid (sodium D line)", "factor", "", 1.0, 4.0, "lengthens",
           (1.3, 1.7), open_low=True),
        _t("molar_polarization", "molar electronic polarization", "molar_volume", "cm**3/mol", 0.0, 1e-3, "lengthens",
           (8e-6, 8e-5), open_low=True),
        _t("diffusion_volume", "sum of atomic diffusion volumes, per mole", "molar_volume", "cm**3/mol", 0.0, 1e-2,
           "shortens", (2e-5, 3e-4), open_low=True),
        _t("diffusivity", "diffusivity of the vapour in air", "diffusivity", "cm**2/s", 0.0, 1e-3, "lengthens",
           (3e-6, 2e-5), open_low=True),
        _t("liquid_share", "share of a liquid product", "fraction", "%", 0.0, 1.0, "mixed", (1e-3, 1.0),
           open_low=True),
        _t("assigned_protection_factor", "outside over inside concentration a facepiece is trusted for", "factor", "",
           1.0, 1e5, "mixed", (5.0, 1000.0)),
        # --- the sorbent bed
        _t("sorbent_mass", "dry carbon in one cartridge", "mass", "g", 0.0, 5.0, "lengthens", (0.01, 0.2),
           open_low=True),
        _t("bed_depth", "depth of the bed along the flow", "length", "cm", 0.0, 1.0, "lengthens", (0.005, 0.1),
           open_low=True),
        _t("face_area", "area of the bed across the flow", "area", "cm**2", 0.0, 1.0, "mixed", (0.002, 0.02),
           open_low=True),
        _t("bulk_density", "packed density of the bed", "density", "g/cm**3", 50.0, 2000.0, "shortens",
           (350.0, 600.0)),
        _t("granule_diameter", "mean diameter of the granules", "length", "mm", 0.0, 0.02, "shortens",
           (5e-4, 3e-3), open_low=True),
        _t("void_fraction", "void between the granules", "fraction", "%", 0.0, 0.95, "mixed", (0.35, 0.5),
           open_low=True),
        _t("micropore_volume", "micropore volume of the carbon", "specific_volume", "cm**3/g", 0.0, 3e-3, "lengthens",
           (3e-4, 8e-4), open_low=True),
        _t("characteristic_energy", "characteristic energy of the carbon, benzene as reference", "molar_energy",
           "kJ/mol", 0.0, 6e4, "lengthens", (1.4e4, 2.6e4), open_low=True),
        _t("structural_constant", "Dubinin's B, log10 form", "inverse_temperature_squared", "1/K**2", 0.0, 1.0,
           "shortens", (5e-7, 2e-6), open_low=True),
        # --- adsorption
        _t("adsorption_potential", "work to bring the vapour to saturation", "molar_energy", "kJ/mol", 0.0, 1e6,
           "shortens", (1e3, 4e4)),
        _t("affinity_coefficient", "affinity relative to benzene", "factor", "", 0.0, 10.0, "lengthens", (0.3, 2.0),
           open_low=True),
        _t("astakhov_exponent", "exponent of the Dubinin-Astakhov isotherm", "factor", "", 0.5, 10.0, "mixed",
           (1.0, 4.0)),
        _t("capacity", "vapour held by the carbon at equilibrium", "loading", "g/g", 0.0, 10.0, "lengthens",
           (0.005, 0.6), open_low=True),
        _t("isotherm_slope", "d ln(loading) / d ln(pressure)", "factor", "", 0.0, _INF, "shortens", (0.01, 2.0)),
        _t("grand_potential", "integral of the isotherm over ln(pressure), per mole that fills the micropores and R T",
           "factor", "", 0.0, _INF, "mixed", (0.1, 10.0)),
        _t("capacity_ratio", "loading in humid air over loading in dry air", "factor", "", 0.0, 1.0, "lengthens",
           (0.1, 1.0)),
        # --- water on the carbon
        _t("absolute_humidity", "mass of water vapour per volume of air", "mass_concentration", "g/m**3", 0.0, 1.0,
           "shortens", (1e-3, 5e-2), open_low=True),
        _t("water_share", "share of the micropore volume that water fills", "fraction", "%", 0.0, 1.0, "shortens",
           (0.0, 1.0)),
        _t("standing_water", "share of the water on the carbon that the vapour does not push out", "fraction", "%", 0.0,
           1.0, "shortens", (0.5, 1.0)),
        _t("water_uptake", "water held by the carbon at equilibrium", "loading", "g/g", 0.0, 3.0, "shortens",
           (5e-3, 0.45)),
        _t("carbon_dampness", "how much water a carbon takes up among carbons: -1 driest, 0 typical, 1 dampest",
           "factor", "", -1.0, 1.0, "shortens", (-1.0, 1.0)),
        _t("saturation_uptake", "limit of the water uptake", "loading", "g/g", 0.0, 3.0, "shortens", (0.1, 0.6),
           open_low=True),
        _t("primary_uptake", "water held by primary sites, a molecule each", "loading", "g/g", 0.0, 3.0, "shortens",
           (1e-3, 0.1), open_low=True),
        _t("water_energy", "characteristic energy of water on the carbon", "molar_energy", "kJ/mol", 0.0, 6e4,
           "shortens", (1e3, 3e3), open_low=True),
        _t("half_filling_humidity", "relative humidity at half the limit of the water uptake", "fraction", "%", 0.0,
           1.5, "lengthens", (0.3, 0.9), open_low=True),
        _t("filling_steepness", "steepness of the rise of water uptake with humidity", "factor", "", 0.0, 1e3,
           "mixed", (5.0, 40.0), open_low=True),
        _t("growth_ratio", "ratio of the rates at which water clusters grow and shrink", "factor", "", 0.0, 100.0,
           "shortens", (1.0, 4.0), open_low=True),
        _t("site_loss", "loss of sites for water with uptake", "factor", "", 0.0, 1e3, "lengthens", (0.8, 6.0),
           open_low=True),
        _t("primary_site_constant", "adsorption constant of water on a primary site", "factor", "", 0.0, 1e6,
           "shortens", (1e-3, 100.0), open_low=True),
        _t("side_constant", "adsorption constant of water beside water", "factor", "", 0.0, 1e3, "shortens",
           (0.5, 2.5), open_low=True),
        _t("cluster_constant", "adsorption constant of water clusters in micropores", "factor", "", 0.0, 1e6,
           "shortens", (1.0, 100.0), open_low=True),
        _t("cluster_size", "most water molecules on a primary site", "factor", "", 1.0, 50.0, "shortens",
           (4.0, 20.0)),
        _t("water_front_time", "time in which the air brings the water that the carbon can hold", "time", "min", 0.0,
           _INF, "lengthens", (60.0, 1e5)),
        # --- kinetics and time
        _t("rate_coefficient", "overall adsorption rate coefficient", "rate", "1/min", 0.0, 1e5, "lengthens",
           (10.0, 200.0), open_low=True),
        _t("transfer_units", "number of transfer units of the bed", "factor", "", 0.0, _INF, "lengthens", (0.5, 50.0)),
        _t("logistic_rate", "rate at which the odds of exit over inlet concentration grow", "rate", "1/min", 0.0, 1e3,
           "mixed", (1e-4, 1e-2), open_low=True),
        _t("half_time", "time at which half of the inlet concentration comes through", "time", "min", 0.0, _INF,
           "lengthens", (600.0, 1e5), open_low=True),
        _t("rate_scale", "rate coefficient of this bed over the correlated one", "factor", "", 0.0, 100.0,
           "lengthens", (0.5, 2.0), open_low=True),
        _t("exit_fraction", "exit over inlet concentration at which the bed counts as broken through", "fraction", "%",
           0.0, 0.99, "lengthens", (1e-4, 0.2), open_low=True),
        _t("exit_uncertainty", "standard deviation of a measured exit fraction", "fraction", "%", 0.0, 0.5, "mixed",
           (1e-3, 0.05), open_low=True),
        _t("penetration", "exit over inlet concentration", "fraction", "%", 0.0, 1.0, "shortens", (0.0, 1.0)),
        _t("worn_time", "time for which air has been drawn through the cartridge", "time", "min", 0.0, _INF,
           "shortens", (60.0, 1e5)),
        _t("stoichiometric_time", "time at which an ideal bed is full", "time", "min", 0.0, _INF, "lengthens",
           (60.0, 1e5)),
        _t("breakthrough_time", "what a model predicts", "time", "min", 0.0, _INF, "lengthens", (60.0, 1e5)),
        _t("critical_bed_mass", "carbon that only holds the adsorption wave", "mass", "g", 0.0, _INF, "shortens",
           (1e-3, 0.1)),
        _t("life_factor", "factor on the time a cartridge lasts", "factor", "", 0.0, 1.0, "lengthens", (0.3, 1.0)),
        _t("reduced_potential", "adsorption potential over the energy with which the carbon holds the vapour", "factor",
           "", 0.0, _INF, "shortens", (0.0, 2.0)),
        _t("predicted_time", "predicted beside a measured time", "time", "min", 0.0, _INF, "mixed", (60.0, 1e5)),
        _t("measured_time", "measured breakthrough time", "time", "min", 0.0, _INF, "mixed", (60.0, 1e5)),
        _t("coverage", "share of vapours for which the margin is to hold", "fraction", "%", 0.5, 1.0, "shortens",
           (0.8, 0.98), open_low=True),
        _t("service_life", "conservative estimate, after the margin", "time", "min", 0.0, _INF, "lengthens",
           (60.0, 1e5)),
        _t("change_interval", "what people are told to do", "time", "h", 0.0, _INF, "lengthens", (900.0, 43200.0)),
        # --- air samples
        _t("sampling_time", "time for which a sampler ran", "time", "min", 0.0, 86400.0, "shortens", (300.0, 28800.0),
           open_low=True),
        _t("wearing_time", "time, out of that of a sample, for which the respirator was worn", "time", "min", 0.0,
           86400.0, "lengthens", (300.0, 28800.0), open_low=True),
        _t("exposure_coverage", "share of all exposures that a limit from samples is to cover", "fraction", "%", 0.5,
           0.9999, "shortens", (0.9, 0.99)),
        _t("confidence", "share of sets of samples for which a bound from them is right", "fraction", "%", 0.5, 0.9999,
           "shortens", (0.7, 0.99)),
        _t("geometric_standard_deviation", "factor by which exposures scatter about their median", "factor", "", 1.0,
           100.0, "shortens", (1.2, 4.0)),
        _t("tolerance_factor", "standard deviations from the mean of results to an upper tolerance limit", "factor", "",
           0.0, _INF, "shortens", (1.8, 11.0)),
        _t("exceedance_fraction", "share of all exposures above a limit", "fraction", "%", 0.0, 1.0, "shortens",
           (0.0, 0.1)),
    )
}  # fmt: skip


def term(name: str) -> Term:
    """Look a word up; a word that is missing here is a mistake in the code."""
    if name not in VOCABULARY:
        raise KeyError(f"{name!r} is not in the vocabulary")
    return VOCABULARY[name]


def check(name: str, value: Any, *, as_argument: str | None = None, result: bool = False) -> Any:
    """Refuse a value (SI) that is not finite or not physically possible.

    A *result* may be zero where an argument may not: a loading too small for a float is no mistake.

    Raises
    ------
    DomainError
        Naming the argument, the value and the bound.
    """
    word = VOCABULARY[name]
    shown_name = as_argument or name
    if not is_finite(value):
        raise DomainError(f"{shown_name} must be a finite number, and is {value}")
    array, bad = np.asarray(value), word.outside(value, result=result)
    if bad.any():
        first = float(array[bad].flat[0]) if array.ndim else float(value)
        hint = ""
        if word.family == "fraction" and (first == 1 or 2 <= first <= 100):
            hint = f'; for {first:g} per cent write "{first:g} %"'
        shown = f"{_plain(word.in_printed_unit(first))} {word.printed_unit}".strip()
        more = f" (and {int(bad.sum()) - 1} more)" if array.ndim and bad.sum() > 1 else ""
        raise DomainError(f"{shown_name} = {shown}{more} is not possible; it must be {word.bounds()}{hint}")
    return value


def read(name: str, value: Any, *, as_argument: str | None = None) -> Any:
    """Read one argument through the door and check its bounds; SI comes back.

    Raises
    ------
    UnitsError
        Unit missing or of the wrong kind.
    DomainError
        Outside the physical bounds.
    """
    word = VOCABULARY[name]
    try:
        number = read_value(as_argument or name, word.family, value)
    except ValueError as error:
        raise UnitsError([str(error)]) from None
    return check(name, number, as_argument=as_argument)


def humidity_slip(name: str, humidity: float) -> str:
    """What is wrong with a relative humidity that somebody wrote down: most likely a fraction typed as per cent.

    Returns
    -------
    str
        Empty above 1 %, and at 0 %.
    """
    if not 0 < humidity <= 0.01:
        return ""
    return (
        f"{name} = {100 * humidity:.3g} % is drier than any room, most likely a fraction typed as per cent; for "
        f'{1e4 * humidity:.3g} per cent write "{1e4 * humidity:.3g} %". Air that is truly so dry counts as "0 %"'
    )


def single(name: str, value: Any) -> float:
    """Return a value (SI) as a float, or refuse an array where one value is meant.

    Raises
    ------
    DomainError
        Naming the argument and how many values came.
    """
    if np.ndim(value):
        raise DomainError(f"{name}: {np.size(value)} values in a list; give one value, the worst that occurs")
    return float(value)


def read_amount(name: str, value: Any) -> Concentration:
    """Read a concentration in either basis, ppm or mg/m3.

    Raises
    ------
    UnitsError
        Unit missing or of the wrong kind.
    """
    try:
        return read_concentration(name, value)
    except ValueError as error:
        raise UnitsError([str(error)]) from None


def read_all(values: dict[str, Any]) -> dict[str, Any]:
    """Read several arguments, each named by its term, and report all unit faults at once.

    Raises
    ------
    UnitsError
        With one line for each bad argument.
    DomainError
        For the first value outside its bounds.
    """
    numbers: dict[str, Any] = {}
    problems: list[str] = []
    for name, value in values.items():
        try:
            numbers[name] = read_value(name, VOCABULARY[name].family, value)
        except ValueError as error:
            problems.append(str(error))
    if problems:
        raise UnitsError(problems)
    for name, number in numbers.items():
        check(name, number)
    return numbers
