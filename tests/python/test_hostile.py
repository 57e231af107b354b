"""Misuse that once got through: each row is refused now, or answered rightly, and says why."""

from __future__ import annotations

import pickle
import time

import numpy as np
import pytest

import afterquench as aq

HOLD_S = [0, 3600, 7200]


@pytest.mark.parametrize(
    ("call", "names"),
    [
        (lambda: aq.accumulate(HOLD_S, np.ma.array([200, 900.0, 200], mask=[0, 1, 0]), c=20), "masked"),
        (lambda: aq.accumulate([0, 0], [200, 200], c=20), "no time"),
        (lambda: aq.accumulate([0, 7200], [1e308, 1e308], c=20), "boiling"),
        (lambda: aq.accumulate([0, 7200], [200, 200], c=-20), "no steel's constant"),
        (lambda: aq.accumulate([0, 7200], [200, 200], c=1e300), "no steel's constant"),
        (lambda: aq.equivalent_time_activation([0, 7200], [600, 600], 1e6, 20), "beyond all numbers"),
        (lambda: aq.temper_parameter_estimate(aq.Estimate(392, 1, "degF"), 2, c=20), "degF"),
        (lambda: aq.temper_parameter_estimate(200, 2, c=aq.Estimate(18, 1, "degC")), "degC"),
        (lambda: aq.decide(aq.Estimate(59, 0.1, "HRC"), 58, 60, u=1), "carry their own"),
        (lambda: aq.steel("x" * 100_000), "…"),
        (lambda: aq.plan("O1", target_hrc=(60, 62), as_quenched_hrc=np.nan), "NaN"),
    ],
)
def test_is_refused_in_words(call, names: str) -> None:
    with pytest.raises(aq.AfterquenchError) as refusal:
        call()
    assert names in str(refusal.value)
    assert len(str(refusal.value)) < 1000


def test_quantities_with_units_are_refused_in_columns() -> None:
    pint = pytest.importorskip("pint")
    units = pint.UnitRegistry()
    with pytest.raises(aq.ArgumentTypeError, match="unit of its own"):
        aq.accumulate(units.Quantity([0, 120.0], units.minute), [200, 200], c=20)


def test_an_attribute_that_says_another_unit_is_refused() -> None:
    xr = pytest.importorskip("xarray")
    said = xr.DataArray([392.0], attrs={"units": "degF"})
    with pytest.raises(aq.ArgumentTypeError, match="degF"):
        aq.temper_parameter(said, 2, c=20)
    assert aq.temper_parameter(said.assign_attrs(units="degC"), 2, c=20).attrs["units"] == "K"


def test_what_is_masked_is_no_value() -> None:
    """Below absolute zero under a mask is no error, and the mask stays."""
    made = aq.temper_parameter(np.ma.array([200.0, -400.0], mask=[False, True]), 2, c=20)
    assert list(np.ma.getmaskarray(made)) == [False, True]
    assert made[0] == aq.temper_parameter(200.0, 2, c=20)


def test_a_device_is_not_replaced_by_a_sheet(tmp_path) -> None:
    import os

    plan = aq.plan("O1", target_hrc=(60, 62))
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, "a\0b", None):
        with pytest.raises(aq.RefusedError):
            plan.sheet(path)
    assert pipe.is_fifo()


def test_dask_sends_public_functions_to_other_processes() -> None:
    dask_array = pytest.importorskip("dask.array")
    lazy = aq.temper_parameter(dask_array.from_array(np.array([200.0, 210.0]), chunks=1), 2.0, c=20)
    assert pickle.loads(pickle.dumps(lazy)).compute(scheduler="sync") == pytest.approx(
        aq.temper_parameter(np.array([200.0, 210.0]), 2.0, c=20)
    )


CURVE = aq.TemperingCurve([100, 200, 300], [65, 60, 55], 2.0)
DATES = ["2031-01-01", "2031-02-01", "2031-03-01"]
COUPONS = {
    "coupon": list("abcd"),
    "temper_degc": [180, 200, 220, 240],
    "hold_h": [2] * 4,
    "r1": [61.0, 60.0, 59.0, 58.0],
}


@pytest.mark.parametrize(
    ("call", "names"),
    [
        (lambda: aq.explain_soft(57, aq.plan(CURVE, (59, 61)), as_quenched_hrc=np.nan), "as_quenched_hrc"),
        (lambda: aq.explain_soft(57, aq.plan(CURVE, (59, 61)), u_measured=-1), "u_measured"),
        (lambda: aq.explain_soft(57, aq.plan(CURVE, (59, 61)), u_measured=np.nan), "u_measured"),
        (lambda: aq.fit_coupons(COUPONS, tester=aq.Estimate(5, 0.25, "HV")), "HV"),
        (lambda: aq.fit_coupons({**COUPONS, "hold_h": [2, 2, 2, 1e9]}), "time_h"),
        (lambda: aq.fit_coupons({**COUPONS, "temper_degc": [180, 200, 220, 2000]}), "temperature_c"),
        (lambda: aq.monitor({"date": DATES, "value": [200, 201, 200]}, centre=np.nan), "centre"),
        (lambda: aq.set_threads(5000), "threads"),
        (lambda: aq.controller_settings(aq.OvenModel(600, 1800, 60), sensor_lag_s=np.nan), "sensor_lag_s"),
        (lambda: aq.controller_settings(aq.OvenModel(600, 1800, 60), sensor_lag_s=-1), "sensor lag"),
        (lambda: aq.identify_two_point(10, 1000), "dead time"),
        (lambda: aq.step_metrics([0, 1, 2, 3], [0, np.nan, 0.9, 1]), "must rise"),
        (lambda: aq.step_metrics([3, 2, 1], [0, 1, 1]), "must rise"),
    ],
)
def test_what_a_hostile_reader_tried(call, names: str) -> None:
    with pytest.raises(aq.AfterquenchError, match=names):
        call()


def test_a_compromise_keeps_to_the_tables_of_all() -> None:
    """D2 for 60 HRC and M2 for 62 have no temperature in common: the one needs about 200 °C, the other 500 and more."""
    found = aq.common_window([("D2", 60), ("M2", 62)])
    assert found.low is None
    assert str(found).startswith("no common temperature: D2")
    assert all(part["p_inside"] < 0.5 for part in found.parts)


def test_a_value_without_uncertainty_on_a_limit_is_inside() -> None:
    decided = aq.decide(aq.Estimate(58, 0, "HRC"), 58, 60)
    assert decided.verdict == "pass"
    assert decided.p_inside == 1.0
    assert aq.decide([58.0], 58, 60, u=0.0).p_inside[0] == 1.0


def test_a_day_by_the_second_is_identified_as_soon_as_an_hour() -> None:
    """A lag of 1800 s after a dead time of 60 s: its own answer to full power, by the exponential."""
    seconds = np.arange(0.0, 9000.0, 0.1)
    celsius = 20 + 600 * np.where(seconds > 60, 1 - np.exp(-(seconds - 60) / 1800), 0)
    began = time.perf_counter()
    model = aq.identify_oven(seconds, celsius)
    assert time.perf_counter() - began < 20.0
    assert model.tau_s.value == pytest.approx(1800, rel=0.01)
    assert model.theta_s.value == pytest.approx(60, abs=3)
