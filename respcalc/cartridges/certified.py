"""A bed from its certificate alone: the least carbon that would just pass the type's test.

What the certificate does not tell (packed density, face area, carbon, rate) is not guessed: it is taken over its
plausible range, for each combination the mass of carbon is found that just passes, and an estimate keeps the one
that lasts least against the vapour asked for. So the life is a floor. A real cartridge of the type does better,
by how much only its own bed or a test can tell.

Water in the test's air, or on a conditioned element, is not credited (see `fitted`); the test that asks for most
carbon counts.
"""

from __future__ import annotations

import datetime as dt
import difflib
import itertools
import math
import re
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from respcalc.cartridges.bed import (
    DEFAULT_CARBON,
    PLAUSIBLE_DENSITY,
    PLAUSIBLE_DEPTH,
    read_expiry,
    read_limit,
    read_name,
    read_parallel,
    read_share,
    read_within,
)
from respcalc.cartridges.cartridge import Cartridge, Evidence
from respcalc.cartridges.fitted import ENERGY_RANGE, RATE_SCATTER, TEST_SCATTER, bed_that_lasts, vapour_scatter
from respcalc.cartridges.tested import CartridgeTest
from respcalc.core.basis import Datum
from respcalc.core.errors import CartridgeError, DomainError, UnitsError, UnknownVapour
from respcalc.core.sources import source
from respcalc.core.tables import shipped_table
from respcalc.core.units import read_tolerance
from respcalc.core.vocabulary import term
from respcalc.prediction import reduced_potential
from respcalc.vapours import find_vapour, vapour_key

__all__ = ["UNKNOWNS", "Certification", "certified_bed", "known_certifications"]

_ATMOSPHERE = 101325.0
_MASSES = (1e-4, 5.0)  # [kg] searched
_FACES_TRIED, _ENERGIES_TRIED = 12, 3
_FINE_GRAIN = 0.8e-3  # [m]: fine carbon passes with less of it, coarse carbon lets more through; either can last less
_PLAUSIBLE_FACE = (5e-4, 300e-4)  # [m2] of one element (common practice, no source)
# Plausible ranges (SI) of what a certificate does not tell; of the face for each size of element.
_FACES = {"small": (15e-4, 45e-4), "cartridge": (25e-4, 80e-4), "canister": (50e-4, 130e-4)}
UNKNOWNS: dict[str, tuple[float, float, str]] = {
    "bulk_density": (400.0, 500.0, "packed granular carbon (from memory)"),
    "face_area": (*_FACES["cartridge"], "common practice, no source; a small one 15 to 45, a canister 50 to 130 cm2"),
    "micropore_volume": (0.40e-3, 0.60e-3, "respirator carbons (from memory)"),
    "characteristic_energy": (
        ENERGY_RANGE[0] - 2 * ENERGY_RANGE[1],
        ENERGY_RANGE[0] + 2 * ENERGY_RANGE[1],
        "respirator carbons (from memory)",
    ),
    "rate_scale": (math.exp(-1.645 * RATE_SCATTER), math.exp(1.645 * RATE_SCATTER), "scatter of the correlations"),
}
"""What a certificate does not tell: range (SI) and where it is from."""


@dataclass(frozen=True)
class Certification:
    """One type of element and the tests that it must pass."""

    type: str
    title: str
    gas: str
    tests: tuple[CartridgeTest, ...]  # those that a bed can be found from
    conditions: tuple[str, ...]
    combination_share: float | None
    use_limit: float | None
    single_use: bool
    least_boiling_point: float | None
    most_boiling_point: float | None
    size: str
    source: str
    locator: str
    why_not: str

    @property
    def origin(self) -> str:
        """Source and locator in words, and whether the figures were read."""
        record = source(self.source)
        return f"{', '.join(filter(None, (record.citation, self.locator)))} ({record.seen})"


