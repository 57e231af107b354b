//! The oven as a first-order lag with dead time, identified from a heat-up, a hold with its duty, or a step.
//!
//! tau dT/dt = T_ambient + K u(t − theta) − T, u the share of full power. For a lag and a dead time the response is linear
//! in the rest, which is solved for while lag and dead time are searched. A step that begins with the record can't tell
//! ambient temperature, start and gain apart, so that one of them is taken as known: an oven that starts below
//! [`COLD_C`] starts at the room's temperature, one that starts warmer cools towards [`ROOM_C`].

use serde::{Deserialize, Serialize};

use super::fit::{effective, smallest};
use super::log::OvenLog;
use super::role::Role;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of [`OvenModel`].
pub static OVEN_MODEL: ModelRecord = ModelRecord {
    id: "oven.first_order_dead_time",
    gives: "the oven's air as a first-order lag with dead time",
    unit: "°C",
    formula: "tau dT/dt = T_ambient + K u(t - theta) - T, 0 <= u <= 1; least squares over the record",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "process control textbooks",
        at: "first order plus dead time, G(s) = K exp(-theta s)/(tau s + 1)",
        origin: Origin::FromMemory,
    }],
    errata: &[
        "walls that warm slowly make every real oven more than first order: the model is for a controller's settings",
    ],
    not_for: "predicting what a load gets",
};

/// An oven as a controller sees it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OvenModel {
    /// Rise of the air at full power in the end, °C.
    pub gain: Estimate,
    /// Lag, s.
    pub lag: Estimate,
    /// Dead time, s.
    pub dead_time: Estimate,
    /// Temperature with the heater off, °C.
    pub ambient_c: f64,
    /// Root mean square of what the model leaves over, °C.
    pub left_over_c: f64,
}

impl OvenModel {
    /// A model of given numbers, taken as exact.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] unless gain and lag are positive and the dead time is not negative.
    pub fn of(gain_c: f64, tau_s: f64, theta_s: f64, ambient_c: f64) -> Result<Self> {
        for (argument, value, unit, least) in [
            ("gain_c", gain_c, "°C", f64::MIN_POSITIVE),
            ("tau_s", tau_s, "s", f64::MIN_POSITIVE),
            ("theta_s", theta_s, "s", 0.0),
        ] {
            if !value.is_finite() || value < least {
                return Err(Error::invalid(
                    OVEN_MODEL.id,
                    argument,
                    (value, unit),
                    "is no number that an oven could have",
                    "Give a positive gain and lag, and a dead time of zero or more",
                ));
            }
        }
        Ok(Self {
            gain: Estimate::new(gain_c, "°C"),
            lag: Estimate::new(tau_s, "s"),
            dead_time: Estimate::new(theta_s, "s"),
            ambient_c,
            left_over_c: 0.0,
        })
    }

    /// Gain, lag and dead time.
    pub(super) fn numbers(&self) -> (f64, f64, f64) {
        (self.gain.value(), self.lag.value(), self.dead_time.value())
    }

    /// How many times the power that holds a setpoint the heater has.
    #[must_use]
    pub fn power_ratio(&self, setpoint_c: f64) -> f64 {
        self.gain.value() / (setpoint_c - self.ambient_c)
    }
}

/// More samples than this are averaged, so many at a time that no more are left.
const MOST_SAMPLES: usize = 2000;

/// Means of so many at a time.
fn means(values: &[f64], size: usize) -> Vec<f64> {
    values.chunks(size).map(|some| some.iter().sum::<f64>() / some.len() as f64).collect()
}

/// An oven below this has not been heated yet, °C.
const COLD_C: f64 = 45.0;
/// Where a warm oven would cool to, °C (an assumption).
const ROOM_C: f64 = 20.0;

/// A record of an oven's answer.
struct Answer<'a> {
    seconds: &'a [f64],
    celsius: &'a [f64],
    /// Share of full power from each sample on.
    power: &'a [f64],
}

