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
from respcalc.estimate.margin import RATE_SHARE, Margin, usable_time
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
    times: tuple[float, float]  # predicted, and with the slower rate
    reference_times: tuple[float, float]  # the same at the calibrated concentration, to this exit fraction

    @property
    def usable(self) -> float:
        return float(usable_time(self.margin, self.times, self.reference_times, self.total))

    @property
    def by_rate(self) -> bool:
        """The bed is so short that the slower rate, not the divisor, sets the life."""
        return self.times[1] < self.times[0] / self.margin.divisor

    @property
    def by_dilution(self) -> bool:
        """The concentration is below those that were calibrated, and that shortens the life."""
        return self.usable < min(self.times[0] / self.margin.divisor, self.times[1])

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
    share = criterion.challenge_fraction
    if several:
        share = min(share, criterion.limit_fraction / index)
    limit_exit = criterion.limit_fraction * own_limit
    exit_fraction = min(share, limit_exit / total)
    reference = max(total, margin.calibrated_concentration)
    challenge = Challenge(
        volume_fraction=np.array([total, total, reference, reference]),
        temperature=kelvin,
        pressure=air.pressure.value,
        relative_humidity=air.relative_humidity.value,
        challenge_fraction=np.array([share, share, exit_fraction, exit_fraction]),
        limit_exit=np.array([limit_exit, limit_exit, np.inf, np.inf]),
    )
    outcome = run_chain(sorbate, bed, challenge, np.array([1.0, RATE_SHARE, 1.0, RATE_SHARE]))
    own, slower, at, at_slower = (float(t) for t in outcome.breakthrough_time)
    limit = min(own_limit, total / index)
    return ComponentRun(part, total, limit, exit_fraction, bed, outcome.row(0), margin, (own, slower), (at, at_slower))


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
