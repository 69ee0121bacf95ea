"""A liquid product by its composition: which vapours it gives, and their shares above the liquid.

The composition of a liquid never gives a concentration in the air. What it gives is how a total that
was measured, or reasonably estimated, divides among the vapours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty
from respcalc.core.vocabulary import read, single, term
from respcalc.vapours import Vapour
from respcalc.workplace.air import Air
from respcalc.workplace.permission.low_boilers import low_boiling
from respcalc.workplace.products.evaporation import shares_at
from respcalc.workplace.products.product_in_air import IDEAL, ProductInAir, divide_total

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Ingredient", "Product", "ShareBasis", "read_basis"]

ShareBasis = Literal["mass", "volume", "mole"]

_LIQUID_DENSITY_AT = 293.15  # volumes of liquids are stated at 20 degC
_HARDLY_HELD = 10e-6  # molar polarization [m3/mol] below which carbon hardly holds a vapour: methanol, of those listed

_NOT_AN_EXPOSURE = "shares of the vapour above the liquid; not an exposure: no concentration in the air follows from it"


@dataclass(frozen=True)
class Ingredient:
    """One vapour of a product, with its share of the liquid on the product's basis."""

    vapour: Vapour
    share: Datum


@dataclass(frozen=True)
class Product:
    """A liquid product. Make one with `describe_product`.

    Vapours are in the order of their names, whatever the order they were given in.
    """

    name: str
    basis: ShareBasis
    ingredients: tuple[Ingredient, ...]
    data_from: str
    not_volatile: float = 0.0
    unknown: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def vapours(self) -> tuple[Vapour, ...]:
        return tuple(i.vapour for i in self.ingredients)

    @property
    def lightest(self) -> Vapour:
        """The vapour with the lowest boiling point."""
        return min(self.vapours, key=lambda v: (v.boiling_point.value, v.name))

    @property
    def unknown_may_be(self) -> tuple[int, ...]:
        """Numbers of the vapours that an unknown remainder counts as in turn; the lightest alone without one."""
        return tuple(range(len(self.ingredients))) if self.unknown else (self.vapours.index(self.lightest),)

    def moles(self, *, unknown_as: int | None = None) -> Any:
        """Relative moles of each vapour in the liquid.

        Parameters
        ----------
        unknown_as
            Number of the vapour that an unknown remainder counts as; the lightest by default.

        Raises
        ------
        MissingProperty
            By volume, a liquid density is not listed.
        """
        shares = np.array([i.share.value for i in self.ingredients])
        shares[self.vapours.index(self.lightest) if unknown_as is None else unknown_as] += self.unknown
        return shares * self._per_share

    def pressures(self, kelvin: float) -> Any:
        """Vapour pressures [Pa] of the pure vapours at one temperature [K]."""
        return np.array([v.saturation_pressure(kelvin).value for v in self.vapours])

    @cached_property
    def _per_share(self) -> Any:
        return np.array([_moles(self.basis, v) for v in self.vapours])

    def shares(self, basis: ShareBasis) -> dict[str, float]:
        """Shares of the vapour-giving part of the liquid, by ``"mass"``, ``"volume"`` or ``"mole"``.

        They sum to 1: what gives no vapour is left out, and an unknown remainder counts as the
        lowest-boiling vapour.

        Raises
        ------
        DomainError
            No such basis.
        MissingProperty
            By volume, a liquid density is not listed.
        """
        read_basis(basis)
        parts = self.moles() / np.array([_moles(basis, v) for v in self.vapours])
        return self._by_name(parts / math.fsum(parts))

    def liquid_mole_shares(self) -> dict[str, float]:
        """Mole shares in the vapour-giving part of the liquid; see `shares`."""
        return self.shares("mole")

    def vapour_shares(self, temperature: Any) -> dict[str, float]:
        """Mole shares of the vapour above the fresh liquid; not an exposure.

        Parameters
        ----------
        temperature
            Of the liquid [degC].

        Returns
        -------
        dict
            Vapour name and share; the shares sum to 1. Raoult's law; an unknown remainder counts as the
            lowest-boiling vapour.

        Raises
        ------
        UnitsError, DomainError
            Bad temperature.
        MissingProperty
            A vapour pressure is not known.
        """
        return self._by_name(self._fresh(self.pressures(_kelvin(temperature))))

    def ranking(self, temperature: Any) -> pd.DataFrame:
        """Rank the vapours by their share above the fresh liquid; not an exposure.

        Parameters
        ----------
        temperature
            Of the liquid [degC].

        Returns
        -------
        pandas.DataFrame
            One row a vapour, the largest share first; ``attrs`` says what it is not.
        """
        import pandas as pd

        kelvin = _kelvin(temperature)
        pressures = self.pressures(kelvin)
        share = self._fresh(pressures)
        order = sorted(range(len(share)), key=lambda i: (-share[i], i))
        liquid = [*self.liquid_mole_shares().values()]
        vapours = [self.vapours[i] for i in order]
        table = pd.DataFrame(
            {
                "vapour": [v.name for v in vapours],
                "cas": [v.cas for v in vapours],
                "share of liquid, by mole [%]": [100 * liquid[i] for i in order],
                "share of vapour, not an exposure [%]": [100 * share[i] for i in order],
                "saturation_pressure [kPa]": term("saturation_pressure").in_printed_unit(pressures[order]),
                "boiling_point [degC]": [v.boiling_point.value - 273.15 for v in vapours],
                "flags": ["; ".join(_flags(v)) for v in vapours],
            }
        )
        table.attrs = {
            "title": f"{self.name} at {term('temperature').show(kelvin)}: {_NOT_AN_EXPOSURE}",
            "notes": (*self.notes, IDEAL),
            "data_from": self.data_from,
        }
        return table

    def in_air(
        self, total: Any, *, air: Air, based_on: str, liquid_temperature: Any = None, least_left: Any = None
    ) -> ProductInAir:
        """Divide a total in the air among the vapours, each at the highest that is credible.

        A liquid that evaporates loses its light parts first, so each part has a moment at which its
        share of the vapour is largest, and that moment counts for it. The highest values do not occur
        together: their sum may exceed the total, and the total is what sum rules are to be fed.

        Parameters
        ----------
        total
            All vapours of the product together, the highest that occurs [ppm, or mg/m3]. By mass, the
            highest volume fraction that any state of the liquid makes of it counts.
        air
            From `respcalc.workplace.describe_air`.
        based_on
            How the total was measured or estimated, as it is to be printed. A data sheet gives none.
        liquid_temperature
            Of the evaporating liquid [degC]; the air's by default.
        least_left
            Share of the vapour-giving liquid, by mass, that is never evaporated [%], such as in a bath
            that is topped up. By default it may dry up, which leaves the heaviest vapour alone.

        Returns
        -------
        ProductInAir

        Raises
        ------
        UnitsError, DomainError
            Bad unit or value; no basis, or a data sheet as the only one; more than the air can hold.
        MissingProperty
            A vapour pressure is not known.

        Notes
        -----
        Source: ``raoult_law``, ``rayleigh_1902``. The parts are taken to pass into the air equally fast,
        and the liquid to be well mixed.
        """
        kelvin = None if liquid_temperature is None else _kelvin(liquid_temperature, "liquid_temperature")
        left = 0.0
        if least_left is not None:
            left = single("least_left", read("liquid_share", least_left, as_argument="least_left"))
        return divide_total(self, total, air=air, based_on=based_on, liquid_kelvin=kelvin, least_left=left)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text with the unit beside each number, ready for JSON."""
        liquid = self.liquid_mole_shares()
        return {
            "product": self.name,
            "basis": self.basis,
            "data_from": self.data_from,
            "components": [
                {
                    "vapour": i.vapour.name,
                    "cas": i.vapour.cas,
                    "share": i.share.as_dict(),
                    "liquid_mole_share": {"value": 100 * liquid[i.vapour.name], "unit": "%"},
                }
                for i in self.ingredients
            ],
            "not_volatile": {"value": 100 * self.not_volatile, "unit": "%"},
            "unknown": {"value": 100 * self.unknown, "unit": "%"},
            "notes": list(self.notes),
        }

    def __str__(self) -> str:
        lines = [f"{self.name}, by {self.basis} ({self.data_from})"]
        lines += [f"  {i.vapour.name}: {i.share.printed}" for i in self.ingredients]
        for word, share in (("not volatile", self.not_volatile), ("unknown", self.unknown)):
            lines += [f"  {word}: {term('liquid_share').show(share)}"] if share else []
        return "\n".join([*lines, *(f"- {note}" for note in self.notes)])

    def _by_name(self, values: Any) -> dict[str, float]:
        return {v.name: float(value) for v, value in zip(self.vapours, values, strict=True)}

    def _fresh(self, pressures: Any) -> Any:
        return shares_at(0.0, self.moles() * pressures, pressures)


def _kelvin(temperature: Any, name: str = "temperature") -> float:
    return single(name, read("temperature", temperature, as_argument=name))


def _moles(basis: ShareBasis, vapour: Vapour) -> float:
    """Moles in one unit of the basis: in a kilogram, a cubic metre at 20 degC, a mole."""
    if basis == "mole":
        return 1.0
    density = vapour.liquid_density(_LIQUID_DENSITY_AT).value if basis == "volume" else 1.0
    return density / vapour.molar_mass.value


def read_basis(basis: Any) -> None:
    """Refuse what is no basis of shares."""
    if basis not in get_args(ShareBasis):
        raise DomainError(f'basis = {basis!r}: shares of the liquid are by "mass", "volume" or "mole"')


def _flags(vapour: Vapour) -> list[str]:
    flags = []
    if low_boiling(vapour.boiling_point.value):
        flags.append("boils at or below 65 degC: a poor candidate for organic-vapour cartridges, same shift only")
    try:
        if vapour.molar_polarization.value < _HARDLY_HELD:
            flags.append("so small a molecule that carbon hardly holds it")
    except MissingProperty:
        flags.append("how well carbon holds it is not known: no refractive index is listed")
    return flags
