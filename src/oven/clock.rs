//! Clock texts and what they mean in elapsed seconds.

/// Seconds in a day.
pub(super) const DAY_S: f64 = 86_400.0;

/// A clock text in seconds since an arbitrary midnight, and whether it carried a date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stamp {
    /// Seconds since 1970-01-01 with a date, since midnight without one.
    pub seconds: f64,
    /// Whether the text carried a date.
    pub dated: bool,
    /// Whether its time has two parts only, hours and minutes or minutes and seconds.
    pub two_parts: bool,
    /// Whether it carries its offset from UTC.
    pub zoned: bool,
}

/// Days from 1970-01-01 in the proleptic Gregorian calendar (H. Hinnant's algorithm, from memory; checked by test).
pub(super) fn days_from_civil(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let shifted = (month + 9) % 12;
    let of_year = (153 * shifted + 2) / 5 + day - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// Which part of a numeric date comes first where both readings are possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DateOrder {
    /// Day before month.
    DayFirst,
    /// Month before day.
    MonthFirst,
}

/// Reads a date, a time of day, or both.
pub(super) fn stamp(text: &str, order: Option<DateOrder>) -> Option<Stamp> {
    let text = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\''));
    let cut = text
        .char_indices()
        .find(|&(at, c)| matches!(c, 'T' | ' ' | '\u{a0}' | '\u{202f}') && text.get(..at).is_some_and(looks_like_date));
    let (date, time) = match cut {
        Some((at, mark)) => (text.get(..at), text.get(at + mark.len_utf8()..).unwrap_or("")),
        None if looks_like_date(text) => (Some(text), ""),
        None => (None, text),
    };
    let days = match date {
        Some(date) => Some(read_date(date, order)?),
        None => None,
    };
    let (seconds, two_parts, zoned) =
        if time.trim().is_empty() { (days.map(|_| 0.0)?, false, false) } else { time_of_day(time)? };
    Some(Stamp { seconds: days.unwrap_or(0) as f64 * DAY_S + seconds, dated: days.is_some(), two_parts, zoned })
}

fn looks_like_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split(['-', '/', '.']).collect();
    parts.len() == 3
        && parts.iter().all(|part| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit()))
}

fn read_date(text: &str, order: Option<DateOrder>) -> Option<i64> {
    let mut parts = text.split(['-', '/', '.']);
    let (a, b, c) = (parts.next()?, parts.next()?, parts.next()?);
    let value = |part: &str| part.parse::<i64>().ok();
    let (year, month, day) = if a.len() == 4 {
        (value(a)?, value(b)?, value(c)?)
    } else {
        let (first, second) = (value(a)?, value(b)?);
        let year = value(c).map(|year| if c.len() <= 2 { 2000 + year } else { year })?;
        let month_first = match order {
            _ if first > 12 => false,
            _ if second > 12 => true,
            Some(order) => order == DateOrder::MonthFirst,
            // Nothing tells, and nothing hangs on it: see [`OrderFound::Either`].
            None => false,
        };
        if month_first { (year, first, second) } else { (year, second, first) }
    };
    ((1..=12).contains(&month) && (1..=length_of_month(year, month)).contains(&day))
        .then(|| days_from_civil(year, month, day))
}

fn length_of_month(year: i64, month: i64) -> i64 {
    let next = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
    days_from_civil(next.0, next.1, 1) - days_from_civil(year, month, 1)
}

/// The date at the start of a clock text, as written.
pub(super) fn date_of(text: &str) -> Option<&str> {
    let text = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\''));
    let end = text.find(|c: char| !c.is_ascii_digit() && !matches!(c, '-' | '/' | '.')).unwrap_or(text.len());
    text.get(..end).filter(|date| looks_like_date(date))
}

/// The months in English, German and French.
const MONTHS: &str = "january february march april may june july august september october november december januar jänner \
                      februar märz maerz mai juni juli oktober dezember janvier février fevrier mars avril juin juillet août \
                      aout septembre octobre novembre décembre decembre";

/// Whether a clock text writes the month as a word, beside a day or a year in figures.
pub(super) fn names_month(text: &str) -> bool {
    let lower = text.to_lowercase();
    let is_month =
        |word: &str| word.chars().count() >= 3 && MONTHS.split_whitespace().any(|month| month.starts_with(word));
    lower.chars().any(|c| c.is_ascii_digit()) && lower.split(|c: char| !c.is_alphabetic()).any(is_month)
}

