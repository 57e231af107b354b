"""The oven room through Python: the generated scenarios, containers, bad input, pickling."""

from __future__ import annotations

import io
import math
import pickle
import threading
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest

import afterquench as aq

DATA = Path(__file__).parents[1] / "data"
A = DATA / "scenario_a"
B = DATA / "scenario_b"

SMALL = b"elapsed_s,part_side_degc\n" + b"".join(b"%d,%d\n" % (60 * i, min(20 + 12 * i, 200)) for i in range(135))


@pytest.fixture(scope="module")
def log_a() -> aq.OvenLog:
    return aq.read_log(A / "oven_log.csv", corrections=A / "channels.csv")


@pytest.fixture(scope="module")
def log_b() -> aq.OvenLog:
    return aq.read_log(str(B / "oven_log.csv"), corrections=B / "channels.csv")


def test_traps_of_scenario_a(log_a: aq.OvenLog) -> None:
    """What its generator put in: a spike, nan, a duplicate, a gap, jitter, and loading at 3000 s."""
    kinds = {repair.kind for repair in log_a.repairs}
    assert {"spike", "nan", "duplicate", "gap", "jitter", "empty oven", "correction"} <= kinds
    assert log_a.load_s == pytest.approx(3000, abs=15)
    (gap,) = log_a.gaps
    assert gap.start_s == pytest.approx(8793, abs=10)
    assert gap.end_s == pytest.approx(9365, abs=10)
    frame = log_a.to_frame()
    assert list(frame.columns[:3]) == ["elapsed_s", "air", "part_side"]
    assert frame.part_side.max() < 230
    assert frame.elapsed_s.is_monotonic_increasing
    assert frame.elapsed_s.is_unique


def test_midnight_of_scenario_b(log_b: aq.OvenLog) -> None:
    (midnight,) = [repair for repair in log_b.repairs if repair.kind == "midnight"]
    assert "86370" in midnight.why
    assert log_b.load_s is None


@pytest.mark.parametrize(
    ("c", "truth_a", "truth_b"),
    # Truth of the generated scenarios.
    [(15.0, 221.440, 218.926), (20.0, 221.042, 222.611)],
)
def test_truth_lies_inside(log_a: aq.OvenLog, log_b: aq.OvenLog, c: float, truth_a: float, truth_b: float) -> None:
    for log, truth, widest in ((log_a, truth_a, 7), (log_b, truth_b, 15)):
        low, high = log.history(c=c).estimate.interval()
        assert low < truth < high
        assert high - low < widest


def test_range_over_c(log_a: aq.OvenLog, log_b: aq.OvenLog) -> None:
    """Without c the answer carries the range 15 to 20, and the same with the range named."""
    for log, truth in ((log_a, 221.15), (log_b, 222.251)):
        history = log.history()
        low, high = history.estimate.interval()
        assert low < truth < high
        assert history.estimate.components.keys() >= {"c", "gaps", "channel correction", "beside the part"}
        assert log.history(c=(15, 20)).estimate.interval() == (low, high)
        assert history.estimate.assumptions


def test_gap_bounds_and_policies(log_b: aq.OvenLog) -> None:
    """G09, G11: 220.9 by a line, 220.8 to 230.1 by bounds."""
    line = log_b.history(c=19.5, gaps="line")
    assert line.two_hour_equivalent_c == pytest.approx(220.945, abs=0.5)
    (said,) = [text for text in log_b.history(c=19.5).estimate.assumptions if "gap 1" in text]
    assert "220.8 to 230.1" in said
    with pytest.raises(aq.RefusedError, match="gap"):
        log_b.history(c=19.5, gaps="refuse")
    with pytest.raises(aq.UnknownNameError):
        log_b.history(c=19.5, gaps="ignore")  # type: ignore[arg-type]


def test_air_through_a_lag(log_b: aq.OvenLog) -> None:
    """G12 to G14, and G15: never 230 from the air without a lag."""
    for lag_s, expected in ((200, 225.145), (280, 221.556), (450, 213.963)):
        assert log_b.history(c=19.5, lag_s=lag_s, gaps="line").two_hour_equivalent_c == pytest.approx(expected, abs=0.5)
    text = "".join(f"{row.elapsed_s},{row.air}\n" for row in log_b.to_frame().itertuples())
    alone = aq.read_log(("elapsed_s,air_degc\n" + text).encode()).history(c=19.5)
    low, high = alone.estimate.interval()
    assert low < 214
    assert high > 225
    assert alone.estimate.value < 228
    assert "lag" in alone.estimate.components


def test_wrong_answers_are_not_given(log_a: aq.OvenLog, log_b: aq.OvenLog) -> None:
    """G04, G05, G16: one spike left in (357), the empty oven counted (222.1), the mean of the samples (204)."""
    assert log_a.history(c=20, gaps="line").two_hour_equivalent_c == pytest.approx(221.06, abs=0.3)
    assert log_b.history(c=19.5).estimate.value > 215


