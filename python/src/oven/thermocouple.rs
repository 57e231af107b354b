//! Thermocouples, platinum thermometers, their tolerances and calibration points, over arrays.

use std::sync::Arc;

use afterquench::kernel::ArrayModel;
use afterquench::oven::{
    Construction, EmfOver, Pt100Class, RESISTANCE_OVER, RESISTANCE_TEMPERATURE_OVER, SeebeckOver, SensorCalibration,
    TemperatureOver, Thermocouple, ToleranceClass, ToleranceStandard,
};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyFloat;

use crate::arguments::{argument_type, column, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

/// A model for each type of thermocouple, wrapped at its first use.
type OnePerType = [PyOnceLock<Py<Model>>; Thermocouple::ALL.len()];

fn held<'a>(
    py: Python<'_>,
    models: &'a OnePerType,
    kind: Thermocouple,
    name: &str,
    make: impl FnOnce(Thermocouple) -> Arc<dyn ArrayModel>,
) -> PyResult<&'a Py<Model>> {
    models[kind.index()].get_or_try_init(py, || Py::new(py, Model::new(py, make(kind), name)?))
}

/// A model that is made for one call.
fn once<'py>(
    py: Python<'py>,
    model: Arc<dyn ArrayModel>,
    name: &'static str,
    arguments: &[&Any<'py>],
    options: &Options<'_, 'py>,
) -> PyResult<Any<'py>> {
    let model = Py::new(py, Model::new(py, model, name)?)?;
    Model::call(&model, py, arguments, options)
}

/// The emf of a thermocouple in mV.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     Temperature of the hot junction in °C.
/// type : {"K", "J", "N", "T", "S"}
///     The type of thermocouple.
/// reference_junction_c : array_like
///     Temperature of the terminals in °C; tables are printed for 0.
/// out_of_range : {"raise", "nan"}
///     What to do outside the range of the type: K -270 to 1372, J -210 to 1200, N -270 to 1300, T -270 to 400,
///     S -50 to 1768.1 °C.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     mV.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the range of the type.
/// UnknownNameError
///     For a type without a reference function here.
///
/// Notes
/// -----
/// ITS-90 reference functions of NIST Monograph 175, as in IEC 60584-1.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.temperature_to_emf(200, "K"), 3)
/// 8.138
#[pyfunction]
#[pyo3(signature = (temperature_c, r#type, reference_junction_c=None, *, out_of_range=None, out=None, r#where=None))]
fn temperature_to_emf<'py>(
    py: Python<'py>,
    temperature_c: &Any<'py>,
    r#type: &str,
    reference_junction_c: Option<&Any<'py>>,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    static MODELS: OnePerType = [const { PyOnceLock::new() }; Thermocouple::ALL.len()];
    let kind = Thermocouple::named(r#type).or_raise(py)?;
    let model = held(py, &MODELS, kind, "temperature_to_emf", |kind| Arc::new(EmfOver(kind)))?;
    let ice = PyFloat::new(py, 0.0).into_any();
    let raises = raises(py, "temperature_to_emf", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "mV", long_name: "emf" };
    Model::call(model, py, &[temperature_c, reference_junction_c.unwrap_or(&ice)], &options)
}

/// The temperature of a thermocouple's hot junction from its emf.
///
/// The emf of the reference junction is added before the inversion, never its degrees: for type N that would be 5.5 °C
/// wrong at 240 °C.
///
/// Parameters
/// ----------
/// mv : array_like
///     The measured emf in mV.
/// type : {"K", "J", "N", "T", "S"}
///     The type of thermocouple.
/// reference_junction_c : array_like
///     Temperature of the terminals in °C.
/// out_of_range : {"raise", "nan"}
///     What to do outside the range of the type.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     °C.
///
/// Raises
/// ------
/// OutOfRangeError
///     For an emf that the type never gives.
/// UnknownNameError
///     For a type without a reference function here.
///
/// Notes
/// -----
/// Newton on the forward function, from the published approximate inverse, whose own error of up to 0.06 °C does not
/// remain: docs/thermocouples.md shows both.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.emf_to_temperature(6.596408, "N", reference_junction_c=25), 3)
/// 240.0
#[pyfunction]
#[pyo3(signature = (mv, r#type, reference_junction_c=None, *, out_of_range=None, out=None, r#where=None))]
fn emf_to_temperature<'py>(
    py: Python<'py>,
    mv: &Any<'py>,
    r#type: &str,
    reference_junction_c: Option<&Any<'py>>,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    static MODELS: OnePerType = [const { PyOnceLock::new() }; Thermocouple::ALL.len()];
    let kind = Thermocouple::named(r#type).or_raise(py)?;
    let model = held(py, &MODELS, kind, "emf_to_temperature", |kind| Arc::new(TemperatureOver(kind)))?;
    let ice = PyFloat::new(py, 0.0).into_any();
    let raises = raises(py, "emf_to_temperature", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "degC", long_name: "temperature" };
    Model::call(model, py, &[mv, reference_junction_c.unwrap_or(&ice)], &options)
}

