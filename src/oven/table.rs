//! The body of a file as columns of numbers, read in pieces by several hands.

use std::ops::Range;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use memchr::memchr;

use super::cell::TemperatureUnit;
use super::clock::DateOrder;
use super::dialect::{Dialect, Notes, is_comment};
use super::feed::{Feed, text_of};
use super::quick::Quick;
use super::role::Role;
use super::row::{Line, read_line};
use crate::error::{Error, Result};
use crate::kernel::{beside, threads};

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
    fn new(columns: usize) -> Self {
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

    /// Reads a text of whole lines. `unended` says that the last has no end.
    pub(super) fn read(text: &[u8], dialect: &Dialect, uses: &[Use], order: Option<DateOrder>, unended: bool) -> Self {
        let mut piece = Self::new(uses.len());
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

    /// Appends the next piece; its columns stay where they are until [`gathered`].
    fn append(&mut self, mut next: Self) -> Vec<Vec<f64>> {
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
        std::mem::take(&mut next.columns)
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

/// Whether a last line without an end lost figures: the line before has more of them at that place.
fn looks_cut(text: &[u8], separator: u8) -> bool {
    let mut lines = text.rsplit(|&byte| byte == b'\n').map(<[u8]>::trim_ascii);
    let (Some(last), Some(before)) = (lines.next(), lines.next()) else { return false };
    let fields = |line: &[u8]| line.iter().filter(|&&byte| byte == separator).count();
    let end = |line: &[u8]| line.rsplit(|&byte| byte == separator).next().unwrap_or_default().trim_ascii().to_vec();
    let (a, b) = (end(before), end(last));
    let places =
        |field: &[u8]| field.iter().rposition(|byte| matches!(byte, b'.' | b',')).map_or(0, |at| field.len() - at);
    fields(last) < fields(before)
        || places(&b) < places(&a)
        || (b.len() < a.len() && a.starts_with(&b))
        || text_of(&b).ends_with(['.', ',', ':'])
}

/// Reads the rest of a feed; nothing if it was stopped from outside. `each` is given every piece, in order, and hands
/// back what is to be kept of it.
pub(super) fn read(
    feed: Feed<'_>,
    dialect: &Dialect,
    uses: &[Use],
    order: Option<DateOrder>,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Option<Piece>> {
    let (_, size) = feed.progress();
    let hands = threads().min(1 + size / (1 << 20));
    let source = Mutex::new((feed, 0usize));
    let done: Mutex<Vec<(usize, Piece)>> = Mutex::new(Vec::new());
    let failed: Mutex<Option<Error>> = Mutex::new(None);
    let stopped = AtomicBool::new(false);
    let work = |tell: &mut dyn FnMut(usize, usize) -> bool| {
        let mut text = Vec::new();
        while !stopped.load(Ordering::Relaxed) {
            let Ok(mut held) = source.lock() else { return };
            let (feed, next) = &mut *held;
            match feed.next(&mut text) {
                Ok(true) => {}
                Ok(false) => return,
                Err(error) => {
                    stopped.store(true, Ordering::Relaxed);
                    if let Ok(mut failed) = failed.lock() {
                        failed.get_or_insert(error);
                    }
                    return;
                }
            }
            let (index, told) = (*next, feed.progress());
            *next += 1;
            drop(held);
            let piece = whole(&text, dialect, uses, order);
            if let Ok(mut done) = done.lock() {
                done.push((index, piece));
            }
            if !tell(told.0, told.1) {
                stopped.store(true, Ordering::Relaxed);
            }
        }
    };
    beside(hands, || work(&mut |_, _| true), || work(progress));
    if let Some(error) = failed.into_inner().ok().flatten() {
        return Err(error);
    }
    if stopped.load(Ordering::Relaxed) {
        return Ok(None);
    }
    let mut pieces = done.into_inner().unwrap_or_default();
    pieces.sort_by_key(|(index, _)| *index);
    let mut all = Piece::new(uses.len());
    let parts: Vec<Vec<Vec<f64>>> = pieces.into_iter().map(|(_, piece)| all.append(piece)).collect();
    all.columns = gathered(parts, uses.len(), all.rows);
    if let Ok((feed, _)) = source.into_inner() {
        if let Some(why) = feed.broken {
            all.cut = all.cut.or(Some(false));
            all.broken = Some(why);
        }
    }
    Ok(Some(all))
}

/// Reads the rest of a feed and gives `each` piece in order; false if it was stopped from outside. No more pieces are
/// held than there are hands.
pub(super) fn in_pieces(
    mut feed: Feed<'_>,
    (dialect, uses, order): (&Dialect, &[Use], Option<DateOrder>),
    progress: &mut dyn FnMut(usize, usize) -> bool,
    each: &mut dyn FnMut(Piece) -> Result<()>,
) -> Result<bool> {
    let hands = threads().clamp(1, 8);
    let mut texts: Vec<Vec<u8>> = vec![Vec::new(); hands];
    loop {
        let mut filled = 0;
        for text in &mut texts {
            if !feed.next(text)? {
                break;
            }
            filled += 1;
        }
        let made: Vec<Mutex<Option<Piece>>> = (0..filled).map(|_| Mutex::new(None)).collect();
        let next = AtomicUsize::new(0);
        let work = || {
            while let (index, Some(slot)) = {
                let index = next.fetch_add(1, Ordering::Relaxed);
                (index, made.get(index))
            } {
                let Some(text) = texts.get(index) else { return };
                let piece = whole(text, dialect, uses, order);
                if let Ok(mut slot) = slot.lock() {
                    *slot = Some(piece);
                }
            }
        };
        beside(hands, work, work);
        for piece in made.into_iter().filter_map(|slot| slot.into_inner().ok().flatten()) {
            each(piece)?;
        }
        let (done, of) = feed.progress();
        if !progress(done, of) {
            return Ok(false);
        }
        if filled < hands {
            return Ok(true);
        }
    }
}

/// Reads a piece of text; a last row that looks cut is dropped.
fn whole(text: &[u8], dialect: &Dialect, uses: &[Use], order: Option<DateOrder>) -> Piece {
    let mut piece = Piece::read(text, dialect, uses, order, text.last() != Some(&b'\n'));
    if piece.cut.is_some() && looks_cut(text, dialect.separator) {
        piece.drop_last(uses);
    }
    piece
}

/// The columns of all pieces, one after another.
fn gathered(mut parts: Vec<Vec<Vec<f64>>>, columns: usize, rows: usize) -> Vec<Vec<f64>> {
    if parts.len() == 1 {
        return parts.pop().unwrap_or_default();
    }
    let made: Mutex<Vec<(usize, Vec<f64>)>> = Mutex::new(Vec::new());
    let next = AtomicUsize::new(0);
    let parts: Vec<Mutex<Vec<Vec<f64>>>> = (0..columns)
        .map(|column| {
            Mutex::new(parts.iter_mut().filter_map(|part| part.get_mut(column).map(std::mem::take)).collect())
        })
        .collect();
    let work = || {
        while let (column, Some(slot)) = {
            let column = next.fetch_add(1, Ordering::Relaxed);
            (column, parts.get(column))
        } {
            let Ok(pieces) = slot.lock().map(|mut slot| std::mem::take(&mut *slot)) else { return };
            let filled = pieces.iter().any(|piece| !piece.is_empty());
            let mut whole = Vec::with_capacity(if filled { rows } else { 0 });
            // Each piece is given back as soon as it is copied.
            for piece in pieces {
                whole.extend_from_slice(&piece);
            }
            if let Ok(mut made) = made.lock() {
                made.push((column, whole));
            }
        }
    };
    beside(columns, work, work);
    let mut made = made.into_inner().unwrap_or_default();
    made.sort_by_key(|(column, _)| *column);
    made.into_iter().map(|(_, column)| column).collect()
}

/// The role of a column that is read as numbers.
pub(super) const fn is_reading(role: Role) -> bool {
    matches!(role, Role::Air | Role::PartSide | Role::Setpoint | Role::Duty)
}
