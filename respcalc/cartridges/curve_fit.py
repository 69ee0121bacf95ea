"""One breakthrough curve fitted: half time and rate constant, or capacity and rate coefficient.

Weighted and robust: points weigh by the analyser's scatter, and one that lies far off counts no more than
one at the edge of the usual (Huber). The scatter itself is taken from the points unless it is stated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import Any, Literal

import numpy as np

from respcalc.cartridges.cartridge import Cartridge
from respcalc.cartridges.robust import Curve, covariances, robust_fit, slopes_of
from respcalc.cartridges.tested import TestCurve
from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, DomainError, ModelError
from respcalc.core.vocabulary import read, single, term
from respcalc.models.breakthrough import bohart_adams_penetration, yoon_nelson_penetration
from respcalc.models.constants import GAS_CONSTANT

__all__ = ["CurveFit", "LackOfFit", "fit_wheeler_jonas", "fit_yoon_nelson", "inlet_of"]

_FLOOR, _SHARE = 0.005, 0.05  # scatter of an analyser: of the inlet, of the reading (common practice, no source)
_TELLING = (0.005, 0.995)  # exit fractions that say something about the rate
_SATURATED = 0.5
# how much flatter the unread foot of a curve may be than the curve, by its first reading; beyond the last nobody knows
_FLATTER = ((0.05, 1.3), (0.20, 2.0), (0.50, 3.0))
_SCATTERED, _FAR = 2.0, 0.10  # scatter over an analyser's, and distance in exit fraction, that are named
_DRAWS = 400
_SEED = 20260  # the same draws in every run: a record must come out the same twice
_ALPHA = 0.05
_EFFICIENCY = 0.95  # of Huber's estimate where the scatter is normal
_KNOWN = 10**6  # degrees of freedom of a scatter that is known

How = Literal["linearised", "bootstrap"]


@dataclass(frozen=True)
class LackOfFit:
    """How far the points are from the curve.

    Parameters
    ----------
    scatter
        Of the points about the curve, over what the analyser's scatter leads one to expect.
    largest, largest_at
        Largest distance in exit fraction, and its time [s].
    runs_chance
        Chance of so few changes of sign along the curve if the points scatter at random; None below six points.
    skew
        Rate below one half over the rate above it; 1 is the symmetric curve. None where the points cannot tell.
    skew_interval
        Of the skew, at 95 % confidence.
    words
        What of this matters, in words; empty where the curve fits.
    """

    scatter: float
    largest: float
    largest_at: float
    runs_chance: float | None
    skew: float | None
    skew_interval: tuple[float, float] | None
    words: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class CurveFit:
    """Two parameters fitted to the points of a curve. Make it with `fit_yoon_nelson` or `fit_wheeler_jonas`."""

    curve: TestCurve
    model: str
    names: tuple[str, str]
    logarithms: np.ndarray  # of the two parameters (SI)
    covariance: np.ndarray | None  # of the logarithms; None where two points leave nothing to judge by
    freedom: int
    assumptions: tuple[str, ...]
    _penetration: Curve
    _weights: np.ndarray
    _scale: float

    @property
    def parameters(self) -> tuple[Datum, Datum]:
        """The two fitted values with their origin."""
        first, second = (
            Datum(name, float(value), "computed", note=f"fitted to {len(self.curve.times)} points, {self.curve.report}")
            for name, value in zip(self.names, np.exp(self.logarithms), strict=True)
        )
        return first, second

    @property
    def standard_errors(self) -> tuple[float, float] | None:
        """Relative standard errors of the two; None where two points leave nothing to judge by."""
        if self.covariance is None:
            return None
        first, second = np.sqrt(np.diag(self.covariance))
        return float(first), float(second)

    def interval(self, name: str, confidence: Any = "95 %", how: How = "linearised") -> tuple[Any, Any]:
        """Confidence interval of a parameter, as two quantities in its printed unit.

        Parameters
        ----------
        name
            One of ``names``.
        confidence
            Two-sided [%].
        how
            ``"linearised"`` (robust sandwich covariance, Student's quantile) or ``"bootstrap"`` (studentised, 400
            draws of the weighted residuals).

        Raises
        ------
        DomainError
            No such parameter, no such confidence, or only two points.
        """
        if name not in self.names:
            raise DomainError(f"name = {name!r}: the fitted parameters are {', '.join(self.names)}")
        k = self.names.index(name)
        low, high = self._bounds(read_confidence(confidence), how)
        word = term(name)
        return word.quantity(math.exp(low[k])), word.quantity(math.exp(high[k]))

    def _spread(self) -> np.ndarray:
        """Covariance of the logarithms, or refuse where there is none."""
        if self.covariance is None:
            raise DomainError(
                f"{self.curve.name}: two points fix two parameters exactly, so nothing is left to judge them by; at "
                "least three points are needed for an interval"
            )
        return self.covariance

    def _bounds(self, confidence: float, how: How) -> tuple[np.ndarray, np.ndarray]:
        errors = np.sqrt(np.diag(self._spread()))
        if how == "linearised":
            from scipy.stats import t

            reach = float(t.ppf(0.5 + confidence / 2, self.freedom)) * errors
            return self.logarithms - reach, self.logarithms + reach
        if how != "bootstrap":
            raise DomainError(f'how = {how!r}: it is "linearised" or "bootstrap"')
        count = len(self.curve.times)
        studentised = self._draws[1] * math.sqrt(count / (count - self.logarithms.size))  # for so few points
        ends = np.quantile(studentised, [0.5 - confidence / 2, 0.5 + confidence / 2], axis=0)
        return self.logarithms - ends[1] * errors, self.logarithms - ends[0] * errors

    def region(self, confidence: Any = "95 %", points: int = 91) -> np.ndarray:
        """Joint confidence region of both parameters (SI), linearised: points of its edge, shape ``(points, 2)``.

        Raises
        ------
        DomainError
            Only two points were fitted.
        """
        from scipy.stats import f

        share, spread = read_confidence(confidence), self._spread()
        radius = math.sqrt(2.0 * float(f.ppf(share, 2, self.freedom)))
        angle = np.linspace(0.0, 2.0 * np.pi, points)
        circle = np.stack([np.cos(angle), np.sin(angle)])
        root = np.linalg.cholesky(spread)
        return np.asarray(np.exp(self.logarithms[:, np.newaxis] + radius * root @ circle).T)

    def penetration_si(self, times: Any) -> Any:
        """Fitted exit fraction after times in s."""
        return self._penetration(np.asarray(times, dtype=float), self.logarithms)

    def band_si(self, times: Any, confidence: Any = "95 %") -> tuple[np.ndarray, np.ndarray]:
        """Confidence band of the fitted curve (exit fractions) at times in s, linearised.

        Raises
        ------
        DomainError
            Only two points were fitted.
        """
        from scipy.stats import t

        share, covariance = read_confidence(confidence), self._spread()
        at = np.asarray(times, dtype=float)
        middle = self.penetration_si(at)
        slopes = slopes_of(self._penetration, at, self.logarithms[np.newaxis])[0]
        spread = np.sqrt(np.einsum("ni,ij,nj->n", slopes, covariance, slopes))
        reach = float(t.ppf(0.5 + share / 2, self.freedom)) * spread
        return np.clip(middle - reach, 0.0, 1.0), np.clip(middle + reach, 0.0, 1.0)

    def time_at(self, exit_fraction: Any) -> Any:
        """Time [min] at which the fitted curve reaches an exit fraction, or the points do, if they do so sooner.

        A real curve is not symmetric: at its foot the points are believed before the curve.

        Raises
        ------
        UnitsError, DomainError
            The exit fraction is not one.
        """
        share = single("exit_fraction", read("exit_fraction", exit_fraction))
        return term("breakthrough_time").quantity(self.time_at_si(share))

    def time_at_si(self, exit_fraction: float) -> float:
        """The same in floats [s]; 0 where the fitted curve starts above it."""
        from scipy.optimize import brentq

        last = self.curve.times[-1]
        if self.penetration_si(0.0) >= exit_fraction:
            return 0.0
        while self.penetration_si(last) < exit_fraction:
            last *= 2.0
        fitted = float(brentq(lambda t: float(self.penetration_si(t)) - exit_fraction, 0.0, last, xtol=1e-9))
        measured = self.curve.first_time(exit_fraction)
        if measured is not None and self.curve.times[0] > 0 and exit_fraction < self.curve.exit_fractions[0] < 1:
            measured = max(measured, self._below_the_first(exit_fraction, fitted))
        return fitted if measured is None else min(fitted, measured)

    def _below_the_first(self, exit_fraction: float, fitted: float) -> float:
        """Time [s] of an exit fraction below the first reading: from there down, flatter than points and curve are."""
        (first, start), *later = zip(self.curve.exit_fractions, self.curve.times, strict=True)
        above = self.on_fit_si(first)
        flatter = next((factor for most, factor in _FLATTER if first <= most), None)
        # the flattest way from the first reading to any up to one half, or to the second: none makes up for another
        ways = [
            (time - start) / (_odds(through) - _odds(first))
            for number, (through, time) in enumerate(later)
            if first < through < 1 and (number == 0 or through <= _SATURATED)
        ]
        if flatter is None or not ways or later[0][0] <= first:
            return 0.0
        by_points = (_odds(first) - _odds(exit_fraction)) * max(ways)
        return min(start, above) - flatter * max(above - fitted, by_points)

    def on_fit_si(self, exit_fraction: float) -> float:
        """Time [s] on the fitted curve alone, also before the start."""
        from scipy.optimize import brentq

        span = self.curve.times[-1]
        return float(brentq(lambda t: float(self.penetration_si(t)) - exit_fraction, -20 * span, 20 * span, xtol=1e-6))

    @cached_property
    def lack_of_fit(self) -> LackOfFit:
        """How far the points are from the curve, and whether it is skewed."""
        return _lack_of_fit(self)

    @cached_property
    def _draws(self) -> tuple[np.ndarray, np.ndarray]:
        """Bootstrap: refitted logarithms, and their distances in their own standard errors."""
        return _bootstrap(self, _DRAWS)

    def _lines(self) -> list[tuple[str, str]]:
        lines = [("test", str(self.curve)), ("model", self.model)]
        for datum in self.parameters:
            text = datum.printed
            if self.covariance is not None:
                ends = [f"{e.magnitude:.4g}" for e in self.interval(datum.quantity)]
                other = [f"{e.magnitude:.4g}" for e in self.interval(datum.quantity, how="bootstrap")]
                text += f"  (95 %: {ends[0]} to {ends[1]} linearised, {other[0]} to {other[1]} by bootstrap)"
            lines.append((datum.quantity, text))
        lack = self.lack_of_fit
        lines.append(
            ("fit", f"largest distance {max(100 * lack.largest, 0.01):.2g} % of the inlet at "
                    f"{term('worn_time').show(lack.largest_at)}")
        )  # fmt: skip
        if lack.skew is not None and lack.skew_interval is not None:
            low, high = lack.skew_interval
            lines.append(("skew", f"{lack.skew:.3g} (95 %: {low:.3g} to {high:.3g}; 1 is symmetric)"))
        lines += [("note", words) for words in (*lack.words, *self.assumptions)]
        return lines

    def __str__(self) -> str:
        return "\n".join(f"{k:<18}{v}" for k, v in self._lines())

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><th>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in self._lines())
        return f"<table>{rows}</table>"


def _odds(share: float) -> float:
    return math.log(share / (1.0 - share))


def read_confidence(value: Any) -> float:
    """Read a two-sided confidence (``"95 %"``), above 50 % and below 100 %."""
    share = single("confidence", read("coverage", value, as_argument="confidence"))
    if share >= 1.0:
        raise DomainError("confidence = 100 % is not possible; it must be above 50 % and below 100 %")
    return share


def inlet_of(curve: TestCurve) -> float:
    """Mass of vapour per volume of the test's air [kg/m3]: what the flow meter saw, by the gas law."""
    molar = curve.pressure.value / (GAS_CONSTANT * curve.temperature.value)
    return float(curve.volume_fraction.value * curve.vapour.molar_mass.value * molar)


