//! Published limits of evenness, to stand beside what a survey found: never a verdict of a class.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use crate::error::Result;
use crate::oven::shipped;

/// A published limit beside the largest deviation that a survey found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PublishedLimit {
    /// Whose limit.
    pub source: String,
    /// Which of its classes, types or uses.
    pub item: String,
    /// The limit in °C, plus and minus about the set point.
    pub delta_c: f64,
    /// The same limit as its table in °F prints it; the two are rounded apart.
    pub delta_f: Option<f64>,
    /// The limit less the largest deviation found, in °C; negative where that lies outside.
    pub margin_delta_c: f64,
    /// "printed" or "from memory".
    pub origin: String,
    /// What has to be known.
    pub note: String,
}

#[derive(Deserialize)]
struct Row {
    source: String,
    item: String,
    delta_c: Option<f64>,
    delta_f: Option<f64>,
    percent: Option<f64>,
    most_c: Option<f64>,
    origin: String,
    note: String,
}

/// The limits that apply at a set point, beside the largest deviation from it.
pub(super) fn beside(largest_delta_c: f64, setpoint_c: f64, room_c: f64) -> Result<Vec<PublishedLimit>> {
    static ROWS: OnceLock<Result<Vec<Row>>> = OnceLock::new();
    let rows = ROWS
        .get_or_init(|| shipped::rows("evenness_limits_2022.csv", include_str!("../../data/evenness_limits_2022.csv")))
        .as_ref()
        .map_err(Clone::clone)?;
    Ok(rows
        .iter()
        .filter(|row| row.most_c.is_none_or(|most| setpoint_c <= most))
        .filter_map(|row| {
            let delta_c = row.delta_c.or_else(|| row.percent.map(|share| 0.01 * share * (setpoint_c - room_c)))?;
            let room = row.percent.map_or(String::new(), |_| format!(", with a room of {room_c} °C"));
            Some(PublishedLimit {
                source: row.source.clone(),
                item: row.item.clone(),
                delta_c,
                delta_f: row.delta_f,
                margin_delta_c: delta_c - largest_delta_c,
                origin: row.origin.clone(),
                note: format!("{}{room}", row.note),
            })
        })
        .collect())
}