/// The oven's model from samples of temperature and of power (a share of full power, 0 to 1, from each sample on).
///
/// # Errors
/// [`Error::Refused`] for columns of unequal length; [`Error::NotDetermined`] where the record does not give it.
pub fn identify_oven(seconds: &[f64], celsius: &[f64], power: &[f64]) -> Result<OvenModel> {
    if seconds.len() != celsius.len() || seconds.len() != power.len() {
        return Err(Error::Refused {
            what: "an identification".into(),
            why: format!("{} times, {} temperatures, {} powers", seconds.len(), celsius.len(), power.len()).into(),
            instead: "Give one of each a sample".into(),
        });
    }
    let refuse = |why: &str| Error::NotDetermined {
        what: "the oven's model".into(),
        why: why.to_owned().into(),
        would_determine: "a heat-up at full power to near its end, or a record with its duty through heat-up and hold"
            .into(),
    };
    let finite = seconds.iter().chain(celsius).chain(power).all(|value| value.is_finite());
    let rising = seconds.iter().zip(seconds.iter().skip(1)).all(|(a, b)| b > a);
    if seconds.len() < 20 || !finite || !rising {
        return Err(refuse("it takes at least 20 samples, all finite, at times that rise"));
    }
    let span = seconds.last().copied().unwrap_or(0.0) - seconds.first().copied().unwrap_or(0.0);
    // A record of a day by the second says no more of lags of an hour than one of two thousand means.
    let size = seconds.len().div_ceil(MOST_SAMPLES);
    let (seconds, celsius, power) = (means(seconds, size), means(celsius, size), means(power, size));
    let answer = Answer { seconds: &seconds, celsius: &celsius, power: &power };
    let longest_dead = 0.25 * span;
    let (low, high) = ((1e-3 * span).ln(), (20.0 * span).ln());
    let misfit = |log_lag: f64, dead: f64| answer.misfit(log_lag.exp(), dead).map_or(f64::INFINITY, |(sum, _, _)| sum);
    let best_dead = |log_lag: f64| {
        let steps = 16;
        // Dead times are short against the record: finer where they are.
        let grid = |i: i32| longest_dead * (f64::from(i) / f64::from(steps)).powi(2);
        let best =
            (0..=steps).min_by(|&a, &b| misfit(log_lag, grid(a)).total_cmp(&misfit(log_lag, grid(b)))).unwrap_or(0);
        smallest(|dead| misfit(log_lag, dead), grid((best - 1).max(0)), grid((best + 1).min(steps)))
    };
    let profile = |log_lag: f64| misfit(log_lag, best_dead(log_lag));
    let steps = 24;
    let grid = |i: i32| low + (high - low) * f64::from(i) / f64::from(steps);
    let costs: Vec<f64> = (0..=steps).map(|i| profile(grid(i))).collect();
    let best = (1..steps).min_by(|&a, &b| costs[a as usize].total_cmp(&costs[b as usize])).unwrap_or(1);
    let log_lag = smallest(profile, grid(best - 1), grid(best + 1));
    let dead = best_dead(log_lag);
    let lag = log_lag.exp();
    let (sum, [ambient, gain], residuals) =
        answer.misfit(lag, dead).ok_or_else(|| refuse("temperature and power do not change together"))?;
    let left_over_c = (sum / residuals.len() as f64).sqrt();
    let variance = sum / (effective(&residuals) - 5.0).max(1.0);
    // Half the matrix of second derivatives of the sum of squares, by differences.
    let (dl, dd) = (0.02, (0.02 * lag).min(0.5 * dead.max(1e-3 * span)).max(1e-6));
    let at = |l: f64, d: f64| misfit(log_lag + l * dl, (dead + d * dd).max(0.0));
    let ll = (at(1.0, 0.0) - 2.0 * sum + at(-1.0, 0.0)) / (2.0 * dl * dl);
    let td = (at(0.0, 1.0) - 2.0 * sum + at(0.0, -1.0)) / (2.0 * dd * dd);
    let ld = (at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0)) / (8.0 * dl * dd);
    let whole = ll * td - ld * ld;
    let (u_log_lag, u_dead) = ((variance * td / whole).sqrt(), (variance * ll / whole).sqrt());
    if !(whole > 0.0 && u_log_lag < 0.7 && gain > 0.0) {
        return Err(refuse("only the slope of the heat-up is known: lag and gain could both be several times larger"));
    }
    let gain_at = |l: f64, d: f64| {
        answer.misfit((log_lag + l * dl).exp(), (dead + d * dd).max(0.0)).map_or(gain, |(_, x, _)| x[1])
    };
    let slopes =
        ((gain_at(1.0, 0.0) - gain_at(-1.0, 0.0)) / (2.0 * dl), (gain_at(0.0, 1.0) - gain_at(0.0, -1.0)) / (2.0 * dd));
    let covariance = -variance * ld / whole;
    let u_gain =
        ((slopes.0 * u_log_lag).powi(2) + (slopes.1 * u_dead).powi(2) + 2.0 * slopes.0 * slopes.1 * covariance)
            .max(0.0)
            .sqrt();
    let assumed = "the oven is one lag with dead time: its walls, which warm for hours, are not in the model";
    let start = if celsius.first().is_some_and(|celsius| *celsius < COLD_C) {
        "the oven was at the room's temperature when the record began"
    } else {
        "the oven was warm when the record began, and would cool to 20 °C"
    };
    let made = |value: f64, u: f64, unit: &'static str| {
        Estimate::new(value, unit).with("fit", u).assuming(assumed).assuming(start)
    };
    Ok(OvenModel {
        gain: made(gain, u_gain, "°C"),
        lag: made(lag, u_log_lag * lag, "s"),
        dead_time: made(dead, u_dead, "s"),
        ambient_c: ambient,
        left_over_c,
    })
}

