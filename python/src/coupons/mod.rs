//! Bindings of `curve::fit`: a shop's own coupons.

mod columns;
mod design;
mod fit;
mod pool;

use pyo3::prelude::*;

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    fit::register(module)?;
    design::register(module)?;
    pool::register(module)
}
