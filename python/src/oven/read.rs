//! `read_log`: whatever a log comes as, and what the caller knows of it.

use std::sync::Arc;

use afterquench::Error;
use afterquench::oven::{
    Correction, ReadOptions, Role, TemperatureUnit, TimeUnit, Values, Zone, read_corrections, read_log_bytes,
    read_log_columns,
};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyString};

use super::log::{OvenLog, gap_policy};
use crate::arguments::argument_type;
use crate::errors::{OrRaise, raised};

type Any<'py> = Bound<'py, PyAny>;

/// Reads an oven's log, repairs it in the open, and corrects its channels.
///
/// Separators, decimal commas, byte-order marks, remarks, unit rows, °F, fault codes, spikes, duplicates, rows out of
/// order, clocks through midnight and holes are found; each repair is listed, none is silent. Where the unit, the clock
/// or the columns can't be known the log is refused, with what would settle it.
///
/// Parameters
/// ----------
/// source : path, bytes, text or binary buffer, or DataFrame
///     The log. The smallest has the columns elapsed_s and part_side_degc.
/// unit : {"C", "F", "K"}, optional
///     Unit of temperatures whose heading states none.
/// channels : dict, optional
///     Headings by role, {"air": "T1", "part_side": "T2", "time": "t"}.
/// corrections : dict, path or DataFrame, optional
///     {"air": (value_delta_c, u_delta_c)}: what is added to the readings, and its standard uncertainty; or a table
///     with the columns channel, correction_to_add_degc and expanded_uncertainty_k2_degc, which is halved.
/// load_s : float, optional
///     Elapsed seconds at which the part went in; found in the record where the part side shows it.
/// timezone : str, optional
///     Zone of a local clock with dates, as "Europe/Berlin": daylight saving then does not count as time.
/// gaps : {"bound", "line", "refuse"}
///     What histories do with holes.
/// time_unit : {"s", "min", "h", "ms"}, optional
///     Unit of a time column whose heading states none.
/// progress : callable, optional
///     Called with bytes done and in all while a file is read.
///
/// Returns
/// -------
/// OvenLog
///
/// Raises
/// ------
/// DataFileError
///     For what is no log, or leaves open its unit, its clock or its columns; with file, line and column.
/// UnknownNameError
///     For columns, roles or units that there are not.
/// OutOfRangeError
///     For a load_s outside the log.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> log = aq.read_log(b"elapsed_s;air_degc\n0;21,5\n10;24,0\n20;812,0\n30;29,5\n40;32,0\n")
/// >>> [repair.kind for repair in log.repairs]
/// ['separator', 'spike']
#[pyfunction]
#[pyo3(signature = (source, *, unit=None, channels=None, corrections=None, load_s=None, timezone=None, gaps="bound", time_unit=None, progress=None))]
#[allow(clippy::too_many_arguments)]
fn read_log(
    py: Python<'_>,
    source: &Any<'_>,
    unit: Option<&str>,
    channels: Option<&Bound<'_, PyDict>>,
    corrections: Option<&Any<'_>>,
    load_s: Option<f64>,
    timezone: Option<&str>,
    gaps: &str,
    time_unit: Option<&str>,
    progress: Option<&Any<'_>>,
) -> PyResult<OvenLog> {
    gap_policy(gaps).or_raise(py)?;
    let options = ReadOptions {
        unit: unit.map(|name| known(py, "unit", name, &["C", "F", "K"], TemperatureUnit::named(name))).transpose()?,
        time_unit: time_unit
            .map(|name| known(py, "time unit", name, &["s", "min", "h", "ms"], TimeUnit::named(name)))
            .transpose()?,
        channels: channels.map(roles).transpose()?.unwrap_or_default(),
        corrections: corrections.map(corrections_from).transpose()?.unwrap_or_default(),
        load_s,
        zone: timezone.map(|name| zone(py, name)).transpose()?,
    };
    let core = if source.hasattr("columns")? {
        from_frame(source, &options)?
    } else {
        let (bytes, name) = contents(source)?;
        let mut failure: Option<PyErr> = None;
        let read = match progress {
            None => py.detach(|| read_log_bytes(&bytes, &name, &options, &mut |_, _| true)),
            Some(tell) => read_log_bytes(&bytes, &name, &options, &mut |done, of| match tell.call1((done, of)) {
                Ok(_) => true,
                Err(error) => {
                    failure = Some(error);
                    false
                }
            }),
        };
        if let Some(failure) = failure {
            return Err(failure);
        }
        read.or_raise(py)?
    };
    Ok(OvenLog { core, gaps: gaps.to_owned() })
}

fn known<T>(py: Python<'_>, kind: &'static str, name: &str, choices: &[&str], found: Option<T>) -> PyResult<T> {
    found.ok_or_else(|| {
        let close = choices.iter().map(|&choice| choice.to_owned()).collect();
        raised(py, &Error::UnknownName { kind: kind.into(), name: name.to_owned(), close, hint: "".into() })
    })
}

fn role(py: Python<'_>, name: &str) -> PyResult<Role> {
    known(py, "channel role", name, &["air", "part_side", "setpoint", "duty", "time"], Role::named(name))
}

