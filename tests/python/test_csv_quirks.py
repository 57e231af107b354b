"""Every row of the list of logger quirks: read as the row says, every repair named, or refused with what settles it."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

import afterquench as aq
from quirk_logs import CASES, Case

LIST = Path(__file__).parents[1] / "data" / "csv_quirks.csv"
ROWS = list(csv.DictReader(line for line in LIST.read_text(encoding="utf-8").splitlines() if not line.startswith("#")))


def test_no_row_is_left_out() -> None:
    assert len(ROWS) == 93
    assert {row["n"] for row in ROWS} == set(CASES)


def read(one: Case) -> aq.OvenLog:
    """The log, put on one time with the part side's own file where it has one."""
    log = aq.read_log(one.log, **one.hints)
    if one.beside is None:
        return log
    return aq.join_logs({"air": log, "part_side": aq.read_log(one.beside)}, **one.joined)


def check(values: object, expected: object) -> None:
    pairs = list(zip(values, expected, strict=True))  # type: ignore[call-overload]
    assert all(math.isnan(got) if want is None else got == pytest.approx(want, abs=1e-9) for got, want in pairs), pairs


@pytest.mark.parametrize(
    "one",
    [
        pytest.param(one, id=f"{row['n']} {row['quirk']} {index}")
        for row in ROWS
        for index, one in enumerate(CASES.get(row["n"], []))
    ],
)
def test_quirk(one: Case) -> None:
    if one.refused is not None:
        with pytest.raises(aq.DataFileError, match=one.refused):
            aq.read_log(one.log, **one.hints)
        return
    log = read(one)
    kinds = {repair.kind for repair in log.repairs}
    assert one.kinds <= kinds, log.repairs
    assert not one.silent & kinds, log.repairs
    assert one.says in " ".join(repair.why for repair in log.repairs)
    if one.air is not None:
        check(log.values("air"), one.air)
    if one.part:
        check(log.values("part_side"), one.part)
    elif one.part is not None:
        assert "part_side" not in log.channels
    if one.seconds is not None:
        check(log.elapsed_s, one.seconds)


@pytest.mark.parametrize("one", [one for cases in CASES.values() for one in cases])
def test_a_repair_says_where(one: Case) -> None:
    """A kind, and rows or seconds wherever single rows are meant."""
    if one.refused is not None:
        return
    log = read(one)
    of_rows = {
        "spike",
        "fault code",
        "nan",
        "duplicate",
        "repeated time",
        "out of order",
        "event",
        "stuck",
        "clock set",
    }
    for repair in log.repairs:
        assert repair.kind
        assert repair.why
        if repair.kind in of_rows:
            assert repair.rows, repair
