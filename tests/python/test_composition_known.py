"""What a user knows of a steel given by composition: how well it is known, and what happens where it can't all be true.

Expected values come from the evaluator under benches/prediction (other code than the crate's), from scipy.stats, or are
worked out beside the check. None rests on particular numbers of the fit.
"""

from __future__ import annotations

import importlib.util
import math
import pickle
import timeit
import tomllib
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats

import afterquench as aq

ROOT = Path(__file__).parents[2]
PLAIN = {"C": 0.80, "Mn": 0.45, "Si": 0.25}
FAR = {"C": 0.6, "Mn": 2.1, "Ni": 4.0, "W": 0.5}


def evaluator(composition: dict[str, float], as_quenched_hrc: float | None = None) -> Any:
    """The independent code for one composition."""
    spec = importlib.util.spec_from_file_location("evaluate", ROOT / "benches" / "prediction" / "evaluate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.Evaluator(
        tomllib.loads(module.COEFFICIENTS.read_text(encoding="utf-8")), composition, as_quenched_hrc
    )


def innovations(composition: dict[str, float], readings: list[tuple[float, float, float]]) -> tuple[Any, Any]:
    """What readings lie off the prediction before them, and its covariance with their own errors, by the evaluator."""
    known = evaluator(composition)
    file = known.file
    beta = np.array(file["population"]["beta"])
    triangle = np.array([[*row, *[0.0] * (len(beta) - len(row))] for row in file["population"]["factor"]])
    prior, population, own = zip(*(known.columns(celsius, hours) for celsius, hours, _ in readings), strict=True)
    mean = np.array(prior) + np.array(population) @ beta
    along, spread = np.array(population) @ triangle, np.array(own)
    beyond = np.sqrt([known.beyond(hrc) for hrc in mean])
    widen = file["widen_distance"]
    far = 1 + widen["rate"] * max(known.distance() - widen["free"], 0.0) ** 2
    read = np.array([hrc for *_, hrc in readings])
    noise = np.diag([known.noise(hrc) ** 2 for hrc in read])
    return read - mean, far * (along @ along.T + spread @ spread.T + np.outer(beyond, beyond)) + noise


def off_by(composition: dict[str, float], tempers: list[tuple[float, float]], *off: float) -> list[Any]:
    """Readings that lie this far off what the composition lets expect."""
    steel = aq.CompositionSteel(composition)
    return [(*temper, steel.hardness_after(*temper) + by) for temper, by in zip(tempers, off, strict=True)]


# The stated uncertainty of an as-quenched reading


@pytest.mark.parametrize("hold", [(150.0, 1.0), (200.0, 2.0), (450.0, 2.0), (650.0, 4.0)])
@pytest.mark.parametrize("u", [0.2, 0.8])
def test_an_as_quenched_u_widens_by_the_derivative(hold: tuple[float, float], u: float) -> None:
    """The derivative by the evaluator: without readings the prediction is a straight line in that hardness."""
    aq_hrc = 64.5
    low, high = (evaluator(PLAIN, aq_hrc + by).predict(*hold, [])["mean"] for by in (-u, u))
    plain = aq.hardness_from_composition_estimate(PLAIN, *hold, as_quenched_hrc=aq_hrc)
    stated = aq.hardness_from_composition_estimate(PLAIN, *hold, as_quenched_hrc=aq.Estimate(aq_hrc, u, "HRC"))
    assert "as-quenched" not in plain.components
    assert stated.value == plain.value
    assert stated.components["as-quenched"] == pytest.approx(abs(high - low) / 2, abs=1e-6)
    assert stated.u == pytest.approx(math.hypot(plain.u, (high - low) / 2), abs=1e-6)
    steel = aq.CompositionSteel(PLAIN, as_quenched_hrc=aq.Estimate(aq_hrc, u, "HRC"))
    assert steel.u_hardness_after(*hold) == pytest.approx(stated.u, abs=1e-12)
    assert any(f"u = {u:.2f} HRC" in said for said in stated.assumptions)
    budget = steel.hardness_after_estimate(*hold)
    assert budget.components["as-quenched"] == pytest.approx(stated.components["as-quenched"], abs=1e-12)
    assert budget.components["curve"] == pytest.approx(stated.components["steel"], abs=1e-12)


