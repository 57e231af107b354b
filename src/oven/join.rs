//! One oven, a file for each channel: records whose clocks differ, put on one time.

use super::began::Began;
use super::clean::interval;
use super::clock::DAY_S;
use super::loading::Loading;
use super::log::{Channel, OvenLog};
use super::repair::{Gap, Repair};
use super::role::Role;
use crate::error::{Error, Result};

/// What joining records may be told.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JoinOptions {
    /// How far each record's clock is ahead of the first's, s; behind where negative.
    pub clock_ahead_s: Vec<(Role, f64)>,
    /// How far apart readings of two records may be and still make one row, s; half the shorter sampling interval without.
    pub pair_within_s: Option<f64>,
    /// When the part went in, in elapsed seconds of the joined record.
    pub load_s: Option<f64>,
}

/// Where one record's readings came to lie.
struct Placed<'a> {
    log: &'a OvenLog,
    /// Each channel that is taken, and the role it gets.
    taken: Vec<(Role, &'a Channel)>,
    /// What is added to its seconds.
    shift_s: f64,
    /// When each of its rows is in the joined record.
    seconds: Vec<f64>,
}

/// Rows of the joined record: when, and for each channel taken its reading.
type Row = (f64, Vec<f64>);

/// Puts records of one oven, each with one channel, on one time.
///
/// Their clocks are believed, less what `clock_ahead_s` says. Nothing is interpolated: readings that lie near enough make
/// one row at the first record's time, each that was moved so is counted in a note, and the others have rows of their own
/// in which the other channels have no reading.
///
/// # Errors
/// [`Error::Refused`] for fewer than two records, a role twice, a record without the channel it is given for, clocks of
/// different kinds without an offset, records that do not overlap; [`Error::InvalidValue`] for times that are none;
/// [`Error::OutOfRange`] for a loading outside.
///
/// ```
/// use afterquench::oven::{JoinOptions, ReadOptions, Role, join_logs, read_log_bytes};
/// let read = |text: &[u8], name| read_log_bytes(text, name, &ReadOptions::default(), &mut |_, _| true).unwrap();
/// let air = read(b"clock,T1_degc\n10:00:00,20\n10:00:10,40\n10:00:20,60\n", "a_T1.csv");
/// let part = read(b"clock,T2_degc\n10:00:32,20\n10:00:42,25\n10:00:52,33\n", "a_T2.csv");
/// let options = JoinOptions { clock_ahead_s: vec![(Role::PartSide, 30.0)], ..JoinOptions::default() };
/// let log = join_logs(&[(Role::Air, &air), (Role::PartSide, &part)], &options).unwrap();
/// assert_eq!(log.channel(Role::PartSide).unwrap().values, [20.0, 25.0, 33.0]);
/// ```
pub fn join_logs(logs: &[(Role, &OvenLog)], options: &JoinOptions) -> Result<OvenLog> {
    let mut placed = place(logs, options)?;
    let width = placed.iter().map(|one| one.taken.len()).sum();
    let mut rows: Vec<Row> = Vec::new();
    let mut notes = Vec::new();
    let mut first_column = 0;
    let clocks = logs.first().map_or(Began::Counter, |(_, log)| log.began);
    for (index, one) in placed.iter_mut().enumerate() {
        let usual = interval(&one.log.seconds);
        let before = rows.iter().map(|row| row.0).collect::<Vec<_>>();
        let within = options.pair_within_s.unwrap_or(0.5 * usual.min(interval(&before)));
        let moved = merge(&mut rows, one, (first_column, width), within);
        first_column += one.taken.len();
        notes.push(note(one, &placed_name(logs, 0), index, options, moved));
    }
    let seconds: Vec<f64> = rows.iter().map(|row| row.0).collect();
    let mut made = OvenLog {
        file: logs.iter().map(|(_, log)| log.file.as_str()).collect::<Vec<_>>().join(" + "),
        began: clocks,
        channels: Vec::new(),
        repairs: Vec::new(),
        gaps: Vec::new(),
        load: None,
        seconds,
    };
    let mut column = 0;
    for one in &placed {
        for (role, channel) in &one.taken {
            let values = rows.iter().map(|row| row.1.get(column).copied().unwrap_or(f64::NAN)).collect();
            made.channels.push(Channel { role: *role, values, ..(*channel).clone() });
            column += 1;
        }
        made.repairs.extend(repairs(one));
        made.gaps.extend(gaps(one));
    }
    made.repairs.extend(notes);
    made.load = match options.load_s {
        Some(at_s) => Some(given(at_s, &made)?),
        None => {
            placed.iter().find_map(|one| one.log.load.map(|load| Loading { at_s: load.at_s + one.shift_s, ..load }))
        }
    };
    Ok(made)
}

fn refuse(why: String, instead: &'static str) -> Error {
    Error::Refused { what: "joining these logs".into(), why: why.into(), instead: instead.into() }
}

