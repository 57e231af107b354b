//! Readings that are none: fault codes and channels that stand still; and holes and uneven steps in time.

use super::cell::{TemperatureUnit, is_sentinel};
use super::extent::steps_extent;
use super::order::Rows;
use super::repair::{Gap, Repair};
use super::role::Role;
use super::sample::stride;
use super::spike::{spikes, usual_bend};
use crate::error::Text;
use crate::quantity::ZERO_CELSIUS_K;

/// Above this, or below [`COLDEST_C`], no tempering oven's sensor tells the truth.
const HOTTEST_C: f64 = 1100.0;
/// See [`HOTTEST_C`].
const COLDEST_C: f64 = -60.0;

/// Whether a reading in °C is one that no oven gives: beyond any, or a logger's code for a fault far from the level so far.
fn no_oven_gives(celsius: f64, is_code: bool, level: f64) -> bool {
    let beyond = !celsius.is_nan() && !(COLDEST_C..=HOTTEST_C).contains(&celsius);
    beyond || (is_code && (celsius - level).abs() > 100.0)
}

/// The same of a reading that nobody has looked at. Infinite, or below absolute zero, it is neither, but nonsense.
pub(super) fn is_no_oven(celsius: f64, level: f64) -> bool {
    (-ZERO_CELSIUS_K..f64::INFINITY).contains(&celsius) && no_oven_gives(celsius, is_sentinel(celsius), level)
}

/// Shortest hole that is a gap, and how many sampling intervals make one.
const GAP_S: f64 = 60.0;
const GAP_INTERVALS: f64 = 3.0;

/// A wire connected the wrong way round shows an oven that heats as one that cools: so far below zero, so often.
const REVERSED_C: f64 = -20.0;
const REVERSED_TIMES: usize = 3;

/// A channel that shows exactly one value for so long has no noise at all, if it resolves less than this.
const STILL_S: f64 = 7200.0;
const STILL_STEP_C: f64 = 0.5;
const STILL_SAMPLES: usize = 20;

/// The median of some numbers; NaN of none.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return f64::NAN;
    }
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Differences from one to the next.
pub(super) fn steps(seconds: &[f64]) -> impl Iterator<Item = f64> + '_ {
    seconds.windows(2).map(|pair| match pair {
        [a, b] => b - a,
        _ => f64::NAN,
    })
}

/// The median of the positive steps.
pub(super) fn interval(seconds: &[f64]) -> f64 {
    let count = seconds.len().saturating_sub(1);
    median(steps(seconds).step_by(stride(count)).filter(|&step| step > 0.0).collect())
}

/// How many values are looked over at once.
pub(super) const BLOCK: usize = 4096;

/// Whether nothing in a stretch of readings stands out: no hole, no zero, nothing beyond an oven, no step above `most`.
pub(super) fn calm(before: f64, values: &[f64], most: f64) -> bool {
    let levels = values.iter().fold(true, |all, &v| all & (v > COLDEST_C) & (v < HOTTEST_C) & (v != 0.0));
    let first = values.first().is_some_and(|first| (first - before).abs() <= most);
    let (low, high) = if levels && first { steps_extent(values) } else { (-most, f64::INFINITY) };
    -most <= low && high <= most
}

/// The level about which most readings lie.
pub(super) fn typical(values: &[f64]) -> f64 {
    level(values.iter().copied().step_by(stride(values.len())))
}

/// The median of those readings that an oven can give.
pub(super) fn level(values: impl Iterator<Item = f64>) -> f64 {
    median(values.filter(|v| v.is_finite() && (COLDEST_C..HOTTEST_C).contains(v)).collect())
}

/// Takes false readings out of a channel that is there as a whole: those that no oven gives, then spikes.
pub(super) fn false_readings(
    (channel, unit): (Role, TemperatureUnit),
    seconds: &[f64],
    rows: &Rows,
    values: &mut [f64],
    repairs: &mut Vec<Repair>,
) {
    let typical = typical(values);
    faults((channel, unit), seconds, rows, values, typical, repairs);
    let bend = usual_bend(values);
    spikes(channel, seconds, rows, values, bend, repairs);
}