def fit_yoon_nelson(curve: TestCurve) -> CurveFit:
    """Fit half time and rate constant to the points of a curve; nothing need be known of the bed.

    Parameters
    ----------
    curve
        From `describe_curve` or `read_tests`; at least two points between 0.5 % and 99.5 % through, one of
        them past one half.

    Returns
    -------
    CurveFit
        Of ``half_time`` [min] and ``logistic_rate`` [1/min].

    Raises
    ------
    CartridgeError
        Too few points for two parameters, or a bed that was not followed past one half.
    ModelError
        The fit does not converge.

    Notes
    -----
    Source: ``yoon_nelson_1984``. Intervals: Huber, Robust Statistics (1981), section 7.6 (from memory).
    """
    _require_points(curve, "fit_yoon_nelson")

    def penetration(times: Any, logarithms: Any) -> Any:
        tau, rate = _columns(logarithms)
        return yoon_nelson_penetration.si(worn_time=times, half_time=tau, logistic_rate=rate)

    return _fit(curve, "Yoon-Nelson", ("half_time", "logistic_rate"), penetration, np.log(_start(curve)), ())


def fit_wheeler_jonas(curve: TestCurve, cartridge: Cartridge) -> CurveFit:
    """Fit capacity and rate coefficient to the points of a curve, of a bed whose carbon was weighed.

    The curve is that of the exact Bohart-Adams solution, of which Wheeler-Jonas is the long-bed form.

    Parameters
    ----------
    curve
        As for `fit_yoon_nelson`.
    cartridge
        The bed that was tested, from `describe_bed`; the flow of the test went through as many in parallel as it
        says, evenly split, whatever its ``largest_share`` is in use.

    Returns
    -------
    CurveFit
        Of ``capacity`` [g/g] and ``rate_coefficient`` [1/min].

    Raises
    ------
    CartridgeError
        Too few points for two parameters, or a bed that was not followed past one half.
    ModelError
        The fit does not converge.

    Notes
    -----
    Source: ``bohart_adams_1920``, ``wheeler_jonas``.
    """
    _require_points(curve, "fit_wheeler_jonas")
    bed, inlet = cartridge.tested_bed(curve.flow_rate.value), inlet_of(curve)

    def penetration(times: Any, logarithms: Any) -> Any:
        capacity, rate = _columns(logarithms)
        return bohart_adams_penetration.si(
            worn_time=times, capacity=capacity, rate_coefficient=rate, sorbent_mass=bed.sorbent_mass,
            mass_concentration=inlet, flow_rate=bed.flow_rate, bulk_density=bed.bulk_density,
        )  # fmt: skip

    tau, growth = _start(curve)
    capacity = tau * inlet * bed.flow_rate / bed.sorbent_mass
    start = np.log([capacity, growth * capacity * bed.bulk_density / inlet])
    assumed = tuple(
        f"{d.quantity} of the bed is a default ({d.printed}): the rate coefficient goes with it"
        for d in (cartridge.bulk_density,)
        if d.kind == "default"
    )
    return _fit(curve, "Wheeler-Jonas (exact form)", ("capacity", "rate_coefficient"), penetration, start, assumed)


