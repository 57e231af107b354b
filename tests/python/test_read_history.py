"""The history of a log of any size: the answer of the record that is held, in bounded memory."""

from __future__ import annotations

import gzip
import io
import subprocess
import sys
from pathlib import Path

import pytest

import afterquench as aq

DATA = Path(__file__).parents[1] / "data"


@pytest.mark.parametrize("name", ["a", "b"])
def test_scenarios(name: str) -> None:
    folder = DATA / f"scenario_{name}"
    hints = {"corrections": folder / "channels.csv"}
    held = aq.read_log(folder / "oven_log.csv", **hints).history(c=(15, 20))
    streamed = aq.read_history(folder / "oven_log.csv", (15, 20), **hints)
    assert streamed.estimate.interval() == held.estimate.interval()
    assert any("gap" in text and "read" in text for text in streamed.estimate.assumptions)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """30 MB: more than is held. Invented; a spike, a hole and a fault word in it."""
    path = tmp_path_factory.mktemp("large") / "log.csv"
    rows = [
        f"{i},{min(20 + 0.01 * i, 200) + i % 7 / 10:.1f},{min(20 + 0.009 * i, 200) + i % 5 / 10:.1f}\n"
        for i in range(1_400_000)
    ]
    rows[500_000] = "500000,200.0,812.0\n"
    rows[700_000] = "700000,OPEN,200.0\n"
    del rows[900_000:900_600]
    path.write_text("elapsed_s,air_degc,part_side_degc\n" + "".join(rows), encoding="utf-8")
    assert path.stat().st_size > 24 << 20
    return path


def test_a_large_file(large: Path) -> None:
    seen: list[tuple[int, int]] = []
    streamed = aq.read_history(large, 18, progress=lambda done, of: seen.append((done, of)))
    held = aq.read_log(large).history(18)
    assert streamed.two_hour_equivalent_c == pytest.approx(held.two_hour_equivalent_c, abs=1e-6)
    assert streamed.estimate.interval() == pytest.approx(held.estimate.interval(), abs=1e-6)
    (note,) = [text for text in streamed.estimate.assumptions if "noted while" in text]
    assert all(kind in note for kind in ("spike", "fault code", "gap"))
    assert seen
    assert all(done <= of for done, of in seen)
    air = aq.read_history(large, 18, lag_s=(200, 450))
    assert air.estimate.interval() == pytest.approx(
        aq.read_log(large).history(18, lag_s=(200, 450)).estimate.interval(), abs=1e-6
    )


def test_packed(large: Path, tmp_path: Path) -> None:
    packed = tmp_path / "log.csv.gz"
    packed.write_bytes(gzip.compress(large.read_bytes(), 1))
    assert aq.read_history(packed, 18).estimate.interval() == aq.read_history(large, 18).estimate.interval()


def test_other_sources_are_held() -> None:
    text = b"elapsed_s,part_side_degc\n" + b"".join(b"%d,%d\n" % (60 * i, min(20 + 12 * i, 200)) for i in range(135))
    want = aq.read_log(text).history(18)
    for source in (text, io.BytesIO(text)):
        assert aq.read_history(source, 18).estimate.interval() == want.estimate.interval()


def test_progress_and_refusals(large: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert aq.read_history(large, 18, progress=True).two_hour_equivalent_c > 0

    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        aq.read_history(large, 18, progress=stop)
    with pytest.raises(aq.RefusedError, match="gap"):
        aq.read_history(large, 18, gaps="refuse")
    with pytest.raises(aq.DataFileError):
        aq.read_history("no_such_file.csv", 18)


def test_memory_stays_flat(large: Path) -> None:
    """The peak over that of the import alone is far below what the columns of the record would take."""
    code = (
        "import resource, sys, afterquench as aq\n"
        "peak = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "aq.read_history\n"
        "before = peak()\n"
        "aq.read_history(sys.argv[1], 18)\n"
        "print((peak() - before) // 1024)\n"
    )
    made = subprocess.run([sys.executable, "-c", code, str(large)], capture_output=True, text=True, check=True)
    assert int(made.stdout) < 200
