"""Ours beside what a user would otherwise write, in one run on the same data with the same number of threads.

Answers are compared before anything is timed. Contenders take turns, so that a machine that slows down slows all; the
best of all turns counts. Prints a table and writes it as JSON beside this file (ignored by git).

    python benches/side_by_side.py [elements] [turns]
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

THREADS = int(os.environ.get("OMP_NUM_THREADS", os.cpu_count() or 1))
os.environ.setdefault("NUMBA_NUM_THREADS", str(THREADS))

import numpy as np  # noqa: E402

import afterquench as aq  # noqa: E402

N = int(float(sys.argv[1])) if len(sys.argv) > 1 else 10_000_000
TURNS = int(sys.argv[2]) if len(sys.argv) > 2 else 7

Contenders = dict[str, Callable[[], Any]]
random = np.random.default_rng(20261125)
rows: list[dict[str, Any]] = []


def best(contenders: Contenders, repeat: int = 1) -> dict[str, float]:
    """The shortest time of each over all turns, in seconds a call."""
    shortest = dict.fromkeys(contenders, math.inf)
    for _ in range(TURNS):
        for name, call in contenders.items():
            start = time.perf_counter()
            for _ in range(repeat):
                call()
            shortest[name] = min(shortest[name], (time.perf_counter() - start) / repeat)
    return shortest


def race(
    work: str, elements: int, contenders: Contenders, *, tolerance: float, repeat: int = 1, compared: bool = True
) -> None:
    """Compares the answers of all with ours, which comes first, then times them."""
    if compared:
        first, *others = [np.asarray(call()).copy() for call in contenders.values()]
        for name, other in zip(list(contenders)[1:], others, strict=True):
            np.testing.assert_allclose(other, first, rtol=tolerance, err_msg=f"{work}: {name}")
    times = best(contenders, repeat)
    ours = next(iter(times.values()))
    for name, seconds in times.items():
        rows.append({"work": work, "who": name, "ns": seconds / elements * 1e9, "times_ours": seconds / ours})


def equivalent_time(elements: int, repeat: int) -> None:
    t = random.uniform(150, 300, elements)
    out = np.empty_like(t)
    c, hours, new = 18.0, 2.0, 200.0

    def expression(out: np.ndarray | None = None) -> Any:
        return np.power(10.0, (t + 273.15) * (c + math.log10(hours)) / (new + 273.15) - c, out=out)

    # `prange` is known to numba only, inside the compiled function.
    def loop(t: np.ndarray, out: np.ndarray, scale: float, c: float) -> None:
        for i in prange(t.size):  # noqa: F821
            out[i] = 10.0 ** ((t[i] + 273.15) * scale - c)

    into: Contenders = {
        "afterquench": lambda: aq.equivalent_time(t, hours, new, c=c, out=out),
        "NumPy expression": lambda: expression(out),
    }
    fresh: Contenders = {
        "afterquench": lambda: aq.equivalent_time(t, hours, new, c=c),
        "NumPy expression": expression,
    }
    try:
        import numba

        loop.__globals__["prange"] = numba.prange
        compiled = numba.njit(parallel=True, fastmath=False)(loop)
        scale = (c + math.log10(hours)) / (new + 273.15)

        def by_numba(target: np.ndarray) -> np.ndarray:
            compiled(t, target, scale, c)
            return target

        into["numba"] = lambda: by_numba(out)
        fresh["numba"] = lambda: by_numba(np.empty_like(t))
    except ImportError:
        pass
    race(f"equivalent time, {elements:.0e}, out=", elements, into, tolerance=1e-12, repeat=repeat)
    race(f"equivalent time, {elements:.0e}, allocating", elements, fresh, tolerance=1e-12, repeat=repeat)


def conversion(elements: int) -> None:
    if not hasattr(aq, "convert_hardness"):
        return
    hrc = np.arange(20.0, 69.0)
    hv = np.array([aq.convert_hardness(float(value), "HRC", "HV") for value in hrc[:-1]])
    hrc = hrc[:-1]
    x = random.uniform(20, 67, elements)
    out = np.empty_like(x)
    race(
        f"hardness conversion, {elements:.0e}, out=",
        elements,
        {
            "afterquench": lambda: aq.convert_hardness(x, "HRC", "HV", out=out),
            "numpy.interp (allocating; it has no out=)": lambda: np.interp(x, hrc, hv),
        },
        tolerance=1e-12,
    )


def history(samples: int) -> None:
    time_s = np.arange(samples) * 10.0
    celsius = 200 + 2 * np.sin(time_s / 180)
    c = 18.0

    def by_python_loop(count: int) -> float:
        kelvin, log_hours = celsius + 273.15, math.log10(10 / 3600)
        m = -math.inf
        for k in (0.5 * (kelvin[1:count] + kelvin[: count - 1])).tolist():
            a, b = m / k - c, log_hours
            m = k * (c + max(a, b) + math.log10(1 + 10 ** -abs(a - b)))
        return m

    contenders: Contenders = {"afterquench": lambda: aq.accumulate(time_s, celsius, c=c).parameter}
    contenders["plain loop, one hold a sample"] = lambda: by_python_loop(samples)
    race(f"history of one log, {samples:.0e} samples", samples, contenders, tolerance=1e-7)


def from_composition(elements: int) -> None:
    """Value and u together; beside it what a user would write for a Gaussian process: its kernel, then two solves."""
    composition = {"C": 0.40, "Mn": 0.85, "Si": 0.25, "Cr": 0.95, "Mo": 0.20}
    steel = aq.CompositionSteel(composition)
    celsius = random.uniform(150, 650, elements)

    def value_and_u() -> tuple[Any, Any]:
        return steel.hardness_after(celsius, 2.0), steel.u_hardness_after(celsius, 2.0)

    rows_fitted = 60
    at = random.uniform(150, 650, rows_fitted)
    inverse = np.linalg.inv(np.exp(-(((at[:, None] - at) / 100.0) ** 2)) + 0.1 * np.eye(rows_fitted))

    def small_process() -> tuple[Any, Any]:
        kernel = np.exp(-(((celsius[:, None] - at) / 100.0) ** 2))
        along = kernel @ inverse
        return along @ np.ones(rows_fitted), 1.0 - np.einsum("ij,ij->i", along, kernel)

    contenders: Contenders = {"afterquench": value_and_u, "NumPy: a process of 60 rows (other answers)": small_process}
    race(f"hardness from composition and u, {elements:.0e}", elements, contenders, tolerance=0, compared=False)
    one: Contenders = {
        "afterquench": lambda: aq.hardness_from_composition_estimate(composition, 200.0, 2.0).interval(),
    }
    race("one hardness from composition with its interval", 1, one, tolerance=0, repeat=5_000, compared=False)


def calls() -> None:
    one, number = np.array([250.0]), 250.0

    def formula() -> float:
        return 10 ** ((number + 273.15) * (18.0 + math.log10(2.0)) / (210.0 + 273.15) - 18.0)

    race(
        "one scalar call",
        1,
        {"afterquench": lambda: aq.equivalent_time(number, 2.0, 210.0, c=18.0), "the formula with math": formula},
        tolerance=1e-12,
        repeat=20_000,
    )
    race(
        "one call on an array of one",
        1,
        {"afterquench": lambda: aq.equivalent_time(one, 2.0, 210.0, c=18.0), "numpy.add": lambda: np.add(one, one)},
        tolerance=0,
        repeat=20_000,
        compared=False,
    )


def import_time() -> None:
    """The import over that of NumPy: the best of several fresh interpreters."""
    code = "import numpy, time; a = time.perf_counter(); import afterquench; print(time.perf_counter() - a)"
    times = [float(subprocess.check_output([sys.executable, "-c", code])) for _ in range(TURNS)]
    rows.append({"work": "import, over NumPy", "who": "afterquench", "ns": min(times) * 1e9, "times_ours": 1.0})


def copy(elements: int) -> None:
    a, b = random.random(elements), np.empty(elements)
    shortest = best({"copy": lambda: np.copyto(b, a)})
    rows.append(
        {
            "work": f"for scale: a copy, {elements:.0e}",
            "who": "NumPy",
            "ns": shortest["copy"] / elements * 1e9,
            "times_ours": 1.0,
        }
    )


def main() -> None:
    aq.set_threads(THREADS)
    import_time()
    calls()
    equivalent_time(10_000, 200)
    equivalent_time(N, 1)
    conversion(N)
    history(max(N // 10, 1000))
    from_composition(max(N // 10, 1000))
    copy(N)
    print(f"{THREADS} thread(s); best of {TURNS} turns; ns an element (or a call)\n")
    print(f"{'work':<44} {'who':<44} {'ns':>14} {'times ours':>11}")
    for row in rows:
        print(f"{row['work']:<44} {row['who']:<44} {row['ns']:>14.2f} {row['times_ours']:>11.2f}")
    target = Path(__file__).with_name("side_by_side.json")
    target.write_text(json.dumps({"threads": THREADS, "elements": N, "turns": TURNS, "rows": rows}, indent=1) + "\n")


if __name__ == "__main__":
    main()
