//! The body of a file as columns of numbers: one piece of it, and pieces one after another.

use std::ops::Range;

use memchr::memchr;

use super::cell::TemperatureUnit;
use super::clock::DateOrder;
use super::dialect::{Dialect, Notes, is_comment};
use super::quick::Quick;
use super::role::Role;
use super::row::{Line, read_line};

/// What a column's cells are read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Use {
    /// Numbers.
    Number,
    /// Numbers that count time.
    Counter,
    /// Clock texts.
    Clock,
    /// Dates that belong to the clock.
    Date,
    /// Not read.
    Skip,
}

/// What the clock texts of a file were like.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct ClockMarks {
    pub dated: bool,
    pub undated: bool,
    /// Times of two parts, as 10:05, and of three.
    pub two_parts: bool,
    pub three_parts: bool,
    /// Times with their offset from UTC, and without.
    pub zoned: bool,
    pub local: bool,
}

impl ClockMarks {
    #[inline]
    pub(super) fn note(&mut self, dated: bool, two_parts: bool, zoned: bool) {
        self.dated |= dated;
        self.undated |= !dated;
        self.two_parts |= two_parts;
        self.three_parts |= !two_parts;
        self.zoned |= zoned;
        self.local |= !zoned;
    }

    fn join(&mut self, other: Self) {
        self.dated |= other.dated;
        self.undated |= other.undated;
        self.two_parts |= other.two_parts;
        self.three_parts |= other.three_parts;
        self.zoned |= other.zoned;
        self.local |= other.local;
    }
}

/// Rows of one column whose cells name their unit.
pub(super) type UnitRuns = Vec<(Range<usize>, TemperatureUnit)>;

/// How many events, dates and lines that are no data are kept.
const KEPT: usize = 1000;

/// What was read of one piece, or of all; rows and lines count from the piece's start.
#[derive(Debug, Default)]
pub(super) struct Piece {
    /// Values of each column read, NaN where there is none.
    pub columns: Vec<Vec<f64>>,
    pub marks: ClockMarks,
    /// Rows with a fault word, by column.
    pub faults: Vec<Vec<usize>>,
    /// Rows with an empty cell or a word for nothing, by column.
    pub missing: Vec<Vec<usize>>,
    /// Units named in cells, by column.
    pub units: Vec<UnitRuns>,
    /// Clock texts with a text for a reading: the row they come after, the line, the text.
    pub events: Vec<(usize, usize, String)>,
    /// Dates as they change.
    pub dates: Vec<String>,
    /// Lines that are no data: the first, how many; and how many of them come after the last row.
    pub unread: Option<(usize, usize, usize)>,
    /// Headings repeated.
    pub headings: usize,
    /// Rows padded with zero bytes.
    pub padded: usize,
    /// The first date that no calendar has, and its line.
    pub impossible: Option<(usize, String)>,
    /// Why the file ended early.
    pub broken: Option<String>,
    /// A last line without an end: whether its row was left out.
    pub cut: Option<bool>,
    pub rows: usize,
    pub lines: usize,
}

impl Piece {
    pub(super) fn new(columns: usize) -> Self {
        Self {
            columns: vec![Vec::new(); columns],
            faults: vec![Vec::new(); columns],
            missing: vec![Vec::new(); columns],
            units: vec![Vec::new(); columns],
            ..Self::default()
        }
    }

    /// Notes a date where it changes.
    pub(super) fn note_date(&mut self, day: &str) {
        if self.dates.len() < KEPT && self.dates.last().is_none_or(|last| last != day) {
            self.dates.push(day.to_owned());
        }
    }

    fn nothing(&mut self, line: usize) {
        let (_, count, behind) = self.unread.get_or_insert((line, 0, 0));
        *count += 1;
        *behind += 1;
    }

    /// Reads a text of whole lines, into empty columns where there are some. `unended` says that the last has no end.
    pub(super) fn read(
        text: &[u8],
        dialect: &Dialect,
        uses: &[Use],
        order: Option<DateOrder>,
        unended: bool,
        columns: Option<Vec<Vec<f64>>>,
    ) -> Self {
        let mut piece = Self::new(uses.len());
        piece.columns = columns.unwrap_or(piece.columns);
        for (column, used) in piece.columns.iter_mut().zip(uses) {
            if *used != Use::Skip {
                column.reserve(text.len() / 16);
            }
        }
        let mut row: Vec<f64> = vec![f64::NAN; uses.len()];
        let mut quick = Quick::new(dialect, uses);
        let mut marks = ClockMarks::default();
        let mut rest = text;
        while !rest.is_empty() {
            if let Some(length) = quick.row(rest, &mut row, &mut marks) {
                piece.push(&row, uses);
                piece.lines += 1;
                rest = rest.get(length..).unwrap_or_default();
                continue;
            }
            let end = memchr(b'\n', rest).unwrap_or(rest.len());
            let (line, after) = rest.split_at(end);
            rest = after.get(1..).unwrap_or_default();
            let cut = unended && after.is_empty();
            let line = line.strip_suffix(b"\r").unwrap_or(line);
            let rows = piece.rows;
            // Lone carriage returns among other line ends.
            for part in line.split(|&byte| byte == b'\r') {
                piece.careful(part, dialect, uses, order, &mut row);
            }
            if cut && piece.rows > rows {
                piece.cut = Some(false);
            }
            piece.lines += 1;
        }
        piece.marks.join(marks);
        piece
    }

