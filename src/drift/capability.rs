//! How well a process fits between its limits.

use crate::error::{Error, Result};

/// The capability index Cpk: the distance from the mean to the nearer limit in units of three standard deviations (NIST/SEMATECH
/// e-Handbook of Statistical Methods, 7.1.6); with one limit only that side counts. It takes a process that stands
/// still and spreads normally: ask [`monitor`](super::monitor()) first.
///
/// # Errors
/// [`Error::InvalidValue`] for a standard deviation that is not positive or a mean that is not finite; [`Error::Refused`]
/// without a limit, or where the lower one is not below the upper one.
///
/// ```
/// let cpk = afterquench::drift::process_capability(16.0, 2.0, Some(8.0), Some(20.0)).unwrap();
/// assert!((cpk - 2.0 / 3.0).abs() < 1e-12);
/// ```
pub fn process_capability(mean: f64, standard_deviation: f64, lower: Option<f64>, upper: Option<f64>) -> Result<f64> {
    let invalid = |argument: &'static str, value: f64, why: &'static str| {
        Error::invalid(
            "drift.process_capability",
            argument,
            (value, ""),
            why,
            "Give mean, standard deviation and limits in one unit",
        )
    };
    if !mean.is_finite() {
        return Err(invalid("mean", mean, "is not finite"));
    }
    if !(standard_deviation > 0.0 && standard_deviation.is_finite()) {
        return Err(invalid("standard_deviation", standard_deviation, "is not positive"));
    }
    for (argument, limit) in [("lower", lower), ("upper", upper)] {
        if let Some(limit) = limit.filter(|limit| limit.is_nan()) {
            return Err(invalid(argument, limit, "is no limit"));
        }
    }
    let rising = lower.zip(upper).is_none_or(|(lower, upper)| lower < upper);
    if (lower.is_none() && upper.is_none()) || !rising {
        return Err(Error::Refused {
            what: "a capability".into(),
            why: "it takes a limit, and a lower one below the upper one".into(),
            instead: "Give lower, upper or both".into(),
        });
    }
    let sides = [lower.map(|lower| mean - lower), upper.map(|upper| upper - mean)];
    Ok(sides.into_iter().flatten().fold(f64::INFINITY, f64::min) / (3.0 * standard_deviation))
}
