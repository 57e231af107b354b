//! A survey's columns: which is time, which the control sensor, which the places; in °C and corrected.

use super::SurveyOptions;
use crate::error::{Error, Result};
use crate::oven::cell::TemperatureUnit;
use crate::oven::clean::false_readings;
use crate::oven::dialect::{few, refusal};
use crate::oven::log::Correction;
use crate::oven::order::Rows;
use crate::oven::role::{Role, heading};

/// A column of numbers with its heading.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyColumn {
    /// Its heading.
    pub name: String,
    /// Its numbers; NaN where there is none.
    pub values: Vec<f64>,
}

/// A sensor's readings, in °C and corrected.
pub(super) struct Sensor {
    pub name: String,
    pub values: Vec<f64>,
    pub correction: Option<Correction>,
}

/// The columns by their use.
pub(super) struct Read {
    pub seconds: Vec<f64>,
    pub sensors: Vec<Sensor>,
    pub control: Option<Sensor>,
    pub notes: Vec<String>,
}

impl Read {
    pub fn span(&self) -> (f64, f64) {
        (self.seconds.first().copied().unwrap_or(f64::NAN), self.seconds.last().copied().unwrap_or(f64::NAN))
    }
}

const FILE: &str = "survey";

/// A heading without its unit.
fn bare(name: &str) -> &str {
    let name = name.trim();
    let cut = name.find(['[', '(']).map_or(name, |at| name.get(..at).unwrap_or(name)).trim();
    let lower = cut.to_ascii_lowercase();
    ["_degc", "_degf", "_deg_c", "_c", "_f", " degc", " °c"]
        .iter()
        .find(|unit| lower.ends_with(*unit))
        .and_then(|unit| cut.get(..cut.len() - unit.len()))
        .unwrap_or(cut)
}

/// The columns of a plain CSV file: commas, `#` remarks, one heading line; a cell that is no number is NaN.
///
/// # Errors
/// [`Error::DataFile`] for a file that is no table.
pub fn survey_columns(bytes: &[u8], file: &str) -> Result<Vec<SurveyColumn>> {
    let hint = "Give a table with commas and one heading line, or read it with pandas and give the frame";
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(bytes);
    let heading = reader.headers().map_err(|error| refusal(file, None, error.to_string(), hint))?.clone();
    let mut made: Vec<SurveyColumn> =
        heading.iter().map(|name| SurveyColumn { name: name.to_owned(), values: Vec::new() }).collect();
    for row in reader.records() {
        let row = row.map_err(|error| refusal(file, None, error.to_string(), hint))?;
        for (column, cell) in made.iter_mut().zip(&row) {
            column.values.push(cell.parse().unwrap_or(f64::NAN));
        }
    }
    Ok(made)
}

