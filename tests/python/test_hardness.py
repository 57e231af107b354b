"""The hardness room through its public calls. Expected values name their source beside them."""

from __future__ import annotations

import math
import pickle
import warnings

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from uncertainties import ufloat

import afterquench as aq


class TestConversion:
    # Worked by hand from the rows of ASTM E140 Table 1, linear between rows.
    @pytest.mark.parametrize(
        ("value", "scale", "hrc"),
        [(690, "HV10", 59.6957), (81.0, "HRA", 59.6), (89.5, "HR15N", 58.4), (76.0, "HR30N", 58.3333)],
    )
    def test_between_rows(self, value: float, scale: str, hrc: float) -> None:
        assert aq.convert_hardness(value, scale, "HRC") == pytest.approx(hrc, abs=1e-4)

    def test_tables_are_two(self) -> None:
        # HBW of HV 513: 481 by E140 Table 1, 487.5 by ISO 18265 A.1 (485 at 510, 494 at 520).
        assert aq.convert_hardness(513, "HV", "HBW") == 481
        with pytest.warns(aq.AfterquenchWarning, match="brackets"):
            assert aq.convert_hardness(513, "HV", "HBW", table="iso-18265-a1") == pytest.approx(487.7)

    def test_outside_and_blank(self) -> None:
        with pytest.raises(aq.OutOfRangeError, match="940") as caught:
            aq.convert_hardness(950, "HV", "HRC")
        assert (caught.value.low, caught.value.high) == (238, 940)
        assert np.isnan(aq.convert_hardness(950, "HV", "HRC", out_of_range="nan"))
        # ISO A.1 prints HRB at HV 180 and 200 here, nothing between.
        assert aq.convert_hardness(180, "HV", "HRB", table="iso-18265-a1") == 87.1
        with pytest.raises(aq.NoAnswerError, match="Blanks are never filled"):
            aq.convert_hardness(190, "HV", "HRB", table="iso-18265-a1")

    def test_brinell_on_a_blade(self) -> None:
        with pytest.warns(aq.AfterquenchWarning, match="blade"):
            assert aq.convert_hardness(600, "HBW", "HRC") == pytest.approx(57.25)
        with pytest.raises(aq.OutOfRangeError, match="steel ball"):
            aq.convert_hardness(600, "HBS", "HRC")

    def test_brackets(self) -> None:
        with pytest.warns(aq.AfterquenchWarning, match="brackets"):
            assert aq.convert_hardness(62, "HRC", "HBW") == 688
        with pytest.raises(aq.OutOfRangeError):
            aq.convert_hardness(62, "HRC", "HBW", bracketed="raise")
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            assert aq.convert_hardness(62, "HRC", "HBW", bracketed="accept") == 688
            assert aq.convert_hardness(59, "HRC", "HBW") == 634

    def test_ties(self) -> None:
        # The integer scleroscope prints 41 for HRC 28 and 29.
        assert aq.convert_hardness(41, "scleroscope", "HRC") == 28.5
        assert aq.convert_hardness(28.4, "HRC", "scleroscope") == 41

    def test_no_chaining(self) -> None:
        with pytest.raises(aq.RefusedError, match="sae-j417-tensile"):
            aq.convert_hardness(30, "HRC", "HRB")
        once = aq.convert_hardness_estimate(aq.Estimate(300, 5, "HV10"), "HV10", "HRC")
        assert once.tables == ["astm-e140-1"]
        assert "converted from HV10 through astm-e140-1" in once.assumptions
        with pytest.raises(aq.RefusedError, match="already went through"):
            aq.convert_hardness_estimate(once, "HRC", "HRB", table="sae-j417-tensile")

    def test_uncertainty_follows_the_slope(self) -> None:
        """Against the package `uncertainties`, on the line between HRC 59 (674) and 60 (697)."""
        hv = ufloat(690, 7.5)
        by_hand = 59 + (hv - 674) / (697 - 674) + ufloat(0, 0.5)
        got = aq.convert_hardness_estimate(aq.Estimate(690, 7.5, "HV10"), "HV10", "HRC")
        assert got.value == pytest.approx(by_hand.nominal_value, abs=1e-12)
        assert got.u == pytest.approx(by_hand.std_dev, abs=1e-12)
        # Rows 59 to 61: ±0.5 HR15N is 1.11 HRC, ±0.5 HRA 0.91, ±15 HV 0.65.
        rows = [(90.2, 0.5, "HR15N", 1.1111), (81.2, 0.5, "HRA", 0.9091), (697, 15, "HV", 0.6522)]
        for value, half, scale, hrc in rows:
            made = aq.convert_hardness_estimate(aq.Estimate(value, half, scale), scale, "HRC", u_conversion=0)
            assert made.u == pytest.approx(hrc, abs=0.05)

    def test_arrays(self) -> None:
        hv = np.linspace(240, 900, 100_001)
        rows = aq.conversion_tables()[0].to_frame().iloc[::-1]
        assert aq.convert_hardness(hv, "HV", "HRC") == pytest.approx(np.interp(hv, rows["HV"], rows["HRC"]), abs=1e-12)
        out = np.empty(3)
        assert aq.convert_hardness([300.0, np.nan, 700.0], "HV", "HRC", out=out) is out
        assert np.isnan(out[1])
        assert out[0] == 29.75
        with pytest.raises(aq.OutOfRangeError) as caught:
            aq.convert_hardness(np.array([100.0, 300.0, 2000.0]), "HV", "HRC")
        assert (caught.value.failed, caught.value.of, caught.value.value) == (2, 3, 100.0)

    @pytest.mark.parametrize(
        ("call", "error"),
        [
            (lambda: aq.convert_hardness(60, "HRQ", "HV"), aq.UnknownNameError),
            (lambda: aq.convert_hardness(60, "HRC", "HV", table="astm-e140"), aq.UnknownNameError),
            (lambda: aq.convert_hardness(60, "HRC", "HV", bracketed="perhaps"), aq.UnknownNameError),
            (lambda: aq.convert_hardness(60, "HRC", "HV", "astm-e140-1", "extrapolate"), aq.UnknownNameError),
            (lambda: aq.convert_hardness(np.inf, "HRC", "HV"), aq.InvalidValueError),
            (lambda: aq.convert_hardness("60", "HRC", "HV"), aq.ArgumentTypeError),
            (lambda: aq.convert_hardness_estimate(60, "HRC", "HV", u_conversion=-1), aq.InvalidValueError),
            (lambda: aq.convert_hardness_estimate(aq.Estimate(60, 1, "HRA"), "HRC", "HV"), aq.RefusedError),
            (lambda: aq.minimum_thickness_mm("HV", 700), aq.MissingArgumentError),
            (lambda: aq.minimum_thickness_mm("HRC", 60, rule="luck"), aq.UnknownNameError),
            (lambda: aq.minimum_thickness_mm("HRC", 10, rule="e18-table"), aq.OutOfRangeError),
            (lambda: aq.curvature_correction("HRC", 60, 3), aq.OutOfRangeError),
            (lambda: aq.curvature_correction("HV10", 600, 10), aq.RefusedError),
            (lambda: aq.brinell_hardness(3000, 10, 10), aq.InvalidValueError),
            (lambda: aq.vickers_hardness(0, 100), aq.InvalidValueError),
            (lambda: aq.rockwell_hardness("HV", 0.1), aq.UnknownNameError),
            (lambda: aq.Readings([], "HRC"), aq.MissingArgumentError),
            (lambda: aq.Readings([59, float("nan")], "HRC"), aq.InvalidValueError),
            (lambda: aq.Readings([59, "soft"], "HRC"), aq.ArgumentTypeError),
            (lambda: aq.Readings([59], "HRC", place="moon"), aq.UnknownNameError),
            (lambda: aq.Readings([59], "HRC", thickness_mm=0), aq.InvalidValueError),
            (lambda: aq.Readings([59, 60, 61], "HRC", place=["flat", "bevel"]), aq.RefusedError),
            (lambda: aq.tester_from_block([60], "HRC", 60, 0), aq.InvalidValueError),
            (lambda: aq.tester_from_block([40], "HRC", 60, 0.5), aq.RefusedError),
            (lambda: aq.decide(59.0, 58, 60), aq.MissingArgumentError),
            (lambda: aq.decide(aq.Estimate(59, 0.4, "HRC")), aq.MissingArgumentError),
            (lambda: aq.decide(aq.Estimate(59, 0.4, "HRC"), 60, 58), aq.InvalidValueError),
            (lambda: aq.decide(aq.Estimate(59, 0.4, "HRC"), 58, 60, guard_band="wide"), aq.UnknownNameError),
            (lambda: aq.decide([59.0], 58, 60, u=-0.1), aq.InvalidValueError),
            (lambda: aq.decide([59.0, 58.0], 58, 60, u=[0.1, 0.2, 0.3]), aq.ArgumentTypeError),
            (lambda: aq.readings_needed(0, 0.4), aq.InvalidValueError),
            (lambda: aq.compare_results(aq.Estimate(59, 0, "HRC"), aq.Estimate(58, 0, "HRC")), aq.RefusedError),
        ],
    )
    def test_bad_input(self, call: object, error: type[Exception]) -> None:
        with pytest.raises(error) as caught:
            call()  # type: ignore[operator]
        assert len(str(caught.value)) > 20


