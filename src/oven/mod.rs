//! The oven and its record: reading logs, repairing them in the open, and what the steel got.

mod assemble;
mod cell;
mod clean;
mod clock;
mod columns;
mod corrections;
mod dialect;
mod elapsed;
mod feed;
mod lag;
mod loading;
mod log;
mod long;
mod order;
mod quick;
mod received;
mod repair;
mod role;
mod row;
mod soak;
mod table;
mod text;
mod units;
mod zone;

pub use cell::TemperatureUnit;
pub use corrections::read_corrections;
pub use lag::{
    BIOT_NUMBER, DIP, DIP_OVER, Formula, HeatCapacity, LOST_HOLD, LOST_HOLD_OVER, RADIATION_OFFSET, RADIATION_OVER,
    SWING_AMPLITUDE, SWING_OVER, Surroundings, TIME_CONSTANT, TIME_TO_WITHIN, biot_number, biot_number_over,
    dip_delta_c, lost_hold_min, radiation_offset_delta_c, swing_amplitude_delta_c, time_constant_over, time_constant_s,
    time_to_within_over, time_to_within_s,
};
pub use loading::Loading;
pub use log::{
    Channel, Correction, OvenLog, ReadOptions, Values, read_log, read_log_bytes, read_log_columns, read_log_telling,
};
pub use received::{Gaps, LagBand, Received, Trace};
pub use repair::{Gap, Repair};
pub use role::{Role, TimeUnit};
pub use soak::{Part, Soak};
pub use zone::{UtcOffset, Zone};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] =
    &[&TIME_CONSTANT, &BIOT_NUMBER, &TIME_TO_WITHIN, &LOST_HOLD, &SWING_AMPLITUDE, &DIP, &RADIATION_OFFSET];