/// Takes readings that no oven gives out of a channel, which was in `unit` in the file.
pub(super) fn faults(
    (channel, unit): (Role, TemperatureUnit),
    seconds: &[f64],
    rows: &Rows,
    values: &mut [f64],
    typical: f64,
    repairs: &mut Vec<Repair>,
) {
    let start = values.iter().copied().find(|value| value.is_finite()).unwrap_or(f64::NAN);
    let mut found: Vec<usize> = Vec::new();
    let (mut last_good, mut below, mut zero_run) = (f64::NAN, Vec::new(), false);
    let mut from = 0;
    while from < values.len() {
        let until = (from + BLOCK).min(values.len());
        if !zero_run && calm(last_good, values.get(from..until).unwrap_or_default(), 100.0) {
            last_good = values.get(until - 1).copied().unwrap_or(last_good);
            from = until;
            continue;
        }
        for index in from..until {
            let Some(value) = values.get_mut(index) else { break };
            let level = if last_good.is_nan() { typical } else { last_good };
            let code = is_sentinel(unit.of_celsius(*value));
            let odd = no_oven_gives(*value, code, level);
            // Exactly zero right behind a hot reading is "no reading": nothing cools like that.
            let written = unit.of_celsius(*value);
            let zero = written.abs() < 1e-9 && (zero_run || last_good > 60.0);
            if *value < REVERSED_C && !code {
                below.push(index);
            }
            if odd || zero {
                found.push(index);
                *value = f64::NAN;
                zero_run = zero;
            } else if !value.is_nan() {
                last_good = *value;
                zero_run = false;
            }
        }
        from = until;
    }
    let count = found.len();
    push((channel, "fault code"), found, seconds, rows, repairs, || {
        format!(
            "{count} reading(s) that loggers write for an open or broken sensor, or that no oven reaches, were left out"
        )
    });
    if below.len() >= REVERSED_TIMES && (0.0..60.0).contains(&start) {
        push((channel, "reversed"), below, seconds, rows, repairs, || {
            "it falls far below zero from room temperature: the thermocouple is probably wired the wrong way round; \
             that can't be undone safely, so nothing was mirrored"
                .into()
        });
    }
}

/// The smallest difference between neighbours that are not alike: what the record resolves. Nothing where all are alike.
pub(super) fn resolution(values: &[f64]) -> Option<f64> {
    steps(values).filter_map(step_that_counts).reduce(f64::min)
}

/// The size of a difference between neighbours; one of rounding, as conversion from °F leaves, is none.
pub(super) fn step_that_counts(step: f64) -> Option<f64> {
    const ROUNDING_C: f64 = 1e-6;
    Some(step.abs()).filter(|&step| step > ROUNDING_C)
}

/// Whether one value for so long is more than what a controlled oven recorded to whole degrees repeats for hours.
pub(super) fn is_still(lasts_s: f64, samples: usize, resolution: Option<f64>) -> bool {
    lasts_s >= STILL_S && samples >= STILL_SAMPLES && resolution.is_none_or(|step| step < STILL_STEP_C)
}

/// The note on a channel that stood still.
pub(super) fn still_repair(channel: Role, level: f64, (from_s, until_s): (f64, f64)) -> Repair {
    let lasts = until_s - from_s;
    Repair {
        kind: Text::Borrowed("stuck"),
        channel: Some(channel),
        seconds: Some((from_s, until_s)),
        rows: Vec::new(),
        why: format!(
            "it shows {level} °C for {lasts:.0} s without any change: a sensor has noise, a dead or simulated channel has \
             none; it was kept"
        ),
    }
}

