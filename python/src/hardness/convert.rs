//! `convert_hardness` and its twin.

use std::sync::{Arc, RwLock};

use afterquench::Error;
use afterquench::hardness::{Bracketed, Conversion};
use afterquench::kernel::ArrayModel;
use numpy::PyReadonlyArrayDyn;
use pyo3::prelude::*;

use crate::arguments::{measured, refuse_extrapolated};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::given;
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

/// Pairs that were asked for, by the words of the call: a scalar call compares four words and is there.
struct Entry {
    words: [String; 3],
    policy: Bracketed,
    conversion: Conversion,
    model: Py<Model>,
}

static ENTRIES: RwLock<Vec<Arc<Entry>>> = RwLock::new(Vec::new());

/// More pairs than a program uses; a caller that makes up ever new spellings must not fill the memory.
const KEPT: usize = 256;

fn entry(py: Python<'_>, from: &str, to: &str, table: &str, policy: Bracketed) -> PyResult<Arc<Entry>> {
    let is_it = |entry: &&Arc<Entry>| {
        entry.words[0] == from && entry.words[1] == to && entry.words[2] == table && entry.policy == policy
    };
    if let Some(found) = ENTRIES.read().ok().and_then(|entries| entries.iter().find(is_it).cloned()) {
        return Ok(found);
    }
    let conversion = Conversion::new(from, to, table, policy).or_raise(py)?;
    let model: Arc<dyn ArrayModel> = Arc::new(conversion.clone());
    let model = Py::new(py, Model::new(py, model, "convert_hardness")?)?;
    let words = [from.to_owned(), to.to_owned(), table.to_owned()];
    let made = Arc::new(Entry { words, policy, conversion, model });
    if let Ok(mut entries) = ENTRIES.write() {
        if entries.len() >= KEPT {
            entries.clear();
        }
        entries.push(Arc::clone(&made));
    }
    Ok(made)
}

/// What `bracketed=` asks for: the core's policy, and whether to warn.
fn policy(py: Python<'_>, text: &str) -> PyResult<(Bracketed, bool)> {
    match text {
        "warn" => Ok((Bracketed::Use, true)),
        "accept" => Ok((Bracketed::Use, false)),
        "raise" => Ok((Bracketed::Refuse, true)),
        other => Err(raised(
            py,
            &Error::UnknownName {
                kind: "bracketed policy".into(),
                name: other.to_owned(),
                close: Vec::new(),
                hint: "It is \"warn\", \"raise\" or \"accept\"".into(),
            },
        )),
    }
}

/// Warns with the package's own category.
pub fn warn(py: Python<'_>, text: &str) -> PyResult<()> {
    let category = py.import("afterquench.errors")?.getattr("AfterquenchWarning")?;
    py.import("warnings")?.getattr("warn")?.call1((text, category, 2))?;
    Ok(())
}

/// The first caution among the values; lazy arrays are not computed for it.
fn first_caution(py: Python<'_>, conversion: &Conversion, value: &Any<'_>) -> Option<String> {
    if let Ok(value) = value.extract::<f64>() {
        return conversion.caution(value);
    }
    if value.hasattr("__dask_graph__").unwrap_or(true) {
        return None;
    }
    let array = py.import("numpy").ok()?.getattr("asarray").ok()?.call1((value, "float64")).ok()?;
    let array: PyReadonlyArrayDyn<'_, f64> = array.extract().ok()?;
    array.as_array().iter().find_map(|value| conversion.caution(*value))
}

