//! Bindings of `plan::load`: several steels in one load.

use std::sync::Arc;

use afterquench::HoldTime;
use afterquench::curve::HardnessAfterTemper;
use afterquench::plan::{CommonWindow as Core, Request, common_window};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::arguments::argument_type;
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

use super::{constant, known, target, unknowns};

type Any<'py> = Bound<'py, PyAny>;

/// One temperature for several steels: the common window, or the best compromise and what each then gets.
///
/// Made by `common_window`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> a = aq.TemperingCurve([150, 200, 250], [62, 60, 58], name="a")
/// >>> b = aq.TemperingCurve([150, 200, 250], [63, 61, 59], name="b")
/// >>> window = aq.common_window([(a, (59, 61)), (b, (59, 61))])
/// >>> round(window.low), round(window.high)
/// (200, 225)
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(PartialEq)]
pub struct CommonWindow {
    core: Core,
}

#[pymethods]
impl CommonWindow {
    /// Lower end of the temperatures that suit all, nominally, °C; None where there are none.
    #[getter]
    fn low(&self) -> Option<f64> {
        self.core.window.map(|window| window.low_c)
    }

    /// Upper end of them, °C; None where there are none.
    #[getter]
    fn high(&self) -> Option<f64> {
        self.core.window.map(|window| window.high_c)
    }

    /// Temperatures (low, high) in °C that suit all though every curve be off by twice its uncertainty; None if none do.
    #[getter]
    fn sure_window_c(&self) -> Option<(f64, f64)> {
        self.core.sure_window.map(|window| (window.low_c, window.high_c))
    }

    /// Temperature to set, °C: inside the window, or the best compromise; where the smallest chance is largest.
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

    /// What each steel needs and gets: dicts with name, target_hrc, windows_c, hrc (Estimate) and p_inside.
    #[getter]
    fn parts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.parts.iter().map(|part| {
            let made = PyDict::new(py);
            made.set_item("name", &part.name)?;
            made.set_item("target_hrc", part.target)?;
            let windows: Vec<(f64, f64)> = part.windows.iter().map(|window| (window.low_c, window.high_c)).collect();
            made.set_item("windows_c", windows)?;
            made.set_item("hrc", Estimate::from(part.hrc.clone()))?;
            made.set_item("p_inside", part.p_inside)?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// What to do, as sentences.
    #[getter]
    fn advice(&self) -> Vec<String> {
        self.core.advice.clone()
    }

    fn __bool__(&self) -> bool {
        self.core.window.is_some()
    }

    fn __repr__(&self) -> String {
        self.core.advice.join("; ")
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_common_window", &self.core)
    }
}

/// Rebuilds a pickled window.
#[pyfunction]
fn _restore_common_window(state: &[u8]) -> PyResult<CommonWindow> {
    Ok(CommonWindow { core: restore(state)? })
}

/// The temperatures that suit several steels in one load, or the best compromise and what each then gets.
///
/// Parameters
/// ----------
/// load : list of (steel, target_hrc) or (steel, target_hrc, as_quenched_hrc)
///     A steel's name, a Steel or a curve of your own; its window in HRC as in `plan`; its as-quenched reading.
/// time_h : float
///     Time of one cycle, hours.
/// cycles : int
///     Number of cycles.
/// c : float, Estimate or (low, high), optional
///     C for hours of all of them; left out, each curve's own, else 15 to 20.
/// position_delta_c, sensor_delta_c, controller_delta_c : float
///     Half widths of flat distributions, differences in °C.
/// time_spread_min : float
///     Half width of the time, minutes.
///
/// Returns
/// -------
/// CommonWindow
///     .low and .high (None where nothing suits all), .sure_window_c, .temperature_c, .parts, .advice.
///
/// Raises
/// ------
/// MissingArgumentError
///     For fewer than two steels.
/// NoAnswerError
///     For a window that one of the curves never passes through.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> a = aq.TemperingCurve([150, 200, 250], [62, 60, 58], name="a")
/// >>> b = aq.TemperingCurve([150, 200, 250], [63, 61, 59], name="b")
/// >>> aq.common_window([(a, (60, 61)), (b, (59, 59.5))]).advice[0]
/// 'no common temperature: a needs 175 to 200 °C, b needs 238 to 250 °C'
#[pyfunction(name = "common_window")]
#[pyo3(signature = (load, *, time_h=2.0, cycles=1, c=None, position_delta_c=5.0, sensor_delta_c=1.5,
    controller_delta_c=1.0, time_spread_min=3.0))]
fn make_common_window(
    py: Python<'_>,
    load: &Any<'_>,
    #[pyo3(from_py_with = given::common_window::time_h)] time_h: f64,
    #[pyo3(from_py_with = given::common_window::cycles)] cycles: i64,
    c: Option<Any<'_>>,
    #[pyo3(from_py_with = given::common_window::position_delta_c)] position_delta_c: f64,
    #[pyo3(from_py_with = given::common_window::sensor_delta_c)] sensor_delta_c: f64,
    #[pyo3(from_py_with = given::common_window::controller_delta_c)] controller_delta_c: f64,
    #[pyo3(from_py_with = given::common_window::time_spread_min)] time_spread_min: f64,
) -> PyResult<CommonWindow> {
    const NAME: &str = "common_window";
    let bad = |why: String| argument_type(py, NAME, "load", why, "Write [(steel, (58, 60)), (steel, (59, 61))]".into());
    let widths = (position_delta_c, sensor_delta_c, controller_delta_c, time_spread_min);
    let mut parts: Vec<(Arc<dyn HardnessAfterTemper>, Request)> = Vec::new();
    for item in load.try_iter().map_err(|_| bad("it is no list".into()))? {
        let item = item?;
        let (steel, wanted, quenched): (Any<'_>, Any<'_>, Option<f64>) = item
            .extract::<(Any<'_>, Any<'_>)>()
            .map(|(steel, wanted)| (steel, wanted, None))
            .or_else(|_| item.extract::<(Any<'_>, Any<'_>, Option<f64>)>())
            .map_err(|_| bad("its items are not pairs of a steel and a window".into()))?;
        let (curve, bands) = known(NAME, &steel)?;
        let mut request = Request::new(curve.as_ref(), target(NAME, &wanted)?);
        request.time = HoldTime::from_hours(time_h);
        request.cycles = cycles.clamp(0, i64::from(u32::MAX)) as u32;
        request.as_quenched = quenched.map(Into::into);
        let total = HoldTime::from_hours(time_h * cycles as f64);
        request.unknowns = unknowns(curve.as_ref(), (request.target, total), None, None, widths);
        request.c = constant(NAME, curve.as_ref(), c.as_ref())?;
        request.bands = bands;
        parts.push((curve, request));
    }
    let borrowed: Vec<(&dyn HardnessAfterTemper, Request)> =
        parts.iter().map(|(curve, request)| (curve.as_ref(), request.clone())).collect();
    let core = py.detach(|| common_window(&borrowed)).or_raise(py)?;
    Ok(CommonWindow { core })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<CommonWindow>()?;
    module.add_function(wrap_pyfunction!(_restore_common_window, module)?)?;
    module.add_function(wrap_pyfunction!(make_common_window, module)?)
}
