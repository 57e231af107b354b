"""Laws that any right answer obeys, over ranges that no table of points covers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import afterquench as aq
from acceptance import demo_curve

CELSIUS = st.floats(120.0, 650.0)
HOURS = st.floats(0.01, 100.0)
CONSTANT = st.floats(12.0, 25.0)


@given(CELSIUS, HOURS, CELSIUS, CONSTANT)
def test_there_and_back(first: float, hours: float, second: float, c: float) -> None:
    there = aq.equivalent_time(first, hours, second, c=c)
    assume(1e-200 < there < 1e200)
    assert aq.equivalent_time(second, there, first, c=c) == pytest.approx(hours, rel=1e-9)


@given(CELSIUS, HOURS, HOURS, CONSTANT)
def test_equal_parameter_is_what_equivalent_means(celsius: float, hours: float, new_hours: float, c: float) -> None:
    new = aq.equivalent_temperature(celsius, hours, new_hours, c=c)
    assert aq.temper_parameter(new, new_hours, c=c) == pytest.approx(
        aq.temper_parameter(celsius, hours, c=c), rel=1e-12
    )


@given(CELSIUS, HOURS, st.floats(1e-3, 200.0), CONSTANT)
def test_hotter_is_never_slower(celsius: float, hours: float, more: float, c: float) -> None:
    assert aq.equivalent_time(celsius, hours, celsius + more, c=c) <= hours


@given(CELSIUS, HOURS, CONSTANT)
def test_one_hold_is_the_formula(celsius: float, hours: float, c: float) -> None:
    history = aq.combine([(celsius, hours)], c=c)
    assert history.parameter == pytest.approx(aq.temper_parameter(celsius, hours, c=c), rel=1e-12)
    assert history.two_hour_equivalent_c == pytest.approx(aq.two_hour_equivalent(celsius, hours, c=c), abs=1e-6)


@given(
    st.lists(st.tuples(st.floats(150.0, 350.0), st.floats(0.1, 10.0)), min_size=1, max_size=5), CELSIUS, HOURS, CONSTANT
)
def test_more_heat_never_gives_less(holds: list[tuple[float, float]], celsius: float, hours: float, c: float) -> None:
    before = aq.combine(holds, c=c).parameter
    assert aq.combine([*holds, (celsius, hours)], c=c).parameter >= before


@given(st.floats(150.0, 400.0), HOURS)
def test_fahrenheit_path_is_the_celsius_path(celsius: float, hours: float) -> None:
    fahrenheit = 32.0 + 1.8 * celsius
    back = aq.temper_parameter((fahrenheit - 32.0) / 1.8, hours, c=20.0)
    assert back == pytest.approx(aq.temper_parameter(celsius, hours, c=20.0), rel=1e-13)
    rankine = (fahrenheit + 459.67) * (20.0 + np.log10(hours))
    assert 1.8 * back == pytest.approx(rankine, rel=1e-12)


@given(st.floats(20.0, 68.0), st.sampled_from(["HV", "HRA", "HRD", "HR15N", "HR30N", "HR45N"]))
def test_a_conversion_and_its_inverse_agree(hrc: float, scale: str) -> None:
    there = aq.convert_hardness(hrc, "HRC", scale)
    assert aq.convert_hardness(there, scale, "HRC") == pytest.approx(hrc, abs=1e-9)


@given(st.floats(20.0, 67.9), st.floats(1e-3, 0.1))
def test_harder_on_one_scale_is_harder_on_another(hrc: float, more: float) -> None:
    assert aq.convert_hardness(hrc + more, "HRC", "HV") > aq.convert_hardness(hrc, "HRC", "HV")


FALLING = demo_curve("80CrV2-demo", c=18.0)


@given(st.floats(150.0, 399.0), st.floats(1e-3, 1.0))
def test_hotter_is_softer_on_a_falling_curve(celsius: float, more: float) -> None:
    assert FALLING.hardness_after(celsius + more, 2.0) <= FALLING.hardness_after(celsius, 2.0)


@given(st.floats(50.3, 62.5))
def test_a_root_gives_the_hardness_it_was_asked_for(hrc: float) -> None:
    celsius = FALLING.temperature_for(hrc, 2.0)
    assert FALLING.hardness_after(celsius, 2.0) == pytest.approx(hrc, abs=1e-9)


@given(st.floats(55.0, 63.0), st.floats(0.01, 2.0), st.floats(0.0, 1.5))
def test_a_wider_guard_band_never_turns_a_fail_or_doubt_into_a_pass(value: float, u: float, guard: float) -> None:
    def verdict(band: float) -> str:
        return aq.decide(aq.Estimate(value, u, "HRC"), lower=58.0, upper=60.0, guard_band=band).verdict

    if verdict(guard + 0.1) == "pass":
        assert verdict(guard) == "pass"
    if verdict(guard + 0.1) == "fail":
        assert verdict(guard) == "fail"
