//! Arguments that come in several kinds: a number or an Estimate, a C or a range of them, a trace.

use afterquench::curve::AsQuenchedReading;
use afterquench::temper::{ConstantBelief, Measured, UNKNOWN_STEEL};
use afterquench::{Error, Estimate as CoreEstimate};
use numpy::{AllowTypeChange, PyArrayLike1, PyArrayLikeDyn, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::errors::raised;
use crate::estimate::Estimate;

/// An argument that is no number where one is wanted.
pub fn not_a_number(py: Python<'_>, function: &str, argument: &str, given: &Bound<'_, PyAny>) -> PyErr {
    let kind = given.get_type().name().map_or_else(|_| "object".to_owned(), |name| name.to_string());
    let hint = if given.hasattr("m_as").unwrap_or(false) {
        format!("Convert it at the call: {argument}=quantity.m_as(\"degC\" or \"hour\" or \"mm\", as the name says)")
    } else if given.hasattr("nominal_value").unwrap_or(false) {
        "Make it aq.Estimate(x.nominal_value, x.std_dev, unit)".to_owned()
    } else {
        "Give a plain number, or an Estimate where the call is an _estimate twin".to_owned()
    };
    argument_type(py, function, argument, format!("a {kind} is no number"), hint)
}

/// The package's ArgumentTypeError.
pub fn argument_type(py: Python<'_>, function: &str, argument: &str, why: String, hint: String) -> PyErr {
    let made = || -> PyResult<PyErr> {
        let fields = pyo3::types::PyDict::new(py);
        fields.set_item("function", function)?;
        fields.set_item("argument", argument)?;
        fields.set_item("why", &why)?;
        fields.set_item("hint", &hint)?;
        let class = py.import("afterquench.errors")?.getattr("ArgumentTypeError")?;
        let message = format!("{function}: {argument}: {why}. {hint}");
        Ok(PyErr::from_value(class.call((message,), Some(&fields))?))
    };
    made().unwrap_or_else(|failure| failure)
}

/// A plain number.
pub fn number(function: &str, argument: &str, given: &Bound<'_, PyAny>) -> PyResult<f64> {
    given.extract().map_err(|error: PyErr| {
        if error.is_instance_of::<pyo3::exceptions::PyOverflowError>(given.py()) {
            let hint = "Give a number of everyday size in the unit that the name says".to_owned();
            return argument_type(given.py(), function, argument, "it is too large for any number here".into(), hint);
        }
        not_a_number(given.py(), function, argument, given)
    })
}

/// A number, or an Estimate with its uncertainty; an extrapolated one is refused unless that was asked for by name.
pub fn measured(function: &str, argument: &str, given: &Bound<'_, PyAny>, extrapolate: bool) -> PyResult<Measured> {
    if let Ok(estimate) = given.cast::<Estimate>() {
        let core = &estimate.get().core;
        refuse_extrapolated(given.py(), function, argument, core, extrapolate)?;
        refuse_unit(given.py(), function, argument, core.unit())?;
        return Ok(Measured { value: core.value(), u: core.u() });
    }
    number(function, argument, given).map(Measured::from)
}

/// An as-quenched reading: a number, or an Estimate that states its uncertainty.
pub fn as_quenched(function: &str, given: &Bound<'_, PyAny>, extrapolate: bool) -> PyResult<AsQuenchedReading> {
    let made = measured(function, "as_quenched_hrc", given, extrapolate)?;
    Ok(AsQuenchedReading { hrc: made.value, u: given.is_instance_of::<Estimate>().then_some(made.u) })
}

/// The spellings of the unit that an argument's name promises; empty where the name promises none.
fn promised_units(argument: &str) -> &'static [&'static str] {
    match argument.rsplit('_').next() {
        Some("c") if argument != "c" => &["°C", "degC", "C"],
        Some("h") => &["h", "hour", "hours"],
        Some("percent") => &["%", "percent"],
        Some("hrc") => &["HRC"],
        _ if argument == "c" => &["1"],
        _ => &[],
    }
}

/// Refuses an Estimate whose unit is not the one the argument is read in; one without a unit is taken at its word.
fn refuse_unit(py: Python<'_>, function: &str, argument: &str, unit: &str) -> PyResult<()> {
    let promised = promised_units(argument);
    let Some(first) = promised.first() else { return Ok(()) };
    if unit.is_empty() || promised.contains(&unit) {
        return Ok(());
    }
    let why = format!("the Estimate is in {unit:?} and this argument is read in {first:?}");
    let hint = "Convert it first: by convert_hardness_estimate for a hardness, by hand for the rest";
    Err(argument_type(py, function, argument, why, hint.to_owned()))
}

/// Refuses an Estimate that lies outside a model's range, unless the caller asked to go on by name.
pub fn refuse_extrapolated(
    py: Python<'_>,
    function: &str,
    argument: &str,
    estimate: &CoreEstimate,
    extrapolate: bool,
) -> PyResult<()> {
    if estimate.is_extrapolated() && !extrapolate {
        return Err(raised(
            py,
            &Error::Refused {
                what: format!("{argument} of {function}").into(),
                why: "this Estimate lies outside the range of the model it came from".into(),
                instead: "Ask for out_of_range=\"extrapolate\" here too if you mean to go on".into(),
            },
        ));
    }
    Ok(())
}