@cache
def known_certifications() -> dict[str, Certification]:
    """Every type of element that is known here, by its key; some only to be refused with the reason."""
    made: dict[str, Certification] = {}
    for row in shipped_table("respcalc.cartridges", "certifications.csv", required=("type", "role")).rows:
        tests: tuple[CartridgeTest, ...] = ()
        if row["role"] == "bed":
            values = {
                name: Datum(name, row[name], row["kind"], row["source"], row["locator"])
                for name in ("breakthrough_time", "volume_fraction", "flow_rate", "temperature", "relative_humidity")
            }
            tests = (
                CartridgeTest(
                    vapour=find_vapour(row["vapour"]),
                    report=f"least time of the certification test, {row['condition'] or 'as received'}",
                    exit_fraction=Datum(
                        "exit_fraction", row["exit_concentration"] / row["volume_fraction"], row["kind"]
                    ),
                    pressure=Datum("pressure", _ATMOSPHERE, "assumed"),
                    **values,  # type: ignore[arg-type]
                ),
            )
        before = made.get(row["type"])
        made[row["type"]] = Certification(
            type=row["type"],
            title=row["title"],
            gas=row["gas"],
            tests=(*(before.tests if before else ()), *tests),
            conditions=(*(before.conditions if before else ()), row["condition"]),
            combination_share=row["life_factor"],
            use_limit=row["use_limit"],
            single_use=row["single_use"] == "yes",
            least_boiling_point=row["least_boiling_point"],
            most_boiling_point=row["most_boiling_point"],
            size=row["size"],
            source=row["source"],
            locator=row["locator"],
            why_not=row["why_not"],
        )
    return made


def certified_bed(
    name: str,
    certified_as: str | Certification,
    *,
    in_parallel: int,
    combination: bool | None = None,
    face_area: Any = None,
    bulk_density: Any = None,
    micropore_volume: Any = None,
    characteristic_energy: Any = None,
    largest_share: Any = None,
    use_limit: Any = None,
    expires: dt.date | str | None = None,
) -> Cartridge:
    """Describe a cartridge of which nothing is known but its certificate.

    Parameters
    ----------
    name
        What the site calls the cartridge.
    certified_as
        One of `known_certifications`, such as ``"EN A2"`` or ``"US cartridge OV"``; or a `Certification` of your own.
    in_parallel
        How many elements of the type share the flow, in the test as in use (2 for a pair).
    combination
        Whether the element is for several types of gas: under 42 CFR 84 it need last half the time then, so it must be
        said for the types that this holds for.
    face_area, bulk_density, micropore_volume, characteristic_energy
        What is known of one element after all [cm2], [g/cm3], [cm3/g], [kJ/mol], with its tolerance; it narrows
        the range. A cartridge whose carbon was weighed is described with `describe_bed`.
    largest_share, use_limit, expires
        As for `describe_bed`; the type's own use limit holds where it is lower.

    Returns
    -------
    Cartridge
        It could be any of the beds that just pass; an estimate takes the one that lasts least.

    Raises
    ------
    UnitsError, DomainError
        A unit is missing; a value is not physical.
    CartridgeError
        The type is not known, or not one for organic vapours (with the reason); no plausible bed just passes.

    Examples
    --------
    >>> pair = certified_bed("pair (invented)", "US cartridge OV", combination=False, in_parallel=2)
    >>> pair.evidence.floor, pair.use_limit.printed
    (True, '1000 ppm')
    """
    name, count = read_name(name), read_parallel(in_parallel)
    what = certified_as if isinstance(certified_as, Certification) else _find(certified_as)
    if combination is None and what.combination_share is not None:
        raise CartridgeError(
            f"combination is missing: as one of several types {what.title} passes with half the time. It is true where "
            "the label names other gases besides organic vapour, and else false"
        )
    if combination is not None and not isinstance(combination, bool):
        raise CartridgeError(f"combination = {combination!r}: True or False is needed")
    if combination and what.combination_share is None:
        raise CartridgeError(
            f"combination: {what.title} passes its test in full also where it is one of several types; leave it out"
        )
    share = float(what.combination_share) if combination and what.combination_share else 1.0
    ranges = _ranges(
        what,
        {
            "face_area": face_area,
            "bulk_density": bulk_density,
            "micropore_volume": micropore_volume,
            "characteristic_energy": characteristic_energy,
        },
    )
    stated = read_limit(use_limit)
    own = what.use_limit
    limit = stated
    if own is not None and (stated is None or own < stated.value):
        limit = Datum("volume_fraction", own, "regulation", what.source, label="use limit of the type")
    words = f"{what.title}{', one of several types (half the time)' if combination else ''}"
    beds = _just_passing(name, count, what, ranges, share, words)
    potentials = [reduced_potential(test.vapour) for test in what.tests]
    boiling = {
        "least_boiling_point": ("least", what.least_boiling_point),
        "most_boiling_point": ("highest", what.most_boiling_point),
    }
    common: dict[str, Any] = {
        "use_limit": limit,
        "largest_share": read_share(largest_share, count),
        "expires": read_expiry(expires),
        "single_use": what.single_use,
        "notes": (
            f"cartridge {name} is known from its certificate alone ({words}): the life is that of the least bed that "
            "would just pass. A breakthrough test, or a bed with the carbon's own properties, would tell more; the "
            "weight alone may not, since it says nothing of how good the carbon is",
        ),
        "evidence": Evidence(
            words=f"inferred from its certificate alone: {words}; {what.origin}. A floor, not the cartridge's own life",
            level_scatter=math.hypot(TEST_SCATTER, vapour_scatter(max(potentials))),
            lowest=tuple((vapour_key(test.vapour), test.volume_fraction.value) for test in what.tests),
            highest=max(test.volume_fraction.value for test in what.tests),
            rate_reach=-math.log(ranges["rate_scale"][0]),
            floor=True,
        ),
        **{
            key: Datum("boiling_point", value, "regulation", what.source,
                       label=f"{word} boiling point that the type is for")
            for key, (word, value) in boiling.items()
            if value is not None
        },
    }  # fmt: skip
    middle, *others = (replace(bed, **common) for bed in beds)
    grains = (_FINE_GRAIN, DEFAULT_CARBON["granule_diameter"][0])
    because = "its certificate leaves open: " + ", ".join(
        f"{k} {term(k).show(low)} to {term(k).show(high)}"
        for k, (low, high) in {**ranges, "granule_diameter": grains}.items()
        if high > low
    )
    return replace(middle, could_be=tuple(others), because=because)


