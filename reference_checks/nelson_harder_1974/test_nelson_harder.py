"""The recalled rows, the fitted mass, and the conclusions that README.md draws from the comparison of models."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from chemicals import Tb
from chemicals.refractivity import RI
from thermo import VaporPressure, VolumeLiquid

from reference_checks.nelson_harder_1974 import combinations, witnesses
from reference_checks.nelson_harder_1974.__main__ import main
from reference_checks.nelson_harder_1974.combinations import CORRECTIONS, Models, Score, minutes, score
from reference_checks.nelson_harder_1974.rows import (
    CHALLENGE,
    bed,
    calibrates,
    fitted_pair_mass,
    log_ratio,
    predicted_minutes,
    sorbate,
    timed_vapours,
)
from respcalc.core.errors import RespcalcError
from respcalc.core.tables import read_table
from respcalc.models.humidity import manes_onset_humidity
from respcalc.prediction import run_chain
from respcalc.vapours import find_vapour

HERE = Path(__file__).parent


def _recalled() -> list[dict[str, str]]:
    lines = (HERE / "times.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


# --- rows


def test_all_rows_are_here() -> None:
    assert len(_recalled()) == 80
    rows = timed_vapours()
    assert len(rows) == 78
    assert sum(map(calibrates, rows)) == 69
    assert len({row.cas for row in rows}) == 78


def test_gases_are_left_out_because_the_library_refuses_them() -> None:
    left = {row["case"]: row["left_out"] for row in _recalled() if row["left_out"]}
    assert set(left) == {"methylamine", "ethylamine"}
    for name in left:
        with pytest.raises(RespcalcError, match="physical adsorption"):
            find_vapour(name)


def test_memory_is_said_wherever_the_times_are() -> None:
    for file in ("times.csv", "source.toml", "rows.py", "study.py", "__main__.py"):
        text = (HERE / file).read_text(encoding="utf-8")
        assert "FROM MEMORY" in text, file


def test_rows_share_the_conditions_of_the_chain() -> None:
    for row in read_table(HERE / "times.csv").strict():
        assert row["volume_fraction"] == pytest.approx(CHALLENGE.volume_fraction)
        assert row["relative_humidity"] == pytest.approx(CHALLENGE.relative_humidity)
        assert row["temperature"] == pytest.approx(CHALLENGE.temperature)
        assert row["flow_rate"] == pytest.approx(bed(0.1).flow_rate)


@pytest.mark.parametrize("row", list(read_table(HERE / "vapours.csv").strict()), ids=lambda row: row["case"])
def test_described_vapours_agree_with_the_property_packages(row: dict[str, object]) -> None:
    """As far as these have them. Estimated vapour pressures have nothing to be held against."""
    # the packages list ethylidenenorbornene under an older number
    cas = {"16219-75-3": "28304-67-8"}.get(str(row["cas"]), str(row["cas"]))
    kelvin = float(str(row["saturation_temperature"]))
    if (boiling := Tb(cas)) is not None:
        assert row["boiling_point"] == pytest.approx(boiling, abs=1.0)
    if row["pressure_known"] == "library":
        held = VaporPressure(CASRN=cas)
        values = [held.calculate(kelvin, method) for method in held.all_methods]
        assert min(abs(float(str(row["saturation_pressure"])) / v - 1) for v in values) < 0.01
    if row["density_known"] == "library":
        volume = VolumeLiquid(CASRN=cas)
        densities = [
            float(str(row["molar_mass"])) / volume.calculate(float(str(row["density_temperature"])), method)
            for method in volume.all_methods
            if method in ("VDI_PPDS", "DIPPR_PERRY_8E")
        ]
        assert row["liquid_density"] == pytest.approx(densities[0], rel=0.002)
    index, at = RI(cas)
    if index is not None:
        falls = 5e-4 * (float(str(row["density_temperature"])) - float(at))
        assert row["refractive_index"] == pytest.approx(index - falls, abs=2e-3)


# --- the fitted mass


def test_mass_puts_the_median_at_zero() -> None:
    rows = timed_vapours()
    mass = fitted_pair_mass(rows)
    assert mass == pytest.approx(0.0896, abs=0.0003)
    used = np.array([calibrates(row) for row in rows])
    logs = log_ratio(predicted_minutes(mass), [row.measured_minutes for row in rows])
    assert np.median(logs[used]) == pytest.approx(0.0, abs=1e-9)


def test_mass_is_found_again_from_predicted_times() -> None:
    rows = tuple(row for row in timed_vapours() if calibrates(row))
    made = tuple(
        replace(row, measured_minutes=float(value))
        for row, value in zip(rows, predicted_minutes(0.120, rows), strict=True)
    )
    assert fitted_pair_mass(made) == pytest.approx(0.120, abs=1e-9)


def test_some_rows_are_predicted_like_all() -> None:
    rows = timed_vapours()
    assert predicted_minutes(0.09, rows[3:5]) == pytest.approx(predicted_minutes(0.09)[3:5])


# --- the comparison


@pytest.mark.parametrize("energy", [19.7e3, 17.0e3])
def test_default_models_are_those_of_the_library(energy: float) -> None:
    """The search for a longer time at a higher concentration goes in steps here, so it finds a little less."""
    rows = timed_vapours()
    outcome = run_chain(sorbate(rows), replace(bed(0.09), characteristic_energy=energy), CHALLENGE)
    expected = outcome.breakthrough_time / 60.0
    own = minutes(Models(characteristic_energy=energy), rows, 0.09)
    planned = np.broadcast_to(outcome.planned_fraction, len(rows))
    searched = ~np.isclose(planned, CHALLENGE.volume_fraction, rtol=1e-9)
    assert own[~searched] == pytest.approx(expected[~searched], rel=1e-9)
    assert own[searched] == pytest.approx(expected[searched], rel=0.03)
    assert 0 < sum(searched) < 6


def test_humid_air_is_not_tested_by_these_rows() -> None:
    """At 1000 ppm water matters to no calibrating vapour below 50 % RH, and the 85 % rule begins there."""
    assert combinations.water_matters() == 0.0
    properties = sorbate([row for row in timed_vapours() if calibrates(row)])
    onset = manes_onset_humidity.si(
        saturation_pressure=properties.saturation_pressure,
        partial_pressure=np.minimum(101.325, properties.saturation_pressure),
        liquid_molar_volume=properties.molar_mass / properties.liquid_density,
    )
    assert np.min(onset) > 0.50


@pytest.fixture(scope="module")
def corrections() -> dict[str, Score]:
    return {correction.name: score(correction.candidates()) for correction in CORRECTIONS}


def test_freed_exponent_does_not_help_vapours_left_out(corrections: dict[str, Score]) -> None:
    library, freed = corrections["library as it is"], corrections["Astakhov exponent n free"]
    assert freed.spread > 0.99 * library.spread
    assert freed.spread_but_one > 0.98 * library.spread_but_one
    assert freed.robust_spread > library.robust_spread


def test_freed_energy_helps_but_belongs_to_one_carbon(corrections: dict[str, Score]) -> None:
    """It wins on vapours left out, and the carbon of the EPA fits would then be underrated further."""
    freed = corrections["energy E0 free"]
    assert freed.spread < 0.8 * corrections["library as it is"].spread
    assert {models.characteristic_energy for models in freed.chosen} <= {15.5e3, 16.0e3, 16.5e3, 17.0e3}
    for name in ("vinyl chloride", "1,1,1-trichloroethane"):
        assert witnesses.dry_ratio(freed.models, name) < 0.9 * witnesses.dry_ratio(Models(), name)


@pytest.mark.parametrize("name", ["water share gamma free", "gamma and n free"])
def test_freed_water_share_helps_but_is_denied_by_vinyl_chloride(corrections: dict[str, Score], name: str) -> None:
    """Measured, its loading falls by four to five between 15 and 80 % RH; with these by seventy and more."""
    assert corrections[name].spread < 0.9 * corrections["library as it is"].spread
    assert witnesses.vinyl_chloride_fall(corrections[name].models) > 70 > 10 * witnesses.MEASURED_FALL[1]


@pytest.mark.parametrize("name", ["affinity of halogenated C1 to C3 cut", "that cut, and n free"])
def test_cut_affinity_helps_but_is_denied_by_dry_isotherms(corrections: dict[str, Score], name: str) -> None:
    """It wins on vapours left out, and yet the library already holds too little of these when dry."""
    assert corrections[name].spread < 0.8 * corrections["library as it is"].spread
    for vapour in ("vinyl chloride", "1,1,1-trichloroethane"):
        dry = witnesses.dry_ratio(Models(), vapour)
        assert dry < 0.8
        assert witnesses.dry_ratio(corrections[name].models, vapour) < 0.75 * dry


def test_library_takes_too_much_vinyl_chloride_away_in_damp_air() -> None:
    assert witnesses.MEASURED_FALL[1] < witnesses.vinyl_chloride_fall(Models()) < 12


def test_volume_that_water_fills_agrees_with_vinyl_chloride(corrections: dict[str, Score]) -> None:
    falls = witnesses.fall_by_measured_water().values()
    low, high = witnesses.MEASURED_FALL
    assert min(falls) < low < high < max(falls)
    assert np.mean([damp for _, damp, _ in witnesses.WATER_UPTAKE.values()]) == pytest.approx(
        1e3 * combinations.MEASURED_WATER_VOLUME, rel=0.01
    )
    shares = [found for name, found in corrections.items() if name.startswith("water keeps its measured volume ")]
    assert len(shares) == 2
    assert all(found.spread < 0.9 * corrections["library as it is"].spread for found in shares)
    # it explains a part only: the light halogenated ones stay over-predicted
    assert all(found.light_median > 1.4 for found in shares)


# --- the command


def test_report_lists_every_row(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    text = capsys.readouterr().out
    assert all(row.name in text for row in timed_vapours())
    assert "89.6 g" in text
