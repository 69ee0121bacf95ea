"""The result with its basis: every number used, every choice made, every warning, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from respcalc.cartridges import CarbonHistory, Cartridge
from respcalc.core.basis import Basis, Datum, Kind
from respcalc.core.cautions import CAUTIONS
from respcalc.core.vocabulary import term
from respcalc.estimate.calibration import Calibration
from respcalc.estimate.component import ComponentRun
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import DEFAULT_COVERAGE, departures
from respcalc.estimate.mixture import MixturePart, Order
from respcalc.estimate.result import ServiceLife
from respcalc.models.breakthrough import transfer_units
from respcalc.prediction import CAPACITY_SET_BY, RATE_MODELS
from respcalc.vapours import Vapour
from respcalc.workplace import Air, Inhaled, limits_in_force

__all__ = ["Case", "report"]

_LEAST_RATE_FRACTION = 1e-4
_SHORT_BED = 5.0
_USUAL_COVERAGE = 0.90
_LEAST_SHARE = 0.95
_CAPACITY_FROM = ("dubinin_radushkevich_1947", "manes_1984", "water_on_carbon_study", "water_on_carbon_study")
_SET_BY = {
    "dry air": "nothing: water takes no capacity here",
    "displacement of water": "the work of pushing water out (Polanyi-Manes)",
    "water that keeps its pores": "the pores that water fills: the vapour mixes with water and need not push it out",
    "water from before": "the water on the carbon before use, of which part or all stands",
}


@dataclass(frozen=True)
class Case:
    """One estimate, run: what it was asked, and what each vapour's run found."""

    inhaled: Sequence[Inhaled]
    runs: Sequence[ComponentRun]
    cartridge: Cartridge
    air: Air
    flow: Datum
    criterion: BreakthroughCriterion
    history: CarbonHistory
    calibration: Calibration
    index: float  # sum of concentrations over limits
    order: Order | None = None  # of a mixture
    total_given: bool = False  # the summed concentration was given, and not each vapour's
    notes: tuple[str, ...] = ()
    others: tuple[Case, ...] = ()  # the same on the other beds that the cartridge could be

    @property
    def run(self) -> ComponentRun:
        """The run with the shortest life; among equals the order in which vapours are named never matters."""
        return min(self.runs, key=lambda r: (r.usable, r.part.vapour.cas, r.part.vapour.name))

    @property
    def parts(self) -> tuple[MixturePart, ...]:
        """Each vapour of a mixture, the one that leaves first in front."""
        if self.order is None:
            return ()
        made = []
        for run, place, highest in zip(self.runs, self.order.place, self.order.highest, strict=True):
            vapour, limit = run.part.vapour, run.part.limits.least.value
            made.append(
                MixturePart(
                    vapour=vapour.name,
                    cas=vapour.cas,
                    concentration=Datum("volume_fraction", run.part.concentration, "given", label="concentration"),
                    limit=limit,
                    time_alone=Datum("breakthrough_time", run.time_alone, "computed", label="time alone"),
                    time_at_sum=Datum("breakthrough_time", run.times[0], "computed", label="time at the sum"),
                    life_at_sum=Datum("service_life", run.usable, "computed", label="life at the sum"),
                    leaves=int(place),
                    leaves_at=Datum(
                        "volume_fraction", float(highest), "computed", "mixture_bound_study", label="leaves at up to"
                    ),
                    share_of_limit=float(highest / limit.value),
                )
            )
        return tuple(sorted(made, key=lambda part: part.leaves))


