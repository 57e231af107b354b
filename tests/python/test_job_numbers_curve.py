"""Acceptance rows C (curves), R (tempering again), I (windows) and U (chances), on invented curves."""

from __future__ import annotations

import pytest

import afterquench as aq
from acceptance import ROWS, Acceptance, answers, demo_curve, said


def falling(**keywords: object) -> aq.TemperingCurve:
    return demo_curve("80CrV2-demo", **keywords)


@answers("C01")
def test_between_table_points(row: Acceptance) -> None:
    row.near(falling().hardness_after(212.0, 2.0))


@answers("C02")
def test_at_a_table_point(row: Acceptance) -> None:
    row.near(falling().hardness_after(225.0, 2.0))


@answers("C03")
def test_below_the_table(row: Acceptance) -> None:
    assert row.expected.startswith("refuse: outside table 150..400")
    with pytest.raises(aq.OutOfRangeError) as caught:
        falling().hardness_after(140.0, 2.0)
    assert (caught.value.low, caught.value.high) == (150.0, 400.0)
    assert "150" in str(caught.value)


@answers("C04")
def test_at_another_time(row: Acceptance) -> None:
    row.near(falling(c=18.2).hardness_after(212.0, 8.0))


@answers("C05", "C06")
def test_the_range_over_c(row: Acceptance) -> None:
    hours = 8.0 if row.id == "C05" else 24.0
    low, high = (float(end) for end in row.expected.split(" .. "))
    assert falling(c=15.0).hardness_after(212.0, hours) == pytest.approx(low, abs=row.allowed)
    assert falling(c=20.0).hardness_after(212.0, hours) == pytest.approx(high, abs=row.allowed)


def test_at_the_tables_own_time_c_drops_out_and_is_said_to() -> None:
    values = {falling(c=c).hardness_after(212.0, 2.0) for c in (15.0, 20.0)}
    assert max(values) - min(values) < 1e-9
    assert "drops out" in said(falling().hardness_after_estimate(212.0, 2.0).assumptions)


@answers("C07")
def test_slope(row: Acceptance) -> None:
    curve = falling()
    row.near((curve.hardness_after(200.5, 2.0) - curve.hardness_after(199.5, 2.0)) / 1.0)


@answers("C08")
def test_all_roots(row: Acceptance) -> None:
    curve = demo_curve("secondary-demo")
    roots = curve.temperatures_for(59.0, 2.0)
    expected = [float(part) for part in row.expected.split(", ")]
    assert [root.temperature_c for root in roots] == pytest.approx(expected, abs=row.allowed)
    assert len({root.side for root in roots}) >= 2
    with pytest.raises(aq.SeveralAnswersError) as caught:
        curve.temperature_for(59.0, 2.0)
    assert caught.value.answers == pytest.approx(expected, abs=row.allowed)


@answers("C09")
def test_a_hump_that_does_not_reach(row: Acceptance) -> None:
    row.near(demo_curve("secondary-demo").temperature_for(61.0, 2.0))


@answers("C10")
def test_through_the_hump(row: Acceptance) -> None:
    assert "warn: rule through the hump" in row.expected
    with pytest.warns(aq.AfterquenchWarning):
        got = demo_curve("secondary-demo", c=20.0).hardness_after(525.0, 24.0)
    assert got == pytest.approx(56.7, abs=row.allowed)


@answers("R01")
def test_two_hour_temperatures(row: Acceptance) -> None:
    first, second = (float(part) for part in row.expected.split("; "))
    assert falling().temperature_for(62.0, 2.0) == pytest.approx(first, abs=row.allowed)
    assert falling().temperature_for(60.5, 2.0) == pytest.approx(second, abs=row.allowed)


@answers("R02", "R04")
def test_a_hard_blade_again(row: Acceptance) -> None:
    c = 15.0 if row.id == "R02" else 20.0
    again = aq.retemper(falling(c=c), measured_hrc=62.0, target_hrc=60.5, previous=[(165.5544, 2.0)])
    row.near(again.best.temperature_c)
    assert again.best.time_h == 2.0
    assert "measure" in said(again.cautions)


@answers("R03", "R05")
def test_time_alone_is_hopeless(row: Acceptance) -> None:
    curve = falling()
    now, then = curve.temperature_for(62.0, 2.0), curve.temperature_for(60.5, 2.0)
    row.near(aq.equivalent_time(then, 2.0, now, c=15.0 if row.id == "R03" else 20.0) - 2.0)


@answers("R06")
def test_the_offset_is_carried(row: Acceptance) -> None:
    again = aq.retemper(falling(c=20.0), measured_hrc=61.2, target_hrc=60.0, previous=[(200.0, 2.0)])
    row.near(again.best.temperature_c)


@answers("R07")
def test_the_offset_is_not_forgotten(row: Acceptance) -> None:
    again = aq.retemper(falling(c=20.0), measured_hrc=61.2, target_hrc=60.0, previous=[(200.0, 2.0)])
    row.avoided(again.best.temperature_c)


@answers("R08")
def test_softening_is_not_taken_back(row: Acceptance) -> None:
    assert row.expected.startswith("impossible")
    with pytest.raises(aq.NoAnswerError) as caught:
        aq.retemper(falling(), measured_hrc=57.0, target_hrc=59.0, previous=[(265.0, 2.0)])
    assert "harden" in said(str(caught.value))


