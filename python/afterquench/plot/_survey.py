"""The picture of a survey: every place's mean with what it saw in time, about the set point."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import ArgumentTypeError
from ._style import AIR, CURVE, STEEL, WINDOW, axes_or_new, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .. import _native


def survey_map(survey: _native.Survey, ax: Axes | None = None, *, window_c: tuple[float, float] | None = None) -> Axes:
    """Each place of a survey, coldest first: its mean, and the range it went through in the steady time.

    Parameters
    ----------
    survey : Survey
        What `afterquench.survey` found.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.
    window_c : (float, float), optional
        A range to mark in °C, such as low_c and high_c of `Survey.needed`.

    Returns
    -------
    matplotlib.axes.Axes
        Places across, °C up; whiskers are lowest and highest sample, not an uncertainty.

    Examples
    --------
    >>> import afterquench as aq
    >>> frame = {"elapsed_s": [0, 600, 1200], "s1_degc": [199, 200, 201], "s2_degc": [203, 204, 205]}
    >>> aq.plot.survey_map(aq.survey(frame, 200, from_s=0)).get_ylabel()
    'Temperature (°C)'
    """
    places = getattr(survey, "places", None)
    if places is None or not hasattr(survey, "setpoint_c"):
        kind = type(survey).__name__
        raise ArgumentTypeError(
            f"plot.survey_map: a {kind} is no survey. Give what afterquench.survey returns",
            function="plot.survey_map",
            argument="survey",
            why=f"a {kind} is no survey",
            hint="Give what afterquench.survey returns",
        )
    ax = axes_or_new(ax)
    order = sorted(places, key=lambda place: place.mean_c)
    across = range(len(order))
    means = [place.mean_c for place in order]
    below = [place.mean_c - place.low_c for place in order]
    above = [place.high_c - place.mean_c for place in order]
    if window_c is not None:
        low, high = window_c
        ax.axhspan(low, high, color=WINDOW, alpha=0.2, linewidth=0, label=f"window: {low:.0f} to {high:.0f} °C")
    ax.axhline(survey.setpoint_c, color=AIR, linewidth=1.2, label=f"set point {survey.setpoint_c:g} °C")
    ax.axhline(survey.mean_c.value, color=CURVE, linewidth=1.0, linestyle="--", label="mean of the places")
    ax.errorbar(
        across,
        means,
        yerr=[below, above],
        fmt="o",
        color=STEEL,
        markersize=5,
        capsize=4,
        linewidth=1.2,
        label="mean, lowest and highest sample",
    )
    ax.set_xticks(list(across), [place.name for place in order])
    ax.set_xlabel("Place, coldest first")
    ax.set_ylabel("Temperature (°C)")
    ax.set_title(f"{survey.above_delta_c:+.1f} / {survey.below_delta_c:+.1f} °C about the set point", fontsize=10)
    ax.legend(fontsize=8, frameon=False)
    plain(ax)
    return ax
