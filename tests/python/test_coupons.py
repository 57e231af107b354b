"""Fitting coupons: what they say, what they don't, who does not belong, and every way to write them down wrongly."""

from __future__ import annotations

import io
import math
import pickle
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd
import polars as pl
import pytest

import afterquench as aq
from acceptance import DATA, demo_curve, said

if TYPE_CHECKING:
    from collections.abc import Callable

COUPONS_A = DATA / "scenario_a" / "coupons.csv"
COUPONS_B = DATA / "scenario_b" / "coupons.csv"


def table(temperatures: list[float], hours: list[float] | float, hrc: list[Any], **columns: Any) -> dict[str, Any]:
    """A table of coupons a, b, c …; INVENTED numbers throughout this file."""
    count = len(hrc)
    return {
        "coupon": [chr(ord("a") + i) for i in range(count)],
        "temper_degc": temperatures,
        "hold_h": hours if isinstance(hours, list) else [hours] * count,
        "hrc": hrc,
    } | columns


def falling(sd: float, seed: int, hours: tuple[float, ...] = (2.0,), each: int = 1) -> dict[str, Any]:
    """Coupons of the straight line 61 HRC at 200 °C, 2 h, -0.05 HRC/°C, C = 18."""
    rng = np.random.default_rng(seed)
    holds = [(t, h) for t in (175.0, 200.0, 225.0, 250.0) for h in hours for _ in range(each)]
    own = [(t + 273.15) * (18 + math.log10(h)) / (18 + math.log10(2)) - 273.15 for t, h in holds]
    hrc = [61.0 - 0.05 * (t - 200.0) + sd * rng.standard_normal() for t in own]
    return {
        "coupon": [f"k{i}" for i in range(len(holds))],
        "temper_degc": [t for t, _ in holds],
        "hold_h": [h for _, h in holds],
        "hrc": hrc,
    }


class TestNotDetermined:
    def test_it_is_no_number(self) -> None:
        c = aq.fit_coupons(COUPONS_B).c
        assert isinstance(c, aq.NotDetermined)
        for use in (bool, float):
            with pytest.raises(aq.NotDeterminedError, match="It would be by"):
                use(c)
        assert "not determined" in repr(c)

    def test_scenario_b_says_what_would_determine_c(self) -> None:
        fit = aq.fit_coupons(COUPONS_B)
        assert isinstance(fit.c, aq.NotDetermined)
        assert "more coupons" in fit.c.would_determine
        assert "oven-hours" in fit.c.would_determine
        design = aq.design_coupons(fit, u_c=2.0)
        assert design.u_c <= 2.0
        assert {hours for _, hours, _ in design.runs} != {2.0}

    def test_two_temperatures_give_no_slope(self) -> None:
        fit = aq.fit_coupons(table([200, 200, 225, 225], 2.0, [60.3, 60.6, 59.2, 59.0]))
        assert isinstance(fit.slope, aq.NotDetermined)
        with pytest.raises(aq.NotDeterminedError):
            _ = fit.curve
        based = aq.fit_coupons(table([200, 200, 225, 225], 2.0, [60.3, 60.6, 59.2, 59.0]), steel="O1")
        assert based.is_offset
        assert based.curve.hardness_after(204, 2) < aq.steel("O1").hardness_after(204, 2)

    def test_one_temperature_gives_its_mean(self) -> None:
        fit = aq.fit_coupons(table([200] * 5, 2.0, [60.0, 60.3, 60.6, 60.0, 60.6]))
        assert fit.level.value == pytest.approx(60.3)
        low, high = fit.level.interval(0.95)
        # By hand: t(0.975, 4) = 2.776 times 0.3/√5.
        assert high - low == pytest.approx(2 * 2.776 * 0.3 / math.sqrt(5), rel=1e-3)

    def test_few_coupons_lean_on_a_belief(self) -> None:
        # With two to spare, by hand: scale² (4 * 0.08 + 2 * 0.09)/(4 + 2) = 0.0833, six degrees of freedom, where the
        # belief of 0.4 HRC in the root mean square has a scale² of 0.16 * (4 - 2)/4; t(0.975, 6) = 2.447.
        fit = aq.fit_coupons(table([200, 200, 200], 2.0, [60.0, 60.3, 60.6]))
        low, high = fit.level.interval(0.95)
        assert high - low == pytest.approx(2 * 2.447 * math.sqrt(0.08333 / 3), rel=0.01)
        assert fit.degrees_of_freedom == pytest.approx(6, rel=0.02)
        given = aq.fit_coupons(table([200, 200, 200], 2.0, [60.0, 60.3, 60.6]), coupon_sd_hrc=0.3)
        assert np.ptp(given.level.interval()) == pytest.approx(2 * 1.96 * 0.3 / math.sqrt(3), rel=0.01)

    def test_one_coupon(self) -> None:
        fit = aq.fit_coupons(table([200], 2.0, [60.3]))
        assert fit.level.value == pytest.approx(60.3)
        assert "is believed" in said(fit.level.assumptions)


