//! The body of a file as columns of numbers.

use super::cell::{Cell, POWERS, TemperatureUnit, number, odd, thousands, trimmed};
use super::clock::{DateOrder, OrderFound, Stamp, date_of, date_order, is_impossible, stamp};
use super::dialect::{Dialect, Notes, cut, fields, is_comment, refusal};
use super::role::Role;
use crate::error::Result;

/// Bytes between two reports of progress.
const TELL_EVERY: usize = 1 << 20;

/// How many rows are looked at for dates whose order must be known.
const LOOK_FOR_DATES: usize = 2000;

/// What a column's cells are read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Use {
    /// Numbers.
    Number,
    /// Clock texts, or numbers where there are no texts.
    Clock,
    /// Dates that belong to the clock.
    Date,
    /// Not read.
    Skip,
}

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

/// The columns that are read, and what came of their odd cells.
#[derive(Debug, Default)]
pub(super) struct Table {
    /// Values of each column read, NaN where there is none.
    pub columns: Vec<Vec<f64>>,
    /// Kind of each column that is a clock.
    pub clocks: Vec<Option<ClockKind>>,
    /// Rows with a fault word, by column.
    pub faults: Vec<Vec<usize>>,
    /// Rows with an empty cell or a word for nothing, by column.
    pub missing: Vec<Vec<usize>>,
    /// Notes on rows that are no data.
    pub notes: Notes,
    /// The first line that could not be read at all, and how many.
    pub unread: (Option<usize>, usize),
    /// The first date that no calendar has, and its line.
    pub impossible: Option<(usize, String)>,
    /// Rows read.
    pub rows: usize,
}

/// Reads the body of a text; `uses` has one entry a column of the dialect.
pub(super) fn read(
    text: &[u8],
    dialect: &Dialect,
    uses: &[Use],
    order: Option<DateOrder>,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<Table> {
    let body = text.get(dialect.body..).unwrap_or_default();
    let mut table = Table {
        columns: vec![Vec::new(); uses.len()],
        clocks: vec![None; uses.len()],
        faults: vec![Vec::new(); uses.len()],
        missing: vec![Vec::new(); uses.len()],
        ..Table::default()
    };
    let expected = body.len() / 24;
    for (column, used) in table.columns.iter_mut().zip(uses) {
        if *used != Use::Skip {
            column.reserve(expected.min(1 << 24));
        }
    }
    let complete = body.last() == Some(&b'\n');
    let (mut events, mut repeated) = (0usize, 0usize);
    let mut row: Vec<f64> = vec![f64::NAN; uses.len()];
    let (mut done, mut tell) = (0, 0);
    let mut rest = body;
    let mut line_number = dialect.body_line;
    let mut quick = Quick::new(dialect, uses);
    while !rest.is_empty() {
        if let Some(length) = quick.row(rest, &mut row) {
            quick.note_kinds(&mut table.clocks);
            for ((column, value), used) in table.columns.iter_mut().zip(&row).zip(uses) {
                if *used != Use::Skip {
                    column.push(*value);
                }
            }
            table.rows += 1;
            line_number += 1;
            done += length;
            rest = rest.get(length..).unwrap_or_default();
            if done >= tell {
                tell = done + TELL_EVERY;
                if !progress(done, body.len()) {
                    return None;
                }
            }
            continue;
        }
        let end = memchr(rest);
        let (line, after) = rest.split_at(end);
        rest = after.get(1..).unwrap_or_default();
        let cut_short = rest.is_empty() && !complete && after.is_empty();
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        line_number += 1;
        done += end + 1;
        if done >= tell {
            tell = done + TELL_EVERY;
            if !progress(done.min(body.len()), body.len()) {
                return None;
            }
        }
        if line.is_empty() || is_comment(line) || line.trim_ascii().is_empty() {
            continue;
        }
        match read_row(line, dialect, uses, order, &mut row, &mut table) {
            Read::Data => {
                for ((column, value), used) in table.columns.iter_mut().zip(&row).zip(uses) {
                    if *used != Use::Skip {
                        column.push(*value);
                    }
                }
                table.rows += 1;
                if cut_short {
                    table.notes.push((
                        "last line",
                        "the last line has no line end; it was kept, but its last figure may be cut".into(),
                    ));
                }
            }
            Read::Impossible(text) => {
                table.impossible.get_or_insert((line_number - 1, text));
            }
            Read::Heading => repeated += 1,
            Read::Nothing => {
                events += 1;
                table.unread.0.get_or_insert(line_number - 1);
                table.unread.1 += 1;
            }
        }
    }
    if repeated > 0 {
        table.notes.push(("heading", format!("{repeated} repeated heading line(s) inside the data were skipped")));
    }
    if events > 0 {
        let first = table.unread.0.unwrap_or(0);
        table.notes.push((
            "not data",
            format!("{events} line(s) without a time or reading were skipped, the first at line {first}"),
        ));
    }
    Some(table)
}

/// The rows that nearly all rows are: plain numbers and plain clock texts, nothing quoted, nothing missing. Anything
/// else is left to [`read_row`].
struct Quick<'a> {
    uses: &'a [Use],
    separator: u8,
    decimal: u8,
    /// The last date read, so that a date is worked out once a day.
    date: ([u8; 10], f64),
    kinds: Vec<Option<ClockKind>>,
    kinds_changed: bool,
}