def test_one_readable_answer(log_a: aq.OvenLog) -> None:
    text = repr(log_a.history())
    assert text.startswith("History: as 221.")
    assert "for two hours [" in text


def test_sources_agree(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(SMALL)
    frame = pd.read_csv(io.BytesIO(SMALL))
    clocked = frame.assign(time=pd.Timestamp("2031-01-01") + pd.to_timedelta(frame.elapsed_s, unit="s"))
    wanted = aq.read_log(SMALL).to_frame()
    sources: list[object] = [
        path,
        str(path),
        bytearray(SMALL),
        io.BytesIO(SMALL),
        io.StringIO(SMALL.decode()),
        frame,
        pl.DataFrame(frame.to_dict("list")),
        clocked.drop(columns="elapsed_s"),
        clocked.assign(time=clocked.time.astype(str)).drop(columns="elapsed_s"),
        clocked.assign(time=clocked.time.dt.tz_localize("Europe/Berlin")).drop(columns="elapsed_s"),
    ]
    for source in sources:
        pd.testing.assert_frame_equal(aq.read_log(source).to_frame(), wanted)


def test_daylight_saving_is_no_time() -> None:
    """The clock goes from 01:59:50 to 03:00:00 in ten seconds on the last Sunday of March."""
    rows = "timestamp,air_degc\n2031-03-30 01:59:40,200.0\n2031-03-30 01:59:50,200.1\n2031-03-30 03:00:00,200.0\n"
    local = aq.read_log(rows.encode(), timezone="Europe/Berlin")
    assert local.elapsed_s.tolist() == [0, 10, 20]
    back = "timestamp,air_degc\n2031-10-26 02:59:40,200.0\n2031-10-26 02:59:50,200.1\n2031-10-26 02:00:00,200.0\n"
    assert aq.read_log(back.encode(), timezone="Europe/Berlin").elapsed_s.tolist() == [0, 10, 20]
    with pytest.raises(aq.UnknownNameError):
        aq.read_log(rows.encode(), timezone="Europe/Nowhere")


def test_hints() -> None:
    rows = b"t,T1,T2\n0,20,20\n1,30,25\n2,40,30\n"
    hints = {"channels": {"air": "T1", "part_side": "T2", "time": "t"}, "time_unit": "min", "unit": "C"}
    log = aq.read_log(rows, **hints)  # type: ignore[arg-type]
    assert log.channels == {"air": "T1", "part_side": "T2"}
    assert log.elapsed_s.tolist() == [0, 60, 120]
    assert log.values("part_side").tolist() == [20, 25, 30]
    corrected = aq.read_log(rows, corrections={"air": (1.5, 0.5)}, **hints)  # type: ignore[arg-type]
    assert corrected.values("air").tolist() == [21.5, 31.5, 41.5]
    assert aq.read_log(SMALL, load_s=600).load_s == 600
    seen: list[tuple[int, int]] = []
    aq.read_log(SMALL, progress=lambda done, of: seen.append((done, of)))
    assert seen
    assert all(done <= of + 1 for done, of in seen)


def test_corrections_as_a_frame(log_a: aq.OvenLog) -> None:
    frame = pd.read_csv(A / "channels.csv", comment="#")
    assert aq.read_log(A / "oven_log.csv", corrections=frame).to_frame().equals(log_a.to_frame())
    given = {"air": (-0.4, 0.4), "part_side": (0.8, 0.4)}
    assert aq.read_log(A / "oven_log.csv", corrections=given).to_frame().equals(log_a.to_frame())


BAD: list[tuple[str, object, dict[str, object], type[Exception], str]] = [
    ("empty", b"", {}, aq.DataFileError, "no data"),
    ("heading only", b"elapsed_s,air_degc\n", {}, aq.DataFileError, "no data rows"),
    ("one row", b"elapsed_s,air_degc\n0,20\n", {}, aq.DataFileError, "only one data row"),
    ("all nan", b"elapsed_s,air_degc\n0,nan\n10,nan\n", {}, aq.DataFileError, "no temperature channel"),
    ("binary", bytes(i * 7919 % 251 for i in range(3000)), {}, aq.DataFileError, "bytes"),
    ("no time", b"air_degc,remark\n20,a\n21,b\n", {}, aq.DataFileError, "no time column"),
    ("no temperature", b"elapsed_s,remark\n0,a\n1,b\n", {}, aq.DataFileError, "no temperature column"),
    ("which channel", b"elapsed_s,T1,T2\n0,20,20\n10,20,20\n", {}, aq.DataFileError, "several temperature columns"),
    ("°F steady", b"elapsed_s,air\n0,400\n100,401\n200,399\n", {}, aq.DataFileError, "°F"),
    ("two units", b"elapsed_s,air_degc\n0,400\n100,401\n", {"unit": "F"}, aq.DataFileError, "heading says"),
    ("no such file", "no_such_file.csv", {}, aq.DataFileError, "Check the path"),
    ("unknown unit", SMALL, {"unit": "R"}, aq.UnknownNameError, "R"),
    ("unknown column", SMALL, {"channels": {"air": "T9"}}, aq.UnknownNameError, "T9"),
    ("unknown role", SMALL, {"channels": {"moon": "part_side_degc"}}, aq.UnknownNameError, "moon"),
    ("load outside", SMALL, {"load_s": 1e6}, aq.OutOfRangeError, "load_s"),
    ("load nan", SMALL, {"load_s": math.nan}, aq.OutOfRangeError, "load_s"),
    ("correction", SMALL, {"corrections": {"part_side": (1.0, -1.0)}}, aq.InvalidValueError, "corrections"),
    ("correction kind", SMALL, {"corrections": {"part_side": 1.0}}, aq.ArgumentTypeError, "pair"),
    ("correction of no channel", SMALL, {"corrections": {"air": (1.0, 0.1)}}, aq.UnknownNameError, "corrections="),
    ("correction too large", SMALL, {"corrections": {"part_side": (1e308, 1.0)}}, aq.OutOfRangeError, "-100 to 100"),
    ("time units at odds", SMALL, {"time_unit": "h"}, aq.DataFileError, "heading says s and time_unit= says h"),
    ("times beyond reach", b"elapsed_s,air_degc\n-1e308,200\n1e308,200\n", {}, aq.DataFileError, "data row 0"),
    ("times beyond h", b"elapsed_h,air_degc\n0,200\n1e308,200\n", {}, aq.DataFileError, "data row 1"),
    ("no such day", b"time,air_degc\n2024-02-30 10:00:00,200\n2024-02-30 10:01:00,200\n", {}, aq.DataFileError, "30"),
    ("thousands or not", b'elapsed_s,air_degc\n"1,000",200\n"1,010",200\n', {}, aq.DataFileError, "thousands"),
    ("both commas", b"elapsed_s;air_degc\n0;200,5\n1,000;200,5\n", {}, aq.DataFileError, "thousands"),
    ("date order", b"time,air_degc\n03/04/2031 10:00,200\n05/06/2031 10:01,200\n", {}, aq.DataFileError, "2026-03-04"),
    ("a web page", b"<html>\n<body>\n</body>\n</html>\n", {}, aq.DataFileError, "line [1-9]"),
    ("text as a path", SMALL.decode(), {}, aq.ArgumentTypeError, "StringIO"),
    ("a number", 17, {}, aq.ArgumentTypeError, "source"),
    ("empty frame", pd.DataFrame({"elapsed_s": [], "air_degc": []}), {}, aq.DataFileError, "rows"),
]


@pytest.mark.parametrize(("source", "hints", "error", "says"), [row[1:] for row in BAD], ids=[row[0] for row in BAD])
def test_bad_input(source: object, hints: dict[str, object], error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says) as caught:
        aq.read_log(source, **hints)  # type: ignore[arg-type]
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value)


