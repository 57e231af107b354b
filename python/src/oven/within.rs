//! How long a part takes to get to its oven's temperature, and whether it is through.

use std::sync::Arc;

use afterquench::Error;
use afterquench::kernel::ArrayModel;
use afterquench::oven::{
    HeatCapacity, Place, Surroundings, Through as Core, is_through as core_is_through, modes, section_temperature_c,
    time_to_within_over,
};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyFloat;

use super::lag::{coefficient, result, size, wrapped};
use super::soak::{coefficient as band, heat_capacity_named, part};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};
use crate::ufunc::Model;

type Any<'py> = Bound<'py, PyAny>;

wrapped!(within_of_plate, time_to_within_over::<false, false>(), "time_to_within");
wrapped!(within_of_round, time_to_within_over::<true, false>(), "time_to_within");
wrapped!(within_of_plate_en, time_to_within_over::<false, true>(), "time_to_within");
wrapped!(within_of_round_en, time_to_within_over::<true, true>(), "time_to_within");

/// Seconds until the core of a part put cold into a steady oven is within some degrees of it.
///
/// Parameters
/// ----------
/// thickness_mm : array_like or None
///     Thickness of a plate heated on both faces; None with diameter_mm.
/// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
///     What is around the part.
/// start_c, oven_c : array_like
///     Temperatures in °C, 0 to 600.
/// within_delta_c : array_like
///     How near in °C is near enough.
/// diameter_mm : array_like, optional
///     Diameter of a round bar.
/// h_w_m2k : array_like, optional
///     Heat transfer coefficient in W/m2K of your own.
/// heat_capacity : {"constant", "en-1993-1-2"}
///     500 J/kgK and 30 W/mK, or carbon steel by EN 1993-1-2: eq. 3.2a, which rises with temperature, and its conductivity.
/// emissivity : array_like
///     Of the part, for radiation from walls as warm as the air, on top of the coefficient.
///
/// Returns
/// -------
/// float or array_like
///     Seconds.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside 0 to 600 °C, or for an emissivity outside 0 to 1.
/// InvalidValueError
///     For sizes, coefficients or differences that are not positive.
///
/// Notes
/// -----
/// The coefficient is known to a factor of two, and the answer with it. Below a Biot number of 0.1 the part is one body;
/// above, it is a plane wall or a cylinder, by its eigenvalue series, or with radiation or the specific heat of
/// EN 1993-1-2 by an implicit finite-volume solution.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.time_to_within(3, "fan air", 20, 200, 5) / 60, 1)
/// 10.0
#[pyfunction]
#[pyo3(signature = (thickness_mm, surroundings, start_c, oven_c, within_delta_c, *, diameter_mm=None, h_w_m2k=None, heat_capacity="constant", emissivity=None))]
fn time_to_within<'py>(
    py: Python<'py>,
    thickness_mm: Option<&Any<'py>>,
    surroundings: &str,
    start_c: &Any<'py>,
    oven_c: &Any<'py>,
    within_delta_c: &Any<'py>,
    diameter_mm: Option<&Any<'py>>,
    h_w_m2k: Option<&Any<'py>>,
    heat_capacity: &str,
    emissivity: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let (size, round) = size(py, "time_to_within", thickness_mm, diameter_mm)?;
    let model = match (heat_capacity_named(py, heat_capacity)?, round) {
        (HeatCapacity::Constant, false) => within_of_plate(py)?,
        (HeatCapacity::Constant, true) => within_of_round(py)?,
        (HeatCapacity::En1993, false) => within_of_plate_en(py)?,
        (HeatCapacity::En1993, true) => within_of_round_en(py)?,
    };
    let h = coefficient(py, surroundings, h_w_m2k)?;
    let none = PyFloat::new(py, 0.0).into_any();
    let arguments = [size, &h, start_c, oven_c, within_delta_c, emissivity.unwrap_or(&none)];
    Model::call(model, py, &arguments, &result("s", "time to within"))
}

