"""Many cases at once: the same answers as one at a time, in order, each bad row with its reason."""

from __future__ import annotations

import multiprocessing
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import numpy as np
import pandas as pd
import pytest

import respcalc
from respcalc import Quantity, describe_air, estimate_service_life, estimate_table, sweep_service_life
from respcalc.core.errors import DomainError, MissingProperty, TableError, UnitsError, UnknownVapour
from respcalc.core.tables import Table, read_table

CONDITIONS = {"temperature": "25 degC", "relative_humidity": "50 %", "pressure": "101.325 kPa", "flow_rate": "40 L/min"}


# --- sweep


@pytest.mark.parametrize("name", ["toluene", "benzene", "2-butanone"])
def test_a_sweep_is_a_loop_of_single_estimates(name, pair):
    rng = np.random.default_rng(7)
    n = 40
    ppm, celsius = 10 ** rng.uniform(0.5 if name == "2-butanone" else -1, 2.7, n), rng.uniform(0, 45, n)
    humidity, kilopascal, litres = rng.uniform(0, 1, n), rng.uniform(70, 101.3, n), rng.uniform(15, 80, n)
    frame = sweep_service_life(
        name, Quantity(ppm, "ppm"), cartridge=pair, temperature=Quantity(celsius, "degC"), relative_humidity=humidity,
        pressure=Quantity(kilopascal, "kPa"), flow_rate=Quantity(litres, "L/min"),
    )  # fmt: skip
    assert (frame["reason"] == "").all()
    assert list(frame["volume_fraction [ppm]"]) == pytest.approx(list(ppm))
    for i in range(n):
        one = estimate_service_life(
            name, Quantity(ppm[i], "ppm"), cartridge=pair, work_rate=Quantity(litres[i], "L/min"),
            air=describe_air(
                temperature=Quantity(celsius[i], "degC"), relative_humidity=humidity[i],
                pressure=Quantity(kilopascal[i], "kPa"),
            ),
        )  # fmt: skip
        times = frame.loc[i, "breakthrough_time [min]"], frame.loc[i, "service_life [min]"]
        assert times[0] == pytest.approx(one.breakthrough_time.m_as("min"), rel=1e-12, abs=1e-12)
        assert times[1] == pytest.approx(one.service_life.m_as("min"), rel=1e-12, abs=1e-12)


def test_inputs_of_a_sweep_broadcast_and_their_headers_carry_units(pair):
    frame = sweep_service_life("toluene", ["100 ppm", "200 ppm", "400 ppm"], cartridge=pair, **CONDITIONS)
    assert list(frame.columns) == [
        "temperature [degC]", "relative_humidity [%]", "pressure [kPa]", "flow_rate [L/min]", "volume_fraction [ppm]",
        "breakthrough_time [min]", "central_estimate [min]", "service_life [min]", "coverage [%]", "calibrated_on",
        "reason",
    ]  # fmt: skip
    assert len(frame) == 3
    assert frame["service_life [min]"].is_monotonic_decreasing
    grid = sweep_service_life(
        "toluene", Quantity([[50.0], [100.0]], "ppm"), cartridge=pair,
        **{**CONDITIONS, "relative_humidity": np.array([0.2, 0.6, 0.9])},
    )  # fmt: skip
    assert len(grid) == 6
    alone = sweep_service_life("toluene", "100 ppm", cartridge=pair, **{**CONDITIONS, "relative_humidity": "60 %"})
    assert grid.loc[4, "service_life [min]"] == pytest.approx(alone.loc[0, "service_life [min]"], rel=1e-12)


def test_a_sweep_over_nothing_is_an_empty_table(pair):
    frame = sweep_service_life("toluene", Quantity(np.array([]), "ppm"), cartridge=pair, **CONDITIONS)
    assert len(frame) == 0
    assert "service_life [min]" in frame


def test_a_sweep_by_mass_is_the_sweep_by_volume(pair):
    by_mass = sweep_service_life("toluene", Quantity(np.array([376.6, 753.2]), "mg/m**3"), cartridge=pair, **CONDITIONS)
    by_volume = sweep_service_life("toluene", Quantity(np.array([100.0, 200.0]), "ppm"), cartridge=pair, **CONDITIONS)
    assert list(by_mass["volume_fraction [ppm]"]) == pytest.approx([100.0, 200.0], rel=1e-4)
    assert list(by_mass["service_life [min]"]) == pytest.approx(list(by_volume["service_life [min]"]), rel=1e-3)


