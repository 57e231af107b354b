//! The oven's model, settings for its controller, and what on-off control does.

use afterquench::oven::{
    AntiWindup, CONTROLLER_CAUTIONS, ControllerSettings as CoreSettings, OvenModel as CoreModel, Rule, StepMetrics,
    controller_settings as core_settings, heat_up_s, identify_oven as core_identify, on_off_swing as core_on_off,
    step_metrics as core_metrics, two_point, ultimate_point as core_ultimate,
};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use super::log::OvenLog;
use crate::arguments::{argument_type, column, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// An oven as its controller sees it: a first-order lag with dead time.
///
/// Made by `identify_oven`, or from numbers.
///
/// Parameters
/// ----------
/// gain_c : float
///     Rise of the air at full power in the end, °C.
/// tau_s, theta_s : float
///     Lag and dead time in s.
/// ambient_c : float
///     Temperature with the heater off.
///
/// Raises
/// ------
/// InvalidValueError
///     Unless gain and lag are positive, and the dead time is zero or more.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.OvenModel(400, 3600, 60).power_ratio(220)
/// 2.0
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct OvenModel {
    /// The core's model.
    pub core: CoreModel,
}

#[pymethods]
impl OvenModel {
    #[new]
    #[pyo3(signature = (gain_c, tau_s, theta_s, ambient_c=20.0))]
    fn new(py: Python<'_>, gain_c: f64, tau_s: f64, theta_s: f64, ambient_c: f64) -> PyResult<Self> {
        Ok(Self { core: CoreModel::of(gain_c, tau_s, theta_s, ambient_c).or_raise(py)? })
    }

    /// Rise of the air at full power in the end, °C.
    #[getter]
    fn gain_c(&self) -> Estimate {
        self.core.gain.clone().into()
    }

    /// Lag, s.
    #[getter]
    fn tau_s(&self) -> Estimate {
        self.core.lag.clone().into()
    }

    /// Dead time, s.
    #[getter]
    fn theta_s(&self) -> Estimate {
        self.core.dead_time.clone().into()
    }

    /// Temperature with the heater off, °C.
    #[getter]
    fn ambient_c(&self) -> f64 {
        self.core.ambient_c
    }

    /// Root mean square of what the model leaves over of the record, °C.
    #[getter]
    fn left_over_delta_c(&self) -> f64 {
        self.core.left_over_c
    }

    /// How many times the power that holds a setpoint the heater has.
    ///
    /// Parameters
    /// ----------
    /// setpoint_c : float
    ///     °C.
    ///
    /// Returns
    /// -------
    /// float
    fn power_ratio(&self, setpoint_c: &Any<'_>) -> PyResult<f64> {
        Ok(self.core.power_ratio(number("power_ratio", "setpoint_c", setpoint_c)?))
    }

    fn __repr__(&self) -> String {
        format!(
            "OvenModel: {:.0} °C at full power, lag {:.0} s, dead time {:.0} s",
            self.core.gain.value(),
            self.core.lag.value(),
            self.core.dead_time.value()
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_oven_model", &self.core)
    }
}

/// Rebuilds a pickled model.
#[pyfunction]
fn _restore_oven_model(state: &[u8]) -> PyResult<OvenModel> {
    Ok(OvenModel { core: restore(state)? })
}

/// The oven's model from a log, or from samples of a step.
///
/// Parameters
/// ----------
/// source : OvenLog or array_like, shape (n,)
///     A log: its duty channel is used where it has one, else its heat-up is taken to be at full power. Or elapsed seconds.
/// temperature_c : array_like, shape (n,), optional
///     The oven's air in °C, with seconds.
/// step : float or array_like, optional
///     Share of full power from each sample on, 0 to 1; one number for a step at the first sample.
///
/// Returns
/// -------
/// OvenModel
///     Gain, lag and dead time with their uncertainty.
///
/// Raises
/// ------
/// NotDeterminedError
///     Where a record gives the slope of the heat-up alone, or fewer than 20 samples.
/// ArgumentTypeError
///     For seconds without temperatures.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> import numpy as np
/// >>> time_s = np.arange(0, 14400, 20.0)
/// >>> air = 20 + 400 * np.where(time_s > 60, 1 - np.exp(-(time_s - 60) / 3600), 0)
/// >>> aq.identify_oven(time_s, air)
/// OvenModel: 400 °C at full power, lag 3600 s, dead time 60 s
#[pyfunction]
#[pyo3(signature = (source, temperature_c=None, *, step=None))]
fn identify_oven(
    py: Python<'_>,
    source: &Any<'_>,
    temperature_c: Option<&Any<'_>>,
    step: Option<&Any<'_>>,
) -> PyResult<OvenModel> {
    if let Ok(log) = source.cast::<OvenLog>() {
        let log = &log.get().core;
        let core = py.detach(|| log.identified()).or_raise(py)?;
        return Ok(OvenModel { core });
    }
    let Some(temperature_c) = temperature_c else {
        let why = "only seconds were given".to_owned();
        let hint = "Give an OvenLog, or seconds and temperatures".to_owned();
        return Err(argument_type(py, "identify_oven", "temperature_c", why, hint));
    };
    let seconds = column("identify_oven", "source", source)?;
    let celsius = column("identify_oven", "temperature_c", temperature_c)?;
    let power = match step {
        None => vec![1.0; seconds.len()],
        Some(step) => match step.extract::<f64>() {
            Ok(one) => vec![one; seconds.len()],
            Err(_) => column("identify_oven", "step", step)?,
        },
    };
    let core = py.detach(|| core_identify(&seconds, &celsius, &power)).or_raise(py)?;
    Ok(OvenModel { core })
}

/// Lag and dead time from the times at which a step's answer has done 28.3 and 63.2 % of its way.
///
/// Parameters
/// ----------
/// time_28_s, time_63_s : float
///     Seconds since the step.
///
/// Returns
/// -------
/// tau_s, theta_s : float
///     Lag and dead time in s.
///
/// Raises
/// ------
/// RefusedError
///     Unless the second time is the later one.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.identify_two_point(80, 120)
/// (60.0, 60.0)
#[pyfunction]
fn identify_two_point(py: Python<'_>, time_28_s: f64, time_63_s: f64) -> PyResult<(f64, f64)> {
    two_point(time_28_s, time_63_s).or_raise(py)
}

/// Settings of a controller by a published rule, tried on the oven's model.
///
/// Made by `controller_settings`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.controller_settings(aq.OvenModel(400, 3600, 60), setpoint_c=220)
/// ControllerSettings by SIMC PI: proportional band 13.3 °C, Ti 480 s; on the model +0.0 °C over
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct ControllerSettings {
    core: CoreSettings,
}

#[pymethods]
impl ControllerSettings {
    /// The rule's name.
    #[getter]
    fn rule(&self) -> &'static str {
        self.core.rule.name()
    }

    /// Whose rule it is, and how its digits came here.
    #[getter]
    fn source(&self) -> String {
        let source = self.core.rule.source();
        format!("{}: {} ({})", source.cite, source.at, source.origin.text())
    }

    /// Gain: share of full power for each °C.
    #[getter]
    fn kc(&self) -> f64 {
        self.core.pid.kc
    }

    /// Integral time in s; None for a P controller.
    #[getter]
    fn ti_s(&self) -> Option<f64> {
        self.core.pid.ti_s
    }

    /// Derivative time in s, of the measurement; None without one.
    #[getter]
    fn td_s(&self) -> Option<f64> {
        self.core.pid.td_s
    }

    /// The gain as a proportional band in °C: 1 / Kc.
    #[getter]
    fn proportional_band_delta_c(&self) -> f64 {
        1.0 / self.core.pid.kc
    }

    /// How the integral was kept from winding up when it was tried.
    #[getter]
    fn anti_windup(&self) -> &'static str {
        match self.core.anti_windup {
            AntiWindup::None => "none",
            AntiWindup::Conditional => "conditional",
            AntiWindup::BackCalculation => "back-calculation",
        }
    }

    /// What a heat-up to the setpoint did on the model: overshoot_delta_c, reached_s, settled_s, absolute_error_c_s, and
    /// overshoot_without_anti_windup_delta_c.
    #[getter]
    fn tried<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        let tried = &self.core.tried;
        made.set_item("overshoot_delta_c", tried.overshoot_delta_c)?;
        made.set_item("reached_s", tried.reached_s)?;
        made.set_item("settled_s", tried.settled_s)?;
        made.set_item("absolute_error_c_s", tried.absolute_error_c_s)?;
        made.set_item("overshoot_without_anti_windup_delta_c", self.core.tried_without.overshoot_delta_c)?;
        Ok(made)
    }

    /// What must be known before any of it is typed into a controller.
    #[getter]
    fn cautions<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, CONTROLLER_CAUTIONS)
    }

    /// The heat-up on the model: arrays of seconds, °C and share of full power.
    #[allow(clippy::type_complexity)]
    fn course<'py>(
        &self,
        py: Python<'py>,
    ) -> (Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>) {
        let (seconds, celsius, power) = py.detach(|| self.core.course());
        (PyArray1::from_vec(py, seconds), PyArray1::from_vec(py, celsius), PyArray1::from_vec(py, power))
    }

    fn __repr__(&self) -> String {
        let pid = &self.core.pid;
        let of = |name: &str, time: Option<f64>| time.map_or(String::new(), |time| format!(", {name} {time:.0} s"));
        format!(
            "ControllerSettings by {}: proportional band {:.1} °C{}{}; on the model {:+.1} °C over",
            self.rule(),
            1.0 / pid.kc,
            of("Ti", pid.ti_s),
            of("Td", pid.td_s),
            self.core.tried.overshoot_delta_c
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_controller_settings", &self.core)
    }
}

