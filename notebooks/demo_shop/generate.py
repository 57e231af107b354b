"""Writes the INVENTED data of the demo shop beside this file; the same bytes every time (fixed seeds, no packages).

Tollbury Clockworks does not exist, nor do its oven, its tester and its bar of steel. The story: a one-person workshop
that mends tower clocks makes six setting gauges of O1, 6 mm thick, for 60 to 63 HRC. They went into the hot fan oven
beside a probe; 55 minutes later the fuse blew, and with it the logger, for 14 minutes. Afterwards the gauges are read
on a bench tester, with a block read before them. The fourth gauge came from another bar.

Stated physics: air and walls are one heat capacity, heated by a PI controller whose integral is held when it saturates;
a gauge follows the air with one time constant; the probe beside it sees four parts of gauge and one of air. Hardness
follows an invented two-hour curve through the tempering parameter along the gauge's true temperature.
"""

from __future__ import annotations

import csv
import math
import random
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path

HERE = Path(__file__).parent
NOTE = "INVENTED DEMO DATA (generate.py): no real shop, oven, steel or tester."

SETPOINT_C, ROOM_C = 215.0, 18.0
LOADED_S, DOOR_OPEN_S = 1500, 25
POWER_OFF_S, POWER_BACK_S = 4800, 5640
HEAT_OFF_S, END_S = 10500, 12600
GAUGE_TIME_CONSTANT_S = 330.0
# What the channels read too much; the comparison in channels.csv found the opposite, within its uncertainty.
AIR_ERROR_C, PROBE_ERROR_C = -0.9, +0.6

# Two hours at temperature, and what the hidden steel differs by.
CURVE = [(150, 63.3), (175, 62.7), (200, 61.9), (225, 61.1), (250, 60.2), (275, 59.0), (300, 57.8)]
CONSTANT_C = 17.8
TESTER_BIAS_HRC = +0.5
OTHER_BAR_HRC = +1.9


def simulate() -> list[tuple[float, float, float, float]]:
    """Air, gauge, probe and duty in every second."""
    air, gauge, integral = ROOM_C, ROOM_C, 0.0
    seconds = []
    for second in range(END_S + 1):
        powered = not POWER_OFF_S <= second < POWER_BACK_S and second < HEAT_OFF_S
        error = SETPOINT_C - air
        wanted = 0.05 * error + integral
        duty = min(max(wanted, 0.0), 1.0) if powered else 0.0
        if powered and 0.0 < wanted < 1.0:
            integral += 0.00012 * error
        door = LOADED_S <= second < LOADED_S + DOOR_OPEN_S or second >= HEAT_OFF_S + 120
        air += (900.0 * duty - (5.0 if door else 0.85) * (air - ROOM_C)) / 3400.0
        if second == LOADED_S:
            gauge = ROOM_C
        gauge += (air - gauge) / (GAUGE_TIME_CONSTANT_S if second >= LOADED_S else 60.0)
        seconds.append((air, gauge, 0.8 * gauge + 0.2 * air, 100.0 * duty))
    return seconds


def hardness_after(gauge_c: Iterable[float]) -> float:
    """HRC on the invented curve after this temperature in every second."""
    parameter = 0.0
    for temperature_c in gauge_c:
        kelvin = temperature_c + 273.15
        done_h = 10.0 ** (parameter / kelvin - CONSTANT_C)
        parameter = kelvin * (CONSTANT_C + math.log10(done_h + 1.0 / 3600.0))
    same_as_c = parameter / (CONSTANT_C + math.log10(2.0)) - 273.15
    for (low_c, low), (high_c, high) in pairwise(CURVE):
        if low_c <= same_as_c <= high_c:
            return low + (high - low) * (same_as_c - low_c) / (high_c - low_c)
    raise ValueError(f"{same_as_c} °C is not on the invented curve")


