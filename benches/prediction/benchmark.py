"""Leave-one-steel-out benchmark of the composition predictor and its rivals, all in one run.

    python benches/prediction/benchmark.py [processes]

Needs scikit-learn and pandas beside NumPy and SciPy. Everything fitted or chosen for a steel that is left out (weights,
hyper-parameters, interval factors, a rival's tuning) sees the other steels only; the structure of the model was chosen
with all of them in sight, which docs/prediction.md tells. Writes rows.csv and transfer.csv under target/prediction;
report.py makes tables and pictures of them.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import sys
import time
from concurrent.futures import Future, ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from data import Tempers, load
from fit import Fit, fit, interval_factors, predict, search
from rivals import NAMES, inside_just, inside_spies, parameter, rival

OUT = Path(__file__).parents[2] / "target" / "prediction"
PAIRS = 20  # random pairs of coupons for each steel


def left_out(d: Tempers, rows: np.ndarray) -> tuple[Fit, tuple[float, float]]:
    """The fit without these rows, from the prior means of the hyper-parameters on."""
    rest = d.part(~rows)
    made = fit(rest, search(rest))
    return made, interval_factors(made)


def transfers(q: Tempers, made: Fit, random: np.random.Generator) -> list[tuple]:
    """Rows of one left-out steel predicted after some of its own readings: kind, hold given, row, mean, u."""

    def after(given: np.ndarray, asked: np.ndarray) -> tuple:
        return predict(q.part(asked), made.theta, made.weights, made.covariance, given=q.part(given))

    found: list[tuple] = []
    hot = q.hrc >= 20
    p = parameter(q)
    holds = np.unique(q.time_s)
    for hold in holds:
        given = q.time_s == hold
        asked = ~given & hot
        if given.sum() < 4 or not asked.any():
            continue
        mean, u = after(given, asked)
        spanned = (p >= p[given].min()) & (p <= p[given].max()) & (given.sum() >= 6)
        # The steel's own curve of that hold, carried to the other holds by the parameter: what a table alone can do.
        order = np.argsort(p[given])
        own = np.interp(p, p[given][order], q.hrc[given][order])
        kelvin, lt = q.temperature_c + 273.15, np.log10(q.time_s / 3600)
        p20 = kelvin * (20 + lt)
        order20 = np.argsort(p20[given])
        own20 = np.interp(p20, p20[given][order20], q.hrc[given][order20])
        for kind, keep in (("one hold, 4 rows or more", asked), ("one hold, 6 rows or more, inside", asked & spanned)):
            inner = keep[asked]
            found += [
                (kind, hold, i, m, s, own[i], own20[i])
                for i, m, s in zip(np.flatnonzero(keep), mean[inner], u[inner], strict=True)
            ]
    for _ in range(PAIRS):
        given = np.zeros(len(hot), bool)
        given[random.choice(np.flatnonzero(hot), 2, replace=False)] = True
        found += _coupons("two coupons, random", given, hot, after)
    # The two that a user would make: hold nearest one hour, tempers nearest 230 and 540 °C.
    nearest = holds[np.argmin(np.abs(np.log(holds / 3600)))]
    may = np.flatnonzero((q.time_s == nearest) & hot)
    given = np.zeros(len(hot), bool)
    given[[may[np.argmin(np.abs(q.temperature_c[may] - at))] for at in (230, 540)]] = True
    return found + _coupons("two coupons, chosen", given, hot, after)


def _coupons(kind: str, given: np.ndarray, hot: np.ndarray, after) -> list[tuple]:
    asked = ~given & hot
    mean, u = after(given, asked)
    return [(kind, 0.0, i, m, s, np.nan, np.nan) for i, m, s in zip(np.flatnonzero(asked), mean, u, strict=True)]


def ours(steel: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Predictions of a left-out steel's rows, and of some of them after others."""
    d, _ = load()
    out = d.steel == steel
    made, (k68, k95) = left_out(d, out)
    q = d.part(out)
    table = pd.DataFrame({"row": np.flatnonzero(out)})
    asked = {
        "": q,
        ", composition only": q.without_as_quenched(),
        ", laboratory unseen": q.without_as_quenched().of_unseen_laboratory(),
    }
    for label, variant in asked.items():
        table[f"ours{label}"], table[f"ours{label} u"] = predict(variant, made.theta, made.weights, made.covariance)
    found = pd.DataFrame(
        transfers(q, made, np.random.default_rng([7, steel])),
        columns=["kind", "hold", "row", "mean", "u", "own", "own20"],
    )
    found["row"] = np.flatnonzero(out)[found["row"]]
    return table.assign(k68=k68, k95=k95), found.assign(k68=k68, k95=k95)


def both_heats(name: str) -> pd.DataFrame:
    """The stricter question: every heat of the same name left out."""
    d, heats = load()
    which = [s for s, known in enumerate(heats.names) if known == name]
    made, _ = left_out(d, np.isin(d.steel, which))
    found = []
    for steel in which:
        q = d.part((d.steel == steel) & (d.hrc >= 20))
        error = predict(q, made.theta, made.weights, made.covariance)[0] - q.hrc
        found.append(
            (name, heats.laboratory[steel], heats.composition[steel, 0], np.sqrt((error**2).mean()), error.mean())
        )
    return pd.DataFrame(found, columns=["steel", "laboratory", "carbon", "rmse", "bias"])


def main(workers: int) -> None:
    start = time.time()

    def done(what: str, future: Future) -> Any:
        result = future.result()
        print(f"{time.time() - start:5.0f} s  {what}", flush=True)
        return result

    OUT.mkdir(parents=True, exist_ok=True)
    d, heats = load()
    known = pd.DataFrame(
        {
            "steel": d.steel,
            "name": [heats.names[s] for s in d.steel],
            "laboratory": d.laboratory,
            "carbon": d.composition[:, 0],
            "temperature_c": d.temperature_c,
            "time_s": d.time_s,
            "hrc": d.hrc,
            "inside Just 1976": inside_just(d),
            "inside Spies 1992": inside_spies(d),
        }
    )
    with ProcessPoolExecutor(workers) as pool:
        others = {name: pool.submit(rival, name, d) for name in NAMES}
        steels = [pool.submit(ours, steel) for steel in range(len(heats.names))]
        strict = [pool.submit(both_heats, name) for name in ("AISI-SAE 1065", "AISI-SAE 4140")]
        made = [pd.DataFrame(done(name, future)) for name, future in others.items()]
        left, own = zip(*(done(name, future) for name, future in zip(heats.names, steels, strict=True)), strict=True)
        pd.concat([done("both heats", future) for future in strict]).to_csv(OUT / "both_heats.csv", index=False)
    pd.concat([known, *made, pd.concat(left).set_index("row").sort_index()], axis=1).to_csv(
        OUT / "rows.csv", index_label="row"
    )
    pd.concat(own).to_csv(OUT / "transfer.csv", index=False)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else os.cpu_count() or 1)
