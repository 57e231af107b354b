//! The body of a file read in pieces, by several hands.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use super::clock::DateOrder;
use super::dialect::Dialect;
use super::feed::{Feed, text_of};
use super::table::{Piece, Use};
use crate::error::{Error, Result};
use crate::kernel::{beside, threads};

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

/// Pieces put one after another as they are read; those that come too early wait.
struct Gathering {
    all: Piece,
    next: usize,
    waiting: Vec<(usize, Piece)>,
    /// Columns whose numbers have been taken over: the next piece fills them again.
    spare: Vec<Vec<Vec<f64>>>,
    size: usize,
}

impl Gathering {
    fn new(columns: usize, size: usize) -> Self {
        Self { all: Piece::new(columns), next: 0, waiting: Vec::new(), spare: Vec::new(), size }
    }

    /// Takes a piece that was read from so many bytes.
    fn take(&mut self, index: usize, piece: Piece, bytes: usize) {
        self.waiting.push((index, piece));
        while let Some(at) = self.waiting.iter().position(|(index, _)| *index == self.next) {
            let (_, piece) = self.waiting.swap_remove(at);
            if self.next == 0 {
                self.all.expect(&piece, bytes, self.size);
            }
            let emptied = self.all.append(piece);
            self.spare.push(emptied);
            self.next += 1;
        }
    }
}

/// Reads the rest of a feed; nothing if it was stopped from outside.
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
    let gathering = Mutex::new(Gathering::new(uses.len(), size));
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
            let columns = gathering.lock().ok().and_then(|mut gathering| gathering.spare.pop());
            let piece = whole(&text, dialect, uses, order, columns);
            if let Ok(mut gathering) = gathering.lock() {
                gathering.take(index, piece, text.len());
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
    let Ok(Gathering { mut all, .. }) = gathering.into_inner() else { return Ok(None) };
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
                let piece = whole(text, dialect, uses, order, None);
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
fn whole(
    text: &[u8],
    dialect: &Dialect,
    uses: &[Use],
    order: Option<DateOrder>,
    columns: Option<Vec<Vec<f64>>>,
) -> Piece {
    let mut piece = Piece::read(text, dialect, uses, order, text.last() != Some(&b'\n'), columns);
    if piece.cut.is_some() && looks_cut(text, dialect.separator) {
        piece.drop_last(uses);
    }
    piece
}
