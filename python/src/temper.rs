//! Bindings of the `temper` room.

use std::sync::Arc;

use afterquench::Error;
use afterquench::kernel::ArrayModel;
use afterquench::temper::TemperParameter;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;

use crate::errors::raised;
use crate::ufunc::{Model, Options, raises};

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

wrapped!(parameter_model, TemperParameter, "temper_parameter");

/// The error for a call without C.
fn c_is_missing(py: Python<'_>, function: &'static str) -> PyErr {
    raised(
        py,
        &Error::MissingArgument {
            function: function.into(),
            argument: "c".into(),
            why: "C is a property of the steel and can't be guessed".into(),
            hint: "Give c=constant_from_carbon(carbon_percent) for a plain carbon steel, a number of your own, or 20, \
                   a convention; for its spread use the _estimate twin, which takes the range 15 to 20"
                .into(),
        },
    )
}

/// The tempering parameter M = T (C + log10 t) of a hold.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     Temperature of the hold in °C, above absolute zero.
/// time_h : array_like
///     Length of the hold in hours, positive.
/// c : array_like
///     The steel's constant C for times in hours.
/// out_of_range : {"raise", "nan"}
///     What to do with an element outside the model's range.
/// out, where
///     As of any NumPy ufunc; where= without out= fills with NaN.
///
/// Returns
/// -------
/// float or array_like
///     M in kelvin, in the shape the arguments broadcast to; a plain float for plain numbers.
///
/// Raises
/// ------
/// InvalidValueError
///     For infinite values, a time that is not positive, a temperature at or below absolute zero.
/// MissingArgumentError
///     Without c.
///
/// Notes
/// -----
/// Hollomon and Jaffe (1945). NaN in gives NaN out.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.temper_parameter(200, 2, c=20), 1)
/// 9605.4
#[pyfunction]
#[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None, out=None, r#where=None))]
fn temper_parameter<'py>(
    py: Python<'py>,
    temperature_c: &Bound<'py, PyAny>,
    time_h: &Bound<'py, PyAny>,
    c: Option<&Bound<'py, PyAny>>,
    out_of_range: Option<&str>,
    out: Option<&Bound<'py, PyAny>>,
    r#where: Option<&Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyAny>> {
    let c = c.ok_or_else(|| c_is_missing(py, "temper_parameter"))?;
    let options = Options {
        raises: raises(py, "temper_parameter", out_of_range)?,
        out,
        mask: r#where,
        unit: "K",
        long_name: "tempering parameter",
    };
    Model::call(parameter_model(py)?, py, &[temperature_c, time_h, c], &options)
}

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(temper_parameter, module)?)
}
