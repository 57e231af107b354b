//! How late the steel is: a lumped body in air, and what that does to ramps, swings, dips and the clock.

use super::formula::{Formula, of_size, positive, size_name, volume_by_area};
use super::material::{CONDUCTIVITY_W_MK, HEAT_CAPACITY_J_M3K};
use crate::error::{Error, Result};
use crate::quantity::{SteelConstant, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};
use crate::temper::History;

/// Above this Biot number a body is not at one temperature.
pub(super) const LARGEST_BIOT: f64 = 0.1;
pub(super) const LUMPED: Source = Source {
    cite: "lumped heat capacity, any heat transfer textbook",
    at: "T = T_air + (T_0 - T_air) exp(-t/tau), tau = rho c (V/A) / h, for Bi < 0.1",
    origin: Origin::FromMemory,
};

/// The record of [`time_constant_s`].
pub static TIME_CONSTANT: ModelRecord = ModelRecord {
    id: "oven.time_constant",
    gives: "time constant of a part in its surroundings",
    unit: "s",
    formula: "tau = rho c (V/A) / h with rho c = 3.925e6 J/m3K",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[LUMPED],
    errata: &["h is known to a factor of two at best; it rules the uncertainty"],
    not_for: "parts of Biot number above 0.1",
};

/// The record of [`biot_number`].
pub static BIOT_NUMBER: ModelRecord = ModelRecord {
    id: "oven.biot_number",
    gives: "Biot number: inner against outer resistance to heat",
    unit: "",
    formula: "Bi = h (V/A) / k with k = 30 W/mK, pessimistic for hardened high-carbon steel",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[LUMPED],
    errata: &[],
    not_for: "saying how late a part is: that is the time constant",
};

/// The record of [`lost_hold_min`].
pub static LOST_HOLD: ModelRecord = ModelRecord {
    id: "oven.lost_hold",
    gives: "minutes of hold lost while a cold part heats in a steady oven",
    unit: "min",
    formula: "hold minus the time at oven temperature that does what the lumped response does",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[LUMPED],
    errata: &["about 3.4 time constants for C = 20 and 3.1 for C = 15"],
    not_for: "ovens that are still heating",
};

/// The record of [`swing_amplitude_delta_c`].
pub static SWING_AMPLITUDE: ModelRecord = ModelRecord {
    id: "oven.swing_amplitude",
    gives: "what a part follows of a swing of the air",
    unit: "°C",
    formula: "A / sqrt(1 + (2 pi tau / period)^2)",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source { cite: "first-order linear system", at: "its frequency response", origin: Origin::Definition }],
    errata: &[],
    not_for: "parts of Biot number above 0.1, or swings that are no sine",
};

/// The record of [`dip_delta_c`].
pub static DIP: ModelRecord = ModelRecord {
    id: "oven.dip",
    gives: "dip of a part when the air drops for a while, as behind an open door",
    unit: "°C",
    formula: "drop (1 - exp(-duration / tau))",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source { cite: "first-order linear system", at: "its step response", origin: Origin::Definition }],
    errata: &["a square dip of the air; a real one is smaller"],
    not_for: "parts of Biot number above 0.1",
};

/// [`time_constant_s`] over arrays of size and h.
#[must_use]
pub const fn time_constant_over<const ROUND: bool>() -> Formula<2> {
    Formula {
        names: [size_name::<ROUND>(), "h_w_m2k"],
        function: |[size, h]| of_size::<ROUND>(time_constant_s(volume_by_area::<ROUND>(size), h)),
    }
}

/// [`biot_number`] over arrays of size and h.
#[must_use]
pub const fn biot_number_over<const ROUND: bool>() -> Formula<2> {
    Formula {
        names: [size_name::<ROUND>(), "h_w_m2k"],
        function: |[size, h]| of_size::<ROUND>(biot_number(volume_by_area::<ROUND>(size), h)),
    }
}

/// [`lost_hold_min`] over arrays.
pub const LOST_HOLD_OVER: Formula<5> = Formula {
    names: ["time_constant_s", "oven_c", "start_c", "hold_h", "c"],
    function: |[tau, oven, start, hold, c]| lost_hold_min(tau, oven, start, hold, SteelConstant::for_hours(c)),
};
/// [`swing_amplitude_delta_c`] over arrays.
pub const SWING_OVER: Formula<3> = Formula {
    names: ["air_amplitude_delta_c", "period_s", "time_constant_s"],
    function: |[amplitude, period, tau]| swing_amplitude_delta_c(amplitude, period, tau),
};
/// [`dip_delta_c`] over arrays.
pub const DIP_OVER: Formula<3> = Formula {
    names: ["air_drop_delta_c", "duration_s", "time_constant_s"],
    function: |[drop, duration, tau]| dip_delta_c(drop, duration, tau),
};
/// Time constant of a part in s, from its volume by wetted area in mm and h in W/m²K.
///
/// A plate heated on both faces has half its thickness, a round bar a quarter of its diameter.
///
/// # Errors
/// [`Error::InvalidValue`] unless both are positive and finite.
///
/// ```
/// let tau = afterquench::oven::time_constant_s(1.5, 35.0).unwrap();
/// assert!((tau - 168.2).abs() < 0.1);
/// ```
pub fn time_constant_s(volume_by_area_mm: f64, h_w_m2k: f64) -> Result<f64> {
    positive(&TIME_CONSTANT, "volume_by_area_mm", "mm", volume_by_area_mm)?;
    positive(&TIME_CONSTANT, "h_w_m2k", "W/m2K", h_w_m2k)?;
    Ok(HEAT_CAPACITY_J_M3K * volume_by_area_mm * 1e-3 / h_w_m2k)
}

