"""Answers as plain data: what `--json` prints and what the tables of the command line are made from.

Numbers that do not exist become null, so that what is printed is JSON and not a dialect of it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from . import Estimate, OvenLog, Repair

_DIGITS = {"HRC": 1, "°C": 0, "K": 0}

# Repairs of every row, which the reader does not list one by one.
_WHOLE_COLUMN = ("unit", "correction")


def estimate_data(estimate: Estimate) -> dict[str, Any]:
    """An estimate with its 95 % range and what went into it."""
    low, high = estimate.interval(0.95)
    return {
        "value": estimate.value,
        "u": estimate.u,
        "unit": estimate.unit,
        "low_95": low,
        "high_95": high,
        "components": dict(estimate.components),
        "assumptions": list(estimate.assumptions),
    }


def estimate_text(estimate: Estimate) -> str:
    """Value and 95 % range, with no more digits than the job can use."""
    low, high = estimate.interval(0.95)
    if estimate.unit == "h":
        return f"{_hours(estimate.value)} h [{_hours(low)} .. {_hours(high)}]"
    digits = _digits(estimate.unit, low, high)
    unit = f" {estimate.unit}" if estimate.unit else ""
    return f"{estimate.value:.{digits}f}{unit} [{low:.{digits}f} .. {high:.{digits}f}]"


def _digits(unit: str, low: float, high: float) -> int:
    """0.1 HRC, 1 °C; for the rest one place behind the first digit of the half width."""
    if unit in _DIGITS:
        return _DIGITS[unit]
    half = 0.5 * (high - low)
    return min(max(1 - math.floor(math.log10(half)), 0), 6) if math.isfinite(half) and half > 0 else 1


def _hours(value: float) -> str:
    """Two figures, as far as hours deserve; powers of ten where nobody would count them out."""
    if value and not 1e-2 <= abs(value) < 1e5:
        return f"{value:.1e}"
    return f"{value:.0f}" if value >= 10 else f"{value:.2g}"


def chance_text(probability: float) -> str:
    """A chance in per cent; neither certainty is ever shown."""
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"


def counted(number: int, what: str) -> str:
    """A number with its noun: one reading, two readings."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def row_count(log: OvenLog, repair: Repair) -> int | None:
    """How many rows a repair touched; nothing where it is about no rows, such as a heading or a hole."""
    if repair.rows:
        return len(repair.rows)
    if repair.kind in _WHOLE_COLUMN and repair.seconds is None:
        return len(log.elapsed_s)
    if repair.kind == "empty oven" and repair.seconds is not None:
        first, load = repair.seconds
        return int(np.count_nonzero((log.elapsed_s >= first) & (log.elapsed_s < load)))
    return None


def plain(value: Any) -> Any:
    """The same in JSON's own kinds: NaN and infinity become null, arrays lists, unknown objects their text."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, np.integer):
        return int(value)
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Sequence | set | frozenset):
        return [plain(item) for item in value]
    if hasattr(value, "interval") and hasattr(value, "components"):
        return plain(estimate_data(value))
    return str(value)


def to_json(data: Mapping[str, Any]) -> str:
    """Strict JSON, readable."""
    return json.dumps(plain(data), indent=2, ensure_ascii=False, allow_nan=False)
