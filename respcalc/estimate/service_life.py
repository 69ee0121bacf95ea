"""From a vapour, a cartridge and the air to a conservative service life, with its reasons."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.cartridges import Cartridge
from respcalc.core.basis import Basis, Datum
from respcalc.core.errors import DomainError
from respcalc.core.units import Quantity
from respcalc.core.vocabulary import check, read, read_amount, term
from respcalc.estimate.cautions import CAUTIONS, SHORT_CAUTION
from respcalc.estimate.chain import RATE_MODELS, Bed, Challenge, Outcome, Sorbate, run_chain
from respcalc.estimate.margin import margin_factor
from respcalc.models.breakthrough import bohart_adams_penetration, stoichiometric_time, transfer_units
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace import STRICTEST, Air, Inhaled, breathing_rate, choose_limits
from respcalc.workplace.single import single

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "BreakthroughCriterion",
    "ServiceLife",
    "estimate_inhaled",
    "estimate_mixture_life",
    "estimate_service_life",
]

_LEAST_RATE_FRACTION = 1e-4
_SHORT_BED = 5.0


@dataclass(frozen=True)
class BreakthroughCriterion:
    """What counts as breakthrough: the lower of two exit concentrations.

    Parameters
    ----------
    challenge_fraction
        Share of the concentration outside. 1 % by default: the margin was studied at 1 %.
    limit_fraction
        Share of the exposure limit. 10 % by default: leakage at the seal must have its share too.
    """

    challenge_fraction: float = 0.01
    limit_fraction: float = 0.10

    def __post_init__(self) -> None:
        for name, highest in (("challenge_fraction", 0.2), ("limit_fraction", 1.0)):
            value = getattr(self, name)
            if not 0 < value <= highest:
                raise DomainError(f"{name} = {value:g}: it must be above 0 and at most {highest:.0%}")

    @classmethod
    def of(cls, challenge_fraction: Any = None, limit_fraction: Any = None) -> BreakthroughCriterion:
        """Read the two fractions (``"1 %"`` or 0.01); None keeps the default."""
        given = {"challenge_fraction": challenge_fraction, "limit_fraction": limit_fraction}
        return cls(**{k: single(k, read("penetration", v, as_argument=k)) for k, v in given.items() if v is not None})


@dataclass(frozen=True)
class ServiceLife:
    """A conservative service life with everything it rests on.

    ``breakthrough_time`` is what the model predicts, ``service_life`` what remains after the margin.
    The change interval that people are told is neither: `respcalc.schedule` sets it. Of several
    vapours both belong to the one with the shortest service life; the basis lists the others.
    """

    governed_by: str
    components: tuple[str, ...]
    breakthrough: Datum
    life: Datum
    margin: Datum
    exit_fraction: Datum
    exit_concentration: Datum
    outside_model: tuple[str, ...]
    basis: Basis
    cautions: tuple[str, ...]
    _curve: tuple[tuple[str, float], ...]

    @property
    def immediate(self) -> bool:
        """Vapour is through at once: the bed does not hold the adsorption wave."""
        return self.breakthrough.value <= 0.0

    @property
    def breakthrough_time(self) -> Quantity:
        """Predicted breakthrough time [min]."""
        return term("breakthrough_time").quantity(self.breakthrough.value)

    @property
    def service_life(self) -> Quantity:
        """Conservative estimate after the margin [min]."""
        return term("service_life").quantity(self.life.value)

    def penetration(self, worn_time: Any) -> Any:
        """Exit over inlet concentration [fraction] after a time [s], as predicted (no margin)."""
        return bohart_adams_penetration.si(worn_time=np.asarray(worn_time, dtype=float), **dict(self._curve))

    def curve_times(self, points: int = 121) -> np.ndarray:
        """Times [s] from 0 to past the time at which the bed is full."""
        bed = dict(self._curve)
        full = stoichiometric_time.si(
            **{k: bed[k] for k in ("capacity", "sorbent_mass", "mass_concentration", "flow_rate")}
        )
        return np.linspace(0.0, 2.0 * full, points)

    def curve(self, points: int = 121) -> pd.DataFrame:
        """Breakthrough curve as a table: worn time, penetration, exit concentration."""
        import pandas as pd

        times = self.curve_times(points)
        through = self.penetration(times)
        inlet = self.exit_concentration.value / self.exit_fraction.value
        return pd.DataFrame(
            {
                "worn_time [min]": times / 60.0,
                "penetration [%]": through * 100.0,
                "exit_concentration [ppm]": through * inlet * 1e6,
            }
        )

    def as_dict(self) -> dict[str, Any]:
        """Plain dictionary with units spelled out; `as_json` writes it."""
        return {
            "governed_by": self.governed_by,
            "components": list(self.components),
            "breakthrough_time": self.breakthrough.as_dict(),
            "service_life": self.life.as_dict(),
            "immediate_breakthrough": self.immediate,
            "margin": self.margin.as_dict(),
            "breakthrough_criterion": {
                "exit_fraction": self.exit_fraction.as_dict(),
                "exit_concentration": self.exit_concentration.as_dict(),
            },
            "outside_model": list(self.outside_model),
            "basis": self.basis.as_dict(),
            "cautions": list(self.cautions),
        }

    def as_json(self, indent: int | None = 2) -> str:
        """The dictionary as JSON text."""
        return json.dumps(self.as_dict(), indent=indent, ensure_ascii=False)

    def _head(self) -> list[tuple[str, str]]:
        predicted = "immediate breakthrough" if self.immediate else self.breakthrough.printed
        return [
            ("vapour", "; ".join(self.components)),
            ("governed by", self.governed_by),
            ("predicted breakthrough", f"{predicted} to {self.exit_concentration.printed} at the exit"),
            ("conservative life", "none" if self.immediate else self.life.printed),
            ("margin", self.margin.note),
        ]

    def __str__(self) -> str:
        lines = [f"{k:<24}{v}" for k, v in self._head()]
        lines += [f"OUTSIDE THE MODEL       {text}" for text in self.outside_model]
        lines.append("basis")
        lines += [f"  {d.name:<34}{d.printed:<16} {d.provenance}" for d in self.basis.data]
        lines += [f"  - {c}" for c in self.basis.choices]
        lines += [f"  ! {w}" for w in self.basis.warnings]
        lines += ["cautions", *(f"  {c}" for c in self.cautions), SHORT_CAUTION]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        head = "".join(f"<tr><th>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in self._head())
        rows = "".join(
            f"<tr><td>{escape(d.name)}</td><td>{escape(d.printed)}</td><td>{escape(d.kind)}</td>"
            f"<td>{escape(d.origin)}</td><td>{escape(d.note)}</td></tr>"
            for d in self.basis.data
        )
        notes = "".join(f"<li>{escape(t)}</li>" for t in self.basis.choices)
        outside = "".join(f"<p><strong>Outside the model:</strong> {escape(t)}</p>" for t in self.outside_model)
        warnings = "".join(f"<li><strong>{escape(w)}</strong></li>" for w in self.basis.warnings)
        cautions = "".join(f"<li>{escape(c)}</li>" for c in self.cautions)
        return (
            f"<table>{head}</table>{outside}<details><summary>basis</summary><table><tr><th>value</th><th></th>"
            f"<th>kind</th><th>origin</th><th>note</th></tr>{rows}</table><ul>{notes}{warnings}</ul></details>"
            f"<details><summary>cautions</summary><ul>{cautions}</ul></details><p><em>{escape(SHORT_CAUTION)}</em></p>"
        )


def estimate_service_life(
    vapour: str | Vapour,
    concentration: Any,
    *,
    cartridge: Cartridge,
    air: Air,
    work_rate: Any,
    exposure_limit: Any = None,
    exposure_limit_authority: str | None = None,
    limits_from: str = STRICTEST,
    challenge_fraction: Any = None,
    limit_fraction: Any = None,
) -> ServiceLife:
    """Estimate how long a cartridge lasts against one vapour.

    Parameters
    ----------
    vapour
        Name, synonym or CAS number of a listed vapour, or a `Vapour`.
    concentration
        The highest concentration that occurs [ppm, or mg/m3 at the air's temperature and pressure].
    cartridge
        From `respcalc.cartridges.describe_bed`.
    air
        From `respcalc.workplace.describe_air`.
    work_rate
        Work-rate class (``"moderate"``) or a flow [L/min].
    exposure_limit, exposure_limit_authority
        A limit of your own [ppm] and whose it is; needed where none is published.
    limits_from
        ``"strictest"`` or one authority's name.
    challenge_fraction, limit_fraction
        What counts as breakthrough, see `BreakthroughCriterion`.

    Returns
    -------
    ServiceLife

    Raises
    ------
    UnitsError, DomainError, UnknownVapour, MissingProperty
        Naming the argument, the value and the fix.

    Examples
    --------
    >>> from respcalc.cartridges import describe_bed
    >>> from respcalc.workplace import describe_air
    >>> result = estimate_service_life("toluene", "200 ppm",
    ...     cartridge=describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2),
    ...     air=describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m"), work_rate="moderate")
    >>> result.immediate
    False
    """
    own = (exposure_limit, exposure_limit_authority)
    return estimate_mixture_life(
        [(vapour, concentration)],
        cartridge=cartridge,
        air=air,
        work_rate=work_rate,
        exposure_limits=None if own == (None, None) else [own],
        limits_from=limits_from,
        challenge_fraction=challenge_fraction,
        limit_fraction=limit_fraction,
    )


def estimate_mixture_life(
    components: Sequence[tuple[str | Vapour, Any]] | Mapping[str, Any],
    *,
    cartridge: Cartridge,
    air: Air,
    work_rate: Any,
    exposure_limits: Sequence[tuple[Any, str | None] | None] | None = None,
    limits_from: str = STRICTEST,
    challenge_fraction: Any = None,
    limit_fraction: Any = None,
) -> ServiceLife:
    """Estimate how long a cartridge lasts against several vapours at once.

    Each component is taken at the *summed* concentration; the shortest time counts. Against
    two-front equilibrium theory this was never more than 0.6 % too long in 700 binary cases.

    Parameters
    ----------
    components
        Pairs of vapour and highest concentration, or a mapping from name to concentration.
    cartridge, air, work_rate, limits_from, challenge_fraction, limit_fraction
        As for `estimate_service_life`.
    exposure_limits
        Own limits with their authority, one entry (or None) for each component.

    Returns
    -------
    ServiceLife

    Raises
    ------
    UnitsError, DomainError, UnknownVapour, MissingProperty
        Naming the argument, the value and the fix.
    """
    require_cartridge(cartridge)
    _require_air(air)
    pairs = _pairs(components)
    own = list(exposure_limits) if exposure_limits is not None else [None] * len(pairs)
    if len(own) != len(pairs):
        raise DomainError(
            f"exposure_limits: {len(own)} entries for {len(pairs)} components; use None where none is given"
        )
    for entry in own:
        if entry is not None and not (isinstance(entry, (list, tuple)) and len(entry) == 2):
            raise DomainError(f'exposure_limits: {entry!r} is no pair of limit and authority, ("50 ppm", "site limit")')
    inhaled = []
    for (who, amount), limit in zip(pairs, own, strict=True):
        vapour = who if isinstance(who, Vapour) else find_vapour(who)
        concentration = read_amount("concentration", amount)
        chosen = choose_limits(
            vapour,
            limits_from=limits_from,
            own_limit=None if limit is None else limit[0],
            own_authority=None if limit is None else limit[1],
        )
        inhaled.append(Inhaled(vapour, air.volume_fraction(concentration, vapour.molar_mass.value), chosen))
    return estimate_inhaled(
        inhaled,
        cartridge=cartridge,
        air=air,
        flow=breathing_rate(work_rate),
        criterion=BreakthroughCriterion.of(challenge_fraction, limit_fraction),
    )


def _pairs(components: Any) -> list[tuple[str | Vapour, Any]]:
    listed = isinstance(components, Iterable) and not isinstance(components, str)
    pairs = list(components.items() if isinstance(components, Mapping) else components) if listed else [components]
    if all(isinstance(p, (list, tuple)) and len(p) == 2 for p in pairs):
        return [(p[0], p[1]) for p in pairs]
    raise DomainError(
        f"components = {components!r}: pairs of vapour and concentration are needed, for example "
        '[("toluene", "85 ppm"), ("2-butanone", "60 ppm")]'
    )


def require_cartridge(cartridge: Any) -> None:
    """Refuse what is not a `Cartridge`, and say who makes one."""
    if not isinstance(cartridge, Cartridge):
        raise TypeError(f"cartridge = {cartridge!r}: a Cartridge is needed; make one with describe_bed(...)")


def _require_air(air: Any) -> None:
    if not isinstance(air, Air):
        raise TypeError(f"air = {air!r}: an Air is needed; make one with describe_air(...)")


def estimate_inhaled(
    inhaled: Sequence[Inhaled], *, cartridge: Cartridge, air: Air, flow: Datum, criterion: BreakthroughCriterion
) -> ServiceLife:
    """Estimate from parts that are already read: the kernel behind the other two functions.

    Raises
    ------
    DomainError
        No vapour, one named twice, or more vapour than the air can hold.
    MissingProperty
        A property is not known; the text says how to supply it.
    """
    if not inhaled:
        raise DomainError("components: no vapour is given; name at least one")
    for names in ([p.vapour.cas for p in inhaled if p.vapour.cas], [p.vapour.name.casefold() for p in inhaled]):
        twice = next((n for n in names if names.count(n) > 1), None)
        if twice is not None:
            raise DomainError(f"components: {twice} is named twice; add the two concentrations and name it once")
    for part in inhaled:
        if part.vapour.not_physically_adsorbed:
            raise DomainError(f"{part.vapour.name}: {part.vapour.not_physically_adsorbed}")
        _refuse_above_saturation(part, air)
    # exactly rounded sums: the order in which vapours are named never matters
    total = check(
        "volume_fraction", math.fsum(part.concentration for part in inhaled), as_argument="summed concentration"
    )
    index = math.fsum(part.concentration / part.limits.least.value.value for part in inhaled)
    # What comes out is judged against each vapour's own limit and, as a share of what comes in, that of the mixture.
    share = criterion.challenge_fraction
    if len(inhaled) > 1:
        share = min(share, criterion.limit_fraction / index)
    runs = [_run(part, total, index, share, cartridge, air, flow, criterion) for part in inhaled]
    governing = min(range(len(runs)), key=lambda i: (runs[i].usable, runs[i].part.vapour.cas, runs[i].part.vapour.name))
    return _report(inhaled, runs, governing, cartridge, air, flow, criterion)


@dataclass(frozen=True)
class _Run:
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


def _refuse_above_saturation(part: Inhaled, air: Air) -> None:
    saturation = part.vapour.saturation_pressure(air.temperature.value).value
    most = saturation / air.pressure.value
    if part.concentration > most * (1 + 1e-9):
        show = term("volume_fraction").show
        raise DomainError(
            f"concentration = {show(part.concentration)} of {part.vapour.name} is more than the air can hold at "
            f"{air.temperature.printed} (saturation: {term('volume_fraction').in_printed_unit(most):.4g} ppm); check "
            "the value and its unit, and whether there is mist, which a vapour cartridge does not stop"
        )


def _run(
    part: Inhaled,
    total: float,
    index: float,
    share: float,
    cartridge: Cartridge,
    air: Air,
    flow: Datum,
    criterion: BreakthroughCriterion,
) -> _Run:
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
    return _Run(part, total, limit, float(challenge.exit_fraction(total)), bed, outcome, margin_factor(vapour))


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


def _report(
    inhaled: Sequence[Inhaled],
    runs: Sequence[_Run],
    governing: int,
    cartridge: Cartridge,
    air: Air,
    flow: Datum,
    criterion: BreakthroughCriterion,
) -> ServiceLife:
    run = runs[governing]
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
    outside = tuple(
        f"{r.part.vapour.name}: at {term('volume_fraction').show(r.total)} the isotherm is convex (loading falls "
        "faster than concentration), the adsorption wave does not keep its shape, and breakthrough can come at any time"
        for r in runs
        if bool(r.outcome.convex)
    )
    return ServiceLife(
        governed_by=_identity(vapour),
        components=tuple(f"{_identity(p.vapour)}, {term('volume_fraction').show(p.concentration)}" for p in inhaled),
        breakthrough=Datum("breakthrough_time", float(outcome.breakthrough_time), "computed", "bohart_adams_1920"),
        life=Datum("service_life", run.usable, "computed", "respcalc_choices"),
        margin=run.margin,
        exit_fraction=Datum("exit_fraction", run.exit_fraction, "computed"),
        exit_concentration=Datum(
            "volume_fraction", run.exit_fraction * run.total, "computed", label="exit concentration"
        ),
        outside_model=outside,
        basis=Basis(
            data=_values(inhaled, run, cartridge, air, flow, effective["rate_coefficient"], units),
            choices=_choices(runs, run, criterion, air),
            warnings=_warnings(inhaled, run, cartridge, flow, units, air),
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


def _identity(vapour: Vapour) -> str:
    return f"{vapour.name} (CAS {vapour.cas or 'not given'}, {vapour.molar_mass.printed})"


def _values(
    inhaled: Sequence[Inhaled], run: _Run, cartridge: Cartridge, air: Air, flow: Datum, rate: float, units: float
) -> tuple[Datum, ...]:
    kelvin, outcome = air.temperature.value, run.outcome
    data = [*air.data(), flow]
    data.append(
        Datum("flow_rate", run.bed.flow_rate, "computed", label="flow_rate of one cartridge",
              note=f"shared by {cartridge.in_parallel}")
    )  # fmt: skip
    data += cartridge.data()
    for part in inhaled:
        vapour, of = part.vapour, f" of {part.vapour.name}"
        data.append(Datum("volume_fraction", part.concentration, "given", label=f"concentration{of}"))
        for limit in (part.limits.long_term, part.limits.short_term):
            if limit is not None:
                data.append(_named(limit.value, f"{limit.authority} {limit.kind}{of}"))
        data += [_named(d, f"{d.quantity}{of}") for d in vapour.data(kelvin)]
    at = f"at {term('volume_fraction').show(run.planned)}" if run.above else ""
    data += [
        Datum("affinity_coefficient", float(outcome.affinity_coefficient), "computed", "respcalc_choices"),
        Datum("capacity", float(outcome.dry_capacity), "computed", "dubinin_radushkevich_1947", note=at,
              label="capacity in dry air"),
        Datum("capacity", float(outcome.capacity), "computed", "manes_1984", note=at, label="capacity in this air"),
        Datum("rate_coefficient", rate, "computed",
              ("wood_stampfer_1993", "wood_lodewyckx_2003", "wakao_funazkri_1978")[int(outcome.rate_model)],
              note=", ".join(filter(None, (f"least of three, from {RATE_MODELS[int(outcome.rate_model)]}", at)))),
        Datum("transfer_units", float(units), "computed", "bohart_adams_1920", note=at),
        Datum("life_factor", float(outcome.rule_factor), "computed", "aiha_humidity_rule",
              label="humidity rule"),
        Datum("mass_concentration", float(outcome.mass_per_breath), "computed", "respcalc_choices",
              note=", ".join(filter(None, ("counted at 20 degC and at least sea-level pressure", at)))),
        run.margin,
    ]  # fmt: skip
    return tuple(data)


def _named(datum: Datum, label: str) -> Datum:
    return Datum(datum.quantity, datum.value, datum.kind, datum.source, datum.locator, datum.note, label)


def _choices(runs: Sequence[_Run], run: _Run, criterion: BreakthroughCriterion, air: Air) -> tuple[str, ...]:
    show = term("volume_fraction").show
    by_challenge = criterion.challenge_fraction * run.total
    by_limit = criterion.limit_fraction * run.limit
    choices = [
        f"breakthrough counts at the lower of {criterion.challenge_fraction:.3g} of the challenge "
        f"({show(by_challenge)}) and {criterion.limit_fraction:.3g} of the exposure limit ({show(by_limit)}): "
        f"{show(min(by_challenge, by_limit))}",
        "time: exact Bohart-Adams solution, of which Wheeler-Jonas is the long-bed form; 0 is immediate breakthrough",
        "capacity: Dubinin-Radushkevich, with the lower of two affinity correlations",
        "rate: the least of Wood-Stampfer, Wood-Lodewyckx and the film and dispersion ceiling; in humid air it falls "
        "with the capacity",
        (
            "humidity: the 85 % rule is stricter here than displacement of water (Polanyi-Manes)"
            if run.by_rule
            else "humidity: displacement of water (Polanyi-Manes), never above the 85 % rule"
        ),
        "a breath carries the vapour of its volume at 20 degC and at least sea-level pressure",
    ]
    if run.above:
        choices.append(
            f"at {show(run.total)} the correlations starve the bed and would give a shorter time than at "
            f"{show(run.planned)} (to an exit fraction of {term('exit_fraction').show(run.outcome.exit_fraction)}); "
            "the time of the higher concentration is used, since less vapour cannot break through sooner"
        )
    if len(runs) > 1:
        times = "; ".join(f"{r.part.vapour.name}: {r.in_words}" for r in runs)
        choices.append(
            f"mixture: each vapour is taken at the summed concentration {show(run.total)} and the shortest life counts "
            f"({times}); the vapour that breaks through first can leave at more than its inlet concentration"
        )
    return tuple(choices)


def _warnings(
    inhaled: Sequence[Inhaled], run: _Run, cartridge: Cartridge, flow: Datum, units: float, air: Air
) -> tuple[str, ...]:
    warnings = list(cartridge.notes)
    for part in inhaled:
        warnings += [f"{part.vapour.name}: {note}" for note in part.vapour.property_notes]
        warnings += part.limits.warnings
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
    if air.relative_humidity.value > 0.5:
        warnings.append(
            "humid air: the estimate assumes cartridges stored sealed and dry; carbon that was damp before lasts less"
        )
    return tuple(dict.fromkeys(warnings))
