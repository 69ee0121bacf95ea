"""Many cases at once: one vapour over arrays, or a table with a vapour in each row.

A row that cannot be computed carries its reason; the other rows are computed all the same.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.cartridges import SEALED, CarbonHistory, Cartridge
from respcalc.core.errors import DomainError, RespcalcError, TableError, UnitsError
from respcalc.core.tables import Table, frame_to_table, read_table
from respcalc.core.units import FAMILIES, Concentration, Quantity, read_concentration, read_value
from respcalc.core.vocabulary import check, humidity_slip, term
from respcalc.estimate.calibration import Calibration
from respcalc.estimate.credit import credit_of, most_by_tests, share_by_tests
from respcalc.estimate.criterion import BreakthroughCriterion
from respcalc.estimate.margin import Margin, margin_of, rate_shares, read_coverage, usable_time
from respcalc.estimate.service_life import require_cartridge
from respcalc.prediction import Challenge, rows_of, run_many, sorbate_of
from respcalc.vapours import Vapour, find_vapour
from respcalc.workplace import STRICTEST, choose_limits, volume_fraction_from_mass

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["estimate_table", "sweep_service_life"]

_COLUMNS = ("temperature", "relative_humidity", "pressure", "flow_rate")
_AUTHORITY = "exposure_limit_authority"
_LIMIT = ("exposure_limit", _AUTHORITY)
_RESULTS = ("breakthrough_time [min]", "central_estimate [min]", "service_life [min]", "coverage [%]")
_WORDS = ("calibrated_on", "reason")
_EXAMPLE = {
    "concentration": "ppm", "temperature": "degC", "relative_humidity": "%", "pressure": "kPa", "flow_rate": "L/min",
    "exposure_limit": "ppm",
}  # fmt: skip


def sweep_service_life(
    vapour: str | Vapour,
    concentration: Any,
    *,
    cartridge: Cartridge,
    temperature: Any,
    relative_humidity: Any,
    pressure: Any,
    flow_rate: Any,
    exposure_limit: Any = None,
    exposure_limit_authority: str | None = None,
    limits_from: str = STRICTEST,
    challenge_fraction: Any = None,
    limit_fraction: Any = None,
    coverage: Any = None,
    calibration: Calibration | None = None,
    history: CarbonHistory = SEALED,
) -> pd.DataFrame:
    """Estimate the service life of one cartridge against one vapour over many conditions.

    Parameters
    ----------
    vapour
        Name, synonym or CAS number, or a `Vapour`.
    concentration
        [ppm or mg/m3], scalar or array.
    cartridge
        From `respcalc.cartridges.describe_bed`.
    temperature
        [degC], scalar or array.
    relative_humidity
        [%] or fraction, scalar or array.
    pressure
        [kPa], scalar or array.
    flow_rate
        Flow the wearer or blower draws in all [L/min], scalar or array.
    exposure_limit, exposure_limit_authority, limits_from, challenge_fraction, limit_fraction, coverage, calibration
    history
        As for `estimate_service_life`.

    Returns
    -------
    pandas.DataFrame
        One row a case (inputs broadcast): the inputs, ``breakthrough_time [min]`` as predicted,
        ``central_estimate [min]``, ``service_life [min]`` (the bound; 0 is immediate breakthrough),
        ``coverage [%]`` of the bound (none where a test of the cartridge's own stands in),
        ``calibrated_on``, and ``reason``, which is empty for a row that holds. A row with a reason has no
        numbers.

    Raises
    ------
    UnitsError
        A unit is missing or of the wrong kind; all bad arguments are listed.
    UnknownVapour, MissingProperty, DomainError
        What holds for all rows: the vapour, its limit, the criterion, an argument that is one value.
    """
    import pandas as pd

    require_cartridge(cartridge)
    who = vapour if isinstance(vapour, Vapour) else find_vapour(vapour)
    if who.not_physically_adsorbed:
        raise DomainError(f"{who.name}: {who.not_physically_adsorbed}")
    limit = choose_limits(
        who, limits_from=limits_from, own_limit=exposure_limit, own_authority=exposure_limit_authority
    ).least.value.value
    criterion = BreakthroughCriterion.of(challenge_fraction, limit_fraction)
    coverage_used = read_coverage(coverage, calibration)
    given = {
        "temperature": temperature,
        "relative_humidity": relative_humidity,
        "pressure": pressure,
        "flow_rate": flow_rate,
    }
    arrays, problems = {}, []
    for name, value in given.items():
        try:
            arrays[name] = np.asarray(read_value(name, term(name).family, value), dtype=float)
        except ValueError as error:
            problems.append(str(error))
    try:
        amount = read_concentration("concentration", concentration)
    except ValueError as error:
        problems.append(str(error))
    if problems:
        raise UnitsError(problems)
    for name, array in arrays.items():
        if array.ndim == 0:
            check(name, float(array))
    if np.ndim(amount.value) == 0:
        word = "volume_fraction" if amount.basis == "volume" else "mass_concentration"
        check(word, float(amount.value), as_argument="concentration")
    arrays["volume_fraction"] = np.asarray(amount.value, dtype=float)
    if amount.basis == "mass":
        arrays["volume_fraction"] = volume_fraction_from_mass.si(
            mass_concentration=arrays["volume_fraction"],
            molar_mass=who.molar_mass.value,
            temperature=arrays["temperature"],
            pressure=arrays["pressure"],
        )
    try:
        shape = np.broadcast_shapes(*(a.shape for a in arrays.values()))
    except ValueError:
        sizes = ", ".join(f"{name} {a.shape}" for name, a in arrays.items())
        raise DomainError(f"the arrays do not fit together: {sizes}") from None
    size = math.prod(shape)
    flat = {name: np.ravel(np.broadcast_to(a, shape)) if a.ndim else a for name, a in arrays.items()}
    rows = _worst(
        [
            _run_rows(
                who, flat, size, limit, bed, criterion,
                margin_of(who, bed, coverage=coverage_used, calibration=calibration), history,
            )
            for bed in cartridge.beds()
        ]
    )  # fmt: skip
    columns: dict[str, Any] = {
        f"{name} [{term(name).printed_unit}]": np.broadcast_to(term(name).in_printed_unit(a), size)
        for name, a in flat.items()
    }
    columns["breakthrough_time [min]"] = rows.times
    columns["central_estimate [min]"] = rows.central
    columns["service_life [min]"] = rows.lives
    coverages = np.full(size, 100.0 * coverage_used)
    coverages[rows.tested | np.isnan(rows.lives)] = np.nan
    columns["coverage [%]"], columns["calibrated_on"] = coverages, rows.calibrated_on
    columns["reason"] = rows.reasons
    return pd.DataFrame({name: np.ascontiguousarray(column) for name, column in columns.items()}, copy=False)


@dataclass(frozen=True)
class _Rows:
    """What one bed makes of all rows; times in minutes."""

    times: Any
    central: Any
    lives: Any
    tested: Any  # where an own test set the life
    calibrated_on: Any
    reasons: Any


def _worst(found: list[_Rows]) -> _Rows:
    """Each row of the bed that lasts least there; a row that one of them has no number for has none."""
    if len(found) == 1:
        return found[0]
    lives = np.stack([np.where(np.isnan(rows.lives), -1.0, rows.lives) for rows in found])
    which = np.argmin(lives, axis=0)
    return _Rows(
        **{
            name: np.stack([getattr(rows, name) for rows in found])[which, np.arange(which.size)]
            for name in _Rows.__dataclass_fields__
        }
    )


def _run_rows(
    vapour: Vapour,
    arrays: dict[str, Any],
    size: int,
    limit: float,
    cartridge: Cartridge,
    criterion: BreakthroughCriterion,
    margin: Margin,
    history: CarbonHistory,
) -> _Rows:
    """Run all rows with one bed."""
    reasons = np.full(size, "", dtype=object)
    bad = np.zeros(size, dtype=bool)
    ppm = term("volume_fraction").in_printed_unit
    for name, array in arrays.items():
        word = term(name)
        off = np.broadcast_to(~np.isfinite(array) | word.outside(array), size)
        if off.any():
            values = np.broadcast_to(np.asarray(word.in_printed_unit(array)), size)
            label = "concentration" if name == "volume_fraction" else name
            for i in np.nonzero(off & ~bad)[0]:
                reasons[i] = f"{label} = {values[i]:.6g} {word.printed_unit} must be {word.bounds()}"
            bad |= off
    # Rows that are off run on stand-in numbers and are blanked below: no warning, no wrong value.
    safe = {name: np.where(bad, _STAND_IN[name], array) if bad.any() else array for name, array in arrays.items()}
    saturation = vapour.saturation_pressures(safe["temperature"])
    above = np.broadcast_to(safe["volume_fraction"] * safe["pressure"] > saturation * (1 + 1e-9), size) & ~bad
    if above.any():
        amounts = np.broadcast_to(ppm(safe["volume_fraction"]), size)
        highest = np.broadcast_to(ppm(saturation / safe["pressure"]), size)
        for i in np.nonzero(above)[0]:
            reasons[i] = (
                f"concentration = {amounts[i]:.6g} ppm is more than the air can hold of {vapour.name} at this "
                f"temperature (saturation: {highest[i]:.4g} ppm)"
            )
    sorbate = replace(sorbate_of(vapour, safe["temperature"]), saturation_pressure=saturation)
    bed = cartridge.bed(safe["flow_rate"], history.water_share.value)
    challenge = Challenge(
        volume_fraction=safe["volume_fraction"],
        temperature=safe["temperature"],
        pressure=safe["pressure"],
        relative_humidity=safe["relative_humidity"],
        challenge_fraction=criterion.challenge_fraction,
        limit_exit=criterion.limit_fraction * limit,
    )
    shares = rate_shares(cartridge)
    (seconds, slower), convex = run_many(sorbate, bed, challenge, shares)
    amounts = np.broadcast_to(safe["volume_fraction"], size)
    reference_times = (np.full(size, np.inf), np.full(size, np.inf))
    reference = margin.reference(amounts)
    rare = np.nonzero(amounts != reference)[0]
    if rare.size:
        at_reference = replace(
            rows_of(challenge, rare, (size,)),
            volume_fraction=reference[rare],
            challenge_fraction=challenge.exit_fraction(amounts[rare]),
            limit_exit=np.inf,
        )
        vapours, beds = (rows_of(part, rare, (size,)) for part in (sorbate, bed))
        for times, found in zip(reference_times, run_many(vapours, beds, at_reference, shares)[0], strict=True):
            times[rare] = found
    left = share_by_tests(cartridge, vapour, challenge.exit_fraction(amounts))
    believed, at = (tuple(left * t for t in pair) for pair in ((seconds, slower), reference_times))
    lives: Any = usable_time(margin, believed, at, amounts)
    task = {**safe, "exit_fraction": challenge.exit_fraction(safe["volume_fraction"])}
    most: Any = most_by_tests(cartridge, vapour, **task) if cartridge.tests else np.inf
    lives = np.minimum(lives, most)
    tested = np.zeros(size, dtype=bool)
    calibrated_on = np.full(size, margin.calibrated_on, dtype=object)
    least: Any = 0.0 if margin.outside else lives
    limit_exit = criterion.limit_fraction * limit
    credits = credit_of(cartridge, vapour, history, (seconds, slower), limit_exit, **task) if cartridge.tests else []
    for credit in credits:
        by_test = np.broadcast_to(np.minimum(credit.life, most), size)
        better = by_test > least
        lives = np.where(better, by_test, lives)
        least = np.maximum(least, by_test)
        tested |= better
        calibrated_on[better] = f"own test: {credit.test}"
    convex = np.broadcast_to(convex, size) & ~bad & ~above
    reasons[convex] = (
        "the isotherm is convex at this concentration: outside the model, breakthrough can come at any time"
    )
    off = bad | above | convex
    if margin.outside:
        beyond = ~off & ~tested
        reasons[beyond] = f"{vapour.name}: {margin.outside}"
        off |= beyond
    calibrated_on[off] = ""
    times = np.where(off, np.nan, seconds) / 60.0
    return _Rows(
        times, times / margin.typical, np.where(off, np.nan, lives) / 60.0, tested & ~off, calibrated_on, reasons
    )


_STAND_IN = {
    "temperature": 298.15,
    "relative_humidity": 0.5,
    "pressure": 101325.0,
    "flow_rate": 30e-3 / 60,
    "volume_fraction": 1e-6,
}


def estimate_table(
    table: Table | str | Path | pd.DataFrame,
    *,
    cartridge: Cartridge,
    limits_from: str = STRICTEST,
    challenge_fraction: Any = None,
    limit_fraction: Any = None,
    coverage: Any = None,
    calibration: Calibration | None = None,
    history: CarbonHistory = SEALED,
) -> pd.DataFrame:
    """Estimate a whole table: a vapour and its conditions in each row.

    Parameters
    ----------
    table
        CSV or XLSX file, `Table`, or a DataFrame with units in its headers. Columns: ``vapour``,
        ``concentration [ppm]``, ``temperature [degC]``, ``relative_humidity [%]``,
        ``pressure [kPa]``, ``flow_rate [L/min]`` (any unit of the same kind); optional, together:
        ``exposure_limit [ppm]`` and ``exposure_limit_authority``. Other columns without a unit, such
        as a task's name, are kept.
    cartridge
        From `respcalc.cartridges.describe_bed`.
    limits_from, challenge_fraction, limit_fraction, coverage, calibration
    history
        As for `estimate_service_life`.

    Returns
    -------
    pandas.DataFrame
        The rows in their order with ``vapour``, ``cas``, the results and a ``reason``, empty where the
        row holds. No row is dropped.

    Raises
    ------
    TableError
        The table cannot be read, or a column or its unit is missing.
    DomainError
        The criterion, which holds for all rows.
    """
    import pandas as pd

    require_cartridge(cartridge)
    BreakthroughCriterion.of(challenge_fraction, limit_fraction)
    read_coverage(coverage, calibration)
    needed = ("vapour", "concentration", *_COLUMNS)
    if isinstance(table, (str, Path)):
        read = read_table(table, required=needed)
    elif isinstance(table, Table):
        read = table
    else:
        read = frame_to_table("table", table, required=needed)
    rows = list(read)
    by_mass = _check_columns(read, needed)
    ours = {*needed, *_LIMIT, "row", "cas", *_WORDS, *read.units}
    own = [c for c in (rows[0] if rows else {}) if c not in ours]
    out: list[dict[str, Any]] = [
        {
            **{c: r[c] for c in own},
            "vapour": r["vapour"],
            "cas": "",
            **{c: r[c] for c in (*needed[1:], *_LIMIT) if c in r},
            **dict.fromkeys(_RESULTS, np.nan),
            "calibrated_on": "",
            "reason": "; ".join(read.problems_in(r["row"])),
        }
        for r in rows
    ]
    groups: dict[tuple[str, float | None, str | None], list[int]] = {}
    for i, row in enumerate(rows):
        blanks = [c for c in needed if row[c] in (None, "")]
        if not out[i]["reason"] and blanks:
            out[i]["reason"] = f"{', '.join(blanks)}: the cell is empty"
        if not out[i]["reason"]:
            out[i]["reason"] = humidity_slip("relative_humidity", row["relative_humidity"])
        if not out[i]["reason"]:
            key = (row["vapour"], row.get("exposure_limit"), row.get(_AUTHORITY) or None)
            groups.setdefault(key, []).append(i)
    for (name, limit, authority), places in groups.items():

        def column(c: str, places: list[int] = places) -> Any:
            return np.array([rows[i][c] for i in places], dtype=float)

        try:
            vapour = find_vapour(name)
            done = sweep_service_life(
                vapour,
                Concentration(column("concentration"), "mass" if by_mass else "volume"),
                cartridge=cartridge,
                temperature=Quantity(column("temperature"), "K"),
                relative_humidity=column("relative_humidity"),
                pressure=Quantity(column("pressure"), "Pa"),
                flow_rate=Quantity(column("flow_rate"), "m**3/s"),
                exposure_limit=None if limit is None else term("exposure_limit").quantity(limit),
                exposure_limit_authority=authority,
                limits_from=limits_from,
                challenge_fraction=challenge_fraction,
                limit_fraction=limit_fraction,
                coverage=coverage,
                calibration=calibration,
                history=history,
            )
        except RespcalcError as error:
            for i in places:
                out[i]["reason"] = str(error)
            continue
        for i, result in zip(places, done.to_dict("records"), strict=True):
            out[i]["cas"] = vapour.cas
            for column_name in (*_RESULTS, *_WORDS):
                out[i][column_name] = result[column_name]
    frame = pd.DataFrame(out) if out else pd.DataFrame(columns=["vapour", "cas", *needed[1:], *_RESULTS, *_WORDS])
    return _in_printed_units(frame, by_mass)


def _in_printed_units(frame: pd.DataFrame, by_mass: bool) -> pd.DataFrame:
    """Turn SI columns into printed units, and say so in their headers."""
    names = {"concentration": "concentration [mg/m3]" if by_mass else "concentration [ppm]"}
    scale = 1e6  # volume fraction to ppm, kg/m3 to mg/m3
    frame["concentration"] = [np.nan if v is None else v * scale for v in frame["concentration"]]
    for c in [c for c in (*_COLUMNS, "exposure_limit") if c in frame]:
        frame[c] = [np.nan if v is None else term(c).in_printed_unit(v) for v in frame[c]]
        names[c] = f"{c} [{term(c).printed_unit}]"
    return frame.rename(columns=names)


def _check_columns(table: Table, needed: tuple[str, ...]) -> bool:
    """Refuse columns that are missing or lack a usable unit; say whether concentrations are by mass."""
    columns = {"vapour", *table.units} | {c for row in table.rows[:1] for c in row}
    numbers = [*needed[1:], *(["exposure_limit"] if "exposure_limit" in columns else [])]
    faults = [f"{table.name}: column {c!r} is missing" for c in needed if c not in columns]
    faults += [
        f"{table.name}, column {c!r}: the header needs a unit, such as '{c} [{_EXAMPLE[c]}]'"
        for c in numbers
        if c in columns and c not in table.units
    ]
    unit = table.units.get("concentration", "")
    by_mass = unit in FAMILIES["mass_concentration"].units
    if unit and not by_mass and unit not in FAMILIES["volume_fraction"].units:
        faults.append(
            f"{table.name}, column 'concentration': unit {unit!r} is no concentration in air; use "
            f"{FAMILIES['volume_fraction'].offered()}, or by mass {FAMILIES['mass_concentration'].offered()}"
        )
    if faults:
        raise TableError(faults)
    return by_mass
