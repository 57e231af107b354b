//! Bindings of `estimate`: a value with its uncertainty.

use afterquench::{Error, Estimate as Core};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::errors::OrRaise;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

/// A value with its standard uncertainty, what that is made of, and what was assumed.
///
/// Parameters
/// ----------
/// value : float
///     The value.
/// u : float
///     One standard uncertainty, in the same unit.
/// unit : str
///     The unit of both.
///
/// Raises
/// ------
/// InvalidValueError
///     For an infinite value; for an uncertainty that is negative, infinite or NaN.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.Estimate(59.7, 0.4, "HRC")
/// 59.7 HRC [58.9 .. 60.5]
#[pyclass(module = "afterquench._native", name = "Estimate", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Estimate {
    /// The core's estimate.
    pub core: Core,
}

impl From<Core> for Estimate {
    fn from(core: Core) -> Self {
        Self { core }
    }
}

#[pymethods]
impl Estimate {
    #[new]
    #[pyo3(signature = (value, u, unit))]
    fn new(
        py: Python<'_>,
        #[pyo3(from_py_with = given::estimate::value)] value: f64,
        #[pyo3(from_py_with = given::estimate::u)] u: f64,
        #[pyo3(from_py_with = given::estimate::unit)] unit: &str,
    ) -> PyResult<Self> {
        let wrong = |argument: &'static str, value: f64, why: &'static str| {
            Error::invalid(
                "Estimate",
                argument,
                (value, unit.to_owned()),
                why,
                "Give a finite value and one standard uncertainty, zero where it is exact",
            )
        };
        if value.is_infinite() {
            return Err(wrong("value", value, "is infinite")).or_raise(py);
        }
        if !(u >= 0.0 && u.is_finite()) {
            return Err(wrong("u", u, "is no standard uncertainty")).or_raise(py);
        }
        Ok(Self { core: Core::new(value, unit.to_owned()).with("given", u) })
    }

    /// The value.
    #[getter]
    fn value(&self) -> f64 {
        self.core.value()
    }

    /// One standard uncertainty.
    #[getter]
    fn u(&self) -> f64 {
        self.core.u()
    }

    /// The unit of value and uncertainty.
    #[getter]
    fn unit(&self) -> &str {
        self.core.unit()
    }

    /// Standard uncertainty by what it comes from.
    #[getter]
    fn components<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let parts = PyDict::new(py);
        for component in self.core.components() {
            parts.set_item(component.name.as_ref(), component.u)?;
        }
        Ok(parts)
    }

    /// What was assumed, as sentences.
    #[getter]
    fn assumptions(&self) -> Vec<String> {
        self.core.assumptions().iter().map(ToString::to_string).collect()
    }

    /// The conversion tables the value went through.
    #[getter]
    fn tables(&self) -> Vec<String> {
        self.core.tables().iter().map(ToString::to_string).collect()
    }

    /// Whether a model was used outside its range on the way.
    #[getter]
    fn extrapolated(&self) -> bool {
        self.core.is_extrapolated()
    }

    /// The interval that holds the true value with this probability, equal tails.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     Unless the coverage lies between 0 and 1.
    #[pyo3(signature = (coverage=0.95))]
    fn interval(&self, py: Python<'_>, coverage: f64) -> PyResult<(f64, f64)> {
        self.core.interval(coverage).or_raise(py)
    }

    /// The probability that the true value lies between the limits; None is no limit.
    #[pyo3(signature = (lower=None, upper=None))]
    fn probability_inside(&self, lower: Option<f64>, upper: Option<f64>) -> f64 {
        self.core.probability_inside(lower, upper)
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.core.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
        let unit = self.core.unit();
        let digits = digits(self.core.value(), 0.5 * (high - low), unit);
        format!(
            "{:.digits$}{}{unit} [{low:.digits$} .. {high:.digits$}]",
            self.core.value(),
            if unit.is_empty() { "" } else { " " }
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_estimate", &self.core)
    }
}

/// Digits behind the point: no more than the interval carries. A hardness shows the first digit of its half width and a
/// decimal at least, as it is read; anything else the first two; a small value without an interval three of its own.
fn digits(value: f64, half: f64, unit: &str) -> usize {
    let is_hardness = unit.starts_with('H') && !unit.contains('/');
    let (leading, kept) = match half.is_finite() && half > 0.0 {
        true if is_hardness => (half, 0.0),
        true => (half, 1.0),
        false if is_hardness || value == 0.0 || value.is_nan() || value.abs() >= 1.0 => return 1,
        false => (value.abs(), 2.0),
    };
    let digits = (kept - leading.log10().floor()).clamp(0.0, 9.0) as usize;
    if is_hardness { digits.max(1) } else { digits }
}

/// Rebuilds a pickled estimate.
#[pyfunction]
fn _restore_estimate(state: &[u8]) -> PyResult<Estimate> {
    Ok(Estimate { core: restore(state)? })
}

/// Adds the class to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Estimate>()?;
    module.add_function(wrap_pyfunction!(_restore_estimate, module)?)
}
