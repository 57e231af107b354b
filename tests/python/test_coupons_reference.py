"""Coupons against general-purpose libraries: statsmodels (weights, pooling), lmfit (C), odrpack (errors in both
variables), SciPy (profile, restricted likelihood). The mathematics is the same, so the numbers agree to 1e-6."""

from __future__ import annotations

import math
import sys
import warnings
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import optimize, stats

import afterquench as aq
from acceptance import DATA

with warnings.catch_warnings():
    # Importing these warns of what they themselves use; that is theirs to mend.
    warnings.simplefilter("ignore")
    import lmfit
    import odrpack
    import statsmodels.api as sm
    from statsmodels.stats.meta_analysis import combine_effects

COUPONS_A = DATA / "scenario_a" / "coupons.csv"
SOUND = pd.read_csv(COUPONS_A, comment="#").query("coupon not in ['A07', 'A12']").reset_index(drop=True)
MEANS = SOUND[["r1", "r2", "r3", "r4", "r5"]].mean(axis=1).to_numpy()
KELVIN = SOUND["temper_degc"].to_numpy() + 273.15
LOG_H = np.log10(SOUND["hold_h"].to_numpy())
TWO = math.log10(2.0)


def close(got: float, expected: float) -> None:
    assert got == pytest.approx(expected, rel=1e-6, abs=1e-6)


def test_weighted_least_squares_with_known_weights() -> None:
    """Coupons with one to five readings, their scatter given: statsmodels' WLS with its scale fixed at one."""
    rng = np.random.default_rng(5)
    celsius = np.repeat([175.0, 200.0, 225.0, 250.0, 275.0], 3)
    count = rng.integers(1, 6, celsius.size)
    readings = [
        list(62.0 - 0.05 * (t - 175.0) + 0.4 * rng.standard_normal(n)) for t, n in zip(celsius, count, strict=True)
    ]
    table: dict[str, Any] = {"temper_degc": celsius, "hold_h": np.full(celsius.size, 2.0)}
    table |= {f"r{k + 1}": [r[k] if k < len(r) else math.nan for r in readings] for k in range(5)}
    fit = aq.fit_coupons(table, shape="straight", repeatability_sd_hrc=0.4, coupon_sd_hrc=0.2, c=18.0)
    assert fit.doubts == []
    weights = 1.0 / (0.2**2 + 0.4**2 / count)
    columns = sm.add_constant(celsius - fit.temperature_c)
    expected = sm.WLS([np.mean(r) for r in readings], columns, weights=weights).fit(cov_type="fixed scale")
    assert isinstance(fit.slope, aq.Estimate)
    close(fit.level.value, expected.params[0])
    close(fit.level.u, expected.bse[0])
    close(fit.slope.value, expected.params[1])
    close(fit.slope.u, expected.bse[1])


def test_scatter_from_the_residuals() -> None:
    """Equal weights: ordinary least squares with its own s², and Student's t."""
    fit = aq.fit_coupons(SOUND.assign(hold_h=2.0), shape="straight", c=18.0, leave_out=[])
    used = SOUND["coupon"].isin(fit.used).to_numpy()
    columns = sm.add_constant(KELVIN[used] - 273.15 - fit.temperature_c)
    expected = sm.OLS(MEANS[used], columns).fit()
    close(fit.level.value, expected.params[0])
    close(fit.level.u, expected.bse[0])
    for got, wanted in zip(fit.level.interval(0.95), expected.conf_int()[0], strict=True):
        close(got, wanted)


