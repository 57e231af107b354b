//! The core's errors as the package's exceptions. The classes live in Python (abi3 can't subclass exceptions here).

use afterquench::Error;
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// The Python exception for an error of the core.
pub fn raised(py: Python<'_>, error: &Error) -> PyErr {
    exception(py, error).unwrap_or_else(|failure| failure)
}

/// For `?` on results of the core.
pub trait OrRaise<T> {
    /// The value, or the error as a Python exception.
    fn or_raise(self, py: Python<'_>) -> PyResult<T>;
}

impl<T> OrRaise<T> for afterquench::Result<T> {
    fn or_raise(self, py: Python<'_>) -> PyResult<T> {
        self.map_err(|error| raised(py, &error))
    }
}

fn exception(py: Python<'_>, error: &Error) -> PyResult<PyErr> {
    let fields = PyDict::new(py);
    macro_rules! with {
        ($class:literal, $($name:ident),*) => {{
            $(fields.set_item(stringify!($name), $name)?;)*
            $class
        }};
    }
    let class = match error {
        Error::OutOfRange { model, argument, value, unit, low, high, stated_by, failed, of, hint } => {
            with!("OutOfRangeError", model, argument, value, unit, low, high, stated_by, failed, of, hint)
        }
        Error::InvalidValue { model, argument, value, unit, why, failed, of, hint } => {
            with!("InvalidValueError", model, argument, value, unit, why, failed, of, hint)
        }
        Error::MissingArgument { function, argument, why, hint } => {
            with!("MissingArgumentError", function, argument, why, hint)
        }
        Error::UnknownName { kind, name, close, hint } => with!("UnknownNameError", kind, name, close, hint),
        Error::SeveralAnswers { model, asked, answers, unit, hint } => {
            with!("SeveralAnswersError", model, asked, answers, unit, hint)
        }
        Error::NoAnswer { model, asked, why, hint } => with!("NoAnswerError", model, asked, why, hint),
        Error::NotDetermined { what, why, would_determine } => {
            with!("NotDeterminedError", what, why, would_determine)
        }
        Error::Refused { what, why, instead } => with!("RefusedError", what, why, instead),
        Error::DataFile { file, line, column, why, hint } => with!("DataFileError", file, line, column, why, hint),
        other => return Ok(PyRuntimeError::new_err(other.to_string())),
    };
    let class = py.import("afterquench.errors")?.getattr(class)?;
    Ok(PyErr::from_value(class.call((error.to_string(),), Some(&fields))?))
}
