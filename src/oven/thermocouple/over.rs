//! The reference functions over arrays.

use super::function::Thermocouple;
use crate::error::Result;
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::Temperature;

/// The emf of a type over temperature and reference junction.
#[derive(Debug, Clone, Copy)]
pub struct EmfOver(pub Thermocouple);

/// The temperature of a type over emf and reference junction.
#[derive(Debug, Clone, Copy)]
pub struct TemperatureOver(pub Thermocouple);

/// The Seebeck coefficient of a type over temperature.
#[derive(Debug, Clone, Copy)]
pub struct SeebeckOver(pub Thermocouple);

/// Fills by one argument and the emf of a reference junction, which is worked out once where it is one for all.
fn fill(kind: Thermocouple, arguments: &[Lane<'_>], out: &mut [f64], value: impl Fn(f64, f64) -> f64) {
    let (Ok(function), [first, reference]) = (kind.function(), arguments) else {
        out.fill(f64::NAN);
        return;
    };
    match reference {
        Lane::One(celsius) => {
            let shift = function.emf_mv(*celsius);
            out.iter_mut().enumerate().for_each(|(index, out)| *out = value(first.at(index), shift));
        }
        Lane::Each(_) => out.iter_mut().enumerate().for_each(|(index, out)| {
            *out = value(first.at(index), function.emf_mv(reference.at(index)));
        }),
    }
}

impl ArrayModel for EmfOver {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "reference_junction_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let function = self.0.function().ok();
        fill(self.0, arguments, out, |celsius, shift| function.map_or(f64::NAN, |f| f.emf_mv(celsius) - shift));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let [hot, reference] = arguments else { return Ok(()) };
        self.0.emf_mv(Temperature::from_celsius(*hot), Temperature::from_celsius(*reference)).map(|_| ())
    }
}

impl ArrayModel for TemperatureOver {
    fn arguments(&self) -> &[&'static str] {
        &["mv", "reference_junction_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let function = self.0.function().ok();
        fill(self.0, arguments, out, |emf, shift| {
            let from_zero = emf + shift;
            if from_zero.is_nan() { f64::NAN } else { function.map_or(f64::NAN, |f| f.celsius(from_zero)) }
        });
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let [emf, reference] = arguments else { return Ok(()) };
        self.0.temperature(*emf, Temperature::from_celsius(*reference)).map(|_| ())
    }
}

impl ArrayModel for SeebeckOver {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let (Ok(function), Some(lane)) = (self.0.function(), arguments.first()) else {
            out.fill(f64::NAN);
            return;
        };
        out.iter_mut().enumerate().for_each(|(index, out)| *out = 1000.0 * function.slope_mv_per_c(lane.at(index)));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let Some(&celsius) = arguments.first() else { return Ok(()) };
        self.0.seebeck_uv_per_c(Temperature::from_celsius(celsius)).map(|_| ())
    }
}
