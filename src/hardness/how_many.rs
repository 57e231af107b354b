//! How many readings a mean takes.

use super::readings::READINGS;
use crate::error::{Error, Result};
use crate::estimate::student_quantile;

/// How many readings give a mean within ± `half_width` at a coverage, for a known standard deviation.
///
/// # Errors
/// [`Error::InvalidValue`] for numbers that are not positive, [`Error::NotDetermined`] above a million readings.
pub fn readings_needed(half_width: f64, sd: f64, coverage: f64) -> Result<usize> {
    if half_width <= 0.0 || half_width.is_nan() {
        let why = "is not a positive number";
        return Err(Error::invalid(READINGS.id, "half_width", (half_width, ""), why, "Give half the interval wanted"));
    }
    for n in 2..200 {
        if mean_half_width(sd, n, coverage)? <= half_width {
            return Ok(n);
        }
    }
    // Beyond 200 readings t is within 1 % of its limit, so the closed form lands next door.
    let z = -student_quantile(0.5 * (1.0 - coverage), 1e6);
    let mut n = (z * sd / half_width).powi(2).ceil();
    if n > 1e6 {
        return Err(Error::NotDetermined {
            what: format!("a mean within ±{half_width}").into(),
            why: format!("with a spread of {sd} it takes more than a million readings").into(),
            would_determine: "a tester with less spread, or a wider interval".into(),
        });
    }
    while mean_half_width(sd, n as usize, coverage)? > half_width {
        n += 1.0;
    }
    Ok(n as usize)
}

/// t s/√n: half the interval of a mean of `n` readings; the tester's bias is not in it.
///
/// # Errors
/// [`Error::InvalidValue`] for a standard deviation that is not positive, fewer than two readings, or a coverage
/// outside 0 to 1.
pub fn mean_half_width(sd: f64, n: usize, coverage: f64) -> Result<f64> {
    let refuse = |argument: &'static str, value: f64, why: &'static str| {
        Error::invalid(READINGS.id, argument, (value, ""), why, "A spread takes at least two readings")
    };
    if !(sd > 0.0 && sd.is_finite()) {
        return Err(refuse("sd", sd, "is not a positive number"));
    }
    if n < 2 {
        return Err(refuse("n", n as f64, "is fewer than two readings"));
    }
    if !(coverage > 0.0 && coverage < 1.0) {
        return Err(refuse("coverage", coverage, "does not lie between 0 and 1"));
    }
    Ok(-student_quantile(0.5 * (1.0 - coverage), n as f64 - 1.0) * sd / (n as f64).sqrt())
}
