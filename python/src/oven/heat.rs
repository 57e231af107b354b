//! What steel takes up and conducts, and what radiation adds: functions over arrays.

use std::sync::Arc;

use afterquench::kernel::ArrayModel;
use afterquench::oven::{
    CONDUCTIVITY_OVER, RADIANT_PART_OVER, RADIATION_COEFFICIENT_OVER, RADIATION_OVER, SPECIFIC_HEAT_OVER,
};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;

use super::lag::{result, wrapped};
use crate::ufunc::Model;

type Any<'py> = Bound<'py, PyAny>;

wrapped!(specific_heat_model, SPECIFIC_HEAT_OVER, "specific_heat_j_kgk");
wrapped!(conductivity_model, CONDUCTIVITY_OVER, "conductivity_w_mk");
wrapped!(radiation_model, RADIATION_OVER, "radiation_offset_delta_c");
wrapped!(radiation_coefficient_model, RADIATION_COEFFICIENT_OVER, "radiation_coefficient_w_m2k");
wrapped!(radiant_model, RADIANT_PART_OVER, "radiant_part_c");

/// Specific heat of carbon steel by EN 1993-1-2.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     °C, 20 to 1200.
///
/// Returns
/// -------
/// float or array_like
///     J/kgK; hardened tool steel differs by a few percent.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside 20 to 1200 °C.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.specific_heat_j_kgk(200), 2)
/// 529.76
#[pyfunction]
fn specific_heat_j_kgk<'py>(py: Python<'py>, temperature_c: &Any<'py>) -> PyResult<Any<'py>> {
    Model::call(specific_heat_model(py)?, py, &[temperature_c], &result("J/kgK", "specific heat"))
}

/// Thermal conductivity of carbon steel by EN 1993-1-2.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     °C, 20 to 1200.
///
/// Returns
/// -------
/// float or array_like
///     W/mK; hardened high-carbon, tool and stainless steels conduct 15 to 30.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside 20 to 1200 °C.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.conductivity_w_mk(200), 2)
/// 47.34
#[pyfunction]
fn conductivity_w_mk<'py>(py: Python<'py>, temperature_c: &Any<'py>) -> PyResult<Any<'py>> {
    Model::call(conductivity_model(py)?, py, &[temperature_c], &result("W/mK", "thermal conductivity"))
}

/// How much hotter than the air a flat part gets that sees a glowing element on one side.
///
/// Parameters
/// ----------
/// element_c, part_c : array_like
///     Temperatures in °C.
/// view_factor : array_like
///     Share of the part's view that the element fills, 0 to 1.
/// emissivity : array_like
///     0 to 1.
/// h_w_m2k : array_like
///     Heat transfer coefficient on both faces in W/m2K.
///
/// Returns
/// -------
/// float or array_like
///     °C above the air; linearised, on the upper side where it is large.
///
/// Raises
/// ------
/// OutOfRangeError
///     For a view factor or an emissivity outside 0 to 1.
/// InvalidValueError
///     For a coefficient that is not positive, or temperatures at or below absolute zero.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.radiation_offset_delta_c(500, 200, 0.05, 0.8, 35))
/// 10
#[pyfunction]
fn radiation_offset_delta_c<'py>(
    py: Python<'py>,
    element_c: &Any<'py>,
    part_c: &Any<'py>,
    view_factor: &Any<'py>,
    emissivity: &Any<'py>,
    h_w_m2k: &Any<'py>,
) -> PyResult<Any<'py>> {
    let arguments = [element_c, part_c, view_factor, emissivity, h_w_m2k];
    Model::call(radiation_model(py)?, py, &arguments, &result("K", "part above the air"))
}

/// Heat transfer coefficient that radiation between a part and the walls around it is worth.
///
/// Parameters
/// ----------
/// wall_c, part_c : array_like
///     Temperatures in °C.
/// emissivity : array_like
///     Of the part, 0 to 1.
///
/// Returns
/// -------
/// float or array_like
///     W/m2K.
///
/// Raises
/// ------
/// OutOfRangeError
///     For an emissivity outside 0 to 1.
/// InvalidValueError
///     For temperatures at or below absolute zero.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.radiation_coefficient_w_m2k(240, 240, 0.8), 1)
/// 24.5
#[pyfunction]
fn radiation_coefficient_w_m2k<'py>(
    py: Python<'py>,
    wall_c: &Any<'py>,
    part_c: &Any<'py>,
    emissivity: &Any<'py>,
) -> PyResult<Any<'py>> {
    let arguments = [wall_c, part_c, emissivity];
    let shown = result("W/m2K", "radiation as a heat transfer coefficient");
    Model::call(radiation_coefficient_model(py)?, py, &arguments, &shown)
}

/// Temperature at which a part settles that sees a glowing element and, for the rest, walls.
///
/// Parameters
/// ----------
/// air_c, wall_c, element_c : array_like
///     Temperatures in °C.
/// view_factor : array_like
///     Share of the face's view that the element fills, 0 to 1.
/// emissivity : array_like
///     0 to 1.
/// h_w_m2k : array_like
///     Heat transfer coefficient of the face in W/m2K.
///
/// Returns
/// -------
/// float or array_like
///     °C. One face stands for all: a thin part that gains on one face and loses on both gets about half as much hotter.
///
/// Raises
/// ------
/// OutOfRangeError
///     For a view factor or an emissivity outside 0 to 1.
/// InvalidValueError
///     For a coefficient that is not positive, or temperatures at or below absolute zero.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.radiant_part_c(240, 240, 500, 0.05, 0.8, 15), 1)
/// 256.1
#[pyfunction]
fn radiant_part_c<'py>(
    py: Python<'py>,
    air_c: &Any<'py>,
    wall_c: &Any<'py>,
    element_c: &Any<'py>,
    view_factor: &Any<'py>,
    emissivity: &Any<'py>,
    h_w_m2k: &Any<'py>,
) -> PyResult<Any<'py>> {
    let arguments = [air_c, wall_c, element_c, view_factor, emissivity, h_w_m2k];
    Model::call(radiant_model(py)?, py, &arguments, &result("degC", "part that sees an element"))
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(specific_heat_j_kgk, module)?)?;
    module.add_function(wrap_pyfunction!(conductivity_w_mk, module)?)?;
    module.add_function(wrap_pyfunction!(radiation_offset_delta_c, module)?)?;
    module.add_function(wrap_pyfunction!(radiation_coefficient_w_m2k, module)?)?;
    module.add_function(wrap_pyfunction!(radiant_part_c, module)?)
}
