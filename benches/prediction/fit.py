"""Fits the composition predictor to the shipped tempers and writes the coefficients that ship with the crate.

    python benches/prediction/fit.py

Weights have standard normal priors and a closed-form posterior; a steel's own effects are integrated out steel by
steel. Hyper-parameters maximise evidence times prior. Needs NumPy and SciPy; deterministic.
"""

from __future__ import annotations

import os

# One thread: the order of sums, and with it the last digits, does not depend on the machine's load.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import time
import tomllib
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
from data import Floats, Tempers, load
from export import write
from model import NAMES, PENHA, PRIOR_MEAN, PRIOR_SD, TIMING, Columns, columns, columns_at, noise, timing
from scipy.optimize import minimize

HYPER_PARAMETERS = Path(__file__).with_name("hyper_parameters.toml")
COEFFICIENTS = Path(__file__).parents[2] / "src" / "data" / "tempered_fit_2026.toml"
STUDENT_FREEDOM = 3.0  # degrees of freedom of rows and steels that may be worse than their kind (judgement)
ROBUST_ROUNDS = 3
BOUND = 3.5  # in prior standard deviations
STEPS = 40
AMOUNTS = ("ln_increment", "ln_mn_saturation", "ln_cr_saturation", "ln_mo_saturation")
STEP, STEP_C, STEP_CARBON = 1e-5, 1e-3, 1e-7  # of a hyper-parameter, °C, %C


@dataclass
class Posterior:
    """Evidence, weights with their covariance, and what the gradient and the reweighting need."""

    evidence: float
    weights: Floats
    covariance: Floats
    pull: Floats  # inverse covariance of the data times their residual
    at: Columns
    inverse: list[Floats]  # of each steel's own covariance
    scaled: Floats  # inverse covariance times population columns


def posterior(d: Tempers, theta: Floats) -> Posterior:
    at = columns(d, theta)
    residual = d.hrc - at.mean
    scaled, pull = np.empty_like(at.population), np.empty_like(residual)
    log_determinant, inverse = 0.0, []
    for rows in d.groups():
        own = at.own[rows] @ at.own[rows].T
        own[np.diag_indices(len(rows))] += at.noise[rows]
        log_determinant += 2 * np.log(np.diag(np.linalg.cholesky(own))).sum()
        inverse.append(np.linalg.inv(own))
        scaled[rows] = inverse[-1] @ at.population[rows]
        pull[rows] = inverse[-1] @ residual[rows]
    precision = at.population.T @ scaled
    precision[np.diag_indices(len(precision))] += 1.0
    covariance = np.linalg.inv(precision)
    projected = at.population.T @ pull
    weights = covariance @ projected
    evidence = (
        -0.5 * (residual @ pull - projected @ weights)
        - 0.5 * log_determinant
        - np.log(np.diag(np.linalg.cholesky(precision))).sum()
        - 0.5 * len(residual) * np.log(2 * np.pi)
    )
    return Posterior(evidence, weights, covariance, pull - scaled @ weights, at, inverse, scaled)


@dataclass
class Slopes:
    """Derivatives of the evidence."""

    mean: Floats
    population: Floats
    own: Floats
    noise: Floats
    own_precision: Floats  # of the data's inverse covariance within a steel, times own columns


def slopes(d: Tempers, post: Posterior) -> Slopes:
    at, pull = post.at, post.pull
    spread = post.scaled @ post.covariance
    own, own_precision, diagonal = np.empty_like(at.own), np.empty_like(at.own), np.empty_like(pull)
    for rows, inverse in zip(d.groups(), post.inverse, strict=True):
        within = inverse - spread[rows] @ post.scaled[rows].T
        own_precision[rows] = within @ at.own[rows]
        own[rows] = np.outer(pull[rows], pull[rows] @ at.own[rows]) - own_precision[rows]
        diagonal[rows] = np.diag(within)
    return Slopes(
        mean=pull,
        population=np.outer(pull, pull @ at.population) - spread,
        own=own,
        noise=0.5 * (pull**2 - diagonal),
        own_precision=own_precision,
    )