def test_an_as_quenched_u_fades_and_readings_take_its_place() -> None:
    exact, stated = (aq.CompositionSteel(PLAIN, as_quenched_hrc=aq.Estimate(64.5, u, "HRC")) for u in (0.0, 1.0))
    part = [stated.hardness_after_estimate(celsius, 2).components["as-quenched"] for celsius in (120, 250, 400, 650)]
    assert part == sorted(part, reverse=True)
    assert part[-1] < 0.25 * part[0]
    assert "as-quenched" not in exact.hardness_after_estimate(200, 2).components
    # The secant over one u either way, with the readings given anew each time, by the evaluator.
    readings = [(180.0, 2.0, 61.5), (260.0, 2.0, 58.0)]
    low, high = (evaluator(PLAIN, 64.5 + by).predict(200, 2, readings)["mean"] for by in (-1.0, 1.0))
    after = stated.given(readings).hardness_after_estimate(200, 2).components["as-quenched"]
    assert after == pytest.approx(abs(high - low) / 2, abs=1e-6)
    assert after < stated.hardness_after_estimate(200, 2).components["as-quenched"] / 2
    again = pickle.loads(pickle.dumps(stated))
    assert again == stated
    assert again != exact
    assert again.u_hardness_after(200, 2) == stated.u_hardness_after(200, 2)
    bad = aq.CompositionSteel(PLAIN, as_quenched_hrc=aq.Estimate(64.0, 2.5, "HRC"))
    assert any("it was left out" in note for note in bad.notes)


def test_the_plan_uses_the_same_u() -> None:
    vague, exact = aq.Estimate(64.5, 1.0, "HRC"), aq.Estimate(64.5, 0.0, "HRC")
    steel = aq.CompositionSteel(PLAIN)
    made, sure = (aq.plan(steel, (58, 60), as_quenched_hrc=given).best for given in (vague, exact))
    assert made is not None
    assert sure is not None
    there = aq.CompositionSteel(PLAIN, as_quenched_hrc=vague).hardness_after_estimate(made.temperature_c, 2)
    assert made.hrc.components["as-quenched"] == pytest.approx(there.components["as-quenched"], abs=1e-9)
    assert "as-quenched" not in sure.hrc.components
    assert made.p_inside < sure.p_inside
    # The same whether the reading is told to the steel or to the plan.
    told = aq.plan(aq.CompositionSteel(PLAIN, as_quenched_hrc=vague), (58, 60)).best
    assert told is not None
    assert told.hrc.u == pytest.approx(made.hrc.u, abs=1e-12)


def test_the_reading_is_judged_by_its_own_u() -> None:
    """One rule: A + 2 u below the band has failed, A − 2 u below it is not decided (the rule's record)."""
    steel = aq.steel("1084")
    band = aq.judge_hardening(60.0, "1084")
    reading = band.lowest_hrc - 2.0
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        aq.plan(steel, (50, 55), as_quenched_hrc=reading)  # taken as known to 0.5 HRC
    made = aq.plan(steel, (50, 55), as_quenched_hrc=aq.Estimate(reading, 1.5, "HRC"))
    assert made.best is not None
    assert any("not decided" in caution for caution in made.best.cautions)
    assert aq.judge_hardening(aq.Estimate(reading, 1.5, "HRC"), "1084").verdict == "not decided"


def test_a_table_takes_the_stated_u_too() -> None:
    """By the rule's record: w = u0²/(u0² + u²), shift w (d − u) exp(−(A0 − H)/10), and its derivative by A times u."""
    curve = aq.TemperingCurve([150, 200, 250, 300], [62, 60, 58, 56], as_quenched_hrc=aq.Estimate(64.0, 1.0, "HRC"))
    u, d, bare = 0.3, 1.5, 60.0
    weight, fade = 1.0 / (1.0 + u * u), math.exp(-(64.0 - bare) / 10)
    made = curve.hardness_after_estimate(200, 2, as_quenched_hrc=aq.Estimate(64.0 + d, u, "HRC"))
    assert made.value == pytest.approx(bare + weight * (d - u) * fade, abs=1e-9)
    assert made.components["as-quenched"] == pytest.approx(weight * u * fade, abs=1e-9)
    best = aq.plan(curve, (59.5, 61.5), as_quenched_hrc=aq.Estimate(64.0 + d, u, "HRC")).best
    assert best is not None
    assert 0 < best.hrc.components["as-quenched"] < u


