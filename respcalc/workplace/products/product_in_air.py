"""A total concentration in the air divided among the vapours of a product, each at the highest that is credible."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.core.basis import Datum, Kind
from respcalc.core.errors import DomainError
from respcalc.core.sources import source
from respcalc.core.units import Concentration
from respcalc.core.vocabulary import check, read, read_amount, single, term
from respcalc.vapours import Vapour
from respcalc.workplace.air import Air
from respcalc.workplace.gas import volume_fraction_from_mass
from respcalc.workplace.products.evaporation import highest_share, shares_at, time_until_left, times_along
from respcalc.workplace.stated import no_basis

if TYPE_CHECKING:
    from respcalc.workplace.products.product import Product

__all__ = ["IDEAL", "ProductInAir", "VapourInAir", "divide_total"]

_SLACK = 1 + 1e-9
_DIRECT_READING = re.compile(r"\b[pf]id\b|photoioni|flame ioni|isobut(?:yl)?ene|direct.reading", re.I)

IDEAL = (
    "vapour above the liquid by Raoult's law of ideal mixtures: activity coefficients are neglected, and in mixtures "
    "that are not ideal (alcohols in hydrocarbons, say) the dilute polar part can give several times more vapour"
)


@dataclass(frozen=True)
class VapourInAir:
    """One vapour of a product in the air: with the fresh liquid, and at the highest that is credible.

    Both are volume fractions.
    """

    vapour: Vapour
    fresh: float
    highest: float


@dataclass(frozen=True)
class ProductInAir:
    """The vapours of a product at a known total in the air; from `Product.in_air`.

    ``components`` and ``total`` are what an estimate takes: each vapour at the highest credible
    concentration, judged at the total.
    """

    product: Product
    total: Datum
    air: Air
    parts: tuple[VapourInAir, ...]
    based_on: str
    notes: tuple[str, ...]

    @property
    def components(self) -> tuple[tuple[Vapour, Concentration], ...]:
        """Pairs of vapour and highest credible concentration."""
        return tuple((p.vapour, Concentration(p.highest, "volume")) for p in self.parts)

    def highest_index(self, limits: Sequence[Any]) -> float:
        """Largest credible sum of concentration over limit.

        Parameters
        ----------
        limits
            Exposure limits [ppm], one a vapour, in the order of ``parts``.

        Returns
        -------
        float
            The lower of two bounds: the sum over the highest concentrations, and the total over the
            least limit, which no division of the total exceeds.

        Raises
        ------
        UnitsError, DomainError
            Bad units; not one limit a vapour.
        """
        if len(limits) != len(self.parts):
            raise DomainError(
                f"limits: {len(limits)} entries for {len(self.parts)} vapours; one is needed for each, in the order "
                f"{', '.join(p.vapour.name for p in self.parts)}"
            )
        values = [
            single(f"limits[{i}]", read("exposure_limit", limit, as_argument=f"limits[{i}]"))
            for i, limit in enumerate(limits)
        ]
        by_parts = math.fsum(p.highest / limit for p, limit in zip(self.parts, values, strict=True))
        return min(by_parts, self.total.value / min(values))

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text with the unit beside each number, ready for JSON."""
        printed = term("volume_fraction").in_printed_unit
        return {
            "product": self.product.as_dict(),
            "total": self.total.as_dict(),
            "based_on": self.based_on,
            "air": self.air.as_dict(),
            "components": [
                {
                    "vapour": p.vapour.name,
                    "cas": p.vapour.cas,
                    "fresh": {"value": float(printed(p.fresh)), "unit": "ppm"},
                    "highest": {"value": float(printed(p.highest)), "unit": "ppm"},
                }
                for p in self.parts
            ],
            "notes": list(self.notes),
        }

    def __str__(self) -> str:
        show = term("volume_fraction").show
        lines = [f"{self.product.name} in air, {self.total.printed} in all ({self.based_on})"]
        lines += [f"  {p.vapour.name}: {show(p.fresh)} fresh, {show(p.highest)} at most" for p in self.parts]
        return "\n".join([*lines, *(f"- {note}" for note in self.notes)])


