//! What does the same as a schedule: shorter and hotter, longer and cooler, each as a band over what is believed of C.

use serde::{Deserialize, Serialize};

use crate::error::Result;
use crate::estimate::{Estimate, Shape};
use crate::quantity::{HoldTime, SteelConstant, Temperature};
use crate::temper::{ConstantBelief, equivalent_temperature, equivalent_time};

/// Hold times that two-hour data and the parameter reach, in hours; outside, C decides more than the data do.
pub const REACH_H: (f64, f64) = (0.5, 8.0);

/// Another hold that does the same.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Equivalent {
    /// Temperature in °C; a band where the time was chosen.
    pub temperature: Estimate,
    /// Total time in hours; a band where the temperature was chosen.
    pub time: Estimate,
    /// Whether it lies within the oven's limit and the reach of two-hour data.
    pub practical: bool,
    /// What to know about it.
    pub note: String,
}

/// A band over the ends of a belief about C, with its middle.
fn band(values: [f64; 3], unit: &'static str, c: ConstantBelief) -> Estimate {
    let [at_low, middle, at_high] = values;
    let (low, high) = (at_low.min(at_high), at_low.max(at_high));
    let made = Estimate::new(middle, unit).assuming(c.text());
    if high > low { made.with("c", (high - low) / 12f64.sqrt()).shaped(Shape::Bounds { low, high }) } else { made }
}

/// The hours at a chosen temperature, as a band.
///
/// # Errors
/// As [`equivalent_time`].
pub fn time_at(from: (Temperature, HoldTime), to: Temperature, c: ConstantBelief) -> Result<Estimate> {
    let (low, high) = c.ends();
    let mut hours = [0.0; 3];
    for (hours, c) in hours.iter_mut().zip([low, c.middle(), high]) {
        *hours = equivalent_time(from.0, from.1, to, SteelConstant::for_hours(c))?.hours();
    }
    Ok(band(hours, "h", c))
}

/// The temperature for a chosen time, as a band.
///
/// # Errors
/// As [`equivalent_temperature`].
pub fn temperature_for(from: (Temperature, HoldTime), to: HoldTime, c: ConstantBelief) -> Result<Estimate> {
    let (low, high) = c.ends();
    let mut celsius = [0.0; 3];
    for (celsius, c) in celsius.iter_mut().zip([low, c.middle(), high]) {
        *celsius = equivalent_temperature(from.0, from.1, to, SteelConstant::for_hours(c))?.celsius();
    }
    Ok(band(celsius, "°C", c))
}

/// Why a hold is no good in practice; empty when it is.
fn obstacle(temperature: &Estimate, time: &Estimate, limit_c: Option<f64>) -> Result<String> {
    let (_, hottest) = temperature.interval(0.95)?;
    let (shortest, longest) = time.interval(0.95)?;
    if let Some(limit) = limit_c.filter(|&limit| hottest > limit + 1e-9) {
        return Ok(format!("above the oven's limit of {limit} °C"));
    }
    if longest > 24.0 {
        return Ok(format!("not practical, and outside {} to {} h that two-hour data reach", REACH_H.0, REACH_H.1));
    }
    if longest > REACH_H.1 || shortest < REACH_H.0 {
        return Ok(format!("outside {} to {} h that two-hour data reach", REACH_H.0, REACH_H.1));
    }
    Ok(String::new())
}

fn equivalent(temperature: Estimate, time: Estimate, limit_c: Option<f64>) -> Result<Equivalent> {
    let obstacle = obstacle(&temperature, &time, limit_c)?;
    let practical = obstacle.is_empty();
    let note = if !practical {
        obstacle
    } else if time.value() <= 1.0 {
        "only once the core is at temperature: a late start weighs more in a short hold".to_owned()
    } else {
        String::new()
    };
    Ok(Equivalent { temperature, time, practical, note })
}

/// Half, twice and four times the time; 10, 20 and 40 °C cooler; and the oven's limit where it is the cooler one.
///
/// # Errors
/// None for a hold that was valid; passed on from the equivalence otherwise.
pub fn equivalents(
    temperature: Temperature,
    total: HoldTime,
    c: ConstantBelief,
    oven_limit: Option<Temperature>,
) -> Result<Vec<Equivalent>> {
    let from = (temperature, total);
    let limit_c = oven_limit.map(Temperature::celsius);
    let mut made = Vec::new();
    for factor in [0.5, 2.0, 4.0] {
        let hours = total.hours() * factor;
        let celsius = temperature_for(from, HoldTime::from_hours(hours), c)?;
        made.push(equivalent(celsius, Estimate::new(hours, "h"), limit_c)?);
    }
    let mut cooler: Vec<f64> = [10.0, 20.0, 40.0].iter().map(|less| temperature.celsius() - less).collect();
    cooler.extend(limit_c.filter(|&limit| limit < temperature.celsius()));
    cooler.sort_by(|a, b| b.total_cmp(a));
    cooler.dedup();
    for celsius in cooler {
        let hours = time_at(from, Temperature::from_celsius(celsius), c)?;
        made.push(equivalent(Estimate::new(celsius, "°C"), hours, limit_c)?);
    }
    Ok(made)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 250 °C for 2 h at 210 °C: 37 h with C = 15 and 96 h with C = 20, by hand from M = T(C + log10 t).
    #[test]
    fn the_long_way_is_a_band() {
        let from = (Temperature::from_celsius(250.0), HoldTime::from_hours(2.0));
        let limit = Some(Temperature::from_celsius(210.0));
        let c = ConstantBelief::Flat { low: 15.0, high: 20.0 };
        let all = equivalents(from.0, from.1, c, limit).unwrap();
        let long = all.iter().find(|e| e.temperature.value() == 210.0).unwrap();
        let (low, high) = long.time.interval(0.95).unwrap();
        assert!((low - 36.97).abs() < 0.01 && (high - 95.88).abs() < 0.05, "{low} {high}");
        assert!(!long.practical && long.note.contains("not practical"));
    }
}