def test_bad_rows_of_a_sweep_have_a_reason_and_no_numbers_and_the_others_are_computed(pair):
    frame = sweep_service_life(
        "toluene", Quantity(np.array([100.0, -1.0, np.nan, 5e5, 100.0, 100.0, np.inf, 0.0]), "ppm"), cartridge=pair,
        **{
            **CONDITIONS,
            "relative_humidity": np.array([0.5, 0.5, 0.5, 0.5, 65.0, 0.5, 0.5, 0.5]),
            "temperature": Quantity(np.array([25.0, 25.0, 25.0, 25.0, 25.0, 90.0, 25.0, 25.0]), "degC"),
        },
    )  # fmt: skip
    good = frame["reason"] == ""
    assert good.tolist() == [True] + [False] * 7
    assert frame.loc[~good, ["breakthrough_time [min]", "service_life [min]"]].isna().all(axis=None)
    assert frame.loc[0, "service_life [min]"] > 0
    for row, part in (
        (1, "concentration = -1 ppm must be above 0"),
        (2, "concentration = nan ppm"),
        (3, "500000 ppm is more than the air can hold of toluene at this temperature (saturation: 3.75"),
        (4, "relative_humidity = 6500 % must be from 0 up to 100 %"),
        (5, "temperature = 90 degC must be"),
        (6, "concentration = inf ppm"),
        (7, "concentration = 0 ppm must be above 0"),
    ):
        assert part in frame.loc[row, "reason"]


def test_the_coldest_temperature_of_an_estimate_is_also_that_of_a_sweep(pair):
    cold = {**CONDITIONS, "temperature": Quantity(np.array([-20.0, 60.0]), "degC")}
    assert (sweep_service_life("toluene", "100 ppm", cartridge=pair, **cold)["reason"] == "").all()


def test_a_convex_isotherm_is_a_reason(pair):
    humid = CONDITIONS | {"relative_humidity": "85 %"}
    frame = sweep_service_life("methyl acetate", Quantity([20.0, 20000.0], "ppm"), cartridge=pair, **humid)
    assert "convex" in frame.loc[0, "reason"]
    assert frame.loc[1, "reason"] == ""


@pytest.mark.parametrize(
    ("change", "error", "parts"),
    [
        ({"vapour": "xylene"}, UnknownVapour, ["o-xylene"]),
        ({"vapour": "formaldehyde"}, DomainError, ["formaldehyde"]),
        ({"concentration": 100.0}, UnitsError, ["concentration", "no unit", 'concentration="100.0 ppm"']),
        ({"concentration": "100 kPa"}, UnitsError, ["concentration"]),
        ({"concentration": "-5 ppm"}, DomainError, ["concentration", "-5 ppm"]),
        ({"concentration": "-5 mg/m3"}, DomainError, ["concentration", "-5 mg/m3"]),
        ({"relative_humidity": 65}, DomainError, ["relative_humidity", '"65 %"']),
        ({"temperature": "90 degC"}, DomainError, ["temperature", "90 degC"]),
        ({"temperature": 298.0, "flow_rate": "40 min"}, UnitsError, ["temperature", "flow_rate"]),
        ({"pressure": pd.Series([101.3])}, UnitsError, ["pressure", "pandas"]),
        ({"temperature": Quantity([20.0, 30.0], "degC"), "concentration": Quantity([1.0, 2.0, 3.0], "ppm")},
         DomainError, ["do not fit together", "(2,)", "(3,)"]),
        ({"exposure_limit": "5 ppm"}, DomainError, ["exposure_limit_authority"]),
        ({"exposure_limit_authority": "site"}, DomainError, ["exposure_limit"]),
        ({"limits_from": "nobody"}, DomainError, ["nobody", "OSHA PEL"]),
        ({"challenge_fraction": "50 %"}, DomainError, ["challenge_fraction"]),
        ({"cartridge": "pair"}, TypeError, ["cartridge", "describe_bed"]),
        ({"vapour": respcalc.define_vapour("mine", molar_mass="100 g/mol", boiling_point="110 degC",
          saturation_pressure="3 kPa", saturation_temperature="20 degC", liquid_density="0.85 g/cm3",
          refractive_index=1.4)}, MissingProperty, ["exposure_limit", "exposure_limit_authority"]),
    ],
)  # fmt: skip
def test_what_holds_for_every_row_is_refused_at_once(change, error, parts, pair):
    arguments = {"vapour": "toluene", "concentration": "100 ppm", "cartridge": pair, **CONDITIONS, **change}
    with pytest.raises(error) as caught:
        sweep_service_life(**arguments)
    for part in parts:
        assert part in str(caught.value)


