//! The tempers that were measured, and the refusal of all others.

use super::record::TEMPERED;
use crate::error::{Error, Result};
use crate::quantity::{HoldTime, Temperature};
use crate::record::check_finite;

/// The coolest and the hottest temper measured, °C.
pub(super) fn ends_c() -> (f64, f64) {
    TEMPERED.range("temperature_c").map_or((f64::NAN, f64::NAN), |range| (range.low, range.high))
}

/// Refuses a hold out of range; NaN passes.
#[inline]
pub(super) fn check_hold(temperature: Temperature, time: HoldTime) -> Result<()> {
    let (celsius, hours) = (temperature.celsius(), time.hours());
    check_finite(TEMPERED.id, "temperature_c", "°C", celsius)?;
    check_finite(TEMPERED.id, "time_h", "h", hours)?;
    let impossible = |argument: &'static str, value: f64, unit: &'static str, why: &'static str| {
        Error::invalid(TEMPERED.id, argument, (value, unit), why, "Check the unit")
    };
    if temperature.kelvin() <= 0.0 {
        return Err(impossible("temperature_c", celsius, "°C", "is at or below absolute zero"));
    }
    if hours <= 0.0 {
        return Err(impossible("time_h", hours, "h", "is not a positive time"));
    }
    TEMPERED.check("temperature_c", celsius)?;
    TEMPERED.check("time_h", hours)
}