/// The Seebeck coefficient of a thermocouple: what a degree is worth in µV.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     Temperature in °C.
/// type : {"K", "J", "N", "T", "S"}
///     The type of thermocouple.
/// out_of_range : {"raise", "nan"}
///     What to do outside the range of the type.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     µV/°C.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the range of the type.
/// UnknownNameError
///     For a type without a reference function here.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.seebeck_coefficient(200, "K"), 1)
/// 40.0
#[pyfunction]
#[pyo3(signature = (temperature_c, r#type, *, out_of_range=None, out=None, r#where=None))]
fn seebeck_coefficient<'py>(
    py: Python<'py>,
    temperature_c: &Any<'py>,
    r#type: &str,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    static MODELS: OnePerType = [const { PyOnceLock::new() }; Thermocouple::ALL.len()];
    let kind = Thermocouple::named(r#type).or_raise(py)?;
    let model = held(py, &MODELS, kind, "seebeck_coefficient", |kind| Arc::new(SeebeckOver(kind)))?;
    let raises = raises(py, "seebeck_coefficient", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "uV/K", long_name: "Seebeck coefficient" };
    Model::call(model, py, &[temperature_c], &options)
}

/// How far a NEW thermocouple of a class may be off, plus and minus, in °C.
///
/// Parameters
/// ----------
/// type : {"K", "J", "N", "T", "S", "E"}
///     The type of thermocouple.
/// class_ : int or str
///     1, 2 or 3 of IEC 60584-1; "standard" or "special" of ASTM E230.
/// temperature_c : array_like
///     Temperature in °C.
/// standard : {"iec-60584-1", "astm-e230"}
///     Whose tolerance.
/// out_of_range : {"raise", "nan"}
///     What to do where the class is not defined.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     °C.
///
/// Raises
/// ------
/// OutOfRangeError
///     Where the class is not defined.
/// UnknownNameError
///     For types, classes and standards that there are not; type J has no class 3.
///
/// Notes
/// -----
/// For unused wire as delivered. Drift in use is on top. The fraction is of degrees Celsius, never of °F or K.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.thermocouple_tolerance("K", 1, 400)
/// 1.6
/// >>> aq.thermocouple_tolerance("K", "standard", 200, standard="astm-e230")
/// 2.2
#[pyfunction]
#[pyo3(signature = (r#type, class_, temperature_c, *, standard="iec-60584-1", out_of_range=None, out=None, r#where=None))]
fn thermocouple_tolerance<'py>(
    py: Python<'py>,
    r#type: &str,
    class_: &Any<'py>,
    temperature_c: &Any<'py>,
    standard: &str,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let standard = ToleranceStandard::named(standard).or_raise(py)?;
    let class = ToleranceClass::named(r#type, &class_.str()?.to_cow()?, standard).or_raise(py)?;
    let raises = raises(py, "thermocouple_tolerance", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "K", long_name: "tolerance" };
    once(py, Arc::new(class), "thermocouple_tolerance", &[temperature_c], &options)
}

