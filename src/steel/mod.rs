//! What is known of steels: catalogue, names, compositions, as-quenched hardness, hazards.

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[];
