"""How often `OvenLog.faults` names a fault of a sensor that has none, and how often it finds one that was put in.

`python -m oven_truth.sensors PAGE [NUMBER] [SEED]` writes the page.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import afterquench as aq
from oven_truth.logger import log_of
from oven_truth.ovens import Floats, draw
from oven_truth.physics import run

CHUNK = 250
ROOM_C = 20.0


def clean_logs(seed: int, number: int) -> Iterator[aq.OvenLog]:
    """Generated logs of sensors without a fault: noise, offsets, gain errors, rounding and lag they do have."""
    for first in range(0, number, CHUNK):
        rng = np.random.default_rng([seed, first])
        ovens = draw(rng, min(CHUNK, number - first))
        runs = run(ovens)
        for i in range(len(ovens)):
            day = log_of(rng, ovens, runs, i, clean=True)
            yield aq.read_log(day.text, **day.hints)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Channels:
    """A log's temperatures, to put faults into."""

    time_s: Floats
    values: dict[str, Floats]
    load_s: float

    @classmethod
    def of(cls, log: aq.OvenLog) -> Channels:
        values = {role: np.array(log.values(role)) for role in ("air", "part_side") if role in log.channels}
        return cls(np.array(log.elapsed_s), values, log.load_s or 0.0)

    def with_values(self, role: str, values: Floats) -> Channels:
        return Channels(self.time_s, self.values | {role: values}, self.load_s)

    def rows_where(self, role: str, low: float, high: float, spare: int) -> np.ndarray:
        """Rows behind the loading whose reading is so much of the highest, with some rows behind them."""
        values = self.values[role]
        top = np.nanmax(values)
        behind = self.time_s > self.load_s + 120
        rows = np.flatnonzero(behind & (values > max(low * top, 60.0)) & (values <= high * top))
        return rows[rows < self.time_s.size - spare]

    def found(self, kind: str, role: str | None) -> bool:
        table = {"elapsed_s": self.time_s} | {f"{role}_degc": values for role, values in self.values.items()}
        load = self.load_s if self.time_s[0] <= self.load_s < self.time_s[-1] else None
        try:
            faults = aq.read_log(table, load_s=load).faults()
        except aq.DataFileError:
            # A channel of which nothing is left is refused by the reader, which says why.
            return True
        return any(fault.kind == kind and fault.channel in (role, None) for fault in faults)


Inject = Callable[[np.random.Generator, Channels, str], Channels | None]


def over(
    count: int, change: Callable[[np.random.Generator, Floats], Floats], low: float = 0.7, high: float = 1.0
) -> Inject:
    """A change of so many rows in a row; None where the log has no place for it."""

    def inject(rng: np.random.Generator, log: Channels, role: str) -> Channels | None:
        rows = log.rows_where(role, low, high, count + 20)
        if rows.size < 20:
            return None
        at = int(rng.choice(rows))
        values = log.values[role].copy()
        values[at : at + count] = change(rng, values[at : at + count])
        return log.with_values(role, values)

    return inject


def drifting(rng: np.random.Generator, log: Channels, role: str) -> Channels | None:
    if len(log.values) < 2:
        return None
    rate = 3.0 * rng.choice([-1.0, 1.0])
    return log.with_values(role, log.values[role] + rate * log.time_s / 3600.0)


def turned_round(rng: np.random.Generator, log: Channels, role: str) -> Channels | None:
    """Reversed leads show the mirror image about the terminals' temperature, nearly."""
    return log.with_values(role, 2 * ROOM_C - log.values[role])


def loose(rng: np.random.Generator, values: Floats) -> Floats:
    return values - np.minimum(30.0, 0.15 * values) * rng.random(values.size)


INJECTED: dict[str, tuple[str, Inject]] = {
    "one sample 100 to 400 °C high": ("spike", over(1, lambda rng, v: v + rng.uniform(100, 400))),
    "ten minutes or more without a reading": ("drop-out", over(60, lambda rng, v: np.full(v.size, np.nan))),
    "ten samples of 1372": ("open sensor", over(10, lambda rng, v: np.full(v.size, 1372.0))),
    "stands still for 60 samples in the hold": ("stuck sensor", over(60, lambda rng, v: np.full(v.size, v[0]))),
    "stands still for 60 samples in the heat-up": (
        "stuck sensor",
        over(60, lambda rng, v: np.full(v.size, v[0]), 0.0, 0.6),
    ),
    "leads reversed": ("reversed thermocouple", turned_round),
    "part side drifts by 3 °C an hour": ("drift", drifting),
    "40 samples jump by up to 30 °C": ("contact lost", over(40, loose)),
}