def report(case: Case) -> ServiceLife:
    """Put the governing component's times together with everything they rest on."""
    run = case.run
    outcome, vapour = run.outcome, run.part.vapour
    capacity, rate = (
        (outcome.rule_factor * outcome.dry_capacity, outcome.dry_rate_coefficient)
        if run.by_rule
        else (outcome.capacity, outcome.rate_coefficient)
    )
    effective = {"capacity": float(capacity), "rate_coefficient": float(rate)}
    units = transfer_units.si(
        rate_coefficient=effective["rate_coefficient"],
        sorbent_mass=run.bed.sorbent_mass,
        bulk_density=run.bed.bulk_density,
        flow_rate=run.bed.flow_rate,
    )
    return ServiceLife(
        governed_by=_identity(vapour),
        components=tuple(
            f"{_identity(p.vapour)}, {term('volume_fraction').show(p.concentration)}" for p in case.inhaled
        ),
        breakthrough=Datum("breakthrough_time", float(outcome.breakthrough_time), "computed", "bohart_adams_1920"),
        central=Datum(
            "breakthrough_time",
            float(outcome.breakthrough_time) / run.margin.typical,
            "computed",
            "margin_calibration",
            label="central estimate",
            note=f"predicted time divided by {run.margin.typical:.3g}: what half of the calibrated vapours held like "
            "this one need; neither the carbon nor the concentration is allowed for",
        ),
        life=Datum("service_life", run.usable, "computed", "margin_calibration"),
        life_set_by=run.life_set_by,
        margin=run.margin,
        exit_fraction=Datum("exit_fraction", run.exit_fraction, "computed"),
        exit_concentration=Datum(
            "volume_fraction", run.exit_fraction * run.total, "computed", label="exit concentration"
        ),
        outside_model=_outside(case),
        mixture=case.parts,
        basis=Basis(
            data=_values(case, effective["rate_coefficient"], units),
            choices=_choices(case),
            warnings=_warnings(case, units),
        ),
        cautions=CAUTIONS,
        _curve=tuple(
            {
                **effective,
                "sorbent_mass": float(run.bed.sorbent_mass),
                "mass_concentration": float(outcome.mass_per_breath),
                "flow_rate": float(run.bed.flow_rate),
                "bulk_density": float(run.bed.bulk_density),
            }.items()
        ),
    )


def _outside(case: Case) -> tuple[str, ...]:
    """Why the models, the margin, or the cartridge's type do not reach this case on some bed that it could be."""
    found = list(case.cartridge.not_for([part.vapour for part in case.inhaled]))
    for one in (case, *case.others):
        found += _outside_on(one)
    return tuple(dict.fromkeys(found))


def _outside_on(case: Case) -> list[str]:
    show, order = term("volume_fraction").show, case.order
    found = []
    for k, run in enumerate(case.runs):
        name = run.part.vapour.name
        at = run.total if run.outcome.convex else run.part.concentration
        # in a mixture a trace that can never leave at what counts as breakthrough may do as it likes
        if run.outcome.convex or (run.convex_alone and order is not None and order.counts[k]):
            found.append(
                f"{name}: at {show(at)} in this air the isotherm is convex (loading falls faster than concentration), "
                "the adsorption wave does not keep its shape, and breakthrough can come at any time"
            )
        if run.margin.outside:
            found.append(f"{name}: {run.margin.outside}")
    if order is not None and order.share < _LEAST_SHARE:
        found.append(
            f"mixture: equilibrium theory leaves {100 * order.share:.0f} % of the time of the sum rule (a trace of a "
            "badly held vapour runs ahead of the others)"
        )
    return found


def _identity(vapour: Vapour) -> str:
    return f"{vapour.name} (CAS {vapour.cas or 'not given'}, {vapour.molar_mass.printed})"


