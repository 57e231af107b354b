//! The bytes of a log as text in pieces that end at line ends: unpacked, decoded, in bounded memory.

use std::io::{ErrorKind, Read};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use flate2::read::MultiGzDecoder;
use memchr::{memchr_iter, memrchr};

use super::dialect::{Notes, refusal};
use crate::error::Result;

/// How much of a text is looked at to find out how it is written.
const HEAD: usize = 1 << 20;

/// Bytes of one piece; also the longest line there can be.
const PIECE: usize = 1 << 21;

/// Where a log comes from. It can be opened again.
#[derive(Debug, Clone, Copy)]
pub(super) enum Source<'a> {
    Bytes(&'a [u8]),
    Path(&'a Path),
}

impl<'a> Source<'a> {
    fn open(self) -> std::io::Result<(Box<dyn Read + Send + 'a>, u64)> {
        Ok(match self {
            Self::Bytes(bytes) => (Box::new(bytes), bytes.len() as u64),
            Self::Path(path) => {
                let file = std::fs::File::open(path)?;
                let size = file.metadata().map_or(0, |about| about.len());
                (Box::new(file), size)
            }
        })
    }
}

/// Counts what goes through.
struct Counted<'a> {
    inner: Box<dyn Read + Send + 'a>,
    taken: Arc<AtomicU64>,
}

impl Read for Counted<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let count = self.inner.read(into)?;
        self.taken.fetch_add(count as u64, Ordering::Relaxed);
        Ok(count)
    }
}

/// Two bytes a character.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wide {
    Little,
    Big,
}

/// Text out of a source, piece by piece.
pub(super) struct Feed<'a> {
    file: String,
    source: Box<dyn Read + Send + 'a>,
    taken: Arc<AtomicU64>,
    size: u64,
    wide: Option<Wide>,
    /// Bytes of a character that is not complete yet.
    part: Vec<u8>,
    /// Some lines end in a lone carriage return.
    carriage_returns: bool,
    /// Text that is not handed out yet.
    held: Vec<u8>,
    begun: bool,
    ended: bool,
    /// Why the source ended early, if it did.
    pub broken: Option<String>,
}

impl<'a> Feed<'a> {
    /// Opens a source and finds out how it is packed and encoded; what was needed is noted.
    pub(super) fn open(source: Source<'a>, file: &str, notes: &mut Notes) -> Result<Self> {
        let unreadable = |error: std::io::Error| refusal(file, None, error.to_string(), "Check the path");
        let (inner, size) = source.open().map_err(unreadable)?;
        let taken = Arc::new(AtomicU64::new(0));
        let mut counted = Counted { inner, taken: Arc::clone(&taken) };
        let mut magic = [0u8; 2];
        let length = fill(&mut counted, &mut magic).map_err(unreadable)?;
        let begun = std::io::Cursor::new(magic.get(..length).unwrap_or_default().to_vec()).chain(counted);
        let packed = magic == [0x1f, 0x8b];
        if packed {
            notes.push(("compressed", "unpacked with gzip".into()));
        }
        let source: Box<dyn Read + Send + 'a> =
            if packed { Box::new(MultiGzDecoder::new(begun)) } else { Box::new(begun) };
        let mut made = Self {
            file: file.to_owned(),
            source,
            taken,
            size,
            wide: None,
            part: Vec::new(),
            carriage_returns: false,
            held: Vec::new(),
            begun: false,
            ended: false,
            broken: None,
        };
        made.more(HEAD)?;
        made.find_encoding(notes)?;
        Ok(made)
    }

    /// The beginning of the text, whole lines as long as there are more.
    pub(super) fn head(&self) -> &[u8] {
        let until = if self.ended { None } else { memrchr(b'\n', &self.held).map(|at| at + 1) };
        self.held.get(..until.unwrap_or(self.held.len())).unwrap_or_default()
    }

