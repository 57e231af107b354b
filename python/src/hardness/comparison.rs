//! Two laboratories' results beside each other.

use afterquench::{Estimate as CoreEstimate, hardness};
use pyo3::prelude::*;

use super::readings::Readings;
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// What two laboratories' results say of each other: .difference, .e_n, .agree, .why.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.compare_results(aq.Estimate(58.6, 0.35, "HRC"), aq.Estimate(57.8, 0.35, "HRC"))
/// they agree: the difference of +0.80 HRC lies inside its ±0.99 (k=2), E_n = 0.81
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Comparison {
    core: hardness::Comparison,
}

#[pymethods]
impl Comparison {
    /// First less second, an Estimate.
    #[getter]
    fn difference(&self) -> Estimate {
        self.core.difference.clone().into()
    }

    /// The difference over its expanded uncertainty (k = 2).
    #[getter]
    fn e_n(&self) -> f64 {
        self.core.e_n
    }

    /// Whether |E_n| is at most 1.
    #[getter]
    fn agree(&self) -> bool {
        self.core.agree
    }

    /// In words.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    fn __repr__(&self) -> String {
        self.core.why.clone()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_comparison", &self.core)
    }
}

#[pyfunction]
fn _restore_comparison(state: &[u8]) -> PyResult<Comparison> {
    Ok(Comparison { core: restore(state)? })
}

/// Whether two independent results on one scale agree (E_n at k = 2).
///
/// Parameters
/// ----------
/// first, second : Estimate or Readings
///     The two results; of Readings their `estimate`.
///
/// Returns
/// -------
/// Comparison
///
/// Raises
/// ------
/// RefusedError
///     For results on two scales, or without uncertainty; for Readings none of which is valid.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.compare_results(aq.Estimate(58.6, 0.2, "HRC"), aq.Estimate(57.8, 0.2, "HRC")).agree
/// False
/// >>> ours = aq.Readings([58.4, 58.7, 58.6], "HRC", thickness_mm=3, place="flat")
/// >>> aq.compare_results(ours, aq.Estimate(57.8, 0.2, "HRC")).agree
/// True
#[pyfunction]
fn compare_results(py: Python<'_>, first: &Any<'_>, second: &Any<'_>) -> PyResult<Comparison> {
    let (first, second) = (result(py, "first", first)?, result(py, "second", second)?);
    Ok(Comparison { core: hardness::compare_results(&first, &second).or_raise(py)? })
}

/// A result as an estimate.
fn result(py: Python<'_>, argument: &str, given: &Any<'_>) -> PyResult<CoreEstimate> {
    if let Ok(estimate) = given.cast::<Estimate>() {
        return Ok(estimate.get().core.clone());
    }
    if let Ok(readings) = given.cast::<Readings>() {
        return readings.get().core.estimate(None, "", None).or_raise(py);
    }
    let why = "it is neither an Estimate nor Readings".to_owned();
    let hint = "Write Estimate(value, u, \"HRC\"): a number alone carries no uncertainty".into();
    Err(crate::arguments::argument_type(py, "compare_results", argument, why, hint))
}

/// Adds class and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Comparison>()?;
    module.add_function(wrap_pyfunction!(_restore_comparison, module)?)?;
    module.add_function(wrap_pyfunction!(compare_results, module)?)
}
