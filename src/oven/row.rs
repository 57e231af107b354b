//! One row of a log, read with care: quotes, words for nothing, fault words, units in cells, events.

use super::cell::{Cell, TemperatureUnit, number, odd, thousands, trimmed};
use super::clock::{DateOrder, Stamp, date_of, is_impossible, stamp};
use super::dialect::{Dialect, cut, fields};
use super::feed::text_of;
use super::table::{Piece, Use};

/// What a line is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Line {
    /// A row of data; its numbers are in the row.
    Data,
    /// The heading once more.
    Heading,
    /// A clock and a text.
    Event(String),
    /// No data.
    Nothing,
    /// A date that no calendar has.
    Impossible(String),
}

/// What the cells of one row were.
#[derive(Default)]
struct Seen {
    numbers: usize,
    words: Vec<String>,
    named: usize,
    clock_cells: usize,
    clocks: usize,
    faulty: Vec<usize>,
    empty: Vec<usize>,
    units: Vec<(usize, TemperatureUnit)>,
    /// Column of a clock that carried no date of its own.
    bare_clock: Option<usize>,
    date: Option<f64>,
    impossible: Option<String>,
}

/// A counter's cell: in a file of decimal points, a comma before three figures separates thousands.
fn counted(field: &[u8], decimal: u8) -> Option<f64> {
    match odd(field, decimal) {
        Cell::Number(_) if decimal == b'.' && thousands(field).is_some() => thousands(field),
        Cell::Number(read) => Some(read),
        _ => None,
    }
}

/// Reads a line into `row`, one number a column, and what must be known of its cells into the piece.
pub(super) fn read_line(
    line: &[u8],
    dialect: &Dialect,
    uses: &[Use],
    order: Option<DateOrder>,
    row: &mut [f64],
    piece: &mut Piece,
) -> Line {
    row.fill(f64::NAN);
    let mut seen = Seen::default();
    let mut index = 0;
    fields(line, dialect.separator, |field| {
        if let (Some(used), Some(value)) = (uses.get(index), row.get_mut(index)) {
            read_cell(trimmed(field), (index, *used), dialect, order, value, &mut seen, piece);
        }
        index += 1;
    });
    // A line that was cut short lacks its last readings.
    let cut_short = (index..uses.len()).filter(|&at| uses.get(at) == Some(&Use::Number));
    if seen.numbers > 0 || seen.clocks > 0 {
        seen.empty.extend(cut_short);
    }
    if let Some(text) = seen.impossible {
        return Line::Impossible(text);
    }
    // A date column of its own belongs to the clock column.
    if let (Some(date), Some(at)) = (seen.date, seen.bare_clock) {
        if let Some(value) = row.get_mut(at) {
            *value += date;
            piece.marks.note(true, false, false);
        }
    }
    if seen.named > 0 && seen.clocks == 0 {
        return Line::Heading;
    }
    if seen.clocks > 0 && seen.numbers == 0 && !seen.words.is_empty() {
        return Line::Event(seen.words.join(" "));
    }
    let has_reading = seen.numbers > 0 || !seen.faulty.is_empty() || !seen.empty.is_empty();
    let no_clock = seen.clock_cells == 0 && !seen.words.is_empty() && seen.numbers == 0;
    if (seen.clock_cells > 0 && seen.clocks == 0) || !has_reading || no_clock {
        return Line::Nothing;
    }
    let now = piece.rows;
    for (columns, lists) in [(&seen.faulty, &mut piece.faults), (&seen.empty, &mut piece.missing)] {
        for &column in columns {
            if let Some(rows) = lists.get_mut(column) {
                rows.push(now);
            }
        }
    }
    for (column, unit) in seen.units {
        if let Some(runs) = piece.units.get_mut(column) {
            match runs.last_mut() {
                Some((range, known)) if range.end == now && *known == unit => range.end = now + 1,
                _ => runs.push((now..now + 1, unit)),
            }
        }
    }
    piece.padded += usize::from(line.contains(&0));
    Line::Data
}

fn read_cell(
    field: &[u8],
    (here, used): (usize, Use),
    dialect: &Dialect,
    order: Option<DateOrder>,
    value: &mut f64,
    seen: &mut Seen,
    piece: &mut Piece,
) {
    let is_name = || dialect.columns.get(here).is_some_and(|column| column.name.as_bytes() == field);
    match used {
        Use::Skip => {}
        Use::Number => match number(field, dialect.decimal).map_or_else(|| odd(field, dialect.decimal), Cell::Number) {
            Cell::Number(read) => {
                *value = read;
                seen.numbers += 1;
            }
            Cell::Degrees(read, unit) => {
                *value = read;
                seen.numbers += 1;
                seen.units.push((here, unit));
            }
            Cell::Missing => seen.empty.push(here),
            Cell::Fault => seen.faulty.push(here),
            Cell::Text if is_name() => seen.named += 1,
            Cell::Text => seen.words.push(cut(&text_of(field))),
        },
        Use::Counter => {
            seen.clock_cells += 1;
            if let Some(read) = number(field, dialect.decimal).or_else(|| counted(field, dialect.decimal)) {
                *value = read;
                seen.clocks += 1;
            } else {
                seen.named += usize::from(is_name());
            }
        }
        Use::Clock | Use::Date => {
            seen.clock_cells += usize::from(used == Use::Clock);
            let text = text_of(field);
            if let Some(Stamp { seconds, dated, two_parts, zoned }) = stamp(&text, order) {
                *value = seconds;
                if let Some(day) = date_of(&text) {
                    piece.note_date(day);
                }
                if used == Use::Date {
                    seen.date = Some(seconds);
                } else {
                    seen.clocks += 1;
                    if dated {
                        piece.marks.note(true, two_parts, zoned);
                    } else {
                        seen.bare_clock = Some(here);
                        piece.marks.note(false, two_parts, zoned);
                    }
                }
            } else if is_name() {
                seen.named += 1;
            } else if is_impossible(&text, order) {
                seen.impossible.get_or_insert_with(|| cut(&text));
            }
        }
    }
}