class TestPlaces:
    def test_thickness(self) -> None:
        # ISO 6508-1 ten depths; ASTM E18 Annex A5; ISO 6507-1 1.5 diagonals.
        assert aq.minimum_thickness_mm("HRC", 60, rule="depth") == pytest.approx(0.8)
        assert aq.minimum_thickness_mm("HRC", 60, rule="e18-table") == 0.76
        assert aq.minimum_thickness_mm("HR15N", 90, rule="depth") == pytest.approx(0.1)
        assert aq.minimum_thickness_mm("HR15N", 90) == 0.20
        assert aq.minimum_thickness_mm("HV10", 700, rule="iso") == pytest.approx(0.244145, abs=1e-5)
        assert aq.vickers_diagonal_um(0.5, 700) == pytest.approx(36.395, abs=0.001)

    def test_round(self) -> None:
        assert aq.curvature_correction("HRC", 20, np.array([6.4, 38.0])).tolist() == [6.0, 1.0]
        readings = aq.Readings([35.0], "HRC", diameter_mm=10)
        assert readings.mean == 38.0
        assert "curvature" in readings.estimate().components
        assert aq.Readings([25.0], "HRC", diameter_mm=6.4).doubts[0].status == "doubtful"

    def test_distances(self) -> None:
        assert aq.minimum_edge_distance_mm("HBW10/3000", 414.64) == pytest.approx(7.5, abs=0.01)
        assert aq.minimum_edge_distance_mm("HRC", 40) == pytest.approx(1.31, abs=0.006)
        assert aq.minimum_edge_distance_mm("HRC", 60) == 1.0


