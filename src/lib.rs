//! Tempering metallurgy: plan a temper, work out what the steel got, judge the hardness, learn from coupons.
//!
//! The order below is the order of the job: quantities and errors, what models say of themselves, estimates;
//! then time against temperature, curves, hardness, steels, the oven, the plan.

pub mod curve;
pub mod drift;
pub mod error;
pub mod estimate;
pub mod hardness;
pub mod kernel;
pub mod oven;
pub mod plan;
pub mod quantity;
pub mod record;
pub mod steel;
pub mod temper;

pub use error::{Error, Result};
pub use estimate::Estimate;
pub use quantity::{HoldTime, Length, SteelConstant, Temperature, TemperatureDifference};
