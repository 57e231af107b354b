//! A table of the steel's grade, as the composition model takes it in.

use serde::{Deserialize, Serialize};

use crate::curve::{HardnessAfterTemper, TemperingCurve};
use crate::quantity::HoldTime;

/// A table of the grade as the model takes it in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Table {
    pub name: String,
    pub points: Vec<(f64, f64)>,
    pub time: HoldTime,
    pub hold_is_stated: bool,
    pub u_level: f64,
    pub u_batch: f64,
    pub sources: Vec<String>,
}

impl Table {
    pub fn of(curve: &TemperingCurve) -> Self {
        Self {
            name: curve.name().to_owned(),
            points: curve.points().collect(),
            time: curve.reference_hold(),
            hold_is_stated: curve.hold_is_stated(),
            u_level: curve.u_level(),
            u_batch: curve.u_batch(),
            sources: curve.sources().to_vec(),
        }
    }
}
