"""The curve room through Python, against SciPy, acceptance values and containers."""

from __future__ import annotations

import pickle
import warnings
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

import afterquench as aq

# Invented curves; only their shapes are realistic.
FALLING = (
    [150.0, 175.0, 200.0, 225.0, 250.0, 275.0, 300.0, 350.0, 400.0],
    [62.6, 61.6, 60.4, 59.1, 57.8, 56.6, 55.5, 53.0, 50.2],
)
HUMPED = (
    [150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 525.0, 550.0, 575.0, 600.0],
    [61.5, 60.0, 58.8, 58.2, 58.0, 58.3, 59.2, 60.4, 60.6, 58.9, 55.6, 51.5],
)


@pytest.fixture
def falling() -> aq.TemperingCurve:
    return aq.TemperingCurve(*FALLING, as_quenched_hrc=64.8, name="invented")


@pytest.fixture
def humped() -> aq.TemperingCurve:
    return aq.TemperingCurve(*HUMPED, name="invented hump")


def test_scipy_over_a_grid(falling: aq.TemperingCurve, humped: aq.TemperingCurve) -> None:
    """SciPy's PchipInterpolator (independent code), values and slopes."""
    for curve, (x, y) in ((falling, FALLING), (humped, HUMPED)):
        grid = np.linspace(x[0], x[-1], 1001)
        scipy = PchipInterpolator(x, y)
        np.testing.assert_allclose(curve.hardness_after(grid, 2), scipy(grid), rtol=0, atol=1e-11)
        np.testing.assert_allclose(curve.slope(grid[:-1], 2), scipy(grid[:-1], 1), rtol=0, atol=1e-11)


def test_random_tables_against_scipy() -> None:
    rng = np.random.default_rng(1)
    for _ in range(200):
        n = int(rng.integers(2, 12))
        x = np.cumsum(rng.uniform(1, 80, n)) + 100
        y = np.round(rng.uniform(30, 66, n))
        curve = aq.TemperingCurve(x, y)
        grid = np.linspace(x[0], x[-1], 101)
        np.testing.assert_allclose(curve.hardness_after(grid, 2), PchipInterpolator(x, y)(grid), rtol=0, atol=1e-9)
        for root in curve.temperatures_for(float(np.median(y)), 2):
            assert curve.hardness_after(root.temperature_c, 2) == pytest.approx(float(np.median(y)), abs=1e-8)


@pytest.mark.parametrize(
    ("temperature_c", "time_h", "c", "hrc", "tolerance"),
    [
        pytest.param(212, 2, None, 59.7827, 0.05, id="C01"),
        pytest.param(225, 2, None, 59.1, 1e-9, id="C02"),
        pytest.param(212, 8, 18.2, 58.9545, 0.05, id="C04"),
        pytest.param(212, 8, 15, 58.78, 0.05, id="C05 low"),
        pytest.param(212, 8, 20, 59.03, 0.05, id="C05 high"),
        pytest.param(212, 24, 15, 57.99, 0.05, id="C06 low"),
        pytest.param(212, 24, 20, 58.43, 0.05, id="C06 high"),
    ],
)
def test_acceptance_hardness(
    falling: aq.TemperingCurve, temperature_c: float, time_h: float, c: float | None, hrc: float, tolerance: float
) -> None:
    assert falling.hardness_after(temperature_c, time_h, c=c) == pytest.approx(hrc, abs=tolerance)


def test_acceptance_c03_and_c07(falling: aq.TemperingCurve) -> None:
    with pytest.raises(aq.OutOfRangeError, match=r"nearest temperature covered is 150 °C") as caught:
        falling.hardness_after(140, 2)
    assert (caught.value.low, caught.value.high, caught.value.value) == (150, 400, 140)
    assert falling.slope(200, 2) == pytest.approx(-0.0502979, abs=0.003)


def test_acceptance_roots(falling: aq.TemperingCurve, humped: aq.TemperingCurve) -> None:
    """Rows C08, C09, R01, I01 to I03."""
    roots = humped.temperatures_for(59.0, 2)
    assert [root.side for root in roots] == ["falling", "rising", "over-ageing"]
    assert [root.temperature_c for root in roots] == pytest.approx([239, 441, 549], abs=3)
    assert roots[1].caution is not None
    assert "avoided" in roots[1].caution
    with pytest.raises(aq.SeveralAnswersError, match="rising") as caught:
        humped.temperature_for(59.0, 2)
    assert len(caught.value.answers) == 3
    assert humped.temperature_for(59.0, 2, branch="over-ageing") == pytest.approx(549, abs=3)
    assert [float(root) for root in humped.temperatures_for(61.0, 2)] == pytest.approx([166], abs=3)
    assert falling.temperature_for(62.0, 2) == pytest.approx(165.6, abs=0.5)
    assert falling.temperature_for([60.5, 60.0, 58.0, 59.5, 58.5, 59.0], 2) == pytest.approx(
        np.array([198.0, 208, 246, 217, 236, 227]), abs=1
    )


