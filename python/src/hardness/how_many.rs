//! How many readings a mean takes.

use afterquench::hardness;
use pyo3::prelude::*;

use crate::errors::OrRaise;
use crate::given;

/// How many readings give a mean within ± `half_width`.
///
/// Parameters
/// ----------
/// half_width : float
///     Half the interval wanted.
/// sd : float
///     Standard deviation of one reading.
/// coverage : float
///     Probability of the interval.
///
/// Returns
/// -------
/// int
///     The smallest n with t s/√n not above it. The tester's bias is not in it, and no number of readings lessens it.
///
/// Raises
/// ------
/// InvalidValueError, NotDeterminedError
///     For numbers that are not positive; above a million readings.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.readings_needed(0.3, 0.4)
/// 10
#[pyfunction]
#[pyo3(signature = (half_width, sd, coverage=0.95))]
fn readings_needed(
    py: Python<'_>,
    #[pyo3(from_py_with = given::readings_needed::half_width)] half_width: f64,
    #[pyo3(from_py_with = given::readings_needed::sd)] sd: f64,
    #[pyo3(from_py_with = given::readings_needed::coverage)] coverage: f64,
) -> PyResult<usize> {
    hardness::readings_needed(half_width, sd, coverage).or_raise(py)
}

/// Half the interval of the mean of n readings, t s/√n; the tester's bias is not in it.
///
/// Parameters
/// ----------
/// sd : float
///     Standard deviation of one reading.
/// n : int
///     Number of readings, at least two.
/// coverage : float
///     Probability of the interval.
///
/// Returns
/// -------
/// float
///
/// Raises
/// ------
/// InvalidValueError
///     For numbers that don't fit.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.mean_half_width(0.4, 5), 4)
/// 0.4967
#[pyfunction]
#[pyo3(signature = (sd, n, coverage=0.95))]
fn mean_half_width(py: Python<'_>, sd: f64, n: usize, coverage: f64) -> PyResult<f64> {
    hardness::mean_half_width(sd, n, coverage).or_raise(py)
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(readings_needed, module)?)?;
    module.add_function(wrap_pyfunction!(mean_half_width, module)?)
}
