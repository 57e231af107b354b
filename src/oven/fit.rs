//! The part's lag out of a record that has both channels: the air's and one beside the part.
//!
//! What lies beside a part sees some of the air too. The part side is taken as a mixture, w of a first-order lag behind
//! the air and 1 − w of the air itself, plus an offset between the sensors, plus what the part's own temperature at the
//! start leaves. For a lag these three are linear; the lag is searched for.

use super::lag::time_constant_s;
use super::log::OvenLog;
use super::response::{Response, Trace};
use super::role::Role;
use super::section::Part;
use crate::error::{Error, Result};
use crate::estimate::Estimate;

/// Shortest and longest lag looked for, s.
const SHORTEST_S: f64 = 5.0;
const LONGEST_S: f64 = 3600.0;

/// The air's sensor lags too, by tens of seconds, and the mixture is a model: one standard uncertainty as a share of the
/// lag (an assumption, from what sensors of 15 to 60 s do to lags of 150 to 300 s).
const MODEL_SHARE: f64 = 0.15;

/// The rows that count: seconds, air, part side.
struct Both {
    air: Trace,
    part: Vec<f64>,
}

impl OvenLog {
    /// The time constant in s of the part behind the air, fitted to a record of both.
    ///
    /// # Errors
    /// [`Error::NotDetermined`] without both channels, or where the part never lags visibly behind the air.
    pub fn fitted_lag(&self) -> Result<Estimate> {
        let refuse = |why: &str| Error::NotDetermined {
            what: "the part's lag".into(),
            why: why.to_owned().into(),
            would_determine: "a record of the air and of a probe beside the part, through a heat-up or a loading"
                .into(),
        };
        let both =
            self.both().ok_or_else(|| refuse("the record has not both an air channel and one beside the part"))?;
        if both.part.len() < 20 {
            return Err(refuse("fewer than 20 rows have both channels"));
        }
        let largest = both.air.celsius.iter().zip(&both.part).map(|(air, part)| (air - part).abs()).fold(0.0, f64::max);
        if largest < 10.0 {
            return Err(refuse("air and part never differ by 10 °C: there is no change to follow"));
        }
        let misfit = |log_lag: f64| both.misfit(log_lag.exp()).map_or(f64::INFINITY, |(sum, _)| sum);
        let (low, high) = (SHORTEST_S.ln(), LONGEST_S.ln());
        let steps = 24;
        let grid = |i: i32| low + (high - low) * f64::from(i) / f64::from(steps);
        let best = (1..steps).min_by(|&a, &b| misfit(grid(a)).total_cmp(&misfit(grid(b)))).unwrap_or(1);
        let log_lag = smallest(misfit, grid(best - 1), grid(best + 1));
        let lag = log_lag.exp();
        let (sum, residuals) = both.misfit(lag).ok_or_else(|| refuse("the channels are too alike"))?;
        let dof = (effective(&residuals) - 4.0).max(1.0);
        let step = 0.05;
        let bend = (misfit(log_lag + step) - 2.0 * sum + misfit(log_lag - step)) / (step * step);
        let u = (2.0 * sum / dof / bend.max(f64::MIN_POSITIVE)).sqrt();
        if u.is_nan() || u >= 0.5 {
            return Err(refuse("lags that differ by half fit as well"));
        }
        Ok(Estimate::new(lag, "s")
            .with("fit", u * lag)
            .with("sensor lag and mixture", MODEL_SHARE * lag)
            .assuming("the sensor beside the part sees the part and some of the air, in a share that was fitted too")
            .assuming("the air's own sensor lags by tens of seconds: the fit is too short by about that"))
    }

    /// The heat transfer coefficient in W/m²K that the fitted lag means for a part of this size.
    ///
    /// # Errors
    /// As [`Self::fitted_lag`]; [`Error::InvalidValue`] for a size that is not positive.
    pub fn fitted_coefficient(&self, part: Part) -> Result<Estimate> {
        let lag = self.fitted_lag()?;
        let h = time_constant_s(part.volume_by_area_mm(), 1.0)? / lag.value();
        let made = lag
            .components()
            .iter()
            .fold(Estimate::new(h, "W/m2K"), |made, part| made.with(part.name.clone(), h * part.u / lag.value()));
        Ok(made.assuming_all(&lag).assuming(format!("the probe lies beside a {}", part.text())))
    }

