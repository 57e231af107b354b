"""Drift of ovens and testers: acceptance rows D09 to D11, SciPy's line, printed charts, bad input."""

from __future__ import annotations

import pickle

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import afterquench as aq
from acceptance import DATA, Acceptance, answers, said

MONTHS = [f"2031-{month:02}-05" for month in range(1, 13)]


def checks(n: int | None = None) -> pd.DataFrame:
    """The monthly checks of the invented shop B, the first n of them."""
    return pd.read_csv(DATA / "scenario_b" / "monthly_checks.csv", comment="#").head(n)


def slope_and_half(monitor: aq.Monitor) -> tuple[float, float]:
    low, high = monitor.slope.interval(0.95)
    return monitor.slope.value, 0.5 * (high - low)


@answers("D09")
def test_drift_over_a_year(row: Acceptance) -> None:
    assert row.expected == "0.27 +- 0.12 degC per month (95 %): drifting"
    made = aq.monitor(checks(), limit=3)
    assert slope_and_half(made) == pytest.approx((0.27, 0.12), abs=row.allowed)
    assert made.verdict == "drifting"
    assert "reference may drift too" in said(made.cautions)
    assert "second" in said(made.cautions)
    # Independent code: SciPy's regression on the same days.
    frame = checks()
    months = pd.to_datetime(frame["date"]).diff().dt.days.fillna(0).cumsum() / 30.436875
    line = stats.linregress(months, frame["reference_degc"] - frame["controller_degc"])
    assert made.slope.value == pytest.approx(line.slope, rel=1e-12)
    assert made.slope.u == pytest.approx(line.stderr, rel=1e-12)


@answers("D10")
def test_four_checks_say_nothing(row: Acceptance) -> None:
    assert row.expected == "0.36 +- 1.52 degC per month: cannot say yet"
    made = aq.monitor(checks(4), limit=3)
    assert slope_and_half(made) == pytest.approx((0.36, 1.52), abs=row.allowed)
    assert made.verdict == "cannot say yet"
    assert made.passes_limit is None


@answers("D11")
def test_when_the_limit_is_passed(row: Acceptance) -> None:
    passed = aq.monitor(checks(), limit=3).passes_limit
    row.near(passed["months"])
    assert passed["earliest"] < passed["date"] < passed["latest"]
    assert f"{passed['date']:%Y-%m}" == "2032-01"


def test_a_tester_from_its_block() -> None:
    frame = {
        "date": MONTHS[:6],
        "scale": ["HRC"] * 6,
        "block_value": [60.2] * 6,
        "r1": [60.2, 60.1, 60.0, 59.8, 59.7, 59.6],
        "r2": [60.2, 60.1, float("nan"), 59.8, 59.7, 59.6],
    }
    made = aq.monitor(frame, limit=1)
    assert made.verdict == "drifting"
    assert made.slope.unit == "HRC/month"
    assert made.slope.value == pytest.approx(-0.125, abs=0.01)
    assert made.passes_limit["level"] == -1
    with pytest.raises(aq.RefusedError, match="one scale"):
        aq.monitor(frame | {"scale": ["HRC", "HRA"] * 3})


def test_run_lengths_by_simulation() -> None:
    # Independent: a million checks of an EWMA in NumPy, steady limits, a shift of one standard deviation.
    rows = {(r["chart"], r["shift"]): r["checks"] for r in aq.monitor({"date": MONTHS, "value": range(12)}).run_lengths}
    assert rows["individuals", 0.0] == pytest.approx(370.4, abs=0.1)
    rng = np.random.default_rng(3)
    limit, lengths = 3 * np.sqrt(0.2 / 1.8), []
    for _ in range(4000):
        z, n = 0.0, 0
        while abs(z) <= limit:
            z, n = 0.2 * (rng.normal() + 1) + 0.8 * z, n + 1
        lengths.append(n)
    assert rows["EWMA", 1.0] == pytest.approx(np.mean(lengths), abs=4 * np.std(lengths) / np.sqrt(4000))


