"""Hardness from composition through Python: shapes, refusals, conditioning, plans.

The numbers themselves are held to independent code by the core's own tests (tests/data/tempered_reference.csv).
"""

from __future__ import annotations

import csv
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import afterquench as aq

W80CRV2 = {"C": 0.80, "Mn": 0.45, "Si": 0.30, "Cr": 0.55, "V": 0.20}
PLAIN = {"C": 0.95, "Mn": 0.40, "Si": 0.20}
REFERENCE = Path(__file__).parents[1] / "data" / "tempered_reference.csv"


@pytest.mark.filterwarnings("ignore:.*below 20 HRC:afterquench.errors.AfterquenchWarning")
def test_agrees_with_independent_code() -> None:
    """A NumPy evaluator of the same equations; rows without as-quenched hardness, half of them with readings."""
    with REFERENCE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    rows = [row for row in rows if not row["as_quenched_hrc"]][::5]
    assert len(rows) > 10
    for row in rows:
        composition = {part.split("=")[0]: float(part.split("=")[1]) for part in row["composition"].split()}
        readings = [tuple(map(float, part.split(":"))) for part in row["readings"].split()]
        hold = float(row["temperature_c"]), float(row["time_h"])
        steel = aq.CompositionSteel(composition, readings=readings or None)
        assert steel.hardness_after(*hold) == pytest.approx(float(row["mean"]), abs=1e-6)
        assert steel.u_hardness_after(*hold) == pytest.approx(float(row["u"]), abs=1e-6)
        made = aq.hardness_from_composition_estimate(composition, *hold, readings=readings or None)
        assert (made.value, made.u) == pytest.approx((float(row["mean"]), float(row["u"])), abs=1e-6)


def test_broadcasts_like_the_other_functions() -> None:
    one = aq.hardness_from_composition(PLAIN, 200, 2)
    assert type(one) is float
    table = aq.hardness_from_composition(PLAIN, np.array([[150.0], [200.0], [250.0]]), [1.0, 2.0])
    assert table.shape == (3, 2)
    assert table[1, 1] == one
    steel = aq.CompositionSteel(PLAIN)
    np.testing.assert_array_equal(table, steel.hardness_after([[150.0], [200.0], [250.0]], [1.0, 2.0]))
    assert steel.u_hardness_after([150.0, 200.0], 2).shape == (2,)
    harder = aq.hardness_from_composition(PLAIN, 150, 1, [64.0, 65.0, 66.0])
    assert (np.diff(harder) > 0).all()
    assert np.isnan(aq.hardness_from_composition(PLAIN, [np.nan, 800.0], 2, out_of_range="nan")).all()
    with pytest.raises(aq.OutOfRangeError, match="1 of 2"):
        aq.hardness_from_composition(PLAIN, [200.0, 800.0], 2)
    with pytest.raises(aq.InvalidValueError):
        aq.hardness_from_composition(PLAIN, 200.0, 0.0, out_of_range="nan")


@pytest.mark.parametrize(
    ("composition", "error", "says"),
    [
        ({"C": 0.0095, "Mn": 0.004}, aq.InvalidValueError, "per cent"),
        ({"C": 0.0095, "Mn": 0.004, "Fe": 0.9865}, aq.InvalidValueError, "Multiply every number by 100"),
        ({"C": 0.95, "Mn": 0.4, "Fe": 60.0}, aq.InvalidValueError, "whole steel"),
        ({"C": 0.95, "Mn": 0.4, "Fe": 101.0}, aq.InvalidValueError, "more than there is"),
        ({"C": 0.95, "Cr": 80.0, "Ni": 60.0}, aq.InvalidValueError, "more than there is"),
        ({"C": 0.95, "Cr": 30.0, "Ni": 30.0}, aq.RefusedError, "no steel"),
        ({"C": 0.95, "Mn": -0.4}, aq.InvalidValueError, "negative"),
        ({"C": 0.95, "Mn": float("nan")}, aq.InvalidValueError, "finite"),
        ({"C": 0.95, "Xx": 0.4}, aq.UnknownNameError, "Xx"),
        ({"c": 0.95}, aq.UnknownNameError, "did you mean C"),
        ({"carbon": 0.95}, aq.UnknownNameError, "did you mean C"),
        ({}, aq.MissingArgumentError, "nothing hardens"),
        ({"Mn": 0.4}, aq.MissingArgumentError, "nothing hardens"),
        ({"C": 0.06, "Mn": 1.5, "Cr": 18.0, "Ni": 9.0}, aq.RefusedError, "austenitic"),
        ({"C": 1.2, "Mn": 13.0}, aq.RefusedError, "austenitic"),
        ({"C": 0.02, "Ni": 18.0, "Co": 8.0, "Mo": 5.0, "Ti": 0.4}, aq.RefusedError, "maraging"),
        ({"C": 0.67, "Cr": 13.0}, aq.RefusedError, "stainless"),
        ({"C": 0.85, "Cr": 4.0, "Mo": 5.0, "W": 6.0, "V": 1.9}, aq.RefusedError, "high-speed"),
        ({"C": 0.4, "Cr": 5.2, "Mo": 1.3, "V": 1.0, "Si": 1.0}, aq.RefusedError, "hot-work"),
        ({"C": 1.4}, aq.OutOfRangeError, "measured steels"),
        ({"C": 0.1}, aq.OutOfRangeError, "measured steels"),
        ({"C": 1.0, "Cr": 5.0}, aq.OutOfRangeError, "measured steels"),
        ({"C": "much"}, aq.ArgumentTypeError, "weight per cent"),
        (0.95, aq.ArgumentTypeError, "weight per cent"),
    ],
)
def test_compositions_that_get_no_answer(composition: Any, error: type[Exception], says: str) -> None:
    for call in (aq.hardness_from_composition, aq.hardness_from_composition_estimate):
        with pytest.raises(error, match=says):
            call(composition, 200, 2)
    with pytest.raises(error, match=says):
        aq.CompositionSteel(composition)
    with pytest.raises(error):
        aq.hardness_from_composition(composition, 200, 2, out_of_range="nan")