    fn both(&self) -> Option<Both> {
        let (air, part) = (self.channel(Role::Air)?, self.channel(Role::PartSide)?);
        let start = self.load.map_or(f64::NEG_INFINITY, |load| load.at_s);
        let mut made = Both { air: Trace { seconds: Vec::new(), celsius: Vec::new() }, part: Vec::new() };
        for ((&time, &air), &part) in self.seconds.iter().zip(&air.values).zip(&part.values) {
            if time >= start && air.is_finite() && part.is_finite() {
                made.air.seconds.push(time);
                made.air.celsius.push(air);
                made.part.push(part);
            }
        }
        Some(made)
    }
}

impl Both {
    /// Sum of squares and residuals of the best mixture for a lag.
    fn misfit(&self, lag_s: f64) -> Option<(f64, Vec<f64>)> {
        let behind = Response::Lag(lag_s).follow(&self.air, 0.0);
        let first = *self.air.seconds.first()?;
        let mut rows = Vec::with_capacity(self.part.len());
        let mut made = behind.seconds.iter().zip(&behind.celsius);
        for ((&time, &air), &part) in self.air.seconds.iter().zip(&self.air.celsius).zip(&self.part) {
            // Long steps were divided on the way: the points of the record are among those made.
            let (_, &lagged) = made.find(|(made, _)| **made >= time)?;
            rows.push(([1.0, lagged - air, (-(time - first) / lag_s).exp()], part - air));
        }
        let [offset, share, start] = least_squares(&rows)?;
        let residuals: Vec<f64> = rows
            .iter()
            .map(|([one, lagged, fading], seen)| seen - (offset * one + share * lagged + start * fading))
            .collect();
        Some((residuals.iter().map(|residual| residual * residual).sum(), residuals))
    }
}

/// The least-squares solution in three unknowns, by Cramer's rule on scaled normal equations.
fn least_squares(rows: &[([f64; 3], f64)]) -> Option<[f64; 3]> {
    let mut normal = [[0.0; 4]; 3];
    for (x, y) in rows {
        for (i, line) in normal.iter_mut().enumerate() {
            for (j, cell) in line.iter_mut().take(3).enumerate() {
                *cell += x[i] * x[j];
            }
            line[3] += x[i] * y;
        }
    }
    let scale = [normal[0][0].sqrt(), normal[1][1].sqrt(), normal[2][2].sqrt()];
    if scale.iter().any(|&scale| scale <= 0.0) {
        return None;
    }
    let cell = |i: usize, j: usize| normal[i][j] / (scale[i] * if j < 3 { scale[j] } else { 1.0 });
    let determinant = |columns: [usize; 3]| {
        let [a, b, c] = columns;
        cell(0, a) * (cell(1, b) * cell(2, c) - cell(1, c) * cell(2, b))
            - cell(0, b) * (cell(1, a) * cell(2, c) - cell(1, c) * cell(2, a))
            + cell(0, c) * (cell(1, a) * cell(2, b) - cell(1, b) * cell(2, a))
    };
    let whole = determinant([0, 1, 2]);
    if whole.abs() < 1e-12 {
        return None;
    }
    Some([
        determinant([3, 1, 2]) / whole / scale[0],
        determinant([0, 3, 2]) / whole / scale[1],
        determinant([0, 1, 3]) / whole / scale[2],
    ])
}

/// How many independent values a series with neighbours alike is worth.
pub(super) fn effective(residuals: &[f64]) -> f64 {
    let n = residuals.len() as f64;
    let power: f64 = residuals.iter().map(|value| value * value).sum();
    let along: f64 = residuals.iter().zip(residuals.iter().skip(1)).map(|(a, b)| a * b).sum();
    let alike = (along / power.max(f64::MIN_POSITIVE)).clamp(0.0, 0.999);
    n * (1.0 - alike) / (1.0 + alike)
}

/// The place of the smallest value between two ends, by golden section.
pub(super) fn smallest(value: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_left, mut at_right) = (value(left), value(right));
    for _ in 0..40 {
        if at_left < at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = value(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = value(right);
        }
    }
    0.5 * (low + high)
}
