//! Readings of any unit as °C, and units that can't be known.

use super::cell::TemperatureUnit;
use super::clean::median;
use super::extent::extent;
use super::log::ReadOptions;
use super::repair::Repair;
use super::role::Role;
use super::sample::stride;
use super::table::UnitRuns;
use crate::error::{Error, Result};

/// Converts the readings whose cells name their unit; the others are in the unit stated, or else in the one the cells
/// name. Hands back the unit of the column as it now is.
pub(super) fn cells_to_celsius(
    (name, role): (&str, Role),
    stated: Option<TemperatureUnit>,
    runs: &UnitRuns,
    values: &mut [f64],
    repairs: &mut Vec<Repair>,
) -> Option<TemperatureUnit> {
    let first = runs.first()?.1;
    let other = stated.unwrap_or(first);
    let mut at = 0;
    for (range, unit) in runs {
        for (from, until, unit) in [(at, range.start, other), (range.start, range.end, *unit)] {
            let part = values.get_mut(from..until).unwrap_or_default();
            if unit != TemperatureUnit::Celsius {
                part.iter_mut().for_each(|value| *value = unit.to_celsius(*value));
            }
        }
        at = range.end;
    }
    values.iter_mut().skip(at).filter(|_| other != TemperatureUnit::Celsius).for_each(|v| *v = other.to_celsius(*v));
    let changes: Vec<usize> =
        runs.iter().skip(1).filter(|(_, unit)| *unit != first).map(|(rows, _)| rows.start).collect();
    if changes.is_empty() {
        repairs.push(Repair::of_file("unit", format!("'{name}' names its unit in its cells: {}", first.text())));
    } else {
        repairs.push(Repair {
            kind: "unit".into(),
            channel: Some(role),
            rows: changes,
            seconds: None,
            why: format!("the cells of '{name}' change their unit; each was converted from its own to °C"),
        });
    }
    Some(TemperatureUnit::Celsius)
}

/// Why a channel of unstated unit may not be °C, if that is so.
///
/// A hold at 392 to 430 in unlabelled units is 200 to 221 °C far more often than a temper at 400 °C.
fn doubtful_unit(values: &[f64]) -> Option<String> {
    let every = stride(values.len());
    let finite: Vec<f64> = values.iter().copied().step_by(every).filter(|v| v.is_finite()).collect();
    let start = finite.first().copied()?;
    let (lowest, highest) = extent(&finite);
    let level = median(finite.iter().copied().filter(|&v| v > 0.5 * (highest + lowest)).collect());
    let level = if level.is_nan() { highest } else { level };
    let celsius = (level - 32.0) / 1.8;
    if (285.0..=303.0).contains(&start) && (400.0..900.0).contains(&level) {
        return Some(format!(
            "it starts at {start:.0} and holds {level:.0}, which looks like kelvin ({:.0} °C)",
            level - 273.15
        ));
    }
    let whole = finite.iter().all(|value| value.fract() == 0.0);
    if whole && (150.0..=350.0).contains(&start) && (1200.0..6000.0).contains(&level) {
        return Some(format!(
            "it starts at {start:.0} and holds {level:.0} in whole numbers, which looks like tenths of a degree ({:.1} °C)",
            level / 10.0
        ));
    }
    let room_f = (55.0..=95.0).contains(&start) && level > 280.0;
    let hold_f = (385.0..=435.0).contains(&level) && !(5.0..=40.0).contains(&start);
    (room_f || hold_f).then(|| {
        format!("it starts at {start:.0} and holds {level:.0}, which is probably °F ({celsius:.0} °C) and could be °C")
    })
}

/// A refusal of a column whose unit can't be known.
fn refused((file, name): (&str, &str), why: String, hint: &'static str) -> Error {
    Error::DataFile {
        file: file.to_owned(),
        line: None,
        column: Some(name.to_owned()),
        why: why.into(),
        hint: hint.into(),
    }
}

/// Refuses a column that seems to change its unit in the middle; one whose unit the caller states is taken at that word,
/// with a note.
pub(super) fn switched(
    (name, role): (&str, Role),
    (at_s, before_c, behind_c): (f64, f64, f64),
    options: &ReadOptions,
    file: &str,
) -> Result<Repair> {
    let why = format!(
        "at {at_s:.0} s it goes from {before_c:.0} to {behind_c:.0} °C between two readings and stays there, as if its unit \
         changed between °C and °F"
    );
    if options.unit.is_none() {
        let hint = "Cut the file there and read the stretches with join_logs, each in its own unit; or say unit= if it is \
                    right as it stands";
        return Err(refused((file, name), why, hint));
    }
    Ok(Repair {
        kind: "unit".into(),
        channel: Some(role),
        rows: Vec::new(),
        seconds: Some((at_s, at_s)),
        why: format!("{why}; it was taken as unit= says"),
    })
}

pub(super) fn to_celsius(
    name: &str,
    role: Role,
    stated: Option<TemperatureUnit>,
    values: &mut [f64],
    options: &ReadOptions,
    file: &str,
    repairs: &mut Vec<Repair>,
) -> Result<TemperatureUnit> {
    let refuse = |why: String, hint| refused((file, name), why, hint);
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
                return Err(refuse(format!("no unit is stated: {why}"), "Say unit=\"F\", \"C\", \"K\" or \"0.1C\""));
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
    Ok(unit)
}
