//! What a column is, from its name: clock, air, part side, setpoint, duty; and in which unit.

use serde::{Deserialize, Serialize};

use super::cell::TemperatureUnit;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Role {
    /// Elapsed time or clock text.
    Time,
    /// A date that goes with a clock column.
    Date,
    /// The oven's air.
    Air,
    /// Beside the part.
    PartSide,
    /// What the controller aims at.
    Setpoint,
    /// The heater's duty.
    Duty,
    /// A temperature of which the name says no more.
    Temperature,
    /// Nothing that counts here.
    Other,
}

impl Role {
    /// The role's name in Python and in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Date => "date",
            Self::Air => "air",
            Self::PartSide => "part_side",
            Self::Setpoint => "setpoint",
            Self::Duty => "duty",
            Self::Temperature => "temperature",
            Self::Other => "other",
        }
    }

    /// Whether a heading names a voltage of a thermocouple.
    pub(super) fn is_voltage(name: &str) -> bool {
        name.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| matches!(word, "mv" | "millivolt" | "emf"))
    }

    /// A role a user may give a column.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        match heading(text).role {
            Role::Other | Role::Temperature | Role::Date => None,
            role => Some(role),
        }
    }
}

/// The unit of a time column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeUnit {
    /// Milliseconds.
    Millisecond,
    /// Seconds.
    Second,
    /// Minutes.
    Minute,
    /// Hours.
    Hour,
}

impl TimeUnit {
    /// Seconds in one of it.
    #[must_use]
    pub const fn seconds(self) -> f64 {
        match self {
            Self::Millisecond => 1e-3,
            Self::Second => 1.0,
            Self::Minute => 60.0,
            Self::Hour => 3600.0,
        }
    }

    /// How it is written.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Millisecond => "ms",
            Self::Second => "s",
            Self::Minute => "min",
            Self::Hour => "h",
        }
    }

    /// The unit from the ways people write it.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        match text {
            "ms" | "msec" | "millisecond" | "milliseconds" => Some(Self::Millisecond),
            "s" | "sec" | "secs" | "second" | "seconds" | "sek" => Some(Self::Second),
            "min" | "mins" | "minute" | "minutes" => Some(Self::Minute),
            "h" | "hr" | "hrs" | "hour" | "hours" | "std" => Some(Self::Hour),
            _ => None,
        }
    }
}

/// What a heading says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Heading {
    pub role: Role,
    pub temperature_unit: Option<TemperatureUnit>,
    pub time_unit: Option<TimeUnit>,
}

const TIME: &[&str] =
    &["elapsed", "time", "clock", "timestamp", "datetime", "zeit", "uhrzeit", "runtime", "stamp", "duration", "temps"];
const DATE: &[&str] = &["date", "datum", "day"];
const AIR: &[&str] = &[
    "air", "oven", "chamber", "furnace", "kiln", "pv", "process", "actual", "ist", "istwert", "luft", "ofen", "control",
];
const PART: &[&str] = &[
    "part",
    "partside",
    "blade",
    "bladeside",
    "work",
    "workpiece",
    "piece",
    "load",
    "steel",
    "teil",
    "werkstück",
    "werkstueck",
];
const SETPOINT: &[&str] = &["setpoint", "sp", "set", "target", "soll", "sollwert", "setpt", "wanted"];
const DUTY: &[&str] = &["duty", "output", "out", "power", "heater", "op", "leistung", "stellgrad"];
const NOT_A_CHANNEL: &[&str] = &[
    "cj", "cjc", "junction", "internal", "ambient", "room", "humidity", "mv", "ma", "volt", "current", "status",
    "flag", "alarm", "event", "remark", "note", "index", "no", "nr", "row", "sample", "max", "min", "error",
];
const TEMPERATURE: &[&str] = &[
    "temp",
    "temperature",
    "temperatur",
    "t",
    "tc",
    "ch",
    "channel",
    "sensor",
    "probe",
    "avg",
    "average",
    "mean",
    "mittel",
    "mittelwert",
    "value",
];

/// Ways to say that a whole number counts tenths of a degree.
const TENTHS: [&str; 7] = ["x10", "*10", "×10", "0.1 degc", "1/10", "[0.1  c", "(0.1  c"];

