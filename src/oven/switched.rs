//! A column that changes from °C to °F, or back, in the middle of a record.

use super::clean::{BLOCK, calm};

/// Samples on either side that show how the record goes on: a switch stays, a spike or a door does not.
pub(super) const SAMPLES: usize = 10;

/// So many of them there must be before and behind.
const BEFORE: usize = 3;
const BEHIND: usize = 2;

/// Readings behind it that are looked at.
const SOME: usize = 3;

/// Readings that tell how fast the record goes.
const PACE: usize = 4;

/// The least step that counts: that of a room.
const LEAST_STEP_C: f64 = 40.0;

/// How near the step must come to that of a change of unit, beside what the readings' own steps change by.
const NEAR_C: f64 = 1.5;

/// With more room than this a fall, as of a probe beside a cold part, comes near by chance.
const MOST_ROOM_C: f64 = 8.0;

/// What may lie between readings behind one that stood still.
const STUCK_MOVES_C: f64 = 1.0;

/// Where a column switches: the sample, and the readings before and behind.
///
/// From one reading to the next it goes to what the same temperature, carried on as it went, is in the other unit, and
/// goes on from there as steadily as before. Neither a door nor a part nor a probe that is put in does so.
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
    let at = |from: usize, until: usize| -> Vec<(f64, f64)> {
        let times = seconds.get(from..until.min(seconds.len())).unwrap_or_default();
        let there = times.iter().copied().zip(values.get(from..).unwrap_or_default().iter().copied());
        there.filter(|(_, value)| value.is_finite()).collect()
    };
    let (earlier, later) = (at((last + 1).saturating_sub(SAMPLES), last + 1), at(index, index + SOME));
    if earlier.len() < BEFORE || later.len() < BEHIND {
        return false;
    }
    let (slope, bend) = pace(earlier.get(earlier.len().saturating_sub(PACE)..).unwrap_or_default());
    let up = to > before;
    let scale = if up { 1.8 } else { 1.0 / 1.8 };
    // Over a hole no longer than rows usually are, it went on as before; over a longer one nobody knows.
    let usual = (then - earlier.first().map_or(*then, |(time, _)| *time)) / (earlier.len() - 1) as f64;
    let went_on = before + slope * (now - then).min(usual);
    let same = if up { 1.8 * went_on + 32.0 } else { (went_on - 32.0) / 1.8 };
    let room = NEAR_C + scale * bend;
    // One that stood still to the last digit and then moves was stuck.
    let most = if slope == 0.0 && bend == 0.0 { STUCK_MOVES_C } else { room };
    let steady = later.windows(2).all(|pair| match pair {
        [(a, from), (b, to)] => (to - from - scale * slope * (b - a)).abs() <= most + 0.5 * (slope * (b - a)).abs(),
        _ => true,
    });
    (to - same).abs() <= room && room < MOST_ROOM_C && (went_on - before).abs() < 0.3 * (to - before).abs() && steady
}

/// The last slope of readings, and the most that a step differs from what the slope behind it lets expect.
fn pace(readings: &[(f64, f64)]) -> (f64, f64) {
    let slopes: Vec<(f64, f64)> =
        readings.windows(2).map(|p| (p[1].0 - p[0].0, (p[1].1 - p[0].1) / (p[1].0 - p[0].0))).collect();
    let changes = slopes.windows(2).map(|pair| ((pair[1].1 - pair[0].1) * pair[1].0).abs());
    (slopes.last().map_or(0.0, |(_, slope)| *slope), changes.fold(0.0, f64::max))
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
        for at in [5, 12, 40, 120, 500, 895] {
            let (seconds, up) = record(|i, v| if i < at { v } else { 1.8 * v + 32.0 });
            assert_eq!(switch(&seconds, &up).unwrap().0, at);
            let (_, down) = record(|i, v| if i < at { v } else { (v - 32.0) / 1.8 });
            assert_eq!(switch(&seconds, &down).map(|found| found.0), (at >= 40).then_some(at));
        }
    }

    /// Also over a hole, for a few rows only, and in rows so far apart that the oven heats by 20 °C in one.
    #[test]
    fn a_switch_is_found_over_a_hole_and_in_slow_rows() {
        let (seconds, values) = record(|i, v| if i < 500 { v } else { 1.8 * v + 32.0 });
        let kept = |i: &usize| !(450..560).contains(i);
        let part = |all: &[f64]| (0..900).filter(kept).map(|i| all[i]).collect::<Vec<_>>();
        assert_eq!(switch(&part(&seconds), &part(&values)).unwrap().0, 450);
        let (seconds, few) = record(|i, v| if (500..503).contains(&i) { 1.8 * v + 32.0 } else { v });
        assert_eq!(switch(&seconds, &few).unwrap().0, 500);
        let (seconds, values) = record(|i, v| if i < 90 { v } else { 1.8 * v + 32.0 });
        let slow = |all: &[f64]| all.iter().copied().step_by(6).collect::<Vec<_>>();
        assert_eq!(switch(&slow(&seconds), &slow(&values)).unwrap().0, 15);
    }

    #[test]
    fn doors_spikes_and_cold_parts_are_no_switch() {
        let (seconds, door) = record(|i, v| if (500..540).contains(&i) { 100.0 + 2.0 * (i - 500) as f64 } else { v });
        assert_eq!(switch(&seconds, &door), None);
        let (_, spike) = record(|i, v| if i == 500 { 1.8 * v + 32.0 } else { v });
        assert_eq!(switch(&seconds, &spike), None);
        let (_, put_in) =
            record(|i, v| if i < 500 { 20.0 } else { v - (v - 20.0) * (-0.3 * (i as f64 - 499.0)).exp() });
        assert_eq!(switch(&seconds, &put_in), None);
        let (_, out) = record(|i, v| if i < 500 { v } else { 20.0 + 73.0 * (-0.05 * (i as f64 - 500.0)).exp() });
        assert_eq!(switch(&seconds, &out), None);
    }
}