/// Whether a clock text carries a date like 30 February, of a month there is and a day it does not have.
pub(super) fn is_impossible(text: &str, order: Option<DateOrder>) -> bool {
    let Some(date) = date_of(text) else { return false };
    let parts: Vec<i64> = date.split(['-', '/', '.']).filter_map(|part| part.parse().ok()).collect();
    let early = parts.iter().filter(|&&part| (1..=12).contains(&part)).count() > 0;
    early && parts.iter().any(|part| (29..=31).contains(part)) && read_date(date, order).is_none()
}

/// `hh:mm[:ss[.fff]]`, 12 or 24 hours, with or without an offset from UTC: seconds since midnight, whether there are no
/// seconds in it, whether there is an offset.
fn time_of_day(text: &str) -> Option<(f64, bool, bool)> {
    let lower = text.trim().to_lowercase().replace(['\u{a0}', '\u{202f}'], " ");
    let (clock, mark) = match lower.find(|c: char| c.is_alphabetic() && c != 'z') {
        Some(at) => lower.split_at(at),
        None => (lower.as_str(), ""),
    };
    let mark: String = mark.chars().filter(|c| c.is_alphabetic()).collect();
    let afternoon = match mark.as_str() {
        "" => None,
        "am" | "vorm" => Some(false),
        "pm" | "nachm" => Some(true),
        _ => return None,
    };
    let clock = clock.trim();
    let (clock, offset_s) = match clock.find(['+', 'z']).or_else(|| clock.rfind('-')) {
        Some(at) => (clock.get(..at)?, Some(utc_offset(clock.get(at..)?)?)),
        None => (clock, None),
    };
    let mut parts = clock.trim().split(':');
    let mut hours: f64 = parts.next()?.trim().parse().ok()?;
    let minutes: f64 = parts.next()?.parse().ok()?;
    let last = parts.next();
    let seconds: f64 = last.map_or(Some(0.0), |s| s.replace(',', ".").parse().ok())?;
    if parts.next().is_some() || !(0.0..60.0).contains(&minutes) || !(0.0..61.0).contains(&seconds) || hours < 0.0 {
        return None;
    }
    if let Some(afternoon) = afternoon {
        hours = hours % 12.0 + if afternoon { 12.0 } else { 0.0 };
    }
    let since_midnight = hours * 3600.0 + minutes * 60.0 + seconds - offset_s.unwrap_or(0.0);
    Some((since_midnight, last.is_none(), offset_s.is_some()))
}

fn utc_offset(text: &str) -> Option<f64> {
    if text == "z" {
        return Some(0.0);
    }
    let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let hours: f64 = digits.get(..2)?.parse().ok()?;
    let minutes: f64 = digits.get(2..4).map_or(Some(0.0), |m| m.parse().ok())?;
    Some(sign * (hours * 3600.0 + minutes * 60.0))
}

/// Rows of a log that follow one another lie no farther apart than this, in days: a weekend.
const APART_DAYS: i64 = 3;

/// What a column of dates says about their order.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum OrderFound {
    /// It does not matter: the year comes first, or both orders give the same days.
    Either,
    /// A part above 12 settles it.
    Settled(DateOrder),
    /// In this order the rows follow one another and in the other they do not; shown by two dates.
    Follows(DateOrder, String),
    /// Neither order makes rows that follow one another; shown by two dates.
    Open(String),
}

