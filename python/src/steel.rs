//! Bindings of the `steel` room.

mod catalogue;
mod composition;
mod hazard;
mod judge;
mod martensite;
mod quenched;

use pyo3::prelude::*;

pub use catalogue::Steel;
pub use composition::CompositionSteel;

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    catalogue::register(module)?;
    composition::register(module)?;
    hazard::register(module)?;
    judge::register(module)?;
    quenched::register(module)?;
    martensite::register(module)
}
