//! Cautions that sources print for a family of steels.

use afterquench::steel::{self, Hazard as CoreHazard};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::errors::OrRaise;

type Any<'py> = Bound<'py, PyAny>;

/// One printed caution about a family of steels: a band of temperatures, or a rule of timing.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> any("embrittlement" in h.hazard for h in aq.steel("4140").hazards if h.touches(300))
/// True
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Hazard {
    core: CoreHazard,
    steel: String,
    index: usize,
}

impl Hazard {
    /// Every hazard of a steel.
    pub fn all(steel: &steel::Steel) -> Vec<Self> {
        let hazard =
            |(index, core): (usize, &CoreHazard)| Self { core: core.clone(), steel: steel.name().to_owned(), index };
        steel.hazards().iter().enumerate().map(hazard).collect()
    }
}

#[pymethods]
impl Hazard {
    /// What it is about.
    #[getter]
    fn hazard(&self) -> &str {
        &self.core.hazard
    }

    /// The steels it was printed for, in the source's words.
    #[getter]
    fn steel_family(&self) -> &str {
        &self.core.steel_family
    }

    /// Lower edge of the band, °C, or None.
    #[getter(from_c)]
    fn lower_edge_c(&self) -> Option<f64> {
        self.core.from_c
    }

    /// Upper edge of the band, °C, or None.
    #[getter]
    fn to_c(&self) -> Option<f64> {
        self.core.to_c
    }

    /// The rule.
    #[getter]
    fn rule(&self) -> &str {
        &self.core.rule
    }

    /// Who says so.
    #[getter]
    fn source(&self) -> &str {
        &self.core.source
    }

    /// "seen" in print, or "memory".
    #[getter]
    fn how(&self) -> &str {
        &self.core.how
    }

    /// Remarks.
    #[getter]
    fn note(&self) -> &str {
        &self.core.note
    }

    /// Whether a temper at this temperature (°C) lies where the hazard is.
    fn touches(&self, temperature_c: f64) -> bool {
        self.core.touches(temperature_c)
    }

    /// The hazard as a dict.
    fn as_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        made.set_item("hazard", self.hazard())?;
        made.set_item("steel_family", self.steel_family())?;
        made.set_item("from_c", self.lower_edge_c())?;
        made.set_item("to_c", self.to_c())?;
        made.set_item("rule", self.rule())?;
        made.set_item("source", self.source())?;
        made.set_item("how", self.how())?;
        made.set_item("note", self.note())?;
        Ok(made)
    }

    fn __str__(&self) -> String {
        self.core.text()
    }

    fn __repr__(&self) -> String {
        format!("Hazard: {}", self.core.text())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Any<'py>, (&str, usize))> {
        Ok((py.import("afterquench._native")?.getattr("_restore_hazard")?, (&self.steel, self.index)))
    }
}

/// Rebuilds a pickled hazard.
#[pyfunction]
fn _restore_hazard(py: Python<'_>, steel: &str, index: usize) -> PyResult<Hazard> {
    let known = steel::steel(steel).or_raise(py)?;
    known
        .hazards()
        .get(index)
        .map(|core| Hazard { core: core.clone(), steel: steel.to_owned(), index })
        .ok_or_else(|| pyo3::exceptions::PyValueError::new_err("this pickle is of another version"))
}

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Hazard>()?;
    module.add_function(wrap_pyfunction!(_restore_hazard, module)?)
}
