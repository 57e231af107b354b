"""What is promised of speed and memory beside what is measured, each line with its bar: `make bench` runs it last.

Logs are invented and written to a temporary folder: 200 MB, and 1 GB (`--small` leaves that out). Answers are compared
before anything is timed. Contenders take turns and the best turn counts. A missed bar is told and is no error: absolute
times hang on the machine. `--readme` writes the table into README.md.

    python benches/promised.py [--small] [--readme]
"""

from __future__ import annotations

import argparse
import json
import math
import os
import platform
import subprocess
import sys
import tempfile
import time
import timeit
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import polars as pl

import afterquench as aq

HERE = Path(__file__).parent
THREADS = int(os.environ.get("OMP_NUM_THREADS", os.cpu_count() or 1))
MARKS = ("<!-- speed: written by benches/promised.py --readme -->", "<!-- speed: end -->")

rows: list[tuple[str, float, float, str]] = []


def say(what: str, measured: float, bar: float, unit: str) -> None:
    rows.append((what, measured, bar, unit))
    print(f"{what:<66} {measured:>9.3g} {unit:<12} bar {bar:>6g}  {verdict(measured, bar)}", flush=True)


def verdict(measured: float, bar: float) -> str:
    return "met" if measured < bar else "MISSED"


def seconds(call: Callable[[], Any], repeat: int = 1) -> float:
    start = time.perf_counter()
    for _ in range(repeat):
        call()
    return (time.perf_counter() - start) / repeat


def best(call: Callable[[], Any], rounds: int, repeat: int = 1) -> float:
    return min(seconds(call, repeat) for _ in range(rounds))


def invented_log(path: Path, megabytes: int) -> None:
    """A plain CSV of three columns, a row a second: an oven that heats for an hour and holds, the part beside it."""
    random = np.random.default_rng(20261126)
    header = True
    with path.open("wb") as file:
        second = 0
        while file.tell() < megabytes * 1_000_000:
            t = np.arange(second, second + 1_000_000)
            swing = 2 * np.sin(t / 180)
            air = np.minimum(20 + 0.05 * t, 200.0) + swing + 0.2 * random.standard_normal(t.size)
            part = (
                np.minimum(20 + 0.05 * np.maximum(t - 300, 0), 200.0)
                + 0.4 * swing
                + 0.1 * random.standard_normal(t.size)
            )
            frame = pl.DataFrame({"elapsed_s": t, "air_degc": air, "part_side_degc": part})
            frame.write_csv(file, float_precision=2, include_header=header)
            header = False
            second += t.size


def plain_log(path: Path) -> None:
    """Reading with its repairs, and the history behind it, against the bare readers of the two data frame libraries."""

    def ours() -> Any:
        return aq.read_log(path).history(c=20)

    frame = pd.read_csv(path)
    log = aq.read_log(path)
    for name in ("air", "part_side"):
        np.testing.assert_array_equal(log.values(name), frame[f"{name}_degc"])
    del frame, log
    contenders: dict[str, Callable[[], Any]] = {
        "pandas": lambda: pd.read_csv(path),
        "polars": lambda: pl.read_csv(path),
        "read_log": lambda: aq.read_log(path),
        "both": ours,
    }
    shortest = dict.fromkeys(contenders, math.inf)
    for _ in range(7):
        for name, call in contenders.items():
            shortest[name] = min(shortest[name], seconds(call))
    size = path.stat().st_size / 1e6
    print(f"a log of {size:.0f} MB: " + ", ".join(f"{name} {value:.2f} s" for name, value in shortest.items()))
    bare = min(shortest["pandas"], shortest["polars"])
    say("read_log and history of 200 MB, against the faster bare read_csv", shortest["both"] / bare, 1.5, "times")


