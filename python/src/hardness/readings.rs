//! Readings, their doubts, and the tester.

use afterquench::hardness::{self, Place, Spot};
use pyo3::prelude::*;

use crate::arguments::{argument_type, column};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
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
    scale: &str,
    block_value: f64,
    block_expanded_uncertainty_k2: f64,
) -> PyResult<Tester> {
    let values = values_of("tester_from_block", values)?;
    let core = hardness::Tester::from_block(&values, scale, block_value, block_expanded_uncertainty_k2).or_raise(py)?;
    Ok(Tester { core })
}

/// Something about one reading: .reading, .index, .status, .rule, .whose, .instead.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.Readings([55.0], "HRC", thickness_mm=0.6).doubts[0].status
/// 'not a valid reading'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Doubt {
    core: hardness::Doubt,
}

#[pymethods]
impl Doubt {
    /// The reading.
    #[getter]
    fn reading(&self) -> f64 {
        self.core.reading
    }

    /// Which one, from 0.
    #[getter]
    fn index(&self) -> usize {
        self.core.index
    }

    /// "doubtful" or "not a valid reading".
    #[getter]
    fn status(&self) -> &'static str {
        self.core.weight.text()
    }

    /// The rule it breaks.
    #[getter]
    fn rule(&self) -> &str {
        &self.core.rule
    }

    /// Whose rule.
    #[getter]
    fn whose(&self) -> &str {
        &self.core.whose
    }

    /// What to do instead.
    #[getter]
    fn instead(&self) -> &str {
        &self.core.instead
    }

    fn __repr__(&self) -> String {
        let doubt = &self.core;
        format!("{} {}: {} ({}). {}", doubt.reading, doubt.weight.text(), doubt.rule, doubt.whose, doubt.instead)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_doubt", &self.core)
    }
}

#[pyfunction]
fn _restore_doubt(state: &[u8]) -> PyResult<Doubt> {
    Ok(Doubt { core: restore(state)? })
}

/// Readings on one part: which can be believed, and what the hardness is.
///
/// Parameters
/// ----------
/// values : array_like
///     Readings, at least one.
/// scale : str
///     Their scale, "HV10" with its load.
/// thickness_mm, diameter_mm, edge_distance_mm : float, optional
///     Of the place: thickness under the indenter, diameter of a convex cylinder (its correction is added), distance
///     to the nearest edge; in mm.
/// place : str or list of str, optional
///     "flat", "bevel", "edge", "round", "scale on" or "decarburised"; one for all readings, or one for each.
/// tester : Tester, optional
///     From `tester_from_block`; without one the standard's permitted error is taken.
/// resolution : float, optional
///     Step of the display; 0.1 for Rockwell and 1 for the rest by default.
///
/// Raises
/// ------
/// InvalidValueError, ArgumentTypeError
///     For NaN or text among the readings, lengths that are not positive.
/// UnknownNameError
///     For an unknown scale or place.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
/// >>> readings = aq.Readings([58.7, 58.9, 59.3], "HRC", thickness_mm=2.2, place="flat, back", tester=tester)
/// >>> round(readings.mean, 2), readings.status
/// (58.97, 'valid')
/// >>> readings.estimate()
/// 59.6 HRC [58.9 .. 60.3]
/// >>> aq.Readings([55.1, 53.8], "HRC", place="on the bevel").status
/// 'not a valid reading'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Readings {
    pub core: hardness::Readings,
}

#[pymethods]
impl Readings {
    #[new]
    #[pyo3(signature = (values, scale, thickness_mm=None, diameter_mm=None, edge_distance_mm=None, place=None, tester=None, *, resolution=None))]
    #[allow(clippy::too_many_arguments)]
    fn new(
        py: Python<'_>,
        values: &Bound<'_, PyAny>,
        scale: &str,
        thickness_mm: Option<f64>,
        diameter_mm: Option<f64>,
        edge_distance_mm: Option<f64>,
        place: Option<&Bound<'_, PyAny>>,
        tester: Option<&Bound<'_, Tester>>,
        resolution: Option<f64>,
    ) -> PyResult<Self> {
        let values = values_of("Readings", values)?;
        let places = match place {
            None => Vec::new(),
            Some(place) => match place.extract::<String>() {
                Ok(one) => vec![one],
                Err(_) => place.extract::<Vec<String>>().map_err(|_| {
                    let hint = "Give one place for all readings, or a list with one for each".into();
                    argument_type(py, "Readings", "place", "it is neither text nor a list of text".into(), hint)
                })?,
            },
        };
        let places = places.iter().map(|text| Place::parse(text)).collect::<afterquench::Result<_>>().or_raise(py)?;
        let spot = Spot { thickness_mm, diameter_mm, edge_distance_mm, places, resolution };
        let tester = tester.map(|tester| tester.get().core.clone());
        Ok(Self { core: hardness::Readings::new(&values, scale, spot, tester).or_raise(py)? })
    }

