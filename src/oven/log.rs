//! An oven's record: read, repaired in the open, corrected.

use serde::{Deserialize, Serialize};

use std::path::Path;
use std::sync::Arc;

use super::cell::TemperatureUnit;
use super::clean::{self, Disorder, median};
use super::dialect::{Dialect, Notes, cut, decoded, dialect, few, refusal};
use super::loading::{Loading, found};
use super::repair::{Gap, Repair};
use super::role::{Role, TimeUnit};
use super::table::{ClockKind, Use, is_reading, order_of_dates, read};
use crate::error::{Error, Result};

/// What is added to a channel's readings, with its standard uncertainty; both in °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Correction {
    /// Added to each reading.
    pub value_delta_c: f64,
    /// Its standard uncertainty.
    pub u_delta_c: f64,
}

/// One column of the record with a role.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Channel {
    /// What it is.
    pub role: Role,
    /// Its heading in the file.
    pub name: String,
    /// Its readings, corrected; NaN where there is none. °C, or % for the duty.
    pub values: Vec<f64>,
    /// The correction that is in the values, where one was given.
    pub correction: Option<Correction>,
}

/// What a reader may be told beforehand.
#[derive(Debug, Clone, Default)]
pub struct ReadOptions {
    /// The unit of temperatures whose heading states none.
    pub unit: Option<TemperatureUnit>,
    /// The unit of a time column whose heading states none.
    pub time_unit: Option<TimeUnit>,
    /// Roles of columns by their heading.
    pub channels: Vec<(String, Role)>,
    /// Corrections by role.
    pub corrections: Vec<(Role, Correction)>,
    /// When the part went in.
    pub load_s: Option<f64>,
    /// The offset from UTC of a local clock, so that daylight saving does not count as time.
    pub zone: Option<Zone>,
}

/// The offset of a local clock from UTC in seconds, for a local time in seconds since 1970; the flag asks for the
/// second passage where the clock shows an hour twice.
pub type UtcOffset = dyn Fn(f64, bool) -> f64 + Send + Sync;

/// A time zone.
#[derive(Clone)]
pub struct Zone(pub Arc<UtcOffset>);

impl std::fmt::Debug for Zone {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        to.write_str("Zone")
    }
}

impl Zone {
    /// Local clock readings as seconds that run evenly.
    fn even(&self, local: &mut [f64]) {
        // Offsets change on quarter hours; asking once for each saves most calls.
        let (mut quarter, mut offsets) = (f64::NAN, (0.0, 0.0));
        let mut before = f64::NEG_INFINITY;
        for time in local.iter_mut().filter(|time| time.is_finite()) {
            let now = (*time / 900.0).floor();
            if now != quarter {
                quarter = now;
                offsets = ((self.0)(*time, false), (self.0)(*time, true));
            }
            let first = *time - offsets.0;
            *time = if first < before { *time - offsets.1 } else { first };
            before = *time;
        }
    }
}

/// An oven's record: channels over elapsed seconds, what was repaired, where it has holes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OvenLog {
    /// What it was read from.
    pub file: String,
    /// Elapsed seconds, rising.
    pub seconds: Vec<f64>,
    /// The channels with a role.
    pub channels: Vec<Channel>,
    /// Every repair made, and what else must be known.
    pub repairs: Vec<Repair>,
    /// The holes.
    pub gaps: Vec<Gap>,
    /// When the part went in, if that is known.
    pub load: Option<Loading>,
}

impl OvenLog {
    /// The readings of a role, if the record has it.
    #[must_use]
    pub fn channel(&self, role: Role) -> Option<&Channel> {
        self.channels.iter().find(|channel| channel.role == role)
    }

    /// First and last elapsed second.
    #[must_use]
    pub fn span_s(&self) -> (f64, f64) {
        (self.seconds.first().copied().unwrap_or(f64::NAN), self.seconds.last().copied().unwrap_or(f64::NAN))
    }
}

/// Reads a log from a file.
///
/// # Errors
/// [`Error::DataFile`] when the file can't be read, is no table, or leaves open what its unit, its clock or its
/// columns are; the message says what would settle it.
pub fn read_log(path: impl AsRef<Path>, options: &ReadOptions) -> Result<OvenLog> {
    let name = path.as_ref().display().to_string();
    let bytes = std::fs::read(&path).map_err(|error| refusal(&name, None, error.to_string(), "Check the path"))?;
    read_log_bytes(&bytes, &name, options, &mut |_, _| true)
}