@pytest.mark.parametrize(
    ("readings", "error"),
    [
        ([(200, 2)], aq.ArgumentTypeError),
        ([(200, 2, "hard")], aq.ArgumentTypeError),
        (60.0, aq.ArgumentTypeError),
        ({"temperature_c": [200], "hrc": [60]}, aq.ArgumentTypeError),
        ([(200, 0, 60.0)], aq.InvalidValueError),
        ([(200, 2, float("nan"))], aq.InvalidValueError),
        ([(200, 2, 600.0)], aq.OutOfRangeError),
        ([(200, 2, 60.0, 0.0)], aq.InvalidValueError),
        ([(900, 2, 60.0)], aq.OutOfRangeError),
    ],
)
def test_readings_that_are_none(readings: Any, error: type[Exception]) -> None:
    with pytest.raises(error):
        aq.CompositionSteel(PLAIN).given(readings)


def test_readings_narrow_and_come_as_rows_or_columns() -> None:
    import pandas as pd

    steel = aq.CompositionSteel(W80CRV2)
    rows = [(175.0, 2.0, 61.6), (225.0, 2.0, 59.4)]
    own = steel.given(rows)
    frame = pd.DataFrame(rows, columns=["temperature_c", "time_h", "hrc"])
    assert steel.given(frame) == own
    assert steel.given({"temperature_c": [175, 225], "time_h": [2, 2], "hrc": [61.6, 59.4]}) == own
    assert own.u_hardness_after(200, 2) < 0.6 * steel.u_hardness_after(200, 2)
    np.testing.assert_array_equal(own.readings, rows)
    assert pickle.loads(pickle.dumps(own)) == own
    assert pickle.loads(pickle.dumps(own)).hardness_after(200, 2) == own.hardness_after(200, 2)
    assert "0x" not in repr(own)
    surprised = steel.given([(200, 2, steel.hardness_after(200, 2) - 4 * steel.u_hardness_after(200, 2))])
    assert any("standard deviations below" in note for note in surprised.notes)


@pytest.mark.parametrize("name", ["80CrV2", "15N20", "1084", "8670", "O2", "W1"])
def test_steels_that_no_open_data_measure(name: str) -> None:
    """They answer, say how little is known, and what two coupons would be worth."""
    steel = aq.steel(name)
    assert steel.curves == []
    made = steel.hardness_after_estimate(200, 2)
    low, high = made.interval(0.95)
    assert 55 < low < made.value < high < 68
    assert high - low > 4
    said = next(sentence for sentence in made.assumptions if "two coupons" in sentence)
    now, after = (float(part.split("±")[1].split()[0].rstrip(";")) for part in said.split("would bring"))
    assert after < 0.6 * now
    assert steel.hardness_after(200, 2) == steel.by_composition().hardness_after(200, 2)


def test_plans_take_compositions() -> None:
    bare = aq.plan("80CrV2", (58, 60))
    own = aq.plan(aq.steel("80CrV2").given([(175, 2, 61.6), (225, 2, 59.4)]), (58, 60), as_quenched_hrc=65)
    assert bare.best is not None
    assert own.best is not None
    assert own.best.p_inside > bare.best.p_inside + 0.2
    assert any("two coupons" in caution for caution in bare.best.cautions)
    assert own.inputs["as-quenched hardness"] == "65 HRC"
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        aq.plan("80CrV2", (58, 60), as_quenched_hrc=50)
    assert pickle.loads(pickle.dumps(own)) == own


