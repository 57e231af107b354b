"""One row for each way to ask wrongly: what is raised, which fields it carries, what its message names.

Every refusal must be an exception of the package (so that it carries fields), say which argument or file it is about,
show the value, and come without a traceback of Rust. NaN is not an error: it marks a missing value and gives NaN back.
"""

from __future__ import annotations

import math
import pickle
import typing
from typing import Any

import numpy as np
import pytest

import afterquench as aq
from acceptance import demo_curve

if typing.TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NAN, INF = math.nan, math.inf


class Case(typing.NamedTuple):
    """A wrong call and what must come of it."""

    name: str
    call: Callable[[], Any]
    error: type[aq.AfterquenchError] | tuple[type[aq.AfterquenchError], ...]
    says: tuple[str, ...] = ()
    fields: dict[str, Any] = {}  # noqa: RUF012


def falling(**keywords: Any) -> aq.TemperingCurve:
    return demo_curve("80CrV2-demo", **keywords)


def log(text: str | bytes, **hints: Any) -> Any:
    return aq.read_log(text.encode() if isinstance(text, str) else text, **hints)


def samples(values: typing.Iterable[object], header: str = "elapsed_s,part_side_degc", step_s: int = 10) -> str:
    return "\n".join([header, *(f"{step_s * index},{value}" for index, value in enumerate(values))])


HOLD = (200.0, 2.0)
TIME_LIKE = (aq.InvalidValueError,)
NUMBERS = (aq.ArgumentTypeError, aq.InvalidValueError)

