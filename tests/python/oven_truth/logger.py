"""Looks at a run through faulty sensors and writes the file a shop would bring.

A log goes through three hands: `sample` reads the sensors now and then, with their errors; `traps` spoils the rows;
`write` puts them into one of the dialects. What a shop would know and say (corrections, when the part went in, which
column is which where the heading is dumb) comes beside the file; the truth never does.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from oven_truth import dialects
from oven_truth.ovens import KNOWLEDGE, Flags, Floats, Ovens
from oven_truth.traps import spoil

if TYPE_CHECKING:
    from oven_truth.physics import Runs

PERIODS_S = (1, 2, 5, 10, 15, 20, 30, 60)
STEPS_DELTA_C = (0.01, 0.1, 0.1, 0.5, 1.0)


@dataclass
class Rows:
    """The log between the hands: one element a row. Cells that hold a word or a code stand in `words`."""

    time_s: Floats  # as stamped, s since the logger was started
    values: dict[str, Floats]  # °C (duty: %), by role
    step_delta_c: float
    period_s: float
    setpoint_c: float
    words: dict[tuple[str, int], str] = field(default_factory=dict)
    cut: str = ""  # how the text ends, where a trap decides
    midnight: bool = False
    stuck_date: bool = False

    def take(self, index: np.ndarray) -> None:
        """Keeps these rows in this order, a row twice where it is named twice."""
        to: dict[int, list[int]] = {}
        for new, old in enumerate(index.tolist()):
            to.setdefault(old, []).append(new)
        self.time_s = self.time_s[index]
        self.values = {role: values[index] for role, values in self.values.items()}
        self.words = {(role, new): word for (role, old), word in self.words.items() for new in to.get(old, [])}

    def drop(self, which: Flags) -> None:
        self.take(np.flatnonzero(~which))


@dataclass(frozen=True)
class LoggedDay:
    """A file as a shop brings it, what the shop would say of it, and the truth for scoring."""

    text: bytes
    hints: dict[str, object]
    knowledge: str
    thickness_mm: float
    surroundings: str
    traps: tuple[str, ...]
    dialect: str
    corrected: bool
    load_told: bool
    truth_c: float


def sample(rng: np.random.Generator, ovens: Ovens, runs: Runs, i: int) -> tuple[Rows, dict[str, tuple[float, float]]]:
    """Reads the sensors every so often, and draws the corrections a shop would have of them."""
    end = int(ovens.end_s[i])
    period = float(rng.choice(PERIODS_S))
    steps = np.full(int(end / period) + 1, period)
    jitter = rng.random()
    if jitter < 0.4:  # a scheduler that is late now and then
        steps += rng.random(steps.size) < 0.05
    elif jitter < 0.6 and period >= 5:
        steps += rng.normal(0, 0.05 * period, steps.size).clip(-0.3 * period, 0.3 * period)
    time = np.concatenate([[0.0], np.cumsum(steps)])
    time = np.round(time[time <= end])

    setpoint = ovens.setpoint_c[i]
    step = float(rng.choice(STEPS_DELTA_C))
    noise = rng.choice([0.05, 0.15, 0.4])
    second = np.arange(end + 1)
    values: dict[str, Floats] = {}
    corrections: dict[str, tuple[float, float]] = {}
    told = rng.random() < 0.65
    seen = {"air": runs.air_sensor_c[: end + 1, i]}
    if ovens.knowledge[i] == 0:
        seen["part_side"] = runs.probe_c[: end + 1, i]
        if rng.random() < 0.2:
            del seen["air"]
    for role, sensed in seen.items():
        true = np.interp(time, second, sensed)
        if told:
            error, u = rng.uniform(-3, 3), rng.choice([0.25, 0.4, 0.5, 1.0])
            gain = rng.normal(0, 0.002)
            read = true + error + gain * (true - setpoint - rng.uniform(-10, 10))
            corrections[role] = (round(-error + rng.normal(0, u), 1), float(u))
        else:  # class 1 of a thermocouple: 1.5 °C or 0.4 %
            read = true + rng.uniform(-1, 1) * np.maximum(1.5, 0.004 * true)
        values[role] = np.round((read + rng.normal(0, noise, read.size)) / step) * step
    if rng.random() < 0.5:
        values["setpoint"] = np.where(time < ovens.off_s[i], setpoint, 0.0 if rng.random() < 0.5 else setpoint)
    if rng.random() < 0.4:
        values["duty"] = np.round(100 * np.interp(time, second, runs.duty[: end + 1, i]))
    return Rows(time, values, step, period, setpoint), corrections


def log_of(rng: np.random.Generator, ovens: Ovens, runs: Runs, i: int, *, clean: bool = False) -> LoggedDay:
    """The file of one oven's day; a clean one has no trap set."""
    rows, corrections = sample(rng, ovens, runs, i)
    knowledge = KNOWLEDGE[ovens.knowledge[i]]
    load = float(ovens.load_s[i])
    traps = [] if clean else spoil(rng, rows, load)
    hints: dict[str, object] = {}
    load_told = load > 0 and (knowledge != "part side" or rng.random() < 0.3)
    if load_told:  # by the shop's clock on the wall
        hints["load_s"] = float(np.clip(load + np.round(rng.normal(0, 15)), 0, rows.time_s.max()))
    if "restart" in traps and rng.random() < 0.5:  # somebody saw it
        hints["restart_s"] = rows.period_s
    text, dialect, channels = dialects.write(rng, rows, traps)
    if corrections:
        hints["corrections"] = corrections
    if channels:
        hints["channels"] = channels
    if load > 0:
        traps = [*traps, "empty-oven prelude"]
    return LoggedDay(
        text=text,
        hints=hints,
        knowledge=knowledge,
        thickness_mm=float(ovens.thickness_mm[i]),
        surroundings="fan air" if ovens.fan[i] else "still air",
        traps=tuple(traps),
        dialect=dialect,
        corrected=bool(corrections),
        load_told=load_told,
        truth_c=float(runs.two_hour_equivalent_c[i]),
    )
