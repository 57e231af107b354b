//! Where martensite starts.

use afterquench::steel;
use pyo3::prelude::*;

use super::composition::{borrowed, percents};
use crate::errors::OrRaise;

type Any<'py> = Bound<'py, PyAny>;

/// Where martensite starts, by a formula of the composition, °C.
///
/// Parameters
/// ----------
/// composition : dict
///     Element symbol to weight per cent; carbon is needed, elements left out are not there.
/// source : {"andrews-linear", "steven-haynes", "capdevila"}
///     Whose formula; all three from memory.
///
/// Returns
/// -------
/// float
///     °C; such formulas scatter by about 15 °C.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the formula's composition.
/// UnknownNameError
///     For an unknown formula or element.
/// MissingArgumentError
///     Without carbon.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.martensite_start({"C": 0.40, "Mn": 0.70, "Ni": 1.80, "Cr": 0.80, "Mo": 0.25}), 1)
/// 305.1
#[pyfunction]
#[pyo3(signature = (composition, source="andrews-linear"))]
fn martensite_start(py: Python<'_>, composition: &Any<'_>, source: &str) -> PyResult<f64> {
    let given = percents("martensite_start", composition)?;
    let borrowed = borrowed(&given)?;
    steel::martensite_start(&borrowed, source).or_raise(py)
}

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(martensite_start, module)?)
}
