//! The next temper for a part that was measured, and what it may have had before.

use afterquench::curve::HardnessAfterTemper;
use afterquench::estimate::root_sum_of_squares;
use afterquench::plan::{self, Earlier, RetemperRequest};
use afterquench::temper::{ConstantBelief, History};
use afterquench::{HoldTime, Temperature};
use pyo3::prelude::*;

use super::{Any, Plan, Schedule, constant, known, target, unknowns};
use crate::arguments::{argument_type, measured, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::given;
use crate::hardness::Readings;
use crate::history::History as PyHistory;

/// The next temper for a part that measures harder than wanted.
///
/// Parameters
/// ----------
/// steel : str, Steel, TemperingCurve or CompositionSteel
///     A steel's name, the steel, a curve of your own, or a composition with what you read.
/// measured_hrc : float, Estimate or Readings
///     What the part measures, HRC, corrected with a reference block; Readings on another scale are converted.
/// target_hrc : (float, float) or float
///     Lower and upper limit in HRC; a number stands for itself ± 0.5.
/// previous : sequence of (temperature_c, time_h) or Schedule; History, Plan or Schedule; optional
///     What the part has had: holds in °C and hours, what a log left (``log.history(c=...)``), or a Plan, which counts as
///     its .best carried out after what it started from. Without it the curve says from the reading.
/// time_h : float
///     Time of the next step, hours.
/// u_measured : float
///     Standard uncertainty of the reading, HRC; an Estimate brings its own.
/// oven_limit_c : float, optional
///     The hottest the oven can do, °C.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; the curve's own, else 15 to 20, flat.
/// position_delta_c, sensor_delta_c, controller_delta_c : float
///     Half widths of flat distributions, differences in °C.
/// time_spread_min : float
///     Half width of the time, minutes.
///
/// Returns
/// -------
/// Plan
///     As of `plan`; .first_step lies 5 °C under .best: go there, measure, repeat. .equivalents tells what time alone
///     would take. A part inside the window already gets .leave, a .best of None, and .schedules of what would soften it to
///     the middle: ask for .leave before .best is used.
///
/// Raises
/// ------
/// NoAnswerError
///     Where the part is softer than wanted on a curve that only falls: tempering can't bring hardness back.
/// SeveralAnswersError
///     Where the reading alone does not say which temper the part had.
/// RefusedError
///     For a History made for another C than `c`.
///
/// Notes
/// -----
/// What the reading lies above the curve after the previous tempers is carried as a shift. Whether it fades with further
/// tempering is not known, and counted. The chances hold the reading's u, the oven's spread in this step, and how well
/// the earlier temperature is known: as the oven for holds, as the log for a History, as the curve's level and batch
/// where only the reading speaks.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> curve = aq.TemperingCurve([150, 175, 200, 225, 250], [62.6, 61.6, 60.4, 59.1, 57.8])
/// >>> aq.retemper(curve, measured_hrc=61.2, target_hrc=60.0, previous=[(200, 2)], c=20).best
/// 222 °C for 2 h: 60.0 HRC [59.1 .. 60.9], chance inside 0.73
#[pyfunction(name = "retemper")]
#[pyo3(signature = (steel, measured_hrc, target_hrc, *, previous=None, time_h=2.0, u_measured=0.4, oven_limit_c=None,
    c=None, position_delta_c=5.0, sensor_delta_c=1.5, controller_delta_c=1.0, time_spread_min=3.0))]
#[allow(clippy::too_many_arguments)] // Each is a keyword of the Python call.
fn make_retemper(
    py: Python<'_>,
    steel: &Any<'_>,
    measured_hrc: &Any<'_>,
    target_hrc: &Any<'_>,
    previous: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::retemper::time_h)] time_h: f64,
    #[pyo3(from_py_with = given::retemper::u_measured)] u_measured: f64,
    #[pyo3(from_py_with = given::retemper::oven_limit_c)] oven_limit_c: Option<f64>,
    c: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::retemper::position_delta_c)] position_delta_c: f64,
    #[pyo3(from_py_with = given::retemper::sensor_delta_c)] sensor_delta_c: f64,
    #[pyo3(from_py_with = given::retemper::controller_delta_c)] controller_delta_c: f64,
    #[pyo3(from_py_with = given::retemper::time_spread_min)] time_spread_min: f64,
) -> PyResult<Plan> {
    let (curve, bands) = known("retemper", steel)?;
    let (measured_hrc, u_measured_hrc) = reading(("retemper", "measured_hrc"), measured_hrc, u_measured)?;
    let earlier = previous.map_or_else(|| Ok(Earlier::default()), earlier)?;
    let c = believed("retemper", curve.as_ref(), &earlier, c)?;
    let widths = (position_delta_c, sensor_delta_c, controller_delta_c, time_spread_min);
    let (wanted, time) = (target("retemper", target_hrc)?, HoldTime::from_hours(time_h));
    let request = RetemperRequest {
        measured_hrc,
        u_measured_hrc,
        target: wanted,
        earlier,
        time,
        oven_limit: oven_limit_c.map(Temperature::from_celsius),
        unknowns: unknowns(curve.as_ref(), (wanted, time), None, None, widths),
        c,
        bands,
    };
    let core = py.detach(|| plan::retemper(curve.as_ref(), &request)).or_raise(py)?;
    Ok(Plan { core, steel: steel.clone().unbind() })
}

