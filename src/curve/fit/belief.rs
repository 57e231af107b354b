//! What few coupons say of their scatter, weighed with what is believed of it.

use super::doubt::{BELIEVED_DOF, BELIEVED_SD};
use super::model::{Fitted, Line, Row};

/// Steps of the logarithm of the variance, and how far they reach beyond the belief and beyond what the rows show.
const STEP: f64 = 0.2;
const BELOW: f64 = 40.0;
const ABOVE: f64 = 400.0;

/// The variance between coupons and the degrees of freedom it is known with, a posteriori.
///
/// The belief is that coupons depart by [`BELIEVED_SD`] in the root mean square, as if found with [`BELIEVED_DOF`]
/// degrees of freedom: Student's t whose own standard deviation is that, √(ν/(ν − 2)) times its scale (JCGM 101:2008,
/// 6.4.9.7), so the scale is taken back by this factor; to take it as the scale would count the doubt about it twice.
/// The rows speak by their restricted likelihood. Readings and holds have variances of their own that are known better:
/// what counts is the whole variance of a coupon, whose inverse is given the gamma distribution of the same mean and
/// variance, which makes t of what the coupons leave open.
pub(super) fn weighed(
    line: &Line<'_>,
    rows: &[Row],
    c_is_free: bool,
    fit: &dyn Fn(f64) -> Option<Fitted>,
) -> Option<(f64, f64)> {
    let scale = BELIEVED_SD * BELIEVED_SD * (BELIEVED_DOF - 2.0) / BELIEVED_DOF;
    let none = fit(0.0)?;
    let residual = |row: &Row| row.hrc - line.at(&none.a, none.c, row.celsius, row.hours);
    let largest = rows.iter().map(residual).fold(scale, |largest, residual| largest.max(residual * residual));
    let other = rows.iter().map(|row| line.variance(row, &none.a, none.c, 0.0)).sum::<f64>() / rows.len() as f64;

    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut log = (scale / BELOW).ln();
    while log < (largest * ABOVE).ln() {
        let variance = log.exp();
        let fitted = fit(variance)?;
        let logs: f64 = rows.iter().map(|row| line.variance(row, &fitted.a, fitted.c, variance).ln()).sum();
        let solved = line.linearised(rows, &fitted, variance, c_is_free).solve(false)?;
        let likelihood = -0.5 * (logs + solved.log_determinant + fitted.sum);
        let belief = -0.5 * BELIEVED_DOF * (log + scale / variance);
        points.push((1.0 / (variance + other), likelihood + belief));
        log += STEP;
    }
    let top = points.iter().map(|(_, weight)| *weight).fold(f64::NEG_INFINITY, f64::max);
    let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
    for (inverse, log_weight) in points {
        let weight = (log_weight - top).exp();
        sum += weight;
        first += weight * inverse;
        second += weight * inverse * inverse;
    }
    let (mean, square) = (first / sum, second / sum);
    let dof = 2.0 * mean * mean / (square - mean * mean);
    (mean > 0.0 && dof > 0.0).then(|| ((1.0 / mean - other).max(0.0), dof))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Conjugate case, by hand: without reading scatter the posterior is again of the belief's form, with ν + n degrees
    /// of freedom and a scale of (ν s² + Σ r²)/(ν + n).
    #[test]
    fn as_the_conjugate_prior_gives() {
        let line = Line { base: None, degree: 0, centre_c: 200.0, hold_h: 2.0 };
        let row = |hrc: f64| Row {
            celsius: 200.0,
            hours: 2.0,
            hrc,
            reading_variance: 1e-12,
            u_temperature: 0.0,
            u_time: 0.0,
        };
        let rows = [row(59.7), row(60.3)];
        let (variance, dof) = weighed(&line, &rows, false, &|variance| line.held(&rows, 20.0, variance)).unwrap();
        // One degree of freedom: Σ r² about the mean is 0.18.
        let expected = (BELIEVED_DOF * 0.08 + 0.18) / (BELIEVED_DOF + 1.0);
        assert!((variance / expected - 1.0).abs() < 1e-5, "{variance} {expected}");
        assert!((dof - (BELIEVED_DOF + 1.0)).abs() < 1e-4, "{dof}");
    }
}
