"""Every combination of published models, and the corrections that suggest themselves, against the recalled times.

Each gets one fitted mass of carbon. Where a parameter is freed as well, it and the mass are fitted
again without each vapour in turn, and that vapour is then predicted: what holds only for the
vapours it was fitted to does not count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reference_checks.nelson_harder_1974.rows import CHALLENGE, TimedVapour, bed, calibrates, sorbate, timed_vapours
from respcalc.models import affinity, breakthrough, capacity, humidity, rate, transport
from respcalc.models.constants import GAS_CONSTANT, WATER_MOLAR_VOLUME
from respcalc.prediction import Bed, Challenge, Sorbate, rows_of

__all__ = [
    "AFFINITIES",
    "CORRECTIONS",
    "MEASURED_WATER_VOLUME",
    "RATES",
    "WATERS",
    "Correction",
    "Models",
    "Score",
    "combinations",
    "is_light_halogenated",
    "loading",
    "longest_minutes",
    "minutes",
    "score",
    "water_matters",
]

Floats = NDArray[np.float64]

RATES = ("Wood-Stampfer", "Wood-Lodewyckx", "least and ceiling")
AFFINITIES = (
    "affinity_wood_polarization",
    "affinity_polarization_ratio",
    "affinity_wood_molar_volume",
    "affinity_least",
)
WATERS = ("none", "displacement", "85 % rule")
_HALOGENS = ("F", "Cl", "Br", "I")
MEASURED_WATER_VOLUME = 0.085e-3
"""Water at 50 % RH on four commercial carbons, mean of 0.042 to 0.120 cm3/g [m3/kg]; see `witnesses`."""
_LEAST_MINUTES = 0.05  # immediate breakthrough, so that its logarithm stays a number
_MASSES = np.geomspace(0.05, 0.20, 70)  # of the pair [kg]
_WEAK_FILLING, _SEARCHED = 0.35, 40  # filled below this share of the pores: concentrations searched up to saturation
_LEAST_LOADING = 1e-150


@dataclass(frozen=True)
class Models:
    """One way to predict. The defaults are the library's."""

    rate: str = "least and ceiling"
    affinity: str = "affinity_least"
    exponent: float = 2.0  # of Dubinin and Astakhov; 2 is Dubinin and Radushkevich
    water: str = "displacement"
    characteristic_energy: float = 19.7e3
    water_share: float = humidity.WATER_POTENTIAL_SHARE  # gamma of the displacement model
    light_factor: float = 1.0  # on the affinity of halogenated molecules of at most three carbons
    filled_by_water: float = 0.0  # pore volume [m3/kg] that water keeps, in place of the displacement model
    kept: str = "by the potential"  # how much of it water keeps: also "all", "what the vapour leaves"


def is_light_halogenated(row: TimedVapour) -> bool:
    """Halogenated, with at most three carbon atoms."""
    atoms = row.vapour.elements
    return any(atoms.get(x) for x in _HALOGENS) and atoms.get("C", 0) <= 3


def _affinity(models: Models, properties: Any, light: Any) -> Any:
    function = getattr(affinity, models.affinity)
    if models.affinity == "affinity_wood_molar_volume":
        beta = function.si(liquid_molar_volume=properties.molar_mass / properties.liquid_density)
    else:
        beta = function.si(molar_polarization=properties.molar_polarization)
    return np.where(light, models.light_factor * beta, beta)


def _share_kept(models: Models, reduced: Any) -> Any:
    """Share of its pore volume that water keeps. Invented: no published form is known to us."""
    if models.kept == "all":
        return np.ones_like(reduced)
    if models.kept == "what the vapour leaves":
        return -np.expm1(-reduced * reduced)
    return np.clip((reduced - 0.4) / 0.6, 0.0, 1.0)


