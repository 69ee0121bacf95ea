"""One vapour of a task through the chain, at the summed concentration."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from respcalc.cartridges import Cartridge
from respcalc.core.basis import Datum
from respcalc.core.vocabulary import term
from respcalc.estimate.chain import Bed, Challenge, Outcome, Sorbate, run_chain
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import margin_factor
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
    margin: Datum

    @property
    def usable(self) -> float:
        return float(self.outcome.breakthrough_time) * self.margin.value

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
    share: float,
    cartridge: Cartridge,
    air: Air,
    flow: Datum,
    criterion: BreakthroughCriterion,
) -> ComponentRun:
    """Run the chain for one vapour as if all that is in the air were of its kind."""
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
    challenge = Challenge(
        volume_fraction=total,
        temperature=kelvin,
        pressure=air.pressure.value,
        relative_humidity=air.relative_humidity.value,
        challenge_fraction=share,
        limit_exit=criterion.limit_fraction * own_limit,
    )
    outcome = run_chain(sorbate, bed, challenge)
    limit = min(own_limit, total / index)
    return ComponentRun(part, total, limit, float(challenge.exit_fraction(total)), bed, outcome, margin_factor(vapour))


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
