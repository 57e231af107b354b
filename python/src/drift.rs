//! Bindings of the `drift` room.

use afterquench::Error;
use afterquench::drift::{self, Monitor as Core};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::arguments::{argument_type, column, data_frame};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// What the checks of an oven or a tester say together; made by `monitor`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> checks = {"date": ["2031-01-05", "2031-02-05", "2031-03-05"], "value": [0.1, 0.2, 0.6]}
/// >>> aq.monitor(checks).verdict
/// 'cannot say yet'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Monitor {
    core: Core,
    first: i64,
    unit: String,
}

impl Monitor {
    fn date<'py>(&self, py: Python<'py>, days: f64) -> PyResult<Any<'py>> {
        let date = py.import("datetime")?.getattr("date")?;
        let latest: i64 = date.getattr("max")?.call_method0("toordinal")?.extract()?;
        let day = (self.first as f64 + days.round()).clamp(1.0, latest as f64);
        date.call_method1("fromordinal", (day as i64,))
    }
}

#[pymethods]
impl Monitor {
    /// "drifting", "steady" or "cannot say yet".
    #[getter]
    fn verdict(&self) -> &'static str {
        self.core.state.text()
    }

    /// Why, in words.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    /// Slope per month (30.44 days), with Student's range; None with fewer than three checks.
    #[getter]
    fn slope(&self) -> Option<Estimate> {
        self.core.slope.clone().map(Estimate::from)
    }

    /// When the line passes the limit, where it drifts: a dict with date, earliest and latest (95 %), months from the
    /// first check, and the level passed; None otherwise.
    #[getter]
    fn passes_limit<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        let Some(crossing) = self.core.crossing else { return Ok(None) };
        let made = PyDict::new(py);
        made.set_item("date", self.date(py, crossing.days)?)?;
        let range = crossing.range.map(|(low, high)| Ok::<_, PyErr>((self.date(py, low)?, self.date(py, high)?)));
        let (earliest, latest) = range.transpose()?.map_or((None, None), |(low, high)| (Some(low), Some(high)));
        made.set_item("earliest", earliest)?;
        made.set_item("latest", latest)?;
        made.set_item("months", crossing.days / drift::MONTH_DAYS)?;
        made.set_item("level", crossing.level)?;
        Ok(Some(made))
    }

    /// The individuals chart: a dict with centre, sd, lower, upper and outside (indices).
    #[getter]
    fn individuals<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let chart = &self.core.individuals;
        let made = PyDict::new(py);
        made.set_item("centre", chart.centre)?;
        made.set_item("sd", chart.sd)?;
        made.set_item("lower", chart.lower)?;
        made.set_item("upper", chart.upper)?;
        made.set_item("outside", &chart.outside)?;
        Ok(made)
    }

    /// The EWMA chart: a dict with weight, width, arrays value, lower, upper, and outside (indices).
    #[getter]
    fn ewma<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let chart = &self.core.ewma;
        let made = PyDict::new(py);
        made.set_item("weight", chart.lambda)?;
        made.set_item("width", chart.width)?;
        made.set_item("value", PyArray1::from_slice(py, &chart.values))?;
        made.set_item("lower", PyArray1::from_slice(py, &chart.lower))?;
        made.set_item("upper", PyArray1::from_slice(py, &chart.upper))?;
        made.set_item("outside", &chart.outside)?;
        Ok(made)
    }

    /// Mean number of checks until a chart signals: dicts with chart, shift (in standard deviations) and checks.
    #[getter]
    fn run_lengths<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.run_lengths.iter().map(|(chart, shift, checks)| {
            let made = PyDict::new(py);
            made.set_item("chart", chart)?;
            made.set_item("shift", shift)?;
            made.set_item("checks", checks)?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// What to know before acting.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions.clone()
    }

    /// The checks as a pandas DataFrame: date, value, EWMA and its limits.
    ///
    /// Returns
    /// -------
    /// pandas.DataFrame
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        let dates = self.core.days.iter().map(|days| self.date(py, *days)).collect::<PyResult<Vec<_>>>()?;
        columns.set_item("date", dates)?;
        columns.set_item("value", self.core.values.clone())?;
        columns.set_item("ewma", self.core.ewma.values.clone())?;
        columns.set_item("ewma_lower", self.core.ewma.lower.clone())?;
        columns.set_item("ewma_upper", self.core.ewma.upper.clone())?;
        data_frame(py, &columns)
    }

    fn __len__(&self) -> usize {
        self.core.values.len()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let passed = match self.core.crossing {
            Some(crossing) => {
                let unit = &self.unit;
                format!("; passes {:+} {unit} about {}", crossing.level, self.date(py, crossing.days)?)
            }
            None => String::new(),
        };
        Ok(format!("{}: {}{passed}", self.core.state.text(), self.core.why))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_monitor", &(&self.core, self.first, &self.unit))
    }
}