class TestReadings:
    def test_thin(self) -> None:
        thin = aq.Readings([55.0], "HRC", thickness_mm=0.6)
        assert thin.status == "not a valid reading"
        assert "HR15N" in thin.doubts[0].instead
        assert "HV" in thin.doubts[0].instead
        with pytest.raises(aq.RefusedError, match="not a valid reading"):
            _ = thin.mean
        assert aq.Readings([60.0], "HRC", thickness_mm=0.78).status == "doubtful"

    @pytest.mark.parametrize("place", ["on the bevel, 0.6 mm behind", "edge", "round", "scale on", "decarb skin"])
    def test_places_without_value(self, place: str) -> None:
        assert aq.Readings([55.1], "HRC", place=place).status == "not a valid reading"

    def test_a_bevel_is_never_averaged_in(self) -> None:
        both = aq.Readings([58.9, 59.7, 58.8, 55.1], "HRC", place=["flat", "flat", "flat", "bevel"])
        assert both.mean == pytest.approx((58.9 + 59.7 + 58.8) / 3)
        assert both.doubts[0].reading == 55.1

    def test_worked_example(self) -> None:
        """Five readings by the scheme of ISO 6508-1: u = 1.142 s/√5, t from SciPy; resolution 0.1/√12."""
        values = [61.2, 61.0, 61.5, 60.8, 61.0]
        made = aq.Readings(values, "HRC").estimate()
        t = stats.t.ppf(0.5 + 0.6826894921370859 / 2, 4)
        assert made.components["repeatability"] == pytest.approx(t * np.std(values, ddof=1) / np.sqrt(5), rel=1e-9)
        assert made.components["resolution"] == pytest.approx(0.0289, abs=5e-5)

    def test_one_reading_and_no_spread(self) -> None:
        tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
        for values in ([59.0], [59.0, 59.0, 59.0]):
            for who in (None, tester):
                assert aq.Readings(values, "HRC", tester=who).estimate().components["repeatability"] > 0.05

    def test_block(self) -> None:
        tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
        assert tester.bias.value == pytest.approx(-0.6)
        assert tester.bias.u == pytest.approx(0.259808, abs=1e-6)
        assert tester.within_limits is False  # E18-19 Table A1.3: ±0.5 from 60 HRC up
        with pytest.raises(aq.RefusedError, match="holds near"):
            aq.Readings([45.0], "HRC", tester=tester).estimate()
        with pytest.raises(aq.RefusedError, match="one scale"):
            aq.Readings([81.0], "HRA", tester=tester).estimate()

    def test_how_many(self) -> None:
        assert aq.mean_half_width(0.4, 5) == pytest.approx(stats.t.ppf(0.975, 4) * 0.4 / np.sqrt(5), rel=1e-9)
        assert aq.readings_needed(0.3, 0.4) == 10
        for half, sd in [(0.1, 0.4), (0.02, 0.4)]:
            n = aq.readings_needed(half, sd)
            assert stats.t.ppf(0.975, n - 1) * sd / np.sqrt(n) <= half < stats.t.ppf(0.975, n - 2) * sd / np.sqrt(n - 1)


