//! The oven and its record: reading logs, repairing them in the open, what the steel got, how the oven behaves.

mod assemble;
mod began;
mod behaviour;
mod cell;
mod clean;
mod clock;
mod columns;
mod conduction;
mod contributions;
mod controller;
mod corrections;
mod course;
mod dialect;
mod doors;
mod elapsed;
mod extent;
mod faults;
mod feed;
mod fit;
mod follow;
mod formula;
mod hold;
mod identify;
mod join;
mod lag;
mod loading;
mod log;
mod long;
mod margins;
mod material;
mod online;
mod order;
mod pieces;
mod quick;
mod radiation;
mod received;
mod repair;
mod response;
mod role;
mod row;
mod run;
mod sample;
mod section;
mod shipped;
mod soak;
mod spike;
mod spread;
mod stream;
mod surroundings;
mod survey;
mod switched;
mod table;
mod text;
mod thermocouple;
mod units;
mod within;
mod zone;

pub use began::Began;
pub use behaviour::{Behaviour, DESIGN_DUTY_PERCENT};
pub use cell::TemperatureUnit;
pub use controller::{
    CAUTIONS as CONTROLLER_CAUTIONS, CONTROLLER_SETTINGS, ControllerSettings, Pid, Rule, controller_settings,
    ultimate_point,
};
pub use corrections::{read_corrections, read_named_corrections};
pub use doors::DoorEvent;
pub use faults::Fault;
pub use formula::Formula;
pub use hold::Hold;
pub use identify::{OVEN_MODEL, OvenModel, identify_oven, two_point};
pub use join::{JoinOptions, join_logs};
pub use lag::{
    BIOT_NUMBER, DIP, DIP_OVER, LOST_HOLD, LOST_HOLD_OVER, SWING_AMPLITUDE, SWING_OVER, TIME_CONSTANT, biot_number,
    biot_number_over, dip_delta_c, lost_hold_min, swing_amplitude_delta_c, time_constant_over, time_constant_s,
};
pub use loading::Loading;
pub use log::{
    Channel, Correction, OvenLog, ReadOptions, Values, read_log, read_log_bytes, read_log_columns, read_log_telling,
};
pub use margins::{LoopMargins, half_rule, loop_margins, overshoot_percent, ultimate_point_of_lags};
pub use material::{
    CONDUCTIVITY, CONDUCTIVITY_OVER, HeatCapacity, SPECIFIC_HEAT, SPECIFIC_HEAT_OVER, conductivity_w_mk,
    specific_heat_j_kgk,
};
pub use online::{Watch, WatchOptions};
pub use radiation::{
    RADIANT_PART, RADIANT_PART_OVER, RADIATION_COEFFICIENT, RADIATION_COEFFICIENT_OVER, RADIATION_OFFSET,
    RADIATION_OVER, radiant_part_c, radiation_coefficient_w_m2k, radiation_offset_delta_c,
};
pub use received::{Gaps, Received};
pub use repair::{Gap, Repair};
pub use response::{LagBand, Response, Section, Trace};
pub use role::{Role, TimeUnit};
pub use run::{
    AntiWindup, OnOffSwing, Plant, Run, RunMetrics, StepMetrics, heat_up_s, on_off_swing, run, run_load, run_on_off,
    step_metrics,
};
pub use section::{Mode, Part, Place, SECTION, modes, section_lags, section_temperature_c};
pub use soak::{Soak, SoakOptions};
pub use stream::{Streamed, read_history};
pub use surroundings::Surroundings;
pub use survey::{
    Extreme, OvenNeeded, PublishedLimit, Survey, SurveyColumn, SurveyOptions, SurveyPlace, survey, survey_columns,
};
pub use thermocouple::{
    Construction, EmfOver, PT100, PT100_TOLERANCE, Pt100Class, PublishedInverse, RESISTANCE_OVER,
    RESISTANCE_TEMPERATURE_OVER, ReferenceFunction, SENSOR_CORRECTION, SeebeckOver, SensorCalibration,
    SensorExplanation, THERMOCOUPLES, TOLERANCE, TemperatureOver, Thermocouple, ToleranceClass, ToleranceStandard,
    WRONG_TYPE, WrongTypeOver, explain_sensor, pt100_resistance_ohm, pt100_temperature, wrong_type_temperature,
};
pub use within::{TIME_TO_WITHIN, Through, is_through, time_to_within_over, time_to_within_s};
pub use zone::{UtcOffset, Zone};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[
    &TIME_CONSTANT,
    &BIOT_NUMBER,
    &TIME_TO_WITHIN,
    &SECTION,
    &SPECIFIC_HEAT,
    &CONDUCTIVITY,
    &LOST_HOLD,
    &SWING_AMPLITUDE,
    &DIP,
    &RADIATION_OFFSET,
    THERMOCOUPLES[0],
    THERMOCOUPLES[1],
    THERMOCOUPLES[2],
    THERMOCOUPLES[3],
    THERMOCOUPLES[4],
    &TOLERANCE,
    &PT100,
    &PT100_TOLERANCE,
    &SENSOR_CORRECTION,
    &WRONG_TYPE,
    &RADIATION_COEFFICIENT,
    &RADIANT_PART,
    &OVEN_MODEL,
    &CONTROLLER_SETTINGS,
];
