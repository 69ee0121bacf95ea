"""A bed from its breakthrough tests: micropore volume, characteristic energy and a rate scale, with what stays open.

A test tells how much its bed held of one vapour in one air: one number, which many pairs of micropore volume and
energy explain. Each test added at another strength of hold narrows them. What the tests leave open is not guessed:
the energy starts from the range of respirator carbons, the rate from the scatter of its correlation, and the bed
could be any of those at the ends that are left; for each the micropore volume is the one that explains the tests.

Water in the test's air, or on the carbon, is not credited: the bed is found as though the air had been dry. Were the
model of water too harsh, the carbon would otherwise come out too good for drier air.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import Any

import numpy as np

from respcalc.cartridges.cartridge import Cartridge, Evidence
from respcalc.cartridges.curve_fit import CurveFit, fit_wheeler_jonas
from respcalc.cartridges.tested import CartridgeTest, TestCurve, challenge_of
from respcalc.core.basis import Datum
from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.errors import CartridgeError
from respcalc.core.vocabulary import term
from respcalc.models.affinity import affinity_least
from respcalc.models.capacity import dubinin_slope
from respcalc.prediction import Challenge, breath_over_gas, reduced_potential, run_chain, sorbate_of
from respcalc.vapours import vapour_key

__all__ = [
    "ENERGY_RANGE",
    "RATE_SCATTER",
    "TEST_SCATTER",
    "BedFit",
    "FittedTest",
    "bed_that_lasts",
    "fit_bed",
    "vapour_scatter",
]

ENERGY_RANGE = (19.0e3, 1.5e3)
"""Characteristic energy of respirator carbons [J/mol], middle and standard deviation: 16 to 22 kJ/mol (from memory)."""

RATE_SCATTER = math.log(1.3) / 1.645
"""Standard deviation of ln(rate): 20 to 30 % is what such correlations scatter (from memory); 30 % is taken as 95 %."""

TEST_SCATTER = 0.10
"""Standard deviation of ln(time) between lots and laboratories (common practice, no source)."""

# Standard deviation of ln(predicted/measured) between vapours on one carbon: for well-held ones, and its rise with
# the reduced potential beyond 0.40 (the calibrated times of `respcalc.estimate`, recalled; see the tests).
_WELL_HELD, _WELL_HELD_SCATTER, _SCATTER_RISE = 0.40, 0.14, 0.29

_REACH = 1.645  # standard deviations to a one-sided 95 %
_RATES = 17  # rates tried between the ends of what is known of it
_ENERGIES = np.linspace(12.0e3, 26.0e3, 57)
_FINE = np.linspace(12.0e3, 26.0e3, 1401)
_VOLUMES = (1e-6, 5e-3)  # [m3/kg] searched for the micropore volume
_CARBONS = (0.10e-3, 1.2e-3)  # what a carbon can have
_USUAL_CARBONS = (0.30e-3, 0.75e-3)  # beyond them a slip is likelier than such a carbon
_RATE_FRACTION = 0.01  # exit fraction at which a curve's time is explained and its rate held against the correlation
_NEARLY_FULL = 0.90  # exit fraction above which an analyser's 5 % of the reading may hide a bed that is full
_HARDLY_THROUGH = 0.0105  # highest exit of a curve whose fractions may have been taken for per cent
_NOT_READ = 0.50  # first exit fraction of a curve above which it says nothing of its foot
_TOLD_FROM_NOTHING = 0.005  # exit fraction below which an analyser's scatter may be all there is
_APART = 1.3  # micropore volumes of the points of one foot, from which they contradict each other
_ODD = 2.5  # standard deviations from which a test is pointed out
_BELIEVED = 2.0  # and up to which a test lower than the others is raised by them


def vapour_scatter(potential: float) -> float:
    """Standard deviation of ln(predicted/measured) of a vapour with this reduced potential, on a carbon that is known.

    Parameters
    ----------
    potential
        From `respcalc.prediction.reduced_potential`.
    """
    return _WELL_HELD_SCATTER + _SCATTER_RISE * max(0.0, potential - _WELL_HELD)


@dataclass(frozen=True)
class FittedTest:
    """One test and what the fitted bed makes of it."""

    name: str
    test: str
    told: str  # what it says: a capacity and a rate, or a time
    factor: float  # what the bed would have lasted over what the test did
    scatter: float  # standard deviation of its logarithm that is usual

    @property
    def odd(self) -> bool:
        """Whether it is far beyond the usual scatter."""
        return abs(math.log(self.factor)) > _ODD * self.scatter

    @property
    def factor_in_words(self) -> str:
        return f"the bed would have lasted {self.factor:.3g} times as long"


@dataclass(frozen=True)
class BedFit:
    """A bed found from tests. ``cartridge`` is ready for an estimate; the rest says how well it is known.

    Parameters
    ----------
    cartridge
        With fitted carbon, every bed that the tests leave, and the tests themselves.
    energy_interval
        Of the characteristic energy [J/mol], 5 and 95 %.
    rate_interval
        Of the rate scale, 5 and 95 %.
    told_by_tests
        Share of what is known of the energy that is from the tests, the rest being the usual range.
    tests
        Each with the factor by which the fitted bed misses it.
    curve_fits
        Of the tests whose curve was followed far enough.
    assumptions
        What was assumed and not fitted, in words.
    """

    cartridge: Cartridge
    energy_interval: tuple[float, float]
    rate_interval: tuple[float, float]
    told_by_tests: float
    tests: tuple[FittedTest, ...]
    curve_fits: tuple[CurveFit, ...]
    assumptions: tuple[str, ...]

    def _lines(self) -> list[tuple[str, str]]:
        bed, energy = self.cartridge, term("characteristic_energy")
        low, high = (energy.show(v) for v in self.energy_interval)
        rates = [f"{v:.3g}" for v in self.rate_interval]
        assert bed.rate_scale is not None
        lines = [
            ("cartridge", bed.name),
            ("micropore volume", bed.micropore_volume.printed),
            ("energy", f"{bed.characteristic_energy.printed} (90 %: {low} to {high}; "
                       f"{100 * self.told_by_tests:.0f} % told by the tests)"),
            ("rate scale", f"{bed.rate_scale.value:.3g} (90 %: {rates[0]} to {rates[1]})"),
        ]  # fmt: skip
        lines += [
            (t.name, f"{t.told}; {t.factor_in_words}{' (ODD: far beyond the usual scatter)' if t.odd else ''}")
            for t in self.tests
        ]
        lines += [("assumed", text) for text in self.assumptions]
        lines += [("could also be", bed.others_in_words), ("caution", SHORT_CAUTION)]
        return lines

    def __str__(self) -> str:
        return "\n".join(f"{k:<20}{v}" for k, v in self._lines())

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><th>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in self._lines())
        return f"<table>{rows}</table>"


@dataclass(frozen=True)
class _Explained:
    """One test as the fit takes it: the logarithm of the micropore volume that explains it, for energies and rates."""

    name: str
    what: TestCurve | CartridgeTest
    told: str
    scatter: float  # of its logarithm, without that of its vapour
    volumes: np.ndarray  # ln(micropore volume), shape (rate scales, energies)
    fit: CurveFit | None


def fit_bed(cartridge: Cartridge, tests: TestCurve | CartridgeTest | Sequence[TestCurve | CartridgeTest]) -> BedFit:
    """Find the carbon of a weighed bed from its breakthrough tests.

    Parameters
    ----------
    cartridge
        From `describe_bed`: its geometry counts, its carbon is replaced.
    tests
        Curves (`describe_curve`, `read_tests`) and single times (`describe_test`) of this type of cartridge, of one
        vapour or of several. The same one twice counts once.

    Returns
    -------
    BedFit
        Its ``cartridge`` goes into an estimate for any vapour. For the vapours that were tested, near the tests'
        conditions, the tests themselves stand behind the life.

    Raises
    ------
    CartridgeError
        No test; a cartridge that was not described as a bed; a vapour that is held so badly that the test says
        nothing of the carbon; a curve first read when the bed may have been full; tests that no carbon explains.

    Notes
    -----
    Source: ``dubinin_radushkevich_1947``, ``bohart_adams_1920``. One test fixes one number. A curve that was
    followed past one half tells the rate, and with it the capacity; a time, or the foot of a curve, gives a capacity
    for a rate that is assumed. Every bed that is left explains the time at the foot of each test, on
    average. Two tests or more at different strengths of hold tell the energy.
    """
    if not isinstance(cartridge, Cartridge):
        raise TypeError(f"cartridge = {cartridge!r:.80}: a Cartridge is needed; make one with describe_bed(...)")
    if cartridge.evidence is not None:
        raise CartridgeError(
            f"cartridge {cartridge.name} is {cartridge.evidence.words}: describe its bed with describe_bed(...), and "
            "give all its tests at once"
        )
    listed = list(dict.fromkeys(_listed(tests)))  # the same test twice tells no more than once
    if not listed:
        raise CartridgeError("tests: none is given; at least one breakthrough test is needed")
    for one in listed:
        if not isinstance(one, (TestCurve, CartridgeTest)):
            raise CartridgeError(
                f"tests: {one!r:.80} is no test; make one with describe_test(...), describe_curve(...) or "
                "read_tests(...)"
            )
    found = _fit_one(replace(cartridge, could_be=(), tolerated=()), listed)
    if not cartridge.could_be:
        return found
    others = []
    # both ends of the mass: a carbon that is found from tests makes up for less of it, so more can be the worse
    for other in cartridge.tolerated:
        try:
            others.append(_fit_one(other, listed).cartridge)
        except CartridgeError:
            continue  # an end of a tolerance that no carbon brings together with the tests: they rule it out
    beds = (*found.cartridge.could_be, *(bed for other in others for bed in other.beds()))
    because = f"{found.cartridge.because}; and {cartridge.because}"
    return replace(found, cartridge=replace(found.cartridge, could_be=beds, because=because))


@dataclass(frozen=True)
class _Levels:
    """The micropore volume on which the tests agree, for every rate and energy; NaN where no volume explains them."""

    scales: np.ndarray
    logarithms: np.ndarray  # shape (scales, energies on the fine grid)
    middle: int  # the rate that counts as the tests', or the next one at which they can be explained

    def volume(self, energy: float, k: int) -> float:
        return float(np.exp(np.interp(energy, _FINE, self.logarithms[k])))

    def ends(self, energy: float) -> tuple[int, int] | None:
        """Slowest and fastest rate at which a carbon that can be explains the tests; None where there is none."""
        fit = [k for k in range(self.scales.size) if self.volume(energy, k) <= _CARBONS[1]]
        return (fit[0], fit[-1]) if fit else None


def _fit_one(cartridge: Cartridge, tests: list[TestCurve | CartridgeTest]) -> BedFit:
    rates, measured = _rate_scale(cartridge, tests)
    scales = np.exp(rates[0] + np.linspace(-_REACH, _REACH, _RATES) * rates[1])
    explained = [_explain(cartridge, test, k, scales) for k, test in enumerate(tests, start=1)]
    spread = _covariance(explained)
    volumes = np.stack([_on_fine_grid(e.volumes) for e in explained])  # test, scale, energy
    weights = np.linalg.inv(spread)
    mean = np.einsum("ij,jse->se", weights, volumes) / weights.sum()
    # a test far below the others is believed up to its own scatter: an odd one never lifts a life, whatever the others
    least = (volumes + _BELIEVED * np.sqrt(np.diag(spread))[:, np.newaxis, np.newaxis]).min(axis=0)
    logarithms = np.minimum(mean, least)
    half = _RATES // 2
    possible = [k for k in range(_RATES) if np.any(np.isfinite(logarithms[k]))]
    if not possible:
        raise CartridgeError(
            f"cartridge {cartridge.name}: at a rate coefficient within {_percent(_REACH * rates[1])} of "
            f"{'that of the curves' if measured else 'the correlated one'} no micropore volume explains the tests: the "
            "bed is too short for what they found. Check sorbent_mass, bulk_density, in_parallel and the tests' flow"
        )
    levels = _Levels(scales, logarithms, min(possible, key=lambda k: (abs(k - half), -k)))
    low, middle, high = _energy(cartridge, volumes[:, levels.middle], weights)
    ends = levels.ends(middle)
    nominal = None if ends is None else min(max(levels.middle, ends[0]), ends[1])
    volume = math.inf if nominal is None else levels.volume(middle, nominal)
    if nominal is None or volume < _CARBONS[0]:
        show = term("micropore_volume").show
        found = "more than any carbon has" if nominal is None else show(volume)
        raise CartridgeError(
            f"cartridge {cartridge.name}: the tests ask for a micropore volume of {found}, and a carbon has "
            f"{show(_CARBONS[0])} to {show(_CARBONS[1])}; check sorbent_mass, in_parallel and the tests' flow, "
            f"concentration and time{_humid_words(tests)}"
        )
    names = sorted({t.vapour.name for t in tests})
    words = f"fitted to {len(tests)} test{'s' if len(tests) > 1 else ''} ({', '.join(names)})"
    lowest: dict[str, float] = {}
    for t in tests:
        key = vapour_key(t.vapour)
        lowest[key] = min(t.volume_fraction.value, lowest.get(key, math.inf))
    told = 1.0 - min(1.0, ((high - low) / (2 * _REACH * ENERGY_RANGE[1])) ** 2)
    fitted = tuple(
        FittedTest(
            e.name, str(e.what), e.told,
            levels.volume(middle, nominal) / float(np.exp(np.interp(middle, _FINE, volumes[k, nominal]))),
            math.sqrt(float(spread[k, k])),
        )
        for k, e in enumerate(explained)
    )  # fmt: skip
    hidden = [t.name for t in tests if isinstance(t, TestCurve) and max(t.exit_fractions) <= _HARDLY_THROUGH]
    if volume > _USUAL_CARBONS[1] and hidden:
        show = term("micropore_volume").show
        raise CartridgeError(
            f"cartridge {cartridge.name}: {', '.join(hidden)} was followed to a hundredth of the inlet at most, and "
            f"asks for a micropore volume of {show(volume)}, when respirator carbons have 0.40 to 0.60 cm3/g: "
            "fractions under a header in per cent? Write exit_fraction [] for 0 to 1, or follow the test further"
        )
    assumptions = _assumptions(tests, told, measured)
    if not _USUAL_CARBONS[0] <= volume <= _USUAL_CARBONS[1]:
        show = term("micropore_volume").show
        assumptions.append(
            f"that the figures are right: the micropore volume comes out at {show(volume)}, and respirator carbons "
            "have 0.40 to 0.60 cm3/g. Check sorbent_mass, in_parallel, and whether the tests' flow is that of the "
            "whole set"
        )
    odd = [f"{t.name} is odd: far beyond the usual scatter ({t.told}; {t.factor_in_words})" for t in fitted if t.odd]
    kept = [n for n in cartridge.notes if not n.startswith(("micropore_volume", "characteristic_energy"))]
    made = replace(
        cartridge,
        tests=tuple(dict.fromkeys([*cartridge.tests, *(p for t in tests for p in _as_tests(t))])),
        notes=(*kept, *(f"cartridge {cartridge.name}, assumed: {a}" for a in assumptions),
               *(f"cartridge {cartridge.name}: {o}" for o in odd)),
        evidence=Evidence(
            words=f"{words}; the bed's geometry as described",
            level_scatter=math.sqrt(1.0 / float(weights.sum())),
            lowest=tuple(sorted(lowest.items())),
            highest=max(t.volume_fraction.value for t in tests),
            rate_reach=_REACH * rates[1],
            details=tuple(f"{t.test}: {t.told}; {t.factor_in_words}" for t in fitted),
        ),
    )  # fmt: skip

    def bed(energy: float, k: int) -> Cartridge:
        return replace(
            made,
            micropore_volume=Datum("micropore_volume", levels.volume(energy, k), "computed", note=words),
            characteristic_energy=Datum("characteristic_energy", energy, "computed", note=words),
            rate_scale=Datum("rate_scale", float(scales[k]), "computed",
                             note="from the curves" if measured else "as correlated; no curve tells it"),
        )  # fmt: skip

    corners = [
        (energy, k)
        for end in (low, middle, high)
        for energy in [next(e for e in np.linspace(end, middle, 21) if levels.ends(float(e)))]
        for k in dict.fromkeys(levels.ends(float(energy)) or ())
    ]
    slow, fast = scales[min(k for _, k in corners)], scales[max(k for _, k in corners)]
    show = term("characteristic_energy").show
    because = (
        f"the tests leave the energy between {show(low)} and {show(high)} and the rate scale between {slow:.2f} and "
        f"{fast:.2f}; the micropore volume goes with them"
    )
    return BedFit(
        replace(bed(middle, nominal), could_be=tuple(bed(*corner) for corner in corners), because=because),
        (low, high),
        (float(slow), float(fast)),
        told,
        fitted,
        tuple(e.fit for e in explained if e.fit is not None),
        tuple(assumptions),
    )


def _on_fine_grid(volumes: np.ndarray) -> np.ndarray:
    """Straight between energies; what is not known at one end of a step is not known within it."""
    return np.stack([np.interp(_FINE, _ENERGIES, row) for row in volumes])


def _percent(logarithm: float) -> str:
    return f"{100 * (math.exp(logarithm) - 1):.0f} %"


def _energy(cartridge: Cartridge, volumes: np.ndarray, weights: np.ndarray) -> tuple[float, float, float]:
    """Energy at which the tests agree best, with its 5 and 95 %, starting from the range of respirator carbons."""
    off = volumes - np.einsum("ij,je->e", weights, volumes) / weights.sum()
    misfit = np.einsum("ie,ij,je->e", off, weights, off) + ((_FINE - ENERGY_RANGE[0]) / ENERGY_RANGE[1]) ** 2
    known = np.isfinite(misfit)
    low, middle, high = _quantiles(_FINE[known], misfit[known])
    edges = _FINE[known][0], _FINE[known][-1]
    if not edges[0] < low < high < edges[1]:
        show = term("characteristic_energy").show
        raise CartridgeError(
            f"cartridge {cartridge.name}: the tests contradict each other: no carbon between {show(_FINE[0])} and "
            f"{show(_FINE[-1])} explains them together; look at each test's conditions and units"
        )
    return low, middle, high


def _humid_words(tests: list[TestCurve | CartridgeTest]) -> str:
    if all(t.relative_humidity.value <= 0.5 for t in tests):
        return ""
    return "; or water took much in the humid test, which is not added back: test in air of up to 50 % RH"


def _assumptions(tests: list[TestCurve | CartridgeTest], told: float, measured: bool) -> list[str]:
    show = term("characteristic_energy").show
    found = []
    if told < 0.5:
        found.append(
            f"the energy: the tests hardly tell it, so it is taken from the range of respirator carbons "
            f"({show(ENERGY_RANGE[0] - 2 * ENERGY_RANGE[1])} to {show(ENERGY_RANGE[0] + 2 * ENERGY_RANGE[1])}); a test "
            "of a vapour that is held much better or worse would tell it"
        )
    if not measured:
        found.append(
            "the rate coefficient: no curve was followed past one half, so it is the correlated one, within "
            + _percent(_REACH * RATE_SCATTER)
        )
    if any(t.relative_humidity.value > 0.5 for t in tests):
        found.append("dry air: what water took away in a humid test is not added back to the carbon")
    return found


def _listed(tests: Any) -> list[Any]:
    if isinstance(tests, (TestCurve, CartridgeTest)):
        return [tests]
    if isinstance(tests, (list, tuple)):
        return list(tests)
    raise CartridgeError(
        f"tests = {tests!r:.80}: tests are needed, from describe_test(...), describe_curve(...) or "
        "read_tests(...).curves"
    )


def _as_tests(test: TestCurve | CartridgeTest) -> tuple[CartridgeTest, ...]:
    return (test,) if isinstance(test, CartridgeTest) else test.tests()


def _curve_fit(cartridge: Cartridge, test: TestCurve | CartridgeTest) -> CurveFit | None:
    """Fit of a curve that was followed far enough for capacity and rate; None of any other test."""
    if isinstance(test, CartridgeTest):
        return None
    try:
        fit = fit_wheeler_jonas(test, cartridge)
    except CartridgeError:
        return None
    return fit if fit.covariance is not None else None


def _rate_scale(cartridge: Cartridge, tests: list[TestCurve | CartridgeTest]) -> tuple[tuple[float, float], bool]:
    """Mean and standard deviation of the logarithm of the rate over the correlated one; and whether a curve told it."""
    precision, pull = 1.0 / RATE_SCATTER**2, 0.0
    told = False
    for test in tests:
        fit = _curve_fit(cartridge, test)
        if fit is None or fit.standard_errors is None:
            continue
        told = True
        assert isinstance(test, TestCurve)
        rate = float(np.exp(fit.logarithms[1])) * _foot_share(fit, test)
        correlated = float(_run(cartridge, test, _RATE_FRACTION).dry_rate_coefficient)
        weight = 1.0 / (fit.standard_errors[1] ** 2 + TEST_SCATTER**2)
        precision += weight
        pull += weight * math.log(rate / correlated)
    return (pull / precision, 1.0 / math.sqrt(precision)), told


def _foot_share(fit: CurveFit, curve: TestCurve) -> float:
    """Share of the fitted rate that also explains the foot of the curve, where that is flatter; 1 where it is not."""
    shares = [1.0]
    half = fit.time_at_si(0.5)
    for time, through in zip(curve.times, curve.exit_fractions, strict=True):
        if 0.002 <= through <= 0.10:
            fitted = half - fit.on_fit_si(through)
            if half > time and fitted > 0:
                shares.append(fitted / (half - time))
    return min(shares)


def _run(cartridge: Cartridge, test: TestCurve | CartridgeTest, exit_fraction: float) -> Any:
    """The chain in the test's air, dry."""
    return run_chain(*_parts(cartridge, test, exit_fraction), cartridge.rate_share)