def peak_and_answer(call: str, path: Path) -> tuple[float, float, list[float]]:
    """Seconds, peak memory in MB and the answer of a call in a fresh interpreter.

    The peak is what Linux tells of the process itself: ru_maxrss would count the parent it was forked from.
    """
    code = f"""
import json, time, afterquench as aq
start = time.perf_counter()
made = {call.format(path=str(path))}
took = time.perf_counter() - start
status = open("/proc/self/status").read()
peak = int(status.split("VmHWM:")[1].split()[0]) / 1000
print(json.dumps([took, peak, [made.estimate.value, *made.estimate.interval()]]))
"""
    took, peak, answer = json.loads(subprocess.check_output([sys.executable, "-c", code]))
    return took, peak, answer


def large_log(path: Path) -> None:
    took, peak, answer = peak_and_answer("aq.read_history({path!r}, c=20)", path)
    whole_took, whole_peak, whole = peak_and_answer("aq.read_log({path!r}).history(c=20)", path)
    np.testing.assert_allclose(answer, whole, rtol=1e-9)
    print(
        f"a log of 1 GB: read_history {took:.1f} s and {peak:.0f} MB; read_log and history {whole_took:.1f} s and "
        f"{whole_peak:.0f} MB; the same answer"
    )
    say("read_history of 1 GB: peak memory, interpreter and NumPy included", peak, 300, "MB")


def calls() -> None:
    # By timeit: a lambda around it would cost as much again.
    rounds = timeit.repeat("call(200.0, 2.0, c=20.0)", number=500, repeat=3000, globals={"call": aq.temper_parameter})
    say("one scalar temper_parameter", min(rounds) / 500 * 1e9, 100, "ns")
    composition = {"C": 0.40, "Mn": 0.85, "Si": 0.25, "Cr": 0.95, "Mo": 0.20}
    steel = aq.CompositionSteel(composition)
    one = best(lambda: aq.hardness_from_composition_estimate(composition, 200.0, 2.0).interval(), 300, 100)
    say("one hardness from composition with its interval", one * 1e6, 5, "µs")
    celsius = np.random.default_rng(1).uniform(150, 650, 1_000_000)
    many = best(lambda: (steel.hardness_after(celsius, 2.0), steel.u_hardness_after(celsius, 2.0)), 7)
    say("1e6 hardnesses from composition, value and u", many, 0.5, "s")
    random = np.random.default_rng(1)
    values, u = random.normal(59, 1, 10_000), random.uniform(0.2, 0.6, 10_000)
    say("10,000 parts decided as arrays", best(lambda: aq.decide(values, 58, 60, u=u), 30) * 1e3, 50, "ms")


def core() -> None:
    """What needs no Python, by the core's own bench."""
    command = ["cargo", "bench", "--quiet", "--bench", "promised"]
    for line in subprocess.check_output(command, cwd=HERE.parent, text=True).splitlines():
        if line.count("\t") == 3:
            what, measured, bar, unit = line.split("\t")
            say(what, float(measured), float(bar), unit)


def table() -> str:
    lines = ["| what | measured | bar | |", "|---|---|---|---|"]
    lines += [
        f"| {what} | {measured:.3g} {unit} | {bar:g} | {verdict(measured, bar)} |" for what, measured, bar, unit in rows
    ]
    return "\n".join(lines)


def into_readme() -> None:
    readme = HERE.parent / "README.md"
    before, _, rest = readme.read_text().partition(MARKS[0])
    _, _, after = rest.partition(MARKS[1])
    readme.write_text(f"{before}{MARKS[0]}\n\n{table()}\n\n{MARKS[1]}{after}")


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--small", action="store_true", help="leave the log of 1 GB out")
    reader.add_argument("--readme", action="store_true", help="write the table into README.md")
    asked = reader.parse_args()
    aq.set_threads(THREADS)
    print(f"{platform.machine()}, {THREADS} thread(s)\n")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        invented_log(path, 200)
        plain_log(path)
        if not asked.small:
            invented_log(path, 1000)
            large_log(path)
    core()
    calls()
    target = Path(__file__).with_suffix(".json")
    target.write_text(
        json.dumps([dict(zip(("what", "measured", "bar", "unit"), row, strict=True)) for row in rows], indent=1) + "\n"
    )
    if asked.readme:
        into_readme()


if __name__ == "__main__":
    main()
