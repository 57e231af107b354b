"""The calibration as a page: how often the stated range held the truth, and how wide it was."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from oven_truth.ovens import KNOWLEDGE

if TYPE_CHECKING:
    from oven_truth.calibration import Answer

# An answer this many half-widths off is no near miss: the file was misread.
MISREAD = 2.0

HEAD = """# Does the oven's 95 % range hold?

{number} invented logs, of which it is known what the part got; seed {seed}. `make calibration` makes this page again.

Each log is an invented oven (heater, air, rack, walls and door in balance; on-off or proportional-integral control,
some of it winding up), a part of 2 to 8 mm in still or moving air, and a day: heated with the oven or put into the
hot one, doors opened, cooled shut, ajar or taken out. The part's true temperature is stepped every second and its
two-hour equivalent taken with the steel's true C, drawn from 15 to 20, which nobody is told. Then the sensors look at
it (late, beside the part, off by what a correction says or by a class 1 tolerance, noisy, rounded), a logger writes
it down every 1 to 60 s in one of many dialects, and none to four traps are set. The generator
(`tests/python/oven_truth`) shares no code with the reader.

Drawn as the library states its assumptions: coefficient of heat transfer over the band of the surroundings, air at
the part within ±5 °C of the air at its sensor, the probe's own difference 0.7 °C (one standard deviation; 1 °C is
stated). Drawn beside them, though nothing is stated: a probe that takes up to 0.4 of its reading from the air, a gain
error of the sensor of 0.2 %, a coefficient that rises by a fifth while the oven heats, and in one part of five a view
of the element of up to 2 %.

*Held* is the share of the answers whose 95 % range holds the truth, with the 95 % interval of that share (Wilson);
*width* is the median width of the range and *off* the median distance of the value from the truth, both in °C of the
two-hour equivalent.

| logs | answered | held | 95 % of that | width | off |
|---|---|---|---|---|---|
"""


def wilson(held: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share (Wilson 1927)."""
    z2 = 1.96**2
    middle = (held + z2 / 2) / (of + z2)
    half = np.sqrt(z2) / (of + z2) * np.sqrt(held * (of - held) / of + z2 / 4)
    return float(middle - half), float(middle + half)


def row(name: str, some: list[Answer]) -> str:
    answered = [one for one in some if not one.refusal]
    if not answered:
        return f"| {name} | 0 of {len(some)} | | | | |\n"
    held = sum(one.inside for one in answered)
    low, high = wilson(held, len(answered))
    width = np.median([one.width_c for one in answered])
    off = np.median([abs(one.value_c - one.day.truth_c) for one in answered])
    return (
        f"| {name} | {len(answered)} of {len(some)} | {100 * held / len(answered):.1f} % "
        f"| {100 * low:.1f} to {100 * high:.1f} % | {width:.1f} | {off:.1f} |\n"
    )


def misread(one: Answer) -> bool:
    half = max(one.high_c - one.value_c, one.value_c - one.low_c)
    return not one.refusal and abs(one.day.truth_c - one.value_c) > MISREAD * half


def page(answers: list[Answer], seed: int) -> str:
    """The whole page."""

    def rows(classes: dict[str, Callable[[Answer], bool]]) -> str:
        return "".join(row(name, [one for one in answers if belongs(one)]) for name, belongs in classes.items())

    text = HEAD.format(number=len(answers), seed=seed)
    text += rows({"**all**": lambda one: True})
    for knowledge in KNOWLEDGE:
        for corrected, said in ((True, "stated"), (False, "not stated")):
            some = [one for one in answers if (one.day.knowledge, one.day.corrected) == (knowledge, corrected)]
            text += row(f"{knowledge}; correction {said}", some)
    text += rows(
        {
            "truth below 300 °C": lambda one: one.day.truth_c < 300,
            "truth above 300 °C": lambda one: one.day.truth_c >= 300,
            "no trap": lambda one: not one.day.traps,
        }
    )
    traps = sorted({trap for one in answers for trap in one.day.traps})
    text += "".join(row(f"trap: {trap}", [one for one in answers if trap in one.day.traps]) for trap in traps)
    refusals = Counter(reason(one) for one in answers if one.refusal)
    text += f"\n{sum(refusals.values())} logs were refused:\n\n"
    text += "".join(f"- {count} × {why}\n" for why, count in refusals.most_common())
    wrong = [one for one in answers if misread(one)]
    text += f"\nOff by more than {MISREAD:g} half-widths, which is no near miss: {len(wrong)}"
    text += "".join(f"\n- {', '.join(one.day.traps) or 'no trap'}; {one.day.dialect}" for one in wrong)
    return text + ("\n" if wrong else ".\n")


def reason(one: Answer) -> str:
    """A refusal without its numbers."""
    told = one.refusal.replace("bytes: ", "")
    words = ["…" if any(sign.isdigit() for sign in word) else word for word in told.split()]
    return " ".join(words[:16])
