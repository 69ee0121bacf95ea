"""Vapour pressure of a listed vapour: choosing a correlation, checking it against the guide, settling gaps."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import Any

import numpy as np

from respcalc.vapours.correlations import (
    GUIDE,
    LIBRARY,
    PRESSURE_METHODS,
    Correlation,
    Review,
    correlations,
    corresponding_states,
    reviews,
)
from respcalc.vapours.curves import (
    ATMOSPHERE,
    GAS_CONSTANT,
    REACH,
    REFERENCE_T,
    T_HIGH,
    T_LOW,
    TROUTON,
    Curve,
    Stretch,
    celsius,
    extended_line,
    grid,
    two_point_pressure,
)

__all__ = ["GAP", "PressureSettling"]

GAP = 1.5  # a ratio of two vapour pressures above this is reported and settled
COLD_END = 105.0  # K that it is then extended at most, which takes it to the cold end of the table


def _mmhg(pressure: float) -> str:
    return f"{pressure / 133.322387415:.3g} mmHg"


@dataclass(frozen=True)
class PressureSettling:
    """What is needed to settle one vapour's pressure: its names, the guide's row, its boiling point [K]."""

    name: str
    cas: str
    guide: dict[str, Any]
    boiling_point: float
    estimate_missing: bool = False

    def settled(self) -> tuple[Curve, tuple[str, ...]]:
        """Return the curve, and notes on what was settled."""
        notes: list[str] = []
        guide_t, guide_p = self.guide["guide_vapour_pressure_temperature"], self.guide["guide_vapour_pressure"]
        boiling_point = self.boiling_point
        at = guide_t or REFERENCE_T
        chosen = self._choose_pressure(at, guide_p, notes)
        review = reviews().get((self.cas, "saturation_pressure"))
        missing = (
            f"{self.name}: no vapour pressure is known at this temperature; give it with "
            f"define_vapour({self.name!r}, ..., saturation_pressure={{'20 degC': '1.0 kPa', '40 degC': '3.0 kPa'}}), "
            f"or accept a high, flagged estimate with find_vapour({self.name!r}, estimate_missing=True)"
        )
        values = np.full(grid().shape, np.nan)
        stretches: list[Stretch] = []
        if chosen is not None:
            values = extended_line(
                chosen.function, chosen.low, chosen.high, in_inverse_temperature=True, reach=COLD_END
            )
            where = f"{chosen.method} ({PRESSURE_METHODS[chosen.method]})"
            valid = f"valid {celsius(chosen.low)} to {celsius(chosen.high)}"
            stretches = [
                Stretch(chosen.low, chosen.high, "compiled", LIBRARY, where, valid),
                Stretch(
                    chosen.low - COLD_END,
                    chosen.high + COLD_END,
                    "predicted",
                    LIBRARY,
                    where,
                    f"{valid}; extended along ln p against 1/T, which overstates it",
                ),
            ]
            if chosen.low > REFERENCE_T + 5.0:
                notes.append(
                    f"vapour pressure: the correlation starts at {celsius(chosen.low)} and is extended below along "
                    "ln p against 1/T, which overstates it (the safe side)"
                )
        if guide_p is not None:
            line = two_point_pressure(grid(), at, guide_p, boiling_point)
            through = Stretch(
                T_LOW,
                T_HIGH,
                "predicted",
                GUIDE,
                f"{self.guide['locator']}, {self.guide['guide_vapour_pressure_printed']} at {celsius(at)}",
                "line through the guide's value and the boiling point",
            )
            if chosen is None:
                notes.append("vapour pressure: no correlation; line through the guide's value and the boiling point")
                values, stretches = self._second_opinion(line, through, at, guide_p, notes)
            else:
                values, stretches = self._settle(values, stretches, line, through, at, guide_p, review, notes)
        elif chosen is None and review is not None and review.value is not None and review.temperature is not None:
            values = two_point_pressure(grid(), review.temperature, review.value, boiling_point)
            how = f"{_mmhg(review.value)} at {celsius(review.temperature)}; line from there to the boiling point"
            stretches = [Stretch(T_LOW, T_HIGH, "memory", review.source, review.locator, how)]
            notes.append(f"vapour pressure: recalled from memory, {how}; {review.reason}")
        elif chosen is None and self.estimate_missing:
            values = ATMOSPHERE * np.exp(TROUTON / GAS_CONSTANT * (1.0 - boiling_point / grid()))
            how = "high estimate from the boiling point alone (Trouton's rule, straight line in ln p against 1/T)"
            stretches = [Stretch(T_LOW, T_HIGH, "predicted", "trouton_rule", "from memory", how)]
            notes.append(f"vapour pressure: {how}")
        curve = Curve(values, tuple(stretches), in_inverse_temperature=True, missing=missing)
        return curve, tuple(notes)

    def _second_opinion(
        self, line: Any, through: Stretch, at: float, guide_p: float, notes: list[str]
    ) -> tuple[Any, list[Stretch]]:
        """Hold the line through the guide's value against a corresponding-states estimate."""
        estimate = corresponding_states(self.cas)
        if estimate is None:
            return line, [through]
        theirs = estimate(at)
        if max(theirs / guide_p, guide_p / theirs) <= GAP:
            return line, [through]
        printed = self.guide["guide_vapour_pressure_printed"]
        both = (
            f"vapour pressure at {celsius(at)}: {_mmhg(theirs)} from corresponding states (an estimate), "
            f"{printed} in the guide"
        )
        if theirs < guide_p:
            notes.append(f"{both}; the guide's, the higher of the two, is used, which is the safe side")
            return line, [through]
        notes.append(f"{both}; the higher of the two is used at each temperature, which is the safe side")
        how = "corresponding states (Ambrose-Walton)"
        values = np.fmax(line, [estimate(float(t)) for t in grid()])
        return values, [Stretch(T_LOW, T_HIGH, "predicted", LIBRARY, how, "estimate; above the guide's value")]

    def _choose_pressure(self, at: float, guide_p: float | None, notes: list[str]) -> Correlation | None:
        """Best-ranked correlation that most sources agree with and that meets the boiling point."""
        boiling_point = self.boiling_point
        review = reviews().get((self.cas, "saturation_pressure"))
        reach = COLD_END if review is not None and review.decision == "extend" else REACH
        near = [c for c in correlations(self.cas, "pressure", PRESSURE_METHODS) if c.reaches(at, reach)]
        good = []
        for candidate in near:
            if candidate.reaches(boiling_point):
                ratio = candidate.function(boiling_point) / ATMOSPHERE
                if not 0.75 < ratio < 1.35:
                    notes.append(
                        f"vapour pressure: {candidate.method} is not used; it gives {ratio:.2f} atm "
                        "at the boiling point"
                    )
                    continue
            good.append(candidate)
        inside = [c for c in good if c.reaches(at)]
        if not inside:
            return min(good, key=lambda c: round(c.distance(at) / 10.0)) if good else None
        votes = [c.function(at) for c in inside] + ([guide_p] if guide_p is not None else [])
        if len(votes) >= 3:
            middle = median(votes)
            agreeing = [c for c in inside if middle / GAP <= c.function(at) <= middle * GAP]
            for odd in (c for c in inside if c not in agreeing):
                notes.append(
                    f"vapour pressure: {odd.method} is not used; it gives {_mmhg(odd.function(at))} at "
                    f"{celsius(at)} where the middle of the sources is {_mmhg(middle)}"
                )
            inside = agreeing or inside
        first = inside[0]
        highest = max(inside, key=lambda c: c.function(at))
        if highest.function(at) > GAP * first.function(at):
            notes.append(
                f"vapour pressure at {celsius(at)}: {first.method} {_mmhg(first.function(at))}, {highest.method} "
                f"{_mmhg(highest.function(at))}; the higher is used, which is the safe side"
            )
            return highest
        return first

    def _settle(
        self,
        values: Any,
        stretches: list[Stretch],
        line: Any,
        through: Stretch,
        at: float,
        guide_p: float,
        review: Review | None,
        notes: list[str],
    ) -> tuple[Any, list[Stretch]]:
        """Compare with the guide's printed value; on a gap take the higher of the two, or the review."""
        ours = float(np.exp(np.interp(-1.0 / at, -1.0 / grid(), np.log(values))))
        ratio = max(ours / guide_p, guide_p / ours)
        if ratio <= GAP:
            return values, stretches
        printed = self.guide["guide_vapour_pressure_printed"]
        both = f"vapour pressure at {celsius(at)}: {_mmhg(ours)} from the correlation, {printed} in the guide"
        if review is not None and review.decision == "correlation":
            notes.append(f"{both}; the correlation is used: {review.reason}")
            return values, stretches
        if ours > guide_p:
            notes.append(f"{both}; the correlation, the higher of the two, is used, which is the safe side")
            return values, stretches
        if guide_p - _half_digit(printed, guide_p) <= GAP * ours:
            notes.append(f"{both}; the rounding of the guide's value allows for it, and the correlation is used")
            return values, stretches
        notes.append(f"{both}; the higher of the two is used at each temperature, which is the safe side")
        return np.fmax(values, line), [through]


def _half_digit(printed: str, pressure: float) -> float:
    """Half of the last printed digit, in the unit of *pressure*."""
    number = printed.split(maxsplit=1)[0]
    decimals = len(number.partition(".")[2])
    digits = number.replace(".", "").lstrip("0")
    trailing = len(digits) - len(digits.rstrip("0")) if decimals == 0 else 0
    half = 0.5 * 10.0 ** (trailing - decimals)
    return pressure * half / float(number)
