"""The curves between carbons against what was measured, judged as sets."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import fmean

from reference_checks.studies import Measured, Study
from reference_checks.water_on_carbon.isotherms import (
    DEFAULT_VOLUME,
    HUMIDITIES,
    WATER_VOLUME,
    between,
    isotherms,
)
from respcalc.core.tables import read_table
from respcalc.models import capacity, water_share, water_uptake
from respcalc.vapours import find_vapour

__all__ = ["STUDIES", "own_pore_volumes", "rows_of_groups", "rows_of_own_volumes"]

_KEY = "water_on_carbon"
_TOLUENE = "108-88-3"
_TOLUENE_AFFINITY, _ENERGY = 1.136, 19.7e3  # close to saturation they move the volume by 1 % or so


def rows_of_groups(*groups: str, dampness: float, least_humidity: float) -> tuple[Measured, ...]:
    """The default carbon's curve against each carbon of some groups, in g/g."""
    names, shares = between(*groups)
    rows = []
    for name, line in zip(names, shares, strict=True):
        for humidity, share in zip(HUMIDITIES, line, strict=True):
            if share > 0 and humidity > least_humidity - 1e-9:
                predicted = water_uptake.si(
                    relative_humidity=humidity, carbon_dampness=dampness, micropore_volume=DEFAULT_VOLUME
                )
                measured = share * DEFAULT_VOLUME / WATER_VOLUME
                rows.append(Measured(f"{name}, {humidity:.0%}", float(measured), float(predicted)))
    return tuple(rows)


def own_pore_volumes() -> dict[tuple[str, str], float]:
    """Pore volume [m3/kg] by carbon and DOI, from toluene near saturation on the same carbon in the same paper."""
    toluene = find_vapour(_TOLUENE)
    found: dict[tuple[str, str], list[float]] = {}
    for row in read_table(Path(__file__).parent / "toluene.csv").strict().rows:
        of_unit_volume = capacity.dubinin_radushkevich_capacity.si(
            temperature=row["temperature"],
            saturation_pressure=toluene.saturation_pressure(row["temperature"]).value,
            partial_pressure=row["partial_pressure"],
            micropore_volume=1.0,
            liquid_density=toluene.liquid_density(row["temperature"]).value,
            characteristic_energy=_ENERGY,
            affinity_coefficient=_TOLUENE_AFFINITY,
        )
        found.setdefault((row["carbon"], row["doi"]), []).append(float(row["capacity"] / of_unit_volume))
    return {key: fmean(volumes) for key, volumes in found.items()}


def rows_of_own_volumes(*, least_humidity: float) -> tuple[Measured, ...]:
    """Share of a carbon's own pores that water fills, against the typical curve."""
    volumes, rows = own_pore_volumes(), []
    for curve in isotherms():
        volume = volumes.get((curve.carbon, curve.doi))
        if volume is None:
            continue
        for humidity, uptake in zip(curve.humidity, curve.uptake, strict=True):
            if humidity > least_humidity - 1e-9:
                predicted = water_share.si(relative_humidity=humidity, carbon_dampness=0.0)
                name = f"{curve.carbon}, {curve.name}, {humidity:.0%}"
                rows.append(Measured(name, float(uptake * WATER_VOLUME / volume), float(predicted)))
    return tuple(rows)


def _study(
    name: str,
    rows: Callable[[], tuple[Measured, ...]],
    locator: str,
    why: str,
    *,
    bias: tuple[float, float],
    spread: tuple[float, float],
    worst: tuple[float, float],
    result: tuple[str, str] = ("water_uptake", "g/g"),
) -> Study:
    return Study(
        key=_KEY, name=name, seen="read in a public database", model=result[0], locator=locator, kind="measured",
        result=result[0], unit=result[1], rows=rows, bias=bias, spread=spread, worst=worst, why=why,
    )  # fmt: skip


STUDIES = (
    _study(
        "typical",
        partial(rows_of_groups, "commercial", dampness=0.0, least_humidity=0.4),
        "untreated commercial carbons, 40 to 90 % RH",
        "the curve was fitted to these carbons: the spread is what one carbon differs from the average by",
        bias=(0.05, 0.11), spread=(0.38, 0.44), worst=(1.25, 1.40),
    ),
    _study(
        "dampest",
        partial(rows_of_groups, "commercial", "oxidised", dampness=1.0, least_humidity=0.1),
        "all commercial carbons, oxidised ones too, 10 to 90 % RH",
        "an upper bound: it should lie above nearly all of them",
        bias=(1.50, 1.60), spread=(1.65, 1.76), worst=(8.5, 9.3),
    ),
    _study(
        "own_pore_volume",
        partial(rows_of_own_volumes, least_humidity=0.5),
        "six carbons whose pore volume toluene tells, 50 to 90 % RH",
        "shares of the carbon's own pores; three of the six were activated with acid and lie above at the foot",
        bias=(-0.16, -0.12), spread=(0.15, 0.19), worst=(-0.55, -0.50), result=("water_share", ""),
    ),
)  # fmt: skip
