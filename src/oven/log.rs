//! An oven's record: what it holds, and the ways to read one.

use serde::{Deserialize, Serialize};

use std::path::Path;

use super::assemble::{Raw, Reading, assemble};
use super::began::Began;
use super::cell::TemperatureUnit;
use super::columns::{named, settle};
use super::dialect::{Notes, refusal};
use super::elapsed::{ClockKind, TimeColumn};
use super::feed::Source;
use super::loading::Loading;
use super::repair::{Gap, Repair};
use super::role::{Role, TimeUnit};
use super::table::{ClockMarks, UnitRuns, is_reading};
use super::text::read_source;
use super::zone::Zone;
use crate::error::Result;

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
    /// How long the logger was off where its counter starts again.
    pub restart_s: Option<f64>,
    /// Whether dates put the day before the month, where the rows leave that open.
    pub day_first: Option<bool>,
}

/// An oven's record: channels over elapsed seconds, what was repaired, where it has holes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OvenLog {
    /// What it was read from.
    pub file: String,
    /// What the log's clock showed where its elapsed seconds begin.
    pub began: Began,
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
/// [`Error::DataFile`](crate::Error::DataFile) when the file can't be read, is no table, or leaves open what its unit, its clock or its
/// columns are; the message says what would settle it.
pub fn read_log(path: impl AsRef<Path>, options: &ReadOptions) -> Result<OvenLog> {
    let name = path.as_ref().display().to_string();
    read_source(Source::Path(path.as_ref()), &name, options, &mut |_, _| true)
}

/// As [`read_log`], telling its progress: `progress` is given bytes done and in all, and stops by returning false.
///
/// # Errors
/// As [`read_log`].
pub fn read_log_telling(
    path: impl AsRef<Path>,
    options: &ReadOptions,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<OvenLog> {
    read_source(Source::Path(path.as_ref()), &path.as_ref().display().to_string(), options, progress)
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
    read_source(Source::Bytes(bytes), file, options, progress)
}

/// Reads a log that is already in columns, as a data frame is.
///
/// # Errors
/// As [`read_log`].
pub fn read_log_columns(columns: Vec<(String, Values)>, file: &str, options: &ReadOptions) -> Result<OvenLog> {
    let mut notes = Notes::new();
    let names: Vec<&str> = columns.iter().map(|(name, _)| name.as_str()).collect();
    let headings: Vec<_> = names.iter().map(|name| super::role::heading(name)).collect();
    let channels = named(options, &names)?;
    let said = |name: &str| channels.iter().find(|(column, _)| column == name).map(|(_, role)| *role);
    let mut roles: Vec<Role> =
        names.iter().zip(&headings).map(|(name, heading)| said(name).unwrap_or(heading.role)).collect();
    for ((_, values), role) in columns.iter().zip(&mut roles) {
        // Instants are a clock whatever their column is called.
        if matches!(values, Values::Instants(_)) {
            *role = Role::Time;
        }
    }
    settle(&mut roles, &names, &channels, file, None, &mut notes)?;
    let (mut times, mut readings) = (Vec::new(), Vec::new());
    for ((name, values), (role, heading)) in columns.iter().zip(roles.iter().zip(&headings)) {
        match role {
            Role::Time => {
                let kind = if matches!(values, Values::Instants(_)) { ClockKind::Dated } else { ClockKind::Numbers };
                let (name, unit, values) = (name.clone(), heading.time_unit, values.numbers().to_vec());
                times.push(TimeColumn { name, kind, unit, marks: ClockMarks::default(), values });
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
                    units: UnitRuns::new(),
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
    assemble(Raw { file: file.to_owned(), times, readings, events: Vec::new(), repairs }, options)
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
