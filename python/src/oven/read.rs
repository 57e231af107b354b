//! `read_log`: whatever a log comes as, and what the caller knows of it.

use afterquench::Error;
use afterquench::oven::{
    Correction, ReadOptions, Role, TemperatureUnit, TimeUnit, read_corrections, read_history as core_history,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::log::{OvenLog, gap_policy, history_of, is_single, lag_band};
use super::source::{content, is_table, path_of_text, read, table_text, told};
use super::zone::zone;
use crate::arguments::{argument_type, belief};
use crate::errors::{OrRaise, raised};
use crate::history::History;

type Any<'py> = Bound<'py, PyAny>;

/// Reads an oven's log, repairs it in the open, and corrects its channels.
///
/// Separators, decimal commas, byte-order marks, remarks, unit rows, °F, fault codes, spikes, duplicates, rows out of
/// order, clocks through midnight and holes are found; each repair is listed, none is silent. Where the unit, the clock
/// or the columns can't be known the log is refused, with what would settle it.
///
/// Parameters
/// ----------
/// source : path, bytes, text or binary buffer, or any table
///     The log: text (also packed with gzip), a Parquet or Feather file, a pandas or polars DataFrame, a pyarrow Table,
///     a dict of arrays, an xarray Dataset over one dimension. The smallest has the columns elapsed_s and
///     part_side_degc.
/// unit : {"C", "F", "K", "0.1C"}, optional
///     Unit of temperatures whose heading states none; "0.1C" for whole numbers of tenths.
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
///     Unit of a time column whose heading states none; of clock texts in two parts, "h" says hours:minutes and "min"
///     minutes:seconds.
/// restart_s : float, optional
///     How long the logger was off where its counter starts again.
/// day_first : bool, optional
///     Whether dates such as 03/04/2026 begin with the day, where the rows leave that open.
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
#[pyo3(signature = (source, *, unit=None, channels=None, corrections=None, load_s=None, timezone=None, gaps="bound", time_unit=None, restart_s=None, day_first=None, progress=None))]
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
    restart_s: Option<f64>,
    day_first: Option<bool>,
    progress: Option<&Any<'_>>,
) -> PyResult<OvenLog> {
    gap_policy(gaps).or_raise(py)?;
    let options =
        Hints { unit, channels, corrections, load_s, timezone, time_unit, restart_s, day_first }.options(py)?;
    let core = read(source, &options, progress)?;
    Ok(OvenLog { core, gaps: gaps.to_owned() })
}

/// What a caller knows of a log beforehand.
pub struct Hints<'a, 'py> {
    /// Unit of temperatures.
    pub unit: Option<&'a str>,
    /// Headings by role.
    pub channels: Option<&'a Bound<'py, PyDict>>,
    /// Corrections by role.
    pub corrections: Option<&'a Any<'py>>,
    /// When the part went in.
    pub load_s: Option<f64>,
    /// Zone of a local clock.
    pub timezone: Option<&'a str>,
    /// Unit of times.
    pub time_unit: Option<&'a str>,
    /// How long the logger was off.
    pub restart_s: Option<f64>,
    /// Whether dates begin with the day.
    pub day_first: Option<bool>,
}

impl Hints<'_, '_> {
    /// The core's options.
    pub fn options(&self, py: Python<'_>) -> PyResult<ReadOptions> {
        let units = ["C", "F", "K", "0.1C"];
        if let Some(seconds) = self.restart_s.filter(|seconds| !(seconds.is_finite() && *seconds >= 0.0)) {
            return Err(Error::invalid(
                "oven.read_log",
                "restart_s",
                (seconds, "s"),
                "is no time that a logger was off",
                "Give the seconds between the last row before the restart and the first behind it",
            ))
            .or_raise(py);
        }
        Ok(ReadOptions {
            unit: self.unit.map(|name| known(py, "unit", name, &units, TemperatureUnit::named(name))).transpose()?,
            time_unit: self
                .time_unit
                .map(|name| known(py, "time unit", name, &["s", "min", "h", "ms"], TimeUnit::named(name)))
                .transpose()?,
            channels: self.channels.map(roles).transpose()?.unwrap_or_default(),
            corrections: self.corrections.map(corrections_from).transpose()?.unwrap_or_default(),
            load_s: self.load_s,
            zone: self.timezone.map(|name| zone(py, name)).transpose()?,
            restart_s: self.restart_s,
            day_first: self.day_first,
        })
    }
}

