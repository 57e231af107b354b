//! From columns as they were found to a record: ordered, cleaned, corrected.

use std::sync::Mutex;

use super::began::Began;
use super::cell::TemperatureUnit;
use super::clean;
use super::dialect::refusal;
use super::elapsed::{TimeColumn, elapsed, within_reach};
use super::loading::{Loading, found};
use super::log::{Channel, Correction, OvenLog, ReadOptions};
use super::order::{self, Disorder, Rows, Timeline};
use super::repair::{Gap, Repair};
use super::role::Role;
use super::switched::switch;
use super::table::UnitRuns;
use super::units::{cells_to_celsius, switched, to_celsius};
use crate::error::{Error, Result};
use crate::kernel::beside;

/// A channel before it is cleaned.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    pub role: Role,
    pub name: String,
    pub unit: Option<TemperatureUnit>,
    pub values: Vec<f64>,
    pub faults: Vec<usize>,
    pub missing: Vec<usize>,
    pub units: UnitRuns,
}

/// Columns as they were found.
#[derive(Debug, Clone)]
pub(super) struct Raw {
    pub file: String,
    pub times: Vec<TimeColumn>,
    pub readings: Vec<Reading>,
    /// Texts in place of readings, and the row they stand before.
    pub events: Vec<(usize, String)>,
    pub repairs: Vec<Repair>,
}

/// A counter that begins beyond this, 1985 in seconds since 1970, counts from no start of a log.
const SINCE_1970_S: f64 = 4.7e8;

/// Cleans, orders and corrects the columns: what every source of a log goes through.
pub(super) fn assemble(raw: Raw, options: &ReadOptions) -> Result<OvenLog> {
    let Raw { file, times, mut readings, events, mut repairs } = raw;
    let (time, clock) = elapsed(times, options, &file, &mut repairs)?;
    within_reach(&time, &file)?;
    let absent = |(role, _): &&(Role, Correction)| !readings.iter().any(|reading| reading.role == *role);
    if let Some((role, _)) = options.corrections.iter().find(absent) {
        return Err(Error::UnknownName {
            kind: "channel".into(),
            name: role.name().to_owned(),
            close: readings.iter().map(|reading| reading.role.name().to_owned()).collect(),
            hint: "corrections= is for channels that the log has; leave the others out".into(),
        });
    }
    for reading in &mut readings {
        let name = (reading.name.as_str(), reading.role);
        let unit = cells_to_celsius(name, reading.unit, &reading.units, &mut reading.values, &mut repairs);
        reading.unit = unit.or(reading.unit);
    }
    let rows = time.len();
    let disorder = |Disorder(why, hint): Disorder| refusal(&file, None, why, hint);
    let mut line = order::in_order(time, clock, options.restart_s, &mut repairs).map_err(disorder)?;
    let base = line.seconds.first().copied().unwrap_or(0.0);
    // A counter since 1970 is a clock too: what has elapsed begins with the log.
    let began = Began::of(clock, base, base > SINCE_1970_S);
    if began != Began::Counter {
        line.seconds.iter_mut().for_each(|time| *time -= base);
    }
    let mut channels: Vec<(Role, Vec<f64>)> = Vec::new();
    for reading in &mut readings {
        let values = std::mem::take(&mut reading.values);
        channels.push((reading.role, picked(values, line.rows.0.as_ref())));
    }
    let keep = order::same_time(&line, &mut channels, &mut repairs);
    let when = When::new(&line, rows, &readings, &events);
    note_events(&events, &when, &mut repairs);
    let kept_rows = line.rows.picked(keep.as_ref());
    let seconds = picked(line.seconds, keep.as_ref());
    if seconds.len() < 2 {
        return Err(refusal(&file, None, "all rows carry the same time", "Give a time for each row"));
    }
    let longest = clean::longest_bridge(clean::interval(&seconds));
    let keep = keep.as_ref();
    let clean = |(reading, (role, values)): (Reading, (Role, Vec<f64>))| -> Result<Cleaned> {
        let mut repairs = Vec::new();
        let values = picked(values, keep);
        let channel = cleaned(&reading, role, values, (&seconds, &kept_rows, &when), options, &file, &mut repairs)?;
        Ok(Cleaned { channel, repairs })
    };
    let mut made: Vec<Channel> = Vec::new();
    for cleaned in side_by_side(readings.into_iter().zip(channels).collect(), &clean) {
        let Cleaned { channel, repairs: mut more } = cleaned?;
        repairs.append(&mut more);
        made.extend(channel);
    }
    if !made.iter().any(|channel| matches!(channel.role, Role::Air | Role::PartSide)) {
        return Err(refusal(
            &file,
            None,
            "no temperature channel holds readings",
            "Check the sensors' columns; every reading is empty or a fault code",
        ));
    }
    clean::jitter(&seconds, &kept_rows, longest, &mut repairs);
    let gaps = holes(&seconds, &made, longest, &mut repairs);
    let load = loading(&seconds, &made, options, &mut repairs)?;
    correct(&mut made, options, &mut repairs)?;
    Ok(OvenLog { file, began, seconds, channels: made, repairs, gaps, load })
}

