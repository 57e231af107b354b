//! Control loops before they are run: several lags as one, the point of endless swing, margins.

use afterquench::oven::{
    LoopMargins, Pid, Rule, half_rule as core_half, loop_margins as core_margins, overshoot_percent as core_overshoot,
    ultimate_point_of_lags as core_ultimate,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::control::OvenModel;
use crate::arguments::column;
use crate::errors::OrRaise;

type Any<'py> = Bound<'py, PyAny>;

/// Several lags in a row as one lag with dead time, by Skogestad's half rule (2003).
///
/// Parameters
/// ----------
/// lags_s : array_like
///     Time constants in s, in any order.
/// dead_time_s : float
///     Dead time there is already, s.
/// leads_s : array_like
///     Numerators T s + 1: a positive T shortens the dead time, a negative one (an answer that begins the wrong way)
///     lengthens it.
///
/// Returns
/// -------
/// tau_s, theta_s : float
///     Lag and dead time in s, for `OvenModel`.
///
/// Raises
/// ------
/// InvalidValueError
///     For lags that are not positive.
/// RefusedError
///     Without a lag, or for leads that leave a negative dead time.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.half_rule([1, 1, 1])
/// (1.5, 1.5)
#[pyfunction]
#[pyo3(signature = (lags_s, dead_time_s=0.0, leads_s=None))]
fn half_rule(py: Python<'_>, lags_s: &Any<'_>, dead_time_s: f64, leads_s: Option<&Any<'_>>) -> PyResult<(f64, f64)> {
    let lags = column("half_rule", "lags_s", lags_s)?;
    let leads = leads_s.map(|leads| column("half_rule", "leads_s", leads)).transpose()?.unwrap_or_default();
    core_half(&lags, dead_time_s, &leads).or_raise(py)
}

/// Gain and period at which a loop of several lags and a dead time just keeps swinging.
///
/// Parameters
/// ----------
/// lags_s : array_like
///     Time constants in s.
/// dead_time_s : float
///     Dead time, s.
/// gain : float
///     What the process makes of one unit of its input.
///
/// Returns
/// -------
/// ku, pu_s : float
///
/// Raises
/// ------
/// RefusedError
///     For fewer than three lags without a dead time, which never swing by themselves.
/// InvalidValueError
///     For lags or a gain that are not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> ku, pu = aq.ultimate_point_of_lags([1, 1, 1])
/// >>> round(ku, 6), round(pu, 4)
/// (8.0, 3.6276)
#[pyfunction]
#[pyo3(signature = (lags_s, dead_time_s=0.0, gain=1.0))]
fn ultimate_point_of_lags(py: Python<'_>, lags_s: &Any<'_>, dead_time_s: f64, gain: f64) -> PyResult<(f64, f64)> {
    core_ultimate(gain, &column("ultimate_point_of_lags", "lags_s", lags_s)?, dead_time_s).or_raise(py)
}

/// A controller's numbers from a measured ultimate gain and period.
///
/// Parameters
/// ----------
/// ku : float
///     Gain at which the loop just keeps swinging.
/// pu_s : float
///     The period of that swing, s.
/// rule : str
///     "Ziegler-Nichols ultimate P", "... PI", "... PID" or "Tyreus-Luyben PI".
///
/// Returns
/// -------
/// kc, ti_s, td_s : float or None
///     Gain in the unit of ku, integral and derivative time in s; None where the rule has none.
///
/// Raises
/// ------
/// RefusedError
///     For a rule that takes a model: ask `controller_settings`.
/// InvalidValueError
///     For a gain or a period that is not positive.
///
/// Notes
/// -----
/// Driving a real oven to its ultimate point means letting it swing without end: watch it, stay below what oven and
/// charge bear, and leave the wiring to licensed people.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.settings_of_ultimate(8, 3.6276)
/// (4.8, 1.8138, 0.45345)
#[pyfunction]
#[pyo3(signature = (ku, pu_s, rule="Ziegler-Nichols ultimate PID"))]
fn settings_of_ultimate(py: Python<'_>, ku: f64, pu_s: f64, rule: &str) -> PyResult<(f64, Option<f64>, Option<f64>)> {
    let Pid { kc, ti_s, td_s } = Rule::named(rule).and_then(|rule| rule.of_ultimate(ku, pu_s)).or_raise(py)?;
    Ok((kc, ti_s, td_s))
}

/// How far an oven's loop is from swinging without end.
///
/// Parameters
/// ----------
/// model : OvenModel
///     With a dead time.
/// kc : float
///     Gain: share of full power by °C.
/// ti_s, td_s : float, optional
///     Integral and derivative time in s.
///
/// Returns
/// -------
/// dict
///     gain_margin (how many times the gain could grow), phase_margin_deg (NaN where the loop's gain never reaches one)
///     and peak_sensitivity; 1.2 to 2 is sound (common practice, no source).
///
/// Raises
/// ------
/// InvalidValueError
///     For numbers that are not positive, or a model without dead time.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> model = aq.OvenModel(400, 3600, 60)
/// >>> made = aq.controller_settings(model, "IMC PI", setpoint_c=220)
/// >>> round(aq.loop_margins(model, made.kc, made.ti_s)["gain_margin"], 2)
/// 4.71
#[pyfunction]
#[pyo3(signature = (model, kc, ti_s=None, td_s=None))]
fn loop_margins<'py>(
    py: Python<'py>,
    model: &OvenModel,
    kc: f64,
    ti_s: Option<f64>,
    td_s: Option<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let core = &model.core;
    let numbers = (core.gain.value(), core.lag.value(), core.dead_time.value());
    let LoopMargins { gain_margin, phase_margin_deg, peak_sensitivity } =
        core_margins(numbers.0, numbers.1, numbers.2, &Pid { kc, ti_s, td_s }).or_raise(py)?;
    let made = PyDict::new(py);
    made.set_item("gain_margin", gain_margin)?;
    made.set_item("phase_margin_deg", phase_margin_deg)?;
    made.set_item("peak_sensitivity", peak_sensitivity)?;
    Ok(made)
}

/// Overshoot of a step of a second-order answer by its damping: 100 exp(-pi zeta / sqrt(1 - zeta²)).
///
/// Parameters
/// ----------
/// damping : float
///     zeta, above 0; from 1 on nothing overshoots.
///
/// Returns
/// -------
/// float
///     % of the step.
///
/// Raises
/// ------
/// InvalidValueError
///     For a damping that is not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.overshoot_percent(0.5), 4)
/// 16.3034
#[pyfunction]
fn overshoot_percent(py: Python<'_>, damping: f64) -> PyResult<f64> {
    core_overshoot(damping).or_raise(py)
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(half_rule, module)?)?;
    module.add_function(wrap_pyfunction!(ultimate_point_of_lags, module)?)?;
    module.add_function(wrap_pyfunction!(settings_of_ultimate, module)?)?;
    module.add_function(wrap_pyfunction!(loop_margins, module)?)?;
    module.add_function(wrap_pyfunction!(overshoot_percent, module)?)
}
