"""The acceptance rows of tests/data/job_numbers.csv, and what it means to meet one."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

import afterquench as aq

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

DATA = Path(__file__).parents[1] / "data"
ASKED: set[str] = set()


@dataclass(frozen=True)
class Acceptance:
    """One question with its answer, or (tier wrong-tool) with the answer that must not be given."""

    id: str
    tier: str
    question: str
    inputs: str
    expected: str
    tolerance: str
    must_say: str

    @property
    def value(self) -> float:
        return float(self.expected.split()[0])

    @property
    def allowed(self) -> float:
        number = float(self.tolerance.split()[0])
        return abs(self.value) * number / 100 if "%" in self.tolerance.split("(")[0] else number

    def near(self, got: float) -> None:
        """The answer, within the row's tolerance."""
        assert self.tier != "wrong-tool", self.id
        assert math.isfinite(got), f"{self.id}: {got}"
        assert abs(got - self.value) <= self.allowed + 1e-9, (
            f"{self.id}: got {got}, expected {self.value} ± {self.allowed}"
        )

    def avoided(self, got: float) -> None:
        """A finite answer that is clearly not the wrong tool's."""
        assert self.tier == "wrong-tool", self.id
        assert math.isfinite(got), f"{self.id}: {got}"
        assert abs(got - self.value) > 2 * self.allowed, f"{self.id}: got {got}, which a wrong tool gives"


def table(name: str) -> list[dict[str, str]]:
    """The rows of a file in tests/data, its comment lines left out."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def _read() -> dict[str, Acceptance]:
    return {
        row["id"]: Acceptance(
            row["id"],
            row["tier"],
            row["question"],
            row["inputs"],
            row["expected"],
            row["tolerance"],
            row["must_say_or_wrong_tool"],
        )
        for row in table("job_numbers.csv")
    }


ROWS = _read()


def answers(*ids: str) -> Callable[[Any], Any]:
    """Runs a test once for each of these rows and notes that they are asked."""
    ASKED.update(ids)
    return pytest.mark.parametrize("row", [ROWS[name] for name in ids], ids=ids)


def demo_curve(grade: str, **keywords: Any) -> aq.TemperingCurve:
    """An invented curve of tests/data/demo_curves.csv."""
    mine = [row for row in table("demo_curves.csv") if row["grade"] == grade]
    return aq.TemperingCurve(
        [float(row["temper_degc"]) for row in mine], [float(row["hrc"]) for row in mine], time_h=2.0, **keywords
    )


def said(texts: Iterable[str] | str) -> str:
    """All sentences as one text in lower case, to look for what must be said."""
    return (texts if isinstance(texts, str) else " ".join(texts)).lower()
