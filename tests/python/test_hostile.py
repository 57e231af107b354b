"""Misuse that once got through: each row is refused now, or answered rightly, and says why."""

from __future__ import annotations

import pickle

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