    /// Leaves out the text before a byte of the head.
    pub(super) fn skip(&mut self, bytes: usize) {
        self.held.drain(..bytes.min(self.held.len()));
    }

    /// Bytes of the source done and in all.
    pub(super) fn progress(&self) -> (usize, usize) {
        let taken = self.taken.load(Ordering::Relaxed);
        (taken as usize, self.size.max(taken) as usize)
    }

    /// Puts the next piece into `piece`, whole lines unless the text ends without a line end. False at the end.
    pub(super) fn next(&mut self, piece: &mut Vec<u8>) -> Result<bool> {
        piece.clear();
        self.more(PIECE)?;
        let until = match memrchr(b'\n', &self.held) {
            Some(at) if !self.ended => at + 1,
            None if !self.ended => {
                return Err(refusal(
                    &self.file,
                    None,
                    format!("it has a line longer than {} MB", PIECE >> 20),
                    "Give a text table (CSV) with one reading a line",
                ));
            }
            _ => self.held.len(),
        };
        std::mem::swap(piece, &mut self.held);
        self.held.clear();
        self.held.extend_from_slice(piece.get(until..).unwrap_or_default());
        piece.truncate(until);
        Ok(!piece.is_empty())
    }

    /// The rest of the text, up to a size.
    pub(super) fn rest(&mut self, most: usize) -> Result<Vec<u8>> {
        let (mut all, mut piece) = (Vec::new(), Vec::new());
        while self.next(&mut piece)? {
            all.extend_from_slice(&piece);
            if all.len() > most {
                return Err(refusal(
                    &self.file,
                    None,
                    format!("one row a reading, and more than {} MB of it", most >> 20),
                    "Write it with one column a channel, or in parts",
                ));
            }
        }
        Ok(all)
    }

    /// Reads until that much text is held or there is no more.
    fn more(&mut self, wanted: usize) -> Result<()> {
        while !self.ended && self.held.len() < wanted {
            let old = self.held.len();
            let room = wanted - old;
            if self.wide.is_some() {
                let mut raw = std::mem::take(&mut self.part);
                let kept = raw.len();
                raw.resize(kept + room.next_multiple_of(2), 0);
                let count = self.take(raw.get_mut(kept..).unwrap_or_default())?;
                raw.truncate(kept + count);
                self.narrow(raw);
            } else {
                let mut held = std::mem::take(&mut self.held);
                held.resize(wanted, 0);
                let mut done = old;
                let mut failed = None;
                while done < wanted && !self.ended && failed.is_none() {
                    match self.take(held.get_mut(done..).unwrap_or_default()) {
                        Ok(count) => done += count,
                        Err(error) => failed = Some(error),
                    }
                }
                held.truncate(done);
                self.held = held;
                failed.map_or(Ok(()), Err)?;
            }
            if self.carriage_returns {
                lines_end_in_feeds(self.held.get_mut(old..).unwrap_or_default());
            }
        }
        Ok(())
    }

    fn take(&mut self, into: &mut [u8]) -> Result<usize> {
        match self.source.read(into) {
            Ok(0) => {
                self.ended = true;
                Ok(0)
            }
            Ok(count) => {
                self.begun = true;
                Ok(count)
            }
            Err(error) if error.kind() == ErrorKind::Interrupted => Ok(0),
            // A packed file that was cut: what came before the cut is good.
            Err(error) if self.begun => {
                self.ended = true;
                self.broken = Some(error.to_string());
                Ok(0)
            }
            Err(error) => Err(refusal(&self.file, None, error.to_string(), "Check the file")),
        }
    }

