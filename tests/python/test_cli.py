"""The command line: readable answers, strict JSON, one line and a status for what can't be answered."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
SHOP = ROOT / "notebooks" / "demo_shop"


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "afterquench", *arguments], capture_output=True, text=True, check=False, cwd=ROOT
    )


def strict(text: str) -> Any:
    """Reads JSON and refuses the NaN and Infinity that Python's reader lets pass."""

    def refuse(name: str) -> None:
        raise ValueError(f"{name} is not JSON")

    return json.loads(text, parse_constant=refuse)


ANSWERED = [
    ("equivalent", "250", "2", "--at", "210"),
    ("equivalent", "200", "0.5"),
    ("equivalent", "200", "2", "--in", "1", "--c", "18"),
    ("convert", "700", "HV10", "HRC"),
    ("convert", "60", "HRC", "HV", "--u", "0.4"),
    ("plan", "O1", "--hrc", "60", "62"),
    ("coupons", "tests/data/scenario_a/coupons.csv"),
    ("coupons", "tests/data/scenario_b/coupons.csv", "--steel", "O1", "--leave-out", "B11"),
    ("log", "notebooks/demo_shop/oven_log.csv", "--channels", "notebooks/demo_shop/channels.csv"),
    ("readings", "59.8", "60.1", "59.9", "--lower", "58", "--upper", "61"),
    ("readings", "59.8", "60.1", "--block", "60.2", "0.4", "--on-block", "59.6", "--on-block", "59.8"),
    ("steels",),
    ("steels", "O1"),
]

REFUSED = [
    (("equivalent", "250", "2", "--at", "-400"), "absolute zero"),
    (("equivalent", "250", "0"), "time_h"),
    (("equivalent", "nan", "2"), "not a number"),
    (("equivalent", "250"), "TIME_H"),
    (("equivalent", "250", "2", "--at", "210", "--in", "1"), "one of them"),
    (("convert", "75", "HRC", "HV"), "75"),
    (("convert", "60", "HRX", "HV"), "HRX"),
    (("plan", "5210", "--hrc", "58", "60"), "52100"),
    (("plan", "O1", "--hrc", "62", "60"), "62"),
    (("log", "no_such_file.csv"), "no_such_file.csv"),
    (("log", "README.md"), "README.md"),
    (("readings", "--lower", "58"), "VALUES"),
    (("readings", "60", "--block", "60.2", "0.4"), "--on-block"),
    (("steels", "unobtainium"), "unobtainium"),
]


@pytest.mark.parametrize("arguments", ANSWERED, ids=" ".join)
def test_answer_is_readable_and_is_json(arguments: tuple[str, ...]) -> None:
    done = run(*arguments)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()
    data = strict(run(*arguments, "--json").stdout)
    assert data["answer"] == done.stdout.splitlines()[0] or data["answer"].startswith(done.stdout.splitlines()[0])


@pytest.mark.parametrize(("arguments", "says"), REFUSED, ids=lambda value: " ".join(value) if value else "")
def test_refusal_is_one_line_and_a_status(arguments: tuple[str, ...], says: str) -> None:
    done = run(*arguments)
    assert done.returncode != 0
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert done.stderr.startswith("afterquench: ")
    assert says in done.stderr


def test_sheet_is_written(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.html"
    assert run("plan", "O1", "--hrc", "60", "62", "--sheet", str(sheet)).returncode == 0
    text = sheet.read_text(encoding="utf-8")
    assert "O1" in text
    assert "</html>" in text


def test_missing_extra_is_named() -> None:
    code = "import sys; sys.modules['click'] = None; from afterquench._cli import main; main()"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode != 0
    assert 'pip install "afterquench[cli]"' in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_long_work_shows_a_bar() -> None:
    code = (
        "import time; from afterquench._commands import _with_progress;"
        "print(_with_progress('reading the log', lambda report: report(1, 2) or time.sleep(1.5) or 7))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "7\n"
