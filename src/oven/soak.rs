//! The steel's own temperature from the air's: when its hold began, what the heating cost, what it got.

use serde::{Deserialize, Serialize};

use super::clean::median;
use super::lag::{CONDUCTIVITY_W_MK, Surroundings, biot_number, lumped, time_constant_s};
use super::log::OvenLog;
use super::received::{Gaps, LagBand, Received, Trace};
use super::role::Role;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};
use crate::temper::ConstantBelief;

/// The part's shape, as far as heat needs it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Part {
    /// A plate heated on both faces, thickness in mm.
    Plate(f64),
    /// A round bar, diameter in mm.
    Round(f64),
}

impl Part {
    /// Volume by heated area in mm.
    #[must_use]
    pub const fn volume_by_area_mm(self) -> f64 {
        match self {
            Self::Plate(thickness) => 0.5 * thickness,
            Self::Round(diameter) => 0.25 * diameter,
        }
    }

    /// The part in words.
    #[must_use]
    pub fn text(self) -> String {
        match self {
            Self::Plate(thickness) => format!("{thickness} mm plate"),
            Self::Round(diameter) => format!("{diameter} mm round"),
        }
    }
}

/// Within this the part counts as being at the hold's level.
const WITHIN_C: f64 = 5.0;

/// A part in the air of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Soak {
    /// The record it follows.
    pub log: OvenLog,
    /// The part.
    pub part: Part,
    /// What is around it, in words.
    pub surroundings: String,
    /// Its time constant, as a band.
    pub lag: LagBand,
    /// Its Biot number at the likely h.
    pub biot: f64,
    /// The level of the hold.
    pub hold_c: f64,
    /// Elapsed seconds at which the part is within 5 °C of that level.
    pub start_of_hold: Estimate,
    /// Minutes between the air being there and the part being there.
    pub minutes_lost: Estimate,
    /// Its temperature with the likely lag.
    pub trace: Trace,
}

impl OvenLog {
    /// The temperature of a part in the logged air, by its size and its surroundings.
    ///
    /// `h_w_m2k` is low, likely and high; without it the surroundings' own band is taken.
    ///
    /// # Errors
    /// [`Error::Refused`] without an air channel or for a part of Biot number above 0.1; [`Error::InvalidValue`] for
    /// a size or a coefficient that is not positive; [`Error::NoAnswer`] when the part never gets to the hold.
    pub fn soak(&self, part: Part, surroundings: Surroundings, h_w_m2k: Option<(f64, f64, f64)>) -> Result<Soak> {
        if self.channel(Role::Air).is_none() {
            return Err(Error::Refused {
                what: "a soak of this log".into(),
                why: "it has no air channel; what lies beside the part needs no model of its lag".into(),
                instead: "Ask log.history(c=...)".into(),
            });
        }
        let (low, likely, high) = h_w_m2k.unwrap_or_else(|| surroundings.h_w_m2k());
        let size = part.volume_by_area_mm();
        let lag = LagBand {
            low_s: time_constant_s(size, high)?,
            likely_s: time_constant_s(size, likely)?,
            high_s: time_constant_s(size, low)?,
        };
        if !(low <= likely && likely <= high) {
            return Err(Error::Refused {
                what: format!("h_w_m2k = ({low}, {likely}, {high})").into(),
                why: "low, likely and high must rise".into(),
                instead: "Write (20, 35, 60), or one number".into(),
            });
        }
        lumped(biot_number(size, high)?)?;
        let hold_c = self.hold_level();
        let reached = |lag_s: Option<f64>| -> Result<Option<f64>> {
            let trace = self.part_trace(Role::Air, lag_s)?;
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
        let likely_s = reached(Some(lag.likely_s))?.ok_or_else(never)?;
        let soonest = reached(Some(lag.low_s))?.unwrap_or(likely_s);
        let latest = reached(Some(lag.high_s))?.unwrap_or_else(|| self.span_s().1);
        let assumed = format!(
            "a {} in {}: h = {low} to {high} W/m2K, likely {likely} (an assumption: a probe beside the part settles it); \
             conductivity {CONDUCTIVITY_W_MK} W/mK",
            part.text(),
            surroundings.name()
        );
        let banded = |value: f64, low: f64, high: f64, unit: &'static str| {
            Estimate::new(value, unit)
                .with("lag", (high - low) / 12f64.sqrt())
                .shaped(Shape::Bounds { low, high })
                .assuming(assumed.clone())
        };
        Ok(Soak {
            log: self.clone(),
            part,
            surroundings: surroundings.name().to_owned(),
            lag,
            biot: biot_number(size, likely)?,
            hold_c,
            start_of_hold: banded(likely_s, soonest, latest, "s"),
            minutes_lost: banded((likely_s - air) / 60.0, (soonest - air) / 60.0, (latest - air) / 60.0, "min"),
            trace: self.part_trace(Role::Air, Some(lag.likely_s))?,
        })
    }

    /// The level of the hold: the setpoint, or the middle of the upper half of what was read.
    fn hold_level(&self) -> f64 {
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
    /// What the part got.
    ///
    /// # Errors
    /// As [`OvenLog::received`].
    pub fn received(&self, c: ConstantBelief, gaps: Gaps) -> Result<Received> {
        let mut got = self.log.received_from(Role::Air, c, Some(self.lag), gaps)?;
        for assumption in self.start_of_hold.assumptions() {
            got.estimate = got.estimate.assuming(assumption.clone());
        }
        Ok(got)
    }
}