def test_messages_stay_short() -> None:
    """A table of very many columns is described, not repeated."""
    names = ",".join(f"x{index}" for index in range(10_000))
    with pytest.raises(aq.DataFileError, match="and 9987 more") as caught:
        aq.read_log(f"{names}\n{names}\n".encode())
    assert len(str(caught.value)) < 500
    with pytest.raises(aq.UnknownNameError) as unknown:
        aq.read_log(SMALL, channels={"air": "x" * 10_000})
    assert len(str(unknown.value)) < 500


@pytest.mark.parametrize(
    "rows",
    [
        b'elapsed_s,air_degc\n0,200\n"1,000",200\n"2,000",200\n',
        b'elapsed_s,air_degc\n0,200.5\n"1,000",200.5\n"2,000",200.5\n',
        b"elapsed_s;air_degc\n0;200.5\n1,000;200.5\n2,000;200.5\n",
        b"elapsed_s,air_degc\n0,200\n" + b"\n" * 2000 + b'"1,000",200\n"2,000",200\n',
    ],
)
def test_quoted_thousands(rows: bytes) -> None:
    assert aq.read_log(rows).elapsed_s.tolist() == [0, 1000, 2000]


def test_three_decimals_are_decimals() -> None:
    log = aq.read_log(b"elapsed_s;air_degc\n0,000;199,875\n1,000;200,125\n2,000;200,250\n")
    assert log.elapsed_s.tolist() == [0, 1, 2]
    assert log.values("air").tolist() == [199.875, 200.125, 200.25]
    hot = aq.read_log(b'elapsed_s,air_degf\n0,400\n10,"1,000"\n20,"1,000"\n30,"1,000"\n')
    assert hot.values("air")[-1] == pytest.approx((1000 - 32) / 1.8)


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [("03/04/2031", "03/05/2031", "month first"), ("03/04/2031", "04/04/2031", "day first")],
)
def test_order_of_dates_follows_from_the_rows(first: str, second: str, said: str) -> None:
    rows = f"time,air_degc\n{first} 23:59:30,200\n{first} 23:59:45,200\n{second} 00:00:00,200\n{second} 00:00:15,200\n"
    log = aq.read_log(rows.encode())
    assert log.elapsed_s.tolist() == [0, 15, 30, 45]
    (repair,) = [repair for repair in log.repairs if repair.kind == "date order"]
    assert said in repair.why.replace("the ", "")


