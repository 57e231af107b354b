//! `OvenWatch`: the oven while it runs.

use std::sync::{Mutex, MutexGuard, PoisonError};

use afterquench::oven::{Correction, LagBand, Watch, WatchOptions};
use pyo3::prelude::*;

use super::log::lag_band;
use crate::arguments::{argument_type, belief, column, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::history::History;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// The oven while it runs: feed samples as they come, ask what the steel got and what is left to do.
///
/// Parameters
/// ----------
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; the range 15 to 20 without it.
/// channel : {"air", "part_side"}
///     What is fed: the oven's air, which the part follows with a lag, or a sensor beside the part.
/// lag_s : float or (low, high), optional
///     Time constant of the part behind the air; 200 to 450 s without it.
/// correction : (value_delta_c, u_delta_c), optional
///     What is added to each reading, and its standard uncertainty.
/// start_c : float, optional
///     The part's temperature at the first sample, for the air of an oven that is hot already; the first reading without
///     it.
/// longest_gap_s : float
///     Samples farther apart are a hole: bounded, not joined.
///
/// Raises
/// ------
/// InvalidValueError
///     For a lag or a gap that is not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> watch = aq.OvenWatch(c=18, channel="part_side")
/// >>> for minute in range(61):
/// ...     watch.feed(60 * minute, 200)
/// >>> watch.left_min(200, at_c=200)
/// 60.0 min [60.0 .. 60.0]
/// >>> watch.left_min(190, at_c=200).value < 0
/// True
///
/// Notes
/// -----
/// A reading that no oven gives, and a single one that jumps and comes back, are left out as `read_log` does, and the
/// answer's assumptions count them. One thread may feed while another asks.
#[pyclass(module = "afterquench._native", eq, frozen)]
pub struct OvenWatch {
    core: Mutex<Watch>,
    single: bool,
}

impl OvenWatch {
    /// The watch for one call. A thread that panicked within leaves a whole one: samples are taken whole or not at all.
    fn core(&self) -> MutexGuard<'_, Watch> {
        self.core.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl PartialEq for OvenWatch {
    fn eq(&self, other: &Self) -> bool {
        let own = self.core().clone();
        self.single == other.single && own == *other.core()
    }
}

#[pymethods]
impl OvenWatch {
    #[new]
    #[pyo3(signature = (c=None, *, channel="air", lag_s=None, correction=None, start_c=None, longest_gap_s=300.0))]
    fn new(
        py: Python<'_>,
        c: Option<&Any<'_>>,
        channel: &str,
        lag_s: Option<&Any<'_>>,
        correction: Option<(f64, f64)>,
        start_c: Option<f64>,
        longest_gap_s: f64,
    ) -> PyResult<Self> {
        let lag = match channel {
            "air" => Some(lag_band(py, lag_s)?.unwrap_or(LagBand::UNKNOWN)),
            "part_side" if lag_s.is_none() => None,
            _ => {
                let why = format!("it is {channel:?}");
                let hint = "Give \"air\", or \"part_side\", which needs no lag_s".to_owned();
                return Err(argument_type(py, "OvenWatch", "channel", why, hint));
            }
        };
        let options = WatchOptions {
            c: belief("OvenWatch", c)?,
            lag,
            correction: correction.map(|(value_delta_c, u_delta_c)| Correction { value_delta_c, u_delta_c }),
            start_c,
            longest_gap_s,
        };
        Ok(Self { core: Mutex::new(Watch::new(options).or_raise(py)?), single: super::log::is_single(c) })
    }

    /// The next sample, or the next several.
    ///
    /// Parameters
    /// ----------
    /// time_s, temperature_c : float or array_like
    ///     Elapsed seconds, rising, and the reading in °C; NaN is a missing reading.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For time running backwards, or temperatures that can't be; such a sample is not taken.
    fn feed(&self, py: Python<'_>, time_s: &Any<'_>, temperature_c: &Any<'_>) -> PyResult<()> {
        if let (Ok(time), Ok(celsius)) = (time_s.extract::<f64>(), temperature_c.extract::<f64>()) {
            return self.core().feed(time, celsius).or_raise(py);
        }
        let times = column("feed", "time_s", time_s)?;
        let temperatures = column("feed", "temperature_c", temperature_c)?;
        if times.len() != temperatures.len() {
            let why = format!("{} times and {} temperatures", times.len(), temperatures.len());
            return Err(argument_type(py, "feed", "time_s", why, "Give one time for each temperature".into()));
        }
        let mut core = self.core();
        times.iter().zip(&temperatures).try_for_each(|(&time, &celsius)| core.feed(time, celsius)).or_raise(py)
    }

    /// What the steel got so far: its two-hour equivalent in °C, with the range over C, lag, holes and sensor.
    #[getter]
    fn so_far(&self, py: Python<'_>) -> PyResult<Estimate> {
        self.core().so_far().map(Into::into).or_raise(py)
    }

    /// The part's temperature now, with the likely lag, °C.
    #[getter]
    fn part_c(&self) -> f64 {
        self.core().part_c()
    }

    /// Seconds seen.
    #[getter]
    fn seconds(&self) -> f64 {
        self.core().seconds().hours() * 3600.0
    }

    /// The state so far, with the likely lag.
    #[getter]
    fn history(&self, py: Python<'_>) -> PyResult<History> {
        let watch = self.core();
        let record = watch.so_far().or_raise(py)?;
        let core = watch.history().cloned();
        let core = core.ok_or_else(|| argument_type(py, "OvenWatch", "history", "empty".into(), "Feed it".into()))?;
        Ok(History { core, single: self.single, record: Some(record) })
    }

    /// Minutes that are left until the steel has what a target does in two hours.
    ///
    /// Parameters
    /// ----------
    /// target_c : float
    ///     The two-hour equivalent wanted, °C.
    /// at_c : float, optional
    ///     The steel's temperature from now on; the target without it.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///     Minutes, bounds over C, lag and holes. Zero or less: take it out now.
    ///
    /// Raises
    /// ------
    /// NoAnswerError
    ///     Before the second sample.
    #[pyo3(signature = (target_c, at_c=None))]
    fn left_min(&self, py: Python<'_>, target_c: &Any<'_>, at_c: Option<&Any<'_>>) -> PyResult<Estimate> {
        let target = number("left_min", "target_c", target_c)?;
        let at = at_c.map(|at| number("left_min", "at_c", at)).transpose()?.unwrap_or(target);
        self.core().left_min(target, at).map(Into::into).or_raise(py)
    }

    fn __repr__(&self) -> String {
        let core = self.core();
        match core.so_far() {
            Ok(got) => format!(
                "OvenWatch: {:.1} h seen, as {:.0} °C for two hours so far, part at {:.0} °C",
                core.seconds().hours(),
                got.value(),
                core.part_c()
            ),
            Err(_) => "OvenWatch: nothing seen yet".to_owned(),
        }
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_oven_watch", &(&*self.core(), self.single))
    }
}

/// Rebuilds a pickled watch.
#[pyfunction]
fn _restore_oven_watch(state: &[u8]) -> PyResult<OvenWatch> {
    let (core, single) = restore(state)?;
    Ok(OvenWatch { core: Mutex::new(core), single })
}

/// Adds the class to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<OvenWatch>()?;
    module.add_function(wrap_pyfunction!(_restore_oven_watch, module)?)
}
