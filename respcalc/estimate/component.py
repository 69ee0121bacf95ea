"""One vapour of a task through the chain, at the summed concentration."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.cartridges import Cartridge
from respcalc.core.basis import Datum
from respcalc.core.vocabulary import term
from respcalc.estimate.chain import Bed, Challenge, Outcome, Sorbate, run_chain
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import LOW_CONCENTRATION, RATE_SHARE, Margin, usable_time
from respcalc.workplace import Air, Inhaled

__all__ = ["ComponentRun", "bed_of", "run_component"]


@dataclass(frozen=True)
class ComponentRun:
    """One component taken at the summed concentration."""

    part: Inhaled
    total: float
    limit: float
    exit_fraction: float
    bed: Bed
    outcome: Outcome
    margin: Margin
    held: tuple[float, float, float, float]  # the predicted times that `usable_time` takes

    @property
    def usable(self) -> float:
        return float(usable_time(self.margin.divisor, *self.held))

    @property
    def by_rate(self) -> bool:
        """The bed is so short that the slower rate, not the divisor, sets the life."""
        return self.held[1] < self.held[0] / self.margin.divisor

    @property
    def by_low(self) -> bool:
        """The concentration is below those that were calibrated, and that shortens the life."""
        return self.usable < min(self.held[0] / self.margin.divisor, self.held[1])

    @property
    def in_words(self) -> str:
        if self.usable <= 0:
            return "immediate breakthrough"
        predicted = term("breakthrough_time").show(float(self.outcome.breakthrough_time))
        return f"predicted {predicted}, life {term('service_life').show(self.usable)}"

    @property
    def planned(self) -> float:
        """The concentration that the time belongs to; above the real one only where that is safer."""
        return float(self.outcome.planned_fraction)

    @property
    def above(self) -> bool:
        """The time is that of a higher concentration than the real one."""
        return self.planned > self.total * (1 + 1e-9)

    @property
    def by_rule(self) -> bool:
        """The 85 % rule, not the displacement model, sets the time."""
        return bool(self.outcome.rule_factor * self.outcome.dry_time < self.outcome.wet_time)


def run_component(
    part: Inhaled,
    total: float,
    index: float,
    several: bool,
    cartridge: Cartridge,
    air: Air,
    flow: Datum,
    criterion: BreakthroughCriterion,
    margin: Margin,
) -> ComponentRun:
    """Run the chain for one vapour as if all that is in the air were of its kind.

    *index* is the sum of concentrations over limits. What comes out is judged against each vapour's
    own limit and, where there are *several*, as a share of what comes in against that of the mixture.
    """
    vapour, kelvin = part.vapour, air.temperature.value
    own_limit = part.limits.least.value.value
    sorbate = Sorbate(
        molar_mass=vapour.molar_mass.value,
        saturation_pressure=vapour.saturation_pressures(kelvin),
        liquid_density=vapour.liquid_densities(kelvin),
        molar_polarization=vapour.molar_polarization.value,
        diffusion_volume=vapour.diffusion_volume.value,
    )
    bed = bed_of(cartridge, cartridge.flow_share(flow.value))
    low = max(total, LOW_CONCENTRATION)
    amounts = np.array([total, total, low, low])
    share = np.full(4, criterion.challenge_fraction)
    if several:
        share = np.minimum(share, criterion.limit_fraction / (index * (amounts / total)))
    challenge = Challenge(
        volume_fraction=amounts,
        temperature=kelvin,
        pressure=air.pressure.value,
        relative_humidity=air.relative_humidity.value,
        challenge_fraction=share,
        limit_exit=criterion.limit_fraction * own_limit,
    )
    four = run_chain(sorbate, bed, challenge, np.array([1.0, RATE_SHARE, 1.0, RATE_SHARE]))
    limit = min(own_limit, total / index)
    exit_fraction = float(challenge.exit_fraction(amounts)[0])
    held = tuple(float(t) for t in four.breakthrough_time)
    return ComponentRun(part, total, limit, exit_fraction, bed, four.row(0), margin, held)  # type: ignore[arg-type]


def bed_of(cartridge: Cartridge, flow_rate: Any) -> Bed:
    """The bed of a cartridge with the flow through it, in floats."""
    return Bed(
        flow_rate=flow_rate,
        sorbent_mass=cartridge.sorbent_mass.value,
        face_area=cartridge.face_area.value,
        bulk_density=cartridge.bulk_density.value,
        granule_diameter=cartridge.granule_diameter.value,
        void_fraction=cartridge.void_fraction.value,
        micropore_volume=cartridge.micropore_volume.value,
        characteristic_energy=cartridge.characteristic_energy.value,
    )