/// Eigenvalues and coefficients of a section's response to a step of its air.
///
/// Parameters
/// ----------
/// biot : float
///     h L / k, with L the half thickness of a plate or the radius of a round bar.
/// count : int
///     How many modes, slowest first.
/// shape : {"plate", "round"}
///     Plane wall or cylinder.
///
/// Returns
/// -------
/// zeta, coefficient : numpy.ndarray, shape (count,)
///     The share of the first difference that is left in the core is sum(coefficient * exp(-zeta**2 * Fo)), with
///     Fo = k t / (rho c L**2).
///
/// Raises
/// ------
/// InvalidValueError
///     For a Biot number that is not positive.
/// UnknownNameError
///     For another shape.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> zeta, coefficient = aq.section_modes(1.0)
/// >>> round(float(zeta[0]), 4), round(float(coefficient[0]), 4)
/// (0.8603, 1.1191)
#[pyfunction]
#[pyo3(signature = (biot, count=1, shape="plate"))]
#[allow(clippy::type_complexity)]
fn section_modes<'py>(
    py: Python<'py>,
    biot: f64,
    count: usize,
    shape: &str,
) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>)> {
    let round = match shape {
        "plate" => false,
        "round" => true,
        other => {
            return Err(raised(
                py,
                &Error::UnknownName {
                    kind: "shape".into(),
                    name: other.to_owned(),
                    close: vec!["plate".into(), "round".into()],
                    hint: "\"plate\" is the default".into(),
                },
            ));
        }
    };
    let made = modes(round, biot, count.min(20)).or_raise(py)?;
    let zeta: Vec<f64> = made.iter().map(|mode| mode.zeta).collect();
    let core: Vec<f64> = made.iter().map(|mode| mode.core).collect();
    Ok((PyArray1::from_vec(py, zeta), PyArray1::from_vec(py, core)))
}

/// A place in a section from its name.
pub fn place_named(py: Python<'_>, name: &str) -> PyResult<Place> {
    match name {
        "core" => Ok(Place::Core),
        "surface" => Ok(Place::Surface),
        other => Err(raised(
            py,
            &Error::UnknownName {
                kind: "place".into(),
                name: other.to_owned(),
                close: vec!["core".into(), "surface".into()],
                hint: "\"core\" is the default".into(),
            },
        )),
    }
}

/// Temperature in the core or at the skin of a section some time after it was put into steady air.
///
/// Parameters
/// ----------
/// time_s : float
///     Seconds in the oven.
/// thickness_mm : float, optional
///     Thickness of a plate heated on both faces; this or diameter_mm is required.
/// start_c, oven_c : float
///     Temperatures in °C.
/// diameter_mm : float, optional
///     Diameter of a round bar.
/// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
///     What is around the part; its likely heat transfer coefficient is taken.
/// h_w_m2k : float, optional
///     Heat transfer coefficient in W/m2K of your own.
/// place : {"core", "surface"}
///     Where.
/// conductivity_w_mk, heat_capacity_j_m3k : float
///     Of the material; hardened steel without them.
///
/// Returns
/// -------
/// float
///     °C.
///
/// Raises
/// ------
/// InvalidValueError
///     For sizes, times or coefficients that are not positive.
/// MissingArgumentError
///     Without a size.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.section_temperature_c(1800, 50, 20, 200, h_w_m2k=50), 1)
/// 126.7
#[pyfunction]
#[pyo3(signature = (time_s, thickness_mm, start_c, oven_c, *, diameter_mm=None, surroundings="fan air", h_w_m2k=None, place="core", conductivity_w_mk=30.0, heat_capacity_j_m3k=3.925e6))]
#[pyo3(name = "section_temperature_c")]
fn section_temperature(
    py: Python<'_>,
    time_s: f64,
    thickness_mm: Option<f64>,
    start_c: f64,
    oven_c: f64,
    diameter_mm: Option<f64>,
    surroundings: &str,
    h_w_m2k: Option<f64>,
    place: &str,
    conductivity_w_mk: f64,
    heat_capacity_j_m3k: f64,
) -> PyResult<f64> {
    let part = part(py, "section_temperature_c", thickness_mm, diameter_mm)?;
    let h = match h_w_m2k {
        Some(h) => h,
        None => Surroundings::named(surroundings).or_raise(py)?.h_w_m2k().1,
    };
    let material = Some((conductivity_w_mk, heat_capacity_j_m3k));
    section_temperature_c(part, h, start_c, oven_c, time_s, place_named(py, place)?, material).or_raise(py)
}

/// Whether a section is through: its core at the oven's temperature, whatever the heat transfer coefficient in its band.
///
/// Made by `is_through` for a steady oven, and by `Soak.through` for a logged one.
///
/// Attributes
/// ----------
/// verdict : {"yes", "no", "not decided"}
///     "not decided" where the coefficient decides: a probe in the core settles it.
/// core, surface : Estimate
///     Temperatures in °C at the time asked for, with the bounds that the coefficient gives.
/// time_s : Estimate
///     Seconds that it takes.
/// biot : float
///     Biot number at the likely coefficient.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.is_through(50, "fan air", 20, 200, time_s=3600)
/// Through: no; core 149 °C [113 .. 179], 10047 s needed [5861 .. 17582]
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Through {
    /// The core's answer.
    pub core: Core,
}