def _parts(cartridge: Cartridge, test: TestCurve | CartridgeTest, exit_fraction: float) -> tuple[Any, Any, Challenge]:
    return (
        sorbate_of(test.vapour, test.temperature.value),
        cartridge.tested_bed(test.flow_rate.value),
        challenge_of(test, exit_fraction, dry=True),
    )


def _explain(cartridge: Cartridge, test: TestCurve | CartridgeTest, number: int, scales: np.ndarray) -> _Explained:
    name = test.name if isinstance(test, TestCurve) else f"test {number}"
    _refuse_badly_held(name, test)
    fit = _curve_fit(cartridge, test)
    scale, energy = np.meshgrid(scales, _ENERGIES, indexing="ij")
    points = _telling_times(test, fit)
    volumes = [
        bed_that_lasts(
            cartridge, test, time, share, unknown="micropore_volume", between=_VOLUMES, rate_share=scale.ravel(),
            characteristic_energy=energy.ravel(),
        )
        for time, share in points
    ]  # fmt: skip
    found = np.fmin.reduce(volumes)  # no later point makes up for what an earlier one says
    usual = int(np.argmin(np.abs(np.log(scale.ravel())) + np.abs(np.log(energy.ravel() / ENERGY_RANGE[0]))))
    time, share = points[int(np.nanargmin([v[usual] for v in volumes])) if np.isfinite(found[usual]) else -1]
    told = f"{term('exit_fraction').show(share)} through after {term('breakthrough_time').show(time)}"
    if len(points) > 1:
        told += f", the least of {len(points)} points at its foot"
        apart = float(np.nanmax([v[usual] for v in volumes]) / found[usual])
        if apart > _APART:
            told += f" (ODD: they ask for micropore volumes that are {apart:.2g} times apart; was there a leak?)"
    scatter = TEST_SCATTER
    if fit is not None and fit.standard_errors is not None:
        capacity, rate = fit.parameters
        told = f"capacity {capacity.printed}, rate {rate.printed}, {told}"
        wave = fit.time_at_si(0.5) / time - 1.0
        scatter = math.hypot(scatter, fit.standard_errors[0], wave * fit.standard_errors[1])
    return _Explained(name, test, told, scatter, np.log(found).reshape(scale.shape), fit)


