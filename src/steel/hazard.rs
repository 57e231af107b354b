//! What is printed about tempers to avoid, each source beside the others.

use serde::{Deserialize, Serialize};

use super::table::read;
use crate::error::Result;

/// One printed caution about a family of steels: a band of temperatures, or a rule of timing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hazard {
    /// What it is about.
    pub hazard: String,
    /// The steels it was printed for, in the source's words.
    pub steel_family: String,
    /// Lower edge, °C.
    pub from_c: Option<f64>,
    /// Upper edge, °C.
    pub to_c: Option<f64>,
    /// The rule.
    pub rule: String,
    /// Who says so.
    pub source: String,
    /// "seen" in print, or "memory".
    pub how: String,
    /// Remarks.
    pub note: String,
    applies: String,
}

impl Hazard {
    /// Whether it was printed for this steel or its group.
    #[must_use]
    pub(super) fn is_for(&self, steel: &str, group: &str) -> bool {
        self.applies.split(';').any(|key| match key.split_once(':') {
            Some(("steel", name)) => name == steel,
            Some(("group", name)) => name == group,
            _ => key == "all",
        })
    }

    /// Whether a temper at this temperature lies where the hazard is: in its band, below a minimum, above a maximum.
    #[must_use]
    pub fn touches(&self, celsius: f64) -> bool {
        let kind = self.hazard.as_str();
        let (from, to) = (self.from_c, self.to_c);
        if kind == "minimum temper" || kind == "stainless: too low" {
            return from.or(to).is_some_and(|least| celsius < least);
        }
        let is_band =
            ["embrittlement", "stainless", "brittleness", "maximum temper", "retained austenite decomposition"]
                .iter()
                .any(|word| kind.contains(word));
        match (from, to) {
            // A single temperature is the deepest point of a trough, not its edge: 25 °C each way.
            (Some(from), Some(to)) if is_band && from == to => (celsius - from).abs() <= 25.0,
            (Some(from), Some(to)) => is_band && from <= celsius && celsius <= to,
            (Some(from), None) => is_band && celsius > from,
            (None, Some(to)) => kind.starts_with("maximum") && celsius > to,
            (None, None) => false,
        }
    }

    /// Whose it is, and whether that was seen in print.
    #[must_use]
    pub fn cited(&self) -> String {
        let how = if self.how == "memory" { ", from memory" } else { "" };
        format!("{}{how}", self.source)
    }

    /// The hazard as a sentence with its source.
    #[must_use]
    pub fn text(&self) -> String {
        let band = match (self.from_c, self.to_c) {
            (Some(from), Some(to)) if from == to => format!(" near {from} °C"),
            (Some(from), Some(to)) => format!(" {from} to {to} °C"),
            (Some(from), None) => format!(" from {from} °C"),
            (None, Some(to)) => format!(" up to {to} °C"),
            (None, None) => String::new(),
        };
        format!("{} ({}){band}: {} [{}]", self.hazard, self.steel_family, self.rule, self.cited())
    }
}

/// Every printed caution, in the order of the file.
///
/// # Errors
/// [`Error::DataFile`](crate::Error::DataFile) if the embedded file is damaged, which a test rules out.
pub fn hazards() -> Result<Vec<Hazard>> {
    read("hazards_tempering_2026.csv").map(|(_, rows)| rows)
}
