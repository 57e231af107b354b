"""The mathematics against SciPy (interpolation, quadrature, distributions) and uncertainties (propagation)."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, interpolate, optimize, stats
from uncertainties import ufloat, umath

import afterquench as aq
from acceptance import demo_curve

RNG = np.random.default_rng(20)


def random_table(number: int, monotone: bool) -> tuple[np.ndarray, np.ndarray]:
    """A tempering table of random spacing; falling throughout, or with humps and flats."""
    rng = np.random.default_rng(1000 + number)
    count = int(rng.integers(2, 14))
    temperature = 120.0 + np.cumsum(rng.uniform(5.0, 60.0, count))
    steps = rng.uniform(0.05, 4.0, count - 1) * (1.0 if monotone else rng.choice([-1.0, 0.0, 1.0], count - 1))
    hrc = 62.0 - np.concatenate([[0.0], np.cumsum(steps)])
    return temperature, np.clip(hrc, 21.0, 67.5) if not monotone else np.maximum(hrc, 21.0 - 0.01 * np.arange(count))


@pytest.mark.parametrize("monotone", [True, False], ids=["falling", "humped"])
def test_monotone_cubic_of_100_random_tables(monotone: bool) -> None:
    for number in range(100):
        temperature, hrc = random_table(number, monotone)
        curve = aq.TemperingCurve(temperature, hrc, time_h=2.0)
        asked = np.linspace(temperature[0], temperature[-1], 333)
        expected = (
            interpolate.PchipInterpolator(temperature, hrc)(asked)
            if hrc.size > 2
            else np.interp(asked, temperature, hrc)
        )
        np.testing.assert_allclose(
            curve.hardness_after(asked, 2.0), expected, rtol=0, atol=1e-10, err_msg=f"table {number}"
        )


@pytest.mark.parametrize("grade", ["80CrV2-demo", "secondary-demo"])
def test_every_root(grade: str) -> None:
    curve = demo_curve(grade)
    grid = np.linspace(150.0, 400.0 if grade == "80CrV2-demo" else 600.0, 20_001)
    values = curve.hardness_after(grid, 2.0)
    for wanted in np.arange(52.05, 61.4, 0.5):
        crossings = np.flatnonzero(np.diff(np.sign(values - wanted)))
        expected = [
            optimize.brentq(lambda t, w=wanted: curve.hardness_after(t, 2.0) - w, grid[i], grid[i + 1], xtol=1e-10)
            for i in crossings
        ]
        if not expected:
            with pytest.raises(aq.NoAnswerError):
                curve.temperatures_for(wanted, 2.0)
            continue
        got = [root.temperature_c for root in curve.temperatures_for(wanted, 2.0)]
        assert got == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("coverage", [0.5, 0.6827, 0.9, 0.95, 0.99, 0.999])
def test_normal_interval(coverage: float) -> None:
    for value, u in [(60.0, 0.5), (-3.0, 1e-3), (1e4, 250.0)]:
        got = aq.Estimate(value, u, "HRC").interval(coverage)
        assert got == pytest.approx(stats.norm.interval(coverage, value, u), rel=1e-9)


def test_normal_probability() -> None:
    for value in np.linspace(55.0, 63.0, 41):
        for u in (0.05, 0.4, 2.0):
            got = aq.Estimate(value, u, "HRC").probability_inside(58.0, 60.0)
            assert got == pytest.approx(stats.norm.cdf(60, value, u) - stats.norm.cdf(58, value, u), abs=1e-12)
    assert aq.Estimate(59.0, 0.4, "HRC").probability_inside(58.0, None) == pytest.approx(
        stats.norm.sf(58, 59, 0.4), abs=1e-12
    )


@pytest.mark.parametrize(
    "values", [[59.0, 59.6], [59.0, 59.3, 59.1], [60.1, 59.2, 59.9, 59.4, 59.8], list(RNG.normal(60, 0.4, 12))]
)
def test_readings_have_students_t(values: list[float]) -> None:
    got = aq.Readings(values, "HRC", thickness_mm=3.0).estimate()
    mean, scatter = np.mean(values), np.std(values, ddof=1) / math.sqrt(len(values))
    assert got.value == pytest.approx(mean, abs=1e-12)
    low, high = stats.t.interval(0.95, len(values) - 1, mean, scatter)
    repeatability = next(u for name, u in got.components.items() if "repeat" in name or "reading" in name)
    assert repeatability >= scatter * (1 - 1e-9)
    inside = got.interval(0.95)
    # A tester nobody checked only adds to what the readings alone leave open.
    assert inside[1] - inside[0] >= (high - low) * 0.999 or repeatability > scatter


def test_readings_needed() -> None:
    for half in (0.2, 0.3, 0.5):
        for sd in (0.2, 0.4, 0.8):
            number = next(n for n in range(2, 500) if stats.t.ppf(0.975, n - 1) * sd / math.sqrt(n) <= half)
            assert aq.readings_needed(half, sd) == number


def test_propagation_through_the_equivalents() -> None:
    temperature, time, c = ufloat(250.0, 2.0), ufloat(2.0, 0.02), ufloat(18.0, 0.4)
    for name, expected, got in [
        (
            "temperature",
            (temperature + 273.15) * (c + umath.log10(time)) / (c + math.log10(1.0)) - 273.15,
            aq.equivalent_temperature_estimate(
                aq.Estimate(250.0, 2.0, "degC"), aq.Estimate(2.0, 0.02, "h"), 1.0, c=aq.Estimate(18.0, 0.4, "")
            ),
        ),
        (
            "parameter",
            (temperature + 273.15) * (c + umath.log10(time)),
            aq.temper_parameter_estimate(
                aq.Estimate(250.0, 2.0, "degC"), aq.Estimate(2.0, 0.02, "h"), c=aq.Estimate(18.0, 0.4, "")
            ),
        ),
    ]:
        assert got.value == pytest.approx(expected.nominal_value, rel=2e-4), name
        assert got.u == pytest.approx(expected.std_dev, rel=0.01), name
        for variable, mine in ((temperature, "temperature"), (time, "time"), (c, "c")):
            assert got.components[mine] == pytest.approx(expected.error_components()[variable], rel=0.03, abs=1e-3), (
                name,
                mine,
            )


def test_propagation_through_a_conversion() -> None:
    got = aq.convert_hardness_estimate(aq.Estimate(690.0, 7.5, "HV"), "HV", "HRC")
    slope = aq.convert_hardness(690.5, "HV", "HRC") - aq.convert_hardness(689.5, "HV", "HRC")
    assert got.u == pytest.approx(math.hypot(7.5 * slope, 0.5), rel=0.01)


def test_uncertainty_of_a_block_bias() -> None:
    values = [59.4, 59.7, 59.5, 59.8, 59.6]
    expected = ufloat(np.mean(values), np.std(values, ddof=1) / math.sqrt(5)) - ufloat(60.2, 0.25)
    bias = aq.tester_from_block(values, "HRC", 60.2, 0.5).bias
    assert bias.value == pytest.approx(expected.nominal_value, abs=1e-12)
    assert bias.u == pytest.approx(expected.std_dev, rel=1e-9)


def stepped(time_s: np.ndarray, temperature_c: np.ndarray, c: float) -> float:
    """M at the end of a trace, by LSODA on y = log10 of the equivalent time in hours at the present temperature."""

    def rate(second: float, state: np.ndarray) -> list[float]:
        kelvin = np.interp(second, time_s, temperature_c) + 273.15
        index = np.clip(np.searchsorted(time_s, second, side="right") - 1, 0, time_s.size - 2)
        slope = (temperature_c[index + 1] - temperature_c[index]) / (time_s[index + 1] - time_s[index])
        return [10 ** -state[0] / (3600 * math.log(10)) - (c + state[0]) * slope / kelvin]

    state = math.log10(1e-3 / 3600)
    start = time_s[0] + 1e-3
    for left, right in itertools.pairwise(time_s):
        run = integrate.solve_ivp(rate, (max(left, start), right), [state], method="LSODA", rtol=1e-10, atol=1e-12)
        assert run.success
        state = float(run.y[0, -1])
    return (temperature_c[-1] + 273.15) * (c + state)


@pytest.mark.parametrize("number", range(12))
def test_histories_of_random_traces(number: int) -> None:
    rng = np.random.default_rng(number)
    count = int(rng.integers(2, 9))
    time_s = np.concatenate([[0.0], np.cumsum(rng.uniform(60.0, 4000.0, count))])
    temperature_c = rng.uniform(150.0, 320.0, count + 1)
    c = float(rng.uniform(14.0, 21.0))
    got = aq.accumulate(time_s, temperature_c, c=c).parameter
    assert got == pytest.approx(stepped(time_s, temperature_c, c), rel=3e-7)


@pytest.mark.parametrize("number", range(6))
def test_activation_integral_of_random_traces(number: int) -> None:
    rng = np.random.default_rng(100 + number)
    time_s = np.concatenate([[0.0], np.cumsum(rng.uniform(60.0, 4000.0, 6))])
    temperature_c = rng.uniform(20.0, 320.0, 7)
    energy, reference = float(rng.uniform(80.0, 250.0)), 200.0
    gas = 8.314462618e-3

    def rate(second: float) -> float:
        kelvin = np.interp(second, time_s, temperature_c) + 273.15
        return math.exp(-energy / gas * (1 / kelvin - 1 / (reference + 273.15)))

    total = sum(
        integrate.quad(rate, left, right, epsabs=0, epsrel=1e-11)[0] for left, right in itertools.pairwise(time_s)
    )
    assert aq.equivalent_time_activation(time_s, temperature_c, energy, reference) == pytest.approx(
        total / 3600, rel=1e-7
    )


def test_splitting_a_history_changes_nothing() -> None:
    time_s = np.linspace(0.0, 10_000.0, 401)
    temperature_c = 200.0 + 30.0 * np.sin(time_s / 700.0)
    whole = aq.accumulate(time_s, temperature_c, c=18.0)
    for cut in (1, 7, 200, 399):
        first = aq.accumulate(time_s[: cut + 1], temperature_c[: cut + 1], c=18.0)
        both = first.then(time_s[cut:], temperature_c[cut:])
        assert both.parameter == pytest.approx(whole.parameter, rel=1e-9)


def test_monte_carlo_of_a_curve() -> None:
    """The interval of the top question against a plain simulation, whose inputs are the documented defaults."""
    curve = demo_curve("80CrV2-demo")
    rng = np.random.default_rng(5)
    number = 400_000
    temperature = 200.0 + rng.uniform(-5, 5, number) + rng.uniform(-1.5, 1.5, number) + rng.uniform(-1, 1, number)
    minutes = 120.0 + rng.uniform(-3, 3, number)
    c = rng.uniform(15, 20, number)
    equivalent = (temperature + 273.15) * (c + np.log10(minutes / 60)) / (c + math.log10(2)) - 273.15
    hrc = curve.hardness_after(equivalent, 2.0) + rng.normal(0, 0.5, number) + rng.normal(0, 0.5, number)
    got = curve.hardness_after_estimate(200.0, 2.0)
    assert got.value == pytest.approx(float(np.mean(hrc)), abs=0.02)
    assert got.u == pytest.approx(float(np.std(hrc)), rel=0.02)
    assert got.interval(0.95) == pytest.approx(tuple(np.quantile(hrc, [0.025, 0.975])), abs=0.03)
