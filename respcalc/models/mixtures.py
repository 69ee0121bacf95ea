"""Several vapours on one bed: when the first of them comes through.

Two kinds of rule. Some work on times of single vapours, whatever model gave them; some say how much of each
vapour the carbon holds beside the others. `equilibrium_fronts` is the theory that both are judged against:
which vapour leaves the bed when, at which plateau, if only equilibrium counts.

Components lie along the last axis and mixtures along the others, which the door of units cannot read: these
are plain functions of SI floats with a card. A rule that gives
a time for each component is to be used with the **least** of them: the time of a light trace by itself says
nothing, since a heavy vapour sweeps it ahead.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from respcalc.core.card import mixture_model
from respcalc.core.errors import DomainError, ModelError
from respcalc.models.constants import GAS_CONSTANT
from respcalc.models.iast import Curves, read_mixture, solve_potential

__all__ = [
    "Fronts",
    "doong_yang_capacity",
    "equilibrium_fronts",
    "guidance_time",
    "mole_fraction_capacity",
    "proportionate_capacity",
    "sum_rule_time",
]

_SIMILAR, _APART = 10.0, 100.0  # one and two orders of magnitude


# --- rules on times


@mixture_model(
    returns="breakthrough_time",
    equation="t = min over i of t_i(sum of c)",
    source="mixture_bound_study",
    locator="each vapour as if all were of its kind",
    assumptions=("no kinetics of exchange between vapours",),
)
def sum_rule_time(times_at_sum: Any) -> Any:
    """Breakthrough time of a mixture: the least that any component has alone at the summed concentration.

    Parameters
    ----------
    times_at_sum
        Time of each component alone at the summed volume fraction of all, last axis; any unit.

    Returns
    -------
    float or numpy.ndarray
        In the unit given.

    Raises
    ------
    DomainError
        A time that is negative or not finite.

    Notes
    -----
    Equation: t = min over i of t_i(sum of c). Source: ``mixture_bound_study``. The guidance takes the component
    that is fastest *alone at its own concentration*; the least over all is never longer, and is the reading that
    stays below two-front theory. Assumes that no component of the mixture is left out of the list.

    Examples
    --------
    >>> float(sum_rule_time([61.0, 25.8]))
    25.8
    """
    return np.min(_times("times_at_sum", times_at_sum), axis=-1)


@mixture_model(
    returns="breakthrough_time",
    equation="t_k(sum of c), k the fastest, if the next is within 10 times; t_k alone beyond 100; between, the shorter",
    source="cpl_2_0_120",
    locator="wording from memory",
    assumptions=("as worded it can be too long: the sum rule is the safe form",),
)
def guidance_time(times_alone: Any, times_at_sum: Any) -> Any:
    """Breakthrough time of a mixture as enforcement guidance words it.

    Parameters
    ----------
    times_alone
        Time of each component alone at its own concentration, last axis; any unit.
    times_at_sum
        The same at the summed volume fraction of all.

    Returns
    -------
    float or numpy.ndarray
        In the unit given.

    Raises
    ------
    DomainError
        A time that is negative or not finite, or two lists of different length.

    Notes
    -----
    Rule: next-fastest time within 10 times the fastest: the fastest component at the sum; 100 times or more:
    the fastest alone; between, where the guidance says nothing: the shorter of the two. Source:
    ``cpl_2_0_120`` (from memory). With more than two components the next-fastest decides, so that one
    comparable vapour is enough for the sum; the sum is that of all. It can be longer than equilibrium theory
    allows: `sum_rule_time` is the safe form.

    Examples
    --------
    >>> float(guidance_time([466.7, 91.5], [250.0, 46.0]))
    46.0
    >>> float(guidance_time([20000.0, 91.5], [10000.0, 46.0]))
    91.5
    """
    alone, at_sum = _times("times_alone", times_alone), _times("times_at_sum", times_at_sum)
    if alone.shape[-1] != at_sum.shape[-1]:
        raise DomainError(f"times_alone has {alone.shape[-1]} components and times_at_sum {at_sum.shape[-1]}")
    alone, at_sum = np.broadcast_arrays(alone, at_sum)
    order = np.argsort(alone, axis=-1, kind="stable")
    ranked = np.take_along_axis(alone, order, axis=-1)
    fastest = ranked[..., 0]
    together = np.take_along_axis(at_sum, order[..., :1], axis=-1)[..., 0]
    if alone.shape[-1] == 1:
        return fastest
    # where several tie for the fastest, the one that the sum hurts most: order must not decide
    together = np.min(np.where(alone == fastest[..., np.newaxis], at_sum, together[..., np.newaxis]), axis=-1)
    next_fastest = ranked[..., 1]
    between = np.where(next_fastest > _SIMILAR * fastest, np.minimum(together, fastest), together)
    return np.where(next_fastest >= _APART * fastest, fastest, between)[()]


# --- rules on capacities


@mixture_model(
    returns="capacity",
    equation="n_i = y_i n_i(alone)",
    source="jonas_sansone_farris_1983",
    locator="from memory; at which concentration is not known",
    assumptions=("capacity alone at the concentration given",),
)
def mole_fraction_capacity(partial_pressure: Any, single_capacity: Any) -> Any:
    """Capacity for each vapour as its share of the vapours times what it would have alone.

    Parameters
    ----------
    partial_pressure
        Of each component, last axis [Pa]; only the shares matter.
    single_capacity
        Loading of each component alone, in any unit; at which concentration, see the notes.

    Returns
    -------
    numpy.ndarray
        In the unit given.

    Raises
    ------
    DomainError
        A value that is negative or not finite, or a mixture of nothing.

    Notes
    -----
    Equation: n_i = y_i n_i(alone). Source: ``jonas_sansone_farris_1983`` (from memory). Whether the
    single-vapour capacity is meant at the component's own concentration or at the sum is not known here. At
    its **own** it is the literal reading, and far too short: the time is y_i times that alone. At the **sum**
    the time n_i/c_i equals that of the component alone at the summed concentration, so the rule *is* the
    sum rule; this library reads it so.

    Examples
    --------
    >>> [round(float(n), 3) for n in mole_fraction_capacity([30.0, 10.0], [2.8, 0.8])]
    [2.1, 0.2]
    """
    p, capacity = _amounts("partial_pressure", partial_pressure), _amounts("single_capacity", single_capacity)
    total = p.sum(axis=-1, keepdims=True)
    if not np.all(total > 0.0):
        raise DomainError("partial_pressure is 0 for every component of a mixture; one at least must be present")
    return p / total * capacity


@mixture_model(
    returns="capacity",
    equation="n_i = n_i(alone)^2 / sum of n_j(alone)",
    source="wood_2002",
    locator="a reconstruction, not read",
    assumptions=("changes when one vapour is split in two",),
)
def proportionate_capacity(single_capacity: Any) -> Any:
    """Capacity for each vapour, its own reduced by its share of the single-vapour loadings (molar-proportionate).

    Parameters
    ----------
    single_capacity
        Loading of each component alone at its own concentration, last axis, in moles.

    Returns
    -------
    numpy.ndarray
        In the unit given.

    Raises
    ------
    DomainError
        A value that is negative or not finite.

    Notes
    -----
    Equation: n_i = n_i(alone)^2 / sum of n_j(alone). Source: ``wood_2002``; **the formula is a reconstruction**, not
    read. The rival reading, sum of n_i/n_i(alone) = 1 with equal shares, would give a trace the capacity of an equal
    partner. Two halves of one vapour do not add up to it: describe each vapour once.

    Examples
    --------
    >>> [round(float(n), 3) for n in proportionate_capacity([2.761, 0.746])]
    [2.174, 0.159]
    """
    capacity = _amounts("single_capacity", single_capacity)
    total = capacity.sum(axis=-1, keepdims=True)
    return capacity * (capacity / np.where(total > 0.0, total, 1.0))


@mixture_model(
    returns="capacity",
    equation="V_i = W0 r_i/(1 + sum of r_j), r = theta/(1 - theta)",
    source="doong_yang_1988",
    locator="from memory; closed form for any number derived here",
    assumptions=("volumes exclude each other",),
)
def doong_yang_capacity(single_filling: Any, micropore_volume: Any = 1.0) -> Any:
    """Pore volume that each vapour fills where each is kept out of what the others fill.

    Parameters
    ----------
    single_filling
        Share of the micropores that each component fills alone, last axis: its Dubinin loading over that at
        saturation, 0 to 1.
    micropore_volume
        Of the carbon, any unit; broadcasts with mixtures.

    Returns
    -------
    numpy.ndarray
        Liquid volume of each component, in the unit of *micropore_volume*.

    Raises
    ------
    DomainError
        A share outside 0 to 1.

    Notes
    -----
    Equation: V_i = (W0 - sum over j other than i of V_j) theta_i, which has the closed form
    V_i = W0 r_i/(1 + sum of r_j) with r = theta/(1 - theta). Source: ``doong_yang_1988`` (from memory). Two
    halves of one vapour do not add up to it: describe each vapour once.

    Examples
    --------
    >>> [round(float(v), 3) for v in doong_yang_capacity([0.65, 0.12], 0.454)]
    [0.282, 0.021]
    """
    theta = _amounts("single_filling", single_filling)
    if np.any(theta > 1.0):
        raise DomainError(f"single_filling = {theta.max():g} is not possible; it must be from 0 up to 1")
    ratio = theta / np.maximum(1.0 - theta, np.finfo(float).tiny ** 0.5)
    volume = np.asarray(micropore_volume, dtype=float)[..., np.newaxis]
    return volume * ratio / (1.0 + ratio.sum(axis=-1, keepdims=True))


# --- two fronts, three fronts, ...


@dataclass(frozen=True, slots=True)
class Fronts:
    """What leaves a bed when, if only equilibrium counts; components along the last axis.

    Volumes are of air per mass of carbon: a bed of mass W in a flow Q lasts ``air_volume * W / Q``.
    """

    air_volume: Any
    """Air that a kilogram of carbon has passed when the component comes through [m3/kg]; infinite where absent."""
    plateau_pressure: Any
    """Partial pressure of the component on its highest plateau [Pa]: above that of the feed where it rolls up."""
    sharp: Any
    """Whether the answer is a sequence of sharp fronts, for each mixture; see `equilibrium_fronts`."""

    @property
    def first(self) -> Any:
        """Air until the first component comes through [m3/kg]."""
        return np.min(self.air_volume, axis=-1)


@mixture_model(
    returns="stoichiometric_time",
    equation="v = n_h/c_h of the slowest front; the others keep n_i - v c_i across it; again from the plateau ahead",
    source="mixture_bound_study",
    locator="derived there for two vapours, here for any number",
    assumptions=("equilibrium, plug flow, one temperature, a clean bed", "ideal adsorbed solution"),
)
def equilibrium_fronts(
    partial_pressure: Any,
    saturation_pressure: Any,
    molar_capacity: Any,
    thermal_ratio: Any,
    temperature: Any,
    exponent: Any = 2.0,
) -> Fronts:
    """When each vapour of a mixture leaves the bed, and how concentrated, by equilibrium theory.

    Parameters
    ----------
    partial_pressure
        [Pa], last axis the components; 0 where a component is absent.
    saturation_pressure
        [Pa].
    molar_capacity
        Moles n0 that fill the micropores of a kilogram of carbon: W0 dL/M [mol/kg].
    thermal_ratio
        kappa = R T/(beta E0).
    temperature
        [K]; of each mixture, without an axis of components.
    exponent
        Of Dubinin-Astakhov; 2 is Dubinin-Radushkevich.

    Returns
    -------
    Fronts
        Air volumes, plateau pressures, and whether the fronts are sharp.

    Raises
    ------
    DomainError
        A value that is not possible, or shapes that do not fit.
    ModelError
        No plateau was found (naming the first mixture).

    Notes
    -----
    Equations: the slowest front carries off the component of the least p*(psi), at n_h/c_h; across it every other
    component keeps n_i - (n_h/c_h) c_i, which fixes the plateau ahead (loadings by ideal adsorbed
    solution theory on both sides); the same again from that plateau, until the last component leaves at n/c.
    Source: ``mixture_bound_study``, derived there for two components and here for any number: with D_i for
    the conserved difference and v = n_h/c_h, the shares ahead are x_i = D_i/(v c_i* - n_T), two unknowns
    whatever the number of components.

    Where several plateaus satisfy the balance, the one of the least concentration counts: it is the first that
    the front's own profile meets, and the safe one. Several exist only where a trace lies on the convex
    foot of an isotherm, which for want of a Henry limit lets it run ahead almost unheld.

    *sharp* is false where the last vapour's own isotherm is convex at its plateau, or where which of two is
    held better changes across a front: the front then has a foot that runs ahead, and the time is that of
    its body, too long for the first trace.

    Assumes equilibrium, plug flow, one temperature, a clean bed and constant air flow. Kinetics and a
    non-ideal adsorbed phase come on top.

    Examples
    --------
    >>> fronts = equilibrium_fronts([10.1325, 10.1325], [3790.0, 30800.0], [4.2475, 6.1330], [0.1108, 0.1811], 298.15)
    >>> [f"{v:.0f} m3/kg" for v in fronts.air_volume]
    ['672 m3/kg', '160 m3/kg']
    >>> f"acetone leaves at up to {fronts.plateau_pressure[1] / 10.1325:.2f} times its inlet concentration"
    'acetone leaves at up to 1.30 times its inlet concentration'
    """
    p, parts, psat = read_mixture(partial_pressure, saturation_pressure, molar_capacity, thermal_ratio, exponent)
    kelvin = np.asarray(temperature, dtype=float)
    if not (np.all(np.isfinite(kelvin)) and np.all(kelvin > 0.0)):
        raise DomainError(f"temperature = {temperature} is not possible; it must be a finite number of K above 0")
    if not np.all((p > 0.0).any(axis=-1)):
        raise DomainError("partial_pressure is 0 for every component of a mixture; one at least must be present")
    n0, kappa, power = (None if v is None else v.reshape(-1, p.shape[-1]).T for v in parts)
    columns = p.reshape(-1, p.shape[-1]).T
    with np.errstate(all="ignore"):  # what is not finite is an error two lines on
        bed = _Bed(columns, psat.reshape(-1, p.shape[-1]).T, Curves(n0, kappa, power))
        ratio, highest, sharp = bed.fronts()
    wrong = np.isnan(ratio).any(axis=0)
    if wrong.any():
        bad = int(np.nonzero(wrong)[0][0])
        raise ModelError(f"equilibrium_fronts found no plateau for mixture {bad}, {columns[:, bad]} Pa")
    volume = ratio.T.reshape(p.shape) * (GAS_CONSTANT * kelvin)[..., np.newaxis]
    return Fronts(volume, highest.T.reshape(p.shape), sharp.reshape(p.shape[:-1])[()])


class _Bed:
    """The fronts of many mixtures at once; components on the first axis, loadings over pressures in mol/(kg Pa)."""

    TRIED = 48  # potentials between which the first plateau is looked for
    STEPS = np.linspace(0.0, 1.0, TRIED)[:, np.newaxis]
    HALVINGS = 52
    FEW, PASSES = 32, 9  # for so few mixtures all are tried at once, which narrows 47 times a pass
    TIE = 1e-10  # relative difference of what counts as held alike

    def __init__(self, p: Any, psat: Any, curves: Curves) -> None:
        self.p, self.psat, self.curves = p, psat, curves
        self.log_psat = np.log(psat)

    def fronts(self) -> tuple[Any, Any, Any]:
        count, size = self.p.shape
        left = self.p > 0.0
        p, columns = np.array(self.p), np.arange(size)
        ratio, highest = np.full(p.shape, np.inf), np.array(self.p)
        sharp, previous = np.ones(size, dtype=bool), np.full(size, np.inf)
        potential, y = self._state(p)
        for _ in range(count):
            log_alone = self._log_alone(y)
            share = p * np.exp(-log_alone)
            share = share / share.sum(axis=0)
            total = 1.0 / np.where(left, share / self.curves.loading(y), 0.0).sum(axis=0)
            heavy = np.argmin(np.where(left, log_alone, np.inf), axis=0)
            behind = log_alone - log_alone[heavy, columns]
            together = left & (behind <= self.TIE)  # held alike: they leave as one
            speed = total * np.exp(-log_alone[heavy, columns])
            ratio = np.where(together, speed, ratio)
            going = left.any(axis=0)
            wide = going & (speed < previous * (1.0 - self.TIE))  # a zone without width is not seen at the exit
            highest = np.where(left & wide, np.maximum(highest, p), highest)
            previous = np.where(going, speed, previous)
            left &= ~together
            last = going & ~left.any(axis=0)
            sharp &= ~last | (self.curves.slope(y)[heavy, columns] <= 1.0)
            going &= ~last
            if not going.any():
                break
            kept = share * np.expm1(behind)  # what every remaining component keeps across the front, over n_T
            some = np.nonzero(going)[0]
            ahead = _Bed(self.p[:, some], self.psat[:, some], self.curves.rows(some))
            found = ahead._plateau(left[:, some], (kept * total)[:, some], speed[some], p[:, some], potential[some])
            potential[some], p[:, some] = found
            p[~left] = 0.0
            y = self.curves.height(potential)
            held = self._total(p, y)
            sharp[some] &= (held / np.exp(self._log_alone(y)[heavy, columns]) >= speed * (1.0 - 1e-9))[some]
        return ratio, highest, sharp

    def _log_alone(self, y: Any) -> Any:
        """Return ln of the pressure at which each component alone has the mixture's grand potential."""
        return self.log_psat - y / self.curves.kappa

    def _state(self, p: Any) -> tuple[Any, Any]:
        return solve_potential(p, self.psat, self.curves)

    def _total(self, p: Any, y: Any) -> Any:
        share = p * np.exp(-self._log_alone(y))
        return share.sum(axis=0) / (share / self.curves.loading(y)).sum(axis=0)

    def _plateau(self, left: Any, kept: Any, speed: Any, behind: Any, potential: Any) -> tuple[Any, Any]:
        """Grand potential and pressures ahead of a front: the first root above the mixture without its heavy vapour."""

        def surplus(tried: Any) -> Any:
            return self._ahead(left, kept, speed, tried)[0]

        low, _ = self._state(np.where(left, behind, 0.0))
        high = np.maximum(potential, low)
        for _ in range(60):  # below the first root the surplus is negative, far above it positive
            if not np.any(too_high := surplus(low) > 0.0):
                break
            low = np.where(too_high, low / 2.0, low)
        for _ in range(60):
            if not np.any(too_low := surplus(high) <= 0.0):
                break
            high = np.where(too_low, 1.5 * high, high)
        many = self._many(left, kept, speed) if low.size <= self.FEW else None
        low, high = self._first_above(low * (high / low) ** self.STEPS, surplus, many)
        if many is not None:
            for _ in range(self.PASSES):
                low, high = self._first_above(low + (high - low) * self.STEPS, surplus, many)
        else:
            for _ in range(self.HALVINGS):
                middle = 0.5 * (low + high)
                above = surplus(middle) > 0.0
                low, high = np.where(above, low, middle), np.where(above, middle, high)
        _, share, log_alone = self._ahead(left, kept, speed, high)
        return high, np.where(left, share * np.exp(log_alone), 0.0)

    def _many(self, left: Any, kept: Any, speed: Any) -> Callable[[Any], Any]:
        """The surplus at all of `STEPS` at once: for few mixtures that costs no more than at one."""
        rows = np.tile(np.arange(speed.size), self.TRIED)
        wide = _Bed(self.p[:, rows], self.psat[:, rows], self.curves.rows(rows))
        where = left[:, rows], kept[:, rows], speed[rows]
        return lambda tried: wide._ahead(*where, tried.ravel())[0].reshape(tried.shape)

    def _first_above(self, tried: Any, surplus: Any, many: Any) -> tuple[Any, Any]:
        """The two neighbours among *tried* (down) between which the surplus first becomes positive."""
        found = np.array([surplus(one) for one in tried]) if many is None else many(tried)
        positive = found > 0.0
        positive[-1] = True
        first = np.maximum(np.argmax(positive, axis=0), 1)
        columns = np.arange(tried.shape[1])
        return tried[first - 1, columns], tried[first, columns]

    def _ahead(self, left: Any, kept: Any, speed: Any, potential: Any) -> tuple[Any, Any, Any]:
        """At a grand potential: n_T sum(x/n) - 1, and the shares that the balance of the front asks for.

        x_i = D_i/(v p_i* - n_T) with a sum of 1 fixes n_T below the least v p_i*; the gap to it is the unknown, so
        that components held alike lose no digits.
        """
        y = self.curves.height(potential)
        log_alone = self._log_alone(y)
        carried = np.where(left, speed * np.exp(log_alone), np.inf)
        least = carried.min(axis=0)
        excess = carried - least
        kept = np.where(left, kept, 0.0)
        gap = np.where(left, kept - excess, -np.inf).max(axis=0)
        for _ in range(60):
            part = kept / (gap + excess)
            total = part.sum(axis=0)
            step = (total - 1.0) * total / (part / (gap + excess)).sum(axis=0)
            gap = gap + step
            if np.all(np.abs(step) <= 1e-14 * gap):
                break
        share = kept / (gap + excess)
        held = least - gap
        return held * (share / self.curves.loading(y)).sum(axis=0) - 1.0, share, log_alone


# --- reading


def _times(name: str, values: Any) -> Any:
    array = np.asarray(values, dtype=float)
    if not (array.ndim and array.shape[-1] and np.all(np.isfinite(array)) and np.all(array >= 0.0)):
        raise DomainError(
            f"{name} must be finite times from 0, one for each component along the last axis; got {values}"
        )
    return array


def _amounts(name: str, values: Any) -> Any:
    array = np.asarray(values, dtype=float)
    if not (array.ndim and array.shape[-1] and np.all(np.isfinite(array)) and np.all(array >= 0.0)):
        raise DomainError(f"{name} must be finite and from 0, one for each component along the last axis; got {values}")
    return array
