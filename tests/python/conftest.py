"""What all Python tests share."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Prints how many published values held, by where they come from."""
    from published_values import EVIDENCE, GUARD
    from test_published import CHECKED, COVERAGE

    counts = config.stash.get(CHECKED, {})
    if not counts:
        return
    terminalreporter.section("published values that hold")
    for kind in EVIDENCE:
        terminalreporter.write_line(f"{counts.get(kind, 0):6d}  {kind}")
    terminalreporter.write_line(f"{sum(counts.get(kind, 0) for kind in EVIDENCE):6d}  evidence in all")
    terminalreporter.write_line(f"{counts.get(GUARD, 0):6d}  {GUARD}s, which are no evidence")
    for name, (inside, of) in config.stash.get(COVERAGE, {}).items():
        terminalreporter.write_line(
            f"{inside} of {of} rows of {name} lie inside their 95 % interval ({inside / of:.1%})"
        )
