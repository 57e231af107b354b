//! Every data file has a birth certificate, and its numbers still add up to what was proof-read.

use std::fs;
use std::path::{Path, PathBuf};

const KEYS: [&str; 7] = ["id", "source", "at", "transcribed_by", "checked_by", "units", "doubts"];

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/data");
    let mut found: Vec<_> = fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.expect("a readable entry").path())
        .filter(|path| path.extension().is_some_and(|kind| kind == "csv"))
        .collect();
    found.sort();
    assert!(!found.is_empty());
    found
}

fn head_and_body(path: &Path) -> (toml::Table, String) {
    let text = fs::read_to_string(path).expect("a readable file");
    let head: String =
        text.lines().filter_map(|line| line.strip_prefix("#:")).map(|line| format!("{}\n", line.trim())).collect();
    let table = head.parse().unwrap_or_else(|error| panic!("{}: the head is no TOML: {error}", path.display()));
    let body = text.lines().filter(|line| !line.starts_with('#')).map(|line| format!("{line}\n")).collect();
    (table, body)
}

#[test]
fn heads_are_complete() {
    let mut wrong = Vec::new();
    for path in files() {
        let (head, _) = head_and_body(&path);
        for key in KEYS {
            let blank = match head.get(key) {
                Some(toml::Value::String(text)) => text.trim().is_empty(),
                Some(toml::Value::Table(units)) => units.is_empty(),
                Some(toml::Value::Array(items)) => items.is_empty() && key != "doubts",
                _ => true,
            };
            if blank {
                wrong.push(format!("{}: no {key} in its head", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn ids_are_unique() {
    let ids: Vec<_> = files().iter().map(|path| head_and_body(path).0["id"].to_string()).collect();
    let mut once = ids.clone();
    once.sort();
    once.dedup();
    assert_eq!(once.len(), ids.len(), "{ids:?}");
}

/// A head carries `rows`, the `sum` of one column or of all its numbers, or a `sum_<column>`; each must be true of the
/// body.
#[test]
fn rows_and_sums_are_those_proof_read() {
    let mut wrong = Vec::new();
    for path in files() {
        let (head, body) = head_and_body(&path);
        let mut reader = csv::Reader::from_reader(body.as_bytes());
        let names = reader.headers().expect("a header line").clone();
        let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("an even table")).collect();
        let number = |row: &csv::StringRecord, place: usize| {
            row.get(place)?.trim().trim_matches(['(', ')', '[', ']']).parse::<f64>().ok()
        };
        let sums: Vec<f64> =
            (0..names.len()).map(|place| rows.iter().filter_map(|row| number(row, place)).sum()).collect();
        let mut claims = 0;
        for (key, value) in &head {
            let candidates: Vec<f64> = match (key.as_str(), key.strip_prefix("sum_")) {
                ("rows", _) => vec![rows.len() as f64],
                ("sum", _) => sums.iter().copied().chain([sums.iter().sum()]).collect(),
                (_, Some(column)) => {
                    names.iter().zip(&sums).filter(|(name, _)| *name == column).map(|(_, sum)| *sum).collect()
                }
                _ => continue,
            };
            claims += 1;
            let claimed = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64));
            if !claimed.is_some_and(|claimed| candidates.iter().any(|sum| (claimed - sum).abs() < 1e-6)) {
                wrong.push(format!("{}: {key} = {value}, the file has {candidates:?}", path.display()));
            }
        }
        if claims == 0 {
            wrong.push(format!("{}: neither rows nor a sum to proof-read by", path.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_file_is_used() {
    let sources: String = all_sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
    for path in files() {
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        assert!(sources.contains(name), "{name} is embedded nowhere");
    }
}

fn all_sources(folder: &Path) -> String {
    let mut text = String::new();
    for entry in fs::read_dir(folder).expect("a readable folder") {
        let path = entry.expect("a readable entry").path();
        if path.is_dir() {
            text += &all_sources(&path);
        } else if path.extension().is_some_and(|kind| kind == "rs") {
            text += &fs::read_to_string(&path).expect("a readable file");
        }
    }
    text
}
