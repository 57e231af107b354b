"""Every pair of tests/data/oven_check_values.csv with the call that answers it."""

from __future__ import annotations

import re

import numpy as np
import pytest

import afterquench as aq
from acceptance import table

ROWS = {int(row["n"]): row for row in table("oven_check_values.csv")}


def worked_example() -> aq.Survey:
    """Two sensors that reach +5.6 and -1.8 °C about 200 °C."""
    frame = {"elapsed_s": [0, 600, 1200], "s1_degc": [198.2, 201.0, 200.0], "s2_degc": [203.1, 205.6, 204.0]}
    return aq.survey(frame, 200.0, from_s=0.0)


def smallest_class() -> str:
    """The smallest metric limit of AMS2750 that holds the largest deviation, as the row words it."""
    inside = [x for x in worked_example().limits if x.source.startswith("AMS2750") and x.margin_delta_c >= 0]
    found = min(inside, key=lambda limit: limit.delta_c)
    return f"{found.item} ({found.delta_c:g} C)"


def e145(item: str) -> float:
    frame = {"elapsed_s": [0, 600], "s1_degc": [220.0, 220.0], "s2_degc": [220.0, 220.0]}
    limits = aq.survey(frame, 220.0, from_s=0.0, room_c=20.0).limits
    return next(x.delta_c for x in limits if x.source.startswith("ASTM E145") and x.item == f"type {item}")


def brass() -> float:
    """Surface of a brass plate; the textbook's brass has k = 110 W/mK, 8530 kg/m3 and 380 J/kgK (from memory)."""
    return aq.section_temperature_c(
        600.0,
        30.0,
        25.0,
        700.0,
        h_w_m2k=80.0,
        place="surface",
        conductivity_w_mk=110.0,
        heat_capacity_j_m3k=8530.0 * 380.0,
    )


def holds(*steps: tuple[float, float]) -> aq.History:
    return aq.combine(list(steps), c=20.0)


def ramp() -> aq.History:
    """20 to 200 °C at 10 °C/min, then two hours at 200 °C."""
    return aq.accumulate([0.0, 1080.0, 1080.0 + 7200.0], [20.0, 200.0, 200.0], c=18.0)


def activation() -> float:
    seconds = [0.0, 7200.0, 7200.0 + 1e-6, 10800.0]
    return aq.equivalent_time_activation(
        seconds, [200.0, 200.0, 220.0, 220.0], activation_energy_kj_mol=150.0, reference_c=200.0
    )


def first(log: bytes) -> float:
    return float(aq.read_log(log).values("air")[0])


def simc() -> tuple[float, float | None]:
    made = aq.controller_settings(aq.OvenModel(1, 1, 0.2, 0), "SIMC PI", setpoint_c=0.5)
    return made.kc, made.ti_s


def on_off() -> tuple[float, float]:
    swing = aq.on_off_swing(3, 60, 3600, 200)
    return swing["over_delta_c"], swing["under_delta_c"]


def welch() -> tuple[float, float]:
    """The example of G.4.1: three standard uncertainties in %, each with its degrees of freedom."""
    u = [0.25, 0.57, 0.82]
    return aq.effective_degrees_of_freedom(u, [9, 4, 14]), float(np.hypot.reduce(u))


