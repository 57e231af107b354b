"""What ours is measured against: published formulas, regressions, boosted trees, a Gaussian process.

Every function gives a prediction for every row, that row's steel never seen. What is tuned is tuned on the others.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
from data import ELEMENTS, SHIPPED, Floats, Tempers
from kept import HERE, kept, state
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel
from sklearn.model_selection import GroupKFold
from sklearn.preprocessing import PolynomialFeatures, StandardScaler

E140 = Path(__file__).parents[2] / "src" / "data" / "hardness_astm_e140_1.csv"


def percent(d: Tempers, name: str) -> Floats:
    return d.composition[:, ELEMENTS.index(name)]


def constant_from_carbon(d: Tempers) -> Floats:
    """Hollomon and Jaffe (1945), hours."""
    return 21.3 - 5.8 * percent(d, "C")


def parameter(d: Tempers) -> Floats:
    """Hollomon and Jaffe's, in thousands."""
    return (d.temperature_c + 273.15) * (constant_from_carbon(d) + np.log10(d.time_s / 3600)) / 1000


def same_in(d: Tempers, hours: float) -> Floats:
    """The temperature in K that does in so many hours what the row's hold does."""
    return 1000 * parameter(d) / (constant_from_carbon(d) + np.log10(hours))


def quenched_of_just(d: Tempers) -> Floats:
    """As-quenched hardness where measured, else 60 √C + 20 up to 0.60 % C (E. Just 1969; from memory)."""
    return np.where(np.isfinite(d.as_quenched), d.as_quenched, 60 * np.sqrt(np.minimum(percent(d, "C"), 0.60)) + 20)


def just(d: Tempers) -> Floats:
    """E. Just (1976), from memory: H_q = 8 + (H_t - 8) exp(S (T/917)^6) with T in K, one hour, S = 1."""
    return 8 + (quenched_of_just(d) - 8) * np.exp(-((same_in(d, 1.0) / 917) ** 6))


def inside_just(d: Tempers) -> np.ndarray:
    return (d.temperature_c >= 490) & (d.temperature_c <= 650) & (d.time_s >= 1800) & (d.time_s <= 7200)


def spies(d: Tempers) -> Floats:
    """H.-J. Spies and others (HTM 47, 1992), from memory: Brinell after about two hours, as HRC by ASTM E140."""
    brinell = (
        2.84 * quenched_of_just(d) + 75 * percent(d, "C") - 0.78 * percent(d, "Si") + 14.24 * percent(d, "Mn")
        + 14.77 * percent(d, "Cr") + 128.22 * percent(d, "Mo") - 54.0 * percent(d, "V")
        - 0.55 * (same_in(d, 2.0) - 273.15) + 435.66
    )  # fmt: skip
    with E140.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    pairs = sorted((float(row["hbw"].strip("[]")), float(row["hrc"])) for row in rows if row["hbw"])
    x, y = np.array(pairs).T
    slope_low, slope_high = (y[1] - y[0]) / (x[1] - x[0]), (y[-1] - y[-2]) / (x[-1] - x[-2])
    inside = np.interp(brinell, x, y)
    # Carried on straight beyond the table, rather than stopped where an answer would look better than the formula is.
    return inside + slope_low * np.minimum(brinell - x[0], 0) + slope_high * np.maximum(brinell - x[-1], 0)


def inside_spies(d: Tempers) -> np.ndarray:
    c, si, mn, cr = (percent(d, name) for name in ("C", "Si", "Mn", "Cr"))
    return (
        (d.temperature_c >= 500) & (d.temperature_c <= 650) & (d.time_s >= 3600) & (d.time_s <= 14400)
        & (c >= 0.20) & (c <= 0.54) & (si >= 0.17) & (si <= 1.40)
        & (mn >= 0.50) & (mn <= 1.90) & (cr >= 0.03) & (cr <= 1.20)
    )  # fmt: skip


def leave_one_out(
    d: Tempers, x: Floats, tuned: Callable[[Floats, Floats, np.ndarray], Callable[[Floats], Floats]]
) -> Floats:
    made = np.empty(len(d.hrc))
    for steel in np.unique(d.steel):
        out = d.steel == steel
        made[out] = tuned(x[~out], d.hrc[~out], d.steel[~out])(x[out])
    return made


def cross_validated(model, x: Floats, y: Floats, steel: np.ndarray, folds: int) -> float:
    """Squared error at and over 20 HRC, whole steels left out."""
    total = 0.0
    for seen, unseen in GroupKFold(folds).split(x, groups=steel):
        keep = y[unseen] >= 20
        total += float(((model().fit(x[seen], y[seen]).predict(x[unseen]) - y[unseen])[keep] ** 2).sum())
    return total


STRENGTHS = 10.0 ** np.arange(-4, 3.1, 0.5)


def ridges(x: Floats, y: Floats) -> Callable[[Floats], Floats]:
    """Ridge regressions on standardised columns, one a strength: gives a function of new rows, a column a strength."""
    centre, size = x.mean(0), x.std(0)
    size[size == 0] = 1.0
    u, s, vt = np.linalg.svd((x - centre) / size, full_matrices=False)
    level = y.mean()
    weights = vt.T @ (s[:, None] / (s[:, None] ** 2 + STRENGTHS) * (u.T @ (y - level))[:, None])
    return lambda new: level + (new - centre) / size @ weights


