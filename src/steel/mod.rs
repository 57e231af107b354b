//! Steels: what is known of them, the curves they have, what to avoid, and their hardness out of the quench.

mod catalogue;
mod colour;
mod curves;
mod family;
mod hazard;
mod judge;
mod martensite;
mod names;
mod quenched;
mod spread;
mod table;
mod tempered;
mod toughness;

pub use crate::curve::Hardening;
pub use catalogue::{Steel, steel, steels};
pub use colour::{COLOURS_DEPEND_ON, TemperColour, temper_colours};
pub use curves::SteelCurve;
pub use family::{families, hazards_of_composition};
pub use hazard::{Hazard, hazards};
pub use judge::{HardeningJudgement, JUDGE_HARDENING, expected_from_carbon, judge_hardening};
pub use martensite::{ANDREWS_LINEAR, CAPDEVILA, FORMULAS, STEVEN_HAYNES, StartFormula, martensite_start};
pub use quenched::{
    ASTM_A255, AsQuenchedHardness, HODGE_OREHOSKI, QuenchedTable, as_quenched_hardness, as_quenched_hardness_estimate,
};
pub use toughness::{ToughnessSeries, toughness};

pub use tempered::{
    Amounts, CompositionSteel, HardnessFromComposition, Interval, OwnReading, Prediction, TEMPERED,
    UncertaintyFromComposition, hardness_from_composition_estimate,
};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] =
    &[&HODGE_OREHOSKI, &ASTM_A255, &ANDREWS_LINEAR, &STEVEN_HAYNES, &CAPDEVILA, &TEMPERED, &JUDGE_HARDENING];
