"""The air, the breathing, the exposure arithmetic, and whether a filtering respirator is allowed."""

from __future__ import annotations

from respcalc.workplace.air import Air, describe_air
from respcalc.workplace.breathing import (
    breathing_rate,
    flow_from_metabolic_rate,
    metabolic_rates,
    standard_flows,
    work_rates,
)
from respcalc.workplace.exposure import additive_index, time_weighted_average
from respcalc.workplace.gas import (
    mass_from_volume_fraction,
    molar_gas_volume,
    pressure_at_altitude,
    volume_fraction_from_mass,
)
from respcalc.workplace.permission.criterion import Criterion
from respcalc.workplace.permission.eyes import GOGGLES
from respcalc.workplace.permission.gate import Permission, may_filter
from respcalc.workplace.permission.inhaled import Inhaled, describe_exposure
from respcalc.workplace.permission.jurisdictions import Jurisdiction, jurisdiction, jurisdictions
from respcalc.workplace.permission.limits import STRICTEST, ChosenLimits, choose_limits, limits_in_force
from respcalc.workplace.permission.low_boilers import LOW_BOILING, low_boiler_limit, low_boiling
from respcalc.workplace.permission.respirators import (
    Facepiece,
    UseConcentration,
    facepiece,
    facepieces,
    maximum_use_concentration,
)
from respcalc.workplace.permission.substance_rules import SubstanceRule, acting_rules, rules_for
from respcalc.workplace.products.composition_reader import ForbiddenParts, describe_product
from respcalc.workplace.products.product import Ingredient, Product
from respcalc.workplace.products.product_in_air import ProductInAir, VapourInAir
from respcalc.workplace.profile import Profile, Stretch
from respcalc.workplace.psychrometrics import (
    HUMIDITY_MEASURES,
    water_pressure_from_absolute_humidity,
    water_pressure_from_humidity_ratio,
    water_saturation_pressure,
)
from respcalc.workplace.stated import names_data, no_basis, rests_on_smell
from respcalc.workplace.work import Phase, Work, describe_work

__all__ = [
    "GOGGLES",
    "HUMIDITY_MEASURES",
    "LOW_BOILING",
    "STRICTEST",
    "Air",
    "ChosenLimits",
    "Criterion",
    "Facepiece",
    "ForbiddenParts",
    "Ingredient",
    "Inhaled",
    "Jurisdiction",
    "Permission",
    "Phase",
    "Product",
    "ProductInAir",
    "Profile",
    "Stretch",
    "SubstanceRule",
    "UseConcentration",
    "VapourInAir",
    "Work",
    "acting_rules",
    "additive_index",
    "breathing_rate",
    "choose_limits",
    "describe_air",
    "describe_exposure",
    "describe_product",
    "describe_work",
    "facepiece",
    "facepieces",
    "flow_from_metabolic_rate",
    "jurisdiction",
    "jurisdictions",
    "limits_in_force",
    "low_boiler_limit",
    "low_boiling",
    "mass_from_volume_fraction",
    "maximum_use_concentration",
    "may_filter",
    "metabolic_rates",
    "molar_gas_volume",
    "names_data",
    "no_basis",
    "pressure_at_altitude",
    "rests_on_smell",
    "rules_for",
    "standard_flows",
    "time_weighted_average",
    "volume_fraction_from_mass",
    "water_pressure_from_absolute_humidity",
    "water_pressure_from_humidity_ratio",
    "water_saturation_pressure",
    "work_rates",
]
