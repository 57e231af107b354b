//! Definitions of hardness, and where an indentation may be made.

use std::sync::Arc;

use afterquench::hardness::{self, CurvatureCorrection, MinimumThickness, ScaleName, ThicknessChoice};
use afterquench::kernel::ArrayModel;
use pyo3::prelude::*;

use crate::errors::OrRaise;
use crate::given;
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

fn call<'py>(
    py: Python<'py>,
    model: Arc<dyn ArrayModel>,
    name: &'static str,
    arguments: &[&Any<'py>],
    options: &Options<'_, 'py>,
) -> PyResult<Any<'py>> {
    let model = Py::new(py, Model::new(py, model, name)?)?;
    Model::call(&model, py, arguments, options)
}

/// The least thickness of a part for a valid reading, in mm.
///
/// Parameters
/// ----------
/// scale : str
///     The scale; Vickers with its load, as in "HV10".
/// value : array_like
///     The reading.
/// rule : {"largest", "depth", "e18-table", "iso"}, optional
///     Which rule to judge by; the default is the largest of all that cover the scale. "depth" is ten times the depth
///     (fifteen for a ball), "iso" 1.5 Vickers diagonals or eight Brinell depths. `thickness_rules` names each.
/// out_of_range : {"raise", "nan"}
///     What to do off the scale, and below the E18 table.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     Least thickness in mm.
///
/// Raises
/// ------
/// MissingArgumentError
///     For Vickers without load.
/// OutOfRangeError, InvalidValueError, RefusedError, UnknownNameError
///     For values, rules or scales that don't fit.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.minimum_thickness_mm("HRC", 60), 3)
/// 0.8
/// >>> aq.minimum_thickness_mm("HRC", 60, rule="e18-table")
/// 0.76
#[pyfunction]
#[pyo3(signature = (scale, value, rule=None, *, out_of_range=None, out=None, r#where=None))]
fn minimum_thickness_mm<'py>(
    py: Python<'py>,
    #[pyo3(from_py_with = given::minimum_thickness_mm::scale)] scale: &str,
    value: &Any<'py>,
    #[pyo3(from_py_with = given::minimum_thickness_mm::rule)] rule: Option<&str>,
    #[pyo3(from_py_with = given::minimum_thickness_mm::out_of_range)] out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let scale = ScaleName::parse(scale).or_raise(py)?;
    let choice = ThicknessChoice::parse(rule).or_raise(py)?;
    let raises = raises(py, "minimum_thickness_mm", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "mm", long_name: "least thickness" };
    call(py, Arc::new(MinimumThickness { scale, choice }), "minimum_thickness_mm", &[value], &options)
}

/// What each rule asks for the thickness under a reading: name of the rule, whose it is, least thickness in mm.
///
/// Parameters
/// ----------
/// scale : str
///     The scale; Vickers with its load.
/// value : float
///     The reading.
///
/// Returns
/// -------
/// list of (str, str, float)
///
/// Raises
/// ------
/// MissingArgumentError, OutOfRangeError, RefusedError, UnknownNameError, InvalidValueError
///     As of `minimum_thickness_mm`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [(rule, round(mm, 3)) for rule, whose, mm in aq.thickness_rules("HR15N", 90)]
/// [('depth', 0.1), ('e18-table', 0.2)]
#[pyfunction]
fn thickness_rules(
    py: Python<'_>,
    #[pyo3(from_py_with = given::thickness_rules::scale)] scale: &str,
    #[pyo3(from_py_with = given::thickness_rules::value)] value: f64,
) -> PyResult<Vec<(String, String, f64)>> {
    let scale = ScaleName::parse(scale).or_raise(py)?;
    let rules = hardness::thickness_rules(&scale, value).or_raise(py)?;
    Ok(rules.into_iter().map(|rule| (rule.rule.to_owned(), rule.whose.to_owned(), rule.minimum_mm)).collect())
}

/// The correction to be added to a reading on a convex cylinder (round surfaces read low).
///
/// Parameters
/// ----------
/// scale : str
///     A diamond, B, F or N Rockwell scale.
/// value : array_like
///     The uncorrected reading.
/// diameter_mm : array_like
///     Diameter in mm; the diamond table runs from 6.4 to 38 mm.
/// out_of_range : {"raise", "nan"}
///     What to do outside the table.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     Points to add, bilinear between the table's cells and unrounded.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the table.
/// RefusedError
///     For a scale it does not cover.
///
/// Notes
/// -----
/// ASTM E18 Annex A6; the N scales are from memory. Convex only. ISO 6508-1 does not accept corrections above 3 points
/// (from memory); `Readings` marks such readings as doubtful.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.curvature_correction("HRC", 40, 13)
/// 2.0
#[pyfunction]
#[pyo3(signature = (scale, value, diameter_mm, *, out_of_range=None, out=None, r#where=None))]
fn curvature_correction<'py>(
    py: Python<'py>,
    #[pyo3(from_py_with = given::curvature_correction::scale)] scale: &str,
    value: &Any<'py>,
    diameter_mm: &Any<'py>,
    #[pyo3(from_py_with = given::curvature_correction::out_of_range)] out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let scale = ScaleName::parse(scale).or_raise(py)?;
    let raises = raises(py, "curvature_correction", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "", long_name: "curvature correction" };
    call(py, Arc::new(CurvatureCorrection { scale }), "curvature_correction", &[value, diameter_mm], &options)
}

/// Declares a function of a scale and a reading that gives a least distance.
macro_rules! least_distance {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[pyfunction]
        fn $name(
            py: Python<'_>,
            #[pyo3(from_py_with = given::$name::scale)] scale: &str,
            #[pyo3(from_py_with = given::$name::value)] value: f64,
        ) -> PyResult<f64> {
            let scale = ScaleName::parse(scale).or_raise(py)?;
            Ok(hardness::$name(&scale, value).or_raise(py)?.mm)
        }
    };
}

