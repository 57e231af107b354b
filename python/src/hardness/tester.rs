//! The tester, as one reference block or several show it.

use afterquench::hardness::{self, ScaleName};
use pyo3::prelude::*;

use crate::arguments::{argument_type, column};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

/// One number or several, as readings.
pub fn values_of(function: &'static str, given: &Bound<'_, PyAny>) -> PyResult<Vec<f64>> {
    match given.extract::<f64>() {
        Ok(one) => Ok(vec![one]),
        Err(_) => column(function, "values", given),
    }
}

/// A tester as readings on a reference block show it; made by `tester_from_block`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5).advice
/// 'bias -0.60 ± 0.52 HRC (k=2): add +0.60 HRC to readings near 60.2; outside the limits of the standard: have the tester looked at'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Tester {
    pub core: hardness::Tester,
}

#[pymethods]
impl Tester {
    /// The scale it was checked on.
    #[getter]
    fn scale(&self) -> &str {
        &self.core.scale
    }

    /// The block's certified value.
    #[getter]
    fn block_value(&self) -> f64 {
        self.core.block_value
    }

    /// Mean of the readings less the block's value, an Estimate; valid near the block only.
    #[getter]
    fn bias(&self) -> Estimate {
        self.core.bias.clone().into()
    }

    /// Standard deviation of one reading; NaN for a single one.
    #[getter]
    fn repeatability(&self) -> f64 {
        self.core.repeatability
    }

    /// Largest reading less smallest: what the standard calls repeatability.
    #[getter]
    fn range(&self) -> f64 {
        self.core.range
    }

    /// Whether range and bias keep the limits of ASTM E18-19; None where no limits are known.
    #[getter]
    fn within_limits(&self) -> Option<bool> {
        self.core.within_limits
    }

    /// Those limits: largest range, largest error, whose.
    #[getter]
    fn limits(&self) -> Option<(f64, f64, String)> {
        self.core.limits.as_ref().map(|limits| (limits.max_range, limits.max_error, limits.whose.clone()))
    }

    /// The two blocks it is taken between, where several were read: .block_value is then the value asked about.
    #[getter]
    fn between(&self) -> Option<(f64, f64)> {
        self.core.between
    }

    /// What to do with the bias, in words.
    #[getter]
    fn advice(&self) -> String {
        self.core.advice()
    }

    fn __repr__(&self) -> String {
        format!("Tester({} at {}: {})", self.core.scale, self.core.block_value, self.core.advice())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_tester", &self.core)
    }
}

#[pyfunction]
fn _restore_tester(state: &[u8]) -> PyResult<Tester> {
    Ok(Tester { core: restore(state)? })
}

/// What a tester does wrong near a reference block's value.
///
/// Parameters
/// ----------
/// values : array_like
///     Readings on the block.
/// scale : str
///     Their scale.
/// block_value : float
///     The block's certified value.
/// block_expanded_uncertainty_k2 : float
///     Its expanded uncertainty (k = 2), from the certificate.
///
/// Returns
/// -------
/// Tester
///     With .bias (u² = (U/2)² + s²/n), .repeatability, .within_limits (ASTM E18-19).
///
/// Raises
/// ------
/// InvalidValueError
///     For readings or an uncertainty that are no numbers.
/// RefusedError
///     For readings too far off to be of that block.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
/// >>> round(tester.bias.value, 2), round(tester.bias.u, 3)
/// (-0.6, 0.26)
#[pyfunction]
fn tester_from_block(
    py: Python<'_>,
    values: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = given::tester_from_block::scale)] scale: &str,
    #[pyo3(from_py_with = given::tester_from_block::block_value)] block_value: f64,
    #[pyo3(from_py_with = given::tester_from_block::block_expanded_uncertainty_k2)] block_expanded_uncertainty_k2: f64,
) -> PyResult<Tester> {
    let values = values_of("tester_from_block", values)?;
    let core = hardness::Tester::from_block(&values, scale, block_value, block_expanded_uncertainty_k2).or_raise(py)?;
    Ok(Tester { core })
}

