//! The hardness of one temper as an estimate.

use super::record::TEMPERED;
use super::steel::CompositionSteel;
use crate::curve::HardnessAfterTemper;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::quantity::{HoldTime, Temperature};

/// Hardness after one hold that is known exactly: components "steel" (what composition and readings leave open),
/// "reading" (one further reading's own error), "as-quenched" (what the stated uncertainty of that reading leaves open) and,
/// where asked for, "extrapolation".
///
/// Its intervals are a normal distribution's, as of every estimate: for 95 % that is the calibrated factor; for 68 % it
/// is 0.99 u, and the calibrated one is a little less ([`CompositionSteel::interval_factors`]), because misses have
/// longer tails than a normal distribution. It errs on the wide side.
///
/// # Errors
/// As [`CompositionSteel::predict`]; with `extrapolate` up to 100 °C beyond the ends; [`Error::NoAnswer`] for NaN.
pub fn hardness_from_composition_estimate(
    steel: &CompositionSteel,
    temperature: Temperature,
    time: HoldTime,
    extrapolate: bool,
) -> Result<Estimate> {
    const PER_DEGREE_OUTSIDE: f64 = 0.01;
    let (hrc, outside) = if extrapolate {
        steel.extrapolated_with(temperature, time, steel.c())?
    } else {
        (steel.predict(temperature, time)?.hrc, 0.0)
    };
    if hrc.is_nan() {
        return Err(Error::NoAnswer {
            model: TEMPERED.id.into(),
            asked: "an estimate".into(),
            why: "temperature or time is NaN".into(),
            hint: "Leave missing values out of estimates".into(),
        });
    }
    let (low, high) = steel.range_with(time, steel.c());
    let inside = Temperature::from_celsius(temperature.celsius().clamp(low.celsius(), high.celsius()));
    let made = steel.predict(inside, time)?;
    let mut estimate = Estimate::new(hrc, "HRC").with("steel", made.u_steel).with("reading", steel.noise(hrc));
    if made.u_as_quenched > 0.0 {
        estimate = estimate.with("as-quenched", made.u_as_quenched);
    }
    if outside > 0.0 {
        let line = (hrc - made.hrc).abs();
        estimate = estimate
            .with("extrapolation", line + PER_DEGREE_OUTSIDE * outside)
            .marked_extrapolated()
            .assuming(format!("extrapolated {outside:.0} °C beyond the measured tempers, straight on from the end"));
    }
    Ok(steel.said().iter().cloned().fold(estimate, Estimate::assuming))
}
