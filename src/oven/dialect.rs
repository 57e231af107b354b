//! How a file is written: separator, decimal mark, where the heading is.

use std::collections::HashMap;

use super::cell::{Cell, number, odd, thousands, trimmed};
use super::clock::stamp;
use super::feed::text_of;
use super::long::{Long, long_layout};
use super::role::{Heading, Role, heading, is_unit};
use crate::error::{Error, Result};

/// How many lines are looked at to find out how a file is written.
const LOOK: usize = 400;

/// How a file is written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Dialect {
    pub separator: u8,
    pub decimal: u8,
    /// One a column, in file order.
    pub columns: Vec<Column>,
    /// Byte where the first data line begins, and its number from 1.
    pub body: usize,
    pub body_line: usize,
    /// Where the table has one row a reading.
    pub long: Option<Long>,
}

/// A column's name as written and what it says.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    pub name: String,
    pub heading: Heading,
    /// Whether a column of times holds numbers rather than clock texts.
    pub counts: bool,
    /// Whether its first numbers are all one, over so many rows that this says something.
    pub constant: bool,
}

impl Column {
    fn named(name: String) -> Self {
        Self { heading: heading(&name), name, counts: false, constant: false }
    }
}

/// What was done to the text before it could be read, as `(kind, why)`.
pub(super) type Notes = Vec<(&'static str, String)>;

/// A refusal of a file.
pub(super) fn refusal(file: &str, line: Option<usize>, why: impl Into<String>, hint: &'static str) -> Error {
    Error::DataFile { file: file.to_owned(), line, column: None, why: why.into().into(), hint: hint.into() }
}

/// How many columns a message names, and how much of a heading it shows.
const NAMED: usize = 12;
const SHOWN: usize = 60;

/// Headings for a message: the first few, each cut to a length that can be read, and how many more there are.
pub(super) fn few<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut names = names.into_iter();
    let mut made: Vec<String> = names.by_ref().take(NAMED).map(cut).collect();
    let more = names.count();
    if more > 0 {
        made.push(format!("and {more} more"));
    }
    made
}

/// A text of the caller's, cut to a length that can be read.
pub(super) fn cut(text: &str) -> String {
    match text.char_indices().nth(SHOWN) {
        Some((at, _)) => format!("{}…", text.get(..at).unwrap_or_default()),
        None => text.to_owned(),
    }
}

/// Calls `each` with every field of a line; a separator inside quotes does not separate.
pub(super) fn fields<'a>(line: &'a [u8], separator: u8, mut each: impl FnMut(&'a [u8])) {
    let (mut from, mut quoted) = (0, false);
    for (at, &byte) in line.iter().enumerate() {
        if byte == b'"' {
            quoted = !quoted;
        } else if byte == separator && !quoted {
            each(line.get(from..at).unwrap_or_default());
            from = at + 1;
        }
    }
    each(line.get(from..).unwrap_or_default());
}

pub(super) fn split(line: &[u8], separator: u8) -> Vec<&[u8]> {
    let mut all = Vec::new();
    fields(line, separator, |field| all.push(trimmed(field)));
    // A trailing separator is no column.
    if all.len() > 1 && all.last().is_some_and(|last| last.is_empty()) {
        all.pop();
    }
    all
}

/// Whether a line is a remark; a semicolon begins one where it does not separate.
pub(super) fn is_comment(line: &[u8], separator: u8) -> bool {
    match line.trim_ascii_start() {
        [b'#', ..] | [b'/', b'/', ..] | [b'"', b'#', ..] | [b'"', b'/', b'/', ..] => true,
        [b';', ..] => separator != b';',
        _ => false,
    }
}

/// Lines with their place: `(byte offset, number from 1, text without the line end)`.
fn lines(text: &[u8]) -> impl Iterator<Item = (usize, usize, &[u8])> {
    let mut offset = 0;
    text.split_inclusive(|&byte| byte == b'\n').enumerate().map(move |(index, raw)| {
        let here = offset;
        offset += raw.len();
        (here, index + 1, raw.trim_ascii_end())
    })
}