/// The most figures whose integer a double holds for certain.
const FIGURES: usize = 15;

impl<'a> Quick<'a> {
    fn new(dialect: &Dialect, uses: &'a [Use]) -> Self {
        Self {
            uses,
            separator: dialect.separator,
            decimal: dialect.decimal,
            date: ([0; 10], f64::NAN),
            kinds: vec![None; uses.len()],
            kinds_changed: false,
        }
    }

    /// Reads one row with its line end; the bytes it took.
    fn row(&mut self, text: &[u8], row: &mut [f64]) -> Option<usize> {
        let mut at = 0;
        let last = self.uses.len().checked_sub(1)?;
        for (index, (used, value)) in self.uses.iter().zip(row.iter_mut()).enumerate() {
            let field = text.get(at..)?;
            let length = match used {
                Use::Number => {
                    let (read, length) = plain_number(field, self.decimal)?;
                    *value = read;
                    length
                }
                Use::Clock => {
                    let (read, length, kind) = match plain_number(field, self.decimal) {
                        Some((read, length)) if ends(field, length, self.separator) => {
                            (read, length, ClockKind::Numbers)
                        }
                        _ => plain_clock(field, &mut self.date)?,
                    };
                    *value = read;
                    let known = self.kinds.get_mut(index)?;
                    if *known != Some(kind) {
                        *known = Some(kind);
                        self.kinds_changed = true;
                    }
                    length
                }
                Use::Skip => {
                    *value = f64::NAN;
                    let stop = |&byte: &u8| byte == self.separator || byte == b'\n' || byte == b'"';
                    field.iter().position(stop)?
                }
                Use::Date => return None,
            };
            at += length;
            match text.get(at)? {
                &mark if mark == self.separator && index < last => at += 1,
                b'\n' if index == last => return Some(at + 1),
                b'\r' if index == last && text.get(at + 1) == Some(&b'\n') => return Some(at + 2),
                _ => return None,
            }
        }
        None
    }

    /// Tells the table what its clocks are, when that changed.
    fn note_kinds(&mut self, clocks: &mut [Option<ClockKind>]) {
        if std::mem::take(&mut self.kinds_changed) {
            for (clock, kind) in clocks.iter_mut().zip(&self.kinds) {
                *clock = kind.or(*clock);
            }
        }
    }
}

fn ends(field: &[u8], length: usize, separator: u8) -> bool {
    field.get(length).is_some_and(|&byte| byte == separator || byte == b'\n' || byte == b'\r')
}

/// A number of at most [`FIGURES`] figures at the start of a field, and its length.
fn plain_number(field: &[u8], decimal: u8) -> Option<(f64, usize)> {
    let negative = field.first() == Some(&b'-');
    let start = usize::from(negative);
    let (mut mantissa, mut figures, mut point, mut at) = (0u64, 0usize, None, start);
    while let Some(&byte) = field.get(at) {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            figures += 1;
        } else if byte == decimal && point.is_none() {
            point = Some(figures);
        } else {
            break;
        }
        at += 1;
    }
    if figures == 0 || figures > FIGURES {
        return None;
    }
    let places = point.map_or(0, |before| figures - before);
    let value = if places == 0 { mantissa as f64 } else { mantissa as f64 / POWERS.get(places)? };
    Some((if negative { -value } else { value }, at))
}

