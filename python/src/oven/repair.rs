//! What was repaired in a log, and its holes.

use afterquench::oven::{Gap as CoreGap, Repair as CoreRepair, Role};
use pyo3::prelude::*;

use crate::pickle::{Reduced, reduce, restore};

/// One repair made while a log was read, or one thing that must be known about it.
///
/// Attributes
/// ----------
/// kind : str
///     The trap's name: "spike", "gap", "duplicate", "nan", "fault code", "jitter", "midnight", "unit", ...
/// channel : str or None
///     The channel, or None where whole rows are meant.
/// rows : list of int
///     Data rows touched, counted from 0; empty where the whole file is meant.
/// seconds : tuple of float or None
///     First and last elapsed second touched.
/// why : str
///     What was done and why.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> rows = "".join(f"{second},200\n" for second in [*range(0, 601, 10), *range(900, 1501, 10)])
/// >>> log = aq.read_log(("elapsed_s,part_side_degc\n" + rows).encode())
/// >>> log.repairs[0].kind
/// 'gap'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Repair {
    /// The core's repair.
    pub core: CoreRepair,
}

#[pymethods]
impl Repair {
    /// The trap's name.
    #[getter]
    fn kind(&self) -> &str {
        &self.core.kind
    }

    /// The channel, or None where whole rows are meant.
    #[getter]
    fn channel(&self) -> Option<&'static str> {
        self.core.channel.map(Role::name)
    }

    /// Data rows touched, counted from 0.
    #[getter]
    fn rows(&self) -> Vec<usize> {
        self.core.rows.clone()
    }

    /// First and last elapsed second touched, or None.
    #[getter]
    fn seconds(&self) -> Option<(f64, f64)> {
        self.core.seconds
    }

    /// What was done and why.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    fn __repr__(&self) -> String {
        format!("Repair: {}", self.core)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_repair", &self.core)
    }
}

/// A hole in a log.
///
/// Attributes
/// ----------
/// start_s, end_s : float
///     Elapsed seconds of the last good sample before it and the first behind it.
/// channel : str or None
///     The channel, or None where all rows are missing.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> rows = "".join(f"{second},200\n" for second in [*range(0, 601, 10), *range(900, 1501, 10)])
/// >>> log = aq.read_log(("elapsed_s,part_side_degc\n" + rows).encode())
/// >>> log.gaps[0]
/// Gap: 600 to 900 s
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Gap {
    /// The core's gap.
    pub core: CoreGap,
}

#[pymethods]
impl Gap {
    /// Elapsed seconds of the last good sample before the hole.
    #[getter]
    fn start_s(&self) -> f64 {
        self.core.start_s
    }

    /// Elapsed seconds of the first good sample behind the hole.
    #[getter]
    fn end_s(&self) -> f64 {
        self.core.end_s
    }

    /// The channel, or None where all rows are missing.
    #[getter]
    fn channel(&self) -> Option<&'static str> {
        self.core.channel.map(Role::name)
    }

    fn __repr__(&self) -> String {
        let channel = self.core.channel.map_or(String::new(), |role| format!(" on {}", role.name()));
        format!("Gap{channel}: {:.0} to {:.0} s", self.core.start_s, self.core.end_s)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_gap", &self.core)
    }
}

/// Rebuilds a pickled repair.
#[pyfunction]
fn _restore_repair(state: &[u8]) -> PyResult<Repair> {
    Ok(Repair { core: restore(state)? })
}

/// Rebuilds a pickled gap.
#[pyfunction]
fn _restore_gap(state: &[u8]) -> PyResult<Gap> {
    Ok(Gap { core: restore(state)? })
}

/// Adds the classes to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Repair>()?;
    module.add_class::<Gap>()?;
    module.add_function(wrap_pyfunction!(_restore_repair, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_gap, module)?)
}
