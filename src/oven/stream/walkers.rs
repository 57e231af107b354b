//! Walks along a channel as its readings come.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::error::{Error, Result};
use crate::kernel::beside;
use crate::oven::course::part_start;
use crate::oven::extent::steps_extent;
use crate::oven::follow::Follower;
use crate::oven::loading::Loading;
use crate::oven::log::Correction;
use crate::oven::received::{Walk, filled, moved_by};
use crate::oven::response::Trace;
use crate::oven::role::Role;
use crate::temper::History;

/// Walks along a channel, and where it was last.
pub(super) struct Walkers {
    pub role: Role,
    longest: f64,
    correction_c: f64,
    load: Option<Loading>,
    first: Option<f64>,
    last: Option<(f64, f64)>,
    count: usize,
    walks: Vec<Walker>,
}

/// One walk, its history so far, and the part that follows the air.
struct Walker {
    walk: Walk,
    history: History,
    follower: Option<Follower>,
    air: Trace,
    part: Trace,
    moved: Vec<f64>,
}

impl Walkers {
    pub(super) fn new(
        walks: &[Walk],
        role: Role,
        correction: Option<Correction>,
        longest: f64,
        load: Option<Loading>,
    ) -> Self {
        Self {
            role,
            longest,
            correction_c: correction.map_or(0.0, |correction| correction.value_delta_c),
            load,
            first: None,
            last: None,
            count: 0,
            walks: walks.iter().map(Walker::new).collect(),
        }
    }

    pub(super) fn walk(&mut self, seconds: &[f64], values: &[f64]) -> Result<()> {
        let start = self.load.map_or(f64::NEG_INFINITY, |load| load.at_s);
        let mut good = Trace::default();
        for (&time, &value) in seconds.iter().zip(values).filter(|(time, value)| **time >= start && value.is_finite()) {
            good.seconds.push(time);
            good.celsius.push(value + self.correction_c);
        }
        let Some(&first) = good.celsius.first() else { return Ok(()) };
        let begin = part_start(*self.first.get_or_insert(first), self.load.is_some());
        self.count += good.seconds.len();
        let (before, longest) = (self.last, self.longest);
        self.last = good.seconds.last().copied().zip(good.celsius.last().copied());
        let walks: Vec<Mutex<&mut Walker>> = self.walks.iter_mut().map(Mutex::new).collect();
        let next = AtomicUsize::new(0);
        let failed: Mutex<Option<Error>> = Mutex::new(None);
        let work = || {
            while let Some(walker) = walks.get(next.fetch_add(1, Ordering::Relaxed)) {
                let Ok(mut walker) = walker.lock() else { return };
                if let (Err(error), Ok(mut failed)) = (walker.go(before, &good, longest, begin), failed.lock()) {
                    failed.get_or_insert(error);
                }
            }
        };
        beside(walks.len(), work, work);
        failed.into_inner().ok().flatten().map_or(Ok(()), Err)
    }

    /// The first reading that counts, or the part's own start in air.
    pub(super) fn first_c(&self, follows: bool) -> Result<f64> {
        match self.first {
            Some(first) if self.count > 1 => Ok(if follows { part_start(first, self.load.is_some()) } else { first }),
            _ => Err(Error::NoAnswer {
                model: "oven.history".into(),
                asked: "what the steel got".into(),
                why: format!("{} has fewer than two readings after the part went in", self.role.name()).into(),
                hint: "Check load_s".into(),
            }),
        }
    }

    /// The end of a walk; where there are no holes, the walks for them are not asked for.
    pub(super) fn end(&mut self, walk: Walk) -> History {
        let at = self.walks.iter().position(|known| known.walk == walk);
        at.map_or(walk.start, |at| self.walks.remove(at).history)
    }
}

impl Walker {
    fn new(walk: &Walk) -> Self {
        Self {
            walk: walk.clone(),
            history: walk.start.clone(),
            follower: None,
            air: Trace::default(),
            part: Trace::default(),
            moved: Vec::new(),
        }
    }

    fn go(&mut self, before: Option<(f64, f64)>, good: &Trace, longest: f64, start_c: f64) -> Result<()> {
        let air = if holes(before, &good.seconds, longest) {
            self.fill(before, good, longest);
            &self.air
        } else {
            good
        };
        let trace = if let Some(response) = &self.walk.response {
            self.part.seconds.clear();
            self.part.celsius.clear();
            let follower = self.follower.get_or_insert_with(|| Follower::new(response, start_c));
            follower.follow(&air.seconds, &air.celsius, &mut self.part);
            &self.part
        } else {
            air
        };
        self.history.extend(&trace.seconds, moved_by(self.walk.moved_c, &trace.celsius, &mut self.moved))
    }

    /// Puts the samples and the points that stand for holes into `air`.
    fn fill(&mut self, mut before: Option<(f64, f64)>, good: &Trace, longest: f64) {
        self.air.seconds.clear();
        self.air.celsius.clear();
        for (&time, &value) in good.seconds.iter().zip(&good.celsius) {
            if let Some(from) = before.filter(|(from, _)| time - from > longest) {
                for (time, value) in filled(from, (time, value), self.walk.fill).into_iter().flatten() {
                    self.air.seconds.push(time);
                    self.air.celsius.push(value);
                }
            }
            self.air.seconds.push(time);
            self.air.celsius.push(value);
            before = Some((time, value));
        }
    }
}

/// Whether there are holes among samples.
fn holes(before: Option<(f64, f64)>, seconds: &[f64], longest: f64) -> bool {
    let first = before.zip(seconds.first()).is_some_and(|((before, _), first)| first - before > longest);
    first || steps_extent(seconds).1 > longest
}
