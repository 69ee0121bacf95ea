"""``python -m reference_checks.water_on_carbon``: models compared, curves between carbons, time until wet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from chemicals.iapws import iapws95_Psat

from reference_checks.water_on_carbon import curves
from reference_checks.water_on_carbon.fits import scores
from reference_checks.water_on_carbon.isotherms import (
    DEFAULT_VOLUME,
    HUMIDITIES,
    WATER_VOLUME,
    between,
    complete,
    isotherms,
)
from reference_checks.water_on_carbon.study import own_pore_volumes
from respcalc.models import absolute_humidity, water_front_time, water_share, water_uptake

__all__ = ["above_dampest", "front_minutes", "main", "report"]

_MASS, _TEMPERATURE = 0.045, 298.15


def _table(rows: Iterable[Sequence[str]]) -> list[str]:
    listed = list(rows)
    widths = [max(len(row[i]) for row in listed) for i in range(len(listed[0]))]
    return [
        "  ".join(
            c.ljust(w) if i == 0 else c.rjust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in listed
    ]


def _models() -> list[str]:
    rows = [("model", "fitted", "points", "(median)", "carbons", "(median)", "blind", "blind, root")]
    for score in scores():
        numbers = (
            np.mean(score.fitted), np.mean(score.points), np.median(score.points), np.mean(score.carbons),
            np.median(score.carbons), score.blind, score.blind_root,
        )  # fmt: skip
        rows.append((score.form.name, *(f"{number:.4f}" for number in numbers)))
    return _table(rows)


def _between() -> list[str]:
    rows = [("between carbons, % RH", *(f"{h:.0%}" for h in HUMIDITIES))]
    for label, groups in (("untreated", ("commercial",)), ("and oxidised", ("commercial", "oxidised"))):
        found = curves.spread(*groups)
        rows.append((f"carbons, {label}", *map(str, found.count)))
        for name, line in (
            ("geometric mean", found.middle), ("sd of ln", found.sd), ("lower 95 %", found.low),
            ("upper 95 %", found.high),
        ):  # fmt: skip
            rows.append((f"  {name}", *(f"{value:.3f}" for value in line)))
    for dampness, name in ((-1.0, "driest"), (0.0, "typical"), (1.0, "dampest")):
        shares = [float(water_share.si(relative_humidity=h, carbon_dampness=dampness)) for h in HUMIDITIES]
        grams = [share * DEFAULT_VOLUME / WATER_VOLUME for share in shares]
        rows.append((f"{name} [cm3/cm3]", *(f"{share:.3f}" for share in shares)))
        rows.append((f"{name} [g/g] at 0.454 cm3/g", *(f"{gram:.3f}" for gram in grams)))
    return _table(rows)


def above_dampest(*groups: str) -> tuple[int, int]:
    """Points of the isotherms of some groups, and how many lie above the dampest curve.

    Shares are of the carbon's own pore volume where toluene tells it, else of the default carbon's.
    """
    volumes, points, above = own_pore_volumes(), 0, 0
    for curve in isotherms():
        if curve.group in groups:
            volume = volumes.get((curve.carbon, curve.doi), DEFAULT_VOLUME)
            top = water_share.si(relative_humidity=curve.humidity, carbon_dampness=1.0)
            points += curve.humidity.size
            above += int(np.sum(curve.uptake * WATER_VOLUME / volume > top))
    return points, above


def front_minutes(humidity: float, litres_a_minute: float, dampness: float = 0.0) -> float:
    """Soonest time at which a 45 g cartridge of the default carbon is at equilibrium at 25 degC [min]."""
    water = absolute_humidity.si(
        relative_humidity=humidity, saturation_pressure=float(iapws95_Psat(_TEMPERATURE)), temperature=_TEMPERATURE
    )
    held = water_uptake.si(relative_humidity=humidity, carbon_dampness=dampness, micropore_volume=DEFAULT_VOLUME)
    seconds = water_front_time.si(
        water_uptake=held, sorbent_mass=_MASS, absolute_humidity=water, flow_rate=litres_a_minute * 1e-3 / 60
    )
    return float(seconds / 60)


def _fronts() -> list[str]:
    rows = [("% RH", "typical 25 L/min", "dampest 25 L/min", "typical 60 L/min")]
    for humidity in (0.3, 0.5, 0.65, 0.8, 0.85, 0.9):
        times = (front_minutes(humidity, 25), front_minutes(humidity, 25, 1.0), front_minutes(humidity, 60))
        rows.append((f"{humidity:.0%}", *(f"{minutes:.0f} min" for minutes in times)))
    return _table(rows)


def report() -> str:
    """All tables as one text."""
    curves_used, (names, _) = complete(isotherms()), between("commercial", "oxidised")
    lines = [
        f"Isotherm models on {len(curves_used)} isotherms: root mean square error over the highest uptake, mean and",
        "median of isotherms. points: each point but the ends left out; carbons: shape from the other carbons, uptake",
        "and place of the rise fitted; blind: the average curve of the other untreated commercial carbons, in shares",
        "of 0.454 cm3/g, and in square roots of shares.",
        "",
        *_models(),
        "",
        f"Curves between carbons ({len(names)} commercial carbons, oxidised ones included).",
        "",
        *_between(),
        "",
        "Points above the dampest curve:",
    ]
    for group in ("commercial", "oxidised", "hot acid", "other"):
        points, above = above_dampest(group)
        lines.append(f"  {group}: {above} of {points}")
    ratio = 360 / front_minutes(0.85, 25)
    lines += [
        "",
        "Soonest time to equilibrium of a dry cartridge (45 g, 0.454 cm3/g) at 25 degC:",
        "",
        *_fronts(),
        "",
        f"Six hours at 25 L/min and 85 % RH bring {ratio:.1f} times what a typical carbon holds at equilibrium.",
    ]
    return "\n".join(lines)


def main() -> int:
    print(report())
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
