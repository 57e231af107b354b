//! Conversion tables as printed: rows, blanks, brackets, and which digits are from memory.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::scale::{Scale, ScaleName, edits};
use crate::error::{Error, Result};

/// One printed table.
#[derive(Debug, Clone, PartialEq)]
pub struct ConversionTable {
    /// Its name here, as in `table="astm-e140-1"`.
    pub id: String,
    /// What it is for.
    pub title: String,
    /// The standard with its edition.
    pub source: String,
    /// Which table of it.
    pub at: String,
    /// How the digits were checked.
    pub checked_by: String,
    /// Which material it holds for.
    pub scope: String,
    /// Doubts about single digits.
    pub doubts: Vec<String>,
    columns: Vec<Column>,
}

/// One column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its scale.
    pub scale: Scale,
    /// One cell a row.
    pub cells: Vec<Cell>,
}

/// One cell as printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// The value; `None` for a blank, which is never filled.
    pub value: Option<f64>,
    /// Printed in brackets: outside the range of its scale.
    pub bracketed: bool,
    /// Known from memory, not read in print.
    pub from_memory: bool,
}

#[derive(Deserialize)]
struct Head {
    id: String,
    title: String,
    source: String,
    at: String,
    transcribed_by: String,
    checked_by: String,
    units: String,
    scope: String,
    doubts: Vec<String>,
    sum: f64,
    memory: BTreeMap<String, Vec<(f64, f64)>>,
}

/// A data file: its head, the names of its columns, and its rows as text.
pub(super) struct DataFile<'a> {
    head: Head,
    /// Column names.
    pub names: Vec<&'a str>,
    /// Rows of cells.
    pub rows: Vec<Vec<&'a str>>,
}

/// Splits a data file into its head and rows, and proof-reads the sum of its numbers.
pub(super) fn read<'a>(file: &str, text: &'a str) -> Result<DataFile<'a>> {
    let head: String = text.lines().filter_map(|line| line.strip_prefix("#:")).collect::<Vec<_>>().join("\n");
    let wrong = |why: String| Error::DataFile {
        file: file.to_owned(),
        line: None,
        column: None,
        why: why.into(),
        hint: "The file is part of the crate; please report this".into(),
    };
    let head: Head = toml::from_str(&head).map_err(|error| wrong(error.to_string()))?;
    if head.transcribed_by.is_empty() || head.units.is_empty() || head.source.is_empty() || head.at.is_empty() {
        return Err(wrong("the head names no source, transcriber or units".to_owned()));
    }
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    if let Some(row) = rows.iter().find(|row| row.len() != names.len()) {
        return Err(wrong(format!("row {row:?} has not {} cells", names.len())));
    }
    let sum: f64 = rows.iter().flatten().filter_map(|cell| bare(cell).parse::<f64>().ok()).sum();
    if (sum - head.sum).abs() > 0.005 {
        return Err(wrong(format!("its numbers sum to {sum}, its head says {}", head.sum)));
    }
    Ok(DataFile { head, names, rows })
}

/// A cell's text without the brackets it is printed in.
fn bare(cell: &str) -> &str {
    cell.trim_start_matches('[').trim_end_matches(']')
}

impl ConversionTable {
    fn parse(file: &str, text: &str) -> Result<Self> {
        let data = read(file, text)?;
        let number = |cell: &str| bare(cell).parse::<f64>().ok();
        let keys: Vec<f64> =
            data.rows.iter().map(|row| row.first().and_then(|cell| number(cell)).unwrap_or(f64::NAN)).collect();
        let columns = data
            .names
            .iter()
            .enumerate()
            .map(|(index, name)| {
                let memory = data.head.memory.get(*name).map_or(&[][..], Vec::as_slice);
                let cells = data
                    .rows
                    .iter()
                    .zip(&keys)
                    .map(|(row, key)| {
                        let text = row.get(index).copied().unwrap_or_default();
                        Cell {
                            value: number(text),
                            bracketed: text.starts_with('['),
                            from_memory: memory.iter().any(|(low, high)| low <= key && key <= high),
                        }
                    })
                    .collect();
                Ok(Column { scale: ScaleName::parse(name)?.scale, cells })
            })
            .collect::<Result<_>>()?;
        let Head { id, title, source, at, checked_by, scope, doubts, .. } = data.head;
        Ok(Self { id, title, source, at, checked_by, scope, doubts, columns })
    }