/// The resistance of a platinum thermometer after IEC 60751, in ohm.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     Temperature in °C, -200 to 850.
/// nominal_ohm : array_like
///     Resistance at 0 °C: 100, or 1000 for a Pt1000.
/// out_of_range : {"raise", "nan"}
///     What to do outside the range.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     ohm.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside -200 to 850 °C.
/// InvalidValueError
///     For a nominal that is not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.pt100_resistance(200), 3)
/// 175.856
#[pyfunction]
#[pyo3(signature = (temperature_c, nominal_ohm=None, *, out_of_range=None, out=None, r#where=None))]
fn pt100_resistance<'py>(
    py: Python<'py>,
    temperature_c: &Any<'py>,
    nominal_ohm: Option<&Any<'py>>,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    static MODEL: PyOnceLock<Py<Model>> = PyOnceLock::new();
    let model =
        MODEL.get_or_try_init(py, || Py::new(py, Model::new(py, Arc::new(RESISTANCE_OVER), "pt100_resistance")?))?;
    let usual = PyFloat::new(py, 100.0).into_any();
    let raises = raises(py, "pt100_resistance", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "ohm", long_name: "resistance" };
    Model::call(model, py, &[temperature_c, nominal_ohm.unwrap_or(&usual)], &options)
}

/// The temperature of a platinum thermometer after IEC 60751 from its resistance.
///
/// Parameters
/// ----------
/// ohm : array_like
///     Resistance in ohm, the leads' taken off: an ohm of lead is 2.7 °C at 200 °C.
/// nominal_ohm : array_like
///     Resistance at 0 °C: 100, or 1000 for a Pt1000.
/// out_of_range : {"raise", "nan"}
///     What to do outside the range.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     °C.
///
/// Raises
/// ------
/// OutOfRangeError
///     For resistances outside those of -200 to 850 °C.
/// InvalidValueError
///     For a nominal that is not positive.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.pt100_temperature(190.473), 4)
/// 240.0006
#[pyfunction]
#[pyo3(signature = (ohm, nominal_ohm=None, *, out_of_range=None, out=None, r#where=None))]
fn pt100_temperature<'py>(
    py: Python<'py>,
    ohm: &Any<'py>,
    nominal_ohm: Option<&Any<'py>>,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    static MODEL: PyOnceLock<Py<Model>> = PyOnceLock::new();
    let model = MODEL.get_or_try_init(py, || {
        Py::new(py, Model::new(py, Arc::new(RESISTANCE_TEMPERATURE_OVER), "pt100_temperature")?)
    })?;
    let usual = PyFloat::new(py, 100.0).into_any();
    let raises = raises(py, "pt100_temperature", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "degC", long_name: "temperature" };
    Model::call(model, py, &[ohm, nominal_ohm.unwrap_or(&usual)], &options)
}

/// How far a new platinum thermometer of a class may be off, plus and minus, in °C.
///
/// Parameters
/// ----------
/// class_ : {"AA", "A", "B", "C"}
///     Class of IEC 60751.
/// temperature_c : array_like
///     Temperature in °C.
/// construction : {"wire-wound", "film"}
///     Decides over what temperatures the class holds (these ranges are from memory).
/// out_of_range : {"raise", "nan"}
///     What to do where the class does not apply.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     °C.
///
/// Raises
/// ------
/// OutOfRangeError
///     Where the class does not apply.
/// UnknownNameError
///     For classes that the standard does not have.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.pt100_tolerance("A", 240), 3)
/// 0.63
#[pyfunction]
#[pyo3(signature = (class_, temperature_c, *, construction="wire-wound", out_of_range=None, out=None, r#where=None))]
fn pt100_tolerance<'py>(
    py: Python<'py>,
    class_: &str,
    temperature_c: &Any<'py>,
    construction: &str,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let class = Pt100Class::named(class_, Construction::named(construction).or_raise(py)?).or_raise(py)?;
    let raises = raises(py, "pt100_tolerance", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "K", long_name: "tolerance" };
    once(py, Arc::new(class), "pt100_tolerance", &[temperature_c], &options)
}