/// Rebuilds a pickled monitor.
#[pyfunction]
fn _restore_monitor(state: &[u8]) -> PyResult<Monitor> {
    let (core, first, unit) = restore(state)?;
    Ok(Monitor { core, first, unit })
}

/// The columns of a frame or dict, and their names.
struct Table<'py> {
    frame: Any<'py>,
    names: Vec<String>,
}

impl<'py> Table<'py> {
    fn of(frame: &Any<'py>) -> PyResult<Self> {
        let given = if frame.hasattr("columns")? { frame.getattr("columns")? } else { frame.clone() };
        let names = given.try_iter().and_then(|names| names.map(|name| name?.extract()).collect());
        let names = names.map_err(|_| refused(frame.py(), "it has no named columns"))?;
        Ok(Self { frame: frame.clone(), names })
    }

    fn starting(&self, start: &str) -> Option<&str> {
        self.names.iter().map(String::as_str).find(|name| name.starts_with(start))
    }

    fn numbers(&self, name: &str) -> PyResult<Vec<f64>> {
        column("monitor", name, &self.frame.get_item(name)?)
    }

    /// Days since the year 1.
    fn days(&self) -> PyResult<Vec<f64>> {
        let py = self.frame.py();
        let date = py.import("datetime")?.getattr("date")?;
        let mut days = Vec::new();
        for item in self.frame.get_item("date")?.try_iter()? {
            let item = item?;
            let day = if item.hasattr("toordinal")? {
                item.call_method0("toordinal")
            } else {
                let text = item.str()?.to_string();
                // A time of day behind the date says nothing of a drift over months.
                let day = text.trim().split(['T', ' ']).next().unwrap_or_default();
                date.call_method1("fromisoformat", (day,)).and_then(|day| day.call_method0("toordinal"))
            };
            let (day, row) = (day.and_then(|day| day.extract::<i64>()), days.len() + 1);
            days.push(day.map_err(|_| {
                let shown = item.repr().map_or_else(|_| "it".to_owned(), |text| text.to_string());
                let why = format!("{shown} (row {row}) is no date that is read here");
                let hint = "Write each date in figures, the year first, as 2031-01-05, or give dates of datetime, NumPy or \
                            pandas";
                argument_type(py, "monitor", "date", why, hint.into())
            })? as f64);
        }
        Ok(days)
    }

    /// What drifts, and its unit: reference less display, readings less block, or the values as they are.
    fn values(&self) -> PyResult<(Vec<f64>, String)> {
        let py = self.frame.py();
        if let (Some(display), Some(reference)) = (self.starting("controller"), self.starting("reference")) {
            let (display, reference) = (self.numbers(display)?, self.numbers(reference)?);
            if display.len() != reference.len() {
                return Err(refused(py, "its columns are of unequal length"));
            }
            return Ok((
                reference.iter().zip(&display).map(|(reference, display)| reference - display).collect(),
                "°C".into(),
            ));
        }
        if let Some(block) = self.starting("block_value") {
            let block = self.numbers(block)?;
            let is_reading = |name: &&String| name.strip_prefix('r').is_some_and(|n| n.parse::<u32>().is_ok());
            let all: Vec<Vec<f64>> =
                self.names.iter().filter(is_reading).map(|name| self.numbers(name)).collect::<PyResult<_>>()?;
            if all.is_empty() {
                return Err(refused(py, "it has a block_value but no readings r1, r2 ..."));
            }
            let unit = self.scale()?;
            // A reading that was not taken is blank; the mean is over those that were.
            let mean = |index: usize| {
                let taken: Vec<f64> =
                    all.iter().filter_map(|r| r.get(index).copied()).filter(|r| !r.is_nan()).collect();
                taken.iter().sum::<f64>() / taken.len() as f64
            };
            return Ok((block.iter().enumerate().map(|(index, block)| mean(index) - block).collect(), unit));
        }
        match self.starting("value") {
            Some(name) => Ok((self.numbers(name)?, String::new())),
            None => Err(refused(py, "none of its columns is known")),
        }
    }

    /// The one scale of the readings.
    fn scale(&self) -> PyResult<String> {
        if !self.names.iter().any(|name| name == "scale") {
            return Ok(String::new());
        }
        let all = self.frame.get_item("scale")?.try_iter()?.map(|item| item?.extract::<String>());
        let mut all: Vec<String> = all.collect::<PyResult<_>>()?;
        all.sort();
        all.dedup();
        match all.as_slice() {
            [one] => Ok(one.clone()),
            several => Err(raised(
                self.frame.py(),
                &Error::Refused {
                    what: format!("a drift over {}", several.join(" and ")).into(),
                    why: "a tester's bias belongs to one scale".into(),
                    instead: "Ask for each scale by itself".into(),
                },
            )),
        }
    }
}

fn refused(py: Python<'_>, why: &str) -> PyErr {
    let hint =
        "Give columns date and controller_degc, reference_degc; or date, block_value, r1, r2 ...; or date, value";
    argument_type(py, "monitor", "frame", why.to_owned(), hint.into())
}

