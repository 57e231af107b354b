//! What is known of one steel's hardness over all tempers: the fit's weights for its composition, after what was measured.

use super::basis::{FADE, Functions, Prepared};
use super::coefficients::Coefficients;
use super::composition::Amounts;
use super::range::check_hold;
use super::readings::OwnReading;
use super::table::Table;
use super::weights::{Row, Weights};
use crate::error::Result;
use crate::quantity::Temperature;

/// A normal distribution of the hardness after every temper.
#[derive(Debug, Clone)]
pub(super) struct Posterior {
    pub read: &'static Coefficients,
    pub prepared: Prepared,
    pub weights: Weights,
}

impl Posterior {
    /// Of a steel of which nothing was measured but perhaps its as-quenched hardness.
    pub fn of_composition(read: &'static Coefficients, amounts: &Amounts, as_quenched_hrc: Option<f64>) -> Self {
        let prepared = Prepared::new(read, amounts, as_quenched_hrc);
        let (mean, covariance) = prepared.weights(read);
        Self { read, prepared, weights: Weights::new(mean, covariance) }
    }

    #[inline]
    pub fn mean(&self, celsius: f64, hours: f64) -> f64 {
        let (prior, functions) = self.functions(celsius, hours);
        prior + self.weights.mean(&functions)
    }

    #[inline]
    pub fn functions(&self, celsius: f64, hours: f64) -> (f64, Functions) {
        self.prepared.functions(self.read, celsius, hours)
    }

    /// The error of one reading: larger below the scale's range.
    #[inline]
    pub fn noise(&self, hrc: f64) -> f64 {
        let noise = &self.read.noise;
        let low = (noise.low_factor * noise.low_factor - 1.0) / (1.0 + (hrc - 20.0).min(700.0).exp());
        noise.reading * (1.0 + low).sqrt()
    }

    /// A reading as the weights see it.
    pub fn row(&self, reading: &OwnReading) -> Row {
        let (prior, functions) = self.functions(reading.temperature.celsius(), reading.time.hours());
        let u = reading.u.unwrap_or_else(|| self.noise(reading.hrc));
        Row { functions, above: reading.hrc - prior, variance: u * u }
    }

    /// Half of what the hardness exceeds another's by, of the same steel with a softer as-quenched reading: its product with
    /// the functions of a temper.
    pub fn half_above(&self, softer: &Self) -> Functions {
        let mut made = self.weights.half_above(&softer.weights);
        let deviation = |of: &Self| of.prepared.deviation.unwrap_or(0.0);
        made[FADE] += 0.5 * (deviation(self) - deviation(softer));
        made
    }

    /// After a table of the grade: readings that share the error of its level, of another heat.
    pub fn after_table(self, table: &Table) -> Result<Self> {
        let rows: Vec<Row> = table
            .points
            .iter()
            .filter(|(celsius, _)| check_hold(Temperature::from_celsius(*celsius), table.time).is_ok())
            .map(|&(celsius, hrc)| {
                let hours = table.time.hours();
                let u_hold = if table.hold_is_stated {
                    0.0
                } else {
                    0.5 * (self.mean(celsius, 0.5 * hours) - self.mean(celsius, 2.0 * hours)).abs()
                };
                let u = self.noise(hrc).hypot(u_hold);
                self.row(&OwnReading {
                    temperature: Temperature::from_celsius(celsius),
                    time: table.time,
                    hrc,
                    u: Some(u),
                })
            })
            .collect();
        let weights = self.weights.given(&rows, table.u_level * table.u_level)?;
        Ok(Self { weights: weights.with_another_heat(table.u_batch * table.u_batch), ..self })
    }

    /// After readings of the bar.
    pub fn after(self, readings: &[OwnReading]) -> Result<Self> {
        let rows: Vec<Row> = readings.iter().map(|reading| self.row(reading)).collect();
        Ok(Self { weights: self.weights.given(&rows, 0.0)?, ..self })
    }
}