def objective(theta: Floats, d: Tempers) -> tuple[float, Floats]:
    """Minus the logarithm of evidence times prior, and its gradient: in closed form for scales and lengths; by a
    difference for what acts through one-hour equivalent, dissolved carbon or amounts of elements."""
    post = posterior(d, theta)
    slope, at = slopes(d, post), post.at
    standard = (theta - PRIOR_MEAN) / PRIOR_SD
    by_population = (slope.population * at.population).sum(0)
    by_own = (slope.own * at.own).sum(0)
    penha = d.laboratory == PENHA
    x, log_hours, carbon = timing(d, theta)

    def through(moved: Columns) -> Floats:
        """By row, what the evidence gains from one row's columns."""
        return (
            slope.mean * (moved.mean - at.mean)
            + (slope.population * (moved.population - at.population)).sum(1)
            + (slope.own * (moved.own - at.own)).sum(1)
        )

    by_x = through(columns_at(d, theta, x + STEP_C, log_hours, carbon)) / STEP_C
    by_carbon = through(columns_at(d, theta, x, log_hours, carbon + STEP_CARBON)) / STEP_CARBON
    gained = np.zeros(len(NAMES))
    for i, name in enumerate(NAMES):
        gained[i] += sum(by_population[place].sum() for place in at.population_scale.get(name, []))
        gained[i] += sum(by_population[place] @ factor for place, factor in at.population_length.get(name, []))
        gained[i] += sum(by_own[place] @ factor for place, factor in at.own_length.get(name, []))
        moved = theta.copy()
        moved[i] += STEP
        # Some laboratories' scales are the unseen laboratory's too, which has no rows in a fit.
        if name in at.own_scale:
            gained[i] += by_own[at.own_scale[name]].sum()
        elif name == "ln_own_penha":
            gained[i] += np.vdot(slope.own[penha], at.own[penha])
        elif name in TIMING:
            new_x, _, new_carbon = timing(replace(d, cache=None), moved)
            gained[i] += (by_x @ (new_x - x) + by_carbon @ (new_carbon - carbon)) / STEP
        elif name in AMOUNTS:
            gained[i] += through(columns_at(d, moved, x, log_hours, carbon)).sum() / STEP
        elif name.startswith("ln_noise"):
            p = dict(zip(NAMES, moved, strict=True))
            gained[i] += slope.noise @ (noise(d, p) / d.row_weight - at.noise) / STEP
    return -post.evidence + 0.5 * standard @ standard, standard / PRIOR_SD - gained


def search(d: Tempers, steps: int = STEPS) -> Floats:
    """The hyper-parameters of largest evidence times prior, from the prior means on, to four decimals.

    Tables read by straight lines put kinks into the evidence, so that its maximum is known to about a thousandth only;
    what follows from the rounded numbers is closed form and comes out the same everywhere.
    """

    def standardised(q: Floats) -> tuple[float, Floats]:
        value, gradient = objective(PRIOR_MEAN + PRIOR_SD * q, d)
        return value, gradient * PRIOR_SD

    found = minimize(
        standardised,
        np.zeros(len(NAMES)),
        jac=True,
        method="L-BFGS-B",
        options={"maxiter": steps, "maxfun": steps + 15},
        bounds=[(-BOUND, BOUND)] * len(NAMES),
    )
    return np.round(PRIOR_MEAN + PRIOR_SD * found.x, 4)


def robust(d: Tempers, theta: Floats) -> Tempers:
    """Student weights by reweighting: a row's noise and a steel's own deviation may be larger than their kind's."""
    d = replace(d, row_weight=np.ones(len(d.hrc)), steel_scale=np.ones((len(d.hrc), 1)))
    for _ in range(ROBUST_ROUNDS):
        post = posterior(d, theta)
        slope, at = slopes(d, post), post.at
        error = at.noise * post.pull
        inverse_diagonal = post.pull**2 - 2 * slope.noise
        expected = (error**2 + at.noise - at.noise**2 * inverse_diagonal) / (at.noise * d.row_weight)
        scale = d.steel_scale.copy()
        for rows in d.groups():
            lam = d.steel_scale[rows[0], 0] ** 2
            size = (((at.own[rows] / d.steel_scale[rows]).T @ post.pull[rows]) ** 2).sum() * lam**2
            free = (at.own[rows] * slope.own_precision[rows]).sum()
            scale[rows] = np.sqrt((STUDENT_FREEDOM + size) / (STUDENT_FREEDOM + free))
        d = replace(d, row_weight=(STUDENT_FREEDOM + 1) / (STUDENT_FREEDOM + expected), steel_scale=scale)
    return d


