//! Samples that stand out from both neighbours by more than a sensor can go and come back.

use super::cell::POWER_ON_C;
use super::clean::{BLOCK, calm, median, push};
use super::order::Rows;
use super::repair::Repair;
use super::role::Role;

/// The most samples in a row that can be a spike, and the longest it can last, unless it goes up and comes back faster
/// than any oven.
const SPIKE_SAMPLES: usize = 3;
const SPIKE_S: f64 = 120.0;
const NO_OVEN_C_S: f64 = 1.0;

/// The most samples in a row, and the longest, that lie far above and came and went faster than that.
const LEAP_SAMPLES: usize = 60;
const LEAP_S: f64 = 600.0;

/// A probe that is colder than this may be one that is about to be put in.
const LEAPS_FROM_C: f64 = 100.0;

/// The least that a spike rises above both neighbours, in °C; and falls below them.
const SPIKE_UP_C: f64 = 20.0;
const SPIKE_DOWN_C: f64 = 40.0;

/// Air that falls through a door is still this share of its fall below, or was already, in the samples beside.
const DOOR_SHARE: f64 = 0.2;

/// A fall that leaves no more than this share of itself in the samples beside was none: nothing real is over so soon.
const TRACE_SHARE: f64 = 0.05;

/// The usual bend of a record is that of its first readings.
const BENDS: usize = 20_000;

/// Whether a single sample, between two others, differs from both by more than a sensor can go there and back.
pub(super) fn is_spike(before: (f64, f64), sample: (f64, f64), behind: (f64, f64)) -> bool {
    let (seconds, values) = ([before.0, sample.0, behind.0], [before.1, sample.1, behind.1]);
    Readings { seconds: &seconds, values: &values }.spike(1, 0.0).is_some_and(|places| places == [1])
}

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

    /// How far the samples beside are from one another and from theirs; NaN where one is not there.
    fn apart(&self, before: Option<usize>, next: usize) -> [f64; 3] {
        let at = |index: Option<usize>| index.and_then(|index| self.at(index)).map_or(f64::NAN, |(_, value)| value);
        let (a, b) = (at(before), at(Some(next)));
        let earlier = before.and_then(|before| self.before(before));
        [at(earlier) - a, at(self.behind(next)) - b, a - b].map(f64::abs)
    }

    /// A stretch that begins with a leap up which no oven makes, and ends where it began, or with the record: nothing if
    /// there is none.
    fn leap(&self, from: usize, usual: f64) -> Option<Vec<usize>> {
        let before = self.before(from)?;
        let (a, first) = (self.at(before)?, self.at(from)?);
        let height = first.1 - a.1;
        let too_fast = height > (SPIKE_UP_C + NO_OVEN_C_S * (first.0 - a.0)).max(usual);
        // A probe that is put into a hot oven leaps as well, from a level at which it did not begin to warm.
        let warm = self
            .before(before)
            .and_then(|earlier| self.at(earlier))
            .is_some_and(|earlier| a.1 > LEAPS_FROM_C && (a.1 - earlier.1).abs() < TRACE_SHARE * height);
        if !warm || !too_fast {
            return None;
        }
        let (mut places, mut last) = (vec![from], first);
        while places.len() <= LEAP_SAMPLES && last.0 - a.0 <= LEAP_S {
            let Some(next) = self.behind(*places.last()?) else {
                // The record ends up there: only its last few samples are doubted.
                return (places.len() <= SPIKE_SAMPLES).then_some(places);
            };
            let b = self.at(next)?;
            if (b.1 - a.1).abs() < TRACE_SHARE * height + usual.min(SPIKE_UP_C) {
                return Some(places);
            }
            if b.1 < a.1 + 0.5 * height {
                return None;
            }
            places.push(next);
            last = b;
        }
        None
    }

    /// The places of a spike that begins here; nothing if none does.
    fn spike(&self, from: usize, usual: f64) -> Option<Vec<usize>> {
        self.short(from, usual).or_else(|| self.leap(from, usual))
    }

    /// Up to three samples that stand out from both neighbours.
    fn short(&self, from: usize, usual: f64) -> Option<Vec<usize>> {
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
            // Neighbours that disagree as much as the sample are a step, not a spike.
            let height = self.at(from).map_or(0.0, |(_, value)| (value - 0.5 * (a.1 + b.1)).abs());
            let apart = self.apart(before, next);
            // A door does not come all the way back at once, or had begun a sample earlier.
            let falls = self.at(from).is_some_and(|(_, value)| value < a.1);
            let door = falls && apart.iter().any(|&difference| difference > DOOR_SHARE * height);
            let traceless = apart.iter().all(|&difference| difference < TRACE_SHARE * height);
            let lasting = b.0 - a.0;
            let steeper = if length > 1 { 2.0 } else { 1.0 };
            let long = length > 1 && lasting > SPIKE_S;
            let per_s = if length == 1 && traceless { 0.0 } else { 0.5 };
            let (up, down) = ((SPIKE_UP_C + 0.3 * lasting) * steeper, (SPIKE_DOWN_C + per_s * lasting) * steeper);
            let stands = places.iter().all(|&inner| {
                self.values.get(inner).is_some_and(|value| {
                    let above = value - a.1.max(b.1);
                    let below = a.1.min(b.1) - value;
                    // A first sample far below the next is a cold start.
                    above > up.max(usual) || (before.is_some() && below > down.max(usual))
                })
            });
            let over = !long || (!falls && traceless && height > NO_OVEN_C_S * lasting);
            if over && stands && (a.1 - b.1).abs() < 0.5 * height && !door {
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
/// only one sample saw the door; a lone fall that leaves no trace beside it needs no more than 40 °C, however slowly the
/// record is sampled. A leap up of 20 °C + 1 °C/s between two samples begins a stretch that is left out if it comes back
/// within ten minutes and sixty samples. What stands beside a spike is looked at again without it.
pub(super) fn spikes(
    channel: Role,
    seconds: &[f64],
    rows: &Rows,
    values: &mut [f64],
    usual: f64,
    repairs: &mut Vec<Repair>,
) {
    let (mut found, mut power_on) = (Vec::new(), Vec::new());
    loop {
        let more = spikes_among(seconds, values, usual);
        if more.is_empty() {
            break;
        }
        for index in more {
            if let Some(value) = values.get_mut(index) {
                (if *value == POWER_ON_C { &mut power_on } else { &mut found }).push(index);
                *value = f64::NAN;
            }
        }
    }
    found.sort_unstable();
    power_on.sort_unstable();
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

/// The places of spikes, one that overlaps another left for the next look.
fn spikes_among(seconds: &[f64], values: &[f64], usual: f64) -> Vec<usize> {
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
    found
}
