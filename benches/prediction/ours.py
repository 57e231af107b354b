"""Ours on a steel that is left out: bare, after one hold of its own, and after two coupons.

Everything fitted for a steel (weights, hyper-parameters, interval factors) sees the other steels only.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pandas as pd
from data import SHIPPED, Floats, Tempers, load
from fit import Fit, IntervalFactors, fit, interval_factors, predict, search
from kept import HERE, kept, state
from model import columns, neighbours
from rivals import parameter

PAIRS = 20  # random pairs of coupons for each steel

# A table of a steel is one of an hour or so: the hold nearest one hour is given, with all its rows, and the other holds
# are asked for within the parameter it spans. The other two readings of the question are harder and stated beside it.
HOUR = "hold nearest one hour, rows inside its parameter"
SIX_ROWS = "each hold of six rows or more, rows inside its parameter"
FOUR_ROWS = "each hold of four rows or more, all other rows"
CHOSEN = "two coupons: hold nearest one hour, tempers nearest 230 and 540 °C"
DESIGNED = "two coupons: that hold, the pair that leaves the least predicted u"
ANY = "two coupons: holds of ten minutes or more, the pair that leaves the least predicted u"
RANDOM = "two coupons at random, 20 pairs a steel"

CODE = state(
    (SHIPPED, *(HERE / name for name in ("data.py", "model.py", "fit.py", "ours.py"))), ("numpy", "scipy", "pandas")
)


def left_out(d: Tempers, rows: np.ndarray) -> tuple[Fit, IntervalFactors]:
    """The fit without these rows, from the prior means of the hyper-parameters on."""
    rest = d.part(~rows)
    made = fit(rest, search(rest))
    return made, interval_factors(made)


def oracle_u(asked: Tempers, made: Fit, given: Tempers | None = None) -> Floats:
    """The standard uncertainty left to one who knows every weight of population and laboratory exactly, and what the
    other heats share: how heats of one composition differ, and the reading's own scatter."""
    others = np.unique(neighbours(made.tempers)[0], axis=0)
    unknown = np.eye(others.shape[1]) - np.linalg.pinv(others) @ others
    covariance = np.zeros_like(made.covariance)
    place = columns(asked, made.theta).population_scale["ln_near"][0]
    covariance[place, place] = np.kron(np.eye((place.stop - place.start) // len(unknown)), unknown)
    return predict(asked, made.theta, made.weights, covariance, given=given)[1]


def transfers(q: Tempers, made: Fit, random: np.random.Generator) -> list[tuple]:
    """Rows of one left-out steel predicted after some of its own readings: kind, hold given, row, mean, u."""

    def after(given: np.ndarray, asked: np.ndarray) -> tuple:
        mean, u = predict(q.part(asked), made.theta, made.weights, made.covariance, given=q.part(given))
        return mean, u, oracle_u(q.part(asked), made, q.part(given))

    found: list[tuple] = []
    hot = q.hrc >= 20
    p = parameter(q)
    holds = np.unique(q.time_s)
    nearest = holds[np.argmin(np.abs(np.log(holds / 3600)))]
    for hold in holds:
        given = q.time_s == hold
        asked = ~given & hot
        if given.sum() < 4 or not asked.any():
            continue
        mean, u, best = after(given, asked)
        spanned = asked & (p >= p[given].min()) & (p <= p[given].max())
        # The steel's own curve of that hold, carried to the other holds by the parameter: what a table alone can do.
        order = np.argsort(p[given])
        own = np.interp(p, p[given][order], q.hrc[given][order])
        kelvin, lt = q.temperature_c + 273.15, np.log10(q.time_s / 3600)
        p20 = kelvin * (20 + lt)
        order20 = np.argsort(p20[given])
        own20 = np.interp(p20, p20[given][order20], q.hrc[given][order20])
        for kind, keep in (
            (HOUR, spanned & (hold == nearest)),
            (SIX_ROWS, spanned & (given.sum() >= 6)),
            (FOUR_ROWS, asked),
        ):
            inner = keep[asked]
            found += [
                (kind, hold, i, m, s, b, own[i], own20[i])
                for i, m, s, b in zip(np.flatnonzero(keep), mean[inner], u[inner], best[inner], strict=True)
            ]
    for _ in range(PAIRS):
        given = np.zeros(len(hot), bool)
        given[random.choice(np.flatnonzero(hot), 2, replace=False)] = True
        found += _coupons(RANDOM, given, hot, after)
    # The two that a user would make: hold nearest one hour, tempers nearest 230 and 540 °C.
    may = np.flatnonzero((q.time_s == nearest) & hot)
    given = np.zeros(len(hot), bool)
    given[[may[np.argmin(np.abs(q.temperature_c[may] - at))] for at in (230, 540)]] = True
    found += _coupons(CHOSEN, given, hot, after)
    for kind, among in ((DESIGNED, may), (ANY, np.flatnonzero(hot & (q.time_s >= 600)))):
        given = np.zeros(len(hot), bool)
        given[list(best_pair(q, made, among, hot))] = True
        found += _coupons(kind, given, hot, after)
    return found


def best_pair(q: Tempers, made: Fit, may: np.ndarray, hot: np.ndarray) -> tuple[int, int]:
    """The two rows of `may` that leave the least mean variance of the other rows, whatever they read."""
    at = columns(q, made.theta)
    prior = at.population @ made.covariance @ at.population.T + at.own @ at.own.T

    def left(pair: tuple[int, int]) -> float:
        given = list(pair)
        others = np.setdiff1d(np.flatnonzero(hot), given)
        cross = prior[np.ix_(others, given)]
        known = prior[np.ix_(given, given)] + np.diag(at.noise[given])
        return float((prior[others, others] - (cross @ np.linalg.inv(known) * cross).sum(1)).mean())

    return min(combinations(may, 2), key=left)


def _coupons(kind: str, given: np.ndarray, hot: np.ndarray, after) -> list[tuple]:
    asked = ~given & hot
    rows = zip(np.flatnonzero(asked), *after(given, asked), strict=True)
    return [(kind, 0.0, i, mean, u, best, np.nan, np.nan) for i, mean, u, best in rows]


def ours(steel: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Predictions of a left-out steel's rows, and of some of them after others."""
    return kept(f"ours {steel}", CODE, lambda: _ours(steel))


def _ours(steel: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    d, _ = load()
    out = d.steel == steel
    made, factors = left_out(d, out)
    q = d.part(out)
    table = pd.DataFrame({"row": np.flatnonzero(out)})
    asked = {
        "": q,
        ", composition only": q.without_as_quenched(),
        ", laboratory unseen": q.without_as_quenched().of_unseen_laboratory(),
    }
    for label, variant in asked.items():
        table[f"ours{label}"], table[f"ours{label} u"] = predict(variant, made.theta, made.weights, made.covariance)
        table[f"ours{label} k68"] = factors.k68_composition if label else factors.k68_as_quenched
    table["oracle u"] = oracle_u(q, made)
    found = pd.DataFrame(
        transfers(q, made, np.random.default_rng([7, steel])),
        columns=["kind", "hold", "row", "mean", "u", "oracle u", "own", "own20"],
    )
    found["row"] = np.flatnonzero(out)[found["row"]]
    return table.assign(k95=factors.k95), found.assign(k68=factors.k68_as_quenched, k95=factors.k95)


def both_heats(name: str) -> pd.DataFrame:
    """The stricter question: every heat of the same name left out."""
    return kept(f"both heats {name}", CODE, lambda: _both_heats(name))


def _both_heats(name: str) -> pd.DataFrame:
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