def _find(certified_as: Any) -> Certification:
    known = known_certifications()
    usable = [key for key, value in known.items() if value.tests]
    if not isinstance(certified_as, str) or certified_as not in known:
        raise CartridgeError(
            f"certified_as = {certified_as!r:.80}: this type is not known here; it is one of {', '.join(usable)}"
            f"{_hint(str(certified_as), usable)}"
        )
    what = known[certified_as]
    if what.tests:
        return what
    why = what.why_not
    try:
        find_vapour(why)
    except UnknownVapour as error:
        if "physical adsorption" in str(error):
            why = str(error)
    raise CartridgeError(f"certified_as = {certified_as!r}: {why}")


_OTHER_TYPES = (
    (r"\bHG\b|MERCUR", "mercury is bound by impregnated carbon"),
    (r"\bNO\b|NITROUS", "oxides of nitrogen are held by special elements, for one use"),
    (r"\bCO\b|MONOXIDE", "carbon monoxide is turned by a catalyst, not held"),
    (r"\bSX\b", "what a type SX is for is named on it, and it has no general test"),
    (r"REACTOR|IODINE", "radioactive iodine is bound chemically"),
    (r"FORMALDEHYDE|FORMALIN", "formaldehyde polymerises and is bound chemically"),
    (r"AMMONIA|METHYLAMINE|\bMA\b|\bAM\b", "ammonia and light amines are bound chemically"),
    (r"VINYL", "vinyl chloride has an element of its own, whose test is not recalled"),
    (r"\bAG\b|ACID", "acid gases are bound chemically"),
    (
        r"(?<![A-Z])[BEK][123]?(?![A-Z])",
        "types B, E and K are for inorganic and acid gases and ammonia, bound chemically",
    ),
)
"""Types for something else, which no slip of the pen must lead to an organic-vapour element."""


def _hint(asked: str, usable: list[str]) -> str:
    """What may have been meant by a type that is not listed."""
    text = asked.upper()
    near = difflib.get_close_matches(text, [key.upper() for key in usable], n=1, cutoff=0.9)
    if near and _gas(near[0]) == _gas(text):
        return f'. Did you mean "{next(key for key in usable if key.upper() == near[0])}"?'
    if part := re.search(r"(?<![A-Z])A(?:X|[BEK]*([123]))", text):
        meant = "EN AX" if part[0].endswith("X") else f"EN A{part[1]}"
        return f'. Of a filter for several types the organic-vapour part counts: write "{meant}"'
    if "OV" in text or "ORGANIC" in text:
        return (
            '. A chemical cartridge for organic vapour is "US cartridge OV", with combination = true where it is '
            "also for other gases"
        )
    for pattern, why in _OTHER_TYPES:
        if re.search(pattern, text):
            return f". {why[0].upper()}{why[1:]}: not covered here, and an organic-vapour element is none for it"
    return ""


def _gas(key: str) -> str:
    """The last word of a type, which says what it is for; a zero is an O."""
    return (key.split() or [""])[-1].replace("0", "O")


