"""Sensors that lie: each fault in the smallest log that shows it, and logs without faults that stay clean."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

import afterquench as aq
from acceptance import Acceptance, answers
from oven_truth.sensors import clean_logs
from scenario import DATA

STEP_S = 10.0


def made(air: np.ndarray, part: np.ndarray | None = None) -> aq.OvenLog:
    """A log of one or two channels, a reading every ten seconds."""
    time = STEP_S * np.arange(air.size)
    names = "elapsed_s,air_degc" + ("" if part is None else ",part_side_degc")
    columns = [time, air] if part is None else [time, air, part]
    text = "\n".join(",".join("nan" if np.isnan(x) else f"{x:.2f}" for x in row) for row in zip(*columns, strict=True))
    return aq.read_log(f"{names}\n{text}\n".encode(), load_s=0.0)


def oven(minutes: float = 150.0, seed: int = 7) -> tuple[np.ndarray, np.ndarray]:
    """INVENTED: an oven that heats to 200 °C and the part behind it by 168 s, with the noise of a good sensor."""
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, minutes * 60.0, STEP_S)
    air = 200.0 - 175.0 * np.exp(-time / 500.0)
    part = np.empty_like(air)
    part[0] = 25.0
    keep = np.exp(-STEP_S / 168.0)
    for row in range(1, air.size):
        part[row] = air[row] + (part[row - 1] - air[row]) * keep
    noise = 0.15 * rng.standard_normal((2, air.size))
    return air + noise[0], part + noise[1]


def kinds(log: aq.OvenLog) -> list[str]:
    return [fault.kind for fault in log.faults()]


@pytest.mark.parametrize("seed", range(8))
def test_a_good_log_has_no_faults(seed: int) -> None:
    assert made(*oven(seed=seed)).faults() == ()


@pytest.mark.parametrize(("scenario", "spikes"), [("scenario_a", 1), ("scenario_b", 0)])
def test_the_invented_logs_show_their_own_traps_only(scenario: str, spikes: int) -> None:
    found = aq.read_log(DATA / scenario / "oven_log.csv").faults()
    assert sum(fault.kind == "spike" for fault in found) == spikes
    assert {fault.kind for fault in found} <= {"spike", "drop-out"}


def test_a_spike_and_a_drop_out_are_listed_where_they_are() -> None:
    air, part = oven()
    part[300] = 700.0
    air[400:420] = np.nan
    found = {fault.kind: fault for fault in made(air, part).faults()}
    assert found["spike"].rows == (300,)
    assert found["spike"].seconds == (3000.0, 3000.0)
    assert found["spike"].channel == "part_side"
    assert found["drop-out"].channel == "air"


def test_an_open_sensor_is_named() -> None:
    air, part = oven()
    air[500:520] = 1372.0
    (found,) = (fault for fault in made(air, part).faults() if fault.kind == "open sensor")
    assert (found.channel, found.rows[0], found.rows[-1]) == ("air", 500, 519)


def test_a_sensor_that_stands_still_while_the_air_moves() -> None:
    air, part = oven()
    part[20:60] = part[20]
    (found,) = (fault for fault in made(air, part).faults() if fault.kind == "stuck sensor")
    assert found.channel == "part_side"
    assert (found.rows[0], found.rows[-1]) == (20, 59)
    assert found.size_delta_c > 30.0


def test_a_sensor_that_stands_still_in_a_steady_oven() -> None:
    """Its own noise gives it away: it never kept a reading for so long."""
    air, part = oven()
    part[600:700] = 199.9
    (found,) = (fault for fault in made(air, part).faults() if fault.kind == "stuck sensor")
    assert (found.rows[0], found.rows[-1]) == (600, 699)


def test_a_coarse_sensor_in_a_steady_oven_is_not_stuck() -> None:
    air, part = oven()
    assert "stuck sensor" not in kinds(made(np.round(air), np.round(part)))
    assert "stuck sensor" not in kinds(made(np.round(air * 2) / 2, np.round(part * 2) / 2))


def test_reversed_leads_fall_while_the_oven_heats() -> None:
    air, part = oven()
    found = [f for f in made(air, 2 * 25.0 - part).faults() if f.kind == "reversed thermocouple"]
    assert [fault.channel for fault in found] == ["part_side"]
    alone = [f for f in made(2 * 25.0 - air).faults() if f.kind == "reversed thermocouple"]
    assert [fault.channel for fault in alone] == ["air"]


@pytest.mark.parametrize("per_hour_c", [3.0, -3.0])
def test_channels_that_walk_apart(per_hour_c: float) -> None:
    air, part = oven(minutes=180.0)
    walked = part + per_hour_c * STEP_S * np.arange(part.size) / 3600.0
    (found,) = (fault for fault in made(air, walked).faults() if fault.kind == "drift")
    assert found.size_delta_c == pytest.approx(per_hour_c * (found.seconds[1] - found.seconds[0]) / 3600.0, rel=0.2)


def test_a_contact_that_comes_and_goes() -> None:
    air, part = oven()
    rng = np.random.default_rng(3)
    part[500:560] -= 12.0 * rng.random(60)
    found = [fault for fault in made(air, part).faults() if fault.kind == "contact lost"]
    assert len(found) == 1
    assert found[0].channel == "part_side"
    assert 490 <= found[0].rows[0] <= 510
    assert 550 <= found[0].rows[-1] <= 572


def test_nothing_is_repaired() -> None:
    air, part = oven()
    part[20:60] = part[20]
    log = made(air, part)
    before = log.to_frame().copy()
    log.faults()
    assert log.to_frame().equals(before)


@answers("D12")
def test_a_controller_set_to_another_type(row: Acceptance) -> None:
    row.near(aq.wrong_type_temperature(200.0, "K", "J", terminals_c=0.0))
    # The row's own words: with terminals at 25 °C, which the controller compensates, 258.5 (+59).
    assert aq.wrong_type_temperature(200.0, "K", "J", terminals_c=25.0) == pytest.approx(258.5, abs=0.05)


def test_the_right_type_changes_nothing() -> None:
    shown = np.linspace(20.0, 350.0, 12)
    for kind in "KJNTS":
        assert aq.wrong_type_temperature(shown, kind, kind, 23.0) == pytest.approx(shown, abs=1e-9)


def test_a_mark_finds_its_pair() -> None:
    best, *_ = aq.explain_sensor(physical_mark_c=258.5, shown_c=200.0)
    assert (best.kind, best.wired, best.set_as) == ("wrong type", "K", "J")
    assert abs(best.off_delta_c) < 0.1
    assert aq.explain_sensor(200.0, 200.4)[0].kind == "no fault"
    assert any(
        e.kind == "no compensation" for e in aq.explain_sensor(222.0, 200.0, terminals_c=22.0, within_delta_c=2.0)
    )
    # By the reference functions: type S wired and T set shows 200 °C where the junction is at about 900 °C.
    assert [(e.wired, e.set_as) for e in aq.explain_sensor(900.0, 200.0, within_delta_c=60.0)] == [("S", "T")]
    assert aq.explain_sensor(1500.0, 200.0) == ()


def test_reversed_leads_show_the_mirror_image() -> None:
    """Boiling water behind reversed leads of type K at terminals of 25 °C: E = 2 E(25) - E(100), by hand."""
    shown = aq.emf_to_temperature(2 * aq.temperature_to_emf(25.0, "K") - aq.temperature_to_emf(100.0, "K"), "K")
    found = [e for e in aq.explain_sensor(100.0, shown, within_delta_c=0.5) if e.kind == "reversed" and e.wired == "K"]
    assert len(found) == 1
    assert found[0].true_c == pytest.approx(100.0, abs=1e-6)


def test_what_can_not_be_is_refused() -> None:
    with pytest.raises(aq.InvalidValueError):
        aq.explain_sensor(np.inf, 200.0)
    with pytest.raises(aq.UnknownNameError, match="thermocouple type"):
        aq.wrong_type_temperature(200.0, "K", "Q")
    with pytest.raises(aq.OutOfRangeError):
        aq.wrong_type_temperature(900.0, "T", "J")


def test_faults_and_explanations_pickle() -> None:
    air, part = oven()
    part[300] = 700.0
    (fault,) = made(air, part).faults()
    assert pickle.loads(pickle.dumps(fault)) == fault
    (best, *_) = aq.explain_sensor(258.5, 200.0)
    assert pickle.loads(pickle.dumps(best)) == best
    assert "0x" not in repr(fault) + repr(best)


def test_generated_logs_without_a_fault_stay_clean() -> None:
    """A seeded sample of what docs/faults.md counts: at most one log in fifty is named wrongly."""
    found = [[fault.kind for fault in log.faults()] for log in clean_logs(seed=77, number=50)]
    assert sum(bool(kinds) for kinds in found) <= 1, found


def test_doors_that_one_sample_sees_are_no_spikes() -> None:
    """Hot air falls between two samples and comes back over the next ones; a spike is all back at once."""
    time = np.arange(0.0, 3600.0, 30.0)
    air = np.full(time.size, 500.0)
    door = air.copy()
    door[60:64] = [420.0, 478.0, 494.0, 499.0]
    spike = air.copy()
    spike[60] = 420.0
    assert "spike" not in kinds(aq.read_log({"elapsed_s": time, "air_degc": door}))
    assert kinds(aq.read_log({"elapsed_s": time, "air_degc": spike})) == ["spike"]