def test_descending_time_is_turned_round() -> None:
    rows = SMALL.splitlines(keepends=True)
    log = aq.read_log(rows[0] + b"".join(reversed(rows[1:])))
    assert "newest first" in {repair.kind for repair in log.repairs}
    assert log.to_frame().equals(aq.read_log(SMALL).to_frame())


def test_failing_progress_is_passed_on() -> None:
    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        aq.read_log(SMALL, progress=stop)


def test_everything_pickles(log_a: aq.OvenLog, log_b: aq.OvenLog) -> None:
    soak = log_b.soak(4, "still air")
    for thing in (log_b, log_b.gaps[0], soak, log_b.history(c=18), log_b.history()):
        again = pickle.loads(pickle.dumps(thing))
        assert repr(again) == repr(thing)
        assert " at 0x" not in repr(thing)
    assert [repr(r) for r in pickle.loads(pickle.dumps(log_a)).repairs] == [repr(r) for r in log_a.repairs]


def test_continuing_keeps_what_the_record_left_open(log_a: aq.OvenLog) -> None:
    first = log_a.history(c=18)
    then = first.then([0, 7200], [200, 200])
    assert then.two_hour_equivalent_c > first.two_hour_equivalent_c
    assert then.estimate.components["gaps"] == pytest.approx(first.estimate.components["gaps"])


def test_soak(log_b: aq.OvenLog) -> None:
    soak = log_b.soak(diameter_mm=12, surroundings="fan air")
    assert soak.time_constant_s[1] == pytest.approx(336.43, abs=0.01)  # L03
    low, high = soak.start_of_hold.interval()
    assert low < soak.start_of_hold.value < high
    assert soak.minutes_lost.value > 0
    assert {"lag", "position", "gaps"} <= soak.history().estimate.components.keys()
    assert list(soak.to_frame().columns) == ["elapsed_s", "part"]
    with pytest.raises(aq.MissingArgumentError):
        log_b.soak()
    with pytest.raises(aq.RefusedError, match="Biot"):
        log_b.soak(200, "salt", heat_capacity="en-1993-1-2")
    thick = log_b.soak(30, "oil", element=(500.0, 0.05, 0.8))
    assert list(thick.to_frame().columns) == ["elapsed_s", "part", "surface"]
    assert thick.history(c=18).two_hour_equivalent_c < thick.history(c=18, place="surface").two_hour_equivalent_c
    assert "element" in thick.history(c=18).estimate.components
    assert thick.is_through(0.0) == "no"
    with pytest.raises(aq.UnknownNameError):
        log_b.soak(3, "steam")  # type: ignore[arg-type]
    with pytest.raises(aq.RefusedError, match="no air channel"):
        aq.read_log(SMALL).soak(3)


def test_a_hold_that_never_begins_refuses_alone() -> None:
    """Five minutes in oil are too short for 60 mm; what the part got, and how far it is, have answers."""
    log = aq.read_log({"elapsed_s": np.arange(0.0, 301.0, 10.0), "air_degc": np.full(31, 200.0)}, load_s=0)
    soak = log.soak(60, "oil")
    for asked in (lambda: soak.start_of_hold, lambda: soak.minutes_lost, lambda: soak.through().time_s):
        with pytest.raises(aq.NoAnswerError, match=r"within 5 °C of"):
            asked()
    with pytest.raises(aq.NoAnswerError, match=r"its core gets to \d+ °C"):
        _ = soak.start_of_hold
    through = soak.through()
    # The same section in a steady oven of that temperature, by the eigenvalue series.
    steady = aq.is_through(60, "oil", 20, 200, time_s=300)
    assert (through.verdict, soak.is_through(), soak.is_through(300.0)) == ("no", "no", "no")
    for got, expected in ((through.core, steady.core), (through.surface, steady.surface)):
        assert got.value == pytest.approx(expected.value, abs=0.05)
        assert got.interval() == pytest.approx(expected.interval(), abs=0.05)
    assert soak.history(c=18).two_hour_equivalent_c < through.core.value
    assert "never at its hold of 200 °C: core up to" in repr(soak)
    again = pickle.loads(pickle.dumps(soak))
    assert repr(again) == repr(soak)
    assert again.through() == through