def test_c_and_its_delta_method() -> None:
    """The straight line in the parameter with C free, against lmfit's Levenberg-Marquardt and covariance."""

    def residual(p: lmfit.Parameters) -> np.ndarray:
        own = KELVIN * (p["c"] + LOG_H) / (p["c"] + TWO) - 273.15
        return np.asarray(p["level"] + p["slope"] * (own - 225.0) - MEANS)

    start = lmfit.create_params(level=59.0, slope=-0.05, c=18.0)
    expected = lmfit.minimize(residual, start, xtol=1e-14, ftol=1e-14).params
    fit = aq.fit_coupons(SOUND, shape="straight")
    assert isinstance(fit.c, aq.Estimate)
    assert isinstance(fit.slope, aq.Estimate)
    shift = expected["slope"].value * (fit.temperature_c - 225.0)
    assert fit.c.value == pytest.approx(expected["c"].value, rel=1e-6)
    assert fit.c.u == pytest.approx(expected["c"].stderr, rel=1e-4)  # lmfit's derivatives are one-sided
    close(fit.level.value, expected["level"].value + shift)
    close(fit.slope.value, expected["slope"].value)


@pytest.mark.parametrize("degree", [1, 2])
def test_profile_interval_of_c(degree: int) -> None:
    """The ends of the interval, found by root finding on the profile of the residual sum."""

    def sum_at(c: float) -> float:
        own = (KELVIN * (c + LOG_H) / (c + TWO) - 500.0) / 50.0
        columns = np.vander(own, degree + 1)
        solution = np.linalg.lstsq(columns, MEANS, rcond=None)[0]
        return float(((MEANS - columns @ solution) ** 2).sum())

    left = MEANS.size - degree - 2
    best = optimize.minimize_scalar(sum_at, bracket=(15.0, 20.0, 30.0), tol=1e-12)
    allowed = best.fun * (1.0 + stats.f.ppf(0.95, 1, left) / left)
    expected = [
        optimize.brentq(lambda c: sum_at(c) - allowed, *ends, xtol=1e-12) for ends in ((10, best.x), (best.x, 40))
    ]
    c = aq.fit_coupons(SOUND, shape="straight" if degree == 1 else "parabola").c
    assert isinstance(c, aq.Estimate)
    assert c.value == pytest.approx(best.x, rel=1e-6)
    assert c.interval(0.95) == pytest.approx(expected, rel=1e-6)


def test_errors_in_both_variables() -> None:
    """A straight line with an uncertain temperature of each coupon: orthogonal distance regression by odrpack."""
    rng = np.random.default_rng(11)
    truth = np.repeat([175.0, 200.0, 225.0, 250.0, 275.0, 300.0], 3)
    u = rng.uniform(1.0, 6.0, truth.size)
    set_c = truth + u * rng.standard_normal(truth.size)
    hrc = 62.0 - 0.05 * (truth - 175.0) + 0.2 * rng.standard_normal(truth.size)
    table = {"temper_degc": set_c, "hold_h": np.full(truth.size, 2.0), "hrc": hrc, "u_temperature_c": u}
    fit = aq.fit_coupons(table, shape="straight", repeatability_sd_hrc=0.03, coupon_sd_hrc=0.2)
    assert fit.doubts == []
    # Without a doubt every coupon is used, so the centre is known before the fit.
    variance = 0.2**2 + 0.03**2
    expected = odrpack.odr_fit(
        lambda x, beta: beta[0] + beta[1] * (x - fit.temperature_c),
        set_c,
        hrc,
        beta0=np.array([60.0, -0.05]),
        weight_x=1.0 / u**2,
        weight_y=np.full(truth.size, 1.0 / variance),
        sstol=1e-15,
        partol=1e-15,
        maxit=500,
    )
    assert isinstance(fit.slope, aq.Estimate)
    close(fit.level.value, expected.beta[0])
    close(fit.slope.value, expected.beta[1])
    # The slope is not drawn towards zero, as a plain regression on uncertain temperatures would be.
    assert fit.slope.value < np.polyfit(set_c, hrc, 1)[0]


LEVELS = np.array([0.42, -0.61, 0.10, 0.95, -0.28, 0.33, -0.80])  # INVENTED
U = np.array([0.20, 0.25, 0.15, 0.40, 0.20, 0.30, 0.22])


def pooled(method: Any) -> aq.BatchPool:
    frame = pd.DataFrame({"batch": list("abcdefg"), "level_hrc": LEVELS, "u_hrc": U})
    return aq.pool_batches(frame, method=method)


