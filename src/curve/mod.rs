//! Curves of hardness after a temper: monotone interpolation, tables, roots, and the trait of all that give hardness.

mod interpolate;
mod model;
mod spread;
mod table;

pub use interpolate::MonotoneCubic;
pub use model::{AS_QUENCHED_CONDITIONING, HardnessAfterTemper, Root, Side, THROUGH_THE_PEAK};
pub use spread::{TemperSpread, Widened};
pub use table::{TemperingCurve, U_BATCH, U_PRINTED_CURVE};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[&AS_QUENCHED_CONDITIONING];
