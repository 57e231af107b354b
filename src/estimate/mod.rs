//! A value with its uncertainty, what the uncertainty is made of, and what was assumed on the way.

mod chi_square;
mod combine;
mod distribution;
mod outlier;
mod quadrature;
mod random;

pub use chi_square::{chi_square_cdf, chi_square_quantile};
pub use combine::{effective_degrees_of_freedom, propagate, root_sum_of_squares};
pub use distribution::{fisher_cdf, normal_cdf, normal_quantile, student_cdf, student_quantile};
pub use outlier::{Farthest, GRUBBS, grubbs, grubbs_critical};
pub use quadrature::legendre;
pub use random::Draws;

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, Text};
use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[&GRUBBS];

/// One named part of a standard uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Component {
    /// What it comes from.
    pub name: Text,
    /// Its standard uncertainty, in the unit of the estimate.
    pub u: f64,
}

/// The form of the distribution that an interval is taken from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Shape {
    /// Normal with the standard uncertainty.
    Normal,
    /// Student's t with these degrees of freedom, scaled by the standard uncertainty.
    Student {
        /// Degrees of freedom.
        dof: f64,
    },
    /// Values at evenly spaced probabilities `(i + 0.5) / n`, as a Monte Carlo run gives them; it may be skewed.
    Quantiles(Vec<f64>),
    /// A range the value lies in, without a preference inside: a bound, whatever the coverage.
    Bounds {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
}

/// A value, its standard uncertainty by components, its unit, and what was assumed.
///
/// ```
/// use afterquench::Estimate;
/// let hrc = Estimate::new(60.4, "HRC").with("curve", 0.5).with("batch", 0.5);
/// assert!((hrc.u() - 0.5f64.hypot(0.5)).abs() < 1e-15);
/// let (low, high) = hrc.interval(0.95).unwrap();
/// assert!(low < 59.1 && high > 61.7);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    value: f64,
    unit: Text,
    components: Vec<Component>,
    assumptions: Vec<Text>,
    tables: Vec<Text>,
    extrapolated: bool,
    shape: Shape,
}

impl Estimate {
    /// A value without uncertainty yet.
    #[must_use]
    pub fn new(value: f64, unit: impl Into<Text>) -> Self {
        Self {
            value,
            unit: unit.into(),
            components: Vec::new(),
            assumptions: Vec::new(),
            tables: Vec::new(),
            extrapolated: false,
            shape: Shape::Normal,
        }
    }

    /// Adds a component; one of the same name is combined with it.
    #[must_use]
    pub fn with(mut self, name: impl Into<Text>, u: f64) -> Self {
        let name = name.into();
        match self.components.iter_mut().find(|known| known.name == name) {
            Some(known) => known.u = known.u.hypot(u),
            None => self.components.push(Component { name, u: u.abs() }),
        }
        self
    }

    /// Adds an assumption, once.
    #[must_use]
    pub fn assuming(mut self, assumption: impl Into<Text>) -> Self {
        let assumption = assumption.into();
        if !self.assumptions.contains(&assumption) {
            self.assumptions.push(assumption);
        }
        self
    }

    /// Takes over the assumptions of another estimate that this one was made from.
    #[must_use]
    pub fn assuming_all(self, other: &Self) -> Self {
        let mut made = other.assumptions.iter().cloned().fold(self, Self::assuming);
        made.extrapolated |= other.extrapolated;
        for table in &other.tables {
            if !made.tables.contains(table) {
                made.tables.push(table.clone());
            }
        }
        made
    }

    /// Notes that a conversion table was used: a second one will be refused.
    #[must_use]
    pub fn through_table(mut self, table: impl Into<Text>) -> Self {
        self.tables.push(table.into());
        self
    }

    /// Marks the estimate as lying outside a model's range.
    #[must_use]
    pub const fn marked_extrapolated(mut self) -> Self {
        self.extrapolated = true;
        self
    }

    /// Gives the distribution its form.
    #[must_use]
    pub fn shaped(mut self, shape: Shape) -> Self {
        self.shape = shape;
        self
    }

    /// The value.
    #[must_use]
    pub const fn value(&self) -> f64 {
        self.value
    }

    /// One standard uncertainty: the components' root sum of squares (they are taken as independent).
    #[must_use]
    pub fn u(&self) -> f64 {
        root_sum_of_squares(self.components.iter().map(|component| component.u))
    }

    /// The unit of value and uncertainty.
    #[must_use]
    pub fn unit(&self) -> &str {
        &self.unit
    }

    /// What the uncertainty is made of.
    #[must_use]
    pub fn components(&self) -> &[Component] {
        &self.components
    }

