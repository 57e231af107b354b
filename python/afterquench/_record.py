"""The record for the file: what went in, what was mended, what the steel got, readings, decision, assumptions.

One dict, three forms: JSON after ``docs/record.schema.json``, one page of HTML, one page of PDF.
"""

from __future__ import annotations

import html
import json
import math
import platform
import textwrap
from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

from ._answers import chance_text, counted, row_count
from ._native import __version__

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ._native import Decision, Estimate, History, OvenLog, Plan, Readings, Schedule

SCHEMA = "afterquench.record/1"

# Every plan's first caution, for a record without a plan; a test keeps the two the same.
LOCAL_RULES = (
    "Local codes and licensed practice come first; this is arithmetic about hardness and no statement that a part, an "
    "oven or a way of working is safe"
)


def data(
    *,
    plan: Plan | None,
    log: OvenLog | None,
    history: History | None,
    readings: Readings | None,
    decision: Decision | None,
    title: str,
    notes: Iterable[str],
) -> dict[str, Any]:
    """Everything as plain numbers and text; what was not given is absent."""
    made: dict[str, Any] = {
        "schema": SCHEMA,
        "title": title,
        "written": datetime.now().astimezone().isoformat(timespec="seconds"),
        "versions": {"afterquench": __version__, "python": platform.python_version(), "numpy": np.__version__},
        "notes": list(notes),
    }
    assumptions: list[str] = []
    if plan is not None:
        made["plan"] = _plan(plan)
        assumptions += plan.assumptions
    if log is not None:
        made["log"] = {
            "channels": dict(log.channels),
            "repairs": [
                {
                    "kind": repair.kind,
                    "rows": [int(row) for row in repair.rows],
                    "row_count": row_count(log, repair),
                    "seconds": None if repair.seconds is None else [_number(second) for second in repair.seconds],
                    "why": repair.why,
                }
                for repair in log.repairs
            ],
        }
    if history is not None:
        contributions = _plain(history.contributions)
        made["received"] = {"two_hour_equivalent": _estimate(history.estimate), "contributions": contributions}
        assumptions += history.estimate.assumptions
    if readings is not None:
        made["readings"] = _readings(readings)
    if decision is not None:
        made["decision"] = {
            "verdict": decision.verdict,
            "p_inside": _number(decision.p_inside),
            "guard_band": _number(decision.guard_band),
            "accept_lower": _number(decision.accept_lower),
            "accept_upper": _number(decision.accept_upper),
            "why": decision.why,
            "estimate": _estimate(decision.estimate),
        }
        assumptions += decision.estimate.assumptions
    made["assumptions"] = list(dict.fromkeys(assumptions))
    made["cautions"] = list(plan.cautions) if plan is not None else [LOCAL_RULES]
    return made


def _number(value: float | None) -> float | None:
    """JSON knows neither infinity nor NaN."""
    return float(value) if value is not None and math.isfinite(value) else None


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return _number(float(value)) if isinstance(value, (float, np.floating)) else value


def _estimate(estimate: Estimate) -> dict[str, Any]:
    low, high = estimate.interval(0.95)
    return {
        "value": _number(estimate.value),
        "u": _number(estimate.u),
        "unit": estimate.unit,
        "lo95": _number(low),
        "hi95": _number(high),
        "components": {name: _number(u) for name, u in estimate.components.items()},
        "tables": list(estimate.tables),
    }


def _schedule(schedule: Schedule) -> dict[str, Any]:
    return {
        "temperature_c": schedule.temperature_c,
        "time_h": schedule.time_h,
        "cycles": schedule.cycles,
        "hrc": _estimate(schedule.hrc),
        "temperature": None if schedule.temperature_estimate is None else _estimate(schedule.temperature_estimate),
        "p_inside": schedule.p_inside,
        "p_too_soft": schedule.p_too_soft,
        "cautions": schedule.cautions,
    }


def _plan(plan: Plan) -> dict[str, Any]:
    best, low_high = plan.best, plan.target_hrc
    return {
        "curve": plan.name,
        "inputs": dict(plan.inputs),
        "target_hrc": list(low_high),
        "best": None if best is None else _schedule(best),
        "leave": plan.leave,
    }


def _readings(readings: Readings) -> dict[str, Any]:
    tester = readings.tester
    made: dict[str, Any] = {
        "values": list(readings.values),
        "scale": readings.scale,
        "status": readings.status,
        "doubts": [
            {"reading": doubt.reading, "status": doubt.status, "rule": doubt.rule, "whose": doubt.whose}
            for doubt in readings.doubts
        ],
        "tester": None if tester is None else {"block_value": tester.block_value, "bias": _estimate(tester.bias)},
    }
    if readings.status != "not a valid reading":
        made["hardness"] = _estimate(readings.estimate())
    return made


