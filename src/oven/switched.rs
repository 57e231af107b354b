//! A column that changes from °C to °F, or back, in the middle of a record.

use super::clean::{BLOCK, calm};
use super::extent::extent;

/// Samples on either side that must go on steadily: a switch stays, a spike or a door does not.
pub(super) const SAMPLES: usize = 10;

/// The least step that counts: below it an oven's own doings come near.
const LEAST_STEP_C: f64 = 60.0;

/// No oven or part moves faster than this from one sample to the next and then stands still, °C/s.
const FASTEST_C_S: f64 = 0.5;

/// How near the step must come to that of a change of unit, beside what the readings moved just before it.
const NEAR_C: f64 = 1.5;

/// Where a column switches: the sample, and the readings before and behind.
///
/// From one reading to the next it goes to what the same temperature is in the other unit, far more quickly than metal or
/// air can, and goes on from there.
pub(super) fn switch(seconds: &[f64], values: &[f64]) -> Option<(usize, f64, f64)> {
    let mut last: Option<(usize, f64)> = None;
    for (block, start) in values.chunks(BLOCK).zip((0..).step_by(BLOCK)) {
        if calm(last.map_or(f64::NAN, |(_, value)| value), block, LEAST_STEP_C) {
            last = block.last().map(|value| (start + block.len() - 1, *value));
            continue;
        }
        for (index, &to) in (start..).zip(block).filter(|(_, value)| value.is_finite()) {
            let before = last.replace((index, to));
            let found = before.filter(|(_, from)| (to - from).abs() >= LEAST_STEP_C);
            if let Some((_, from)) = found.filter(|before| is_switch(seconds, values, *before, (index, to))) {
                return Some((index, from, to));
            }
        }
    }
    None
}

fn is_switch(seconds: &[f64], values: &[f64], (last, before): (usize, f64), (index, to): (usize, f64)) -> bool {
    let (Some(then), Some(now)) = (seconds.get(last), seconds.get(index)) else { return false };
    if (to - before).abs() < FASTEST_C_S * (now - then) {
        return false;
    }
    let earlier = values.get((last + 1).saturating_sub(SAMPLES)..=last).unwrap_or_default();
    let later = values.get(index..index + SAMPLES).unwrap_or_default();
    if earlier.len() < SAMPLES || later.len() < SAMPLES {
        return false;
    }
    let (moved, scale) = (most_moved(earlier), if to > before { 1.8 } else { 1.0 / 1.8 });
    let same = if to > before { 1.8 * before + 32.0 } else { (before - 32.0) / 1.8 };
    let room = NEAR_C + 2.0 * scale * moved;
    let (low, high) = extent(later);
    (to - same).abs() <= room && most_moved(later) <= room && high - low <= room * SAMPLES as f64 && room < 10.0
}

/// The largest step among readings.
fn most_moved(values: &[f64]) -> f64 {
    values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).filter(|step| step.is_finite()).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An oven that heats up and swings, here a temperature in °C.
    fn celsius(index: usize) -> f64 {
        let t = index as f64;
        20.0 + 180.0 * (1.0 - (-t / 60.0).exp()) + 0.3 * (0.7 * t).sin()
    }

    fn record(unit: impl Fn(usize, f64) -> f64) -> (Vec<f64>, Vec<f64>) {
        (0..900).map(|i| (10.0 * i as f64, unit(i, celsius(i)))).unzip()
    }

    /// By the definition of the degree Fahrenheit: 1.8 °C + 32.
    #[test]
    fn a_switch_is_found_in_both_directions() {
        for at in [120, 500] {
            let (seconds, up) = record(|i, v| if i < at { v } else { 1.8 * v + 32.0 });
            assert_eq!(switch(&seconds, &up).unwrap().0, at);
            let (_, down) = record(|i, v| if i < at { v } else { (v - 32.0) / 1.8 });
            assert_eq!(switch(&seconds, &down).unwrap().0, at);
        }
    }

    #[test]
    fn doors_spikes_and_cold_parts_are_no_switch() {
        let (seconds, door) = record(|i, v| if (500..540).contains(&i) { 100.0 + 2.0 * (i - 500) as f64 } else { v });
        assert_eq!(switch(&seconds, &door), None);
        let (_, spike) = record(|i, v| if i == 500 { 1.8 * v + 32.0 } else { v });
        assert_eq!(switch(&seconds, &spike), None);
        let (_, out) = record(|i, v| if i < 500 { v } else { 20.0 + 73.0 * (-0.05 * (i as f64 - 500.0)).exp() });
        assert_eq!(switch(&seconds, &out), None);
    }
}
