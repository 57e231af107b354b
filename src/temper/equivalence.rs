//! What is equivalent to what: the same M by another time or temperature.

use super::models::{activation_of, temperature_of, time_of};
use super::parameter::{TEMPER_PARAMETER, check_hold, check_temperature, check_time};
use crate::error::{Error, Result};
use crate::kernel::log2;
use crate::quantity::{HoldTime, SteelConstant, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The hold behind the two-hour equivalent temperature.
pub const TWO_HOURS: HoldTime = HoldTime::from_hours(2.0);

/// The record of the equivalents.
pub static TEMPER_EQUIVALENCE: ModelRecord = ModelRecord {
    id: "temper.equivalence",
    gives: "a hold with the same tempering parameter",
    unit: "h or °C",
    formula: "t2 = 10^(T1 (C + log10 t1) / T2 - C); T2 = T1 (C + log10 t1) / (C + log10 t2); T in K, t in h",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: TEMPER_PARAMETER.sources,
    errata: &[],
    not_for: "trades far from the hold times a steel was measured at: C is uncertain, so a longer time at a lower temperature is a band",
};

/// The record of the activation energy behind an M.
pub static IMPLIED_ACTIVATION: ModelRecord = ModelRecord {
    id: "temper.implied_activation_energy",
    gives: "activation energy that a hold's parameter implies",
    unit: "kJ/mol",
    formula: "Q = R ln 10 M, R = 8.314462618 J/(mol K)",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source {
        cite: "follows from M = T(C + log t) held constant: d ln t / d(1/T) = M ln 10",
        at: "algebra; R of the SI (2019)",
        origin: Origin::Definition,
    }],
    errata: &[],
    not_for: "reading it as the energy of one mechanism: it grows with M",
};

/// The molar gas constant, J/(mol K), exact in the SI of 2019.
pub const MOLAR_GAS_CONSTANT: f64 = 8.314_462_618_153_24;

const ID: &str = TEMPER_EQUIVALENCE.id;

/// The hours at `new_temperature` that do what `time` at `temperature` does.
///
/// # Errors
/// [`Error::InvalidValue`] for infinite values, times that are not positive, temperatures at or below absolute zero;
/// [`Error::NoAnswer`] for a time beyond the range of numbers.
///
/// ```
/// use afterquench::temper::equivalent_time;
/// use afterquench::{HoldTime, SteelConstant, Temperature};
/// let (hot, cool) = (Temperature::from_celsius(250.0), Temperature::from_celsius(210.0));
/// let hours = equivalent_time(hot, HoldTime::from_hours(2.0), cool, SteelConstant::for_hours(15.0)).unwrap().hours();
/// assert!((hours / 36.966 - 1.0).abs() < 1e-4);
/// ```
pub fn equivalent_time(
    temperature: Temperature,
    time: HoldTime,
    new_temperature: Temperature,
    c: SteelConstant,
) -> Result<HoldTime> {
    check_hold(ID, temperature.celsius(), time.hours())?;
    check_temperature(ID, "new_temperature_c", new_temperature.celsius())?;
    check_finite(ID, "c", "", c.hours())?;
    let hours = time_of(temperature.celsius(), log2(time.hours()), new_temperature.celsius(), c.hours());
    let missing =
        [temperature.celsius(), time.hours(), new_temperature.celsius(), c.hours()].iter().any(|x| x.is_nan());
    if hours.is_nan() && !missing {
        return Err(Error::NoAnswer {
            model: ID.into(),
            asked: format!("the time at {} °C", new_temperature.celsius()).into(),
            why: "it is beyond the range of numbers".into(),
            hint: "Choose a temperature nearer to the first one; C for times in hours lies near 15 to 20".into(),
        });
    }
    Ok(HoldTime::from_hours(hours))
}

/// The temperature at which `new_time` does what `time` at `temperature` does.
///
/// # Errors
/// As [`equivalent_time`]; also where C + log10 of the new time is not positive, so that no temperature exists.
pub fn equivalent_temperature(
    temperature: Temperature,
    time: HoldTime,
    new_time: HoldTime,
    c: SteelConstant,
) -> Result<Temperature> {
    check_hold(ID, temperature.celsius(), time.hours())?;
    check_time(ID, "new_time_h", new_time.hours())?;
    check_finite(ID, "c", "", c.hours())?;
    let made = temperature_of(temperature.celsius(), log2(time.hours()), log2(new_time.hours()), c.hours());
    let missing = [temperature.celsius(), time.hours(), new_time.hours(), c.hours()].iter().any(|x| x.is_nan());
    if made.is_nan() && !missing {
        return Err(Error::NoAnswer {
            model: ID.into(),
            asked: format!("the temperature for {} h", new_time.hours()).into(),
            why: "C + log10 t is not positive, so one of the times is too short for this C".into(),
            hint: "Check that times are in hours and C is for hours".into(),
        });
    }
    Ok(Temperature::from_celsius(made))
}

/// The flat temperature that does the same in two hours: the common currency of every answer here.
///
/// # Errors
/// As [`equivalent_temperature`].
pub fn two_hour_equivalent(temperature: Temperature, time: HoldTime, c: SteelConstant) -> Result<Temperature> {
    equivalent_temperature(temperature, time, TWO_HOURS, c)
}

/// The activation energy that the hold's parameter implies, kJ/mol.
///
/// # Errors
/// As [`super::temper_parameter`].
pub fn implied_activation_energy(temperature: Temperature, time: HoldTime, c: SteelConstant) -> Result<f64> {
    let m = super::temper_parameter(temperature, time, c)?;
    Ok(activation_of(m))
}