def _columns(logarithms: Any) -> Any:
    """Parameters from their logarithms, each with an axis for the points behind those of the sets."""
    values = np.exp(np.asarray(logarithms, dtype=float))
    return np.moveaxis(values, -1, 0)[..., np.newaxis] if values.ndim > 1 else values


def _require_points(curve: TestCurve, function: str) -> None:
    if not isinstance(curve, TestCurve):
        raise TypeError(
            f"curve = {type(curve).__name__}: one TestCurve is needed, from describe_curve(...) or one of "
            "read_tests(...).curves"
        )
    through = np.asarray(curve.exit_fractions)
    telling = int(((through >= _TELLING[0]) & (through <= _TELLING[1])).sum())
    if telling < 2:
        raise CartridgeError(
            f"{curve.name}: {telling} of {through.size} points lie between {100 * _TELLING[0]:g} % and "
            f"{100 * _TELLING[1]:g} % through, and two parameters need at least two. One point gives one number: "
            f"fit_bed(...) takes it with a rate coefficient that is assumed, and says so; {function} does not"
        )
    if through.max() < _SATURATED:
        raise CartridgeError(
            f"{curve.name}: the exit reached {100 * through.max():.4g} % of the inlet at most; a bed that is not "
            f"followed past {100 * _SATURATED:g} % shows its foot and not its capacity. Follow the test further, or "
            "give it to fit_bed(...), which takes the foot as times and assumes the rate coefficient"
        )


