//! `OvenLog` and what is asked of it.

use afterquench::oven::{Gaps, LagBand, OvenLog as Core, Received, Role};
use afterquench::{Error, Result};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use super::behaviour::Behaviour;
use super::faults::Fault;
use super::repair::{Gap, Repair};
use super::soak::Soak;
use crate::arguments::{argument_type, belief, data_frame};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::history::History;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// An oven's record as it was read: its channels, every repair made, and its holes.
///
/// Made by `read_log`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> log = aq.read_log(b"elapsed_s,part_side_degc\n0,20\n60,150\n120,200\n180,200\n240,200\n")
/// >>> log
/// OvenLog: 5 rows over 0.1 h, part_side; 0 gaps, 0 repairs
/// >>> log.to_frame().part_side.max()
/// np.float64(200.0)
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct OvenLog {
    /// The core's log.
    pub core: Core,
    /// What to do with holes unless a call says otherwise.
    pub gaps: String,
}

/// A policy for holes from its name.
pub fn gap_policy(name: &str) -> Result<Gaps> {
    match name {
        "bound" => Ok(Gaps::Bound),
        "line" => Ok(Gaps::Line),
        "refuse" => Ok(Gaps::Refuse),
        other => Err(Error::UnknownName {
            kind: "gaps policy".into(),
            name: other.to_owned(),
            close: vec!["bound".into(), "line".into(), "refuse".into()],
            hint: "\"bound\" is the default".into(),
        }),
    }
}

/// A history with the estimate that the record gives it.
pub fn history_of(received: Received, single: bool) -> History {
    History { core: received.history, single, record: Some(received.estimate) }
}

/// Whether the caller gave one number for C, and gets numbers back.
pub fn is_single(c: Option<&Any<'_>>) -> bool {
    c.is_some_and(|c| c.extract::<f64>().is_ok())
}

/// A lag as a caller gives it.
pub fn lag_band(py: Python<'_>, given: Option<&Any<'_>>) -> PyResult<Option<LagBand>> {
    let Some(given) = given else { return Ok(None) };
    if let Ok(seconds) = given.extract::<f64>() {
        return Ok(Some(LagBand::exactly(seconds)));
    }
    if let Ok((low_s, high_s)) = given.extract::<(f64, f64)>() {
        return Ok(Some(LagBand { low_s, likely_s: (low_s * high_s).sqrt(), high_s }));
    }
    let why = "it is no number and no pair".to_owned();
    Err(argument_type(py, "history", "lag_s", why, "Give seconds, or (low, high)".into()))
}