/// Reads a log from bytes; `file` names them in messages. `progress` is told bytes done and in all, and stops the
/// reading by returning false.
///
/// # Errors
/// As [`read_log`].
///
/// ```
/// use afterquench::oven::{ReadOptions, Role, read_log_bytes};
/// let text = b"elapsed_s,part_side_degc\n0,20\n60,120\n120,200\n7320,200\n";
/// let log = read_log_bytes(text, "a text", &ReadOptions::default(), &mut |_, _| true).unwrap();
/// assert_eq!(log.channel(Role::PartSide).unwrap().values, [20.0, 120.0, 200.0, 200.0]);
/// assert_eq!(log.gaps.len(), 1);
/// ```
pub fn read_log_bytes(
    bytes: &[u8],
    file: &str,
    options: &ReadOptions,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<OvenLog> {
    let mut notes = Notes::new();
    let text = decoded(bytes, file, &mut notes)?;
    let written = dialect(&text, file, &mut notes)?;
    let mut repairs: Vec<Repair> = Vec::new();
    let roles = roles(&written, file, options, &mut notes)?;
    let uses: Vec<Use> = roles.iter().map(|role| used_as(*role)).collect();
    let order = order_of_dates(&text, &written, &uses, file, &mut notes)?;
    let Some(mut table) = read(&text, &written, &uses, order, progress) else {
        return Err(Error::Refused {
            what: "reading the log".into(),
            why: "it was stopped from outside".into(),
            instead: "Read it again".into(),
        });
    };
    if let Some((line, text)) = table.impossible.take() {
        return Err(refusal(
            file,
            Some(line),
            format!("there is no day '{text}'"),
            "Correct the date; a clock that shows it can't be trusted for the time that passed",
        ));
    }
    notes.append(&mut table.notes);
    repairs.extend(notes.into_iter().map(|(kind, why)| Repair::of_file(kind, why)));
    if table.rows < 2 {
        let (line, rows) = (table.unread.0.or(Some(written.body_line)), table.rows);
        let why = if rows == 0 {
            "there are no data rows".to_owned()
        } else {
            "there is only one data row, and no time passes in it".to_owned()
        };
        return Err(refusal(file, line, why, "A log needs at the least two rows with a time and a temperature each"));
    }
    let headings: Vec<_> = written.columns.iter().map(|column| column.heading).collect();
    let columns = table.columns.into_iter().zip(&roles).zip(&written.columns).zip(&headings).enumerate();
    let (mut times, mut readings) = (Vec::new(), Vec::new());
    for (index, (((values, role), column), heading)) in columns {
        if *role == Role::Time && !values.is_empty() {
            times.push(TimeColumn {
                name: column.name.clone(),
                kind: table.clocks.get(index).copied().flatten().unwrap_or(ClockKind::Numbers),
                unit: heading.time_unit,
                values,
            });
        } else if is_reading(*role) {
            let rows_of = |lists: &[Vec<usize>]| lists.get(index).cloned().unwrap_or_default();
            readings.push(Reading {
                role: *role,
                name: column.name.clone(),
                unit: heading.temperature_unit,
                values,
                faults: rows_of(&table.faults),
                missing: rows_of(&table.missing),
            });
        }
    }
    assemble(Raw { file: file.to_owned(), times, readings, repairs }, options)
}

const fn used_as(role: Role) -> Use {
    match role {
        Role::Time => Use::Clock,
        Role::Date => Use::Date,
        Role::Air | Role::PartSide | Role::Setpoint | Role::Duty => Use::Number,
        Role::Temperature | Role::Other => Use::Skip,
    }
}

/// A time column before it is elapsed seconds.
#[derive(Debug, Clone)]
pub(super) struct TimeColumn {
    pub name: String,
    pub kind: ClockKind,
    pub unit: Option<TimeUnit>,
    pub values: Vec<f64>,
}

/// A channel before it is cleaned.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    pub role: Role,
    pub name: String,
    pub unit: Option<TemperatureUnit>,
    pub values: Vec<f64>,
    pub faults: Vec<usize>,
    pub missing: Vec<usize>,
}

/// Columns as they were found.
#[derive(Debug, Clone)]
pub(super) struct Raw {
    pub file: String,
    pub times: Vec<TimeColumn>,
    pub readings: Vec<Reading>,
    pub repairs: Vec<Repair>,
}