fn roles(given: &Bound<'_, PyDict>) -> PyResult<Vec<(String, Role)>> {
    given
        .iter()
        .map(|(name, column)| {
            let column = column.extract().map_err(|_| {
                let why = "a column's heading is a text".to_owned();
                argument_type(given.py(), "read_log", "channels", why, "Write {\"air\": \"T1\"}".into())
            })?;
            Ok((column, role(given.py(), &name.str()?.to_cow()?)?))
        })
        .collect()
}

fn corrections_from(given: &Any<'_>) -> PyResult<Vec<(Role, Correction)>> {
    let py = given.py();
    if let Ok(table) = given.cast::<PyDict>() {
        return table
            .iter()
            .map(|(name, pair)| {
                let (value_delta_c, u_delta_c) = pair.extract().map_err(|_| {
                    let why = "a correction is a pair of numbers".to_owned();
                    let hint = "Write {\"air\": (value_delta_c, u_delta_c)}".to_owned();
                    argument_type(py, "read_log", "corrections", why, hint)
                })?;
                Ok((role(py, &name.str()?.to_cow()?)?, Correction { value_delta_c, u_delta_c }))
            })
            .collect();
    }
    let (bytes, name) =
        if given.hasattr("columns")? { (frame_text(given)?, "corrections".into()) } else { contents(given)? };
    read_corrections(&bytes, &name).or_raise(py)
}

/// The bytes of a path, of bytes, or of a buffer, and a name for them.
pub(super) fn contents(source: &Any<'_>) -> PyResult<(Vec<u8>, String)> {
    let py = source.py();
    if let Ok(bytes) = source.cast::<PyBytes>() {
        return Ok((bytes.as_bytes().to_vec(), "bytes".into()));
    }
    if source.hasattr("read")? {
        let name = source.getattr("name").and_then(|name| name.extract::<String>()).unwrap_or_else(|_| "buffer".into());
        let read = source.call_method0("read")?;
        if let Ok(text) = read.cast::<PyString>() {
            return Ok((text.to_cow()?.as_bytes().to_vec(), name));
        }
        return Ok((read.extract()?, name));
    }
    if source.is_instance_of::<PyString>() || source.hasattr("__fspath__")? {
        if let Ok(text) = source.cast::<PyString>() {
            if text.to_cow()?.contains(['\n', '\r']) {
                let hint = "For the text of a log give text.encode() or io.StringIO(text)".to_owned();
                let why = "a text with line breaks is no path".to_owned();
                return Err(argument_type(py, "read_log", "source", why, hint));
            }
        }
        let path: std::path::PathBuf = source.extract()?;
        let name = path.display().to_string();
        let read = py.detach(|| std::fs::read(&path)).map_err(|error| Error::DataFile {
            file: name.clone(),
            line: None,
            column: None,
            why: format!("it can't be read ({error})").into(),
            hint: "Check the path".into(),
        });
        return Ok((read.or_raise(py)?, name));
    }
    if let Ok(bytes) = source.extract::<Vec<u8>>() {
        return Ok((bytes, "bytes".into()));
    }
    let kind = source.get_type().name()?.to_string();
    let hint = "Give a path, bytes, an open file or a DataFrame".to_owned();
    Err(argument_type(py, "read_log", "source", format!("a {kind} is no log"), hint))
}

/// A frame written as text, for the columns that hold texts.
pub(super) fn frame_text(frame: &Any<'_>) -> PyResult<Vec<u8>> {
    let text: String = if frame.hasattr("to_csv")? {
        let keywords = PyDict::new(frame.py());
        keywords.set_item("index", false)?;
        frame.call_method("to_csv", (), Some(&keywords))?.extract()?
    } else {
        frame.call_method0("write_csv")?.extract()?
    };
    Ok(text.into_bytes())
}

fn from_frame(frame: &Any<'_>, options: &ReadOptions) -> PyResult<afterquench::oven::OvenLog> {
    let py = frame.py();
    let numpy = py.import("numpy")?;
    let mut columns: Vec<(String, Values)> = Vec::new();
    for name in frame.getattr("columns")?.try_iter()? {
        let name = name?;
        let array = numpy.call_method1("asarray", (frame.get_item(&name)?,))?;
        let kind: String = array.getattr("dtype")?.getattr("kind")?.extract()?;
        let heading = name.str()?.to_string();
        let values = match kind.as_str() {
            "f" | "i" | "u" | "b" => {
                Values::Numbers(array.call_method1("astype", ("float64",))?.call_method0("tolist")?.extract()?)
            }
            "M" | "m" => {
                let unit = if kind == "M" { "datetime64[ns]" } else { "timedelta64[ns]" };
                let whole: Vec<i64> = array
                    .call_method1("astype", (unit,))?
                    .call_method1("astype", ("int64",))?
                    .call_method0("tolist")?
                    .extract()?;
                // NaT is the smallest integer.
                let seconds = |&ns: &i64| if ns == i64::MIN { f64::NAN } else { ns as f64 * 1e-9 };
                Values::Instants(whole.iter().map(seconds).collect())
            }
            _ => {
                let bytes = frame_text(frame)?;
                return read_log_bytes(&bytes, "a data frame", options, &mut |_, _| true).or_raise(py);
            }
        };
        columns.push((heading, values));
    }
    py.detach(|| read_log_columns(columns, "a data frame", options)).or_raise(py)
}

/// A time zone by its name, asked through Python's own zoneinfo.
fn zone(py: Python<'_>, name: &str) -> PyResult<Zone> {
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

/// Adds the function to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(read_log, module)?)
}
