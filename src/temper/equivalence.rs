//! What is equivalent to what: the same M by another time or temperature.

use super::parameter::{TEMPER_PARAMETER, check_hold, check_temperature, check_time};
use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::{HoldTime, SteelConstant, Temperature, ZERO_CELSIUS_K};
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
/// [`Error::InvalidValue`] for infinite values, times that are not positive, temperatures at or below absolute zero.
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
    Ok(HoldTime::from_hours(raw_time(temperature.kelvin(), time.hours().log10(), new_temperature.kelvin(), c.hours())))
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
    let made = raw_temperature(temperature.kelvin(), time.hours().log10(), new_time.hours().log10(), c.hours());
    if made <= 0.0 || made.is_infinite() {
        return Err(Error::NoAnswer {
            model: ID.into(),
            asked: format!("the temperature for {} h", new_time.hours()).into(),
            why: "C + log10 t is not positive, so the time is too short for this C".into(),
            hint: "Check that times are in hours and C is for hours".into(),
        });
    }
    Ok(Temperature::from_celsius(made - ZERO_CELSIUS_K))
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

fn activation_of(m: f64) -> f64 {
    MOLAR_GAS_CONSTANT * std::f64::consts::LN_10 * m * 1e-3
}

fn raw_time(kelvin: f64, log_hours: f64, new_kelvin: f64, c: f64) -> f64 {
    10f64.powf(kelvin * (c + log_hours) / new_kelvin - c)
}

fn raw_temperature(kelvin: f64, log_hours: f64, new_log_hours: f64, c: f64) -> f64 {
    kelvin * (c + log_hours) / (c + new_log_hours)
}

/// [`equivalent_time`] over arrays: `temperature_c`, `time_h`, `new_temperature_c`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct EquivalentTime;

/// [`equivalent_temperature`] over arrays: `temperature_c`, `time_h`, `new_time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct EquivalentTemperature;

/// [`two_hour_equivalent`] over arrays: `temperature_c`, `time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct TwoHourEquivalent;

/// [`implied_activation_energy`] over arrays: `temperature_c`, `time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct ImpliedActivationEnergy;

/// A hold's temperature in kelvin, NaN where no policy accepts it.
fn kelvin_or_nan(celsius: f64) -> f64 {
    let kelvin = celsius + ZERO_CELSIUS_K;
    if kelvin > 0.0 && kelvin.is_finite() { kelvin } else { f64::NAN }
}

/// log10 of a time, NaN where no policy accepts it.
fn log_or_nan(hours: f64) -> f64 {
    if hours > 0.0 && hours.is_finite() { hours.log10() } else { f64::NAN }
}

/// A lane of derived values: derived once where the lane is one value.
fn derived<'a>(lane: Lane<'a>, derive: impl Fn(f64) -> f64) -> impl Fn(usize) -> f64 + 'a
where
    Lane<'a>: 'a,
{
    let made: Vec<f64> = match lane {
        Lane::One(value) => vec![derive(value)],
        Lane::Each(values) => values.iter().map(|&value| derive(value)).collect(),
    };
    let step = usize::from(made.len() > 1 || matches!(lane, Lane::Each(_)));
    move |index| made.get(index * step).copied().unwrap_or(f64::NAN)
}

impl ArrayModel for EquivalentTime {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "new_temperature_c", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let &[temperature, time, new_temperature, c] = arguments else { return out.fill(f64::NAN) };
        let kelvin = derived(temperature, kelvin_or_nan);
        let log_hours = derived(time, log_or_nan);
        let new_kelvin = derived(new_temperature, kelvin_or_nan);
        for (index, out) in out.iter_mut().enumerate() {
            let made = raw_time(kelvin(index), log_hours(index), new_kelvin(index), c.at(index));
            *out = made;
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[temperature, time, new_temperature, c] = arguments else { return Ok(()) };
        equivalent_time(
            Temperature::from_celsius(temperature),
            HoldTime::from_hours(time),
            Temperature::from_celsius(new_temperature),
            SteelConstant::for_hours(c),
        )
        .map(|_| ())
    }
}

impl ArrayModel for EquivalentTemperature {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "new_time_h", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let &[temperature, time, new_time, c] = arguments else { return out.fill(f64::NAN) };
        let kelvin = derived(temperature, kelvin_or_nan);
        let log_hours = derived(time, log_or_nan);
        let new_log_hours = derived(new_time, log_or_nan);
        for (index, out) in out.iter_mut().enumerate() {
            let made = raw_temperature(kelvin(index), log_hours(index), new_log_hours(index), c.at(index));
            *out = if made > 0.0 && made.is_finite() { made - ZERO_CELSIUS_K } else { f64::NAN };
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[temperature, time, new_time, c] = arguments else { return Ok(()) };
        equivalent_temperature(
            Temperature::from_celsius(temperature),
            HoldTime::from_hours(time),
            HoldTime::from_hours(new_time),
            SteelConstant::for_hours(c),
        )
        .map(|_| ())
    }
}

impl ArrayModel for TwoHourEquivalent {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let &[temperature, time, c] = arguments else { return out.fill(f64::NAN) };
        EquivalentTemperature.fill(&[temperature, time, Lane::One(TWO_HOURS.hours()), c], out);
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[temperature, time, c] = arguments else { return Ok(()) };
        EquivalentTemperature.explain(&[temperature, time, TWO_HOURS.hours(), c])
    }
}

impl ArrayModel for ImpliedActivationEnergy {
    fn arguments(&self) -> &[&'static str] {
        super::TemperParameter.arguments()
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        super::TemperParameter.fill(arguments, out);
        for value in out {
            *value = activation_of(*value);
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        super::TemperParameter.explain(arguments)
    }
}