def loading(
    models: Models, properties: Any, light: Any, *, volume_fraction: Any, temperature: float, relative_humidity: float
) -> tuple[Any, Any, Any]:
    """Affinity coefficient, dry loading and loading in humid air [kg/kg]."""
    beta = _affinity(models, properties, light)
    scale = beta * models.characteristic_energy
    micropores = bed(0.1).micropore_volume
    potential = capacity.adsorption_potential.si(
        temperature=temperature,
        saturation_pressure=properties.saturation_pressure,
        partial_pressure=np.minimum(volume_fraction * CHALLENGE.pressure, properties.saturation_pressure),
    )

    def held(at: Any) -> Any:
        return np.maximum(
            micropores * properties.liquid_density * np.exp(-((at / scale) ** models.exponent)), _LEAST_LOADING
        )

    dry = held(potential)
    if models.filled_by_water:
        return beta, dry, dry * (1.0 - models.filled_by_water / micropores * _share_kept(models, potential / scale))
    if models.water == "displacement" and relative_humidity > 0:
        # The library's model with its share of 0.28 free; a test holds the two equal at 0.28.
        dryness = -GAS_CONSTANT * temperature * np.log(relative_humidity)
        volumes = properties.molar_mass / properties.liquid_density / WATER_MOLAR_VOLUME
        return beta, dry, held(np.maximum(potential, (potential - volumes * dryness) / (1.0 - models.water_share)))
    if models.water == "85 % rule":
        return beta, dry, dry * humidity.humidity_rule.si(relative_humidity=relative_humidity)
    return beta, dry, dry


def minutes(models: Models, rows: Sequence[TimedVapour], pair_mass: Any) -> Floats:
    """Breakthrough times [min] of *rows*; a column of masses gives a table."""
    properties, light = _fixed(tuple(rows))
    return longest_minutes(models, properties, light, bed(pair_mass), CHALLENGE)


def longest_minutes(models: Models, properties: Sorbate, light: Any, pair: Bed, challenge: Challenge) -> Floats:
    """Breakthrough times [min]: as in the library, the longest of the concentration and any higher one.

    Only weakly held vapours need the search; a test holds the outcome to the library's.
    """
    ceiling = _ceiling(properties, pair)
    inlet = challenge.volume_fraction
    time = _minutes_at(models, properties, light, ceiling, pair, challenge, np.full(len(light), inlet))
    _, dry, wet = loading(
        models,
        properties,
        light,
        volume_fraction=inlet,
        temperature=challenge.temperature,
        relative_humidity=challenge.relative_humidity,
    )
    full = pair.micropore_volume * properties.liquid_density
    weak = np.nonzero(np.minimum(dry, wet) < _WEAK_FILLING * full)[0]
    if weak.size:
        few = rows_of(properties, weak, np.shape(light))
        saturated = np.maximum(few.saturation_pressure / challenge.pressure, inlet)
        for share in np.linspace(0.0, 1.0, _SEARCHED)[1:]:
            higher = inlet ** (1.0 - share) * saturated**share
            tried = _minutes_at(models, few, light[weak], ceiling[weak], pair, challenge, higher)
            time[..., weak] = np.maximum(time[..., weak], tried)
    return time


def _minutes_at(
    models: Models, properties: Sorbate, light: Any, ceiling: Any, pair: Bed, challenge: Challenge, volume_fraction: Any
) -> Floats:
    velocity = pair.flow_rate / pair.face_area
    fraction = challenge.challenge_fraction
    beta, dry, wet = loading(
        models,
        properties,
        light,
        volume_fraction=volume_fraction,
        temperature=challenge.temperature,
        relative_humidity=challenge.relative_humidity,
    )
    stampfer = rate.wood_stampfer_rate.si(
        superficial_velocity=velocity, molar_polarization=properties.molar_polarization, exit_fraction=fraction
    )
    lodewyckx = rate.wood_lodewyckx_rate.si(
        affinity_coefficient=beta,
        superficial_velocity=velocity,
        granule_diameter=pair.granule_diameter,
        capacity=dry,
        molar_mass=properties.molar_mass,
    )
    coefficient = {
        "Wood-Stampfer": stampfer,
        "Wood-Lodewyckx": lodewyckx,
        "least and ceiling": np.minimum(np.minimum(stampfer, lodewyckx), ceiling),
    }[models.rate]
    time = breakthrough.bohart_adams_time.si(
        capacity=wet,
        sorbent_mass=pair.sorbent_mass,
        mass_concentration=volume_fraction * properties.molar_mass * challenge.pressure / (GAS_CONSTANT * 293.15),
        flow_rate=pair.flow_rate,
        bulk_density=pair.bulk_density,
        rate_coefficient=coefficient * (wet / dry),
        exit_fraction=fraction,
    )
    return np.asarray(time / 60.0)


