"""The steel room through Python: names, printed values, hazards, quenched hardness, citations."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

import afterquench as aq


def test_every_steel_answers_for_itself() -> None:
    steels = aq.steels()
    assert len(steels) > 60
    for steel in steels:
        assert aq.steel(steel.name) == steel
        assert all(aq.steel(name) == steel for name in steel.names)
        assert steel.composition["C"] > 0
        assert steel.sources
        assert steel.hazards
        assert "0x" not in repr(steel)
        for curve in steel.curves:
            low, high = curve.range_c
            assert low < high
            assert curve.sources
            assert curve.u_curve > 0
            assert curve.hardness_after((low + high) / 2, curve.time_h) > 0


def test_frame() -> None:
    frame = aq.steels().to_frame()
    assert {"name", "C", "Cr", "curves", "source"} <= set(frame.columns)
    assert len(frame) == len(aq.steels())
    assert len(aq.models().to_frame()) == len(aq.models())


@pytest.mark.parametrize(
    ("asked", "name"),
    [
        ("100cr6", "52100"),
        ("AISI O1", "O1"),
        ("1.7225", "4140"),
        ("C 100 S", "1095"),
        ("75Ni8", "15N20"),
        ("d-2", "D2"),
    ],
)
def test_names(asked: str, name: str) -> None:
    assert aq.steel(asked).name == name


@pytest.mark.parametrize("name", ["", "unobtainium", "5210", "AISI"])
def test_unknown_names(name: str) -> None:
    with pytest.raises(aq.UnknownNameError, match=r"steels\(\) lists all") as caught:
        aq.steel(name)
    assert caught.value.kind == "steel"


def test_close_matches() -> None:
    with pytest.raises(aq.UnknownNameError, match="did you mean") as caught:
        aq.steel("80CrV3")
    assert "80CrV2" in caught.value.close


def test_printed_values() -> None:
    """Sheets of the sources named in the data."""
    o1 = aq.steel("O1")
    np.testing.assert_allclose(o1.hardness_after([149, 204, 260, 371, 649], 2), [63, 62, 60, 53, 31])
    assert o1.hardness_after_estimate(204, 2).components["curve"] == pytest.approx(o1.curves[0].u_curve)
    assert "sources of this steel differ" in " ".join(o1.hardness_after_estimate(204, 2).assumptions)
    assert aq.steel("M2").curve("Eastern", 1204).hardness_after([538, 552, 566], 4) == pytest.approx(
        np.array([65.0, 65.0, 64.0])
    )


def test_hold_not_printed_is_wider() -> None:
    card = aq.steel("4140").curve("42CrMo4")
    assert not card.time_is_stated
    made = card.hardness_after_estimate(400, 2)
    assert made.components["hold"] > 0.2
    assert any("was not printed" in sentence for sentence in made.assumptions)


def test_without_a_curve() -> None:
    steel = aq.steel("H11")
    assert steel.curves == []
    with pytest.raises(aq.NotDeterminedError, match="TemperingCurve"):
        steel.hardness_after(200, 2)
    with pytest.raises(aq.NotDeterminedError, match="secondary hardening"):
        steel.hardness_after_estimate(200, 2)


def test_which_curve() -> None:
    with pytest.raises(aq.UnknownNameError, match="curves lists them"):
        aq.steel("M2").curve(source="nobody")
    with pytest.raises(aq.UnknownNameError):
        aq.steel("M2").curve(austenitize_c=800)
    measured = aq.steel("1045").curve("Grange")
    assert measured.c_interval is not None
    assert measured.c_interval[0] < 18.7 < measured.c_interval[1]


def test_hazards() -> None:
    """Acceptance values A39 and A40."""
    told = [str(hazard) for hazard in aq.steel("4140").hazards if hazard.touches(300)]
    assert any("tempered martensite embrittlement" in text for text in told)
    assert any("corrosion" in h.hazard for h in aq.steel("440C").hazards if h.touches(500))
    hazard = aq.steel("4140").hazards[0]
    assert pickle.loads(pickle.dumps(hazard)) == hazard


def test_pickling() -> None:
    steel = pickle.loads(pickle.dumps(aq.steel("M2")))
    assert steel == aq.steel("M2")
    assert pickle.loads(pickle.dumps(steel.curves[0])) == steel.curves[0]
    assert len(pickle.loads(pickle.dumps(aq.steels()))) == len(aq.steels())


def test_quenched_hardness() -> None:
    """Hodge and Orehoski, ASTM A255: from memory."""
    assert aq.as_quenched_hardness(0.43) == 57.0
    np.testing.assert_allclose(aq.as_quenched_hardness([0.28, 0.53], 0.5), [36.5, 48.5])
    assert aq.as_quenched_hardness(0.52, 1.0, table="astm-a255") == 60.0
    assert np.isnan(aq.as_quenched_hardness(0.95, out_of_range="nan"))
    with pytest.raises(aq.OutOfRangeError):
        aq.as_quenched_hardness(0.95)
    with pytest.raises(aq.RefusedError):
        aq.as_quenched_hardness(0.4, 0.8, table="astm-a255")
    with pytest.raises(aq.UnknownNameError):
        aq.as_quenched_hardness(0.4, table="mine")  # type: ignore[call-overload]
    assert aq.as_quenched_hardness_estimate(0.43).interval() == pytest.approx((55, 59), abs=0.05)


@pytest.mark.parametrize(
    ("source", "expected"), [("andrews-linear", 305.1), ("steven-haynes", 298.8), ("capdevila", 308.6)]
)
def test_martensite_start(source: str, expected: float) -> None:
    """Acceptance values A30 to A32: nominal 4340 worked by hand."""
    nominal = {"C": 0.40, "Mn": 0.70, "Si": 0.25, "Ni": 1.80, "Cr": 0.80, "Mo": 0.25}
    assert aq.martensite_start(nominal, source) == pytest.approx(expected, abs=0.1)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("composition", "error"),
    [
        ({"C": 0.95}, aq.OutOfRangeError),
        ({"Mn": 0.5}, aq.MissingArgumentError),
        ({"c": 0.4}, aq.UnknownNameError),
        ({"C": -0.1}, aq.InvalidValueError),
        ({"C": "much"}, aq.ArgumentTypeError),
        (0.4, aq.ArgumentTypeError),
    ],
)
def test_martensite_start_refuses(composition: object, error: type[Exception]) -> None:
    with pytest.raises(error):
        aq.martensite_start(composition)  # type: ignore[arg-type]


def test_citations() -> None:
    for record in aq.models():
        assert aq.cite(record["id"]) == record["sources"]
        assert record["sources"]
    assert any("Diamond" in source for source in aq.cite(aq.steel("O1")))
    assert aq.cite(aq.steel("O1").hardness_after_estimate(204, 2))
    with pytest.raises(aq.UnknownNameError):
        aq.cite("temper.nothing")
    with pytest.raises(aq.ArgumentTypeError):
        aq.cite(3.0)