TEMPER = [
    Case("c forgotten", lambda: aq.temper_parameter(*HOLD), aq.MissingArgumentError, ("c=", "15"), {"argument": "c"}),
    Case("c forgotten, arrays", lambda: aq.equivalent_time([200.0], 2.0, 210.0), aq.MissingArgumentError, ("c=",)),
    Case("c forgotten, history", lambda: aq.combine([HOLD]), aq.MissingArgumentError, ("c=",)),
    Case("infinite temperature", lambda: aq.temper_parameter(INF, 2.0, c=20), TIME_LIKE, ("temperature_c", "infinite")),
    Case(
        "infinite under every policy",
        lambda: aq.temper_parameter(INF, 2.0, c=20, out_of_range="nan"),
        TIME_LIKE,
        ("temperature_c",),
    ),
    Case("infinite time", lambda: aq.temper_parameter(200.0, INF, c=20), TIME_LIKE, ("time_h",)),
    Case("no time", lambda: aq.temper_parameter(200.0, 0.0, c=20), TIME_LIKE, ("time_h", "0"), {"value": 0.0}),
    Case("negative time", lambda: aq.temper_parameter(200.0, -2.0, c=20), TIME_LIKE, ("time_h", "-2"), {"value": -2.0}),
    Case(
        "negative time under every policy",
        lambda: aq.temper_parameter(200.0, -2.0, c=20, out_of_range="nan"),
        TIME_LIKE,
        ("time_h",),
    ),
    Case(
        "absolute zero", lambda: aq.temper_parameter(-273.15, 2.0, c=20), TIME_LIKE, ("temperature_c", "absolute zero")
    ),
    Case("below absolute zero", lambda: aq.temper_parameter(-300.0, 2.0, c=20), TIME_LIKE, ("temperature_c", "-300")),
    Case("infinite c", lambda: aq.temper_parameter(*HOLD, c=INF), TIME_LIKE, ("c",)),
    Case("negative new time", lambda: aq.equivalent_temperature(*HOLD, -1.0, c=20), TIME_LIKE, ("new_time_h", "-1")),
    Case("new below zero", lambda: aq.equivalent_time(*HOLD, -280.0, c=20), TIME_LIKE, ("new_temperature_c", "-280")),
    Case(
        "unknown policy", lambda: aq.temper_parameter(*HOLD, c=20, out_of_range="clip"), aq.AfterquenchError, ("clip",)
    ),
    Case("text for a number", lambda: aq.temper_parameter("200", 2.0, c=20), aq.ArgumentTypeError, ("temperature_c",)),
    Case("None for a number", lambda: aq.temper_parameter(None, 2.0, c=20), aq.ArgumentTypeError, ()),
    Case("array of text", lambda: aq.temper_parameter(np.array(["a", "b"]), 2.0, c=20), aq.ArgumentTypeError, ()),
    Case("array of objects", lambda: aq.temper_parameter(np.array([object()]), 2.0, c=20), aq.ArgumentTypeError, ()),
    Case("complex numbers", lambda: aq.temper_parameter(np.array([200 + 1j]), 2.0, c=20), aq.ArgumentTypeError, ()),
    Case(
        "dates",
        lambda: aq.temper_parameter(np.array(["2031-01-01"], "datetime64[D]"), 2.0, c=20),
        aq.ArgumentTypeError,
        (),
    ),
    Case("ragged list", lambda: aq.temper_parameter([[200.0, 210.0], [220.0]], 2.0, c=20), aq.ArgumentTypeError, ()),
    Case(
        "shapes that don't fit",
        lambda: aq.temper_parameter(np.ones(3) * 200, np.ones(2), c=20),
        aq.ArgumentTypeError,
        ("(3,)", "(2,)"),
    ),
    Case(
        "counted over all elements",
        lambda: aq.temper_parameter(np.array([200.0, 200.0, 200.0, 200.0]), np.array([1.0, -1.0, 0.0, NAN]), c=20),
        TIME_LIKE,
        ("time_h", "2 of 4"),
        {"failed": 2, "of": 4, "value": -1.0},
    ),
    Case(
        "too much carbon",
        lambda: aq.constant_from_carbon(5.0),
        aq.OutOfRangeError,
        ("carbon", "5", "1.2"),
        {"value": 5.0},
    ),
    Case("negative carbon", lambda: aq.constant_from_carbon(-0.1), aq.AfterquenchError, ("carbon", "-0.1")),
    Case("empty trace", lambda: aq.accumulate([], [], c=20), aq.AfterquenchError, ()),
    Case("one sample", lambda: aq.accumulate([0.0], [200.0], c=20).equivalent_hours(200.0), aq.AfterquenchError, ()),
    Case("lengths that differ", lambda: aq.accumulate([0.0, 60.0], [200.0], c=20), aq.AfterquenchError, ("2", "1")),
    Case(
        "time going back", lambda: aq.accumulate([0.0, 60.0, 30.0], [200.0] * 3, c=20), aq.AfterquenchError, ("time_s",)
    ),
    Case(
        "infinite sample",
        lambda: aq.accumulate([0.0, 60.0], [200.0, INF], c=20),
        aq.AfterquenchError,
        ("temperature_c",),
    ),
    Case("missing time", lambda: aq.accumulate([0.0, NAN, 60.0], [200.0] * 3, c=20), aq.AfterquenchError, ("time_s",)),
    Case("sample too cold", lambda: aq.accumulate([0.0, 60.0], [200.0, -274.0], c=20), aq.AfterquenchError, ("-274",)),
    Case("trace of text", lambda: aq.accumulate(["a", "b"], [200.0, 200.0], c=20), aq.AfterquenchError, ()),
    Case(
        "trace in two dimensions", lambda: aq.accumulate([[0.0, 1.0]], [[200.0, 200.0]], c=20), aq.AfterquenchError, ()
    ),
    Case("no holds", lambda: aq.combine([], c=20).equivalent_hours(200.0), aq.AfterquenchError, ()),
    Case("hold without time", lambda: aq.combine([(200.0,)], c=20), (aq.ArgumentTypeError,), ()),
    Case("hold of negative time", lambda: aq.combine([(200.0, -1.0)], c=20), TIME_LIKE, ("-1",)),
    Case(
        "activation energy of nothing",
        lambda: aq.equivalent_time_activation([0.0, 60.0], [200.0, 200.0], -5.0, 200.0),
        aq.AfterquenchError,
        ("activation_energy", "-5"),
    ),
]

