//! Bindings of the `hardness` room.

mod convert;
mod decision;
mod indent;
mod readings;
mod tables;

pub use readings::Readings;

use pyo3::prelude::*;

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    convert::register(module)?;
    tables::register(module)?;
    indent::register(module)?;
    readings::register(module)?;
    decision::register(module)
}