least_distance! {
    /// The least distance from the middle of an indentation to the edge, in mm.
    ///
    /// Parameters
    /// ----------
    /// scale : str
    ///     The scale; Vickers with its load.
    /// value : float
    ///     The reading.
    ///
    /// Returns
    /// -------
    /// float
    ///     2.5 diameters or diagonals (ISO 6506-1, 6507-1, 6508-1); for Rockwell never under 1 mm, and the diameter a
    ///     lower bound from geometry.
    ///
    /// Raises
    /// ------
    /// MissingArgumentError, OutOfRangeError, RefusedError, UnknownNameError, InvalidValueError
    ///     As of `minimum_thickness_mm`.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.minimum_edge_distance_mm("HV10", 700), 3)
    /// 0.407
    minimum_edge_distance_mm
}

least_distance! {
    /// The least distance between the middles of two indentations, in mm.
    ///
    /// Parameters
    /// ----------
    /// scale : str
    ///     The scale; Vickers with its load.
    /// value : float
    ///     The reading.
    ///
    /// Returns
    /// -------
    /// float
    ///     3 diameters or diagonals (ISO 6506-1, 6507-1, 6508-1); for Rockwell never under 2 mm.
    ///
    /// Raises
    /// ------
    /// MissingArgumentError, OutOfRangeError, RefusedError, UnknownNameError, InvalidValueError
    ///     As of `minimum_thickness_mm`.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.minimum_spacing_mm("HV10", 700), 3)
    /// 0.488
    minimum_spacing_mm
}

/// Declares a definition of two or three numbers.
macro_rules! definition {
    ($(#[$doc:meta])* $name:ident($($argument:ident: $kind:ty),*)) => {
        $(#[$doc])*
        #[pyfunction]
        fn $name(
            py: Python<'_>,
            $(#[pyo3(from_py_with = given::$name::$argument)] $argument: $kind),*
        ) -> PyResult<f64> {
            hardness::$name($($argument),*).or_raise(py)
        }
    };
}

definition! {
    /// Brinell hardness from force (kgf), ball and indentation diameter (mm), by its definition (ISO 6506-1, E10).
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     Unless all are positive and the indentation is smaller than the ball.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.brinell_hardness(3000, 10, 3.0))
    /// 415
    brinell_hardness(force_kgf: f64, ball_mm: f64, diameter_mm: f64)
}

definition! {
    /// Vickers hardness from force (kgf) and mean diagonal (µm), by its definition (ISO 6507-1, E92).
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     Unless both are positive.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.vickers_hardness(10, 162.8), 1)
    /// 699.7
    vickers_hardness(force_kgf: f64, diagonal_um: f64)
}

definition! {
    /// The mean diagonal in µm that a Vickers hardness leaves under a force in kgf.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     Unless both are positive.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.vickers_diagonal_um(10, 700), 1)
    /// 162.8
    vickers_diagonal_um(force_kgf: f64, hardness_hv: f64)
}

definition! {
    /// Knoop hardness from force (kgf) and long diagonal (µm), by its definition (ISO 4545-1, E384).
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     Unless both are positive.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.knoop_hardness(0.5, 100))
    /// 711
    knoop_hardness(force_kgf: f64, diagonal_um: f64)
}

/// Rockwell hardness from the permanent increase of depth over the preliminary force, in mm (ISO 6508-1, E18).
///
/// Parameters
/// ----------
/// scale : str
///     A Rockwell scale.
/// depth_mm : float
///     The permanent increase of depth, mm.
/// out_of_range : {"raise", "nan"}
///     What to do with a depth whose hardness lies off the scale.
///
/// Returns
/// -------
/// float
///     Points of the scale.
///
/// Raises
/// ------
/// UnknownNameError
///     For a scale that is not Rockwell.
/// InvalidValueError
///     For a negative depth.
/// OutOfRangeError
///     For a depth whose hardness lies off the scale.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.rockwell_hardness("HRC", 0.08), 6)
/// 60.0
#[pyfunction]
#[pyo3(signature = (scale, depth_mm, *, out_of_range=None))]
fn rockwell_hardness(
    py: Python<'_>,
    #[pyo3(from_py_with = given::rockwell_hardness::scale)] scale: &str,
    #[pyo3(from_py_with = given::rockwell_hardness::depth_mm)] depth_mm: f64,
    #[pyo3(from_py_with = given::rockwell_hardness::out_of_range)] out_of_range: Option<&str>,
) -> PyResult<f64> {
    match (hardness::rockwell_hardness(scale, depth_mm), raises(py, "rockwell_hardness", out_of_range)?) {
        (Err(error), false) if error.is_out_of_range() => Ok(f64::NAN),
        (made, _) => made.or_raise(py),
    }
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(minimum_thickness_mm, module)?)?;
    module.add_function(wrap_pyfunction!(thickness_rules, module)?)?;
    module.add_function(wrap_pyfunction!(curvature_correction, module)?)?;
    module.add_function(wrap_pyfunction!(minimum_edge_distance_mm, module)?)?;
    module.add_function(wrap_pyfunction!(minimum_spacing_mm, module)?)?;
    module.add_function(wrap_pyfunction!(brinell_hardness, module)?)?;
    module.add_function(wrap_pyfunction!(vickers_hardness, module)?)?;
    module.add_function(wrap_pyfunction!(vickers_diagonal_um, module)?)?;
    module.add_function(wrap_pyfunction!(knoop_hardness, module)?)?;
    module.add_function(wrap_pyfunction!(rockwell_hardness, module)?)
}
