//! Hardness after a temper from composition, with what one's own readings make of it.
//!
//! The weights were fitted elsewhere and are data. For one composition they collapse to a normal distribution over a few
//! functions of temperature and time; readings condition it exactly, and every answer is two dot products.

mod agreement;
mod array;
mod basis;
mod coefficients;
mod composition;
mod curve;
mod estimate;
mod given;
mod hump;
mod neighbours;
mod posterior;
mod range;
mod readings;
mod record;
mod said;
mod steel;
mod stored;
mod table;
#[cfg(test)]
mod tests;
mod weights;

pub use array::{HardnessFromComposition, UncertaintyFromComposition};
pub use coefficients::Interval;
pub use composition::Amounts;
pub use estimate::hardness_from_composition_estimate;
pub use readings::OwnReading;
pub use record::TEMPERED;
pub use steel::{CompositionSteel, Prediction};