    fn push(&mut self, row: &[f64], uses: &[Use]) {
        for ((column, value), used) in self.columns.iter_mut().zip(row).zip(uses) {
            if *used != Use::Skip {
                column.push(*value);
            }
        }
        self.rows += 1;
        if let Some((_, _, behind)) = &mut self.unread {
            *behind = 0;
        }
    }

    fn careful(&mut self, line: &[u8], dialect: &Dialect, uses: &[Use], order: Option<DateOrder>, row: &mut [f64]) {
        if line.iter().all(|byte| byte.is_ascii_whitespace() || *byte == 0) || is_comment(line, dialect.separator) {
            return;
        }
        match read_line(line, dialect, uses, order, row, self) {
            Line::Data => self.push(row, uses),
            Line::Impossible(text) => {
                self.impossible.get_or_insert((self.lines, text));
            }
            Line::Heading => self.headings += 1,
            Line::Event(text) if self.events.len() < KEPT => self.events.push((self.rows, self.lines, text)),
            Line::Event(_) | Line::Nothing => self.nothing(self.lines),
        }
    }

    /// Drops the last row, as a line without an end may be cut.
    pub(super) fn drop_last(&mut self, uses: &[Use]) {
        let Some(last) = self.rows.checked_sub(1) else { return };
        for (column, used) in self.columns.iter_mut().zip(uses) {
            if *used != Use::Skip {
                column.pop();
            }
        }
        for rows in self.faults.iter_mut().chain(&mut self.missing) {
            rows.retain(|&row| row < last);
        }
        for runs in &mut self.units {
            runs.retain_mut(|(range, _)| {
                range.end = range.end.min(last);
                range.start < range.end
            });
        }
        self.rows = last;
        self.cut = Some(true);
    }

    /// Appends the next piece; its columns come back empty.
    pub(super) fn append(&mut self, mut next: Self) -> Vec<Vec<f64>> {
        let (rows, lines) = (self.rows, self.lines);
        self.marks.join(next.marks);
        for (mine, theirs) in [(&mut self.faults, next.faults), (&mut self.missing, next.missing)] {
            for (mine, theirs) in mine.iter_mut().zip(theirs) {
                mine.extend(theirs.into_iter().map(|row| row + rows));
            }
        }
        for (mine, theirs) in self.units.iter_mut().zip(next.units) {
            for (range, unit) in theirs {
                let range = range.start + rows..range.end + rows;
                match mine.last_mut() {
                    Some((last, known)) if last.end == range.start && *known == unit => last.end = range.end,
                    _ => mine.push((range, unit)),
                }
            }
        }
        let room = KEPT.saturating_sub(self.events.len());
        self.events
            .extend(next.events.into_iter().take(room).map(|(row, line, text)| (row + rows, line + lines, text)));
        for day in &next.dates {
            self.note_date(day);
        }
        let behind = if next.rows > 0 { 0 } else { self.unread.map_or(0, |(_, _, behind)| behind) };
        let mine = self.unread.map(|(first, count, _)| (first, count, behind));
        self.unread = match (mine, next.unread) {
            (Some((first, count, behind)), Some((_, more, last))) => Some((first, count + more, behind + last)),
            (None, Some((first, count, behind))) => Some((first + lines, count, behind)),
            (mine, None) => mine,
        };
        self.headings += next.headings;
        self.padded += next.padded;
        self.impossible = self.impossible.take().or(next.impossible.map(|(line, text)| (line + lines, text)));
        self.cut = next.cut.or(self.cut);
        self.rows += next.rows;
        self.lines += next.lines;
        for (mine, theirs) in self.columns.iter_mut().zip(&mut next.columns) {
            mine.extend_from_slice(theirs);
            theirs.clear();
        }
        next.columns
    }

    /// Makes room for as many rows as a text of so many bytes will have if it goes on like the first of them.
    pub(super) fn expect(&mut self, first: &Self, bytes: usize, of: usize) {
        let rows = (first.rows as u128 * of as u128 / bytes.max(1) as u128) as usize;
        for (mine, theirs) in self.columns.iter_mut().zip(&first.columns).filter(|(_, theirs)| !theirs.is_empty()) {
            // Without it the column grows as it fills.
            let _ = mine.try_reserve_exact(rows + rows / 32 + theirs.len());
        }
    }

    /// What the lines that are no data were, as notes; `first` is the number of the first line.
    pub(super) fn notes(&self, first: usize) -> Notes {
        let mut notes = Notes::new();
        if self.headings > 0 {
            let why = format!("{} repeated heading line(s) inside the data were skipped", self.headings);
            notes.push(("heading", why));
        }
        if let Some((line, count, behind)) = self.unread {
            let line = line + first;
            if count > behind {
                let why = format!(
                    "{} line(s) without a time or reading were skipped, the first at line {line}",
                    count - behind
                );
                notes.push(("not data", why));
            }
            if behind > 0 {
                notes.push(("footer", format!("{behind} line(s) after the last row are no data and were skipped")));
            }
        }
        if self.padded > 0 {
            notes.push(("padding", format!("zero bytes in {} row(s) were taken off", self.padded)));
        }
        notes.extend(self.cut.map(|dropped| {
            let what = if dropped {
                "its last figures are missing, and it was dropped"
            } else {
                "it looks whole, and was kept"
            };
            ("last line", format!("the last line has no line end: {what}"))
        }));
        notes
    }
}

/// The role of a column that is read as numbers.
pub(super) const fn is_reading(role: Role) -> bool {
    matches!(role, Role::Air | Role::PartSide | Role::Setpoint | Role::Duty)
}
