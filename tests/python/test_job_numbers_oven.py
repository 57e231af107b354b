"""Acceptance rows L (the steel is late), S (swings), G (two invented oven logs) and H16 (one false sample)."""

from __future__ import annotations

import math
import re
import statistics

import numpy as np
import pytest

import afterquench as aq
from acceptance import ROWS, Acceptance, answers, said
from scenario import DATA, block_readings, readings, rows


@answers("L01", "L02")
def test_time_constant(row: Acceptance) -> None:
    row.near(aq.time_constant_s(3.0, h_w_m2k=35.0 if row.id == "L01" else 13.0))


@answers("L04")
def test_biot_number(row: Acceptance) -> None:
    row.near(aq.biot_number(diameter_mm=12.0, h_w_m2k=35.0))


def lumped(tau_s: float, air_s: list[float], air_c: list[float], step_s: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """The part behind its air by exact first-order steps: written here, apart from the library's own."""
    time = np.arange(air_s[0], air_s[-1] + step_s, step_s)
    air = np.interp(time, air_s, air_c)
    part = np.empty_like(air)
    part[0] = 20.0 if air_s[0] == 0 else air[0]
    keep = math.exp(-step_s / tau_s)
    for index in range(1, time.size):
        part[index] = air[index] + (part[index - 1] - air[index]) * keep
    return time, part


@answers("L03")
def test_time_constant_of_a_round(row: Acceptance) -> None:
    row.near(aq.time_constant_s(diameter_mm=12.0, h_w_m2k=35.0))


@answers("L05", "L07")
def test_time_to_within(row: Acceptance) -> None:
    row.near(aq.time_to_within(3.0, "fan air" if row.id == "L05" else "still air", 20.0, 200.0, 5.0) / 60.0)


@answers("L09")
def test_time_to_within_of_a_round(row: Acceptance) -> None:
    row.near(aq.time_to_within(None, "fan air", 20.0, 200.0, 5.0, diameter_mm=12.0) / 60.0)


@answers("L06", "L08", "L10")
def test_time_lost_to_heating(row: Acceptance) -> None:
    tau_s = {"L06": 168.214, "L08": 452.885, "L10": 336.429}[row.id]
    time, part = lumped(tau_s, [0.0, 10800.0], [200.0, 200.0])
    history = aq.accumulate(time, part, c=20.0)
    row.near(180.0 - 60.0 * history.equivalent_hours(200.0))
    row.near(aq.lost_hold_min(tau_s, 200.0, c=20.0))


@answers("L11")
def test_dip_at_the_door(row: Acceptance) -> None:
    row.near(aq.dip_delta_c(25.0, 60.0, aq.time_constant_s(3.0, h_w_m2k=35.0)))


@answers("L12")
def test_a_door_opening_is_harmless(row: Acceptance) -> None:
    step = 1.0
    time = np.arange(0.0, 7200.0 + step, step)
    air = np.where((time > 3600.0) & (time <= 3660.0), 175.0, 200.0)
    part = np.full_like(air, 200.0)
    keep = math.exp(-step / 168.214)
    for index in range(1, time.size):
        part[index] = air[index] + (part[index - 1] - air[index]) * keep
    row.near(aq.accumulate(time, part, c=20.0).two_hour_equivalent_c - 200.0)


@answers("L13", "L14")
def test_a_part_that_sees_the_element(row: Acceptance) -> None:
    row.near(aq.radiation_offset_delta_c(500.0, 200.0, 0.05, 0.8, 35.0 if row.id == "L13" else 13.0))


def swing(amplitude_c: float, period_s: float = 600.0) -> tuple[np.ndarray, np.ndarray]:
    time = np.arange(0.0, 7201.0, 2.0)
    return time, 200.0 + amplitude_c * np.sin(2 * np.pi * time / period_s)


@answers("S01", "S02", "S03", "S04", "S05", "S06")
@pytest.mark.parametrize("period_s", [300.0, 600.0, 1200.0])
def test_a_swing_of_the_steel_acts_upward(row: Acceptance, period_s: float) -> None:
    c = float(row.inputs.removeprefix("C="))
    amplitude_c = float(re.search(r"\+-(\d+)", row.question)[1])  # type: ignore[index]
    row.near(aq.accumulate(*swing(amplitude_c, period_s), c=c).two_hour_equivalent_c - 200.0)


@answers("S07", "S08", "S09")
def test_the_steel_filters_a_swing_of_the_air(row: Acceptance) -> None:
    period_s, tau_s = {"S07": (600.0, 168.214), "S08": (600.0, 452.885), "S09": (120.0, 168.214)}[row.id]
    row.near(aq.swing_amplitude_delta_c(15.0, period_s, tau_s))


@answers("S10")
def test_a_swing_of_the_air_is_about_a_degree(row: Acceptance) -> None:
    seen = aq.swing_amplitude_delta_c(15.0, 600.0, 168.214)
    row.near(aq.accumulate(*swing(seen), c=20.0).two_hour_equivalent_c - 200.0)


def corrections(scenario: str) -> dict[str, tuple[float, float]]:
    """The channel corrections of a scenario by role: to add, and one standard uncertainty."""
    return {
        {"air": "air", "blade_side": "part_side"}[row["channel"]]: (
            float(row["correction_to_add_degc"]),
            float(row["expanded_uncertainty_k2_degc"]) / 2,
        )
        for row in rows(scenario, "channels.csv")
    }


def log_of(scenario: str, load_s: float | None = None, **hints: object) -> aq.OvenLog:
    return aq.read_log(DATA / scenario / "oven_log.csv", corrections=corrections(scenario), load_s=load_s, **hints)


@pytest.fixture(scope="module")
def log_a() -> aq.OvenLog:
    return log_of("scenario_a", 3000.0)


@pytest.fixture(scope="module")
def log_b() -> aq.OvenLog:
    return log_of("scenario_b")


def constant(row: Acceptance) -> float:
    found = re.search(r"C=([\d.]+)", row.inputs)
    assert found
    return float(found[1])


@answers("H16")
def test_one_false_sample_is_not_believed(row: Acceptance) -> None:
    samples = [f"{second},{500.0 if second == 3600 else 200.0}" for second in range(0, 7201, 10)]
    log = aq.read_log("\n".join(["elapsed_s,part_side_degc", *samples]).encode())
    got = log.history(c=20.0).two_hour_equivalent_c
    row.avoided(got)
    assert got == pytest.approx(200.0, abs=0.3)
    assert any("spike" in repair.kind for repair in log.repairs)


@answers("G01", "G02", "G03")
def test_scenario_a(row: Acceptance) -> None:
    log = log_of("scenario_a", 3000.0, gaps="line")
    row.near(log.history(c=constant(row)).two_hour_equivalent_c)


def test_scenario_a_interval_holds_the_truth(log_a: aq.OvenLog) -> None:
    low, high = log_a.history(c=(15.0, 20.0)).estimate.interval(0.95)
    assert low < 221.0 < high  # truth of the generated scenario: 221.0 ± 0.3 for any C from 15 to 20
    assert high - low < 12.0


@answers("G04")
def test_the_spike_is_out(row: Acceptance, log_a: aq.OvenLog) -> None:
    row.avoided(log_a.history(c=20.0).two_hour_equivalent_c)
    assert "spike" in {repair.kind for repair in log_a.repairs}


@answers("G05")
def test_the_empty_oven_is_not_counted(row: Acceptance) -> None:
    found = log_of("scenario_a")
    got = found.history(c=20.0).two_hour_equivalent_c
    assert abs(got - ROWS["G03"].value) < abs(got - row.value)
    assert got == pytest.approx(ROWS["G03"].value, abs=0.6)


@answers("G06")
def test_minutes_until_the_part_is_there(row: Acceptance, log_a: aq.OvenLog) -> None:
    frame = log_a.to_frame()
    late = frame[(frame["elapsed_s"] >= 3000.0) & (frame["part_side"] >= 218.0)]
    row.near((float(late["elapsed_s"].iloc[0]) - 3000.0) / 60.0)


@answers("G07")
def test_the_gap_of_scenario_a(row: Acceptance, log_a: aq.OvenLog) -> None:
    (gap,) = (gap for gap in log_a.gaps if gap.end_s - gap.start_s > 60.0)
    low, high = (float(end) for end in row.expected.split()[0].split(".."))
    assert (gap.start_s, gap.end_s) == pytest.approx((low, high), abs=row.allowed)


@answers("G08", "G09", "G10")
def test_scenario_b_with_a_line_across_its_gap(row: Acceptance) -> None:
    row.near(log_of("scenario_b", gaps="line").history(c=constant(row)).two_hour_equivalent_c)


@answers("G11")
def test_scenario_b_is_bounded_by_its_gap(row: Acceptance, log_b: aq.OvenLog) -> None:
    low, high = (float(end) for end in row.expected.split(" .. "))
    answer = log_b.history(c=19.5).estimate
    got = answer.interval(0.95)
    assert got[0] <= low + row.allowed
    assert got[1] >= high - row.allowed
    assert got[0] < 222.3 < got[1]  # truth of the generated scenario
    assert got[1] - got[0] < 16.0
    assert "gap" in said([*answer.assumptions, *answer.components])


def air_log_b() -> aq.OvenLog:
    """Scenario B's log as most logs are: without the channel beside the part."""
    text = [line for line in (DATA / "scenario_b" / "oven_log.csv").read_text().splitlines() if line[0] != "#"]
    place = text[0].split(",").index("blade_side_degc")
    cells = [line.split(",") for line in text]
    bare = "\n".join(",".join(row[:place] + row[place + 1 :]) for row in cells)
    return aq.read_log(bare.encode(), corrections={"air": corrections("scenario_b")["air"]}, load_s=0.0, gaps="line")


@answers("G12", "G13", "G14")
def test_scenario_b_from_its_air(row: Acceptance) -> None:
    lag_s = float(re.search(r"lag of (\d+) s", row.question)[1])  # type: ignore[index]
    row.near(air_log_b().history(c=19.5, lag_s=lag_s).two_hour_equivalent_c)


def test_air_alone_gives_a_range() -> None:
    answer = air_log_b().history(c=19.5).estimate
    low, high = answer.interval(0.95)
    assert low < ROWS["G14"].value + 2
    assert high > ROWS["G12"].value - 2
    assert "lag" in said([*answer.assumptions, *answer.components])


@answers("G15")
def test_air_is_not_steel(row: Acceptance) -> None:
    row.avoided(air_log_b().history(c=19.5).two_hour_equivalent_c)


@answers("G16")
def test_samples_are_not_averaged(row: Acceptance, log_b: aq.OvenLog) -> None:
    row.avoided(log_b.history(c=19.5).two_hour_equivalent_c)


@answers("G17")
def test_load_coupons_of_scenario_b(row: Acceptance) -> None:
    tester = aq.tester_from_block(block_readings("scenario_b", 61.0), "HRC", 61.0, 0.4)
    coupons = [r for r in rows("scenario_b", "coupons.csv") if r["coupon"] in ("B11", "B12", "B13")]
    values = [value for coupon in coupons for value in readings(coupon)]
    row.near(aq.Readings(values, "HRC", thickness_mm=4.0, tester=tester).estimate().value)


@answers("G18")
def test_the_log_explains_the_soft_coupons(row: Acceptance, log_b: aq.OvenLog) -> None:
    bias = aq.tester_from_block(block_readings("scenario_b", 61.0), "HRC", 61.0, 0.4).bias.value
    coupons = [r for r in rows("scenario_b", "coupons.csv") if r["coupon"] <= "B10"]
    temperatures = [float(coupon["temper_degc"]) for coupon in coupons]
    hrc = [statistics.fmean(readings(coupon)) - bias for coupon in coupons]
    slope, level = np.polyfit(temperatures, hrc, 1)
    assert level + slope * 200 == pytest.approx(61.2, abs=row.allowed)
    equivalent = log_of("scenario_b", gaps="line").history(c=19.5).two_hour_equivalent_c
    assert level + slope * equivalent == pytest.approx(60.2, abs=row.allowed)


@answers("G19")
def test_the_clock_that_passes_midnight(row: Acceptance) -> None:
    assert "step back of 86370 s" in row.expected
    _head, *body = (DATA / "scenario_b" / "oven_log.csv").read_text().splitlines()
    names, *samples = [line.split(",") for line in body]
    without = "\n".join(",".join(cells[1:]) for cells in [names, *samples])
    by_clock = aq.read_log(without.encode(), corrections=corrections("scenario_b"), gaps="line")
    by_seconds = log_of("scenario_b", gaps="line")
    assert any("midnight" in repair.kind for repair in by_clock.repairs)
    got, expected = (log.history(c=19.5).two_hour_equivalent_c for log in (by_clock, by_seconds))
    assert got == pytest.approx(expected, abs=0.05)


@answers("G20")
def test_verdict_of_each_iron(row: Acceptance) -> None:
    tester = aq.tester_from_block(block_readings("scenario_a", 60.2), "HRC", 60.2, 0.5)
    drawing = {"80CrV2-demo": (58.0, 60.0), "52100-demo": (59.0, 61.0)}
    expected = {
        name: (float(value), verdict)
        for name, value, verdict in re.findall(r"(K\d+) ([\d.]+) (cannot say|pass|fail)", row.expected)
    }
    flat = [r for r in rows("scenario_a", "iron_readings.csv") if "bevel" not in r["remark"]]
    assert len(flat) == len(expected) == 10
    for iron in flat:
        value, verdict = expected[iron["iron"]]
        mean = aq.Readings(readings(iron), "HRC", thickness_mm=float(iron["thickness_mm"])).mean - tester.bias.value
        assert mean == pytest.approx(value, abs=0.05 + row.allowed), iron["iron"]
        lower, upper = drawing[iron["grade"]]
        decision = aq.decide(aq.Estimate(mean, 0.35, "HRC"), lower=lower, upper=upper)
        assert decision.verdict == verdict.replace("cannot say", "not decided"), iron["iron"]


def test_the_bevel_of_scenario_a_is_no_reading() -> None:
    (bevel,) = (r for r in rows("scenario_a", "iron_readings.csv") if "bevel" in r["remark"])
    doubtful = aq.Readings(readings(bevel), "HRC", thickness_mm=float(bevel["thickness_mm"]), place="bevel")
    assert "not a valid reading" in said(str(doubt) for doubt in doubtful.doubts)