fn known<T>(py: Python<'_>, kind: &'static str, name: &str, choices: &[&str], found: Option<T>) -> PyResult<T> {
    found.ok_or_else(|| {
        let close = choices.iter().map(|&choice| choice.to_owned()).collect();
        raised(py, &Error::UnknownName { kind: kind.into(), name: name.to_owned(), close, hint: "".into() })
    })
}

/// A role from its name.
pub fn role(py: Python<'_>, name: &str) -> PyResult<Role> {
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
        if is_table(given)? { (table_text(given)?, "corrections".into()) } else { content(given)?.loaded(py)? };
    read_corrections(&bytes, &name).or_raise(py)
}

/// What the steel got, out of a log of any size in bounded memory.
///
/// The answer of `read_log(...).history(c=...)`; a large file is gone through piece by piece, several times, and never
/// held. What was repaired stands, by its kinds, among the assumptions of the history's estimate.
///
/// Parameters
/// ----------
/// source : path
///     The log, text or text packed with gzip. Any other source that `read_log` takes is read as a whole.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; the range 15 to 20 without it.
/// lag_s : float or (low, high), optional
///     As for `OvenLog.history`.
/// gaps : {"bound", "line", "refuse"}
///     What to do with holes.
/// unit, channels, corrections, load_s, timezone, time_unit, restart_s, day_first : optional
///     As for `read_log`.
/// progress : bool or callable
///     True for a bar on stderr; or a function that is called with bytes done and in all.
///
/// Returns
/// -------
/// History
///
/// Raises
/// ------
/// DataFileError
///     As for `read_log`.
/// RefusedError
///     For a large file whose rows are far out of order, which `read_log` can put in order; and for a log with holes
///     under gaps="refuse".
///
/// Examples
/// --------
/// >>> import afterquench as aq, tempfile, pathlib
/// >>> rows = "".join(f"{60 * i},{min(20 + 12 * i, 200)}\n" for i in range(135))
/// >>> with tempfile.TemporaryDirectory() as folder:
/// ...     path = pathlib.Path(folder, "log.csv")
/// ...     written = path.write_text("elapsed_s,part_side_degc\n" + rows)
/// ...     aq.read_history(path, c=18)
/// History: as 200.0 °C for two hours [197 .. 203] (C = 18)
#[pyfunction]
#[pyo3(signature = (source, c=None, *, lag_s=None, gaps="bound", unit=None, channels=None, corrections=None, load_s=None, timezone=None, time_unit=None, restart_s=None, day_first=None, progress=None))]
#[allow(clippy::too_many_arguments)]
fn read_history(
    py: Python<'_>,
    source: &Any<'_>,
    c: Option<&Any<'_>>,
    lag_s: Option<&Any<'_>>,
    gaps: &str,
    unit: Option<&str>,
    channels: Option<&Bound<'_, PyDict>>,
    corrections: Option<&Any<'_>>,
    load_s: Option<f64>,
    timezone: Option<&str>,
    time_unit: Option<&str>,
    restart_s: Option<f64>,
    day_first: Option<bool>,
    progress: Option<&Any<'_>>,
) -> PyResult<History> {
    let (belief, lag, policy) = (belief("history", c)?, lag_band(py, lag_s)?, gap_policy(gaps).or_raise(py)?);
    let options =
        Hints { unit, channels, corrections, load_s, timezone, time_unit, restart_s, day_first }.options(py)?;
    let bar = match progress.map(|progress| progress.extract::<bool>()) {
        Some(Ok(true)) => Some(py.import("afterquench._progress")?.call_method1("Bar", ("reading",))?),
        _ => None,
    };
    let tell = bar.as_ref().or(progress.filter(|progress| progress.is_callable()));
    let made = match path_of_text(source)? {
        Some(path) => told(py, tell, |progress| core_history(&path, &options, belief, lag, policy, progress))
            .map(|streamed| streamed.received),
        None => {
            let core = read(source, &options, tell)?;
            py.detach(|| core.received(belief, lag, policy)).or_raise(py)
        }
    };
    if let Some(bar) = bar {
        bar.call_method0("close")?;
    }
    Ok(history_of(made?, is_single(c)))
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(read_history, module)?)?;
    module.add_function(wrap_pyfunction!(read_log, module)?)
}