/// Rebuilds pickled settings.
#[pyfunction]
fn _restore_controller_settings(state: &[u8]) -> PyResult<ControllerSettings> {
    Ok(ControllerSettings { core: restore(state)? })
}

/// Settings of a controller by a published rule, tried on the oven's model before they are offered.
///
/// Parameters
/// ----------
/// model : OvenModel
///     As of `identify_oven`.
/// rule : str
///     "SIMC PI"; "Ziegler-Nichols ultimate P", "... PI", "... PID"; "Ziegler-Nichols reaction P", "... PI", "... PID";
///     "Cohen-Coon P", "... PI", "... PID"; "IMC PI", "IMC PID" (lambda = 2 theta); "Tyreus-Luyben PI".
/// setpoint_c : float
///     Where it is tried: a heat-up from cold.
/// sensor_lag_s : float
///     Lag of the controller's sensor, where it is not in the model already.
/// anti_windup : {"conditional", "back-calculation", "none"}
///     How the integral is kept from winding up while the power is at its limit.
///
/// Returns
/// -------
/// ControllerSettings
///     With cautions: mains electricity belongs to licensed people.
///
/// Raises
/// ------
/// RefusedError
///     For a model without dead time, or a setpoint that the heater can't reach.
/// UnknownNameError
///     For a rule or an anti-windup that is not in its list.
///
/// Notes
/// -----
/// Rules are for linear loops, the model is one lag with dead time; a real oven is neither.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> made = aq.controller_settings(aq.OvenModel(400, 3600, 60), "Cohen-Coon PI", setpoint_c=220)
/// >>> round(made.kc, 6), round(made.ti_s, 3)
/// (0.135208, 193.179)
#[pyfunction]
#[pyo3(signature = (model, rule="SIMC PI", *, setpoint_c=200.0, sensor_lag_s=0.0, anti_windup="conditional"))]
fn controller_settings(
    py: Python<'_>,
    model: &OvenModel,
    rule: &str,
    setpoint_c: f64,
    sensor_lag_s: f64,
    anti_windup: &str,
) -> PyResult<ControllerSettings> {
    let rule = Rule::named(rule).or_raise(py)?;
    let anti_windup = AntiWindup::named(anti_windup).or_raise(py)?;
    let model = &model.core;
    let made = py.detach(|| core_settings(model, rule, setpoint_c, sensor_lag_s, anti_windup));
    Ok(ControllerSettings { core: made.or_raise(py)? })
}

