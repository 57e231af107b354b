//! What a log's clock showed at its first row.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::clock::DAY_S;
use super::order::Clock;

/// What the clock showed when a log began; its elapsed seconds count from there.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub enum Began {
    /// Nothing: the log counts seconds, from where it likes.
    #[default]
    Counter,
    /// A time of day without a date, in seconds since midnight.
    TimeOfDay(f64),
    /// Date and time, in seconds since 1970-01-01 by the log's own clock; UTC where its times carry their offset.
    Dated(f64),
}

impl Began {
    /// By the kind of clock, and the first time it showed in s; `since_1970` for a counter that counts from then.
    pub(super) fn of(clock: Clock, first_s: f64, since_1970: bool) -> Self {
        /// Days of a spreadsheet count from 1899-12-30, so that 1970-01-01 is this one (the 1900 system).
        const SPREADSHEET_1970: f64 = 25_569.0;
        if clock.is_clock && clock.dated || since_1970 && !clock.is_clock {
            Self::Dated(first_s)
        } else if clock.is_clock && since_1970 {
            Self::Dated(first_s - SPREADSHEET_1970 * DAY_S)
        } else if clock.is_clock {
            Self::TimeOfDay(first_s.rem_euclid(DAY_S))
        } else {
            Self::Counter
        }
    }
}

impl fmt::Display for Began {
    /// ISO 8601; nothing for a counter. Times are rounded to the millisecond and written to the second where they are whole.
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (Self::TimeOfDay(seconds) | Self::Dated(seconds)) = *self else { return Ok(()) };
        let millis = (seconds * 1e3).round();
        let (days, of_day) = ((millis / (DAY_S * 1e3)).floor(), millis.rem_euclid(DAY_S * 1e3) as u64);
        if matches!(self, Self::Dated(_)) {
            let (year, month, day) = civil_from_days(days as i64);
            write!(to, "{year:04}-{month:02}-{day:02}T")?;
        }
        let (second, milli) = (of_day / 1000, of_day % 1000);
        write!(to, "{:02}:{:02}:{:02}", second / 3600, second / 60 % 60, second % 60)?;
        if milli > 0 { write!(to, ".{milli:03}") } else { Ok(()) }
    }
}

/// Year, month and day of a day counted from 1970-01-01 (H. Hinnant's algorithm, from memory; checked by test).
fn civil_from_days(days: i64) -> (i64, i64, i64) {
    let shifted = days + 719_468;
    let era = shifted.div_euclid(146_097);
    let of_era = shifted.rem_euclid(146_097);
    let of_years = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * of_years + of_years / 4 - of_years / 100);
    let march = (5 * of_year + 2) / 153;
    let month = if march < 10 { march + 3 } else { march - 9 };
    let year = of_years + era * 400 + i64::from(month <= 2);
    (year, month, of_year - (153 * march + 2) / 5 + 1)
}

#[cfg(test)]
mod tests {
    use super::super::clock::days_from_civil;
    use super::*;

    #[test]
    fn days_and_dates_go_both_ways() {
        for days in (-200_000..200_000).step_by(37) {
            let (year, month, day) = civil_from_days(days);
            assert_eq!(days_from_civil(year, month, day), days);
        }
    }

    /// 1795561190 s is 2026-11-24 22:59:50 UTC by the definition of Unix time.
    #[test]
    fn iso_texts() {
        assert_eq!(Began::Dated(1_795_561_190.0).to_string(), "2026-11-24T22:59:50");
        assert_eq!(Began::TimeOfDay(86_399.5).to_string(), "23:59:59.500");
        assert_eq!(Began::Counter.to_string(), "");
    }
}