CURVES = [
    Case(
        "below the table",
        lambda: falling().hardness_after(140.0, 2.0),
        aq.OutOfRangeError,
        ("140", "150"),
        {"low": 150.0},
    ),
    Case(
        "above the table",
        lambda: falling().hardness_after(401.0, 2.0),
        aq.OutOfRangeError,
        ("401", "400"),
        {"high": 400.0},
    ),
    Case("no hold", lambda: falling(c=18.0).hardness_after(200.0, 0.0), TIME_LIKE, ("time_h",)),
    Case("another hold without C", lambda: falling().hardness_after(200.0, 8.0), aq.MissingArgumentError, ("c",)),
    Case(
        "points that differ in number",
        lambda: aq.TemperingCurve([150.0, 200.0], [62.0]),
        aq.AfterquenchError,
        ("2", "1"),
    ),
    Case("one point", lambda: aq.TemperingCurve([150.0], [62.0]), aq.AfterquenchError, ()),
    Case("no points", lambda: aq.TemperingCurve([], []), aq.AfterquenchError, ()),
    Case("points out of order", lambda: aq.TemperingCurve([200.0, 150.0], [60.0, 62.0]), aq.AfterquenchError, ()),
    Case(
        "a point twice",
        lambda: aq.TemperingCurve([150.0, 150.0, 200.0], [62.0, 61.0, 60.0]),
        aq.AfterquenchError,
        ("150",),
    ),
    Case("a missing point", lambda: aq.TemperingCurve([150.0, 200.0], [62.0, NAN]), aq.AfterquenchError, ()),
    Case(
        "table without hold",
        lambda: aq.TemperingCurve([150.0, 200.0], [62.0, 60.0], time_h=0.0),
        aq.AfterquenchError,
        (),
    ),
    Case("hardness never reached", lambda: falling().temperature_for(65.0, 2.0), aq.OutOfRangeError, ("65", "62.6")),
    Case(
        "several temperatures",
        lambda: demo_curve("secondary-demo").temperature_for(59.0, 2.0),
        aq.SeveralAnswersError,
        ("239", "branch"),
    ),
    Case(
        "the hardening failed",
        lambda: falling(as_quenched_hrc=64.8).hardness_after(200.0, 2.0, as_quenched_hrc=55.0),
        aq.AfterquenchError,
        ("55", "harden"),
    ),
]

STEELS = [
    Case("a steel misspelt", lambda: aq.steel("52110"), aq.UnknownNameError, ("52110", "52100"), {"name": "52110"}),
    Case("no name", lambda: aq.steel(""), aq.UnknownNameError, ()),
    Case(
        "nothing like a steel", lambda: aq.steel("unobtainium"), aq.UnknownNameError, ("steels()",), {"kind": "steel"}
    ),
    Case("carbon beyond steel", lambda: aq.as_quenched_hardness(4.5), aq.OutOfRangeError, ("4.5",)),
    Case("negative carbon", lambda: aq.as_quenched_hardness(-0.4), aq.AfterquenchError, ("-0.4",)),
    Case("martensite above one", lambda: aq.as_quenched_hardness(0.4, martensite=50.0), aq.AfterquenchError, ("50",)),
    Case("unknown element", lambda: aq.martensite_start({"C": 0.4, "Xx": 1.0}), aq.AfterquenchError, ("Xx",)),
    Case("no carbon given", lambda: aq.martensite_start({}), aq.AfterquenchError, ("C",)),
    Case(
        "unknown rule",
        lambda: aq.martensite_start({"C": 0.4}, source="nobody"),
        aq.UnknownNameError,
        ("nobody", "andrews"),
    ),
]