def test_the_table_of_the_grade_counts_too() -> None:
    steel = aq.steel("52100")
    composed = steel.by_composition()
    tabled = composed.given(steel.curves[0])
    assert tabled.u_hardness_after(200, 2) < composed.u_hardness_after(200, 2)
    both = steel.given([(200, 2, 61.0)])
    assert both.u_hardness_after(200, 2) < tabled.u_hardness_after(200, 2)
    with pytest.raises(aq.RefusedError, match="secondary hardening"):
        aq.CompositionSteel(PLAIN).given(aq.steel("H13").curves[0])
    with pytest.raises(aq.RefusedError, match="a table was given before"):
        tabled.given(steel.curves[0])


def test_far_compositions_are_wider_and_said() -> None:
    near, far = aq.CompositionSteel({"C": 0.6, "Mn": 0.8}), aq.CompositionSteel({"C": 0.6, "Mn": 2.1, "Ni": 4.0})
    assert far.u_hardness_after(200, 2) > 1.1 * near.u_hardness_after(200, 2)
    assert any("widened" in note for note in far.notes)
    unmeasured = aq.CompositionSteel({"C": 0.6, "Mn": 0.8, "W": 0.5})
    assert any("W was in none" in note for note in unmeasured.notes)


def test_extrapolation_is_marked() -> None:
    made = aq.hardness_from_composition_estimate(PLAIN, 60, 2, out_of_range="extrapolate")
    assert made.extrapolated
    assert made.components["extrapolation"] > 0
    with pytest.raises(aq.OutOfRangeError):
        aq.hardness_from_composition_estimate(PLAIN, 60, 2)
    warm = aq.hardness_from_composition_estimate(PLAIN, aq.Estimate(200, 5, "degC"), 2)
    assert warm.components["temperature"] > 0.1
    assert aq.cite("steel.tempered")


# Printed for real steels, or plainly not hardened; the sources stand beside each.
@pytest.mark.parametrize(
    ("reading", "steel", "verdict"),
    [
        (58.0, 0.45, "hardened"),  # card of a C45E, water
        (57.0, 0.41, "hardened"),  # card of a 42CrMo4, oil
        (57.0, "4140", "hardened"),  # the same
        (63.0, "5160", "hardened"),  # knife society's list, 58 to 63
        (64.0, "L6", "hardened"),  # distributor's sheet
        (66.0, "1095", "hardened"),  # a smith's public list
        (65.0, "52100", "hardened"),  # card, 64 to 67
        (67.0, "W2", "hardened"),  # distributor's sheet, water
        (66.0, 0.95, "hardened"),  # as 1095
        (48.0, 0.43, "not hardened"),  # Hodge and Orehoski: half martensite reads 44
        (45.0, "1084", "not hardened"),  # fine pearlite, from memory
        (30.0, "52100", "not hardened"),  # annealed, from memory
        (40.0, 0.95, "not hardened"),  # fine pearlite, from memory
    ],
)
def test_did_the_hardening_work(reading: float, steel: Any, verdict: str) -> None:
    judged = aq.judge_hardening(reading, steel)
    assert judged.verdict == verdict, judged
    assert pickle.loads(pickle.dumps(judged)) == judged


def test_judgement_says_what_it_rests_on() -> None:
    half = aq.judge_hardening(44.0, 0.43)
    assert half.martensite == pytest.approx(0.5, abs=0.01)  # Hodge and Orehoski, from memory
    assert any("quenched too slowly" in caution for caution in half.cautions)
    soft = aq.judge_hardening(60.0, "1095")
    assert any("retained austenite" in caution for caution in soft.cautions)
    edge = aq.judge_hardening(soft.lowest_hrc, "1095")
    assert edge.verdict == "not decided"
    assert aq.judge_hardening(aq.Estimate(edge.lowest_hrc, 0.0, "HRC"), "1095").verdict == "hardened"
    assert any("check the tester" in caution for caution in aq.judge_hardening(69.5, "1045").cautions)
    # The convention of ASTM A255 stops at 60 HRC; real martensite goes on.
    assert aq.judge_hardening(60.0, 0.95).expected_hrc.value > 64
    with pytest.raises(TypeError, match="three answers"):
        bool(edge)


@pytest.mark.parametrize(
    ("reading", "steel", "error"),
    [
        (10.0, 0.45, aq.OutOfRangeError),
        (600.0, 0.45, aq.OutOfRangeError),
        (float("nan"), 0.45, aq.InvalidValueError),
        (58.0, 45.0, aq.OutOfRangeError),
        (58.0, 0.0045, aq.OutOfRangeError),
        (58.0, "nobody's", aq.UnknownNameError),
        (58.0, None, aq.ArgumentTypeError),
        ("hard", 0.45, aq.ArgumentTypeError),
    ],
)
def test_judgement_refuses(reading: Any, steel: Any, error: type[Exception]) -> None:
    with pytest.raises(error):
        aq.judge_hardening(reading, steel)