/// Whether an oven or a tester drifts from check to check.
///
/// Parameters
/// ----------
/// frame : DataFrame or dict of columns
///     date with controller_degc and reference_degc (the drift of reference less display), with block_value and r1, r2
///     ... (mean reading less block), or with value. One row a check, by date.
/// limit : float, optional
///     What the values may not pass, on either side of zero, in their unit.
/// centre : float, optional
///     Middle line of the charts; the mean by default.
/// weight, width : float
///     Weight of the newest value in the EWMA (0 to 1), and its limits in standard deviations.
/// u_reference : float
///     Standard uncertainty of the reference's own drift, per month.
///
/// Returns
/// -------
/// Monitor
///     With .verdict, .why, .slope, .passes_limit, .individuals, .ewma, .run_lengths, .cautions and .to_frame().
///
/// Raises
/// ------
/// ArgumentTypeError
///     For a frame without known columns, text among numbers, dates that are none.
/// InvalidValueError
///     For dates that fall, missing checks, a limit, weight or width that makes no sense.
/// RefusedError
///     For readings on several scales.
///
/// Notes
/// -----
/// Drifting where the 95 % range of the slope (Student's t) leaves out zero. Limits of the individuals chart are 3 mean
/// moving ranges over 1.128; those of the EWMA after the NIST/SEMATECH e-Handbook, 6.3.2.4. Run lengths by Crowder's
/// integral equation (1987), for limits that are known.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> months = [f"2031-{month:02}-05" for month in range(1, 7)]
/// >>> checks = {"date": months, "controller_degc": [200] * 6, "reference_degc": [199, 199.6, 199.8, 200.5, 200.8, 201.4]}
/// >>> aq.monitor(checks, limit=3)
/// drifting: +0.47 ± 0.07 °C a month (95 %, 6 checks); passes +3 °C about 2031-09-19
#[pyfunction]
#[pyo3(signature = (frame, *, limit=None, centre=None, weight=0.2, width=3.0, u_reference=0.0))]
fn monitor(
    py: Python<'_>,
    frame: &Any<'_>,
    #[pyo3(from_py_with = given::monitor::limit)] limit: Option<f64>,
    #[pyo3(from_py_with = given::monitor::centre)] centre: Option<f64>,
    #[pyo3(from_py_with = given::monitor::weight)] weight: f64,
    #[pyo3(from_py_with = given::monitor::width)] width: f64,
    #[pyo3(from_py_with = given::monitor::u_reference)] u_reference: f64,
) -> PyResult<Monitor> {
    let table = Table::of(frame)?;
    if !table.names.iter().any(|name| name == "date") {
        return Err(refused(py, "it has no column date"));
    }
    let days = table.days()?;
    let (values, unit) = table.values()?;
    let first = days.first().copied().unwrap_or(1.0) as i64;
    let request =
        drift::Request { days, values, limit, centre, lambda: weight, width, u_reference, unit: unit.clone() };
    Ok(Monitor { core: py.detach(|| drift::monitor(&request)).or_raise(py)?, first, unit })
}

/// How well a process fits between its limits: the capability index Cpk.
///
/// The distance from the mean to the nearer limit in units of three standard deviations (NIST/SEMATECH e-Handbook of
/// Statistical Methods, 7.1.6). It takes a process that stands still and spreads normally: ask `monitor` first.
///
/// Parameters
/// ----------
/// mean, standard_deviation : float
///     Of the process, in the unit of the limits.
/// lower, upper : float, optional
///     The limits; with one only that side counts.
///
/// Returns
/// -------
/// float
///     1.33 and more is what shops ask for (common practice, no source); negative where the mean itself is outside.
///
/// Raises
/// ------
/// RefusedError
///     Without a limit, or where lower is not below upper.
/// InvalidValueError
///     For a standard deviation that is not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.process_capability(16, 2, lower=8, upper=20), 4)
/// 0.6667
#[pyfunction]
#[pyo3(signature = (mean, standard_deviation, *, lower=None, upper=None))]
fn process_capability(
    py: Python<'_>,
    #[pyo3(from_py_with = given::process_capability::mean)] mean: f64,
    #[pyo3(from_py_with = given::process_capability::standard_deviation)] standard_deviation: f64,
    #[pyo3(from_py_with = given::process_capability::lower)] lower: Option<f64>,
    #[pyo3(from_py_with = given::process_capability::upper)] upper: Option<f64>,
) -> PyResult<f64> {
    drift::process_capability(mean, standard_deviation, lower, upper).or_raise(py)
}

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Monitor>()?;
    module.add_function(wrap_pyfunction!(_restore_monitor, module)?)?;
    module.add_function(wrap_pyfunction!(process_capability, module)?)?;
    module.add_function(wrap_pyfunction!(monitor, module)?)
}
