//! Bindings of the `temper` room: the array functions and their twins.

mod activation;
mod constant;
mod declare;
mod estimates;
mod hold;

use pyo3::prelude::*;

pub use declare::c_is_missing;

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    hold::register(module)?;
    constant::register(module)?;
    estimates::register(module)?;
    activation::register(module)
}