class TestDoubtful:
    def test_found_without_a_remark(self) -> None:
        frame = pd.read_csv(COUPONS_A, comment="#").drop(columns="remark")
        fit = aq.fit_coupons(frame)
        assert fit.doubtful == ["A07", "A12"]
        assert [doubt["left_out"] for doubt in fit.doubts] == [True, False]

    def test_two_that_hide_each_other(self) -> None:
        made = falling(0.25, seed=4, each=3)
        for spoiled in (2, 7):
            made["hrc"][spoiled] -= 2.5
        assert set(aq.fit_coupons(made).doubtful) >= {"k2", "k7"}

    def test_contradiction_is_named_and_not_decided(self) -> None:
        fit = aq.fit_coupons(table([200, 200], 2.0, [60.0, 55.0]))
        assert set(fit.doubtful) == {"a", "b"}
        assert "contradict each other" in said(doubt["why"] for doubt in fit.doubts)
        assert "differ by 5.0 hrc" in said(fit.notes)

    def test_sound_coupons_are_seldom_left_out(self) -> None:
        left_out = sum(
            any(doubt["left_out"] for doubt in aq.fit_coupons(falling(0.35, seed, each=4)).doubts)
            for seed in range(100)
        )
        assert left_out <= 5

    def test_hardness_that_rises(self) -> None:
        fit = aq.fit_coupons(table([175, 200, 225, 250], 2.0, [58.0, 59.0, 60.1, 61.0]))
        assert "rises with temperature" in said(fit.notes)


class TestTheFittedCurve:
    def test_it_goes_into_a_plan(self) -> None:
        fit = aq.fit_coupons(COUPONS_A)
        plan = aq.plan(fit.curve, target_hrc=(58, 60))
        assert plan.best.p_inside > 0.97
        assert fit.curve.u_curve < 0.2
        assert fit.curve.u_batch == pytest.approx(fit.coupon_sd_hrc)
        assert fit.curve.c_interval == pytest.approx(fit.c.interval(0.95))  # type: ignore[union-attr]

    def test_offset_of_an_invented_steel(self) -> None:
        base = demo_curve("80CrV2-demo", c=18.2)
        at = [175.0, 200.0, 225.0, 250.0, 275.0]
        hrc = [base.hardness_after(t, 2.0) - 0.7 for t in at]
        fit = aq.fit_coupons(table(at, 2.0, hrc), curve=base)
        assert fit.level.value == pytest.approx(-0.7, abs=1e-9)
        assert fit.curve.hardness_after(300.0, 2.0) == pytest.approx(base.hardness_after(300.0, 2.0) - 0.7)
        assert isinstance(fit.slope, aq.Estimate)
        assert fit.slope.value == pytest.approx(base.slope(225.0, 2.0), abs=2e-3)

    def test_the_testers_bias_stays_in_the_level(self) -> None:
        made = table([200, 200, 200, 200], 2.0, [60.1, 60.4, 60.2, 60.3])
        plain = aq.fit_coupons(made)
        tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
        corrected = aq.fit_coupons(made, tester=tester)
        assert corrected.level.value == pytest.approx(plain.level.value + 0.6)
        assert corrected.level.components["tester"] == pytest.approx(tester.bias.u)
        with pytest.raises(aq.RefusedError, match="changes along the scale"):
            aq.fit_coupons(table([200, 300, 400], 2.0, [60.0, 55.0, 50.0]), tester=tester)

    def test_temperature_for_a_hardness(self) -> None:
        fit = aq.fit_coupons(COUPONS_A)
        found = fit.temperature_for_estimate(59.0, 2.0)
        assert fit.hardness_after_estimate(found.value, 2.0).value == pytest.approx(59.0, abs=1e-6)
        assert 1.0 < found.u < 4.0
        with pytest.raises(aq.OutOfRangeError):
            fit.hardness_after_estimate(450.0, 2.0)


