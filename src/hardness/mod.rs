//! Hardness: scales, conversion by printed tables, indentations, readings, testers, decisions.
//!
//! Nothing chains: a value converted through a table carries its name, and a second conversion is refused.

mod blocks;
mod comparison;
mod conversion;
mod converted;
mod decision;
mod definition;
mod doubts;
mod how_many;
mod indent;
mod joined;
mod monte_carlo;
mod place;
mod readings;
mod scale;
mod spread;
mod table;
mod tester;

pub use blocks::{TESTER_BLOCKS, TesterBlocks};
pub use comparison::{Comparison, compare_results};
pub use conversion::{Bracketed, CONVERSION, CONVERSION_U_HRC, Conversion};
pub use decision::{DECISION, Decision, GuardBand, Tolerance, Verdict, decide};
pub use definition::{
    DEFINITIONS, brinell_hardness, indentation_depth_mm, indentation_width_mm, knoop_hardness, rockwell_hardness,
    vickers_diagonal_um, vickers_hardness,
};
pub use doubts::{Doubt, Weight};
pub use how_many::{mean_half_width, readings_needed};
pub use indent::{
    CURVATURE, CurvatureCorrection, LeastDistance, MINIMUM_THICKNESS, MinimumThickness, ThicknessChoice, ThicknessRule,
    curvature_correction, minimum_edge_distance_mm, minimum_spacing_mm, minimum_thickness_mm, thickness_rules,
};
pub use place::{Place, Spot};
pub use readings::{READINGS, Readings};
pub use scale::{SCALES, Scale, ScaleName, ScaleRecord};
pub use table::{Cell, Column, ConversionTable, conversion_table, conversion_tables};
pub(crate) use tester::spread_without_readings;
pub use tester::{TESTER, Tester, TesterLimits, tester_limits};

use crate::record::ModelRecord;

/// The records of this room.
pub static RECORDS: &[&ModelRecord] =
    &[&CONVERSION, &DEFINITIONS, &MINIMUM_THICKNESS, &CURVATURE, &READINGS, &TESTER, &TESTER_BLOCKS, &DECISION];
