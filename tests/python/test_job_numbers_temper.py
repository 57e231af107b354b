"""Acceptance rows E (equivalents) and H (histories), each through one public call."""

from __future__ import annotations

import math
import re

import pytest

import afterquench as aq
from acceptance import ROWS, Acceptance, answers, said


def constant(row: Acceptance) -> float:
    """The C that the row's inputs state."""
    found = re.search(r"C ?= ?([\d.]+)", row.inputs)
    assert found, row.inputs
    return float(found[1])


@answers("E01", "E02", "E03", "E04", "E05", "E06")
def test_longer_at_the_oven_limit(row: Acceptance) -> None:
    row.near(aq.equivalent_time(250.0, 2.0, 210.0, c=constant(row)))


def test_longer_at_lower_is_a_band_and_called_impractical() -> None:
    answer = aq.equivalent_time_estimate(250.0, 2.0, 210.0)
    low, high = answer.interval(0.95)
    assert low == pytest.approx(37, rel=0.08)
    assert high == pytest.approx(96, rel=0.08)
    assert "impractical" in said(answer.assumptions) or "not practical" in said(answer.assumptions)
    assert "two-hour" in said(answer.assumptions) or "outside" in said(answer.assumptions)


@answers("E07", "E13")
def test_ten_degrees_cooler_at_250(row: Acceptance) -> None:
    row.near(aq.equivalent_time(250.0, 2.0, 240.0, c=constant(row)))


@answers("E08", "E14")
def test_ten_degrees_cooler_at_200(row: Acceptance) -> None:
    row.near(aq.equivalent_time(200.0, 2.0, 190.0, c=constant(row)))


@answers("E09", "E15")
def test_one_hour_instead_of_two(row: Acceptance) -> None:
    row.near(aq.equivalent_temperature(200.0, 2.0, 1.0, c=constant(row)))


@answers("E10", "E16")
def test_four_hours_instead_of_two(row: Acceptance) -> None:
    row.near(aq.equivalent_temperature(200.0, 2.0, 4.0, c=constant(row)))


@answers("E11", "E17")
def test_ten_percent_of_time_is_about_a_degree(row: Acceptance) -> None:
    row.near(aq.two_hour_equivalent(200.0, 2.2, c=constant(row)) - 200.0)


@answers("E12", "E18")
def test_ten_degrees_are_a_factor_above_two(row: Acceptance) -> None:
    row.near(aq.equivalent_time(210.0, 2.0, 200.0, c=constant(row)) / 2.0)


@answers("E19")
def test_parameter(row: Acceptance) -> None:
    row.near(aq.temper_parameter(200.0, 2.0, c=20.0))


@answers("E20")
def test_parameter_from_seconds(row: Acceptance) -> None:
    row.near(aq.temper_parameter(200.0, 2.0, c=aq.constant_from_seconds(20.0 - math.log10(3600.0))))


@answers("E21", "E22")
def test_slips_of_unit_are_not_made(row: Acceptance) -> None:
    row.avoided(aq.equivalent_time(250.0, 2.0, 210.0, c=20.0))


def test_c_in_seconds_gives_the_same_time_when_its_unit_is_named() -> None:
    c = aq.constant_from_seconds(20.0 - math.log10(3600.0))
    assert aq.equivalent_time(250.0, 2.0, 210.0, c=c) == pytest.approx(ROWS["E06"].value, rel=1e-5)


@answers("E23")
def test_rankine_is_a_factor_of_1_8(row: Acceptance) -> None:
    row.near(1.8 * aq.temper_parameter(200.0, 2.0, c=20.0))


@answers("E24")
def test_a_second_equal_step(row: Acceptance) -> None:
    for c in (15.0, 18.0, 20.0):
        both = aq.combine([(200.0, 2.0), (200.0, 2.0)], c=c)
        row.near(both.parameter - aq.temper_parameter(200.0, 2.0, c=c))
    for c, warmer in ((20.0, 7.0), (15.0, 9.3)):
        both = aq.combine([(200.0, 2.0), (200.0, 2.0)], c=c)
        assert both.two_hour_equivalent_c - 200.0 == pytest.approx(warmer, abs=0.05)


