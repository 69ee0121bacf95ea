"""From a vapour, a cartridge and the air to a conservative service life, with its reasons."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from respcalc.cartridges import SEALED, CarbonHistory, Cartridge
from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.vocabulary import check, read_amount, term
from respcalc.estimate.calibration import Calibration, shipped_calibration
from respcalc.estimate.component import run_component
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import DEFAULT_COVERAGE, FLOOR_MEASURED, margin_of, read_coverage
from respcalc.estimate.mixture import merged, order_of_leaving
from respcalc.estimate.reasons import Case, report
from respcalc.estimate.result import ServiceLife
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace import STRICTEST, Air, Inhaled, ProductInAir, breathing_rate, choose_limits

__all__ = [
    "estimate_inhaled",
    "estimate_mixture_life",
    "estimate_product_life",
    "estimate_service_life",
    "require_cartridge",
]


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
    coverage: Any = None,
    calibration: Calibration | None = None,
    history: CarbonHistory = SEALED,
) -> ServiceLife:
    """Estimate how long a cartridge lasts against one vapour.

    Parameters
    ----------
    vapour
        Name, synonym or CAS number of a listed vapour, or a `Vapour`.
    concentration
        The highest concentration that occurs [ppm, or mg/m3 at the air's temperature and pressure].
    cartridge
        From `describe_bed`, `fit_bed` or `certified_bed` of `respcalc.cartridges`.
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
    coverage
        Share of vapours for which the life is not to exceed the measured time [%]; default 95 %.
    calibration
        What the margin rests on: your own (`read_calibration`) instead of the library's.
    history
        Whether the carbon was damp before, from `respcalc.cartridges.describe_history`; kept sealed until
        use by default.

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
        coverage=coverage,
        calibration=calibration,
        history=history,
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
    coverage: Any = None,
    calibration: Calibration | None = None,
    history: CarbonHistory = SEALED,
) -> ServiceLife:
    """Estimate how long a cartridge lasts against several vapours at once.

    Each component is taken at the *summed* concentration; the shortest time counts. Against equilibrium
    theory this was at most 1.2 % too long in 13 830 mixtures of two to five vapours, for which 2 % are taken off.
    ``mixture`` of the result tells who leaves first, and how far above its inlet concentration.

    Parameters
    ----------
    components
        Pairs of vapour and highest concentration, or a mapping from name to concentration.
    cartridge, air, work_rate, limits_from, challenge_fraction, limit_fraction, coverage, calibration, history
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
        coverage=read_coverage(coverage, calibration),
        calibration=calibration,
        history=history,
    )


def estimate_product_life(
    product: ProductInAir,
    *,
    cartridge: Cartridge,
    work_rate: Any,
    exposure_limits: Mapping[str, tuple[Any, str]] | None = None,
    limits_from: str = STRICTEST,
    challenge_fraction: Any = None,
    limit_fraction: Any = None,
    coverage: Any = None,
    calibration: Calibration | None = None,
    history: CarbonHistory = SEALED,
) -> ServiceLife:
    """Estimate how long a cartridge lasts against the vapours of a product at a known total in the air.

    Parameters
    ----------
    product
        From ``describe_product(...).in_air(...)``; its air is that of the task.
    exposure_limits
        Own limits by the name of the vapour, each a pair of limit [ppm] and authority.
    cartridge, work_rate, limits_from, challenge_fraction, limit_fraction, coverage, calibration, history
        As for `estimate_service_life`.

    Returns
    -------
    ServiceLife
        Each vapour at its highest credible concentration, judged at the total.

    Raises
    ------
    UnitsError, DomainError, MissingProperty
        Naming the argument, the value and the fix.
    """
    require_cartridge(cartridge)
    if not isinstance(product, ProductInAir):
        raise TypeError(
            f"product = {product!r}: a ProductInAir is needed; make one with describe_product(...).in_air(...)"
        )
    own = dict(exposure_limits or {})
    names = {part.vapour.name for part in product.parts}
    if unknown := sorted(set(own) - names):
        raise DomainError(
            f"exposure_limits: {', '.join(unknown)} is no vapour of {product.product.name} ({', '.join(sorted(names))})"
        )
    inhaled = []
    for part in product.parts:
        limit = own.get(part.vapour.name, (None, None))
        chosen = choose_limits(part.vapour, limits_from=limits_from, own_limit=limit[0], own_authority=limit[1])
        inhaled.append(Inhaled(part.vapour, part.highest, chosen))
    return estimate_inhaled(
        inhaled,
        cartridge=cartridge,
        air=product.air,
        flow=breathing_rate(work_rate),
        criterion=BreakthroughCriterion.of(challenge_fraction, limit_fraction),
        coverage=read_coverage(coverage, calibration),
        calibration=calibration,
        history=history,
        total=product.total.value,
        index=product.highest_index([term("exposure_limit").quantity(p.limits.least.value.value) for p in inhaled]),
        notes=product.notes,
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
        inside = "; give its .cartridge" if isinstance(getattr(cartridge, "cartridge", None), Cartridge) else ""
        raise TypeError(
            f"cartridge = {cartridge!r:.60}: a Cartridge is needed; make one with describe_bed(...){inside}"
        )


def _require_air(air: Any) -> None:
    if not isinstance(air, Air):
        raise TypeError(f"air = {air!r}: an Air is needed; make one with describe_air(...)")


def estimate_inhaled(
    inhaled: Sequence[Inhaled],
    *,
    cartridge: Cartridge,
    air: Air,
    flow: Datum,
    criterion: BreakthroughCriterion,
    coverage: float = DEFAULT_COVERAGE,
    calibration: Calibration | None = None,
    history: CarbonHistory = SEALED,
    total: float | None = None,
    index: float | None = None,
    notes: Sequence[str] = (),
) -> ServiceLife:
    """Estimate from parts that are already read: the kernel behind the other functions.

    *total* is the summed concentration where it is known to be less than the sum of the parts' highest,
    *index* the sum of concentrations over limits likewise.

    Raises
    ------
    DomainError
        No vapour, one named twice with two limits, a total that does not fit its parts, or more vapour than
        the air can hold.
    MissingProperty
        A property is not known; the text says how to supply it.
    """
    if not isinstance(history, CarbonHistory):
        raise TypeError(f"history = {history!r}: a CarbonHistory is needed; make one with describe_history(...)")
    if calibration is not None and not isinstance(calibration, Calibration):
        raise TypeError(f"calibration = {calibration!r}: a Calibration is needed, from read_calibration(...)")
    if not inhaled:
        raise DomainError("components: no vapour is given; name at least one")
    parts, notices = merged(inhaled)
    for part in parts:
        if part.vapour.not_physically_adsorbed:
            raise DomainError(f"{part.vapour.name}: {part.vapour.not_physically_adsorbed}")
        _refuse_above_saturation(part, air)
    # exactly rounded sums: the order in which vapours are named never matters
    most = math.fsum(part.concentration for part in parts)
    least = max(part.concentration for part in parts)
    given_total = total is not None
    total = most if total is None else total
    if not least * (1 - 1e-9) <= total <= most * (1 + 1e-9):
        show = term("volume_fraction").show
        raise DomainError(
            f"total = {show(total)}: it must lie between the largest component, {show(least)}, and the sum of them, "
            f"{show(most)}"
        )
    check("volume_fraction", total, as_argument="summed concentration")
    shares = [p.concentration / p.limits.least.value.value for p in parts]
    index = math.fsum(shares) if index is None else index
    if not max(shares) * (1 - 1e-9) <= index <= math.fsum(shares) * (1 + 1e-9):
        raise DomainError(
            f"index = {index:.4g}: it must lie between the largest concentration over limit, {max(shares):.4g}, and "
            f"the sum of them, {math.fsum(shares):.4g}"
        )
    used = shipped_calibration() if calibration is None else calibration
    several = len(parts) > 1

    def case_of(bed: Cartridge) -> Case:
        runs = [
            run_component(
                part, total, index, several, bed, air, flow, criterion,
                margin_of(part.vapour, bed, coverage=coverage, calibration=used), history,
            )
            for part in parts
        ]  # fmt: skip
        return Case(parts, runs, bed, air, flow, criterion, history, used, index, None, given_total, (*notices, *notes))

    cases = [case_of(bed) for bed in cartridge.beds()]
    worst = min(cases, key=lambda case: case.run.usable)
    order = order_of_leaving(parts, worst.cartridge, air, criterion.limit_fraction) if several else None
    cases = [replace(case, order=order) for case in cases]
    others = tuple(case for case in cases if case.cartridge is not worst.cartridge)
    return report(replace(worst, order=order, others=others, notes=(*worst.notes, *_open_bed(cartridge, cases))))


def _open_bed(cartridge: Cartridge, cases: Sequence[Case]) -> list[str]:
    """What is not known of the bed costs: the lives of the beds that it could be."""
    if len(cases) == 1:
        return []
    show = term("service_life").show
    lives = sorted(case.run.usable for case in cases)
    middle = cases[0].run.usable
    found = [
        f"bed: it could be any of {len(cases)}, because {cartridge.because}; the one that lasts least counts, and all "
        f"figures are its. Its life is {show(lives[0])}; of the bed in the middle it would be {show(middle)}, of the "
        f"best {show(lives[-1])}"
    ]
    if cartridge.evidence is not None and cartridge.evidence.floor:
        real = middle * cases[0].run.margin.divisor / FLOOR_MEASURED
        found.append(
            "bed: this life is a floor from the certificate. Real data would allow more: a bed in the middle of the "
            f"ranges whose carbon is known too about {show(middle)}, and one whose own test with this vapour at "
            f"this concentration agrees about {show(real)}; elements are built to pass with room, which comes on top"
        )
    return found


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