    /// What was assumed.
    #[must_use]
    pub fn assumptions(&self) -> &[Text] {
        &self.assumptions
    }

    /// The conversion tables it went through.
    #[must_use]
    pub fn tables(&self) -> &[Text] {
        &self.tables
    }

    /// Whether a model was used outside its range on the way.
    #[must_use]
    pub const fn is_extrapolated(&self) -> bool {
        self.extrapolated
    }

    /// The form of its distribution.
    #[must_use]
    pub const fn shape(&self) -> &Shape {
        &self.shape
    }

    /// The interval that holds the true value with probability `coverage`, equal tails.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] unless the coverage lies strictly between 0 and 1.
    pub fn interval(&self, coverage: f64) -> Result<(f64, f64)> {
        if !(coverage > 0.0 && coverage < 1.0) {
            return Err(Error::outside(
                "estimate.interval",
                "coverage",
                (coverage, ""),
                (0.0, 1.0),
                "the meaning of a probability",
                "Write 0.95 for 95 %",
            ));
        }
        let tail = 0.5 * (1.0 - coverage);
        let half = |factor: f64| (self.value - factor * self.u(), self.value + factor * self.u());
        Ok(match &self.shape {
            Shape::Normal => half(-normal_quantile(tail)),
            Shape::Student { dof } => half(-student_quantile(tail, *dof)),
            Shape::Quantiles(values) => (at_probability(values, tail), at_probability(values, 1.0 - tail)),
            Shape::Bounds { low, high } => (*low, *high),
        })
    }

    /// The probability that the true value lies in `[lower, upper]`; an absent limit is no limit.
    #[must_use]
    pub fn probability_inside(&self, lower: Option<f64>, upper: Option<f64>) -> f64 {
        // A value without uncertainty that stands on a limit lies inside it.
        if self.u() == 0.0 && matches!(self.shape, Shape::Normal | Shape::Student { .. }) {
            let inside = lower.is_none_or(|low| low <= self.value) && upper.is_none_or(|high| self.value <= high);
            return f64::from(u8::from(inside));
        }
        let below = |x: f64| self.probability_below(x);
        let low = lower.map_or(0.0, below);
        let high = upper.map_or(1.0, below);
        (high - low).clamp(0.0, 1.0)
    }

    fn probability_below(&self, x: f64) -> f64 {
        let u = self.u();
        let step = if x < self.value { 0.0 } else { 1.0 };
        match &self.shape {
            Shape::Normal if u > 0.0 => normal_cdf((x - self.value) / u),
            Shape::Student { dof } if u > 0.0 => student_cdf((x - self.value) / u, *dof),
            Shape::Quantiles(values) if !values.is_empty() => probability_at(values, x),
            Shape::Bounds { low, high } if high > low => ((x - low) / (high - low)).clamp(0.0, 1.0),
            _ => step,
        }
    }
}

/// The value at a probability in a table of sorted values at `(i + 0.5) / n`.
fn at_probability(values: &[f64], probability: f64) -> f64 {
    let (Some(&first), Some(&last)) = (values.first(), values.last()) else {
        return f64::NAN;
    };
    let place = probability * values.len() as f64 - 0.5;
    if place <= 0.0 {
        return first;
    }
    let below = place as usize;
    match (values.get(below), values.get(below + 1)) {
        (Some(a), Some(b)) => a + (b - a) * (place - below as f64),
        _ => last,
    }
}

/// The inverse of [`at_probability`].
fn probability_at(values: &[f64], x: f64) -> f64 {
    let n = values.len() as f64;
    let above = values.partition_point(|&value| value <= x);
    match (above.checked_sub(1).and_then(|i| values.get(i)), values.get(above)) {
        (Some(a), Some(b)) if b > a => (above as f64 - 0.5 + (x - a) / (b - a)) / n,
        (None, _) => 0.0,
        (_, None) => 1.0,
        _ => above as f64 / n,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_of_quantiles_inverts() {
        let values: Vec<f64> = (0..200).map(|i| f64::from(i).sqrt()).collect();
        for p in [0.01, 0.025, 0.5, 0.9, 0.975] {
            assert!((probability_at(&values, at_probability(&values, p)) - p).abs() < 1e-12);
        }
    }

    #[test]
    fn same_name_combines_in_quadrature() {
        let made = Estimate::new(1.0, "HRC").with("tester", 0.3).with("tester", 0.4);
        assert_eq!(made.components().len(), 1);
        assert!((made.u() - 0.5).abs() < 1e-15);
    }
}