@cache
def _fixed(rows: tuple[TimedVapour, ...]) -> tuple[Sorbate, Any]:
    return sorbate(rows), np.array([is_light_halogenated(row) for row in rows])


def _ceiling(properties: Sorbate, pair: Bed) -> Any:
    """The library's ceiling, which it works out for cold air."""
    return rate.film_dispersion_ceiling.si(
        superficial_velocity=pair.flow_rate / pair.face_area,
        granule_diameter=pair.granule_diameter,
        void_fraction=pair.void_fraction,
        diffusivity=transport.fuller_diffusivity.si(
            temperature=273.15,
            pressure=CHALLENGE.pressure,
            molar_mass=properties.molar_mass,
            diffusion_volume=properties.diffusion_volume,
        ),
        kinematic_viscosity=transport.air_kinematic_viscosity.si(temperature=273.15, pressure=CHALLENGE.pressure),
    )


# --- fitting


@dataclass(frozen=True)
class Score:
    """How one way of predicting does on the calibrating rows, with the mass (and what is free) fitted."""

    models: Models
    pair_mass: float
    residuals: Floats  # ln(predicted/measured); each row left out of the fit where something is free
    spread: float
    spread_but_one: float  # without chloroethane, the vapour held worst
    robust_spread: float
    worst: float
    worst_name: str
    least: float
    light_median: float  # median over-prediction of halogenated C1 to C3
    others_median: float
    chosen: tuple[Models, ...] = ()  # what was chosen without each row in turn


def _rows() -> tuple[TimedVapour, ...]:
    return tuple(row for row in timed_vapours() if calibrates(row))


def _logs(models: Models, rows: Sequence[TimedVapour]) -> Floats:
    """ln(predicted/measured): masses down, rows across."""
    measured = np.array([row.measured_minutes for row in rows])
    return np.log(np.maximum(minutes(models, rows, _MASSES[:, np.newaxis]), _LEAST_MINUTES) / measured)


def _at_median_zero(logs: Floats, used: NDArray[np.bool_]) -> tuple[Floats, float]:
    """All rows at the mass where the median of the used ones is zero, and that mass."""
    median = np.median(logs[:, used], axis=1)
    above = int(np.argmax(median > 0))
    if above == 0:
        raise ValueError(f"no mass between {_MASSES[0]:.3g} and {_MASSES[-1]:.3g} kg fits")
    share = -median[above - 1] / (median[above] - median[above - 1])
    mass = float(_MASSES[above - 1] ** (1 - share) * _MASSES[above] ** share)
    return (1 - share) * logs[above - 1] + share * logs[above], mass


def score(candidates: Iterable[Models]) -> Score:
    """Fit the mass, and choose among *candidates* by the least mean absolute logarithm.

    The residual of each row comes from a fit without it.
    """
    tried = tuple(candidates)
    rows = _rows()
    tables = [_logs(models, rows) for models in tried]
    every = np.ones(len(rows), dtype=bool)
    best, mass, _ = _choose(tables, every)
    residuals = np.empty(len(rows))
    chosen = []
    for i in range(len(rows)):
        used = every.copy()
        used[i] = False
        which, _, found = _choose(tables, used)
        residuals[i] = found[i]
        chosen.append(tried[which])
    worst = int(np.argmax(residuals))
    light = _fixed(rows)[1]
    return Score(
        tried[best],
        mass,
        residuals,
        float(np.std(residuals)),
        float(np.std(residuals[[row.name != "ethyl chloride" for row in rows]])),
        float(1.4826 * np.median(np.abs(residuals - np.median(residuals)))),
        float(np.exp(residuals[worst])),
        rows[worst].name,
        float(np.exp(np.min(residuals))),
        float(np.exp(np.median(residuals[light]))),
        float(np.exp(np.median(residuals[~light]))),
        tuple(chosen),
    )


def _choose(tables: Sequence[Floats], used: NDArray[np.bool_]) -> tuple[int, float, Floats]:
    found = [_at_median_zero(table, used) for table in tables]
    losses = [float(np.mean(np.abs(residuals[used]))) for residuals, _ in found]
    best = int(np.argmin(losses))
    return best, found[best][1], found[best][0]


