//! Schedules for a wanted hardness, what changes them, the next step for a part that came out hard, cautions.

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[];
