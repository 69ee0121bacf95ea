"""The picture shows the points, the curve and the band of the fit, and what may be read off them."""

from __future__ import annotations

import builtins

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import numpy as np
import pytest

from respcalc import Quantity, describe_bed
from respcalc.cartridges import describe_curve, fit_wheeler_jonas, fit_yoon_nelson
from respcalc.core.cautions import SHORT_CAUTION
from respcalc.plots import plot_curve_fit

TIMES = (45.0, 55.0, 62.0, 70.0, 76.0, 82.0, 90.0, 98.0, 110.0, 130.0)
EXITS = (0.3, 1.4, 4.1, 12.2, 25.0, 43.5, 68.0, 85.0, 95.8, 99.4)  # of a symmetric curve, with a little scatter


def curve(times=TIMES, exits=EXITS, **more):
    return describe_curve(
        "toluene", report="house laboratory, March 2026 (invented)", name="T1",
        worn_time=Quantity(np.asarray(times), "min"), exit_fraction=Quantity(np.asarray(exits), "percent"),
        concentration="1000 ppm", flow_rate="53 L/min", temperature="22 degC", relative_humidity="50 %",
        pressure="101.3 kPa", **more,
    )  # fmt: skip


def bed(**more):
    return describe_bed("pair", sorbent_mass="42 g", face_area="44 cm2", in_parallel=2, **more)


@pytest.fixture(autouse=True)
def _closed():
    yield
    plt.close("all")


def legend_of(ax):
    return [text.get_text() for text in ax.get_legend().get_texts()]


def texts_of(ax):
    return [text.get_text().replace("\n", " ") for text in ax.texts]


def line_of(ax, words):
    (found,) = [line for line in ax.get_lines() if words in line.get_label()]
    return found


def test_the_points_are_the_data_and_the_curve_is_the_fit():
    fit = fit_yoon_nelson(curve())
    ax = plot_curve_fit(fit)
    assert ax.get_xlabel() == "worn time [min]"
    (points,) = ax.containers
    x, y = points[0].get_data()
    assert x == pytest.approx(TIMES)
    assert y == pytest.approx(EXITS)
    x, y = line_of(ax, "fitted: Yoon-Nelson").get_data()
    assert y == pytest.approx(100 * fit.penetration_si(60 * x))
    assert x[0] == 0.0
    assert TIMES[-1] < x[-1] < 1.2 * TIMES[-1]
    assert ax.get_title() == (
        "T1: toluene 1000 ppm, 22 degC, 50 % RH, 53 L/min\nhouse laboratory, March 2026 (invented)"
    )
    assert ax.get_ylabel() == "exit fraction [%]"
    assert SHORT_CAUTION in texts_of(ax)
    ax.figure.canvas.draw()


def test_the_band_is_that_of_the_fit_and_brackets_the_curve():
    fit = fit_wheeler_jonas(curve(), bed())
    ax = plot_curve_fit(fit)
    (band,) = ax.collections
    edge = band.get_paths()[0].vertices
    x, y = line_of(ax, "fitted: Wheeler-Jonas").get_data()
    low, high = fit.band_si(60 * x)
    for k in (40, 120, 160, 200):
        there = edge[np.isclose(edge[:, 0], x[k]), 1]
        assert there.min() == pytest.approx(100 * low[k])
        assert there.max() == pytest.approx(100 * high[k])
        assert there.min() < y[k] < there.max()
    assert "95 % confidence of the curve" in legend_of(ax)


def test_two_points_have_no_band():
    ax = plot_curve_fit(fit_yoon_nelson(curve((70.0, 90.0), (10.0, 70.0))))
    assert not ax.collections
    assert not any("confidence" in text for text in legend_of(ax))
    assert "2 points" in legend_of(ax)
    ax.figure.canvas.draw()


