//! One cell of a log file: a number, nothing, a fault, or text.

/// Powers of ten that a double holds exactly.
pub(super) const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];

/// The largest integer below which all integers are doubles.
const EXACT: u64 = 1 << 53;

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Cell {
    /// A number.
    Number(f64),
    /// A number with a temperature unit behind it.
    Degrees(f64, TemperatureUnit),
    /// Nothing: empty, or a word for nothing.
    Missing,
    /// A word or a number that loggers write for a broken sensor.
    Fault,
    /// Anything else.
    Text,
}

/// The unit of a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Kelvin.
    Kelvin,
    /// Tenths of a degree Celsius, as loggers write whole numbers.
    TenthCelsius,
}

impl TemperatureUnit {
    /// The unit from the ways people write it.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        match text.trim().trim_start_matches(['°', 'º', '˚']).to_lowercase().as_str() {
            "c" | "degc" | "deg c" | "celsius" | "℃" | "centigrade" => Some(Self::Celsius),
            "f" | "degf" | "deg f" | "fahrenheit" | "℉" => Some(Self::Fahrenheit),
            "k" | "kelvin" => Some(Self::Kelvin),
            "0.1c" | "0.1 c" | "0.1°c" | "0.1 °c" | "0.1 degc" | "0.1degc" => Some(Self::TenthCelsius),
            _ => None,
        }
    }

    /// A reading in this unit as °C.
    #[must_use]
    pub fn to_celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
            Self::Kelvin => value - crate::quantity::ZERO_CELSIUS_K,
            Self::TenthCelsius => value / 10.0,
        }
    }

    /// A reading in °C in this unit.
    pub(super) fn of_celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => value * 1.8 + 32.0,
            Self::Kelvin => value + crate::quantity::ZERO_CELSIUS_K,
            Self::TenthCelsius => value * 10.0,
        }
    }

    /// How it is written.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Kelvin => "K",
            Self::TenthCelsius => "0.1 °C",
        }
    }
}

/// Takes spaces and one pair of quotes off a cell.
pub(super) fn trimmed(mut cell: &[u8]) -> &[u8] {
    cell = cell.trim_ascii();
    if let [b'"', inner @ .., b'"'] = cell {
        cell = inner.trim_ascii();
    }
    cell
}

/// A plain number, correctly rounded; `None` for anything that is not one.
pub(super) fn number(cell: &[u8], decimal: u8) -> Option<f64> {
    let (negative, digits) = match cell {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, cell),
    };
    let mut mantissa: u64 = 0;
    let mut places = 0usize;
    let mut seen = 0usize;
    let mut behind = false;
    for &byte in digits {
        if byte.is_ascii_digit() {
            mantissa = mantissa.checked_mul(10)?.checked_add(u64::from(byte - b'0'))?;
            seen += 1;
            places += usize::from(behind);
        } else if byte == decimal && !behind {
            behind = true;
        } else {
            return by_the_book(cell, decimal);
        }
    }
    if seen == 0 {
        return None;
    }
    let power = POWERS.get(places).filter(|_| mantissa < EXACT);
    let Some(power) = power else { return by_the_book(cell, decimal) };
    let value = mantissa as f64 / power;
    Some(if negative { -value } else { value })
}

/// Exponents and very long numbers, by the standard library.
fn by_the_book(cell: &[u8], decimal: u8) -> Option<f64> {
    if !cell.iter().any(u8::is_ascii_digit) {
        return None;
    }
    let text = std::str::from_utf8(cell).ok()?;
    let made = if decimal == b',' { text.replace(',', ".") } else { text.to_owned() };
    made.parse().ok().filter(|value: &f64| value.is_finite())
}

/// Words that loggers write where there is no reading.
const MISSING: [&str; 15] =
    ["", "nan", "na", "n/a", "#n/a", "null", "none", "--", "---", "----", "-----", "-", "off", "nan(ind)", "1.#qnan"];

/// Words that loggers write for a broken or unplugged sensor.
const FAULTS: [&str; 23] = [
    "open",
    "err",
    "error",
    "ol",
    "over",
    "under",
    "overrange",
    "underrange",
    "n/c",
    "nc",
    "burnout",
    "burn out",
    "fault",
    "inf",
    "+inf",
    "-inf",
    "1.#inf",
    "+1.#inf",
    "-1.#inf",
    "infinity",
    "underflow",
    "overflow",
    "fail",
];

/// Any cell that is not a plain number.
pub(super) fn odd(cell: &[u8], decimal: u8) -> Cell {
    let text = super::feed::text_of(cell);
    let text = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\'' | '=' | '\0'));
    let lower = text.to_lowercase();
    if MISSING.contains(&lower.as_str()) {
        return Cell::Missing;
    }
    if FAULTS.contains(&lower.as_str()) {
        return Cell::Fault;
    }
    let plain = ascii_number(text);
    let (figures, unit) = match plain.find(|c: char| c.is_alphabetic() || c == '°' || c == 'º') {
        Some(at) if !plain.get(at..).is_some_and(|rest| rest.starts_with(['e', 'E'])) => plain.split_at(at),
        _ => (plain.as_str(), ""),
    };
    let Some(value) = grouped(figures.trim(), decimal) else { return Cell::Text };
    if unit.trim().is_empty() {
        return Cell::Number(value);
    }
    TemperatureUnit::named(unit).map_or(Cell::Text, |unit| Cell::Degrees(value, unit))
}