class TestDecision:
    # JCGM 106 with w = 2u; chances from the normal distribution.
    @pytest.mark.parametrize(
        ("value", "verdict", "chance"),
        [
            (59.0, "pass", 0.99),
            (59.7, "not decided", 0.77),
            (60.2, "not decided", 0.31),
            (58.1, "not decided", 0.60),
            (57.7, "not decided", 0.23),
            (57.0, "fail", 0.01),
        ],
    )
    def test_three_answers(self, value: float, verdict: str, chance: float) -> None:
        made = aq.decide(aq.Estimate(value, 0.4, "HRC"), 58, 60)
        assert made.verdict == verdict
        assert made.p_inside == pytest.approx(chance, abs=0.01)
        assert made.p_inside == pytest.approx(np.diff(stats.norm.cdf([58, 60], value, 0.4))[0], abs=1e-12)

    def test_zero_width_is_said_before_measuring(self) -> None:
        assert aq.acceptance_zone(58, 60, u=0.5) == (59, 59, 0)
        made = aq.decide(aq.Estimate(59.0, 0.5, "HRC"), 58, 60)
        assert made.verdict == "not decided"
        assert "can't be proven" in made.why

    def test_unrounded(self) -> None:
        assert aq.decide(aq.Estimate(57.96, 0.0, "HRC"), 58, 60).verdict == "fail"
        assert aq.decide(aq.Estimate(57.96, 0.1, "HRC"), 58, guard_band="none").verdict == "fail"

    def test_another_scale(self) -> None:
        made = aq.decide(aq.Estimate(690, 7.5, "HV10"), 58, 60)
        assert made.verdict == "not decided"
        assert made.p_inside == pytest.approx(0.69, abs=0.03)
        assert "no conversion is needed" in made.why

    def test_arrays(self) -> None:
        rng = np.random.default_rng(1)
        values, u = rng.normal(59, 1, 1000), rng.uniform(0.1, 0.6, 1000)
        many = aq.decide(values, 58, 60, u=u)
        for i in range(0, 1000, 97):
            one = aq.decide(float(values[i]), 58, 60, u=float(u[i]))
            assert (many.verdict[i], many.p_inside[i]) == (one.verdict, pytest.approx(one.p_inside))
        assert aq.decide([[59.0, np.nan]], 58, u=0.1).verdict.tolist() == [["pass", "not decided"]]

    def test_laboratories(self) -> None:
        made = aq.compare_results(aq.Estimate(58.6, 0.2, "HRC"), aq.Estimate(57.8, 0.2, "HRC"))
        assert made.e_n == pytest.approx(0.8 / (2 * np.hypot(0.2, 0.2)))
        assert not made.agree


