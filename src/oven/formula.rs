//! Formulas of a few numbers as models over arrays, and the checks they share.

use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::record::{ModelRecord, check_finite};

/// A formula of a few numbers over arrays.
#[derive(Debug, Clone, Copy)]
pub struct Formula<const N: usize> {
    pub(super) names: [&'static str; N],
    pub(super) function: fn([f64; N]) -> Result<f64>,
}

impl<const N: usize> ArrayModel for Formula<N> {
    fn arguments(&self) -> &[&'static str] {
        &self.names
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        for (index, out) in out.iter_mut().enumerate() {
            let mut values = [f64::NAN; N];
            for (value, lane) in values.iter_mut().zip(arguments) {
                *value = lane.at(index);
            }
            *out = if values.iter().any(|value| value.is_nan()) {
                f64::NAN
            } else {
                (self.function)(values).unwrap_or(f64::NAN)
            };
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let mut values = [f64::NAN; N];
        values.iter_mut().zip(arguments).for_each(|(value, given)| *value = *given);
        (self.function)(values).map(|_| ())
    }
}

/// Volume by heated area of a plate by its thickness, or of a round bar by its diameter.
pub(super) const fn volume_by_area<const ROUND: bool>(size_mm: f64) -> f64 {
    if ROUND { 0.25 * size_mm } else { 0.5 * size_mm }
}

pub(super) const fn size_name<const ROUND: bool>() -> &'static str {
    if ROUND { "diameter_mm" } else { "thickness_mm" }
}

/// An error about the volume by area, told of the size that the caller gave.
pub(super) fn of_size<const ROUND: bool>(result: Result<f64>) -> Result<f64> {
    result.map_err(|mut error| {
        if let Error::InvalidValue { argument, value, .. } = &mut error {
            if argument == "volume_by_area_mm" {
                *argument = size_name::<ROUND>().into();
                *value /= volume_by_area::<ROUND>(1.0);
            }
        }
        error
    })
}

/// Refuses what is not positive and finite; NaN passes.
pub(super) fn positive(
    record: &'static ModelRecord,
    argument: &'static str,
    unit: &'static str,
    value: f64,
) -> Result<()> {
    check_finite(record.id, argument, unit, value)?;
    if value <= 0.0 {
        return Err(Error::invalid(
            record.id,
            argument,
            (value, unit),
            "is not positive",
            "Check the unit, which is the last part of the argument's name",
        ));
    }
    Ok(())
}