HARDNESS = [
    Case("unknown scale", lambda: aq.convert_hardness(60.0, "HRCC", "HV"), aq.UnknownNameError, ("HRCC", "HRC")),
    Case(
        "unknown table",
        lambda: aq.convert_hardness(60.0, "HRC", "HV", table="astm-e141"),
        aq.UnknownNameError,
        ("astm-e141", "astm-e140-1"),
    ),
    Case(
        "below the table",
        lambda: aq.convert_hardness(15.0, "HRC", "HV"),
        aq.OutOfRangeError,
        ("15", "20"),
        {"value": 15.0},
    ),
    Case("above the table", lambda: aq.convert_hardness(950.0, "HV", "HRC"), aq.OutOfRangeError, ("950", "940")),
    Case("a blank in the table", lambda: aq.convert_hardness(67.0, "HRC", "HBW"), aq.AfterquenchError, ()),
    Case("a pair the table lacks", lambda: aq.convert_hardness(60.0, "HRC", "HRB"), aq.AfterquenchError, ("HRB",)),
    Case("infinite hardness", lambda: aq.convert_hardness(INF, "HRC", "HV"), TIME_LIKE, ("infinite",)),
    Case("text for hardness", lambda: aq.convert_hardness("60", "HRC", "HV"), aq.ArgumentTypeError, ()),
    Case(
        "converted twice",
        lambda: aq.convert_hardness_estimate(aq.convert_hardness_estimate(690.0, "HV", "HRC"), "HRC", "HRA"),
        aq.RefusedError,
        ("astm-e140-1",),
    ),
    Case("steel ball that hard", lambda: aq.convert_hardness(600.0, "HB", "HRC"), aq.AfterquenchError, ("450",)),
    Case("no readings", lambda: aq.Readings([], "HRC"), aq.AfterquenchError, ()),
    Case("a missing reading", lambda: aq.Readings([59.0, NAN], "HRC"), aq.AfterquenchError, ()),
    Case("text among readings", lambda: aq.Readings([59.0, "60,5"], "HRC"), aq.AfterquenchError, ()),
    Case("an infinite reading", lambda: aq.Readings([59.0, INF], "HRC"), aq.AfterquenchError, ()),
    Case("readings of an unknown scale", lambda: aq.Readings([59.0], "HRZ"), aq.UnknownNameError, ("HRZ",)),
    Case(
        "negative thickness",
        lambda: aq.Readings([59.0], "HRC", thickness_mm=-1.0),
        aq.AfterquenchError,
        ("thickness_mm",),
    ),
    Case(
        "no thickness at all",
        lambda: aq.Readings([59.0], "HRC", thickness_mm=0.0),
        aq.AfterquenchError,
        ("thickness_mm",),
    ),
    Case("an unknown place", lambda: aq.Readings([59.0], "HRC", place="moon"), aq.AfterquenchError, ("moon", "bevel")),
    Case(
        "limits reversed",
        lambda: aq.decide(aq.Estimate(59.0, 0.4, "HRC"), lower=60.0, upper=58.0),
        aq.AfterquenchError,
        ("60",),
    ),
    Case("no limits", lambda: aq.decide(aq.Estimate(59.0, 0.4, "HRC")), aq.AfterquenchError, ("lower",)),
    Case(
        "unknown guard band",
        lambda: aq.decide(aq.Estimate(59.0, 0.4, "HRC"), lower=58.0, upper=60.0, guard_band="wide"),
        aq.AfterquenchError,
        ("wide",),
    ),
    Case(
        "negative guard band",
        lambda: aq.decide(aq.Estimate(59.0, 0.4, "HRC"), lower=58.0, upper=60.0, guard_band=-0.5),
        aq.AfterquenchError,
        ("-0.5",),
    ),
    Case("no block readings", lambda: aq.tester_from_block([], "HRC", 60.2, 0.5), aq.AfterquenchError, ()),
    Case(
        "negative block uncertainty",
        lambda: aq.tester_from_block([60.0] * 5, "HRC", 60.2, -0.5),
        aq.AfterquenchError,
        ("-0.5",),
    ),
    Case("least thickness off the scale", lambda: aq.minimum_thickness_mm("HRC", 500.0), aq.AfterquenchError, ("500",)),
    Case(
        "curvature outside the table", lambda: aq.curvature_correction("HRC", 60.0, 0.5), aq.OutOfRangeError, ("0.5",)
    ),
    Case("coverage above one", lambda: aq.Estimate(59.0, 0.4, "HRC").interval(95), aq.AfterquenchError, ("95",)),
    Case("negative uncertainty", lambda: aq.Estimate(59.0, -0.4, "HRC"), aq.AfterquenchError, ("-0.4",)),
    Case("infinite value", lambda: aq.Estimate(INF, 0.4, "HRC"), aq.AfterquenchError, ()),
]

