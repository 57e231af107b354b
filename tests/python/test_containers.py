"""Whatever holds the numbers: same numbers out, in the same container, element by element."""

from __future__ import annotations

import copy
import math
import multiprocessing
import os
import pickle
import re
import threading
import typing
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import dask.array
import numpy as np
import pandas as pd
import polars as pl
import pytest
import xarray as xr
from hypothesis import given
from hypothesis import strategies as st

import afterquench as aq
from acceptance import demo_curve
from scenario import DATA

if typing.TYPE_CHECKING:
    from collections.abc import Callable

CURVE = demo_curve("80CrV2-demo", c=18.0)


class Call(typing.NamedTuple):
    """A public array call of one varying argument, with the range that argument may take."""

    name: str
    of: Callable[..., Any]
    low: float
    high: float
    unit: str


CALLS = [
    Call("temper_parameter", lambda x, **k: aq.temper_parameter(x, 2.0, c=20.0, **k), 100.0, 700.0, "K"),
    Call("temper_parameter by time", lambda x, **k: aq.temper_parameter(200.0, x, c=20.0, **k), 0.1, 48.0, "K"),
    Call("equivalent_time", lambda x, **k: aq.equivalent_time(x, 2.0, 210.0, c=18.0, **k), 150.0, 300.0, "h"),
    Call(
        "equivalent_temperature",
        lambda x, **k: aq.equivalent_temperature(x, 2.0, 1.0, c=18.0, **k),
        150.0,
        600.0,
        "degC",
    ),
    Call("two_hour_equivalent", lambda x, **k: aq.two_hour_equivalent(x, 4.0, c=18.0, **k), 150.0, 600.0, "degC"),
    Call("constant_from_carbon", lambda x, **k: aq.constant_from_carbon(x, **k), 0.2, 1.1, ""),
    Call("convert_hardness", lambda x, **k: aq.convert_hardness(x, "HRC", "HV", **k), 20.0, 68.0, "HV"),
    Call("convert_hardness back", lambda x, **k: aq.convert_hardness(x, "HV", "HRC", **k), 240.0, 900.0, "HRC"),
    Call("curve.hardness_after", lambda x, **k: CURVE.hardness_after(x, 2.0, **k), 150.0, 400.0, "HRC"),
]
every = pytest.mark.parametrize("call", CALLS, ids=[call.name for call in CALLS])


def scalars(call: Call, values: np.ndarray) -> np.ndarray:
    """The same, one plain float at a time."""
    return np.array([call.of(float(value)) for value in np.ravel(values)]).reshape(np.shape(values))


def sample(call: Call, shape: tuple[int, ...] = (7,)) -> np.ndarray:
    return np.random.default_rng(7).uniform(call.low, call.high, shape)


@every
def test_a_float_gives_a_plain_float(call: Call) -> None:
    middle = (call.low + call.high) / 2
    for value in (middle, int(middle) if call.low >= 1 else middle, np.float64(middle), np.float32(middle)):
        assert type(call.of(value)) is float
    assert call.of(np.array(middle)) == pytest.approx(call.of(middle), rel=1e-15)


@every
@given(data=st.data())
def test_arrays_equal_scalars_bit_for_bit(call: Call, data: st.DataObject) -> None:
    values = np.array(data.draw(st.lists(st.floats(call.low, call.high), min_size=1, max_size=40)))
    assert call.of(values).tobytes() == scalars(call, values).tobytes()


@every
def test_layouts(call: Call) -> None:
    block = sample(call, (6, 8))
    plain = scalars(call, block)
    for view, expected in [
        (block[::2, 1::3], plain[::2, 1::3]),
        (block.T, plain.T),
        (np.asfortranarray(block), plain),
        (block[::-1], plain[::-1]),
        (np.broadcast_to(block[0], (4, 8)), np.broadcast_to(plain[0], (4, 8))),
        (block[:, :, None][..., [0, 0]], plain[:, :, None][..., [0, 0]]),
        (block.astype(">f8"), plain),
        (block.tolist(), plain),
    ]:
        np.testing.assert_array_equal(call.of(view), expected)
    np.testing.assert_allclose(call.of(block.astype(np.float32)), scalars(call, block.astype(np.float32)), rtol=1e-15)
    read_only = block.copy()
    read_only.flags.writeable = False
    np.testing.assert_array_equal(call.of(read_only), plain)


@every
def test_inputs_stay_as_they_were(call: Call) -> None:
    values = sample(call)
    before = values.copy()
    call.of(values)
    np.testing.assert_array_equal(values, before)


