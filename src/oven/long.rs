//! Tables with one row a reading: time, name of the channel, value.

use super::cell::{Cell, number, odd};
use super::clock::stamp;
use super::dialect::{Column, Dialect, split};
use super::feed::text_of;
use super::role::Role;

/// Columns of a long table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Long {
    times: Vec<usize>,
    name: usize,
    value: usize,
}

/// Headings of a column that names channels.
const NAMES: [&str; 11] =
    ["channel", "sensor", "probe", "tag", "name", "place", "source", "location", "kanal", "point", "variable"];

/// The most channels a long table has.
const MOST: usize = 64;

/// Finds a column of names beside one column of numbers and a time.
pub(super) fn long_layout(
    columns: &[Column],
    rows: &[(usize, usize, &[u8])],
    separator: u8,
    decimal: u8,
    has_heading: bool,
) -> Option<Long> {
    let mut kinds = vec![(0usize, 0usize, Vec::<&[u8]>::new()); columns.len()];
    for (_, _, line) in rows {
        for (cell, (numbers, words, names)) in split(line, separator).into_iter().zip(&mut kinds) {
            if number(cell, decimal).is_some() {
                *numbers += 1;
            } else if odd(cell, decimal) == Cell::Text && stamp(&text_of(cell), None).is_none() {
                *words += 1;
                if names.len() <= MOST && !names.contains(&cell) {
                    names.push(cell);
                }
            }
        }
    }
    let is_time = |at: &usize| columns.get(*at).is_some_and(|c| matches!(c.heading.role, Role::Time | Role::Date));
    let times: Vec<usize> = (0..columns.len()).filter(is_time).collect();
    let of = |at: usize| kinds.get(at);
    // Whole of the column is words, few of them, and each comes again.
    let is_name = |at: &usize| {
        let named = columns.get(*at).is_some_and(|column| NAMES.contains(&column.name.trim().to_lowercase().as_str()));
        (named || !has_heading)
            && of(*at).is_some_and(|(numbers, words, names)| {
                *numbers == 0 && *words > 1 && (2..=MOST).contains(&names.len()) && names.len() * 2 <= *words + 1
            })
    };
    let mut names = (0..columns.len()).filter(|at| !times.contains(at)).filter(is_name);
    let (name, None) = (names.next()?, names.next()) else { return None };
    let mut values = (0..columns.len())
        .filter(|at| !times.contains(at) && *at != name)
        .filter(|&at| of(at).is_some_and(|(numbers, ..)| *numbers * 2 > rows.len()));
    let (value, None) = (values.next()?, values.next()) else { return None };
    if times.is_empty() { None } else { Some(Long { times, name, value }) }
}

/// The table with one column a channel; rows of one time that follow one another become one.
pub(super) fn pivoted(text: &[u8], dialect: &Dialect, long: &Long) -> Vec<u8> {
    let lines = || text.split(|&byte| byte == b'\n').map(<[u8]>::trim_ascii);
    let cells = |line| split(line, dialect.separator);
    let column = |at: usize| dialect.columns.get(at).map_or("", |column| column.name.as_str());
    let mut names: Vec<Vec<u8>> = Vec::new();
    for line in lines() {
        let cells = cells(line);
        if let (Some(name), Some(_)) = (cells.get(long.name), cells.get(long.value)) {
            if names.len() < MOST && !names.iter().any(|known| known == name) {
                names.push(name.to_vec());
            }
        }
    }
    let value_unit = column(long.value).find(['[', '(']).and_then(|at| column(long.value).get(at..)).unwrap_or("");
    let mut made: Vec<u8> = Vec::new();
    let mut heading: Vec<String> = long.times.iter().map(|&at| column(at).to_owned()).collect();
    heading.extend(names.iter().map(|name| format!("{} {value_unit}", text_of(name)).trim().to_owned()));
    made.extend_from_slice(heading.join("\t").as_bytes());
    made.push(b'\n');
    let mut times: Vec<Vec<u8>> = Vec::new();
    let mut row: Vec<Option<Vec<u8>>> = vec![None; names.len()];
    let flush = |times: &[Vec<u8>], row: &mut Vec<Option<Vec<u8>>>, made: &mut Vec<u8>| {
        if row.iter().any(Option::is_some) {
            let values = row.iter_mut().map(|cell| cell.take().unwrap_or_default());
            made.extend_from_slice(&times.iter().cloned().chain(values).collect::<Vec<_>>().join(&b'\t'));
            made.push(b'\n');
        }
    };
    for line in lines() {
        let cells = cells(line);
        let (Some(name), Some(value)) = (cells.get(long.name), cells.get(long.value)) else { continue };
        let now: Vec<Vec<u8>> =
            long.times.iter().map(|&at| cells.get(at).map_or(Vec::new(), |cell| cell.to_vec())).collect();
        let Some(place) = names.iter().position(|known| known == name) else { continue };
        if now != times || row.get(place).is_some_and(Option::is_some) {
            flush(&times, &mut row, &mut made);
            times = now;
        }
        if let Some(slot) = row.get_mut(place) {
            *slot = Some(value.to_vec());
        }
    }
    flush(&times, &mut row, &mut made);
    made
}
