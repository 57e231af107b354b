//! The Python module `afterquench._native`: thin bindings, one file for each room of the core.

// A Python signature has as many arguments as its callers have things to name.
#![allow(clippy::too_many_arguments)]

mod advice;
mod arguments;
mod coupons;
mod curve;
mod drift;
mod errors;
mod estimate;
mod given;
mod hardness;
mod history;
mod inner_loop;
mod oven;
mod pickle;
mod plan;
mod record;
mod statistics;
mod steel;
mod temper;
mod ufunc;

use pyo3::prelude::*;

#[pymodule]
fn _native(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    ufunc::register(module)?;
    estimate::register(module)?;
    statistics::register(module)?;
    temper::register(module)?;
    history::register(module)?;
    curve::register(module)?;
    coupons::register(module)?;
    steel::register(module)?;
    hardness::register(module)?;
    oven::register(module)?;
    plan::register(module)?;
    drift::register(module)?;
    advice::register(module)?;
    record::register(module)?;
    Ok(())
}