/// The calibration points of a call.
fn calibration(
    py: Python<'_>,
    function: &str,
    shown_c: &Any<'_>,
    reference_c: &Any<'_>,
    u_delta_c: Option<&Any<'_>>,
    within_delta_c: f64,
) -> PyResult<SensorCalibration> {
    let points = |name: &str, given: &Any<'_>| match given.extract::<f64>() {
        Ok(only) => Ok(vec![only]),
        Err(_) => column(function, name, given),
    };
    let shown = points("shown_c", shown_c)?;
    let reference = points("reference_c", reference_c)?;
    let u = match u_delta_c {
        None => vec![0.0; shown.len()],
        Some(given) => match points("u_delta_c", given)?.as_slice() {
            &[only] => vec![only; shown.len()],
            several => several.to_vec(),
        },
    };
    if shown.len() != reference.len() || shown.len() != u.len() {
        let why =
            format!("{} points shown, {} of the reference, {} uncertainties", shown.len(), reference.len(), u.len());
        let hint = "Give one of each a calibration point".to_owned();
        return Err(argument_type(py, function, "shown_c", why, hint));
    }
    SensorCalibration::new(&shown, &reference, &u, within_delta_c).or_raise(py)
}

/// What to add to the reading of a sensor that has calibration points.
///
/// Parameters
/// ----------
/// reading_c : array_like
///     Readings in °C.
/// shown_c : float or sequence of float
///     What the sensor showed at the calibration points, °C.
/// reference_c : float or sequence of float
///     What the reference was at each, °C.
/// within_delta_c : float
///     How far beyond the end points they hold; one point alone says nothing of other temperatures unless this says so.
/// out_of_range : {"raise", "nan"}
///     What to do beyond the points.
/// out, where
///     As of any NumPy ufunc.
///
/// Returns
/// -------
/// float or array_like
///     °C to add; straight lines between the points.
///
/// Raises
/// ------
/// OutOfRangeError
///     Beyond the points.
/// InvalidValueError
///     For two points at one reading, or numbers that can't be.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.sensor_correction(150, [100, 200], [100.5, 201.5])
/// 1.0
#[pyfunction]
#[pyo3(signature = (reading_c, shown_c, reference_c, *, within_delta_c=0.0, out_of_range=None, out=None, r#where=None))]
fn sensor_correction<'py>(
    py: Python<'py>,
    reading_c: &Any<'py>,
    shown_c: &Any<'py>,
    reference_c: &Any<'py>,
    within_delta_c: f64,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let points = calibration(py, "sensor_correction", shown_c, reference_c, None, within_delta_c)?;
    let raises = raises(py, "sensor_correction", out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "K", long_name: "correction" };
    once(py, Arc::new(points), "sensor_correction", &[reading_c], &options)
}

/// What to add to one reading, with its uncertainty.
///
/// Parameters
/// ----------
/// reading_c : float
///     The reading in °C.
/// shown_c, reference_c : float or sequence of float
///     The calibration points, as of `sensor_correction`.
/// u_delta_c : float or sequence of float
///     One standard uncertainty a point in °C (half of an expanded one at k = 2).
/// within_delta_c : float
///     How far beyond the end points they hold.
///
/// Returns
/// -------
/// Estimate
///     Its components are the calibration, and between points a part of their disagreement.
///
/// Raises
/// ------
/// OutOfRangeError
///     Beyond the points.
/// InvalidValueError
///     For numbers that can't be.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.sensor_correction_estimate(200, 200, 201.5, 0.3).value
/// 1.5
#[pyfunction]
#[pyo3(signature = (reading_c, shown_c, reference_c, u_delta_c, *, within_delta_c=0.0))]
fn sensor_correction_estimate(
    py: Python<'_>,
    reading_c: &Any<'_>,
    shown_c: &Any<'_>,
    reference_c: &Any<'_>,
    u_delta_c: &Any<'_>,
    within_delta_c: f64,
) -> PyResult<Estimate> {
    const FUNCTION: &str = "sensor_correction_estimate";
    let points = calibration(py, FUNCTION, shown_c, reference_c, Some(u_delta_c), within_delta_c)?;
    Ok(points.estimate(number(FUNCTION, "reading_c", reading_c)?).or_raise(py)?.into())
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(temperature_to_emf, module)?)?;
    module.add_function(wrap_pyfunction!(emf_to_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(seebeck_coefficient, module)?)?;
    module.add_function(wrap_pyfunction!(thermocouple_tolerance, module)?)?;
    module.add_function(wrap_pyfunction!(pt100_resistance, module)?)?;
    module.add_function(wrap_pyfunction!(pt100_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(pt100_tolerance, module)?)?;
    module.add_function(wrap_pyfunction!(sensor_correction, module)?)?;
    module.add_function(wrap_pyfunction!(sensor_correction_estimate, module)?)
}