/// A tester as several reference blocks of one scale show it; made by `tester_from_blocks`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> soft = aq.tester_from_block([44.8, 45.0, 44.9, 45.1, 44.7], "HRC", 45.1, 0.4)
/// >>> hard = aq.tester_from_block([62.0, 61.7, 61.9, 61.8, 62.1], "HRC", 62.5, 0.5)
/// >>> round(aq.tester_from_blocks([soft, hard]).at(53.8).bias.value, 3)
/// -0.4
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct TesterBlocks {
    pub core: hardness::TesterBlocks,
}

#[pymethods]
impl TesterBlocks {
    /// What each block showed, softest first.
    #[getter]
    fn testers(&self) -> Vec<Tester> {
        self.core.testers().iter().map(|core| Tester { core: core.clone() }).collect()
    }

    /// Whether every block keeps the limits of ASTM E18-19; None where no limits are known for one of them.
    #[getter]
    fn within_limits(&self) -> Option<bool> {
        self.core.within_limits()
    }

    /// The tester at a value: its bias goes straight from block to block, and holds near the outer blocks.
    ///
    /// Raises
    /// ------
    /// RefusedError
    ///     For a value beyond the outer blocks and not near them.
    fn at(&self, py: Python<'_>, value: f64) -> PyResult<Tester> {
        let scale = ScaleName::parse(self.core.scale()).or_raise(py)?;
        Ok(Tester { core: self.core.at(&scale, value).or_raise(py)? })
    }

    fn __repr__(&self) -> String {
        let one = |tester: &hardness::Tester| format!("{:+.2} at {}", tester.bias.value(), tester.block_value);
        let blocks: Vec<String> = self.core.testers().iter().map(one).collect();
        format!("TesterBlocks({}: {})", self.core.scale(), blocks.join(", "))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_tester_blocks", &self.core)
    }
}

#[pyfunction]
fn _restore_tester_blocks(state: &[u8]) -> PyResult<TesterBlocks> {
    Ok(TesterBlocks { core: restore(state)? })
}

/// A tester that several reference blocks of one scale were read on.
///
/// Parameters
/// ----------
/// blocks : list of Tester
///     What `tester_from_block` made of each block.
///
/// Returns
/// -------
/// TesterBlocks
///     `Readings` take it as tester=: the bias at their mean goes straight from block to block (common practice, no
///     source), with what that leaves open.
///
/// Raises
/// ------
/// MissingArgumentError, RefusedError
///     Without blocks; for blocks on several scales or of one value.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> soft = aq.tester_from_block([44.8, 45.0, 44.9, 45.1, 44.7], "HRC", 45.1, 0.4)
/// >>> hard = aq.tester_from_block([62.0, 61.7, 61.9, 61.8, 62.1], "HRC", 62.5, 0.5)
/// >>> tester = aq.tester_from_blocks([hard, soft])
/// >>> tester
/// TesterBlocks(HRC: -0.20 at 45.1, -0.60 at 62.5)
/// >>> readings = aq.Readings([53.6, 53.9, 53.7], "HRC", thickness_mm=3, place="flat", tester=tester)
/// >>> round(readings.estimate().value, 2)
/// 54.13
#[pyfunction]
fn tester_from_blocks(py: Python<'_>, blocks: &Bound<'_, PyAny>) -> PyResult<TesterBlocks> {
    let read: Vec<Bound<'_, Tester>> = blocks.extract().map_err(|_| {
        let hint = "Give a list of what tester_from_block made of each block".to_owned();
        argument_type(py, "tester_from_blocks", "blocks", "it is no list of testers".to_owned(), hint)
    })?;
    let testers = read.iter().map(|tester| tester.get().core.clone()).collect();
    Ok(TesterBlocks { core: hardness::TesterBlocks::new(testers).or_raise(py)? })
}

/// Adds classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Tester>()?;
    module.add_class::<TesterBlocks>()?;
    module.add_function(wrap_pyfunction!(_restore_tester, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_tester_blocks, module)?)?;
    module.add_function(wrap_pyfunction!(tester_from_block, module)?)?;
    module.add_function(wrap_pyfunction!(tester_from_blocks, module)?)
}
