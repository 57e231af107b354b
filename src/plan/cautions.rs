//! Cautions: what hot ovens, brittle parts, fumes and mains ask for, and the temperature bands that steels dislike.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::steel::Hazard;

/// The sentence that stands before every other caution.
pub const FIRST_OF_ALL: &str = "Local codes and licensed practice come first; this is arithmetic about hardness and \
     no statement that a part, an oven or a way of working is safe";

/// One caution with its reason and where it comes from.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Caution {
    /// Number in the list shipped here.
    #[serde(rename = "n")]
    pub number: u32,
    /// What it is about: oven, wiring, hot steel, fumes …
    pub area: String,
    /// What to do.
    pub caution: String,
    /// Why.
    pub reason: String,
    /// Whose rule it is; empty where it is common practice.
    pub reference: String,
    /// "seen" in print, or from "memory".
    pub kind: String,
}

impl Caution {
    /// The caution with its reason and its source, as one sentence.
    #[must_use]
    pub fn text(&self) -> String {
        let reason = if self.reason.is_empty() { String::new() } else { format!(": {}", self.reason) };
        let source = match (self.reference.as_str(), self.kind.as_str()) {
            ("" | "memory", _) => "common practice, no source".to_owned(),
            (reference, "memory") if !reference.contains("memory") => format!("{reference}; from memory"),
            (reference, _) => reference.to_owned(),
        };
        format!("{}{reason} ({source})", self.caution)
    }
}

/// The cautions that every plan and sheet shows, by number: never unattended, mains, fire and fumes, hot steel that
/// looks cold, brittle parts, and that no file reader guards an oven.
const ALWAYS: [u32; 9] = [1, 7, 10, 8, 4, 39, 22, 23, 49];

/// Temper at once, and eyes shielded while the parts are as quenched.
const BRITTLE: [u32; 2] = [25, 26];

const CSV: &str = include_str!("../data/cautions_tempering_2026.csv");

/// Every caution shipped here, in the order of the file.
///
/// # Errors
/// [`Error::DataFile`] if the embedded file is damaged, which a test rules out.
pub fn all_cautions() -> Result<Vec<Caution>> {
    embedded_rows("cautions_tempering_2026.csv", CSV)
}

/// The rows of a file that is part of the crate.
pub(super) fn embedded_rows<T: DeserializeOwned>(file: &str, text: &str) -> Result<Vec<T>> {
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes())
        .deserialize()
        .collect::<std::result::Result<_, _>>()
        .map_err(|error| Error::DataFile {
            file: file.into(),
            line: error.position().map(|position| position.line() as usize),
            column: None,
            why: error.to_string().into(),
            hint: "The embedded data are damaged: build again from a clean copy".into(),
        })
}

/// The cautions for a temper of parts that come from the quench (`brittle`) or have been tempered before.
///
/// # Errors
/// As [`all_cautions`].
pub fn usual_cautions(brittle: bool) -> Result<Vec<String>> {
    let all = all_cautions()?;
    let chosen = |number: &u32| all.iter().find(|caution| caution.number == *number).map(Caution::text);
    let first = if brittle { BRITTLE.as_slice() } else { &[] };
    Ok(std::iter::once(FIRST_OF_ALL.to_owned()).chain(first.iter().chain(&ALWAYS).filter_map(chosen)).collect())
}

/// A temperature band or rule that a source prints for a family of steels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// What it is: tempered martensite embrittlement, minimum temper …
    pub hazard: String,
    /// For which steels.
    pub steel_family: String,
    /// Lower end in °C, where printed.
    pub from_c: Option<f64>,
    /// Upper end in °C, where printed.
    pub to_c: Option<f64>,
    /// The rule.
    pub rule: String,
    /// Whose rule.
    pub source: String,
}