    /// Its columns, in print order; the first is the one the rows go by.
    #[must_use]
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// The scales it prints.
    #[must_use]
    pub fn scales(&self) -> Vec<Scale> {
        self.columns.iter().map(|column| column.scale).collect()
    }

    /// The column of a scale. Where a table prints one Brinell column, below 450 the ball makes no difference.
    #[must_use]
    pub fn column(&self, scale: Scale) -> Option<&Column> {
        let of = |scale| self.columns.iter().find(|column| column.scale == scale);
        match scale {
            Scale::Hbw => of(Scale::Hbw).or_else(|| of(Scale::Hb)),
            other => of(other),
        }
    }

    /// The name of the source with its table.
    #[must_use]
    pub fn cited(&self) -> String {
        format!("{}, {}", self.source, self.at)
    }
}

macro_rules! files {
    ($($name:literal),*) => { [$(($name, include_str!(concat!("../data/", $name)))),*] };
}

fn all() -> &'static std::result::Result<Vec<ConversionTable>, Error> {
    static TABLES: OnceLock<std::result::Result<Vec<ConversionTable>, Error>> = OnceLock::new();
    TABLES.get_or_init(|| {
        files![
            "hardness_astm_e140_1.csv",
            "hardness_astm_e140_2.csv",
            "hardness_iso_18265_a1.csv",
            "hardness_sae_j417.csv",
            "hardness_sae_j417_hv.csv",
            "hardness_astm_a370_2.csv",
            "hardness_astm_a370_3.csv",
            "hardness_sae_brinell.csv"
        ]
        .iter()
        .map(|(file, text)| ConversionTable::parse(file, text))
        .collect()
    })
}

/// Every conversion table.
#[must_use]
pub fn conversion_tables() -> &'static [ConversionTable] {
    all().as_deref().unwrap_or_default()
}

/// A conversion table by its name.
///
/// # Errors
/// [`Error::UnknownName`] with the names that look like it.
pub fn conversion_table(id: &str) -> Result<&'static ConversionTable> {
    let tables = all().as_ref().map_err(Clone::clone)?;
    let key = id.trim().to_ascii_lowercase();
    tables.iter().find(|table| table.id == key).ok_or_else(|| {
        let mut near: Vec<_> = tables.iter().map(|table| (edits(&key, &table.id), table.id.clone())).collect();
        near.sort();
        Error::UnknownName {
            kind: "conversion table".into(),
            name: id.to_owned(),
            close: near.into_iter().filter(|(distance, _)| *distance <= 6).take(3).map(|(_, id)| id).collect(),
            hint: "conversion_tables() lists them".into(),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every file reads, sums up, and each column goes one way with the key (ties only in the integer scleroscope).
    #[test]
    fn files_read_and_are_monotone() {
        let tables = all().as_ref().expect("a data file does not read");
        assert_eq!(tables.len(), 8);
        for table in tables {
            for column in table.columns() {
                let values: Vec<f64> = column.cells.iter().filter_map(|cell| cell.value).collect();
                assert!(values.len() >= 10, "{} {:?}", table.id, column.scale);
                let up = values.last() > values.first();
                for pair in values.windows(2) {
                    let (a, b) = if up { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
                    let tie = column.scale == Scale::Scleroscope && a == b;
                    assert!(a < b || tie, "{} {:?} {pair:?}", table.id, column.scale);
                }
            }
        }
    }
}