/// A channel that was cleaned, if it holds readings, and what was done to it.
struct Cleaned {
    channel: Option<Channel>,
    repairs: Vec<Repair>,
}

/// Does some work to each channel, on several threads.
fn side_by_side<T: Send, R: Send>(channels: Vec<T>, work: &(impl Fn(T) -> R + Sync)) -> Vec<R> {
    let count = channels.len();
    let waiting = Mutex::new(channels.into_iter().enumerate());
    let done = Mutex::new(Vec::with_capacity(count));
    let hand = || {
        while let Some((index, channel)) = waiting.lock().ok().and_then(|mut waiting| waiting.next()) {
            let made = work(channel);
            if let Ok(mut done) = done.lock() {
                done.push((index, made));
            }
        }
    };
    beside(count, hand, hand);
    let mut done = done.into_inner().unwrap_or_default();
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, made)| made).collect()
}

/// Converts and cleans one channel; nothing where it holds no readings.
fn cleaned(
    reading: &Reading,
    role: Role,
    mut values: Vec<f64>,
    (seconds, rows, when): (&[f64], &Rows, &When),
    options: &ReadOptions,
    file: &str,
    repairs: &mut Vec<Repair>,
) -> Result<Option<Channel>> {
    for (kind, rows, what) in [("nan", &reading.missing, "empty"), ("fault code", &reading.faults, "a fault word")] {
        if let (Some(&first), Some(&last)) = (rows.first(), rows.last()) {
            repairs.push(Repair {
                kind: kind.into(),
                channel: Some(role),
                rows: rows.clone(),
                seconds: Some((when.of(first), when.of(last))),
                why: format!("{} reading(s) are {what}; they were left out", rows.len()),
            });
        }
    }
    if !values.iter().any(|value| value.is_finite()) {
        let why = format!("'{}' holds no reading at all; it was left out", reading.name);
        repairs.push(Repair::of_file("channel", why));
        return Ok(None);
    }
    let is_temperature = matches!(role, Role::Air | Role::PartSide | Role::Setpoint);
    let unit = if is_temperature {
        to_celsius(&reading.name, role, reading.unit, &mut values, options, file, repairs)?
    } else {
        TemperatureUnit::Celsius
    };
    if matches!(role, Role::Air | Role::PartSide) {
        clean::false_readings((role, unit), seconds, rows, &mut values, repairs);
        if values.iter().filter(|value| value.is_finite()).take(2).count() < 2 {
            let why = format!("'{}' holds fewer than two readings; it was left out", reading.name);
            repairs.push(Repair::of_file("channel", why));
            return Ok(None);
        }
        if let Some((index, before, behind)) = switch(seconds, &values) {
            let at_s = seconds.get(index).copied().unwrap_or(f64::NAN);
            repairs.push(switched((&reading.name, role), (at_s, before, behind), options, file)?);
        }
        clean::still(role, seconds, rows, &values, repairs);
    }
    Ok(Some(Channel { role, name: reading.name.clone(), values, correction: None }))
}

/// When a row of the file was, for those that are named.
struct When(Option<Vec<f64>>);

