"""The acceptance rows as a whole: none is forgotten, none is read twice."""

from __future__ import annotations

import pytest

import test_drift
import test_faults
import test_job_numbers_coupons
import test_job_numbers_curve
import test_job_numbers_hardness
import test_job_numbers_oven
import test_job_numbers_temper
import test_survey
from acceptance import ASKED, ROWS

assert test_job_numbers_coupons
assert test_drift
assert test_faults
assert test_job_numbers_curve
assert test_job_numbers_hardness
assert test_job_numbers_oven
assert test_job_numbers_temper
assert test_survey


def test_every_row_is_asked() -> None:
    assert sorted(set(ROWS) - ASKED) == []


def test_core_rows_are_there() -> None:
    core = {name for name, row in ROWS.items() if row.tier == "core"}
    for letter, least in {
        "E": 9,
        "H": 11,
        "L": 8,
        "S": 3,
        "C": 6,
        "R": 5,
        "I": 4,
        "K": 6,
        "V": 8,
        "U": 5,
        "G": 7,
        "F": 6,
    }.items():
        assert sum(name[0] == letter for name in core) >= least, letter


@pytest.mark.parametrize("row", [row for row in ROWS.values() if row.tier == "wrong-tool"], ids=lambda row: row.id)
def test_a_wrong_tool_row_is_a_number_to_avoid(row) -> None:  # type: ignore[no-untyped-def]
    assert row.value == row.value
    assert row.allowed > 0