/// Gain and period at which an oven's loop just keeps swinging.
///
/// Parameters
/// ----------
/// model : OvenModel
///     With a dead time.
///
/// Returns
/// -------
/// ku, pu_s : float
///     Share of full power by °C, and seconds.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> ku, pu = aq.ultimate_point(aq.OvenModel(400, 3600, 60))
/// >>> round(ku, 6), round(pu, 1)
/// (0.237214, 238.4)
#[pyfunction]
fn ultimate_point(model: &OvenModel) -> (f64, f64) {
    let core = &model.core;
    core_ultimate(core.gain.value(), core.lag.value(), core.dead_time.value())
}

/// What an on-off controller without hysteresis does to an oven of one lag and dead time.
///
/// Parameters
/// ----------
/// power_ratio : float
///     The heater's power over the power that holds the setpoint, above 1.
/// theta_s, tau_s : float
///     Dead time and lag in s.
/// rise_delta_c : float
///     Setpoint less room temperature.
///
/// Returns
/// -------
/// dict
///     over_delta_c, under_delta_c, period_s, duty (share of the time), mean_delta_c (mean less setpoint).
///
/// Raises
/// ------
/// InvalidValueError
///     For a power ratio of 1 or less, or numbers that are not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.on_off_swing(8, 60, 3600, 200)["over_delta_c"], 2)
/// 23.14
#[pyfunction]
fn on_off_swing<'py>(
    py: Python<'py>,
    power_ratio: f64,
    theta_s: f64,
    tau_s: f64,
    rise_delta_c: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let swing = core_on_off(power_ratio, theta_s, tau_s, rise_delta_c).or_raise(py)?;
    let made = PyDict::new(py);
    made.set_item("over_delta_c", swing.over_delta_c)?;
    made.set_item("under_delta_c", swing.under_delta_c)?;
    made.set_item("period_s", swing.period_s)?;
    made.set_item("duty", swing.duty)?;
    made.set_item("mean_delta_c", swing.mean_delta_c)?;
    Ok(made)
}