_EXPONENTS = np.round(np.arange(1.0, 4.01, 0.1), 3)


def combinations() -> Iterator[tuple[Models, bool, Score]]:
    """Every rate law and affinity, with the exponent 2 and with it free. All in air of 50 % RH; see `water_matters`."""
    for law, beta in product(RATES, AFFINITIES):
        models = Models(rate=law, affinity=beta)
        yield models, False, score([models])
        yield models, True, score([replace(models, exponent=float(n)) for n in _EXPONENTS])


def water_matters() -> float:
    """Largest change of a calibrating row's logarithm, in any combination, by choosing another model of humid air."""
    rows = _rows()
    return max(
        float(np.max(np.abs(_logs(replace(models, water=water), rows) - _logs(replace(models, water="none"), rows))))
        for models in (Models(rate=law, affinity=beta) for law, beta in product(RATES, AFFINITIES))
        for water in WATERS
    )


# --- corrections


@dataclass(frozen=True)
class Correction:
    """A change that the scatter suggests: what is free, and what it is tried with."""

    name: str
    free: Callable[[Models], str]
    candidates: Callable[[], list[Models]]


_BASE = Models()
_ENERGIES = [1e3 * e for e in np.arange(10.0, 34.1, 0.5)]
_SHARES = [float(x) for x in np.round(np.arange(0.0, 0.86, 0.04), 3)]
_FACTORS = [float(x) for x in np.round(np.arange(0.40, 1.21, 0.025), 4)]

CORRECTIONS: tuple[Correction, ...] = (
    Correction("library as it is", lambda m: "", lambda: [_BASE]),
    Correction(
        "Astakhov exponent n free",
        lambda m: f"n {m.exponent:.2f}",
        lambda: [replace(_BASE, exponent=float(n)) for n in _EXPONENTS],
    ),
    Correction(
        "energy E0 free",
        lambda m: f"E0 {m.characteristic_energy / 1000:.1f} kJ/mol",
        lambda: [replace(_BASE, characteristic_energy=e) for e in _ENERGIES],
    ),
    Correction(
        "water share gamma free",
        lambda m: f"gamma {m.water_share:.2f}",
        lambda: [replace(_BASE, water_share=g) for g in _SHARES],
    ),
    Correction(
        "gamma and n free",
        lambda m: f"gamma {m.water_share:.2f}, n {m.exponent:.2f}",
        lambda: [replace(_BASE, water_share=g, exponent=float(n)) for g in _SHARES for n in np.arange(1.0, 4.01, 0.25)],
    ),
    Correction(
        "affinity of halogenated C1 to C3 cut",
        lambda m: f"factor {m.light_factor:.3f}",
        lambda: [replace(_BASE, light_factor=f) for f in _FACTORS],
    ),
    Correction(
        "that cut, and n free",
        lambda m: f"factor {m.light_factor:.3f}, n {m.exponent:.2f}",
        lambda: [
            replace(_BASE, light_factor=f, exponent=float(n))
            for f in np.round(np.arange(0.40, 1.21, 0.05), 3)
            for n in np.arange(1.0, 4.01, 0.25)
        ],
    ),
    Correction(
        "water keeps its measured volume, all of it",
        lambda m: f"{m.filled_by_water * 1e3:.3f} cm3/g",
        lambda: [replace(_BASE, filled_by_water=MEASURED_WATER_VOLUME, kept="all")],
    ),
    Correction(
        "water keeps its measured volume in the share of the pores that the vapour leaves",
        lambda m: f"{m.filled_by_water * 1e3:.3f} cm3/g",
        lambda: [replace(_BASE, filled_by_water=MEASURED_WATER_VOLUME, kept="what the vapour leaves")],
    ),
    Correction(
        "water keeps its measured volume along a ramp of the reduced potential from 0.4 to 1",
        lambda m: f"{m.filled_by_water * 1e3:.3f} cm3/g",
        lambda: [replace(_BASE, filled_by_water=MEASURED_WATER_VOLUME)],
    ),
    Correction(
        "the same with the volume free",
        lambda m: f"{m.filled_by_water * 1e3:.3f} cm3/g",
        lambda: [replace(_BASE, filled_by_water=v * 1e-3) for v in np.arange(0.01, 0.441, 0.01)],
    ),
)