class TestReading:
    def test_the_same_from_every_container(self) -> None:
        frame = pd.read_csv(COUPONS_A, comment="#")
        text = COUPONS_A.read_bytes()
        fits = [
            aq.fit_coupons(given)
            for given in (
                COUPONS_A,
                str(COUPONS_A),
                text,
                io.StringIO(text.decode()),
                frame,
                frame.to_dict("list"),
                pl.from_pandas(frame),
            )
        ]
        assert all(fit == fits[0] for fit in fits)

    def test_it_pickles(self) -> None:
        for made in (
            aq.fit_coupons(COUPONS_A),
            aq.fit_coupons(COUPONS_B),
            aq.fit_coupons(COUPONS_B).c,
            aq.design_coupons([(175, 0.5), (250, 8)]),
            aq.pool_batches({"batch": list("abc"), "level_hrc": [0.1, 0.4, -0.2], "u_hrc": [0.2] * 3}),
        ):
            assert pickle.loads(pickle.dumps(made)) == made

    def test_cycles_and_blanks(self) -> None:
        made = table([200, 225, 250], 1.0, [60.3, math.nan, 58.0], cycles=[2, 2, 2])
        with pytest.raises(aq.DataFileError, match="coupon b has no reading"):
            aq.fit_coupons(made)
        del made["hrc"]
        made |= {"r1": [60.3, 59.0, 58.0], "r2": [60.5, math.nan, 58.2]}
        assert aq.fit_coupons(made).time_h == 2.0

    def test_identical_readings(self) -> None:
        made = table([200, 225, 250, 275], 2.0, [0.0] * 4)
        del made["hrc"]
        made |= {name: [60.0, 59.0, 58.0, 57.0] for name in ("r1", "r2", "r3")}
        fit = aq.fit_coupons(made)
        assert "display" in said(fit.notes)
        assert fit.level.u > 0.0


