"""One vapour of a task through the chain, at the summed concentration."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from respcalc.cartridges import CarbonHistory, Cartridge
from respcalc.core.basis import Datum
from respcalc.core.vocabulary import term
from respcalc.estimate.credit import credit_of, most_by_tests, share_by_tests
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import DILUTION_POWER, Margin, margin_near_test, rate_shares, usable_time
from respcalc.estimate.mixture import SUM_RULE_SHARE
from respcalc.prediction import Bed, Challenge, Outcome, run_chain, sorbate_of
from respcalc.workplace import Air, Inhaled

__all__ = ["ComponentRun", "run_component"]


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
    time_alone: float  # predicted with nothing else in the air
    convex_alone: bool  # at its own concentration
    rule_share: float = 1.0  # of the life, for what the sum rule may overstate
    most: float = math.inf  # that own tests in no worse air leave
    slow_share: float = 1.0  # of the rate coefficient, in the second of each pair of times

    @cached_property
    def usable(self) -> float:
        own = float(usable_time(self.margin, self.times, self.reference_times, self.total))
        return self.rule_share * min(own, self.most)

    @property
    def life_set_by(self) -> str:
        """Which of the margin's three means leaves the least, in words."""
        show, per_cent = term("volume_fraction").show, f"{100 * self.slow_share:.0f} %"
        usable = self.usable / self.rule_share
        if usable < float(usable_time(self.margin, self.times, self.reference_times, self.total)) * (1 - 1e-12):
            return "the cartridge's own test: it broke through then in air that was nowhere worse"
        own, reference = self.times[0] / self.margin.divisor, self.reference_times[0] / self.margin.divisor
        there = term("service_life").show(min(reference, self.reference_times[1]))
        if usable < min(own, self.times[1]) * (1 - 1e-12):
            short = ", with " + per_cent + " of the rate coefficient" if self.reference_times[1] < reference else ""
            if self.total > self.margin.highest_calibrated:
                return (
                    f"the concentration: the bed was found from tests up to {show(self.margin.highest_calibrated)}, "
                    f"and from there{short} the life ({there}) is taken to fall in proportion to the "
                    "concentration, which is the safe side"
                )
            return (
                f"the concentration: {self.margin.reference_words} {show(self.margin.calibrated_concentration)}, and "
                f"from there{short} the life ({there}) is carried down by the {DILUTION_POWER:g} power of the "
                "dilution (a published rule: about five times the life for a tenth of the concentration), which gives "
                "less than the isotherm does"
            )
        if self.times[1] < own:
            return (
                f"the rate: the bed is short for this criterion, and with {per_cent} of the rate coefficient it keeps "
                "less than the divisor leaves"
            )
        if self.margin.coverage is None:
            return (
                "the cartridge's own test, carried to this air by rules that are safe: no other milder conditions are "
                "credited"
            )
        return "the divisor of the margin"

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
    history: CarbonHistory,
) -> ComponentRun:
    """Run the chain for one vapour as if all that is in the air were of its kind.

    *index* is the sum of concentrations over limits. What comes out is judged against each vapour's
    own limit and, where there are *several*, as a share of what comes in against that of the mixture.
    """
    vapour, kelvin = part.vapour, air.temperature.value
    own_limit = part.limits.least.value.value
    sorbate = sorbate_of(vapour, kelvin)
    bed = cartridge.bed(flow.value, history.water_share.value)
    share = criterion.challenge_fraction
    if several:
        share = min(share, criterion.limit_fraction / index)
    limit_exit = criterion.limit_fraction * own_limit
    exit_fraction = min(share, limit_exit / total)
    reference = float(margin.reference(total))
    challenge = Challenge(
        volume_fraction=np.array([total, total, reference, reference, part.concentration]),
        temperature=kelvin,
        pressure=air.pressure.value,
        relative_humidity=air.relative_humidity.value,
        challenge_fraction=np.array([share, share, exit_fraction, exit_fraction, criterion.challenge_fraction]),
        limit_exit=np.array([limit_exit, limit_exit, np.inf, np.inf, limit_exit]),
    )
    believed, slow = rate_shares(cartridge)
    outcome = run_chain(sorbate, bed, challenge, np.array([believed, slow, believed, slow, believed]))
    own, slower, at, at_slower, alone = (float(t) for t in outcome.breakthrough_time)
    limit = min(own_limit, total / index)
    run = ComponentRun(
        part=part,
        total=total,
        limit=limit,
        exit_fraction=exit_fraction,
        bed=bed,
        outcome=outcome.row(0),
        margin=margin,
        times=(own, slower),
        reference_times=(at, at_slower),
        time_alone=alone,
        convex_alone=bool(np.broadcast_to(outcome.convex, 5)[4]),
        rule_share=SUM_RULE_SHARE if several else 1.0,
        slow_share=slow / believed,
    )
    task = {
        "volume_fraction": total, "flow_rate": flow.value, "temperature": kelvin, "exit_fraction": exit_fraction,
        "relative_humidity": air.relative_humidity.value, "pressure": air.pressure.value,
    }  # fmt: skip
    if not cartridge.tests:
        return run
    left = float(share_by_tests(cartridge, vapour, exit_fraction))
    here = run.times
    run = replace(
        run,
        most=float(most_by_tests(cartridge, vapour, **task)),
        times=(left * own, left * slower),
        reference_times=(left * at, left * at_slower),
    )
    best = run
    # never more than predicted for the task itself: the search for a longest time knows its exposure limit
    for credit in credit_of(cartridge, vapour, history, here, limit_exit, **task):
        margin = margin_near_test(run.margin, credit.test, float(credit.divisor))
        times = (float(credit.times[0]), float(credit.times[1]))
        tested = replace(run, margin=margin, times=times, reference_times=(np.inf, np.inf))
        if tested.usable > (0.0 if best.margin.outside else best.usable):
            best = tested
    return best
