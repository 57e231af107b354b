"""What goes wrong between an oven and its file; each trap spoils the rows in place and is named for the table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from oven_truth.logger import Rows

WORDS = ("nan", "OPEN", "----", "Err", "", "OL", "N/C", "#N/A", "BURNOUT")
CODES = ("1372.0", "9999", "-200.0", "850.0", "3276.7", "-999", "0.0")


def spoil(rng: np.random.Generator, rows: Rows, load_s: float) -> list[str]:
    """Draws none to four traps, and sets them."""
    if rng.random() < 0.2:
        return []
    names = rng.permutation(list(TRAPS))[: 1 + rng.binomial(3, 0.4)]
    # Rows are taken away and turned round before cells are spoiled, and a counter restarts last of all.
    wanted = [name for name in TRAPS if name in names]
    if "restart" in wanted and ("midnight" in wanted or "stuck date" in wanted):
        wanted.remove("restart")
    if "stuck date" in wanted and "midnight" in wanted:
        wanted.remove("midnight")
    return [name for name in wanted if TRAPS[name](rng, rows, load_s)]


def hot_rows(rows: Rows, load_s: float) -> np.ndarray:
    """Rows in which the part is in and it is no longer cold: where a trap can hurt."""
    role = measured(rows)[-1]
    level = rows.values[role]
    hot = np.flatnonzero((rows.time_s > load_s + 60) & (level > 0.6 * rows.setpoint_c))
    return hot if hot.size > 10 else np.arange(5, rows.time_s.size - 5)


def measured(rows: Rows) -> list[str]:
    return [role for role in ("air", "part_side") if role in rows.values]


def gap(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    start = rows.time_s[rng.choice(hot_rows(rows, load_s))]
    return cut_out(rng, rows, start)


def gap_on_the_peak(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    after = np.flatnonzero(rows.time_s > load_s + 60)
    peak = rows.time_s[after[np.argmax(rows.values[measured(rows)[-1]][after])]]
    return cut_out(rng, rows, peak - rng.uniform(-60, 400))


def cut_out(rng: np.random.Generator, rows: Rows, start_s: float) -> bool:
    end_s = start_s + max(rng.uniform(120, 900), 5 * rows.period_s)
    lost = (rows.time_s > start_s) & (rows.time_s < end_s)
    if not lost.any() or lost[0] or lost[-1]:
        return False
    rows.drop(lost)
    return True


def duplicates(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    size = rows.time_s.size
    twice = rng.choice(size, min(4, size), replace=False)
    rows.take(np.sort(np.concatenate([np.arange(size), twice])))
    return True


def out_of_order(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    order = np.arange(rows.time_s.size)
    for at in rng.integers(1, order.size - 2, 3):
        order[[at, at + 1]] = order[[at + 1, at]]
    rows.take(order)
    return True


def spikes(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    for at in rng.choice(hot_rows(rows, load_s), rng.integers(1, 4)):
        role = rng.choice(measured(rows))
        up = rng.random() < 0.8
        rows.values[role][at] = round(
            rows.values[role][at] + (rng.uniform(80, 700) if up else -rng.uniform(60, 150)), 1
        )
    return True


def words(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    return drop_out(rng, rows, load_s, str(rng.choice(WORDS)))


def codes(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    return drop_out(rng, rows, load_s, str(rng.choice(CODES)))


def drop_out(rng: np.random.Generator, rows: Rows, load_s: float, word: str) -> bool:
    role = str(rng.choice(measured(rows)))
    for at in rng.choice(hot_rows(rows, load_s), rng.integers(1, 3)):
        for row in range(at, min(at + rng.integers(1, 5), rows.time_s.size)):
            rows.words[role, row] = word
    return True


def midnight(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    rows.midnight = True
    return True


def stuck_date(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    rows.midnight = rows.stuck_date = True
    return True


def cut_last_line(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    rows.cut = "cut"
    return True


def footer(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    rows.cut = "footer"
    return True


def restart(rng: np.random.Generator, rows: Rows, load_s: float) -> bool:
    """The counter begins again: the logger was off for as long as it takes to start, which nobody wrote down."""
    at = int(rng.choice(hot_rows(rows, load_s)))
    if at >= rows.time_s.size - 3:
        return False
    rows.time_s[at:] -= rows.time_s[at]
    return True


TRAPS = {
    "gap": gap,
    "gap on the peak": gap_on_the_peak,
    "out of order": out_of_order,
    "duplicates": duplicates,
    "spikes": spikes,
    "fault words": words,
    "fault codes": codes,
    "midnight": midnight,
    "stuck date": stuck_date,
    "cut last line": cut_last_line,
    "footer": footer,
    "restart": restart,
}