/// The order of day and month in dates as they follow in the file.
pub(super) fn date_order(dates: &[String]) -> OrderFound {
    let mut pairs: Vec<(i64, i64)> = Vec::new();
    for date in dates {
        let mut parts = date.split(['-', '/', '.']);
        let (Some(a), Some(b)) = (parts.next(), parts.next()) else { continue };
        if a.len() > 2 {
            continue;
        }
        match (a.parse(), b.parse()) {
            (Ok(a), Ok(_)) if a > 12 => return OrderFound::Settled(DateOrder::DayFirst),
            (Ok(_), Ok(b)) if b > 12 => return OrderFound::Settled(DateOrder::MonthFirst),
            (Ok(a), Ok(b)) => pairs.push((a, b)),
            _ => {}
        }
    }
    if pairs.windows(2).all(|pair| pair.first() == pair.last()) || pairs.iter().all(|(a, b)| a == b) {
        return OrderFound::Either;
    }
    let follows = |order| {
        let days: Vec<i64> = dates.iter().filter_map(|date| read_date(date, Some(order))).collect();
        days.windows(2).all(|pair| matches!(pair, [a, b] if (b - a).abs() <= APART_DAYS))
    };
    let shown = || dates.iter().take(2).map(|date| format!("'{date}'")).collect::<Vec<_>>().join(" and ");
    match (follows(DateOrder::DayFirst), follows(DateOrder::MonthFirst)) {
        (true, false) => OrderFound::Follows(DateOrder::DayFirst, shown()),
        (false, true) => OrderFound::Follows(DateOrder::MonthFirst, shown()),
        // Between points the day comes first by custom.
        (false, false) if dates.iter().all(|date| date.contains('.')) => OrderFound::Settled(DateOrder::DayFirst),
        _ => OrderFound::Open(shown()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(text: &str) -> Option<f64> {
        stamp(text, None).map(|stamp| stamp.seconds)
    }

    /// 1795561190 s is 2026-11-24 22:59:50 UTC by the definition of Unix time.
    #[test]
    fn dates_and_times() {
        assert_eq!(seconds("2026-11-24T22:59:50Z"), Some(1_795_561_190.0));
        assert_eq!(seconds("2026-11-24T23:59:50+01:00"), Some(1_795_561_190.0));
        assert_eq!(seconds("24.11.2026 22:59:50"), Some(1_795_561_190.0));
        assert_eq!(seconds("24.11.26 22:59:50"), Some(1_795_561_190.0));
        assert_eq!(seconds("11/24/2026 10:59:50 PM"), Some(1_795_561_190.0));
        assert_eq!(seconds("12:05:00 AM"), Some(300.0));
        assert_eq!(seconds("10:05:00\u{202f}PM"), Some(22.0 * 3600.0 + 300.0));
        assert_eq!(seconds("10:05:00 nachm."), Some(22.0 * 3600.0 + 300.0));
        assert_eq!(seconds("1:05:30"), Some(3930.0));
        assert_eq!(seconds("10:00"), Some(36_000.0));
        for text in [
            "199.8",
            "",
            "DOOR",
            "10:75:00",
            "1:2:3:4",
            "31.02",
            "2026-13-01 10:00",
            "2024-02-30 10:00",
            "2023-02-29",
            "31.04.2026",
        ] {
            assert_eq!(seconds(text), None, "{text}");
        }
        assert!(seconds("2024-02-29").is_some() && seconds("31.12.2026").is_some());
        assert!(is_impossible("2024-02-30 10:00", None) && !is_impossible("2024-02-29", None));
    }

    #[test]
    fn months_as_words() {
        for text in ["3 March 2026", "03-Mar-2026 10:00:00", "Mar-03", "3. März 2026", "12 août 2026 08:00"] {
            assert!(names_month(text), "{text}");
        }
        for text in ["2026-03-03 10:00", "10:05:00 PM", "10:05 vorm.", "MARCH", "Marker 1", "DOOR OPEN", ""] {
            assert!(!names_month(text), "{text}");
        }
    }

    /// Dates of consecutive days have one order only; by the calendar.
    #[test]
    fn orders_of_dates() {
        let of = |dates: &[&str]| date_order(&dates.iter().map(|&date| date.to_owned()).collect::<Vec<_>>());
        assert!(matches!(of(&["03/04/2026", "03/05/2026"]), OrderFound::Follows(DateOrder::MonthFirst, _)));
        assert!(matches!(of(&["03/04/2026", "04/04/2026"]), OrderFound::Follows(DateOrder::DayFirst, _)));
        assert_eq!(of(&["03/12/2026", "03/13/2026"]), OrderFound::Settled(DateOrder::MonthFirst));
        assert!(matches!(of(&["03/04/2026", "05/06/2026"]), OrderFound::Open(_)));
        assert_eq!(of(&["03/04/2026"]), OrderFound::Either);
        assert_eq!(of(&["2026-03-04", "2026-05-06"]), OrderFound::Either);
        assert_eq!(of(&["04.04.2026", "05.05.2026"]), OrderFound::Either);
    }
}
