//! Bindings of the `hardness` room.

mod comparison;
mod convert;
mod decision;
mod how_many;
mod indent;
mod readings;
mod tables;
mod tester;

pub use readings::Readings;

use pyo3::prelude::*;

pub use tester::{Tester, TesterBlocks};

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    convert::register(module)?;
    tables::register(module)?;
    indent::register(module)?;
    tester::register(module)?;
    readings::register(module)?;
    how_many::register(module)?;
    decision::register(module)?;
    comparison::register(module)
}
