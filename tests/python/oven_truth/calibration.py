"""Reads generated logs with this library, and asks how often the stated range holds the truth."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

import afterquench as aq
from oven_truth.logger import LoggedDay, log_of
from oven_truth.ovens import draw
from oven_truth.physics import run

CHUNK = 250


@dataclass(frozen=True)
class Answer:
    """What this library said of one log: a value and its 95 % range, or a refusal."""

    day: LoggedDay
    value_c: float
    low_c: float
    high_c: float
    repairs: tuple[str, ...]
    refusal: str

    @property
    def inside(self) -> bool:
        return self.low_c <= self.day.truth_c <= self.high_c

    @property
    def width_c(self) -> float:
        return self.high_c - self.low_c


def days(seed: int, number: int) -> Iterator[LoggedDay]:
    """So many generated logs; the same for the same seed."""
    for first in range(0, number, CHUNK):
        rng = np.random.default_rng([seed, first])
        ovens = draw(rng, min(CHUNK, number - first))
        runs = run(ovens)
        for i in range(len(ovens)):
            yield log_of(rng, ovens, runs, i)


def answer(day: LoggedDay) -> Answer:
    """The question a shop would ask of its file, with what it knows and nothing of the truth."""
    try:
        log = aq.read_log(day.text, **day.hints)  # type: ignore[arg-type]
        if day.knowledge == "air, part known":
            history = log.soak(day.thickness_mm, day.surroundings).history()  # type: ignore[arg-type]
        else:
            history = log.history()
    except aq.AfterquenchError as refused:
        nan = float("nan")
        return Answer(day, nan, nan, nan, (), f"{type(refused).__name__}: {refused}")
    low, high = history.estimate.interval()
    return Answer(day, history.estimate.value, low, high, tuple(r.kind for r in log.repairs), "")


def answers(seed: int, number: int) -> list[Answer]:
    return [answer(day) for day in days(seed, number)]


def coverage(some: Iterable[Answer]) -> float:
    """Share of the answers whose range holds the truth; refusals are no answers."""
    held = [one.inside for one in some if not one.refusal]
    return float(np.mean(held))
