//! Rows in time: midnight, daylight saving, clocks that were set, restarts, ring buffers, late rows, shared stamps.

use super::clean::{interval, median, steps};
use super::clock::DAY_S;
use super::extent::steps_extent;
use super::repair::Repair;
use super::role::Role;
use crate::error::Text;

/// A fall of the clock by more than this is midnight.
pub(super) const MIDNIGHT_FALL_S: f64 = 43_200.0;

/// Clocks are set by whole quarters of an hour, time zones too.
const QUARTER_S: f64 = 900.0;

/// Steps that are looked at for the usual one, where a clock jumps.
const BEGIN: usize = 65_536;

/// What daylight saving moves a clock by.
const SAVING_S: f64 = 3600.0;

/// Why time could not be put in order.
pub(super) struct Disorder(pub String, pub &'static str);

/// Where rows were in the file: nothing where they are all there, in its order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Rows(pub Option<Vec<usize>>);

impl Rows {
    /// The row of the file at a place.
    pub(super) fn of(&self, place: usize) -> usize {
        match &self.0 {
            Some(rows) => rows.get(place).copied().unwrap_or(place),
            None => place,
        }
    }

    /// Rows at some places; all of them for nothing.
    pub(super) fn picked(self, places: Option<&Vec<usize>>) -> Self {
        match places {
            None => self,
            Some(places) => Self(Some(places.iter().map(|&place| self.of(place)).collect())),
        }
    }
}

/// Rows in time: where they were in the file, and when.
pub(super) struct Timeline {
    pub seconds: Vec<f64>,
    pub rows: Rows,
}

/// What kind of clock tells the time.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Clock {
    /// Clock texts rather than a counter.
    pub is_clock: bool,
    /// With a date.
    pub dated: bool,
    /// It runs evenly: its offset from UTC is known.
    pub even: bool,
    /// It shows no seconds.
    pub whole_minutes: bool,
}

fn about_rows(kind: &'static str, rows: Vec<usize>, why: String) -> Repair {
    Repair { kind: Text::Borrowed(kind), channel: None, rows, seconds: None, why }
}

/// Takes clock readings across midnight, and puts rows that are out of order into it.
///
/// Clock text is never sorted by: a fall of more than half a day is midnight, whether or not the date advances.
pub(super) fn in_order(
    mut raw: Vec<f64>,
    clock: Clock,
    restart_s: Option<f64>,
    repairs: &mut Vec<Repair>,
) -> Result<Timeline, Disorder> {
    let mut rows: Option<Vec<usize>> = None;
    if !raw.iter().fold(true, |all, time| all & time.is_finite()) {
        let (good, lost): (Vec<usize>, Vec<usize>) =
            (0..raw.len()).partition(|&row| raw.get(row).is_some_and(|time| time.is_finite()));
        raw.retain(|time| time.is_finite());
        rows = Some(good);
        let why = format!("{} row(s) without a readable time were dropped", lost.len());
        repairs.push(about_rows("no time", lost, why));
    }
    let falls = steps_extent(&raw).0 < 0.0;
    // Without a date a single great fall is midnight.
    let midnight = falls && clock.is_clock && !clock.dated && steps(&raw).any(|step| step < -MIDNIGHT_FALL_S);
    if falls && !midnight && !steps(&raw).any(|step| step > 0.0) {
        raw.reverse();
        rows = Some(rows.map_or_else(|| (0..raw.len()).rev().collect(), |rows| rows.into_iter().rev().collect()));
        repairs.push(Repair::of_file("newest first", "the file runs backwards in time; it was turned round"));
    } else if falls {
        let mut list = Rows(rows.take());
        let usual = interval(&raw);
        if let Some(start) = ring(&raw, clock, usual) {
            raw.rotate_left(start);
            let mut order: Vec<usize> = (0..raw.len()).map(|place| list.of(place)).collect();
            order.rotate_left(start);
            let why =
                format!("the file begins in the middle, as a ring buffer does; it was turned to begin at row {start}");
            repairs.push(about_rows("out of order", order.get(..1).unwrap_or_default().to_vec(), why));
            list = Rows(Some(order));
        } else if clock.is_clock {
            across(&mut raw, &list, clock, usual, repairs);
        } else {
            joined(&mut raw, &list, usual, restart_s, repairs)?;
        }
        rows = list.0;
        sorted(&mut raw, &mut rows, clock, repairs)?;
    }
    spring_forward(&raw, clock)?;
    let mut line = Timeline { seconds: raw, rows: Rows(rows) };
    if clock.whole_minutes {
        within_minutes(&mut line, repairs);
    }
    Ok(line)
}

/// Whether the row at a fall goes on as rows do; a late row is followed by a jump.
fn goes_on(raw: &[f64], at: usize, usual: f64) -> bool {
    match (raw.get(at), raw.get(at + 1)) {
        (Some(now), Some(next)) => (0.0..=3.0 * usual).contains(&(next - now)),
        _ => true,
    }
}

