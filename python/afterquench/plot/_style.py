"""What all pictures share: Axes, colours by role, a plain frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import RefusedError

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# One colour a role, the same in all pictures; chosen to stay apart in grey print and for colour-blind readers.
CURVE = "#1f4e79"
STEEL = "#b5421e"
AIR = "#8a8f98"
WINDOW = "#2e7d4f"
HAZARD = "#c98a00"


def axes_or_new(ax: Axes | None, size: tuple[float, float] = (7.0, 4.2)) -> Axes:
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


def plain(ax: Axes) -> None:
    ax.spines[["top", "right"]].set_visible(False)
    ax.grid(visible=True, linewidth=0.4, alpha=0.5)
    ax.set_axisbelow(True)
