"""Which part of an oven's record did how much, and how a controller would do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ._style import AIR, CURVE, HAZARD, STEEL, WINDOW, axes_or_new, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_COLOURS = {"heat-up": AIR, "overshoot": STEEL, "hold": CURVE, "door": HAZARD, "cool-down": WINDOW}


def contributions(history: Any, ax: Axes | None = None) -> Axes:
    """What each part of a record did, beside the time it took.

    Parameters
    ----------
    history : History
        As of `OvenLog.history`, `Soak.history` or `combine`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Bars in %: the share of the temper in full colour, the share of the time in pale.

    Examples
    --------
    >>> import afterquench as aq
    >>> aq.plot.contributions(aq.combine([(220, 2), (200, 2)], c=18)).get_xlabel()
    'Share (%)'
    """
    ax = axes_or_new(ax, (6.4, 2.8))
    parts = list(history.contributions)
    seconds = sum(part["seconds"] for part in parts) or 1.0
    place = np.arange(len(parts))
    colours = [_COLOURS.get(part["label"], CURVE) for part in parts]
    share = [100.0 * part["share"] for part in parts]
    ax.barh(place - 0.2, share, 0.38, color=colours, label="of the temper")
    ax.barh(
        place + 0.2,
        [100.0 * part["seconds"] / seconds for part in parts],
        0.38,
        color=colours,
        alpha=0.35,
        label="of the time",
    )
    for at, value in zip(place, share, strict=True):
        ax.text(value + 1.0, at - 0.2, f"{value:.1f} %", va="center", fontsize="small")
    ax.set_yticks(place, [part["label"] for part in parts])
    ax.invert_yaxis()
    plain(ax)
    ax.set(xlabel="Share (%)", ylabel="Part of the record", xlim=(0.0, 112.0))
    ax.legend(fontsize="small", frameon=False, loc="lower right")
    return ax


def controller(settings: Any, ax: Axes | None = None) -> Axes:
    """A heat-up on the oven's model with the settings of a controller.

    Parameters
    ----------
    settings : ControllerSettings
        As of `controller_settings`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Minutes against °C, with the heater's power in % pale behind it.

    Examples
    --------
    >>> import afterquench as aq
    >>> aq.plot.controller(aq.controller_settings(aq.OvenModel(400, 3600, 60), setpoint_c=220)).get_ylabel()
    'Temperature (°C)'
    """
    ax = axes_or_new(ax, (7.0, 3.8))
    seconds, celsius, power = settings.course()
    minutes = np.asarray(seconds) / 60.0
    ax.plot(minutes, celsius, color=CURVE, linewidth=1.6, label=f"{settings.rule}, {settings.anti_windup}")
    ax.fill_between(minutes, 0.0, 100.0 * np.asarray(power), color=AIR, alpha=0.3, linewidth=0, label="power (%)")
    over = settings.tried["overshoot_delta_c"]
    without = settings.tried["overshoot_without_anti_windup_delta_c"]
    plain(ax)
    ax.set(
        xlabel="Time (min)",
        ylabel="Temperature (°C)",
        title=f"a model, not an oven: {over:+.1f} °C over; {without:+.1f} °C without anti-windup",
    )
    ax.title.set_fontsize("small")
    ax.legend(fontsize="small", frameon=False, loc="lower right")
    return ax