class TestUnmoved:
    """Coupons that read alike: what display and tester leave open bounds the answer from below."""

    # By hand: a display of 0.1 leaves 0.1/sqrt(12); a tester that keeps the permitted range of five readings, 1.0 at 60
    # HRC and more (ASTM E18-19, Table A1.3), scatters by 1.0/2.326.
    DISPLAY, TESTER = 0.1 / math.sqrt(12), 1.0 / 2.326

    @pytest.mark.parametrize(("count", "readings"), [(4, 3), (6, 1), (6, 3), (12, 5)])
    def test_all_exactly_alike(self, count: int, readings: int) -> None:
        made = table([200] * count, 2.0, [60.5] * count)
        del made["hrc"]
        made |= {f"r{i}": [60.5] * count for i in range(1, readings + 1)}
        fit = aq.fit_coupons(made)
        assert fit.level.value == pytest.approx(60.5)
        assert fit.level.components["display"] == pytest.approx(self.DISPLAY)
        assert fit.level.u >= math.hypot(self.DISPLAY, self.TESTER / math.sqrt(count * readings)) - 1e-9
        for texts in (fit.notes, fit.level.assumptions):
            assert "astm e18-19" in said(texts)
            assert "Read a block" in "".join(texts)

    def test_on_a_line_without_a_residual(self) -> None:
        line = table([175, 200, 225, 250] * 2, 2.0, [62.0, 61.0, 60.0, 59.0] * 2)
        fit = aq.fit_coupons(line)
        assert fit.level.u > self.TESTER / math.sqrt(8)
        assert fit.curve.hardness_after_estimate(200, 2).components["curve"] > 0.1
        assert fit.hardness_after_estimate(200, 2).components["display"] == pytest.approx(self.DISPLAY)
        # A plan on them does not count on coupons without scatter.
        assert aq.design_coupons(fit, u_level=0.1).coupons > 1

    def test_scatter_that_shows_is_left_alone(self) -> None:
        fit = aq.fit_coupons(falling(0.3, 5, each=3))
        assert "display" not in fit.level.components
        assert not any("Read a block" in note for note in fit.notes)

    def test_batches_alike(self) -> None:
        alike = table([200] * 6, 2.0, [60.0, 60.0, 61.0, 61.0, 60.6, 60.6], batch=list("xxyyzz"))
        pool = aq.pool_batches(alike)
        assert min(batch["u_hrc"] for batch in pool.batches) == pytest.approx(self.TESTER / math.sqrt(2))
        assert "astm e18-19" in said(pool.mean.assumptions)


GERMAN = (
    "# Probestäbe\ncoupon;batch;temper_degc;hold_h;r1;r2;remark\n"
    "a;x;175;2;61,5;61,6;gut\nb;;200;2;60,6;60,5;\nc;x;225;2;59,1;;\nd;y;250;2,0;58,0;58,1;\n;;;;;;\n"
)


class TestTables:
    @pytest.mark.parametrize("separator", [";", "\t", "|"])
    @pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1"])
    def test_separators_and_decimal_commas(self, separator: str, encoding: str) -> None:
        points = {
            "coupon": list("abcd"),
            "temper_degc": [175, 200, 225, 250],
            "hold_h": [2] * 4,
            "r1": [61.5, 60.6, 59.1, 58.0],
            "r2": [61.6, 60.5, math.nan, 58.1],
        }
        text = GERMAN.replace(";", separator)
        expected = aq.fit_coupons(points).level
        assert aq.fit_coupons(text.encode(encoding)).level == expected
        assert aq.fit_coupons(io.BytesIO(text.encode(encoding))).level == expected
        if separator == ";":
            assert aq.fit_coupons(b"sep=;\r\n" + text.replace("\n", "\r\n").encode()).level == expected

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("coupon,temper_degc,hold_h,r1\na,200,2,60,5\n", ("c.csv, line 2", "decimal points")),
            ("coupon;temper_degc;hold_h;r1\n\na;200;2;60,5\nb;200;2\n", ("c.csv, line 4", "3 fields")),
            ("#\ncoupon;temper_degc;hold_h;r1\na;200;2;60,5 HRC\n", ("c.csv, line 3, column r1", "60.5 or 60,5")),
            ("coupon;temper_degc;hold_h;r1\na;200;;60,5\n", ("c.csv, line 2, column hold_h", "blank")),
            ("coupon;temper_degc;hold_h;r1\na;1.200,5;2;60,5\n", ("c.csv, line 2, column temper_degc", "no number")),
        ],
    )
    def test_what_can_not_be_read_names_its_place(self, text: str, says: tuple[str, ...], tmp_path: Any) -> None:
        path = tmp_path / "c.csv"
        path.write_text(text)
        with pytest.raises(aq.DataFileError) as caught:
            aq.fit_coupons(path)
        for part in says:
            assert part in str(caught.value)
        assert caught.value.line is not None

    def test_two_byte_letters(self) -> None:
        with pytest.raises(aq.DataFileError, match="UTF-8"):
            aq.fit_coupons(GERMAN.encode("utf-16"))

    def test_a_blank_batch_is_none(self) -> None:
        made = table([200] * 6, 2.0, [60.0, 60.2, 60.1, 59.0, 61.0, 61.2])
        frames = [
            pd.DataFrame(made | {"batch": ["x", "x", blank, "y", "z", "z"]}) for blank in (np.nan, None, pd.NA, "")
        ]
        for source in (*frames, made | {"batch": ["x", "x", math.nan, "y", "z", "z"]}):
            with pytest.raises(aq.MissingArgumentError, match="coupon c names no batch"):
                aq.pool_batches(source)
        with pytest.raises(aq.MissingArgumentError, match="coupon b names no batch"):
            aq.pool_batches(GERMAN.encode(), steel="O1")
        levels = pd.DataFrame({"batch": ["a", np.nan, "c"], "level_hrc": [0.4, -0.5, 0.1], "u_hrc": [0.2] * 3})
        with pytest.raises(aq.MissingArgumentError, match="row 2 names no batch"):
            aq.pool_batches(levels)
        blank_name = pd.DataFrame(made | {"coupon": ["a", np.nan, "c", "d", "e", "f"]})
        assert "row 2" in list(aq.fit_coupons(blank_name).to_frame()["coupon"])