class TestInventedShop:
    """INVENTED data: six plane irons to 58–60 HRC and four to 59–61, and the block of two days."""

    BLOCK = (59.2, 60.0, 60.0, 59.4, 59.7, 59.0, 59.9, 59.3, 59.5, 60.2)
    IRONS = (
        ((58.7, 58.9, 59.3), 58, 59.5, "not decided"),
        ((58.6, 59.5, 59.0), 58, 59.6, "not decided"),
        ((58.9, 59.7, 58.8), 58, 59.7, "not decided"),
        ((58.6, 58.6, 58.8), 58, 59.2, "pass"),
        ((59.1, 59.3, 58.7), 58, 59.6, "not decided"),
        ((58.7, 59.1, 59.1), 58, 59.5, "not decided"),
        ((59.0, 59.3, 59.6), 59, 59.9, "pass"),
        ((59.6, 59.3, 59.3), 59, 60.0, "pass"),
        ((59.6, 59.2, 58.8), 59, 59.8, "pass"),
        ((59.3, 59.8, 59.5), 59, 60.1, "pass"),
    )

    def test_bias(self) -> None:
        assert aq.tester_from_block(self.BLOCK, "HRC", 60.2, 0.5).bias.value == pytest.approx(-0.58)

    @pytest.mark.parametrize(("values", "lower", "best", "verdict"), IRONS)
    def test_verdicts_at_u_of_0_7(self, values: tuple[float, ...], lower: float, best: float, verdict: str) -> None:
        tester = aq.tester_from_block(self.BLOCK, "HRC", 60.2, 0.5)
        readings = aq.Readings(values, "HRC", thickness_mm=2.0, place="flat, back", tester=tester)
        made = aq.decide(readings, lower, lower + 2, guard_band=0.7)
        assert made.estimate.value == pytest.approx(best, abs=0.051)
        assert made.verdict == verdict

    def test_three_coupons(self) -> None:
        """INVENTED: mean of three coupons less the bias of the block."""
        tester = aq.tester_from_block([61.2, 61.1, 61.3, 61.2, 60.8], "HRC", 61.0, 0.4)
        coupons = [60.3, 59.4, 60.5, 60.4, 59.9, 60.2, 60.2, 59.9, 59.8, 60.0, 60.3, 60.1, 60.1, 59.4, 59.9]
        made = aq.Readings(coupons, "HRC", thickness_mm=4.0, place="flat", tester=tester).estimate()
        assert made.value == pytest.approx(59.9067, abs=1e-4)