LOGS = [
    Case("empty file", lambda: log(""), aq.DataFileError, ()),
    Case("comments only", lambda: log("# nothing\n# here\n"), aq.DataFileError, ()),
    Case("header only", lambda: log("elapsed_s,part_side_degc\n"), aq.DataFileError, ()),
    Case("one row", lambda: log("elapsed_s,part_side_degc\n0,200\n").history(c=20), aq.AfterquenchError, ()),
    Case("no temperature", lambda: log("elapsed_s,setpoint\n0,200\n10,200\n"), aq.DataFileError, ("column",)),
    Case("no time", lambda: log("air_degc\n200\n200\n"), aq.DataFileError, ("time",)),
    Case("not text", lambda: log(bytes(range(256)) * 8), aq.DataFileError, ()),
    Case("all missing", lambda: log(samples([NAN] * 50)), aq.DataFileError, ()),
    Case(
        "probably Fahrenheit",
        lambda: log(samples([392.0 + index % 3 for index in range(720)], header="elapsed_s,part_side")),
        (aq.DataFileError, aq.RefusedError),
        ("F", "unit"),
    ),
    Case(
        "unknown unit",
        lambda: log(samples([200.0] * 20), unit="furlong"),
        aq.AfterquenchError,
        ("furlong",),
    ),
    Case(
        "unknown surroundings",
        lambda: log(samples([200.0] * 800)).soak(3.0, surroundings="lava"),
        aq.UnknownNameError,
        ("lava", "fan air"),
    ),
    Case(
        "negative thickness",
        lambda: log(samples([200.0] * 800, header="elapsed_s,air_degc")).soak(-3.0),
        aq.AfterquenchError,
        ("thickness",),
    ),
]

PLANS = [
    Case("window reversed", lambda: aq.plan(falling(), target_hrc=(60.0, 58.0)), aq.AfterquenchError, ("60",)),
    Case("window of nothing", lambda: aq.plan(falling(), target_hrc=(NAN, 60.0)), aq.AfterquenchError, ("target_hrc",)),
    Case("harder than the steel", lambda: aq.plan(falling(), target_hrc=(66.0, 68.0)), aq.NoAnswerError, ("66",)),
    Case(
        "oven too cool",
        lambda: aq.plan(falling(), target_hrc=(58.0, 60.0), oven_limit_c=120.0),
        aq.AfterquenchError,
        ("120",),
    ),
    Case("no cycle", lambda: aq.plan(falling(), target_hrc=(58.0, 60.0), cycles=0), aq.AfterquenchError, ("cycles",)),
    Case(
        "negative time",
        lambda: aq.plan(falling(), target_hrc=(58.0, 60.0), time_h=-2.0),
        aq.AfterquenchError,
        ("time_h",),
    ),
    Case(
        "negative thickness",
        lambda: aq.plan(falling(), target_hrc=(58.0, 60.0), thickness_mm=-3.0),
        aq.AfterquenchError,
        ("thickness_mm",),
    ),
    Case(
        "unknown steel", lambda: aq.plan("unobtainium", target_hrc=(58.0, 60.0)), aq.UnknownNameError, ("unobtainium",)
    ),
    Case("a number for a steel", lambda: aq.plan(52100, target_hrc=(58.0, 60.0)), aq.AfterquenchError, ()),
    Case(
        "softer than wanted",
        lambda: aq.retemper(falling(), measured_hrc=57.0, target_hrc=59.0, previous=[(265.0, 2.0)]),
        aq.NoAnswerError,
        ("57", "59"),
    ),
]

ALL = [*TEMPER, *CURVES, *STEELS, *HARDNESS, *LOGS, *PLANS]


@pytest.mark.parametrize("case", ALL, ids=[case.name for case in ALL])
def test_refusals_teach(case: Case) -> None:
    with pytest.raises(aq.AfterquenchError) as caught:
        case.call()
    error = caught.value
    kinds = case.error if isinstance(case.error, tuple) else (case.error,)
    assert isinstance(error, kinds), f"{type(error).__name__}: {error}"
    text = str(error)
    for word in case.says:
        assert word.lower() in text.lower(), f"'{word}' is not in: {text}"
    for field, value in case.fields.items():
        assert getattr(error, field) == value, field
    for field in typing.get_type_hints(type(error)):
        assert hasattr(error, field), f"{type(error).__name__} without its field {field}"
    assert len(text) > 30, text
    assert "panicked" not in text
    assert "src/" not in text