def test_coverage_of_the_slope() -> None:
    # The 95 % range holds the true drift in 95 % of 400 invented ovens, within three standard errors of that share.
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(400):
        values = 0.25 * np.arange(12) + rng.normal(0, 0.5, 12)
        low, high = aq.monitor({"date": MONTHS, "value": values}).slope.interval(0.95)
        held += low <= 0.25 <= high
    assert 0.917 <= held / 400 <= 0.983


def test_frame_pickle_repr() -> None:
    made = aq.monitor(checks(), limit=3)
    assert pickle.loads(pickle.dumps(made)) == made
    assert repr(made).startswith("drifting: +0.27 ± 0.12 °C a month")
    frame = made.to_frame()
    assert list(frame["value"].round(1)) == [-1.1, 0.7, 0.4, 0.2, 1.2, 0.4, 2.4, 1.8, 1.7, 2.4, 1.6, 2.8]
    assert len(made) == 12


@pytest.mark.parametrize(
    ("frame", "keywords", "error"),
    [
        ({"date": MONTHS}, {}, aq.ArgumentTypeError),
        ({"value": [1.0]}, {}, aq.ArgumentTypeError),
        (3.5, {}, aq.ArgumentTypeError),
        ({"date": MONTHS[:2], "value": [1.0, "warm"]}, {}, aq.ArgumentTypeError),
        ({"date": ["last week", "today"], "value": [1.0, 2.0]}, {}, aq.ArgumentTypeError),
        ({"date": MONTHS[:2], "value": [1.0, float("nan")]}, {}, aq.InvalidValueError),
        ({"date": MONTHS[1::-1], "value": [1.0, 2.0]}, {}, aq.InvalidValueError),
        ({"date": MONTHS[:3], "value": [1.0, 2.0]}, {}, aq.RefusedError),
        ({"date": [], "value": []}, {}, aq.AfterquenchError),
        ({"date": MONTHS[:2], "value": [1.0, 2.0]}, {"limit": -3}, aq.InvalidValueError),
        ({"date": MONTHS[:2], "value": [1.0, 2.0]}, {"weight": 0}, aq.InvalidValueError),
        ({"date": MONTHS[:2], "value": [1.0, 2.0]}, {"u_reference": float("nan")}, aq.InvalidValueError),
    ],
)
def test_bad_checks_are_refused(frame: object, keywords: dict[str, float], error: type[Exception]) -> None:
    with pytest.raises(error):
        aq.monitor(frame, **keywords)


@pytest.mark.parametrize("values", [[0.3], [0.3, 0.3], [0.3] * 12])
def test_few_or_identical_checks_are_an_answer(values: list[float]) -> None:
    made = aq.monitor({"date": MONTHS[: len(values)], "value": values}, limit=3)
    assert made.verdict == ("steady" if len(values) == 12 else "cannot say yet")
    assert made.passes_limit is None


@pytest.mark.parametrize("date", ["3 March 2031", "03-Mar-2031", "Mar-03", "2031-03-05xx", "05/03/2031", None, 7.5])
def test_dates_that_are_not_read_are_taught(date: object) -> None:
    with pytest.raises(aq.ArgumentTypeError) as caught:
        aq.monitor({"date": ["2031-01-05", "2031-02-05", date], "value": [1.0, 2.0, 1.5]})
    for part in (repr(date), "row 3", "the year first, as 2031-01-05", "pandas"):
        assert part in str(caught.value)


def test_dates_of_any_library() -> None:
    text = ["2031-01-05", "2031-02-05", "2031-03-05"]
    made = aq.monitor({"date": text, "value": [1.0, 2.0, 1.5]})
    for dates in (
        pd.to_datetime(text),
        pd.to_datetime(text).date,
        [f"{day} 10:30" for day in text],
        [f"{day}T10:30:00Z" for day in text],
        np.array(text, dtype="datetime64[D]"),
        np.array(text, dtype="datetime64[ns]"),
    ):
        assert aq.monitor({"date": dates, "value": [1.0, 2.0, 1.5]}) == made