/// Finds out how a text is written.
///
/// # Errors
/// [`Error::DataFile`] when there is no table in it, or no way to tell its columns apart.
pub(super) fn dialect(text: &[u8], file: &str, notes: &mut Notes) -> Result<Dialect> {
    let mut stated = None;
    let mut shown: Vec<(usize, usize, &[u8])> = Vec::new();
    for (offset, number, line) in lines(text).take(LOOK) {
        if let [b's', b'e', b'p', b'=', mark] = trimmed(line) {
            stated = Some(*mark);
            notes.push(("separator", format!("line {number} names the separator '{}'", char::from(*mark))));
        } else if !line.trim_ascii().is_empty() && !is_comment(line, b';') {
            shown.push((offset, number, line));
        }
    }
    if shown.is_empty() {
        return Err(refusal(
            file,
            None,
            "there is no data in it",
            "A log needs a heading and rows, at the least: elapsed_s,part_side_degc",
        ));
    }
    let separator = stated.unwrap_or_else(|| separator(&shown));
    shown.retain(|(_, _, line)| !is_comment(line, separator));
    let counts: Vec<usize> = shown.iter().map(|(_, _, line)| split(line, separator).len()).collect();
    // The table is as wide as most of its lines; a preamble and a footer are narrower.
    let width = (1..=counts.iter().copied().max().unwrap_or(1))
        .rev()
        .max_by_key(|width| counts.iter().filter(|&count| count == width).count())
        .unwrap_or(1);
    let decimal = decimal(&shown, separator);
    // A heading names both a time and a temperature, or else is as wide as the table; one field may be lost.
    let heading_where = |fits: &dyn Fn(&[u8], usize) -> bool| {
        let mut lines = shown.iter().zip(&counts);
        lines.position(|((_, _, line), &count)| fits(line, count) && looks_like_heading(line, separator, decimal))
    };
    let first = heading_where(&|line, _| names_both(line, separator))
        .or_else(|| heading_where(&|_, count| count == width))
        .or_else(|| heading_where(&|_, count| count.abs_diff(width) == 1));
    let begin = first
        .or_else(|| counts.iter().position(|&count| count == width))
        .and_then(|index| shown.get(index).map(|line| (index, line)));
    let Some((index, &(offset, number, line))) = begin else {
        return Err(refusal(file, None, "no table was found in it", "Give a text table (CSV) with a heading line"));
    };
    let names: Vec<&[u8]> = split(line, separator);
    let (mut columns, mut body, mut body_line): (Vec<Column>, _, _) = if first.is_some() {
        (numbered(&names, notes), index + 1, number + 1)
    } else {
        notes.push(("heading", "there is no heading line: columns are numbered from 1".into()));
        (unnamed(&shown, index, separator, decimal), index, number)
    };
    let mut at = if first.is_some() { shown.get(body).map_or(text.len(), |next| next.0) } else { offset };
    if let Some(&(_, number, line)) = shown.get(body).filter(|_| first.is_some()) {
        let units = split(line, separator);
        if units.iter().any(|unit| is_unit(&text_of(unit)))
            && units.iter().all(|unit| self::number(unit, decimal).is_none())
        {
            for (column, unit) in columns.iter_mut().zip(&units) {
                let unit = text_of(unit);
                column.heading = heading(&format!("{} [{}]", column.name, unit.trim_matches(['[', ']', '(', ')'])));
            }
            notes.push(("unit row", format!("line {number} holds units, not data")));
            body += 1;
            at = shown.get(body).map_or(text.len(), |next| next.0);
        }
    }
    body_line = shown.get(body).map_or(body_line, |next| next.1);
    if separator == b',' && !consistent(&shown, body, &columns) {
        return Err(refusal(
            file,
            Some(body_line),
            format!(
                "rows have more fields than the {} headings: commas may separate, or be decimal marks",
                columns.len()
            ),
            "Write the file with semicolons or tabs between fields, or with decimal points",
        ));
    }
    let decimal = if commas_are_thousands(&shown, body, separator, &columns, file)? {
        notes.push(("thousands", "commas inside numbers separate thousands, as in 1,000".into()));
        b'.'
    } else {
        decimal
    };
    if separator != b',' || decimal == b',' {
        let shown = if separator == b'\t' { "tab".to_owned() } else { char::from(separator).to_string() };
        notes.push(("separator", format!("fields are separated by '{shown}', decimals by '{}'", char::from(decimal))));
    }
    contents(&mut columns, shown.get(body..).unwrap_or_default(), separator, decimal);
    let rows = shown.get(body..).unwrap_or_default();
    let long = long_layout(&columns, rows, separator, decimal, first.is_some());
    Ok(Dialect { separator, decimal, columns, body: at, body_line, long })
}

/// Columns by their headings; a heading that comes again is numbered.
fn numbered(names: &[&[u8]], notes: &mut Notes) -> Vec<Column> {
    let mut made: Vec<Column> = Vec::new();
    let mut counts: HashMap<String, usize> = HashMap::new();
    let mut again: Vec<String> = Vec::new();
    for name in names {
        let name = text_of(name).into_owned();
        let count = counts.entry(name.clone()).or_default();
        *count += 1;
        let mut column = Column::named(name);
        if *count > 1 && !column.name.is_empty() {
            column.name = format!("{} ({count})", column.name);
            again.push(column.name.clone());
        }
        made.push(column);
    }
    if !again.is_empty() {
        let shown = few(again.iter().map(String::as_str)).join(", ");
        notes.push(("heading", format!("headings that come twice are numbered: {shown}")));
    }
    made
}

