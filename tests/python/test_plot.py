"""Pictures: Axes come back, labels carry units, nothing global changes, importing stays cheap."""

from __future__ import annotations

import subprocess
import sys

import matplotlib as mpl
import numpy as np
import pytest

import afterquench as aq

mpl.use("Agg")

import matplotlib.pyplot as plt


@pytest.fixture(autouse=True)
def _closed():
    before = dict(mpl.rcParams)
    yield
    plt.close("all")
    assert dict(mpl.rcParams) == before


@pytest.fixture
def curve() -> aq.TemperingCurve:
    """INVENTED."""
    return aq.TemperingCurve([150, 200, 250, 300, 400], [62.6, 60.4, 57.8, 55.5, 50.2])


def drawn(ax) -> None:
    assert ax.get_xlabel()
    assert ax.get_ylabel()
    ax.figure.canvas.draw()


def test_package_does_not_import_matplotlib():
    code = "import sys, afterquench as aq; aq.plot; print('matplotlib' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_curve_on_given_and_own_axes(curve):
    _, ax = plt.subplots()
    p = aq.plan(curve, (58, 60))
    assert aq.plot.tempering_curve(curve, ax, window_hrc=(58, 60), hazards=p.hazards) is ax
    drawn(ax)
    assert "°C" in ax.get_xlabel()
    assert "HRC" in ax.get_ylabel()
    labels = " ".join(ax.get_legend_handles_labels()[1])
    assert "covered: 150 to 400 °C" in labels
    assert "caution" in labels
    other = aq.plot.tempering_curve(curve)
    assert other is not ax
    points = next(line for line in other.lines if line.get_marker() == "o")
    assert list(points.get_ydata()) == [62.6, 60.4, 57.8, 55.5, 50.2]
    with pytest.raises(aq.ArgumentTypeError):
        aq.plot.tempering_curve(3)


def test_equivalence_map_meets_the_hold():
    ax = aq.plot.equivalence_map(250, 2, c=(15, 20))
    drawn(ax)
    for line in (line for line in ax.lines if len(line.get_xdata()) > 1):
        assert np.interp(2.0, line.get_xdata(), line.get_ydata()) == pytest.approx(250, abs=0.05)
    # 37 h with C = 15 and 96 h with C = 20 at 210 °C, by hand from M = T(C + lg t).
    hours = [np.interp(-210, -line.get_ydata(), line.get_xdata()) for line in ax.lines if len(line.get_xdata()) > 1]
    assert hours == pytest.approx([37, 96], rel=0.01)
    drawn(aq.plot.equivalence_map(200, 2, c=18))
    with pytest.raises(aq.InvalidValueError):
        aq.plot.equivalence_map(200, -2)


def test_readings_from_an_estimate():
    ax = aq.plot.readings(aq.Estimate(59.7, 0.4, "HRC"), 58, 60)
    drawn(ax)
    with pytest.raises(aq.InvalidValueError):
        aq.plot.readings(aq.Estimate(59.7, 0.4, "HRC"), 60, 58)


def test_readings_with_their_window():
    made = aq.Readings([59.2, 59.6, 59.4], "HRC")
    ax = aq.plot.readings(made, 58, 60)
    drawn(ax)
    points = next(line for line in ax.lines if line.get_label() == "readings")
    assert list(points.get_ydata()) == [59.2, 59.6, 59.4]


def test_log_with_hole_and_repair():
    """INVENTED log: a spike, and a hole of ten minutes."""
    rows = [(60 * i, 200 + 2 * (i % 3), 198 + i % 2) for i in range(121) if not 60 <= i < 70]
    rows[30] = (rows[30][0], 480, rows[30][2])
    text = "elapsed_s,air_degc,part_side_degc\n" + "\n".join(",".join(map(str, row)) for row in rows)
    log = aq.read_log(text.encode())
    ax = aq.plot.log(log)
    drawn(ax)
    labels = ax.get_legend_handles_labels()[1]
    assert {"air", "beside the part", "hole"} <= set(labels)
    assert any("for two hours" in label for label in labels)
    assert "°C" in ax.get_ylabel()
    assert "min" in ax.get_xlabel()


def test_missing_matplotlib_teaches(monkeypatch, curve):
    monkeypatch.setitem(sys.modules, "matplotlib.pyplot", None)
    with pytest.raises(aq.RefusedError, match=r'pip install "afterquench\[plot\]"'):
        aq.plot.tempering_curve(curve)
