"""Pictures: each function draws on one Axes and gives it back; nothing is shown, and no global style is touched.

Matplotlib is imported at the first call. Install it with ``pip install "afterquench[plot]"``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from . import _native
from .errors import AfterquenchError, ArgumentTypeError, InvalidValueError, RefusedError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = ["equivalence_map", "log", "readings", "tempering_curve"]

# One colour a role, the same in all pictures; chosen to stay apart in grey print and for colour-blind readers.
_CURVE = "#1f4e79"
_STEEL = "#b5421e"
_AIR = "#8a8f98"
_WINDOW = "#2e7d4f"
_HAZARD = "#c98a00"


def _axes(ax: Axes | None, size: tuple[float, float] = (7.0, 4.2)) -> Axes:
    """The Axes given, or one on a new figure."""
    if ax is not None:
        return ax
    try:
        import matplotlib.pyplot as plt
    except ImportError as error:
        raise RefusedError(
            'plot is refused: matplotlib is not installed. Install it with pip install "afterquench[plot]"',
            what="plot",
            why="matplotlib is not installed",
            instead='Install it with pip install "afterquench[plot]"',
        ) from error
    _, made = plt.subplots(figsize=size, layout="constrained")
    return made


def _plain(ax: Axes) -> None:
    ax.spines[["top", "right"]].set_visible(False)
    ax.grid(visible=True, linewidth=0.4, alpha=0.5)
    ax.set_axisbelow(True)


def _curve_of(steel: Any) -> _native.TemperingCurve:
    """A curve: itself, or the curve a steel or its name stands for."""
    if isinstance(steel, str):
        steel = _native.steel(steel)
    if isinstance(steel, _native.TemperingCurve):
        return steel
    if isinstance(steel, _native.Steel):
        return steel.curve()
    raise ArgumentTypeError(
        f"plot.tempering_curve: {type(steel).__name__} is neither a steel nor a curve. "
        "Give a name, a Steel or a TemperingCurve",
        function="plot.tempering_curve",
        argument="s",
        why=f"{type(steel).__name__} is neither a steel nor a curve",
        hint="Give a name, a Steel or a TemperingCurve",
    )


def tempering_curve(
    s: Any,
    ax: Axes | None = None,
    *,
    window_hrc: tuple[float, float] | None = None,
    hazards: Sequence[dict[str, Any]] | None = None,
) -> Axes:
    """Hardness against tempering temperature at the curve's own hold: points, curve, scatter, valid range.

    Parameters
    ----------
    s : str, Steel or TemperingCurve
        What to draw; of a steel its default curve.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.
    window_hrc : (float, float), optional
        A hardness window to mark, HRC.
    hazards : sequence of dict, optional
        Bands of temperature to mark, as of `Plan.hazards`: hazard, from_c, to_c.

    Returns
    -------
    matplotlib.axes.Axes
        Temperature in °C against hardness in HRC; the shaded band is ± two standard uncertainties of curve and batch.

    Examples
    --------
    >>> import afterquench as aq
    >>> curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5])
    >>> aq.plot.tempering_curve(curve).get_ylabel()
    'Hardness (HRC)'
    """
    curve = _curve_of(s)
    ax = _axes(ax)
    points_c = np.asarray(curve.temperature_c, float)
    low, high = points_c.min(), points_c.max()
    line_c = np.linspace(low, high, 181)
    hrc = np.asarray(curve.hardness_after(line_c, curve.time_h), float)
    estimate = curve.hardness_after_estimate(0.5 * (low + high), curve.time_h)
    band = 2.0 * float(np.hypot(estimate.components.get("curve", 0.0), estimate.components.get("batch", 0.0)))

    ax.axvspan(low, high, color=_CURVE, alpha=0.05, linewidth=0, label=f"covered: {low:.0f} to {high:.0f} °C")
    ax.fill_between(
        line_c, hrc - band, hrc + band, color=_CURVE, alpha=0.18, linewidth=0, label=f"curve and batch, ±{band:.1f} HRC"
    )
    ax.plot(line_c, hrc, color=_CURVE, linewidth=1.8, label=f"{_short(curve.name)}, {curve.time_h:g} h")
    ax.plot(points_c, np.asarray(curve.hrc, float), "o", color=_CURVE, markersize=4.5, label="points of the table")
    if window_hrc is not None:
        ax.axhspan(
            *window_hrc, color=_WINDOW, alpha=0.20, linewidth=0, label=f"{window_hrc[0]:g} to {window_hrc[1]:g} HRC"
        )
    _mark_hazards(ax, hazards or [], low, high)
    _plain(ax)
    margin = 0.04 * (high - low)
    ax.set(xlim=(low - margin, high + margin), xlabel="Tempering temperature (°C)", ylabel="Hardness (HRC)")
    ax.legend(fontsize="small", frameon=False)
    return ax


def _short(name: str) -> str:
    """The name without its source in brackets, which a legend has no room for."""
    return name.split(" (")[0] if len(name) > 40 else name


def _mark_hazards(ax: Axes, hazards: Sequence[dict[str, Any]], low: float, high: float) -> None:
    """Hatched strips along the bottom, one a hazard, so that overlapping bands stay apart."""
    told = ("embrittlement", "brittleness", "impact", "corrosion")
    bands = [band for band in hazards if any(word in band["hazard"] for word in told)]
    bands = [band for band in bands if band["from_c"] is not None and band["to_c"] is not None]
    bands = [band for band in bands if band["to_c"] > low and band["from_c"] < high]
    seen: set[str] = set()
    for place, band in enumerate(bands[:4]):
        bottom = 0.012 + 0.032 * place
        ax.axvspan(
            max(band["from_c"], low),
            min(band["to_c"], high),
            ymin=bottom,
            ymax=bottom + 0.026,
            facecolor=_HAZARD,
            alpha=0.75,
            linewidth=0,
            label=None if band["hazard"] in seen else f"{band['hazard']} (caution)",
        )
        seen.add(band["hazard"])


def equivalence_map(
    temperature_c: float,
    time_h: float,
    c: float | tuple[float, float] = (15.0, 20.0),
    ax: Axes | None = None,
) -> Axes:
    """The temperatures and times that do the same as one hold, as a band over C.

    Parameters
    ----------
    temperature_c, time_h : float
        The hold: °C and hours.
    c : float or (float, float)
        The steel's C for hours, or a range of it.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Time in hours (logarithmic) against temperature in °C; shaded is 0.5 to 8 h, what two-hour data reach.

    Examples
    --------
    >>> import afterquench as aq
    >>> aq.plot.equivalence_map(200, 2).get_xscale()
    'log'
    """
    low_c, high_c = c if isinstance(c, tuple) else (c, c)
    # Refuses impossible holds before a figure is made.
    _native.temper_parameter(temperature_c, time_h, c=low_c)
    ax = _axes(ax)
    hours = np.geomspace(min(0.25, 0.5 * time_h), max(100.0, 4.0 * time_h), 121)
    at_low = np.asarray(_native.equivalent_temperature(temperature_c, time_h, hours, c=low_c))
    at_high = np.asarray(_native.equivalent_temperature(temperature_c, time_h, hours, c=high_c))
    ax.axvspan(0.5, 8.0, color=_AIR, alpha=0.10, linewidth=0, label="0.5 to 8 h: what two-hour data reach")
    if low_c != high_c:
        ax.fill_between(
            hours, at_low, at_high, color=_STEEL, alpha=0.25, linewidth=0, label=f"C = {low_c:g} to {high_c:g}"
        )
    ax.plot(hours, at_low, color=_STEEL, linewidth=1.4, label=f"C = {low_c:g}")
    if low_c != high_c:
        ax.plot(hours, at_high, color=_STEEL, linewidth=1.4, linestyle="--", label=f"C = {high_c:g}")
    ax.plot([time_h], [temperature_c], "o", color=_CURVE, label=f"{temperature_c:g} °C, {time_h:g} h")
    ax.set_xscale("log")
    from matplotlib.ticker import FuncFormatter, LogLocator

    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    ax.xaxis.set_minor_formatter(FuncFormatter(lambda _, __: ""))
    _plain(ax)
    ax.set(xlim=(hours[0], hours[-1]), xlabel="Time at temperature (h)", ylabel="Temperature (°C)")
    ax.legend(fontsize="small", frameon=False)
    return ax


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
    ax = _axes(ax, (7.6, 4.2))
    frame = oven_log.to_frame()
    minutes = np.asarray(frame["elapsed_s"], float) / 60.0
    # A line through a hole would say what nobody measured: a point without a value breaks it.
    breaks = np.searchsorted(minutes, [gap.end_s / 60.0 for gap in oven_log.gaps])
    minutes = np.insert(minutes, breaks, np.nan)
    for role, label, colour, width in (
        ("air", "air", _AIR, 1.0),
        ("part_side", "beside the part", _STEEL, 1.8),
    ):
        if role in frame:
            values = np.insert(np.asarray(frame[role], float), breaks, np.nan)
            if np.isfinite(values).any():
                ax.plot(minutes, values, color=colour, linewidth=width, label=label)
    for place, gap in enumerate(oven_log.gaps):
        name = "hole" if place == 0 else None
        ax.axvspan(gap.start_s / 60.0, gap.end_s / 60.0, color=_HAZARD, alpha=0.30, linewidth=0, label=name)
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
    _plain(ax)
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
    ax.axhspan(low, high, color=_CURVE, alpha=0.15, linewidth=0)
    ax.axhline(
        got.value,
        color=_CURVE,
        linewidth=1.2,
        linestyle="--",
        label=f"as {got.value:.0f} °C for two hours [{low:.0f} .. {high:.0f}]",
    )


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
    ax = _axes(ax, (6.4, 3.8))
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
            color=_WINDOW,
            alpha=0.15,
            linewidth=0,
            label=f"window {'' if lower is None else f'{lower:g}'} to {'' if upper is None else f'{upper:g}'} {scale}",
        )
        for limit in (lower, upper):
            if limit is not None:
                ax.axhline(limit, color=_WINDOW, linewidth=1.0)
    if len(values):
        ax.plot(np.arange(1, len(values) + 1), values, "o", color=_AIR, markersize=5, label="readings")
    ax.errorbar(
        [end],
        [estimate.value],
        yerr=[[estimate.value - low95], [high95 - estimate.value]],
        fmt="D",
        color=_STEEL,
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
    _plain(ax)
    ax.legend(fontsize="small", frameon=False, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return ax
