//! Schedules for a wanted hardness, what changes them, the next step for a part that came out hard, cautions.

mod advice;
mod causes;
mod cautions;
mod earlier;
mod equivalents;
mod explain;
mod forward;
mod load;
mod needed;
mod part;
mod request;
mod retemper;
mod schedule;
mod sensitivity;
mod spread;
mod window;
mod work;

pub use advice::{Advice, advice, advice_topics};
pub use cautions::{Band, Caution, FIRST_OF_ALL, all_cautions, general_bands, usual_cautions};
pub use earlier::Earlier;
pub use equivalents::{Equivalent, REACH_H, equivalents, temperature_for, time_at};
pub use explain::{CAUSES, Cause, ExplainRequest, Explanation, Fit, explain};
pub use load::{CommonWindow, LoadPart, common_window};
pub use request::Request;
pub use retemper::{RetemperRequest, retemper};
pub use schedule::{Plan, Schedule, plan};
pub use sensitivity::Sensitivity;
pub use spread::{PLAN_SPREAD, Unknowns};
pub use window::Window;

use crate::record::ModelRecord;

/// The records of this room.
pub const RECORDS: &[&ModelRecord] = &[&PLAN_SPREAD, &CAUSES];
