//! When the part went in.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use super::extent::extent;
use super::received::ROOM_C;
use super::repair::Repair;
use super::role::Role;

/// When the part went in, and how that is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Loading {
    /// First elapsed second that counts.
    pub at_s: f64,
    /// Whether it was found in the record; otherwise it was given.
    pub found: bool,
}

impl Loading {
    /// That it was found, as what must be known about a record that begins at `start_s`.
    pub(super) fn noted(self, start_s: f64) -> Repair {
        Repair {
            kind: "empty oven".into(),
            channel: Some(Role::PartSide),
            rows: Vec::new(),
            seconds: Some((start_s, self.at_s)),
            why: format!(
                "the part side falls far more than the air at {:.0} s: the part went in there, and what was before does \
                 not count; give load_s= if that is wrong",
                self.at_s
            ),
        }
    }
}

/// How fast a probe falls that is put beside a cold part, how far, and how much more than the air does.
const WITHIN_S: f64 = 60.0;
const FALL_C: f64 = 50.0;
const TIMES_AIR: f64 = 2.0;
/// A cold part takes its probe at least this share of the way to the room; a door that only the part side saw does not.
const SHARE_OF_HOT: f64 = 0.35;
/// A fall begins with the first sample that has lost this share of it.
const BEGUN: f64 = 0.1;
/// Below this an oven was not hot enough for a fall to say anything.
const HOT_C: f64 = 100.0;
/// Longest step between two samples that still shows a fall.
const LONGEST_STEP_S: f64 = 600.0;
/// What it must come back to, as a share of the level before, and how much of the fall it must make up for: a part taken
/// out does not, nor does an oven that cools while nothing is read.
const COMES_BACK: f64 = 0.7;
const MADE_UP: f64 = 0.5;
/// No cold part lets its probe make up for half of the fall sooner than this; a glitch is over at once.
const STAYS_S: f64 = 20.0;
/// How soon a probe beside a cold part in a hot oven rises again. A part that is taken out between two tempers and put
/// back cools for longer, unless it is quenched; both of its heatings count.
const RISES_WITHIN_S: f64 = 240.0;
/// The part went in at the first fall that is as deep as this share of the deepest.
const NEARLY: f64 = 0.7;
/// A record that falls like this so often says nothing about when a part went in.
const MOST: usize = 100;

/// Finds the sample at which a cold part was put into a hot, empty oven.
///
/// The part side falls by tens of degrees within a minute and far more than the air, which a door alone does not do; it
/// comes back, which a part taken out does not do; and it rises soon, which a part that cools between two tempers does
/// not do. A probe that is itself late, logged every second, spreads the
/// fall over many samples.
pub(super) fn found(seconds: &[f64], part_side: &[f64], air: Option<&[f64]>) -> Option<Loading> {
    let mut all = falls(seconds, part_side, air);
    for fall in all.iter_mut().filter_map(|(_, fall)| fall.as_mut()) {
        fall.watch(seconds, part_side);
    }
    loaded(all.len(), all.into_iter().filter_map(|(_, fall)| fall))
}

/// The loading among the falls of a record, of which so many were looked at.
pub(super) fn loaded(looked: usize, falls: impl Iterator<Item = Fall>) -> Option<Loading> {
    let back: Vec<Fall> = falls.filter(|fall| fall.came_back && fall.as_beside_a_part()).collect();
    // An oven that swings wildly falls too, but a cold part falls further.
    let deepest = back.iter().fold(0.0_f64, |deepest, fall| deepest.max(fall.depth));
    let first = back.iter().find(|fall| fall.depth >= NEARLY * deepest)?;
    (looked <= MOST).then_some(Loading { at_s: first.at_s, found: true })
}

/// A fall that may be that of a part that went in, if the record comes back from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fall {
    /// When it began.
    pub at_s: f64,
    depth: f64,
    /// When it was at its lowest so far, and what must be passed again from there on.
    lowest_s: f64,
    lowest_c: f64,
    back_c: f64,
    came_back: bool,
    /// When half of the fall was made up for; NaN until then.
    half_s: f64,
    half_c: f64,
    /// How soon it must rise.
    within_s: f64,
}