def _ranges(what: Certification, asked: dict[str, Any]) -> dict[str, tuple[float, float]]:
    """Range (SI) of each unknown: the plausible one, or the user's."""
    ranges = {key: (low, high) for key, (low, high, _) in UNKNOWNS.items()}
    ranges["face_area"] = _FACES[what.size]
    problems = []
    for key, value in asked.items():
        if value is None:
            continue
        try:
            _, low, high = read_within(key, *read_tolerance(key, term(key).family, value))
        except UnitsError:
            raise
        except ValueError as error:
            if isinstance(error, (CartridgeError, DomainError)):
                raise
            problems.append(str(error))
            continue
        ranges[key] = (low, high)
    if problems:
        raise UnitsError(problems)
    for key, bounds in (("face_area", _PLAUSIBLE_FACE), ("bulk_density", PLAUSIBLE_DENSITY)):
        show = term(key).show
        if not bounds[0] <= ranges[key][0] <= ranges[key][1] <= bounds[1]:
            raise CartridgeError(
                f"{key} = {show(ranges[key][0])} to {show(ranges[key][1])} of one element: {show(bounds[0])} to "
                f"{show(bounds[1])} is plausible; check the number and its unit"
            )
    return ranges


def _just_passing(
    name: str, count: int, what: Certification, ranges: dict[str, tuple[float, float]], share: float, words: str
) -> list[Cartridge]:
    """The bed in the middle of the ranges, then those at their ends, each with the carbon that just passes."""
    ends = [tuple(dict.fromkeys(ends)) for ends in ranges.values()]
    middle = tuple(math.sqrt(low * high) for low, high in ranges.values())
    coarse = DEFAULT_CARBON["granule_diameter"][0]
    tried = [(*corner, coarse) for corner in (middle, *itertools.product(*ends))]
    tried += [(*corner, grain) for corner in _between(ranges) for grain in (coarse, _FINE_GRAIN)]
    corners = np.array(list(dict.fromkeys(tried)))
    keys = (*ranges, "granule_diameter")
    known = {key: corners[:, k] for k, key in enumerate(keys)}
    scale = known.pop("rate_scale")
    template = _bed(name, count, words, dict(zip(keys, (*middle, coarse), strict=True)), 1.0)
    masses = np.max(
        [
            bed_that_lasts(
                template, test, share * test.breakthrough_time.value, test.exit_fraction.value,
                unknown="sorbent_mass", between=_MASSES, rate_share=scale, **known,
            )
            for test in what.tests
        ],
        axis=0,
    )  # fmt: skip
    depths = masses / (known["face_area"] * known["bulk_density"])
    fits = (depths >= PLAUSIBLE_DEPTH[0]) & (depths <= PLAUSIBLE_DEPTH[1])
    if not fits.any():
        show = term("bed_depth").show
        raise CartridgeError(
            f"cartridge {name}: to pass as {what.title}, a bed with the face that is given would be "
            f"{show(float(depths.min()))} deep or more, and beds have {show(PLAUSIBLE_DEPTH[0])} to "
            f"{show(PLAUSIBLE_DEPTH[1])}; check face_area, in_parallel and the type"
        )
    return [
        _bed(name, count, words, dict(zip(keys, map(float, corner), strict=True)), float(mass))
        for corner, mass, fit in zip(corners, masses, fits, strict=True)
        if fit
    ]


def _between(ranges: dict[str, tuple[float, float]]) -> list[tuple[float, ...]]:
    """Faces and energies between the ends, for the dense and slow bed: what lasts least can lie there."""
    steps = {
        "bulk_density": [ranges["bulk_density"][1]],
        "face_area": list(np.geomspace(*ranges["face_area"], _FACES_TRIED)),
        "micropore_volume": list(ranges["micropore_volume"]),
        "characteristic_energy": list(np.geomspace(*ranges["characteristic_energy"], _ENERGIES_TRIED)),
        "rate_scale": [ranges["rate_scale"][0]],
    }
    return [tuple(map(float, corner)) for corner in itertools.product(*(steps[key] for key in ranges))]


def _bed(name: str, count: int, words: str, values: dict[str, float], mass: float) -> Cartridge:
    inferred = {
        **values,
        "sorbent_mass": mass,
        "bed_depth": mass / (values["face_area"] * values["bulk_density"]),
        "void_fraction": DEFAULT_CARBON["void_fraction"][0],
    }
    noted = {
        "sorbent_mass": f"the least that would just pass as {words}",
        "bed_depth": "from mass = area x depth x density",
        "void_fraction": DEFAULT_CARBON["void_fraction"][2],
    }
    data = {
        key: Datum(key, value, "computed" if key in ("sorbent_mass", "bed_depth") else "assumed",
                   note=noted.get(key, "in the plausible range"))
        for key, value in inferred.items()
    }  # fmt: skip
    return Cartridge(name=name, in_parallel=count, **data)  # type: ignore[arg-type]
