"""What a facepiece is trusted for: assigned protection factor and maximum use concentration."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError
from respcalc.core.tables import Table, shipped_table
from respcalc.core.vocabulary import read, single, term

__all__ = ["Facepiece", "UseConcentration", "facepiece", "facepieces", "maximum_use_concentration"]

CARTRIDGE_USE_LIMIT = 1000e-6
"""Organic-vapour chemical cartridges, 42 CFR 84.190 [volume fraction]."""


_BLOWER_TIGHT, _BLOWER_LOOSE = 115e-3 / 60, 170e-3 / 60


@dataclass(frozen=True)
class Facepiece:
    """A kind of facepiece with its assigned protection factor."""

    name: str
    protection_factor: Datum
    powered: bool

    @property
    def covers_eyes(self) -> bool:
        return not self.name.endswith(("quarter mask", "half mask"))

    @property
    def tight(self) -> bool:
        return not self.name.endswith(("hood or helmet", "loose-fitting"))

    @property
    def least_blower_flow(self) -> float:
        """Flow [m3/s] that the blower must give: 42 CFR 84, tight or loose; 0 without a blower."""
        return 0.0 if not self.powered else _BLOWER_TIGHT if self.tight else _BLOWER_LOOSE


@dataclass(frozen=True)
class UseConcentration:
    """Highest concentration a facepiece may be used in, and which bound set it."""

    value: float  # volume fraction
    set_by: str
    text: str


@cache
def facepieces() -> Table:
    """The kinds of facepiece with their assigned protection factors and sources."""
    return shipped_table("respcalc.workplace", "facepieces.csv", required=("facepiece", "assigned_protection_factor"))


def facepiece(name: Any) -> Facepiece:
    """Look a kind of facepiece up by its name.

    Raises
    ------
    DomainError
        The kind is not known; the message lists those that are.

    Examples
    --------
    >>> facepiece("half mask").protection_factor.printed
    '10'
    """
    wanted = _plain(str(name))
    for row in facepieces():
        if _plain(row["facepiece"]) == wanted:
            factor = Datum(
                "assigned_protection_factor", row["assigned_protection_factor"], row["kind"], row["source"],
                row["origin"],
            )  # fmt: skip
            return Facepiece(row["facepiece"], factor, row["powered"] == "yes")
    known = ", ".join(row["facepiece"] for row in facepieces())
    raise DomainError(f"facepiece = {name!r} is not known; choose one of: {known}")


def _plain(name: str) -> str:
    return " ".join(name.lower().replace("_", " ").replace("-", " ").split())


def maximum_use_concentration(
    *, protection_factor: float, exposure_limit: Any, idlh: Any = None, cartridge_limit: Any = None
) -> UseConcentration:
    """Highest concentration outside the mask in which it may be used.

    Parameters
    ----------
    protection_factor
        Assigned protection factor of the facepiece.
    exposure_limit
        Exposure limit [ppm].
    idlh
        Concentration immediately dangerous to life or health [ppm], if one is known.
    cartridge_limit
        Use limit of the cartridge [ppm]; 1000 ppm (42 CFR 84.190) where none is stated.

    Returns
    -------
    UseConcentration

    Raises
    ------
    UnitsError, DomainError
        Bad unit; a value that is not physical.

    Notes
    -----
    Source: ``osha_1910_134`` (b), (d)(3)(i)(B); ``cfr42_84_190``.

    Examples
    --------
    >>> maximum_use_concentration(protection_factor=10, exposure_limit="200 ppm", idlh="500 ppm").text
    '500 ppm (the IDLH; protection factor x limit would be 2000 ppm)'
    """
    factor = single(
        "protection_factor", read("assigned_protection_factor", protection_factor, as_argument="protection_factor")
    )
    product = factor * single("exposure_limit", read("exposure_limit", exposure_limit))
    cartridge_bound = CARTRIDGE_USE_LIMIT
    if cartridge_limit is not None:
        cartridge_bound = single(
            "cartridge_limit", read("volume_fraction", cartridge_limit, as_argument="cartridge_limit")
        )
    bounds = {"protection factor x limit": product, "the use limit of the cartridge": cartridge_bound}
    if idlh is not None:
        bounds["the IDLH"] = single("idlh", read("volume_fraction", idlh, as_argument="idlh"))
    set_by = min(bounds, key=lambda k: bounds[k])
    show = term("exposure_limit").show
    aside = "" if set_by == "protection factor x limit" else f"; protection factor x limit would be {show(product)}"
    return UseConcentration(bounds[set_by], set_by, f"{show(bounds[set_by])} ({set_by}{aside})")