# Readings that contradict one another


TEMPERS = [(180.0, 2.0), (180.0, 2.0), (300.0, 2.0), (450.0, 1.0)]


@pytest.mark.parametrize("composition", [PLAIN, FAR])
@pytest.mark.parametrize(
    "off", [(0.3, -0.3, 0.2, 0.0), (2.0, -2.0, 0.0, 0.0), (0.0, 0.0, 4.5, -3.0), (2.5, 2.5, 2.5, 2.5), (5.0, 0, 5, 0)]
)
def test_disagreement_widens_by_birge(composition: dict[str, float], off: tuple[float, ...]) -> None:
    """Chi-square of the innovations by the evaluator, its points by scipy.stats; Birge's ratio by hand."""
    readings = off_by(composition, TEMPERS, *off)
    r, covariance = innovations(composition, readings)
    chi_square = r @ np.linalg.solve(covariance, r)
    chance = stats.chi2.sf(chi_square, len(r))
    if chance < 1e-6 and chi_square > 16 * len(r):
        with pytest.raises(aq.RefusedError, match="chi-square"):
            aq.CompositionSteel(composition, readings=readings)
        return
    ratio = math.sqrt(chi_square / len(r)) if chi_square > stats.chi2.ppf(0.95, len(r)) else 1.0
    steel = aq.CompositionSteel(composition, readings=readings)
    agreeing = aq.CompositionSteel(composition, readings=off_by(composition, TEMPERS, 0, 0, 0, 0))
    assert not any("Birge" in note for note in agreeing.notes)
    for hold in [(150, 2), (250, 2), (400, 1)]:
        u = steel.u_hardness_after(*hold)
        assert u == pytest.approx(evaluator(composition).predict(*hold, readings)["u"], abs=1e-6)
        if composition is PLAIN:
            # What readings leave open does not depend on what they read, within the measured ranges of the elements.
            assert u == pytest.approx(ratio * agreeing.u_hardness_after(*hold), rel=1e-6)
    said = [note for note in steel.notes if "Birge" in note]
    assert len(said) == (ratio > 1)
    if said:
        assert f"chi-square {chi_square:.1f} where {len(r)}" in said[0]
        assert f"by {ratio:.2f}" in said[0]
        assert said[0] in steel.hardness_after_estimate(200, 2).assumptions
        best = aq.plan(steel, 57).best
        assert best is not None
        assert said[0] in best.cautions


def test_the_same_is_asked_of_both_halves() -> None:
    """Some of the cases above disagree, and none of a steel's expected readings do: the test above is not empty."""
    u = [
        aq.CompositionSteel(PLAIN, readings=off_by(PLAIN, TEMPERS[:2], by, -by)).u_hardness_after(180, 2)
        for by in (0.0, 0.5, 1.5, 2.0)
    ]
    assert u[0] == pytest.approx(u[1], rel=1e-9)
    assert u[0] < u[2] < u[3]


def test_two_coupons_eight_points_apart_are_refused() -> None:
    readings = off_by(PLAIN, TEMPERS[:2], 1.0, -7.0)
    r, covariance = innovations(PLAIN, readings)
    chi_square = r @ np.linalg.solve(covariance, r)
    assert stats.chi2.sf(chi_square, 2) < 1e-6
    assert chi_square > 2 * 4**2
    # What one reading lies off what the other and the composition let expect: a normal distribution's condition.
    expected = covariance[1, 0] / covariance[0, 0] * r[0]
    away = (r[1] - expected) / math.sqrt(covariance[1, 1] - covariance[1, 0] ** 2 / covariance[0, 0])
    steel = aq.CompositionSteel(PLAIN)
    with pytest.raises(aq.RefusedError) as refused:
        steel.given(readings)
    said = str(refused.value)
    assert f"the reading {round(readings[1][2], 2)} HRC after 180 °C for 2 h" in said
    assert f"lies {abs(r[1] - expected):.1f} HRC below" in said
    assert f"({abs(away):.1f} standard deviations)" in said
    for word in ("scale", "temper", "which bar", "hardened", "leave it out"):
        assert word in said
    with pytest.raises(aq.RefusedError):
        aq.hardness_from_composition(PLAIN, 200, 2, readings=readings)
    with pytest.raises(aq.RefusedError):
        steel.given(readings[:1]).given(readings[1:])
    # One that is known badly, and said to be, is taken.
    known_badly = steel.given([readings[0], (*readings[1], 6.0)])
    assert not any("Birge" in note for note in known_badly.notes)