# --- table

TEXT = """# an invented survey
task,vapour,concentration [ppm],temperature [degC],relative_humidity [%],pressure [kPa],flow_rate [L/min]
mixing,toluene,100,25,50,101.325,40
cleaning,xylene,20,25,50,101.325,40
"rinsing, hot",108-88-3,200,25,50,101.325,40
spraying,acetone,900000,25,50,101.325,40
filling,toluene,1 00,25,50,101.325,40
drying,styrene,,25,50,101.325,40
coating,styrene,50,25,65%,101.325,40
gluing,formaldehyde,1,25,50,101.325,40
"""


@pytest.fixture
def survey(tmp_path):
    path = tmp_path / "survey.csv"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_a_table_keeps_its_rows_in_order_each_with_its_reason(survey, pair):
    frame = estimate_table(survey, cartridge=pair)
    assert frame["task"].tolist() == [
        "mixing", "cleaning", "rinsing, hot", "spraying", "filling", "drying", "coating", "gluing",
    ]  # fmt: skip
    assert frame["vapour"].tolist()[:3] == ["toluene", "xylene", "108-88-3"]
    assert frame["cas"].tolist() == ["108-88-3", "", "108-88-3", "67-64-1", "", "", "100-42-5", ""]
    reasons = frame["reason"].tolist()
    assert [r == "" for r in reasons] == [True, False, True, False, False, False, True, False]
    for row, part in (
        (1, "o-xylene"),
        (3, "more than the air can hold of acetone"),
        (4, "row 7, column 'concentration'"),
        (4, "a space or apostrophe inside a number"),
        (5, "concentration: the cell is empty"),
        (7, "formaldehyde"),
    ):
        assert part in reasons[row]
    computed = frame["service_life [min]"].notna()
    assert computed.tolist() == [r == "" for r in reasons]
    alone = sweep_service_life("toluene", "100 ppm", cartridge=pair, **CONDITIONS)
    assert frame.loc[0, "service_life [min]"] == pytest.approx(alone.loc[0, "service_life [min]"], rel=1e-12)


def test_a_fraction_in_a_column_of_per_cent_is_a_reason(tmp_path, pair):
    path = tmp_path / "survey.csv"
    head, row = TEXT.splitlines()[1:3]
    path.write_text("\n".join([head, row, row.replace(",50,", ",0.85,")]), encoding="utf-8")
    frame = estimate_table(path, cartridge=pair)
    assert frame["reason"].tolist()[0] == ""
    assert 'for 85 per cent write "85 %"' in frame["reason"].tolist()[1]
    assert frame["service_life [min]"].isna().tolist() == [False, True]


def test_a_frame_a_file_and_a_table_are_read_alike(survey, pair):
    from_file = estimate_table(survey, cartridge=pair)
    pd.testing.assert_frame_equal(estimate_table(read_table(survey), cartridge=pair), from_file)
    frame = pd.read_csv(survey, comment="#", dtype=str)
    again = estimate_table(frame, cartridge=pair)
    pd.testing.assert_frame_equal(
        again.drop(columns="reason"), from_file.drop(columns="reason"), check_dtype=False, check_exact=True
    )


def test_a_result_fed_back_in_is_understood_because_its_headers_carry_units(survey, pair):
    for text in (TEXT, TEXT.replace("[ppm]", "[mg/m3]").replace("900000", "9e6")):
        survey.write_text(text, encoding="utf-8")
        first = estimate_table(survey, cartridge=pair)
        second = estimate_table(first, cartridge=pair)
        good = first["reason"] == ""
        assert good.sum() == 3
        pd.testing.assert_frame_equal(second[good], first[good], rtol=1e-12)
        assert (second.loc[~good, "reason"] != "").all()


def test_concentrations_by_mass_in_a_table(survey, pair):
    survey.write_text(TEXT.replace("concentration [ppm]", "concentration [mg/m3]"), encoding="utf-8")
    frame = estimate_table(survey, cartridge=pair)
    assert frame.loc[0, "concentration [mg/m3]"] == pytest.approx(100.0)
    alone = sweep_service_life("toluene", "100 mg/m3", cartridge=pair, **CONDITIONS)
    assert frame.loc[0, "service_life [min]"] == pytest.approx(alone.loc[0, "service_life [min]"], rel=1e-12)