#[pymethods]
impl OvenLog {
    /// Role of each channel and its heading in the file: a dict with "air", "part_side", "setpoint", "duty".
    #[getter]
    fn channels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        for channel in &self.core.channels {
            made.set_item(channel.role.name(), &channel.name)?;
        }
        Ok(made)
    }

    /// Every repair made, and what else must be known: a tuple of Repair.
    #[getter]
    fn repairs<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.core.repairs.iter().map(|core| Repair { core: core.clone() }))
    }

    /// The holes: a tuple of Gap.
    #[getter]
    fn gaps<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.core.gaps.iter().map(|core| Gap { core: *core }))
    }

    /// Elapsed second at which the part went in, given or found; None where it was in from the start.
    #[getter]
    fn load_s(&self) -> Option<f64> {
        self.core.load.map(|load| load.at_s)
    }

    /// What the log's clock showed where its elapsed seconds begin, in ISO 8601; None for a log that counts.
    ///
    /// "2026-11-24T12:00:00" by its own clock, UTC where its times carry their offset; "12:00:00" without a date. Days as
    /// spreadsheets count them are taken by the 1900 system: a log that seems four years old was written by the 1904 one.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.read_log(b"time,air_degc\n46350.5,200.1\n46350.6,200.2\n").began
    /// '2026-11-24T12:00:00'
    #[getter]
    fn began(&self) -> Option<String> {
        Some(self.core.began.to_string()).filter(|text| !text.is_empty())
    }

    /// What the log was read from.
    #[getter]
    fn file(&self) -> &str {
        &self.core.file
    }

    /// Elapsed seconds, rising.
    #[getter]
    fn elapsed_s<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_slice(py, &self.core.seconds)
    }

    /// Readings of a channel, repaired and corrected; NaN where there is none.
    ///
    /// Parameters
    /// ----------
    /// role : {"air", "part_side", "setpoint", "duty"}
    ///     The channel.
    ///
    /// Returns
    /// -------
    /// numpy.ndarray, shape (n,)
    ///     °C, or % for the duty.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    ///     For a channel the log does not have.
    fn values<'py>(&self, py: Python<'py>, role: &str) -> PyResult<Bound<'py, PyArray1<f64>>> {
        let channel = self.core.channels.iter().find(|channel| channel.role.name() == role).ok_or_else(|| {
            raised(
                py,
                &Error::UnknownName {
                    kind: "channel".into(),
                    name: role.to_owned(),
                    close: self.core.channels.iter().map(|channel| channel.role.name().to_owned()).collect(),
                    hint: "See log.channels".into(),
                },
            )
        })?;
        Ok(PyArray1::from_slice(py, &channel.values))
    }

    /// The log as a pandas DataFrame with elapsed_s, air and part_side, and setpoint and duty where it has them.
    ///
    /// Readings are repaired and corrected; NaN where there is none.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        columns.set_item("elapsed_s", PyArray1::from_slice(py, &self.core.seconds))?;
        for role in [Role::Air, Role::PartSide, Role::Setpoint, Role::Duty] {
            match self.core.channel(role) {
                Some(channel) => columns.set_item(role.name(), PyArray1::from_slice(py, &channel.values))?,
                None if matches!(role, Role::Air | Role::PartSide) => {
                    columns.set_item(role.name(), PyArray1::from_vec(py, vec![f64::NAN; self.core.seconds.len()]))?;
                }
                None => {}
            }
        }
        data_frame(py, &columns)
    }

    /// What the steel got.
    ///
    /// From the part side where the log has it, else from the air through a lag; never air for steel. Counting begins
    /// when the part went in.
    ///
    /// Parameters
    /// ----------
    /// c : float, Estimate or (low, high), optional
    ///     The steel's C for hours; the range 15 to 20 without it.
    /// lag_s : float or (low, high), optional
    ///     Time constant of the part behind the air, for a log of the air; without it 200 to 450 s. Given for a log
    ///     that has both, the air is used.
    /// gaps : {"bound", "line", "refuse"}, optional
    ///     Bound what happened in holes, join them by a line, or refuse the log; as said at `read_log` without it.
    ///
    /// Returns
    /// -------
    /// History
    ///     Its `estimate` has the range over C, lag, gaps, sensor and correction, and what was assumed.
    ///
    /// Raises
    /// ------
    /// RefusedError
    ///     For a log with holes under gaps="refuse".
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> rows = "".join(f"{60 * i},{min(20 + 12 * i, 200)}\n" for i in range(135))
    /// >>> log = aq.read_log(("elapsed_s,part_side_degc\n" + rows).encode())
    /// >>> log.history(c=18)
    /// History: as 200.0 °C for two hours [197 .. 203] (C = 18)
    #[pyo3(signature = (c=None, *, lag_s=None, gaps=None))]
    fn history(
        &self,
        py: Python<'_>,
        c: Option<&Any<'_>>,
        lag_s: Option<&Any<'_>>,
        gaps: Option<&str>,
    ) -> PyResult<History> {
        let belief = belief("history", c)?;
        let lag = lag_band(py, lag_s)?;
        let policy = gap_policy(gaps.unwrap_or(&self.gaps)).or_raise(py)?;
        let received = py.detach(|| self.core.received(belief, lag, policy)).or_raise(py)?;
        Ok(history_of(received, is_single(c)))
    }

    /// The temperature of a part in the logged air, by its size and what is around it.
    ///
    /// Parameters
    /// ----------
    /// thickness_mm : float, optional
    ///     Thickness of a plate heated on both faces; this or diameter_mm is required.
    /// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
    ///     What is around the part; it sets the band of the heat transfer coefficient.
    /// diameter_mm : float, optional
    ///     Diameter of a round bar.
    /// h_w_m2k : float, (low, likely, high) or "fit", optional
    ///     Heat transfer coefficient of your own; "fit" takes it from a probe beside a part of this size.
    /// heat_capacity : {"constant", "en-1993-1-2"}
    ///     500 J/kgK, or the specific heat of carbon steel by EN 1993-1-2, which rises with temperature.
    /// element : (element_c, view_factor, emissivity), optional
    ///     A glowing element that the part sees: up to so much hotter it may be.
    ///
    /// Returns
    /// -------
    /// Soak
    ///     One body below a Biot number of 0.1; above, a plane wall or a cylinder, whose core counts.
    ///
    /// Raises
    /// ------
    /// RefusedError
    ///     Without an air channel, and for the varying heat capacity of a part whose Biot number is above 0.1.
    /// NotDeterminedError
    ///     For a fit to a log that does not give it.
    /// MissingArgumentError
    ///     Without a size.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> rows = "".join(f"{60 * i},200\n" for i in range(180))
    /// >>> log = aq.read_log(("elapsed_s,air_degc\n" + rows).encode())
    /// >>> log.soak(3, "fan air").start_of_hold
    /// 615 s [360 .. 1060]
    #[pyo3(signature = (thickness_mm=None, surroundings="fan air", *, diameter_mm=None, h_w_m2k=None, heat_capacity="constant", element=None))]
    fn soak(
        &self,
        py: Python<'_>,
        thickness_mm: Option<f64>,
        surroundings: &str,
        diameter_mm: Option<f64>,
        h_w_m2k: Option<&Any<'_>>,
        heat_capacity: &str,
        element: Option<(f64, f64, f64)>,
    ) -> PyResult<Soak> {
        Soak::of(py, self, thickness_mm, surroundings, diameter_mm, h_w_m2k, heat_capacity, element)
    }

    /// How the oven behaved at a setpoint: overshoot, settling, steadiness, swing, doors, duty.
    ///
    /// Parameters
    /// ----------
    /// setpoint_c : float, optional
    ///     °C; the log's own setpoint channel without it.
    /// within_delta_c : float
    ///     Degrees from the setpoint that count as settled.
    ///
    /// Returns
    /// -------
    /// Behaviour
    ///
    /// Raises
    /// ------
    /// MissingArgumentError
    ///     For a log without a setpoint channel, and no setpoint given.
    /// InvalidValueError
    ///     For a setpoint or a band that is not positive.
    #[pyo3(signature = (setpoint_c=None, within_delta_c=5.0))]
    fn behaviour(&self, py: Python<'_>, setpoint_c: Option<f64>, within_delta_c: f64) -> PyResult<Behaviour> {
        let core = py.detach(|| self.core.behaviour(setpoint_c, within_delta_c)).or_raise(py)?;
        Ok(Behaviour { core })
    }

    /// The time constant in s of the part behind the air, fitted to a log that has both channels.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///     Seconds. What lies beside a part sees some of the air too: the share is fitted as well.
    ///
    /// Raises
    /// ------
    /// NotDeterminedError
    ///     Without both channels, or where air and part never differ by 10 °C.
    fn fitted_lag_s(&self, py: Python<'_>) -> PyResult<Estimate> {
        py.detach(|| self.core.fitted_lag()).map(Into::into).or_raise(py)
    }

    /// What is wrong with a sensor, as the record shows it; nothing is repaired by asking.
    ///
    /// Spikes, drop-outs and open sensors as the reader found and left them out, and what it can't leave out: a sensor
    /// that stands still, a couple with reversed leads, a contact that comes and goes, channels that walk apart. How
    /// often each is named of logs without a fault, and how often it is found, stands in docs/faults.md.
    ///
    /// Returns
    /// -------
    /// tuple of Fault
    ///     In the order of time; empty where nothing shows, which is no proof: a sensor that is wrong by the same
    ///     degrees all along shows in no record.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> log = aq.read_log(b"elapsed_s,air_degc\n0,21.5\n10,24\n20,812\n30,29.5\n40,32\n")
    /// >>> [fault.kind for fault in log.faults()]
    /// ['spike']
    fn faults<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let found = py.detach(|| self.core.faults());
        PyTuple::new(py, found.into_iter().map(|core| Fault { core }))
    }

    fn __repr__(&self) -> String {
        let (start, end) = self.core.span_s();
        let channels: Vec<&str> = self.core.channels.iter().map(|channel| channel.role.name()).collect();
        let load = self.core.load.map_or(String::new(), |load| format!(", loaded at {:.0} s", load.at_s));
        let plural = |count: usize, what: &str| format!("{count} {what}{}", if count == 1 { "" } else { "s" });
        format!(
            "OvenLog: {} rows over {:.1} h, {}{load}; {}, {}",
            self.core.seconds.len(),
            (end - start) / 3600.0,
            channels.join(" and "),
            plural(self.core.gaps.len(), "gap"),
            plural(self.core.repairs.len(), "repair"),
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_oven_log", &(&self.core, &self.gaps))
    }
}

/// Rebuilds a pickled log.
#[pyfunction]
fn _restore_oven_log(state: &[u8]) -> PyResult<OvenLog> {
    let (core, gaps) = restore(state)?;
    Ok(OvenLog { core, gaps })
}

/// Adds the classes to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<OvenLog>()?;
    module.add_function(wrap_pyfunction!(_restore_oven_log, module)?)
}