def _telling_times(test: TestCurve | CartridgeTest, fit: CurveFit | None) -> list[tuple[float, float]]:
    """Times and exit fractions that a bed is to explain, whatever its rate: at the foot, where a schedule looks.

    Of a curve that gave a rate, the time to 1 % through, and where that was not read the points as well; of its foot
    alone, every point up to one half that an analyser tells from nothing; where nothing was read there, the first
    point that is through.
    """
    foot: list[tuple[float, float]] = []
    if fit is not None and isinstance(test, TestCurve):
        first, time = test.exit_fractions[0], fit.time_at_si(_RATE_FRACTION)
        if time > 0 and (first <= _NOT_READ or test.times[0] == 0):
            foot = [(time, _RATE_FRACTION)]
            if first <= _RATE_FRACTION or test.times[0] == 0:
                return foot
    if isinstance(test, CartridgeTest):
        return [(test.breakthrough_time.value, test.exit_fraction.value)]
    highest = np.maximum.accumulate(test.exit_fractions)
    through = highest[highest > 0]
    shares = dict.fromkeys(float(p) for p in through if _TOLD_FROM_NOTHING <= p <= 0.5)
    shares = shares or dict.fromkeys([float(p) for p in through if p <= 0.5][-1:] or [float(through[0])])
    if (first := next(iter(shares))) > _NEARLY_FULL:
        raise CartridgeError(
            f"{test.name}: nothing was read between 0 and {100 * first:.4g} % through, so the bed may have been full "
            "long before: the points do not tell when it broke through. Give a time of which that is known, such as "
            "the last reading that was still below a stated exit fraction, with describe_test(...)"
        )
    times = [(test.first_time(share), share) for share in shares]
    return [*foot, *((time, share) for time, share in times if time)]


