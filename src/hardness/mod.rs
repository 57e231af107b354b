//! Hardness as it is measured: scales, conversion tables, where a reading may be taken, readings, testers, decisions.

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[];
