"""Tempering curves, and what is equivalent to what."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import _native
from ..errors import AfterquenchWarning, ArgumentTypeError
from ._style import AIR, CURVE, HAZARD, STEEL, WINDOW, axes_or_new, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from numpy.typing import NDArray


def _curve_of(steel: Any) -> _native.TemperingCurve | _native.CompositionSteel:
    """A curve: itself, or the curve a steel or its name stands for."""
    if isinstance(steel, str):
        steel = _native.steel(steel)
    if isinstance(steel, _native.TemperingCurve | _native.CompositionSteel):
        return steel
    if isinstance(steel, _native.Steel):
        return steel.curve() if steel.answers_from == "table" else steel.by_composition()
    raise ArgumentTypeError(
        f"plot.tempering_curve: {type(steel).__name__} is neither a steel nor a curve. "
        "Give a name, a Steel or a TemperingCurve",
        function="plot.tempering_curve",
        argument="s",
        why=f"{type(steel).__name__} is neither a steel nor a curve",
        hint="Give a name, a Steel or a TemperingCurve",
    )


def hardness_along(curve: _native.TemperingCurve | _native.CompositionSteel, line_c: NDArray[np.float64]) -> Any:
    """Hardness along a curve to be drawn: as far as it is known, below 20 HRC too, without a warning."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", AfterquenchWarning)
        return np.asarray(curve.hardness_after(line_c, curve.time_h), float)


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
    s : str, Steel, TemperingCurve or CompositionSteel
        What to draw; of a steel its default curve, or its composition where it has none.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.
    window_hrc : (float, float), optional
        A hardness window to mark, HRC.
    hazards : sequence of dict, optional
        Bands of temperature to mark, as of `Plan.hazards`: hazard, from_c, to_c. Left out, those of the steel, where
        `s` is a steel or its name; an empty list marks none.

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
    ax = axes_or_new(ax)
    draw_curve(ax, s, window_hrc=window_hrc, hazards=hazards, legend=True)
    return ax


def draw_curve(
    ax: Axes,
    s: Any,
    *,
    window_hrc: tuple[float, float] | None,
    hazards: Sequence[dict[str, Any]] | None,
    legend: bool,
) -> None:
    """Draws a tempering curve as `tempering_curve` says; a sheet, whose legend stands elsewhere, takes none."""
    curve = _curve_of(s)
    if hazards is None and not isinstance(s, _native.TemperingCurve):
        known = _native.steel(s) if isinstance(s, str) else s
        hazards = [hazard.as_dict() for hazard in known.hazards]
    points_c = np.asarray(curve.temperature_c, float)
    low, high = curve.range_c
    drawn = _drawn(curve)
    line_c = np.linspace(low, high, 181)
    hrc = hardness_along(curve, line_c)
    band = _two_u(curve, line_c)

    ax.axvspan(low, high, color=CURVE, alpha=0.05, linewidth=0, label=f"covered: {low:.0f} to {high:.0f} °C")
    ax.fill_between(
        line_c,
        hrc - band,
        hrc + band,
        color=CURVE,
        alpha=0.18,
        linewidth=0,
        label=f"curve and batch, ±{band.mean():.1f} HRC",
    )
    ax.plot(line_c, hrc, color=CURVE, linewidth=1.8, label=f"{_short(curve.name)}, {curve.time_h:g} h")
    if points_c.size:
        ax.plot(points_c, np.asarray(curve.hrc, float), "o", color=CURVE, markersize=4.5, label=drawn)
    if window_hrc is not None:
        ax.axhspan(
            *window_hrc, color=WINDOW, alpha=0.20, linewidth=0, label=f"{window_hrc[0]:g} to {window_hrc[1]:g} HRC"
        )
    plain(ax)
    margin = 0.04 * (high - low)
    ax.set(xlim=(low - margin, high + margin), xlabel="Tempering temperature (°C)", ylabel="Hardness (HRC)")
    strips = _mark_hazards(ax, hazards or [], low, high)
    handles, labels = ax.get_legend_handles_labels()
    lowest, highest = float((hrc - band).min()), float((hrc + band).max())
    under_legend = float((hrc + band)[line_c > low + 0.4 * (high - low)].max())
    if window_hrc is not None:
        lowest, highest = min(lowest, window_hrc[0]), max(highest, window_hrc[1])
        under_legend = max(under_legend, window_hrc[1])
    _make_room(ax, (lowest, highest), strips, under_legend, 0.055 * len(labels) if legend else 0.0)
    if legend:
        ax.legend(handles, labels, loc="upper right", fontsize="small", frameon=False)