def _values(case: Case, rate: float, units: float) -> tuple[Datum, ...]:
    run, cartridge, air, flow = case.run, case.cartridge, case.air, case.flow
    kelvin, outcome = air.temperature.value, run.outcome
    data = [*air.data(), flow]
    data.append(
        Datum("flow_rate", run.bed.flow_rate, "computed", label="flow_rate of one cartridge",
              note=f"shared by {cartridge.in_parallel}")
    )  # fmt: skip
    data += [*cartridge.data(), case.history.water_share]
    if case.total_given:
        data.append(Datum("volume_fraction", run.total, "given", label="total concentration"))
    for part in case.inhaled:
        vapour, of = part.vapour, f" of {part.vapour.name}"
        shared = case.total_given  # then nobody gave a vapour's own: it is the highest share of a known total
        data.append(
            Datum("volume_fraction", part.concentration, "computed" if shared or part.from_samples else "given",
                  note="highest credible share of the total" if shared else part.from_samples,
                  label=f"concentration{of}")
        )  # fmt: skip
        for limit in (part.limits.long_term, part.limits.short_term):
            if limit is not None:
                data.append(_named(limit.value, f"{limit.authority} {limit.kind}{of}"))
        data += [_named(d, f"{d.quantity}{of}") for d in vapour.data(kelvin)]
    at = f"at {term('volume_fraction').show(run.planned)}" if run.above else ""
    data += [
        Datum("affinity_coefficient", float(outcome.affinity_coefficient), "computed", "respcalc_choices"),
        Datum("capacity", float(outcome.dry_capacity), "computed", "dubinin_radushkevich_1947", note=at,
              label="capacity in dry air"),
        Datum("capacity", float(outcome.capacity), "computed", _CAPACITY_FROM[int(outcome.capacity_set_by)],
              note=at, label="capacity in this air"),
        Datum("rate_coefficient", rate, "computed",
              ("wood_stampfer_1993", "wood_lodewyckx_2003", "wakao_funazkri_1978")[int(outcome.rate_model)],
              note=", ".join(filter(None, (f"least of three, from {RATE_MODELS[int(outcome.rate_model)]}", at)))),
        Datum("transfer_units", float(units), "computed", "bohart_adams_1920", note=at),
        Datum("life_factor", float(outcome.rule_factor), "computed", "aiha_humidity_rule",
              label="humidity rule"),
        Datum("mass_concentration", float(outcome.mass_per_breath), "computed", "respcalc_choices",
              note=", ".join(filter(None, ("counted at 20 degC and at least sea-level pressure", at)))),
        run.margin.datum,
    ]  # fmt: skip
    if run.margin.coverage is not None:
        kind: Kind = "default" if run.margin.coverage == DEFAULT_COVERAGE else "given"
        data.append(Datum("coverage", run.margin.coverage, kind, note=f"calibrated on {run.margin.calibrated_on}"))
    return tuple(data)


def _named(datum: Datum, label: str) -> Datum:
    return Datum(datum.quantity, datum.value, datum.kind, datum.source, datum.locator, datum.note, label)


def _choices(case: Case) -> tuple[str, ...]:
    runs, run, criterion = case.runs, case.run, case.criterion
    show = term("volume_fraction").show
    outcome = run.outcome
    by_challenge = criterion.challenge_fraction * run.total
    by_limit = criterion.limit_fraction * run.limit
    choices = [
        f"breakthrough counts at the lower of {criterion.challenge_fraction:.3g} of the challenge "
        f"({show(by_challenge)}) and {criterion.limit_fraction:.3g} of the exposure limit ({show(by_limit)}): "
        f"{show(min(by_challenge, by_limit))}",
        "time: exact Bohart-Adams solution, of which Wheeler-Jonas is the long-bed form; 0 is immediate breakthrough",
        "capacity: Dubinin-Radushkevich, with the lower of two affinity correlations",
        "rate: the least of Wood-Stampfer, Wood-Lodewyckx and the film and dispersion ceiling; beside water "
        "it falls with the capacity, or with the root of what is left where water stays",
        "humidity: the least of what is credible here, set by "
        + ("the 85 % rule" if run.by_rule else _SET_BY[CAPACITY_SET_BY[int(outcome.capacity_set_by)]]),
        "a breath carries the vapour of its volume at 20 degC and at least sea-level pressure",
    ]
    if run.above:
        choices.append(
            f"at {show(run.total)} the correlations would give a shorter time than at the higher "
            f"{show(run.planned)} (to an exit fraction of {term('exit_fraction').show(run.outcome.exit_fraction)}); "
            "the time of the higher concentration is used, since less vapour cannot break through sooner"
        )
    choices += case.notes
    if case.order is not None:
        times = "; ".join(f"{r.part.vapour.name}: {r.in_words}" for r in runs)
        choices += [
            f"mixture: each vapour is taken at the summed concentration {show(run.total)}, the shortest life counts "
            f"({times}), and 2 % are taken off for what this rule overstates; the highest concentrations of different "
            "people or moments are combined as if they met in one breath, which is the safe side",
            f"mixture, additive index of the air outside: {case.index:.4g} (sum of concentration over limit, 29 CFR "
            "1910.1000 (d)(2)(i)); with every vapour through at its highest, at most "
            f"{sum(p.share_of_limit for p in case.parts):.4g} of the limits together",
            f"mixture, limits: {'; '.join(f'{r.part.vapour.name} {r.part.limits.text}' for r in runs)}",
            "mixture, order of leaving by equilibrium theory: "
            + "; then ".join(
                f"{p.vapour}, at up to {p.leaves_at.printed} ({p.leaves_at.value / p.concentration.value:.2f} times "
                f"its inlet concentration, {p.share_of_limit:.3g} of its limit)"
                for p in case.parts
            ),
        ]
    return tuple(choices)


