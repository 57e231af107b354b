//! `Behaviour` and `DoorEvent`: how the oven behaved.

use afterquench::oven::{Behaviour as Core, DoorEvent as CoreDoor};
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::arguments::number;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};

/// A door opening, as the air shows it.
///
/// Attributes
/// ----------
/// start_s : float
///     Last reading before the fall, elapsed seconds.
/// before_c, lowest_c, drop_delta_c : float
///     Level before it, coldest reading, and their difference in °C.
/// lowest_s : float
///     When it was coldest.
/// recovered_s : float
///     Back to within a tenth of the fall, 1 °C at the least.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> air = [200] * 60 + [180, 185, 190, 195, 199.5] + [200] * 60
/// >>> rows = "".join(f"{30 * i},{value}\n" for i, value in enumerate(air))
/// >>> aq.read_log(("elapsed_s,air_degc\n" + rows).encode()).behaviour(200).doors
/// (DoorEvent: 1770 s, 20 °C down, back after 150 s,)
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct DoorEvent {
    core: CoreDoor,
}

#[pymethods]
impl DoorEvent {
    /// Last reading before the fall, elapsed seconds.
    #[getter]
    fn start_s(&self) -> f64 {
        self.core.start_s
    }

    /// Level before the fall, °C.
    #[getter]
    fn before_c(&self) -> f64 {
        self.core.before_c
    }

    /// Coldest reading, °C.
    #[getter]
    fn lowest_c(&self) -> f64 {
        self.core.lowest_c
    }

    /// How far the air fell, °C.
    #[getter]
    fn drop_delta_c(&self) -> f64 {
        self.core.drop_delta_c()
    }

    /// When it was coldest, elapsed seconds.
    #[getter]
    fn lowest_s(&self) -> f64 {
        self.core.lowest_s
    }

    /// When it was back, elapsed seconds.
    #[getter]
    fn recovered_s(&self) -> f64 {
        self.core.recovered_s
    }

    fn __repr__(&self) -> String {
        format!(
            "DoorEvent: {:.0} s, {:.0} °C down, back after {:.0} s",
            self.core.start_s,
            self.core.drop_delta_c(),
            self.core.recovered_s - self.core.start_s
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_door_event", &self.core)
    }
}

/// How an oven behaved at a setpoint; differences are from the setpoint.
///
/// Made by `OvenLog.behaviour`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> air = [20 + 6 * i for i in range(32)] + [212, 208, 204] + [201, 199] * 60
/// >>> rows = "".join(f"{30 * i},{value}\n" for i, value in enumerate(air))
/// >>> aq.read_log(("elapsed_s,air_degc\n" + rows).encode()).behaviour(200)
/// Behaviour at 200 °C: overshoot +12.0 °C, steady from 1020 s, -1.0 to +4.0 °C, swing ±1.0 °C every 60 s, 0 doors
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Behaviour {
    /// The core's.
    pub core: Core,
}

#[pymethods]
impl Behaviour {
    /// The setpoint, °C.
    #[getter]
    fn setpoint_c(&self) -> f64 {
        self.core.setpoint_c
    }

    /// The channel looked at.
    #[getter]
    fn channel(&self) -> &'static str {
        self.core.channel.name()
    }

    /// First elapsed second at the setpoint; None if it never was there.
    #[getter]
    fn reached_s(&self) -> Option<f64> {
        self.core.reached_s
    }

    /// Highest reading above the setpoint; negative where it was never reached.
    #[getter]
    fn overshoot_delta_c(&self) -> f64 {
        self.core.overshoot_delta_c
    }

    /// When the highest reading was, elapsed seconds.
    #[getter]
    fn peak_s(&self) -> f64 {
        self.core.peak_s
    }

    /// From when on the air stays within `within_delta_c` until the hold ends, doors left out; None if it never does.
    #[getter]
    fn settled_s(&self) -> Option<f64> {
        self.core.settled_s
    }

