//! Bindings of the `oven` room.

use pyo3::prelude::*;

/// Adds the room to the module.
pub fn register(_module: &Bound<'_, PyModule>) -> PyResult<()> {
    Ok(())
}
