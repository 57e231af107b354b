"""How the oven behaves, what the record's parts did, the run that is watched, and the controller."""

from __future__ import annotations

import pickle

import matplotlib as mpl
import numpy as np
import pytest

import afterquench as aq
from scenario import DATA

mpl.use("Agg")

A = DATA / "scenario_a" / "oven_log.csv"
B = DATA / "scenario_b" / "oven_log.csv"


def log_of(air: np.ndarray, step_s: float = 30.0) -> aq.OvenLog:
    rows = "".join(f"{step_s * i:g},{value:.2f}\n" for i, value in enumerate(air))
    return aq.read_log(("elapsed_s,air_degc\n" + rows).encode())


def test_doors_of_the_invented_logs() -> None:
    """The generator opened the doors at 6600 s (the lowest reading in the file is 196.0) and at 5400 s (24 °C)."""
    (peek,) = aq.read_log(A).behaviour().doors
    assert peek.start_s == pytest.approx(6600.0, abs=15.0)
    assert peek.lowest_c == pytest.approx(196.0)
    (door,) = aq.read_log(B).behaviour().doors
    assert door.start_s == pytest.approx(5400.0, abs=35.0)
    assert door.drop_delta_c == pytest.approx(24.0, abs=2.5)
    assert door.recovered_s > door.lowest_s > door.start_s


def test_duty_of_the_right_sized_oven() -> None:
    """35.2 % in the last 30 min of the hold, by the generator; 35 to 50 % is right-sized."""
    seen = aq.read_log(A).behaviour()
    assert seen.mean_duty_percent == pytest.approx(35.2, abs=3.0)
    assert seen.times_too_strong is not None
    low, high = seen.times_too_strong.interval(0.95)
    assert low < 1.15
    assert high > 1.0


def test_swing_is_found() -> None:
    time = np.arange(0, 14400, 10.0)
    air = np.minimum(20 + time / 10, 200 + 3 * np.sin(2 * np.pi * time / 600))
    seen = log_of(air, 10.0).behaviour(200)
    assert seen.swing_delta_c == pytest.approx(3.0, abs=0.1)
    assert seen.period_s == pytest.approx(600.0, abs=11.0)
    assert seen.droop_delta_c is not None
    assert seen.droop_delta_c.value == pytest.approx(0.0, abs=0.15)
    steady = log_of(np.full(400, 198.0)).behaviour(200)
    assert steady.swing_delta_c is None
    assert steady.droop_delta_c is not None
    assert steady.droop_delta_c.value == pytest.approx(-2.0)


def test_never_there() -> None:
    seen = log_of(np.full(100, 150.0)).behaviour(200)
    assert seen.reached_s is None
    assert seen.settled_s is None
    assert seen.overshoot_delta_c == pytest.approx(-50.0)
    with pytest.raises(aq.MissingArgumentError, match="setpoint_c"):
        log_of(np.full(100, 150.0)).behaviour()
    with pytest.raises(aq.InvalidValueError):
        log_of(np.full(100, 150.0)).behaviour(200, 0)


@pytest.mark.parametrize("path", [A, B], ids="AB")
@pytest.mark.parametrize("from_air", [False, True])
def test_contributions_add_up(path, from_air) -> None:
    log = aq.read_log(path)
    got = log.soak(4, "still air").history(c=18) if from_air else log.history(c=18)
    parts = {part["label"]: part for part in got.contributions}
    assert sum(part["share"] for part in parts.values()) == pytest.approx(1.0, abs=1e-9)
    assert {"heat-up", "hold", "cool-down"} <= set(parts)
    if path == A:
        assert parts["before loading"]["share"] == 0.0
        assert parts["before loading"]["seconds"] == pytest.approx(3000.0, abs=15.0)
        assert parts["hold"]["share"] > 0.8
    else:
        assert parts["overshoot"]["share"] > 0.5
    assert all(part["share"] >= 0 for part in parts.values())


# Points of the acceptance rows H11 and H12: minutes and °C of a steel that overshot.
OVERSHOT = np.array([[0, 20], [40, 240], [52, 254], [66, 246], [85, 207], [100, 200], [220, 200], [340, 60]], float)


@pytest.mark.parametrize(("c", "expected"), [(15, 231.579), (20, 234.402)])
def test_a_watched_run_ends_where_the_record_does(c, expected) -> None:
    watch = aq.OvenWatch(c=c, channel="part_side", longest_gap_s=1e6)
    watch.feed(60 * OVERSHOT[:, 0], OVERSHOT[:, 1])
    assert watch.so_far.value == pytest.approx(expected, abs=0.1)
    assert watch.history.two_hour_equivalent_c == pytest.approx(watch.so_far.value)


def test_past_the_target_there_is_nothing_left() -> None:
    """29 minutes above 240 °C already exceed two hours at 200 °C: the job's own example."""
    watch = aq.OvenWatch(c=(15, 20), channel="part_side", longest_gap_s=1e6)
    watch.feed(60 * OVERSHOT[:4, 0], OVERSHOT[:4, 1])
    assert watch.left_min(200).interval(0.95)[1] < 0
    assert watch.left_min(240, at_c=200).interval(0.95)[0] > 60