@dataclass
class Fit:
    theta: Floats
    weights: Floats
    covariance: Floats
    tempers: Tempers  # with their Student weights
    shared: int
    evidence: float


def fit(d: Tempers, theta: Floats) -> Fit:
    """All that follows from hyper-parameters, in closed form but for a few rounds of reweighting."""
    weighted = robust(d, theta)
    post = posterior(weighted, theta)
    return Fit(theta, post.weights, post.covariance, weighted, post.at.shared, post.evidence)


def predict(
    asked: Tempers, theta: Floats, weights: Floats, covariance: Floats, given: Tempers | None = None
) -> tuple[Floats, Floats]:
    """Mean and standard uncertainty of a further reading of one steel, after the readings `given` of that steel."""
    at = columns(asked, theta)
    mean = at.mean + at.population @ weights
    variance = ((at.population @ covariance) * at.population).sum(1) + (at.own**2).sum(1)
    if given is not None:
        seen = columns(given, theta)
        known = seen.population @ covariance @ seen.population.T + seen.own @ seen.own.T + np.diag(seen.noise)
        cross = at.population @ covariance @ seen.population.T + at.own @ seen.own.T
        gain = np.linalg.solve(known, cross.T).T
        mean = mean + gain @ (given.hrc - seen.mean - seen.population @ weights)
        variance = variance - (gain * cross).sum(1)
    # Noise under 20 HRC goes by the prediction, never by the reading.
    p = dict(zip(NAMES, theta, strict=True))
    return mean, np.sqrt(variance + noise(replace(asked, hrc=mean), p))


@dataclass
class IntervalFactors:
    """What u is multiplied by: for 68 % with the as-quenched hardness given where the source has it, for 68 % from
    composition only, and for 95 %."""

    k68_as_quenched: float
    k68_composition: float
    k95: float = 1.96


def interval_factors(made: Fit) -> IntervalFactors:
    """1.96 is kept for 95 %, the others follow what leaving each steel out shows.

    These inner residuals come from hyper-parameters that saw the inner steel, so their size is a little small; their
    shape is used, not their size.
    """
    d = made.tempers
    known, bare = [], []
    for steel in np.unique(d.steel):
        rest = posterior(d.part(d.steel != steel), made.theta)
        asked = replace(d.part((d.steel == steel) & (d.hrc >= 20)), row_weight=1.0, steel_scale=1.0)
        for ratios, variant in ((known, asked), (bare, asked.without_as_quenched())):
            mean, u = predict(variant, made.theta, rest.weights, rest.covariance)
            ratios.append(np.abs(mean - asked.hrc) / u)

    def factor(ratios: list[Floats]) -> float:
        at68, at95 = np.quantile(np.concatenate(ratios), [0.68, 0.95])
        return float(1.96 * at68 / at95)

    return IntervalFactors(factor(known), factor(bare))


def coefficients(theta: Floats, path: Path) -> None:
    """Writes what follows from hyper-parameters and the shipped tempers."""
    tempers, heats = load()
    made = fit(tempers, theta)
    kept = slice(made.shared)
    write(path, theta, made.weights[kept], made.covariance[kept, kept], heats, asdict(interval_factors(made)))


def kept_hyper_parameters() -> Floats:
    """The hyper-parameters that the shipped coefficients follow from."""
    table = tomllib.loads(HYPER_PARAMETERS.read_text(encoding="utf-8"))
    return np.array([table[name] for name in NAMES])


def main() -> None:
    start = time.time()
    theta = search(load()[0])
    head = "# Hyper-parameters of largest evidence times prior, written by fit.py; model.py says what they are.\n"
    HYPER_PARAMETERS.write_text(
        head + "".join(f"{name} = {value:.4f}\n" for name, value in zip(NAMES, theta, strict=True)), encoding="utf-8"
    )
    coefficients(theta, COEFFICIENTS)
    print(f"wrote {HYPER_PARAMETERS.name} and {COEFFICIENTS.name} in {time.time() - start:.0f} s")


if __name__ == "__main__":
    main()
