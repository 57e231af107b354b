"""What an answer must say beside its number: the last column of the acceptance rows, as public calls say it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

import afterquench as aq
from acceptance import ROWS, demo_curve, said

TESTER = ([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)


def falling(**keywords: object) -> aq.TemperingCurve:
    return demo_curve("80CrV2-demo", **keywords)


def refusal(doing: Callable[[], object]) -> str:
    """What the library says when it refuses."""
    with pytest.raises(aq.AfterquenchError) as caught:
        doing()
    return str(caught.value)


def there_and_back() -> aq.Estimate:
    there = aq.convert_hardness_estimate(60.0, "HRC", "HV10")
    return aq.convert_hardness_estimate(there, "HV10", "HRC")


def again() -> aq.Plan:
    return aq.retemper(falling(), 62.0, 60.5, previous=[(165.55, 2)])


@pytest.mark.parametrize(
    ("row", "must", "says", "phrases"),
    [
        (
            "R02",
            "aim 5 degC under, measure, repeat; softening cannot be undone",
            lambda: again().cautions,
            ("5 °c under", "measure", "repeat", "can't be taken back"),
        ),
        ("R04", "go lower first", lambda: again().cautions, ("5 °c under first",)),
        ("R05", "hopeless", lambda: [row["note"] for row in again().equivalents], ("time alone", "hopeless")),
        ("R06", "offset", lambda: again().assumptions, ("carried as a shift", "block")),
        ("R09", "retained austenite", lambda: again().cautions, ("retained austenite", "insurance")),
        (
            "I03",
            "run a coupon",
            lambda: aq.plan(falling(), (58, 60)).best.cautions,
            ("can't be promised from the table alone", "coupon"),
        ),
        (
            "U01",
            "no adjustment",
            lambda: aq.plan(falling(as_quenched_hrc=64.8), (58, 60), as_quenched_hrc=65).assumptions,
            ("no adjustment",),
        ),
        ("U04", "not a promise", lambda: aq.plan(falling(), (58, 60)).best.cautions, ("not a promise",)),
        (
            "U05",
            "same bar and hardening",
            lambda: [row["same_as"] for row in aq.plan(falling(), (58, 60)).sensitivity],
            ("same bar and hardening",),
        ),
        (
            "K01",
            "converted from HV10",
            lambda: aq.convert_hardness_estimate(690.0, "HV10", "HRC").assumptions,
            ("converted from hv10",),
        ),
        (
            "K05",
            "0.5 becomes about 1.1 HRC",
            lambda: aq.convert_hardness_estimate(aq.Estimate(90.0, 0.25, "HR15N"), "HR15N", "HRC").assumptions,
            ("superficial scales magnify: ±0.5 hr15n become ±1.1 hrc",),
        ),
        ("K08", "proves nothing about accuracy", lambda: refusal(there_and_back), ("proves nothing about accuracy",)),
        (
            "V01",
            "rule of thumb; also look for a mark on the back",
            lambda: aq.Readings([60.0], "HRC", thickness_mm=2, place="flat").cautions,
            ("needs 0.80 mm", "rule of thumb; also look for a mark on the back"),
        ),
        ("V05", "1 um misread = 38 HV", lambda: aq.Readings([700], "HV0.5").cautions, ("1 µm misread is 38 hv",)),
        (
            "V07",
            "convex reads LOW; the correction is added",
            lambda: str(aq.Readings([55.0], "HRC", place="round").doubts),
            ("convex surfaces read low", "not a valid reading"),
        ),
        ("V08", "correct by +0.6", lambda: aq.tester_from_block(*TESTER).advice, ("add +0.60 hrc",)),
        (
            "V16",
            "cannot be proven",
            lambda: aq.decide(aq.Estimate(59.0, 0.5, "HRC"), 58, 60).why,
            ("can't be proven with ±1.00",),
        ),
        (
            "V17",
            "no conversion is needed",
            lambda: aq.decide(aq.Estimate(690, 7.5, "HV10"), 58, 60).why,
            ("no conversion is needed",),
        ),
    ],
)
def test_it_is_said(row, must, says, phrases):
    assert must in ROWS[row].must_say or must in ROWS[row].question, row
    told = said(says())
    for phrase in phrases:
        assert phrase in told, phrase


def test_both_thickness_rules_are_named_and_the_larger_judges():
    # V02: ten depths ask 0.1 mm, the E18 table 0.20 mm at HR15N 90.
    rules = {name: least for name, _, least in aq.thickness_rules("HR15N", 90.0)}
    assert rules["depth"] == pytest.approx(0.1, abs=0.01)
    assert rules["e18-table"] == pytest.approx(0.20, abs=0.01)


def test_brinell_on_a_blade_needs_more_than_a_blade_has():
    # K09: 1.3 mm by eight depths, 1.6 mm by ten.
    rules = sorted(least for _, _, least in aq.thickness_rules("HBW", 600.0))
    assert rules[0] == pytest.approx(1.3, abs=0.05)
    assert rules[-1] == pytest.approx(1.6, abs=0.05)


def test_failed_hardening_is_no_curve():
    with pytest.raises(aq.NoAnswerError, match="hardening failed"):
        aq.plan(falling(as_quenched_hrc=64.8), (58, 60), as_quenched_hrc=62)


def test_what_is_said_is_computed():
    # By hand: at HV10 700 the diagonal is 162.8 µm, so 1 µm is 2 * 700 / 162.8 = 8.6 HV; HRC 40 needs ten depths of
    # 0.12 mm; HR45N is printed 63.5 to 65.4 between HRC 57 and 59 or so: more than a point of HRC for one of it.
    assert "1 µm misread is 9 HV" in " ".join(aq.Readings([700], "HV10").cautions)
    assert "40.0 HRC needs 1.20 mm" in aq.Readings([40.0], "HRC").cautions[0]
    other = aq.convert_hardness_estimate(aq.Estimate(60.0, 0.25, "HRC"), "HRC", "HV10")
    assert "magnify" not in " ".join(other.assumptions)
