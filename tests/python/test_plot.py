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


@pytest.mark.parametrize(("steel", "window"), [("4140", (40, 42)), ("1084", (59, 61)), ("O1", (60, 62)), ("M2", None)])
def test_legend_strips_and_curve_keep_clear_of_each_other(steel, window):
    ax = aq.plot.tempering_curve(steel, window_hrc=window)
    drawn(ax)
    legend = ax.get_legend().get_window_extent()
    curve = next(line for line in ax.lines if line.get_linewidth() > 1.5)
    points = ax.transData.transform(np.column_stack([curve.get_xdata(), curve.get_ydata()]))
    inside = (points[:, 0] > legend.x0) & (points[:, 0] < legend.x1)
    assert points[inside, 1].max(initial=0.0) < legend.y0
    strips = [patch.get_window_extent() for patch in ax.patches if patch.get_height() < 0.1]
    assert all(strip.y1 < points[:, 1].min() for strip in strips)
    assert all(strip.y1 < legend.y0 for strip in strips)


def test_one_strip_a_hazard_with_the_ends_of_every_source():
    ax = aq.plot.tempering_curve("4140")
    strips = [patch for patch in ax.patches if patch.get_height() < 0.1]
    assert len({patch.get_y() for patch in strips}) == 2
    ends = {(patch.get_x(), patch.get_x() + patch.get_width()) for patch in strips}
    told = [hazard.as_dict() for hazard in aq.steel("4140").hazards if "embrittlement" in hazard.hazard]
    printed = {
        (row["from_c"], row["to_c"]) for row in told if row["from_c"] is not None and row["from_c"] < row["to_c"]
    }
    assert printed <= ends
    labels = ax.get_legend_handles_labels()[1]
    assert "tempered martensite embrittlement, caution (5 sources)" in labels


@pytest.mark.parametrize("steel", ["52100", "5160", "1095", "4140", "O1"])
def test_each_source_has_a_name_of_its_own(steel):
    ax = aq.plot.sources(steel)
    drawn(ax)
    labels = ax.get_legend_handles_labels()[1]
    assert len(labels) == len(set(labels)) == len(aq.steel(steel).curves)


def test_a_doubtful_source_is_dashed_and_says_so():
    ax = aq.plot.sources("5160")
    doubted = [any("doubtful" in note for note in curve.notes) for curve in aq.steel("5160").curves]
    assert any(doubted)
    lines = [line for line in ax.lines if line.get_marker() == "None"]
    assert [line.get_linestyle() == "--" for line in lines] == doubted
    assert ["doubtful" in label for label in ax.get_legend_handles_labels()[1]] == doubted


def test_colour_names_do_not_overprint():
    ax = aq.plot.temper_colours()
    drawn(ax)
    boxes = [text.get_window_extent() for text in ax.texts]
    overprinted = [
        (ax.texts[one].get_text(), ax.texts[other].get_text())
        for one in range(len(boxes))
        for other in range(one)
        if boxes[one].overlaps(boxes[other])
    ]
    assert overprinted == []


@pytest.mark.parametrize("name", ["4140", "O1", "H13", "80CrV2"])
def test_legend_strips_and_curve_stay_apart(name):
    ax = aq.plot.tempering_curve(name)
    ax.figure.canvas.draw()
    legend = ax.get_legend().get_window_extent()
    curve = max(ax.lines, key=lambda line: len(line.get_xdata()))
    places = ax.transData.transform(np.c_[curve.get_xdata(), curve.get_ydata()])
    assert not any(legend.contains(*place) for place in places)
    boxes = [patch.get_window_extent() for patch in ax.patches]
    strips = [box for box in boxes if box.height < 0.1 * ax.bbox.height]
    assert bool(strips) == (name != "H13")
    assert all(strip.y1 < min(legend.y0, places[:, 1].min()) for strip in strips)


def test_neighbouring_colours_are_labelled_apart():
    ax = aq.plot.temper_colours()
    ax.figure.canvas.draw()
    boxes = [text.get_window_extent() for text in ax.texts]
    assert len(boxes) > 20
    assert not any(a.overlaps(b) for place, a in enumerate(boxes) for b in boxes[:place])


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


def test_log_draws_its_set_point():
    """INVENTED log: a set point of 200 °C and an air that overshoots it."""
    rows = [(60 * i, min(212, 20 + 6 * i), min(199, 20 + 5 * i), 200) for i in range(121)]
    text = "elapsed_s,air_degc,part_side_degc,setpoint_degc\n" + "\n".join(",".join(map(str, row)) for row in rows)
    ax = aq.plot.log(aq.read_log(text.encode()))
    drawn(ax)
    line = next(line for line in ax.lines if line.get_label() == "set point")
    assert set(line.get_ydata()) == {200.0}


def test_missing_matplotlib_teaches(monkeypatch, curve):
    monkeypatch.setitem(sys.modules, "matplotlib.pyplot", None)
    with pytest.raises(aq.RefusedError, match=r'pip install "afterquench\[plot\]"'):
        aq.plot.tempering_curve(curve)
