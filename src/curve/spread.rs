//! What makes a real temper differ from the one on paper.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};

/// Half widths of flat distributions for what the oven and the clock do. The defaults are assumptions (common
/// practice, no source) for a small electric oven whose sensor was never compared with a reference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TemperSpread {
    position_delta_c: f64,
    sensor_delta_c: f64,
    controller_delta_c: f64,
    time_min: f64,
}

impl Default for TemperSpread {
    fn default() -> Self {
        Self { position_delta_c: 5.0, sensor_delta_c: 1.5, controller_delta_c: 1.0, time_min: 3.0 }
    }
}

/// Whether an estimate may go on beyond a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Widened {
    /// It is refused.
    #[default]
    No,
    /// It goes on in a straight line, widened and marked.
    Extrapolated,
}

impl TemperSpread {
    /// From half widths: place in the oven, sensor, controller (differences in °C), time (minutes).
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for one that is negative or not finite.
    pub fn new(position_delta_c: f64, sensor_delta_c: f64, controller_delta_c: f64, time_min: f64) -> Result<Self> {
        let named = [
            ("position_delta_c", position_delta_c),
            ("sensor_delta_c", sensor_delta_c),
            ("controller_delta_c", controller_delta_c),
            ("time_half_min", time_min),
        ];
        for (argument, value) in named {
            if !(value.is_finite() && value >= 0.0) {
                return Err(Error::InvalidValue {
                    model: "curve.spread".into(),
                    argument: argument.into(),
                    value,
                    unit: "".into(),
                    why: "is not a half width".into(),
                    failed: 1,
                    of: 1,
                    hint: "Give the half width of the range as a number from 0 up".into(),
                });
            }
        }
        Ok(Self { position_delta_c, sensor_delta_c, controller_delta_c, time_min })
    }

    /// The half widths of the temperature's parts: place, sensor, controller; differences in °C.
    #[must_use]
    pub const fn temperature_halves_delta_c(&self) -> [f64; 3] {
        [self.position_delta_c, self.sensor_delta_c, self.controller_delta_c]
    }

    /// Half width of the time, minutes.
    #[must_use]
    pub const fn time_half_min(&self) -> f64 {
        self.time_min
    }

    /// Standard uncertainty of the part's temperature, a difference in °C.
    #[must_use]
    pub fn u_temperature_delta_c(&self) -> f64 {
        let squares: f64 = self.temperature_halves_delta_c().iter().map(|half| half * half).sum();
        (squares / 3.0).sqrt()
    }

    /// The assumption as a sentence.
    #[must_use]
    pub fn text(&self) -> String {
        format!(
            "place in the oven ±{} °C, sensor ±{} °C, controller ±{} °C, time ±{} min, all flat",
            self.position_delta_c, self.sensor_delta_c, self.controller_delta_c, self.time_min
        )
    }
}
