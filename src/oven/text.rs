//! A log out of a text: how it is written, what its columns are, its rows.

use super::assemble::{Raw, Reading, assemble};
use super::cell::trimmed;
use super::clock::{DateOrder, OrderFound, date_of, date_order, names_month, stamp};
use super::columns::{roles, used_as};
use super::dialect::{Dialect, Notes, cut, dialect, fields, refusal};
use super::elapsed::{ClockKind, TimeColumn};
use super::feed::{Feed, Source, text_of};
use super::log::{OvenLog, ReadOptions};
use super::long::pivoted;
use super::pieces::read;
use super::repair::Repair;
use super::role::Role;
use super::table::{Piece, Use, is_reading};
use crate::error::{Error, Result};

/// The longest table with one row a reading.
const LONGEST: usize = 1 << 28;

/// What is known of a text before its rows are read.
pub(super) struct Layout {
    pub written: Dialect,
    pub roles: Vec<Role>,
    pub uses: Vec<Use>,
    pub order: Option<DateOrder>,
}

/// Reads a log from a source.
pub(super) fn read_source(
    source: Source<'_>,
    file: &str,
    options: &ReadOptions,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<OvenLog> {
    let mut notes = Notes::new();
    let mut feed = Feed::open(source, file, &mut notes)?;
    let written = dialect(feed.head(), file, &mut notes)?;
    if let Some(long) = &written.long {
        let body = written.body;
        feed.skip(body);
        let wide = pivoted(&feed.rest(LONGEST)?, &written, long);
        notes.push(("long layout", "one row a reading: rows of one time were put side by side by channel".into()));
        return read_wide(Source::Bytes(&wide), file, options, notes, progress);
    }
    read_with(feed, source, written, file, options, notes, progress)
}

fn read_wide(
    source: Source<'_>,
    file: &str,
    options: &ReadOptions,
    mut notes: Notes,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<OvenLog> {
    let mut of_the_way = Notes::new();
    let feed = Feed::open(source, file, &mut of_the_way)?;
    let written = dialect(feed.head(), file, &mut of_the_way)?;
    of_the_way.retain(|(kind, _)| *kind != "separator");
    notes.append(&mut of_the_way);
    read_with(feed, source, written, file, options, notes, progress)
}

fn read_with(
    mut feed: Feed<'_>,
    source: Source<'_>,
    written: Dialect,
    file: &str,
    options: &ReadOptions,
    mut notes: Notes,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<OvenLog> {
    let mut layout = layout(feed.head(), written, file, options, &mut notes)?;
    feed.skip(layout.written.body);
    let stopped = || Error::Refused {
        what: "reading the log".into(),
        why: "it was stopped from outside".into(),
        instead: "Read it again".into(),
    };
    let mut table = read(feed, &layout.written, &layout.uses, layout.order, progress)?.ok_or_else(stopped)?;
    if let Some(order) = other_order(&table, &layout, file, options, &mut notes)? {
        // The order of day and month shows only further on: once more from the start.
        layout.order = Some(order);
        let mut again = Feed::open(source, file, &mut Notes::new())?;
        again.skip(layout.written.body);
        table = read(again, &layout.written, &layout.uses, layout.order, progress)?.ok_or_else(stopped)?;
    }
    if table.impossible.is_none() {
        enough(&table, &layout.written, file)?;
    }
    raw(table, &layout, file, notes).and_then(|raw| assemble(raw, options))
}

/// Refuses a table of fewer than two rows.
fn enough(table: &Piece, written: &Dialect, file: &str) -> Result<()> {
    if table.rows < 2 {
        let line = table.unread.map(|(line, ..)| line + written.body_line).or(Some(written.body_line));
        let why = if table.rows == 0 {
            "there are no data rows".to_owned()
        } else {
            "there is only one data row, and no time passes in it".to_owned()
        };
        return Err(refusal(file, line, why, "A log needs at the least two rows with a time and a temperature each"));
    }
    Ok(())
}

/// Finds out what the columns are and how they are read.
pub(super) fn layout(
    head: &[u8],
    written: Dialect,
    file: &str,
    options: &ReadOptions,
    notes: &mut Notes,
) -> Result<Layout> {
    let roles = roles(&written, file, options, notes)?;
    let uses: Vec<Use> =
        roles.iter().zip(&written.columns).map(|(role, column)| used_as(*role, column.counts)).collect();
    months_in_figures(head, &written, &uses, file)?;
    let order = match options.day_first {
        Some(true) => Some(DateOrder::DayFirst),
        Some(false) => Some(DateOrder::MonthFirst),
        None => settled(date_order(&dates(head, &written, &uses)), &written, &uses, file, notes)?,
    };
    Ok(Layout { written, roles, uses, order })
}

/// Dates in the clock columns of a text, as they change.
fn dates(head: &[u8], dialect: &Dialect, uses: &[Use]) -> Vec<String> {
    let mut dates: Vec<String> = Vec::new();
    clocks(head, dialect, uses, |_, text| {
        if let Some(date) = date_of(text).filter(|&date| dates.last().is_none_or(|last| last != date)) {
            dates.push(date.to_owned());
        }
    });
    dates
}

/// Calls `each` with the line after the heading, from 0, and the text of every cell of a clock or date column.
fn clocks(head: &[u8], dialect: &Dialect, uses: &[Use], mut each: impl FnMut(usize, &str)) {
    let is_clock = |used: &Use| matches!(used, Use::Clock | Use::Date);
    if !uses.iter().any(is_clock) {
        return;
    }
    for (number, line) in head.get(dialect.body..).unwrap_or_default().split(|&byte| byte == b'\n').enumerate() {
        let mut index = 0;
        fields(line, dialect.separator, |field| {
            if uses.get(index).is_some_and(is_clock) {
                each(number, &text_of(trimmed(field)));
            }
            index += 1;
        });
    }
}

/// Refuses dates whose month is a word: they would be rows without a time, or a clock without its days.
fn months_in_figures(head: &[u8], dialect: &Dialect, uses: &[Use], file: &str) -> Result<()> {
    let mut found: Option<(usize, String)> = None;
    clocks(head, dialect, uses, |number, text| {
        if found.is_none() && stamp(text, None).is_none() && names_month(text) {
            found = Some((number, cut(text)));
        }
    });
    found.map_or(Ok(()), |(number, text)| {
        Err(refusal(
            file,
            Some(dialect.body_line + number),
            format!("'{text}' writes the month as a word"),
            "Write dates in figures: 2026-03-04 10:00:00, 04.03.2026 10:00:00, or 03/04/2026 10:00:00 with day_first=",
        ))
    })
}

/// The order of day and month that dates have, with a note where it was worked out.
///
/// # Errors
/// [`Error::DataFile`] when both can be and it matters.
fn settled(
    found: OrderFound,
    dialect: &Dialect,
    uses: &[Use],
    file: &str,
    notes: &mut Notes,
) -> Result<Option<DateOrder>> {
    let counted =
        dialect.columns.iter().zip(uses).any(|(c, used)| *used == Use::Counter && c.heading.time_unit.is_some());
    match found {
        OrderFound::Either => Ok(None),
        OrderFound::Settled(order) => Ok(Some(order)),
        OrderFound::Follows(order, shown) => {
            let (first, other) = match order {
                DateOrder::DayFirst => ("day", "month"),
                DateOrder::MonthFirst => ("month", "day"),
            };
            notes.push((
                "date order",
                format!("dates are read with the {first} first: {shown} would lie weeks apart with the {other} first"),
            ));
            Ok(Some(order))
        }
        // A counter beside the clock is used, and the clock is only compared.
        OrderFound::Open(_) if counted => Ok(None),
        OrderFound::Open(shown) => Err(refusal(
            file,
            Some(dialect.body_line),
            format!("dates like {shown} may have the day or the month first, and neither makes rows that follow on"),
            "Say day_first=True or False, write dates as 2026-03-04 (or 2026-03-04T10:00:00+01:00 with the time zone), \
             or give a column elapsed_s",
        )),
    }
}

/// The order of day and month where all dates say another than those at the beginning.
fn other_order(
    table: &Piece,
    layout: &Layout,
    file: &str,
    options: &ReadOptions,
    notes: &mut Notes,
) -> Result<Option<DateOrder>> {
    if options.day_first.is_some() || layout.order.is_some() {
        return Ok(None);
    }
    let order = settled(date_order(&table.dates), &layout.written, &layout.uses, file, notes)?;
    Ok(order.filter(|order| *order == DateOrder::MonthFirst))
}

/// The columns of a table with their roles.
pub(super) fn raw(mut table: Piece, layout: &Layout, file: &str, mut notes: Notes) -> Result<Raw> {
    let Layout { written, roles, .. } = layout;
    if let Some((line, text)) = table.impossible.take() {
        return Err(refusal(
            file,
            Some(line + written.body_line),
            format!("there is no day '{text}'"),
            "Correct the date; a clock that shows it can't be trusted for the time that passed",
        ));
    }
    if let Some(why) = &table.broken {
        notes.push(("truncated", format!("the file ends early ({why}); what came before was read")));
    }
    notes.append(&mut table.notes(written.body_line));
    let kind = if table.marks.dated { ClockKind::Dated } else { ClockKind::TimeOfDay };
    let (mut times, mut readings) = (Vec::new(), Vec::new());
    for (index, ((values, role), column)) in table.columns.into_iter().zip(roles).zip(&written.columns).enumerate() {
        let (name, heading) = (column.name.clone(), &column.heading);
        if *role == Role::Time && !values.is_empty() {
            let kind = if column.counts { ClockKind::Numbers } else { kind };
            times.push(TimeColumn { name, kind, unit: heading.time_unit, marks: table.marks, values });
        } else if is_reading(*role) {
            let rows_of = |lists: &mut Vec<Vec<usize>>| lists.get_mut(index).map(std::mem::take).unwrap_or_default();
            readings.push(Reading {
                role: *role,
                name,
                unit: heading.temperature_unit,
                values,
                faults: rows_of(&mut table.faults),
                missing: rows_of(&mut table.missing),
                units: table.units.get_mut(index).map(std::mem::take).unwrap_or_default(),
            });
        }
    }
    let events = table.events.into_iter().map(|(row, _, text)| (row, text)).collect();
    let repairs = notes.into_iter().map(|(kind, why)| Repair::of_file(kind, why)).collect();
    Ok(Raw { file: file.to_owned(), times, readings, events, repairs })
}