/// Where the oldest row of a ring buffer is: the time falls once, and the end leads back to the beginning.
fn ring(raw: &[f64], clock: Clock, usual: f64) -> Option<usize> {
    let mut falls = raw.windows(2).enumerate().filter(|(_, pair)| matches!(pair, [a, b] if b < a));
    let (Some((before, pair)), None) = (falls.next(), falls.next()) else { return None };
    let (first, last) = (*raw.first()?, *raw.last()?);
    let fall = pair.first()? - pair.last()?;
    let midnight = clock.is_clock && !clock.dated && (fall + usual - DAY_S).abs() <= 3.0 * usual;
    let meets = last < first && first - last <= 3.0 * usual && raw.len() > 3;
    (meets && !midnight).then_some(before + 1)
}

/// Midnight without a new date, and clocks that were set back by whole quarters of an hour.
fn across(raw: &mut [f64], rows: &Rows, clock: Clock, usual: f64, repairs: &mut Vec<Repair>) {
    let mut shift = 0.0;
    let written = raw.to_vec();
    let mut before = written.first().copied().unwrap_or(0.0);
    let start = before;
    for (place, time) in raw.iter_mut().enumerate() {
        let step = *time - before;
        before = *time;
        let set_back = usual - step;
        let whole = (set_back / QUARTER_S).round() * QUARTER_S;
        if step < -MIDNIGHT_FALL_S {
            // A whole number of days, so that a date that stands still and no date at all are the same case.
            shift += DAY_S * (-step / DAY_S).ceil();
            let why = format!("the clock falls back by {:.0} s without a new date: taken as midnight", -step);
            repairs.push(about_rows("midnight", vec![rows.of(place)], why));
        } else if shift > 0.0 && (step - DAY_S).abs() < MIDNIGHT_FALL_S {
            // The date catches up later: it must not count twice.
            shift -= DAY_S;
            let why = "the date catches up with the clock here; it was not counted again".into();
            repairs.push(about_rows("midnight", vec![rows.of(place)], why));
        } else if step < -10.0 * usual.min(QUARTER_S)
            && whole >= QUARTER_S
            && (set_back - whole).abs() <= (0.1 * usual).max(1.0)
            && goes_on(&written, place, usual)
        {
            shift += whole;
            let at = before + shift - start;
            let (kind, cause) = if whole == SAVING_S && !clock.even {
                ("daylight saving", "daylight saving ended, or it was set")
            } else {
                ("clock set", "it was set")
            };
            repairs.push(Repair {
                seconds: Some((at, at)),
                ..about_rows(
                    kind,
                    vec![rows.of(place)],
                    format!("the clock goes back by {whole:.0} s ({cause}): the usual {usual:.0} s passed"),
                )
            });
        }
        *time += shift;
    }
}

/// Whether a counter starts again.
pub(super) fn restarts(raw: &[f64]) -> bool {
    let finite: Vec<f64> = raw.iter().copied().filter(|time| time.is_finite()).collect();
    let usual = interval(&finite);
    steps(&finite).any(|step| step < 0.0)
        && ring(&finite, Clock::default(), usual).is_none()
        && first_restart(&finite, 0, 0, usual).is_some()
}

/// The next row at which a counter starts again, in the stretch that began at `begin`.
fn first_restart(raw: &[f64], begin: usize, from: usize, usual: f64) -> Option<usize> {
    let start = *raw.get(begin)?;
    (from.max(begin) + 1..raw.len()).find(|&at| {
        let (Some(&before), Some(&now)) = (raw.get(at - 1), raw.get(at)) else { return false };
        let fall = before - now;
        fall > 0.5 * (before - start) && fall > 10.0 * usual && at + 1 < raw.len() && goes_on(raw, at, usual)
    })
}

/// Counters that start again, joined by the break that the caller states.
fn joined(
    raw: &mut [f64],
    rows: &Rows,
    usual: f64,
    restart_s: Option<f64>,
    repairs: &mut Vec<Repair>,
) -> Result<(), Disorder> {
    let written = raw.to_vec();
    let mut shift = 0.0;
    let mut found = first_restart(&written, 0, 0, usual);
    while let Some(at) = found {
        let (before, now) = (written.get(at - 1).copied().unwrap_or(0.0), written.get(at).copied().unwrap_or(0.0));
        let Some(break_s) = restart_s else {
            return Err(Disorder(
                format!(
                    "the elapsed time starts again at data row {} (from {before:.0} s to {now:.0} s): the logger \
                     restarted, and how long it was off is not in this column",
                    rows.of(at)
                ),
                "Add a clock column, say restart_s= (the seconds it was off), or read the two parts as two logs",
            ));
        };
        shift += before - now + break_s;
        let next = first_restart(&written, at, at, usual);
        for time in raw.iter_mut().take(next.unwrap_or(written.len())).skip(at) {
            *time += shift;
        }
        repairs.push(Repair {
            seconds: Some((before + shift - (before - now + break_s), now + shift)),
            ..about_rows(
                "restart",
                vec![rows.of(at)],
                format!("the elapsed time starts again: a new segment, {break_s} s after the last row, as given"),
            )
        });
        found = next;
    }
    Ok(())
}

