"""Hardness readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .. import _native
from ..errors import InvalidValueError
from ._style import AIR, STEEL, WINDOW, axes_or_new, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def readings(readings: Any, lower: float | None = None, upper: float | None = None, ax: Axes | None = None) -> Axes:
    """Hardness readings against their window, with the mean and its 95 % range.

    Parameters
    ----------
    readings : Readings or Estimate
        The readings, or the estimate made from them.
    lower, upper : float, optional
        The limits, in the unit of the readings.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Number of the reading against hardness.

    Examples
    --------
    >>> import afterquench as aq
    >>> aq.plot.readings(aq.Estimate(59.7, 0.4, "HRC"), 58, 60).get_ylabel()
    'Hardness (HRC)'
    """
    if lower is not None and upper is not None and not lower < upper:
        raise InvalidValueError(
            f"plot.readings: lower = {lower} is not below upper = {upper}. Give the lower limit first",
            model="plot.readings",
            argument="lower",
            value=lower,
            unit="",
            why=f"is not below upper = {upper}",
            failed=1,
            of=1,
            hint="Give the lower limit first",
        )
    ax = axes_or_new(ax, (6.4, 3.8))
    single = isinstance(readings, _native.Estimate)
    estimate = readings if single else readings.estimate()
    values = np.empty(0) if single else np.asarray(readings.values, float)
    scale = estimate.unit
    low95, high95 = estimate.interval(0.95)
    end = len(values) + 1.0
    if lower is not None or upper is not None:
        ax.axhspan(
            -1e4 if lower is None else lower,
            1e4 if upper is None else upper,
            color=WINDOW,
            alpha=0.15,
            linewidth=0,
            label=f"window {'' if lower is None else f'{lower:g}'} to {'' if upper is None else f'{upper:g}'} {scale}",
        )
        for limit in (lower, upper):
            if limit is not None:
                ax.axhline(limit, color=WINDOW, linewidth=1.0)
    if len(values):
        ax.plot(np.arange(1, len(values) + 1), values, "o", color=AIR, markersize=5, label="readings")
    ax.errorbar(
        [end],
        [estimate.value],
        yerr=[[estimate.value - low95], [high95 - estimate.value]],
        fmt="D",
        color=STEEL,
        capsize=4,
        label=f"{estimate.value:.1f} {scale}, 95 % [{low95:.1f} .. {high95:.1f}]",
    )
    seen = [low95, high95, *values, *(limit for limit in (lower, upper) if limit is not None)]
    margin = 0.12 * (max(seen) - min(seen)) + 0.1
    ax.set(
        ylim=(min(seen) - margin, max(seen) + margin),
        xlim=(0.4, end + 0.6),
        xlabel="Reading",
        ylabel=f"Hardness ({scale})",
    )
    ax.set_xticks([*range(1, len(values) + 1), end], [*map(str, range(1, len(values) + 1)), "estimate"])
    plain(ax)
    ax.legend(fontsize="small", frameon=False, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return ax
