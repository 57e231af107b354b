//! Bindings of accumulated temper.

use afterquench::temper::{self, Contribution, History as Core, by_label};
use afterquench::{Estimate as CoreEstimate, HoldTime, Temperature};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::arguments::{argument_type, belief, belief_object, column, number, one_or_array};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};
use crate::temper::c_is_missing;

type Any<'py> = Bound<'py, PyAny>;

/// The temper a part has received, as a state: for one C, for several, or for a range of it.
///
/// Made by `accumulate`, `combine` or `OvenLog.history`; it can be continued with `then` and compared by its two-hour
/// equivalent temperature.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.combine([(220, 2), (200, 2)], c=20)
/// History: as 221.3 °C for two hours (C = 20)
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct History {
    /// The core's history.
    pub core: Core,
    /// Whether the caller gave one number for C and gets numbers back.
    pub single: bool,
    /// What the record it came from says of its two-hour equivalent, if it came from one.
    pub record: Option<CoreEstimate>,
}

impl History {
    /// The two-hour equivalent with everything known of it.
    fn whole_estimate(&self) -> CoreEstimate {
        self.record.clone().unwrap_or_else(|| self.core.estimate())
    }

    /// After a continuation the record's parts still count, now as independent parts of the sum.
    fn carried_on(mut self) -> Self {
        if let Some(record) = self.record.take() {
            let now = self.core.estimate();
            let others = record.components().iter().filter(|part| part.name != "c");
            let made = others.fold(now.clone(), |made, part| made.with(part.name.clone(), part.u));
            self.record = Some(made.shaped(afterquench::estimate::Shape::Normal).assuming_all(&record));
        }
        self
    }
}

/// A history as quenched for what the caller gave as C.
pub fn fresh(function: &'static str, py: Python<'_>, c: Option<&Any<'_>>) -> PyResult<History> {
    let Some(c) = c else { return Err(c_is_missing(py, function)) };
    let is_number = c.extract::<f64>().is_ok();
    if is_number || c.is_instance_of::<pyo3::types::PyTuple>() || c.is_instance_of::<Estimate>() {
        let core = Core::for_belief(belief(function, Some(c))?).or_raise(py)?;
        return Ok(History { core, single: is_number, record: None });
    }
    let core = Core::for_constants(&column(function, "c", c)?).or_raise(py)?;
    Ok(History { core, single: false, record: None })
}