def _start(curve: TestCurve) -> tuple[float, float]:
    """Half time and rate constant read off the points."""
    through = np.asarray(curve.exit_fractions)
    times = np.asarray(curve.times)
    inside = (through >= _TELLING[0]) & (through <= _TELLING[1])
    odds = np.log(through[inside] / (1.0 - through[inside]))
    line = np.polyfit(times[inside], odds, 1) if np.ptp(odds) > 0 else np.array([1.0 / np.ptp(times), 0.0])
    rate = max(float(line[0]), 0.1 / times[-1])
    half = curve.first_time(_SATURATED)
    return float(half if half else times[-1]), rate


def _fit(
    curve: TestCurve, model: str, names: tuple[str, str], penetration: Curve, start: np.ndarray,
    assumptions: tuple[str, ...],
) -> CurveFit:  # fmt: skip
    times, through = np.asarray(curve.times), np.asarray(curve.exit_fractions)
    stated = np.asarray(curve.uncertainties) if curve.uncertainties else None
    found = start
    # the scatter of a point goes with what the curve says there, not with its own noise: fit, weigh, fit again
    for _ in range(3):
        weights = 1.0 / (stated if stated is not None else _analyser(penetration(times, found)))
        many, scales = robust_fit(times, through[np.newaxis], weights, penetration, found[np.newaxis])
        found, scale = many[0], float(scales[0])
    if not np.all(np.isfinite(found)):
        raise ModelError(f"{curve.name}: the fit does not converge; look at the points in a plot")
    freedom = times.size - found.size
    covariance = None
    if freedom > 0 and stated is None:
        covariance = covariances(times, through[np.newaxis], weights, penetration, found[np.newaxis], scales)[0]
    elif freedom > 0:  # the scatter is known: widened only where the points surely do more
        slopes = weights[:, np.newaxis] * slopes_of(penetration, times, found[np.newaxis])[0]
        covariance = np.linalg.inv(slopes.T @ slopes) / _EFFICIENCY
        excess, chance = _excess(weights * (through - penetration(times, found)), freedom)
        if chance < _ALPHA:
            covariance = covariance * excess
        else:
            freedom = _KNOWN
    return CurveFit(
        curve, model, names, found, covariance, freedom, assumptions, penetration, weights, scale
    )  # fmt: skip


