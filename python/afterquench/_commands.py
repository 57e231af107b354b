"""The commands: each one public call, its answer as a readable table, or as JSON for machines."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

import afterquench as aq

from . import report
from ._answers import chance_text, counted, estimate_text, row_count
from ._shown import NUMBER, Answer, Listing, answering, with_progress


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(aq.__version__, prog_name="afterquench")
def cli() -> None:
    """Plan a temper, read what the steel got, judge the hardness, learn from coupons.

    Every answer comes with its 95 % range and what was assumed. Hot steel, fumes and mains electricity are dangerous:
    local codes and licensed practice come first.
    """


@cli.command()
@answering
@click.argument("steel")
@click.option("--hrc", nargs=2, type=NUMBER, required=True, metavar="LOW HIGH", help="Hardness wanted.")
@click.option("--as-quenched", "as_quenched_hrc", type=NUMBER, help="Hardness before the temper, HRC.")
@click.option("--oven-limit", "oven_limit_c", type=NUMBER, help="Hottest the oven can hold, °C.")
@click.option("--thickness", "thickness_mm", type=NUMBER, help="Thickest section, mm.")
@click.option("--time", "time_h", type=NUMBER, default=2.0, show_default=True, help="Hold of each cycle, h.")
@click.option("--cycles", type=int, default=1, show_default=True, help="How many cycles.")
@click.option("--cautions", "all_cautions", is_flag=True, help="Print every caution, not only the plan's own.")
@click.option("--sheet", type=click.Path(path_type=Path), help="Also write the one-page sheet here (.html).")
@click.option("--replace", is_flag=True, help="Let the sheet replace a file that is no sheet of ours.")
def plan(
    steel: str, hrc: tuple[float, float], all_cautions: bool, sheet: Path | None, replace: bool, **options: Any
) -> Answer:
    """Set temperature and hold for a hardness window, with the chance of landing inside."""
    made = with_progress("planning", lambda _: aq.plan(steel, target_hrc=hrc, **options))
    table = Listing("temperature", "hold", "cycles", "hardness", "chance inside")
    for schedule in made.schedules:
        table.add_row(
            f"{schedule.temperature_c:.0f} °C",
            f"{schedule.time_h:g} h",
            f"{schedule.cycles}",
            estimate_text(schedule.hrc),
            chance_text(schedule.p_inside),
        )
    best = made.best
    # Only a part that was measured may need nothing done to it.
    assert best is not None
    data = {
        "steel": steel,
        "target_hrc": hrc,
        "schedules": [
            {
                "temperature_c": schedule.temperature_c,
                "time_h": schedule.time_h,
                "cycles": schedule.cycles,
                "hrc": schedule.hrc,
                "p_inside": schedule.p_inside,
                "cautions": list(schedule.cautions),
            }
            for schedule in made.schedules
        ],
        "assumptions": made.assumptions,
        "cautions": made.cautions,
    }
    notes = [*made.assumptions, *best.cautions]
    if all_cautions:
        notes += made.cautions
    else:
        notes += [*made.cautions[:1], f"{len(made.cautions) - 1} more cautions with --cautions, and on the sheet"]
    if sheet is not None:
        report.write_plan_sheet(made, sheet, replace=replace)
        data["sheet"] = str(sheet)
        notes.append(f"sheet written to {sheet}")
    headline = (
        f"{steel} for {hrc[0]:g} to {hrc[1]:g} HRC: set {best.temperature_c:.0f} °C, "
        f"{best.cycles} × {best.time_h:g} h; chance of landing inside {chance_text(best.p_inside)}"
    )
    return Answer(headline, data, table, notes)


@cli.command()
@answering
@click.argument("temperature_c", type=NUMBER)
@click.argument("time_h", type=NUMBER)
@click.option("--at", "new_temperature_c", type=NUMBER, help="How long at this temperature instead, °C.")
@click.option("--in", "new_time_h", type=NUMBER, help="How hot for this hold instead, h.")
@click.option("--c", "c", type=NUMBER, help="The steel's constant C for hours; without it 15 to 20, flat.")
def equivalent(
    temperature_c: float, time_h: float, new_temperature_c: float | None, new_time_h: float | None, c: float | None
) -> Answer:
    """Another hold that does the same as TEMPERATURE_C for TIME_H; the two-hour equivalent if neither is asked."""
    if new_temperature_c is not None and new_time_h is not None:
        raise click.UsageError("--at and --in ask two questions; give one of them.")
    hold = f"{temperature_c:g} °C for {time_h:g} h"
    if new_temperature_c is not None:
        estimate = aq.equivalent_time_estimate(temperature_c, time_h, new_temperature_c, c=c)
        headline = f"{hold} is as {new_temperature_c:g} °C for {estimate_text(estimate)}"
    else:
        new_time_h = 2.0 if new_time_h is None else new_time_h
        estimate = aq.equivalent_temperature_estimate(temperature_c, time_h, new_time_h, c=c)
        headline = f"{hold} is as {new_time_h:g} h at {estimate_text(estimate)}"
    return Answer(headline, {"estimate": estimate}, notes=estimate.assumptions)


@cli.command()
@answering
@click.argument("value", type=NUMBER)
@click.argument("from_scale")
@click.argument("to_scale")
@click.option("--table", default="astm-e140-1", show_default=True, help="Conversion table.")
@click.option("--u", "u", type=NUMBER, help="Standard uncertainty of the value, in its own scale.")
def convert(value: float, from_scale: str, to_scale: str, table: str, u: float | None) -> Answer:
    """A hardness VALUE on another scale, with the uncertainty of the conversion."""
    given = value if u is None else aq.Estimate(value, u, from_scale)
    estimate = aq.convert_hardness_estimate(given, from_scale, to_scale, table=table)
    headline = f"{value:g} {from_scale} is {estimate_text(estimate)} by {table}"
    return Answer(headline, {"estimate": estimate, "table": table}, notes=estimate.assumptions)


@cli.command()
@answering
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--unit", type=click.Choice(["C", "F", "K", "0.1C"]), help="Unit of the log, where the file has none.")
@click.option("--time-unit", type=click.Choice(["s", "min", "h", "ms"]), help="Unit of a time column without one.")
@click.option("--time", "time", metavar="COLUMN", help="Heading of the time.")
@click.option("--air", metavar="COLUMN", help="Heading of the oven's air.")
@click.option("--part-side", metavar="COLUMN", help="Heading of the sensor beside the part.")
@click.option("--timezone", help="Time zone of a local clock, such as Europe/Berlin.")
@click.option("--day-first/--month-first", default=None, help="How a date like 03/04/2026 is meant.")
@click.option("--restart", "restart_s", type=NUMBER, help="How long a logger whose clock starts again was off, s.")
@click.option("--corrections", type=click.Path(path_type=Path), help="CSV of the sensors' known corrections.")
@click.option("--loaded-at", "load_s", type=NUMBER, help="When the parts went in, s into the log.")
@click.option("--c", "c", type=NUMBER, help="The steel's constant C for hours; without it 15 to 20, flat.")
def log(
    file: Path, time: str | None, air: str | None, part_side: str | None, c: float | None, **options: Any
) -> Answer:
    """What the steel got from an oven log FILE, as the same flat temperature for two hours."""
    named = {role: heading for role, heading in (("time", time), ("air", air), ("part_side", part_side)) if heading}
    read = with_progress(
        "reading the log", lambda report: aq.read_log(file, channels=named or None, progress=report, **options)
    )
    estimate = with_progress("accumulating", lambda _: read.history(c=c)).estimate
    table = Listing("repaired", "rows", "seconds", "why")
    for repair in read.repairs:
        rows = row_count(read, repair)
        shown = "" if rows is None else "all" if rows == len(read.elapsed_s) else f"{rows}"
        table.add_row(repair.kind, shown, _seconds(repair.seconds), repair.why)
    data = {
        "two_hour_equivalent": estimate,
        "channels": read.channels,
        "repairs": [
            {"kind": repair.kind, "rows": repair.rows, "seconds": repair.seconds, "why": repair.why}
            for repair in read.repairs
        ],
        "gaps": [{"start_s": gap.start_s, "end_s": gap.end_s, "channel": gap.channel} for gap in read.gaps],
    }
    headline = f"{file.name}: the steel got the same as two hours at {estimate_text(estimate)}"
    return Answer(headline, data, table if read.repairs else None, estimate.assumptions)


def _seconds(span: tuple[float, float] | None) -> str:
    if span is None:
        return ""
    first, last = span
    return f"{first:g}" if first == last else f"{first:g} .. {last:g}"


@cli.command()
@answering
@click.argument("values", type=NUMBER, nargs=-1, required=True)
@click.option("--scale", default="HRC", show_default=True, help="Scale the tester shows.")
@click.option("--lower", type=NUMBER, help="Lower limit of the drawing, HRC.")
@click.option("--upper", type=NUMBER, help="Upper limit of the drawing, HRC.")
@click.option("--thickness", "thickness_mm", type=NUMBER, help="Thickness under the indenter, mm.")
@click.option("--diameter", "diameter_mm", type=NUMBER, help="Diameter of a round, mm.")
@click.option("--edge-distance", "edge_distance_mm", type=NUMBER, help="Distance to the nearest edge, mm.")
@click.option("--place", help="Where it was read: flat, round, edge, bevel, scale on.")
@click.option("--block", nargs=2, type=NUMBER, metavar="VALUE U", help="Reference block and its expanded U (k = 2).")
@click.option("--on-block", "on_block", type=NUMBER, multiple=True, help="A reading on that block; repeat it.")
@click.option("--guard-band", default="2u", show_default=True, help='"2u", "1.64u", "none" or a number.')
def readings(
    values: tuple[float, ...],
    scale: str,
    lower: float | None,
    upper: float | None,
    block: tuple[float, float] | None,
    on_block: tuple[float, ...],
    guard_band: str,
    **where: Any,
) -> Answer:
    """Hardness from readings VALUES, corrected by a block, and pass, fail or not decided against limits."""
    given = aq.Readings(list(values), scale, tester=_tester(block, on_block, scale), **where)
    table = Listing("reading", "rule", "whose", "instead")
    for doubt in given.doubts:
        table.add_row(str(doubt.reading), doubt.rule, doubt.whose, doubt.instead)
    estimate = given.estimate()
    data: dict[str, Any] = {
        "estimate": estimate,
        "doubts": [
            {"reading": doubt.reading, "rule": doubt.rule, "whose": doubt.whose, "instead": doubt.instead}
            for doubt in given.doubts
        ],
    }
    headline = f"{counted(len(values), 'reading')}: {estimate_text(estimate)}"
    notes = list(estimate.assumptions)
    if lower is not None or upper is not None:
        decision = aq.decide(given, lower=lower, upper=upper, guard_band=_guard_band(guard_band))
        headline = f"{decision.verdict}: {headline}; chance of being inside {chance_text(decision.p_inside)}"
        notes.insert(0, decision.why)
        data["decision"] = {
            name: getattr(decision, name)
            for name in ("verdict", "p_inside", "guard_band", "accept_lower", "accept_upper", "why")
        }
    return Answer(headline, data, table if given.doubts else None, notes)


def _tester(block: tuple[float, float] | None, on_block: tuple[float, ...], scale: str) -> aq.Tester | None:
    if (block is None) != (not on_block):
        raise click.UsageError("--block and --on-block belong together: the block's value and what was read on it.")
    return None if block is None else aq.tester_from_block(list(on_block), scale, *block)


def _guard_band(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text


@cli.command()
@answering
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--steel", help="Base curve: a steel by its name; coupons then fix an offset from it.")
@click.option("--leave-out", "leave_out", multiple=True, metavar="COUPON", help="A coupon not to use; repeat it.")
@click.option("--c", "c", type=NUMBER, help="What is believed of C (hours) where the coupons do not determine it.")
@click.option("--block", nargs=2, type=NUMBER, metavar="VALUE U", help="Reference block, HRC, and its U (k = 2).")
@click.option("--on-block", "on_block", type=NUMBER, multiple=True, help="A reading on that block; repeat it.")
def coupons(
    file: Path,
    steel: str | None,
    leave_out: tuple[str, ...],
    c: float | None,
    block: tuple[float, float] | None,
    on_block: tuple[float, ...],
) -> Answer:
    """Level, slope and C from a table of coupons FILE, or what is not determined and what would determine it."""
    tester = _tester(block, on_block, "HRC")
    fit = aq.fit_coupons(file, steel=steel, leave_out=list(leave_out), c=c, tester=tester)
    what = "offset from the base" if fit.is_offset else f"hardness at {fit.temperature_c:.0f} °C, {fit.time_h:g} h"
    table = Listing("what", "value", "95 %")
    for name, quantity in ((what, fit.level), ("slope", fit.slope), ("C, hours", fit.c)):
        table.add_row(name, *_quantity(quantity))
    for doubt in fit.doubts:
        table.add_row(f"doubtful: {doubt['coupon']}", f"{doubt['residual_hrc']:+.1f} HRC", doubt["why"])
    data = {
        "level": fit.level,
        "slope": _determined(fit.slope),
        "c": _determined(fit.c),
        "is_offset": fit.is_offset,
        "temperature_c": fit.temperature_c,
        "time_h": fit.time_h,
        "shape": fit.shape,
        "scatter_hrc": fit.scatter_hrc,
        "used": fit.used,
        "doubts": fit.doubts,
        "notes": fit.notes,
    }
    notes = [*fit.notes, *fit.level.assumptions]
    if isinstance(fit.c, aq.NotDetermined):
        notes.insert(0, f"C would be determined by {fit.c.would_determine}")
    doubtful = f"; doubtful: {', '.join(fit.doubtful)}" if fit.doubtful else ""
    headline = f"{file.name}: {counted(len(fit.used), 'coupon')}, {what} {estimate_text(fit.level)}{doubtful}"
    return Answer(headline, data, table, notes)


def _quantity(quantity: aq.Estimate | aq.NotDetermined) -> tuple[str, str]:
    """Value and 95 % range of a quantity, with two digits of its uncertainty."""
    if isinstance(quantity, aq.NotDetermined):
        return "not determined", quantity.why
    low, high = quantity.interval(0.95)
    digits = min(max(1 - math.floor(math.log10(0.5 * (high - low))), 0), 6) if high > low else 2
    unit = f" {quantity.unit}" if quantity.unit else ""
    return f"{quantity.value:.{digits}f}{unit}", f"{low:.{digits}f} .. {high:.{digits}f}"


def _determined(quantity: aq.Estimate | aq.NotDetermined) -> Any:
    if isinstance(quantity, aq.NotDetermined):
        names = ("why", "would_determine", "range_95")
        return {"determined": False} | {name: getattr(quantity, name) for name in names}
    return quantity


@cli.command()
@answering
@click.argument("name", required=False)
def steels(name: str | None) -> Answer:
    """The steels that are known, or what is known of one of them."""
    return _all_steels() if name is None else _one_steel(aq.steel(name))


def _all_steels() -> Answer:
    known = list(aq.steels())
    table = Listing("steel", "group", "as quenched", "curves", "answers from")
    for steel in known:
        quenched = "" if steel.as_quenched_hrc is None else f"{steel.as_quenched_hrc.value:.0f} HRC"
        table.add_row(steel.name, steel.group, quenched, f"{len(steel.curves)}", steel.answers_from)
    data = {
        "steels": [
            {
                "name": s.name,
                "names": s.names,
                "group": s.group,
                "curves": len(s.curves),
                "answers_from": s.answers_from,
            }
            for s in known
        ]
    }
    return Answer(f"{len(known)} steels", data, table)


def _one_steel(steel: aq.Steel) -> Answer:
    table = Listing("°C", "hold", "HRC", "source")
    for curve in steel.curves:
        hold = f"{curve.time_h:g} h" if curve.time_is_stated else "not stated"
        if curve.is_fitted:
            hold = f"fitted, {hold}"
        for temperature_c, hrc in zip(curve.temperature_c, curve.hrc, strict=True):
            table.add_row(f"{temperature_c:.0f}", hold, f"{hrc:.1f}", "; ".join(curve.sources))
    hazards = [str(hazard) for hazard in steel.hazards]
    remarks = [f"{'; '.join(curve.sources)}: {note}" for curve in steel.curves for note in curve.notes]
    data = {
        "name": steel.name,
        "names": steel.names,
        "composition": steel.composition,
        "sources": steel.sources,
        "hazards": [hazard.as_dict() for hazard in steel.hazards],
        "curves": [
            {
                "sources": curve.sources,
                "time_h": curve.time_h if curve.time_is_stated else None,
                "temperature_c": curve.temperature_c,
                "hrc": curve.hrc,
                "is_fitted": curve.is_fitted,
                "notes": curve.notes,
            }
            for curve in steel.curves
        ],
    }
    composition = ", ".join(f"{element} {percent:g} %" for element, percent in steel.composition.items())
    names = f" ({', '.join(steel.names[1:])})" if steel.names[1:] else ""
    return Answer(f"{steel.name}{names}: {composition}", data, table, [*remarks, *hazards])