/// What is believed of C: None is the range for an unknown steel, a number is itself, an Estimate is normal, a pair is
/// a flat range.
pub fn belief(function: &str, given: Option<&Bound<'_, PyAny>>) -> PyResult<ConstantBelief> {
    let Some(given) = given else { return Ok(UNKNOWN_STEEL) };
    let py = given.py();
    let made = if let Ok(estimate) = given.cast::<Estimate>() {
        let core = &estimate.get().core;
        refuse_unit(py, function, "c", core.unit())?;
        ConstantBelief::Normal { c: core.value(), u: core.u() }
    } else if given.is_instance_of::<PyTuple>() {
        let (low, high) = given.extract().map_err(|_| {
            argument_type(py, function, "c", "a range of C is a pair".into(), "Write c=(15, 20)".into())
        })?;
        ConstantBelief::Flat { low, high }
    } else {
        ConstantBelief::Fixed(number(function, "c", given)?)
    };
    made.checked().map_err(|error| raised(py, &error))
}

/// The reverse: a belief as the caller would write it.
pub fn belief_object<'py>(py: Python<'py>, belief: ConstantBelief) -> PyResult<Bound<'py, PyAny>> {
    Ok(match belief {
        ConstantBelief::Fixed(c) => c.into_pyobject(py)?.into_any(),
        ConstantBelief::Flat { low, high } => (low, high).into_pyobject(py)?.into_any(),
        ConstantBelief::Normal { c, u } => {
            Bound::new(py, Estimate { core: CoreEstimate::new(c, "").with("c", u) })?.into_any()
        }
    })
}

/// A column of numbers, copied only where dtype or layout ask for it; ragged, empty or non-numeric input is refused.
pub fn column(function: &str, argument: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<f64>> {
    let py = given.py();
    let refuse = |why: String| {
        argument_type(py, function, argument, why, "Give one-dimensional numbers: a list, an array or a Series".into())
    };
    if given.hasattr("m_as")? {
        let why = "it carries a unit of its own".to_owned();
        let hint = "Convert it at the call: quantity.m_as(\"s\" or \"degC\" or \"mm\", as the argument's name says)";
        return Err(argument_type(py, function, argument, why, hint.into()));
    }
    let numpy_ma = py.import("numpy")?.getattr("ma")?;
    if numpy_ma.call_method1("is_masked", (given,))?.is_truthy()? {
        let why = "some of its elements are masked".to_owned();
        let hint = "Leave those samples out of both columns: a masked value is no value".to_owned();
        return Err(argument_type(py, function, argument, why, hint));
    }
    let as_array = py
        .import("numpy")?
        .getattr("asarray")?
        .call1((given,))
        .map_err(|_| refuse("it is ragged or holds something that is no number".into()))?;
    if let Ok(array) = as_array.extract::<PyArrayLike1<'_, f64, AllowTypeChange>>() {
        let kind: String = as_array.getattr("dtype")?.getattr("kind")?.extract()?;
        if !matches!(kind.as_str(), "f" | "i" | "u") {
            return Err(refuse(format!("its dtype is {}", as_array.getattr("dtype")?.str()?)));
        }
        return Ok(array.as_array().iter().copied().collect());
    }
    if as_array.extract::<PyArrayLikeDyn<'_, f64, AllowTypeChange>>().is_ok_and(|array| array.ndim() != 1) {
        return Err(refuse("it is not one-dimensional".into()));
    }
    Err(refuse(format!("its dtype is {}", as_array.getattr("dtype")?.str()?)))
}

/// Several numbers as Python gets them back: a float where the caller gave one, else an array.
pub fn one_or_array<'py>(py: Python<'py>, values: &[f64], single: bool) -> PyResult<Bound<'py, PyAny>> {
    match (single, values) {
        (true, &[only]) => Ok(only.into_pyobject(py)?.into_any()),
        _ => Ok(numpy::PyArray1::from_slice(py, values).into_any()),
    }
}

/// The policy of an `_estimate` twin: whether it may go on outside a range.
pub fn may_extrapolate(py: Python<'_>, function: &'static str, out_of_range: Option<&str>) -> PyResult<bool> {
    match out_of_range {
        None | Some("raise") => Ok(false),
        Some("extrapolate") => Ok(true),
        Some(other) => Err(raised(
            py,
            &Error::UnknownName {
                kind: "out_of_range policy".into(),
                name: other.to_owned(),
                close: Vec::new(),
                hint: format!("{function} takes \"raise\" or \"extrapolate\"").into(),
            },
        )),
    }
}

/// Dicts, Series and frames of columns that a table object offers.
pub fn data_frame<'py>(py: Python<'py>, columns: &Bound<'py, pyo3::types::PyDict>) -> PyResult<Bound<'py, PyAny>> {
    let pandas = py.import("pandas").map_err(|_| {
        argument_type(
            py,
            "to_frame",
            "pandas",
            "pandas is not installed".into(),
            "Install it with pip install \"afterquench[frames]\"".into(),
        )
    })?;
    pandas.getattr("DataFrame")?.call1((columns,))
}