def _warnings(case: Case, units: float) -> tuple[str, ...]:
    run, cartridge, flow, air, history = case.run, case.cartridge, case.flow, case.air, case.history
    warnings = list(cartridge.notes)
    if cartridge.expires is not None:
        warnings.append(
            f"the packs of cartridge {cartridge.name} expire on {cartridge.expires}: use none after that day"
        )
    show = term("volume_fraction").show
    if cartridge.use_limit is not None and run.total > cartridge.use_limit.value * (1 + 1e-9):
        warnings.append(
            f"{show(run.total)} is above the use limit of the cartridge, {cartridge.use_limit.printed}: it may "
            "not be used"
        )
    for part in case.inhaled:
        idlh = limits_in_force(part.vapour).idlh
        if idlh is not None and part.concentration > idlh.value * (1 + 1e-9):
            warnings.append(
                f"{part.vapour.name}: {show(part.concentration)} is above the IDLH, {idlh.printed}: no filtering "
                "respirator may be used"
            )
    for part in case.inhaled:
        warnings += [f"{part.vapour.name}: {note}" for note in part.vapour.property_notes]
        warnings += part.limits.warnings
        warnings += _above_a_peak_limit(part)
    if run.margin.coverage is None:
        warnings.append("the margin rests on a test of the cartridge's own; no coverage can be stated for it")
    else:
        humidity = air.relative_humidity.value
        warnings.append(departures(case.calibration, run.total, air.temperature.value, humidity, run.exit_fraction))
        if run.margin.coverage < _USUAL_COVERAGE:
            warnings.append(
                f"coverage {100 * run.margin.coverage:.4g} %: about one vapour in "
                f"{1 / (1 - run.margin.coverage):.3g} can break through before this life ends"
            )
    if flow.kind == "given" and flow.note:
        warnings.append(f"breathing rate {flow.printed} is {flow.note}")
    if run.exit_fraction < _LEAST_RATE_FRACTION:
        warnings.append(
            f"the exit fraction {term('exit_fraction').show(run.exit_fraction)} is below 0.01 %, where the rate "
            "correlation has no data: the coefficient is held at its last credible value"
        )
    if units < _SHORT_BED:
        warnings.append(
            f"the bed is only {units:.2g} transfer units long: small errors in flow or rate change the time much"
        )
    if air.relative_humidity.kind == "computed":
        warnings.append(
            "the humidity was read at one temperature: in cooler hours the same air is more humid; the safe "
            "description of a day is its highest temperature together with its highest relative humidity"
        )
    if air.relative_humidity.value > 0.5 and not history.damp:
        warnings.append(
            "humid air: the estimate assumes cartridges stored sealed and dry; carbon that was damp before lasts less"
        )
    if case.order is not None:
        rolled = [p for p in case.parts if p.leaves_at.value > 1.01 * p.concentration.value]
        if rolled:
            warnings.append(
                f"{', '.join(p.vapour for p in rolled)} can leave at more than the concentration outside once it "
                "breaks through: a late change is worse than no cartridge for it"
            )
        if not case.order.sharp:
            warnings.append(
                "the fronts of this mixture are not all sharp: a few per cent of a vapour can run ahead of its front"
            )
    return tuple(dict.fromkeys(filter(None, warnings)))


def _above_a_peak_limit(part: Inhaled) -> list[str]:
    """Ceilings and short-term limits that the air outside the mask is above."""
    show = term("volume_fraction").show
    return [
        f"{part.vapour.name}: {show(part.concentration)} outside the mask is above the {limit.kind} of "
        f"{limit.authority}, {limit.value.printed}"
        for limit in part.vapour.limits
        if limit.kind in ("STEL", "ceiling") and part.concentration > limit.value.value
    ]
