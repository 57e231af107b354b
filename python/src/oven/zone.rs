//! Time zones by their names, asked through Python's own zoneinfo.

use std::sync::Arc;

use afterquench::Error;
use afterquench::oven::Zone;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::errors::raised;

/// A time zone by its name, asked through Python's own zoneinfo.
pub fn zone(py: Python<'_>, name: &str) -> PyResult<Zone> {
    let made = py.import("zoneinfo")?.getattr("ZoneInfo")?.call1((name,)).map_err(|_| {
        raised(
            py,
            &Error::UnknownName {
                kind: "time zone".into(),
                name: name.to_owned(),
                close: Vec::new(),
                hint: "Names are as in the IANA data base, \"Europe/Berlin\"".into(),
            },
        )
    })?;
    let (zone, datetime) = (made.unbind(), py.import("datetime")?.unbind());
    Ok(Zone(Arc::new(move |local_s, second| {
        Python::attach(|py| -> PyResult<f64> {
            let datetime = datetime.bind(py);
            let delta = datetime.getattr("timedelta")?.call1((0, local_s))?;
            let keywords = PyDict::new(py);
            keywords.set_item("tzinfo", zone.bind(py))?;
            keywords.set_item("fold", u8::from(second))?;
            let start = datetime.getattr("datetime")?.call1((1970, 1, 1))?;
            let here = start.call_method1("__add__", (delta,))?.call_method("replace", (), Some(&keywords))?;
            here.call_method0("utcoffset")?.call_method0("total_seconds")?.extract()
        })
        .unwrap_or(0.0)
    })))
}
