//! The oven and its record: reading logs, repairing them in the open, and what the steel got.

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[];
