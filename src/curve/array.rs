//! Curves over arrays.

use std::sync::Arc;

use super::after_temper::{HardnessAfterTemper, Side};
use crate::error::Result;
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::{HoldTime, Temperature};

/// What the fourth and third arguments are, if they are arguments at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Extra {
    /// Whether C is an argument; otherwise the curve's own is used.
    pub c: bool,
    /// Whether an as-quenched reading is an argument.
    pub as_quenched: bool,
}

impl Extra {
    fn names(self, first: [&'static str; 2]) -> Vec<&'static str> {
        let extra = [(self.c, "c"), (self.as_quenched, "as_quenched_hrc")];
        first.into_iter().chain(extra.into_iter().filter(|(is, _)| *is).map(|(_, name)| name)).collect()
    }

    /// C and the as-quenched reading out of the arguments after the first two.
    fn read(self, arguments: &[f64]) -> (Option<f64>, Option<f64>) {
        let c = if self.c { arguments.get(2).copied() } else { None };
        let as_quenched = if self.as_quenched { arguments.last().copied() } else { None };
        (c, as_quenched)
    }
}

/// Hardness after a hold over arrays: `temperature_c`, `time_h`, then `c` and `as_quenched_hrc` as asked.
#[derive(Debug, Clone)]
pub struct HardnessAfter {
    curve: Arc<dyn HardnessAfterTemper>,
    extra: Extra,
    names: Vec<&'static str>,
}

/// HRC/°C of the bare curve over arrays: `temperature_c`, `time_h`, then `c` as asked.
#[derive(Debug, Clone)]
pub struct Slope {
    curve: Arc<dyn HardnessAfterTemper>,
    extra: Extra,
    names: Vec<&'static str>,
}

/// The temperature for a hardness over arrays: `hrc`, `time_h`, then `c` and `as_quenched_hrc` as asked.
#[derive(Debug, Clone)]
pub struct TemperatureFor {
    curve: Arc<dyn HardnessAfterTemper>,
    extra: Extra,
    branch: Option<Side>,
    names: Vec<&'static str>,
}

impl HardnessAfter {
    /// The array form of a curve.
    #[must_use]
    pub fn new(curve: Arc<dyn HardnessAfterTemper>, extra: Extra) -> Self {
        Self { curve, extra, names: extra.names(["temperature_c", "time_h"]) }
    }

    fn one(&self, arguments: &[f64]) -> Result<f64> {
        let &[temperature, time, ..] = arguments else { return Ok(f64::NAN) };
        let (c, as_quenched) = self.extra.read(arguments);
        self.curve.hardness_after(Temperature::from_celsius(temperature), HoldTime::from_hours(time), c, as_quenched)
    }
}

impl Slope {
    /// The array form of a curve's derivative by temperature.
    #[must_use]
    pub fn new(curve: Arc<dyn HardnessAfterTemper>, c: bool) -> Self {
        let extra = Extra { c, as_quenched: false };
        Self { curve, extra, names: extra.names(["temperature_c", "time_h"]) }
    }

    fn one(&self, arguments: &[f64]) -> Result<f64> {
        let &[temperature, time, ..] = arguments else { return Ok(f64::NAN) };
        let time = HoldTime::from_hours(time);
        let c = self.curve.chosen_constant(time, self.extra.read(arguments).0)?;
        self.curve.slope_with(Temperature::from_celsius(temperature), time, c)
    }
}

impl TemperatureFor {
    /// The array form of a curve's inverse.
    #[must_use]
    pub fn new(curve: Arc<dyn HardnessAfterTemper>, extra: Extra, branch: Option<Side>) -> Self {
        Self { curve, extra, branch, names: extra.names(["hrc", "time_h"]) }
    }

    fn one(&self, arguments: &[f64]) -> Result<f64> {
        let &[hrc, time, ..] = arguments else { return Ok(f64::NAN) };
        let (c, as_quenched) = self.extra.read(arguments);
        self.curve
            .temperature_for(hrc, HoldTime::from_hours(time), c, as_quenched, self.branch)
            .map(Temperature::celsius)
    }
}

fn fill_each(arguments: &[Lane<'_>], out: &mut [f64], one: impl Fn(&[f64]) -> Result<f64>) {
    let mut values = [f64::NAN; 4];
    for (index, out) in out.iter_mut().enumerate() {
        for (value, lane) in values.iter_mut().zip(arguments) {
            *value = lane.at(index);
        }
        let given = values.get(..arguments.len()).unwrap_or(&values);
        *out = if given.iter().any(|value| value.is_nan()) { f64::NAN } else { one(given).unwrap_or(f64::NAN) };
    }
}

impl ArrayModel for HardnessAfter {
    fn arguments(&self) -> &[&'static str] {
        &self.names
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        fill_each(arguments, out, |values| self.one(values));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        self.one(arguments).map(|_| ())
    }
}

impl ArrayModel for Slope {
    fn arguments(&self) -> &[&'static str] {
        &self.names
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        fill_each(arguments, out, |values| self.one(values));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        self.one(arguments).map(|_| ())
    }
}

impl ArrayModel for TemperatureFor {
    fn arguments(&self) -> &[&'static str] {
        &self.names
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        fill_each(arguments, out, |values| self.one(values));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        self.one(arguments).map(|_| ())
    }
}
