//! Readings that are none: fault codes, spikes, channels that stand still; and holes and uneven steps in time.

use super::cell::{POWER_ON_C, TemperatureUnit, is_sentinel};
use super::extent::steps_extent;
use super::order::Rows;
use super::repair::{Gap, Repair};
use super::role::Role;
use super::sample::stride;
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

/// Whether a single sample, between two others, differs from both by more than a sensor can go there and back.
pub(super) fn is_spike(before: (f64, f64), sample: (f64, f64), behind: (f64, f64)) -> bool {
    let (seconds, values) = ([before.0, sample.0, behind.0], [before.1, sample.1, behind.1]);
    Readings { seconds: &seconds, values: &values }.spike(1, 0.0).is_some_and(|places| places == [1])
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
const BLOCK: usize = 4096;

/// Whether nothing in a stretch of readings stands out: no hole, no zero, nothing beyond an oven, no step above `most`.
fn calm(before: f64, values: &[f64], most: f64) -> bool {
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

fn push(
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

/// The most samples in a row that can be a spike, and the longest it can last.
const SPIKE_SAMPLES: usize = 3;
const SPIKE_S: f64 = 120.0;

/// The least that a spike rises above both neighbours, in °C; and falls below them.
const SPIKE_UP_C: f64 = 20.0;
const SPIKE_DOWN_C: f64 = 40.0;

/// Air that falls through a door is still this share of its fall below, or was already, in the samples beside.
const DOOR_SHARE: f64 = 0.2;

/// The usual bend of a record is that of its first readings.
const BENDS: usize = 20_000;

/// A channel's readings, and the way from one that is there to the next.
struct Readings<'a> {
    seconds: &'a [f64],
    values: &'a [f64],
}

impl Readings<'_> {
    fn at(&self, index: usize) -> Option<(f64, f64)> {
        Some((*self.seconds.get(index)?, *self.values.get(index)?))
    }

    fn is_there(&self, index: usize) -> bool {
        self.values.get(index).is_some_and(|value| value.is_finite())
    }

    fn before(&self, index: usize) -> Option<usize> {
        (0..index).rev().find(|&index| self.is_there(index))
    }

    fn behind(&self, index: usize) -> Option<usize> {
        (index + 1..self.values.len()).find(|&index| self.is_there(index))
    }

    /// Whether a fall is one of hot air through a door between two samples: it does not come all the way back at once,
    /// or it had begun a sample earlier.
    fn is_door(&self, from: usize, before: Option<usize>, next: usize, height: f64) -> bool {
        let at = |index: Option<usize>| index.and_then(|index| self.at(index)).map_or(f64::NAN, |(_, value)| value);
        let (a, b) = (at(before), at(Some(next)));
        let falls = at(Some(from)) < a;
        let earlier = before.and_then(|before| self.before(before));
        let apart = [at(earlier) - a, at(self.behind(next)) - b, a - b];
        falls && apart.iter().any(|difference| difference.abs() > DOOR_SHARE * height)
    }

    /// How many samples from here on are a spike, with their places; nothing if none is.
    fn spike(&self, from: usize, usual: f64) -> Option<Vec<usize>> {
        let before = self.before(from);
        let mut places = vec![from];
        for length in 1..=SPIKE_SAMPLES {
            let next = self.behind(*places.last()?)?;
            let b = self.at(next)?;
            // For a spike in the very first samples the neighbour behind stands for the one before.
            let a = match before {
                Some(before) => self.at(before)?,
                None => (2.0 * self.at(from)?.0 - b.0, b.1),
            };
            let lasting = b.0 - a.0;
            let steeper = if length > 1 { 2.0 } else { 1.0 };
            let (up, down) = ((SPIKE_UP_C + 0.3 * lasting) * steeper, (SPIKE_DOWN_C + 0.5 * lasting) * steeper);
            let stands = places.iter().all(|&inner| {
                self.values.get(inner).is_some_and(|value| {
                    let above = value - a.1.max(b.1);
                    let below = a.1.min(b.1) - value;
                    // A first sample far below the next is a cold start.
                    above > up.max(usual) || (before.is_some() && below > down.max(usual))
                })
            });
            // Neighbours that disagree as much as the sample are a step, not a spike.
            let height = self.at(from).map_or(0.0, |(_, value)| (value - 0.5 * (a.1 + b.1)).abs());
            let short = length == 1 || lasting <= SPIKE_S;
            if short && stands && (a.1 - b.1).abs() < 0.5 * height && !self.is_door(from, before, next, height) {
                return Some(places);
            }
            places.push(next);
        }
        None
    }
}

/// The bend between three readings that no spike is measured by: six times the usual one of a record's beginning.
pub(super) fn usual_bend(values: &[f64]) -> f64 {
    let good: Vec<f64> = values.iter().copied().filter(|value| value.is_finite()).take(BENDS + 2).collect();
    let bends: Vec<f64> = good
        .windows(3)
        .filter_map(|three| <[f64; 3]>::try_from(three).ok())
        .map(|[a, b, c]| (b - 0.5 * (a + c)).abs())
        .collect();
    // In a log of a few rows the spike itself rules the median: no oven swings by more than this between samples.
    (6.0 * median(bends).max(0.0)).min(60.0)
}

/// Takes spikes out of a channel.
///
/// A spike differs from BOTH neighbours in the same direction by more than a sensor can go there and back: up by
/// 20 °C + 0.3 °C/s, down by 40 °C + 0.5 °C/s (a door opened between two samples is a real fall), and by more than six
/// times the usual bend of the record, which a fast cycling oven sampled slowly has. Up to three samples in a row
/// count, when they stand out twice as far. Loading and doors fall and do not come back at once: they stay, also where
/// only one sample saw the door.
pub(super) fn spikes(
    channel: Role,
    seconds: &[f64],
    rows: &Rows,
    values: &mut [f64],
    usual: f64,
    repairs: &mut Vec<Repair>,
) {
    let readings = Readings { seconds, values };
    let mut found: Vec<usize> = Vec::new();
    let (mut last, mut from, mut next) = (f64::NAN, 0, 0);
    while from < values.len() {
        let until = (from + BLOCK).min(values.len());
        // A spike begins with a step up by 20 °C or down by 40.
        if next <= from && calm(last, values.get(from..until).unwrap_or_default(), SPIKE_UP_C) {
            last = values.get(until - 1).copied().unwrap_or(last);
            from = until;
            continue;
        }
        for index in from..until {
            let Some(&value) = values.get(index).filter(|value| value.is_finite()) else { continue };
            let steps = (value - last).abs() > SPIKE_UP_C || last.is_nan();
            last = value;
            if index < next || !steps {
                continue;
            }
            if let Some(places) = readings.spike(index, usual) {
                next = places.last().map_or(index, |last| last + 1);
                found.extend(places);
            }
        }
        from = until;
    }
    let (power_on, found): (Vec<usize>, Vec<usize>) =
        found.into_iter().partition(|&index| values.get(index) == Some(&POWER_ON_C));
    for &index in power_on.iter().chain(&found) {
        if let Some(value) = values.get_mut(index) {
            *value = f64::NAN;
        }
    }
    let count = found.len();
    push((channel, "spike"), found, seconds, rows, repairs, || {
        format!(
            "{count} sample(s) differ from both neighbours by more than a sensor can go and come back; they were left out"
        )
    });
    push((channel, "fault code"), power_on, seconds, rows, repairs, || {
        format!(
            "{POWER_ON_C} °C alone among other readings is what a common digital sensor shows when it is switched on; \
             left out on that suspicion"
        )
    });
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
