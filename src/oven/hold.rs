//! When a part's hold began, how far the part got where it never did, and whether it is through at a moment.

use serde::{Deserialize, Serialize};

use super::response::{Section, Trace};
use super::role::Role;
use super::section::Place;
use super::soak::Soak;
use super::within::Through;
use crate::error::{Error, Result, Text};
use crate::estimate::{Estimate, Shape};

/// Within this the part counts as being at the hold's level.
pub(super) const WITHIN_C: f64 = 5.0;

/// The hold of a part that got to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hold {
    /// Elapsed seconds at which the core is within 5 °C of the hold's level.
    pub start: Estimate,
    /// Minutes between the air being there and the core being there.
    pub minutes_lost: Estimate,
}

/// How a trace came to a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Approach {
    /// First elapsed second at the level, if it got there.
    pub reached_s: Option<f64>,
    /// Its highest temperature, °C.
    pub hottest_c: f64,
}

impl Approach {
    pub fn of(trace: &Trace, level_c: f64) -> Self {
        let reached = trace.celsius.iter().position(|&celsius| celsius >= level_c);
        Self {
            reached_s: reached.and_then(|index| trace.seconds.get(index).copied()),
            hottest_c: trace.celsius.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        }
    }
}

/// A value with the bounds that the coefficient's band gives it.
pub(super) fn banded(value: f64, (one, other): (f64, f64), unit: &'static str, assumed: &[Text]) -> Estimate {
    let (low, high) = (one.min(other), one.max(other));
    let made = Estimate::new(value, unit).with("lag", (high - low) / 12f64.sqrt()).shaped(Shape::Bounds { low, high });
    assumed.iter().cloned().fold(made, Estimate::assuming)
}

/// What is added where the slowest part of the band does not get there before the record ends.
pub(super) const CUT_OFF: &str = "with the smallest coefficient of the band the record ends before the part is there: \
                                  the upper bound is the record's end, and may lie beyond it";

impl Soak {
    fn begun(&self) -> Result<&Hold> {
        self.hold.as_ref().ok_or_else(|| {
            let furthest = &self.furthest;
            let (low, high) = furthest.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
            let air = if self.hottest_air_c >= self.hold_c - WITHIN_C {
                String::new()
            } else {
                format!(", and neither does its air, at most {:.0} °C", self.hottest_air_c)
            };
            Error::NoAnswer {
                model: "oven.soak".into(),
                asked: "when the hold began".into(),
                why: format!(
                    "the part never comes within {WITHIN_C} °C of {:.0} °C: its core gets to {:.0} °C [{low:.0} .. \
                     {high:.0}] at most{air}",
                    self.hold_c,
                    furthest.value(),
                )
                .into(),
                hint: "The log is too short for this section, or the hold's level is not what the setpoint says; what \
                       the part got is .history(), and .through() says how far it is"
                    .into(),
            }
        })
    }

    /// Elapsed seconds at which the core is within 5 °C of the hold's level.
    ///
    /// # Errors
    /// [`Error::NoAnswer`] when the part never gets there with the likely coefficient.
    pub fn start_of_hold(&self) -> Result<&Estimate> {
        self.begun().map(|hold| &hold.start)
    }

    /// Minutes between the air being there and the core being there.
    ///
    /// # Errors
    /// As [`Self::start_of_hold`].
    pub fn minutes_lost(&self) -> Result<&Estimate> {
        self.begun().map(|hold| &hold.minutes_lost)
    }

    /// Whether the core is within `within_delta_c` of the hold's level at an elapsed second, or ever without one, and how
    /// far it got. A part that never gets there is not through.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a time outside the record, [`Error::InvalidValue`] for degrees that are not positive.
    pub fn through(&self, at_s: Option<f64>, within_delta_c: f64) -> Result<Through> {
        let (start, end) = self.log.span_s();
        if let Some(at_s) = at_s.filter(|at_s| !(start..=end).contains(at_s)) {
            return Err(Error::outside(
                "oven.soak",
                "at_s",
                (at_s, "s"),
                (start, end),
                "the log's first and last row",
                "Give elapsed seconds of the log",
            ));
        }
        if !(within_delta_c > 0.0 && within_delta_c.is_finite()) {
            return Err(Error::invalid(
                "oven.soak",
                "within_delta_c",
                (within_delta_c, "°C"),
                "is not positive",
                "Give the degrees from the hold's level that count as being there",
            ));
        }
        let level = self.hold_c - within_delta_c;
        let (low, likely, high) = self.section.h_w_m2k;
        let course = self.log.course(Role::Air)?;
        let (air, start_c) = (course.trace(), course.part_start());
        let follow = |place: Place, h: f64| -> Result<Trace> {
            Ok(Section { place, ..self.section }.response(h)?.follow(&air, start_c))
        };
        let now = |trace: &Trace| {
            let Some(at_s) = at_s else { return Approach::of(trace, level).hottest_c };
            let until = trace.seconds.partition_point(|&time| time <= at_s);
            // Before it goes in, a part is as it begins.
            trace.celsius.get(until.saturating_sub(1)).copied().unwrap_or(f64::NAN)
        };
        let since = |trace: &Trace| {
            let reached = Approach::of(trace, level).reached_s?;
            Some(reached - trace.seconds.first().copied().unwrap_or(reached))
        };
        let (slow, usual, quick) =
            (follow(Place::Core, low)?, follow(Place::Core, likely)?, follow(Place::Core, high)?);
        let mut assumed = self.furthest.assumptions().to_vec();
        let core = banded(now(&usual), (now(&slow), now(&quick)), "°C", &assumed);
        let surface = if self.section.lumped {
            core.clone()
        } else {
            let skin = |h: f64| follow(Place::Surface, h).map(|trace| now(&trace));
            banded(skin(likely)?, (skin(low)?, skin(high)?), "°C", &assumed)
        };
        let last = slow.seconds.last().zip(slow.seconds.first()).map_or(f64::NAN, |(last, first)| last - first);
        if since(&slow).is_none() {
            assumed.push(CUT_OFF.into());
        }
        let time = since(&usual).map(|likely| {
            banded(likely, (since(&quick).unwrap_or(likely), since(&slow).unwrap_or(last)), "s", &assumed)
        });
        let there = |trace: &Trace| now(trace) >= level;
        Ok(Through {
            part: self.section.part,
            verdict: (there(&slow) == there(&quick)).then(|| there(&slow)),
            core,
            surface,
            time,
            biot: self.biot,
            within_delta_c,
        })
    }
}