/// Biot number of a part: below 0.1 it is at one temperature.
///
/// # Errors
/// As [`time_constant_s`].
pub fn biot_number(volume_by_area_mm: f64, h_w_m2k: f64) -> Result<f64> {
    positive(&BIOT_NUMBER, "volume_by_area_mm", "mm", volume_by_area_mm)?;
    positive(&BIOT_NUMBER, "h_w_m2k", "W/m2K", h_w_m2k)?;
    Ok(h_w_m2k * volume_by_area_mm * 1e-3 / CONDUCTIVITY_W_MK)
}

/// Minutes of a hold that are lost while the part heats from `start_c` in a steady oven.
///
/// # Errors
/// [`Error::InvalidValue`] for a time constant or a hold that is not positive, for temperatures that can't be, or for a
/// part that is hotter than its oven.
///
/// ```
/// use afterquench::{SteelConstant, oven::lost_hold_min};
/// let lost = lost_hold_min(168.2, 200.0, 20.0, 3.0, SteelConstant::for_hours(20.0)).unwrap();
/// assert!((lost - 9.5).abs() < 0.1);
/// ```
pub fn lost_hold_min(time_constant_s: f64, oven_c: f64, start_c: f64, hold_h: f64, c: SteelConstant) -> Result<f64> {
    positive(&LOST_HOLD, "time_constant_s", "s", time_constant_s)?;
    positive(&LOST_HOLD, "hold_h", "h", hold_h)?;
    if start_c > oven_c {
        return Err(Error::invalid(
            LOST_HOLD.id,
            "start_c",
            (start_c, "°C"),
            format!("is hotter than the oven at {oven_c} °C: a part that cools into its hold loses none"),
            "Check the order of oven_c and start_c; for a part that cools, give its trace to accumulate",
        ));
    }
    let end = hold_h * 3600.0;
    // Even steps of a twentieth of the time constant while it matters, then straight on.
    let steps = (20.0 * (end / time_constant_s).min(25.0)).ceil().max(2.0);
    let last = end.min(25.0 * time_constant_s);
    let mut seconds: Vec<f64> = (0..=steps as u32).map(|i| last * f64::from(i) / steps).collect();
    if last < end {
        seconds.push(end);
    }
    let mut history = History::for_constants(&[c.hours()])?;
    for time in seconds {
        let celsius = oven_c + (start_c - oven_c) * (-time / time_constant_s).exp();
        history.push(time, Temperature::from_celsius(celsius))?;
    }
    let equivalent = history.equivalent_times(Temperature::from_celsius(oven_c))?;
    Ok(60.0 * (hold_h - equivalent.first().map_or(0.0, |time| time.hours())))
}

/// Amplitude with which a part follows a swing of the air.
///
/// # Errors
/// [`Error::InvalidValue`] unless period and time constant are positive.
///
/// ```
/// let part = afterquench::oven::swing_amplitude_delta_c(15.0, 600.0, 168.214).unwrap();
/// assert!((part - 7.406).abs() < 1e-3);
/// ```
pub fn swing_amplitude_delta_c(air_amplitude_delta_c: f64, period_s: f64, time_constant_s: f64) -> Result<f64> {
    check_finite(SWING_AMPLITUDE.id, "air_amplitude_delta_c", "°C", air_amplitude_delta_c)?;
    positive(&SWING_AMPLITUDE, "period_s", "s", period_s)?;
    positive(&SWING_AMPLITUDE, "time_constant_s", "s", time_constant_s)?;
    Ok(air_amplitude_delta_c / (1.0f64).hypot(std::f64::consts::TAU * time_constant_s / period_s))
}

/// How far a part dips when the air drops for some seconds.
///
/// # Errors
/// [`Error::InvalidValue`] unless duration and time constant are positive.
pub fn dip_delta_c(air_drop_delta_c: f64, duration_s: f64, time_constant_s: f64) -> Result<f64> {
    check_finite(DIP.id, "air_drop_delta_c", "°C", air_drop_delta_c)?;
    positive(&DIP, "duration_s", "s", duration_s)?;
    positive(&DIP, "time_constant_s", "s", time_constant_s)?;
    Ok(air_drop_delta_c * -(-duration_s / time_constant_s).exp_m1())
}
