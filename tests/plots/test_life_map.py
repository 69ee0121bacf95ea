"""The map shows the lives of its frame where they belong, hatches what has none, and refuses half a grid."""

from __future__ import annotations

import builtins

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import numpy as np
import pytest

from respcalc import Quantity, describe_bed, sweep_service_life
from respcalc.core.errors import DomainError
from respcalc.estimate import SHORT_CAUTION
from respcalc.plots import plot_life_map

WARMTH, HUMIDITY = np.array([10.0, 20.0, 30.0, 40.0, 50.0]), np.array([0.0, 40.0, 80.0, 100.0])


def frame_of(vapour="2-propanol", warmth=WARMTH, humidity=HUMIDITY, amount="50 ppm", mass="45 g", depth="2.2 cm"):
    grid = np.meshgrid(warmth, humidity)
    return sweep_service_life(
        vapour, amount, temperature=Quantity(grid[0], "degC"), relative_humidity=Quantity(grid[1], "percent"),
        pressure="101.3 kPa", flow_rate="40 L/min",
        cartridge=describe_bed("pair", sorbent_mass=mass, face_area="45 cm2", bed_depth=depth, in_parallel=2),
    )  # fmt: skip


def refused(frame, which):
    """A frame as the sweep makes it where some rows are outside the model."""
    frame.loc[which, ["breakthrough_time [min]", "service_life [min]"]] = np.nan
    frame.loc[which, "reason"] = "outside the model"
    return frame


@pytest.fixture(autouse=True)
def _closed():
    yield
    plt.close("all")


def colours_of(ax):
    """Lives [h] on the picture, humidities down and temperatures across."""
    return ax.collections[0].get_array()


def legend_of(ax):
    return [text.get_text() for text in ax.get_legend().get_texts()] if ax.get_legend() else []


def test_every_life_stands_at_its_temperature_and_humidity():
    frame = refused(frame_of(), [7, 19])
    shown = colours_of(plot_life_map(frame, "2-propanol"))
    assert shown.shape == (HUMIDITY.size, WARMTH.size)
    for row in frame.itertuples(index=False):
        at = list(HUMIDITY).index(round(row[1], 6)), list(WARMTH).index(round(row[0], 6))
        assert np.ma.getmaskarray(shown)[at] == np.isnan(row[frame.columns.get_loc("service_life [min]")])
        if not np.ma.getmaskarray(shown)[at]:
            assert shown[at] == pytest.approx(row[frame.columns.get_loc("service_life [min]")] / 60)


def test_the_order_of_the_rows_does_not_matter():
    frame = frame_of()
    mixed = frame.sample(frac=1.0, random_state=1)
    same = np.ma.allequal(colours_of(plot_life_map(frame, "a")), colours_of(plot_life_map(mixed, "a")))
    assert same


def test_axes_title_and_caution_are_in_words_and_units():
    ax = plot_life_map(frame_of(), "2-propanol")
    assert ax.get_title() == "2-propanol: 50 ppm, 101.3 kPa, 40 L/min"
    assert (ax.get_xlabel(), ax.get_ylabel()) == ("air temperature [degC]", "relative humidity [%]")
    assert ax.get_xlim() == (10.0, 50.0)
    assert ax.get_ylim() == (0.0, 100.0)
    assert SHORT_CAUTION in " ".join(text.get_text() for text in ax.texts).replace("\n", " ")
    assert "service life [h]" in [other.get_ylabel() for other in ax.figure.axes]


def test_a_concentration_by_mass_is_no_one_ppm_and_is_not_told_as_one():
    assert plot_life_map(frame_of(amount="120 mg/m3"), "2-propanol").get_title() == "2-propanol: 101.3 kPa, 40 L/min"


def test_what_the_library_refuses_is_hatched_and_said():
    ax = plot_life_map(refused(frame_of("toluene"), [14, 18, 19]), "toluene")
    assert legend_of(ax) == ["outside the model: no life"]
    assert any(getattr(c, "hatches", None) == ["///"] for c in ax.collections)
    assert not legend_of(plot_life_map(frame_of("toluene"), "toluene"))


def test_immediate_breakthrough_is_hatched_and_said():
    frame = frame_of("toluene", amount="500 ppm", mass="12 g", depth="0.6 cm")
    assert (frame["service_life [min]"] == 0).any()
    assert "immediate breakthrough" in legend_of(plot_life_map(frame, "toluene"))


def test_a_map_without_any_life_is_drawn_all_the_same():
    frame = frame_of()
    ax = plot_life_map(refused(frame, frame.index), "2-propanol")
    assert legend_of(ax) == ["outside the model: no life"]
    ax.figure.canvas.draw()


def test_lines_are_drawn_only_where_a_life_crosses_them():
    ax = plot_life_map(frame_of("toluene"), "toluene", hours=(0.1, 4.0, 400.0))
    assert [text.get_text() for text in ax.texts if text.get_text().endswith(" h")] == ["4 h"]


def test_it_draws_where_it_is_told_and_beside_another():
    figure, (left, right) = plt.subplots(1, 2, layout="constrained")
    assert plot_life_map(frame_of(), "2-propanol", ax=right) is right
    assert plt.get_fignums() == [figure.number]
    assert not left.collections
    figure.canvas.draw()
    assert right.get_position().width > 0.2


@pytest.mark.parametrize("hours", [(), (4.0,), (0.0, 2.0), (4.0, 2.0), (2.0, 2.0)])
def test_hours_that_do_not_rise_from_above_zero_are_refused(hours):
    with pytest.raises(DomainError, match=r"such as \(2, 4, 8\)"):
        plot_life_map(frame_of(), "2-propanol", hours=hours)


@pytest.mark.parametrize("rows", [slice(0, -1), slice(0, 5), [0, 0]])
def test_half_a_grid_or_a_pair_twice_is_refused(rows):
    frame = frame_of()
    part = frame.iloc[rows] if isinstance(rows, slice) else frame.iloc[[*range(len(frame)), 0]]
    with pytest.raises(DomainError, match="no full grid"):
        plot_life_map(part, "2-propanol")


def test_something_else_is_refused():
    with pytest.raises(TypeError, match="sweep_service_life"):
        plot_life_map("map.csv", "2-propanol")


def test_without_matplotlib_the_error_says_what_to_install(monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    frame = frame_of()
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ImportError, match=r'install "respcalc\[plot\]"'):
        plot_life_map(frame, "2-propanol")
