"""The picture of air samples shows each of them once, and the lines that matter at their values."""

from __future__ import annotations

import builtins

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import numpy as np
import pytest
from scipy.special import ndtri

from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.errors import DomainError, UnitsError
from respcalc.plots import plot_samples
from respcalc.workplace.sampling import describe_samples, design_concentration, fit_samples

RESULTS = ["8 ppm", "<5 ppm", "20 ppm", "11 ppm", "<6 ppm", "31 ppm", "14 ppm", "9 ppm"]


@pytest.fixture(autouse=True)
def _closed():
    yield
    plt.close("all")


def group(results=RESULTS, **more):
    return describe_samples("toluene", results, report="invented, 2026", **more)


def marked(ax, marker):
    return [line for line in ax.get_lines() if line.get_marker() == marker]


def upright(ax):
    """Where the upright lines stand, by the words of the legend."""
    return {
        line.get_label().partition(":")[0]: line.get_xdata()[0]
        for line in ax.get_lines()
        if len(set(line.get_xdata())) == 1 and line.get_marker() in ("None", "", None)
    }


def test_measured_results_are_dots_and_limits_open_triangles_that_point_left():
    ax = plot_samples(group())
    (dots,) = marked(ax, "o")
    (limits,) = marked(ax, "<")
    assert sorted(dots.get_xdata()) == pytest.approx([8, 9, 11, 14, 20, 31])
    assert sorted(limits.get_xdata()) == pytest.approx([5, 6])
    assert limits.get_markerfacecolor() == "none"
    assert dots.get_markerfacecolor() != "none"
    assert ax.get_xscale() == "log"
    assert [t.get_text() for t in ax.get_yticklabels()]


def test_the_line_is_that_of_the_fit():
    ax, fit = plot_samples(group()), fit_samples(group())
    line = next(line for line in ax.get_lines() if str(line.get_label()).startswith("lognormal"))
    x, z = line.get_data()
    assert np.log(x) == pytest.approx(fit.mu + np.log(1e6) + fit.sigma * z)
    assert f"GSD {fit.geometric_standard_deviation:.2f}" in line.get_label()


def test_upright_lines_stand_at_their_values():
    design = design_concentration(group(), upset="400 ppm", upset_basis="spill of a drum, calculated")
    found = upright(plot_samples(design, exposure_limit="50 ppm"))
    fit = fit_samples(group())
    assert found == {
        "95th percentile, estimated": pytest.approx(fit.percentile().magnitude),
        "upper tolerance limit 95,95": pytest.approx(fit.upper_limit().magnitude),
        "exposure limit": pytest.approx(50),
        "planned for": pytest.approx(400),
    }


def test_a_group_alone_has_no_planned_value_and_no_limit():
    assert set(upright(plot_samples(group()))) == {"95th percentile, estimated", "upper tolerance limit 95,95"}


def test_too_few_measured_results_have_no_line_but_a_bound():
    ax = plot_samples(group(["<5 ppm", "<6 ppm", "9 ppm"]))
    assert list(upright(ax)) == ["upper limit with an assumed scatter"]
    assert not any(str(line.get_label()).startswith("lognormal") for line in ax.get_lines())
    assert not upright(plot_samples(group(["9 ppm", "8 ppm"])))


def test_the_axis_says_what_and_the_caution_is_there():
    ax = plot_samples(group(group="spray booth"))
    assert ax.get_title() == "toluene, spray booth"
    assert ax.get_xlabel() == "toluene while the respirator was worn (ppm)"
    assert any(" ".join(t.get_text().split()) == SHORT_CAUTION for t in ax.texts)
    ticks = dict(zip([t.get_text() for t in ax.get_yticklabels()], ax.get_yticks(), strict=True))
    assert ticks["50 %"] == pytest.approx(0, abs=1e-12)
    assert ticks["95 %"] == pytest.approx(ndtri(0.95))


def test_it_draws_where_it_is_told_and_touches_no_other_figure():
    figure, (left, right) = plt.subplots(1, 2)
    assert plot_samples(group(), ax=right) is right
    assert plt.get_fignums() == [figure.number]
    assert not left.get_lines()
    figure.canvas.draw()


def test_what_cannot_be_drawn_is_refused_before_anything_is():
    ax = plt.subplots()[1]
    with pytest.raises(UnitsError, match="exposure_limit"):
        plot_samples(group(), exposure_limit="50", ax=ax)
    with pytest.raises(DomainError, match="no long sample"):
        plot_samples(group([], peaks=["4 ppm"]), ax=ax)
    with pytest.raises(TypeError, match="describe_samples"):
        plot_samples(RESULTS, ax=ax)
    assert not ax.get_lines()


def test_without_matplotlib_the_error_says_what_to_install(monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ImportError, match=r'install "respcalc\[plot\]"'):
        plot_samples(group())
