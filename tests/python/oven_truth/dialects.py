"""Puts the rows of a log into one of the shapes that loggers and spreadsheets write."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from oven_truth.logger import Rows

DAY = dt.datetime(2031, 3, 18)
HEADINGS = {
    "units in names": {
        "air": "air_deg{u}",
        "part_side": "part_side_deg{u}",
        "setpoint": "setpoint_deg{u}",
        "duty": "heater_duty_pct",
    },
    "units in brackets": {
        "air": "Air [°{U}]",
        "part_side": "Part side [°{U}]",
        "setpoint": "Setpoint [°{U}]",
        "duty": "Output [%]",
    },
    "dumb": {"air": "T1 (°{U})", "part_side": "T2 (°{U})", "setpoint": "SP (°{U})", "duty": "OP (%)"},
}


def seconds(value: float) -> str:
    return f"{value:.0f}"


def minutes(value: float) -> str:
    return f"{value / 60:.4f}"


def hms(value: float) -> str:
    whole = round(value)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def stamp(start: dt.datetime, form: str) -> Callable[[float], str]:
    return lambda value: (start + dt.timedelta(seconds=round(value))).strftime(form)


def unix(start: dt.datetime) -> Callable[[float], str]:
    since = start.replace(tzinfo=dt.UTC).timestamp()
    return lambda value: f"{since + round(value):.0f}"


def write(rng: np.random.Generator, rows: Rows, traps: list[str]) -> tuple[bytes, str, dict[str, str]]:
    """The file, a name of its dialect, and which column is which where its headings are dumb."""
    start = DAY + dt.timedelta(seconds=int(rng.integers(7 * 3600, 11 * 3600)))
    if rows.midnight:
        start = DAY + dt.timedelta(seconds=int(86400 - rng.uniform(0.2, 0.8) * rows.time_s.max()))
    clocks: dict[str, tuple[str, Callable[[float], str]]] = {
        "seconds": ("elapsed_s", seconds),
        "minutes": ("elapsed_min", minutes),
        "h:mm:ss": ("Elapsed", hms),
        "ISO": ("timestamp", stamp(start, "%Y-%m-%dT%H:%M:%S")),
        "day first": ("Date/Time", stamp(start, "%d.%m.%Y %H:%M:%S")),
        "month first": ("Date/Time", stamp(start, "%m/%d/%Y %I:%M:%S %p")),
        "unix": ("unix_time", unix(start)),
        "clock": ("Time", stamp(start, "%H:%M:%S")),
    }
    if "restart" in traps:
        clock = str(rng.choice(["seconds", "minutes", "h:mm:ss"]))
    elif rows.stuck_date:
        clock = "seconds"
    elif rows.midnight:
        clock = "clock"
    else:
        clock = str(rng.choice(list(clocks)))
    heading_kind = str(rng.choice(list(HEADINGS)))
    fahrenheit = rng.random() < 0.15
    separator, comma = [(",", "."), (";", ","), (";", "."), ("\t", "."), ("\t", ",")][
        rng.choice(5, p=[0.5, 0.2, 0.1, 0.1, 0.1])
    ]

    roles = list(rows.values)
    headings = {
        role: HEADINGS[heading_kind][role].format(u="f" if fahrenheit else "c", U="F" if fahrenheit else "C")
        for role in roles
    }
    digits = 2 if rows.step_delta_c < 0.1 else 0 if rows.step_delta_c >= 1 and not fahrenheit else 1

    def number(role: str, row: int) -> str:
        word = rows.words.get((role, row))
        value = rows.values[role][row]
        if word is None:
            if role == "duty":
                return f"{value:.0f}"
            word = f"{value * 1.8 + 32 if fahrenheit else value:.{digits}f}"
        return word.replace(".", comma)

    name, clock_text = clocks[clock]
    table = [[name, *headings.values()]]
    stuck = stamp(start, "%H:%M:%S") if rows.stuck_date else None
    if stuck:
        table[0].insert(1, "clock_local")
    for row, at in enumerate(rows.time_s.tolist()):
        cells = [clock_text(at).replace(".", comma) if clock == "minutes" else clock_text(at)]
        if stuck:
            cells.append(f"{start:%Y-%m-%d}T{stuck(at)}")
        table.append(cells + [number(role, row) for role in roles])
    lines = [separator.join(cells) for cells in table]

    junk = rng.random()
    if junk < 0.15:
        lines = ["Serial No.: 004711", "Model: invented", "Operator: nobody", "", *lines]
    elif junk < 0.3:
        lines = ["# INVENTED, for tests", *lines]
    elif junk < 0.4:
        units = ["", *["" if role == "duty" else "°F" if fahrenheit else "°C" for role in roles]]
        if stuck:
            units.insert(0, "")
        lines.insert(1, separator.join(units))
    if rows.cut == "footer":
        lines += ["", *(separator.join([label, *["199" for _ in roles]]) for label in ("Max", "Min", "Average"))]
    end = str(rng.choice(["\n", "\r\n"]))
    text = end.join(lines) + end
    if rows.cut == "cut":
        text = text[: -len(end) - int(rng.integers(1, 4))]
    encoding = str(rng.choice(["utf-8", "utf-8-sig", "utf-16", "cp1252"], p=[0.7, 0.1, 0.08, 0.12]))
    channels = {role: headings[role] for role in roles} if heading_kind == "dumb" else {}
    label = f"{clock}, {heading_kind}, {'°F' if fahrenheit else '°C'}, {separator!r} {comma!r}, {encoding}"
    return text.encode(encoding), label, channels
