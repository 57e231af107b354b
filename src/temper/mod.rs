//! Time against temperature: the tempering parameter, what is equivalent to what, and the state a history leaves.

mod activation;
mod advance;
mod constant;
mod equivalence;
mod estimates;
mod history;
mod models;
mod parameter;
mod trace;

pub use activation::{FIXED_ACTIVATION, equivalent_time_activation, mean_kinetic_temperature};
pub use constant::{
    CONSTANT_FROM_CARBON, ConstantBelief, ConstantFromCarbon, ConstantFromSeconds, ConstantToSeconds, UNKNOWN_STEEL,
    constant_from_carbon, constant_from_carbon_estimate,
};
pub use equivalence::{
    IMPLIED_ACTIVATION, MOLAR_GAS_CONSTANT, TEMPER_EQUIVALENCE, TWO_HOURS, equivalent_temperature, equivalent_time,
    implied_activation_energy, two_hour_equivalent,
};
pub use estimates::{Measured, equivalent_temperature_estimate, equivalent_time_estimate, over_belief};
pub use history::{Contribution, History, TEMPER_HISTORY, by_label, combine};
pub use models::{EquivalentTemperature, EquivalentTime, ImpliedActivationEnergy, TemperParameter, TwoHourEquivalent};
pub use parameter::{TEMPER_PARAMETER, temper_parameter};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[
    &TEMPER_PARAMETER,
    &TEMPER_EQUIVALENCE,
    &CONSTANT_FROM_CARBON,
    &TEMPER_HISTORY,
    &IMPLIED_ACTIVATION,
    &FIXED_ACTIVATION,
];