    /// Every reading as it came.
    #[getter]
    fn values(&self) -> Vec<f64> {
        self.core.values().to_vec()
    }

    /// Their scale.
    #[getter]
    fn scale(&self) -> &str {
        self.core.scale()
    }

    /// The tester, if its block was read.
    #[getter]
    fn tester(&self) -> Option<Tester> {
        self.core.tester().map(|core| Tester { core: core.clone() })
    }

    /// Mean of the readings that count; the tester's bias is not taken off. No valid reading: RefusedError.
    #[getter]
    fn mean(&self, py: Python<'_>) -> PyResult<f64> {
        self.core.mean().or_raise(py)
    }

    /// Every doubt about every reading.
    #[getter]
    fn doubts(&self) -> Vec<Doubt> {
        self.core.doubts().iter().map(|core| Doubt { core: core.clone() }).collect()
    }

    /// "valid", "doubtful" or "not a valid reading".
    #[getter]
    fn status(&self) -> &'static str {
        self.core.status()
    }

    /// The hardness of the part: mean less the tester's bias, with its uncertainty.
    ///
    /// Parameters
    /// ----------
    /// scale : str, optional
    ///     Convert to this scale by one table; the default is the readings' own.
    /// table : str
    ///     The table.
    /// u_conversion : float, optional
    ///     As of `convert_hardness_estimate`.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///
    /// Raises
    /// ------
    /// RefusedError
    ///     When no reading is valid, or the tester's block is far from the readings.
    #[pyo3(signature = (scale=None, *, table="astm-e140-1", u_conversion=None))]
    fn estimate(
        &self,
        py: Python<'_>,
        scale: Option<&str>,
        table: &str,
        u_conversion: Option<f64>,
    ) -> PyResult<Estimate> {
        self.core.estimate(scale, table, u_conversion).or_raise(py).map(Estimate::from)
    }

    /// The hardness of the part by draws (JCGM 101), to set beside `estimate`, which adds variances (GUM).
    ///
    /// Parameters
    /// ----------
    /// scale, table, u_conversion
    ///     As of `estimate`; the conversion is read from the table for every draw.
    /// draws : int
    ///     How many, 1000 to 1e9.
    /// seed : int
    ///     Same seed, same bits, whatever the threads.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///     With the components of `estimate` and the distribution of the draws; `decide` takes it.
    ///
    /// Raises
    /// ------
    /// RefusedError, InvalidValueError
    ///     As `estimate`; for a number of draws outside its range.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
    /// >>> readings = aq.Readings([58.7, 58.9, 59.3], "HRC", thickness_mm=2.2, place="flat, back", tester=tester)
    /// >>> aq.decide(readings.monte_carlo(), 58, 60).verdict
    /// 'not decided'
    #[pyo3(signature = (scale=None, *, table="astm-e140-1", u_conversion=None, draws=1_000_000, seed=1))]
    fn monte_carlo(
        &self,
        py: Python<'_>,
        scale: Option<&str>,
        table: &str,
        u_conversion: Option<f64>,
        draws: usize,
        seed: u64,
    ) -> PyResult<Estimate> {
        let made = py.detach(|| self.core.monte_carlo(scale, table, u_conversion, draws, seed));
        made.or_raise(py).map(Estimate::from)
    }

    fn __len__(&self) -> usize {
        self.core.values().len()
    }

    fn __repr__(&self) -> String {
        let values: Vec<String> = self.core.values().iter().map(ToString::to_string).collect();
        format!("Readings([{}] {}: {})", values.join(", "), self.core.scale(), self.core.status())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_readings", &self.core)
    }
}

#[pyfunction]
fn _restore_readings(state: &[u8]) -> PyResult<Readings> {
    Ok(Readings { core: restore(state)? })
}

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
fn readings_needed(py: Python<'_>, half_width: f64, sd: f64, coverage: f64) -> PyResult<usize> {
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

/// Adds classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Tester>()?;
    module.add_class::<Doubt>()?;
    module.add_class::<Readings>()?;
    module.add_function(wrap_pyfunction!(_restore_tester, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_doubt, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_readings, module)?)?;
    module.add_function(wrap_pyfunction!(tester_from_block, module)?)?;
    module.add_function(wrap_pyfunction!(readings_needed, module)?)?;
    module.add_function(wrap_pyfunction!(mean_half_width, module)?)
}