def bed_that_lasts(
    cartridge: Cartridge,
    test: TestCurve | CartridgeTest,
    time: float,
    exit_fraction: float,
    *,
    unknown: str,
    between: tuple[float, float],
    rate_share: Any,
    **known: Any,
) -> np.ndarray:
    """Value of one unknown of the bed with which it lasts a time in dry test air, for arrays of the others.

    Parameters
    ----------
    cartridge
        What is neither unknown nor in *known*.
    test
        Its vapour and air count.
    time, exit_fraction
        [s] and the fraction that is through then.
    unknown, between
        Name of a value of the bed that lengthens the time, and where it is searched (SI).
    rate_share
        Of the correlated rate coefficient, shape ``(n,)``.
    known
        Other values of the bed (SI), shape ``(n,)`` each.

    Returns
    -------
    numpy.ndarray
        Shape ``(n,)``; NaN where even the upper end does not last.

    Raises
    ------
    CartridgeError
        No value in that range does, whatever the others.
    """
    sorbate, bed, challenge = _parts(cartridge, test, exit_fraction)
    size = np.shape(rate_share)
    low, high = (np.full(size, math.log(end)) for end in between)
    factor = breath_over_gas(test.temperature.value, test.pressure.value)
    most = run_chain(sorbate, replace(bed, **{**known, unknown: np.exp(high)}), challenge, rate_share)
    reached = np.asarray(most.breakthrough_time * factor >= time)
    if not reached.any():
        raise CartridgeError(
            f"cartridge {cartridge.name}: no {unknown} up to {term(unknown).show(between[1])} explains "
            f"{term('exit_fraction').show(exit_fraction)} through after {term('breakthrough_time').show(time)} "
            f"({test}); check the test's flow, concentration and time, and sorbent_mass and in_parallel"
        )
    for _ in range(42):  # to 1e-11 of the range
        middle = 0.5 * (low + high)
        lasts = run_chain(sorbate, replace(bed, **{**known, unknown: np.exp(middle)}), challenge, rate_share)
        enough = lasts.breakthrough_time * factor >= time
        high, low = np.where(enough, middle, high), np.where(enough, low, middle)
    return np.where(reached, np.exp(high), np.nan)


