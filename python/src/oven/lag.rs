//! How late the steel is: functions over arrays.

use std::sync::Arc;

use afterquench::Error;
use afterquench::kernel::ArrayModel;
use afterquench::oven::{DIP_OVER, LOST_HOLD_OVER, SWING_OVER, Surroundings, biot_number_over, time_constant_over};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyFloat;

use crate::errors::{OrRaise, raised};
use crate::temper::c_is_missing;
use crate::ufunc::{Model, Options};

type Any<'py> = Bound<'py, PyAny>;

/// Declares a getter for a model that is wrapped at its first use.
macro_rules! wrapped {
    ($getter:ident, $model:expr, $name:literal) => {
        fn $getter(py: Python<'_>) -> PyResult<&Py<Model>> {
            static MODEL: PyOnceLock<Py<Model>> = PyOnceLock::new();
            MODEL.get_or_try_init(py, || {
                let model: Arc<dyn ArrayModel> = Arc::new($model);
                Py::new(py, Model::new(py, model, $name)?)
            })
        }
    };
}
pub(crate) use wrapped;

wrapped!(constant_of_plate, time_constant_over::<false>(), "time_constant_s");
wrapped!(constant_of_round, time_constant_over::<true>(), "time_constant_s");
wrapped!(biot_of_plate, biot_number_over::<false>(), "biot_number");
wrapped!(biot_of_round, biot_number_over::<true>(), "biot_number");
wrapped!(lost_model, LOST_HOLD_OVER, "lost_hold_min");
wrapped!(swing_model, SWING_OVER, "swing_amplitude_delta_c");
wrapped!(dip_model, DIP_OVER, "dip_delta_c");

pub fn result(unit: &'static str, long_name: &'static str) -> Options<'static, 'static> {
    Options { raises: true, out: None, mask: None, unit, long_name }
}

/// Which of the two sizes was given, and whether it is a diameter.
pub fn size<'a, 'py>(
    py: Python<'py>,
    function: &'static str,
    thickness_mm: Option<&'a Any<'py>>,
    diameter_mm: Option<&'a Any<'py>>,
) -> PyResult<(&'a Any<'py>, bool)> {
    match (thickness_mm, diameter_mm) {
        (Some(thickness), None) => Ok((thickness, false)),
        (None, Some(diameter)) => Ok((diameter, true)),
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

/// The caller's heat transfer coefficient, or the likely one of the surroundings.
pub fn coefficient<'py>(py: Python<'py>, surroundings: &str, given: Option<&Any<'py>>) -> PyResult<Any<'py>> {
    match given {
        Some(h) => Ok(h.clone()),
        None => Ok(PyFloat::new(py, Surroundings::named(surroundings).or_raise(py)?.h_w_m2k().1).into_any()),
    }
}

/// Time constant of a part in its surroundings.
///
/// Parameters
/// ----------
/// thickness_mm : array_like, optional
///     Thickness of a plate heated on both faces; this or diameter_mm is required.
/// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
///     What is around the part; its likely heat transfer coefficient is taken, which is known to a factor of two.
/// diameter_mm : array_like, optional
///     Diameter of a round bar.
/// h_w_m2k : array_like, optional
///     Heat transfer coefficient in W/m2K of your own.
///
/// Returns
/// -------
/// float or array_like
///     Seconds.
///
/// Raises
/// ------
/// InvalidValueError
///     For sizes or coefficients that are not positive.
///
/// Notes
/// -----
/// tau = rho c (V/A) / h with rho c = 3.925e6 J/m3K; a plate has V/A of half its thickness, a round bar of a quarter of
/// its diameter.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.time_constant_s(3, "fan air"))
/// 168
#[pyfunction]
#[pyo3(signature = (thickness_mm=None, surroundings="fan air", *, diameter_mm=None, h_w_m2k=None))]
fn time_constant_s<'py>(
    py: Python<'py>,
    thickness_mm: Option<&Any<'py>>,
    surroundings: &str,
    diameter_mm: Option<&Any<'py>>,
    h_w_m2k: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let (size, round) = size(py, "time_constant_s", thickness_mm, diameter_mm)?;
    let model = if round { constant_of_round(py)? } else { constant_of_plate(py)? };
    Model::call(model, py, &[size, &coefficient(py, surroundings, h_w_m2k)?], &result("s", "time constant"))
}

/// Biot number of a part: below 0.1 it is at one temperature throughout.
///
/// Parameters
/// ----------
/// thickness_mm : array_like, optional
///     Thickness of a plate heated on both faces; this or diameter_mm is required.
/// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
///     What is around the part.
/// diameter_mm : array_like, optional
///     Diameter of a round bar.
/// h_w_m2k : array_like, optional
///     Heat transfer coefficient in W/m2K of your own.
///
/// Returns
/// -------
/// float or array_like
///
/// Raises
/// ------
/// InvalidValueError
///     For sizes or coefficients that are not positive.
///
/// Notes
/// -----
/// Bi = h (V/A) / k with k = 30 W/mK.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.biot_number(diameter_mm=12), 4)
/// 0.0035
#[pyfunction]
#[pyo3(signature = (thickness_mm=None, surroundings="fan air", *, diameter_mm=None, h_w_m2k=None))]
fn biot_number<'py>(
    py: Python<'py>,
    thickness_mm: Option<&Any<'py>>,
    surroundings: &str,
    diameter_mm: Option<&Any<'py>>,
    h_w_m2k: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let (size, round) = size(py, "biot_number", thickness_mm, diameter_mm)?;
    let model = if round { biot_of_round(py)? } else { biot_of_plate(py)? };
    Model::call(model, py, &[size, &coefficient(py, surroundings, h_w_m2k)?], &result("", "Biot number"))
}