def _excess(residuals: np.ndarray, freedom: int) -> tuple[float, float]:
    """Scatter squared over the stated one, and the chance of so much or more."""
    from scipy.stats import chi2

    total = float((residuals**2).sum())
    return total / freedom, float(chi2.sf(total, freedom))


def _analyser(through: np.ndarray) -> np.ndarray:
    return np.asarray(_FLOOR + _SHARE * np.clip(through, 0.0, 1.0))


def _bootstrap(fit: CurveFit, draws: int) -> tuple[np.ndarray, np.ndarray]:
    """Residual bootstrap: the fitted curve with its own weighted residuals shuffled onto it, fitted again."""
    times, through = np.asarray(fit.curve.times), np.asarray(fit.curve.exit_fractions)
    middle = fit.penetration_si(times)
    slopes = fit._weights[:, np.newaxis] * slopes_of(fit._penetration, times, fit.logarithms[np.newaxis])[0]
    leverage = np.einsum("ni,ij,nj->n", slopes, np.linalg.inv(slopes.T @ slopes), slopes)
    residuals = fit._weights * (through - middle) / np.sqrt(np.clip(1.0 - leverage, 0.05, 1.0))
    shuffled = np.random.default_rng(_SEED).choice(residuals - residuals.mean(), size=(draws, times.size))
    drawn = middle + shuffled / fit._weights
    start = np.broadcast_to(fit.logarithms, (draws, fit.logarithms.size))
    found, scales = robust_fit(times, drawn, fit._weights, fit._penetration, start)
    spread = covariances(times, drawn, fit._weights, fit._penetration, found, scales)
    errors = np.sqrt(np.diagonal(spread, axis1=-2, axis2=-1))
    return found, (found - fit.logarithms) / errors