/// Puts late rows in their place, where they are few.
fn sorted(
    raw: &mut Vec<f64>,
    rows: &mut Option<Vec<usize>>,
    clock: Clock,
    repairs: &mut Vec<Repair>,
) -> Result<(), Disorder> {
    let out: Vec<usize> = out_of_order(raw);
    if out.is_empty() {
        return Ok(());
    }
    if clock.is_clock {
        set_during_run(raw, &out)?;
    }
    if out.len() * 5 > raw.len() {
        return Err(Disorder(
            format!("time goes back and forth: {} of {} rows are out of order", out.len(), raw.len()),
            "Give the file in the order it was written, or with a column of elapsed seconds",
        ));
    }
    let at = |index: &usize| raw.get(*index).copied().unwrap_or(f64::NAN);
    let base = raw.first().copied().unwrap_or(0.0);
    let span = (out.iter().map(at).fold(f64::INFINITY, f64::min), out.iter().map(at).fold(f64::NEG_INFINITY, f64::max));
    let list = Rows(rows.take());
    repairs.push(Repair {
        seconds: Some((span.0 - base, span.1 - base)),
        ..about_rows(
            "out of order",
            out.iter().map(|&index| list.of(index)).collect(),
            format!("{} row(s) were written after later ones; they were put in their place in time", out.len()),
        )
    });
    let mut order: Vec<usize> = (0..raw.len()).collect();
    order.sort_by(|a, b| at(a).total_cmp(&at(b)));
    *rows = Some(order.iter().map(|&place| list.of(place)).collect());
    *raw = order.iter().map(at).collect();
    Ok(())
}

/// Indices of rows that lie before an earlier one.
fn out_of_order(seconds: &[f64]) -> Vec<usize> {
    let mut latest = f64::NEG_INFINITY;
    let mut out = Vec::new();
    for (index, &time) in seconds.iter().enumerate() {
        if time < latest {
            out.push(index);
        } else {
            latest = time;
        }
    }
    out
}

/// Refuses a clock that was set during the run by no whole quarters: what that step took is unknown.
fn set_during_run(seconds: &[f64], out: &[usize]) -> Result<(), Disorder> {
    let Some(&first) = out.first() else { return Ok(()) };
    let (Some(&last_good), Some(&fallen)) = (seconds.get(first.wrapping_sub(1)), seconds.get(first)) else {
        return Ok(());
    };
    let run = seconds.get(first..).unwrap_or_default();
    let rising = steps(run).filter(|&step| step > 0.0).count();
    let long = last_good - fallen > 10.0 * interval(seconds);
    if long && run.len() > 2 && rising * 4 >= (run.len() - 1) * 3 && out.len() > 2 {
        return Err(Disorder(
            format!(
                "the clock goes back by {:.0} s at data row {first}: it was set during the run, or daylight saving ended",
                last_good - fallen
            ),
            "Give a column of elapsed seconds, or timezone= for a local clock with dates; clock text alone does not say \
             how long that step took",
        ));
    }
    Ok(())
}

/// Refuses a step that looks like the beginning of daylight saving: an hour more than usual, from before a whole hour
/// of the night on, on a Sunday if there is a date. Such a step may be no time at all, or an hour.
fn spring_forward(seconds: &[f64], clock: Clock) -> Result<(), Disorder> {
    if !clock.is_clock || clock.even {
        return Ok(());
    }
    let largest = steps(seconds).fold(0.0, f64::max);
    if largest < SAVING_S {
        return Ok(());
    }
    // Steps of half an hour and more would hide what an hour does.
    let usual = median(steps(seconds).filter(|step| (0.0..0.5 * SAVING_S).contains(step)).take(BEGIN).collect());
    let near = (0.1 * usual).max(1.0);
    let jump = seconds.windows(2).find(|pair| {
        let &&[before, now] = pair else { return false };
        let hour = ((before + usual + near) / SAVING_S).floor() * SAVING_S;
        let of_day = hour.rem_euclid(DAY_S);
        // 1970-01-01 was a Thursday.
        let sunday = !clock.dated || ((hour / DAY_S).floor() + 4.0).rem_euclid(7.0) == 0.0;
        (now - before - usual - SAVING_S).abs() <= near && before < hour && of_day <= 3.0 * SAVING_S && sunday
    });
    match jump {
        Some(pair) => Err(Disorder(
            format!(
                "the clock goes on by {:.0} s from one row to the next in the night, where {usual:.0} s are usual: \
                 daylight saving began, or an hour is missing",
                pair.last().unwrap_or(&0.0) - pair.first().unwrap_or(&0.0)
            ),
            "Say timezone= (\"Europe/Berlin\" for a clock with dates; \"UTC\" for one without daylight saving), or give a column of elapsed seconds",
        )),
        None => Ok(()),
    }
}