def test_a_slow_end_of_the_band_that_the_log_cuts_off_is_said() -> None:
    log = aq.read_log({"elapsed_s": np.arange(0.0, 3601.0, 10.0), "air_degc": np.full(361, 200.0)}, load_s=0)
    soak = log.soak(12, "fan air")
    assert any("record's end" in said for said in soak.start_of_hold.assumptions)
    assert soak.is_through() == "not decided"
    assert soak.is_through(within_delta_c=60.0) == "yes"
    assert log.soak(12, "fan air", h_w_m2k=200.0).is_through(0.0) == "no"
    with pytest.raises(aq.InvalidValueError, match="not positive"):
        soak.through(within_delta_c=0.0)
    with pytest.raises(aq.OutOfRangeError, match="first and last row"):
        soak.through(3601.0)


@pytest.mark.parametrize(("name", "tau_s"), [("scenario_a", 150.0), ("scenario_b", 280.0)])
def test_lag_is_fitted(name: str, tau_s: float) -> None:
    """The time constants that the generator of the invented logs put in."""
    log = aq.read_log(DATA / name / "oven_log.csv")
    low, high = log.fitted_lag_s().interval(0.95)
    assert low < tau_s < high
    assert high - low < tau_s
    fitted = log.soak(4, "still air", h_w_m2k="fit").fitted_h_w_m2k
    assert fitted is not None
    assert fitted.value == pytest.approx(3.925e6 * 0.002 / log.fitted_lag_s().value)
    with pytest.raises(aq.NotDeterminedError, match="beside the part"):
        aq.read_log(SMALL).fitted_lag_s()


@pytest.mark.parametrize(
    ("got", "expected", "tolerance"),
    [
        # L01 to L14, S07 to S09: textbook formulas, by hand.
        (lambda: aq.time_constant_s(3, h_w_m2k=35), 168.214, 0.01),
        (lambda: aq.time_constant_s(3, "still air"), 452.885, 0.01),
        (lambda: aq.time_constant_s(diameter_mm=12), 336.429, 0.01),
        (lambda: aq.biot_number(diameter_mm=12), 0.0035, 1e-5),
        (lambda: aq.time_to_within(3, "fan air", 20, 200, 5) / 60, 10.0467, 0.001),
        (lambda: aq.time_to_within(3, "still air", 20, 200, 5) / 60, 27.0487, 0.001),
        (lambda: aq.lost_hold_min(168.214, 200, c=20), 9.50133, 0.05),
        (lambda: aq.lost_hold_min(452.885, 200, c=20), 25.7495, 0.05),
        (lambda: aq.swing_amplitude_delta_c(15, 600, 168.214), 7.40573, 0.001),
        (lambda: aq.dip_delta_c(25, 60, 168.214), 7.50076, 0.001),
        (lambda: aq.radiation_offset_delta_c(500, 200, 0.05, 0.8, 35), 9.95393, 0.001),
        (lambda: aq.radiation_offset_delta_c(500, 200, 0.05, 0.8, 13), 26.7991, 0.001),
        # EN 1993-1-2:2005 eq. 3.2a, quadrature by an independent code (SciPy).
        (lambda: aq.time_to_within(3, "fan air", 20, 200, 5, h_w_m2k=25, heat_capacity="en-1993-1-2"), 859.43, 0.01),
        (lambda: aq.time_to_within(4, "fan air", 20, 240, 2, h_w_m2k=10, heat_capacity="en-1993-1-2"), 3879.52, 0.01),
    ],
)
def test_lumped(got: object, expected: float, tolerance: float) -> None:
    value = got()  # type: ignore[operator]
    assert isinstance(value, float)
    assert value == pytest.approx(expected, abs=tolerance)


def test_lumped_over_arrays() -> None:
    sizes = np.array([2.0, 3.0, 6.0])
    assert aq.time_constant_s(sizes, "fan air") == pytest.approx(sizes / 3 * 168.214, abs=0.01)
    assert isinstance(aq.time_constant_s(pd.Series(sizes), "fan air"), pd.Series)
    with pytest.raises(aq.InvalidValueError, match="thickness_mm = -3"):
        aq.time_constant_s(-3)
    with pytest.raises(aq.InvalidValueError, match="diameter_mm"):
        aq.biot_number(diameter_mm=0)
    with pytest.raises(aq.MissingArgumentError):
        aq.time_constant_s(3, diameter_mm=12)
    with pytest.raises(aq.OutOfRangeError, match="oven_c"):
        aq.time_to_within(3, "fan air", 20, 900, 5)
    with pytest.raises(aq.InvalidValueError, match="start_c = 200 °C is hotter"):
        aq.lost_hold_min(200, 20, 200, 2, c=20)
    with pytest.raises(aq.MissingArgumentError, match="c is missing"):
        aq.lost_hold_min(168, 200)  # type: ignore[call-arg]


