//! When the part went in.

use serde::{Deserialize, Serialize};

/// When the part went in, and how that is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Loading {
    /// First elapsed second that counts.
    pub at_s: f64,
    /// Whether it was found in the record; otherwise it was given.
    pub found: bool,
}

/// How fast a probe falls that is put beside a cold part, how far, and how much more than the air does.
const WITHIN_S: f64 = 60.0;
const FALL_C: f64 = 50.0;
const TIMES_AIR: f64 = 2.0;
/// Below this an oven was not hot enough for a fall to say anything.
const HOT_C: f64 = 100.0;
/// A record that falls like this so often says nothing about when a part went in.
const MOST: usize = 1000;
/// What it must come back to, as a share of the level before: a part taken out does not.
const COMES_BACK: f64 = 0.7;

/// Finds the sample at which a cold part was put into a hot, empty oven.
///
/// The part side falls by tens of degrees within a minute and far more than the air, which a door alone does not do;
/// and it comes back, which a part taken out does not do.
pub(super) fn found(seconds: &[f64], part_side: &[f64], air: Option<&[f64]>) -> Option<Loading> {
    let mut looked = 0;
    let mut last: Option<(f64, f64)> = None;
    for (index, (&time, &value)) in seconds.iter().zip(part_side).enumerate() {
        if !value.is_finite() {
            continue;
        }
        let Some(before) = last.replace((time, value)) else { continue };
        let after = (time, value);
        if before.1 - after.1 < 0.5 * FALL_C || before.1 < HOT_C || after.0 - before.0 > 10.0 * WITHIN_S {
            continue;
        }
        looked += 1;
        if looked > MOST {
            return None;
        }
        let on = || seconds.iter().zip(part_side).skip(index).filter(|(_, value)| value.is_finite());
        let within = WITHIN_S.max(after.0 - before.0);
        let window = on().take_while(|(time, _)| **time - before.0 <= within);
        let lowest = window.map(|(_, &value)| value).fold(f64::INFINITY, f64::min);
        let fall = before.1 - lowest;
        // The fall begins here: most of it in this step, or this step is the steepest of it.
        if fall < FALL_C || before.1 - after.1 < 0.5 * fall {
            continue;
        }
        let air_fall = air.map_or(0.0, |air| fall_of(seconds, air, before.0, within));
        let comes_back = on().any(|(_, &value)| value > COMES_BACK * before.1);
        if fall > TIMES_AIR * air_fall && comes_back {
            return Some(Loading { at_s: after.0, found: true });
        }
    }
    None
}

/// How far a channel falls within a time from an instant on.
fn fall_of(seconds: &[f64], values: &[f64], from_s: f64, within_s: f64) -> f64 {
    let begin = seconds.partition_point(|&time| time < from_s);
    let window = seconds.iter().zip(values).skip(begin).take_while(|(time, _)| **time <= from_s + within_s);
    let finite = window.map(|(_, value)| *value).filter(|value| value.is_finite());
    let (mut first, mut lowest) = (None, f64::INFINITY);
    for value in finite {
        first.get_or_insert(value);
        lowest = lowest.min(value);
    }
    first.map_or(0.0, |first: f64| (first - lowest).max(0.0))
}
