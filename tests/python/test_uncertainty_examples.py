"""Worked examples of the guides, a general-purpose library, draws against variances, many parts at once, bad input."""

from __future__ import annotations

import time

import numpy as np
import pytest
import uncertainties
from scipy import stats

import afterquench as aq

BLOCK = ([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)


@pytest.mark.parametrize(
    ("value", "u", "lower", "upper", "chance"),
    [
        # JCGM 106:2012, breakdown voltage of a Zener diode: -5.47 V, u = 0.05 V, not above -5.40 V (from memory).
        (-5.47, 0.05, None, -5.40, 0.92),
        # JCGM 106:2012, viscosity of a motor oil: 13.6, u = 1.8, limits 12.5 and 16.3 mm²/s (from memory).
        (13.6, 1.8, 12.5, 16.3, 0.66),
    ],
)
def test_conformance_probabilities_of_the_guide(value, u, lower, upper, chance):
    assert aq.decide(aq.Estimate(value, u, "HRC"), lower, upper).p_inside == pytest.approx(chance, abs=0.005)


def test_reading_after_the_annex_of_the_standard():
    # The scheme of the annex of ISO 6508-1 (as in ASTM E18), own numbers worked out by hand: t(68.27 %, 4) s/√5 =
    # 0.1351, 0.1/√12 = 0.0289, tester 0.5/√3 = 0.2887, together 0.3200.
    made = aq.Readings([61.2, 61.0, 61.5, 60.8, 61.0], "HRC").estimate()
    assert made.value == pytest.approx(61.10, abs=1e-9)
    assert made.components["repeatability"] == pytest.approx(0.1351, abs=5e-5)
    assert made.components["resolution"] == pytest.approx(0.0289, abs=5e-5)
    assert made.components["tester"] == pytest.approx(0.2887, abs=5e-5)
    assert made.u == pytest.approx(0.3200, abs=5e-5)


def test_block_of_the_guide():
    # JCGM 100:2008, H.6: a depth of 36.0 units of 0.002 mm is 64.0 HRC.
    assert aq.rockwell_hardness("HRC", 0.072) == pytest.approx(64.0, abs=1e-9)


def test_the_same_by_a_general_library():
    # Independent code: uncertainties, first order.
    tester = aq.tester_from_block(*BLOCK)
    part = aq.Readings([61.2, 61.0, 61.5, 60.8, 61.0], "HRC", thickness_mm=3, place="flat", tester=tester)
    values, s_block = np.array(part.values), np.std(BLOCK[0], ddof=1)
    t = stats.t.ppf(0.5 * (1 + 0.682689492137086), 4)
    mean = uncertainties.ufloat(values.mean(), t * values.std(ddof=1) / np.sqrt(5))
    bias = uncertainties.ufloat(np.mean(BLOCK[0]), s_block / np.sqrt(5)) - uncertainties.ufloat(60.2, 0.25)
    expected = mean - bias + uncertainties.ufloat(0, 0.1 / np.sqrt(12))
    made = part.estimate()
    assert made.value == pytest.approx(expected.n, rel=1e-6)
    assert made.u == pytest.approx(expected.s, rel=1e-6)
    other = uncertainties.ufloat(60.9, 0.35)
    compared = aq.compare_results(made, aq.Estimate(60.9, 0.35, "HRC"))
    assert compared.difference.u == pytest.approx((expected - other).s, rel=1e-6)
    assert compared.e_n == pytest.approx((expected - other).n / (2 * (expected - other).s), rel=1e-6)


def test_chance_by_scipy():
    values, u = np.linspace(56, 62, 200), np.linspace(0.1, 1.5, 200)
    expected = stats.norm.cdf((60 - values) / u) - stats.norm.cdf((58 - values) / u)
    np.testing.assert_allclose(aq.decide(values, 58, 60, u=u).p_inside, expected, rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize("scale", [None, "HV"])
@pytest.mark.parametrize("n", [3, 5, 10])
def test_draws_and_variances_agree(n, scale):
    # JCGM 101 beside JCGM 100: the same middle; where Student's tails are tame the same spread.
    rng = np.random.default_rng(n)
    tester = aq.tester_from_block(*BLOCK)
    part = aq.Readings(np.round(rng.normal(59.2, 0.3, n), 1), "HRC", thickness_mm=3, place="flat", tester=tester)
    gum, mc = part.estimate(scale), part.monte_carlo(scale, draws=400_000, seed=n)
    assert mc.interval(0.02)[0] == pytest.approx(gum.value, abs=0.06 * gum.u)
    # With three readings t(2) is far from normal, and so is what it makes with the rest.
    assert np.ptp(mc.interval(0.6827)) == pytest.approx(2 * gum.u, rel=0.1 if n == 3 else 0.06)
    assert np.ptp(mc.interval()) >= 0.98 * np.ptp(gum.interval())
    assert mc.components == gum.components


def test_draws_by_numpy():
    # Independent code: NumPy draws of the same distributions.
    tester = aq.tester_from_block(*BLOCK)
    part = aq.Readings([58.7, 58.9, 59.3], "HRC", thickness_mm=2.2, place="flat", tester=tester)
    rng, n = np.random.default_rng(9), 1_000_000
    # One tester read part and block: one scatter, pooled, with 2 + 4 degrees of freedom (JCGM 101, 6.4.9).
    squares = 2 * np.var(part.values, ddof=1) + 4 * np.var(BLOCK[0], ddof=1)
    drawn = np.mean(part.values) + 0.6 + np.sqrt(squares / 6 * (1 / 3 + 1 / 5)) * rng.standard_t(6, n)
    drawn += rng.uniform(-0.05, 0.05, n) + rng.normal(0, 0.25, n)
    made = part.monte_carlo()
    for coverage, within in ((0.5, 0.005), (0.9, 0.005), (0.95, 0.01), (0.99, 0.02)):
        tail = 0.5 * (1 - coverage)
        assert made.interval(coverage) == pytest.approx(tuple(np.quantile(drawn, [tail, 1 - tail])), abs=within)
    decided = aq.decide(made, 58, 60)
    assert decided.p_inside == pytest.approx(np.mean((drawn > 58) & (drawn < 60)), abs=0.002)


@pytest.mark.parametrize("values", [[61.0, 61.3], [61.0, 61.3, 61.2], [61.0, 61.1, 61.4, 61.2, 60.9, 61.0, 61.3, 61.1]])
def test_draws_without_a_block_by_numpy(values):
    # Independent code: standard deviations from chi-square by NumPy, those beyond what the standard permits a tester
    # (a range of 1.0 over five readings, ASTM E18-19, Table A1.3; 2.326 by any table of d2) drawn again.
    part = aq.Readings(values, "HRC", thickness_mm=3, place="flat")
    rng, n, dof = np.random.default_rng(9), 2_000_000, len(values) - 1
    sd = np.sqrt(dof * np.var(values, ddof=1) / rng.chisquare(dof, n))
    sd = sd[sd <= 1.0 / 2.326]
    drawn = np.mean(values) + sd / np.sqrt(dof + 1) * rng.standard_normal(sd.size)
    drawn += rng.uniform(-0.05, 0.05, sd.size) + rng.uniform(-0.5, 0.5, sd.size)
    made = part.monte_carlo()
    for coverage in (0.5, 0.9, 0.95, 0.99):
        tail = 0.5 * (1 - coverage)
        assert made.interval(coverage) == pytest.approx(tuple(np.quantile(drawn, [tail, 1 - tail])), abs=0.01)
    assert any("no block says more" in text for text in made.assumptions)
    # A block that was read once says nothing of the scatter: the same bound.
    once = aq.tester_from_block([61.0], "HRC", 61.2, 0.5)
    made = aq.Readings(values, "HRC", thickness_mm=3, place="flat", tester=once).monte_carlo(draws=10_000)
    assert any("no block says more" in text for text in made.assumptions)


def test_an_uneven_part_is_judged_by_its_own_readings():
    # The part scatters by 2, the block by 0.16: F = 160 on 1 and 4 degrees of freedom, where 21.2 is the 1 % point.
    tester = aq.tester_from_block(*BLOCK)
    made = aq.Readings([57.6, 60.4], "HRC", thickness_mm=3, place="flat", tester=tester).monte_carlo()
    assert any("its own readings say" in text for text in made.assumptions)
    assert np.ptp(made.interval()) > 10


@pytest.mark.parametrize("n", [2, 3, 5])
def test_both_ways_hold_the_truth_as_often_as_they_say(n):
    # Invented parts of known truth on a tester of known repeatability: neither way is much too narrow or too wide, and
    # they are about equally wide. Draws of t(n - 1) held 99.5 % at n = 2 and were nearly three times as wide.
    rng, parts = np.random.default_rng(n), 400
    held, width = np.zeros(2), np.zeros(2)
    for _ in range(parts):
        repeatability, bias, truth = rng.uniform(0.15, 0.35), rng.normal(0, 0.5), rng.uniform(57, 61)
        shown = np.round(60.2 + rng.normal(0, 0.2) + bias + rng.normal(0, repeatability, 5), 1)
        tester = aq.tester_from_block(shown, "HRC", 60.2, 0.4)
        values = np.round(truth + bias + rng.normal(0, repeatability, n), 1)
        part = aq.Readings(values, "HRC", thickness_mm=4, place="flat", tester=tester)
        for way, made in enumerate((part.estimate(), part.monte_carlo(draws=2000))):
            low, high = made.interval()
            held[way] += low <= truth <= high
            width[way] += high - low
    # Three standard deviations of a count of 400 at 95 % are 3.3 %.
    assert ((held / parts > 0.917) & (held / parts < 0.985)).all(), held / parts
    assert width[1] / width[0] == pytest.approx(1, abs=0.15 if n == 2 else 0.06)


def test_same_seed_same_bits():
    part = aq.Readings([58.7, 58.9, 59.3], "HRC", thickness_mm=2.2, place="flat")
    try:
        aq.set_threads(1)
        alone = part.monte_carlo(seed=3)
        aq.set_threads(2)
        assert part.monte_carlo(seed=3) == alone
    finally:
        aq.set_threads(None)
    assert part.monte_carlo(seed=4) != alone
    for draws in (10, 2_000_000_000):
        with pytest.raises(aq.InvalidValueError, match="draws"):
            part.monte_carlo(draws=draws)


def test_ten_thousand_parts_are_quick():
    # The target is 50 ms; ten times that here, since the machine may be busy.
    rng = np.random.default_rng(1)
    values, u = rng.normal(59, 1, 10_000), rng.uniform(0.2, 0.6, 10_000)
    start = time.perf_counter()
    made = aq.decide(values, 58, 60, u=u)
    assert time.perf_counter() - start < 0.5
    assert len(made) == 10_000


@pytest.mark.parametrize(
    ("values", "doing"),
    [
        # One reading and identical readings: the standard's permitted range stands in for a spread, and is named.
        ([59.0], "permitted range"),
        ([59.0, 59.0, 59.0], "permitted range"),
    ],
)
def test_no_spread_of_their_own(values, doing):
    made = aq.Readings(values, "HRC", thickness_mm=3, place="flat").estimate()
    assert made.components["repeatability"] > 0.2
    assert any(doing in text for text in made.assumptions)


@pytest.mark.parametrize(
    ("doing", "error"),
    [
        (lambda: aq.tester_from_block([60.1, 60.2], "HRC", 60.2, 0.0), aq.InvalidValueError),
        (lambda: aq.tester_from_block([60.1, 60.2], "HRC", 60.2, float("nan")), aq.InvalidValueError),
        (lambda: aq.Readings([59.0, float("nan")], "HRC"), aq.InvalidValueError),
        (lambda: aq.Readings([59.0, "hard"], "HRC"), aq.ArgumentTypeError),
        (lambda: aq.Readings([], "HRC"), aq.AfterquenchError),
        (
            lambda: aq.Readings([700.0], "HV10", tester=aq.tester_from_block(*BLOCK)).estimate(),
            aq.RefusedError,
        ),
        (lambda: aq.compare_results(aq.Estimate(59, 0.3, "HRC"), aq.Estimate(700, 8, "HV10")), aq.RefusedError),
        (lambda: aq.decide(aq.Estimate(59, 0.3, "HRC")), aq.MissingArgumentError),
        (lambda: aq.decide([59.0, 58.0], 58, 60), aq.MissingArgumentError),
    ],
)
def test_bad_input(doing, error):
    with pytest.raises(error) as caught:
        doing()
    assert str(caught.value)


def test_a_window_narrower_than_the_uncertainty_is_told_before_measuring():
    assert aq.acceptance_zone(58, 60, u=0.5)[2] == 0
    made = aq.decide(aq.Estimate(59, 0.5, "HRC"), 58, 60)
    assert made.verdict == "not decided"
    assert "before measuring" in made.why
