//! The steel's constant C: from carbon, and between hours and seconds.

use std::sync::Arc;

use afterquench::kernel::ArrayModel;
use afterquench::temper;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;

use super::declare::{Any, array_function, wrapped};
use crate::arguments::{may_extrapolate, measured};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::ufunc::{Model, Options, raises};

wrapped!(carbon_model, temper::ConstantFromCarbon, "constant_from_carbon");
wrapped!(seconds_model, temper::ConstantFromSeconds, "constant_from_seconds");
wrapped!(hours_model, temper::ConstantToSeconds, "constant_to_seconds");

array_function! {
    /// C (for hours) of a plain carbon steel from its carbon content.
    ///
    /// Parameters
    /// ----------
    /// carbon_percent : array_like
    ///     Carbon in weight per cent, 0.15 to 1.2.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside that range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     C for times in hours; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     Outside 0.15 to 1.2 % carbon.
    ///
    /// Notes
    /// -----
    /// C = 21.3 - 5.8 %C after Hollomon and Jaffe (1945), from memory of reviews; 17.7 - 5.8 %C is the same for seconds.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.constant_from_carbon(0.95), 2)
    /// 15.79
    constant_from_carbon(carbon_percent), carbon_model, "", "C for hours"
}

array_function! {
    /// C for hours from C for seconds: C_h = C_s + log10 3600.
    ///
    /// Parameters
    /// ----------
    /// c_s : array_like
    ///     C for times in seconds.
    /// out_of_range : {"raise", "nan"}
    ///     Every finite value is in range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     C for times in hours; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values.
    ///
    /// Notes
    /// -----
    /// By definition: M is the same whatever the unit of t.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.constant_from_seconds(16.4437), 4)
    /// 20.0
    constant_from_seconds(c_s), seconds_model, "", "C for hours"
}

array_function! {
    /// C for seconds from C for hours: the inverse of `constant_from_seconds`.
    ///
    /// Parameters
    /// ----------
    /// c : array_like
    ///     C for times in hours.
    /// out_of_range : {"raise", "nan"}
    ///     Every finite value is in range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     C for times in seconds; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.constant_to_seconds(20), 4)
    /// 16.4437
    constant_to_seconds(c), hours_model, "", "C for seconds"
}

/// C (for hours) of a plain carbon steel with its scatter.
///
/// Parameters
/// ----------
/// carbon_percent : float or Estimate
///     Carbon in weight per cent, 0.15 to 1.2.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" continues the straight line, counts the whole change as uncertainty, and marks the Estimate.
///
/// Returns
/// -------
/// Estimate
///     C for times in hours.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside 0.15 to 1.2 % carbon.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.constant_from_carbon_estimate(0.95).u
/// 1.0
#[pyfunction]
#[pyo3(signature = (carbon_percent, *, out_of_range=None))]
fn constant_from_carbon_estimate(
    py: Python<'_>,
    carbon_percent: &Any<'_>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "constant_from_carbon_estimate";
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let carbon = measured(NAME, "carbon_percent", carbon_percent, on)?;
    temper::constant_from_carbon_estimate(carbon, on).or_raise(py).map(Estimate::from)
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(constant_from_carbon, module)?)?;
    module.add_function(wrap_pyfunction!(constant_from_seconds, module)?)?;
    module.add_function(wrap_pyfunction!(constant_to_seconds, module)?)?;
    module.add_function(wrap_pyfunction!(constant_from_carbon_estimate, module)?)
}
