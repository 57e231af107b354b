"""Reads and judges the rows of tests/published: see the README there."""

from __future__ import annotations

import csv
import math
import warnings
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

import afterquench as aq

FOLDER = Path(__file__).parents[1] / "published"
EVIDENCE = ("printed", "standard", "independent code", "by hand", "common practice, no source", "from memory")
GUARD = "regression guard"
COLUMNS = {"call", "expected", "rounding", "class", "origin", "note"}


@dataclass(frozen=True)
class Row:
    """One expected value."""

    file: str
    line: int
    call: str
    expected: str
    rounding: str
    tolerance: str
    check: str
    kind: str
    origin: str
    note: str

    @property
    def place(self) -> str:
        return f"{self.file}:{self.line}"


@dataclass
class Judgement:
    """What came of a set of rows."""

    misses: list[str] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    inside: dict[str, list[bool]] = field(default_factory=dict)
    standardised: dict[str, list[float]] = field(default_factory=dict)


def rows_of(path: Path) -> list[Row]:
    """The rows of one file, or none where its head names another reader."""
    lines = path.read_text(encoding="utf-8").splitlines()
    head = [line for line in lines if line.startswith("#")]
    numbered = [(number, line) for number, line in enumerate(lines, 1) if line and not line.startswith("#")]
    reader = csv.DictReader(line for _, line in numbered)
    names = set(reader.fieldnames or [])
    if "call" not in names:
        assert any("read by" in line for line in head), f"{path.name}: no column 'call' and no reader named in the head"
        return []
    assert names >= COLUMNS, f"{path.name}: lacks {sorted(COLUMNS - names)}"
    assert names <= COLUMNS | {"tolerance", "check"}, f"{path.name}: unknown columns in {sorted(names)}"
    records = list(reader)
    assert len(records) == len(numbered) - 1, f"{path.name}: a record spans lines, so that line numbers would lie"
    return [
        Row(
            file=path.name,
            line=number,
            call=record["call"],
            expected=record["expected"],
            rounding=record["rounding"] or "",
            tolerance=record.get("tolerance") or "",
            check=record.get("check") or "",
            kind=record["class"] or "",
            origin=record["origin"] or "",
            note=record["note"] or "",
        )
        for (number, _), record in zip(numbered[1:], records, strict=True)
    ]


def all_rows() -> list[Row]:
    return [row for path in sorted(FOLDER.glob("*.csv")) for row in rows_of(path)]


def fault(row: Row) -> str | None:
    """What makes a row unusable, before anything is computed."""
    if row.kind not in (*EVIDENCE, GUARD):
        return f"{row.place}: unknown class {row.kind!r}"
    if not row.origin.strip():
        return f"{row.place}: no origin"
    if row.tolerance and not row.note.strip():
        return f"{row.place}: a tolerance of its own without a reason in note"
    if row.check not in ("", "inside95"):
        return f"{row.place}: unknown check {row.check!r}"
    if _number(row.expected) is not None and not row.check and not (row.rounding or row.tolerance):
        return f"{row.place}: a number without rounding or tolerance"
    return None


def judge(rows: list[Row]) -> Judgement:
    """Evaluates every row and collects every miss."""
    seen = Judgement()
    for row in rows:
        reason = fault(row) or _miss(row, seen)
        if reason:
            seen.misses.append(reason)
        elif row.check != "inside95" or seen.inside[row.file][-1]:
            seen.counts[row.kind] += 1
    return seen


def _miss(row: Row, seen: Judgement) -> str | None:
    expected = _number(row.expected)
    refusal = row.expected.removeprefix("raises ") if row.expected.startswith("raises ") else None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", aq.AfterquenchWarning)
            got: Any = eval(row.call, {"aq": aq, "np": np})
    except Exception as error:
        if refusal and type(error).__name__ == refusal:
            return None
        return f"{row.place}: {row.call} raised {type(error).__name__}: {error}; expected {row.expected}"
    if refusal:
        return f"{row.place}: {row.call} gave {got!r}, expected {refusal}"
    if row.check == "inside95":
        assert expected is not None, row.place
        low, high = got.interval(0.95)
        seen.inside.setdefault(row.file, []).append(low <= expected <= high)
        seen.standardised.setdefault(row.file, []).append((expected - got.value) / got.u)
        return None
    if expected is None:
        return None if str(got) == row.expected else f"{row.place}: {row.call} gave {got}, expected {row.expected}"
    value = float(getattr(got, "value", got))
    allowed = float(row.tolerance) if row.tolerance else 0.5 * float(row.rounding)
    if abs(value - expected) <= allowed * (1 + 1e-9) + 4e-16 * abs(expected):
        return None
    return f"{row.place}: {row.call} gave {value!r}, {row.origin} has {row.expected} (allowed {allowed:g}) {row.note}"


def interval_faults(seen: Judgement) -> list[str]:
    """What is wrong with rows judged by interval: too few inside, or intervals wide enough to hold anything."""
    wrong = []
    for name, inside in seen.inside.items():
        count, of = sum(inside), len(inside)
        floor = 0.95 - 3 * math.sqrt(0.95 * 0.05 / of)
        if count < floor * of:
            wrong.append(f"{name}: {count} of {of} inside the 95 % interval, fewer than {floor:.3f}")
        spread = math.sqrt(sum(z * z for z in seen.standardised[name]) / of)
        if not 0.7 <= spread <= 1.3:
            wrong.append(f"{name}: the deviations are {spread:.2f} of the stated uncertainty, not 0.7 to 1.3")
    return wrong


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
