//! The steel's own temperature from the air's: when its hold began, what the heating cost, what it got.

use serde::{Deserialize, Serialize};

use super::clean::median;
use super::lag::{LARGEST_BIOT, biot_number, time_constant_s};
use super::log::OvenLog;
use super::material::HeatCapacity;
use super::radiation::radiation_offset_delta_c;
use super::received::{Gaps, Received};
use super::response::{Following, LagBand, Response, Section, Trace};
use super::role::Role;
use super::section::{Part, Place};
use super::surroundings::Surroundings;
use super::within::{assumption, rising};
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};
use crate::temper::ConstantBelief;

/// Within this the part counts as being at the hold's level.
const WITHIN_C: f64 = 5.0;

/// A part in the air of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Soak {
    /// The record it follows.
    pub log: OvenLog,
    /// What is around it, in words.
    pub surroundings: String,
    /// The part, its band of coefficients, and the place asked for.
    pub section: Section,
    /// Its time constant as one body: a band.
    pub lag: LagBand,
    /// Its Biot number at the likely h.
    pub biot: f64,
    /// The level of the hold.
    pub hold_c: f64,
    /// Elapsed seconds at which the core is within 5 °C of that level.
    pub start_of_hold: Estimate,
    /// Minutes between the air being there and the core being there.
    pub minutes_lost: Estimate,
    /// Temperature of the core with the likely coefficient.
    pub core: Trace,
    /// Temperature of the skin with the likely coefficient.
    pub surface: Trace,
    /// The coefficient fitted to the part side, where that was asked for.
    pub fitted: Option<Estimate>,
}

/// What a soak needs to be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoakOptions {
    /// What is around the part.
    pub surroundings: Surroundings,
    /// Coefficients of the caller's: low, likely and high, W/m²K.
    pub h_w_m2k: Option<(f64, f64, f64)>,
    /// Take the coefficient from the part side.
    pub fit: bool,
    /// How the heat capacity goes with temperature.
    pub capacity: HeatCapacity,
    /// An element that the part sees: its temperature, view factor, emissivity of the part.
    pub element: Option<(f64, f64, f64)>,
}

impl SoakOptions {
    /// The surroundings' own band, and nothing else.
    #[must_use]
    pub const fn around(surroundings: Surroundings) -> Self {
        Self { surroundings, h_w_m2k: None, fit: false, capacity: HeatCapacity::Constant, element: None }
    }
}