/// Gives every column a role: what the user says, else what its heading says, each role once.
fn roles(written: &Dialect, file: &str, options: &ReadOptions, notes: &mut Notes) -> Result<Vec<Role>> {
    let names: Vec<&str> = written.columns.iter().map(|column| column.name.as_str()).collect();
    let said = |name: &str| options.channels.iter().find(|(column, _)| column == name).map(|(_, role)| *role);
    if let Some((missing, _)) = options.channels.iter().find(|(column, _)| !names.contains(&column.as_str())) {
        return Err(Error::UnknownName {
            kind: "column".into(),
            name: cut(missing),
            close: few(names.iter().copied()),
            hint: "channels= names columns of the file".into(),
        });
    }
    let mut roles: Vec<Role> = written.columns.iter().map(|c| said(&c.name).unwrap_or(c.heading.role)).collect();
    settle(&mut roles, &names, options, file, Some(written.body_line.saturating_sub(1).max(1)), notes)?;
    Ok(roles)
}

/// Leaves each role to one column, and refuses when none is left for time or temperature.
pub(super) fn settle(
    roles: &mut [Role],
    names: &[&str],
    options: &ReadOptions,
    file: &str,
    line: Option<usize>,
    notes: &mut Notes,
) -> Result<()> {
    let given = |name: &str| options.channels.iter().any(|(column, _)| column == name);
    for role in [Role::Air, Role::PartSide, Role::Setpoint, Role::Duty] {
        let mut holders: Vec<usize> = (0..roles.len()).filter(|&at| roles.get(at) == Some(&role)).collect();
        holders.sort_by_key(|&at| (!names.get(at).is_some_and(|name| given(name)), at));
        for &at in holders.iter().skip(1) {
            if let Some(role) = roles.get_mut(at) {
                *role = Role::Temperature;
            }
        }
    }
    let has = |roles: &[Role], role: Role| roles.contains(&role);
    let unnamed: Vec<usize> = (0..roles.len()).filter(|&at| roles.get(at) == Some(&Role::Temperature)).collect();
    let listed = |at: &[usize]| few(at.iter().filter_map(|&at| names.get(at).copied())).join(", ");
    if !has(roles, Role::Air) && !has(roles, Role::PartSide) {
        match unnamed.as_slice() {
            [] => {
                return Err(refusal(
                    file,
                    line,
                    format!("no temperature column was found among: {}", few(names.iter().copied()).join(", ")),
                    "Name it with channels={\"air\": \"the column's heading\"} or {\"part_side\": ...}",
                ));
            }
            [only] => {
                notes.push(("channel", format!("column '{}' was taken as the oven's air; say channels={{\"part_side\": ...}} if the probe lies beside the part", listed(&unnamed))));
                if let Some(role) = roles.get_mut(*only) {
                    *role = Role::Air;
                }
            }
            several => {
                return Err(refusal(
                    file,
                    line,
                    format!("several temperature columns, and none says what it is: {}", listed(several)),
                    "Say which is the air and which lies beside the part: channels={\"air\": ..., \"part_side\": ...}",
                ));
            }
        }
    } else if !unnamed.is_empty() {
        notes.push(("channel", format!("not used: {}", listed(&unnamed))));
    }
    if !has(roles, Role::Time) {
        if let Some(date) = roles.iter_mut().find(|role| **role == Role::Date) {
            *date = Role::Time;
        } else {
            return Err(refusal(
                file,
                line,
                format!("no time column was found among: {}", few(names.iter().copied()).join(", ")),
                "Name it with channels={\"time\": \"the column's heading\"}; rows are not counted as time",
            ));
        }
    }
    Ok(())
}

/// Elapsed seconds out of the time columns there are; whether they come from clock text.
fn elapsed(
    times: &mut Vec<TimeColumn>,
    options: &ReadOptions,
    file: &str,
    repairs: &mut Vec<Repair>,
) -> Result<(Vec<f64>, bool)> {
    // A counter with its unit is best, then clock text, then a counter whose unit must be worked out.
    times.sort_by_key(|time| match (time.kind, time.unit) {
        (ClockKind::Numbers, Some(_)) => 0,
        (ClockKind::Dated, _) => 1,
        (ClockKind::TimeOfDay, _) => 2,
        (ClockKind::Numbers, None) => 3,
    });
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
        let mut values = first.values;
        if let (ClockKind::Dated, Some(zone)) = (first.kind, &options.zone) {
            zone.even(&mut values);
            repairs.push(Repair::of_file(
                "time zone",
                format!(
                    "'{}' was read as local time of the zone given: daylight saving does not count as time",
                    first.name
                ),
            ));
        }
        return Ok((values, true));
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
    let values = first.values.iter().map(|value| value * scale).collect();
    Ok((values, scale == super::clock::DAY_S))
}

