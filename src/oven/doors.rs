//! Door openings in the air's record: a quick fall from the heat, and a return.

use serde::{Deserialize, Serialize};

use super::extent::extent;
use super::log::OvenLog;
use super::role::Role;

/// A door opening, as the air shows it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DoorEvent {
    /// Last reading before the fall, elapsed seconds.
    pub start_s: f64,
    /// Level before it, °C.
    pub before_c: f64,
    /// Coldest reading.
    pub lowest_c: f64,
    /// When that was.
    pub lowest_s: f64,
    /// Back to within a tenth of the fall (1 °C at the least); the end of the record where it never came back.
    pub recovered_s: f64,
}

impl DoorEvent {
    /// How far the air fell, °C.
    #[must_use]
    pub fn drop_delta_c(&self) -> f64 {
        self.before_c - self.lowest_c
    }
}

/// An open door takes so much within a minute; an oven that is switched off does not.
const FALL_C: f64 = 8.0;
const WITHIN_S: f64 = 60.0;
/// Below this nothing is said of doors.
const HOT_C: f64 = 100.0;
/// The air is back within this time, or it was no door.
const LONGEST_S: f64 = 3600.0;

impl OvenLog {
    /// The door openings of the record, without the loading; none where it has no air channel.
    #[must_use]
    pub fn doors(&self) -> Vec<DoorEvent> {
        let (seconds, celsius) = self.good(Role::Air, f64::NEG_INFINITY);
        let load = self.load.map(|load| load.at_s);
        let is_hole = |from: f64, to: f64| self.gaps.iter().any(|gap| gap.start_s <= from && to <= gap.end_s);
        let mut found = Vec::new();
        let mut index = 0;
        while let (Some(&start_s), Some(&before_c)) = (seconds.get(index), celsius.get(index)) {
            if let Some(quiet) = quiet(&seconds, &celsius, index) {
                index = quiet;
                continue;
            }
            let rest = || seconds.iter().copied().zip(celsius.iter().copied()).skip(index + 1);
            let Some((next, after_c)) = rest().next() else { break };
            let reach = WITHIN_S.max(next - start_s);
            let soon = rest().take_while(|(time, _)| *time - start_s <= reach);
            let lowest = soon.map(|(_, value)| value).fold(f64::INFINITY, f64::min);
            // The fall begins at the reading behind which most of it comes at once.
            let begins = before_c - after_c > 0.2 * (before_c - lowest);
            if before_c < HOT_C || before_c - lowest < FALL_C || !begins || is_hole(start_s, next) {
                index += 1;
                continue;
            }
            match event(start_s, before_c, rest()) {
                Some((event, steps)) => {
                    if load.is_none_or(|load| (load - start_s).abs() > WITHIN_S.max(2.0 * (next - start_s))) {
                        found.push(event);
                    }
                    index += steps;
                }
                None => index += 1,
            }
        }
        found
    }
}

/// The end of the stretch from `index` on in which no door was opened, if there is one: nothing in it was hot, or nothing
/// falls so far soon enough.
fn quiet(seconds: &[f64], celsius: &[f64], index: usize) -> Option<usize> {
    const BLOCK: usize = 1024;
    if index % BLOCK != 0 {
        return None;
    }
    let end = (index + BLOCK).min(seconds.len());
    let last_s = seconds.get(end.checked_sub(1)?)?;
    let ahead = seconds.get(end..)?.partition_point(|time| time - last_s <= WITHIN_S).max(1);
    let (_, high) = extent(celsius.get(index..end)?);
    let (low, _) = extent(celsius.get(index..(end + ahead).min(celsius.len()))?);
    (high < HOT_C || high - low < FALL_C).then_some(end)
}

/// The event that begins before `rest`, and how many readings it takes; nothing if the air never came back.
fn event(start_s: f64, before_c: f64, rest: impl Iterator<Item = (f64, f64)>) -> Option<(DoorEvent, usize)> {
    let (mut lowest_s, mut lowest_c) = (start_s, before_c);
    for (steps, (time, value)) in rest.enumerate() {
        if time - start_s > LONGEST_S {
            return None;
        }
        if value < lowest_c {
            (lowest_s, lowest_c) = (time, value);
        }
        let drop = before_c - lowest_c;
        if drop >= FALL_C && value >= before_c - (0.1 * drop).max(1.0) {
            return Some((DoorEvent { start_s, before_c, lowest_c, lowest_s, recovered_s: time }, steps + 1));
        }
    }
    None
}