def test_acceptance_c10_warns(humped: aq.TemperingCurve) -> None:
    with pytest.warns(aq.AfterquenchWarning, match="hump"):
        assert humped.hardness_after(525, 24, c=20) == pytest.approx(56.7, abs=0.3)
    with pytest.warns(aq.AfterquenchWarning, match="hump"):
        humped.hardness_after(np.array([520.0, 525.0]), 24, c=20)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        humped.hardness_after(525, 2)
        humped.hardness_after(580, 2.5, c=20)


def test_acceptance_u01_u02_u03_u07(falling: aq.TemperingCurve) -> None:
    made = falling.hardness_after_estimate(200, 2, as_quenched_hrc=65)
    assert made.value == pytest.approx(60.4, abs=0.1)
    assert made.interval() == pytest.approx((59.0, 61.8), abs=0.1)
    assert made.u == pytest.approx(0.72, abs=0.01)
    assert 100 * made.components["temperature"] ** 2 / made.u**2 == pytest.approx(4.49662, abs=2)
    assert made.components["c"] == 0
    assert any("C drops out" in sentence for sentence in made.assumptions)
    long = falling.hardness_after_estimate(200, 8, as_quenched_hrc=65)
    assert long.value == pytest.approx(59.6, abs=0.1)
    assert long.interval() == pytest.approx((58.1, 61.0), abs=0.11)


def test_monte_carlo_agrees(falling: aq.TemperingCurve) -> None:
    """NumPy draws through SciPy's interpolator: the same inputs, none of our code but the estimate."""
    rng = np.random.default_rng(7)
    n = 400_000
    temperature = 300 + rng.uniform(-5, 5, n) + rng.uniform(-1.5, 1.5, n) + rng.uniform(-1, 1, n) + 273.15
    hours = 6 + rng.uniform(-3, 3, n) / 60
    c = rng.uniform(15, 20, n)
    at_two = temperature * (c + np.log10(hours)) / (c + np.log10(2)) - 273.15
    hrc = PchipInterpolator(*FALLING)(at_two) + rng.normal(0, 0.5, n) + rng.normal(0, 0.5, n)
    made = falling.hardness_after_estimate(300, 6)
    assert made.value == pytest.approx(hrc.mean(), abs=0.02)
    assert made.u == pytest.approx(hrc.std(), abs=0.02)
    assert made.interval() == pytest.approx(tuple(np.quantile(hrc, [0.025, 0.975])), abs=0.06)


def test_estimates_as_inputs(falling: aq.TemperingCurve) -> None:
    sharp = falling.hardness_after_estimate(aq.Estimate(200, 0.1, "degC"), 2)
    blunt = falling.hardness_after_estimate(aq.Estimate(200, 10, "degC"), 2)
    assert sharp.components["temperature"] < 0.01 < blunt.components["temperature"]
    outside = falling.hardness_after_estimate(140, 2, out_of_range="extrapolate")
    assert outside.extrapolated
    assert outside.components["extrapolation"] > 0.1
    at = aq.two_hour_equivalent_estimate(200, 4)
    assert falling.hardness_after_estimate(at, 2).value < 60.4


def test_as_quenched_is_a_check(falling: aq.TemperingCurve) -> None:
    assert falling.hardness_after(200, 2, 65) == pytest.approx(60.4, abs=0.1)
    assert falling.hardness_after(200, 2, 65) != pytest.approx(60.4 * 65 / 64.8, abs=0.02)
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        falling.hardness_after(200, 2, 62)
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        falling.hardness_after(200, 2, 62, out_of_range="nan")
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        falling.hardness_after_estimate(200, 2, 62)


def test_containers(falling: aq.TemperingCurve) -> None:
    pd = pytest.importorskip("pandas")
    xr = pytest.importorskip("xarray")
    series = falling.hardness_after(pd.Series([200.0, 250.0], index=["a", "b"], name="t"), 2)
    assert list(series.index) == ["a", "b"]
    assert series.name is None
    assert series["a"] == pytest.approx(60.4)
    array = falling.hardness_after(xr.DataArray([200.0, 250.0], dims="piece", attrs={"units": "degC"}), 2)
    assert array.dims == ("piece",)
    assert array.attrs["units"] == "HRC"
    back = falling.temperature_for(xr.DataArray([60.4], dims="piece"), 2)
    assert back.attrs["units"] == "degC"
    assert float(back[0]) == pytest.approx(200)
    grid = falling.hardness_after(np.array([[200.0], [250.0]]), np.array([2.0, 4.0]), c=18.0)
    assert grid.shape == (2, 2)
    assert isinstance(falling.hardness_after(200, 2), float)
    assert np.isnan(falling.hardness_after(float("nan"), 2))
    out = np.empty(2)
    assert falling.hardness_after(np.array([200.0, 100.0]), 2, out=out, out_of_range="nan") is out
    assert np.isnan(out[1])
    with pytest.raises(aq.OutOfRangeError) as caught:
        falling.hardness_after(np.array([200.0, 100.0, 90.0]), 2)
    assert (caught.value.failed, caught.value.of) == (2, 3)


