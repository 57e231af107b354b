//! M = T(C + log10 t).

use super::models::parameter_of;
use crate::error::{Error, Result};
use crate::kernel::log2;
use crate::quantity::{HoldTime, SteelConstant, Temperature, ZERO_CELSIUS_K};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The record of the tempering parameter.
pub static TEMPER_PARAMETER: ModelRecord = ModelRecord {
    id: "temper.parameter",
    gives: "tempering parameter",
    unit: "K",
    formula: "M = T (C + log10 t), T in K, t in h, C for hours",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source {
        cite: "J. H. Hollomon and L. D. Jaffe, Time-temperature relations in tempering steel, Trans. AIME 162 (1945) 223",
        at: "the form M = T(C + log t)",
        origin: Origin::FromMemory,
    }],
    errata: &[
        "C = 20 is a convention for hours; with t in seconds the same steel has C smaller by log10 3600 = 3.5563",
    ],
    not_for: "steels across a secondary-hardening peak, or where retained austenite transforms",
};

/// Refuses what no policy accepts: infinities, temperatures at or below absolute zero, times that are not positive.
pub(super) fn check_hold(model: &'static str, temperature_c: f64, time_h: f64) -> Result<()> {
    check_temperature(model, "temperature_c", temperature_c)?;
    check_time(model, "time_h", time_h)
}

/// A temperature must be finite and above absolute zero.
pub(super) fn check_temperature(model: &'static str, argument: &'static str, celsius: f64) -> Result<()> {
    check_finite(model, argument, "°C", celsius)?;
    if celsius <= -ZERO_CELSIUS_K {
        return Err(invalid(model, argument, "°C", celsius, "is at or below absolute zero"));
    }
    Ok(())
}

/// A time must be finite and positive: log10 of it is taken.
pub(super) fn check_time(model: &'static str, argument: &'static str, hours: f64) -> Result<()> {
    check_finite(model, argument, "h", hours)?;
    if hours <= 0.0 {
        return Err(invalid(model, argument, "h", hours, "is not a positive time"));
    }
    Ok(())
}

fn invalid(model: &'static str, argument: &'static str, unit: &'static str, value: f64, why: &'static str) -> Error {
    Error::invalid(model, argument, (value, unit), why, "Temperatures are in °C and times in hours")
}

/// The tempering parameter M = T(C + log10 t) of one hold, in kelvin (times log10 of hours).
///
/// # Errors
/// [`Error::InvalidValue`] for infinite values, a time that is not positive, a temperature at or below absolute zero.
///
/// ```
/// use afterquench::temper::temper_parameter;
/// use afterquench::{HoldTime, SteelConstant, Temperature};
/// let m = temper_parameter(Temperature::from_celsius(200.0), HoldTime::from_hours(2.0), SteelConstant::for_hours(20.0));
/// assert!((m.unwrap() - 9605.4).abs() < 0.05);
/// ```
pub fn temper_parameter(temperature: Temperature, time: HoldTime, c: SteelConstant) -> Result<f64> {
    check_hold(TEMPER_PARAMETER.id, temperature.celsius(), time.hours())?;
    check_finite(TEMPER_PARAMETER.id, "c", "", c.hours())?;
    Ok(parameter_of(temperature.celsius(), log2(time.hours()), c.hours()))
}