@pytest.mark.parametrize(("c", "expected"), [(15, 211.589), (20, 209.966)])
def test_power_cut_and_a_full_cycle(c, expected) -> None:
    """H17 and H18: 75 min at 205 °C, cooled, then two hours; what is left after the cut is 45 min if nothing else."""
    watch = aq.OvenWatch(c=c, channel="part_side", longest_gap_s=1e6)
    watch.feed([0, 4500], [205, 205])
    assert watch.left_min(205).value == pytest.approx(45.0, abs=1e-6)
    watch.feed([4501, 8100, 8101, 15301], [20, 20, 205, 205])
    assert watch.so_far.value == pytest.approx(expected, abs=0.1)


def test_a_watched_air_agrees_with_the_log() -> None:
    log = aq.read_log(B, gaps="line")
    air = log.to_frame()
    watch = aq.OvenWatch(c=19.5, lag_s=280, longest_gap_s=1e6)
    watch.feed(air["elapsed_s"].to_numpy(), air["air"].to_numpy())
    assert watch.so_far.value == pytest.approx(log.history(c=19.5, lag_s=280).two_hour_equivalent_c, abs=1e-6)
    bounded = aq.OvenWatch(c=19.5, lag_s=(200, 450))
    bounded.feed(air["elapsed_s"].to_numpy(), air["air"].to_numpy())
    assert any("hole" in text for text in bounded.so_far.assumptions)
    assert bounded.so_far.u > watch.so_far.u
    assert pickle.loads(pickle.dumps(bounded)) == bounded


def test_a_watch_refuses() -> None:
    watch = aq.OvenWatch(c=18, channel="part_side")
    with pytest.raises(aq.NoAnswerError, match="two samples"):
        _ = watch.so_far
    watch.feed(0, 200)
    watch.feed(60, float("nan"))
    watch.feed(120, 200)
    with pytest.raises(aq.InvalidValueError, match="backwards"):
        watch.feed(60, 200)
    assert watch.seconds == pytest.approx(120.0)
    assert any("missing" in text for text in watch.so_far.assumptions)
    with pytest.raises(aq.ArgumentTypeError):
        aq.OvenWatch(channel="oven")  # type: ignore[arg-type]
    with pytest.raises(aq.InvalidValueError):
        aq.OvenWatch(lag_s=-1)


def test_an_oven_is_identified_from_its_duty() -> None:
    """One lag with dead time under on-off control, made here: its numbers come back."""
    time = np.arange(0, 20000, 10.0)
    duty, air, on, waiting = np.zeros(time.size), np.full(time.size, 20.0), 1.0, [0.0] * 9
    for i in range(1, time.size):
        on = 0.0 if air[i - 1] > 201 else 1.0 if air[i - 1] < 199 else on
        duty[i - 1] = on
        waiting.append(on)
        goal = 20 + 500 * waiting.pop(0)
        air[i] = goal + (air[i - 1] - goal) * np.exp(-10 / 3000)
    duty[-1] = on
    found = aq.identify_oven(time, air + np.random.default_rng(1).normal(0, 0.2, time.size), step=duty)
    for estimate, truth in ((found.gain_c, 500), (found.tau_s, 3000), (found.theta_s, 90)):
        assert estimate.value == pytest.approx(truth, rel=0.02, abs=3)
    rows = "".join(f"{t:g},{a:.2f},{100 * d:g}\n" for t, a, d in zip(time, air, duty, strict=True))
    by_log = aq.identify_oven(aq.read_log(("elapsed_s,air_degc,heater_duty_pct\n" + rows).encode()))
    assert by_log.gain_c.value == pytest.approx(500, rel=0.02)
    assert by_log.power_ratio(200) == pytest.approx(500 / 180, rel=0.03)


def test_settings_carry_their_source_and_cautions() -> None:
    made = aq.controller_settings(aq.OvenModel(1000, 3600, 60), setpoint_c=220, sensor_lag_s=30)
    assert "Skogestad" in made.source
    assert any("mains" in text for text in made.cautions)
    assert made.tried["overshoot_delta_c"] < 3 < made.tried["overshoot_without_anti_windup_delta_c"]
    assert pickle.loads(pickle.dumps(made)) == made
    with pytest.raises(aq.UnknownNameError, match="SIMC"):
        aq.controller_settings(aq.OvenModel(1000, 3600, 60), "the best")
    with pytest.raises(aq.RefusedError, match="full power"):
        aq.controller_settings(aq.OvenModel(100, 3600, 60), setpoint_c=220)


def test_pictures() -> None:
    log = aq.read_log(A)
    ax = aq.plot.log(log, soak=log.soak(4, "still air"))
    labels = " ".join(ax.get_legend_handles_labels()[1])
    assert "door" in labels
    assert "hold begins" in labels
    aq.plot.contributions(log.history(c=18)).figure.canvas.draw()
    settings = aq.controller_settings(aq.OvenModel(1000, 3600, 60), setpoint_c=220)
    aq.plot.controller(settings).figure.canvas.draw()
    mpl.pyplot.close("all")
