//! Standard uncertainties over arrays; hardness itself goes the way of all curves.

use std::sync::Arc;

use super::range::check_hold;
use super::steel::CompositionSteel;
use crate::error::Result;
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::{HoldTime, Temperature};

/// Hardness from composition over arrays: `temperature_c`, `time_h`.
#[derive(Debug, Clone)]
pub struct HardnessFromComposition(pub Arc<CompositionSteel>);

/// One standard uncertainty of one further reading over arrays: `temperature_c`, `time_h`.
#[derive(Debug, Clone)]
pub struct UncertaintyFromComposition(pub Arc<CompositionSteel>);

/// Calls `one` for every element that lies in the model's range; the others are NaN.
fn fill(arguments: &[Lane<'_>], out: &mut [f64], one: impl Fn(f64, f64) -> f64) {
    let &[temperature, time] = arguments else { return out.fill(f64::NAN) };
    for (index, out) in out.iter_mut().enumerate() {
        let (celsius, hours) = (temperature.at(index), time.at(index));
        let fits = explain(&[celsius, hours]).is_ok() && !celsius.is_nan() && !hours.is_nan();
        *out = if fits { one(celsius, hours) } else { f64::NAN };
    }
}

fn explain(arguments: &[f64]) -> Result<()> {
    let &[celsius, hours] = arguments else { return Ok(()) };
    check_hold(Temperature::from_celsius(celsius), HoldTime::from_hours(hours))
}

impl ArrayModel for HardnessFromComposition {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        fill(arguments, out, |celsius, hours| self.0.mean(celsius, hours));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        explain(arguments)
    }
}

impl ArrayModel for UncertaintyFromComposition {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        fill(arguments, out, |celsius, hours| self.0.at(celsius, hours).u);
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        explain(arguments)
    }
}
