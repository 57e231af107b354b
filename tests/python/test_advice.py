"""Questions that a caution with its source answers: job questions 44 to 50."""

from __future__ import annotations

import pickle

import pytest

import afterquench as aq


@pytest.mark.parametrize("topic", aq.advice_topics())
def test_every_rule_names_its_source(topic: str) -> None:
    advice = aq.advice(topic)
    assert advice.question.endswith("?")
    assert advice.not_computed
    assert all(rule.endswith("]") and "[" in rule for rule in advice.says)
    assert advice.cautions[0].startswith("Local codes and licensed practice")
    assert pickle.loads(pickle.dumps(advice)) == advice


def test_sources_that_differ_both_stand() -> None:
    """Tool steels: not right down; knife stainless: to room temperature first (both seen in print)."""
    rules = " ".join(aq.advice("how soon").says)
    assert "do not let it cool right down" in rules
    assert "let it reach room temperature" in rules
    cold = " ".join(aq.advice("cold treatment").says)
    assert "after the first temper" in cold
    assert "ALWAYS followed by a temper" in cold


def test_a_steel_hears_its_own_rules() -> None:
    rules = aq.advice("how soon", steel="AEB-L").says
    assert any("knife stainless" in rule for rule in rules)
    assert not any(rule.startswith("timing (tool steels)") for rule in rules)
    assert aq.advice("how soon", steel=aq.steel("AEB-L")) == aq.advice("how soon", steel="AEB-L")


def test_refusals_teach() -> None:
    with pytest.raises(aq.UnknownNameError, match="straightening"):
        aq.advice("sharpening")
    with pytest.raises(aq.ArgumentTypeError, match="no steel"):
        aq.advice("grinding", steel=3)  # type: ignore[arg-type]
