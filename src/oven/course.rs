//! The readings of one channel that count, block by block: from the loading on, holes filled one way or another.

use std::borrow::Cow;

use super::log::OvenLog;
use super::received::{Fill, ROOM_C, filled};
use super::repair::Gap;
use super::response::Trace;
use super::role::Role;
use crate::error::{Error, Result};

/// Samples that are handed out at once.
const BLOCK: usize = 8192;

/// The readings of a channel that count, in the order of time.
pub(super) struct Course<'a> {
    seconds: Cow<'a, [f64]>,
    celsius: Cow<'a, [f64]>,
    holes: Vec<Gap>,
    loaded: bool,
}

impl OvenLog {
    /// The readings of a channel from an instant on, without those that are missing: seconds and values, copied only
    /// where some are.
    pub(super) fn good(&self, role: Role, from_s: f64) -> (Cow<'_, [f64]>, Cow<'_, [f64]>) {
        let values = self.channel(role).map(|channel| channel.values.as_slice()).unwrap_or_default();
        let seconds = self.seconds.get(..values.len()).unwrap_or(&self.seconds);
        let from = seconds.partition_point(|&time| time < from_s);
        let (seconds, values) = (seconds.get(from..).unwrap_or_default(), values.get(from..).unwrap_or_default());
        if values.iter().fold(true, |all, value| all & value.is_finite()) {
            return (seconds.into(), values.into());
        }
        let there = || seconds.iter().zip(values).filter(|(_, value)| value.is_finite());
        (there().map(|(time, _)| *time).collect(), there().map(|(_, value)| *value).collect())
    }

    /// The course of a channel from the loading on.
    pub(super) fn course(&self, role: Role) -> Result<Course<'_>> {
        let (seconds, celsius) = self.good(role, self.load.map_or(f64::NEG_INFINITY, |load| load.at_s));
        if seconds.len() < 2 {
            return Err(Error::NoAnswer {
                model: "oven.history".into(),
                asked: "what the steel got".into(),
                why: format!("{} has fewer than two readings after the part went in", role.name()).into(),
                hint: "Check load_s".into(),
            });
        }
        // In the order of time: those of one channel are listed behind those of all.
        let mut holes = self.gaps_that_count(role);
        holes.sort_by(|a, b| a.end_s.total_cmp(&b.end_s));
        Ok(Course { seconds, celsius, holes, loaded: self.load.is_some() })
    }
}

/// Where a part begins in air of a temperature: one put into a hot oven is at room temperature, one that heats with the
/// oven starts with it.
pub(super) fn part_start(first_c: f64, loaded: bool) -> f64 {
    if loaded || first_c > 3.0 * ROOM_C { ROOM_C.min(first_c) } else { first_c }
}

impl Course<'_> {
    /// The first reading.
    pub(super) fn first_c(&self) -> f64 {
        self.celsius.first().copied().unwrap_or(ROOM_C)
    }

    /// Where a part in this air begins.
    pub(super) fn part_start(&self) -> f64 {
        part_start(self.first_c(), self.loaded)
    }

    /// Gives `each` block of seconds and °C, holes filled.
    pub(super) fn blocks(&self, fill: Fill, mut each: impl FnMut(&[f64], &[f64]) -> Result<()>) -> Result<()> {
        let mut holes = self.holes.iter().filter(|_| fill != Fill::Line).peekable();
        let mut last: Option<(f64, f64)> = None;
        let mut made = Trace::default();
        for (seconds, celsius) in self.seconds.chunks(BLOCK).zip(self.celsius.chunks(BLOCK)) {
            let end = seconds.last().copied().zip(celsius.last().copied());
            if end.is_none_or(|(end_s, _)| holes.peek().is_none_or(|hole| hole.end_s > end_s)) {
                each(seconds, celsius)?;
                last = end;
                continue;
            }
            made.seconds.clear();
            made.celsius.clear();
            for (&time, &value) in seconds.iter().zip(celsius) {
                while let Some(hole) = holes.next_if(|hole| hole.end_s <= time) {
                    let ends = last.filter(|(from, _)| hole.start_s == *from && hole.end_s == time);
                    let points = ends.and_then(|from| filled(from, (time, value), fill));
                    for (time, value) in points.into_iter().flatten() {
                        made.seconds.push(time);
                        made.celsius.push(value);
                    }
                }
                made.seconds.push(time);
                made.celsius.push(value);
                last = Some((time, value));
            }
            each(&made.seconds, &made.celsius)?;
        }
        Ok(())
    }

    /// All of it, holes joined by straight lines.
    pub(super) fn trace(&self) -> Trace {
        Trace { seconds: self.seconds.to_vec(), celsius: self.celsius.to_vec() }
    }
}
