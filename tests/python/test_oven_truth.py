"""Logs whose truth is known: a seeded sample of what `make calibration` runs in full, and the two scenarios."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import binomtest

import afterquench as aq
from acceptance import DATA
from oven_truth.calibration import Answer, answers, coverage
from oven_truth.physics import KELVIN, stepped_parameter, two_hour_equivalent
from oven_truth.report import misread, reason, wilson


@pytest.fixture(scope="module")
def sample() -> list[Answer]:
    return answers(seed=20, number=100)


def test_the_generators_own_integrator() -> None:
    """Against SciPy's LSODA on dM/dt = (T / ln 10) 10^(C - M/T), for a heat-up, an overshoot and a cool-down."""

    def kelvin(second: float) -> float:
        return float(np.interp(second, [0, 1800, 2400, 9000, 12000], [20, 245, 200, 205, 60])) + KELVIN

    for c in (15.0, 17.7, 20.0):
        stepped, at = np.full(1, np.nan), np.array([c])
        for second in range(12000):
            stepped = stepped_parameter(stepped, np.array([kelvin(second + 0.5) - KELVIN]), 1.0, at)
            if second == 599:
                begun = float(stepped[0])
        solved = solve_ivp(
            lambda second, m, c=c: kelvin(second) / np.log(10) * 10 ** (c - m / kelvin(second)) / 3600,
            (600, 12000),
            [begun],
            method="LSODA",
            rtol=1e-10,
            atol=1e-8,
            max_step=20,
        )
        assert two_hour_equivalent(stepped, at)[0] == pytest.approx(
            two_hour_equivalent(solved.y[0, -1:], at)[0], abs=0.01
        )


def test_the_range_holds_the_truth(sample: list[Answer]) -> None:
    """A hundred logs can't tell 95 from 92 %: the bound is what 95 % reaches in all but one sample of a thousand."""
    answered = [one for one in sample if not one.refusal]
    assert len(answered) > 80
    assert coverage(sample) > 0.87
    for knowledge, widest in (("part side", 7), ("air, part known", 14), ("air, nothing known", 14)):
        assert np.median([one.width_c for one in answered if one.day.knowledge == knowledge]) < widest


def test_no_refusal_without_its_cause(sample: list[Answer]) -> None:
    """Only a counter that restarts without a clock beside it leaves open how long the logger was off."""
    refused = [one for one in sample if one.refusal]
    unexpected = {reason(one) for one in refused if "restart" not in one.day.traps or "restart_s" in one.day.hints}
    assert unexpected == set()


def test_nothing_is_misread(sample: list[Answer]) -> None:
    assert [(one.day.traps, one.day.dialect) for one in sample if misread(one)] == []


def test_wilson() -> None:
    """Against SciPy."""
    expected = binomtest(4, 20).proportion_ci(method="wilson")
    assert wilson(4, 20) == pytest.approx((expected.low, expected.high), abs=1e-5)


@pytest.mark.parametrize(("scenario", "widest"), [("scenario_a", 7.0), ("scenario_b", 15.0)])
def test_the_scenarios_truth(scenario: str, widest: float) -> None:
    """Every two-hour equivalent that their generator knows, without a hint beyond the file of corrections."""
    truth = json.loads((DATA / scenario / "truth.json").read_text())
    log = aq.read_log(DATA / scenario / "oven_log.csv", corrections=DATA / scenario / "channels.csv")
    asked = {float(name.rpartition("_C")[2]): value for name, value in truth.items() if "blade_equiv_degc" in name}
    assert len(asked) >= 3
    for c, true_c in asked.items():
        for history in (log.history(c=c), log.history()):
            low, high = history.estimate.interval()
            assert low < true_c < high
            assert high - low < widest