# Readings off the scale


@pytest.mark.parametrize("hrc", [5.0, 19.9, 70.1, 600.0])
def test_readings_off_the_scale_are_refused_as_coupons_are(hrc: float) -> None:
    steel = aq.CompositionSteel({"C": 0.25, "Mn": 0.8})
    with pytest.raises(aq.OutOfRangeError, match="20 to 70"):
        steel.given([(650, 2, hrc)])
    coupons = {"temper_degc": [650, 600, 550], "hold_h": [2, 2, 2], "hrc": [hrc, 24, 27]}
    with pytest.raises(aq.OutOfRangeError, match="20 to 70"):
        aq.fit_coupons(coupons)


def test_a_table_below_the_scale_is_taken_and_said() -> None:
    low = aq.TemperingCurve([500, 600, 650, 700], [29, 22, 18, 14])
    made = aq.CompositionSteel({"C": 0.25, "Mn": 0.8}).given(low)
    assert any("points of its table lie below 20 HRC" in note for note in made.notes)


# A hump that readings make


def humped(composition: dict[str, float], standard_deviations: float) -> list[tuple[float, float, float]]:
    """Readings in the direction in which the model lets two tempers' difference rise most: as odd as that many standard
    deviations of one normal variable, which chi-square of as many readings still takes."""
    tempers = [(float(celsius), 2.0) for celsius in range(140, 460, 10)]
    expected = np.array([hrc for *_, hrc in off_by(composition, tempers, *[0.0] * len(tempers))])
    _, covariance = innovations(composition, [(*temper, hrc) for temper, hrc in zip(tempers, expected, strict=True)])
    best: tuple[float, Any] = (-math.inf, None)
    for cool in range(len(tempers)):
        for hot in range(cool + 2, len(tempers)):
            along = covariance[:, hot] - covariance[:, cool]
            by = standard_deviations * along / math.sqrt(along[hot] - along[cool])
            read = expected + by
            best = max(best, (read[hot] - read[cool], read), key=lambda one: one[0])
    return [(*temper, hrc) for temper, hrc in zip(tempers, best[1], strict=True)]


def test_a_hump_is_said() -> None:
    tempers = [(180.0, 2.0), (260.0, 2.0), (340.0, 2.0)]
    straight = aq.CompositionSteel(PLAIN, readings=off_by(PLAIN, tempers, 0, 0, 0))
    assert not any("such hump" in note for note in straight.notes)
    said_of = 0
    for composition in (PLAIN, FAR):
        odd = aq.CompositionSteel(composition, readings=humped(composition, 7.0))
        hrc = odd.hardness_after(np.arange(100, 561, 5.0), 2.0)
        rise = (hrc - np.minimum.accumulate(hrc)).max()
        said = [sentence for sentence in odd.hardness_after_estimate(300, 2).assumptions if "such hump" in sentence]
        if said:
            said_of += 1
            # Walked in other steps here.
            assert float(said[0].split("rises by ")[1].split()[0]) == pytest.approx(rise, abs=0.15)
            assert said[0] in aq.plan(odd, 57).schedules[0].cautions
        assert len(said) == (rise > 0.5) or rise == pytest.approx(0.5, abs=0.15)
    assert said_of > 0


# A steel without a curve and its coupons