def test_everything_pickles_and_shows_no_address() -> None:
    tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
    readings = aq.Readings([58.7, 58.9], "HRC", thickness_mm=0.6, tester=tester)
    estimate = aq.Readings([58.7, 58.9], "HRC", tester=tester).estimate()
    objects = [
        tester,
        readings,
        readings.doubts[0],
        aq.decide(estimate, 58, 60),
        aq.compare_results(estimate, aq.Estimate(58, 0.3, "HRC")),
    ]
    for made in objects:
        assert pickle.loads(pickle.dumps(made)) == made
        assert "0x" not in repr(made)
    for listed in (aq.hardness_scales(), aq.conversion_tables()):
        again = pickle.loads(pickle.dumps(listed))
        assert repr(again) == repr(listed)
        assert repr(pickle.loads(pickle.dumps(listed[0]))) == repr(listed[0])
        assert len(listed.to_frame()) == len(listed)
    many = pickle.loads(pickle.dumps(aq.decide([59.0, 57.0], 58, 60, u=0.4)))
    assert repr(many) == "1 pass, 1 fail, 0 not decided"


@pytest.mark.parametrize("place", ["flat, ground", "ground face", "ground flat, 10 mm in"])
def test_a_ground_flat_is_no_round(place: str) -> None:
    assert aq.Readings([60.0, 60.2], "HRC", thickness_mm=4, place=place).status == "valid"
    assert aq.Readings([60.0, 60.2], "HRC", thickness_mm=4, place="round bar").status == "not a valid reading"


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        # By hand: 100 - 0.3/0.002 = -50 HRC, 100 - 0.001/0.002 = 99.5 HRC; off 20 to 70 (ISO 6508-1, from memory).
        (lambda **k: aq.rockwell_hardness("HRC", 0.3, **k), "depth_mm"),
        (lambda **k: aq.rockwell_hardness("HRC", 0.001, **k), "depth_mm"),
        (lambda **k: aq.minimum_thickness_mm("HRC", 99, **k), "value"),
        (lambda **k: aq.minimum_thickness_mm("HRC", -5, **k), "value"),
        (lambda **k: aq.minimum_thickness_mm("HBW10/3000", 900, **k), "value"),
    ],
)
def test_off_the_scale_is_refused(call, argument):
    with pytest.raises(aq.OutOfRangeError) as caught:
        call()
    assert caught.value.argument == argument
    assert "ISO 650" in caught.value.stated_by
    assert 'out_of_range="nan"' in str(caught.value)
    assert math.isnan(call(out_of_range="nan"))


def test_off_the_scale_is_refused_by_the_rules_of_the_place():
    for rule in (aq.thickness_rules, aq.minimum_edge_distance_mm, aq.minimum_spacing_mm):
        with pytest.raises(aq.OutOfRangeError, match="20 to 70"):
            rule("HRC", 75)
    # The ends of a scale belong to it.
    assert aq.rockwell_hardness("HRC", 0.16) == pytest.approx(20.0)
    assert aq.minimum_thickness_mm("HRC", [70.0, 20.0]).shape == (2,)
    made = aq.minimum_thickness_mm("HRC", np.array([60.0, 75.0]), out_of_range="nan")
    assert list(np.isnan(made)) == [False, True]
    # A reading off its scale is a doubt among the others, with thickness and edge or without.
    readings = aq.Readings([75.0], "HRC", thickness_mm=3, edge_distance_mm=4, place="flat")
    assert readings.status == "not a valid reading"


