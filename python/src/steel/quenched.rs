//! Hardness of quenched steel by carbon and martensite.

use std::sync::Arc;

use afterquench::kernel::ArrayModel;
use afterquench::steel::{AsQuenchedHardness, QuenchedTable, as_quenched_hardness_estimate as quenched_estimate};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyFloat;

use crate::arguments::number;
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

fn quenched_model(py: Python<'_>, table: QuenchedTable) -> PyResult<&Py<Model>> {
    static HODGE_OREHOSKI: PyOnceLock<Py<Model>> = PyOnceLock::new();
    static ASTM_A255: PyOnceLock<Py<Model>> = PyOnceLock::new();
    let cell = match table {
        QuenchedTable::HodgeOrehoski => &HODGE_OREHOSKI,
        QuenchedTable::AstmA255 => &ASTM_A255,
    };
    cell.get_or_try_init(py, || {
        let model: Arc<dyn ArrayModel> = Arc::new(AsQuenchedHardness(table));
        Py::new(py, Model::new(py, model, "as_quenched_hardness")?)
    })
}

/// Hardness of quenched steel by carbon and share of martensite, HRC.
///
/// Parameters
/// ----------
/// carbon_percent : float or array-like
///     Carbon dissolved in the austenite, weight per cent; 0.18 to 0.53 (Hodge and Orehoski) or 0.10 to 0.54 (ASTM A255).
/// martensite : float or array-like
///     Share of martensite, 0.5 to 0.99 (Hodge and Orehoski), 0.5 or 1 (ASTM A255).
/// table : {"hodge-orehoski", "astm-a255"}
///     Both from memory. ASTM A255 stops at 60 HRC above 0.5 % C by convention.
/// out_of_range : {"raise", "nan"}
///     What an element outside the table does.
/// out, where
///     As of a NumPy ufunc.
///
/// Returns
/// -------
/// float or array
///     HRC; real steels lie within about ±2 of it (assumption).
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the table: high-carbon steels are not in it, see `Steel.as_quenched_hrc`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.as_quenched_hardness(0.43)
/// 57.0
#[pyfunction]
#[pyo3(signature = (carbon_percent, martensite=None, *, table="hodge-orehoski", out_of_range=None, out=None, r#where=None))]
#[pyo3(
    text_signature = "(carbon_percent, martensite=0.99, *, table='hodge-orehoski', out_of_range=None, out=None, where=None)"
)]
fn as_quenched_hardness<'py>(
    py: Python<'py>,
    carbon_percent: &Any<'py>,
    martensite: Option<&Any<'py>>,
    table: &str,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let options = Options {
        raises: raises(py, "as_quenched_hardness", out_of_range)?,
        out,
        mask: r#where,
        unit: "HRC",
        long_name: "as-quenched hardness",
    };
    let usual = PyFloat::new(py, USUAL_MARTENSITE).into_any();
    let model = quenched_model(py, QuenchedTable::named(table).or_raise(py)?)?;
    Model::call(model, py, &[carbon_percent, martensite.unwrap_or(&usual)], &options)
}

/// The share of martensite taken where none is given.
const USUAL_MARTENSITE: f64 = 0.99;

/// Hardness of quenched steel by carbon and share of martensite, with its uncertainty.
///
/// Parameters
/// ----------
/// carbon_percent, martensite : float
///     As of `as_quenched_hardness`.
/// table : {"hodge-orehoski", "astm-a255"}
///     As of `as_quenched_hardness`.
///
/// Returns
/// -------
/// Estimate
///     In HRC, component "table".
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the table.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.as_quenched_hardness_estimate(0.43)
/// 57.0 HRC [55.0 .. 59.0]
#[pyfunction]
#[pyo3(signature = (carbon_percent, martensite=0.99, *, table="hodge-orehoski"))]
fn as_quenched_hardness_estimate(
    py: Python<'_>,
    carbon_percent: &Any<'_>,
    martensite: f64,
    table: &str,
) -> PyResult<Estimate> {
    let carbon = number("as_quenched_hardness_estimate", "carbon_percent", carbon_percent)?;
    let table = QuenchedTable::named(table).or_raise(py)?;
    quenched_estimate(carbon, martensite, table).or_raise(py).map(Estimate::from)
}

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(as_quenched_hardness, module)?)?;
    module.add_function(wrap_pyfunction!(as_quenched_hardness_estimate, module)?)
}