/// `YYYY-MM-DDThh:mm:ss` or `hh:mm:ss` at the start of a field: seconds, length, kind.
fn plain_clock(field: &[u8], date: &mut ([u8; 10], f64)) -> Option<(f64, usize, ClockKind)> {
    if let Some(seconds) = clock_face(field) {
        return Some((seconds, 8, ClockKind::TimeOfDay));
    }
    let day: [u8; 10] = field.get(..10)?.try_into().ok()?;
    if !matches!(field.get(10), Some(b'T' | b' ')) {
        return None;
    }
    let seconds = clock_face(field.get(11..)?)?;
    if date.0 != day || date.1.is_nan() {
        if day.get(4) != Some(&b'-') {
            return None;
        }
        date.1 = stamp(std::str::from_utf8(&day).ok()?, None)?.seconds;
        date.0 = day;
    }
    Some((date.1 + seconds, 19, ClockKind::Dated))
}

/// `hh:mm:ss`, 24 hours, at the start of a text.
fn clock_face(text: &[u8]) -> Option<f64> {
    let &[a, b, b':', c, d, b':', e, f] = text.get(..8)? else { return None };
    let two = |tens: u8, ones: u8| {
        let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
        (tens < 10 && ones < 10).then(|| u32::from(tens) * 10 + u32::from(ones))
    };
    let (hours, minutes, seconds) = (two(a, b)?, two(c, d)?, two(e, f)?);
    (hours < 24 && minutes < 60 && seconds < 60).then(|| f64::from(hours * 3600 + minutes * 60 + seconds))
}

enum Read {
    Data,
    Heading,
    Nothing,
    /// A date that no calendar has.
    Impossible(String),
}

/// A counter's cell: in a file of decimal points, a comma before three figures separates thousands.
fn counted(field: &[u8], decimal: u8) -> Option<f64> {
    match odd(field, decimal) {
        Cell::Number(_) if decimal == b'.' && thousands(field).is_some() => thousands(field),
        Cell::Number(read) => Some(read),
        _ => None,
    }
}

/// The place of the next line end, or the length.
fn memchr(text: &[u8]) -> usize {
    text.iter().position(|&byte| byte == b'\n').unwrap_or(text.len())
}

