"""Sheets and records: a plan as one page with its picture, a whole job as JSON, HTML or PDF.

Jinja2 and Matplotlib are imported at the first call. Install them with ``pip install "afterquench[report]"``.
"""

from __future__ import annotations

import os
import tempfile
from datetime import datetime
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from . import _record
from ._answers import chance_text
from ._native import TemperingCurve, __version__
from .errors import InvalidValueError, RefusedError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from ._native import Decision, Estimate, History, OvenLog, Plan, Readings

__all__ = ["record_for_file", "write_plan_sheet", "write_record"]


def record_for_file(
    *,
    plan: Plan | None = None,
    log: OvenLog | None = None,
    history: History | None = None,
    readings: Readings | None = None,
    decision: Decision | None = None,
    title: str = "Temper record",
    notes: Sequence[str] = (),
) -> dict[str, Any]:
    """What belongs in the file about one job, as plain numbers and text.

    Parameters
    ----------
    plan : Plan, optional
        What was planned; its inputs, assumptions and cautions come along.
    log : OvenLog, optional
        The log as read, with every repair.
    history : History, optional
        What the steel got.
    readings : Readings, optional
        What was measured, with doubts and tester.
    decision : Decision, optional
        The verdict.
    title : str
        What stands at the top.
    notes : sequence of str
        Whatever else is to be kept.

    Returns
    -------
    dict
        After ``docs/record.schema.json``; numbers unrounded, what was not given is absent.

    Raises
    ------
    RefusedError
        When nothing was given to record.

    Examples
    --------
    >>> import afterquench as aq
    >>> verdict = aq.decide(aq.Estimate(59.7, 0.4, "HRC"), 58, 60)
    >>> aq.report.record_for_file(decision=verdict)["decision"]["verdict"]
    'not decided'
    """
    if all(part is None for part in (plan, log, history, readings, decision)):
        raise _refused(
            "a record of nothing", "no part of a job was given", "Give a plan, a log, readings or a decision"
        )
    return _record.data(
        plan=plan, log=log, history=history, readings=readings, decision=decision, title=title, notes=notes
    )


def write_record(path: str | os.PathLike[str], *, replace: bool = False, **parts: Any) -> Path:
    """Writes the record of a job as .json, .html or .pdf, by the path's ending; the file appears whole or not at all.

    Parameters
    ----------
    path : str or path-like
        Where to write it; an earlier record or sheet of that name is replaced.
    replace : bool
        Replace whatever file is there; without it only what this package wrote, or an empty file, is replaced.
    **parts
        As of `record_for_file`.

    Returns
    -------
    pathlib.Path
        The file written.

    Raises
    ------
    RefusedError
        For another ending, a path that can't be written, a file there that is none of ours, nothing to record, or PDF
        without Matplotlib.
    """
    target = _writable(path, "a record", (".json", ".html", ".htm", ".pdf"), replace)
    record = record_for_file(**parts)
    ending = target.suffix.lower()
    if ending == ".json":
        _replace(target, _record.as_json(record).encode())
    elif ending == ".pdf":
        try:
            page = _record.as_pdf(record)
        except ImportError as error:
            raise _missing("matplotlib") from error
        _replace(target, page)
    else:
        _replace(target, _record.as_html(record).encode())
    return target


def write_plan_sheet(
    plan: Plan, path: str | os.PathLike[str], title: str | None = None, *, replace: bool = False
) -> Path:
    """Writes a plan as one page of HTML; the file appears whole or not at all.

    Parameters
    ----------
    plan : Plan
        As of `plan` or `retemper`.
    path : str or path-like
        Where to write it, ending in .html or .htm; an earlier sheet or record of that name is replaced.
    title : str, optional
        What stands at the top.
    replace : bool
        Replace whatever file is there; without it only what this package wrote, or an empty file, is replaced.

    Returns
    -------
    pathlib.Path
        The file written.

    Raises
    ------
    RefusedError
        For another ending, a path that is a directory, a folder that is not there, a file there that is none of ours,
        or a library that is not installed.
    """
    target = _writable(path, "a sheet", (".html", ".htm"), replace)
    if plan.leave is not None:
        raise _refused("a sheet for this part", plan.leave, "Keep the reading with write_record() instead")
    if title is not None and not title.strip():
        raise InvalidValueError(
            "report: title is empty. Leave it out, or name the parts",
            model="report",
            argument="title",
            value=float("nan"),
            unit="",
            why="is empty",
            failed=1,
            of=1,
            hint="Leave it out, or name the parts",
        )
    page = _plan_page(plan, title or ("Next temper" if plan.first_step else "Tempering plan"))
    _replace(target, page.encode())
    return target


