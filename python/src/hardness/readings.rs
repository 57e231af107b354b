//! Readings and their doubts.

use afterquench::hardness::{self, Place, Spot};
use pyo3::prelude::*;

use super::tester::{Tester, TesterBlocks, values_of};
use crate::arguments::argument_type;
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

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
///     "flat", "bevel", "edge", "round", "rough", "scale on", "decarburised" or "mark on the back"; one for all readings,
///     or one for each.
/// tester : Tester or TesterBlocks, optional
///     From `tester_from_block` or `tester_from_blocks`; without one the standard's permitted error is taken.
/// resolution : float, optional
///     Step of the display; 0.1 for Rockwell and 1 for the rest by default.
/// roughness_um : float, optional
///     Roughness Ra of the surface, µm. An indentation less than twenty times as deep is doubtful (ISO 14577-1, from
///     memory, taken over by common practice), less than ten times no valid reading (common practice, no source).
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
/// >>> aq.Readings([700], "HV0.5", place="flat").cautions[1]
/// 'the diagonal is 36.4 µm: 1 µm misread is 38 HV'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Readings {
    pub core: hardness::Readings,
}

#[pymethods]
impl Readings {
    #[new]
    #[pyo3(signature = (values, scale, thickness_mm=None, diameter_mm=None, edge_distance_mm=None, place=None, tester=None, *, resolution=None, roughness_um=None))]
    #[allow(clippy::too_many_arguments)]
    fn new(
        py: Python<'_>,
        values: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = given::readings::scale)] scale: &str,
        #[pyo3(from_py_with = given::readings::thickness_mm)] thickness_mm: Option<f64>,
        #[pyo3(from_py_with = given::readings::diameter_mm)] diameter_mm: Option<f64>,
        #[pyo3(from_py_with = given::readings::edge_distance_mm)] edge_distance_mm: Option<f64>,
        place: Option<&Bound<'_, PyAny>>,
        tester: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = given::readings::resolution)] resolution: Option<f64>,
        #[pyo3(from_py_with = given::readings::roughness_um)] roughness_um: Option<f64>,
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
        let spot = Spot { thickness_mm, diameter_mm, edge_distance_mm, places, resolution, roughness_um };
        let made = match tester {
            None => hardness::Readings::new(&values, scale, spot, None),
            Some(given) => match (given.cast::<Tester>(), given.cast::<TesterBlocks>()) {
                (Ok(one), _) => hardness::Readings::new(&values, scale, spot, Some(one.get().core.clone())),
                (_, Ok(several)) => hardness::Readings::with_blocks(&values, scale, spot, &several.get().core),
                _ => {
                    let hint = "Give what tester_from_block or tester_from_blocks made".into();
                    return Err(argument_type(py, "Readings", "tester", "it is no tester".into(), hint));
                }
            },
        };
        Ok(Self { core: made.or_raise(py)? })
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

    /// What to know even where nothing is in doubt: the thickness the softest reading needs, what an error of reading is
    /// worth on this scale.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions()
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
        #[pyo3(from_py_with = given::readings_estimate::scale)] scale: Option<&str>,
        #[pyo3(from_py_with = given::readings_estimate::table)] table: &str,
        #[pyo3(from_py_with = given::readings_estimate::u_conversion)] u_conversion: Option<f64>,
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
    /// Notes
    /// -----
    /// A few readings say little of their scatter. Where one block was read it is pooled with theirs, unless the part scatters
    /// more than the block (1 % point of F); where none was, it is what they say, below what the standard permits a tester.
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
        #[pyo3(from_py_with = given::monte_carlo::scale)] scale: Option<&str>,
        #[pyo3(from_py_with = given::monte_carlo::table)] table: &str,
        #[pyo3(from_py_with = given::monte_carlo::u_conversion)] u_conversion: Option<f64>,
        #[pyo3(from_py_with = given::monte_carlo::draws)] draws: usize,
        #[pyo3(from_py_with = given::monte_carlo::seed)] seed: u64,
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

/// Adds classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Doubt>()?;
    module.add_class::<Readings>()?;
    module.add_function(wrap_pyfunction!(_restore_doubt, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_readings, module)?)
}
