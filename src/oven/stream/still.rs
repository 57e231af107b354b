//! A channel that shows one value for hours, found as rows go by.

use crate::oven::clean::{is_still, step_that_counts, still_repair};
use crate::oven::repair::Repair;
use crate::oven::role::Role;

/// The longest stretch over which one channel shows one value.
pub(super) struct Still {
    pub role: Role,
    run: Run,
    longest: Run,
    resolution: Option<f64>,
}

/// A stretch of one value, and the air beside it.
#[derive(Debug, Clone, Copy)]
struct Run {
    level: f64,
    from_s: f64,
    until_s: f64,
    steps: usize,
    air: (f64, f64),
}

impl Run {
    const fn at(time: f64, level: f64) -> Self {
        Self { level, from_s: time, until_s: time, steps: 0, air: (f64::INFINITY, f64::NEG_INFINITY) }
    }

    const fn lasts_s(&self) -> f64 {
        self.until_s - self.from_s
    }
}

impl Still {
    pub(super) const fn of(role: Role) -> Self {
        let none = Run::at(0.0, f64::NAN);
        Self { role, run: none, longest: none, resolution: None }
    }

    /// Takes the next readings of the channel, and the air beside them where there is some.
    pub(super) fn watch(&mut self, seconds: &[f64], values: &[f64], air: Option<&[f64]>) {
        for (index, (&time, &value)) in seconds.iter().zip(values).enumerate() {
            if value == self.run.level {
                self.run.until_s = time;
                self.run.steps += 1;
            } else {
                self.close();
                if let Some(step) = step_that_counts(value - self.run.level) {
                    self.resolution = Some(self.resolution.map_or(step, |least| least.min(step)));
                }
                self.run = Run::at(time, value);
            }
            if let Some(&air) = air.and_then(|air| air.get(index)).filter(|air| air.is_finite()) {
                self.run.air = (self.run.air.0.min(air), self.run.air.1.max(air));
            }
        }
    }

    fn close(&mut self) {
        if self.run.lasts_s() > self.longest.lasts_s() {
            self.longest = self.run;
        }
    }

    /// The note on a channel that stood still, and how far the air beside it moved meanwhile.
    pub(super) fn found(mut self) -> Option<(Repair, f64)> {
        self.close();
        let Run { level, from_s, until_s, steps, air } = self.longest;
        is_still(until_s - from_s, steps, self.resolution)
            .then(|| (still_repair(self.role, level, (from_s, until_s)), air.1 - air.0))
    }
}
