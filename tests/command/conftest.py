"""Plans as dictionaries, written as TOML, so that any key can be replaced by anything."""

from __future__ import annotations

import copy
import datetime as dt
import json
import math

import pytest

PLAN = {
    "site": {
        "name": "Harbour workshop (invented)",
        "prepared_by": "A. Example (invented)",
        "reviewed_by": "B. Example (invented)",
        "date": dt.date(2026, 5, 4),
        "altitude": "0 m",
        "oxygen": "20.9 %",
        "invented": True,
        "note": "none",
    },
    "rules": {
        "days_opened": 2,
        "stored_at": "40 %",
        "reuse_basis": "desorption data (invented)",
        "reuse_vapours": ["toluene"],
        "limits_from": "strictest",
        "challenge_fraction": "1 %",
        "limit_fraction": "10 %",
        "longest_interval": "8 h",
        "longest_interval_source": "site rule of 2026 (invented)",
        "longest_interval_counts": "hours worn",
    },
    "vapour": [
        {
            "name": "solvent X",
            "molar_mass": "100 g/mol",
            "boiling_point": "110 degC",
            "saturation_pressure": "3.0 kPa",
            "saturation_temperature": "20 degC",
            "liquid_density": "0.85 g/cm3",
            "refractive_index": 1.40,
            "exposure_limit": "50 ppm",
            "limit_authority": "data sheet (invented)",
            "idlh": "900 ppm",
            "data_from": "data sheet (invented)",
        }
    ],
    "cartridge": [
        {
            "id": "pair",
            "description": "two",
            "data_from": "weighed (invented)",
            "sorbent_mass": "45 g",
            "face_area": "45 cm2",
            "bed_depth": "2.2 cm",
            "granule_diameter": "1.2 mm",
            "use_limit": "1000 ppm",
            "in_parallel": 2,
        }
    ],
    "task": [
        {
            "id": "gluing",
            "description": "joints",
            "cartridge": "pair",
            "facepiece": "half mask",
            "work_rate": "moderate",
            "temperature": "25 degC",
            "relative_humidity": "50 %",
            "hours_of_use": "6 h",
            "days_per_week": 5,
            "shift_start": dt.time(7, 0),
            "acknowledge_outside_model": "not needed",
            "breaks": [{"after": "2 h", "length": "15 min"}],
            "vapour": [
                {
                    "name": "toluene",
                    "concentration": "100 ppm",
                    "average": "50 ppm",
                    "based_on": "6 samples (invented)",
                    "exposure_limit": "40 ppm",
                    "exposure_limit_authority": "site (invented)",
                    "estimate_missing": False,
                }
            ],
        },
        {
            "id": "cleaning",
            "cartridge": "pair",
            "facepiece": "half mask",
            "work_rate": "light",
            "temperature": "25 degC",
            "relative_humidity": "50 %",
            "hours_of_use": "1 h",
            "days_per_week": 5,
            "vapour": [{"name": "solvent X", "concentration": "60 ppm", "based_on": "2 samples (invented)"}],
        },
    ],
}


def _toml(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(v) for v in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return {math.inf: "inf", -math.inf: "-inf"}.get(value, "nan" if value != value else repr(value))
    if isinstance(value, (int, dt.date, dt.time, dt.datetime)):
        return value.isoformat() if not isinstance(value, int) else str(value)
    return json.dumps(value)


@pytest.fixture
def plan():
    """A plan that is sound, as a dictionary of one's own to spoil."""
    return copy.deepcopy(PLAN)


@pytest.fixture(scope="session")
def as_toml():
    """TOML text of such a dictionary."""

    def write(document):
        return "\n".join(f"{json.dumps(k)} = {_toml(v)}" for k, v in document.items()) + "\n"

    return write
