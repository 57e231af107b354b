"""One oven, a file for each channel: two clocks put on one time, with nothing made up in between."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest

import afterquench as aq


def oven(second: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """INVENTED: air that heats with a lag of 600 s, and a part behind it by 200 s (two lags in a row, closed form)."""
    air = 200.0 - 180.0 * np.exp(-second / 600.0)
    part = 200.0 - 180.0 * (600.0 * np.exp(-second / 600.0) - 200.0 * np.exp(-second / 200.0)) / 400.0
    return air, part


def clocked(heading: str, start_s: float, every_s: float, show_s: float, which: int, until_s: float = 9000.0) -> bytes:
    """A file of one sensor whose clock shows so many seconds more than the true one, which starts at 10:00:00."""
    second = np.arange(start_s, until_s, every_s)
    shown = 36000 + np.round(second + show_s).astype(int)
    clock = [f"{s // 3600 % 24:02d}:{s // 60 % 60:02d}:{s % 60:02d}" for s in shown]
    values = oven(second)[which]
    return f"clock,{heading}\n".encode() + b"".join(
        b"%s,%.3f\n" % (t.encode(), v) for t, v in zip(clock, values, strict=True)
    )


def two(ahead_s: float = 0.0, start_s: float = 4.0) -> dict[str, aq.OvenLog]:
    return {
        "air": aq.read_log(clocked("T1_degc", 0.0, 10.0, 0.0, 0)),
        "part_side": aq.read_log(clocked("T2_degc", start_s, 10.0, ahead_s, 1)),
    }


def notes(log: aq.OvenLog) -> dict[str | None, str]:
    return {repair.channel: repair.why for repair in log.repairs if repair.kind == "clock offset"}


def test_files_are_put_on_one_time_and_nothing_is_interpolated() -> None:
    """Quirk 88. Every reading is one of its file's, at most half an interval from its own time."""
    logs = two()
    log = aq.join_logs(logs)
    frame = log.to_frame()
    assert list(frame.columns) == ["elapsed_s", "air", "part_side"]
    assert log.began == "10:00:00"
    for role, which in (("air", 0), ("part_side", 1)):
        # Each file by itself has one temperature, which was taken as air.
        own = logs[role].values("air")
        got = frame[role].dropna().to_numpy()
        assert list(got) == list(own)
        true = oven(np.arange(0.0 if which == 0 else 4.0, 9000.0, 10.0))[which]
        assert got == pytest.approx(true, abs=1e-3)
    assert np.array_equal(frame.elapsed_s, np.arange(0.0, 9000.0, 10.0))
    said = notes(log)
    assert "the one that the others are put on" in said["air"]
    assert "no offset was given" in said["part_side"]
    assert "at most 4.000 s away" in said["part_side"]
    assert "none was interpolated" in said["part_side"]


def test_each_reading_can_stay_where_it_is() -> None:
    log = aq.join_logs(two(), pair_within_s=0)
    frame = log.to_frame()
    assert len(frame) == 1800
    assert frame.air.notna().sum() == frame.part_side.notna().sum() == 900
    assert (frame.air.notna() ^ frame.part_side.notna()).all()
    assert frame.elapsed_s.is_monotonic_increasing
    # The history takes the part side's own rows: the same as from its own file.
    alone = aq.read_log(clocked("part_side_degc", 4.0, 10.0, 0.0, 1))
    assert log.history(c=18).two_hour_equivalent_c == pytest.approx(alone.history(c=18).two_hour_equivalent_c, abs=1e-9)
    assert not log.gaps


@pytest.mark.parametrize("ahead_s", [37.0, -3600.0, 86390.0])
def test_a_clock_that_is_ahead_is_put_right(ahead_s: float) -> None:
    """A part's clock that shows more: the lag between the channels comes back, closed form above."""
    log = aq.join_logs(two(ahead_s), clock_ahead_s={"part_side": ahead_s})
    right = aq.join_logs(two())
    assert log.to_frame().equals(right.to_frame())
    assert log.fitted_lag_s().value == pytest.approx(200.0, rel=0.05)
    assert f"{ahead_s:+g} s ahead, as given" in notes(log)["part_side"]
    if ahead_s == 37.0:
        wrong = aq.join_logs(two(ahead_s)).to_frame().dropna()
        assert wrong.part_side.iloc[0] == right.to_frame().part_side.iloc[0]
        assert wrong.elapsed_s.iloc[0] == 40.0


def test_midnight_between_two_starts() -> None:
    air = aq.read_log(b"clock,T1_degc\n23:59:50,200.1\n00:00:00,200.2\n00:00:10,200.3\n00:00:20,200.2\n")
    part = aq.read_log(b"clock,T2_degc\n00:00:00,199\n00:00:10,199.5\n00:00:20,199.6\n")
    frame = aq.join_logs({"air": air, "part_side": part}).to_frame()
    assert list(frame.elapsed_s) == [0.0, 10.0, 20.0, 30.0]
    assert list(frame.part_side)[1:] == [199.0, 199.5, 199.6]


