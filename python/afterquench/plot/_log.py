"""An oven's record."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import AfterquenchError, NoAnswerError
from ._style import AIR, CURVE, HAZARD, STEEL, WINDOW, axes_or_new, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def log(
    oven_log: Any, ax: Axes | None = None, *, c: float | tuple[float, float] = (15.0, 20.0), soak: Any = None
) -> Axes:
    """An oven log: set point, air, the sensor beside the part, what the steel got, door openings, holes and repairs.

    Parameters
    ----------
    oven_log : OvenLog
        As of `read_log`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.
    c : float or (float, float)
        The steel's C for hours, or a range of it: for what the steel got.
    soak : Soak, optional
        As of `OvenLog.soak`: the part's own temperature is drawn, and when its hold began.

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
    for role, label, colour, width, style in (
        ("setpoint", "set point", "black", 0.9, ":"),
        ("air", "air", AIR, 1.0, "-"),
        ("part_side", "beside the part", STEEL, 1.8, "-"),
    ):
        if role in frame:
            values = np.insert(np.asarray(frame[role], float), breaks, np.nan)
            if np.isfinite(values).any():
                ax.plot(minutes, values, color=colour, linewidth=width, linestyle=style, label=label)
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
    _mark_doors(ax, oven_log)
    if soak is not None:
        _mark_soak(ax, soak)
    _mark_received(ax, oven_log, c)
    plain(ax)
    ax.set(xlabel="Elapsed time (min)", ylabel="Temperature (°C)")
    # A ground of its own: the legend's place is chosen by the lines alone, and holes are none.
    ax.legend(fontsize="small", framealpha=0.9, edgecolor="none")
    return ax


def _mark_doors(ax: Axes, oven_log: Any) -> None:
    """An arrow down at each door opening; a log without a setpoint has its level taken from what it shows."""
    air = np.asarray(oven_log.to_frame()["air"], float)
    if not np.isfinite(air).any():
        return
    doors = oven_log.behaviour(float(np.nanmax(air))).doors
    for place, door in enumerate(doors):
        ax.plot(
            [door.lowest_s / 60.0],
            [door.lowest_c],
            "v",
            color=HAZARD,
            markersize=7,
            label=f"door, air {door.drop_delta_c:.0f} °C down" if place == 0 else None,
        )


def _mark_soak(ax: Axes, soak: Any) -> None:
    part = soak.to_frame()
    ax.plot(part["elapsed_s"] / 60.0, part["part"], color=WINDOW, linewidth=1.6, label="part, from the air")
    try:
        low, high = soak.start_of_hold.interval(0.95)
    except NoAnswerError:  # a part that never gets to its hold is still worth seeing
        return
    ax.axvspan(low / 60.0, high / 60.0, color=WINDOW, alpha=0.15, linewidth=0, label="its hold begins")


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