@answers("R09", "R10")
def test_further_equal_cycles(row: Acceptance) -> None:
    curve = falling(c=20.0)
    before, after = (2.0, 4.0) if row.id == "R09" else (4.0, 6.0)
    row.near(curve.hardness_after(200.0, after) - curve.hardness_after(200.0, before))


@answers("I01")
def test_nominal_window(row: Acceptance) -> None:
    low, high = (float(end) for end in row.expected.split(" .. "))
    curve = falling()
    assert curve.temperature_for(60.0, 2.0) == pytest.approx(low, abs=row.allowed)
    assert curve.temperature_for(58.0, 2.0) == pytest.approx(high, abs=row.allowed)
    assert aq.plan(curve, target_hrc=(58.0, 60.0)).best.temperature_c == pytest.approx(226.0, abs=3.0)


@answers("I02")
def test_window_with_half_a_unit_kept_free(row: Acceptance) -> None:
    low, high = (float(end) for end in row.expected.split(" .. "))
    assert falling().temperature_for(59.5, 2.0) == pytest.approx(low, abs=row.allowed)
    assert falling().temperature_for(58.5, 2.0) == pytest.approx(high, abs=row.allowed)


@answers("I03")
def test_window_with_a_whole_unit_kept_free(row: Acceptance) -> None:
    assert row.expected.startswith("a single point near 227")
    assert falling().temperature_for(59.0, 2.0) == pytest.approx(227.0, abs=row.allowed)
    plan = aq.plan(falling(), target_hrc=(58.0, 60.0))
    assert plan.best.p_inside < 0.9
    assert "coupon" in said([*plan.cautions, *plan.best.cautions])


@answers("I04", "I05")
def test_two_steels_in_one_load(row: Acceptance) -> None:
    if row.id == "I04":
        wanted = [("80CrV2-demo", 58.0, 60.0), ("52100-demo", 59.0, 61.0)]
    else:
        wanted = [("80CrV2-demo", 58.0, 59.0), ("O1-demo", 61.0, 62.0)]
    curves = [(demo_curve(grade), low, high) for grade, low, high in wanted]
    coldest = max(curve.temperature_for(high, 2.0) for curve, _, high in curves)
    hottest = min(curve.temperature_for(low, 2.0) for curve, low, _ in curves)
    window = aq.common_window([(curve, (low, high)) for curve, low, high in curves], time_h=2.0)
    if row.id == "I04":
        assert (coldest, hottest) == pytest.approx((208.0, 246.0), abs=row.allowed)
        assert (window.low, window.high) == pytest.approx((208.0, 246.0), abs=row.allowed)
        assert "shrink it by the curves' uncertainty before promising" in said(window.advice)
    else:
        assert row.expected.startswith("none (needs >= 227 and <= 204")
        assert (coldest, hottest) == pytest.approx((227.0, 204.0), abs=row.allowed)
        assert (window.low, window.high) == (None, None)
        needs = [part["windows_c"][0] for part in window.parts]
        assert (needs[0][0], needs[1][1]) == pytest.approx((227.0, 204.0), abs=row.allowed)
        assert "two loads" in said(window.advice)
        assert "cooler" in said(window.advice)


@answers("I06")
def test_what_the_oven_may_do(row: Acceptance) -> None:
    curve = falling()
    row.near(0.5 / -(curve.hardness_after(200.5, 2.0) - curve.hardness_after(199.5, 2.0)))


@answers("U01", "U07")
def test_value_and_interval(row: Acceptance) -> None:
    hours = 2.0 if row.id == "U01" else 8.0
    value, _, rest = row.expected.partition(" [")
    low, high = (float(end) for end in rest.rstrip("]").split(".."))
    answer = falling().hardness_after_estimate(200.0, hours, as_quenched_hrc=65.0 if row.id == "U01" else None)
    assert answer.value == pytest.approx(float(value), abs=0.1)
    assert answer.interval(0.95) == pytest.approx((low, high), abs=0.1)


def test_uncertainty_of_the_top_question() -> None:
    assert falling().hardness_after_estimate(200.0, 2.0).u == pytest.approx(0.72, abs=0.01)


@answers("U02")
def test_share_of_the_oven(row: Acceptance) -> None:
    answer = falling().hardness_after_estimate(200.0, 2.0)
    row.near(100 * (answer.components["temperature"] / answer.u) ** 2)


@answers("U03")
def test_where_a_reading_falls(row: Acceptance) -> None:
    truth = falling().hardness_after_estimate(200.0, 2.0)
    reading = aq.Estimate(truth.value, (truth.u**2 + 0.4**2) ** 0.5, "HRC")
    low, high = (float(end) for end in row.expected.split(" .. "))
    assert reading.interval(0.95) == pytest.approx((low, high), abs=row.allowed)


@answers("U04")
def test_chance_of_landing_inside(row: Acceptance) -> None:
    row.near(falling().hardness_after_estimate(226.0, 2.0).probability_inside(58.0, 60.0))
    row.near(aq.plan(falling(), target_hrc=(58.0, 60.0)).best.p_inside)


@answers("U05")
def test_chance_after_own_coupons(row: Acceptance) -> None:
    answer = falling().hardness_after_estimate(226.0, 2.0, u_curve=0.3, u_batch=0.0)
    row.near(answer.probability_inside(58.0, 60.0))


@answers("U06")
def test_chance_with_a_perfect_oven(row: Acceptance) -> None:
    answer = falling().hardness_after_estimate(226.0, 2.0, position_delta_c=1.0)
    row.near(answer.probability_inside(58.0, 60.0))
    assert row.value - ROWS["U04"].value < 0.02