def _lack_of_fit(fit: CurveFit) -> LackOfFit:
    times, through = np.asarray(fit.curve.times), np.asarray(fit.curve.exit_fractions)
    off = through - fit.penetration_si(times)
    worst = int(np.argmax(np.abs(off)))
    skew, interval = _skew(fit)
    chance = _runs_chance(off) if off.size >= 6 else None
    words = []
    if interval is not None and skew is not None and not interval[0] <= 1.0 <= interval[1]:
        steeper = "steeper" if skew > 1 else "flatter"
        words.append(
            f"the curve is skewed: its foot is {steeper} than its shoulder ({skew:.2f} times the rate), so at the foot "
            f"the symmetric curve is too {'early' if skew > 1 else 'late; the points are believed there'}"
        )
    if (not fit.curve.uncertainties and off.size > 2 and fit._scale > _SCATTERED) or abs(off[worst]) > _FAR:
        words.append(
            f"the points lie up to {100 * abs(off[worst]):.2g} % of the inlet from the curve, {fit._scale:.2g} times "
            "the usual scatter: lack of fit. Was the inlet steady and what is stated, and did nothing pass by the bed?"
        )
    if chance is not None and chance < _ALPHA:
        words.append(f"the points lie in long runs on one side of the curve (chance {_chance(chance)}): lack of fit")
    if fit.curve.uncertainties and off.size > 2:
        _, excess = _excess(fit._weights * off, off.size - 2)
        if excess < _ALPHA:
            words.append(
                f"the points scatter more than their stated uncertainty (chance {_chance(excess)}): intervals are "
                "widened to what they do"
            )
    return LackOfFit(fit._scale, float(abs(off[worst])), float(times[worst]), chance, skew, interval, tuple(words))


def _chance(value: float) -> str:
    return "below 0.1 %" if value < 1e-3 else f"{100 * value:.2g} %"


def _skew(fit: CurveFit) -> tuple[float | None, tuple[float, float] | None]:
    """Ratio of the rates below and above one half: a third parameter, where the points can tell it."""
    from scipy.stats import t

    times, through = np.asarray(fit.curve.times), np.asarray(fit.curve.exit_fractions)
    telling = (through > _TELLING[0]) & (through < _TELLING[1])
    if fit.freedom < 2 or (telling & (through < 0.5)).sum() < 2 or (telling & (through > 0.5)).sum() < 2:
        return None, None

    def penetration(at: Any, logarithms: Any) -> Any:
        tau, below, above = _columns(logarithms)
        rate = np.where(at < tau, below, above)
        return yoon_nelson_penetration.si(worn_time=at, half_time=tau, logistic_rate=rate)

    tau, rate = _start(fit.curve)
    points = through[np.newaxis]
    try:
        many, scales = robust_fit(times, points, fit._weights, penetration, np.log([[tau, rate, rate]]))
        spread = covariances(times, points, fit._weights, penetration, many, scales)[0]
    except np.linalg.LinAlgError:
        return None, None
    found = many[0]
    middle = float(found[1] - found[2])
    reach = float(t.ppf(1.0 - _ALPHA / 2, fit.freedom - 1)) * math.sqrt(
        max(0.0, float(spread[1, 1] + spread[2, 2] - 2 * spread[1, 2]))
    )
    if not math.isfinite(middle) or not math.isfinite(reach) or reach > 5:
        return None, None
    return math.exp(middle), (math.exp(middle - reach), math.exp(middle + reach))


def _runs_chance(off: np.ndarray) -> float:
    """Chance of this few runs of one sign or fewer, by counting arrangements (Wald and Wolfowitz)."""
    signs = off > 0
    plus, minus = int(signs.sum()), int((~signs).sum())
    if not plus or not minus:
        return 2.0 ** (1 - off.size)
    runs = 1 + int((signs[1:] != signs[:-1]).sum())
    total = math.comb(plus + minus, plus)
    ways = 0
    for r in range(2, runs + 1):
        half, odd = divmod(r, 2)
        if not odd:
            ways += 2 * math.comb(plus - 1, half - 1) * math.comb(minus - 1, half - 1)
        else:
            ways += math.comb(plus - 1, half) * math.comb(minus - 1, half - 1)
            ways += math.comb(plus - 1, half - 1) * math.comb(minus - 1, half)
    return ways / total
