//! `Soak`: a part in the logged air.

use afterquench::Error;
use afterquench::oven::{Part, Soak as Core, Surroundings};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::log::{OvenLog, gap_policy, history_of, is_single};
use crate::arguments::{argument_type, belief, data_frame};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::history::History;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// A part in the air of a log: how late it is, when its hold began, what it got.
///
/// Made by `OvenLog.soak`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> rows = "".join(f"{second},200\n" for second in range(0, 7201, 10))
/// >>> aq.read_log(("elapsed_s,air_degc\n" + rows).encode(), load_s=0).soak(3)
/// Soak: 3 mm plate in fan air, time constant 168 s [98 .. 294], hold from 610 s [355 .. 1060]
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Soak {
    core: Core,
    gaps: String,
}

/// The part's shape from one of two sizes.
pub fn part(
    py: Python<'_>,
    function: &'static str,
    thickness_mm: Option<f64>,
    diameter_mm: Option<f64>,
) -> PyResult<Part> {
    for (argument, size) in [("thickness_mm", thickness_mm), ("diameter_mm", diameter_mm)] {
        if let Some(value) = size.filter(|size| !(*size > 0.0 && size.is_finite())) {
            return Err(raised(
                py,
                &Error::InvalidValue {
                    model: function.into(),
                    argument: argument.into(),
                    value,
                    unit: "mm".into(),
                    why: "is no size of a part".into(),
                    failed: 1,
                    of: 1,
                    hint: "Give a positive number of millimetres".into(),
                },
            ));
        }
    }
    match (thickness_mm, diameter_mm) {
        (Some(thickness), None) => Ok(Part::Plate(thickness)),
        (None, Some(diameter)) => Ok(Part::Round(diameter)),
        _ => Err(raised(
            py,
            &Error::MissingArgument {
                function: function.into(),
                argument: "thickness_mm or diameter_mm".into(),
                why: "one of them, and only one, says how late the part is".into(),
                hint: "Give thickness_mm of a flat part, or diameter_mm of a round one".into(),
            },
        )),
    }
}

/// A heat transfer coefficient of the caller's: one number, or low, likely and high.
pub fn coefficient(py: Python<'_>, function: &str, given: Option<&Any<'_>>) -> PyResult<Option<(f64, f64, f64)>> {
    let Some(given) = given else { return Ok(None) };
    if let Ok(h) = given.extract::<f64>() {
        return Ok(Some((h, h, h)));
    }
    given.extract().map(Some).map_err(|_| {
        let why = "it is no number and no triple".to_owned();
        argument_type(py, function, "h_w_m2k", why, "Give W/m2K, or (low, likely, high)".into())
    })
}

impl Soak {
    /// A part in a log's air.
    pub fn of(
        py: Python<'_>,
        log: &OvenLog,
        thickness_mm: Option<f64>,
        surroundings: &str,
        diameter_mm: Option<f64>,
        h_w_m2k: Option<&Any<'_>>,
    ) -> PyResult<Self> {
        let part = part(py, "soak", thickness_mm, diameter_mm)?;
        let around = Surroundings::named(surroundings).or_raise(py)?;
        let h = coefficient(py, "soak", h_w_m2k)?;
        let core = py.detach(|| log.core.soak(part, around, h)).or_raise(py)?;
        Ok(Self { core, gaps: log.gaps.clone() })
    }
}

#[pymethods]
impl Soak {
    /// Elapsed seconds at which the part is within 5 °C of the hold's level, with the range the lag gives it.
    #[getter]
    fn start_of_hold(&self) -> Estimate {
        self.core.start_of_hold.clone().into()
    }

    /// Minutes between the air being there and the part being there.
    #[getter]
    fn minutes_lost(&self) -> Estimate {
        self.core.minutes_lost.clone().into()
    }

    /// Time constant in s: shortest, likely, longest.
    #[getter]
    fn time_constant_s(&self) -> (f64, f64, f64) {
        (self.core.lag.low_s, self.core.lag.likely_s, self.core.lag.high_s)
    }

    /// Biot number: below 0.1 the part is at one temperature.
    #[getter]
    fn biot(&self) -> f64 {
        self.core.biot
    }

    /// The level of the hold in °C: the setpoint, or what the log shows.
    #[getter]
    fn hold_c(&self) -> f64 {
        self.core.hold_c
    }

    /// What the part got.
    ///
    /// Parameters
    /// ----------
    /// c : float, Estimate or (low, high), optional
    ///     The steel's C for hours; the range 15 to 20 without it.
    /// gaps : {"bound", "line", "refuse"}, optional
    ///     What to do with holes; as said at `read_log` without it.
    ///
    /// Returns
    /// -------
    /// History
    #[pyo3(signature = (c=None, *, gaps=None))]
    fn history(&self, py: Python<'_>, c: Option<&Any<'_>>, gaps: Option<&str>) -> PyResult<History> {
        let belief = belief("history", c)?;
        let policy = gap_policy(gaps.unwrap_or(&self.gaps)).or_raise(py)?;
        let received = py.detach(|| self.core.received(belief, policy)).or_raise(py)?;
        Ok(history_of(received, is_single(c)))
    }

    /// The part's temperature with the likely lag: a pandas DataFrame with elapsed_s and part.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        columns.set_item("elapsed_s", PyArray1::from_slice(py, &self.core.trace.seconds))?;
        columns.set_item("part", PyArray1::from_slice(py, &self.core.trace.celsius))?;
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.core.start_of_hold.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
        format!(
            "Soak: {} in {}, time constant {:.0} s [{:.0} .. {:.0}], hold from {:.0} s [{low:.0} .. {high:.0}]",
            self.core.part.text(),
            self.core.surroundings,
            self.core.lag.likely_s,
            self.core.lag.low_s,
            self.core.lag.high_s,
            self.core.start_of_hold.value(),
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_soak", &(&self.core, &self.gaps))
    }
}

/// Rebuilds a pickled soak.
#[pyfunction]
fn _restore_soak(state: &[u8]) -> PyResult<Soak> {
    let (core, gaps) = restore(state)?;
    Ok(Soak { core, gaps })
}

/// Adds the class to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Soak>()?;
    module.add_function(wrap_pyfunction!(_restore_soak, module)?)
}