fn read_row(
    line: &[u8],
    dialect: &Dialect,
    uses: &[Use],
    order: Option<DateOrder>,
    row: &mut [f64],
    table: &mut Table,
) -> Read {
    let mut index = 0;
    let mut good_clock = false;
    let mut good_number = false;
    let mut has_clock = false;
    let mut words = 0usize;
    let mut named = 0usize;
    row.fill(f64::NAN);
    let now = table.rows;
    let Table { clocks, faults, missing, .. } = table;
    // One bit a column; a log of more than 64 channels shares the last.
    let (mut faulty, mut empty) = (0u64, 0u64);
    let mut date: Option<f64> = None;
    let mut impossible: Option<String> = None;
    fields(line, dialect.separator, |field| {
        let (Some(used), Some(value)) = (uses.get(index), row.get_mut(index)) else {
            index += 1;
            return;
        };
        let here = index;
        index += 1;
        if *used == Use::Skip {
            return;
        }
        let field = trimmed(field);
        if let Some(read) = number(field, dialect.decimal) {
            *value = read;
            match used {
                Use::Number => good_number = true,
                Use::Clock => {
                    has_clock = true;
                    good_clock = true;
                    if let Some(kind) = clocks.get_mut(here) {
                        kind.get_or_insert(ClockKind::Numbers);
                    }
                }
                Use::Date | Use::Skip => {}
            }
            return;
        }
        match used {
            Use::Clock | Use::Date => {
                has_clock |= *used == Use::Clock;
                let text = std::str::from_utf8(field).unwrap_or("");
                if let Some(Stamp { seconds, dated }) = stamp(text, order) {
                    *value = seconds;
                    if *used == Use::Date {
                        date = Some(seconds);
                    } else {
                        good_clock = true;
                        if let Some(kind) = clocks.get_mut(here) {
                            *kind = Some(if dated { ClockKind::Dated } else { ClockKind::TimeOfDay });
                        }
                    }
                } else if dialect.columns.get(here).is_some_and(|column| column.name.as_bytes() == field) {
                    named += 1;
                } else if let Some(read) = counted(field, dialect.decimal) {
                    *value = read;
                    good_clock = true;
                } else {
                    impossible = impossible.take().or_else(|| is_impossible(text, order).then(|| cut(text)));
                    words += 1;
                }
            }
            Use::Number => match odd(field, dialect.decimal) {
                Cell::Number(read) => {
                    *value = read;
                    good_number = true;
                }
                Cell::Degrees(read, unit) => {
                    *value = if unit == TemperatureUnit::Celsius { read } else { unit.to_celsius(read) };
                    good_number = true;
                }
                Cell::Missing => empty |= 1 << here.min(63),
                Cell::Fault => faulty |= 1 << here.min(63),
                Cell::Text if dialect.columns.get(here).is_some_and(|column| column.name.as_bytes() == field) => {
                    named += 1
                }
                Cell::Text => words += 1,
            },
            Use::Skip => {}
        }
    });
    if let Some(text) = impossible {
        return Read::Impossible(text);
    }
    // A date column of its own belongs to the clock column.
    if let Some(date) = date {
        for (at, used) in uses.iter().enumerate() {
            if *used == Use::Clock && clocks.get(at).copied().flatten() == Some(ClockKind::TimeOfDay) {
                if let Some(value) = row.get_mut(at) {
                    *value += date;
                }
            }
        }
    }
    if named > 0 && !good_clock {
        return Read::Heading;
    }
    let has_reading = good_number || faulty != 0 || empty != 0;
    if (has_clock && !good_clock) || !has_reading || (!has_clock && words > 0 && !good_number) {
        return Read::Nothing;
    }
    for (bits, rows) in [(faulty, faults), (empty, missing)] {
        if bits != 0 {
            rows.iter_mut()
                .take(64)
                .enumerate()
                .filter(|(at, _)| bits >> at & 1 == 1)
                .for_each(|(_, rows)| rows.push(now));
        }
    }
    Read::Data
}

/// Whether dates in the clock columns put the day or the month first.
///
/// # Errors
/// [`Error::DataFile`] when both can be and it matters.
pub(super) fn order_of_dates(
    text: &[u8],
    dialect: &Dialect,
    uses: &[Use],
    file: &str,
    notes: &mut Notes,
) -> Result<Option<DateOrder>> {
    let is_clock = |used: &Use| matches!(used, Use::Clock | Use::Date);
    if !uses.iter().any(is_clock) {
        return Ok(None);
    }
    let body = text.get(dialect.body..).unwrap_or_default();
    let mut dates: Vec<String> = Vec::new();
    for (row, line) in body.split(|&byte| byte == b'\n').enumerate() {
        // Dates with the year first, or none at all, need no second look.
        if row == LOOK_FOR_DATES && !dates.iter().any(|date| date.find(['-', '/', '.']).is_some_and(|at| at < 3)) {
            return Ok(None);
        }
        let mut index = 0;
        fields(line, dialect.separator, |field| {
            let date = uses.get(index).filter(|used| is_clock(used)).map(|_| trimmed(field));
            index += 1;
            let Some(field) = date.and_then(|field| std::str::from_utf8(field).ok()) else { return };
            if let Some(date) = date_of(field).filter(|&date| dates.last().is_none_or(|last| last != date)) {
                dates.push(date.to_owned());
            }
        });
    }
    let counted =
        dialect.columns.iter().zip(uses).any(|(c, used)| *used == Use::Clock && c.heading.time_unit.is_some());
    match date_order(&dates) {
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
            "Write dates as 2026-03-04 (or 2026-03-04T10:00:00+01:00 with the time zone), or give a column elapsed_s",
        )),
    }
}

/// The role of a column that is read as numbers.
pub(super) const fn is_reading(role: Role) -> bool {
    matches!(role, Role::Air | Role::PartSide | Role::Setpoint | Role::Duty)
}