impl Fall {
    /// Looks whether these samples, which go on or lie further on, come back from it.
    pub(super) fn watch(&mut self, seconds: &[f64], part_side: &[f64]) {
        let from = seconds.partition_point(|&time| time < self.lowest_s);
        for (&time, &value) in seconds.iter().zip(part_side).skip(from) {
            if self.half_s.is_nan() && value > self.half_c {
                self.half_s = time;
            }
            if self.came_back || value > self.back_c {
                self.came_back = true;
                return;
            }
            if value < self.lowest_c {
                (self.lowest_s, self.lowest_c) = (time, value);
                self.half_s = f64::NAN;
            }
        }
    }

    /// Whether it rose as a probe beside a cold part does: soon, and not at once.
    fn as_beside_a_part(&self) -> bool {
        self.lowest_s - self.at_s <= self.within_s && self.half_s - self.lowest_s >= STAYS_S
    }
}

/// How long a record is looked at from the last sample of a fall on.
pub(super) const LOOK_S: f64 = 2.0 * LONGEST_STEP_S;

/// The falls of a record, and the sample at which each was seen; those that are no part's are nothing. No more are
/// looked for than say anything.
pub(super) fn falls(seconds: &[f64], part_side: &[f64], air: Option<&[f64]>) -> Vec<(usize, Option<Fall>)> {
    let mut looking =
        Looking { seconds, part_side, air, higher: VecDeque::new(), last: None, fell: 0, falls: Vec::new() };
    let mut passed_by = false;
    let mut from = 0;
    while from < part_side.len() && looking.falls.len() <= MOST {
        let end = (from + BLOCK).min(part_side.len());
        let back = looking.back(from);
        if looking.is_level(back, from, end) {
            passed_by = true;
            let good = part_side.get(from..end).and_then(|block| block.iter().rposition(|value| value.is_finite()));
            looking.last = good.map(|at| from + at).or(looking.last);
        } else {
            // What may be fallen from lies in the last minute of what was passed by.
            let begin = if std::mem::take(&mut passed_by) { back } else { from };
            looking.restart(begin, from);
            for index in begin..end {
                if looking.sample(index) && looking.falls.len() > MOST {
                    break;
                }
            }
        }
        from = end;
    }
    looking.falls
}

/// Samples that are looked over at once.
const BLOCK: usize = 1024;

/// A walk that looks for falls.
struct Looking<'a> {
    seconds: &'a [f64],
    part_side: &'a [f64],
    air: Option<&'a [f64]>,
    /// Samples of the last minute that are higher than all after them: the first is the level that was fallen from.
    higher: VecDeque<(usize, f64, f64)>,
    /// The last sample that was there.
    last: Option<usize>,
    /// The last fall; no other begins before it.
    fell: usize,
    falls: Vec<(usize, Option<Fall>)>,
}

impl Looking<'_> {
    /// The first sample that one at `from`, or a later one, may have fallen from.
    fn back(&self, from: usize) -> usize {
        let now = self.seconds.get(from).copied().unwrap_or(f64::INFINITY);
        let minute = self.seconds.partition_point(|&time| time < now - WITHIN_S);
        minute.min(self.last.unwrap_or(from)).max(self.fell).min(from)
    }

    /// Whether no sample of a block lies far enough below what may have been fallen from.
    fn is_level(&self, back: usize, from: usize, end: usize) -> bool {
        let (_, high) = extent(self.part_side.get(back..end).unwrap_or_default());
        let (low, _) = extent(self.part_side.get(from..end).unwrap_or_default());
        high < HOT_C || high - low < FALL_C
    }

    fn restart(&mut self, begin: usize, from: usize) {
        if begin < from {
            self.higher.clear();
            self.last = None;
        }
    }

    /// Takes one sample; true if something fell there.
    fn sample(&mut self, index: usize) -> bool {
        let (Some(&time), Some(&value)) = (self.seconds.get(index), self.part_side.get(index)) else { return false };
        if !value.is_finite() {
            return false;
        }
        let before = self.last.replace(index).and_then(|last| self.seconds.get(last));
        let step = time - before.copied().unwrap_or(f64::NEG_INFINITY);
        while self.higher.front().is_some_and(|(_, then, _)| time - then > WITHIN_S.max(step)) {
            self.higher.pop_front();
        }
        while self.higher.back().is_some_and(|(_, _, level)| *level <= value) {
            self.higher.pop_back();
        }
        let from = self.higher.front().copied();
        let fell = from.filter(|(_, _, level)| *level >= HOT_C && level - value >= FALL_C && step <= LONGEST_STEP_S);
        if let Some(from) = fell {
            self.falls.push((index, fallen(self.seconds, self.part_side, self.air, from, step)));
            self.fell = index;
            self.higher.clear();
        }
        self.higher.push_back((index, time, value));
        fell.is_some()
    }
}

