//! Which column is what: by what the caller says, by headings, by what a column holds.

use super::dialect::{Dialect, Notes, cut, few, refusal};
use super::log::ReadOptions;
use super::role::{Role, without_unit};
use super::table::Use;
use crate::error::{Error, Result};

/// What the cells of a column are read as.
pub(super) const fn used_as(role: Role, counts: bool) -> Use {
    match role {
        Role::Time if counts => Use::Counter,
        Role::Time => Use::Clock,
        Role::Date => Use::Date,
        Role::Air | Role::PartSide | Role::Setpoint | Role::Duty => Use::Number,
        Role::Temperature | Role::Other => Use::Skip,
    }
}

/// Gives every column a role: what the user says, else what its heading says, each role once.
pub(super) fn roles(written: &Dialect, file: &str, options: &ReadOptions, notes: &mut Notes) -> Result<Vec<Role>> {
    let names: Vec<&str> = written.columns.iter().map(|column| column.name.as_str()).collect();
    let channels = named(options, &names)?;
    let said = |name: &str| channels.iter().find(|(column, _)| column == name).map(|(_, role)| *role);
    let mut roles: Vec<Role> = written.columns.iter().map(|c| said(&c.name).unwrap_or(c.heading.role)).collect();
    let constant: Vec<bool> = written.columns.iter().map(|column| column.constant).collect();
    setpoint(&mut roles, &constant, &names, notes);
    settle(&mut roles, &names, &channels, file, Some(written.body_line.saturating_sub(1).max(1)), notes)?;
    Ok(roles)
}

/// The roles that the caller gives, by the headings as they are written: each by its whole heading, or by the heading
/// without its unit where one column alone has it.
///
/// # Errors
/// [`Error::UnknownName`] for a heading that there is not, [`Error::Refused`] for one that several columns have.
pub(super) fn named(options: &ReadOptions, names: &[&str]) -> Result<Vec<(String, Role)>> {
    let heading = |asked: &str| -> Result<String> {
        if names.contains(&asked) {
            return Ok(asked.to_owned());
        }
        let alike: Vec<&str> = names.iter().copied().filter(|name| without_unit(name) == asked.trim()).collect();
        match alike.as_slice() {
            [only] => Ok((*only).to_owned()),
            [] => Err(Error::UnknownName {
                kind: "column".into(),
                name: cut(asked),
                close: few(names.iter().copied()),
                hint: "channels= names columns of the file, with or without their unit".into(),
            }),
            several => Err(Error::Refused {
                what: format!("the column '{}' of channels=", cut(asked)).into(),
                why: format!("several columns have that heading: {}", few(several.iter().copied()).join(", ")).into(),
                instead: "Give the whole heading, with its unit".into(),
            }),
        }
    };
    options.channels.iter().map(|(asked, role)| Ok((heading(asked)?, *role))).collect()
}

/// Of several temperature columns that say nothing, those that stand still while one moves are no sensors.
fn setpoint(roles: &mut [Role], constant: &[bool], names: &[&str], notes: &mut Notes) {
    let open: Vec<usize> = (0..roles.len()).filter(|&at| roles.get(at) == Some(&Role::Temperature)).collect();
    let (still, moving): (Vec<usize>, Vec<usize>) = open.iter().partition(|&&at| constant.get(at) == Some(&true));
    let has_setpoint = roles.contains(&Role::Setpoint);
    if let ([only], [_, ..], false) = (still.as_slice(), moving.as_slice(), has_setpoint) {
        if let (Some(role), Some(name)) = (roles.get_mut(*only), names.get(*only)) {
            *role = Role::Setpoint;
            notes.push(("channel", format!("column '{}' stands still: it was taken as the setpoint", cut(name))));
        }
    }
}

/// Leaves each role to one column, and refuses when none is left for time or temperature.
pub(super) fn settle(
    roles: &mut [Role],
    names: &[&str],
    channels: &[(String, Role)],
    file: &str,
    line: Option<usize>,
    notes: &mut Notes,
) -> Result<()> {
    let given = |name: &str| channels.iter().any(|(column, _)| column == name);
    let twice =
        |(at, (name, _)): (usize, &(String, Role))| channels.iter().skip(at + 1).any(|(other, _)| other == name);
    if let Some((_, (name, _))) = channels.iter().enumerate().find(|&entry| twice(entry)) {
        return Err(refusal(
            file,
            line,
            format!("channels= names column '{}' for two roles", cut(name)),
            "Give each role a column of its own; with one sensor, name the air or the part side",
        ));
    }
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
            [] if names.iter().any(|name| Role::is_voltage(name)) => {
                return Err(refusal(
                    file,
                    line,
                    "its readings are millivolts of a thermocouple, which are no temperature without the cold junction's",
                    "Convert them with emf_to_temperature and the cold junction's temperature first",
                ));
            }
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
