"""The fit script gives the coefficients that ship with the crate.

In two halves, because tables read by straight lines put kinks into the evidence, where a search may stop early on
another processor: from the prior means on, the search must end within two units of log evidence of the kept
hyper-parameters (on the same kind of processor it ends there exactly); and all that follows from them is closed form
and must come out to 1e-6 anywhere. In processes of their own with one BLAS thread.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "src" / "data" / "tempered_fit_2026.toml"


def run(program: str) -> str:
    """Runs Python beside the fit script and gives back what it printed."""
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT / "benches" / "prediction",
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def leaves(tree: Any, at: str = "") -> Iterator[tuple[str, Any]]:
    """Every number or text of a TOML tree with its place."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from leaves(value, f"{at}.{key}")
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield from leaves(value, f"{at}[{index}]")
    else:
        yield at, tree


@pytest.mark.timeout(600)  # seconds alone; the limit is for a machine that builds at the same time
def test_kept_hyper_parameters_give_the_shipped_coefficients(tmp_path: Path) -> None:
    made = tmp_path / "made.toml"
    run(f"import fit, pathlib; fit.coefficients(fit.kept_hyper_parameters(), pathlib.Path({str(made)!r}))")
    again = dict(leaves(tomllib.loads(made.read_text(encoding="utf-8"))))
    shipped = dict(leaves(tomllib.loads(SHIPPED.read_text(encoding="utf-8"))))
    assert again.keys() == shipped.keys()
    numbers = {place for place, value in shipped.items() if isinstance(value, float)}
    assert len(numbers) > 8000
    assert {place: again[place] for place in shipped if place not in numbers} == {
        place: value for place, value in shipped.items() if place not in numbers
    }
    far = {
        place: (again[place], shipped[place])
        for place in numbers
        if again[place] != pytest.approx(shipped[place], rel=1e-6, abs=1e-9)
    }
    assert not far


@pytest.mark.timeout(600)
def test_search_ends_at_the_kept_hyper_parameters() -> None:
    found, kept, far = map(
        float,
        run(
            "import fit, numpy as np; d = fit.load()[0]; kept = fit.kept_hyper_parameters(); found = fit.search(d);"
            "print(fit.objective(found, d)[0], fit.objective(kept, d)[0], np.abs((found - kept) / fit.PRIOR_SD).max())"
        ).split(),
    )
    assert found == pytest.approx(kept, abs=2.0)
    assert far < 1.0