@pytest.mark.parametrize("case", ALL, ids=[case.name for case in ALL])
def test_refusals_pickle(case: Case) -> None:
    with pytest.raises(aq.AfterquenchError) as caught:
        case.call()
    again = pickle.loads(pickle.dumps(caught.value))
    assert type(again) is type(caught.value)
    assert str(again) == str(caught.value)
    assert vars(again).keys() == vars(caught.value).keys()


def test_errors_are_built_in_errors_too() -> None:
    for kind, builtin in {
        aq.OutOfRangeError: ValueError,
        aq.InvalidValueError: ValueError,
        aq.UnknownNameError: KeyError,
        aq.MissingArgumentError: TypeError,
        aq.ArgumentTypeError: TypeError,
        aq.DataFileError: ValueError,
    }.items():
        assert issubclass(kind, builtin)
        assert issubclass(kind, aq.AfterquenchError)


MISSING = [
    ("parameter", lambda: aq.temper_parameter(NAN, 2.0, c=20)),
    ("time", lambda: aq.equivalent_time(200.0, NAN, 210.0, c=20)),
    ("temperature", lambda: aq.equivalent_temperature(200.0, 2.0, NAN, c=20)),
    ("two hours", lambda: aq.two_hour_equivalent(NAN, 2.0, c=20)),
    ("conversion", lambda: aq.convert_hardness(NAN, "HRC", "HV")),
    ("curve", lambda: falling().hardness_after(NAN, 2.0)),
]


@pytest.mark.parametrize(("name", "call"), MISSING, ids=[name for name, _ in MISSING])
def test_nan_in_gives_nan(name: str, call: Callable[[], float]) -> None:
    assert math.isnan(call()), name


OUTSIDE = [
    ("conversion", lambda policy: aq.convert_hardness([15.0, 60.0], "HRC", "HV", out_of_range=policy)),
    ("carbon", lambda policy: aq.constant_from_carbon([5.0, 0.4], out_of_range=policy)),
    ("curve", lambda policy: falling().hardness_after([140.0, 200.0], 2.0, out_of_range=policy)),
]


@pytest.mark.parametrize(("name", "call"), OUTSIDE, ids=[name for name, _ in OUTSIDE])
def test_out_of_range_is_nan_only_when_asked(name: str, call: Callable[[str], Any]) -> None:
    with pytest.raises(aq.OutOfRangeError) as caught:
        call("raise")
    assert (caught.value.failed, caught.value.of) == (1, 2), name
    got = np.asarray(call("nan"))
    assert np.isnan(got[0])
    assert np.isfinite(got[1])


def test_empty_arrays_are_no_error() -> None:
    assert aq.temper_parameter(np.array([]), 2.0, c=20).shape == (0,)
    assert aq.convert_hardness(np.empty((0, 3)), "HRC", "HV").shape == (0, 3)


@pytest.mark.parametrize("kind", ["missing", "folder"])
def test_files_that_are_none(tmp_path: Path, kind: str) -> None:
    path = tmp_path if kind == "folder" else tmp_path / "no.csv"
    with pytest.raises((OSError, aq.DataFileError)) as caught:
        aq.read_log(path)
    assert path.name in str(caught.value)


@pytest.mark.parametrize("kind", ["folder", "no such folder"])
def test_a_sheet_is_written_whole_or_not_at_all(tmp_path: Path, kind: str) -> None:
    plan = aq.plan(falling(), target_hrc=(58.0, 60.0))
    place = tmp_path if kind == "folder" else tmp_path / "nowhere" / "sheet.html"
    with pytest.raises((OSError, aq.AfterquenchError)):
        plan.sheet(place)
    assert list(tmp_path.iterdir()) == []


def test_a_refused_call_leaves_its_inputs_alone() -> None:
    temperature, time = np.array([200.0, 210.0]), np.array([2.0, -2.0])
    before = temperature.copy(), time.copy()
    with pytest.raises(aq.InvalidValueError):
        aq.temper_parameter(temperature, time, c=20)
    assert (temperature == before[0]).all()
    assert (time == before[1]).all()