def write(name: str, head: Sequence[str], rows: Iterable[Sequence[object]], note: str) -> None:
    """Writes one file whose first line says that it is invented."""
    with (HERE / name).open("w", newline="", encoding="utf-8") as file:
        file.write(f"# {NOTE} {note}\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(head)
        writer.writerows(rows)


def write_log(seconds: list[tuple[float, float, float, float]]) -> None:
    """The logger's file: jitter, a gap while the fuse was out, a plug that moved, a row written twice."""
    chance = random.Random(4711)
    rows: list[list[object]] = []
    second = 0
    while second <= END_S:
        if not POWER_OFF_S <= second < POWER_BACK_S:
            air, _, probe, duty = seconds[second]
            minutes = 8 * 60 + 20 + second // 60
            clock = f"2032-02-11T{minutes // 60:02d}:{minutes % 60:02d}:{second % 60:02d}"
            air_text = f"{air + AIR_ERROR_C + chance.gauss(0, 0.15):.1f}"
            probe_text = f"{probe + PROBE_ERROR_C + chance.gauss(0, 0.12):.1f}"
            if 7200 <= second < 7230:
                air_text = "OPEN"
            setpoint = SETPOINT_C if second < HEAT_OFF_S else 0.0
            rows.append([second, clock, f"{setpoint:.0f}", air_text, probe_text, f"{duty:.0f}"])
            if 9000 <= second < 9015:
                rows.append(list(rows[-1]))
        second += 15 + (chance.random() < 0.05)
    head = ["elapsed_s", "clock_local", "setpoint_degc", "air_degc", "part_side_degc", "heater_duty_pct"]
    write("oven_log.csv", head, rows, "Sample about every 15 s; the probe lies beside a gauge.")


def write_borrowed_log(seconds: list[tuple[float, float, float, float]]) -> None:
    """The same run as a borrowed recorder saw it: another dialect, a clock nobody set, and more that goes wrong."""
    chance = random.Random(52)
    lines = [f"{NOTE} The run of oven_log.csv by a second recorder.", "Interval;10 s", ""]
    lines.append("Date/Time;T1 [°C];T2 [°C]")
    for second in range(0, END_S + 1, 10):
        if POWER_OFF_S <= second < POWER_BACK_S:
            continue  # the recorder hangs on the same fuse
        air, _, probe, _ = seconds[second]
        minutes = 22 * 60 + 10 + second // 60
        clock = f"{13 + minutes // 1440}.02.2032 {minutes % 1440 // 60:02d}:{minutes % 60:02d}:{second % 60:02d}"
        texts = [f"{air + chance.gauss(0, 0.2):.1f}", f"{probe + chance.gauss(0, 0.2):.1f}"]
        if second == 6300:
            texts[1] = "612.4"  # a spike: no 6 mm of steel can follow it
        if 8000 <= second < 8040:
            texts[0] = "1372.0"  # the end of the range, which means an open circuit
        lines.append(";".join([clock, *texts]).replace(".", ",").replace(",", ".", 2))
        if second == 9500:
            lines.append(lines[-1])
    lines[-1] = lines[-1][:25]  # the plug was pulled while it wrote
    (HERE / "borrowed_recorder.csv").write_bytes(("\ufeff" + "\r\n".join(lines)).encode())


# Front-left, front-right, back-left, back-right below; the same above; centre.
PLACES_C = {"s1": -2.6, "s2": -3.4, "s3": 0.3, "s4": -0.2, "s5": 0.9, "s6": 0.2, "s7": 2.9, "s8": 2.4, "s9": 0.5}


def write_survey() -> None:
    """Nine sensors in the empty oven for forty minutes, and what a comparison found of each sensor."""
    chance = random.Random(907)
    errors = {name: chance.gauss(0, 0.7) for name in PLACES_C}
    rows: list[list[object]] = []
    for second in range(0, 2401, 30):
        swing = 0.9 * math.sin(2 * math.pi * second / 540)
        shown = [SETPOINT_C + off + swing + errors[name] + chance.gauss(0, 0.1) for name, off in PLACES_C.items()]
        control = SETPOINT_C + 0.7 * swing + chance.gauss(0, 0.1)
        rows.append([second, *(f"{value:.1f}" for value in (*shown, control))])
    head = ["elapsed_s", *(f"{name}_degc" for name in PLACES_C), "control_degc"]
    write(
        "survey.csv",
        head,
        rows,
        "s1..s4 lower corners (front-left, front-right, back-left, back-right), s5..s8 upper, s9 centre.",
    )
    found = [[name, f"{-error + chance.gauss(0, 0.15):.1f}", "0.6"] for name, error in errors.items()]
    head = ["sensor", "correction_to_add_degc", "expanded_uncertainty_k2_degc"]
    write("survey_sensors.csv", head, found, "Found by comparison at 215 °C.")


def write_readings(hardness: float) -> None:
    """Block and gauges as the tester shows them."""
    chance = random.Random(1823)

    def shown(true: float) -> str:
        return f"{true + TESTER_BIAS_HRC + chance.gauss(0, 0.25):.1f}"

    block = [["HRC", "61.3", "0.4", *(shown(61.3) for _ in range(5))]]
    write(
        "test_block.csv",
        ["scale", "block_value", "block_expanded_uncertainty_k2", "r1", "r2", "r3", "r4", "r5"],
        block,
        "Read before the gauges.",
    )
    rows = []
    for number in range(1, 7):
        true = hardness + (OTHER_BAR_HRC if number == 4 else 0.0) + chance.gauss(0, 0.15)
        rows.append([f"G{number}", "HRC", "flat", "6.0", *(shown(true) for _ in range(3))])
    rows.append(["G6", "HRC", "bevel", "6.0", *(shown(hardness - 2.5) for _ in range(3))])
    head = ["gauge", "scale", "place", "thickness_mm", "r1", "r2", "r3"]
    write("readings.csv", head, rows, "Drawing: 60 to 63 HRC. The last row was read on the bevel.")


def main() -> None:
    """Writes all files."""
    seconds = simulate()
    write_log(seconds)
    write_borrowed_log(seconds)
    write_survey()
    chance = random.Random(31)
    found = [
        [name, f"{-error + chance.gauss(0, 0.15):.1f}", "0.8"]
        for name, error in (("air", AIR_ERROR_C), ("part_side", PROBE_ERROR_C))
    ]
    head = ["channel", "correction_to_add_degc", "expanded_uncertainty_k2_degc"]
    write("channels.csv", head, found, "Found by comparison near 200 °C.")
    write_readings(hardness_after(gauge for _, gauge, _, _ in seconds[LOADED_S:]))


if __name__ == "__main__":
    main()
