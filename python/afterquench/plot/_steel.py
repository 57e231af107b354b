"""What is printed of a steel, each source beside the others: hardness, impact energy, temper colours."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from .. import _native
from ..errors import RefusedError
from ._curve import hardness_along
from ._style import axes_or_new, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

# How an oxide film looks on bright steel in daylight, chosen by eye: an impression, no measurement.
_FILM = {
    "light yellow": "#f3e6a8",
    "pale yellow": "#f3e6a8",
    "pale straw": "#efdc94",
    "light straw": "#ecd68a",
    "straw": "#e2c46a",
    "dark yellow": "#d9b24f",
    "dark straw": "#cf9d3c",
    "brown": "#9c6b35",
    "brown-purple": "#86504d",
    "brown to purple": "#86504d",
    "bronze / purple edge": "#8a5a45",
    "purple": "#6d3f77",
    "dark purple": "#55336f",
    "blue": "#3a5fa8",
    "dark blue": "#27427f",
    "deep blue": "#27427f",
    "light blue": "#8fb2d6",
    "light grey": "#c3c7c9",
    "grey": "#9ba1a5",
}


def sources(steel: str | _native.Steel, ax: Axes | None = None) -> Axes:
    """Every source's tempering curve of a steel, none averaged.

    Parameters
    ----------
    steel : str or Steel
        The steel, or its name.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Temperature in °C against hardness in HRC, each curve at its own hold.

    Examples
    --------
    >>> import afterquench as aq
    >>> len(aq.plot.sources("H13").lines) > 2
    True
    """
    known = _native.steel(steel) if isinstance(steel, str) else steel
    if not known.curves:
        raise RefusedError(
            f"plot.sources is refused: no curve of {known.name} is known. Draw your own TemperingCurve",
            what="plot.sources",
            why=f"no curve of {known.name} is known",
            instead="Draw your own TemperingCurve",
        )
    ax = axes_or_new(ax, (8.0, 4.6))
    markers = "os^vDP*X<>"
    for place, curve in enumerate(known.curves):
        points = np.asarray(curve.temperature_c, float)
        line = np.linspace(points.min(), points.max(), 121)
        hardened = "" if curve.austenitize_c is None else f", from {curve.austenitize_c[0]:.0f} °C"
        doubtful = any(note.startswith("doubtful source") for note in curve.notes)
        label = f"{_both_ends(curve.sources[0])}{hardened}, {curve.time_h:g} h{', doubtful' if doubtful else ''}"
        (drawn,) = ax.plot(
            line,
            hardness_along(curve, line),
            linestyle="--" if doubtful else "-",
            linewidth=1.2,
        )
        ax.plot(
            points,
            np.asarray(curve.hrc, float),
            markers[place % len(markers)],
            color=drawn.get_color(),
            markersize=4,
            label=label,
        )
    plain(ax)
    ax.set(xlabel="Tempering temperature (°C)", ylabel="Hardness (HRC)", title=f"{known.name}: sources side by side")
    ax.legend(fontsize="x-small", frameon=False)
    return ax


def _both_ends(text: str, most: int = 54) -> str:
    """A source short enough for a legend: who it is stands at its begin, which of theirs at its end."""
    if len(text) <= most:
        return text
    begin = text[: most // 2].rsplit(" ", 1)[0]
    end = text[-(most // 2) :].split(" ", 1)[-1]
    return f"{begin} … {end}"


def toughness(series: Sequence[_native.ToughnessSeries], ax: Axes | None = None) -> Axes:
    """Impact energy against tempering temperature, of one test only.

    Parameters
    ----------
    series : sequence of ToughnessSeries
        As of `aq.toughness`; all of the same test.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Temperature in °C against energy in J; the test stands at the axis.

    Raises
    ------
    RefusedError
        Where series of two tests are given: their energies are different quantities.

    Examples
    --------
    >>> import afterquench as aq
    >>> c_notch = [s for name in ("O1", "S7") for s in aq.toughness(name) if s.test == "Charpy C-notch"]
    >>> aq.plot.toughness(c_notch).get_ylabel()
    'Impact energy, Charpy C-notch (J)'
    """
    tests = sorted({one.test for one in series})
    if len(tests) != 1:
        why = "there is no series" if not tests else f"energies of {' and '.join(tests)} are different quantities"
        raise RefusedError(
            f"plot.toughness is refused: {why}. Give series of one test",
            what="plot.toughness",
            why=why,
            instead="Give series of one test",
        )
    ax = axes_or_new(ax)
    for one in series:
        pairs = [(at, joule) for at, joule in zip(one.temperature_c, one.joule, strict=True) if at is not None]
        if pairs:
            at, joule = zip(*pairs, strict=True)
            ax.plot(at, joule, "o-", linewidth=1.2, markersize=4.5, label=f"{one.grade} ({one.source})")
    plain(ax)
    ax.set(xlabel="Tempering temperature (°C)", ylabel=f"Impact energy, {tests[0]} (J)")
    ax.legend(fontsize="small", frameon=False)
    return ax


def temper_colours(ax: Axes | None = None) -> Axes:
    """Temper colours of bright carbon steel as lists print them, with the warning that belongs to them.

    Parameters
    ----------
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure without it.

    Returns
    -------
    matplotlib.axes.Axes
        Temperature in °C, one row a list. The patches are impressions chosen by eye.

    Examples
    --------
    >>> import afterquench as aq
    >>> "time" in aq.plot.temper_colours().get_title()
    True
    """
    rows = _native.temper_colours()
    lists = list(dict.fromkeys((row["source"], row["hold"]) for row in rows))
    ax = axes_or_new(ax, (9.5, 0.55 * len(lists) + 1.9))
    for place, row in enumerate(rows):
        height = lists.index((row["source"], row["hold"]))
        # Labels of one list stand below and above in turn, so that neighbours do not run into each other.
        turn = sum((other["source"], other["hold"]) == lists[height] for other in rows[:place]) % 2
        ax.plot(
            row["temperature_c"], height, "s", markersize=15, color=_FILM[row["colour"]], markeredgecolor="#444444",
            markeredgewidth=0.6,
        )  # fmt: skip
        ax.annotate(
            row["colour"],
            (row["temperature_c"], height),
            (0, 10 if turn else -10),
            textcoords="offset points",
            ha="center",
            va="bottom" if turn else "top",
            fontsize=6,
        )
    names = [f"{textwrap.shorten(source, 44, placeholder=' …')}\n{hold}" for source, hold in lists]
    ax.set_yticks(range(len(lists)), names, fontsize=7)
    ax.set(
        ylim=(len(lists) - 0.3, -0.7), xlim=(165, 350), xlabel="Steel temperature (°C)", ylabel="List, and for how long"
    )
    ax.set_title(textwrap.fill(_native._COLOURS_DEPEND_ON, 120), fontsize=7.5, loc="center")
    plain(ax)
    return ax
