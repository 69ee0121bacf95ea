"""Several vapours at once: who leaves first, how concentrated, and how far the sum rule may be believed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from respcalc.cartridges import Cartridge
from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import term
from respcalc.models.affinity import affinity_least
from respcalc.models.capacity import adsorption_potential, dubinin_capacity_at_potential
from respcalc.models.constants import GAS_CONSTANT
from respcalc.models.mixtures import Fronts, equilibrium_fronts
from respcalc.vapours import Vapour
from respcalc.workplace import Air, Inhaled

__all__ = ["SUM_RULE_SHARE", "MixturePart", "Order", "merged", "order_of_leaving"]

# The sum rule was up to 1.2 % (invented vapours: 1.6 %) longer than equilibrium theory in 13 830 mixtures.
SUM_RULE_SHARE = 1 / 1.02


@dataclass(frozen=True)
class MixturePart:
    """One vapour of a mixture, as the record shows it."""

    vapour: str
    cas: str
    concentration: Datum
    limit: Datum
    time_alone: Datum  # predicted at its own concentration, nothing else in the air
    time_at_sum: Datum  # predicted as if all that is in the air were of its kind
    life_at_sum: Datum
    leaves: int  # 1 leaves the bed first, by equilibrium theory
    leaves_at: Datum  # the most that the exit then carries of it
    share_of_limit: float  # of that over its limit

    def as_dict(self) -> dict[str, Any]:
        return {
            "vapour": self.vapour,
            "cas": self.cas,
            **{
                name: getattr(self, name).as_dict()
                for name in ("concentration", "limit", "time_alone", "time_at_sum", "life_at_sum", "leaves_at")
            },
            "leaves": f"{self.leaves}. of the vapours",
            "leaves_at_over_limit": {"value": float(self.share_of_limit), "unit": ""},
        }


def merged(inhaled: Sequence[Inhaled]) -> tuple[tuple[Inhaled, ...], tuple[str, ...]]:
    """Parts that name one vapour twice put together, and a notice for each.

    Raises
    ------
    DomainError
        The two entries are held to different limits.
    """
    kept: list[Inhaled] = []
    notices = []
    for part in inhaled:
        vapour = part.vapour
        place = next((i for i, p in enumerate(kept) if _same(p.vapour, vapour)), None)
        if place is None:
            kept.append(part)
            continue
        before = kept[place]
        if before.limits != part.limits or before.vapour.cas != vapour.cas:
            raise DomainError(
                f"components: {vapour.name} is named twice, with two descriptions or two limits "
                f"({before.limits.text}; {part.limits.text}); add the two concentrations and name it once"
            )
        whole = before.concentration + part.concentration
        kept[place] = replace(before, concentration=whole, profile=None)
        notices.append(
            f"{vapour.name} was named twice; its concentrations are added to {term('volume_fraction').show(whole)}"
        )
    return tuple(kept), tuple(notices)


def _same(one: Vapour, other: Vapour) -> bool:
    return (bool(one.cas) and one.cas == other.cas) or one.name.casefold() == other.name.casefold()


@dataclass(frozen=True)
class Order:
    """What equilibrium theory says of a mixture on a clean, dry bed. Arrays run over the vapours."""

    place: Any  # 1 leaves first
    highest: Any  # volume fraction: inlet, or the plateau that the vapour leaves at where that is higher
    counts: Any  # whether it can ever leave, beside lesser traces, at what counts as breakthrough
    sharp: bool
    share: float  # of the sum rule's time that the theory leaves the vapours that count, at most 1


def order_of_leaving(inhaled: Sequence[Inhaled], cartridge: Cartridge, air: Air, limit_fraction: float) -> Order:
    """Order of the fronts, with roll-up, and how the sum rule stands against them.

    Parameters
    ----------
    inhaled
        The vapours, all fed at once. Where the total is known to be less, rule and theory are still held against
        each other at one and the same feed, and the plateaus are upper bounds.
    cartridge, air
        The carbon, and the air at whose temperature and pressure they are held.
    limit_fraction
        Share of its exposure limit at which a vapour counts as broken through.

    Returns
    -------
    Order
    """
    kelvin, pressure = air.temperature.value, air.pressure.value
    # in an order of their own, so that neither a tie nor the last digit knows how the vapours were named
    named = sorted(range(len(inhaled)), key=lambda i: (inhaled[i].vapour.cas, inhaled[i].vapour.name))
    inhaled = [inhaled[i] for i in named]
    vapours = [part.vapour for part in inhaled]
    saturation = np.array([float(v.saturation_pressures(kelvin)) for v in vapours])
    density = np.array([float(v.liquid_densities(kelvin)) for v in vapours])
    molar_mass = np.array([v.molar_mass.value for v in vapours])
    affinity = affinity_least.si(molar_polarization=np.array([v.molar_polarization.value for v in vapours]))
    partial = np.minimum(np.array([part.concentration for part in inhaled]) * pressure, saturation)
    energy, pores = cartridge.characteristic_energy.value, cartridge.micropore_volume.value
    fronts: Fronts = equilibrium_fronts(
        partial, saturation, pores * density / molar_mass, GAS_CONSTANT * kelvin / (affinity * energy), kelvin
    )
    # the same by the sum rule: each as if all were of its kind, held at the summed pressure
    total = math.fsum(part.concentration for part in inhaled)
    loading = dubinin_capacity_at_potential.si(
        adsorption_potential=adsorption_potential.si(
            temperature=kelvin,
            saturation_pressure=saturation,
            partial_pressure=np.minimum(total * pressure, saturation),
        ),
        micropore_volume=pores,
        liquid_density=density,
        characteristic_energy=energy,
        affinity_coefficient=affinity,
    )
    by_sum = float(np.min(loading / molar_mass)) * GAS_CONSTANT * kelvin / (total * pressure)
    places = np.empty(len(inhaled), dtype=int)
    places[np.argsort(fronts.air_volume, kind="stable")] = np.arange(1, len(inhaled) + 1)
    highest = np.maximum(fronts.plateau_pressure / pressure, [part.concentration for part in inhaled])
    of_limit = highest / np.array([part.limits.least.value.value for part in inhaled])
    # traces act together: each counts with all that come to no more of their limits than it does
    counts = np.array([math.fsum(of_limit[of_limit <= share]) for share in of_limit]) >= limit_fraction
    first = float(np.min(fronts.air_volume[counts], initial=np.inf))
    back = np.argsort(named)
    return Order(places[back], highest[back], counts[back], bool(np.all(fronts.sharp)), min(1.0, first / by_sum))
