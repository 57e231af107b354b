//! How an array function is declared: its signature, the model behind it, its result.

use afterquench::Error;
use pyo3::prelude::*;

use crate::errors::raised;

pub(super) type Any<'py> = Bound<'py, PyAny>;

/// The error for a call without C.
pub fn c_is_missing(py: Python<'_>, function: &'static str) -> PyErr {
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

/// Declares an array function of the room: its signature, its model, its result.
macro_rules! array_function {
    ($(#[$doc:meta])* $name:ident($($argument:ident),*; c), $model:ident, $unit:literal, $long:literal) => {
        $(#[$doc])*
        #[pyfunction]
        #[pyo3(signature = ($($argument,)* *, c=None, out_of_range=None, out=None, r#where=None))]
        fn $name<'py>(
            py: Python<'py>,
            $($argument: &Any<'py>,)*
            c: Option<&Any<'py>>,
            out_of_range: Option<&str>,
            out: Option<&Any<'py>>,
            r#where: Option<&Any<'py>>,
        ) -> PyResult<Any<'py>> {
            let c = c.ok_or_else(|| c_is_missing(py, stringify!($name)))?;
            let raises = raises(py, stringify!($name), out_of_range)?;
            let options = Options { raises, out, mask: r#where, unit: $unit, long_name: $long };
            Model::call($model(py)?, py, &[$($argument,)* c], &options)
        }
    };
    ($(#[$doc:meta])* $name:ident($argument:ident), $model:ident, $unit:literal, $long:literal) => {
        $(#[$doc])*
        #[pyfunction]
        #[pyo3(signature = ($argument, *, out_of_range=None, out=None, r#where=None))]
        fn $name<'py>(
            py: Python<'py>,
            $argument: &Any<'py>,
            out_of_range: Option<&str>,
            out: Option<&Any<'py>>,
            r#where: Option<&Any<'py>>,
        ) -> PyResult<Any<'py>> {
            let raises = raises(py, stringify!($name), out_of_range)?;
            let options = Options { raises, out, mask: r#where, unit: $unit, long_name: $long };
            Model::call($model(py)?, py, &[$argument], &options)
        }
    };
}

pub(super) use {array_function, wrapped};
