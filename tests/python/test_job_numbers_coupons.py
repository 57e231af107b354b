"""Acceptance rows of fitting coupons and of planning them."""

from __future__ import annotations

import math
import statistics
from typing import Any

import numpy as np
import pytest

import afterquench as aq
from acceptance import DATA, Acceptance, answers, said

COUPONS_A = DATA / "scenario_a" / "coupons.csv"
COUPONS_B = DATA / "scenario_b" / "coupons.csv"
LOADED = ["B11", "B12", "B13"]

# The rows' own numbers: scatter 0.35 HRC a coupon, -0.0026 HRC per unit of the parameter, C near 19.
PLANNED: dict[str, Any] = {"scatter_hrc": 0.35, "c": 19.0, "slope": -0.0026 * (19.0 + math.log10(2.0))}
FOUR = (175.0, 200.0, 225.0, 250.0)


def invented(temperatures: list[float], times: list[float], c: float = 18.0) -> dict[str, list[Any]]:
    """Coupons of an invented straight line in the parameter, with a fixed pattern of errors."""
    holds = [(celsius, hours) for celsius in temperatures for hours in times]
    parameter = [(celsius + 273.15) * (c + math.log10(hours)) for celsius, hours in holds]
    return {
        "coupon": [f"X{i}" for i in range(len(holds))],
        "temper_degc": [celsius for celsius, _ in holds],
        "hold_h": [hours for _, hours in holds],
        "hrc": [60.0 - 0.0026 * (p - 8700.0) + 0.35 * math.sin(9.0 * i) for i, p in enumerate(parameter)],
    }


@answers("F01")
def test_c_of_coupons_at_one_hold(row: Acceptance) -> None:
    fit = aq.fit_coupons(COUPONS_B, leave_out=LOADED)
    assert row.expected == "not determined"
    assert isinstance(fit.c, aq.NotDetermined)
    with pytest.raises(aq.NotDeterminedError):
        bool(fit.c)
    assert "holds far apart" in said(fit.c.would_determine)
    assert isinstance(fit.slope, aq.Estimate)
    # The predictions at the coupons' own hold stay valid.
    assert fit.curve.hardness_after(fit.temperature_c, 2.0) == pytest.approx(fit.level.value, abs=1e-9)


@answers("F02")
def test_c_of_coupons_at_one_temperature(row: Acceptance) -> None:
    fit = aq.fit_coupons(invented([200.0], [0.5, 2.0, 8.0, 32.0]))
    assert row.expected == "not determined"
    assert isinstance(fit.c, aq.NotDetermined)
    assert "one temperature" in said(fit.c.why)
    assert "two temperatures" in said(fit.c.would_determine)


@answers("F03")
def test_c_of_holds_that_are_nearly_one(row: Acceptance) -> None:
    assert row.expected.startswith("not determined (linear u(C) = 87")
    assert aq.design_coupons([(t, h) for t in FOUR for h in (1.9, 2.1)], **PLANNED).u_c == pytest.approx(87, rel=0.02)
    fit = aq.fit_coupons(invented(list(FOUR), [1.9, 2.1]))
    assert isinstance(fit.c, aq.NotDetermined)
    assert "interval" in said(fit.c.why)


@answers("F05")
def test_c_of_scenario_a(row: Acceptance) -> None:
    """The default call finds both flawed coupons by itself."""
    assert row.expected.startswith("19.8 +- 2.3")
    for fit in (aq.fit_coupons(COUPONS_A), aq.fit_coupons(COUPONS_A, leave_out=["A07", "A12"], shape="straight")):
        assert isinstance(fit.c, aq.Estimate)
        assert (fit.c.value, fit.c.u) == pytest.approx((19.8, 2.3), abs=row.allowed)
        assert fit.scatter_hrc == pytest.approx(0.33, abs=0.01)
        low, high = fit.c.interval(0.95)
        assert low < 18.2 < high
    assert aq.fit_coupons(COUPONS_A).doubtful == ["A07", "A12"]


@answers("F06")
def test_flawed_coupons_are_not_averaged_in(row: Acceptance) -> None:
    fit = aq.fit_coupons(COUPONS_A)
    assert isinstance(fit.c, aq.Estimate)
    assert abs(fit.c.value - 24.9) > 2 * row.allowed
    skin = fit.doubts[0]
    assert skin["coupon"] == "A07"
    assert skin["residual_hrc"] == pytest.approx(-3.0, abs=0.2)
    assert "A07" not in fit.used
    assert "left out" in skin["why"]


@answers("F07")
def test_profile_interval(row: Acceptance) -> None:
    fit = aq.fit_coupons(COUPONS_A, leave_out=["A07", "A12"], shape="parabola")
    assert row.expected == "19.5 [15.5 .. 26.1]"
    assert isinstance(fit.c, aq.Estimate)
    low, high = fit.c.interval(0.95)
    assert (fit.c.value, low, high) == pytest.approx((19.5, 15.5, 26.1), abs=row.allowed)
    assert high - fit.c.value > fit.c.value - low


@answers("F08", "F09", "F10", "F11", "F12", "F13")
def test_u_of_c_of_a_plan(row: Acceptance) -> None:
    plan = {
        "F08": [(t, h) for t in FOUR for h in (1, 4)],
        "F09": [(t, h) for t in FOUR for h in (0.5, 8)],
        "F10": [(t, h) for t in FOUR for h in (0.5, 32)],
        "F11": [(t, h) for t in FOUR for h in (0.5, 2, 8)],
        "F12": [(175, 24, 2), (190, 8, 2), (205, 2, 2), (220, 0.5, 2)],
        "F13": [(t, h, 2) for t in (175, 250) for h in (0.5, 8)],
    }[row.id]
    row.near(aq.design_coupons(plan, **PLANNED).u_c)


@answers("F14", "F15")
def test_coupons_for_a_c_within_one(row: Acceptance) -> None:
    temperatures, times = (FOUR, (0.5, 8.0)) if row.id == "F14" else ((175.0, 250.0), (0.5, 32.0))
    places = [(t, h) for t in temperatures for h in times]
    each = next(n for n in range(1, 200) if aq.design_coupons([(*p, n) for p in places], **PLANNED).u_c <= 1.0)
    row.near(float(each * len(places)))
    if row.id == "F15":
        found = aq.design_coupons(u_c=1.0, temperatures_c=(175.0, 250.0), cost_per_oven_hour=0.0, **PLANNED)
        assert found.coupons <= row.value
        assert found.u_c <= 1.0


@answers("F16")
def test_spread_of_fitted_c(row: Acceptance) -> None:
    """C of single campaigns of eight coupons; whether each is determined is another matter."""
    rng = np.random.default_rng(7)
    low, high = (float(end) for end in row.expected.split(" .. "))
    truth = invented(list(FOUR), [0.5, 8.0], c=19.0)
    kelvin = np.array(truth["temper_degc"]) + 273.15
    exact = 60.0 - 0.0026 * (kelvin * (19.0 + np.log10(truth["hold_h"])) - 8700.0)
    inside, determined = [], 0
    for _ in range(150):
        table = truth | {"hrc": list(exact + 0.35 * rng.standard_normal(8))}
        c = aq.fit_coupons(table, shape="straight").c
        if isinstance(c, aq.Estimate):
            determined += 1
            inside.append(low - 4 < c.value < high)
        else:
            # What is left open always says why: an interval that reaches past what any steel has.
            assert c.range_95 is not None
            assert c.range_95[0] < 10 or c.range_95[1] > 30
    assert statistics.fmean(inside) > 0.95
    assert determined < 75