/// Names a channel that shows one value exactly for hours; it is kept.
pub(super) fn still(channel: Role, seconds: &[f64], rows: &Rows, values: &[f64], repairs: &mut Vec<Repair>) {
    let mut begin = 0;
    let mut longest = (0.0, 0, 0);
    while let Some(&start_s) = seconds.get(begin) {
        // One that lasts long enough holds still at the first sample that lies so far on.
        let on = seconds.get(begin..).unwrap_or_default().partition_point(|time| time - start_s < STILL_S);
        let Some((level, reach)) = values.get(begin + on).map(|level| (level, begin + on)) else { break };
        let first = values.get(begin..reach).and_then(|before| before.iter().rposition(|value| value != level));
        if let Some(other) = first {
            begin += other + 1;
            continue;
        }
        let after = values.get(reach + 1..).unwrap_or_default();
        let end = reach + after.iter().position(|value| value != level).unwrap_or(after.len());
        let lasts = seconds.get(end).unwrap_or(&start_s) - start_s;
        if lasts > longest.0 {
            longest = (lasts, begin, end);
        }
        begin = end + 1;
    }
    let (lasts, begin, end) = longest;
    if is_still(lasts, end - begin, resolution(values)) {
        let at = |index: usize| seconds.get(index).copied().unwrap_or(f64::NAN);
        let level = values.get(begin).copied().unwrap_or(f64::NAN);
        let mut repair = still_repair(channel, level, (at(begin), at(end)));
        repair.rows = vec![rows.of(begin), rows.of(end)];
        repairs.push(repair);
    }
}

pub(super) fn push(
    (channel, kind): (Role, &'static str),
    indices: Vec<usize>,
    seconds: &[f64],
    rows: &Rows,
    repairs: &mut Vec<Repair>,
    why: impl FnOnce() -> String,
) {
    if let (Some(&first), Some(&last)) = (indices.first(), indices.last()) {
        let at = |index: usize| seconds.get(index).copied().unwrap_or(f64::NAN);
        repairs.push(Repair {
            kind: Text::Borrowed(kind),
            channel: Some(channel),
            seconds: Some((at(first), at(last))),
            rows: indices.into_iter().map(|index| rows.of(index)).collect(),
            why: why(),
        });
    }
}

/// The longest hole in a channel that a straight line may cross, where rows are usually so far apart.
pub(super) fn longest_bridge(interval_s: f64) -> f64 {
    GAP_S.max(GAP_INTERVALS * interval_s)
}

/// Holes in a channel, or in the rows as a whole.
pub(super) fn gaps(channel: Option<Role>, seconds: &[f64], values: Option<&[f64]>, longest: f64) -> Vec<Gap> {
    let mut last: Option<f64> = None;
    let mut found = Vec::new();
    if values.is_none() && steps_extent(seconds).1 <= longest {
        return found;
    }
    for (index, &time) in seconds.iter().enumerate() {
        if values.is_some_and(|values| values.get(index).is_none_or(|v| !v.is_finite())) {
            continue;
        }
        if let Some(start_s) = last.filter(|&start| time - start > longest) {
            found.push(Gap { channel, start_s, end_s: time });
        }
        last = Some(time);
    }
    found
}

/// Says when the sampling is not even; time stamps are used, so nothing is changed.
pub(super) fn jitter(seconds: &[f64], rows: &Rows, longest: f64, repairs: &mut Vec<Repair>) {
    let usual = interval(seconds);
    let (least, most) = steps_extent(seconds);
    if usual - least <= 0.02 * usual && most - usual <= 0.02 * usual {
        return;
    }
    let uneven: Vec<usize> = steps(seconds)
        .enumerate()
        .filter(|(_, step)| (step - usual).abs() > 0.02 * usual && *step <= longest)
        .map(|(index, _)| index + 1)
        .collect();
    if let (Some(&first), Some(&last)) = (uneven.first(), uneven.last()) {
        let at = |index: usize| seconds.get(index).copied().unwrap_or(f64::NAN);
        repairs.push(Repair {
            kind: "jitter".into(),
            channel: None,
            seconds: Some((at(first), at(last))),
            why: format!(
                "{} of {} steps are not the usual {usual:.3} s; the time stamps are used, rows are not counted",
                uneven.len(),
                seconds.len().saturating_sub(1)
            ),
            rows: uneven.iter().map(|&index| rows.of(index)).collect(),
        });
    }
}