/// No time of a log lies farther from its zero than this, in s: three centuries, which holds every clock that counts
/// from 1970.
const FARTHEST_S: f64 = 1e10;

/// No sensor that is corrected by more than this, in °C, measures anything.
const LARGEST_CORRECTION_C: f64 = 100.0;

/// Refuses times that no record has.
fn within_reach(seconds: &[f64], file: &str) -> Result<()> {
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
            if clock_step < 0.0 && step >= 0.0 {
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
        (super::clock::DAY_S, "days, as spreadsheets count them")
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

/// Why a channel of unstated unit may not be °C, if that is so.
///
/// A hold at 392 to 430 in unlabelled units is 200 to 221 °C far more often than a temper at 400 °C.
fn doubtful_unit(values: &[f64]) -> Option<String> {
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let start = finite.first().copied()?;
    let highest = finite.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let level = median(
        finite
            .iter()
            .copied()
            .filter(|&v| v > 0.5 * (highest + finite.iter().copied().fold(f64::INFINITY, f64::min)))
            .collect(),
    );
    let level = if level.is_nan() { highest } else { level };
    let celsius = (level - 32.0) / 1.8;
    if (285.0..=303.0).contains(&start) && (400.0..900.0).contains(&level) {
        return Some(format!(
            "it starts at {start:.0} and holds {level:.0}, which looks like kelvin ({:.0} °C)",
            level - 273.15
        ));
    }
    let room_f = (55.0..=95.0).contains(&start) && level > 280.0;
    let hold_f = (385.0..=435.0).contains(&level) && !(5.0..=40.0).contains(&start);
    (room_f || hold_f).then(|| {
        format!("it starts at {start:.0} and holds {level:.0}, which is probably °F ({celsius:.0} °C) and could be °C")
    })
}

/// Cleans, orders and corrects the columns: what every source of a log goes through.
pub(super) fn assemble(raw: Raw, options: &ReadOptions) -> Result<OvenLog> {
    let Raw { file, mut times, mut readings, mut repairs } = raw;
    let (time, is_clock) = elapsed(&mut times, options, &file, &mut repairs)?;
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
    let rows = time.len();
    let disorder = |Disorder(why, hint): Disorder| refusal(&file, None, why, hint);
    let mut line = clean::in_order(time, is_clock, &mut repairs).map_err(disorder)?;
    if is_clock {
        let base = line.seconds.first().copied().unwrap_or(0.0);
        line.seconds.iter_mut().for_each(|time| *time -= base);
    }
    let mut channels: Vec<(Role, Vec<f64>)> = Vec::new();
    for reading in &mut readings {
        let values = std::mem::take(&mut reading.values);
        channels.push((reading.role, picked(values, &line.rows)));
    }
    let keep = clean::same_time(&line, &mut channels, &mut repairs);
    let mut when = vec![f64::NAN; rows];
    for (&row, &time) in line.rows.iter().zip(&line.seconds) {
        if let Some(slot) = when.get_mut(row) {
            *slot = time;
        }
    }
    let kept_rows: Vec<usize> = keep.iter().filter_map(|&at| line.rows.get(at).copied()).collect();
    let seconds = picked(line.seconds, &keep);
    if seconds.len() < 2 {
        return Err(refusal(&file, None, "all rows carry the same time", "Give a time for each row"));
    }
    let longest = clean::longest_bridge(&seconds);
    let mut made: Vec<Channel> = Vec::new();
    for (reading, (role, values)) in readings.into_iter().zip(channels) {
        let mut values = picked(values, &keep);
        for (kind, rows, what) in [("nan", &reading.missing, "empty"), ("fault code", &reading.faults, "a fault word")]
        {
            if let (Some(&first), Some(&last)) = (rows.first(), rows.last()) {
                let at = |row: usize| when.get(row).copied().unwrap_or(f64::NAN);
                repairs.push(Repair {
                    kind: kind.into(),
                    channel: Some(role),
                    rows: rows.clone(),
                    seconds: Some((at(first), at(last))),
                    why: format!("{} reading(s) are {what}; they were left out", rows.len()),
                });
            }
        }
        if !values.iter().any(|value| value.is_finite()) {
            repairs.push(Repair::of_file(
                "channel",
                format!("'{}' holds no reading at all; it was left out", reading.name),
            ));
            continue;
        }
        let is_temperature = matches!(role, Role::Air | Role::PartSide | Role::Setpoint);
        if is_temperature {
            to_celsius(&reading.name, role, reading.unit, &mut values, options, &file, &mut repairs)?;
        }
        if matches!(role, Role::Air | Role::PartSide) {
            clean::faults(role, &seconds, &kept_rows, &mut values, &mut repairs);
            clean::spikes(role, &seconds, &kept_rows, &mut values, &mut repairs);
            if values.iter().filter(|value| value.is_finite()).count() < 2 {
                repairs.push(Repair::of_file(
                    "channel",
                    format!("'{}' holds fewer than two readings; it was left out", reading.name),
                ));
                continue;
            }
        }
        made.push(Channel { role, name: reading.name, values, correction: None });
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
    Ok(OvenLog { file, seconds, channels: made, repairs, gaps, load })
}

/// The values at some places; the list itself where these are all of it, in order.
fn picked(values: Vec<f64>, places: &[usize]) -> Vec<f64> {
    if places.len() == values.len() && places.iter().enumerate().all(|(index, &place)| index == place) {
        return values;
    }
    places.iter().map(|&place| values.get(place).copied().unwrap_or(f64::NAN)).collect()
}

fn to_celsius(
    name: &str,
    role: Role,
    stated: Option<TemperatureUnit>,
    values: &mut [f64],
    options: &ReadOptions,
    file: &str,
    repairs: &mut Vec<Repair>,
) -> Result<()> {
    let refuse = |why: String, hint: &'static str| Error::DataFile {
        file: file.to_owned(),
        line: None,
        column: Some(name.to_owned()),
        why: why.into(),
        hint: hint.into(),
    };
    let unit = match (stated, options.unit) {
        (Some(stated), Some(said)) if stated != said => {
            return Err(refuse(
                format!("the heading says {} and unit= says {}", stated.text(), said.text()),
                "Leave unit= out, or correct the heading",
            ));
        }
        (Some(stated), _) => stated,
        (None, Some(said)) => said,
        (None, None) => {
            if let Some(why) = doubtful_unit(values) {
                return Err(refuse(format!("no unit is stated: {why}"), "Say unit=\"F\", \"C\" or \"K\""));
            }
            if role != Role::Setpoint {
                repairs.push(Repair::of_file("unit", format!("'{name}' states no unit; taken as °C")));
            }
            TemperatureUnit::Celsius
        }
    };
    if unit != TemperatureUnit::Celsius {
        values.iter_mut().for_each(|value| *value = unit.to_celsius(*value));
        repairs.push(Repair::of_file("unit", format!("'{name}' was converted from {} to °C", unit.text())));
    }
    Ok(())
}

/// Holes in all rows, then holes of one channel that are not also holes in all.
fn holes(seconds: &[f64], channels: &[Channel], longest: f64, repairs: &mut Vec<Repair>) -> Vec<Gap> {
    let mut all = clean::gaps(None, seconds, None, longest);
    for channel in channels.iter().filter(|channel| matches!(channel.role, Role::Air | Role::PartSide)) {
        let own = clean::gaps(Some(channel.role), seconds, Some(&channel.values), longest);
        let common = all.clone();
        all.extend(own.into_iter().filter(|gap| {
            !common
                .iter()
                .any(|known| known.channel.is_none() && known.start_s == gap.start_s && known.end_s == gap.end_s)
        }));
    }
    for gap in &all {
        repairs.push(Repair {
            kind: "gap".into(),
            channel: gap.channel,
            rows: Vec::new(),
            seconds: Some((gap.start_s, gap.end_s)),
            why: format!("no reading for {:.0} s, longer than {longest:.0} s; nothing was filled in, and what follows carries bounds", gap.end_s - gap.start_s),
        });
    }
    all
}

fn loading(
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
            return Err(Error::OutOfRange {
                model: "oven.read_log".into(),
                argument: "load_s".into(),
                value: at_s,
                unit: "s".into(),
                low: start,
                high: end,
                stated_by: "the log's first and last row".into(),
                failed: 1,
                of: 1,
                hint: "Give the elapsed seconds at which the part went in".into(),
            });
        }
        return Ok(Some(Loading { at_s, found: false }));
    }
    let load = of(Role::PartSide).and_then(|part| found(seconds, part, of(Role::Air)));
    if let Some(load) = load {
        repairs.push(Repair {
            kind: "empty oven".into(),
            channel: Some(Role::PartSide),
            rows: Vec::new(),
            seconds: Some((start, load.at_s)),
            why: format!("the part side falls far more than the air at {:.0} s: the part went in there, and what was before does not count; give load_s= if that is wrong", load.at_s),
        });
    }
    Ok(load)
}