/// A verdict in words.
const fn verdict(decided: Option<bool>) -> &'static str {
    match decided {
        Some(true) => "yes",
        Some(false) => "no",
        None => "not decided",
    }
}

#[pymethods]
impl Through {
    /// "yes", "no" or "not decided".
    #[getter]
    pub fn verdict(&self) -> &'static str {
        verdict(self.core.verdict)
    }

    /// Core at the time asked for, °C.
    #[getter]
    fn core(&self) -> Estimate {
        self.core.core.clone().into()
    }

    /// Skin at the time asked for, °C.
    #[getter]
    fn surface(&self) -> Estimate {
        self.core.surface.clone().into()
    }

    /// Seconds until the core is there.
    ///
    /// Raises
    /// ------
    /// NoAnswerError
    ///     Where a log ends before it is.
    #[getter]
    fn time_s(&self, py: Python<'_>) -> PyResult<Estimate> {
        let never = || Error::NoAnswer {
            model: "oven.soak".into(),
            asked: "how long the core takes".into(),
            why: format!("it is never within {} °C of its hold in this log", self.core.within_delta_c).into(),
            hint: "aq.time_to_within gives the time in a steady oven".into(),
        };
        self.core.time.clone().map(Into::into).ok_or_else(never).or_raise(py)
    }

    /// Biot number at the likely coefficient.
    #[getter]
    fn biot(&self) -> f64 {
        self.core.biot
    }

    fn __repr__(&self) -> String {
        let text = |estimate: &afterquench::Estimate, what: &str| {
            let (low, high) = estimate.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
            format!("{:.0} {what} [{low:.0} .. {high:.0}]", estimate.value())
        };
        let time = self.core.time.as_ref().map_or("not there within the log".to_owned(), |time| text(time, "s needed"));
        format!("Through: {}; core {}, {time}", self.verdict(), text(&self.core.core, "°C"))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_through", &self.core)
    }
}

/// Rebuilds a pickled verdict.
#[pyfunction]
fn _restore_through(state: &[u8]) -> PyResult<Through> {
    Ok(Through { core: restore(state)? })
}

/// Whether a section is through after a time in a steady oven.
///
/// Parameters
/// ----------
/// thickness_mm : float or None
///     Thickness of a plate heated on both faces; None with diameter_mm.
/// surroundings : {"fan air", "still air", "sand", "oil", "salt"}
///     What is around the part; it sets the band of the heat transfer coefficient.
/// start_c, oven_c : float
///     Temperatures in °C, 0 to 600.
/// time_s : float
///     Seconds in the oven.
/// within_delta_c : float
///     How near the core must be in °C.
/// diameter_mm : float, optional
///     Diameter of a round bar.
/// h_w_m2k : float or (low, likely, high), optional
///     Heat transfer coefficient of your own.
///
/// Returns
/// -------
/// Through
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside 0 to 600 °C.
/// InvalidValueError
///     For sizes, times or coefficients that are not positive.
/// MissingArgumentError
///     Without a size.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.is_through(3, "fan air", 20, 200, time_s=1800).verdict
/// 'yes'
#[pyfunction]
#[pyo3(signature = (thickness_mm, surroundings, start_c, oven_c, *, time_s, within_delta_c=5.0, diameter_mm=None, h_w_m2k=None))]
fn is_through(
    py: Python<'_>,
    thickness_mm: Option<f64>,
    surroundings: &str,
    start_c: f64,
    oven_c: f64,
    time_s: f64,
    within_delta_c: f64,
    diameter_mm: Option<f64>,
    h_w_m2k: Option<&Any<'_>>,
) -> PyResult<Through> {
    let part = part(py, "is_through", thickness_mm, diameter_mm)?;
    let around = Surroundings::named(surroundings).or_raise(py)?;
    let h = band(py, "is_through", h_w_m2k)?;
    let core = core_is_through(part, around, h, start_c, oven_c, time_s, within_delta_c).or_raise(py)?;
    Ok(Through { core })
}

/// Adds the functions and the class to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Through>()?;
    module.add_function(wrap_pyfunction!(time_to_within, module)?)?;
    module.add_function(wrap_pyfunction!(section_modes, module)?)?;
    module.add_function(wrap_pyfunction!(section_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(is_through, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_through, module)?)
}