def test_pickling_and_repr(falling: aq.TemperingCurve, humped: aq.TemperingCurve) -> None:
    for curve in (falling, aq.TemperingCurve(*HUMPED, time_h=1.5, c=(15, 20), u_curve=0.3, source="mine")):
        again = pickle.loads(pickle.dumps(curve))
        assert again == curve
        assert again.hardness_after(212, curve.time_h) == curve.hardness_after(212, curve.time_h)
        assert "0x" not in repr(curve)
    root = humped.temperatures_for(59, 2)[2]
    assert pickle.loads(pickle.dumps(root)) == root
    assert repr(root) == "Root: 548.9 °C (over-ageing)"


BAD: list[tuple[str, tuple[Any, ...], dict[str, Any], type[Exception]]] = [
    ("one point", ([200], [60]), {}, aq.RefusedError),
    ("empty", ([], []), {}, aq.AfterquenchError),
    ("unequal", ([200, 250], [60]), {}, aq.RefusedError),
    ("not rising", ([250, 200], [58, 60]), {}, aq.RefusedError),
    ("twice", ([200, 200], [60, 59]), {}, aq.RefusedError),
    ("nan", ([200, float("nan")], [60, 59]), {}, aq.RefusedError),
    ("below absolute zero", ([-300, 200], [60, 59]), {}, aq.InvalidValueError),
    ("not HRC", ([200, 250], [60, 720]), {}, aq.OutOfRangeError),
    ("text", (["a", "b"], [60, 59]), {}, aq.ArgumentTypeError),
    ("ragged", ([[200], [1, 2]], [60, 59]), {}, aq.ArgumentTypeError),
    ("no time", ([200, 250], [60, 59], 0), {}, aq.InvalidValueError),
    ("negative u", ([200, 250], [60, 59]), {"u_curve": -1}, aq.InvalidValueError),
    ("range reversed", ([200, 250], [60, 59]), {"c": (20, 15)}, aq.InvalidValueError),
]


@pytest.mark.parametrize(("arguments", "keywords", "error"), [pytest.param(*row[1:], id=row[0]) for row in BAD])
def test_tables_that_are_none(arguments: tuple[Any, ...], keywords: dict[str, Any], error: type[Exception]) -> None:
    with pytest.raises(error):
        aq.TemperingCurve(*arguments, **keywords)


@pytest.mark.parametrize(
    ("call", "error"),
    [
        pytest.param(lambda c: c.hardness_after(212, 8), aq.MissingArgumentError, id="no C"),
        pytest.param(lambda c: c.hardness_after(200, 0, c=18), aq.InvalidValueError, id="no time"),
        pytest.param(lambda c: c.hardness_after(-300, 2), aq.InvalidValueError, id="below absolute zero"),
        pytest.param(lambda c: c.hardness_after(float("inf"), 2), aq.InvalidValueError, id="infinite"),
        pytest.param(lambda c: c.hardness_after("hot", 2), aq.ArgumentTypeError, id="text"),
        pytest.param(lambda c: c.hardness_after(200, 2, out_of_range="clip"), aq.UnknownNameError, id="policy"),
        pytest.param(lambda c: c.hardness_after(200, 2, 1000), aq.OutOfRangeError, id="as quenched"),
        pytest.param(lambda c: c.temperature_for(64, 2), aq.OutOfRangeError, id="too hard"),
        pytest.param(lambda c: c.temperature_for(59, 2, branch="up"), aq.UnknownNameError, id="branch"),
        pytest.param(lambda c: c.temperature_for(59, 2, branch="rising"), aq.NoAnswerError, id="not on branch"),
        pytest.param(lambda c: c.temperatures_for([59, 60], 2), aq.ArgumentTypeError, id="several"),
        pytest.param(lambda c: c.hardness_after_estimate(float("nan"), 2), aq.AfterquenchError, id="nan estimate"),
        pytest.param(lambda c: c.hardness_after_estimate(140, 2), aq.OutOfRangeError, id="outside"),
        pytest.param(
            lambda c: c.hardness_after_estimate(0, 2, out_of_range="extrapolate"), aq.OutOfRangeError, id="far outside"
        ),
        pytest.param(
            lambda c: c.hardness_after_estimate(200, 2, position_delta_c=-1), aq.InvalidValueError, id="negative spread"
        ),
    ],
)
def test_calls_that_are_refused(falling: aq.TemperingCurve, call: Any, error: type[Exception]) -> None:
    with pytest.raises(error):
        call(falling)


@pytest.mark.parametrize("call", ["plan", "hardness_after", "hardness_after_estimate"])
def test_a_part_softer_than_the_mildest_temper_did_not_harden(call: str) -> None:
    """A temper only softens on a falling curve: 52 HRC can't become 62.6 (common practice, no source)."""
    own = aq.TemperingCurve([150, 200, 250], [62.6, 60.4, 57.8])
    asked = {
        "plan": lambda reading: aq.plan(own, target_hrc=(58, 60), as_quenched_hrc=reading),
        "hardness_after": lambda reading: own.hardness_after(200, 2, as_quenched_hrc=reading),
        "hardness_after_estimate": lambda reading: own.hardness_after_estimate(200, 2, as_quenched_hrc=reading),
    }[call]
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        asked(52)
    assert asked(64) is not None
