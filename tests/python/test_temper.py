"""The temper room through Python: values, containers, policies, threads, processes, pickles, bad input."""

from __future__ import annotations

import concurrent.futures
import multiprocessing
import os
import pickle
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

import afterquench as aq

TEMPERATURES = np.array([180.0, 200.0, 220.0, 250.0])


def plain(temperature_c: Any, time_h: Any, new_temperature_c: Any, c: Any) -> Any:
    """Independent code: the law written out with NumPy."""
    kelvin, new_kelvin = np.asarray(temperature_c, float) + 273.15, np.asarray(new_temperature_c, float) + 273.15
    return 10 ** (kelvin * (c + np.log10(time_h)) / new_kelvin - c)


# --- values


@pytest.mark.parametrize(("c", "hours"), [(15, 36.966), (16, 44.7294), (17, 54.1231), (18, 65.4897), (20, 95.8855)])
def test_longer_at_lower(c: float, hours: float) -> None:
    # By hand: t2 = 10^(T1 (C + lg t1)/T2 - C) in kelvin, printed to six figures.
    assert aq.equivalent_time(250, 2, 210, c=c) == pytest.approx(hours, rel=1e-5)


def test_against_numpy_on_random_holds() -> None:
    random = np.random.default_rng(7)
    t1, t2 = random.uniform(100, 650, (2, 5000))
    h, c = random.uniform(0.01, 50, 5000), random.uniform(12, 25, 5000)
    np.testing.assert_allclose(aq.equivalent_time(t1, h, t2, c=c), plain(t1, h, t2, c), rtol=1e-12)
    flat = (t1 + 273.15) * (c + np.log10(h)) / (c + np.log10(2)) - 273.15
    np.testing.assert_allclose(aq.two_hour_equivalent(t1, h, c=c), flat, rtol=1e-12, atol=1e-10)


def test_fahrenheit_path_is_celsius_path() -> None:
    fahrenheit = np.linspace(300, 1200, 91)
    celsius = (fahrenheit - 32) / 1.8
    rankine = (fahrenheit + 459.67) * (20 + np.log10(2.0))
    np.testing.assert_allclose(aq.temper_parameter(celsius, 2, c=20) * 1.8, rankine, rtol=1e-14)


def test_seconds_and_hours() -> None:
    assert aq.constant_from_seconds(aq.constant_to_seconds(20.0)) == pytest.approx(20, abs=1e-14)
    # The slip of units must not be what C = 20 gives.
    assert aq.equivalent_time(250, 2, 210, c=20) != pytest.approx(188.877, rel=0.1)


def test_the_band_over_c() -> None:
    answer = aq.equivalent_time_estimate(250, 2, 210)
    low, high = answer.interval()
    assert (low, high) == (pytest.approx(36.966, rel=1e-4), pytest.approx(95.8855, rel=1e-4))
    assert any("impractical" in text for text in answer.assumptions)
    assert any("15" in text and "20" in text for text in answer.assumptions)
    assert answer.components["c"] == pytest.approx(answer.u)


def test_c_drops_out_at_the_same_time() -> None:
    answer = aq.equivalent_temperature_estimate(200, 2, 2)
    assert answer.value == pytest.approx(200, abs=1e-10)
    assert answer.u == pytest.approx(0, abs=1e-10)


def test_uncertain_inputs_become_components() -> None:
    uncertainties = pytest.importorskip("uncertainties")
    made = aq.two_hour_equivalent_estimate(aq.Estimate(200, 3, "°C"), aq.Estimate(1.5, 0.05, "h"), c=18)
    t, h = uncertainties.ufloat(200, 3), uncertainties.ufloat(1.5, 0.05)
    log10 = pytest.importorskip("uncertainties.umath").log10
    expected = (t + 273.15) * (18 + log10(h)) / (18 + np.log10(2)) - 273.15
    assert made.value == pytest.approx(expected.n, rel=1e-12)
    assert made.u == pytest.approx(expected.s, rel=1e-3)
    assert set(made.components) >= {"temperature", "time"}


# --- histories


def test_history_splits_anywhere() -> None:
    time = np.arange(0, 9000, 10.0)
    temperature = np.interp(time, [0, 1800, 9000], [20, 203, 198]) + np.sin(time / 70)
    whole = aq.accumulate(time, temperature, c=[15.0, 20.0])
    for cut in (2, 100, 500):
        first = aq.accumulate(time[: cut + 1], temperature[: cut + 1], c=[15.0, 20.0])
        both = first.then(time[cut:], temperature[cut:])
        np.testing.assert_allclose(both.equivalent_hours(200), whole.equivalent_hours(200), rtol=1e-9)