/// Sorts the columns by use, brings them to °C and corrects them.
pub(super) fn read(columns: &[SurveyColumn], options: &SurveyOptions, setpoint_c: f64) -> Result<Read> {
    let names = || few(columns.iter().map(|column| column.name.as_str())).join(", ");
    let mut notes = Vec::new();
    let (mut time, mut control, mut sensors) = (None, None, Vec::new());
    for column in columns {
        let said = heading(&column.name);
        let chosen = options.control.as_ref().is_some_and(|name| *name == column.name || name == bare(&column.name));
        match said.role {
            Role::Time if time.is_none() => time = Some((column, said.time_unit)),
            Role::Air if !chosen && options.control.is_some() => sensors.push((column, said.temperature_unit)),
            Role::Air if control.is_none() => control = Some((column, said.temperature_unit)),
            _ if chosen => control = Some((column, said.temperature_unit)),
            _ if column.values.iter().all(|value| value.is_nan()) => {
                notes.push(format!("not used: {} holds no numbers", column.name));
            }
            Role::Setpoint | Role::Duty | Role::Date | Role::Time => notes.push(format!("not used: {}", column.name)),
            _ => sensors.push((column, said.temperature_unit)),
        }
    }
    let Some((time, unit)) = time else {
        let hint = "Name the column of elapsed seconds elapsed_s";
        return Err(refusal(FILE, None, format!("no time column among: {}", names()), hint));
    };
    let Some(unit) = unit else {
        let why = format!("the time column '{}' states no unit", time.name);
        return Err(refusal(FILE, None, why, "Name it elapsed_s, elapsed_min or elapsed_h"));
    };
    let seconds: Vec<f64> = time.values.iter().map(|value| value * unit.seconds()).collect();
    if seconds.len() < 2
        || seconds.windows(2).any(|pair| pair.first() >= pair.last())
        || !seconds.iter().all(|t| t.is_finite())
    {
        let why = "time must rise from row to row, and there must be two rows".to_owned();
        return Err(refusal(FILE, None, why, "Sort the rows by time and drop those without one"));
    }
    if sensors.is_empty() {
        return Err(refusal(
            FILE,
            None,
            format!("no sensor among: {}", names()),
            "Name sensors as s1_degc, s2_degc ...",
        ));
    }
    if let Some(wanted) = options.control.as_ref().filter(|_| control.is_none()) {
        return Err(unknown("control column", wanted, columns.iter().map(|column| column.name.clone()).collect()));
    }
    let mut cleaned = Vec::new();
    let mut made = |column: &SurveyColumn, unit: Option<TemperatureUnit>| -> Result<Sensor> {
        if column.values.len() != seconds.len() {
            let why = format!("'{}' has {} rows, the time has {}", column.name, column.values.len(), seconds.len());
            return Err(refusal(FILE, None, why, "Give columns of one length"));
        }
        let name = bare(&column.name).to_owned();
        let correction = options
            .corrections
            .iter()
            .find(|(of, _)| *of == name || *of == column.name)
            .map(|(_, correction)| *correction);
        let add = correction.map_or(0.0, |correction| correction.value_delta_c);
        let mut values: Vec<f64> = column.values.iter().map(|value| celsius(*value, unit)).collect();
        let mut repairs = Vec::new();
        let written = (Role::Air, unit.unwrap_or(TemperatureUnit::Celsius));
        false_readings(written, &seconds, &Rows::default(), &mut values, &mut repairs);
        cleaned.extend(repairs.into_iter().map(|repair| format!("{name}: {}: {}", repair.kind, repair.why)));
        values.iter_mut().for_each(|value| *value += add);
        Ok(Sensor { name, values, correction })
    };
    let read = Read {
        sensors: sensors.iter().map(|(column, unit)| made(column, *unit)).collect::<Result<_>>()?,
        control: control.map(|(column, unit)| made(column, unit)).transpose()?,
        seconds: seconds.clone(),
        notes: notes.into_iter().chain(cleaned).collect(),
    };
    check_units(&read, &sensors, setpoint_c)?;
    let mut read = read;
    let known: Vec<String> = read.sensors.iter().chain(&read.control).map(|sensor| sensor.name.clone()).collect();
    let full = |name: &String| columns.iter().any(|column| column.name == *name);
    if let Some((wanted, _)) = options.corrections.iter().find(|(name, _)| !known.contains(name) && !full(name)) {
        return Err(unknown("sensor", wanted, known));
    }
    let bare_ones: Vec<&str> =
        read.sensors.iter().filter(|sensor| sensor.correction.is_none()).map(|sensor| sensor.name.as_str()).collect();
    if !options.corrections.is_empty() && !bare_ones.is_empty() {
        let note = format!(
            "no correction was given for {}: taken as read, within the tolerance of class 1",
            bare_ones.join(", ")
        );
        read.notes.push(note);
    }
    Ok(read)
}

fn celsius(value: f64, unit: Option<TemperatureUnit>) -> f64 {
    match unit {
        Some(unit) => unit.to_celsius(value),
        None => value,
    }
}

/// Refuses columns without a unit whose numbers lie nowhere near the set point: they may be °F.
fn check_units(read: &Read, columns: &[(&SurveyColumn, Option<TemperatureUnit>)], setpoint_c: f64) -> Result<()> {
    for (sensor, (column, unit)) in read.sensors.iter().zip(columns) {
        let last = sensor.values.iter().rev().find(|value| value.is_finite());
        if let Some(last) =
            last.filter(|last| unit.is_none() && (*last - setpoint_c).abs() > 0.3 * setpoint_c.abs() + 30.0)
        {
            let why = format!(
                "'{}' states no unit and ends at {last}, far from the set point of {setpoint_c} °C",
                column.name
            );
            return Err(refusal(FILE, None, why, "Put the unit into the heading, as s1_degc or s1_degf"));
        }
    }
    Ok(())
}

fn unknown(kind: &'static str, name: &str, close: Vec<String>) -> Error {
    Error::UnknownName { kind: kind.into(), name: name.to_owned(), close, hint: "The survey has no other".into() }
}