fn placed_name(logs: &[(Role, &OvenLog)], index: usize) -> String {
    logs.get(index).map_or_else(String::new, |(_, log)| log.file.clone())
}

/// The records with their channels, on the time of the first.
fn place<'a>(logs: &[(Role, &'a OvenLog)], options: &JoinOptions) -> Result<Vec<Placed<'a>>> {
    let [(first_role, first), others @ ..] = logs else {
        return Err(refuse("there are none".into(), "Give two or more, each under its role"));
    };
    if others.is_empty() {
        return Err(refuse("there is one only".into(), "Use it as it is"));
    }
    for (role, ahead) in &options.clock_ahead_s {
        if !ahead.is_finite() || !logs.iter().any(|(known, _)| known == role) {
            return Err(refuse(
                format!("clock_ahead_s of {} is {ahead}", role.name()),
                "Give finite seconds, for roles that are joined",
            ));
        }
    }
    if let Some(within) = options.pair_within_s.filter(|within| !(within.is_finite() && *within >= 0.0)) {
        return Err(refuse(
            format!("pair_within_s is {within}"),
            "Give seconds, or 0 to leave each reading where it is",
        ));
    }
    let ahead = |role: Role| options.clock_ahead_s.iter().find(|(known, _)| *known == role).map(|(_, ahead)| *ahead);
    let mut placed: Vec<Placed<'a>> = Vec::new();
    for (index, (role, log)) in logs.iter().enumerate() {
        if logs.iter().take(index).any(|(known, _)| known == role) {
            return Err(refuse(format!("{} is given twice", role.name()), "Give each role once"));
        }
        let own = ahead(*role).unwrap_or(0.0) - ahead(*first_role).unwrap_or(0.0);
        let shift_s = match (first.began, log.began) {
            (Began::Dated(a), Began::Dated(b)) => b - a - own,
            // The nearer way round the clock: one file may begin before midnight and the other behind it.
            (Began::TimeOfDay(a), Began::TimeOfDay(b)) => (b - a - own + 0.5 * DAY_S).rem_euclid(DAY_S) - 0.5 * DAY_S,
            (Began::Counter, Began::Counter) => -own,
            _ if ahead(*role).is_some() || ahead(*first_role).is_some() => -own,
            _ => {
                return Err(refuse(
                    format!(
                        "{} and {} have clocks of different kinds (a counter, a time of day, or a date)",
                        first.file, log.file
                    ),
                    "Say with clock_ahead_s how many seconds since its own first row the one shows at the other's",
                ));
            }
        };
        placed.push(Placed { log, taken: taken(*role, log, logs, &placed)?, shift_s, seconds: Vec::new() });
    }
    let begins = |one: &Placed| one.log.span_s().0 + one.shift_s;
    let earliest = placed.iter().map(begins).fold(f64::INFINITY, f64::min);
    // A counter's zero stays where it is.
    let zero = if first.began == Began::Counter { earliest.min(0.0) } else { earliest };
    for one in &mut placed {
        one.shift_s -= zero;
        one.seconds = one.log.seconds.iter().map(|time| time + one.shift_s).collect();
    }
    let span = |one: &Placed| (one.log.span_s().0 + one.shift_s, one.log.span_s().1 + one.shift_s);
    for one in placed.iter().skip(1) {
        let ((a, b), (c, d)) = (placed.first().map_or((0.0, 0.0), span), span(one));
        if c > b || d < a {
            return Err(refuse(
                format!(
                    "{} lies at {a:.0} to {b:.0} s and {} at {c:.0} to {d:.0} s by their clocks: they never ran together",
                    first.file, one.log.file
                ),
                "Say by how much one clock is ahead with clock_ahead_s, or check that the files belong together",
            ));
        }
    }
    Ok(placed)
}

/// The channel that a record is given for, and the setpoint and the duty where only it has them.
fn taken<'a>(
    role: Role,
    log: &'a OvenLog,
    logs: &[(Role, &OvenLog)],
    placed: &[Placed<'a>],
) -> Result<Vec<(Role, &'a Channel)>> {
    let temperatures: Vec<&Channel> =
        log.channels.iter().filter(|channel| matches!(channel.role, Role::Air | Role::PartSide)).collect();
    let own = match (log.channel(role), temperatures.as_slice()) {
        (Some(channel), _) => channel,
        // A lone temperature whose heading says no more was taken as air; here it is said what it is.
        (None, [only]) if role != Role::Duty => only,
        _ => {
            return Err(refuse(
                format!("{} has no channel that could be {}", log.file, role.name()),
                "Name it with channels= when the file is read",
            ));
        }
    };
    let mut made = vec![(role, own)];
    for also in [Role::Setpoint, Role::Duty] {
        let known = logs.iter().any(|(given, _)| *given == also)
            || placed.iter().any(|one| one.taken.iter().any(|(known, _)| *known == also));
        made.extend(log.channel(also).filter(|_| !known && role != also).map(|channel| (also, channel)));
    }
    Ok(made)
}