def test_two_tempers_in_one_record_both_count() -> None:
    """Two hours at 220 °C, half an hour on the bench, two at 200 °C, by lags: as the parameter adds them."""
    seconds = np.arange(0.0, 4.6 * 3600, 10.0)
    part, values = 20.0, []
    for second in seconds:
        oven = 220.0 if second < 7200 else 20.0 if second < 9000 else 200.0
        part += 10.0 * (oven - part) / (150.0 if second < 7200 or second >= 9000 else 120.0)
        values.append(part)
    log = aq.read_log({"elapsed_s": seconds, "part_side_degc": np.round(values, 1)})
    assert log.load_s is None
    truth = aq.combine([(v, 10.0 / 3600.0) for v in values if v > 60.0], c=18.0)
    got = log.history(c=18.0).estimate
    assert got.value == pytest.approx(truth.estimate.value, abs=0.3)


def test_an_element_never_puts_the_answer_outside_its_own_range() -> None:
    seconds = np.arange(0.0, 7200.0, 10.0)
    log = aq.read_log({"elapsed_s": seconds, "air_degc": np.full(seconds.size, 200.0)})
    for element in [(500.0, 0.05, 0.8), (900.0, 0.05, 0.8), (1200.0, 0.5, 0.9)]:
        got = log.soak(4, "still air", element=element).history(c=18.0).estimate
        low, high = got.interval()
        assert low < got.value < high < element[0]
    with pytest.raises(aq.InvalidValueError, match="emissivity"):
        log.soak(4, "still air", element=(500.0, 0.05, math.nan))


def test_one_column_for_two_roles_is_refused() -> None:
    with pytest.raises(aq.DataFileError, match="two roles"):
        aq.read_log(b"time,T1\n0,200\n60,200\n120,200\n", time_unit="s", channels={"air": "T1", "part_side": "T1"})


@pytest.mark.parametrize("false", [1372.0, 850.0, 500.0, 300.0, -200.0, 0.0])
def test_one_false_sample_does_not_mislead_the_watch(false: float) -> None:
    seconds, celsius = np.arange(0.0, 3600.0, 10.0), np.full(360, 200.0)
    celsius[180] = false
    watch = aq.OvenWatch(c=20.0, channel="part_side")
    watch.feed(seconds, celsius)
    # An hour at 200 °C by the parameter itself.
    assert watch.so_far.value == pytest.approx(aq.two_hour_equivalent(200.0, 3590.0 / 3600.0, c=20.0), abs=1e-6)
    assert "left out" in " ".join(watch.so_far.assumptions)


def test_a_step_that_stays_counts_as_soon_as_the_next_sample_confirms_it() -> None:
    watch = aq.OvenWatch(c=20.0, channel="part_side")
    watch.feed([0.0, 10.0, 20.0], [25.0, 25.0, 180.0])
    assert watch.part_c == 25.0
    assert "confirms" in " ".join(watch.so_far.assumptions)
    with pytest.raises(aq.InvalidValueError, match="does not come after 20 s"):
        watch.feed(15.0, 180.0)
    watch.feed(30.0, 181.0)
    assert watch.part_c == 181.0
    assert "confirms" not in " ".join(watch.so_far.assumptions)


def test_a_watch_is_fed_by_one_thread_and_asked_by_another() -> None:
    watch, asked = aq.OvenWatch(c=20.0), []
    watch.feed([0.0, 1.0], [200.0, 200.0])

    def ask() -> None:
        asked.extend(watch.so_far.value for _ in range(2000))

    thread = threading.Thread(target=ask)
    thread.start()
    for second in range(2, 2000):
        watch.feed(float(second), 200.0)
    thread.join()
    assert len(asked) == 2000
    assert watch.seconds == 1999.0


@pytest.mark.parametrize("correction", [(0.0, -1.0), (math.nan, 1.0)])
def test_a_watch_refuses_what_can_be_no_correction(correction: tuple[float, float]) -> None:
    with pytest.raises(aq.InvalidValueError, match="no correction"):
        aq.OvenWatch(c=20.0, correction=correction)


@pytest.mark.parametrize("target", [math.nan, 1e6])
def test_minutes_left_until_nonsense_are_refused(target: float) -> None:
    watch = aq.OvenWatch(c=20.0)
    watch.feed([0.0, 3600.0], [200.0, 200.0])
    with pytest.raises(aq.InvalidValueError, match="target_c"):
        watch.left_min(target, 200.0)


def minute_by_minute(**false: float) -> aq.OvenLog:
    """A probe beside a part that heats to 235 °C, a row a minute; `false` readings by their row: r120=133.4."""
    seconds = np.arange(200) * 60.0
    part = 20 + 215 * (1 - np.exp(-seconds / 1200)) + 0.3 * np.sin(seconds)
    for row, value in false.items():
        part[int(row[1:])] = value
    return aq.read_log({"elapsed_s": seconds, "part_side_degc": part})


