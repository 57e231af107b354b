"""Acceptance rows K (conversion), V (readings and verdicts) and F04 (a tester's bias)."""

from __future__ import annotations

import re

import pytest

import afterquench as aq
from acceptance import Acceptance, answers, said
from scenario import block_readings


@answers("K01")
def test_vickers_to_rockwell(row: Acceptance) -> None:
    row.near(aq.convert_hardness(690.0, "HV10", "HRC"))
    tagged = aq.convert_hardness_estimate(690.0, "HV10", "HRC")
    row.near(tagged.value)
    assert "converted from hv10" in said(tagged.assumptions)
    assert "astm-e140-1" in said(tagged.assumptions)


@answers("K02", "K03", "K04")
def test_other_rockwell_scales(row: Acceptance) -> None:
    scale, value = {"K02": ("HRA", 81.0), "K03": ("HR15N", 89.5), "K04": ("HR30N", 76.0)}[row.id]
    row.near(aq.convert_hardness(value, scale, "HRC"))


@answers("K05", "K06", "K07")
def test_scales_magnify(row: Acceptance) -> None:
    scale, change = {"K05": ("HR15N", 0.5), "K06": ("HRA", 0.5), "K07": ("HV", 15.0)}[row.id]
    span = aq.convert_hardness(61.0, "HRC", scale) - aq.convert_hardness(59.0, "HRC", scale)
    row.near(change * 2.0 / span)


@answers("K08")
def test_round_trip(row: Acceptance) -> None:
    row.near(aq.convert_hardness(aq.convert_hardness(60.0, "HRC", "HV"), "HV", "HRC"))


@answers("K09")
def test_brinell_that_hard(row: Acceptance) -> None:
    assert row.expected.startswith("57.25 with a warning if carbide ball (HBW); refuse if steel ball")
    with pytest.warns(aq.AfterquenchWarning):
        got = aq.convert_hardness(600.0, "HBW", "HRC")
    assert got == pytest.approx(57.25, abs=row.allowed)
    with pytest.raises(aq.AfterquenchError):
        aq.convert_hardness(600.0, "HB", "HRC")


@answers("K10")
def test_outside_the_table(row: Acceptance) -> None:
    assert row.expected == "refuse: outside table"
    for table in ("astm-e140-1", "iso-18265-a1"):
        with pytest.raises(aq.OutOfRangeError) as caught:
            aq.convert_hardness(950.0, "HV", "HRC", table=table)
        assert caught.value.value == 950.0
        assert "940" in str(caught.value)


@answers("V01")
def test_least_thickness_on_rockwell_c(row: Acceptance) -> None:
    row.near(aq.minimum_thickness_mm("HRC", 60.0))


@answers("V02")
def test_least_thickness_on_a_superficial_scale(row: Acceptance) -> None:
    row.near(aq.minimum_thickness_mm("HR15N", 90.0, rule="ten-depths"))
    assert aq.minimum_thickness_mm("HR15N", 90.0) == pytest.approx(0.20, abs=0.01)


@answers("V03", "V05")
def test_vickers_diagonal(row: Acceptance) -> None:
    row.near(aq.vickers_diagonal_um(10.0 if row.id == "V03" else 0.5, 700.0))


@answers("V04")
def test_least_thickness_on_vickers(row: Acceptance) -> None:
    row.near(aq.minimum_thickness_mm("HV10", 700.0))


@answers("V06")
def test_too_thin(row: Acceptance) -> None:
    assert row.expected.startswith("no: too thin")
    doubts = aq.Readings([55.0, 55.2, 54.8], "HRC", thickness_mm=0.6).doubts
    assert doubts
    text = said(str(doubt) for doubt in doubts)
    assert "thin" in text or "thick" in text
    assert "HR15N" in str(doubts) or "HV" in str(doubts)
    with pytest.raises(aq.AfterquenchError):
        aq.decide(aq.Readings([55.0, 55.2, 54.8], "HRC", thickness_mm=0.6), lower=54.0, upper=56.0)


@answers("V07")
@pytest.mark.parametrize("place", ["bevel", "edge", "round", "scale on"])
def test_places_that_give_no_reading(row: Acceptance, place: str) -> None:
    assert "not a valid reading" in row.expected
    keywords = {"edge_distance_mm": 0.5} if place == "edge" else {}
    readings = aq.Readings([55.1, 53.8, 56.0], "HRC", thickness_mm=3.0, place=place, **keywords)
    assert "not a valid reading" in said(str(doubt) for doubt in readings.doubts)
    with pytest.raises(aq.AfterquenchError):
        readings.estimate()


BLOCK = ([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)


@answers("V08")
def test_bias_from_a_block(row: Acceptance) -> None:
    row.near(aq.tester_from_block(*BLOCK).bias.value)


@answers("V09")
def test_uncertainty_of_that_bias(row: Acceptance) -> None:
    row.near(aq.tester_from_block(*BLOCK).bias.u)


@answers("F04")
def test_bias_over_two_days(row: Acceptance) -> None:
    values = block_readings("scenario_a", 60.2)
    assert len(values) == 10
    row.near(aq.tester_from_block(values, "HRC", 60.2, 0.5).bias.value)


@answers("V10", "V11", "V12", "V13", "V14", "V15")
def test_three_verdicts(row: Acceptance) -> None:
    found = re.search(r"best value ([\d.]+), u=([\d.]+)", row.question)
    assert found
    verdict, chance = re.fullmatch(r"(.+); P\(inside\)=([\d.]+)", row.expected).groups()  # type: ignore[union-attr]
    decision = aq.decide(aq.Estimate(float(found[1]), float(found[2]), "HRC"), lower=58.0, upper=60.0)
    assert decision.verdict == {"cannot say": "not decided"}.get(verdict, verdict)
    assert decision.p_inside == pytest.approx(float(chance), abs=row.allowed)
    assert decision.why


@answers("V16")
def test_a_zone_without_width(row: Acceptance) -> None:
    decision = aq.decide(aq.Estimate(59.0, 0.5, "HRC"), lower=58.0, upper=60.0)
    row.near(decision.accept_upper - decision.accept_lower)
    assert aq.decide(aq.Estimate(59.4, 0.5, "HRC"), lower=58.0, upper=60.0).verdict == "not decided"


@answers("V17")
def test_converted_value_against_a_drawing(row: Acceptance) -> None:
    assert "59.7 +- 1.2 HRC, P(inside)=0.69" in row.expected
    converted = aq.convert_hardness_estimate(aq.Estimate(690.0, 7.5, "HV10"), "HV10", "HRC")
    decision = aq.decide(converted, lower=58.0, upper=60.0)
    assert converted.value == pytest.approx(59.7, abs=0.05)
    assert 2 * converted.u == pytest.approx(1.2, abs=0.05)
    assert decision.verdict == "not decided"
    assert decision.p_inside == pytest.approx(0.69, abs=row.allowed)


@answers("V18")
def test_five_readings(row: Acceptance) -> None:
    row.near(aq.mean_half_width(0.4, 5))


@answers("V19")
def test_readings_needed(row: Acceptance) -> None:
    assert aq.readings_needed(0.3, 0.4) == int(row.expected)


def test_no_rounding_before_comparing() -> None:
    assert aq.decide(aq.Estimate(57.96, 1e-6, "HRC"), lower=58.0, upper=60.0).verdict == "fail"
