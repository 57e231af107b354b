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
    ("log", "notebooks/demo_shop/oven_log.csv", "--corrections", "notebooks/demo_shop/channels.csv"),
    ("equivalent", "200", "2", "--at", "20"),
    ("readings", "60"),
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
    (("coupons", "tests/data/scenario_a/coupons.csv", "--on-block", "59.6"), "--block"),
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
        "import time; from afterquench._shown import with_progress;"
        "print(with_progress('reading the log', lambda report: report(1, 2) or time.sleep(1.5) or 7))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "7\n"


# INVENTED loggers with headings that do not say enough, and what the command line offers to say it.
PLAIN = {
    "plain.csv": "time,T1,T2\n0,20,20\n10,180,170\n20,200,190\n140,200,199\n",
    "one.csv": "time,temp\n0,20\n10,180\n20,200\n140,200\n",
    "dates.csv": "time,air\n03/04/2026 10:00,200\n05/06/2026 10:10,200\n",
}


@pytest.fixture
def logger(tmp_path: Path) -> Path:
    for name, text in PLAIN.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("log", "one.csv"), "Say --time-unit s, min or h,"),
        (("log", "plain.csv"), "--air COLUMN --part-side COLUMN"),
        (("log", "dates.csv"), "--day-first or --month-first"),
        (("plan", "5210", "--hrc", "58", "60"), "afterquench steels lists all"),
        (("convert", "75", "HRC", "HV"), "measure on a scale that covers it"),
        (("plan", "H11", "--hrc", "58", "60"), "from Python"),
        (
            ("coupons", "tests/data/scenario_a/coupons.csv", "--block", "63", "0.4", *2 * ("--on-block", "63")),
            "Check the tester on a block near the coupons' hardness",
        ),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_advice_can_be_taken_here(logger: Path, arguments: tuple[str, ...], says: str) -> None:
    done = run(*(str(logger / one) if one in PLAIN else one for one in arguments))
    assert done.returncode == 1
    assert says in done.stderr
    for pythonish in (
        '="',
        "={",
        "_estimate",
        "out_of_range",
        "TemperingCurve",
        "steels()",
        "fit_coupons",
        "Estimate(",
    ):
        assert pythonish not in done.stderr


def test_plain_headings_and_clocks_can_be_named(logger: Path) -> None:
    columns = ("--time", "time", "--time-unit", "min", "--air", "T1", "--part-side", "T2")
    done = run("log", str(logger / "plain.csv"), *columns, "--json")
    assert strict(done.stdout)["channels"] == {"air": "T1", "part_side": "T2"}
    assert run("log", str(logger / "dates.csv"), "--unit", "C", "--day-first").returncode == 0


def test_a_guessed_role_is_told_with_the_option_that_changes_it(logger: Path) -> None:
    done = run("log", str(logger / "one.csv"), "--time-unit", "min")
    assert "--part-side COLUMN" in " ".join(done.stdout.split())


def test_rows_are_those_a_repair_touched() -> None:
    shop = "notebooks/demo_shop"
    shown = run("log", f"{shop}/oven_log.csv", "--corrections", f"{shop}/channels.csv").stdout
    rows = {line.split("  ")[0]: line for line in shown.splitlines()}
    # By hand from the file: 101 lines up to 1502 s, all before it set aside; a hole has no rows.
    assert rows["empty oven"].split()[2] == "100"
    assert rows["correction"].split()[1] == "all"
    assert rows["gap"].split()[1] == "4794"


def test_coupons_are_corrected_by_a_block() -> None:
    coupons = ("coupons", "tests/data/scenario_a/coupons.csv", "--json")
    plain = strict(run(*coupons).stdout)
    # INVENTED block: the tester reads 0.5 HRC too low on it, so every level rises by as much.
    block = ("--block", "58.0", "0.5", *(part for _ in range(5) for part in ("--on-block", "57.5")))
    corrected = strict(run(*coupons, *block).stdout)
    assert corrected["level"]["value"] - plain["level"]["value"] == pytest.approx(0.5, abs=0.02)
    assert any("no tester's bias" in note for note in plain["level"]["assumptions"])
    assert not any("no tester's bias" in note for note in corrected["level"]["assumptions"])


def test_no_certainty_and_no_plural_of_one() -> None:
    five = ["59.0"] * 5
    block = ("--block", "60.0", "0.2", *(part for _ in range(5) for part in ("--on-block", "60.0")))
    headline = run("readings", *five, "--lower", "50", "--upper", "65", *block).stdout.splitlines()[0]
    assert headline.endswith("chance of being inside over 99 %")
    assert run("readings", "60").stdout.startswith("1 reading:")


def test_hours_nobody_counts_are_powers_of_ten() -> None:
    assert "1.7e+11 h [" in run("equivalent", "200", "2", "--at", "20").stdout
    assert run("equivalent", "250", "2", "--at", "210").stdout.splitlines()[0].endswith("60 h [37 .. 96]")


def test_a_file_of_ones_own_is_not_replaced(tmp_path: Path) -> None:
    precious = tmp_path / "precious.csv"
    precious.write_bytes((SHOP / "oven_log.csv").read_bytes())
    plan = ("plan", "O1", "--hrc", "60", "62", "--sheet")
    done = run(*plan, str(precious))
    assert done.returncode == 1
    assert ".html or .htm" in done.stderr
    assert precious.read_bytes() == (SHOP / "oven_log.csv").read_bytes()

    page = tmp_path / "page.html"
    page.write_text("<!DOCTYPE html>\n<html><body>my own</body></html>", encoding="utf-8")
    done = run(*plan, str(page))
    assert done.returncode == 1
    assert "--replace" in done.stderr
    assert "my own" in page.read_text(encoding="utf-8")
    assert run(*plan, str(page), "--replace").returncode == 0
    assert "O1" in page.read_text(encoding="utf-8")
