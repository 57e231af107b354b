//! A straight line through checks, its slope with Student's range, and when it passes a limit.

use serde::{Deserialize, Serialize};

use crate::estimate::{Estimate, Shape, student_quantile};

/// Days of a mean Gregorian month.
pub const MONTH_DAYS: f64 = 30.436_875;

/// A fitted line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Number of points.
    pub n: usize,
    /// Middle of the times, months.
    pub at_months: f64,
    /// Value there.
    pub value: f64,
    /// Slope per month.
    pub slope: f64,
    /// Standard deviation about the line.
    pub sd: f64,
    /// Sum of squared distances of the times from their middle.
    pub spread: f64,
    /// Standard uncertainty of the reference's own drift, per month.
    pub u_reference: f64,
}

impl Line {
    /// The least-squares line; nothing with fewer than three points or all at one time.
    #[must_use]
    pub fn through(months: &[f64], values: &[f64], u_reference: f64) -> Option<Self> {
        let n = months.len();
        let count = n as f64;
        let (at_months, value) = (months.iter().sum::<f64>() / count, values.iter().sum::<f64>() / count);
        let spread: f64 = months.iter().map(|t| (t - at_months).powi(2)).sum();
        if n < 3 || spread <= 0.0 {
            return None;
        }
        let slope = months.iter().zip(values).map(|(t, y)| (t - at_months) * (y - value)).sum::<f64>() / spread;
        let away = months.iter().zip(values).map(|(t, y)| (y - value - slope * (t - at_months)).powi(2));
        let sd = (away.sum::<f64>() / (count - 2.0)).sqrt();
        Some(Self { n, at_months, value, slope, sd, spread, u_reference })
    }

    fn dof(&self) -> f64 {
        self.n as f64 - 2.0
    }

    /// The slope per month: the scatter of the checks, and the reference's own drift.
    #[must_use]
    pub fn slope_estimate(&self, unit: &str) -> Estimate {
        let scatter = self.sd / self.spread.sqrt();
        let u = scatter.hypot(self.u_reference);
        // Welch and Satterthwaite: the reference's part is taken as known, so it only adds degrees of freedom.
        let dof = if scatter > 0.0 { self.dof() * (u / scatter).powi(4) } else { f64::INFINITY };
        let made = Estimate::new(self.slope, format!("{unit}/month")).with("scatter of the checks", scatter);
        let made = if self.u_reference > 0.0 { made.with("the reference's own drift", self.u_reference) } else { made };
        if dof.is_finite() { made.shaped(Shape::Student { dof }) } else { made }
    }

    /// Months at which the line is at a level, and between which its 95 % band is; no band unless the slope's range
    /// leaves out zero.
    #[must_use]
    pub fn reaches(&self, level: f64) -> (f64, Option<(f64, f64)>) {
        let below = self.value - level;
        let middle = self.at_months - below / self.slope;
        let q = -student_quantile(0.025, self.dof()) * self.sd;
        // Where (below + slope τ)² = q² (1/n + τ²/spread).
        let a = self.slope.powi(2) - q.powi(2) / self.spread;
        let (b, c) = (below * self.slope, below.powi(2) - q.powi(2) / self.n as f64);
        let root = b * b - a * c;
        if a <= 0.0 || root < 0.0 {
            return (middle, None);
        }
        (middle, Some((self.at_months + (-b - root.sqrt()) / a, self.at_months + (-b + root.sqrt()) / a)))
    }
}
