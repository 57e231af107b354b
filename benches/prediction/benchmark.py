"""Leave-one-steel-out benchmark of the composition predictor and its rivals, all in one run.

    python benches/prediction/benchmark.py [processes]

Needs scikit-learn and pandas beside NumPy and SciPy. Everything fitted or chosen for a steel that is left out (weights,
hyper-parameters, interval factors, a rival's tuning) sees the other steels only; the structure of the model was chosen
with all of them in sight, which docs/prediction.md tells. Writes rows.csv, transfer.csv and both_heats.csv under
target/prediction; report.py makes tables and pictures of them. What the same code has computed before is not computed
again (kept.py), so that a run can be stopped and taken up.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import sys
import time
from concurrent.futures import Future, ProcessPoolExecutor
from typing import Any

import pandas as pd
from data import load
from kept import OUT
from ours import both_heats, ours
from rivals import NAMES, inside_just, inside_spies, rival


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
