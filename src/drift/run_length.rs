//! How many checks a chart takes on the average until it signals.

use std::f64::consts::PI;

use crate::estimate::{legendre, normal_cdf};

/// Checks until an individuals chart with limits at `width` standard deviations signals, for a mean that moved by
/// `shift` of them: the inverse of the chance of one signal.
#[must_use]
pub fn individuals_run_length(shift: f64, width: f64) -> f64 {
    1.0 / (normal_cdf(shift - width) + normal_cdf(-shift - width))
}

/// Checks until an EWMA chart with steady limits signals, from the start at the centre: the integral equation of Crowder
/// (1987), L(u) = 1 + 1/λ ∫ L(x) φ((x − (1 − λ) u)/λ − shift) dx, on the nodes of Gauss and Legendre.
#[must_use]
pub fn ewma_run_length(shift: f64, lambda: f64, width: f64) -> f64 {
    const NODES: usize = 48;
    let limit = width * (lambda / (2.0 - lambda)).sqrt();
    let rule: Vec<(f64, f64)> = legendre(NODES).into_iter().map(|(x, w)| (limit * x, 2.0 * limit * w)).collect();
    let density = |z: f64| (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
    let kernel = |from: f64, to: f64| density((to - (1.0 - lambda) * from) / lambda - shift) / lambda;
    let rows = rule.iter().enumerate().map(|(i, &(from, _))| {
        let entry = |(j, &(to, weight)): (usize, &(f64, f64))| f64::from(u8::from(i == j)) - weight * kernel(from, to);
        rule.iter().enumerate().map(entry).chain([1.0]).collect()
    });
    let lengths = solved(rows.collect());
    1.0 + rule.iter().zip(&lengths).map(|(&(x, weight), length)| weight * length * kernel(0.0, x)).sum::<f64>()
}

/// The solution of a linear system by elimination; each row ends with its right side. The matrix is one less a kernel
/// with row sums below one, so no pivot vanishes.
fn solved(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for pivot in 0..n {
        let (done, rest) = rows.split_at_mut(pivot + 1);
        let Some(own) = done.last() else { continue };
        for row in rest {
            let factor = row[pivot] / own[pivot];
            for (cell, above) in row.iter_mut().zip(own).skip(pivot) {
                *cell -= factor * above;
            }
        }
    }
    let mut answer = vec![0.0; n];
    for index in (0..n).rev() {
        let row = &rows[index];
        let known: f64 = row.iter().zip(&answer).skip(index + 1).map(|(a, x)| a * x).sum();
        answer[index] = (row[n] - known) / row[index];
    }
    answer
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook 6.3.2: three-sigma limits signal falsely once in 370 points; a shift of one standard
    /// deviation takes 44 (from memory).
    #[test]
    fn individuals() {
        assert!((individuals_run_length(0.0, 3.0) - 370.4).abs() < 0.05);
        assert!((individuals_run_length(1.0, 3.0) - 43.9).abs() < 0.05);
    }

    /// Lucas and Saccucci (1990), as reprinted in textbooks; from memory: schemes with 500 checks to a false signal.
    #[test]
    fn exponential() {
        for (lambda, width, shift, expected, rounding) in [
            (0.1, 2.814, 0.0, 500.0, 5.0),
            (0.1, 2.814, 0.5, 31.3, 0.1),
            (0.1, 2.814, 1.0, 10.3, 0.1),
            (0.2, 2.962, 0.0, 500.0, 5.0),
            (0.2, 2.962, 0.5, 41.8, 0.1),
            (0.2, 2.962, 1.0, 10.5, 0.1),
            (0.4, 3.054, 0.0, 500.0, 5.0),
            (0.4, 3.054, 1.0, 14.3, 0.1),
        ] {
            let got = ewma_run_length(shift, lambda, width);
            assert!((got - expected).abs() < rounding, "{lambda} {shift}: {got}");
        }
    }
}