@every
def test_out_and_where(call: Call) -> None:
    values = sample(call)
    plain = scalars(call, values)
    out = np.full(values.shape, -1.0)
    assert call.of(values, out=out) is out
    np.testing.assert_array_equal(out, plain)
    where = np.arange(values.size) % 2 == 0
    out[:] = -1.0
    call.of(values, out=out, where=where)
    np.testing.assert_array_equal(out, np.where(where, plain, -1.0))
    np.testing.assert_array_equal(call.of(values, where=where), np.where(where, plain, np.nan))
    overlapping = values.copy()
    call.of(overlapping, out=overlapping)
    np.testing.assert_array_equal(overlapping, plain)
    shifted = np.concatenate([values, values[:1]])
    call.of(shifted[:-1], out=shifted[1:])
    np.testing.assert_array_equal(shifted[1:], plain)


@every
def test_nothing_outside_where_is_judged(call: Call) -> None:
    values = sample(call)
    values[0] = np.inf
    got = call.of(values, where=np.isfinite(values))
    assert np.isnan(got[0])
    np.testing.assert_array_equal(got[1:], scalars(call, values[1:]))


@every
def test_pandas(call: Call) -> None:
    values = sample(call)
    series = pd.Series(values, index=pd.date_range("2031-01-01", periods=values.size, freq="h"), name="given")
    got = call.of(series)
    assert isinstance(got, pd.Series)
    pd.testing.assert_index_equal(got.index, series.index)
    np.testing.assert_array_equal(got.to_numpy(), scalars(call, values))
    assert series.name == "given"
    assert call.of(pd.Series([], dtype=float)).empty
    frame = pd.DataFrame({"a": values, "b": values[::-1]})
    got = call.of(frame)
    assert isinstance(got, pd.DataFrame)
    assert list(got.columns) == ["a", "b"]


@every
def test_xarray(call: Call) -> None:
    values = sample(call, (3, 4))
    array = xr.DataArray(
        values,
        dims=("part", "load"),
        coords={"part": ["x", "y", "z"]},
        attrs={"units": "wrong", "owner": "me"},
        name="given",
    )
    got = call.of(array)
    assert isinstance(got, xr.DataArray)
    assert got.dims == array.dims
    assert list(got.part.values) == ["x", "y", "z"]
    np.testing.assert_array_equal(got.values, scalars(call, values))
    assert got.attrs.get("units") == call.unit
    assert got.attrs.get("long_name")
    assert "owner" not in got.attrs
    assert array.attrs == {"units": "wrong", "owner": "me"}


@every
def test_dask_stays_lazy(call: Call) -> None:
    values = sample(call, (40,))
    lazy = dask.array.from_array(values, chunks=7)
    got = call.of(lazy)
    assert isinstance(got, dask.array.Array)
    for scheduler in ("synchronous", "threads"):
        np.testing.assert_array_equal(got.compute(scheduler=scheduler), scalars(call, values))


@every
def test_xarray_over_dask_stays_lazy(call: Call) -> None:
    values = sample(call, (6, 4))
    lazy = xr.DataArray(dask.array.from_array(values, chunks=(2, 4)), dims=("part", "load"))
    got = call.of(lazy)
    assert isinstance(got.data, dask.array.Array)
    np.testing.assert_array_equal(got.compute(scheduler="synchronous").values, scalars(call, values))
    assert got.attrs.get("units") == call.unit


def test_dask_refuses_at_compute_time() -> None:
    lazy = aq.temper_parameter(dask.array.from_array(np.array([200.0, -300.0]), chunks=1), 2.0, c=20.0)
    with pytest.raises(aq.InvalidValueError) as caught:
        lazy.compute(scheduler="synchronous")
    assert caught.value.argument == "temperature_c"
    assert caught.value.value == -300.0


@every
def test_polars(call: Call) -> None:
    values = sample(call)
    got = call.of(pl.Series("given", values))
    assert isinstance(got, pl.Series)
    np.testing.assert_array_equal(got.to_numpy(), scalars(call, values))


@every
def test_masked_values_are_not_judged(call: Call) -> None:
    values = sample(call)
    masked = np.ma.masked_array(values, mask=np.arange(values.size) == 2)
    got = call.of(masked)
    plain = scalars(call, values)
    kept = np.arange(values.size) != 2
    np.testing.assert_array_equal(np.ma.getdata(got)[kept], plain[kept])
    if isinstance(got, np.ma.MaskedArray):
        assert bool(np.ma.getmaskarray(got)[2])
    hidden = np.ma.masked_array(np.where(kept, values, np.nan), mask=~kept)
    np.testing.assert_array_equal(np.ma.getdata(call.of(hidden))[kept], plain[kept])


@every
def test_quantities_are_right_or_refused(call: Call) -> None:
    pint = pytest.importorskip("pint")
    uncertainties = pytest.importorskip("uncertainties")
    middle = (call.low + call.high) / 2
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    for carrier in (registry.Quantity(middle, "degC"), uncertainties.ufloat(middle, 1.0)):
        with pytest.raises(aq.ArgumentTypeError) as caught:
            call.of(carrier)
        assert len(str(caught.value)) > 40