def tuned_ridge(x: Floats, y: Floats, steel: np.ndarray) -> Callable[[Floats], Floats]:
    errors = np.zeros(len(STRENGTHS))
    for seen, unseen in GroupKFold(10).split(x, groups=steel):
        keep = unseen[y[unseen] >= 20]
        errors += ((ridges(x[seen], y[seen])(x[keep]) - y[keep, None]) ** 2).sum(0)
    best = int(errors.argmin())
    made = ridges(x, y)
    return lambda new: made(new)[:, best]


def tuned_trees(x: Floats, y: Floats, steel: np.ndarray) -> Callable[[Floats], Floats]:
    grid = [
        (3, 150, 10),
        (3, 300, 10),
        (4, 150, 10),
        (4, 300, 10),
        (4, 150, 40),
        (8, 80, 10),
        (8, 150, 10),
        (8, 80, 40),
    ]
    choices = [
        lambda leaves=leaves, rounds=rounds, least=least: HistGradientBoostingRegressor(
            learning_rate=0.1, max_leaf_nodes=leaves, max_iter=rounds, min_samples_leaf=least, l2_regularization=1.0,
            early_stopping=False, random_state=0,
        )
        for leaves, rounds, least in grid
    ]  # fmt: skip
    return min(choices, key=lambda model: cross_validated(model, x, y, steel, 5))().fit(x, y).predict


def plain_process(d: Tempers, x: Floats) -> tuple[Floats, Floats]:
    """Squared-exponential kernel with a length for each input and white noise, by marginal likelihood on 200 rows."""
    mean, u = np.empty(len(d.hrc)), np.empty(len(d.hrc))
    x = x[:, x.std(0) > 0]
    for steel in np.unique(d.steel):
        out = d.steel == steel
        seen = np.flatnonzero(~out)
        scaled = StandardScaler().fit(x[seen]).transform(x)
        centre, size = d.hrc[seen].mean(), d.hrc[seen].std()
        some = np.random.default_rng(int(steel)).choice(seen, 200, replace=False)
        kernel = ConstantKernel(1.0) * RBF(np.full(x.shape[1], 2.0), (0.1, 100)) + WhiteKernel(0.02)
        found = GaussianProcessRegressor(kernel, random_state=0).fit(scaled[some], (d.hrc[some] - centre) / size)
        process = GaussianProcessRegressor(found.kernel_, optimizer=None).fit(
            scaled[seen], (d.hrc[seen] - centre) / size
        )
        z, spread = process.predict(scaled[out], return_std=True)
        mean[out], u[out] = z * size + centre, spread * size
    return mean, u


NAMES = [
    "Just 1976",
    "Spies 1992",
    "mean by carbon",
    "element ridge",
    "element ridge, as-quenched",
    "boosted trees",
    "boosted trees, as-quenched",
    "plain Gaussian process",
]


def rival(name: str, d: Tempers) -> dict[str, Floats]:
    """An entry's predictions by name, and its standard uncertainties under the name with " u" where it states them."""
    files = (SHIPPED, E140, HERE / "data.py", HERE / "rivals.py")
    return kept(name, state(files, ("numpy", "scikit-learn")), lambda: predictions(name, d))


def predictions(name: str, d: Tempers) -> dict[str, Floats]:
    p, c = parameter(d), percent(d, "C")
    standard = ((p - p.mean()) / p.std())[:, None]
    cubic = PolynomialFeatures(3, include_bias=False).fit_transform(np.c_[c, p])
    # With phosphorus, sulphur, aluminium and copper beside these six the ridge does worse (2.70 HRC for 2.61).
    rest = np.stack([percent(d, name) for name in ("Mn", "Si", "Ni", "Cr", "Mo", "V")], 1)
    elements = np.c_[cubic, rest, rest * standard]
    expected = 67.5 - 47 * np.exp(-3.84 * np.minimum(c, 0.9))
    deviation = np.where(np.isfinite(d.as_quenched), d.as_quenched - expected, 0)[:, None]
    raw = np.c_[d.composition, d.temperature_c, np.log10(d.time_s), p]
    match name:
        case "Just 1976":
            return {name: just(d)}
        case "Spies 1992":
            return {name: spies(d)}
        case "mean by carbon":
            return {name: leave_one_out(d, cubic, tuned_ridge)}
        case "element ridge":
            return {name: leave_one_out(d, elements, tuned_ridge)}
        case "element ridge, as-quenched":
            quenched = np.c_[elements, deviation, deviation * standard, deviation * standard**2]
            return {name: leave_one_out(d, quenched, tuned_ridge)}
        case "boosted trees":
            return {name: leave_one_out(d, raw, tuned_trees)}
        case "boosted trees, as-quenched":
            return {name: leave_one_out(d, np.c_[raw, d.as_quenched], tuned_trees)}
        case _:
            return dict(zip((name, f"{name} u"), plain_process(d, raw), strict=True))
