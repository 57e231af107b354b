"""Expected values from outside, as data: tests/published/README.md says what a row is."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest

from published_values import EVIDENCE, FOLDER, GUARD, Row, all_rows, fault, interval_faults, judge, rows_of

if TYPE_CHECKING:
    from pathlib import Path

CHECKED = pytest.StashKey[dict[str, int]]()
COVERAGE = pytest.StashKey[dict[str, tuple[int, int]]]()

# The files a release can't do without, and the rows of evidence each must bring.
NEEDED = {
    "temper.csv": 100,
    "measured_tempers.csv": 200,
    "tool_steel_tempers.csv": 80,
    "hardness_astm_e140_1.csv": 940,
    "hardness_astm_e140_2.csv": 880,
    "hardness_iso_18265_a1.csv": 1100,
}


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.csv")), ids=lambda path: path.stem)
def test_every_row_holds(path: Path, pytestconfig: pytest.Config) -> None:
    rows = rows_of(path)
    seen = judge(rows)
    counts = pytestconfig.stash.setdefault(CHECKED, {})
    for kind, number in seen.counts.items():
        counts[kind] = counts.get(kind, 0) + number
    assert not seen.misses, f"{len(seen.misses)} of {len(rows)} rows miss:\n" + "\n".join(seen.misses[:60])
    coverage = pytestconfig.stash.setdefault(COVERAGE, {})
    coverage.update({name: (sum(inside), len(inside)) for name, inside in seen.inside.items()})
    assert interval_faults(seen) == []


@pytest.mark.parametrize(("name", "least"), NEEDED.items())
def test_there_is_enough_evidence(name: str, least: int) -> None:
    rows = rows_of(FOLDER / name)
    assert sum(row.kind in EVIDENCE for row in rows) >= least


def test_calls_are_not_checked_twice() -> None:
    calls = [(row.call, row.expected) for row in all_rows() if row.check != "inside95"]
    twice = {call for call in calls if calls.count(call) > 1} if len(calls) != len(set(calls)) else set()
    assert not twice


GOOD = Row(
    file="made.csv",
    line=2,
    call="aq.temper_parameter(200.0, 2.0, c=20.0)",
    expected="9605.43",
    rounding="0.01",
    tolerance="",
    check="",
    kind="by hand",
    origin="473.15 x 20.30103",
    note="",
)


def test_the_runner_accepts_a_good_row() -> None:
    seen = judge([GOOD])
    assert seen.misses == []
    assert seen.counts == {"by hand": 1}


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"expected": "9605.44"}, "allowed 0.005"),
        ({"expected": "nan"}, "allowed"),
        ({"expected": "raises OutOfRangeError"}, "expected OutOfRangeError"),
        ({"expected": "about 9605"}, "expected about 9605"),
        ({"call": "aq.temper_parameter(200.0, -2.0, c=20.0)"}, "InvalidValueError"),
        ({"call": "aq.no_such_call()"}, "AttributeError"),
        ({"origin": " "}, "no origin"),
        ({"kind": "looks right"}, "unknown class"),
        ({"kind": ""}, "unknown class"),
        ({"rounding": ""}, "without rounding"),
        ({"tolerance": "100", "note": ""}, "without a reason"),
        ({"check": "roughly"}, "unknown check"),
    ],
)
def test_the_runner_can_fail(change: dict[str, str], complaint: str) -> None:
    (miss,) = judge([dataclasses.replace(GOOD, **change)]).misses
    assert complaint in miss


@pytest.mark.parametrize(
    ("u", "complaint"), [(0.1, "fewer than"), (50.0, "of the stated uncertainty")], ids=["too narrow", "too wide"]
)
def test_intervals_can_fail_both_ways(u: float, complaint: str) -> None:
    row = dataclasses.replace(GOOD, call=f'aq.Estimate(60.0, {u}, "HRC")', check="inside95")
    seen = judge([dataclasses.replace(row, expected=str(60 + 0.5 * step)) for step in range(-10, 11)])
    assert seen.misses == []
    assert seen.counts.total() == sum(seen.inside[row.file])
    assert any(complaint in wrong for wrong in interval_faults(seen))


def test_a_guard_is_no_evidence() -> None:
    assert fault(dataclasses.replace(GOOD, kind=GUARD)) is None
    assert GUARD not in EVIDENCE
