//! Elapsed seconds out of whatever tells the time: counters, clock texts, spreadsheet days.

use super::clock::DAY_S;
use super::dialect::{cut, refusal};
use super::extent::extent;
use super::log::ReadOptions;
use super::order::{Clock, restarts};
use super::repair::Repair;
use super::role::TimeUnit;
use super::table::ClockMarks;
use crate::error::{Error, Result};

/// A clock column as it was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ClockKind {
    /// Numbers in a unit still to be known.
    Numbers,
    /// Times of day without a date.
    TimeOfDay,
    /// Date and time.
    Dated,
}

/// A time column before it is elapsed seconds.
#[derive(Debug, Clone)]
pub(super) struct TimeColumn {
    pub name: String,
    pub kind: ClockKind,
    pub unit: Option<TimeUnit>,
    pub marks: ClockMarks,
    pub values: Vec<f64>,
}

/// A clock beside a counter is named when it jumps by more than this against it.
const CLOCK_JUMP_S: f64 = 600.0;

/// Elapsed seconds out of the time columns there are, and what kind of clock they come from.
pub(super) fn elapsed(
    mut times: Vec<TimeColumn>,
    options: &ReadOptions,
    file: &str,
    repairs: &mut Vec<Repair>,
) -> Result<(Vec<f64>, Clock)> {
    // A counter with its unit is best, then clock text, then a counter whose unit must be worked out.
    times.sort_by_key(|time| match (time.kind, time.unit) {
        (ClockKind::Numbers, Some(_)) => 0,
        (ClockKind::Dated, _) => 1,
        (ClockKind::TimeOfDay, _) => 2,
        (ClockKind::Numbers, None) => 3,
    });
    let has_clock = times.iter().any(|time| time.kind != ClockKind::Numbers);
    if let Some(counter) = times.first().filter(|time| time.kind == ClockKind::Numbers && has_clock) {
        if restarts(&counter.values) {
            repairs.push(Repair::of_file(
                "restart",
                format!("'{}' starts again, as the logger did; the clock beside it is used", counter.name),
            ));
            times.rotate_left(1);
        }
    }
    let rest = times.split_off(1.min(times.len()));
    let Some(first) = times.pop() else {
        return Err(refusal(
            file,
            None,
            "no time column holds times",
            "Give a column of elapsed seconds or clock times",
        ));
    };
    if first.kind != ClockKind::Numbers {
        return from_clock(first, options, file, repairs);
    }
    if let Some(clock) = rest.iter().find(|time| time.kind != ClockKind::Numbers) {
        compare_clock(&first, clock, repairs);
    }
    let scale = match (first.unit, options.time_unit) {
        (Some(stated), Some(said)) if stated != said => {
            return Err(Error::DataFile {
                file: file.to_owned(),
                line: None,
                column: Some(cut(&first.name)),
                why: format!("the heading says {} and time_unit= says {}", stated.text(), said.text()).into(),
                hint: "Leave time_unit= out, or correct the heading".into(),
            });
        }
        (Some(unit), _) | (None, Some(unit)) => unit.seconds(),
        (None, None) => guessed_scale(&first, file, repairs)?,
    };
    let mut values = first.values;
    if scale != 1.0 {
        values.iter_mut().for_each(|value| *value *= scale);
    }
    let kind = if scale == DAY_S { Clock { is_clock: true, even: true, ..Clock::default() } } else { Clock::default() };
    Ok((values, kind))
}

/// Elapsed seconds out of clock texts.
fn from_clock(
    column: TimeColumn,
    options: &ReadOptions,
    file: &str,
    repairs: &mut Vec<Repair>,
) -> Result<(Vec<f64>, Clock)> {
    let TimeColumn { name, kind, unit, marks, mut values } = column;
    let refuse = |why: String, hint: &'static str| Error::DataFile {
        file: file.to_owned(),
        line: None,
        column: Some(cut(&name)),
        why: why.into(),
        hint: hint.into(),
    };
    if marks.zoned && marks.local {
        return Err(refuse(
            "some times carry their offset from UTC and some do not".into(),
            "Write all times with their offset (2026-03-04T10:00:00+01:00), or none",
        ));
    }
    let dated = kind == ClockKind::Dated;
    let counts = name.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| COUNTS.contains(&word));
    if !dated && marks.two_parts && !marks.three_parts {
        let largest = values.iter().copied().filter(|value| value.is_finite()).fold(0.0, f64::max) / 3600.0;
        let from_zero = values.first() == Some(&0.0);
        let minutes = match unit.or(options.time_unit) {
            Some(TimeUnit::Minute | TimeUnit::Second) => true,
            Some(_) => false,
            None if largest >= 60.0 => {
                let why = format!("'{name}' is read as minutes:seconds: its first part passes 59");
                repairs.push(Repair::of_file("time unit", why));
                true
            }
            None if largest >= 24.0 || (counts && from_zero) => {
                return Err(refuse(
                    "its times of two parts may be hours:minutes or minutes:seconds".into(),
                    "Say time_unit=\"h\" for hours:minutes or time_unit=\"min\" for minutes:seconds",
                ));
            }
            None => false,
        };
        if minutes {
            values.iter_mut().for_each(|value| *value /= 60.0);
            return Ok((values, Clock::default()));
        }
    }
    // h:mm:ss that counts is a counter: where it falls the logger restarted, and nobody set a clock.
    if !dated && counts && marks.three_parts && !midnight(&values) {
        let base = values.iter().copied().find(|time| time.is_finite()).unwrap_or(0.0);
        values.iter_mut().for_each(|time| *time -= base);
        return Ok((values, Clock::default()));
    }
    if let (true, false, Some(zone)) = (dated, marks.zoned, &options.zone) {
        zone.even(&mut values);
        repairs.push(Repair::of_file(
            "time zone",
            format!("'{name}' was read as local time of the zone given: daylight saving does not count as time"),
        ));
    }
    let even = marks.zoned || options.zone.is_some();
    Ok((values, Clock { is_clock: true, dated, even, whole_minutes: marks.two_parts && !marks.three_parts }))
}