def test_history_agrees_with_scipy() -> None:
    integrate = pytest.importorskip("scipy.integrate")
    c, (seconds, celsius) = 18.0, ([0, 2400, 3120, 3960, 9000], [20, 240, 254, 246, 60])

    def rate(t: float, y: np.ndarray[Any, Any]) -> list[float]:
        kelvin = np.interp(t, seconds, celsius) + 273.15
        return [kelvin / np.log(10) / 3600 * 10 ** (c - y[0] / kelvin)]

    # One second at the first temperature, to begin away from log 0; the result does not depend on it.
    start = 293.15 * (c + np.log10(1 / 3600))
    end = start
    for a, b in pairwise(seconds):
        end = integrate.solve_ivp(rate, (a, b), [end], method="LSODA", rtol=1e-11, atol=1e-8).y[0, -1]
    made = aq.accumulate(seconds, celsius, c=c)
    assert made.parameter == pytest.approx(end, abs=1e-3)


def test_history_of_holds_is_the_plain_formula() -> None:
    made = aq.combine([(200, 2)], c=20)
    assert made.parameter == pytest.approx(aq.temper_parameter(200, 2, c=20), rel=1e-14)
    assert made.two_hour_equivalent_c == pytest.approx(200, abs=1e-10)
    # Acceptance rows H07 and H08.
    assert aq.combine([(200, 2), (220, 2)], c=20).two_hour_equivalent_c == pytest.approx(221.476, abs=5e-4)
    assert aq.combine([(220, 2), (200, 2)], c=20).two_hour_equivalent_c == pytest.approx(221.314, abs=5e-4)


def test_a_range_of_c_gives_a_range() -> None:
    low, high = aq.combine([(200, 2), (230, 0.5)], c=(15, 20)).estimate.interval()
    ends = [aq.combine([(200, 2), (230, 0.5)], c=c).two_hour_equivalent_c for c in (15, 20)]
    assert min(ends) - 0.01 <= low < high <= max(ends) + 0.01


def test_fixed_energy_against_scipy() -> None:
    integrate = pytest.importorskip("scipy.integrate")
    made = aq.equivalent_time_activation([0, 3600, 7200], [200, 220, 200], 150, 200)

    def rate(t: float) -> float:
        kelvin = np.interp(t, [0, 3600, 7200], [200, 220, 200]) + 273.15
        return float(np.exp(-150e3 / 8.314462618 * (1 / kelvin - 1 / 473.15)))

    expected = integrate.quad(rate, 0, 7200, points=[3600], epsabs=0, epsrel=1e-11)[0] / 3600
    assert made == pytest.approx(expected, rel=1e-9)


# --- containers


def test_scalars_give_floats() -> None:
    for value in (250, 250.0, np.float64(250.0)):
        assert type(aq.equivalent_time(value, 2, 210, c=15)) is float


def test_arrays_broadcast() -> None:
    made = aq.equivalent_time(TEMPERATURES[:, None], np.array([1.0, 2.0]), 200, c=18)
    assert made.shape == (4, 2)
    np.testing.assert_allclose(made, plain(TEMPERATURES[:, None], np.array([1.0, 2.0]), 200, 18), rtol=1e-13)
    assert aq.temper_parameter([180, 200], 2, c=18).shape == (2,)
    assert aq.temper_parameter(np.array([180, 200]), 2, c=18).dtype == np.float64
    assert aq.temper_parameter(np.empty(0), 2, c=18).shape == (0,)


def test_strides_and_overlap() -> None:
    base = np.linspace(150, 300, 10_001)
    expected = plain(base, 2, 200, 18)
    np.testing.assert_allclose(aq.equivalent_time(base[::-3], 2, 200, c=18), expected[::-3], rtol=1e-13)
    in_place = base.copy()
    assert aq.equivalent_time(in_place, 2, 200, c=18, out=in_place) is in_place
    np.testing.assert_allclose(in_place, expected, rtol=1e-13)
    shifted = base.copy()
    aq.equivalent_time(shifted[:-1], 2, 200, c=18, out=shifted[1:])
    np.testing.assert_allclose(shifted[1:], expected[:-1], rtol=1e-13)


def test_out_and_where() -> None:
    out = np.full(4, -1.0)
    assert aq.temper_parameter(TEMPERATURES, 2, c=18, out=out, where=[True, False, True, False]) is out
    assert (out[[1, 3]] == -1).all()
    made = aq.temper_parameter(TEMPERATURES, 2, c=18, where=TEMPERATURES > 190)
    assert np.isnan(made[0])
    assert not np.isnan(made[1:]).any()
    bad = np.array([200.0, -300.0])
    assert np.isnan(aq.temper_parameter(bad, 2, c=18, where=[True, False])[1])