fn correct(channels: &mut [Channel], options: &ReadOptions, repairs: &mut Vec<Repair>) -> Result<()> {
    for (role, correction) in &options.corrections {
        let Some(channel) = channels.iter_mut().find(|channel| channel.role == *role) else { continue };
        let sound =
            correction.value_delta_c.is_finite() && correction.u_delta_c.is_finite() && correction.u_delta_c >= 0.0;
        if !sound {
            return Err(Error::InvalidValue {
                model: "oven.read_log".into(),
                argument: "corrections".into(),
                value: if correction.value_delta_c.is_finite() {
                    correction.u_delta_c
                } else {
                    correction.value_delta_c
                },
                unit: "°C".into(),
                why: "is no correction".into(),
                failed: 1,
                of: 1,
                hint: "Give {\"air\": (value_delta_c, u_delta_c)}, finite, with a standard uncertainty of 0 or more"
                    .into(),
            });
        }
        for value in [correction.value_delta_c, correction.u_delta_c] {
            if value.abs() > LARGEST_CORRECTION_C {
                return Err(Error::OutOfRange {
                    model: "oven.read_log".into(),
                    argument: "corrections".into(),
                    value,
                    unit: "°C".into(),
                    low: -LARGEST_CORRECTION_C,
                    high: LARGEST_CORRECTION_C,
                    stated_by: "this library: a sensor that is farther off measures nothing".into(),
                    failed: 1,
                    of: 1,
                    hint: "Give what is added to the readings and its standard uncertainty, both in °C".into(),
                });
            }
        }
        channel.values.iter_mut().for_each(|value| *value += correction.value_delta_c);
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

/// Reads a log that is already in columns, as a data frame is.
///
/// # Errors
/// As [`read_log`].
pub fn read_log_columns(columns: Vec<(String, Values)>, file: &str, options: &ReadOptions) -> Result<OvenLog> {
    let mut notes = Notes::new();
    let names: Vec<&str> = columns.iter().map(|(name, _)| name.as_str()).collect();
    let headings: Vec<_> = names.iter().map(|name| super::role::heading(name)).collect();
    let said = |name: &str| options.channels.iter().find(|(column, _)| column == name).map(|(_, role)| *role);
    let mut roles: Vec<Role> =
        names.iter().zip(&headings).map(|(name, heading)| said(name).unwrap_or(heading.role)).collect();
    for ((_, values), role) in columns.iter().zip(&mut roles) {
        // Instants are a clock whatever their column is called.
        if matches!(values, Values::Instants(_)) {
            *role = Role::Time;
        }
    }
    settle(&mut roles, &names, options, file, None, &mut notes)?;
    let (mut times, mut readings) = (Vec::new(), Vec::new());
    for ((name, values), (role, heading)) in columns.iter().zip(roles.iter().zip(&headings)) {
        match role {
            Role::Time => {
                let kind = if matches!(values, Values::Instants(_)) { ClockKind::Dated } else { ClockKind::Numbers };
                let unit = heading.time_unit;
                times.push(TimeColumn { name: name.clone(), kind, unit, values: values.numbers().to_vec() });
            }
            role if is_reading(*role) => {
                let values = values.numbers().to_vec();
                let missing = (0..values.len()).filter(|&row| values.get(row).is_some_and(|v| v.is_nan())).collect();
                readings.push(Reading {
                    role: *role,
                    name: name.clone(),
                    unit: heading.temperature_unit,
                    values,
                    faults: Vec::new(),
                    missing,
                });
            }
            _ => {}
        }
    }
    let rows = times.first().map_or(0, |time| time.values.len());
    if rows < 2 {
        return Err(refusal(file, None, format!("there are only {rows} rows"), "A log needs at the least two rows"));
    }
    let repairs = notes.into_iter().map(|(kind, why)| Repair::of_file(kind, why)).collect();
    assemble(Raw { file: file.to_owned(), times, readings, repairs }, options)
}

/// A column of a data frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// Numbers.
    Numbers(Vec<f64>),
    /// Instants, in seconds since any fixed one.
    Instants(Vec<f64>),
}

impl Values {
    fn numbers(&self) -> &[f64] {
        match self {
            Self::Numbers(values) | Self::Instants(values) => values,
        }
    }
}
