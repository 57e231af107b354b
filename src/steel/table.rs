//! The room's data files: a head in TOML behind `#:`, then rows.

use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::error::{Error, Result};

/// The files of this room.
pub(super) const FILES: &[(&str, &str)] = &[
    ("steels_composition_2026.csv", include_str!("../data/steels_composition_2026.csv")),
    ("temper_measured_1945_2010.csv", include_str!("../data/temper_measured_1945_2010.csv")),
    ("temper_printed_sheets_2026.csv", include_str!("../data/temper_printed_sheets_2026.csv")),
    ("hazards_tempering_2026.csv", include_str!("../data/hazards_tempering_2026.csv")),
    ("quenched_carbon_martensite.csv", include_str!("../data/quenched_carbon_martensite.csv")),
    ("toughness_printed_sheets_2026.csv", include_str!("../data/toughness_printed_sheets_2026.csv")),
    ("temper_colours_2026.csv", include_str!("../data/temper_colours_2026.csv")),
];

/// What stands above the rows; a key that is missing makes the file unreadable.
#[derive(Debug, Deserialize)]
#[allow(dead_code, reason = "keys that every file must have, read or not")]
pub(super) struct Head {
    pub id: String,
    pub source: String,
    pub at: String,
    pub transcribed_by: String,
    pub checked_by: String,
    pub units: String,
    pub doubts: Vec<String>,
    pub rows: usize,
    pub sum: f64,
}

/// Reads the rows of a file of this room.
pub(super) fn read<T: DeserializeOwned>(name: &str) -> Result<(Head, Vec<T>)> {
    let bad = |line: Option<usize>, why: String| Error::DataFile {
        file: name.to_owned(),
        line,
        column: None,
        why: why.into(),
        hint: "The file is part of the crate; please report this".into(),
    };
    let text = FILES.iter().find(|(file, _)| *file == name).map(|(_, text)| *text).unwrap_or_default();
    let head: String = text.lines().filter_map(|line| line.strip_prefix("#:")).flat_map(|line| [line, "\n"]).collect();
    let head: Head = toml::from_str(&head).map_err(|error| bad(None, error.to_string()))?;
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let rows: Vec<T> = reader
        .deserialize()
        .collect::<std::result::Result<_, _>>()
        .map_err(|error| bad(error.position().map(|at| at.line() as usize), error.to_string()))?;
    if rows.len() != head.rows {
        return Err(bad(None, format!("its head says {} rows, it has {}", head.rows, rows.len())));
    }
    Ok((head, rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Row count and proof-reading sum of every file, over the column its head names in `checked_by`.
    #[test]
    fn every_file_proof_reads() {
        for (name, text) in FILES {
            let (head, rows): (Head, Vec<std::collections::HashMap<String, String>>) = read(name).unwrap();
            assert!(!head.source.is_empty() && !head.units.is_empty() && !text.is_empty());
            let column = match *name {
                "steels_composition_2026.csv" => "c",
                "hazards_tempering_2026.csv" => "from_c",
                "toughness_printed_sheets_2026.csv" => "temper_c",
                "temper_colours_2026.csv" => "temperature_c",
                _ => "hrc",
            };
            let sum: f64 = rows.iter().filter_map(|row| row[column].parse::<f64>().ok()).sum();
            assert!((sum - head.sum).abs() < 1e-6, "{name}: {sum}");
        }
    }
}