/// Hardness on another scale, by one printed table.
///
/// Parameters
/// ----------
/// value : array_like
///     Hardness on `from_scale` (tensile strength in MPa for "Rm").
/// from_scale, to_scale : str
///     Scales as written: "HRC", "HV10", "HBW10/3000" …; see `hardness_scales`.
/// table : str
///     The printed table, see `conversion_tables`; tables differ, so it is named.
/// out_of_range : {"raise", "nan"}
///     What to do with a value outside the table's rows.
/// bracketed : {"warn", "raise", "accept"}
///     What to do where the table prints in brackets, outside the range of a scale: warn, treat as blank, or take it
///     without any warning.
/// out, where
///     As of any NumPy ufunc; where= without out= fills with NaN.
///
/// Returns
/// -------
/// float or array_like
///     The converted hardness, linear between printed rows; a plain float for plain numbers.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the rows that print both scales: tables are never extrapolated.
/// NoAnswerError
///     In a blank of a column.
/// RefusedError
///     For a pair the table does not print.
/// UnknownNameError
///     For an unknown scale or table.
///
/// Warns
/// -----
/// AfterquenchWarning
///     For bracketed values, and for Brinell above 450, which hardly ever suits a blade.
///
/// Notes
/// -----
/// A bare number can't know that it was converted before: never feed a result in again, the errors add. The
/// `convert_hardness_estimate` twin refuses that. Sources: ASTM E140, ISO 18265, SAE J417, ASTM A370.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.convert_hardness(690, "HV10", "HRC"), 2)
/// 59.7
#[pyfunction]
#[pyo3(signature = (value, from_scale, to_scale, table="astm-e140-1", out_of_range=None, *, bracketed="warn", out=None, r#where=None))]
#[allow(clippy::too_many_arguments)]
fn convert_hardness<'py>(
    py: Python<'py>,
    value: &Any<'py>,
    #[pyo3(from_py_with = given::convert_hardness::from_scale)] from_scale: &str,
    #[pyo3(from_py_with = given::convert_hardness::to_scale)] to_scale: &str,
    #[pyo3(from_py_with = given::convert_hardness::table)] table: &str,
    #[pyo3(from_py_with = given::convert_hardness::out_of_range)] out_of_range: Option<&str>,
    #[pyo3(from_py_with = given::convert_hardness::bracketed)] bracketed: &str,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let (policy, warns) = policy(py, bracketed)?;
    let entry = entry(py, from_scale, to_scale, table, policy)?;
    let options = Options {
        raises: raises(py, "convert_hardness", out_of_range)?,
        out,
        mask: r#where,
        unit: entry.conversion.to().scale.name(),
        long_name: "hardness",
    };
    let result = Model::call(&entry.model, py, &[value], &options)?;
    if warns && entry.conversion.may_need_caution() {
        if let Some(caution) = first_caution(py, &entry.conversion, value) {
            warn(py, &caution)?;
        }
    }
    Ok(result)
}

/// Hardness on another scale with its uncertainty and what was assumed.
///
/// Parameters
/// ----------
/// value : float or Estimate
///     Hardness on `from_scale`; an Estimate brings its uncertainty.
/// from_scale, to_scale, table, bracketed
///     As of `convert_hardness`; a bracketed value stands in `.assumptions` instead of a warning.
/// u_conversion : float, optional
///     One standard uncertainty of the conversion itself on `to_scale`; the default is ±1.0 HRC at k = 2 (an
///     assumption, no source) carried to the scale by the table's slope.
///
/// Returns
/// -------
/// Estimate
///     With the table in `.tables` and "converted from …" in `.assumptions`; of a scale to itself, the value as it is.
///
/// Raises
/// ------
/// RefusedError
///     For an Estimate that already went through a table (unless both scales are one), or is on another scale.
/// OutOfRangeError, NoAnswerError, UnknownNameError
///     As of `convert_hardness`.
/// MissingArgumentError
///     Where no spread is known and `u_conversion` is not given.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> hrc = aq.convert_hardness_estimate(aq.Estimate(690, 7.5, "HV10"), "HV10", "HRC")
/// >>> round(hrc.value, 1), round(2 * hrc.u, 1)
/// (59.7, 1.2)
/// >>> hrc.assumptions[0]
/// 'converted from HV10 through astm-e140-1'
#[pyfunction]
#[pyo3(signature = (value, from_scale, to_scale, table="astm-e140-1", *, u_conversion=None, bracketed="warn"))]
fn convert_hardness_estimate(
    py: Python<'_>,
    value: &Any<'_>,
    #[pyo3(from_py_with = given::convert_hardness_estimate::from_scale)] from_scale: &str,
    #[pyo3(from_py_with = given::convert_hardness_estimate::to_scale)] to_scale: &str,
    #[pyo3(from_py_with = given::convert_hardness_estimate::table)] table: &str,
    #[pyo3(from_py_with = given::convert_hardness_estimate::u_conversion)] u_conversion: Option<f64>,
    #[pyo3(from_py_with = given::convert_hardness_estimate::bracketed)] bracketed: &str,
) -> PyResult<Estimate> {
    let entry = entry(py, from_scale, to_scale, table, policy(py, bracketed)?.0)?;
    let core = match value.cast::<Estimate>() {
        Ok(estimate) => {
            refuse_extrapolated(py, "convert_hardness_estimate", "value", &estimate.get().core, false)?;
            estimate.get().core.clone()
        }
        Err(_) => {
            let number = measured("convert_hardness_estimate", "value", value, false)?.value;
            afterquench::Estimate::new(number, entry.conversion.from().text.clone())
        }
    };
    entry.conversion.estimate(&core, u_conversion).or_raise(py).map(Estimate::from)
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(convert_hardness, module)?)?;
    module.add_function(wrap_pyfunction!(convert_hardness_estimate, module)?)
}