/// Rows that say whether a column stands still.
const STILL: usize = 20;

/// Finds out what time columns hold, and which columns of numbers stand still.
fn contents(columns: &mut [Column], rows: &[(usize, usize, &[u8])], separator: u8, decimal: u8) {
    let mut cells = vec![(0usize, 0usize, None::<f64>, true); columns.len()];
    for (_, _, line) in rows {
        let mut index = 0;
        fields(line, separator, |field| {
            let field = trimmed(field);
            if let Some((numbers, clocks, first, still)) = cells.get_mut(index) {
                if let Some(value) = number(field, decimal) {
                    *numbers += 1;
                    *still &= *first.get_or_insert(value) == value;
                } else if stamp(&text_of(field), None).is_some() {
                    *clocks += 1;
                }
            }
            index += 1;
        });
    }
    for (column, (numbers, clocks, _, still)) in columns.iter_mut().zip(cells) {
        column.counts = numbers > clocks;
        column.constant = still && numbers >= STILL;
    }
}

/// Columns of a table without a heading: clocks and dates by their looks, else the first is time if it rises steadily.
fn unnamed(shown: &[(usize, usize, &[u8])], body: usize, separator: u8, decimal: u8) -> Vec<Column> {
    let rows = || shown.iter().skip(body).map(|(_, _, line)| split(line, separator));
    let first: Vec<&[u8]> = rows().next().unwrap_or_default();
    let mut has_clock = false;
    let mut names: Vec<String> = Vec::new();
    for (index, cell) in first.iter().enumerate() {
        let text = text_of(cell);
        let stamped = if number(cell, decimal).is_some() { None } else { stamp(&text, None) };
        names.push(match stamped {
            Some(found) if found.dated && !text.contains(':') => "date".to_owned(),
            Some(_) if !has_clock => {
                has_clock = true;
                "time".to_owned()
            }
            _ => format!("channel {}", index + 1),
        });
    }
    let mut last = f64::NEG_INFINITY;
    let mut rises = true;
    for value in rows().filter_map(|cells| number(cells.first()?, decimal)) {
        rises &= value > last;
        last = value;
    }
    if let Some(name) = names.first_mut().filter(|_| !has_clock && rises) {
        *name = "time".to_owned();
    }
    names.into_iter().map(Column::named).collect()
}

fn separator(shown: &[(usize, usize, &[u8])]) -> u8 {
    let score = |mark: u8| {
        let counts: Vec<usize> = shown.iter().map(|(_, _, line)| split(line, mark).len()).collect();
        let widest = counts.iter().copied().filter(|&count| count > 1);
        let mut kinds: Vec<usize> = widest.collect();
        kinds.sort_unstable();
        // Lines that agree on one width above 1.
        kinds.chunk_by(|a, b| a == b).map(<[usize]>::len).max().unwrap_or(0)
    };
    // A comma may be a decimal mark between the others, so it wins only by more lines.
    [b';', b'\t', b'|', b','].into_iter().rev().max_by_key(|&mark| (score(mark), mark != b',')).unwrap_or(b',')
}

fn decimal(shown: &[(usize, usize, &[u8])], separator: u8) -> u8 {
    let mut commas = 0usize;
    let mut points = 0usize;
    for (_, _, line) in shown {
        fields(line, separator, |field| {
            let field = trimmed(field);
            let bare = field.iter().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'-' | b'+'));
            if bare && field.iter().any(u8::is_ascii_digit) {
                commas += field.iter().filter(|&&b| b == b',').count();
                points += usize::from(field.iter().filter(|&&b| b == b'.').count() == 1);
            }
        });
    }
    if commas > points { b',' } else { b'.' }
}

