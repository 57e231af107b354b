//! How the scatter of coupons is settled: what readings and holds explain, and what is left for the coupons.

use super::belief::weighed;
use super::doubt::{BELIEVED_DOF, BELIEVED_SD};
use super::model::{Fitted, Line, Row};
use super::squares::MOST;

/// A fit with its scatter.
#[derive(Debug, Clone)]
pub(super) struct Settled {
    pub(super) fitted: Fitted,
    /// Variance between coupons beyond what readings and holds explain.
    pub(super) coupon_variance: f64,
    /// Factor on the covariance: one, but for a scatter smaller than readings and holds explain.
    pub(super) scale: f64,
    /// Degrees of freedom; infinite where the scatter is given.
    pub(super) dof: f64,
    /// Covariance of coefficients and C, the factor included.
    pub(super) covariance: [[f64; MOST]; MOST],
    /// Residual standard deviation of the coupons' means, HRC.
    pub(super) scatter: f64,
    /// Whether a belief about the scatter was weighed in for want of coupons.
    pub(super) assumed: bool,
    /// Coefficients, and C where it is fitted.
    pub(super) unknowns: usize,
}

/// Fits and settles the scatter: given, or such that Σ residual² / variance is the degrees of freedom (Paule and
/// Mandel). `c` is held where it is given, else free.
pub(super) fn settled(line: &Line<'_>, rows: &[Row], c: Option<f64>, coupon_sd: Option<f64>) -> Option<Settled> {
    let width = line.degree + 1 + usize::from(c.is_none());
    let left = rows.len().checked_sub(width)? as f64;
    // Fewer spare coupons than the belief counts for say less of the scatter than it does.
    let assumed = left < BELIEVED_DOF && coupon_sd.is_none();
    let fit = |variance: f64, near: Option<&Fitted>| match (c, near) {
        (Some(c), _) => line.held(rows, c, variance),
        (None, None) => line.free(rows, variance),
        (None, Some(near)) => {
            let c = near.c;
            line.held(rows, c, variance).map(|fitted| line.improved(rows, fitted, variance, true))
        }
    };
    let first = fit(coupon_sd.unwrap_or(BELIEVED_SD).powi(2), None)?;
    let (coupon_variance, dof) = match coupon_sd {
        Some(sd) => (sd * sd, f64::INFINITY),
        None if assumed => weighed(line, rows, c.is_none(), &|variance| fit(variance, Some(&first)))?,
        None => (between(&first, left, &fit)?, left),
    };
    let fitted = fit(coupon_variance, Some(&first))?;
    let scale = if dof.is_finite() && !assumed { (fitted.sum / left).max(1.0) } else { 1.0 };
    let solved = line.linearised(rows, &fitted, coupon_variance, c.is_none()).solve(true)?;
    let covariance = solved.covariance.map(|row| row.map(|entry| entry * scale));
    let squares: f64 =
        rows.iter().map(|row| (row.hrc - line.at(&fitted.a, fitted.c, row.celsius, row.hours)).powi(2)).sum();
    let scatter = if left >= 1.0 { (squares / left).sqrt() } else { BELIEVED_SD };
    Some(Settled { fitted, coupon_variance, scale, dof, covariance, scatter, assumed, unknowns: width })
}

/// The variance between coupons at which the residual sum is `left`; zero where it is smaller even without any.
fn between(first: &Fitted, left: f64, fit: &dyn Fn(f64, Option<&Fitted>) -> Option<Fitted>) -> Option<f64> {
    let excess = |variance: f64| fit(variance, Some(first)).map(|fitted| fitted.sum / left - 1.0);
    let at_zero = excess(0.0)?;
    if at_zero <= 0.0 {
        return Some(0.0);
    }
    let (mut low, mut at_low, mut high) = (0.0, at_zero, BELIEVED_SD * BELIEVED_SD);
    let mut at_high = excess(high)?;
    while at_high > 0.0 && high < 1e4 {
        (low, at_low, high) = (high, at_high, 4.0 * high);
        at_high = excess(high)?;
    }
    // The sum falls about as 1/variance, so 1/sum is nearly straight: a secant on it, kept inside its bracket.
    for _ in 0..60 {
        let straight = |excess: f64| 1.0 - 1.0 / (1.0 + excess);
        let (a, b) = (straight(at_low), straight(at_high));
        let mut middle = low + (high - low) * a / (a - b);
        if !(middle > low && middle < high) {
            middle = 0.5 * (low + high);
        }
        let there = excess(middle)?;
        if there.abs() < 1e-13 || high - low < 1e-15 {
            return Some(middle);
        }
        if there > 0.0 { (low, at_low) = (middle, there) } else { (high, at_high) = (middle, there) }
    }
    Some(0.5 * (low + high))
}
