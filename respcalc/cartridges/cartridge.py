"""A cartridge as a bed of carbon: mass, geometry, carbon, and how many share the flow."""

from __future__ import annotations

import datetime as dt
import operator
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from html import escape
from typing import Any

from respcalc.cartridges.tested import CartridgeTest
from respcalc.core.basis import Datum
from respcalc.prediction import Bed
from respcalc.vapours import Vapour, vapour_key

__all__ = ["Cartridge", "Evidence"]


@dataclass(frozen=True)
class Evidence:
    """What a bed was inferred from, where nobody opened it.

    Parameters
    ----------
    words
        For the record.
    level_scatter
        Standard deviation that is left in the logarithm of a life, from vapours other than the one asked for.
    lowest
        Lowest tested concentration (volume fraction) of each vapour, by `vapour_key`: a life is carried below it by
        the power rule only.
    highest
        Highest of all: above it a life falls in proportion at least.
    rate_reach
        How far the logarithm of the rate of these beds may lie below its middle, as a one-sided 95 %: what they
        carry of its scatter already.
    floor
        From a certificate: the bed is the least that passes, not the cartridge's own.
    details
        Each test and what the bed makes of it, for the record.
    """

    words: str
    level_scatter: float
    lowest: tuple[tuple[str, float], ...]
    highest: float
    rate_reach: float
    floor: bool = False
    details: tuple[str, ...] = ()

    def lowest_for(self, vapour: Vapour) -> float:
        """Where the power rule begins: its own lowest test; of another vapour, where every tested one was tested."""
        told = dict(self.lowest)
        return told.get(vapour_key(vapour), max(told.values()))


@dataclass(frozen=True)
class Cartridge:
    """One sorbent bed and the number of equal beds that share the breathing flow.

    Make one with `describe_bed`, `fit_bed` or `certified_bed`, which read units and check.

    ``could_be`` holds the beds at the ends of what is not known exactly; an estimate takes the one that lasts least.
    """

    name: str
    sorbent_mass: Datum
    bed_depth: Datum
    face_area: Datum
    bulk_density: Datum
    micropore_volume: Datum
    characteristic_energy: Datum
    granule_diameter: Datum
    void_fraction: Datum
    in_parallel: int
    use_limit: Datum | None = None
    notes: tuple[str, ...] = ()
    tests: tuple[CartridgeTest, ...] = ()
    largest_share: Datum | None = None  # of a task's flow, through the most loaded of several; None: all equal
    rate_scale: Datum | None = None  # None: as correlated
    could_be: tuple[Cartridge, ...] = ()
    because: str = ""  # why it could be those
    tolerated: tuple[Cartridge, ...] = ()  # at the ends of its tolerances, for a carbon that is found from tests
    evidence: Evidence | None = None
    expires: dt.date | None = None
    single_use: bool = False
    least_boiling_point: Datum | None = None  # of the vapours that the type is made for
    most_boiling_point: Datum | None = None

    def flow_share(self, flow_rate: float) -> float:
        """Flow through the most loaded bed [m3/s] when the wearer or blower draws *flow_rate* in all."""
        return flow_rate * (1.0 / self.in_parallel if self.largest_share is None else self.largest_share.value)

    def bed(self, flow_rate: Any, water_share: Any = 0.0) -> Bed:
        """The most loaded bed in floats, with its share of *flow_rate* [m3/s] and the water on it before use."""
        return Bed(
            flow_rate=self.flow_share(1.0) * flow_rate,
            sorbent_mass=self.sorbent_mass.value,
            face_area=self.face_area.value,
            bulk_density=self.bulk_density.value,
            granule_diameter=self.granule_diameter.value,
            void_fraction=self.void_fraction.value,
            micropore_volume=self.micropore_volume.value,
            characteristic_energy=self.characteristic_energy.value,
            water_share=water_share,
        )

    def tested_bed(self, flow_rate: float) -> Bed:
        """The bed as in a breakthrough test: a laboratory splits *flow_rate* [m3/s] evenly."""
        return replace(self, largest_share=None).bed(flow_rate)

    @property
    def rate_share(self) -> float:
        """Rate coefficient of this bed over the correlated one."""
        return 1.0 if self.rate_scale is None else self.rate_scale.value

    def beds(self) -> tuple[Cartridge, ...]:
        """Every bed that it could be, the described one first; none of them could be another."""
        return (replace(self, could_be=()), *self.could_be) if self.could_be else (self,)

    @property
    def others_in_words(self) -> str:
        """How many other beds it could be, and why."""
        count = len(self.could_be)
        return f"{'1 other bed' if count == 1 else f'{count} other beds'}: {self.because}"

    def not_for(self, vapours: Sequence[Vapour]) -> tuple[str, ...]:
        """Why the type of the cartridge is not made for these vapours together; empty where it is."""
        found = []
        for limit, wrong, word in (
            (self.least_boiling_point, operator.le, "above"),
            (self.most_boiling_point, operator.gt, "up to"),
        ):
            if limit is None:
                continue
            off = [v for v in vapours if wrong(v.boiling_point.value, limit.value)]
            found += [
                f"{v.name} boils at {v.boiling_point.printed}, and cartridge {self.name} is of a type for vapours that "
                f"boil {word} {limit.printed} ({limit.origin})"
                for v in off
            ]
        if self.most_boiling_point is not None and len(vapours) > 1:
            found.append(
                f"cartridge {self.name} is of a type for one low-boiling vapour, never for a mixture: another vapour "
                "drives it out"
            )
        return tuple(found)

    def data(self) -> tuple[Datum, ...]:
        """Every value of the bed with its origin."""
        values = (getattr(self, f.name) for f in fields(self))
        return tuple(v for v in values if isinstance(v, Datum))

    def as_dict(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "in_parallel": self.in_parallel,
            "values": [d.as_dict() for d in self.data()],
            "notes": list(self.notes),
            "tests": [str(test) for test in self.tests],
            "inferred_from": "" if self.evidence is None else self.evidence.words,
            "could_be": len(self.could_be),
            "because": self.because,
            "expires": "" if self.expires is None else str(self.expires),
            "single_use": self.single_use,
        }

    def _lines(self) -> list[tuple[str, str]]:
        beds = f"{self.in_parallel} in parallel" if self.in_parallel > 1 else "one bed takes the whole flow"
        lines = [(d.name, f"{d.printed}  ({d.note or d.origin})") for d in self.data()] + [("beds", beds)]
        lines += [("own test", str(test)) for test in self.tests]
        if self.evidence is not None:
            lines.append(("known", self.evidence.words))
        if self.could_be:
            lines.append(("could also be", self.others_in_words))
        if self.expires is not None:
            lines.append(("expires", str(self.expires)))
        if self.single_use:
            lines.append(("single use", "one shift, then discarded"))
        return lines

    def __str__(self) -> str:
        return "\n".join([f"cartridge {self.name}", *(f"  {k:<22} {v}" for k, v in self._lines())])

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><th>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in self._lines())
        return f"<table><caption>cartridge {escape(self.name)}</caption>{rows}</table>"