def test_series_and_frames() -> None:
    pandas = pytest.importorskip("pandas")
    series = pandas.Series(TEMPERATURES, index=list("abcd"), name="set point")
    made = aq.temper_parameter(series, 2, c=18)
    assert isinstance(made, pandas.Series)
    assert list(made.index) == list("abcd")
    frame = pandas.DataFrame({"x": TEMPERATURES, "y": TEMPERATURES + 5})
    assert isinstance(aq.temper_parameter(frame, 2, c=18), pandas.DataFrame)
    assert aq.accumulate(pandas.Series([0, 3600]), pandas.Series([200, 200]), c=18).parameter > 0


def test_data_arrays() -> None:
    xarray = pytest.importorskip("xarray")
    given = xarray.DataArray(TEMPERATURES, dims="part", attrs={"units": "degC", "note": "mine"}, name="t")
    made = aq.equivalent_time(given, 2, 200, c=18)
    assert made.dims == ("part",)
    assert made.attrs == {"units": "h", "long_name": "equivalent time"}


def test_dask_and_polars() -> None:
    dask = pytest.importorskip("dask.array")
    lazy = aq.temper_parameter(dask.from_array(TEMPERATURES, chunks=2), 2, c=18)
    np.testing.assert_array_equal(lazy.compute(), aq.temper_parameter(TEMPERATURES, 2, c=18))
    bad = aq.temper_parameter(dask.from_array(np.array([200.0, -300.0]), chunks=1), 2, c=18)
    with pytest.raises(aq.InvalidValueError, match="temperature_c = -300"):
        bad.compute()
    polars = pytest.importorskip("polars")
    made = aq.temper_parameter(polars.Series("t", TEMPERATURES), 2.0, c=18.0)
    assert isinstance(made, polars.Series)


def test_masked_elements_never_raise() -> None:
    masked = np.ma.masked_array([200.0, np.nan], mask=[False, True])
    made = aq.temper_parameter(masked, 2, c=18)
    assert made[0] == pytest.approx(aq.temper_parameter(200, 2, c=18))


def test_quantities_are_explained() -> None:
    pint = pytest.importorskip("pint")
    degrees = pint.UnitRegistry(autoconvert_offset_to_baseunit=True).Quantity([200.0], "degC")
    with pytest.raises(aq.ArgumentTypeError, match="m_as"):
        aq.temper_parameter(degrees, 2, c=18)
    uncertainties = pytest.importorskip("uncertainties")
    with pytest.raises(aq.ArgumentTypeError, match="_estimate"):
        aq.temper_parameter(uncertainties.ufloat(200, 1), 2, c=18)


# --- policies and bad input

BAD_HOLDS = [
    ((np.inf, 2), "temperature_c"),
    ((-np.inf, 2), "temperature_c"),
    ((-273.15, 2), "temperature_c"),
    ((-300, 2), "temperature_c"),
    ((200, 0), "time_h"),
    ((200, -1), "time_h"),
    ((200, np.inf), "time_h"),
]


@pytest.mark.parametrize(("hold", "argument"), BAD_HOLDS)
@pytest.mark.parametrize("policy", ["raise", "nan"])
def test_no_policy_accepts(hold: tuple[float, float], argument: str, policy: Any) -> None:
    for make in (float, lambda value: np.array([np.nan, value, value])):
        with pytest.raises(aq.InvalidValueError) as caught:
            aq.temper_parameter(make(hold[0]), make(hold[1]), c=18, out_of_range=policy)
        assert caught.value.argument == argument
        assert caught.value.value in hold


def test_errors_count_over_all_elements() -> None:
    given = np.full(200_000, 200.0)
    given[[3, 70_000, 199_999]] = -300
    with pytest.raises(aq.InvalidValueError) as caught:
        aq.temper_parameter(given, 2, c=18)
    assert (caught.value.failed, caught.value.of, caught.value.value) == (3, 200_000, -300)
    with pytest.raises(aq.InvalidValueError, match="3 of 200000"):
        aq.temper_parameter(given, 2, c=18, out=np.empty_like(given))


def test_nan_in_gives_nan_out() -> None:
    assert np.isnan(aq.temper_parameter(np.nan, 2, c=18))
    assert np.isnan(aq.equivalent_time([200, np.nan], 2, 210, c=18)).tolist() == [False, True]


def test_an_answer_beyond_numbers_is_an_error() -> None:
    with pytest.raises(aq.NoAnswerError):
        aq.equivalent_time(600, 2, -250, c=20)
    with pytest.raises(aq.NoAnswerError):
        aq.equivalent_temperature(200, 2, 1e-21, c=20)


