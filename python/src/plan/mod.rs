//! Bindings of the `plan` room.

mod explain;
mod load;
mod retemper;

use std::sync::Arc;

use afterquench::curve::HardnessAfterTemper;
use afterquench::oven::Surroundings;
use afterquench::plan::{self, Band, Plan as Core, Request, Schedule as CoreSchedule, Unknowns};
use afterquench::temper::{ConstantBelief, UNKNOWN_STEEL};
use afterquench::{HoldTime, Length, Temperature};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyList};

use crate::arguments::{argument_type, as_quenched, belief};
use crate::curve::TemperingCurve;
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};
use crate::steel::CompositionSteel;

type Any<'py> = Bound<'py, PyAny>;

/// What a plan's `__reduce__` returns: its core's bytes, and the steel as Python pickles it.
type ReducedPlan<'py> = (Any<'py>, (Bound<'py, PyBytes>, Py<PyAny>));

/// Half the width of the window behind a single number, HRC.
const AROUND_A_NUMBER_HRC: f64 = 0.5;

/// One way to reach a hardness window.
///
/// Made by `plan` and `retemper`; its `repr` is the answer in one line.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.plan(aq.TemperingCurve([150, 200, 250], [62, 60, 58]), target_hrc=(59, 61)).best
/// 200 °C for 2 h: 60.0 HRC [58.6 .. 61.4], chance inside 0.84
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Schedule {
    core: CoreSchedule,
}

#[pymethods]
impl Schedule {
    /// Temperature to set, °C.
    #[getter]
    fn temperature_c(&self) -> f64 {
        self.core.temperature.celsius()
    }

    /// Time of one cycle, hours.
    #[getter]
    fn time_h(&self) -> f64 {
        self.core.time.hours()
    }

    /// Number of cycles.
    #[getter]
    fn cycles(&self) -> u32 {
        self.core.cycles
    }

    /// The hardness it gives, HRC.
    #[getter]
    fn hrc(&self) -> Estimate {
        self.core.hrc.clone().into()
    }

    /// The set temperature that would really give .hrc, were all known that is not: an Estimate in °C whose interval is
    /// that of .hrc along the curve. None where the curve is flat.
    #[getter]
    fn temperature_estimate(&self) -> Option<Estimate> {
        self.core.needed.clone().map(Estimate::from)
    }

    /// The chance that the hardness lies inside the window.
    #[getter]
    fn p_inside(&self) -> f64 {
        self.core.p_inside
    }

    /// The chance that it comes out softer than the window, which tempering can't take back.
    #[getter]
    fn p_too_soft(&self) -> f64 {
        self.core.p_too_soft
    }

    /// Temperatures (low, high) in °C whose nominal hardness lies inside the window.
    #[getter]
    fn window_c(&self) -> (f64, f64) {
        (self.core.window.low_c, self.core.window.high_c)
    }

    /// Temperatures (low, high) in °C that stay inside though the curve be off by twice its uncertainty; None if none do.
    #[getter]
    fn sure_window_c(&self) -> Option<(f64, f64)> {
        self.core.sure_window.map(|window| (window.low_c, window.high_c))
    }

    /// "falling", "rising" or "over-ageing": the side of a secondary-hardening hump.
    #[getter]
    fn side(&self) -> &'static str {
        self.core.side.name()
    }

    /// What to watch with this schedule, as sentences.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions.clone()
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.core.hrc.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
        format!(
            "{:.0} °C for {}: {:.1} HRC [{low:.1} .. {high:.1}], chance inside {:.2}",
            self.core.temperature.celsius(),
            hold_text(&self.core),
            self.core.hrc.value(),
            self.core.p_inside
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_schedule", &self.core)
    }
}

fn hold_text(schedule: &CoreSchedule) -> String {
    let hours = schedule.time.hours();
    if schedule.cycles > 1 { format!("{} × {hours} h", schedule.cycles) } else { format!("{hours} h") }
}

/// Rebuilds a pickled schedule.
#[pyfunction]
fn _restore_schedule(state: &[u8]) -> PyResult<Schedule> {
    Ok(Schedule { core: restore(state)? })
}