def _writable(path: str | os.PathLike[str], what: str, endings: tuple[str, ...], replace: bool) -> Path:
    """The path as one that may be written: in a folder that is there, and over nothing that is not ours."""
    example = f'Name a file, as in "job{endings[0]}"'
    try:
        target = Path(path)
        exists = target.exists()
        if "\0" in str(target):
            raise ValueError("it holds a null character")
    except (TypeError, ValueError, OSError) as error:
        raise _refused(what, f"{path!r} is no path ({error})", example) from None
    if target.is_dir():
        raise _refused(what, f"{target} is a directory", example)
    if exists and not target.is_file():
        raise _refused(what, f"{target} is a device or a pipe", example)
    if not target.parent.is_dir():
        raise _refused(what, f"there is no folder {target.parent}", "Make it first")
    if target.suffix.lower() not in endings:
        listed = " or ".join((", ".join(endings[:-1]), endings[-1]))
        raise _refused(f"{what} as {target.name!r}", "its ending names no form it is written in", f"End it in {listed}")
    if exists and not replace and not _is_ours(target):
        raise _refused(
            f"{what} over {target}",
            "the file there is no sheet or record of ours",
            "Name another file, or say replace=True",
        )
    return target


def _is_ours(target: Path) -> bool:
    """Whether a file holds nothing, or what this package wrote in that form."""
    with target.open("rb") as file:
        begin = file.read(2048)
        file.seek(max(0, target.stat().st_size - 4096))
        end = file.read()
    if not begin:
        return True
    marks = {
        ".json": (b"{", f'"schema": "{_record.SCHEMA}"'.encode()),
        ".pdf": (b"%PDF-", b"/Creator (afterquench"),
    }
    opens, mark = marks.get(target.suffix.lower(), (b"<!DOCTYPE html>", b'<meta name="generator" content="afterquench'))
    return begin.startswith(opens) and (mark in begin or mark in end)


def _replace(target: Path, content: bytes) -> None:
    """Writes beside the target and renames, so that no reader ever sees half a sheet."""
    handle, beside = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        # mkstemp makes it private; a sheet is for showing.
        os.chmod(beside, 0o644)
        os.replace(beside, target)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _refused(what: str, why: str, instead: str) -> RefusedError:
    return RefusedError(f"{what} is refused: {why}. {instead}", what=what, why=why, instead=instead)


def _missing(library: str) -> RefusedError:
    return _refused("the sheet", f"{library} is not installed", 'Install it with pip install "afterquench[report]"')


