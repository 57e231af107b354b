//! Bindings of the `steel` room.

mod catalogue;
mod hazard;
mod martensite;
mod quenched;

use pyo3::prelude::*;

pub use catalogue::Steel;

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    catalogue::register(module)?;
    hazard::register(module)?;
    quenched::register(module)?;
    martensite::register(module)
}