def test_everything_broadcasts() -> None:
    temperature, time, c = (
        np.array([180.0, 200.0, 220.0])[:, None, None],
        np.array([1.0, 2.0])[:, None],
        np.array([15.0, 20.0]),
    )
    got = aq.temper_parameter(temperature, time, c=c)
    assert got.shape == (3, 2, 2)
    np.testing.assert_array_equal(got[2, 1], [aq.temper_parameter(220.0, 2.0, c=float(one)) for one in c])


def objects() -> dict[str, Any]:
    log = aq.read_log(DATA / "scenario_a" / "oven_log.csv", load_s=3000.0)
    plan = aq.plan(CURVE, target_hrc=(58.0, 60.0))
    tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
    readings = aq.Readings([59.0, 59.3, 59.1], "HRC", thickness_mm=3.0, tester=tester)
    return {
        "Estimate": aq.Estimate(60.0, 0.5, "HRC"),
        "estimate with shape": aq.equivalent_time_estimate(250.0, 2.0, 210.0),
        "converted estimate": aq.convert_hardness_estimate(690.0, "HV", "HRC"),
        "History": aq.combine([(200.0, 2.0)], c=20.0),
        "History over a range": aq.combine([(200.0, 2.0)], c=(15.0, 20.0)),
        "TemperingCurve": CURVE,
        "Steel": aq.steel("52100"),
        "steels": aq.steels(),
        "OvenLog": log,
        "Soak": log.soak(3.0, surroundings="fan air"),
        "repair": log.repairs[0],
        "Plan": plan,
        "schedule": plan.best,
        "Tester": tester,
        "Readings": readings,
        "doubt": aq.Readings([55.0], "HRC", thickness_mm=0.6).doubts[0],
        "Decision": aq.decide(readings, lower=58.0, upper=60.0),
        "root": CURVE.temperatures_for(59.0, 2.0)[0],
        "models": aq.models(),
    }


NAMES = [
    "Estimate",
    "estimate with shape",
    "converted estimate",
    "History",
    "History over a range",
    "TemperingCurve",
    "Steel",
    "steels",
    "OvenLog",
    "Soak",
    "repair",
    "Plan",
    "schedule",
    "Tester",
    "Readings",
    "doubt",
    "Decision",
    "root",
    "models",
]


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    return objects()


@pytest.mark.parametrize("name", NAMES)
def test_public_objects_pickle_and_show_no_address(made: dict[str, Any], name: str) -> None:
    thing = made[name]
    for protocol in (2, pickle.HIGHEST_PROTOCOL):
        again = pickle.loads(pickle.dumps(thing, protocol))
        assert type(again) is type(thing)
        assert repr(again) == repr(thing)
    assert repr(copy.deepcopy(thing)) == repr(thing)
    assert not re.search(r"0x[0-9a-f]{6,}", repr(thing)), repr(thing)
    assert len(repr(thing)) > 8


def test_a_pickled_history_goes_on(made: dict[str, Any]) -> None:
    again = pickle.loads(pickle.dumps(made["History"]))
    for history in (again, made["History"]):
        more = history.then([0.0, 3600.0], [210.0, 210.0])
        assert more.two_hour_equivalent_c > history.two_hour_equivalent_c
    assert again.parameter == made["History"].parameter


def test_a_pickled_curve_answers_the_same(made: dict[str, Any]) -> None:
    again = pickle.loads(pickle.dumps(CURVE))
    for temperature in np.linspace(150, 385, 23):
        assert again.hardness_after(temperature, 4.0) == CURVE.hardness_after(temperature, 4.0)


def work(_: object) -> tuple[float, float, float]:
    big = np.linspace(150.0, 300.0, 300_000)
    return (
        float(aq.equivalent_time(big, 2.0, 210.0, c=18.0).sum()),
        float(aq.convert_hardness(np.linspace(20.0, 68.0, 300_000), "HRC", "HV").sum()),
        float(CURVE.hardness_after(np.linspace(150.0, 400.0, 100_000), 2.0).sum()),
    )


def test_threads_give_the_same_bits() -> None:
    alone = work(None)
    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(work, range(16))) == {alone}


def test_errors_do_not_cross_threads() -> None:
    wrong: list[str] = []

    def ask(number: int) -> None:
        for _ in range(200):
            try:
                aq.temper_parameter(np.array([200.0, -300.0 - number]), 2.0, c=20.0)
            except aq.InvalidValueError as error:
                if error.value != -300.0 - number:
                    wrong.append(f"thread {number} got {error.value}")
            else:
                wrong.append(f"thread {number} was not refused")
            if not math.isfinite(aq.temper_parameter(200.0, 2.0, c=20.0)):
                wrong.append("not finite")

    threads = [threading.Thread(target=ask, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
@pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")
def test_fork_after_use() -> None:
    alone = work(None)
    with multiprocessing.get_context("fork").Pool(2) as pool:
        assert set(pool.map_async(work, range(4)).get(timeout=60)) == {alone}


def test_spawned_processes() -> None:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        (got,) = pool.map_async(work, range(1)).get(timeout=100)
    assert got == work(None)