@answers("H01", "H02")
def test_a_ramp_is_worth_minutes(row: Acceptance) -> None:
    history = aq.accumulate([0, 36 * 60, 36 * 60 + 7200], [20, 200, 200], c=constant(row))
    row.near(history.equivalent_hours(200.0) * 60 - 120)


@answers("H03", "H04")
def test_slow_cooling_is_worth_minutes(row: Acceptance) -> None:
    history = aq.accumulate([0, 7200, 7200 + 10800], [200, 200, 20], c=constant(row))
    row.near(history.equivalent_hours(200.0) * 60 - 120)


@answers("H05", "H06")
def test_the_order_of_steps_matters_a_little(row: Acceptance) -> None:
    other = 220.0 if row.id == "H05" else 260.0
    there = aq.combine([(200.0, 2.0), (other, 2.0)], c=20.0).two_hour_equivalent_c
    back = aq.combine([(other, 2.0), (200.0, 2.0)], c=20.0).two_hour_equivalent_c
    row.near(there - back)


@answers("H07")
def test_a_hotter_second_step_decides(row: Acceptance) -> None:
    row.near(aq.combine([(200.0, 2.0), (220.0, 2.0)], c=20.0).two_hour_equivalent_c)


@answers("H08")
def test_a_cooler_second_step_does_little(row: Acceptance) -> None:
    row.near(aq.combine([(220.0, 2.0), (200.0, 2.0)], c=20.0).two_hour_equivalent_c)


@answers("H09", "H10")
def test_activation_energy(row: Acceptance) -> None:
    row.near(aq.implied_activation_energy(200.0, 2.0, c=constant(row)))


OVERSHOOT_MIN = (0, 40, 52, 66, 85, 100, 220, 340)
OVERSHOOT_S = [60.0 * minute for minute in OVERSHOOT_MIN]
OVERSHOOT_C = [20.0, 240.0, 254.0, 246.0, 207.0, 200.0, 200.0, 60.0]


@answers("H11", "H12")
def test_an_overshoot(row: Acceptance) -> None:
    row.near(aq.accumulate(OVERSHOOT_S, OVERSHOOT_C, c=constant(row)).two_hour_equivalent_c)


@answers("H13")
def test_an_overshoot_by_the_energy_of_the_plan(row: Acceptance) -> None:
    energy = aq.implied_activation_energy(200.0, 2.0, c=20.0)
    hours = aq.equivalent_time_activation(OVERSHOOT_S, OVERSHOOT_C, energy, 200.0)
    row.near(aq.two_hour_equivalent(200.0, hours, c=20.0))


@answers("H14")
def test_an_overshoot_by_the_energy_of_its_end(row: Acceptance) -> None:
    end = aq.accumulate(OVERSHOOT_S, OVERSHOOT_C, c=20.0).two_hour_equivalent_c
    energy = aq.implied_activation_energy(end, 2.0, c=20.0)
    assert energy == pytest.approx(197, abs=0.5)
    hours = aq.equivalent_time_activation(OVERSHOOT_S, OVERSHOOT_C, energy, end)
    row.near(aq.two_hour_equivalent(end, hours, c=20.0))


@answers("H15")
def test_an_overshoot_is_not_averaged(row: Acceptance) -> None:
    for c in (15.0, 20.0):
        got = aq.accumulate(OVERSHOOT_S, OVERSHOOT_C, c=c).two_hour_equivalent_c
        row.avoided(got)
        assert got > 231


@answers("H17", "H18")
def test_power_cut_then_the_full_cycle(row: Acceptance) -> None:
    got = aq.combine([(205.0, 1.25), (205.0, 2.0)], c=constant(row)).two_hour_equivalent_c
    row.near(got)
    assert 4.5 < got - 205 < 7.5


@answers("H19")
def test_a_gap_is_a_bound(row: Acceptance) -> None:
    ends = [aq.combine([(200.0, 1.0), (fill, 1 / 6), (200.0, 5 / 6)], c=20.0) for fill in (190.0, 215.0)]
    low, high = (end.two_hour_equivalent_c for end in ends)
    assert low < 200 < high
    row.near((high - low) / 2)
