"""Readings beside what is known of their place and tester: roughness, marks on the back, several blocks, comparison."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

import afterquench as aq

SOFT = aq.tester_from_block([44.8, 45.0, 44.9, 45.1, 44.7], "HRC", 45.1, 0.4)
HARD = aq.tester_from_block([62.0, 61.7, 61.9, 61.8, 62.1], "HRC", 62.5, 0.5)


@pytest.mark.parametrize(
    ("value", "scale", "limit_um"),
    [
        # By hand, depth / 20: HRC 60 80 µm; HR15N 90 10 µm; at 700 HV10 162.8/7 = 23.3 µm, HV0.5 36.4/7 = 5.2 µm.
        (60.0, "HRC", 4.0),
        (90.0, "HR15N", 0.5),
        (700.0, "HV10", 1.16),
        (700.0, "HV0.5", 0.26),
    ],
)
def test_roughness_is_judged_by_depth(value: float, scale: str, limit_um: float) -> None:
    def status(ra: float) -> str:
        return aq.Readings([value], scale, place="flat", roughness_um=ra).status

    assert status(0.95 * limit_um) == "valid"
    assert status(1.1 * limit_um) == "doubtful"
    assert status(2.1 * limit_um) == "not a valid reading"
    doubt = aq.Readings([value], scale, place="flat", roughness_um=3 * limit_um).doubts[0]
    assert "common practice, no source" in doubt.whose
    assert f"Ra {limit_um:.2f} µm or less" in doubt.rule


@pytest.mark.parametrize(
    ("place", "status", "says"),
    [
        ("rough, as forged", "doubtful", "rough surface"),
        ("milled", "doubtful", "Ra 4.00 µm or less"),
        ("mark on the back", "not a valid reading", "anvil"),
        ("flat, ground", "valid", ""),
    ],
)
def test_surface_and_back(place: str, status: str, says: str) -> None:
    made = aq.Readings([60.0, 60.2], "HRC", thickness_mm=2, place=place)
    assert made.status == status
    assert says in str(made.doubts)
    assert aq.Readings([60.0], "HRC", thickness_mm=2, place=place, roughness_um=0.4).status != "doubtful"


def test_a_doubtful_surface_stays_in_the_estimate() -> None:
    made = aq.Readings([60.0, 60.2], "HRC", place="flat", roughness_um=5.0).estimate()
    assert any("too rough" in text for text in made.assumptions)
    for wrong in (0.0, -1.0, float("nan")):
        with pytest.raises(aq.InvalidValueError, match="roughness_um"):
            aq.Readings([60.0], "HRC", roughness_um=wrong)


def test_several_blocks() -> None:
    tester = aq.tester_from_blocks([HARD, SOFT])
    # By hand: -0.2 at 45.1, -0.6 at 62.5, so -0.4 half way, at 53.8.
    half = tester.at(53.8)
    assert half.bias.value == pytest.approx(-0.4, abs=1e-9)
    assert half.bias.components["between blocks"] == pytest.approx(0.4 / np.sqrt(12), abs=1e-9)
    assert half.between == (45.1, 62.5)
    # At a block it is that block's own; beyond the last one near it.
    assert tester.at(62.5).bias.u == pytest.approx(HARD.bias.u, rel=1e-12)
    assert tester.at(65.0) == HARD
    with pytest.raises(aq.RefusedError, match="near the block"):
        tester.at(30.0)
    readings = aq.Readings([53.6, 53.9, 53.9], "HRC", thickness_mm=3, place="flat", tester=tester)
    made = readings.estimate()
    assert made.value == pytest.approx(53.8 + 0.4, abs=1e-6)
    assert any("between blocks of 45.1 and 62.5" in text for text in made.assumptions)
    drawn = readings.monte_carlo(draws=200_000)
    assert np.ptp(drawn.interval(0.6827)) == pytest.approx(2 * made.u, rel=0.1)
    for thing in (tester, half, readings):
        assert pickle.loads(pickle.dumps(thing)) == thing
    # Without a valid reading there is nothing to correct, and nothing to refuse but the mean.
    assert aq.Readings([53.6], "HRC", place="bevel", tester=tester).status == "not a valid reading"


@pytest.mark.parametrize(
    ("blocks", "error", "says"),
    [
        ([], aq.MissingArgumentError, "blocks"),
        ([SOFT, SOFT], aq.RefusedError, "readings of one block together"),
        ([SOFT, aq.tester_from_block([90.0, 90.1], "HR15N", 90.0, 0.5)], aq.RefusedError, "one scale"),
    ],
)
def test_blocks_that_make_no_tester(blocks: list[aq.Tester], error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says):
        aq.tester_from_blocks(blocks)


def test_results_may_be_readings() -> None:
    ours = aq.Readings([58.4, 58.7, 58.6], "HRC", thickness_mm=3, place="flat", tester=HARD)
    theirs = aq.Estimate(57.8, 0.2, "HRC")
    made = aq.compare_results(ours, theirs)
    assert made == aq.compare_results(ours.estimate(), theirs)
    assert aq.compare_results(theirs, ours).e_n == pytest.approx(-made.e_n)
    with pytest.raises(aq.ArgumentTypeError, match="Estimate"):
        aq.compare_results(58.0, theirs)  # type: ignore[arg-type]
    with pytest.raises(aq.RefusedError, match="bevel"):
        aq.compare_results(aq.Readings([55.0], "HRC", place="bevel"), theirs)
    with pytest.raises(aq.RefusedError, match="two scales"):
        aq.compare_results(aq.Readings([700, 702], "HV10", thickness_mm=3, place="flat"), theirs)


@pytest.mark.parametrize(
    ("value", "u", "unit", "shown"),
    [
        (-0.051, 0.003, "HRC/degC", "-0.0510 HRC/degC [-0.0569 .. -0.0451]"),
        (-0.051, 0.03, "HRC/°C", "-0.051 HRC/°C [-0.110 .. 0.008]"),
        (-0.051, 0.0, "HRC/°C", "-0.0510 HRC/°C [-0.0510 .. -0.0510]"),
        (59.68, 0.4, "HRC", "59.7 HRC [58.9 .. 60.5]"),
        (59.68, 0.02, "HRC", "59.68 HRC [59.64 .. 59.72]"),
        (690.0, 7.5, "HV10", "690.0 HV10 [675.3 .. 704.7]"),
        (59.68, 0.0, "HRC", "59.7 HRC [59.7 .. 59.7]"),
        (201.337, 4.0, "°C", "201.3 °C [193.5 .. 209.2]"),
        (float("nan"), 0.1, "HRC", "NaN HRC [NaN .. NaN]"),
    ],
)
def test_digits_follow_the_uncertainty(value: float, u: float, unit: str, shown: str) -> None:
    assert repr(aq.Estimate(value, u, unit)) == shown


@pytest.mark.parametrize(
    "doing",
    [
        lambda: aq.student_factor(1.0, 4),
        lambda: aq.student_factor(0.95, 0),
        lambda: aq.effective_degrees_of_freedom([0.1, 0.2], [3]),
        lambda: aq.effective_degrees_of_freedom([0.1, -0.2], [3, 4]),
        lambda: aq.effective_degrees_of_freedom([0.0], [3]),
        lambda: aq.grubbs_critical(2),
        lambda: aq.grubbs_critical(5, 1.5),
        lambda: aq.grubbs_critical(5, sides=3),  # type: ignore[arg-type]
        lambda: aq.grubbs([1.0, 2.0, float("nan")]),
        lambda: aq.grubbs([1.0, 1.0, 1.0]),
    ],
)
def test_statistics_of_nothing(doing: object) -> None:
    with pytest.raises(aq.AfterquenchError):
        doing()  # type: ignore[operator]


def test_the_reading_that_stands_apart() -> None:
    # By hand: mean 58.86667, s = 0.92014; 57.0 lies 2.0287 s away; limit 1.8871 (printed for n = 6, two-sided 5 %).
    place, g, limit = aq.grubbs([59.2, 59.4, 59.1, 59.3, 57.0, 59.2])
    assert (place, round(g, 3), round(limit, 4)) == (4, 2.029, 1.8871)


def test_the_next_temper_has_an_interval_of_its_own() -> None:
    curve = aq.TemperingCurve([150.0, 200.0, 250.0, 300.0], [62.5, 60.0, 57.5, 55.0], c=18.0)
    best = aq.retemper(curve, 61.0, (59.5, 60.5), previous=[(180, 2)], u_measured=0.3).best
    made = best.temperature_estimate
    assert made is not None
    assert made.unit == "°C"
    assert made.value == best.temperature_c
    low, high = made.interval()
    # By hand, -0.05 HRC/°C on the curve; a second hold moves the part by a little less than its temperature does, since
    # the first is in it already, so the interval is a little wider than the hardness's divided by 0.05.
    assert low < best.temperature_c < high
    assert high - low >= 0.95 * np.ptp(best.hrc.interval()) / 0.05
    assert set(made.components) == set(best.hrc.components)
    assert aq.plan(curve, (59, 61)).best.temperature_estimate is not None