def as_json(record: dict[str, Any]) -> str:
    return json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _shown(estimate: dict[str, Any]) -> str:
    low, high = f"{estimate['lo95']:.1f}", f"{estimate['hi95']:.1f}"
    return f"{estimate['value']:.1f} {estimate['unit']} [{low} .. {high}], u = {estimate['u']:.2f}"


def _rows(count: int | None) -> str:
    return "" if count is None else f" ({counted(count, 'row')})"


def sections(record: dict[str, Any]) -> Iterator[tuple[str, list[str]]]:
    """The record as headings with lines, for people."""
    plan, log, received = record.get("plan"), record.get("log"), record.get("received")
    readings, decision = record.get("readings"), record.get("decision")
    if decision:
        yield "Decision", [decision["why"]]
    if plan:
        lines = [f"curve: {plan['curve']}", *(f"{name}: {value}" for name, value in plan["inputs"].items())]
        if best := plan["best"]:
            chance = f"chance inside {chance_text(best['p_inside'])}, too soft {chance_text(best['p_too_soft'])}"
            hold = f"{best['temperature_c']:.0f} °C for {best['cycles']} × {best['time_h']:g} h"
            lines.append(f"planned: {hold}: {_shown(best['hrc'])}; {chance}")
        yield "Inputs and plan", lines + ([plan["leave"]] if plan["leave"] else [])
    if log:
        repairs = [f"{one['kind']}{_rows(one['row_count'])}: {one['why']}" for one in log["repairs"]]
        yield "Repairs to the log", repairs or ["none"]
    if received:
        yield "What the steel got", [f"as two hours at {_shown(received['two_hour_equivalent'])}"]
    if readings:
        values = ", ".join(f"{value:g}" for value in readings["values"])
        lines = [f"{values} {readings['scale']}: {readings['status']}"]
        lines += [f"{one['reading']:g}: {one['status']}: {one['rule']} ({one['whose']})" for one in readings["doubts"]]
        if tester := readings["tester"]:
            lines.append(f"tester: bias {_shown(tester['bias'])} on a block of {tester['block_value']:g}")
        if hardness := readings.get("hardness"):
            lines.append(f"hardness: {_shown(hardness)}")
        yield "Readings", lines
    if record["notes"]:
        yield "Notes", record["notes"]
    yield "Assumptions", record["assumptions"] or ["none"]
    yield "Cautions", record["cautions"]
    versions = ", ".join(f"{name} {version}" for name, version in record["versions"].items())
    yield "Versions", [f"{versions}; written {record['written']}"]


def as_html(record: dict[str, Any]) -> str:
    body = "".join(
        f"<h2>{html.escape(heading)}</h2>\n<ul>\n"
        + "".join(f"<li>{html.escape(line)}</li>\n" for line in lines)
        + "</ul>\n"
        for heading, lines in sections(record)
    )
    title = html.escape(record["title"])
    style = (
        "body{font:9pt/1.3 sans-serif;max-width:46em;margin:1em auto}h1{font-size:14pt}"
        "h2{font-size:10pt;margin:.6em 0 .1em}ul{margin:0;padding-left:1.2em}@page{size:A4;margin:12mm}"
    )
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="generator" content="afterquench {__version__}">\n<title>{title}</title>\n'
        f"<style>{style}</style>\n</head>\n<body>\n<h1>{title}</h1>\n{body}</body>\n</html>\n"
    )


def as_pdf(record: dict[str, Any]) -> bytes:
    """One page of A4; the letters shrink until everything fits."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    width, height, margin = 8.27, 11.69, 0.6
    size = 8.0
    while True:
        across = int((width - 2 * margin) * 72 / (0.5 * size))
        lines = _wrapped(record, across)
        if len(lines) * size * 1.25 <= (height - 2 * margin) * 72 or size < 3:
            break
        size -= 0.25
    figure = Figure(figsize=(width, height))
    for index, (line, weight) in enumerate(lines):
        y = 1 - (margin * 72 + (index + 1) * size * 1.25) / (height * 72)
        figure.text(margin / width, y, line, fontsize=size, fontweight=weight, family="DejaVu Sans", parse_math=False)
    pages = BytesIO()
    with rc_context({"pdf.fonttype": 42}):
        figure.savefig(
            pages, format="pdf", metadata={"Title": record["title"], "Creator": f"afterquench {__version__}"}
        )
    return pages.getvalue()


def _wrapped(record: dict[str, Any], across: int) -> list[tuple[str, str]]:
    made = [(record["title"], "bold")]
    for heading, lines in sections(record):
        made += [("", "normal"), (heading, "bold")]
        for line in lines:
            wrapped = textwrap.wrap(line, across, initial_indent="· ", subsequent_indent="  ")
            made += [(piece, "normal") for piece in wrapped]
    return made
