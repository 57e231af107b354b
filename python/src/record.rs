//! Bindings of `record`: what every model says of itself.

use afterquench::Error;
use afterquench::hardness::conversion_table;
use afterquench::record::{ModelRecord, Scatter, Source, records};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::errors::raised;
use crate::estimate::Estimate;

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

/// The models behind an answer, by the name of its class: what it carries no source for itself.
const RESTS_ON: &[(&str, &[&str])] = &[
    ("BatchPool", &["curve.batches"]),
    ("Behaviour", &["oven.swing_amplitude"]),
    ("CommonWindow", &["plan.spread", "temper.parameter"]),
    ("CouponDesign", &["curve.coupons"]),
    ("CouponFit", &["curve.coupons"]),
    ("Decision", &["hardness.decision"]),
    ("Decisions", &["hardness.decision"]),
    ("Explanation", &["plan.causes"]),
    ("HardeningJudgement", &["steel.judge_hardening"]),
    ("History", &["temper.history"]),
    ("Monitor", &["drift.monitor"]),
    ("OvenLog", &["oven.thermocouple_tolerance", "oven.sensor_correction"]),
    ("OvenModel", &["oven.first_order_dead_time"]),
    ("Plan", &["plan.spread", "temper.parameter"]),
    ("Readings", &["hardness.readings"]),
    ("Schedule", &["plan.spread", "temper.parameter"]),
    ("Soak", &["temper.history"]),
    ("Tester", &["hardness.tester"]),
    ("TesterBlocks", &["hardness.tester_blocks", "hardness.tester"]),
];

/// What an object says of its sources, what it is made from says, and the models behind it; each once.
fn carried(thing: &Any<'_>) -> PyResult<Vec<String>> {
    let py = thing.py();
    let mut found: Vec<String> = Vec::new();
    if let Ok(estimate) = thing.cast::<Estimate>() {
        let core = &estimate.get().core;
        found.extend(core.tables().iter().chain(core.assumptions()).map(ToString::to_string));
        return Ok(found);
    }
    for name in ["sources", "source"] {
        if let Ok(own) = thing.getattr(name) {
            match own.extract::<String>() {
                Ok(one) => found.push(one),
                Err(_) => found.extend(own.extract::<Vec<String>>().unwrap_or_default()),
            }
        }
    }
    if let Ok(hazards) = thing.getattr("hazards").and_then(|hazards| hazards.extract::<Vec<Any<'_>>>()) {
        for hazard in hazards {
            let source = hazard.getattr("source").or_else(|_| hazard.get_item("source"));
            found.extend(source.and_then(|source| source.extract::<String>()).ok());
        }
    }
    for name in ["steel", "curve"] {
        let Ok(behind) = thing.getattr(name) else { continue };
        // A method of that name, and a steel that was not given, stand for nothing.
        if behind.is_callable() || behind.is_none() {
            continue;
        }
        match behind.extract::<String>() {
            Ok(name) => {
                let known = py.import("afterquench._native")?.getattr("steel")?.call1((name,))?;
                found.extend(carried(&known)?);
            }
            Err(_) => found.extend(carried(&behind)?),
        }
    }
    let kind = thing.get_type().name()?.to_string();
    let models = RESTS_ON.iter().filter(|(class, _)| *class == kind).flat_map(|(_, ids)| *ids);
    for id in models {
        let record = records().into_iter().find(|record| record.id == *id);
        found.extend(record.iter().flat_map(|record| record.sources).map(cited));
    }
    let mut seen = Vec::new();
    found.retain(|source| {
        !source.is_empty() && !seen.contains(source) && {
            seen.push(source.clone());
            true
        }
    });
    Ok(found)
}

/// Where a number comes from.
///
/// Parameters
/// ----------
/// thing : str, Estimate, Steel, TemperingCurve, Plan, or any other answer
///     A model's id (`models()` lists them), a conversion table's name, or an object that came from here.
///
/// Returns
/// -------
/// list of str
///     Its sources, each with place and how the digits came here: those it carries, those of its steel and curve, and those
///     of the models behind it; of an Estimate, its conversion tables and assumptions.
///
/// Raises
/// ------
/// UnknownNameError
///     For an id that no model and no table has.
/// ArgumentTypeError
///     For an object that rests on no source.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.cite("temper.parameter")[0][:37]
/// 'J. H. Hollomon and L. D. Jaffe, Time-'
#[pyfunction]
fn cite(py: Python<'_>, thing: &Any<'_>) -> PyResult<Vec<String>> {
    let Ok(id) = thing.extract::<String>() else {
        let found = carried(thing)?;
        if !found.is_empty() {
            return Ok(found);
        }
        let kind = thing.get_type().name()?.to_string();
        let why = format!("a {kind} carries no sources");
        let hint = "Give a model's id, a table's name, or what a call of this library answered".to_owned();
        return Err(crate::arguments::argument_type(py, "cite", "thing", why, hint));
    };
    let all = records();
    let table = conversion_table(id.strip_prefix("hardness.").unwrap_or(&id));
    match (all.iter().find(|record| record.id == id), table) {
        (Some(record), _) => Ok(record.sources.iter().map(cited).collect()),
        (None, Ok(table)) => Ok(vec![format!("{}; {}", table.source, table.at)]),
        (None, Err(_)) => {
            let close = all.iter().map(|record| record.id).filter(|known| known.contains(&*id) && !id.is_empty());
            Err(raised(
                py,
                &Error::UnknownName {
                    kind: "model".into(),
                    name: id.clone(),
                    close: close.take(5).map(ToOwned::to_owned).collect(),
                    hint: "models() lists all; conversion_tables() the tables".into(),
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
