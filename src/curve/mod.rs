//! Curves of hardness after a temper: monotone interpolation, tables, roots, and the trait of all that give hardness.

mod after_temper;
mod array;
mod as_quenched;
mod estimate;
pub mod fit;
mod interpolate;
mod master;
mod tempering;

pub use after_temper::{BELOW_THE_SCALE, HardnessAfterTemper, Root, SCALE_FROM_HRC, Side};
pub use array::{Extra, HardnessAfter, Slope, TemperatureFor};
pub use as_quenched::{AS_QUENCHED_CONDITIONING, AsQuenched, AsQuenchedReading, Conditioning, Hardening};
pub use estimate::{EstimateOptions, HARDNESS_ESTIMATE, HoldSpread, hardness_after_estimate};
pub use interpolate::{Crossing, MonotoneCubic};
pub use master::{MASTER_CURVE, MasterFit, MeasuredTemper, fit_master};
pub use tempering::{TEMPERING_CURVE, THROUGH_THE_HUMP, TemperingCurve};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[
    &TEMPERING_CURVE,
    &HARDNESS_ESTIMATE,
    &AS_QUENCHED_CONDITIONING,
    &MASTER_CURVE,
    &fit::COUPON_FIT,
    &fit::BATCH_POOL,
];