def test_several_blocks_correct_each_coupon() -> None:
    # By hand: -0.2 at 55 and -0.6 at 63, straight between: -0.05 per HRC, so coupons on -0.05 HRC/°C lie on -0.0475 as
    # such a tester reads them, and on -0.0499 when each is corrected by the bias at its reading: off by 0.05 of itself.
    soft = aq.tester_from_block([54.7, 54.8, 54.9], "HRC", 55.0, 0.4)
    hard = aq.tester_from_block([62.3, 62.4, 62.5], "HRC", 63.0, 0.4)
    truth = [62.0, 61.0, 60.0, 59.0, 58.0, 57.0]
    read = [true + bias for true, bias in zip(truth, np.interp(truth, [55.0, 63.0], [-0.2, -0.6]), strict=True)]
    made = table([175, 195, 215, 235, 255, 275], 2.0, read)
    fit = aq.fit_coupons(made, tester=aq.tester_from_blocks([soft, hard]))
    assert aq.fit_coupons(made).slope.value == pytest.approx(-0.0475, abs=1e-4)
    assert fit.slope.value == pytest.approx(-0.049875, abs=2e-5)
    assert fit.level.value == pytest.approx(59.5 - 0.05 * 0.425, abs=0.005)
    assert fit.level.components["tester"] >= 0.2
    batches = table([200] * 6, 2.0, [60.0, 60.2, 59.0, 59.3, 61.0, 61.2], batch=list("xxyyzz"))
    pool = aq.pool_batches(batches, tester=aq.tester_from_blocks([soft, hard]))
    assert pool.mean.value > 60.3
    with pytest.raises(aq.RefusedError, match="near the coupons"):
        aq.fit_coupons(table([200], 2.0, [45.0]), tester=aq.tester_from_blocks([soft, hard]))
    with pytest.raises(aq.ArgumentTypeError, match="tester_from_blocks"):
        aq.fit_coupons(made, tester=[soft, hard])  # type: ignore[arg-type]


class Case(NamedTuple):
    name: str
    call: Callable[[], Any]
    error: type[aq.AfterquenchError]
    says: str