/// Takes a record's rows up; how many were moved to a row that was there, by how much at most, and how many have their own.
fn merge(rows: &mut Vec<Row>, one: &mut Placed, (first, width): (usize, usize), within_s: f64) -> (usize, f64, usize) {
    let (mut moved, mut farthest, mut own) = (0, 0.0_f64, 0);
    let there = rows.len();
    let mut used = vec![false; there];
    let mut near = 0;
    for index in 0..one.seconds.len() {
        let Some(&time) = one.seconds.get(index) else { break };
        let off = |at: usize| rows.get(at).filter(|_| at < there).map_or(f64::INFINITY, |row| (row.0 - time).abs());
        while off(near + 1) <= off(near) && near + 1 < there {
            near += 1;
        }
        let readings = one.taken.iter().map(|(_, channel)| channel.values.get(index).copied().unwrap_or(f64::NAN));
        // Of two readings about one row the nearer takes it.
        let next = one.seconds.get(index + 1).zip(rows.get(near));
        let nearer_next = next.is_some_and(|(next, row)| (row.0 - next).abs() < off(near));
        let free = used.get(near) == Some(&false) && off(near) <= within_s && !nearer_next;
        if free {
            let step = off(near);
            if let (Some(row), Some(used), Some(at)) =
                (rows.get_mut(near), used.get_mut(near), one.seconds.get_mut(index))
            {
                *used = true;
                *at = row.0;
                row.1.iter_mut().skip(first).zip(readings).for_each(|(slot, reading)| *slot = reading);
            }
            moved += usize::from(step > 0.0);
            farthest = farthest.max(step);
        } else {
            let mut values = vec![f64::NAN; width];
            values.iter_mut().skip(first).zip(readings).for_each(|(slot, reading)| *slot = reading);
            rows.push((time, values));
            own += 1;
        }
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    (moved, farthest, own)
}

/// What was done to a record's time.
fn note(one: &Placed, first: &str, index: usize, options: &JoinOptions, moved: (usize, f64, usize)) -> Repair {
    let role = one.taken.first().map_or(Role::Other, |(role, _)| *role);
    let ahead = options.clock_ahead_s.iter().find(|(known, _)| *known == role).map(|(_, ahead)| *ahead);
    let clock = match (index, ahead) {
        (0, None) => "its clock is the one that the others are put on".to_owned(),
        (_, Some(ahead)) => format!("its clock was taken to be {ahead:+} s ahead, as given"),
        (_, None) => format!("its clock was taken to show the same time as that of {first}: no offset was given"),
    };
    let (from, until) = (one.log.span_s().0 + one.shift_s, one.log.span_s().1 + one.shift_s);
    let rows = match moved {
        _ if index == 0 => String::new(),
        (0, _, own) => format!("; {own} of its rows have times of their own"),
        (moved, farthest, own) => format!(
            "; {moved} readings were put to rows at most {farthest:.3} s away, {own} have rows of their own, none was \
             interpolated"
        ),
    };
    Repair {
        kind: "clock offset".into(),
        channel: Some(role),
        rows: Vec::new(),
        seconds: Some((from, until)),
        why: format!("{}: {clock}; it runs from {from:.1} to {until:.1} s{rows}", one.log.file),
    }
}

/// A record's own notes, on the joined time.
fn repairs<'a>(one: &'a Placed<'a>) -> impl Iterator<Item = Repair> + 'a {
    one.log.repairs.iter().map(|repair| Repair {
        channel: repair.channel.and_then(|known| renamed(one, known)),
        seconds: repair.seconds.map(|(from, until)| (from + one.shift_s, until + one.shift_s)),
        why: format!("{}: {}", one.log.file, repair.why),
        ..repair.clone()
    })
}

/// The role that a record's channel got.
fn renamed(one: &Placed, known: Role) -> Option<Role> {
    one.taken.iter().find(|(_, channel)| channel.role == known).map(|(role, _)| *role)
}

/// A record's holes: of its channel, since the others went on.
fn gaps<'a>(one: &'a Placed<'a>) -> impl Iterator<Item = Gap> + 'a {
    let role = one.taken.first().map(|(role, _)| *role);
    let moved = |time: f64| {
        let index = one.log.seconds.partition_point(|&known| known < time);
        one.seconds.get(index).copied().unwrap_or(time + one.shift_s)
    };
    one.log.gaps.iter().filter_map(move |gap| {
        let channel = match gap.channel {
            None => role,
            Some(known) => Some(renamed(one, known)?),
        };
        Some(Gap { channel, start_s: moved(gap.start_s), end_s: moved(gap.end_s) })
    })
}

fn given(at_s: f64, log: &OvenLog) -> Result<Loading> {
    let (low, high) = log.span_s();
    if (low..high).contains(&at_s) {
        return Ok(Loading { at_s, found: false });
    }
    Err(Error::outside(
        "oven.join_logs",
        "load_s",
        (at_s, "s"),
        (low, high),
        "the joined log's first and last row",
        "Give the elapsed seconds of the joined log at which the part went in",
    ))
}
