//! Whether an oven or a tester drifts from check to check: charts with their run lengths, a slope with its range.

mod capability;
mod chart;
mod line;
mod monitor;
mod run_length;

pub use capability::process_capability;
pub use chart::{Ewma, Individuals};
pub use line::{Line, MONTH_DAYS};
pub use monitor::{Crossing, MONITOR, Monitor, Request, State, monitor};
pub use run_length::{ewma_run_length, individuals_run_length};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[&MONITOR];
