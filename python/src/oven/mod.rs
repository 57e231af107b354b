//! Bindings of the `oven` room.

mod behaviour;
mod control;
mod faults;
mod heat;
mod join;
mod lag;
mod log;
mod margins;
mod online;
mod read;
mod repair;
mod soak;
mod source;
mod survey;
mod thermocouple;
mod within;
mod zone;

use pyo3::prelude::*;

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    log::register(module)?;
    repair::register(module)?;
    read::register(module)?;
    soak::register(module)?;
    lag::register(module)?;
    survey::register(module)?;
    thermocouple::register(module)?;
    faults::register(module)?;
    join::register(module)?;
    margins::register(module)?;
    within::register(module)?;
    heat::register(module)?;
    behaviour::register(module)?;
    online::register(module)?;
    control::register(module)
}