CALLS = {
    1: lambda: aq.temperature_to_emf(100, "K"),
    2: lambda: aq.temperature_to_emf(240, "K"),
    3: lambda: aq.temperature_to_emf(300, "K"),
    4: lambda: aq.temperature_to_emf(240, "K"),
    5: lambda: aq.emf_to_temperature(8.138, "K"),
    6: lambda: aq.emf_to_temperature(7.219193, "K", reference_junction_c=23),
    7: lambda: aq.emf_to_temperature(6.596408, "N", reference_junction_c=25),
    8: lambda: aq.temperature_to_emf(200, "J"),
    9: lambda: aq.temperature_to_emf(150, "T"),
    10: lambda: aq.temperature_to_emf(1000, "S"),
    11: lambda: aq.temperature_to_emf(-100, "K"),
    12: lambda: aq.thermocouple_tolerance("K", 1, 400),
    13: lambda: aq.thermocouple_tolerance("K", 2, 240),
    14: lambda: aq.thermocouple_tolerance("K", "standard", 300, standard="astm-e230"),
    15: lambda: aq.thermocouple_tolerance("T", 1, 200),
    16: lambda: aq.pt100_resistance(200),
    17: lambda: aq.pt100_temperature(190.473),
    18: lambda: aq.pt100_tolerance("A", 240),
    19: lambda: aq.pt100_resistance(-100),
    20: smallest_class,
    21: lambda: e145("IIA"),
    22: lambda: aq.specific_heat_j_kgk(200.0),
    23: lambda: aq.time_to_within(3, "fan air", 20, 200, 5, h_w_m2k=25, heat_capacity="en-1993-1-2"),
    24: lambda: aq.time_to_within(4, "fan air", 20, 240, 2, h_w_m2k=10, heat_capacity="en-1993-1-2"),
    25: lambda: aq.radiation_coefficient_w_m2k(240.0, 240.0, 0.8),
    26: lambda: tuple(float(mode[0]) for mode in aq.section_modes(0.1)),
    27: brass,
    28: simc,
    29: lambda: aq.settings_of_ultimate(8, 3.6276),
    30: lambda: aq.overshoot_percent(0.5),
    31: on_off,
    32: lambda: aq.heat_up_time_s(2, 60, 3600),
    33: lambda: aq.temper_parameter(200, 2, c=20),
    34: lambda: (holds((200, 2), (220, 1)).parameter, holds((200, 2), (220, 1)).equivalent_hours(220)),
    35: lambda: holds((220, 1), (200, 2)).parameter,
    36: lambda: ramp().parameter,
    37: activation,
    38: lambda: aq.mean_kinetic_temperature([20, 25, 30], 83.144),
    39: lambda: aq.student_factor(0.95, 7),
    40: welch,
    41: lambda: aq.grubbs_critical(7),
    42: lambda: aq.process_capability(16, 2, lower=8, upper=20),
    43: lambda: aq.decide(aq.Estimate(204.2, 0.5, ""), lower=195, upper=205).verdict,
    44: lambda: first(b"zeit;luft_degc\n12:00:05;199,8\n12:00:15;199,9\n"),
    46: lambda: (aq.read_log(b"time,air_degc\n46350.5,200.1\n46350.75,200.2\n").began or "").replace("T", " "),
    45: lambda: float(
        np.diff(aq.read_log(b"clock,air_degc\n23:59:50,200.1\n00:00:00,200.2\n00:00:10,200.2\n").elapsed_s)[0]
    ),
}

WORDS = {"not proven": "not decided"}


def test_every_pair_is_listed_once() -> None:
    assert set(ROWS) == set(CALLS)


@pytest.mark.parametrize("number", CALLS, ids=lambda n: f"{n}-{ROWS[n]['area']}")
def test_pair(number: int) -> None:
    row = ROWS[number]
    got = CALLS[number]()
    if isinstance(got, str):
        assert got == WORDS.get(row["output"], row["output"])
        return
    expected = [float(re.sub(r"[^-\d.e]", "", part.split("=")[-1].split(" ")[0])) for part in row["output"].split("; ")]
    values = got if isinstance(got, tuple) else (got,)
    assert len(values) == len(expected)
    for value, wanted in zip(values, expected, strict=True):
        # A tolerance of 0 means the printed value itself.
        assert value == pytest.approx(wanted, rel=0, abs=max(float(row["tolerance"]), 1e-9)), row["input"]


def test_the_wrong_way_round_the_cold_junction_is_seen() -> None:
    """Degrees added after the inversion: 199.973 for K and 245.5 for N, as the rows say."""
    assert aq.emf_to_temperature(7.219193, "K") + 23 == pytest.approx(199.973, abs=0.001)
    assert aq.emf_to_temperature(6.596408, "N") + 25 == pytest.approx(245.5, abs=0.05)
