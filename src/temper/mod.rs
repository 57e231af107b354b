//! Time against temperature: the tempering parameter, what is equivalent to what, and the state a history leaves.

mod parameter;

pub use parameter::{TEMPER_PARAMETER, TemperParameter, temper_parameter};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[&TEMPER_PARAMETER];
