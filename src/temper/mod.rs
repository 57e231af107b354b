//! Time against temperature: the tempering parameter, what is equivalent to what, and the state a history leaves.

mod activation;
mod advance;
mod constant;
mod equivalence;
mod estimates;
mod history;
mod parameter;

pub use activation::{FIXED_ACTIVATION, equivalent_time_activation};
pub use constant::{
    CONSTANT_FROM_CARBON, ConstantBelief, ConstantFromCarbon, ConstantFromSeconds, ConstantToSeconds, UNKNOWN_STEEL,
    constant_from_carbon, constant_from_carbon_estimate,
};
pub use equivalence::{
    EquivalentTemperature, EquivalentTime, IMPLIED_ACTIVATION, ImpliedActivationEnergy, MOLAR_GAS_CONSTANT,
    TEMPER_EQUIVALENCE, TWO_HOURS, TwoHourEquivalent, equivalent_temperature, equivalent_time,
    implied_activation_energy, two_hour_equivalent,
};
pub use estimates::{Measured, equivalent_temperature_estimate, equivalent_time_estimate, over_belief};
pub use history::{Contribution, History, TEMPER_HISTORY, combine};
pub use parameter::{TEMPER_PARAMETER, TemperParameter, temper_parameter};

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