/// A reading in HRC and its standard uncertainty; `asked` names the call and its argument.
pub(super) fn reading(asked: (&str, &str), given: &Any<'_>, u: f64) -> PyResult<(f64, f64)> {
    let (function, argument) = asked;
    if !(u.is_finite() && u >= 0.0) {
        let why = format!("it is {u}");
        let hint = "Give a standard uncertainty in HRC".to_owned();
        return Err(argument_type(given.py(), function, "u_measured", why, hint));
    }
    if let Ok(readings) = given.cast::<Readings>() {
        let made = readings.get().core.estimate(Some("HRC"), "astm-e140-1", None).or_raise(given.py())?;
        return Ok((made.value(), made.u()));
    }
    if given.is_instance_of::<Estimate>() {
        let made = measured(function, argument, given, false)?;
        return Ok((made.value, made.u));
    }
    Ok((number(function, argument, given)?, u))
}

/// What is believed of C: as given, else as the log was read with, else the curve's own.
pub(super) fn believed(
    function: &str,
    curve: &dyn HardnessAfterTemper,
    earlier: &Earlier,
    c: Option<&Any<'_>>,
) -> PyResult<ConstantBelief> {
    match (c, &earlier.history) {
        (None, Some((history, _))) => history.belief().map_or_else(|| spanned(history), Ok),
        _ => constant(function, curve, c),
    }
}

/// The constants a history was made for, as a flat range.
fn spanned(history: &History) -> PyResult<ConstantBelief> {
    let all = history.constants();
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Ok(if low == high { ConstantBelief::Fixed(low) } else { ConstantBelief::Flat { low, high } })
}

/// What a part has had, from what the caller calls it.
pub(super) fn earlier(given: &Any<'_>) -> PyResult<Earlier> {
    if let Ok(history) = given.cast::<PyHistory>() {
        let history = history.get();
        let own = history.record.as_ref().map_or(0.0, |record| {
            let parts = record.components().iter().filter(|part| part.name != "c");
            root_sum_of_squares(parts.map(|part| part.u))
        });
        return Ok(Earlier { history: Some((history.core.clone(), own)), holds: Vec::new() });
    }
    if let Ok(made) = given.cast::<Plan>() {
        return Ok(made.get().core.carried_out());
    }
    if let Ok(schedule) = given.cast::<Schedule>() {
        return Ok(Earlier::holds(cycles_of(&schedule.get().core)));
    }
    if given.is_instance_of::<Readings>() {
        let hint = "Readings go in as measured_hrc; previous= is what the oven did, as in previous=[(200, 2)]";
        let why = "readings say how hard the part is, not what it has had".to_owned();
        return Err(argument_type(given.py(), "retemper", "previous", why, hint.into()));
    }
    let refuse = || {
        let why = "it is neither a list of pairs nor a History, Plan or Schedule".to_owned();
        argument_type(given.py(), "retemper", "previous", why, "Write previous=[(200, 2)]: °C and hours".into())
    };
    let mut holds = Vec::new();
    for item in given.try_iter().map_err(|_| refuse())? {
        let item = item?;
        if let Ok(schedule) = item.cast::<Schedule>() {
            holds.extend(cycles_of(&schedule.get().core));
            continue;
        }
        let (celsius, hours): (f64, f64) = item.extract().map_err(|_| refuse())?;
        holds.push((Temperature::from_celsius(celsius), HoldTime::from_hours(hours)));
    }
    Ok(Earlier::holds(holds))
}

fn cycles_of(schedule: &plan::Schedule) -> Vec<(Temperature, HoldTime)> {
    vec![(schedule.temperature, schedule.time); schedule.cycles as usize]
}

/// Adds the function to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(make_retemper, module)?)
}