/// When the fall from a sample began and how deep it was, if it may be that of a part that went in.
fn fallen(
    seconds: &[f64],
    part_side: &[f64],
    air: Option<&[f64]>,
    (top, from_s, level): (usize, f64, f64),
    step: f64,
) -> Option<Fall> {
    let on = || seconds.iter().zip(part_side).skip(top).filter(|(_, value)| value.is_finite());
    // Past the level's own sample the fall may take another minute.
    let within = 2.0 * WITHIN_S.max(step);
    let lowest = on().take_while(|(time, _)| **time <= from_s + within).fold(level, |low, (_, &value)| low.min(value));
    let depth = level - lowest;
    let air_fall = air.map_or(0.0, |air| fall_of(seconds, air, from_s, within));
    let (&lowest_s, _) = on().find(|(_, value)| **value <= lowest)?;
    let (&at_s, _) = on().find(|(_, value)| level - **value > BEGUN * depth)?;
    let half_c = lowest + MADE_UP * depth;
    let fall = Fall {
        at_s,
        depth,
        lowest_s,
        lowest_c: lowest,
        back_c: (COMES_BACK * level).max(half_c),
        came_back: false,
        half_s: f64::NAN,
        half_c,
        within_s: RISES_WITHIN_S.max(2.0 * step),
    };
    (depth > TIMES_AIR * air_fall && depth >= SHARE_OF_HOT * (level - ROOM_C)).then_some(fall)
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

    /// Falls are the same wherever the level stretches around them begin and end, with readings missing.
    #[test]
    fn level_stretches_hide_no_fall() {
        for shift in [0, 1000, 1010, 1020, 1023, 1024, 1060, 5000] {
            let (seconds, values) = probe(1);
            let mut late: Vec<f64> = vec![values[0]; shift];
            late.extend(&values);
            late[shift / 2] = f64::NAN;
            let times: Vec<f64> = (0..late.len()).map(|second| second as f64).collect();
            let want = falls(&seconds, &values, None);
            let got = falls(&times, &late, None);
            assert_eq!(got.len(), want.len());
            for ((got, a), (want, b)) in got.iter().zip(&want) {
                assert_eq!(*got, want + shift);
                assert_eq!(a.map(|fall| fall.at_s), b.map(|fall| fall.at_s + shift as f64));
            }
        }
    }

    #[test]
    fn a_part_that_cools_between_two_tempers_was_there_before() {
        for step in [1, 10, 60] {
            let mut part = 20.0;
            let (seconds, values): (Vec<f64>, Vec<f64>) = (0..15_000_usize)
                .map(|second| {
                    // Two hours, twenty minutes on the bench, two hours; a thin part cools with two minutes.
                    let bench = (7200..8400).contains(&second);
                    part += (if bench { 20.0 } else { 215.0 } - part) / if bench { 120.0 } else { 300.0 };
                    (second as f64, part)
                })
                .filter(|(second, _)| *second as usize % step == 0)
                .unzip();
            assert!(!falls(&seconds, &values, None).is_empty(), "{step}: the case must be one that looks like a load");
            assert_eq!(found(&seconds, &values, None), None, "{step}");
        }
    }

    #[test]
    fn a_part_taken_out_is_not_put_in() {
        let (seconds, mut values) = probe(1);
        values.iter_mut().skip(1100).for_each(|value| *value = value.min(100.0));
        assert_eq!(found(&seconds, &values, None), None);
    }
}
