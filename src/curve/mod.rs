//! Curves of hardness after a temper: monotone interpolation, tables, roots, and the trait of all that give hardness.

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[];