@pytest.mark.parametrize(("method", "theirs"), [("dersimonian-laird", "chi2"), ("paule-mandel", "iterated")])
def test_moment_estimators_of_the_between_batch_sd(method: str, theirs: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        expected = combine_effects(LEVELS, U**2, method_re=theirs, atol=1e-14)
    made = pooled(method)
    close(made.between_batch_sd.value, math.sqrt(expected.tau2))
    close(made.mean.value, expected.mean_effect_re)
    close(made.mean.components["batches"], math.sqrt(expected.var_hksj_re))


def test_restricted_likelihood_of_the_between_batch_sd() -> None:
    def minus_log(tau2: float) -> float:
        w = 1.0 / (U**2 + tau2)
        mean = (w * LEVELS).sum() / w.sum()
        return float(0.5 * (-np.log(w).sum() + math.log(w.sum()) + (w * (LEVELS - mean) ** 2).sum()))

    best = optimize.minimize_scalar(minus_log, bounds=(0.0, 5.0), method="bounded", options={"xatol": 1e-12})
    assert pooled("reml").between_batch_sd.value == pytest.approx(math.sqrt(best.x), rel=1e-5)  # flat top of theirs


def test_q_profile_interval() -> None:
    def q(tau2: float) -> float:
        w = 1.0 / (U**2 + tau2)
        return float((w * (LEVELS - (w * LEVELS).sum() / w.sum()) ** 2).sum())

    ends = [optimize.brentq(lambda t, p=p: q(t) - stats.chi2.ppf(p, 6), 0.0, 50.0, xtol=1e-14) for p in (0.975, 0.025)]
    assert pooled("reml").between_batch_sd.interval(0.95) == pytest.approx(np.sqrt(ends), rel=1e-6)
    assert pooled("reml").p_same == pytest.approx(stats.chi2.sf(q(0.0), 6), rel=1e-6)


def test_coupons_of_batches_against_a_mixed_model() -> None:
    """Balanced batches: the two-step answer is the restricted likelihood of statsmodels' mixedlm."""
    rng = np.random.default_rng(3)
    batch = np.repeat(np.arange(8), 4)
    hrc = 60.0 + 0.6 * rng.standard_normal(8)[batch] + 0.3 * rng.standard_normal(32)
    frame = pd.DataFrame({"batch": batch.astype(str), "temper_degc": 200.0, "hold_h": 2.0, "hrc": hrc})
    frame["coupon"] = [f"k{i}" for i in range(32)]
    made = aq.pool_batches(frame)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        expected = sm.MixedLM(hrc, np.ones(32), groups=batch).fit(reml=True, method="bfgs", gtol=1e-10)
    # Theirs is stopped by its optimiser: the values agree as far as that goes.
    assert made.mean.value == pytest.approx(expected.fe_params[0], rel=1e-6)
    assert made.between_batch_sd.value == pytest.approx(math.sqrt(expected.cov_re.item()), rel=1e-4)
    # By hand: the analysis of variance of a balanced layout.
    means = hrc.reshape(8, 4).mean(axis=1)
    within = hrc.reshape(8, 4).var(axis=1, ddof=1).mean()
    assert made.between_batch_sd.value == pytest.approx(math.sqrt(means.var(ddof=1) - within / 4), rel=1e-6)


def test_a_sample_of_the_calibration() -> None:
    """The shares of docs/calibration_coupons.md on 150 seeded shops: 95 % within four of their own standard errors."""
    path = str(DATA.parents[1] / "benches")
    sys.path.insert(0, path)
    try:
        import calibration_coupons as calibration
    finally:
        sys.path.remove(path)
    layout = next(one for one in calibration.LAYOUTS if one.name == "5 temperatures, 0.5, 4 and 32 h, twice")
    rng = np.random.default_rng(21)
    made = calibration.shares([calibration.shop(layout, rng, False) for _ in range(150)])
    for name in ("level", "slope", "c", "temperature"):
        assert made[name] > 88.0, name
    pooled_shares = calibration.shares([calibration.batches(rng) for _ in range(150)])
    assert min(pooled_shares[name] for name in ("mean", "between", "next")) > 88.0