@pytest.mark.parametrize("scale", ["HRC", "HV10", "HBW10/3000", "Rm"])
@pytest.mark.parametrize("table", ["astm-e140-1", "iso-18265-a1"])
def test_a_scale_to_itself_is_the_identity(scale, table):
    low, high = {"HRC": (20.0, 70.0), "HV10": (100.0, 940.0), "HBW10/3000": (100.0, 640.0), "Rm": (400.0, 2000.0)}[
        scale
    ]
    values = np.linspace(low, high, 1001)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        np.testing.assert_array_equal(aq.convert_hardness(values, scale, scale, table), values)
        assert aq.convert_hardness(float(values[7]), scale, scale, table) == values[7]
    given = aq.Estimate(0.5 * (low + high), 1.5, scale)
    assert aq.convert_hardness_estimate(given, scale, scale, table) == given
    bare = aq.convert_hardness_estimate(0.5 * (low + high), scale, scale, table)
    assert (bare.u, bare.tables, bare.assumptions, bare.unit) == (0.0, [], [], scale)


def test_a_scale_to_itself_after_a_conversion():
    converted = aq.convert_hardness_estimate(aq.Estimate(690, 7.5, "HV10"), "HV10", "HRC")
    assert aq.convert_hardness_estimate(converted, "HRC", "hrc") == converted
    with pytest.raises(aq.OutOfRangeError, match="20 to 70"):
        aq.convert_hardness(75.0, "HRC", "HRC")
    assert math.isnan(aq.convert_hardness(75.0, "HRC", "HRC", out_of_range="nan"))
    with pytest.raises(aq.RefusedError, match="scales differ"):
        aq.convert_hardness_estimate(aq.Estimate(690, 7.5, "HV10"), "HRC", "HRC")
    with pytest.raises(aq.UnknownNameError):
        aq.convert_hardness(60.0, "HRC", "HRC", table="nobody's")


class TestDecisionsKeepTheirContainer:
    VALUES = pd.Series([59.0, 59.7, 57.0], index=["a", "b", "c"], name="hrc")

    @pytest.mark.parametrize("u", [0.4, np.array([0.4, 0.4, 0.4]), pd.Series([0.4] * 3, index=["a", "b", "c"])])
    def test_series(self, u):
        made = aq.decide(self.VALUES, 58, 60, u=u)
        plain = aq.decide(self.VALUES.to_numpy(), 58, 60, u=0.4)
        for name in ("verdict", "p_inside", "guard_band", "accept_lower", "accept_upper"):
            got = getattr(made, name)
            assert isinstance(got, pd.Series)
            assert list(got.index) == ["a", "b", "c"]
            np.testing.assert_array_equal(got.to_numpy(), getattr(plain, name))
        assert repr(made) == "1 pass, 1 fail, 1 not decided"
        assert len(made) == 3
        assert list(pickle.loads(pickle.dumps(made)).verdict.index) == ["a", "b", "c"]

    def test_the_uncertainty_may_be_the_series(self):
        made = aq.decide(59.0, 58, 60, u=pd.Series([0.2, 0.6], index=[7, 9]))
        assert list(made.verdict.index) == [7, 9]
        assert list(made.verdict) == ["pass", "not decided"]

    def test_rows_are_not_paired_by_place(self):
        with pytest.raises(aq.ArgumentTypeError, match="indexes"):
            aq.decide(self.VALUES, 58, 60, u=pd.Series([0.4] * 3, index=["c", "b", "a"]))

    def test_masked_and_labelled(self):
        made = aq.decide(np.ma.array([59.0, 1e9], mask=[False, True]), 58, 60, u=0.4)
        assert list(np.ma.getmaskarray(made.verdict)) == [False, True]
        xr = pytest.importorskip("xarray")
        labelled = aq.decide(xr.DataArray([59.0, 57.0], coords={"part": ["x", "y"]}, dims="part"), 58, 60, u=0.4)
        assert list(labelled.verdict.coords["part"].values) == ["x", "y"]
        assert list(labelled.verdict.values) == ["pass", "fail"]

    @pytest.mark.parametrize("values", [["59", "60"], [59 + 1j, 60], [10**400, 59], np.array(["2031-01-01"], "M8[D]")])
    def test_what_is_no_number(self, values):
        with pytest.raises(aq.ArgumentTypeError, match="readings_or_estimate"):
            aq.decide(values, 58, 60, u=0.4)
