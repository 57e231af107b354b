//! What the caller knows of a steel: its composition, and what was measured on it.

use afterquench::steel::{Amounts, CompositionSteel as Core, OwnReading};
use afterquench::{HoldTime, Temperature};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};

use crate::arguments::{argument_type, as_quenched, column};
use crate::errors::OrRaise;

type Any<'py> = Bound<'py, PyAny>;

/// Reads a composition: anything with `items()`.
pub(super) fn amounts(function: &str, given: &Any<'_>) -> PyResult<Amounts> {
    Amounts::read(&borrowed(&percents(function, given)?)?).or_raise(given.py())
}

/// Elements and their weight per cent, from anything with `items()`.
pub fn percents<'py>(function: &str, given: &Any<'py>) -> PyResult<Vec<(Bound<'py, PyString>, f64)>> {
    let py = given.py();
    let refuse = || {
        let why = "it is no mapping of element to weight per cent".to_owned();
        argument_type(py, function, "composition", why, "Write {\"C\": 0.95, \"Mn\": 0.4}".to_owned())
    };
    let mut pairs: Vec<(Bound<'_, PyString>, f64)> = Vec::new();
    if let Ok(plain) = given.cast_exact::<PyDict>() {
        for (symbol, percent) in plain.iter() {
            pairs.push((symbol.cast_into().map_err(|_| refuse())?, percent.extract().map_err(|_| refuse())?));
        }
    } else {
        let items = given.call_method0("items").map_err(|_| refuse())?;
        for item in items.try_iter().map_err(|_| refuse())? {
            pairs.push(item?.extract().map_err(|_| refuse())?);
        }
    }
    Ok(pairs)
}

/// The same as the core takes it.
pub fn borrowed<'a>(pairs: &'a [(Bound<'_, PyString>, f64)]) -> PyResult<Vec<(&'a str, f64)>> {
    pairs.iter().map(|(symbol, percent)| Ok((symbol.to_str()?, *percent))).collect()
}

/// Reads own readings: triples or quadruples, or a frame or dict of columns.
pub fn own_readings(function: &str, given: &Any<'_>) -> PyResult<Vec<OwnReading>> {
    let py = given.py();
    let refuse = |why: String| {
        let hint = "Write [(200, 2, 60.5)]: °C, hours, HRC; a fourth number is the reading's standard uncertainty";
        argument_type(py, function, "readings", why, hint.to_owned())
    };
    let made = |numbers: &[f64]| match *numbers {
        [celsius, hours, hrc] => Ok((celsius, hours, hrc, None)),
        [celsius, hours, hrc, u] => Ok((celsius, hours, hrc, Some(u))),
        _ => Err(refuse(format!("a reading has three or four numbers, not {}", numbers.len()))),
    };
    let mut rows = Vec::new();
    if given.hasattr("keys")? {
        let named = |name: &str| -> PyResult<Vec<f64>> {
            let values = given.get_item(name).map_err(|_| refuse(format!("it has no column {name}")))?;
            column(function, name, &values)
        };
        let (celsius, hours, hrc) = (named("temperature_c")?, named("time_h")?, named("hrc")?);
        let u = if given.contains("u")? { Some(named("u")?) } else { None };
        if celsius.len() != hours.len() || hours.len() != hrc.len() {
            return Err(refuse("its columns differ in length".to_owned()));
        }
        for (index, ((celsius, hours), hrc)) in celsius.into_iter().zip(hours).zip(hrc).enumerate() {
            rows.push((celsius, hours, hrc, u.as_ref().and_then(|u| u.get(index).copied())));
        }
    } else {
        let items = given.try_iter().map_err(|_| refuse("it is no list of readings".to_owned()))?;
        for item in items {
            let numbers: Vec<f64> = item?.extract().map_err(|_| refuse("a reading is no row of numbers".to_owned()))?;
            rows.push(made(&numbers)?);
        }
    }
    let reading = |(celsius, hours, hrc, u)| OwnReading {
        temperature: Temperature::from_celsius(celsius),
        time: HoldTime::from_hours(hours),
        hrc,
        u,
    };
    Ok(rows.into_iter().map(reading).collect())
}

/// A steel with what was measured on it.
pub(super) fn with(
    function: &'static str,
    core: Core,
    as_quenched_hrc: Option<&Any<'_>>,
    readings: Option<&Any<'_>>,
    extrapolate: bool,
) -> PyResult<Core> {
    let mut core = core;
    if let Some(given) = as_quenched_hrc {
        core = core.with_as_quenched(as_quenched(function, given, extrapolate)?).or_raise(given.py())?;
    }
    if let Some(given) = readings {
        core = core.given(&own_readings(function, given)?).or_raise(given.py())?;
    }
    Ok(core)
}
