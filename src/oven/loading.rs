//! When the part went in.

use std::collections::VecDeque;

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
/// A fall begins with the first sample that has lost this share of it.
const BEGUN: f64 = 0.1;
/// Below this an oven was not hot enough for a fall to say anything.
const HOT_C: f64 = 100.0;
/// Longest step between two samples that still shows a fall.
const LONGEST_STEP_S: f64 = 600.0;
/// What it must come back to, as a share of the level before: a part taken out does not.
const COMES_BACK: f64 = 0.7;
/// The part went in at the first fall that is as deep as this share of the deepest.
const NEARLY: f64 = 0.7;
/// A record that falls like this so often says nothing about when a part went in.
const MOST: usize = 100;

/// Finds the sample at which a cold part was put into a hot, empty oven.
///
/// The part side falls by tens of degrees within a minute and far more than the air, which a door alone does not do;
/// and it comes back, which a part taken out does not do. A probe that is itself late, logged every second, spreads the
/// fall over many samples.
pub(super) fn found(seconds: &[f64], part_side: &[f64], air: Option<&[f64]>) -> Option<Loading> {
    // Samples of the last minute that are higher than all after them: the first is the level that was fallen from.
    let mut higher: VecDeque<(usize, f64, f64)> = VecDeque::new();
    let mut falls: Vec<(f64, f64)> = Vec::new();
    let mut looked = 0;
    let mut last = f64::NEG_INFINITY;
    for (index, (&time, &value)) in seconds.iter().zip(part_side).enumerate() {
        if !value.is_finite() {
            continue;
        }
        let step = time - last;
        last = time;
        while higher.front().is_some_and(|(_, then, _)| time - then > WITHIN_S.max(step)) {
            higher.pop_front();
        }
        while higher.back().is_some_and(|(_, _, level)| *level <= value) {
            higher.pop_back();
        }
        if let Some(&(top, from_s, level)) = higher.front() {
            if level >= HOT_C && level - value >= FALL_C && step <= LONGEST_STEP_S {
                falls.extend(fallen(seconds, part_side, air, (top, from_s, level), step));
                looked += 1;
                if looked > MOST {
                    return None;
                }
                higher.clear();
            }
        }
        higher.push_back((index, time, value));
    }
    // An oven that swings wildly falls too, but a cold part falls further.
    let deepest = falls.iter().fold(0.0_f64, |deepest, (_, fall)| deepest.max(*fall));
    let (at_s, _) = falls.into_iter().find(|(_, fall)| *fall >= NEARLY * deepest)?;
    Some(Loading { at_s, found: true })
}

/// When the fall from a sample began and how deep it was, if it may be that of a part that went in.
fn fallen(
    seconds: &[f64],
    part_side: &[f64],
    air: Option<&[f64]>,
    (top, from_s, level): (usize, f64, f64),
    step: f64,
) -> Option<(f64, f64)> {
    let on = || seconds.iter().zip(part_side).skip(top).filter(|(_, value)| value.is_finite());
    // Past the level's own sample the fall may take another minute.
    let within = 2.0 * WITHIN_S.max(step);
    let lowest = on().take_while(|(time, _)| **time <= from_s + within).fold(level, |low, (_, &value)| low.min(value));
    let fall = level - lowest;
    let air_fall = air.map_or(0.0, |air| fall_of(seconds, air, from_s, within));
    let comes_back = on().skip_while(|(_, value)| **value > lowest).any(|(_, &value)| value > COMES_BACK * level);
    let (begun, _) = on().find(|(_, value)| level - **value > BEGUN * fall)?;
    (fall > TIMES_AIR * air_fall && comes_back).then_some((*begun, fall))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A probe 15 s late beside a part that goes cold into an oven of 220 °C at 1000 s, by first-order lags.
    fn probe(step: usize) -> (Vec<f64>, Vec<f64>) {
        let (mut probe, mut part) = (220.0, 20.0);
        let (mut seconds, mut values) = (Vec::new(), Vec::new());
        for second in 0..4000_usize {
            let sees = if second < 1000 {
                220.0
            } else {
                part += (220.0 - part) / 300.0;
                0.8 * part + 0.2 * 220.0
            };
            probe += (sees - probe) / 15.0;
            if second % step == 0 {
                seconds.push(second as f64);
                values.push(probe);
            }
        }
        (seconds, values)
    }

    #[test]
    fn a_late_probe_is_found_at_every_sampling() {
        for step in [1, 2, 5, 10, 30, 60] {
            let (seconds, values) = probe(step);
            let load = found(&seconds, &values, None).unwrap();
            assert!((load.at_s - 1000.0).abs() <= step.max(5) as f64, "{step}: {}", load.at_s);
        }
    }

    #[test]
    fn a_part_taken_out_is_not_put_in() {
        let (seconds, mut values) = probe(1);
        values.iter_mut().skip(1100).for_each(|value| *value = value.min(100.0));
        assert_eq!(found(&seconds, &values, None), None);
    }
}
