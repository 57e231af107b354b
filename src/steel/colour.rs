//! Temper colours as lists print them, each list beside the others.

use serde::Deserialize;

use super::table::read;
use crate::error::Result;

/// What stands beside every list of temper colours.
pub const COLOURS_DEPEND_ON: &str = "A temper colour is the thickness of an oxide film: it depends on time as well as temperature \
     (hours at 204 °C pass straw), on alloy, finish, oil and atmosphere, and how it looks on the light. Lists disagree by up to \
     40 °C; not for stainless or high-speed steel, and never the only control";

/// One colour of one list.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct TemperColour {
    /// As the list names it.
    pub colour: String,
    /// °C.
    pub temperature_c: f64,
    /// For how long, in the list's words.
    pub hold: String,
    /// Whose list.
    pub source: String,
    /// "seen" in print, or "memory".
    pub how: String,
    /// Remarks.
    pub note: String,
}

/// Every colour of every list, in the order of the file.
///
/// # Errors
/// [`Error::DataFile`](crate::Error::DataFile) if the embedded file is damaged, which a test rules out.
///
/// ```
/// let brown: Vec<f64> = afterquench::steel::temper_colours()
///     .unwrap()
///     .iter()
///     .filter(|row| row.colour == "brown")
///     .map(|row| row.temperature_c)
///     .collect();
/// assert_eq!(brown, [260.0, 260.0, 250.0, 240.0]);
/// ```
pub fn temper_colours() -> Result<Vec<TemperColour>> {
    read("temper_colours_2026.csv").map(|(_, rows)| rows)
}