impl When {
    fn new(line: &Timeline, rows: usize, readings: &[Reading], events: &[(usize, String)]) -> Self {
        let asked = |reading: &Reading| !reading.missing.is_empty() || !reading.faults.is_empty();
        if events.is_empty() && !readings.iter().any(asked) {
            return Self(None);
        }
        let mut when = vec![f64::NAN; rows];
        for (place, &time) in line.seconds.iter().enumerate() {
            if let Some(slot) = when.get_mut(line.rows.of(place)) {
                *slot = time;
            }
        }
        Self(Some(when))
    }

    fn of(&self, row: usize) -> f64 {
        self.0.as_ref().and_then(|when| when.get(row)).copied().unwrap_or(f64::NAN)
    }
}

/// Events stay as marks, at the row before them.
fn note_events(events: &[(usize, String)], when: &When, repairs: &mut Vec<Repair>) {
    for (row, text) in events {
        let before = row.saturating_sub(1);
        let at = when.of(before);
        repairs.push(Repair {
            kind: "event".into(),
            channel: None,
            rows: vec![before],
            seconds: Some((at, at)),
            why: format!("'{text}' is written there; it is kept as a mark and no reading"),
        });
    }
}

/// The values at some places; all of them for nothing.
pub(super) fn picked(values: Vec<f64>, places: Option<&Vec<usize>>) -> Vec<f64> {
    match places {
        None => values,
        Some(places) => places.iter().map(|&place| values.get(place).copied().unwrap_or(f64::NAN)).collect(),
    }
}

/// Holes in all rows, then holes of one channel that are not also holes in all.
fn holes(seconds: &[f64], channels: &[Channel], longest: f64, repairs: &mut Vec<Repair>) -> Vec<Gap> {
    let mut all = clean::gaps(None, seconds, None, longest);
    let has_holes = |channel: &&Channel| {
        matches!(channel.role, Role::Air | Role::PartSide)
            && !channel.values.iter().fold(true, |all, value| all & value.is_finite())
    };
    for channel in channels.iter().filter(has_holes) {
        let own = clean::gaps(Some(channel.role), seconds, Some(&channel.values), longest);
        let common = all.clone();
        all.extend(own.into_iter().filter(|gap| {
            !common
                .iter()
                .any(|known| known.channel.is_none() && known.start_s == gap.start_s && known.end_s == gap.end_s)
        }));
    }
    repairs.extend(all.iter().map(|gap| gap.noted(longest)));
    all
}

pub(super) fn loading(
    seconds: &[f64],
    channels: &[Channel],
    options: &ReadOptions,
    repairs: &mut Vec<Repair>,
) -> Result<Option<Loading>> {
    let of = |role: Role| channels.iter().find(|channel| channel.role == role).map(|channel| channel.values.as_slice());
    let start = seconds.first().copied().unwrap_or(0.0);
    let end = seconds.last().copied().unwrap_or(0.0);
    if let Some(at_s) = options.load_s {
        if !(start..end).contains(&at_s) {
            return Err(Error::outside(
                "oven.read_log",
                "load_s",
                (at_s, "s"),
                (start, end),
                "the log's first and last row",
                "Give the elapsed seconds at which the part went in",
            ));
        }
        return Ok(Some(Loading { at_s, found: false }));
    }
    let load = of(Role::PartSide).and_then(|part| found(seconds, part, of(Role::Air)));
    repairs.extend(load.map(|load| load.noted(start)));
    Ok(load)
}

pub(super) fn correct(channels: &mut [Channel], options: &ReadOptions, repairs: &mut Vec<Repair>) -> Result<()> {
    for (role, correction) in &options.corrections {
        let Some(channel) = channels.iter_mut().find(|channel| channel.role == *role) else { continue };
        correction.check("oven.read_log", role.name())?;
        if correction.value_delta_c != 0.0 {
            channel.values.iter_mut().for_each(|value| *value += correction.value_delta_c);
        }
        channel.correction = Some(*correction);
        repairs.push(Repair::of_file(
            "correction",
            format!(
                "{:+} °C (u = {} °C) was added to {}",
                correction.value_delta_c, correction.u_delta_c, channel.name
            ),
        ));
    }
    Ok(())
}
