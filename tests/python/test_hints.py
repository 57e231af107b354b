"""What a refusal or a doubtful answer says to do next; each hint is checked by following it."""

from __future__ import annotations

from typing import Any

import pytest

import afterquench as aq


@pytest.mark.parametrize(
    "call",
    [
        lambda: aq.retemper("O1", measured_hrc=62, target_hrc=60.5, previous=[(2, 200)]),
        lambda: aq.combine([(2, 200)], c=20),
    ],
)
def test_a_swapped_pair_is_asked_about(call: Any) -> None:
    with pytest.raises(aq.InvalidValueError, match="other way round") as caught:
        call()
    assert caught.value.value == 200
    # Room temperature for two days is odd, but it may be meant.
    assert aq.combine([(200, 2), (20, 48)], c=20) is not None


def test_martensite_start_names_the_formula_that_reaches() -> None:
    with pytest.raises(aq.OutOfRangeError, match="source=") as caught:
        aq.martensite_start({"C": 0.8, "Mn": 0.7})
    assert "out_of_range" not in str(caught.value)
    assert "capdevila" in str(caught.value)
    assert aq.martensite_start({"C": 0.8, "Mn": 0.7}, "capdevila") > 100


def test_as_quenched_hardness_names_what_goes_on() -> None:
    with pytest.raises(aq.OutOfRangeError, match="judge_hardening"):
        aq.as_quenched_hardness(0.8)
    assert aq.judge_hardening(65, 0.8).verdict == "hardened"
    with pytest.raises(aq.OutOfRangeError, match="not per cent"):
        aq.as_quenched_hardness(0.4, 99.0)


@pytest.mark.parametrize("given", ["1084", aq.steel("1084")])
def test_judgement_asked_the_wrong_way_round(given: Any) -> None:
    with pytest.raises(aq.ArgumentTypeError, match="reading first, then the steel"):
        aq.judge_hardening(given, 64)


def test_a_trade_below_the_parameter_is_said() -> None:
    """Below about 150 °C no data speak for the parameter: common practice, no source."""
    cold = aq.equivalent_time_estimate(200, 2, 20)
    assert any("below 150 °C" in line for line in cold.assumptions)
    assert any("below 150 °C" in line for line in aq.equivalent_temperature_estimate(140, 2, 4).assumptions)
    warm = aq.equivalent_time_estimate(200, 2, 190)
    assert not any("below 150 °C" in line for line in warm.assumptions)


def test_cite_takes_what_the_library_answers() -> None:
    plan = aq.plan("O1", (60, 62))
    readings = aq.Readings([60.0, 60.4, 60.2], "HRC")
    decision = aq.decide(aq.Estimate(60.0, 0.3, "HRC"), 59, 61)
    things: list[Any] = [
        plan,
        plan.best,
        readings,
        decision,
        aq.combine([(200, 2)], c=20),
        aq.judge_hardening(64, "O1"),
        aq.steel("O1").hazards[0],
        aq.conversion_tables()[0],
        aq.steel("1084"),
        aq.steel("1084").hardness_after_estimate(200, 2),
        aq.advice("straightening"),
        aq.advice("how soon", "O1"),
        aq.survey({"elapsed_s": [0, 600, 1200], "s1_degc": [199, 200, 201], "s2_degc": [203, 204, 205]}, 200, from_s=0),
        aq.common_window([("O1", (60, 61)), ("A2", (60, 61))]),
        aq.tester_from_blocks([aq.tester_from_block([60.0, 60.2], "HRC", 60.2, 0.5)]),
    ]
    for thing in things:
        found = aq.cite(thing)
        assert found, thing
        assert len(found) == len(set(found))
    assert any("Diamond" in source for source in aq.cite(plan))
    assert any("Diamond" in source for source in aq.cite(aq.steel("O1").hardness_after_estimate(204, 2)))
    assert any("Grange" in source for source in aq.cite(aq.steel("1084")))
    # Every source in a rule's brackets is cited, and no other.
    advice = aq.advice("how soon")
    assert {text.rsplit("[", 1)[1].rstrip("]") for text in advice.says} == set(aq.cite(advice))
    assert aq.cite(things[-3]) == [
        f"{limit.source} ({limit.origin})" for limit in {one.source: one for one in things[-3].limits}.values()
    ]
    assert aq.cite("hardness.astm-e140-1") == aq.cite("astm-e140-1")
    with pytest.raises(aq.ArgumentTypeError, match="a float carries no sources"):
        aq.cite(3.0)