impl Band {
    /// What the band says about a temper at this temperature, known to within `margin_delta_c`.
    #[must_use]
    pub fn says(&self, temperature_c: f64, margin_delta_c: f64) -> Option<String> {
        const WARNS: [&str; 6] = [
            "embrittlement",
            "stainless",
            "brittleness",
            "minimum temper",
            "maximum temper",
            "retained austenite decomposition",
        ];
        // A single temperature is the deepest point of a trough, not its edge.
        const TROUGH_DELTA_C: f64 = 25.0;
        let hazard = self.hazard.as_str();
        let (low, high) = match (self.from_c, self.to_c) {
            (from, to) if hazard.contains("minimum temper") || hazard.contains("too low") => {
                (f64::NEG_INFINITY, from.or(to)?)
            }
            (from, to) if hazard.contains("maximum temper") => (to.or(from)?, f64::INFINITY),
            (Some(from), Some(to)) if from == to => (from - TROUGH_DELTA_C, to + TROUGH_DELTA_C),
            (from, to) => (from?, to.unwrap_or(f64::INFINITY)),
        };
        let warns = WARNS.iter().any(|word| hazard.contains(word));
        if !warns || temperature_c + margin_delta_c < low || temperature_c - margin_delta_c > high {
            return None;
        }
        let inside = low <= temperature_c && temperature_c <= high;
        let near = if inside { String::new() } else { format!("within {margin_delta_c:.0} °C of ") };
        let band = match (low.is_finite(), high.is_finite()) {
            (true, true) => format!("{low:.0} to {high:.0} °C"),
            (true, false) => format!("the range above {low:.0} °C"),
            _ => format!("the range below {high:.0} °C"),
        };
        Some(format!(
            "{}: {temperature_c:.0} °C lies {}{near}{band} for {}: {} ({})",
            self.hazard,
            if inside { "in " } else { "" },
            self.steel_family,
            self.rule,
            self.source
        ))
    }
}

impl Band {
    /// The rule as a caution for the work, where it is one about how often and how soon to temper.
    #[must_use]
    pub fn practice(&self) -> Option<String> {
        let about = ["number of tempers", "timing", "hold time"].contains(&self.hazard.as_str());
        about.then(|| format!("{}, {}: {} ({})", self.hazard, self.steel_family, self.rule, self.source))
    }
}

impl From<&Hazard> for Band {
    fn from(hazard: &Hazard) -> Self {
        let from_memory = if hazard.how == "memory" { ", from memory" } else { "" };
        Self {
            hazard: hazard.hazard.clone(),
            steel_family: hazard.steel_family.clone(),
            from_c: hazard.from_c,
            to_c: hazard.to_c,
            rule: hazard.rule.clone(),
            source: format!("{}{from_memory}", hazard.source),
        }
    }
}

/// The bands of the general rule, for a curve that belongs to no known steel. Limits differ between sources; each is
/// shown as printed.
#[must_use]
pub fn general_bands() -> Vec<Band> {
    let band = |hazard: &str, family: &str, from: f64, to: Option<f64>, rule: &str, source: &str| Band {
        hazard: hazard.to_owned(),
        steel_family: family.to_owned(),
        from_c: Some(from),
        to_c: to,
        rule: rule.to_owned(),
        source: source.to_owned(),
    };
    vec![
        band(
            "tempered martensite embrittlement",
            "plain carbon and low-alloy steels (general rule)",
            230.0,
            Some(370.0),
            "avoid where toughness matters; some sources print 200 or 260 °C for the lower end",
            "textbooks, from memory",
        ),
        band(
            "temper embrittlement (reversible)",
            "alloy steels with P, Sn, Sb, As (general rule)",
            375.0,
            Some(575.0),
            "do not hold in or cool slowly through",
            "trade association article, 700 to 1070 °F",
        ),
        band(
            "minimum temper",
            "any hardened steel",
            150.0,
            None,
            "never use a part untempered",
            "common practice, no source",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The proof-reading lines in the head of the file: rows and the sum of their numbers.
    #[test]
    fn the_file_is_whole() {
        let head: String =
            CSV.lines().filter_map(|line| line.strip_prefix("#:")).map(|line| format!("{line}\n")).collect();
        let head: toml::Table = toml::from_str(&head).unwrap();
        for key in ["id", "source", "at", "transcribed_by", "checked_by", "units", "doubts"] {
            assert!(head.contains_key(key), "{key}");
        }
        let all = all_cautions().unwrap();
        assert_eq!(all.len() as i64, head["rows"].as_integer().unwrap());
        assert_eq!(all.iter().map(|c| i64::from(c.number)).sum::<i64>(), head["sum_n"].as_integer().unwrap());
        assert!(all.iter().all(|c| !c.caution.is_empty() && ["seen", "memory"].contains(&c.kind.as_str())));
    }

    #[test]
    fn every_named_caution_exists() {
        assert_eq!(usual_cautions(true).unwrap().len(), 1 + BRITTLE.len() + ALWAYS.len());
    }

    #[test]
    fn bands_speak_only_inside() {
        let bands = general_bands();
        assert!(bands[0].says(215.0, 7.5).is_none() && bands[0].says(226.0, 7.5).is_some());
        assert!(bands[2].says(140.0, 5.0).is_some() && bands[2].says(160.0, 5.0).is_none());
    }
}
