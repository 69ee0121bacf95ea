"""The picture of the margin shows every calibrated vapour once and bounds that are the calibration's own."""

from __future__ import annotations

import builtins
import math
from dataclasses import replace

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import numpy as np
import pytest

from respcalc import describe_bed, find_vapour
from respcalc.core.errors import DomainError
from respcalc.estimate import margin_of, reduced_potential, shipped_calibration
from respcalc.plots import plot_margin


@pytest.fixture(autouse=True)
def _closed():
    yield
    plt.close("all")


def part(light):
    """The shipped calibration without one of its two groups, its times taken as read."""
    whole = shipped_calibration()
    kept = whole.light == light
    return replace(
        whole, name="a part", recalled=False, vapours=tuple(np.array(whole.vapours)[kept]), excess=whole.excess[kept],
        potential=whole.potential[kept], light=whole.light[kept],
    )  # fmt: skip


def legend_of(ax):
    return [text.get_text() for text in ax.get_legend().get_texts()]


def points_of(ax):
    return [line for line in ax.get_lines() if line.get_marker() in ("o", "^")]


def bounds_of(ax, colour):
    return [line for line in ax.get_lines() if line.get_color() == colour and line.get_linewidth() == 2.0]


def test_every_calibrated_vapour_is_one_point_at_predicted_over_measured():
    whole = shipped_calibration()
    others, light = points_of(plot_margin())
    assert len(others.get_xdata()) + len(light.get_xdata()) == len(whole.vapours)
    assert light.get_xdata() == pytest.approx(whole.potential[whole.light])
    assert light.get_ydata() == pytest.approx(np.exp(whole.excess[whole.light]))
    assert others.get_ydata() == pytest.approx(np.exp(whole.excess[~whole.light]))


def test_a_bound_is_the_divisor_of_a_cartridge_whose_carbon_is_known():
    known = describe_bed(
        "pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2,
        micropore_volume="0.454 cm3/g", characteristic_energy="19.7 kJ/mol",
    )  # fmt: skip
    vapour = find_vapour("chloroform")
    (bound,) = bounds_of(plot_margin(coverage="95 %"), "C3")
    divisor = np.interp(reduced_potential(vapour), *bound.get_data())
    assert divisor == pytest.approx(margin_of(vapour, known).divisor, rel=0.01)


def test_each_group_is_drawn_as_far_as_its_vapours_reach_and_no_further():
    whole, ax = shipped_calibration(), plot_margin()
    assert {max(line.get_xdata()) for line in bounds_of(ax, "C0")} == {whole.potential[~whole.light].max()}
    assert {max(line.get_xdata()) for line in bounds_of(ax, "C3")} == {whole.potential[whole.light].max()}


def test_more_coverage_lies_higher_and_both_never_fall():
    wide, narrow = bounds_of(plot_margin(coverage=("80 %", "95 %")), "C3")
    assert (np.asarray(wide.get_ydata()) >= np.asarray(narrow.get_ydata())).all()
    for line in (wide, narrow):
        assert (np.diff(line.get_ydata()) >= -1e-12).all()


@pytest.mark.parametrize(
    ("asked", "shown"),
    [("90 %", {"  bound, 90 %"}), (0.9, {"  bound, 90 %"}), (None, {"  bound, 95 %"}),
     (("95 %", 0.8, "80 %"), {"  bound, 95 %", "  bound, 80 %"})],
)  # fmt: skip
def test_one_coverage_or_several(asked, shown):
    assert {text for text in legend_of(plot_margin(coverage=asked)) if "bound" in text} == shown


def test_recalled_times_are_said_to_be_recalled():
    ax = plot_margin()
    assert "no divisor below 1.5: times from memory" in legend_of(ax)
    assert "recalled" in ax.get_title()
    read = legend_of(plot_margin(part(light=False)))
    assert "no divisor below 1.25: lots and tests differ" in read
    assert not any("memory" in text for text in read)


def test_a_group_without_vapours_is_not_drawn():
    plain = plot_margin(part(light=False))
    assert not bounds_of(plain, "C3")
    assert len(points_of(plain)) == 1
    assert plain.get_title() == "a part"
    assert not any("light halogenated" in text for text in legend_of(plain))


def test_a_value_off_the_given_ticks_still_has_its_picture():
    whole = shipped_calibration()
    ax = plot_margin(replace(whole, excess=whole.excess + math.log(30.0)))
    low, high = ax.get_ylim()
    assert low < np.exp(whole.excess.max()) * 30.0 < high
    assert len(ax.get_yticks()) >= 2


def test_it_draws_where_it_is_told_and_touches_no_other_figure():
    figure, (left, right) = plt.subplots(1, 2)
    assert plot_margin(ax=right) is right
    assert plt.get_fignums() == [figure.number]
    assert not left.get_lines()
    figure.canvas.draw()


def test_more_coverage_than_is_supported_is_refused_before_anything_is_drawn():
    ax = plt.subplots()[1]
    with pytest.raises(DomainError, match="support at most"):
        plot_margin(coverage=("80 %", "99 %"), ax=ax)
    assert not ax.get_lines()


def test_something_else_is_refused():
    with pytest.raises(TypeError, match="read_calibration"):
        plot_margin("own_tests.csv")


def test_without_matplotlib_the_error_says_what_to_install(monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ImportError, match=r'install "respcalc\[plot\]"'):
        plot_margin()
