"""Whether the chances hold: readings, decisions and next tempers in invented shops whose truth is known.

Run by hand: ``python benches/calibration_decisions.py`` writes ``docs/calibration_decisions.md``; the tests run a few
shops of the same with a fixed seed. Every shop is INVENTED: tester, block, part and oven.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

import afterquench as aq

LOWER, UPPER = 58.0, 60.0
GUARD_BANDS = ("none", "1.64u", "2u")
T_C = np.array([150, 175, 200, 225, 250, 275, 300, 350, 400.0])
HRC = np.array([62.6, 61.6, 60.4, 59.1, 57.8, 56.6, 55.5, 53.0, 50.2])
C = 20.0


@dataclass(frozen=True)
class Judged:
    """One part: whether its truth lies inside, what was said of it."""

    inside: bool
    held: bool
    p_inside: float
    verdicts: dict[str, str]


def judged(rng: np.random.Generator) -> Judged:
    """A tester, its block and one part: readings with a common bias, shown to 0.1 HRC."""
    repeatability, bias = rng.uniform(0.15, 0.35), rng.normal(0, 0.5)
    block_u = rng.uniform(0.15, 0.25)
    block_truth = 60.2 + rng.normal(0, block_u)
    shown = np.round(block_truth + bias + rng.normal(0, repeatability, 5), 1)
    tester = aq.tester_from_block(shown, "HRC", 60.2, 2 * block_u)
    truth = rng.uniform(57.0, 61.0)
    n = int(rng.integers(3, 7))
    values = np.round(truth + bias + rng.normal(0, repeatability, n), 1)
    readings = aq.Readings(values, "HRC", thickness_mm=4, place="flat", tester=tester)
    estimate = readings.estimate()
    low, high = estimate.interval(0.95)
    decisions = {band: aq.decide(readings, LOWER, UPPER, guard_band=band) for band in GUARD_BANDS}
    return Judged(
        inside=LOWER <= truth <= UPPER,
        held=low <= truth <= high,
        p_inside=decisions["2u"].p_inside,
        verdicts={band: decision.verdict for band, decision in decisions.items()},
    )


def _table(temperature_c: float) -> float:
    from scipy.interpolate import PchipInterpolator

    return float(PchipInterpolator(T_C, HRC)(temperature_c))


def _off(rng: np.random.Generator) -> float:
    """An oven's error as plans assume it."""
    return sum(rng.uniform(-half, half) for half in (5.0, 1.5, 1.0))


def tempered_again(rng: np.random.Generator, curve: aq.TemperingCurve) -> tuple[bool, float, bool]:
    """A part of a batch of its own, tempered at 200 °C, read and tempered again: whether the 95 % range held the
    hardness it then had, the chance stated, and whether it came out inside."""
    batch, u = rng.normal(0, 0.7), 0.3
    m = C + np.log10(2.0)
    before = 200 + _off(rng) + 273.15
    measured = _table(before - 273.15) + batch + rng.normal(0, u)
    wanted = measured - rng.uniform(0.8, 1.6)
    r = aq.retemper(curve, aq.Estimate(measured, u, "HRC"), (wanted - 0.7, wanted + 0.7), previous=[(200, 2)], c=C)
    then = r.best.temperature_c + _off(rng) + 273.15
    hours = 2 + rng.uniform(-0.05, 0.05)
    after = then * (C + np.log10(10 ** (before * m / then - C) + hours)) / m - 273.15
    truth = _table(after) + batch
    low, high = r.best.hrc.interval(0.95)
    return low <= truth <= high, r.best.p_inside, wanted - 0.7 <= truth <= wanted + 0.7


def wrong_passes(parts: list[Judged], band: str) -> tuple[int, int, float]:
    """Passes under a guard band, how many of them were wrong, and how many the stated chances allow."""
    passed = [part for part in parts if part.verdicts[band] == "pass"]
    return len(passed), sum(not part.inside for part in passed), sum(1 - part.p_inside for part in passed)


def chance_error(parts: list[Judged], band: str) -> float:
    """One standard deviation of the number of wrong passes, if the stated chances hold."""
    return sum(p.p_inside * (1 - p.p_inside) for p in parts if p.verdicts[band] == "pass") ** 0.5


def page(shops: int, seed: int) -> str:
    """The tables of docs/calibration_decisions.md."""
    rng = np.random.default_rng(seed)
    parts = [judged(rng) for _ in range(shops)]
    curve = aq.TemperingCurve(T_C, HRC)
    again = [tempered_again(rng, curve) for _ in range(shops)]
    held = 100 * np.mean([part.held for part in parts])
    held_again = 100 * np.mean([row[0] for row in again])
    lines = [
        "# Do the chances hold?",
        "",
        f"{shops:,} invented shops with a known truth (`benches/calibration_decisions.py`, seed {seed}): a tester with",
        "a bias, a block with its own error, three to six readings of a part, and an oven off within the widths that",
        "plans assume. What the shops do is what the models assume; whether a real shop does is not in this table.",
        "",
        "| what | holds the truth in | wanted |",
        "|---|---|---|",
        f"| 95 % range of a hardness from readings and block | {held:.1f} % | 93 to 97 % |",
        f"| 95 % range of the hardness after a next temper | {held_again:.1f} % | 93 to 97 % |",
        "",
        "| stated chance inside 58 to 60 HRC | parts | stated, mean | were inside |",
        "|---|---|---|---|",
    ]
    chances = np.array([part.p_inside for part in parts])
    inside = np.array([part.inside for part in parts])
    edges = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)
    for low, high in pairwise(edges):
        some = (low <= chances) & ((chances < high) | (high == 1.0))
        row = f"{some.sum()} | {chances[some].mean():.2f} | {inside[some].mean():.2f}" if some.any() else "0 | |"
        lines.append(f"| {low:g} to {high:g} | {row} |")
    stated, came = np.mean([row[1] for row in again]), np.mean([row[2] for row in again])
    lines += [
        "",
        f"After a next temper the stated chance of landing inside is {stated:.3f} in the mean; {came:.3f} did.",
        "",
        "| guard band | passed | of them wrong | wrong by the stated chances |",
        "|---|---|---|---|",
    ]
    for band in GUARD_BANDS:
        passed, wrong, allowed = wrong_passes(parts, band)
        lines.append(f"| {band} | {passed} | {wrong} | {allowed:.1f} ± {chance_error(parts, band):.1f} |")
    lines += [
        "",
        "(± one standard deviation of such a count: under every guard band the wrong passes are as many as stated, or",
        "fewer, within chance.)",
    ]
    return "\n".join([*lines, ""])


def main() -> None:
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    target = Path(__file__).parents[1] / "docs" / "calibration_decisions.md"
    target.write_text(page(shops, 77), encoding="utf-8")
    print(target.read_text(encoding="utf-8"))


if __name__ == "__main__":
    main()
