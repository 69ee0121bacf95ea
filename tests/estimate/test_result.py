"""What a result shows: its curve, its text, HTML and JSON, and that it survives a pickle."""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import respcalc
from respcalc import CAUTIONS, describe_air, describe_bed, estimate_mixture_life, estimate_service_life
from respcalc.core.errors import UnitsError


def life_in(humidity, cartridge, name="toluene", amount="200 ppm", **rest):
    air = describe_air(temperature="25 degC", relative_humidity=humidity, altitude="0 m")
    return estimate_service_life(name, amount, cartridge=cartridge, air=air, work_rate="moderate", **rest)


@pytest.fixture
def thin():
    return describe_bed("thin", sorbent_mass="15 g", face_area="45 cm2", bed_depth="0.7 cm")


# --- the curve


@pytest.mark.parametrize(
    ("name", "amount", "humidity", "by_rule"),
    [
        ("toluene", "200 ppm", 0.3, False),
        ("toluene", "200 ppm", 0.9, True),
        ("2-butanone", "50 ppm", 0.7, False),
        ("n-hexane", "50 ppm", 0.9, False),
        ("styrene", "50 ppm", 0.8, True),
    ],
)
def test_the_curve_passes_the_exit_fraction_at_the_breakthrough_time(name, amount, humidity, by_rule, pair):
    life = life_in(humidity, pair, name, amount)
    assert ("set by the 85 % rule" in str(life)) == by_rule
    assert life.breakthrough.value > 0
    assert life.penetration(life.breakthrough_time).to("").magnitude == pytest.approx(
        life.exit_fraction.value, rel=1e-9
    )
    with pytest.raises(UnitsError, match="bare number"):
        life.penetration(3600)
    assert float(life.penetration_si(life.breakthrough.value)) == pytest.approx(life.exit_fraction.value, rel=1e-9)
    assert float(life.penetration_si(life.life.value)) < life.exit_fraction.value


def test_the_curve_of_a_searched_time_is_never_above_the_exit_fraction_before_breakthrough(pair):
    life = life_in(0.9, pair, "benzene", "0.1 ppm")
    assert "cannot break through sooner" in str(life)
    assert float(life.penetration_si(life.breakthrough.value)) <= life.exit_fraction.value * (1 + 1e-9)


def test_the_curve_as_a_table(pair):
    life = life_in(0.5, pair)
    frame = life.curve()
    assert list(frame.columns) == ["worn_time [min]", "penetration [%]", "exit_concentration [ppm]"]
    assert len(frame) == 121
    assert len(life.curve(points=11)) == 11
    for column in frame:
        assert frame[column].is_monotonic_increasing
    assert frame["worn_time [min]"].iloc[0] == 0
    assert frame["penetration [%]"].min() >= 0
    assert frame["penetration [%]"].max() <= 100
    assert frame["exit_concentration [ppm]"].to_numpy() == pytest.approx(2.0 * frame["penetration [%]"].to_numpy())
    assert frame["exit_concentration [ppm]"].iloc[-1] > 190  # the bed is spent at the end
    at = np.interp(life.breakthrough_time.m_as("min"), frame["worn_time [min]"], frame["exit_concentration [ppm]"])
    assert at == pytest.approx(2.0, rel=0.1)


def test_an_immediate_breakthrough_is_said_in_words(thin):
    life = life_in(0.5, thin, amount="500 ppm")
    assert life.immediate
    assert life.service_life.magnitude == 0
    assert life.breakthrough_time.magnitude == 0
    text = str(life)
    assert "immediate breakthrough to 5 ppm at the exit" in text
    assert "conservative life       none" in text
    assert life.as_dict()["immediate_breakthrough"] is True
    assert np.all(np.isfinite(life.curve()))
    assert float(life.penetration_si(0.0)) > life.exit_fraction.value


# --- text


def test_the_text_shows_who_what_why_and_every_caution(pair):
    life = life_in(0.9, pair)
    text = str(life)
    for part in ("toluene", "CAS 108-88-3", "92.14 g/mol", "200 ppm", *CAUTIONS, *life.basis.warnings):
        assert part in text
    for datum in life.basis.data:
        assert f"{datum.name} " in text
        assert datum.printed in text
        assert datum.kind in text
    for choice in life.basis.choices:
        assert choice in text
    assert "nan" not in text.lower().split()
    assert life.breakthrough.printed in text
    assert life.life.printed in text
    assert text.endswith("come first.")


