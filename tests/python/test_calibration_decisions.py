"""A few of the invented shops of benches/calibration_decisions.py: the chances hold within their own scatter."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

import afterquench as aq

sys.path.append(str(Path(__file__).parents[2] / "benches"))

import calibration_decisions as shops


@pytest.fixture(scope="module")
def parts() -> list:  # type: ignore[type-arg]
    rng = np.random.default_rng(1)
    return [shops.judged(rng) for _ in range(600)]


def test_ranges_hold_the_truth(parts) -> None:
    # 95 %, less or more three standard errors of 600 shops.
    assert 0.92 <= np.mean([part.held for part in parts]) <= 0.98


def test_chances_are_met(parts) -> None:
    stated = np.array([part.p_inside for part in parts])
    inside = np.array([part.inside for part in parts])
    for low, high in ((0.0, 0.2), (0.2, 0.8), (0.8, 1.01)):
        some = (low <= stated) & (stated < high)
        spread = np.sqrt((stated[some] * (1 - stated[some])).sum())
        assert abs(inside[some].sum() - stated[some].sum()) <= 3 * spread + 1


@pytest.mark.parametrize("band", shops.GUARD_BANDS)
def test_no_pass_is_wrong_more_often_than_stated(parts, band) -> None:
    passed, wrong, allowed = shops.wrong_passes(parts, band)
    assert passed > 20
    assert wrong <= allowed + 3 * np.sqrt(allowed) + 1


def test_a_next_temper_lands_as_often_as_stated() -> None:
    rng = np.random.default_rng(2)
    curve = aq.TemperingCurve(shops.T_C, shops.HRC)
    rows = [shops.tempered_again(rng, curve) for _ in range(60)]
    assert np.mean([row[0] for row in rows]) >= 0.87
    stated, came = np.array([row[1] for row in rows]), np.array([row[2] for row in rows])
    assert abs(came.sum() - stated.sum()) <= 3 * np.sqrt((stated * (1 - stated)).sum()) + 1