#[pymethods]
impl History {
    /// C as it was given: a float, a pair (low, high), an Estimate, or an array.
    #[getter]
    fn c<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        match self.core.belief() {
            Some(belief) => belief_object(py, belief),
            None => one_or_array(py, &self.core.constants(), false),
        }
    }

    /// The values of C that are carried along.
    #[getter]
    fn constants<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        one_or_array(py, &self.core.constants(), false)
    }

    /// The tempering parameter in kelvin (hours), a float or one an element of `constants`.
    #[getter]
    fn parameter<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        one_or_array(py, &self.core.parameters(), self.single)
    }

    /// The flat temperature that does the same in two hours, °C: a float or one an element of `constants`.
    #[getter]
    fn two_hour_equivalent_c<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let values: Vec<f64> = self.core.two_hour_equivalents().into_iter().map(Temperature::celsius).collect();
        one_or_array(py, &values, self.single)
    }

    /// The two-hour equivalent temperature with the range that C and the record leave it.
    #[getter]
    fn estimate(&self) -> Estimate {
        self.whole_estimate().into()
    }

    /// Seconds that passed.
    #[getter]
    fn seconds(&self) -> f64 {
        self.core.seconds()
    }

    /// How much came from each stretch: a list of dicts with label, seconds and share of the equivalent time.
    ///
    /// Of a log: "before loading" (which counts nothing), "heat-up", "overshoot", "hold", "door", "cool-down", as far as
    /// there are; the shares add up to one.
    #[getter]
    fn contributions<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let contributions = self.core.contributions();
        let shown = if self.record.is_some() { by_label(contributions) } else { contributions };
        let rows = shown.into_iter().map(|Contribution { label, seconds, share }| {
            let row = PyDict::new(py);
            row.set_item("label", label)?;
            row.set_item("seconds", seconds)?;
            row.set_item("share", share)?;
            Ok(row)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// The hours at a flat temperature that do the same.
    ///
    /// Parameters
    /// ----------
    /// reference_c : float
    ///     The temperature in °C.
    ///
    /// Returns
    /// -------
    /// float or numpy.ndarray
    ///     Hours: a float, or one an element of `constants`.
    fn equivalent_hours<'py>(&self, py: Python<'py>, reference_c: &Any<'py>) -> PyResult<Any<'py>> {
        let reference = Temperature::from_celsius(number("equivalent_hours", "reference_c", reference_c)?);
        let times = self.core.equivalent_times(reference).or_raise(py)?;
        one_or_array(py, &times.into_iter().map(HoldTime::hours).collect::<Vec<_>>(), self.single)
    }

    /// The history continued by a trace, whose clock is its own.
    ///
    /// Parameters
    /// ----------
    /// time_s, temperature_c : array_like, shape (n,)
    ///     Seconds, rising, and °C; samples are joined by straight lines.
    ///
    /// Returns
    /// -------
    /// History
    ///     A new one; this one stays as it is.
    fn then(&self, py: Python<'_>, time_s: &Any<'_>, temperature_c: &Any<'_>) -> PyResult<Self> {
        follow(py, "then", self.clone(), time_s, temperature_c).map(Self::carried_on)
    }

    fn __repr__(&self) -> String {
        let core = self.whole_estimate();
        let (low, high) = core.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
        let range = if high > low { format!(" [{low:.0} .. {high:.0}]") } else { String::new() };
        let c = match self.core.belief() {
            Some(belief) => belief.text().replace(" (hours)", ""),
            None => format!("C = {:?}", self.core.constants()),
        };
        format!("History: as {:.1} °C for two hours{range} ({c})", core.value())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_history", &(&self.core, self.single, &self.record))
    }
}

/// Rebuilds a pickled history.
#[pyfunction]
fn _restore_history(state: &[u8]) -> PyResult<History> {
    let (core, single, record) = restore(state)?;
    Ok(History { core, single, record })
}

fn follow(
    py: Python<'_>,
    function: &'static str,
    mut history: History,
    time_s: &Any<'_>,
    temperature_c: &Any<'_>,
) -> PyResult<History> {
    let times = column(function, "time_s", time_s)?;
    let temperatures = column(function, "temperature_c", temperature_c)?;
    if times.len() != temperatures.len() || times.len() < 2 {
        let why = format!("{} times and {} temperatures", times.len(), temperatures.len());
        let hint = "Give one time for each temperature, and at least two samples: one alone has no duration";
        return Err(argument_type(py, function, "time_s", why, hint.into()));
    }
    let core = &mut history.core;
    py.detach(|| {
        core.lift();
        core.extend(&times, &temperatures)
    })
    .or_raise(py)?;
    if core.parameters().iter().any(|parameter| !parameter.is_finite()) {
        let why = "the trace spans no time".to_owned();
        return Err(argument_type(py, function, "time_s", why, "Give seconds that rise from sample to sample".into()));
    }
    Ok(history)
}

/// The temper that a trace of the steel's own temperature leaves.
///
/// Parameters
/// ----------
/// time_s, temperature_c : array_like, shape (n,)
///     Seconds, rising, and the steel's temperature in °C; samples are joined by straight lines.
/// c : float, Estimate, (low, high) or array_like
///     The steel's C for hours; a pair is a flat range, an array carries several along; required.
///
/// Returns
/// -------
/// History
///
/// Raises
/// ------
/// InvalidValueError
///     For missing or infinite samples, time running backwards, temperatures at or below absolute zero.
/// ArgumentTypeError
///     For columns of unequal length, of fewer than two samples, ragged or without numbers.
/// MissingArgumentError
///     Without c.
///
/// Notes
/// -----
/// dM/dt = (T / ln 10) 10^(C - M/T) from M = T (C + log t) taken as the state (Hollomon and Jaffe 1945); exact while
/// the temperature stands, within 1e-11 of M over a ramp. A trace split anywhere gives the same.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.accumulate([0, 2160, 9360], [20, 200, 200], c=15)
/// History: as 200.3 °C for two hours (C = 15)
#[pyfunction]
#[pyo3(signature = (time_s, temperature_c, *, c=None))]
fn accumulate(py: Python<'_>, time_s: &Any<'_>, temperature_c: &Any<'_>, c: Option<&Any<'_>>) -> PyResult<History> {
    follow(py, "accumulate", fresh("accumulate", py, c)?, time_s, temperature_c)
}

/// The temper that several flat holds leave, one after another.
///
/// Parameters
/// ----------
/// holds : sequence of (temperature_c, time_h)
///     The holds in order: °C and hours.
/// c : float, Estimate, (low, high) or array_like
///     The steel's C for hours; required.
///
/// Returns
/// -------
/// History
///     Each hold is one of its contributions.
///
/// Raises
/// ------
/// InvalidValueError
///     For times that are not positive, temperatures at or below absolute zero, missing or infinite values.
/// MissingArgumentError
///     Without c.
///
/// Notes
/// -----
/// What a second cycle does to retained austenite is not in this number.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.combine([(200, 2), (220, 2)], c=20).two_hour_equivalent_c, 1)
/// 221.5
#[pyfunction]
#[pyo3(signature = (holds, *, c=None))]
fn combine(py: Python<'_>, holds: &Any<'_>, c: Option<&Any<'_>>) -> PyResult<History> {
    let History { core, single, record } = fresh("combine", py, c)?;
    let pairs: Vec<(f64, f64)> = holds.extract().map_err(|_| {
        let why = "it is no list of pairs".to_owned();
        argument_type(py, "combine", "holds", why, "Write [(temperature_c, time_h), ...]".into())
    })?;
    if pairs.is_empty() {
        return Err(argument_type(py, "combine", "holds", "it is empty".into(), "Give at least one hold".into()));
    }
    let holds: Vec<_> = pairs
        .into_iter()
        .map(|(celsius, hours)| (Temperature::from_celsius(celsius), HoldTime::from_hours(hours)))
        .collect();
    Ok(History { core: temper::combine(&holds, core).or_raise(py)?, single, record })
}

/// Adds the classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<History>()?;
    module.add_function(wrap_pyfunction!(_restore_history, module)?)?;
    module.add_function(wrap_pyfunction!(accumulate, module)?)?;
    module.add_function(wrap_pyfunction!(combine, module)?)
}
