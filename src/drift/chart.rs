//! Individuals and EWMA charts.

use serde::{Deserialize, Serialize};

/// Mean range of two normal values with a standard deviation of one: 2/√π.
const TWO_VALUES: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// Limits of the individuals chart in standard deviations.
pub(super) const INDIVIDUALS_WIDTH: f64 = 3.0;

/// An individuals chart: centre ± 3 standard deviations from the mean moving range.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Individuals {
    /// The middle line.
    pub centre: f64,
    /// Mean moving range over 1.128.
    pub sd: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
    /// Indices of the points outside.
    pub outside: Vec<usize>,
}

impl Individuals {
    /// The chart of values in order about a centre. A drift moves neighbours little, so it hardly widens the limits.
    #[must_use]
    pub fn of(values: &[f64], centre: f64) -> Self {
        let moves = values.iter().zip(values.iter().skip(1)).map(|(a, b)| (b - a).abs()).sum::<f64>();
        let sd = moves / (values.len().saturating_sub(1).max(1) as f64) / TWO_VALUES;
        let (lower, upper) = (centre - INDIVIDUALS_WIDTH * sd, centre + INDIVIDUALS_WIDTH * sd);
        let outside = outside(values.iter().map(|&value| (value, lower, upper)));
        Self { centre, sd, lower, upper, outside }
    }
}

/// Indices of values outside their limits; limits without width tell nothing.
fn outside(values: impl Iterator<Item = (f64, f64, f64)>) -> Vec<usize> {
    let out = |(index, (value, low, high)): (usize, (f64, f64, f64))| {
        (high > low && !(low..=high).contains(&value)).then_some(index)
    };
    values.enumerate().filter_map(out).collect()
}

/// An exponentially weighted moving average with the exact limits of each point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ewma {
    /// Weight of the newest value.
    pub lambda: f64,
    /// Limits in standard deviations of the average.
    pub width: f64,
    /// The averages.
    pub values: Vec<f64>,
    /// Lower limits.
    pub lower: Vec<f64>,
    /// Upper limits.
    pub upper: Vec<f64>,
    /// Indices of the points outside.
    pub outside: Vec<usize>,
}

impl Ewma {
    /// z = λ x + (1 − λ) z before, started at the centre; limits centre ± L sd √(λ/(2 − λ) (1 − (1 − λ)^2t)).
    #[must_use]
    pub fn of(values: &[f64], (centre, sd): (f64, f64), lambda: f64, width: f64) -> Self {
        let mut now = centre;
        let mut made = Self { lambda, width, values: vec![], lower: vec![], upper: vec![], outside: vec![] };
        for (index, value) in values.iter().enumerate() {
            now = lambda * value + (1.0 - lambda) * now;
            let settled = 1.0 - (1.0 - lambda).powi(2 * (index as i32 + 1));
            let half = width * sd * (lambda / (2.0 - lambda) * settled).sqrt();
            made.values.push(now);
            made.lower.push(centre - half);
            made.upper.push(centre + half);
        }
        let limits = made.lower.iter().zip(&made.upper);
        made.outside = outside(made.values.iter().zip(limits).map(|(&z, (&low, &high))| (z, low, high)));
        made
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook 6.3.2.4: λ = 0.3, centre 50, s = 2.0539: the averages and steady limits, as printed.
    #[test]
    fn printed_example() {
        let data = [
            52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4,
            53.6, 52.1,
        ];
        let printed = [
            50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38,
            49.92, 50.73, 51.23, 51.94, 51.99,
        ];
        let chart = Ewma::of(&data, (50.0, 2.0539), 0.3, 3.0);
        for (got, expected) in chart.values.iter().zip(printed) {
            assert!((got - expected).abs() < 0.00501, "{got} {expected}");
        }
        assert!((chart.upper[19] - 52.5884).abs() < 2e-4 && (chart.lower[19] - 47.4115).abs() < 2e-4);
        assert!(chart.outside.is_empty());
    }

    /// λ = 0.2, L = 3, centre 200, s = 1: upper limits at t = 1, 2, 5 and far out, worked out by hand.
    #[test]
    fn limits_widen() {
        let chart = Ewma::of(&[200.0; 200], (200.0, 1.0), 0.2, 3.0);
        for (index, expected) in [(0, 200.6), (1, 200.7684), (4, 200.9448), (199, 201.0)] {
            assert!((chart.upper[index] - expected).abs() < 5e-5);
        }
    }

    /// Limits at 2.66 and no more than two digits of it: 3 over the mean range of two (textbooks, from memory).
    #[test]
    fn factor_of_the_moving_range() {
        let chart = Individuals::of(&[0.0, 1.0, 0.0, 1.0], 0.5);
        assert!((chart.upper - chart.centre - 2.66).abs() < 5e-3);
    }
}