def test_bars_are_drawn_where_the_uncertainty_is_stated():
    assert not plot_curve_fit(fit_yoon_nelson(curve())).containers[0].has_yerr
    ax = plot_curve_fit(fit_yoon_nelson(curve(exit_uncertainty="2 %")))
    (points,) = ax.containers
    ends = [segment[:, 1] for segment in points[2][0].get_segments()]
    assert np.diff(ends, axis=1).ravel() == pytest.approx(4.0)
    assert np.mean(ends, axis=1) == pytest.approx(EXITS)
    assert "10 points, ± 1 standard deviation" in legend_of(ax)


def test_the_marked_times_are_those_that_the_fit_tells():
    fit = fit_yoon_nelson(curve())
    ax = plot_curve_fit(fit)
    for share in (1.0, 50.0):
        x, y = line_of(ax, f"{share:g} % through").get_data()
        assert x[1] == x[2] == pytest.approx(fit.time_at_si(share / 100) / 60)
        assert (y[1], y[2]) == (pytest.approx(share), 0.0)


def test_points_that_are_through_sooner_than_the_curve_are_marked_as_such():
    times = np.arange(40.0, 121.0, 5.0)
    odds = np.where(times < 80, 0.08, 0.25) * (times - 80)  # a foot three times as flat as the shoulder
    fit = fit_yoon_nelson(curve(times, 100 / (1 + np.exp(-odds)), exit_uncertainty="1 %"))
    assert len(fit.lack_of_fit.words) > 1
    ax = plot_curve_fit(fit)
    first = 100 * fit.curve.exit_fractions[0]
    assert first > 1.0
    line = line_of(ax, "1 % through after")
    assert line.get_label().endswith("by the points")
    # from the first point down as flat as the points are, and a little more: before 22.6 min, where the foot leads
    assert 40.0 / first < line.get_xdata()[1] < 80 + np.log(0.01 / 0.99) / 0.08
    notes = " ".join(texts_of(ax))
    assert all(words in notes for words in fit.lack_of_fit.words)
    ax.figure.canvas.draw()
    extents = [text.get_window_extent() for text in ax.texts]
    assert not extents[0].overlaps(extents[1])


def test_a_curve_that_starts_above_the_mark_says_so():
    ax = plot_curve_fit(fit_yoon_nelson(curve((3.0, 20.0, 40.0), (20.0, 45.0, 70.0))))
    assert "1 % through: the fitted curve starts above it" in legend_of(ax)


def test_what_the_fit_assumes_stands_under_it():
    fit = fit_wheeler_jonas(curve(), bed())
    assert any("bulk_density" in text for text in fit.assumptions)
    assert any(fit.assumptions[0] in text for text in texts_of(plot_curve_fit(fit)))


def test_a_long_test_is_drawn_in_hours():
    ax = plot_curve_fit(fit_yoon_nelson(curve([10 * t for t in TIMES])))
    assert ax.get_xlabel() == "worn time [h]"
    assert ax.containers[0][0].get_xdata() == pytest.approx([t / 6 for t in TIMES])
    assert any("50 % through" in text and " h)" in text for text in legend_of(ax))


def test_the_legend_stands_where_the_curve_is_not():
    late = plot_curve_fit(fit_yoon_nelson(curve()))
    early = plot_curve_fit(fit_yoon_nelson(curve((*TIMES, 400.0), (*EXITS, 100.0))))
    for ax in (late, early):
        ax.figure.canvas.draw()
        box = ax.get_legend().get_window_extent()
        assert not any(box.contains(*ax.transData.transform(point)) for point in ax.containers[0][0].get_xydata())


def test_it_draws_where_it_is_told_and_touches_no_other_figure():
    figure, (left, right) = plt.subplots(1, 2)
    assert plot_curve_fit(fit_yoon_nelson(curve()), ax=right) is right
    assert plt.get_fignums() == [figure.number]
    assert not left.get_lines()
    figure.canvas.draw()


def test_something_else_is_refused():
    with pytest.raises(TypeError, match="fit_yoon_nelson"):
        plot_curve_fit(curve())


def test_without_matplotlib_the_error_says_what_to_install(monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    fit = fit_yoon_nelson(curve())
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ImportError, match=r'install "respcalc\[plot\]"'):
        plot_curve_fit(fit)