/// Spreads rows that share a minute over it, where a clock shows no seconds.
fn within_minutes(line: &mut Timeline, repairs: &mut Vec<Repair>) {
    let seconds = &mut line.seconds;
    let shared = steps(seconds).filter(|&step| step == 0.0).count();
    let stamps = seconds.len() - shared;
    if shared * 2 < stamps || stamps < 2 || seconds.iter().any(|time| time.rem_euclid(60.0) != 0.0) {
        return;
    }
    let runs: Vec<(f64, usize)> =
        seconds.chunk_by(|a, b| a == b).filter_map(|run| Some((*run.first()?, run.len()))).collect();
    let follows = |at: usize| matches!(runs.get(at..at + 2), Some([a, b]) if b.0 - a.0 == 60.0);
    let inner = (1..runs.len() - 1).filter(|&at| follows(at)).filter_map(|at| Some(runs.get(at)?.1 as f64));
    let most = runs.iter().map(|run| run.1).max().unwrap_or(1) as f64;
    let inner = median(inner.collect());
    let usual = if inner.is_nan() { most } else { inner };
    let mut made = Vec::with_capacity(seconds.len());
    for (at, &(minute, count)) in runs.iter().enumerate() {
        // A first minute is cut at its beginning, a last one, or one before a hole, at its end.
        let whole = at > 0 && follows(at);
        let step = 60.0 / if whole { count as f64 } else { usual.max(count as f64) };
        let begin = if at == 0 && follows(at) { 60.0 - step * count as f64 } else { 0.0 };
        made.extend((0..count).map(|index| minute + begin + step * index as f64));
    }
    repairs.push(Repair::of_file(
        "minute resolution",
        format!("the clock shows no seconds: about {usual:.0} rows share a minute and were spread over it"),
    ));
    *seconds = made;
}

/// Rows with the time of the row before: copies are dropped, other readings of the same instant are averaged.
/// Returns the places to keep; nothing where that is all.
pub(super) fn same_time(
    line: &Timeline,
    channels: &mut [(Role, Vec<f64>)],
    repairs: &mut Vec<Repair>,
) -> Option<Vec<usize>> {
    // Rows are in order here: no step is below zero.
    if steps_extent(&line.seconds).0 > 0.0 {
        return None;
    }
    let base = line.seconds.first().copied().unwrap_or(0.0);
    let mut keep: Vec<usize> = Vec::with_capacity(line.seconds.len());
    let (mut copies, mut averaged) = (Vec::new(), Vec::new());
    let mut sharing = 1.0;
    for (index, &time) in line.seconds.iter().enumerate() {
        let previous = keep.last().copied().filter(|&kept| line.seconds.get(kept) == Some(&time));
        let Some(kept) = previous else {
            keep.push(index);
            sharing = 1.0;
            continue;
        };
        let same = channels.iter().all(|(_, values)| match (values.get(kept), values.get(index)) {
            (Some(a), Some(b)) => a == b || (a.is_nan() && b.is_nan()),
            _ => true,
        });
        if same {
            copies.push(index);
            continue;
        }
        averaged.push(index);
        sharing += 1.0;
        for (_, values) in channels.iter_mut() {
            let (Some(&a), Some(&b)) = (values.get(kept), values.get(index)) else { continue };
            if let Some(value) = values.get_mut(kept) {
                *value = if a.is_nan() {
                    b
                } else if b.is_nan() {
                    a
                } else {
                    a + (b - a) / sharing
                };
            }
        }
    }
    let mut note = |kind: &'static str, indices: Vec<usize>, why: String| {
        let at = |index: &usize| line.seconds.get(*index).map_or(f64::NAN, |time| time - base);
        if let (Some(first), Some(last)) = (indices.first(), indices.last()) {
            let seconds = Some((at(first), at(last)));
            let rows = indices.iter().map(|&index| line.rows.of(index)).collect();
            repairs.push(Repair { seconds, ..about_rows(kind, rows, why) });
        }
    };
    let (copied, shared) = (copies.len(), averaged.len());
    note("duplicate", copies, format!("{copied} row(s) repeat the row before; they were dropped"));
    note(
        "repeated time",
        averaged,
        format!("{shared} further reading(s) of the same instant were averaged with the first"),
    );
    Some(keep)
}