@dataclass(frozen=True)
class Counted:
    """What was named of clean logs, and what was found of faults put in."""

    logs: int
    named: Counter[str]
    with_any: int
    tried: Counter[str]
    found: Counter[str]


def count(seed: int, number: int) -> Counted:
    """Asks so many clean logs, and each again with every fault it has a place for."""
    rng = np.random.default_rng(seed)
    named: Counter[str] = Counter()
    tried: Counter[str] = Counter()
    found: Counter[str] = Counter()
    with_any = 0
    for log in clean_logs(seed, number):
        kinds = {fault.kind for fault in log.faults()}
        named.update(kinds)
        with_any += bool(kinds)
        channels = Channels.of(log)
        for what, (kind, inject) in INJECTED.items():
            role = str(rng.choice(list(channels.values)))
            if kind == "drift":
                role = "part_side"
            spoiled = inject(rng, channels, role) if role in channels.values else None
            if spoiled is not None:
                tried[what] += 1
                found[what] += spoiled.found(kind, role)
    return Counted(number, named, with_any, tried, found)


# What a kind is judged by, and what that can't tell.
JUDGED = {
    "spike": (
        "one to three samples that differ from both neighbours by more than a sensor can go and come back: up by "
        "20 °C + 0.3 °C/s, down by 40 °C + 0.5 °C/s",
        "a fall through a door between two samples that is all back in the next",
    ),
    "drop-out": ("samples without a reading, or a hole in one channel while the record goes on", ""),
    "open sensor": (
        "what loggers write for it: words, and numbers that no oven reaches",
        "a code inside the oven's range",
    ),
    "stuck sensor": (
        "one reading for at least 10 rows and 120 s, where the other channel says that it moved by 10 °C, where the "
        "channel's own noise makes it less probable than 1e-9, or which ends in a leap up",
        "a record so coarse that a controlled oven repeats itself; what is below 45 °C, which may lie outside the oven",
    ),
    "reversed thermocouple": (
        "it falls as the other rises, to below 10 °C; alone, to below −20 °C from a start at room temperature",
        "",
    ),
    "drift": (
        "part side less air along the steady part: steeper than the scatter of its blocks allows (99 %), 1.5 °C in all "
        "at least, and not dying away as a lag does",
        "which of the two it is; less than half an hour of steady air; an oven that swings by 20 °C",
    ),
    "contact lost": (
        "at least 6 rough rows and 3 turns there and back in 12 rows, 8 times rougher than usual, while the other "
        "channel is calm",
        "a contact that is loose all along",
    ),
}

HEAD = """# Faults of sensors: what is named, and how often wrongly

`log.faults()` names what the record shows of a sensor; nothing is repaired by asking. No answer is no proof: a sensor
that is wrong by the same degrees all along shows in no record, nor does a wrong type set in the controller, where
every reading is smooth and wrong. For these there are a reference beside the sensor, and a physical mark (boiling
water, a metal that melts): `aq.explain_sensor(mark, shown)` looks through wrong types, reversed leads and missing
compensation for what explains it.

| kind | judged by | can't tell |
|---|---|---|
"""

COUNTS = """
{number} invented logs whose sensors have no fault (`tests/python/oven_truth`; seed {seed}; half of them of ovens heated
empty, two in five under on-off control, sampled every 1 to 60 s, rounded to 0.01 to 1 °C), and the same logs with one
fault put in wherever the log has a place for it. A log that the reader then refuses counts as found. The bounds above
were chosen on logs of seed 11. `make calibration` makes this page again, with a seed of its own.

| named of a log without a fault | logs |
|---|---|
"""


def page(counted: Counted, seed: int) -> str:
    """The whole page."""
    text = HEAD + "".join(f"| {kind} | {by} | {open_left} |\n" for kind, (by, open_left) in JUDGED.items())
    text += COUNTS.format(number=counted.logs, seed=seed)
    text += "".join(f"| {kind} | {counted.named[kind]} |\n" for kind in JUDGED)
    text += f"| **any** | {counted.with_any} of {counted.logs} |\n"
    text += "\n| put in | looked for | found |\n|---|---|---|\n"
    for what, (kind, _) in INJECTED.items():
        share = 100 * counted.found[what] / max(counted.tried[what], 1)
        text += f"| {what} | {kind} | {counted.found[what]} of {counted.tried[what]} ({share:.0f} %) |\n"
    return text


if __name__ == "__main__":
    path, number, seed = Path(sys.argv[1]), *(int(word) for word in (*sys.argv[2:4], "200", "5")[:2])
    path.write_text(page(count(seed, number), seed), encoding="utf-8")
