//! Whether one value stands apart from the rest: Grubbs' test.

use super::student_quantile;
use crate::error::{Error, Result};
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of Grubbs' test.
pub static GRUBBS: ModelRecord = ModelRecord {
    id: "estimate.grubbs",
    gives: "the value farthest from the mean of the rest, in standard deviations, and the limit for it",
    unit: "",
    formula: "G = max |x − mean|/s; limit (n − 1)/√n √(t²/(n − 2 + t²)), t with n − 2 degrees of freedom at α/(2 n), where \
              either side is asked about, or α/n, where one is",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source {
            cite: "F. E. Grubbs, Procedures for detecting outlying observations in samples, Technometrics 11 (1969) 1",
            at: "the test and its limits",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "NIST/SEMATECH e-Handbook of Statistical Methods",
            at: "1.3.5.17.1, with the example of eight values",
            origin: Origin::FromMemory,
        },
    ],
    errata: &["printed tables mix up one-sided and two-sided limits, and 5 and 2.5 %"],
    not_for: "leaving a value out by itself: look for the cause first; several that hide each other; rounded values that \
              hardly differ",
};

/// A value that stands farthest out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Farthest {
    /// Which, from 0.
    pub index: usize,
    /// Its distance from the mean, in standard deviations.
    pub g: f64,
    /// The limit.
    pub critical: f64,
}

fn invalid(argument: &'static str, value: f64, why: &'static str, hint: &'static str) -> Error {
    Error::invalid(GRUBBS.id, argument, (value, ""), why, hint)
}

/// The limit of Grubbs' test for `n` values at the chance `alpha` of a false alarm.
///
/// # Errors
/// [`Error::InvalidValue`] for fewer than three values, or a chance outside 0 to 1.
pub fn grubbs_critical(n: usize, alpha: f64, two_sided: bool) -> Result<f64> {
    if n < 3 {
        return Err(invalid("n", n as f64, "is too few values for one to stand apart", "It takes three at least"));
    }
    if !(alpha > 0.0 && alpha < 1.0) {
        return Err(invalid(
            "alpha",
            alpha,
            "does not lie between 0 and 1",
            "Write 0.05 for one false alarm in twenty",
        ));
    }
    let n = n as f64;
    let tail = alpha / if two_sided { 2.0 * n } else { n };
    let t = student_quantile(tail, n - 2.0);
    Ok((n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt())
}

/// The value farthest from the mean with its limit.
///
/// # Errors
/// As [`grubbs_critical`]; [`Error::InvalidValue`] for values that are no numbers, [`Error::NotDetermined`] for values that
/// are all the same.
pub fn grubbs(values: &[f64], alpha: f64, two_sided: bool) -> Result<Farthest> {
    let critical = grubbs_critical(values.len(), alpha, two_sided)?;
    if let Some(&bad) = values.iter().find(|value| !value.is_finite()) {
        return Err(invalid("values", bad, "is no number to compare", "Leave it out, and say why"));
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let sd = (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let farthest = values.iter().enumerate().max_by(|a, b| (a.1 - mean).abs().total_cmp(&(b.1 - mean).abs()));
    match farthest {
        Some((index, value)) if sd > 0.0 => Ok(Farthest { index, g: (value - mean).abs() / sd, critical }),
        _ => Err(Error::NotDetermined {
            what: "a value that stands apart".into(),
            why: "all of them are the same".into(),
            would_determine: "a display with finer steps".into(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the NIST/SEMATECH handbook, as quoted in public test texts: G = 2.4687, one-sided limit 2.032.
    #[test]
    fn handbook_example() {
        let values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
        let made = grubbs(&values, 0.05, false).unwrap();
        assert_eq!(made.index, 7);
        assert!((made.g - 2.4687).abs() < 2e-4 && (made.critical - 2.032).abs() < 5e-4);
        assert!(grubbs(&[1.0, 1.0, 1.0], 0.05, true).is_err());
    }
}