def _make_room(ax: Axes, seen: tuple[float, float], strips: float, under_legend: float, legend: float) -> None:
    """Room below the curve for the strips and right above it for the legend: neither runs over the other or the curve.

    Strips and legend are shares of the height; what makes room has no hardness to be read, and gets no ticks.
    """
    bottom, top = ax.get_ylim()
    height = max((top - bottom) / (1.0 - strips), (under_legend - bottom) / (1.0 - strips - legend))
    bottom -= strips * height
    ax.set_ylim(bottom, bottom + height)
    ax.set_yticks([tick for tick in ax.get_yticks() if seen[0] - 1.0 <= tick <= seen[1] + 1.0])


def _drawn(curve: _native.TemperingCurve | _native.CompositionSteel) -> str:
    """What the points of a curve are."""
    if isinstance(curve, _native.CompositionSteel):
        return "readings"
    return "knots fitted to measured rows" if curve.is_fitted else "points of the table"


def _two_u(curve: _native.TemperingCurve | _native.CompositionSteel, line_c: Any) -> Any:
    """Two standard uncertainties along the line: one for a table; a model knows some tempers better than others."""
    if isinstance(curve, _native.CompositionSteel):
        return 2.0 * np.asarray(curve.u_hardness_after(line_c, curve.time_h), float)
    estimate = curve.hardness_after_estimate(0.5 * (line_c[0] + line_c[-1]), curve.time_h)
    both = np.hypot(estimate.components.get("curve", 0.0), estimate.components.get("batch", 0.0))
    return np.full(line_c.shape, 2.0 * both)


def _short(name: str) -> str:
    """The name without its source in brackets, which a legend has no room for."""
    return name.split(" (")[0] if len(name) > 40 else name


# How a band of sources is told apart from the next, in colour and in grey print alike.
_HATCHES = (None, "..", "xx", "--", "||")


def _mark_hazards(ax: Axes, hazards: Sequence[dict[str, Any]], low: float, high: float) -> float:
    """Strips along the bottom, one a hazard: a source on the other, so that it is darker where more of them agree.

    Returns the share of the height they take.
    """
    told = ("embrittlement", "brittleness", "impact", "corrosion")
    bands: dict[str, list[tuple[float, float]]] = {}
    for band in hazards:
        start, end = band["from_c"], band["to_c"]
        if start is None or not any(word in band["hazard"] for word in told):
            continue
        if start == end:
            # A single temperature is the deepest point of a trough, not its edge.
            start, end = start - 25.0, start + 25.0
        end = high if end is None else end
        if end > low and start < high:
            bands.setdefault(band["hazard"], []).append((max(start, low), min(end, high)))
    for place, (name, spans) in enumerate(bands.items()):
        sources = "source" if len(spans) == 1 else "sources"
        for number, (start, end) in enumerate(spans):
            ax.axvspan(
                start,
                end,
                ymin=0.014 + 0.05 * place,
                ymax=0.014 + 0.05 * place + 0.04,
                facecolor=HAZARD,
                alpha=0.75 if len(spans) == 1 else 0.35,
                linewidth=0,
                label=f"{name}, caution ({len(spans)} {sources})" if number == 0 else None,
            )
            # Where each source's band begins and ends.
            ax.axvspan(
                start,
                end,
                ymin=0.014 + 0.05 * place,
                ymax=0.014 + 0.05 * place + 0.04,
                facecolor="none",
                edgecolor="white",
                linewidth=0.8,
                hatch="//" if "reversible" in name else _HATCHES[place % len(_HATCHES)],
            )
    return 0.014 + 0.05 * len(bands) if bands else 0.0


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
    ax = axes_or_new(ax)
    hours = np.geomspace(min(0.25, 0.5 * time_h), max(100.0, 4.0 * time_h), 121)
    at_low = np.asarray(_native.equivalent_temperature(temperature_c, time_h, hours, c=low_c))
    at_high = np.asarray(_native.equivalent_temperature(temperature_c, time_h, hours, c=high_c))
    ax.axvspan(0.5, 8.0, color=AIR, alpha=0.10, linewidth=0, label="0.5 to 8 h: what two-hour data reach")
    if low_c != high_c:
        ax.fill_between(
            hours, at_low, at_high, color=STEEL, alpha=0.25, linewidth=0, label=f"C = {low_c:g} to {high_c:g}"
        )
    ax.plot(hours, at_low, color=STEEL, linewidth=1.4, label=f"C = {low_c:g}")
    if low_c != high_c:
        ax.plot(hours, at_high, color=STEEL, linewidth=1.4, linestyle="--", label=f"C = {high_c:g}")
    ax.plot([time_h], [temperature_c], "o", color=CURVE, label=f"{temperature_c:g} °C, {time_h:g} h")
    ax.set_xscale("log")
    from matplotlib.ticker import FuncFormatter, LogLocator

    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    ax.xaxis.set_minor_formatter(FuncFormatter(lambda _, __: ""))
    plain(ax)
    ax.set(xlim=(hours[0], hours[-1]), xlabel="Time at temperature (h)", ylabel="Temperature (°C)")
    ax.legend(fontsize="small", frameon=False)
    return ax