def test_defaults_and_damp_air_are_warned_of(pair):
    warnings = "\n".join(life_in(0.9, pair).basis.warnings)
    assert "micropore_volume of cartridge pair (invented) is a default" in warnings
    assert "stored sealed and dry" in warnings
    assert "stored sealed and dry" not in "\n".join(life_in(0.4, pair).basis.warnings)
    strict = life_in(0.4, pair, limit_fraction="0.01 %")
    assert "below 0.01 %" in "\n".join(strict.basis.warnings)
    slow = estimate_service_life(
        "toluene", "100 ppm", cartridge=pair, work_rate="20 L/min",
        air=describe_air(temperature="25 degC", relative_humidity=0.4, altitude="0 m"),
    )  # fmt: skip
    assert "below 30 L/min" in "\n".join(slow.basis.warnings)


def test_a_short_bed_is_warned_of(thin):
    life = life_in(0.3, thin, "toluene", "50 ppm", challenge_fraction="20 %", limit_fraction="100 %")
    assert not life.immediate
    assert "transfer units long" in "\n".join(life.basis.warnings)


def test_html_is_escaped(dry_air):
    cartridge = describe_bed("<script>x</script>", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm")
    vapour = respcalc.define_vapour(
        "<b>mine</b> & co", molar_mass="100 g/mol", boiling_point="110 degC", saturation_pressure="3 kPa",
        saturation_temperature="20 degC", liquid_density="0.85 g/cm3", refractive_index=1.4,
        exposure_limit="50 ppm", limit_authority="<i>us</i>",
    )  # fmt: skip
    html = estimate_service_life(vapour, "50 ppm", cartridge=cartridge, air=dry_air, work_rate="heavy")._repr_html_()
    for tag in ("<script>", "<b>", "<i>"):
        assert tag not in html
    assert "&lt;b&gt;mine&lt;/b&gt; &amp; co" in html
    assert "&lt;script&gt;" in html
    for caution in CAUTIONS:
        assert caution.replace("'", "&#x27;") in html


# --- as data


def test_json_spells_out_the_unit_of_every_number(pair, dry_air):
    life = estimate_mixture_life(
        {"toluene": "85 ppm", "2-butanone": "60 ppm"}, cartridge=pair, air=dry_air, work_rate="moderate"
    )
    data = json.loads(life.as_json())
    assert data == life.as_dict()
    assert data["breakthrough_time"]["unit"] == "min"
    assert data["service_life"]["value"] == pytest.approx(life.service_life.m_as("min"))
    assert data["breakthrough_criterion"]["exit_concentration"]["unit"] == "ppm"
    assert data["cautions"] == list(CAUTIONS)

    def numbers(part, where="result"):
        if isinstance(part, dict):
            if "value" in part:
                assert "unit" in part, where
                assert isinstance(part["value"], float), where
            for key, item in part.items():
                if key != "value":
                    numbers(item, f"{where}.{key}")
        elif isinstance(part, list):
            for i, item in enumerate(part):
                numbers(item, f"{where}[{i}]")
        else:
            assert isinstance(part, (str, bool)), where

    numbers(data)
    assert "inf" not in life.as_json().lower().split()
    assert "NaN" not in life.as_json()


def test_a_result_survives_a_pickle_and_a_new_interpreter(pair, humid_air, tmp_path):
    life = estimate_service_life("benzene", "5 ppm", cartridge=pair, air=humid_air, work_rate="light")
    again = pickle.loads(pickle.dumps(life))
    assert again == life
    assert again.as_dict() == life.as_dict()
    assert str(again) == str(life)
    assert again.curve().equals(life.curve())
    path = tmp_path / "life.pickle"
    path.write_bytes(pickle.dumps((life, life.service_life)))
    code = (
        "import pickle, sys, pathlib\n"
        f"life, quantity = pickle.loads(pathlib.Path({str(path)!r}).read_bytes())\n"
        "assert life.service_life == quantity\n"
        "sys.stdout.write(life.as_json())\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(respcalc.__file__).parents[1]), "PYTHONIOENCODING": "utf-8"}
    there = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment)
    assert json.loads(there.stdout) == life.as_dict()


def test_times_are_quantities_in_minutes(pair):
    life = life_in(0.5, pair)
    assert str(life.service_life.units) == "minute"
    assert life.service_life.m_as("h") == pytest.approx(life.life.value / 3600)
    assert life.service_life < life.breakthrough_time