@dataclass(frozen=True)
class _Split:
    """A total divided among the vapours of a product, over all states of the liquid."""

    product: Product
    amount: Concentration
    air: Air
    pressures: Any
    left: float

    @cached_property
    def given(self) -> float:
        word = "volume_fraction" if self.amount.basis == "volume" else "mass_concentration"
        return float(check(word, single("total", self.amount.value), as_argument="total"))

    @cached_property
    def molar_masses(self) -> Any:
        return np.array([v.molar_mass.value for v in self.product.vapours])

    def _weights(self, unknown_as: int | None) -> Any:
        """Shares go by mole where the total is a volume fraction, and by mass where it is a mass."""
        moles = self.product.moles(unknown_as=unknown_as) * self.pressures
        return moles if self.amount.basis == "volume" else moles * self.molar_masses

    def _until(self, unknown_as: int) -> float:
        return time_until_left(self.left, self.product.moles(unknown_as=unknown_as) * self.molar_masses, self.pressures)

    def _ppm(self, share: float, molar_mass: float) -> float:
        """Volume fraction of a vapour that has this share of the total."""
        if self.amount.basis == "volume":
            return share * self.given
        return float(
            volume_fraction_from_mass.si(
                mass_concentration=share * self.given, molar_mass=molar_mass,
                temperature=self.air.temperature.value, pressure=self.air.pressure.value,
            )
        )  # fmt: skip

    def _sum(self, t: float, unknown_as: int) -> float:
        shares = shares_at(t, self._weights(unknown_as), self.pressures)
        return math.fsum(self._ppm(float(s), float(m)) for s, m in zip(shares, self.molar_masses, strict=True))

    def total(self) -> float:
        """The total as a volume fraction, the highest of all states of the liquid."""
        if self.amount.basis == "volume":
            return self.given
        inverse = 1.0 / self.molar_masses
        most = max(
            float(shares_at(t, self._weights(k), self.pressures) @ inverse)
            for k in self.product.unknown_may_be
            for t in times_along(self.pressures, until=self._until(k))
        )
        highest = [part.highest for part in self.parts()]
        return max(self._ppm(1.0, 1.0 / most), *highest)

    def parts(self) -> tuple[VapourInAir, ...]:
        fresh = shares_at(0.0, self._weights(None), self.pressures)
        made = []
        for i, vapour in enumerate(self.product.vapours):
            mass = float(self.molar_masses[i])
            most = highest_share(i, self._weights(i), self.pressures, until=self._until(i))
            saturated = vapour.saturation_pressure(self.air.temperature.value).value / self.air.pressure.value
            made.append(
                VapourInAir(
                    vapour,
                    min(self._ppm(float(fresh[i]), mass), saturated),
                    min(self._ppm(most, mass), saturated),
                )
            )
        return tuple(made)

    def fit(self) -> None:
        """Refuse a total that the liquid cannot give, whatever its unknown remainder is."""
        held, there = 0.0, math.inf
        for k in self.product.unknown_may_be:
            moles = self.product.moles(unknown_as=k)
            held = max(held, float(moles @ self.pressures / moles.sum()) / self.air.pressure.value)
            there = min(there, self._sum(0.0, k))
        if there > held * _SLACK:
            word = term("volume_fraction")
            raise DomainError(
                f"total = {word.show(there)} is more than this liquid can give off (saturated: "
                f"{word.in_printed_unit(held):.4g} ppm); check the value and its unit, and whether there is mist, "
                "which a vapour cartridge does not stop"
            )


def divide_total(
    product: Product, total: Any, *, air: Air, based_on: str, liquid_kelvin: float | None, least_left: float
) -> ProductInAir:
    """Divide a total; see `Product.in_air`, which reads the other arguments."""
    how = _read_based_on(based_on)
    amount = read_amount("total", total)
    if not isinstance(air, Air):
        raise TypeError(f"air = {air!r}: an Air is needed; make one with describe_air(...)")
    kelvin = air.temperature.value if liquid_kelvin is None else liquid_kelvin
    split = _Split(product, amount, air, product.pressures(kelvin), least_left)
    split.fit()
    until = f"until {term('liquid_share').show(least_left)} of its mass is left" if least_left else "to the last drop"
    same = ", taken to be that of the air" if liquid_kelvin is None else ""
    notes = [
        IDEAL,
        f"liquid at {term('temperature').show(kelvin)}{same}",
        f"each vapour at the largest share of the vapour that it reaches while the liquid evaporates {until}; these do "
        "not occur together, so their sum may exceed the total",
    ]
    if amount.basis == "mass":
        printed = term("mass_concentration").show(split.given)
        notes.append(
            f"total given as {printed}; as a volume fraction it depends on the state of the liquid, and the highest "
            "counts"
        )
    polar = [v.name for v in product.vapours if v.mixes_with_water]
    if polar and len(polar) < len(product.vapours):
        notes.append(
            f"{', '.join(polar)}: mixes with water and stands among parts that do not, so its true share can be "
            "several times the one given; a measurement of it by name is better"
        )
    if _DIRECT_READING.search(how):
        notes.append(
            "a direct-reading instrument shows the concentration of its calibration gas: the total must have been "
            "corrected for the response to these vapours"
        )
    kind: Kind = "given" if amount.basis == "volume" else "computed"
    whole = Datum("volume_fraction", split.total(), kind, label="total concentration")
    return ProductInAir(product, whole, air, split.parts(), how, (*product.notes, *notes))


def _read_based_on(based_on: Any) -> str:
    text = based_on.strip() if isinstance(based_on, str) else ""
    if not text:
        raise DomainError(
            f"based_on = {based_on!r}: say how the total was measured or estimated, for example "
            'based_on="4 personal samples, March 2026; highest taken"'
        )
    if why := no_basis(text):
        raise DomainError(
            f"based_on = {based_on!r} is {why}; shares of a liquid are no air levels, and nothing here makes one of "
            f"the other. {source('osha_1910_134').citation.partition(',')[0]} (d)(1)(iii) asks for a reasonable "
            "estimate of the exposure, and without one the air counts as immediately dangerous. Measure the vapours in "
            "the air, or say how the total was estimated"
        )
    return text