/// Seconds from cold to the setpoint at full power.
///
/// Parameters
/// ----------
/// power_ratio : float
///     The heater's power over the power that holds the setpoint, above 1.
/// theta_s, tau_s : float
///     Dead time and lag in s.
///
/// Returns
/// -------
/// float
///     tau ln(r / (r - 1)) + theta.
///
/// Raises
/// ------
/// InvalidValueError
///     For a power ratio of 1 or less, or times that are not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.heat_up_time_s(2, 60, 3600), 2)
/// 2555.33
#[pyfunction]
fn heat_up_time_s(py: Python<'_>, power_ratio: f64, theta_s: f64, tau_s: f64) -> PyResult<f64> {
    heat_up_s(power_ratio, theta_s, tau_s).or_raise(py)
}

/// How a value answered a step, by its samples.
///
/// Parameters
/// ----------
/// time_s, value : array_like, shape (n,)
///     Seconds since the step, rising, and what was read.
/// start, goal : float
///     Where the value was, and where the step was to bring it.
///
/// Returns
/// -------
/// dict
///     overshoot_percent, peak_s, settled_2_s, settled_5_s (within 2 and 5 % of the step from then on), rise_s (10 to
///     90 %), absolute_error.
///
/// Raises
/// ------
/// RefusedError
///     For columns of unequal length or of fewer than two samples, or a step of nothing.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> import numpy as np
/// >>> t = np.arange(0, 10, 1e-3)
/// >>> round(aq.step_metrics(t, 1 - np.exp(-t), 0, 1)["rise_s"], 2)
/// 2.2
#[pyfunction]
#[pyo3(signature = (time_s, value, start=0.0, goal=1.0))]
fn step_metrics<'py>(
    py: Python<'py>,
    time_s: &Any<'py>,
    value: &Any<'py>,
    start: f64,
    goal: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let (seconds, values) = (column("step_metrics", "time_s", time_s)?, column("step_metrics", "value", value)?);
    let StepMetrics { overshoot_percent, peak_s, settled_2_s, settled_5_s, rise_s, absolute_error } =
        core_metrics(&seconds, &values, start, goal).or_raise(py)?;
    let made = PyDict::new(py);
    made.set_item("overshoot_percent", overshoot_percent)?;
    made.set_item("peak_s", peak_s)?;
    made.set_item("settled_2_s", settled_2_s)?;
    made.set_item("settled_5_s", settled_5_s)?;
    made.set_item("rise_s", rise_s)?;
    made.set_item("absolute_error", absolute_error)?;
    Ok(made)
}

/// Adds the classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<OvenModel>()?;
    module.add_class::<ControllerSettings>()?;
    module.add_function(wrap_pyfunction!(_restore_oven_model, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_controller_settings, module)?)?;
    module.add_function(wrap_pyfunction!(identify_oven, module)?)?;
    module.add_function(wrap_pyfunction!(identify_two_point, module)?)?;
    module.add_function(wrap_pyfunction!(controller_settings, module)?)?;
    module.add_function(wrap_pyfunction!(ultimate_point, module)?)?;
    module.add_function(wrap_pyfunction!(on_off_swing, module)?)?;
    module.add_function(wrap_pyfunction!(heat_up_time_s, module)?)?;
    module.add_function(wrap_pyfunction!(step_metrics, module)?)
}