/// Whether times fall by more than half a day, as a clock does at midnight.
fn midnight(seconds: &[f64]) -> bool {
    seconds.windows(2).any(|pair| matches!(pair, [before, now] if before - now > 0.5 * DAY_S))
}

/// Words of a heading that say that a clock text counts from the start.
const COUNTS: [&str; 4] = ["elapsed", "duration", "runtime", "laufzeit"];

/// No time of a log lies farther from its zero than this, in s: three centuries, which holds every clock that counts
/// from 1970.
const FARTHEST_S: f64 = 1e10;

/// Refuses times that no record has.
pub(super) fn within_reach(seconds: &[f64], file: &str) -> Result<()> {
    let (low, high) = extent(seconds);
    if low >= -FARTHEST_S && high <= FARTHEST_S {
        return Ok(());
    }
    match seconds.iter().position(|time| time.abs() > FARTHEST_S) {
        Some(row) => Err(refusal(
            file,
            None,
            format!(
                "data row {row} lies at {:.3e} s, and no log is farther than {FARTHEST_S:.0e} s from its zero (the \
                 bound of this library)",
                seconds.get(row).copied().unwrap_or(f64::NAN)
            ),
            "Check the time column and its unit; a counter since 1970 is in seconds or milliseconds",
        )),
        None => Ok(()),
    }
}

/// Where clock text beside a counter falls back, the counter is right and the clock is named.
fn compare_clock(counter: &TimeColumn, clock: &TimeColumn, repairs: &mut Vec<Repair>) {
    let scale = counter.unit.map_or(1.0, TimeUnit::seconds);
    let pairs = counter.values.iter().zip(&clock.values);
    let mut before: Option<(f64, f64)> = None;
    for (row, (&elapsed, &text)) in pairs.enumerate() {
        if !elapsed.is_finite() || !text.is_finite() {
            continue;
        }
        if let Some((t, c)) = before {
            let (step, clock_step) = ((elapsed - t) * scale, text - c);
            if clock_step - step > CLOCK_JUMP_S && step >= 0.0 {
                repairs.push(Repair {
                    kind: "clock".into(),
                    channel: None,
                    rows: vec![row],
                    seconds: Some((elapsed * scale, elapsed * scale)),
                    why: format!(
                        "{} goes on by {clock_step:.0} s while {} counts {step:.0} s: daylight saving, or it was set; \
                         {} is used",
                        clock.name, counter.name, counter.name
                    ),
                });
            } else if clock_step < 0.0 && step >= 0.0 {
                let midnight = clock_step < -43_200.0;
                repairs.push(Repair {
                    kind: if midnight { "midnight".into() } else { "clock".into() },
                    channel: None,
                    rows: vec![row],
                    seconds: Some((elapsed * scale, elapsed * scale)),
                    why: format!(
                        "{} falls back by {:.0} s while {} goes on{}; {} is used",
                        clock.name,
                        -clock_step,
                        counter.name,
                        if midnight { ": it passes midnight without a new date" } else { "" },
                        counter.name
                    ),
                });
            }
        }
        before = Some((elapsed, text));
    }
}

/// The unit of a counter whose heading states none, where the numbers leave no choice.
fn guessed_scale(time: &TimeColumn, file: &str, repairs: &mut Vec<Repair>) -> Result<f64> {
    let finite = || time.values.iter().copied().filter(|v| v.is_finite());
    let (low, high) = (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max));
    let span = high - low;
    let (scale, what) = if (1e9..2e10).contains(&low) {
        (1.0, "seconds since 1970 (10 digits)")
    } else if (1e12..2e13).contains(&low) {
        (1e-3, "milliseconds since 1970 (13 digits)")
    } else if (20_000.0..80_000.0).contains(&low) && span < 60.0 && finite().any(|v| v.fract() != 0.0) {
        (DAY_S, "days, as spreadsheets count them")
    } else if span >= 1440.0 {
        // As minutes this would be longer than a day.
        (1.0, "seconds: as minutes it would be longer than a day")
    } else {
        return Err(Error::DataFile {
            file: file.to_owned(),
            line: None,
            column: Some(time.name.clone()),
            why: format!("the unit of time is not stated, and {low} to {high} may be seconds, minutes or hours").into(),
            hint: "Say time_unit=\"s\", \"min\" or \"h\", or name the column elapsed_s".into(),
        });
    };
    repairs.push(Repair::of_file("time unit", format!("'{}' states no unit; taken as {what}", time.name)));
    Ok(scale)
}
