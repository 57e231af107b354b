//! Steels: what is known of them, the curves they have, what to avoid, and their hardness out of the quench.

mod catalogue;
mod curves;
mod hazard;
mod martensite;
mod names;
mod quenched;
mod table;

pub use catalogue::{Steel, steel, steels};
pub use curves::SteelCurve;
pub use hazard::{Hazard, hazards};
pub use martensite::{ANDREWS_LINEAR, CAPDEVILA, FORMULAS, STEVEN_HAYNES, StartFormula, martensite_start};
pub use quenched::{
    ASTM_A255, AsQuenchedHardness, HODGE_OREHOSKI, QuenchedTable, as_quenched_hardness, as_quenched_hardness_estimate,
};

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[&HODGE_OREHOSKI, &ASTM_A255, &ANDREWS_LINEAR, &STEVEN_HAYNES, &CAPDEVILA];