def test_fit_coupons_names_the_way_for_a_steel_without_a_curve() -> None:
    coupons = {"temper_degc": [175, 200, 225], "hold_h": [2, 2, 2], "hrc": [61.6, 60.6, 59.4]}
    with pytest.raises(aq.NotDeterminedError, match=r"CompositionSteel\(composition\)\.given\(readings\)"):
        aq.fit_coupons(coupons, steel="80CrV2")
    own = aq.steel("80CrV2").given([(175, 2, 61.6), (200, 2, 60.6), (225, 2, 59.4)])
    assert own.hardness_after(200, 2) == pytest.approx(60.6, abs=0.6)


# Below the scale


SOFT = {"C": 0.25, "Mn": 0.8}


def warned(call: Any) -> list[warnings.WarningMessage]:
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        call()
    return [one for one in caught if issubclass(one.category, aq.AfterquenchWarning)]


def test_hardness_below_the_scale_warns_once_a_call() -> None:
    steel = aq.CompositionSteel(SOFT)
    soft = float(np.interp(15.0, steel_line(steel)[::-1], LINE[::-1]))
    (one,) = warned(lambda: steel.hardness_after(soft, 2))
    assert "below 20 HRC: outside the Rockwell C scale's range" in str(one.message)
    assert one.filename == __file__
    (many,) = warned(lambda: steel.hardness_after([200.0, soft, soft], 2))
    assert "2 of 3" in str(many.message)
    (one,) = warned(lambda: aq.hardness_from_composition(SOFT, soft, 2))
    table = aq.TemperingCurve([500, 600, 700], [29, 22, 14])
    (one,) = warned(lambda: table.hardness_after(700, 2))
    assert "14.0 HRC" in str(one.message)
    for call in (
        lambda: steel.hardness_after(200, 2),
        lambda: steel.hardness_after([200.0, 300.0], 2),
        lambda: steel.hardness_after([200.0, np.nan], 2),
        lambda: steel.hardness_after([200.0, soft], 2, where=np.array([True, False])),
        lambda: table.hardness_after([550.0, 800.0], 2, out_of_range="nan"),
    ):
        assert warned(call) == []


LINE = np.arange(100, 706, 1.0)


def steel_line(steel: aq.CompositionSteel) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", aq.AfterquenchWarning)
        return steel.hardness_after(LINE, 2)


def test_frames_warn_and_lazy_arrays_wait() -> None:
    import dask.array as da
    import pandas as pd

    table = aq.TemperingCurve([500, 600, 700], [29, 22, 14])
    (one,) = warned(lambda: table.hardness_after(pd.Series([550.0, 690.0]), 2))
    assert "1 of 2" in str(one.message)
    assert warned(lambda: table.hardness_after(da.from_array(np.array([550.0, 690.0]), chunks=1), 2)) == []


def test_looking_for_it_costs_a_plain_number_nothing() -> None:
    """A comparison in a call of a microsecond: held against one that has no scale to look at, with room for noise."""
    table = aq.TemperingCurve([500, 600, 700], [29, 22, 14])
    best = [
        min(timeit.repeat(call, number=2000, repeat=7))
        for call in (lambda: table.hardness_after(550.0, 2.0), lambda: table.slope(550.0, 2.0))
    ]
    assert best[0] < 2.5 * best[1]


# Readings from the quench that can't be used, or don't fit


def test_an_as_quenched_u_beyond_the_spread_of_quenched_steels_is_no_reading() -> None:
    none = aq.hardness_from_composition_estimate(PLAIN, 150, 2)
    wide = aq.hardness_from_composition_estimate(PLAIN, 150, 2, aq.Estimate(65, 50, "HRC"))
    assert wide.interval() == pytest.approx(none.interval())
    assert any("it was left out" in text for text in wide.assumptions)


def test_a_temper_harder_than_the_quench_is_said() -> None:
    low = {"C": 0.2, "Mn": 0.8, "Si": 0.25, "Ni": 0.55, "Cr": 0.5, "Mo": 0.2}
    said = aq.hardness_from_composition_estimate(low, 200, 1, 42.5)
    assert any("above the 42.5 HRC read from the quench" in text for text in said.assumptions)
    assert not any(
        "read from the quench" in text for text in aq.hardness_from_composition_estimate(low, 200, 1).assumptions
    )
