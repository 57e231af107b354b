//! How a part follows its air: one lag, a lag that grows with the heat capacity, or a section's sum of lags.

use serde::{Deserialize, Serialize};

use super::follow::Follower;
use super::lag::time_constant_s;
use super::material::HeatCapacity;
use super::section::{Part, Place, section_lags};
use crate::error::{Error, Result};

/// The part's temperature over time.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Trace {
    /// Elapsed seconds, rising.
    pub seconds: Vec<f64>,
    /// °C.
    pub celsius: Vec<f64>,
}

/// A first-order lag of the part behind the air, as a band.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LagBand {
    /// Shortest time constant, s.
    pub low_s: f64,
    /// The likely one.
    pub likely_s: f64,
    /// Longest.
    pub high_s: f64,
}

impl LagBand {
    /// What is assumed when only the air was logged and nothing is said of the part: a blade of 3 to 4 mm in an oven
    /// with a fan to one in still air.
    pub const UNKNOWN: Self = Self { low_s: 200.0, likely_s: 300.0, high_s: 450.0 };

    /// One value, taken as exact.
    #[must_use]
    pub const fn exactly(seconds: f64) -> Self {
        Self { low_s: seconds, likely_s: seconds, high_s: seconds }
    }

    /// The lag at a share of the band, even in its logarithm.
    pub(super) fn at(&self, share: f64) -> f64 {
        self.low_s * (self.high_s / self.low_s).powf(share)
    }

    pub(super) fn check(&self) -> Result<()> {
        let rising = self.low_s <= self.likely_s && self.likely_s <= self.high_s;
        if self.low_s > 0.0 && self.high_s.is_finite() && rising {
            return Ok(());
        }
        Err(Error::invalid(
            "oven.history",
            "lag_s",
            (self.low_s, "s"),
            "is no time constant",
            "Give a positive number of seconds, or (low, high)",
        ))
    }
}

/// A part in surroundings of which a band of coefficients is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// The part.
    pub part: Part,
    /// W/m²K: low, likely, high.
    pub h_w_m2k: (f64, f64, f64),
    /// Where in it.
    pub place: Place,
    /// How its heat capacity goes with temperature.
    pub capacity: HeatCapacity,
    /// Whether it is at one temperature throughout the band.
    pub lumped: bool,
    /// How much hotter than its air it may get by an element that it sees, °C.
    pub radiation_c: f64,
}

impl Section {
    pub(super) fn response(&self, h_w_m2k: f64) -> Result<Response> {
        if !self.lumped {
            return Ok(Response::Lags(section_lags(self.part, h_w_m2k, self.place)?));
        }
        let tau = time_constant_s(self.part.volume_by_area_mm(), h_w_m2k)?;
        Ok(match self.capacity {
            HeatCapacity::Constant => Response::Lag(tau),
            HeatCapacity::En1993 => Response::Rising(tau),
        })
    }
}

/// What is known of how the part follows its air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Following {
    Lag(LagBand),
    Section(Section),
}

impl Following {
    pub(super) fn check(&self) -> Result<()> {
        match self {
            Self::Lag(band) => band.check(),
            Self::Section(_) => Ok(()),
        }
    }

    pub(super) fn is_exact(&self) -> bool {
        match self {
            Self::Lag(band) => band.low_s == band.high_s,
            Self::Section(section) => section.h_w_m2k.0 == section.h_w_m2k.2,
        }
    }

    pub(super) fn likely(&self) -> Result<Response> {
        match self {
            Self::Lag(band) => Ok(Response::Lag(band.likely_s)),
            Self::Section(section) => section.response(section.h_w_m2k.1),
        }
    }

    /// At a share of the band, even in its logarithm: from the quickest part to the slowest.
    pub(super) fn at(&self, share: f64) -> Result<Response> {
        match self {
            Self::Lag(band) => Ok(Response::Lag(band.at(share))),
            Self::Section(section) => {
                let (low, _, high) = section.h_w_m2k;
                section.response(high * (low / high).powf(share))
            }
        }
    }

    /// The band in words.
    pub(super) fn text(&self) -> String {
        match self {
            Self::Lag(band) if self.is_exact() => format!("a lag of {:.0} s", band.likely_s),
            Self::Lag(band) => format!("a lag of {:.0} to {:.0} s", band.low_s, band.high_s),
            Self::Section(Section { h_w_m2k, .. }) if self.is_exact() => format!("h = {:.0} W/m2K", h_w_m2k.1),
            Self::Section(Section { h_w_m2k: (low, _, high), .. }) => format!("h = {low:.0} to {high:.0} W/m2K"),
        }
    }
}

/// How one place in a part follows its air.
#[derive(Debug, Clone, PartialEq)]
pub enum Response {
    /// A first-order lag, s.
    Lag(f64),
    /// A first-order lag that goes with the specific heat of EN 1993-1-2; its length at 500 J/kgK.
    Rising(f64),
    /// A sum of lags: shares that add up to one, and s.
    Lags(Vec<(f64, f64)>),
}

impl Response {
    /// The part's temperature behind air of straight lines, from the air's first point on.
    ///
    /// Exact at every point for lags; with a heat capacity that goes with temperature, second order in the step.
    #[must_use]
    pub fn follow(&self, air: &Trace, start_c: f64) -> Trace {
        let mut made = Trace::default();
        self.follow_into(air, start_c, &mut made);
        made
    }

    /// As [`Self::follow`], in place of what `made` held: a caller who asks again and again spares the memory, which for
    /// a long log costs as much time as the arithmetic.
    pub fn follow_into(&self, air: &Trace, start_c: f64, made: &mut Trace) {
        made.seconds.clear();
        made.celsius.clear();
        Follower::new(self, start_c).follow(&air.seconds, &air.celsius, made);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A first-order lag behind a ramp trails it by rate × time constant (linear systems theory).
    #[test]
    fn lag_behind_a_ramp() {
        let air = Trace { seconds: vec![0.0, 6000.0], celsius: vec![20.0, 520.0] };
        let part = Response::Lag(300.0).follow(&air, 20.0);
        let trailing = 520.0 - part.celsius.last().unwrap();
        assert!((trailing - 500.0 / 6000.0 * 300.0).abs() < 1e-6, "{trailing}");
    }
}
