"""An oven's record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import AfterquenchError
from ._style import AIR, CURVE, HAZARD, STEEL, axes_or_new, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def log(oven_log: Any, ax: Axes | None = None, *, c: float | tuple[float, float] = (15.0, 20.0)) -> Axes:
    """An oven log: air, the sensor beside the part, what the steel got, holes and repairs.

    Parameters
    ----------
    oven_log : OvenLog
        As of `read_log`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.
    c : float or (float, float)
        The steel's C for hours, or a range of it: for what the steel got.

    Returns
    -------
    matplotlib.axes.Axes
        Elapsed minutes against °C. The dashed line is the flat temperature that does the same in two hours, with its
        95 % range; holes are shaded; places of repairs are ticks at the bottom.
    """
    ax = axes_or_new(ax, (7.6, 4.2))
    frame = oven_log.to_frame()
    minutes = np.asarray(frame["elapsed_s"], float) / 60.0
    # A line through a hole would say what nobody measured: a point without a value breaks it.
    breaks = np.searchsorted(minutes, [gap.end_s / 60.0 for gap in oven_log.gaps])
    minutes = np.insert(minutes, breaks, np.nan)
    for role, label, colour, width in (
        ("air", "air", AIR, 1.0),
        ("part_side", "beside the part", STEEL, 1.8),
    ):
        if role in frame:
            values = np.insert(np.asarray(frame[role], float), breaks, np.nan)
            if np.isfinite(values).any():
                ax.plot(minutes, values, color=colour, linewidth=width, label=label)
    for place, gap in enumerate(oven_log.gaps):
        name = "hole" if place == 0 else None
        ax.axvspan(gap.start_s / 60.0, gap.end_s / 60.0, color=HAZARD, alpha=0.30, linewidth=0, label=name)
    marks = [np.mean(repair.seconds) / 60.0 for repair in oven_log.repairs if repair.seconds is not None]
    if marks:
        ax.plot(
            marks,
            np.full(len(marks), 0.02),
            "|",
            color="black",
            markersize=9,
            transform=ax.get_xaxis_transform(),
            label="repaired rows",
        )
    _mark_received(ax, oven_log, c)
    plain(ax)
    ax.set(xlabel="Elapsed time (min)", ylabel="Temperature (°C)")
    ax.legend(fontsize="small", frameon=False)
    return ax


def _mark_received(ax: Axes, oven_log: Any, c: float | tuple[float, float]) -> None:
    """The two-hour equivalent with its range; a log that can't tell it is still worth seeing."""
    try:
        got = oven_log.history(c=c).estimate
    except AfterquenchError:
        return
    low, high = got.interval(0.95)
    ax.axhspan(low, high, color=CURVE, alpha=0.15, linewidth=0)
    ax.axhline(
        got.value,
        color=CURVE,
        linewidth=1.2,
        linestyle="--",
        label=f"as {got.value:.0f} °C for two hours [{low:.0f} .. {high:.0f}]",
    )