impl OvenLog {
    /// The temperature of a part in the logged air, by its size and its surroundings.
    ///
    /// One body where the Biot number is below 0.1 throughout the band, else plane wall or cylinder, whose core is the
    /// last to get there.
    ///
    /// # Errors
    /// [`Error::Refused`] without an air channel, or for a heat capacity that goes with temperature beyond a Biot number
    /// of 0.1; [`Error::InvalidValue`] for a size or a coefficient that is not positive; [`Error::NoAnswer`] when the
    /// part never gets to the hold; [`Error::NotDetermined`] where a fit was asked for and the record does not give it.
    pub fn soak(&self, part: Part, options: SoakOptions) -> Result<Soak> {
        if self.channel(Role::Air).is_none() {
            return Err(Error::Refused {
                what: "a soak of this log".into(),
                why: "it has no air channel; what lies beside the part needs no model of its lag".into(),
                instead: "Ask log.history(c=...)".into(),
            });
        }
        let size = part.volume_by_area_mm();
        let fitted = options.fit.then(|| self.fitted_coefficient(part)).transpose()?;
        let band = match &fitted {
            Some(h) => {
                let (low, high) = h.interval(0.95)?;
                (low.max(0.2 * h.value()), h.value(), high)
            }
            None => options.h_w_m2k.unwrap_or_else(|| options.surroundings.h_w_m2k()),
        };
        let lag = LagBand {
            low_s: time_constant_s(size, band.2)?,
            likely_s: time_constant_s(size, band.1)?,
            high_s: time_constant_s(size, band.0)?,
        };
        rising(band)?;
        let lumped = biot_number(size, band.2)? < LARGEST_BIOT;
        if !lumped && options.capacity != HeatCapacity::Constant {
            return Err(Error::Refused {
                what: "heat_capacity=\"en-1993-1-2\" for this section".into(),
                why: format!(
                    "its Biot number reaches {:.2}: its core lags behind its skin, and the sum of lags that \
                              follows a log needs constant properties",
                    biot_number(size, band.2)?
                )
                .into(),
                instead: "Leave heat_capacity out; time_to_within does it for steady air".into(),
            });
        }
        let hold_c = self.hold_level();
        let radiation_c = match options.element {
            Some((element_c, view_factor, emissivity)) => {
                radiation_offset_delta_c(element_c, hold_c, view_factor, emissivity, band.0)?
            }
            None => 0.0,
        };
        let section =
            Section { part, h_w_m2k: band, place: Place::Core, capacity: options.capacity, lumped, radiation_c };
        let reached = |response: Option<&Response>| -> Result<Option<f64>> {
            let trace = self.part_trace(Role::Air, response)?;
            let place = trace.celsius.iter().position(|&celsius| celsius >= hold_c - WITHIN_C);
            Ok(place.and_then(|index| trace.seconds.get(index).copied()))
        };
        let never = || Error::NoAnswer {
            model: "oven.soak".into(),
            asked: "when the hold began".into(),
            why: format!("the part never comes within {WITHIN_C} °C of {hold_c:.0} °C").into(),
            hint: "The log is too short for this section, or the hold's level is not what the setpoint says".into(),
        };
        let air = reached(None)?.ok_or_else(never)?;
        let likely_s = reached(Some(&section.response(band.1)?))?.ok_or_else(never)?;
        let soonest = reached(Some(&section.response(band.2)?))?.unwrap_or(likely_s);
        let latest = reached(Some(&section.response(band.0)?))?.unwrap_or_else(|| self.span_s().1);
        let assumed = match &fitted {
            Some(h) => {
                format!("a {}: h = {:.0} W/m2K, u = {:.0}, fitted to the part side", part.text(), h.value(), h.u())
            }
            None => assumption(part, options.surroundings, band),
        };
        let banded = |value: f64, low: f64, high: f64, unit: &'static str| {
            let made = Estimate::new(value, unit)
                .with("lag", (high - low) / 12f64.sqrt())
                .shaped(Shape::Bounds { low, high })
                .assuming(assumed.clone());
            if lumped { made } else { made.assuming("its core counts: the skin is there sooner") }
        };
        let at = |place: Place| -> Result<Trace> {
            self.part_trace(Role::Air, Some(&Section { place, ..section }.response(band.1)?))
        };
        Ok(Soak {
            log: self.clone(),
            surroundings: options.surroundings.name().to_owned(),
            section,
            lag,
            biot: biot_number(size, band.1)?,
            hold_c,
            start_of_hold: banded(likely_s, soonest, latest, "s"),
            minutes_lost: banded((likely_s - air) / 60.0, (soonest - air) / 60.0, (latest - air) / 60.0, "min"),
            core: at(Place::Core)?,
            surface: at(Place::Surface)?,
            fitted,
        })
    }

    /// The level of the hold: the setpoint, or the middle of the upper half of what was read.
    pub(super) fn hold_level(&self) -> f64 {
        let set =
            self.channel(Role::Setpoint).map(|channel| channel.values.iter().copied().filter(|&v| v > 50.0).collect());
        let set = median(set.unwrap_or_default());
        if set.is_finite() {
            return set;
        }
        let air = self.channel(Role::Air).map(|channel| channel.values.as_slice()).unwrap_or_default();
        let finite = || air.iter().copied().filter(|v| v.is_finite());
        let (low, high) = (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max));
        median(finite().filter(|&v| v >= 0.5 * (low + high)).collect())
    }
}

impl Soak {
    /// What a place in the part got.
    ///
    /// # Errors
    /// As [`OvenLog::received`].
    pub fn received(&self, c: ConstantBelief, gaps: Gaps, place: Place) -> Result<Received> {
        let following = Following::Section(Section { place, ..self.section });
        let mut got = self.log.received_from(Role::Air, c, Some(following), gaps)?;
        for assumption in self.start_of_hold.assumptions() {
            got.estimate = got.estimate.assuming(assumption.clone());
        }
        Ok(got)
    }

    /// Whether the core is within `within_delta_c` of the hold's level at an elapsed second: yes or no for the whole
    /// band of coefficients, or nothing where the coefficient decides.
    ///
    /// # Errors
    /// As [`OvenLog::soak`]; [`Error::OutOfRange`] for a time outside the record.
    pub fn is_through(&self, at_s: f64, within_delta_c: f64) -> Result<Option<bool>> {
        let (start, end) = self.log.span_s();
        if !(start..=end).contains(&at_s) {
            return Err(Error::OutOfRange {
                model: "oven.soak".into(),
                argument: "at_s".into(),
                value: at_s,
                unit: "s".into(),
                low: start,
                high: end,
                stated_by: "the log's first and last row".into(),
                failed: 1,
                of: 1,
                hint: "Give elapsed seconds of the log".into(),
            });
        }
        let (low, _, high) = self.section.h_w_m2k;
        let there = |h: f64| -> Result<bool> {
            let trace = self.log.part_trace(Role::Air, Some(&self.section.response(h)?))?;
            let until = trace.seconds.partition_point(|&time| time <= at_s);
            let now = until.checked_sub(1).and_then(|index| trace.celsius.get(index)).copied().unwrap_or(f64::NAN);
            Ok(now >= self.hold_c - within_delta_c)
        };
        let (slow, quick) = (there(low)?, there(high)?);
        Ok((slow == quick).then_some(slow))
    }
}