def test_a_limit_of_the_site_in_a_table_is_used_and_never_ignored(survey, pair):
    lines = TEXT.splitlines()
    lines[1] += ",exposure_limit [ppm],exposure_limit_authority"
    lines[2] += ",2,site limit"
    lines[4] += ",2,"
    survey.write_text("\n".join(lines), encoding="utf-8")
    frame = estimate_table(survey, cartridge=pair)
    alone = sweep_service_life(
        "toluene", "100 ppm", cartridge=pair, exposure_limit="2 ppm", exposure_limit_authority="x", **CONDITIONS
    )
    assert frame.loc[0, "service_life [min]"] == pytest.approx(alone.loc[0, "service_life [min]"], rel=1e-12)
    assert frame.loc[0, "exposure_limit [ppm]"] == pytest.approx(2.0)
    assert frame.loc[0, "exposure_limit_authority"] == "site limit"
    assert "exposure_limit_authority" in frame.loc[2, "reason"]
    lines[1] = lines[1].replace("exposure_limit [ppm]", "exposure_limit")
    survey.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(TableError, match=r"'exposure_limit': the header needs a unit"):
        estimate_table(survey, cartridge=pair)


@pytest.mark.parametrize(
    ("old", "new", "part"),
    [
        ("concentration [ppm]", "concentration", r"column 'concentration': the header needs a unit"),
        ("concentration [ppm]", "concentration [kPa]", "no concentration in air"),
        ("concentration [ppm]", "concentration [mg/g]", "no concentration in air"),
        ("concentration [ppm]", "concentration [g/L]", "no concentration in air"),
        ("temperature [degC]", "temperature [kPa]", "temperature"),
        ("flow_rate [L/min]", "flow_rate [furlong]", "furlong"),
        ("pressure [kPa]", "altitude [m]", "'pressure' is missing"),
    ],
)
def test_headers_without_a_fitting_unit_are_refused(old, new, part, survey, pair):
    survey.write_text(TEXT.replace(old, new), encoding="utf-8")
    with pytest.raises(TableError, match=part):
        estimate_table(survey, cartridge=pair)


def test_a_bare_pandas_frame_is_refused_with_the_way_out(pair):
    frame = pd.DataFrame(
        {"vapour": ["toluene"], "concentration": [100.0], "temperature": [25.0], "relative_humidity": [50.0],
         "pressure": [101.3], "flow_rate": [40.0]}
    )  # fmt: skip
    with pytest.raises(TableError) as caught:
        estimate_table(frame, cartridge=pair)
    assert "'concentration [ppm]'" in str(caught.value)
    assert len(caught.value.problems) == 5


def test_a_table_that_lacks_columns_or_rows(pair):
    with pytest.raises(TableError, match="'concentration' is missing"):
        estimate_table(Table("t", ({"vapour": "toluene", "row": 2},)), cartridge=pair)
    header = TEXT.splitlines()[1]
    frame = pd.DataFrame(columns=header.split(","))
    assert len(estimate_table(frame, cartridge=pair)) == 0


def test_what_holds_for_a_whole_table_is_refused_at_once(survey, pair):
    with pytest.raises(DomainError, match="challenge_fraction"):
        estimate_table(survey, cartridge=pair, challenge_fraction="50 %")
    with pytest.raises(TypeError, match="describe_bed"):
        estimate_table(survey, cartridge="pair")


# --- processes and threads

CASES = [
    (name, ppm, humid)
    for name in ("toluene", "2-butanone", "benzene", "styrene", "n-hexane")
    for ppm in (1.0, 10.0, 50.0, 100.0, 200.0)
    for humid in (False, True)
]


def test_threads_and_processes_give_what_a_loop_gives(pair, dry_air, humid_air):
    assert len(CASES) == 50

    def run(submit):
        return [
            submit(
                estimate_service_life, name, Quantity(ppm, "ppm"), cartridge=pair,
                air=humid_air if humid else dry_air, work_rate="moderate",
            )
            for name, ppm, humid in CASES
        ]  # fmt: skip

    here = run(lambda f, *args, **kwargs: f(*args, **kwargs))
    plain = [life.as_dict() for life in here]
    with ThreadPoolExecutor(8) as threads:
        assert [future.result().as_dict() for future in run(threads.submit)] == plain
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as processes:
        there = [future.result() for future in run(processes.submit)]
    assert [life.as_dict() for life in there] == plain
    assert there == here