def test_counters_and_clocks() -> None:
    counter = aq.read_log({"elapsed_s": np.arange(3.0, 600.0, 10.0), "air_degc": np.full(60, 200.0)})
    other = aq.read_log({"elapsed_s": np.arange(0.0, 600.0, 10.0), "T_degc": np.linspace(20.0, 199.0, 60)})
    log = aq.join_logs({"air": counter, "part_side": other})
    assert log.began is None
    assert log.elapsed_s[0] == 3.0
    assert np.nanmax(log.to_frame().part_side) == 199.0
    clock = aq.read_log(clocked("T2_degc", 0.0, 10.0, 0.0, 1, 600.0))
    with pytest.raises(aq.RefusedError, match="different kinds"):
        aq.join_logs({"air": counter, "part_side": clock})
    mixed = aq.join_logs({"air": counter, "part_side": clock}, clock_ahead_s={"part_side": 0.0})
    # Both count from their own first rows: the counter's first is its 3 s.
    assert mixed.elapsed_s[0] == 3.0
    assert mixed.to_frame().part_side.first_valid_index() == 0


def test_holes_and_notes_of_each_file_stay() -> None:
    rows = clocked("T2_degc", 4.0, 10.0, 0.0, 1).splitlines(keepends=True)
    part = aq.read_log(b"".join([*rows[:300], *rows[400:]]))
    log = aq.join_logs({"air": two()["air"], "part_side": part}, load_s=100.0)
    (gap,) = log.gaps
    assert (gap.channel, gap.start_s, gap.end_s) == ("part_side", 2980.0, 3990.0)
    assert log.load_s == 100.0
    assert any(repair.kind == "gap" and repair.channel is None for repair in log.repairs)
    estimate = log.history(c=18).estimate
    assert estimate.components["gaps"] > 0
    assert pickle.loads(pickle.dumps(log)).to_frame().equals(log.to_frame())


def test_three_files_of_other_intervals(tmp_path: Path) -> None:
    (tmp_path / "a_T1.csv").write_bytes(clocked("T1_degc", 0.0, 10.0, 0.0, 0))
    (tmp_path / "a_T2.csv").write_bytes(clocked("T2_degc", 2.0, 15.0, 0.0, 1))
    minutes = "".join(f"{10 + minute // 60}:{minute % 60:02d}:00,200,1\n" for minute in range(150))
    (tmp_path / "a_SP.csv").write_text("clock,SP_degc,T_degc\n" + minutes)
    logs = {
        "air": aq.read_log(tmp_path / "a_T1.csv"),
        "part_side": aq.read_log(tmp_path / "a_T2.csv"),
        "setpoint": aq.read_log(tmp_path / "a_SP.csv"),
    }
    log = aq.join_logs(logs)
    frame = log.to_frame()
    assert frame.part_side.notna().sum() == 600
    assert frame.setpoint.notna().sum() == 150
    assert np.all(np.diff(frame.elapsed_s) > 0)
    assert log.file.count(" + ") == 2
    assert log.soak(3).hold_c == 200.0


@pytest.mark.parametrize(
    ("logs", "hints", "error", "says"),
    [
        (dict, {}, aq.RefusedError, "none"),
        (lambda: {"air": two()["air"]}, {}, aq.RefusedError, "one only"),
        (lambda: {"air": two()["air"], "air ": two()["air"]}, {}, aq.RefusedError, "twice"),
        (
            lambda: {"air": two()["air"], "duty": two()["part_side"]},
            {},
            aq.RefusedError,
            "no channel that could be duty",
        ),
        (two, {"clock_ahead_s": {"part_side": 50_000.0 - 86_400.0}}, aq.RefusedError, "never ran together"),
        (two, {"clock_ahead_s": {"duty": 1.0}}, aq.RefusedError, "clock_ahead_s of duty"),
        (two, {"clock_ahead_s": {"part_side": float("nan")}}, aq.RefusedError, "NaN"),
        (two, {"pair_within_s": -1.0}, aq.RefusedError, "pair_within_s"),
        (two, {"load_s": 1e6}, aq.OutOfRangeError, "first and last row"),
        (lambda: {"air": two()["air"], "part_side": b"a"}, {}, aq.ArgumentTypeError, "no OvenLog"),
        (lambda: {"air": two()["air"], "tool": two()["air"]}, {}, aq.UnknownNameError, "tool"),
    ],
)
def test_what_can_not_be_joined(logs: object, hints: dict[str, object], error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says):
        aq.join_logs(logs(), **hints)  # type: ignore[operator, arg-type]


def test_a_list_of_files_is_told_where_to_go() -> None:
    with pytest.raises(aq.ArgumentTypeError, match="join_logs"):
        aq.read_log(["a_T1.csv", "a_T2.csv"])