def _plan_page(plan: Plan, title: str) -> str:
    try:
        import jinja2
    except ImportError as error:
        raise _missing("jinja2") from error
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("afterquench"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["degrees"] = _degrees
    environment.filters["hours"] = _hours
    low, high = plan.target_hrc
    return environment.get_template("plan_sheet.html").render(
        plan=plan,
        best=plan.best,
        title=title,
        low=f"{low:g}",
        high=f"{high:g}",
        picture=_picture(plan),
        hazards=_hazards(plan),
        sources=plan.steel.sources if isinstance(plan.steel, TemperingCurve) else [],
        written=datetime.now().astimezone().strftime("%Y-%m-%d %H:%M %Z"),
        version=__version__,
        interval=_interval,
        window=_window,
        band=_band,
        chance=chance_text,
        signed=_signed,
        degrees=_degrees,
        hours=_hours,
    )


def _picture(plan: Plan) -> str:
    """The curve with window, valid range, hazard bands and the schedules, as SVG text without its XML prologue."""
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError as error:
        raise _missing("matplotlib") from error
    from .plot._curve import draw_curve

    figure = Figure(figsize=(6.0, 3.7), layout="constrained")
    ax = figure.add_subplot()
    draw_curve(ax, plan.steel, window_hrc=plan.target_hrc, hazards=plan.hazards, legend=False)
    best = plan.best
    # A further temper of a measured part does not lie on the curve: it starts from what is in the part already.
    if plan.first_step is None:
        for way in plan.schedules:
            low95, high95 = way.hrc.interval(0.95)
            spread = [[way.hrc.value - low95], [high95 - way.hrc.value]]
            ax.errorbar([way.temperature_c], [way.hrc.value], spread, fmt="D", color="#b5421e", capsize=3)
    if best is not None:
        label = f"{best.temperature_c:.0f} °C"
        ax.axvline(best.temperature_c, color="#b5421e", linewidth=1.0, linestyle=":", label=label)
    _legend_below(figure, ax)
    text = StringIO()
    # Paths instead of fonts would bloat the file; a fixed salt makes equal plans equal files.
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "afterquench"}):
        figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None})
    svg = text.getvalue()
    return svg[svg.index("<svg") :]


def _legend_below(figure: Figure, ax: Axes) -> None:
    """In two columns where they fit with room to spare, since a browser's letters may be wider than those measured."""
    handles, labels = ax.get_legend_handles_labels()
    for columns in (2, 1):
        legend = figure.legend(
            handles,
            # The sheet says beside the picture that these are cautions.
            [label.replace(", caution", "") for label in labels],
            loc="outside lower center",
            ncols=columns,
            fontsize="small",
            frameon=False,
            handlelength=1.4,
            handletextpad=0.6,
            columnspacing=1.0,
        )
        if legend.get_window_extent().width < 0.95 * figure.bbox.width or columns == 1:
            return
        legend.remove()


def _degrees(value: float) -> str:
    return f"{value:.0f}"


def _hours(value: float) -> str:
    """Two figures, as far as hours deserve; whole hours as they are."""
    if value >= 10:
        return f"{value:.0f}"
    return f"{value:.2g}"


def _interval(estimate: Estimate) -> str:
    low, high = estimate.interval(0.95)
    return f"{low:.1f} to {high:.1f}"


def _window(window: tuple[float, float]) -> str:
    low, high = window
    if low == float("-inf"):
        return f"up to {high:.0f} °C"
    if high == float("inf"):
        return f"{low:.0f} °C and more"
    if round(low) == round(high):
        return f"{low:.0f} °C only"
    return f"{low:.0f} to {high:.0f} °C"


def _band(estimate: Estimate, shown: Any) -> str:
    low, high = (shown(end) for end in estimate.interval(0.95))
    return low if low == high else f"{low} to {high}"


def _signed(value: float) -> str:
    text = f"{value:+.2f}"
    return "0" if float(text) == 0.0 else text


def _hazards(plan: Plan) -> list[str]:
    """The bands as sentences, as many as one page bears; those in degrees, since the others are among the cautions."""
    most = 6
    told = ("embrittlement", "brittleness", "stainless", "temper", "retained austenite")
    rows = [row for row in plan.hazards if any(word in row["hazard"] for word in told)]
    rows = [row for row in rows if (row["from_c"], row["to_c"]) != (None, None)]
    shown = [_hazard(row) for row in rows[:most]]
    return [*shown, f"and {len(rows) - most} more, in plan.hazards"] if len(rows) > most else shown


def _hazard(row: dict[str, Any]) -> str:
    low, high = row["from_c"], row["to_c"]
    if low is not None and high is not None:
        where = f"{low:.0f} °C" if low == high else f"{low:.0f} to {high:.0f} °C"
    elif low is not None:
        where = f"below {low:.0f} °C" if "minimum" in row["hazard"] else f"above {low:.0f} °C"
    else:
        where = "" if high is None else f"up to {high:.0f} °C"
    place = f", {where}" if where else ""
    return f"{row['hazard']}{place}, {row['steel_family']}: {row['rule']} ({row['source']})"