@pytest.mark.parametrize(
    "function",
    [aq.temper_parameter, aq.equivalent_time, aq.equivalent_temperature, aq.two_hour_equivalent, aq.accumulate],
)
def test_c_must_be_said(function: Any) -> None:
    arguments = (200.0, 2.0, 210.0)[: 3 if "equivalent_t" in function.__name__ else 2]
    if function is aq.accumulate:
        arguments = ([0, 1], [200, 200])
    with pytest.raises(aq.MissingArgumentError, match="constant_from_carbon"):
        function(*arguments)


@pytest.mark.parametrize("bad", ["warm", "200", object(), {"a": 1}, ["200", "x"], [[1.0, 2.0], [3.0]], 1j])
def test_what_is_no_number(bad: Any) -> None:
    with pytest.raises((aq.ArgumentTypeError, aq.AfterquenchError)):
        aq.temper_parameter(bad, 2, c=18)


BAD_TRACES: list[tuple[Any, Any]] = [
    ([0, 1], [200]),
    ([0], [200]),
    ([], []),
    ([0, np.nan], [200, 200]),
    ([0, 1], [200, np.nan]),
    ([0, 1], [200, np.inf]),
    ([0, 1], [200, -300]),
    ([1, 0], [200, 200]),
    ([[0, 1]], [[200, 200]]),
    (["a", "b"], [200, 200]),
]


@pytest.mark.parametrize(("time_s", "temperature_c"), BAD_TRACES)
def test_traces_that_cannot_be(time_s: Any, temperature_c: Any) -> None:
    with pytest.raises(aq.AfterquenchError) as caught:
        aq.accumulate(time_s, temperature_c, c=18)
    assert len(str(caught.value)) > 30


@pytest.mark.parametrize("holds", [[], [(200, 0)], [(200, -1)], [(-300, 2)], [(200, np.inf)], [(200,)], "200"])
def test_holds_that_cannot_be(holds: Any) -> None:
    with pytest.raises(aq.AfterquenchError):
        aq.combine(holds, c=18)


@pytest.mark.parametrize("c", [np.nan, np.inf, (20, 15), (15,), [], "20"])
def test_constants_that_cannot_be(c: Any) -> None:
    with pytest.raises(aq.AfterquenchError):
        aq.combine([(200, 2)], c=c)


# --- threads, processes, pickles


def test_the_number_of_threads_changes_nothing() -> None:
    given = np.random.default_rng(3).uniform(100, 650, 500_003)
    results = []
    for count in (1, 2, 3, 7):
        aq.set_threads(count)
        results.append(aq.equivalent_time(given, 2, 200, c=18))
    aq.set_threads(None)
    for result in results[1:]:
        np.testing.assert_array_equal(result, results[0])
    with pytest.raises(aq.InvalidValueError):
        aq.set_threads(0)


def test_many_python_threads() -> None:
    given = np.linspace(100, 650, 300_000)
    expected = aq.equivalent_time(given, 2, 200, c=18)
    with concurrent.futures.ThreadPoolExecutor(8) as pool:
        for result in pool.map(lambda _: aq.equivalent_time(given, 2, 200, c=18), range(24)):
            np.testing.assert_array_equal(result, expected)


def _in_child(queue: Any) -> None:
    queue.put(float(aq.equivalent_time(np.full(300_000, 250.0), 2, 210, c=15).sum()))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_forked_process_computes() -> None:
    given = np.full(300_000, 250.0)
    expected = float(aq.equivalent_time(given, 2, 210, c=15).sum())
    context = multiprocessing.get_context("fork")
    queue = context.SimpleQueue()
    child = context.Process(target=_in_child, args=(queue,))
    child.start()
    child.join(60)
    assert child.exitcode == 0
    assert queue.get() == expected


@pytest.mark.parametrize("c", [18.0, (15.0, 20.0), [15.0, 18.0, 20.0]])
def test_histories_pickle(c: Any) -> None:
    history = aq.accumulate([0, 1800, 9000], [20, 200, 200], c=c)
    again = pickle.loads(pickle.dumps(history))
    np.testing.assert_array_equal(again.parameter, history.parameter)
    np.testing.assert_array_equal(
        again.then([0, 60], [200, 200]).parameter, history.then([0, 60], [200, 200]).parameter
    )
    assert "0x" not in repr(history)
    assert "°C" in repr(history)


def test_functions_pickle() -> None:
    assert pickle.loads(pickle.dumps(aq.equivalent_time)) is aq.equivalent_time
