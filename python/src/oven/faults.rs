//! What is wrong with a sensor: by the record of an oven, and by a physical mark.

use std::sync::Arc;

use afterquench::Temperature;
use afterquench::oven::{
    Fault as CoreFault, SensorExplanation as CoreExplanation, Thermocouple, WrongTypeOver, explain_sensor as explained,
};
use pyo3::prelude::*;
use pyo3::types::{PyFloat, PyTuple};

use crate::errors::OrRaise;
use crate::pickle::{Reduced, reduce, restore};
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

/// One fault of a sensor, as the record of an oven shows it; found by `OvenLog.faults`, never repaired by it.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> log = aq.read_log(b"elapsed_s,air_degc\n0,21.5\n10,24\n20,812\n30,29.5\n40,32\n")
/// >>> log.faults()[0].kind
/// 'spike'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Fault {
    /// The core's fault.
    pub core: CoreFault,
}

#[pymethods]
impl Fault {
    /// "spike", "drop-out", "open sensor", "stuck sensor", "reversed thermocouple", "drift" or "contact lost".
    #[getter]
    fn kind(&self) -> &str {
        &self.core.kind
    }

    /// The channel, or None where two are meant.
    #[getter]
    fn channel(&self) -> Option<&str> {
        self.core.channel.map(|role| role.name())
    }

    /// Rows counted from 0: of the file for what the reader left out, else of the log as it was read.
    #[getter]
    fn rows<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.core.rows)
    }

    /// First and last elapsed second, or None.
    #[getter]
    fn seconds(&self) -> Option<(f64, f64)> {
        self.core.seconds
    }

    /// How large it is in °C, or None where that has no meaning.
    #[getter]
    fn size_delta_c(&self) -> Option<f64> {
        self.core.size_delta_c
    }

    /// Why it is thought to be one, and what to look at.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    fn __repr__(&self) -> String {
        self.core.to_string()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_fault", &self.core)
    }
}

/// One thing that would make a display show what it shows; found by `explain_sensor`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.explain_sensor(265, 200, terminals_c=0, within_delta_c=1)[0]
/// wrong type: type K is wired and the controller is set to J, terminals at 0 °C, so the hot junction is at 265.3 °C
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct SensorExplanation {
    core: CoreExplanation,
}

#[pymethods]
impl SensorExplanation {
    /// "no fault", "wrong type", "reversed" or "no compensation".
    #[getter]
    fn kind(&self) -> &str {
        &self.core.kind
    }

    /// The type that is wired.
    #[getter]
    fn wired(&self) -> &str {
        self.core.wired.letter()
    }

    /// The type the controller is set to.
    #[getter]
    fn set_as(&self) -> &str {
        self.core.set_as.letter()
    }

    /// Where the hot junction then is, °C.
    #[getter]
    fn true_c(&self) -> f64 {
        self.core.true_c
    }

    /// That less the physical mark, °C.
    #[getter]
    fn off_delta_c(&self) -> f64 {
        self.core.off_delta_c
    }

    /// The working in words.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    fn __repr__(&self) -> String {
        format!("{}: {}", self.core.kind, self.core.why)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_sensor_explanation", &self.core)
    }
}

/// The temperature behind a display that reads a thermocouple as another type.
///
/// Parameters
/// ----------
/// shown_c : array_like
///     What the display shows, °C.
/// wired, set_as : {"K", "J", "N", "T", "S"}
///     The type that is wired, and the one the controller is set to.
/// terminals_c : array_like, optional
///     Temperature of the controller's terminals in °C, which it compensates by the wrong type; 25 without it.
/// out_of_range : {"raise", "nan"}
///     What to do where one of the types does not reach.
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
///     Where one of the types does not reach.
/// UnknownNameError
///     For a type without a reference function here.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.wrong_type_temperature(200, "K", "J", 25), 1)
/// 258.5
#[pyfunction]
#[pyo3(signature = (shown_c, wired, set_as, terminals_c=None, *, out_of_range=None, out=None, r#where=None))]
fn wrong_type_temperature<'py>(
    py: Python<'py>,
    shown_c: &Any<'py>,
    wired: &str,
    set_as: &str,
    terminals_c: Option<&Any<'py>>,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    const NAME: &str = "wrong_type_temperature";
    let model = WrongTypeOver {
        wired: Thermocouple::named(wired).or_raise(py)?,
        set_as: Thermocouple::named(set_as).or_raise(py)?,
    };
    let model = Py::new(py, Model::new(py, Arc::new(model), NAME)?)?;
    let usual = PyFloat::new(py, 25.0).into_any();
    let raises = raises(py, NAME, out_of_range)?;
    let options = Options { raises, out, mask: r#where, unit: "degC", long_name: "temperature of the hot junction" };
    Model::call(&model, py, &[shown_c, terminals_c.unwrap_or(&usual)], &options)
}

/// What explains that a display shows one temperature where a physical mark says another.
///
/// Looks at controllers set to another type than is wired, at reversed leads, and at terminals without compensation.
///
/// Parameters
/// ----------
/// physical_mark_c : float
///     What is known of the true temperature, °C: boiling water, a metal that melts, a reference probe.
/// shown_c : float
///     What the display showed at that moment, °C.
/// terminals_c : float
///     Temperature of the controller's terminals, °C.
/// within_delta_c : float
///     How near to the mark an explanation must come, °C.
///
/// Returns
/// -------
/// tuple of SensorExplanation
///     Nearest to the mark first; empty where nothing comes near enough. Several may: a second mark tells them apart.
///
/// Raises
/// ------
/// InvalidValueError
///     For infinite values.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [(e.wired, e.set_as) for e in aq.explain_sensor(258, 200, within_delta_c=2)]
/// [('K', 'J')]
#[pyfunction]
#[pyo3(signature = (physical_mark_c, shown_c, *, terminals_c=25.0, within_delta_c=5.0))]
fn explain_sensor<'py>(
    py: Python<'py>,
    physical_mark_c: f64,
    shown_c: f64,
    terminals_c: f64,
    within_delta_c: f64,
) -> PyResult<Bound<'py, PyTuple>> {
    let celsius = Temperature::from_celsius;
    let found =
        explained(celsius(physical_mark_c), celsius(shown_c), celsius(terminals_c), within_delta_c).or_raise(py)?;
    PyTuple::new(py, found.into_iter().map(|core| SensorExplanation { core }))
}

/// Rebuilds a pickled fault.
#[pyfunction]
fn _restore_fault(state: &[u8]) -> PyResult<Fault> {
    Ok(Fault { core: restore(state)? })
}

/// Rebuilds a pickled explanation.
#[pyfunction]
fn _restore_sensor_explanation(state: &[u8]) -> PyResult<SensorExplanation> {
    Ok(SensorExplanation { core: restore(state)? })
}

/// Adds the classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Fault>()?;
    module.add_class::<SensorExplanation>()?;
    module.add_function(wrap_pyfunction!(_restore_fault, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_sensor_explanation, module)?)?;
    module.add_function(wrap_pyfunction!(wrong_type_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(explain_sensor, module)?)
}
