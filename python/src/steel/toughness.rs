//! Impact energies and temper colours as sources print them, and the cautions for a bare composition.

use afterquench::steel::{self, COLOURS_DEPEND_ON, ToughnessSeries as CoreSeries};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::composition::{borrowed, percents};
use super::hazard::Hazard;
use crate::errors::OrRaise;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// Impact energy after tempering of one steel, by one test, from one source and one hardening.
///
/// Energies of different notches are different quantities: within a series they compare, between series of two tests never.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [series.test for series in aq.toughness("S7")]
/// ['Charpy C-notch', 'Charpy unnotched']
/// >>> aq.toughness("O1")[0].joule[:3]
/// [19.0, 38.0, 41.0]
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct ToughnessSeries {
    core: CoreSeries,
}

#[pymethods]
impl ToughnessSeries {
    /// The steel as the source names it.
    #[getter]
    fn grade(&self) -> &str {
        &self.core.grade
    }

    /// The test, with its notch.
    #[getter]
    fn test(&self) -> &str {
        &self.core.test
    }

    /// Whose figures.
    #[getter]
    fn source(&self) -> &str {
        &self.core.source
    }

    /// Hardening temperature, °C, or None.
    #[getter]
    fn austenitize_c(&self) -> Option<f64> {
        self.core.austenitize_c
    }

    /// Tempering temperatures, °C, coolest first; None where the source names a treatment instead.
    #[getter]
    fn temperature_c(&self) -> Vec<Option<f64>> {
        self.core.points.iter().map(|point| point.0).collect()
    }

    /// Impact energies, J.
    #[getter]
    fn joule(&self) -> Vec<f64> {
        self.core.points.iter().map(|point| point.1).collect()
    }

    /// Hardness beside each energy, HRC, or None.
    #[getter]
    fn hrc(&self) -> Vec<Option<f64>> {
        self.core.points.iter().map(|point| point.2).collect()
    }

    /// Remarks.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.core.notes.clone()
    }

    fn __repr__(&self) -> String {
        let count = self.core.points.len();
        format!("ToughnessSeries({}, {}, {count} points, {})", self.core.grade, self.core.test, self.core.source)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_toughness", &self.core)
    }
}

/// Rebuilds a pickled series.
#[pyfunction]
fn _restore_toughness(state: &[u8]) -> PyResult<ToughnessSeries> {
    Ok(ToughnessSeries { core: restore(state)? })
}

/// Impact energies that are printed for a steel, one series for each test, source and hardening.
///
/// Parameters
/// ----------
/// steel : str
///     Its name.
///
/// Returns
/// -------
/// list of ToughnessSeries
///     Empty for a steel of which no figures are known here. Single sheets, without scatter: for comparison along one
///     series only.
///
/// Raises
/// ------
/// UnknownNameError
///     For a steel that is not known.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> series = aq.toughness("42CrMo4")[0]
/// >>> series.test, series.joule[3], series.joule[-1]
/// ('KV (V notch)', 27.0, 135.0)
#[pyfunction]
fn toughness(py: Python<'_>, steel: &str) -> PyResult<Vec<ToughnessSeries>> {
    let known = steel::steel(steel).or_raise(py)?;
    let series = steel::toughness(known).or_raise(py)?;
    Ok(series.into_iter().map(|core| ToughnessSeries { core }).collect())
}

/// Temper colours as lists print them, each list beside the others.
///
/// Returns
/// -------
/// list of dict
///     colour, temperature_c (°C), hold, source, how ("seen" or "memory"), note; in the order of the lists.
///
/// Notes
/// -----
/// A colour depends on time as well as temperature, on alloy, finish and atmosphere, and how it looks on the light. Lists
/// disagree by up to 40 °C; not for stainless or high-speed steel, and never the only control.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [row["temperature_c"] for row in aq.temper_colours() if row["colour"] == "brown"]
/// [260.0, 260.0, 250.0, 240.0]
#[pyfunction]
fn temper_colours(py: Python<'_>) -> PyResult<Vec<Bound<'_, PyDict>>> {
    let rows = steel::temper_colours().or_raise(py)?;
    rows.iter()
        .map(|row| {
            let made = PyDict::new(py);
            made.set_item("colour", &row.colour)?;
            made.set_item("temperature_c", row.temperature_c)?;
            made.set_item("hold", &row.hold)?;
            made.set_item("source", &row.source)?;
            made.set_item("how", &row.how)?;
            made.set_item("note", &row.note)?;
            Ok(made)
        })
        .collect()
}

/// The printed cautions for a steel of which only the composition is known, every source kept.
///
/// Parameters
/// ----------
/// composition : dict
///     Element symbol to weight per cent; carbon is needed. The family is drawn from it where trade lists draw it
///     (limits are ours).
///
/// Returns
/// -------
/// list of Hazard
///     As `Steel.hazards`. Over 1.5 % silicon the rows on tempered martensite embrittlement say that their band lies higher.
///
/// Raises
/// ------
/// MissingArgumentError
///     Without carbon.
/// InvalidValueError
///     For a content that is negative or not finite.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> found = aq.hazards_of_composition({"C": 0.6, "Mn": 0.85, "Cr": 0.8})
/// >>> sum(h.hazard == "tempered martensite embrittlement" and h.touches(300) for h in found) > 1
/// True
#[pyfunction]
fn hazards_of_composition(py: Python<'_>, composition: &Any<'_>) -> PyResult<Vec<Hazard>> {
    let given = percents("hazards_of_composition", composition)?;
    let borrowed = borrowed(&given)?;
    Ok(Hazard::all(&steel::hazards_of_composition(&borrowed).or_raise(py)?))
}

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<ToughnessSeries>()?;
    module.add("_COLOURS_DEPEND_ON", COLOURS_DEPEND_ON)?;
    module.add_function(wrap_pyfunction!(_restore_toughness, module)?)?;
    module.add_function(wrap_pyfunction!(toughness, module)?)?;
    module.add_function(wrap_pyfunction!(temper_colours, module)?)?;
    module.add_function(wrap_pyfunction!(hazards_of_composition, module)?)
}