    /// UTF-16 as UTF-8; half a character waits for its other half.
    fn narrow(&mut self, mut raw: Vec<u8>) {
        let mut whole = raw.len() & !1;
        let unit = |pair: [u8; 2]| match self.wide {
            Some(Wide::Big) => u16::from_be_bytes(pair),
            _ => u16::from_le_bytes(pair),
        };
        let last = raw.get(whole.wrapping_sub(2)..whole).and_then(|pair| <[u8; 2]>::try_from(pair).ok());
        if !self.ended && last.is_some_and(|pair| (0xD800..0xDC00).contains(&unit(pair))) {
            whole -= 2;
        }
        let rest = raw.split_off(whole);
        let units = raw.chunks_exact(2).filter_map(|pair| <[u8; 2]>::try_from(pair).ok()).map(unit);
        let text: String = char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)).collect();
        self.held.extend_from_slice(text.as_bytes());
        self.part = if self.ended { Vec::new() } else { rest };
    }

    fn find_encoding(&mut self, notes: &mut Notes) -> Result<()> {
        let sample = self.held.get(..self.held.len().min(4096)).unwrap_or_default();
        let zeros_at = |odd: usize| sample.iter().skip(odd).step_by(2).filter(|&&byte| byte == 0).count();
        let (marks, wide, note) = match sample {
            [0xEF, 0xBB, 0xBF, ..] => (3, None, Some(("byte-order mark", "a UTF-8 byte-order mark was dropped"))),
            [0xFF, 0xFE, ..] => {
                (2, Some(Wide::Little), Some(("encoding", "read as UTF-16, little end first, by its byte-order mark")))
            }
            [0xFE, 0xFF, ..] => {
                (2, Some(Wide::Big), Some(("encoding", "read as UTF-16, big end first, by its byte-order mark")))
            }
            _ if sample.len() > 8 && zeros_at(1) * 5 > sample.len() * 2 && zeros_at(0) == 0 => (
                0,
                Some(Wide::Little),
                Some(("encoding", "read as UTF-16 without a byte-order mark: every second byte is zero")),
            ),
            _ => (0, None, None),
        };
        notes.extend(note.map(|(kind, why)| (kind, why.to_owned())));
        self.skip(marks);
        if wide.is_some() {
            self.wide = wide;
            let raw = std::mem::take(&mut self.held);
            self.narrow(raw);
        }
        let sample = self.held.get(..self.held.len().min(4096)).unwrap_or_default();
        let control = sample.iter().filter(|&&b| (b < 9 && b != 0) || (b > 13 && b < 32)).count();
        let zeros = sample.iter().filter(|&&byte| byte == 0).count();
        if control * 20 > sample.len() || zeros * 2 > sample.len() {
            let why = "the file is binary, not text";
            return Err(refusal(&self.file, None, why, "Give a text table (CSV) with a heading line"));
        }
        let lone = |at: usize| self.held.get(at + 1).is_some_and(|&next| next != b'\n');
        if memchr_iter(b'\r', &self.held).any(lone) {
            notes.push(("line ends", "some lines end in a lone carriage return".into()));
            self.carriage_returns = true;
            lines_end_in_feeds(&mut self.held);
        }
        if std::str::from_utf8(self.head()).is_err_and(|error| error.error_len().is_some()) {
            notes.push(("encoding", "bytes that are not UTF-8 were read as Latin-1 (cp1252)".into()));
        }
        Ok(())
    }
}

/// Makes line feeds of lone carriage returns.
fn lines_end_in_feeds(text: &mut [u8]) {
    for at in 0..text.len() {
        if text.get(at) == Some(&b'\r') && text.get(at + 1) != Some(&b'\n') {
            if let Some(byte) = text.get_mut(at) {
                *byte = b'\n';
            }
        }
    }
}

/// Reads until the buffer is full or the source ends.
fn fill(source: &mut impl Read, buffer: &mut [u8]) -> std::io::Result<usize> {
    let mut done = 0;
    while let Some(room) = buffer.get_mut(done..).filter(|room| !room.is_empty()) {
        match source.read(room) {
            Ok(0) => break,
            Ok(count) => done += count,
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(done)
}

/// Bytes as text: UTF-8, or Latin-1 where they are not.
pub(super) fn text_of(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.into(),
        Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect::<String>().into(),
    }
}
