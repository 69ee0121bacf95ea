"""The Wheeler-Jonas equation for one cartridge: both terms, the older forms, and the misprints to refuse."""

from __future__ import annotations

import math

from reference_checks.framework import Check
from respcalc.models import breakthrough

__all__ = ["CHECKS"]


def _by_hand(
    *,
    capacity: float,
    sorbent_mass: float,
    mass_concentration: float,
    flow_rate: float,
    bulk_density: float,
    rate_coefficient: float,
    exit_fraction: float,
) -> float:
    """In g, cm3 and min, as printed."""
    c0, mass, flow = mass_concentration * 1e-3, sorbent_mass * 1e3, flow_rate * 6e7
    wave = capacity * bulk_density * 1e-3 / (rate_coefficient * 60 * c0)
    return 60 * (capacity * mass / (c0 * flow) - wave * math.log((1 - exit_fraction) / exit_fraction))


def _original(
    *,
    capacity: float,
    sorbent_mass: float,
    mass_concentration: float,
    flow_rate: float,
    bulk_density: float,
    rate_coefficient: float,
    exit_fraction: float,
) -> float:
    """The critical mass taken off the bed, ln(C0/Cx) for ln[(C0 - Cx)/Cx]."""
    critical = bulk_density * flow_rate / rate_coefficient * math.log(1 / exit_fraction)
    return capacity / (mass_concentration * flow_rate) * (sorbent_mass - critical)


def _second_term(
    *,
    capacity: float,
    sorbent_mass: float,
    mass_concentration: float,
    flow_rate: float,
    bulk_density: float,
    rate_coefficient: float,
    exit_fraction: float,
) -> float:
    feed = {
        "capacity": capacity,
        "sorbent_mass": sorbent_mass,
        "mass_concentration": mass_concentration,
        "flow_rate": flow_rate,
    }
    time = breakthrough.wheeler_jonas_time.si(
        **feed, bulk_density=bulk_density, rate_coefficient=rate_coefficient, exit_fraction=exit_fraction
    )
    return float(breakthrough.stoichiometric_time.si(**feed) - time)


def _second_term_by_hand(
    *,
    capacity: float,
    mass_concentration: float,
    bulk_density: float,
    rate_coefficient: float,
    exit_fraction: float,
) -> float:
    ratio = (1 - exit_fraction) / exit_fraction
    return capacity * bulk_density / (rate_coefficient * mass_concentration) * math.log(ratio)


def _times_rate_and_mass(
    *,
    sorbent_mass: float,
    mass_concentration: float,
    flow_rate: float,
    bulk_density: float,
    rate_coefficient: float,
    exit_fraction: float,
) -> float:
    """Misprint: rhoB W kv/(C0 Q) ln(...), read in g, cm3 and min and taken for minutes."""
    grams = bulk_density * 1e-3 * sorbent_mass * 1e3 * rate_coefficient * 60
    return 60 * grams / (mass_concentration * 1e-3 * flow_rate * 6e7) * math.log((1 - exit_fraction) / exit_fraction)


def _without_capacity(
    *, mass_concentration: float, bulk_density: float, rate_coefficient: float, exit_fraction: float
) -> float:
    """Misprint: rhoB d/(kv C0) ln(...), with d a granule diameter of 0.1 cm, taken for minutes."""
    wave = bulk_density * 1e-3 * 0.1 / (rate_coefficient * 60 * mass_concentration * 1e-3)
    return 60 * wave * math.log((1 - exit_fraction) / exit_fraction)


CHECKS = {
    "base_case": Check(
        breakthrough.wheeler_jonas_time.si, independent=_by_hand, refuses={"the original form's logarithm": _original}
    ),
    "exact_form": Check(breakthrough.bohart_adams_time.si),
    "stoichiometric": Check(breakthrough.stoichiometric_time.si),
    "transfer_units": Check(breakthrough.transfer_units.si),
    "second_term": Check(
        _second_term,
        independent=_second_term_by_hand,
        refuses={"multiplied by kv and bed mass": _times_rate_and_mass, "without the capacity": _without_capacity},
    ),
    "original_form": Check(breakthrough.wheeler_jonas_time.si, expected=_original),
}
