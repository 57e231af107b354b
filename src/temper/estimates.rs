//! The equivalents with what C and the inputs leave open.

use super::constant::ConstantBelief;
use super::equivalence::TWO_HOURS;
use crate::error::{Error, Result};
use crate::estimate::{Draws, Estimate, Shape, propagate};
use crate::quantity::{HoldTime, SteelConstant, Temperature};

/// A number with one standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// One standard uncertainty.
    pub u: f64,
}

impl From<f64> for Measured {
    fn from(value: f64) -> Self {
        Self { value, u: 0.0 }
    }
}

/// Draws behind the distribution of a result that depends on an uncertain C and uncertain inputs.
const DRAWS: u64 = 4000;

/// Quantiles kept of them.
const KEPT: usize = 400;

/// The largest range of hold times that two-hour data speak for, h (common practice, no source).
const NEAR_TWO_HOURS: (f64, f64) = (0.5, 8.0);

/// Below this no data say that the parameter holds, °C (common practice, no source).
const PARAMETER_FROM_C: f64 = 150.0;

/// What must be said of a trade with a hold below it.
fn below_the_parameter(celsius: f64, other_celsius: f64) -> Option<String> {
    let lower = celsius.min(other_celsius);
    (lower < PARAMETER_FROM_C).then(|| {
        format!(
            "{lower:.0} °C: below {PARAMETER_FROM_C} °C the parameter is not known to hold (common practice, no source)"
        )
    })
}

/// A working day's and night's hold: beyond it nobody tempers, h (common practice, no source).
const PRACTICAL_HOURS: f64 = 24.0;

/// Evaluates `function(temperature_c, time_h, c)` with everything it leaves open.
///
/// C flat and nothing else uncertain gives bounds; otherwise the distribution is drawn, seed fixed.
///
/// # Errors
/// Whatever the function finds wrong with the middle values.
pub fn over_belief(
    function: impl Fn(f64, f64, f64) -> Result<f64>,
    temperature: Measured,
    time: Measured,
    belief: ConstantBelief,
    unit: &'static str,
) -> Result<Estimate> {
    let belief = belief.checked()?;
    let value = function(temperature.value, time.value, belief.middle())?;
    let at = |x: &[f64]| match x {
        &[celsius, hours, c] => function(celsius, hours, c).unwrap_or(f64::NAN),
        _ => f64::NAN,
    };
    let inputs = [
        ("temperature", temperature.value, temperature.u),
        ("time", time.value, time.u),
        ("c", belief.middle(), belief.u()),
    ];
    let made = propagate(at, &inputs, unit).assuming(belief.text());
    let (low, high) = belief.ends();
    if let (ConstantBelief::Flat { .. }, true) = (belief, temperature.u == 0.0 && time.u == 0.0) {
        let ends = [function(temperature.value, time.value, low)?, function(temperature.value, time.value, high)?];
        let bounds = (ends[0].min(ends[1]).min(value), ends[0].max(ends[1]).max(value));
        return Ok(made.shaped(Shape::Bounds { low: bounds.0, high: bounds.1 }));
    }
    if made.u() == 0.0 {
        return Ok(made);
    }
    let streams = [Draws::new(1, 0), Draws::new(1, 1), Draws::new(1, 2)];
    let mut drawn: Vec<f64> = (0..DRAWS)
        .map(|i| {
            let celsius = temperature.value + temperature.u * streams[0].normal(i);
            let hours = time.value + time.u * streams[1].normal(i);
            at(&[celsius, hours, belief.at(streams[2].uniform(i))])
        })
        .filter(|value| value.is_finite())
        .collect();
    if drawn.len() < KEPT {
        return Err(Error::Refused {
            what: "the distribution of the result".into(),
            why: "most draws of the inputs are impossible holds".into(),
            instead: "Check the uncertainties: they are standard uncertainties in °C and h".into(),
        });
    }
    drawn.sort_by(f64::total_cmp);
    let every = drawn.len() as f64 / KEPT as f64;
    let kept = (0..KEPT).filter_map(|i| drawn.get(((i as f64 + 0.5) * every) as usize).copied()).collect();
    Ok(made.shaped(Shape::Quantiles(kept)))
}

/// The time at a new temperature, with the band that C gives it and a word on whether the trade is any good.
///
/// # Errors
/// As [`super::equivalent_time`].
pub fn equivalent_time_estimate(
    temperature: Measured,
    time: Measured,
    new_temperature: Temperature,
    belief: ConstantBelief,
) -> Result<Estimate> {
    let made = over_belief(
        |celsius, hours, c| {
            super::equivalent_time(
                Temperature::from_celsius(celsius),
                HoldTime::from_hours(hours),
                new_temperature,
                SteelConstant::for_hours(c),
            )
            .map(HoldTime::hours)
        },
        temperature,
        time,
        belief,
        "h",
    )?;
    let (low, high) = made.interval(0.95)?;
    let mut made = made;
    if let Some(said) = below_the_parameter(temperature.value, new_temperature.celsius()) {
        made = made.assuming(said);
    }
    if high > NEAR_TWO_HOURS.1 || low < NEAR_TWO_HOURS.0 {
        made = made.assuming(format!(
            "outside {} to {} h, where curves measured at {} h say little and not knowing C matters",
            NEAR_TWO_HOURS.0,
            NEAR_TWO_HOURS.1,
            TWO_HOURS.hours()
        ));
    }
    if high > PRACTICAL_HOURS {
        made = made.assuming("impractical: time is the weak lever, a lower temperature can't be made up with it");
    }
    Ok(made)
}

/// The temperature for a new time, with what C leaves open.
///
/// # Errors
/// As [`super::equivalent_temperature`].
pub fn equivalent_temperature_estimate(
    temperature: Measured,
    time: Measured,
    new_time: HoldTime,
    belief: ConstantBelief,
) -> Result<Estimate> {
    let made = over_belief(
        |celsius, hours, c| {
            super::equivalent_temperature(
                Temperature::from_celsius(celsius),
                HoldTime::from_hours(hours),
                new_time,
                SteelConstant::for_hours(c),
            )
            .map(Temperature::celsius)
        },
        temperature,
        time,
        belief,
        "°C",
    )?;
    if time.value == new_time.hours() {
        return Ok(made.assuming("at the same time the constant C drops out"));
    }
    let said = below_the_parameter(temperature.value, made.value());
    Ok(said.into_iter().fold(made, Estimate::assuming))
}