/// Schedules for a hardness window with what belongs to them: equivalents, sensitivity, hazards, cautions.
///
/// Made by `plan` and `retemper`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5])
/// >>> aq.plan(curve, (58, 60)).best
/// 227 °C for 2 h: 59.0 HRC [57.6 .. 60.4], chance inside 0.83
#[pyclass(module = "afterquench._native", frozen)]
pub struct Plan {
    core: Core,
    steel: Py<PyAny>,
}

#[pymethods]
impl Plan {
    /// The steel or curve it was made for, as it was given.
    #[getter]
    fn steel(&self, py: Python<'_>) -> Py<PyAny> {
        self.steel.clone_ref(py)
    }

    /// What the curve is called.
    #[getter]
    fn name(&self) -> &str {
        &self.core.name
    }

    /// The hardness window (lower, upper) asked for, HRC.
    #[getter]
    fn target_hrc(&self) -> (f64, f64) {
        self.core.target
    }

    /// What was put in, by name, each with its unit.
    #[getter]
    fn inputs<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        for (name, value) in &self.core.inputs {
            made.set_item(name, value)?;
        }
        Ok(made)
    }

    /// Every way found, coolest first.
    #[getter]
    fn schedules(&self) -> Vec<Schedule> {
        self.core.schedules.iter().map(|core| Schedule { core: core.clone() }).collect()
    }

    /// The schedule to take: the greatest chance, the rising side of a hump only where there is no other. None where a
    /// measured part is best left as it is: `.leave` says why then. A plan of `plan` always has one.
    #[getter]
    fn best(&self) -> Option<Schedule> {
        self.core.best().map(|core| Schedule { core: core.clone() })
    }

    /// For a part that is measured again: 5 °C under the best schedule; None for a plan.
    #[getter]
    fn first_step(&self) -> Option<Schedule> {
        self.core.first_step.clone().map(|core| Schedule { core })
    }

    /// Why to leave a measured part as it is, where it lies inside the window already; None otherwise. .best is None
    /// then, and .schedules still tell what would soften it to the middle.
    #[getter]
    fn leave(&self) -> Option<&str> {
        self.core.leave.as_deref()
    }

    /// What does the same as the best schedule: dicts with temperature (Estimate, °C), time (Estimate, h; in all),
    /// practical and note.
    #[getter]
    fn equivalents<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.equivalents.iter().map(|row| {
            let made = PyDict::new(py);
            made.set_item("temperature", Estimate::from(row.temperature.clone()))?;
            made.set_item("time", Estimate::from(row.time.clone()))?;
            made.set_item("practical", row.practical)?;
            made.set_item("note", &row.note)?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// What changes are worth: dicts with change, hardness_delta_hrc, p_inside and same_as.
    #[getter]
    fn sensitivity<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.sensitivity.iter().map(|row| {
            let made = PyDict::new(py);
            made.set_item("change", &row.change)?;
            made.set_item("hardness_delta_hrc", row.hardness_delta_hrc)?;
            made.set_item("p_inside", row.p_inside)?;
            made.set_item("same_as", &row.same_as)?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// Bands of temperature that sources warn of: dicts with hazard, steel_family, from_c, to_c, rule and source.
    #[getter]
    fn hazards<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.bands.iter().map(|band| {
            let made = PyDict::new(py);
            made.set_item("hazard", &band.hazard)?;
            made.set_item("steel_family", &band.steel_family)?;
            made.set_item("from_c", band.from_c)?;
            made.set_item("to_c", band.to_c)?;
            made.set_item("rule", &band.rule)?;
            made.set_item("source", &band.source)?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// Cautions for the work; local codes and licensed practice come first.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions.clone()
    }

    /// What was assumed, as sentences.
    #[getter]
    fn assumptions(&self) -> Vec<String> {
        self.core.assumptions.clone()
    }

    /// The schedules as a pandas DataFrame, one row each.
    ///
    /// Returns
    /// -------
    /// pandas.DataFrame
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        let all = &self.core.schedules;
        macro_rules! column {
            ($name:literal, $value:expr) => {
                columns.set_item($name, all.iter().map($value).collect::<Vec<_>>())?;
            };
        }
        let end = |schedule: &CoreSchedule, high: bool| {
            schedule.hrc.interval(0.95).map_or(f64::NAN, |(low, top)| if high { top } else { low })
        };
        column!("temperature_c", |s| s.temperature.celsius());
        column!("time_h", |s| s.time.hours());
        column!("cycles", |s| s.cycles);
        column!("hrc", |s| s.hrc.value());
        column!("lo95_hrc", |s| end(s, false));
        column!("hi95_hrc", |s| end(s, true));
        column!("p_inside", |s| s.p_inside);
        column!("p_too_soft", |s| s.p_too_soft);
        column!("window_low_c", |s| s.window.low_c);
        column!("window_high_c", |s| s.window.high_c);
        column!("side", |s| s.side.name());
        crate::arguments::data_frame(py, &columns)
    }

    /// Writes the plan as one page of HTML with its picture inside the file.
    ///
    /// Parameters
    /// ----------
    /// path : str or path-like
    ///     Where to write it. The file appears whole or not at all.
    /// title : str, optional
    ///     What stands at the top.
    ///
    /// Returns
    /// -------
    /// pathlib.Path
    ///     The file written.
    #[pyo3(signature = (path, *, title=None))]
    fn sheet<'py>(slf: &Bound<'py, Self>, path: &Any<'py>, title: Option<&str>) -> PyResult<Any<'py>> {
        slf.py().import("afterquench.report")?.getattr("write_plan_sheet")?.call1((slf, path, title))
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.core.target;
        if let Some(leave) = &self.core.leave {
            return format!("Plan for {low} to {high} HRC: {leave}");
        }
        let best = self.best().map_or_else(|| "no schedule".to_owned(), |best| best.__repr__());
        let more = self.core.schedules.len().saturating_sub(1);
        let more = if more > 0 { format!(" (and {more} more)") } else { String::new() };
        format!("Plan for {low} to {high} HRC: {best}{more}")
    }

    fn __eq__(&self, py: Python<'_>, other: &Self) -> PyResult<bool> {
        Ok(self.core == other.core && self.steel.bind(py).eq(other.steel.bind(py))?)
    }

    fn __hash__(&self) -> PyResult<isize> {
        Err(pyo3::exceptions::PyTypeError::new_err("a Plan holds lists and can't be hashed"))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<ReducedPlan<'py>> {
        let (_, (state,)) = reduce(py, "_restore_schedule", &self.core)?;
        Ok((py.import("afterquench._native")?.getattr("_restore_plan")?, (state, self.steel.clone_ref(py))))
    }
}

/// Rebuilds a pickled plan.
#[pyfunction]
fn _restore_plan(state: &[u8], steel: Py<PyAny>) -> PyResult<Plan> {
    Ok(Plan { core: restore(state)?, steel })
}

/// A hardness window: a pair, or a number that stands for itself ± 0.5.
fn target(function: &str, given: &Any<'_>) -> PyResult<(f64, f64)> {
    if let Ok(pair) = given.extract::<(f64, f64)>() {
        return Ok(pair);
    }
    if let Ok(middle) = given.extract::<f64>() {
        return Ok((middle - AROUND_A_NUMBER_HRC, middle + AROUND_A_NUMBER_HRC));
    }
    Err(argument_type(
        given.py(),
        function,
        "target_hrc",
        "it is neither a number nor a pair".into(),
        "Write target_hrc=(58, 60)".into(),
    ))
}

/// The unknowns of a call: the curve's own, where it gives what is wanted, if none are given.
fn unknowns(
    curve: &dyn HardnessAfterTemper,
    (wanted, time): ((f64, f64), HoldTime),
    u_curve: Option<f64>,
    u_batch: Option<f64>,
    (position, sensor, controller, time_min): (f64, f64, f64, f64),
) -> Unknowns {
    let mut made = Unknowns::near(curve, 0.5 * (wanted.0 + wanted.1), time);
    made.u_curve_hrc = u_curve.unwrap_or(made.u_curve_hrc);
    made.batch_in_curve &= u_batch.is_none();
    made.u_batch_hrc = u_batch.unwrap_or(made.u_batch_hrc);
    made.hold.position_delta_c = position;
    made.hold.sensor_delta_c = sensor;
    made.hold.controller_delta_c = controller;
    made.hold.time_h = time_min / 60.0;
    made
}

fn constant(function: &str, curve: &dyn HardnessAfterTemper, given: Option<&Any<'_>>) -> PyResult<ConstantBelief> {
    match given {
        Some(_) => belief(function, given),
        None => Ok(curve.constant().unwrap_or(UNKNOWN_STEEL)),
    }
}

/// The curve behind what the caller calls a steel, and the bands that sources print for it: those of the catalogue for
/// a steel, the general rule for a curve of the caller's own.
pub fn known(function: &str, steel: &Any<'_>) -> PyResult<(Arc<dyn HardnessAfterTemper>, Vec<Band>)> {
    let py = steel.py();
    if let Ok(curve) = steel.cast::<TemperingCurve>() {
        let curve: Arc<dyn HardnessAfterTemper> = Arc::<afterquench::curve::TemperingCurve>::clone(&curve.get().core);
        return Ok((curve, plan::general_bands()));
    }
    if let Ok(made) = steel.cast::<CompositionSteel>() {
        return Ok((made.get().curve(), plan::general_bands()));
    }
    let name: Option<String> = if let Ok(name) = steel.extract::<String>() {
        Some(name)
    } else if steel.hasattr("curves")? {
        steel.getattr("name")?.extract().ok()
    } else {
        None
    };
    let Some(name) = name else {
        let kind = steel.get_type().name()?.to_string();
        let why = format!("a {kind} is neither a steel nor a curve");
        return Err(argument_type(
            py,
            function,
            "steel",
            why,
            "Give a name, a Steel, a TemperingCurve or a CompositionSteel".into(),
        ));
    };
    let steel = afterquench::steel::steel(&name).or_raise(py)?;
    let curve = steel.answering().or_raise(py)?;
    Ok((curve, steel.hazards().iter().map(Band::from).collect()))
}

/// Schedules that bring a steel into a hardness window, with the chance of landing inside.
///
/// Parameters
/// ----------
/// steel : str, Steel, TemperingCurve or CompositionSteel
///     A steel's name, the steel, a curve of your own, or a composition with what you read.
/// target_hrc : (float, float) or float
///     Lower and upper limit in HRC; a number stands for itself ± 0.5.
/// as_quenched_hrc : float or Estimate, optional
///     Hardness before the temper, HRC. It checks that the hardening worked; it is never a scale factor. An Estimate's u is
///     what it is judged by, in place of 0.5 HRC, and what it leaves open is in the schedules' "as-quenched" component.
/// oven_limit_c : float, optional
///     The hottest the oven can do, °C. Where that is too cool, a longer hold up to 8 h is looked for.
/// thickness_mm : float, optional
///     Thickness of the part: .cautions then say how much of the hold it loses while heating through.
/// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
///     What is around the part in the oven; only used with thickness_mm.
/// cycles : int
///     Number of cycles; each takes time_h.
/// time_h : float
///     Time of one cycle, hours.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; the curve's own, else 15 to 20, flat.
/// u_curve, u_batch : float, optional
///     Standard uncertainty of the curve's level and between batches, HRC; the curve's own.
/// position_delta_c, sensor_delta_c, controller_delta_c : float
///     Half widths of flat distributions, differences in °C.
/// time_spread_min : float
///     Half width of the time of a cycle, minutes.
///
/// Returns
/// -------
/// Plan
///     With .schedules, .best, .equivalents, .sensitivity, .hazards, .cautions, .to_frame() and .sheet(path).
///
/// Raises
/// ------
/// NoAnswerError
///     Where no temperature of the curve, or none within the oven's limit, gives the window; where the as-quenched
///     reading says that the hardening failed, or lies above what this steel can have.
/// InvalidValueError
///     For a reversed window, widths or thickness that make no sense, a time that the timer's error is as long as.
/// OutOfRangeError
///     For a time outside 0.1 to 100 h.
/// UnknownNameError
///     For a steel that is not in the catalogue.
///
/// Notes
/// -----
/// The uncertainties go through the curve by quadrature, the limit of a Monte Carlo run: the same call gives the same
/// bits and needs no seed. Their widths are assumptions (common practice, no source); change those you know better.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5])
/// >>> p = aq.plan(curve, target_hrc=(58, 60))
/// >>> [round(t) for t in p.best.window_c]
/// [208, 246]
/// >>> aq.plan(curve, target_hrc=(58, 60), u_curve=0.3, u_batch=0).best.p_inside > 0.99
/// True
#[pyfunction(name = "plan")]
#[pyo3(signature = (steel, target_hrc, *, as_quenched_hrc=None, oven_limit_c=None, thickness_mm=None,
    surroundings="fan air", cycles=1, time_h=2.0, c=None, u_curve=None, u_batch=None, position_delta_c=5.0, sensor_delta_c=1.5, controller_delta_c=1.0,
    time_spread_min=3.0))]