def _refuse_badly_held(name: str, test: TestCurve | CartridgeTest) -> None:
    slope = dubinin_slope.si(
        temperature=test.temperature.value,
        saturation_pressure=float(test.vapour.saturation_pressures(test.temperature.value)),
        partial_pressure=test.volume_fraction.value * test.pressure.value,
        affinity_coefficient=float(affinity_least.si(molar_polarization=test.vapour.molar_polarization.value)),
        characteristic_energy=ENERGY_RANGE[0],
    )
    if float(slope) > 1.0:
        raise CartridgeError(
            f"{name}: the isotherm of {test.vapour.name} is convex at {test.volume_fraction.printed}, so its wave "
            "keeps no shape and its time tells nothing of the carbon; use a test of another vapour"
        )


def _covariance(explained: list[_Explained]) -> np.ndarray:
    """Of the logarithms: each test its own scatter, and tests of one vapour that of the vapour together."""
    size = len(explained)
    spread = np.zeros((size, size))
    for i, one in enumerate(explained):
        spread[i, i] += one.scatter**2
        for j, other in enumerate(explained):
            if one.what.vapour.name == other.what.vapour.name:
                spread[i, j] += vapour_scatter(reduced_potential(one.what.vapour)) ** 2
    return spread


def _quantiles(fine: np.ndarray, twice_minus_log: np.ndarray) -> tuple[float, float, float]:
    """5, 50 and 95 % of a density given by its logarithm."""
    density = np.exp(-0.5 * (twice_minus_log - twice_minus_log.min()))
    summed = np.cumsum(density) / density.sum()
    low, middle, high = (float(np.interp(q, summed, fine)) for q in (0.05, 0.5, 0.95))
    return low, middle, high