/// Minutes of a hold that are lost while a cold part heats in a steady oven.
///
/// Parameters
/// ----------
/// time_constant_s : array_like
///     Time constant of the part in s.
/// oven_c : array_like
///     Temperature of the oven in °C.
/// start_c : array_like
///     Temperature of the part as it goes in.
/// hold_h : array_like
///     Hours in the oven.
/// c : array_like
///     The steel's constant C for hours; required.
///
/// Returns
/// -------
/// float or array_like
///     Minutes; about 3.1 time constants for C = 15 and 3.4 for C = 20.
///
/// Raises
/// ------
/// InvalidValueError
///     For times that are not positive.
/// MissingArgumentError
///     Without c.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.lost_hold_min(168, 200, c=20), 1)
/// 9.5
#[pyfunction]
#[pyo3(signature = (time_constant_s, oven_c, start_c=None, hold_h=None, *, c=None))]
fn lost_hold_min<'py>(
    py: Python<'py>,
    time_constant_s: &Any<'py>,
    oven_c: &Any<'py>,
    start_c: Option<&Any<'py>>,
    hold_h: Option<&Any<'py>>,
    c: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let c = c.ok_or_else(|| c_is_missing(py, "lost_hold_min"))?;
    let (cold, hours) = (PyFloat::new(py, 20.0).into_any(), PyFloat::new(py, 3.0).into_any());
    let arguments = [time_constant_s, oven_c, start_c.unwrap_or(&cold), hold_h.unwrap_or(&hours), c];
    Model::call(lost_model(py)?, py, &arguments, &result("min", "lost hold"))
}

/// Amplitude with which a part follows a swing of the air.
///
/// Parameters
/// ----------
/// air_amplitude_delta_c : array_like
///     Half the air's peak to peak in °C.
/// period_s : array_like
///     Its period in s.
/// time_constant_s : array_like
///     Time constant of the part in s.
///
/// Returns
/// -------
/// float or array_like
///     °C.
///
/// Raises
/// ------
/// InvalidValueError
///     For times that are not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.swing_amplitude_delta_c(15, 600, 168.2), 1)
/// 7.4
#[pyfunction]
fn swing_amplitude_delta_c<'py>(
    py: Python<'py>,
    air_amplitude_delta_c: &Any<'py>,
    period_s: &Any<'py>,
    time_constant_s: &Any<'py>,
) -> PyResult<Any<'py>> {
    let arguments = [air_amplitude_delta_c, period_s, time_constant_s];
    Model::call(swing_model(py)?, py, &arguments, &result("K", "swing of the part"))
}

/// How far a part dips when the air drops for some seconds, as behind an open door.
///
/// Parameters
/// ----------
/// air_drop_delta_c : array_like
///     How far the air drops in °C.
/// duration_s : array_like
///     For how long.
/// time_constant_s : array_like
///     Time constant of the part in s.
///
/// Returns
/// -------
/// float or array_like
///     °C; a square dip of the air, a real one is smaller.
///
/// Raises
/// ------
/// InvalidValueError
///     For times that are not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.dip_delta_c(25, 60, 168.2), 1)
/// 7.5
#[pyfunction]
fn dip_delta_c<'py>(
    py: Python<'py>,
    air_drop_delta_c: &Any<'py>,
    duration_s: &Any<'py>,
    time_constant_s: &Any<'py>,
) -> PyResult<Any<'py>> {
    let arguments = [air_drop_delta_c, duration_s, time_constant_s];
    Model::call(dip_model(py)?, py, &arguments, &result("K", "dip of the part"))
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(time_constant_s, module)?)?;
    module.add_function(wrap_pyfunction!(biot_number, module)?)?;
    module.add_function(wrap_pyfunction!(lost_hold_min, module)?)?;
    module.add_function(wrap_pyfunction!(swing_amplitude_delta_c, module)?)?;
    module.add_function(wrap_pyfunction!(dip_delta_c, module)?)
}