/// The text with minus signs, digits and spaces of other scripts written as ASCII.
fn ascii_number(text: &str) -> String {
    text.chars()
        .filter(|c| !matches!(c, '\u{a0}' | '\u{202f}' | '\u{2009}' | '\''))
        .map(|c| match c {
            '\u{2212}' | '\u{2013}' => '-',
            '\u{660}'..='\u{669}' => char::from(b'0' + (c as u32 - 0x660) as u8),
            '\u{6f0}'..='\u{6f9}' => char::from(b'0' + (c as u32 - 0x6f0) as u8),
            other => other,
        })
        .collect()
}

/// A number that may carry thousands separators, or a decimal comma in a file of points.
fn grouped(figures: &str, decimal: u8) -> Option<f64> {
    let (commas, points) = (figures.matches(',').count(), figures.matches('.').count());
    let last = |mark| figures.rfind(mark).unwrap_or(0);
    let made = match (commas, points) {
        (0, 0 | 1) => figures.to_owned(),
        // No oven's reading has three places behind one figure, and 1,024 °F is one.
        (1, 0) if decimal == b'.' && figures.find(',') == Some(1) && thousands(figures.as_bytes()).is_some() => {
            figures.replace(',', "")
        }
        (1, 0) => figures.replace(',', "."),
        (1.., 1) if last('.') > last(',') => figures.replace(',', ""),
        (1, 1..) if last(',') > last('.') => figures.replace('.', "").replace(',', "."),
        (2.., 0) => figures.replace(',', ""),
        (0, 2..) if decimal == b',' => figures.replace('.', ""),
        _ => return None,
    };
    number(made.as_bytes(), b'.')
}

/// A whole number whose figures stand in threes between commas, as 1,024 and 12,000 do and 0,125 and 19,5 do not.
pub(super) fn thousands(cell: &[u8]) -> Option<f64> {
    let mut groups = cell.split(|&byte| byte == b',');
    let (first, rest) = (groups.next()?, groups.collect::<Vec<_>>());
    let figures = |group: &[u8]| group.iter().all(u8::is_ascii_digit);
    let leads = (1..=3).contains(&first.len()) && figures(first) && first.first() != Some(&b'0');
    if !leads || rest.is_empty() || !rest.iter().all(|group| group.len() == 3 && figures(group)) {
        return None;
    }
    let whole: Vec<u8> = cell.iter().copied().filter(u8::is_ascii_digit).collect();
    number(&whole, b'.')
}

/// Values that stand for "sensor open" or "no reading" in many loggers, when out of keeping with their neighbours
/// (common practice, no source).
const SENTINELS: [f64; 17] = [
    1370.0, 1371.0, 1372.0, 1373.0, 850.0, 999.9, 9999.0, 3276.7, 32767.0, 6553.5, -32768.0, -999.0, -9999.0, -200.0,
    -270.0, -273.15, -328.0,
];

/// Whether a reading is one that loggers write for a fault, in the unit of the file; a conversion there and back may
/// have moved it by a rounding.
pub(super) fn is_sentinel(reading: f64) -> bool {
    SENTINELS.iter().any(|code| (code - reading).abs() < 1e-9)
}

/// What a common digital sensor shows before its first reading (common practice, no source).
pub(super) const POWER_ON_C: f64 = 85.0;

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library's correctly rounded parser.
    #[test]
    fn numbers_are_correctly_rounded() {
        for text in ["0", "-0.1", "199.8", "+21.30", "123456.789012", "0.000001", "9007199254740993", "1.998E+02", "7."]
        {
            assert_eq!(number(text.as_bytes(), b'.'), text.parse().ok(), "{text}");
        }
        for text in ["", "-", ".", "1.2.3", "abc", "1,5", "inf", "nan"] {
            assert_eq!(number(text.as_bytes(), b'.'), None, "{text}");
        }
        assert_eq!(number(b"199,8", b','), Some(199.8));
    }

    #[test]
    fn figures_in_threes() {
        assert_eq!(thousands(b"12,000"), Some(12_000.0));
        assert_eq!(thousands(b"1,234,567"), Some(1_234_567.0));
        for text in ["0,125", "1,5", "1000", "1,0000", "1,000.5", ",000", "1234,000", "-1,000"] {
            assert_eq!(thousands(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn odd_cells() {
        assert_eq!(odd("199.8 °C".as_bytes(), b'.'), Cell::Degrees(199.8, TemperatureUnit::Celsius));
        assert_eq!(odd(b"391.8 F", b'.'), Cell::Degrees(391.8, TemperatureUnit::Fahrenheit));
        assert_eq!(odd("\u{2212}5.2".as_bytes(), b'.'), Cell::Number(-5.2));
        assert_eq!(odd("1\u{a0}024,5".as_bytes(), b','), Cell::Number(1024.5));
        assert_eq!(odd(b"1,024.5", b'.'), Cell::Number(1024.5));
        assert_eq!(odd(b"1,024", b'.'), Cell::Number(1024.0));
        assert_eq!(odd(b"199,875", b'.'), Cell::Number(199.875));
        assert_eq!(odd(b"1.024,5", b','), Cell::Number(1024.5));
        assert_eq!(odd(b"=\"199.8\"", b'.'), Cell::Number(199.8));
        assert_eq!(odd(b"OPEN", b'.'), Cell::Fault);
        assert_eq!(odd(b"nan", b'.'), Cell::Missing);
        assert_eq!(odd(b"DOOR", b'.'), Cell::Text);
    }
}
