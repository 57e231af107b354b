//! Hardness: scales, conversion by printed tables, indentations, readings, testers, decisions.
//!
//! Nothing chains: a value converted through a table carries its name, and a second conversion is refused.

mod conversion;
mod decision;
mod definition;
mod indent;
mod joined;
mod monte_carlo;
mod readings;
mod scale;
mod table;
mod tester;

pub use conversion::{Bracketed, CONVERSION, CONVERSION_U_HRC, Conversion};
pub use decision::{Comparison, DECISION, Decision, GuardBand, Tolerance, Verdict, compare_results, decide};
pub use definition::{
    DEFINITIONS, brinell_hardness, indentation_depth_mm, indentation_width_mm, knoop_hardness, rockwell_hardness,
    vickers_diagonal_um, vickers_hardness,
};
pub use indent::{
    CURVATURE, CurvatureCorrection, LeastDistance, MINIMUM_THICKNESS, MinimumThickness, ThicknessChoice, ThicknessRule,
    curvature_correction, minimum_edge_distance_mm, minimum_spacing_mm, minimum_thickness_mm, thickness_rules,
};
pub use readings::{Doubt, Place, READINGS, Readings, Spot, Weight, mean_half_width, readings_needed};
pub use scale::{SCALES, Scale, ScaleName, ScaleRecord};
pub use table::{Cell, Column, ConversionTable, conversion_table, conversion_tables};
pub use tester::{TESTER, Tester, TesterLimits, tester_limits};

use crate::record::ModelRecord;

/// The records of this room.
pub static RECORDS: &[&ModelRecord] =
    &[&CONVERSION, &DEFINITIONS, &MINIMUM_THICKNESS, &CURVATURE, &READINGS, &TESTER, &DECISION];
