"""What a plan holds once it is read: a site, its rules, its tasks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from respcalc.cartridges import SEALED, CarbonHistory, Cartridge
from respcalc.core.basis import Datum
from respcalc.estimate import DEFAULT_COVERAGE, BreakthroughCriterion
from respcalc.vapours import Vapour, vapour_key
from respcalc.workplace import STRICTEST, Air, Facepiece, Inhaled, ProductInAir, Work
from respcalc.workplace.sampling import DesignConcentration

__all__ = ["Break", "FaultyTask", "Plan", "Site", "SiteRules", "Task"]


@dataclass(frozen=True)
class Site:
    """Who made the plan, for where."""

    name: str
    prepared_by: str
    date: str
    reviewed_by: str = ""
    invented: bool = False
    note: str = ""
    jurisdiction: str = ""  # empty: none is named, and the US tables are used


@dataclass(frozen=True)
class SiteRules:
    """What the site decided for all its tasks."""

    criterion: BreakthroughCriterion = field(default_factory=BreakthroughCriterion)
    limits_from: str = STRICTEST
    days_opened: int = 1
    reuse_basis: str = ""
    reuse_vapours: tuple[Vapour, ...] = ()  # that those data are of
    longest_interval: float | None = None  # [s]
    longest_interval_source: str = ""
    longest_counts_worn: bool = False  # the hours worn, over several shifts; else by the clock from first putting on
    coverage: float = DEFAULT_COVERAGE
    stored_at: float | None = None  # highest relative humidity where opened cartridges are kept

    def without_reuse_data(self, inhaled: Sequence[Inhaled]) -> tuple[str, ...]:
        """Vapours of a task that the data behind ``days_opened`` are not of: worn in them, a set is not kept."""
        known = {vapour_key(vapour) for vapour in self.reuse_vapours}
        return tuple(part.vapour.name for part in inhaled if vapour_key(part.vapour) not in known)


@dataclass(frozen=True)
class Break:
    """A pause, counted from the start of use [s]."""

    after: float
    length: float


@dataclass(frozen=True)
class Task:
    """One task, read and complete."""

    id: str
    description: str
    cartridge: Cartridge
    cartridge_data_from: str
    mask: Facepiece
    flow: Datum
    air: Air
    inhaled: tuple[Inhaled, ...]
    based_on: tuple[str, ...]  # how each concentration is known
    hours_of_use: float  # [s] from first donning to last doffing, breaks included
    days_per_week: int
    breaks: tuple[Break, ...] = ()
    shift_start: dt.time | None = None
    acknowledged: str = ""  # why a result outside the model is accepted
    not_known: tuple[str, ...] = ()  # vapours whose concentration is not known
    history: CarbonHistory = SEALED  # of a set when it is put on for the first time
    kept_history: CarbonHistory = SEALED  # of a set that is kept from one shift to the next
    days_open: int = 0  # since the cartridges were opened, at the date of the plan; they were not worn in them
    discard_by: str = ""  # last day of packs that are open already
    products: tuple[ProductInAir, ...] = ()
    total: float | None = None  # summed concentration, where products bound it
    index: float | None = None  # sum of concentrations over limits, likewise
    notices: tuple[str, ...] = ()  # how the vapours of the products were come by
    forbidden: tuple[str, ...] = ()  # why no cartridge may be used against one of its products
    designs: tuple[DesignConcentration, ...] = ()  # how concentrations came from air samples
    work: Work | None = None  # phases of unlike work; ``flow`` is then that of the hardest
    cartridge_description: str = ""  # by which the floor tells it from others
    eye_protection: str = ""  # beside a mask that leaves the eyes in the air

    def lasts(self, seconds: float) -> float:
        """How long a time at the highest flow [s] is in the phases of this task, the hardest first."""
        return seconds if self.work is None or seconds <= 0 else self.work.lasts_si(seconds)

    @property
    def used(self) -> str:
        """What the products are called whose vapours are in the air; empty without one."""
        return ", ".join(there.product.name for there in self.products)

    @property
    def worn(self) -> str:
        """What goes on the face: the mask, and what covers the eyes where it does not."""
        return self.mask.name + (f" with {self.eye_protection}" if self.eye_protection else "")

    @property
    def with_basis(self) -> tuple[tuple[Inhaled, str], ...]:
        """Each vapour with how its concentration is known."""
        return tuple(zip(self.inhaled, self.based_on, strict=True))


@dataclass(frozen=True)
class FaultyTask:
    """A task that could not be read, with every fault that was found."""

    id: str
    description: str
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """A plan as read: complete tasks and faulty ones, in their order."""

    site: Site
    rules: SiteRules
    tasks: tuple[Task | FaultyTask, ...]
    unused_cartridges: tuple[str, ...] = ()
    text: str = field(default="", repr=False)
    faults: tuple[str, ...] = ()  # of cartridges, vapours and products that no task leads to
    unused_products: tuple[str, ...] = ()
