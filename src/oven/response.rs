//! How a part follows its air: one lag, a lag that grows with the heat capacity, or a section's sum of lags.

use serde::{Deserialize, Serialize};

use super::lag::time_constant_s;
use super::material::{HEAT_CAPACITY_J_M3K, HeatCapacity};
use super::section::{Part, Place, section_lags};
use crate::error::{Error, Result};

/// The part's temperature over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
        Err(Error::InvalidValue {
            model: "oven.history".into(),
            argument: "lag_s".into(),
            value: self.low_s,
            unit: "s".into(),
            why: "is no time constant".into(),
            failed: 1,
            of: 1,
            hint: "Give a positive number of seconds, or (low, high)".into(),
        })
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

/// A step of the air longer than this share of the (longest) lag is divided, so that straight lines between the points
/// made still follow the curve.
const LONGEST_STEP: f64 = 0.1;

impl Response {
    /// The part's temperature behind air of straight lines, from the air's first point on.
    ///
    /// Exact at every point for lags; with a heat capacity that goes with temperature, second order in the step.
    #[must_use]
    pub fn follow(&self, air: &Trace, start_c: f64) -> Trace {
        match self {
            Self::Lag(lag) => follow(air, start_c, *lag, &mut Linear::new(*lag)),
            Self::Rising(lag) => follow(air, start_c, *lag, &mut Growing(*lag)),
            Self::Lags(lags) => {
                let slowest = lags.iter().map(|(_, lag)| *lag).fold(0.0, f64::max);
                let mut modes = Modes(lags.iter().map(|&(share, lag)| (share, start_c, Linear::new(lag))).collect());
                follow(air, start_c, slowest, &mut modes)
            }
        }
    }
}

/// The part's next temperature when the air goes straight from one value to another.
trait Advance {
    fn advance(&mut self, part: f64, from: f64, to: f64, seconds: f64) -> f64;
}

/// One lag; logs are sampled evenly, so that the last step's exponential often serves again.
struct Linear {
    lag: f64,
    seconds: f64,
    fade: f64,
    /// (1 − fade)·lag/seconds: how far the part trails a ramp.
    trail: f64,
}

impl Linear {
    const fn new(lag: f64) -> Self {
        Self { lag, seconds: 0.0, fade: 1.0, trail: 1.0 }
    }
}

impl Advance for Linear {
    #[inline]
    fn advance(&mut self, part: f64, from: f64, to: f64, seconds: f64) -> f64 {
        if seconds != self.seconds {
            self.seconds = seconds;
            let gone = -(-seconds / self.lag).exp_m1();
            self.fade = 1.0 - gone;
            self.trail = gone * self.lag / seconds;
        }
        to + (part - from) * self.fade - (to - from) * self.trail
    }
}

/// A lag that goes with the part's temperature: the middle of the step rules it.
struct Growing(f64);

impl Advance for Growing {
    fn advance(&mut self, part: f64, from: f64, to: f64, seconds: f64) -> f64 {
        let lag = |celsius: f64| self.0 * HeatCapacity::En1993.volumetric(celsius) / HEAT_CAPACITY_J_M3K;
        let half = Linear::new(lag(part)).advance(part, from, 0.5 * (from + to), 0.5 * seconds);
        Linear::new(lag(half)).advance(part, from, to, seconds)
    }
}

/// Lags side by side: share, where each is, its step.
struct Modes(Vec<(f64, f64, Linear)>);

impl Advance for Modes {
    fn advance(&mut self, _: f64, from: f64, to: f64, seconds: f64) -> f64 {
        self.0
            .iter_mut()
            .map(|(share, at, linear)| {
                *at = linear.advance(*at, from, to, seconds);
                *share * *at
            })
            .sum()
    }
}

fn follow(air: &Trace, start_c: f64, lag_s: f64, by: &mut impl Advance) -> Trace {
    let n = air.seconds.len();
    let mut made = Trace { seconds: Vec::with_capacity(n), celsius: Vec::with_capacity(n) };
    let longest = LONGEST_STEP * lag_s;
    let mut part = start_c;
    let mut before: Option<(f64, f64)> = None;
    for (&time, &value) in air.seconds.iter().zip(&air.celsius) {
        if let Some((then, from)) = before {
            let step = time - then;
            if step > longest {
                // A step of days is followed by ever longer pieces; the part is where the air is long before its end.
                let pieces = (step / longest).ceil().min(1e4);
                let (dt, rise) = (step / pieces, (value - from) / pieces);
                for piece in 0..pieces as u64 {
                    let at = from + rise * piece as f64;
                    part = by.advance(part, at, at + rise, dt);
                    made.seconds.push(then + dt * (piece + 1) as f64);
                    made.celsius.push(part);
                }
                if let Some(last) = made.seconds.last_mut() {
                    *last = time;
                }
            } else {
                if step > 0.0 {
                    part = by.advance(part, from, value, step);
                }
                made.seconds.push(time);
                made.celsius.push(part);
            }
        } else {
            made.seconds.push(time);
            made.celsius.push(part);
        }
        before = Some((time, value));
    }
    made
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