/// Reads a column's heading.
pub(super) fn heading(text: &str) -> Heading {
    let lower = text.to_lowercase().replace(['°', 'º', '˚', 'â'], " ").replace('℃', " degc ").replace('℉', " degf ");
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric() && c != '%').filter(|w| !w.is_empty()).collect();
    let has =
        |list: &[&str]| words.iter().any(|word| list.contains(&word.trim_end_matches(|c: char| c.is_ascii_digit())));
    // A unit is the last word, or stands alone in brackets there; "t" and "s" alone can't be both name and unit.
    let unit_word = words.last().copied().filter(|_| words.len() > 1);
    let temperature_unit = match unit_word.and_then(TemperatureUnit::named) {
        Some(TemperatureUnit::Celsius) if TENTHS.iter().any(|mark| lower.contains(mark)) => {
            Some(TemperatureUnit::TenthCelsius)
        }
        unit => unit,
    };
    let time_unit = unit_word.and_then(TimeUnit::named);
    let percent = unit_word.is_some_and(|word| matches!(word, "%" | "pct" | "percent"));
    let role = if has(SETPOINT) {
        Role::Setpoint
    } else if has(DUTY) || percent {
        Role::Duty
    } else if has(PART) {
        Role::PartSide
    } else if has(AIR) {
        Role::Air
    } else if has(DATE) && has(TIME) {
        Role::Time
    } else if has(DATE) {
        Role::Date
    } else if has(TIME)
        || (time_unit.is_some() && temperature_unit.is_none() && !has(NOT_A_CHANNEL))
        || matches!(words.as_slice(), [only] if TimeUnit::named(only).is_some())
    {
        Role::Time
    } else if has(NOT_A_CHANNEL) {
        Role::Other
    } else if temperature_unit.is_some() || has(TEMPERATURE) {
        Role::Temperature
    } else {
        Role::Other
    };
    let time_unit = time_unit.or_else(|| match words.as_slice() {
        [only] if role == Role::Time => TimeUnit::named(only),
        _ => None,
    });
    Heading { role, temperature_unit, time_unit }
}

/// A heading without the unit at its end: "T1" of "T1 [°C]", "air" of "air_degc".
pub(super) fn without_unit(text: &str) -> &str {
    let text = text.trim();
    let cut = text.rfind(['[', '(', ' ', '_', '/', ',']);
    let Some((name, unit)) = cut.and_then(|at| text.split_at_checked(at)) else { return text };
    let unit = unit.trim_start_matches([' ', '_', '/', ',']).trim_matches(['[', ']', '(', ')', ' ']);
    let name = name.trim_end_matches([' ', '_', '/', ',', '[', '(']);
    // "deg C" is one unit in two words.
    let name = if unit.len() == 1 { name.strip_suffix(" deg").unwrap_or(name) } else { name };
    if is_unit(unit) && !name.is_empty() { name } else { text }
}

/// Whether a text is nothing but a unit, as in a second heading line.
pub(super) fn is_unit(text: &str) -> bool {
    let lower = text.trim().trim_matches(['[', ']', '(', ')', '"']).to_lowercase();
    TemperatureUnit::named(&lower).is_some()
        || TimeUnit::named(&lower).is_some()
        || matches!(lower.as_str(), "hh:mm:ss" | "hh:mm" | "%" | "pct" | "yyyy-mm-dd" | "dd.mm.yyyy" | "-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings() {
        for (text, role) in [
            ("elapsed_s", Role::Time),
            ("clock_local", Role::Time),
            ("Time", Role::Time),
            ("seconds", Role::Time),
            ("Date", Role::Date),
            ("Date/Time", Role::Time),
            ("air_degc", Role::Air),
            ("Oven [°C]", Role::Air),
            ("PV", Role::Air),
            ("blade_side_degc", Role::PartSide),
            ("part_side_degc", Role::PartSide),
            ("part_side", Role::PartSide),
            ("setpoint_degc", Role::Setpoint),
            ("SP", Role::Setpoint),
            ("heater_duty_pct", Role::Duty),
            ("T1 [°C]", Role::Temperature),
            ("Temp (°F)", Role::Temperature),
            ("Temperature", Role::Temperature),
            ("cold junction degC", Role::Other),
            ("remark", Role::Other),
        ] {
            assert_eq!(heading(text).role, role, "{text}");
        }
        assert_eq!(heading("T1 [°F]").temperature_unit, Some(TemperatureUnit::Fahrenheit));
        assert_eq!(heading("elapsed_min").time_unit, Some(TimeUnit::Minute));
        assert_eq!(heading("time").time_unit, None);
        for (whole, name) in [
            ("T1 [°C]", "T1"),
            ("T1 (°F)", "T1"),
            ("air_degc", "air"),
            ("Temp deg C", "Temp"),
            ("part side, °C", "part side"),
            ("PV", "PV"),
            ("T C", "T"),
            ("oven air", "oven air"),
        ] {
            assert_eq!(without_unit(whole), name);
        }
        assert!(is_unit("degC") && is_unit("hh:mm:ss") && !is_unit("199.8"));
    }
}