/// Whether commas inside numbers separate thousands rather than decimals.
///
/// In "0, 500, 1,000" they do: who writes decimals writes them in all rows, or drops the zeros. A comma before another
/// count of figures, or behind a zero, is a decimal mark, and so is one in a temperature like 199,875.
///
/// # Errors
/// [`Error::DataFile`] when both can be.
fn commas_are_thousands(
    shown: &[(usize, usize, &[u8])],
    body: usize,
    separator: u8,
    columns: &[Column],
    file: &str,
) -> Result<bool> {
    let (mut points, mut decimals) = (false, false);
    // Of each column: where its first number in threes is, whether it has numbers of another kind, and whole ones.
    let mut kinds = vec![(None::<(usize, String)>, false, false); columns.len()];
    for (_, line_number, line) in shown.iter().skip(body) {
        let mut index = 0;
        fields(line, separator, |field| {
            let field = trimmed(field);
            let (column, kind) = (columns.get(index), kinds.get_mut(index));
            index += 1;
            let (Some(column), Some((threes, other, whole))) = (column, kind) else { return };
            let is_time = column.heading.role == Role::Time;
            if !field.contains(&b',') {
                points |= field.contains(&b'.') && number(field, b'.').is_some();
                *whole |= !field.is_empty() && field.iter().all(u8::is_ascii_digit);
            } else if thousands(field).is_some() && (is_time || field.get(1) == Some(&b',')) {
                threes.get_or_insert_with(|| (*line_number, text_of(field).into_owned()));
            } else {
                *other |= number(field, b',').is_some();
            }
        });
    }
    decimals |= kinds.iter().any(|(_, other, _)| *other);
    let in_question = || kinds.iter().filter(|(threes, other, _)| threes.is_some() && !other);
    let Some((Some((line, shown)), ..)) = in_question().next() else { return Ok(false) };
    let whole = in_question().any(|(_, _, whole)| *whole);
    match (points, decimals, whole) {
        (true, false, _) | (false, false, true) => Ok(true),
        // Commas are decimal marks elsewhere in the file, and nothing speaks against it here.
        (false, true, false) => Ok(false),
        _ => Err(refusal(
            file,
            Some(*line),
            format!("'{}' may be a number of thousands or one with three decimals", cut(shown)),
            "Write numbers without thousands separators, with a decimal point",
        )),
    }
}

fn looks_like_heading(line: &[u8], separator: u8, decimal: u8) -> bool {
    let names = split(line, separator);
    let text = |name: &[u8]| text_of(name).into_owned();
    let is_clock = |name: &[u8]| stamp(&text(name), None).is_some();
    let is_word = |name: &[u8]| matches!(odd(name, decimal), Cell::Text) && !is_clock(name);
    let words = names.iter().filter(|name| is_word(name)).count();
    let clocks = names.iter().filter(|name| is_clock(name)).count();
    words > clocks
        && words * 2 > names.len()
        && names.iter().any(|name| !matches!(heading(&text(name)).role, Role::Other))
}

/// Whether a line names a time and a temperature.
fn names_both(line: &[u8], separator: u8) -> bool {
    let roles: Vec<Role> = split(line, separator).iter().map(|name| heading(&text_of(name)).role).collect();
    roles.contains(&Role::Time)
        && roles.iter().any(|role| matches!(role, Role::Air | Role::PartSide | Role::Temperature))
}

/// Whether the rows have as many fields as the heading, give or take a lost or an empty one.
fn consistent(shown: &[(usize, usize, &[u8])], body: usize, columns: &[Column]) -> bool {
    let rows = shown.iter().skip(body);
    let (mut wide, mut all) = (0usize, 0usize);
    for (_, _, line) in rows {
        all += 1;
        wide += usize::from(split(line, b',').len() > columns.len());
    }
    all == 0 || wide * 4 < all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Dialect {
        dialect(text.as_bytes(), "test", &mut Notes::new()).unwrap()
    }

    #[test]
    fn separators_and_decimals() {
        let made = of("time;air_degc\n0;199,8\n10;200,1\n");
        assert_eq!((made.separator, made.decimal), (b';', b','));
        let made = of("time\tair\n0\t199.8\n10\t200.1\n");
        assert_eq!((made.separator, made.decimal), (b'\t', b'.'));
        let made = of("# made up\nelapsed_s,air_degc,part_side_degc\n0,20,21\n");
        assert_eq!((made.separator, made.decimal, made.columns.len(), made.body_line), (b',', b'.', 3, 3));
        let made = of("sep=;\nTime;T1\n0;1\n");
        assert_eq!((made.separator, made.body_line), (b';', 3));
        let made = of(
            "Serial No.: 1234\nModel: X\n\nTime,T1,T2\nhh:mm:ss,degC,degC\n10:00:00,20.1,20.2\n10:00:10,20.1,20.2\n",
        );
        assert_eq!((made.columns.len(), made.body_line), (3, 6));
        let made = of("Interval;10 s\n\nDate/Time;T1 [°C];T2 [°C]\n10:00:00;20,1;20,2\n10:00:10;20,1;20,2\n");
        assert_eq!((made.columns.len(), made.body_line), (3, 4));
        assert!(dialect(b"time,air,part\n0,10,5,20,7\n10,10,5,20,7\n", "t", &mut Notes::new()).is_err());
    }
}