    /// When the hold ends, elapsed seconds.
    #[getter]
    fn end_s(&self) -> f64 {
        self.core.end_s
    }

    /// Degrees that count as settled.
    #[getter]
    fn within_delta_c(&self) -> f64 {
        self.core.within_delta_c
    }

    /// Lowest and highest reading of the steady part, less the setpoint; None without a steady part.
    #[getter]
    fn steady_band_delta_c(&self) -> Option<(f64, f64)> {
        self.core.steady_band_c
    }

    /// Mean of the steady part less the setpoint; None without a steady part.
    #[getter]
    fn droop_delta_c(&self) -> Option<Estimate> {
        self.core.droop_delta_c.clone().map(Into::into)
    }

    /// Half the peak to peak of the swing; None where there is none.
    #[getter]
    fn swing_delta_c(&self) -> Option<f64> {
        self.core.swing_delta_c
    }

    /// Period of the swing in s; None where there is none.
    #[getter]
    fn period_s(&self) -> Option<f64> {
        self.core.period_s
    }

    /// Door openings: a tuple of DoorEvent.
    #[getter]
    fn doors<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.core.doors.iter().map(|core| DoorEvent { core: *core }))
    }

    /// Mean duty in the last half hour of the steady part, %; None without a duty channel.
    #[getter]
    fn mean_duty_percent(&self) -> Option<f64> {
        self.core.mean_duty_percent
    }

    /// How many times too strong the heater is against a duty of 35 to 50 % in the hold; None without a duty channel.
    #[getter]
    fn times_too_strong(&self) -> Option<Estimate> {
        self.core.times_too_strong().map(Into::into)
    }

    /// Part side less air in the steady part, °C; None unless the log has both.
    #[getter]
    fn part_less_air_delta_c(&self) -> Option<Estimate> {
        self.core.part_less_air_delta_c.clone().map(Into::into)
    }

    /// Minutes that the readings lie more than some degrees above the setpoint.
    ///
    /// Parameters
    /// ----------
    /// delta_c : float
    ///     The degrees.
    ///
    /// Returns
    /// -------
    /// float
    ///     Minutes; straight lines between readings, holes too.
    fn minutes_above(&self, delta_c: &Bound<'_, PyAny>) -> PyResult<f64> {
        Ok(self.core.minutes_above(number("minutes_above", "delta_c", delta_c)?))
    }

    fn __repr__(&self) -> String {
        let core = &self.core;
        let steady = match (core.settled_s, core.steady_band_c) {
            (Some(from), Some((low, high))) => format!("steady from {from:.0} s, {low:+.1} to {high:+.1} °C"),
            _ => format!("never steady within {} °C", core.within_delta_c),
        };
        let swing = match (core.swing_delta_c, core.period_s) {
            (Some(swing), Some(period)) => format!(", swing ±{swing:.1} °C every {period:.0} s"),
            _ => String::new(),
        };
        let duty = core.mean_duty_percent.map_or(String::new(), |duty| format!(", duty {duty:.0} %"));
        let doors = core.doors.len();
        format!(
            "Behaviour at {:.0} °C: overshoot {:+.1} °C, {steady}{swing}{duty}, {doors} door{}",
            core.setpoint_c,
            core.overshoot_delta_c,
            if doors == 1 { "" } else { "s" }
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_behaviour", &self.core)
    }
}

/// Rebuilds a pickled behaviour.
#[pyfunction]
fn _restore_behaviour(state: &[u8]) -> PyResult<Behaviour> {
    Ok(Behaviour { core: restore(state)? })
}

/// Rebuilds a pickled door event.
#[pyfunction]
fn _restore_door_event(state: &[u8]) -> PyResult<DoorEvent> {
    Ok(DoorEvent { core: restore(state)? })
}

/// Adds the classes to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Behaviour>()?;
    module.add_class::<DoorEvent>()?;
    module.add_function(wrap_pyfunction!(_restore_behaviour, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_door_event, module)?)
}