@pytest.mark.parametrize(
    "false",
    [{"r120": 133.4}, {"r120": 121.6, "r121": 453.2}, {"r120": 453.2, "r121": 121.6}, {"r120": 705.0, "r121": 531.0}],
)
def test_false_samples_a_minute_apart_change_nothing(false) -> None:
    """The true record is the one without them: known by construction."""
    true, log = minute_by_minute(), minute_by_minute(**false)
    assert {repair.kind for repair in log.repairs} == {"spike"}
    assert log.history(c=20.0).two_hour_equivalent_c == pytest.approx(
        true.history(c=20.0).two_hour_equivalent_c, abs=0.2
    )


def every(step_s: float) -> tuple[np.ndarray, np.ndarray]:
    """A true record: heated at 0.12 °C/s to 200 °C and held for three hours."""
    seconds = np.arange(0.0, 10801.0, step_s)
    return seconds, np.minimum(20 + 0.12 * seconds, 200) + 0.3 * np.sin(7 * seconds)


TRUE = 203.1  # °C for two hours at C = 15 to 20: what the true record reads at every step, to 0.3 °C


@pytest.mark.parametrize("step_s", [1.0, 10.0, 60.0])
@pytest.mark.parametrize("rows", [1, 2, 3])
@pytest.mark.parametrize("place", ["middle", "end", "before a hole"])
def test_leaps_of_any_length_change_nothing(step_s: float, rows: int, place: str) -> None:
    """The true record is the one without them: known by construction."""
    seconds, part = every(step_s)
    kept = np.ones(seconds.size, bool)
    first = {"middle": seconds.size // 2, "end": seconds.size - rows, "before a hole": seconds.size // 2}[place]
    if place == "before a hole":
        kept[first + rows : first + rows + int(900 / step_s)] = False
    leapt = part.copy()
    leapt[first : first + rows] = 600.0
    asked = [aq.read_log({"elapsed_s": seconds[kept], "part_side_degc": values[kept]}) for values in (part, leapt)]
    assert "spike" in {repair.kind for repair in asked[1].repairs}
    true, got = (log.history(c=20.0, gaps="line").two_hour_equivalent_c for log in asked)
    assert got == pytest.approx(true, abs=1.0)


def test_four_false_seconds_are_left_out() -> None:
    seconds, part = every(1.0)
    part[5000:5004] = 600.0
    assert aq.read_log({"elapsed_s": seconds, "part_side_degc": part}).history().estimate.value == pytest.approx(
        TRUE, abs=0.5
    )


@pytest.mark.parametrize(("step_s", "fall"), [(1.0, 60.0), (1.0, 100.0), (60.0, 60.0)])
def test_a_glitch_of_two_samples_is_no_loading(step_s: float, fall: float) -> None:
    seconds, part = every(step_s)
    part[seconds.size // 2 : seconds.size // 2 + 2] -= fall
    log = aq.read_log({"elapsed_s": seconds, "part_side_degc": part})
    assert "empty oven" not in {repair.kind for repair in log.repairs}


@pytest.mark.parametrize("step_s", [1.0, 10.0, 60.0])
@pytest.mark.parametrize(
    ("at_s", "hole_s"), [(240.0, 0.0), (900.0, 0.0), (1380.0, 0.0), (5400.0, 0.0), (10620.0, 0.0), (5400.0, 1200.0)]
)
def test_a_switch_of_the_unit_is_refused_wherever_it_is(step_s: float, at_s: float, hole_s: float) -> None:
    """°F by its definition; over a hole only where the record stands still on both sides."""
    seconds, part = every(step_s)
    kept = (seconds < at_s) | (seconds >= at_s + hole_s)
    frame = {"elapsed_s": seconds[kept], "part_side_degc": np.where(seconds < at_s, part, 1.8 * part + 32)[kept]}
    with pytest.raises(aq.DataFileError, match="as if its unit changed"):
        aq.read_log(frame)
    assert any(repair.kind == "unit" for repair in aq.read_log(frame, unit="C").repairs)


def test_a_probe_far_from_hot_air_is_doubted_in_words() -> None:
    seconds, air = every(10.0)
    detached = np.minimum(air, 120 + 0.2 * np.sin(seconds))
    said = aq.read_log({"elapsed_s": seconds, "air_degc": air, "part_side_degc": detached}).history(c=20.0).estimate
    assert any("°C less than the air" in text for text in said.assumptions)
    late = air - 180 * np.exp(-seconds / 2400)
    thick = aq.read_log({"elapsed_s": seconds, "air_degc": air, "part_side_degc": late}).history(c=20.0).estimate
    assert not any("than the air" in text for text in thick.assumptions)


def test_a_door_that_only_the_part_side_saw_is_no_loading() -> None:
    """A thin part at 530 °C that loses 52 °C through a door and comes back by first-order lag, no air channel."""
    seconds = np.arange(12000.0)
    part = np.minimum(20 + 0.4 * seconds, 530.0)
    after = seconds - 8000
    part -= np.where(after < 0, 0, np.where(after < 40, 1.3 * after, 52 * np.exp(-(after - 40) / 150)))
    log = aq.read_log({"elapsed_s": seconds, "part_side_degc": part})
    assert "empty oven" not in {repair.kind for repair in log.repairs}


def test_an_oven_that_cools_while_nothing_is_read_is_no_loading() -> None:
    """By construction: heated, held at 560 °C and cooled, nine minutes of the cooling not recorded."""
    seconds = np.arange(0.0, 11000.0, 20.0)
    part = np.where(seconds < 8600, np.minimum(20 + 0.14 * seconds, 560.0), 20 + 540 * np.exp(-(seconds - 8600) / 3000))
    kept = (seconds < 10020) | (seconds > 10550)
    log = aq.read_log({"elapsed_s": seconds[kept], "part_side_degc": part[kept]})
    assert {repair.kind for repair in log.repairs} == {"gap"}
    assert log.history(c=20.0).two_hour_equivalent_c > 500


def test_a_dead_probe_is_not_believed_against_the_air() -> None:
    seconds = np.arange(900) * 10.0
    air = np.where(seconds < 7800, 20 + 180 * (1 - np.exp(-seconds / 600)), 20 + 180 * np.exp(-(seconds - 7800) / 900))
    log = aq.read_log({"elapsed_s": seconds, "air_degc": air, "part_side_degc": np.full(900, 20.5)})
    with pytest.raises(aq.RefusedError, match="the probe is dead"):
        log.history(c=20.0)
    low, high = log.history(c=20.0, lag_s=(200.0, 450.0)).estimate.interval()
    assert low < 195.0 < high


HEADED = "time [s];T1 [°C];T2 (degC);PV_degc\n" + "".join(
    f"{60 * i};{20 + 3 * i};{21 + 3 * i};{25 + 3 * i}\n" for i in range(60)
)


@pytest.mark.parametrize(
    "channels",
    [
        {"time": "time", "air": "T1", "part_side": "T2"},
        {"time": "time [s]", "air": "T1 [°C]", "part_side": "T2"},
        {"time": "time", "air": "T1", "part_side": "T2 (degC)"},
    ],
)
def test_headings_with_or_without_their_unit(channels: dict[str, str]) -> None:
    frame = pd.read_csv(io.StringIO(HEADED), sep=";")
    for source in (HEADED.encode(), frame, pl.from_pandas(frame)):
        log = aq.read_log(source, channels=channels)
        assert log.channels == {"air": "T1 [°C]", "part_side": "T2 (degC)"}
        assert log.values("air")[1] == 23.0
    assert aq.read_log(HEADED.encode(), channels={"air": "PV", "part_side": "T1"}).channels["air"] == "PV_degc"


def test_a_heading_without_its_unit_must_be_one() -> None:
    both = HEADED.replace("T2 (degC)", "T1 [K]")
    with pytest.raises(aq.RefusedError, match=r"T1 \[°C\], T1 \[K\]"):
        aq.read_log(both.encode(), channels={"air": "T1"})
    assert aq.read_log(both.encode(), channels={"air": "T1 [°C]"}).channels["air"] == "T1 [°C]"
    # A heading that is written just so is meant, whatever others are without their unit.
    assert (
        aq.read_log(HEADED.replace("PV_degc", "T1").encode(), channels={"air": "T1"}, unit="C").channels["air"] == "T1"
    )
    for source in (HEADED.encode(), pd.read_csv(io.StringIO(HEADED), sep=";")):
        with pytest.raises(aq.UnknownNameError, match="with or without their unit"):
            aq.read_log(source, channels={"air": "T9"})


@pytest.mark.parametrize("day", ["3 March 2026", "03-Mar-2026", "Mar-03", "3. März 2026", "3 mars 2026"])
@pytest.mark.parametrize("heading", ["time,air_degc", "date,time,air_degc"])
def test_months_as_words_are_taught(day: str, heading: str) -> None:
    between = "," if heading.startswith("date") else " "
    text = heading + "\n" + "".join(f"{day}{between}10:{i:02d}:00,{200 + i / 10}\n" for i in range(8))
    frame = pd.read_csv(io.StringIO(text))
    for source in (text.encode(), frame):
        with pytest.raises(aq.DataFileError) as caught:
            aq.read_log(source)
        for part in ("line 2", day, "month as a word", "2026-03-04 10:00:00", "day_first="):
            assert part in str(caught.value)


def test_a_marker_is_no_month() -> None:
    rows = [f"10:{i:02d}:00,{200 + i / 10}" for i in range(8)]
    rows.insert(4, "Marker 1: door,")
    assert len(aq.read_log(("time,air_degc\n" + "\n".join(rows) + "\n").encode()).elapsed_s) == 8
