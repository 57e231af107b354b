//! The rows that nearly all rows are: plain numbers and plain clock texts, nothing quoted, nothing missing. Anything else
//! is left to the careful way.

use memchr::memchr3;

use super::cell::POWERS;
use super::clock::stamp;
use super::dialect::Dialect;
use super::table::{ClockMarks, Use};

/// The most figures whose integer a double holds for certain.
const FIGURES: usize = 15;

/// Reads plain rows.
pub(super) struct Quick<'a> {
    uses: &'a [Use],
    separator: u8,
    /// The decimal mark; a line end, which no number holds, where commas are both.
    decimal: u8,
    /// The last date read, so that a date is worked out once a day.
    date: ([u8; 10], f64),
}

impl<'a> Quick<'a> {
    pub(super) fn new(dialect: &Dialect, uses: &'a [Use]) -> Self {
        let decimal = if dialect.decimal == dialect.separator { b'\n' } else { dialect.decimal };
        Self { uses, separator: dialect.separator, decimal, date: ([0; 10], f64::NAN) }
    }

    /// Reads one row with its line end into `row`, one number a column that is used; the bytes it took.
    #[inline]
    pub(super) fn row(&mut self, text: &[u8], row: &mut [f64], marks: &mut ClockMarks) -> Option<usize> {
        let mut at = 0;
        // Noted only when the whole row was plain.
        let mut dated: Option<bool> = None;
        let last = self.uses.len().checked_sub(1)?;
        for (index, (used, value)) in self.uses.iter().zip(row.iter_mut()).enumerate() {
            let field = text.get(at..)?;
            let length = match used {
                Use::Number | Use::Counter => {
                    let (read, length) = plain_number(field, self.decimal)?;
                    *value = read;
                    length
                }
                Use::Clock => {
                    let (read, length, with_date) = plain_clock(field, &mut self.date)?;
                    *value = read;
                    dated = Some(with_date);
                    length
                }
                Use::Skip => {
                    *value = f64::NAN;
                    memchr3(self.separator, b'\n', b'"', field)?
                }
                Use::Date => return None,
            };
            at += length;
            match text.get(at)? {
                &mark if mark == self.separator && index < last => at += 1,
                b'\n' if index == last => at += 1,
                b'\r' if index == last && text.get(at + 1) == Some(&b'\n') => at += 2,
                _ => return None,
            }
        }
        if let Some(dated) = dated {
            marks.note(dated, false, false);
        }
        Some(at)
    }
}

/// A number at the start of a field, and its length.
#[inline]
fn plain_number(field: &[u8], decimal: u8) -> Option<(f64, usize)> {
    short_number(field, decimal).or_else(|| long_number(field, decimal))
}

/// A number without a sign that ends within eight bytes, all of them looked at together as one word.
#[inline]
fn short_number(field: &[u8], decimal: u8) -> Option<(f64, usize)> {
    const HIGH_BITS: u64 = 0x8080_8080_8080_8080;
    let word = u64::from_le_bytes(*field.first_chunk()?);
    // A figure is now below ten; the high bit tells of each byte that is none.
    let figures = word ^ 0x3030_3030_3030_3030;
    let others = (((figures & !HIGH_BITS) + 0x7676_7676_7676_7676) | figures) & HIGH_BITS;
    let before = others.trailing_zeros() as usize / 8;
    if others == 0 {
        return None;
    }
    if (word >> (8 * before)) as u8 != decimal {
        return (before > 0).then(|| (f64::from(eight_figures(figures << (64 - 8 * before))), before));
    }
    let behind = others & (others - 1);
    let end = behind.trailing_zeros() as usize / 8;
    if behind == 0 || end == 1 {
        return None;
    }
    // Without the decimal mark.
    let whole = (1u64 << (8 * before)) - 1;
    let joined = (figures & whole) | ((figures >> 8) & !whole);
    let value = f64::from(eight_figures(joined << (64 - 8 * (end - 1))));
    Some((value / POWERS.get(end - before - 1)?, end))
}

/// The integer of eight figures, the first in the lowest byte.
#[inline]
const fn eight_figures(figures: u64) -> u32 {
    const PAIRS: u64 = 0x0000_00ff_0000_00ff;
    let pairs = figures.wrapping_mul(10).wrapping_add(figures >> 8);
    let (even, odd) = (pairs & PAIRS, (pairs >> 16) & PAIRS);
    // Times 10^6 and 10^2, and 10^4 and 1.
    let sum = even.wrapping_mul(100 + (1_000_000 << 32)).wrapping_add(odd.wrapping_mul(1 + (10_000 << 32)));
    (sum >> 32) as u32
}

/// A number of at most [`FIGURES`] figures at the start of a field, and its length.
fn long_number(field: &[u8], decimal: u8) -> Option<(f64, usize)> {
    let negative = field.first() == Some(&b'-');
    let start = usize::from(negative);
    let mut mantissa = 0u64;
    let mut at = start;
    let mut digits = |at: &mut usize| {
        while let Some(&byte) = field.get(*at) {
            let digit = byte.wrapping_sub(b'0');
            if digit > 9 {
                break;
            }
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            *at += 1;
        }
    };
    digits(&mut at);
    let before = at - start;
    let mut places = 0;
    if field.get(at) == Some(&decimal) {
        at += 1;
        let from = at;
        digits(&mut at);
        places = at - from;
    }
    let figures = before + places;
    if figures == 0 || figures > FIGURES {
        return None;
    }
    // Both are exact in a double, so the quotient is the nearest one.
    let value = if places == 0 { mantissa as f64 } else { mantissa as f64 / POWERS.get(places)? };
    Some((if negative { -value } else { value }, at))
}

/// `YYYY-MM-DDThh:mm:ss` or `hh:mm:ss` at the start of a field: seconds, length, whether there is a date.
fn plain_clock(field: &[u8], date: &mut ([u8; 10], f64)) -> Option<(f64, usize, bool)> {
    if let Some(seconds) = clock_face(field) {
        return Some((seconds, 8, false));
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
    Some((date.1 + seconds, 19, true))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Eight bytes together say what one after the other say.
    #[test]
    fn words_are_read_as_bytes_are() {
        let ends = [",", "\n", "\r\n", "x", "é,", "-", ""];
        let numbers = ["0", "7", "42", "198.15", "9699998", "12345678", "0.001", "1.", ".5", ".", "", "1.2.3", "-3.25"];
        for number in numbers {
            for end in ends {
                for decimal in [b'.', b','] {
                    let text = format!("{number}{end}199.5,200.25\n");
                    let long = long_number(text.as_bytes(), decimal);
                    let short = short_number(text.as_bytes(), decimal);
                    assert!(short.is_none() || short == long, "{text:?}: {short:?}, not {long:?}");
                    assert_eq!(plain_number(text.as_bytes(), decimal), long, "{text:?}");
                }
            }
        }
    }
}