/// Lag and dead time in s of a step's answer from the times at which it has done 28.3 and 63.2 % of the way.
///
/// # Errors
/// [`Error::Refused`] unless the second time is the later one.
///
/// ```
/// let (tau, theta) = afterquench::oven::two_point(80.0, 120.0).unwrap();
/// assert_eq!((tau, theta), (60.0, 60.0));
/// ```
pub fn two_point(time_28_s: f64, time_63_s: f64) -> Result<(f64, f64)> {
    let tau = 1.5 * (time_63_s - time_28_s);
    let theta = time_63_s - tau;
    if tau.is_finite() && tau > 0.0 && theta >= 0.0 {
        return Ok((tau, theta));
    }
    if theta < 0.0 {
        return Err(Error::Refused {
            what: format!("a dead time from {time_28_s} s and {time_63_s} s").into(),
            why: format!("it would be {theta:.0} s: no single lag is so quick to 28.3 % and so slow to 63.2 %").into(),
            instead: "Fit the whole heat-up with identify_oven".into(),
        });
    }
    Err(Error::Refused {
        what: format!("a lag from {time_28_s} s and {time_63_s} s").into(),
        why: "an answer does 28.3 % of its way before 63.2 %".into(),
        instead: "Give the two times in this order".into(),
    })
}

impl OvenLog {
    /// The oven's model from this record: with its duty channel where it has one, else from the first heat-up, which is
    /// taken to be at full power until the setpoint is near.
    ///
    /// # Errors
    /// As [`identify_oven`].
    pub fn identified(&self) -> Result<OvenModel> {
        let role = if self.channel(Role::Air).is_some() { Role::Air } else { Role::PartSide };
        let temperatures = self.channel(role).map(|channel| channel.values.as_slice()).unwrap_or_default();
        let duty = self.channel(Role::Duty).map(|channel| channel.values.as_slice());
        let near = self.hold_level() - 10.0;
        let (mut seconds, mut celsius, mut power) = (Vec::new(), Vec::new(), Vec::new());
        let mut last_power = 0.0;
        for (index, (&time, &value)) in self.seconds.iter().zip(temperatures).enumerate() {
            if let Some(duty) = duty {
                last_power =
                    duty.get(index).copied().filter(|duty| duty.is_finite()).map_or(last_power, |duty| 0.01 * duty);
            } else {
                if value > near {
                    break;
                }
                last_power = 1.0;
            }
            if value.is_finite() {
                seconds.push(time);
                celsius.push(value);
                power.push(last_power);
            }
        }
        let mut model = identify_oven(&seconds, &celsius, &power)?;
        if duty.is_none() {
            let assumed = "no duty was logged: the heat-up is taken to be at full power until 10 °C below the hold";
            model.gain = model.gain.assuming(assumed);
        }
        Ok(model)
    }
}

impl Answer<'_> {
    /// Sum of squares, (ambient, gain), residuals for a lag and a dead time.
    fn misfit(&self, lag_s: f64, dead_s: f64) -> Option<(f64, [f64; 2], Vec<f64>)> {
        let first = *self.seconds.first()?;
        let cold = *self.celsius.first()? < COLD_C;
        let mut rows = Vec::with_capacity(self.seconds.len());
        let (mut driven, mut now, mut next, mut acting) = (0.0, first, 0, 0.0);
        for (&time, &celsius) in self.seconds.iter().zip(self.celsius) {
            // Powers act a dead time after they were set, in pieces between the samples.
            while let Some((&set, &power)) = self.seconds.get(next).zip(self.power.get(next)) {
                let acts = set + dead_s;
                if acts > time {
                    break;
                }
                driven = acting + (driven - acting) * (-(acts - now) / lag_s).exp();
                (now, acting, next) = (acts, power, next + 1);
            }
            driven = acting + (driven - acting) * (-(time - now) / lag_s).exp();
            now = time;
            rows.push(if cold {
                ([1.0, driven], celsius)
            } else {
                ([(-(time - first) / lag_s).exp(), driven], celsius - ROOM_C)
            });
        }
        let [level, gain] = least_squares(&rows)?;
        let residuals: Vec<f64> = rows.iter().map(|([one, driven], y)| y - (level * one + gain * driven)).collect();
        let solved = [if cold { level } else { ROOM_C }, gain];
        Some((residuals.iter().map(|r| r * r).sum(), solved, residuals))
    }
}

/// The least-squares solution in two unknowns.
fn least_squares(rows: &[([f64; 2], f64)]) -> Option<[f64; 2]> {
    let sum = |of: fn(&([f64; 2], f64)) -> f64| rows.iter().map(of).sum::<f64>();
    let (aa, ab, bb) = (sum(|([a, _], _)| a * a), sum(|([a, b], _)| a * b), sum(|([_, b], _)| b * b));
    let (ay, by) = (sum(|([a, _], y)| a * y), sum(|([_, b], y)| b * y));
    let whole = aa * bb - ab * ab;
    (whole > 1e-12 * aa * bb).then(|| [(ay * bb - by * ab) / whole, (by * aa - ay * ab) / whole])
}
