//! Pickling: what the core can serialise travels as MessagePack, which keeps every bit of a float.

use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::PyBytes;
use serde::Serialize;
use serde::de::DeserializeOwned;

/// What `__reduce__` returns: a function of this module and its one argument.
pub type Reduced<'py> = (Bound<'py, PyAny>, (Bound<'py, PyBytes>,));

/// The pickled form of a value of the core, to be rebuilt by the named function of this module.
pub fn reduce<'py>(py: Python<'py>, rebuild: &str, value: &impl Serialize) -> PyResult<Reduced<'py>> {
    let state = rmp_serde::to_vec(value).map_err(|error| PyValueError::new_err(error.to_string()))?;
    Ok((py.import("afterquench._native")?.getattr(rebuild)?, (PyBytes::new(py, &state),)))
}

/// A value of the core from its pickled form.
pub fn restore<T: DeserializeOwned>(state: &[u8]) -> PyResult<T> {
    rmp_serde::from_slice(state)
        .map_err(|error| PyValueError::new_err(format!("this pickle is of another version: {error}")))
}