#[allow(clippy::too_many_arguments)] // Each is a keyword of the Python call.
fn make_plan(
    py: Python<'_>,
    steel: &Any<'_>,
    target_hrc: &Any<'_>,
    as_quenched_hrc: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::plan::oven_limit_c)] oven_limit_c: Option<f64>,
    #[pyo3(from_py_with = given::plan::thickness_mm)] thickness_mm: Option<f64>,
    #[pyo3(from_py_with = given::plan::surroundings)] surroundings: &str,
    #[pyo3(from_py_with = given::plan::cycles)] cycles: i64,
    #[pyo3(from_py_with = given::plan::time_h)] time_h: f64,
    c: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::plan::u_curve)] u_curve: Option<f64>,
    #[pyo3(from_py_with = given::plan::u_batch)] u_batch: Option<f64>,
    #[pyo3(from_py_with = given::plan::position_delta_c)] position_delta_c: f64,
    #[pyo3(from_py_with = given::plan::sensor_delta_c)] sensor_delta_c: f64,
    #[pyo3(from_py_with = given::plan::controller_delta_c)] controller_delta_c: f64,
    #[pyo3(from_py_with = given::plan::time_spread_min)] time_spread_min: f64,
) -> PyResult<Plan> {
    let (curve, bands) = known("plan", steel)?;
    let quenched = as_quenched_hrc
        .map(|given| {
            let reading = as_quenched("plan", given, false)?;
            if reading.hrc.is_nan() {
                let hint = "Leave it out where no reading was taken".to_owned();
                return Err(argument_type(py, "plan", "as_quenched_hrc", "it is NaN".to_owned(), hint));
            }
            Ok(reading)
        })
        .transpose()?;
    let of_the_part = quenched.map(|reading| curve.for_as_quenched(reading)).transpose().or_raise(py)?.flatten();
    let curve = of_the_part.unwrap_or(curve);
    let widths = (position_delta_c, sensor_delta_c, controller_delta_c, time_spread_min);
    let wanted = target("plan", target_hrc)?;
    let total = HoldTime::from_hours(time_h * cycles as f64);
    let request = Request {
        target: wanted,
        time: HoldTime::from_hours(time_h),
        cycles: cycles.clamp(0, i64::from(u32::MAX)) as u32,
        oven_limit: oven_limit_c.map(Temperature::from_celsius),
        as_quenched: quenched,
        thickness: thickness_mm.map(Length::from_mm),
        surroundings: Surroundings::named(surroundings).or_raise(py)?,
        unknowns: unknowns(curve.as_ref(), (wanted, total), u_curve, u_batch, widths),
        c: constant("plan", curve.as_ref(), c)?,
        bands,
    };
    let core = py.detach(|| plan::plan(curve.as_ref(), &request)).or_raise(py)?;
    Ok(Plan { core, steel: steel.clone().unbind() })
}

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Schedule>()?;
    module.add_class::<Plan>()?;
    module.add_function(wrap_pyfunction!(_restore_schedule, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_plan, module)?)?;
    module.add_function(wrap_pyfunction!(make_plan, module)?)?;
    retemper::register(module)?;
    explain::register(module)?;
    load::register(module)
}
