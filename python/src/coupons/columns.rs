//! Tables of coupons as people hold them: a path, a text, a frame, a dict of columns; and the options they share.

use afterquench::Estimate as CoreEstimate;
use afterquench::curve::TemperingCurve as CoreCurve;
use afterquench::curve::fit::{Coupon, TextColumn, bias_of_block, bias_of_blocks, read_coupon_file, read_coupons};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyString};

use crate::arguments::argument_type;
use crate::curve::TemperingCurve;
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::hardness::{Tester, TesterBlocks};

type Any<'py> = Bound<'py, PyAny>;

/// The coupons of whatever the caller calls a table.
pub(super) fn coupons(function: &str, argument: &str, given: &Any<'_>) -> PyResult<Vec<Coupon>> {
    let py = given.py();
    if let Ok(bytes) = given.cast::<PyBytes>() {
        return read_coupon_file(bytes.as_bytes(), "coupons").or_raise(py);
    }
    if given.is_instance_of::<PyString>() || given.hasattr("__fspath__")? {
        let path: std::path::PathBuf = given.extract()?;
        let bytes = std::fs::read(&path).map_err(|error| file_error(py, &path, &error))?;
        let name = path.file_name().map_or_else(|| "coupons".into(), |name| name.to_string_lossy().into_owned());
        return read_coupon_file(&bytes, &name).or_raise(py);
    }
    if given.hasattr("read")? {
        let text = given.call_method0("read")?;
        let bytes: Vec<u8> = text.extract::<String>().map(String::into_bytes).or_else(|_| text.extract::<Vec<u8>>())?;
        return read_coupon_file(&bytes, "coupons").or_raise(py);
    }
    read_coupons(&text_columns(function, argument, given)?, "coupons").or_raise(py)
}

/// An OSError with its number and file, as Python's own `open` gives it.
fn file_error(py: Python<'_>, path: &std::path::Path, error: &std::io::Error) -> PyErr {
    let raised = || -> PyResult<PyErr> {
        let class = py.import("builtins")?.getattr("OSError")?;
        let text = py.import("os")?.call_method1("strerror", (error.raw_os_error().unwrap_or(5),))?;
        Ok(PyErr::from_value(class.call1((error.raw_os_error().unwrap_or(5), text, path))?))
    };
    raised().unwrap_or_else(|failure| failure)
}

/// A frame (pandas, polars) or a dict of columns, each cell as its text.
pub(super) fn text_columns(function: &str, argument: &str, given: &Any<'_>) -> PyResult<Vec<TextColumn>> {
    let py = given.py();
    let is_frame = given.hasattr("columns")? && given.hasattr("__getitem__")?;
    if !is_frame && !given.is_instance_of::<PyDict>() {
        let kind = given.get_type().name()?.to_string();
        let hint = "Give a path, a DataFrame, a dict of columns, or the text as bytes".to_owned();
        return Err(argument_type(py, function, argument, format!("a {kind} is no table of coupons"), hint));
    }
    let names = if is_frame { given.getattr("columns")? } else { given.call_method0("keys")? };
    let mut made: Vec<TextColumn> = Vec::new();
    for name in names.try_iter()? {
        let name = name?;
        let mut cells = Vec::new();
        for cell in given.get_item(&name)?.try_iter().map_err(|_| {
            let why = format!("its column {name} is no list");
            argument_type(py, function, argument, why, "Give each column as a list or an array".into())
        })? {
            let cell = cell?;
            cells.push(if cell.is_none() { String::new() } else { cell.str()?.to_string() });
        }
        made.push((name.str()?.to_string(), cells));
    }
    let rows: Vec<usize> = made.iter().map(|(_, cells)| cells.len()).collect();
    if rows.windows(2).any(|pair| matches!(pair, [a, b] if a != b)) {
        let why = format!("its columns have {rows:?} rows");
        return Err(argument_type(py, function, argument, why, "Give columns of one length".into()));
    }
    Ok(made)
}

/// The base curve: one of the caller's own, or a steel's default.
pub(super) fn base(function: &str, curve: Option<&Any<'_>>, steel: Option<&Any<'_>>) -> PyResult<Option<CoreCurve>> {
    match (curve, steel) {
        (None, None) => Ok(None),
        (Some(given), None) => {
            let Ok(curve) = given.cast::<TemperingCurve>() else {
                let why = format!("a {} is no TemperingCurve", given.get_type().name()?);
                let hint = "Give a TemperingCurve; a steel or its name goes into steel=".to_owned();
                return Err(argument_type(given.py(), function, "curve", why, hint));
            };
            Ok(Some(curve.get().core.as_ref().clone()))
        }
        (None, Some(steel)) => {
            let py = steel.py();
            let name: String = steel.extract().or_else(|_| steel.getattr("name")?.extract()).map_err(|_| {
                let why = "it is neither a steel nor its name".to_owned();
                argument_type(py, function, "steel", why, "Give a name or a Steel; a curve goes into curve=".into())
            })?;
            let found = afterquench::steel::steel(&name).or_raise(py)?;
            Ok(Some(found.default_curve().or_raise(py)?.curve.as_ref().clone()))
        }
        (Some(_), Some(steel)) => {
            let why = "there is a curve too".to_owned();
            Err(argument_type(steel.py(), function, "steel", why, "Give curve= or steel=, not both".into()))
        }
    }
}

/// The bias that all readings share: a tester, used near its blocks only, or an Estimate of the bias at one's own risk. Of
/// several blocks the coupons are brought to the bias at their mean first.
pub(super) fn bias(
    function: &str,
    given: Option<&Any<'_>>,
    coupons: &mut Vec<Coupon>,
) -> PyResult<Option<CoreEstimate>> {
    let Some(given) = given else { return Ok(None) };
    let py = given.py();
    if let Ok(estimate) = given.cast::<Estimate>() {
        let bias = &estimate.get().core;
        if bias.unit() != "HRC" {
            let why = format!("its bias is in {}, the coupons are in HRC", bias.unit());
            let hint = "Give the bias as Estimate(bias, u, \"HRC\")".to_owned();
            return Err(argument_type(py, function, "tester", why, hint));
        }
        return Ok(Some(bias.clone()));
    }
    if let Ok(tester) = given.cast::<Tester>() {
        return bias_of_block(&tester.get().core, coupons).or_raise(py).map(Some);
    }
    if let Ok(blocks) = given.cast::<TesterBlocks>() {
        let (brought, bias) = bias_of_blocks(&blocks.get().core, coupons).or_raise(py)?;
        *coupons = brought;
        return Ok(Some(bias));
    }
    let kind = given.get_type().name()?.to_string();
    let hint = "Give what tester_from_block or tester_from_blocks made, or an Estimate of the bias in HRC".to_owned();
    Err(argument_type(py, function, "tester", format!("a {kind} is no tester"), hint))
}
