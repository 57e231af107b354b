//! The steel's own temperature from the air's: when its hold began, what the heating cost, what it got.

use serde::{Deserialize, Serialize};

use super::extent::{median_of, upper_level};
use super::hold::{Approach, CUT_OFF, Hold, WITHIN_C, banded};
use super::lag::{LARGEST_BIOT, biot_number, time_constant_s};
use super::log::OvenLog;
use super::material::HeatCapacity;
use super::radiation::settled_rise_delta_c;
use super::received::{Gaps, Received};
use super::response::{Following, LagBand, Section, Trace};
use super::role::Role;
use super::section::{Part, Place};
use super::surroundings::Surroundings;
use super::within::{assumption, rising};
use crate::error::{Error, Result, Text};
use crate::estimate::Estimate;
use crate::temper::ConstantBelief;

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
    /// When the core came within 5 °C of that level; nothing where it never did.
    pub hold: Option<Hold>,
    /// The hottest the core got, °C.
    pub furthest: Estimate,
    /// The hottest the air got, °C.
    pub hottest_air_c: f64,
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
    /// of 0.1; [`Error::InvalidValue`] for a size or a coefficient that is not positive; [`Error::NotDetermined`] where a fit was asked for and the record does not give it.
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
            Some(element) => settled_rise_delta_c(element, hold_c, band.0)?,
            None => 0.0,
        };
        let section =
            Section { part, h_w_m2k: band, place: Place::Core, capacity: options.capacity, lumped, radiation_c };
        let mut assumed: Vec<Text> = vec![
            match &fitted {
                Some(h) => {
                    format!("a {}: h = {:.0} W/m2K, u = {:.0}, fitted to the part side", part.text(), h.value(), h.u())
                }
                None => assumption(part, options.surroundings, band),
            }
            .into(),
        ];
        if !lumped {
            assumed.push("its core counts: the skin is there sooner".into());
        }
        let course = self.course(Role::Air)?;
        let (trace, start_c) = (course.trace(), course.part_start());
        let level_c = hold_c - WITHIN_C;
        let core = section.response(band.1)?.follow(&trace, start_c);
        let (air, likely) = (Approach::of(&trace, level_c), Approach::of(&core, level_c));
        let mut made = Trace::default();
        let mut approach = |h_w_m2k: f64| -> Result<Approach> {
            section.response(h_w_m2k)?.follow_into(&trace, start_c, &mut made);
            Ok(Approach::of(&made, level_c))
        };
        let (quick, slow) = (approach(band.2)?, approach(band.0)?);
        let furthest = banded(likely.hottest_c, (slow.hottest_c, quick.hottest_c), "°C", &assumed);
        if slow.reached_s.is_none() {
            assumed.push(CUT_OFF.into());
        }
        let hold = likely.reached_s.zip(air.reached_s).map(|(likely_s, air_s)| {
            let ends = (quick.reached_s.unwrap_or(likely_s), slow.reached_s.unwrap_or_else(|| self.span_s().1));
            let lost = |since_s: f64| (since_s - air_s) / 60.0;
            Hold {
                start: banded(likely_s, ends, "s", &assumed),
                minutes_lost: banded(lost(likely_s), (lost(ends.0), lost(ends.1)), "min", &assumed),
            }
        });
        let surface = if lumped {
            core.clone()
        } else {
            Section { place: Place::Surface, ..section }.response(band.1)?.follow(&trace, start_c)
        };
        Ok(Soak {
            log: self.clone(),
            surroundings: options.surroundings.name().to_owned(),
            section,
            lag,
            biot: biot_number(size, band.1)?,
            hold_c,
            hold,
            furthest,
            hottest_air_c: air.hottest_c,
            core,
            surface,
            fitted,
        })
    }

    /// The level of the hold: the setpoint, or the middle of the upper half of what was read.
    pub(super) fn hold_level(&self) -> f64 {
        /// Below this a controller is switched off.
        const SET_C: f64 = 50.0;
        let values = |role: Role| self.channel(role).map(|channel| channel.values.as_slice());
        let set = median_of(values(Role::Setpoint).unwrap_or_default(), |value| value > SET_C);
        if set.is_finite() {
            return set;
        }
        upper_level(values(Role::Air).or_else(|| values(Role::PartSide)).unwrap_or_default())
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
        for assumption in self.furthest.assumptions() {
            got.estimate = got.estimate.assuming(assumption.clone());
        }
        Ok(got)
    }
}
