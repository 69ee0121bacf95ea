"""The picture shows what the result says, with its caution, and needs matplotlib only when drawn."""

from __future__ import annotations

import builtins
import subprocess
import sys

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import pytest

from respcalc import describe_air, describe_bed, estimate_service_life
from respcalc.estimate import SHORT_CAUTION
from respcalc.plots import plot_breakthrough


def life(mass="45 g", depth="2.2 cm", amount="200 ppm", humidity="50 %"):
    return estimate_service_life(
        "toluene", amount, work_rate="moderate",
        cartridge=describe_bed("pair", sorbent_mass=mass, face_area="45 cm2", bed_depth=depth),
        air=describe_air(temperature="25 degC", relative_humidity=humidity, altitude="0 m"),
    )  # fmt: skip


@pytest.fixture(autouse=True)
def _closed():
    yield
    plt.close("all")


def legend_of(ax):
    return [text.get_text() for text in ax.get_legend().get_texts()]


def test_the_curve_meets_the_marked_lines_where_the_result_says():
    result = life()
    ax = plot_breakthrough(result)
    curve, criterion, breakthrough, service = ax.get_lines()
    hour = 3600.0 if ax.get_xlabel() == "time of use [h]" else 60.0
    assert breakthrough.get_xdata()[0] == pytest.approx(result.breakthrough.value / hour)
    assert service.get_xdata()[0] == pytest.approx(result.life.value / hour)
    assert criterion.get_ydata()[0] == pytest.approx(2.0)
    x, y = curve.get_data()
    assert (y[1:] >= y[:-1]).all()
    below, above = y[x < breakthrough.get_xdata()[0]], y[x > breakthrough.get_xdata()[0]]
    assert below.max() < 2.0 < above.min()
    texts = legend_of(ax)
    assert f"predicted breakthrough: {result.breakthrough.printed}" in texts
    assert f"service life after margin: {result.life.printed}" in texts
    assert "counts as breakthrough: 2 ppm" in texts
    assert "toluene (CAS 108-88-3" in ax.get_title()
    assert ax.get_ylabel() == "exit concentration [ppm]"
    assert SHORT_CAUTION in [text.get_text() for text in ax.texts]
    assert SHORT_CAUTION in [child.get_text() for child in ax.get_children() if hasattr(child, "get_text")]


def test_it_draws_where_it_is_told_and_touches_no_other_figure():
    figure, (left, right) = plt.subplots(1, 2)
    assert plot_breakthrough(life(), ax=right) is right
    assert plt.get_fignums() == [figure.number]
    assert not left.get_lines()
    figure.canvas.draw()


def test_a_short_life_is_drawn_in_minutes():
    ax = plot_breakthrough(life(mass="24 g", depth="1.1 cm", amount="1000 ppm"))
    assert ax.get_xlabel() == "time of use [min]"


def test_an_immediate_breakthrough_has_no_times_to_mark():
    result = life(mass="10 g", depth="0.5 cm", amount="500 ppm")
    assert result.immediate
    ax = plot_breakthrough(result)
    texts = legend_of(ax)
    assert "immediate breakthrough: no service life" in texts
    assert not any("service life after margin" in text for text in texts)
    assert ax.get_lines()[0].get_ydata()[0] > 5.0
    ax.figure.canvas.draw()


def test_something_else_is_refused():
    with pytest.raises(TypeError, match="estimate_service_life"):
        plot_breakthrough("toluene")


def test_without_matplotlib_the_error_says_what_to_install(monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    result = life()
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(ImportError, match=r'install "respcalc\[plot\]"'):
        plot_breakthrough(result)


def test_importing_the_plots_does_not_import_matplotlib(monkeypatch):
    from pathlib import Path

    import respcalc

    monkeypatch.setenv("PYTHONPATH", str(Path(respcalc.__file__).parents[1]))
    code = "import sys, respcalc.plots; sys.exit('matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