REFUSED = [
    Case("text among readings", lambda: aq.fit_coupons(table([200], 2.0, ["soft"])), aq.DataFileError, "'soft'"),
    Case("no column of times", lambda: aq.fit_coupons({"temper_degc": [200], "hrc": [60]}), aq.DataFileError, "hold_h"),
    Case("no row", lambda: aq.fit_coupons(table([], [], [])), aq.DataFileError, "no coupon"),
    Case("no table", lambda: aq.fit_coupons(3), aq.ArgumentTypeError, "no table"),
    Case("ragged", lambda: aq.fit_coupons(table([200], 2.0, [60.0, 61.0])), aq.ArgumentTypeError, "rows"),
    Case("off the scale", lambda: aq.fit_coupons(table([200], 2.0, [606.0])), aq.OutOfRangeError, "606"),
    Case("no time", lambda: aq.fit_coupons(table([200], 0.0, [60.0])), aq.InvalidValueError, "time"),
    Case("blank temperature", lambda: aq.fit_coupons(table([None], 2.0, [60.0])), aq.DataFileError, "blank"),
    Case("other scale", lambda: aq.fit_coupons(table([200], 2.0, [60.0], scale=["HRA"])), aq.RefusedError, "HRA"),
    Case("unknown coupon", lambda: aq.fit_coupons(COUPONS_A, leave_out=["A99"]), aq.UnknownNameError, "A99"),
    Case(
        "none left",
        lambda: aq.fit_coupons(table([200], 2.0, [60.0]), leave_out=["a"]),
        aq.MissingArgumentError,
        "leave_out",
    ),
    Case("unknown shape", lambda: aq.fit_coupons(COUPONS_A, shape="cubic"), aq.UnknownNameError, "cubic"),  # type: ignore[arg-type]
    Case(
        "two bases",
        lambda: aq.fit_coupons(COUPONS_A, steel="O1", curve=demo_curve("O1-demo")),
        aq.ArgumentTypeError,
        "not both",
    ),
    Case("bad scatter", lambda: aq.fit_coupons(COUPONS_A, coupon_sd_hrc=-1), aq.InvalidValueError, "coupon_sd"),
    Case(
        "parabola of three",
        lambda: aq.fit_coupons(table([200, 225, 250], 2.0, [60, 59, 58]), shape="parabola"),
        aq.NotDeterminedError,
        "parabola",
    ),
    Case("C from nowhere", lambda: aq.fit_coupons(COUPONS_A, c=400.0), aq.InvalidValueError, "no steel's constant"),
    Case("no plan", lambda: aq.design_coupons(), aq.MissingArgumentError, "neither a plan"),
    Case("rising slope", lambda: aq.design_coupons(u_c=1, slope=0.05), aq.InvalidValueError, "slope"),
    Case("no goal", lambda: aq.design_coupons(u_c=0), aq.InvalidValueError, "u_c"),
    Case("beyond the tester", lambda: aq.design_coupons(u_level=0.1, u_tester=0.25), aq.NoAnswerError, "0.25"),
    Case("odd plan", lambda: aq.design_coupons([(200,)]), aq.ArgumentTypeError, "pairs"),  # type: ignore[list-item]
    Case(
        "two batches",
        lambda: aq.pool_batches({"batch": ["a", "b"], "level_hrc": [0, 1], "u_hrc": [1, 1]}),
        aq.NotDeterminedError,
        "2 batches",
    ),
    Case(
        "no u",
        lambda: aq.pool_batches({"batch": list("abc"), "level_hrc": [0, 1, 2], "u_hrc": [1, 1, 0]}),
        aq.InvalidValueError,
        "u_hrc",
    ),
    Case("no batch", lambda: aq.pool_batches(COUPONS_A), aq.MissingArgumentError, "batch"),
    Case(
        "several holds",
        lambda: aq.pool_batches(table([200, 225], 2.0, [60, 59], batch=["a", "b"])),
        aq.MissingArgumentError,
        "mean of tempers",
    ),
    Case("one steel", lambda: aq.common_window([("O1", (60, 61))]), aq.MissingArgumentError, "two steels"),
    Case("no load", lambda: aq.common_window(3), aq.ArgumentTypeError, "list"),  # type: ignore[arg-type]
    Case(
        "a window nobody reaches",
        lambda: aq.common_window([("O1", (68, 69)), ("A2", (60, 61))]),
        aq.NoAnswerError,
        "68",
    ),
]


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: case.name)
def test_refused(case: Case) -> None:
    with pytest.raises(case.error) as caught:
        case.call()
    assert case.says in str(caught.value)
    assert pickle.loads(pickle.dumps(caught.value)).__dict__ == caught.value.__dict__
