//! Bindings of `record`: what every model says of itself.

use afterquench::Error;
use afterquench::record::{ModelRecord, Scatter, Source, records};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList, PyString};

use crate::curve::TemperingCurve;
use crate::errors::raised;
use crate::estimate::Estimate;
use crate::steel::Steel;

type Any<'py> = Bound<'py, PyAny>;

fn cited(source: &Source) -> String {
    format!("{}; {} ({})", source.cite, source.at, source.origin.text())
}

fn as_dict<'py>(py: Python<'py>, record: &ModelRecord) -> PyResult<Bound<'py, PyDict>> {
    let made = PyDict::new(py);
    made.set_item("id", record.id)?;
    made.set_item("gives", record.gives)?;
    made.set_item("unit", record.unit)?;
    made.set_item("formula", record.formula)?;
    let ranges = PyList::empty(py);
    for range in record.ranges {
        let one = PyDict::new(py);
        one.set_item("argument", range.argument)?;
        one.set_item("unit", range.unit)?;
        one.set_item("low", range.low)?;
        one.set_item("high", range.high)?;
        one.set_item("stated_by", range.stated_by)?;
        ranges.append(one)?;
    }
    made.set_item("ranges", ranges)?;
    let scatter = match record.scatter {
        Scatter::Exact => "exact".to_owned(),
        Scatter::NotStated => "not stated".to_owned(),
        Scatter::Known { u, unit, found } => format!("u = {u} {unit}: {found}"),
    };
    made.set_item("scatter", scatter)?;
    made.set_item("sources", record.sources.iter().map(cited).collect::<Vec<_>>())?;
    made.set_item("errata", record.errata.to_vec())?;
    made.set_item("not_for", record.not_for)?;
    Ok(made)
}

/// A list that can be read as a table.
pub fn rows<'py>(py: Python<'py>, items: impl IntoIterator<Item = Any<'py>>) -> PyResult<Any<'py>> {
    let list = PyList::new(py, items.into_iter().collect::<Vec<_>>())?;
    py.import("afterquench._rows")?.getattr("Rows")?.call1((list,))
}

/// What every model here says of itself: formula, ranges, scatter, sources, errata, what it is not for.
///
/// Returns
/// -------
/// Rows
///     A list of dicts, one a model; `.to_frame()` gives a pandas DataFrame.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.models()[0]["id"]
/// 'temper.parameter'
#[pyfunction]
fn models(py: Python<'_>) -> PyResult<Any<'_>> {
    let all: Vec<Any<'_>> =
        records().into_iter().map(|record| Ok(as_dict(py, record)?.into_any())).collect::<PyResult<_>>()?;
    rows(py, all)
}

/// Where a number comes from.
///
/// Parameters
/// ----------
/// thing : str, Estimate, Steel, TemperingCurve, or anything with `sources`
///     A model's id (`models()` lists them) or an object that came from here.
///
/// Returns
/// -------
/// list of str
///     Its sources, each with place and how the digits came here; of an Estimate, its conversion tables and assumptions.
///
/// Raises
/// ------
/// UnknownNameError
///     For an id that no model has.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.cite("temper.parameter")[0][:37]
/// 'J. H. Hollomon and L. D. Jaffe, Time-'
#[pyfunction]
fn cite(py: Python<'_>, thing: &Any<'_>) -> PyResult<Vec<String>> {
    if let Ok(estimate) = thing.cast::<Estimate>() {
        let core = &estimate.get().core;
        return Ok(core.tables().iter().chain(core.assumptions()).map(ToString::to_string).collect());
    }
    if thing.is_instance_of::<Steel>()
        || thing.is_instance_of::<TemperingCurve>()
        || !thing.is_instance_of::<PyString>()
    {
        if let Ok(sources) = thing.getattr("sources") {
            return sources.extract();
        }
    }
    let id: String = thing.extract().map_err(|_| {
        crate::arguments::argument_type(
            py,
            "cite",
            "thing",
            "it carries no sources".into(),
            "Give a model's id, an Estimate, a Steel or a curve".into(),
        )
    })?;
    let all = records();
    match all.iter().find(|record| record.id == id) {
        Some(record) => Ok(record.sources.iter().map(cited).collect()),
        None => {
            let close = all.iter().map(|record| record.id).filter(|known| known.contains(&*id) && !id.is_empty());
            Err(raised(
                py,
                &Error::UnknownName {
                    kind: "model".into(),
                    name: id.clone(),
                    close: close.take(5).map(ToOwned::to_owned).collect(),
                    hint: "models() lists all".into(),
                },
            ))
        }
    }
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(models, module)?)?;
    module.add_function(wrap_pyfunction!(cite, module)?)
}
