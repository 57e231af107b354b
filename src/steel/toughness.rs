//! Impact energy where a sheet prints it: one series for each test, source and hardening, never mixed.

use serde::{Deserialize, Serialize};

use super::catalogue::{Steel, steel};
use super::table::read;
use crate::error::Result;

/// One printed point.
#[derive(Debug, Clone, PartialEq, Deserialize)]
struct Row {
    steel: String,
    austenitize_c: Option<f64>,
    temper_c: Option<f64>,
    temper_printed: String,
    hrc: Option<f64>,
    test: String,
    joule: Option<f64>,
    source: String,
    note: String,
}

/// Impact energy after tempering of one steel, by one test, from one source and one hardening.
///
/// Energies of different notches are different quantities; within a series they compare, between series of two tests never.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToughnessSeries {
    /// The steel as the source names it.
    pub grade: String,
    /// The test, with its notch.
    pub test: String,
    /// Whose figures.
    pub source: String,
    /// Hardening temperature, °C, where printed.
    pub austenitize_c: Option<f64>,
    /// Tempering temperature in °C (`None` where the source names a treatment instead), impact energy in J, HRC where printed.
    pub points: Vec<(Option<f64>, f64, Option<f64>)>,
    /// Remarks, each once.
    pub notes: Vec<String>,
}

/// The printed series of a steel; most steels have none.
///
/// # Errors
/// [`Error::DataFile`](crate::Error::DataFile) if the embedded file is damaged, which a test rules out.
///
/// ```
/// use afterquench::steel::{steel, toughness};
/// let series = toughness(steel("S7").unwrap()).unwrap();
/// assert_eq!(series.iter().map(|s| s.test.as_str()).collect::<Vec<_>>(), ["Charpy C-notch", "Charpy unnotched"]);
/// ```
pub fn toughness(of: &Steel) -> Result<Vec<ToughnessSeries>> {
    let (_, rows) = read::<Row>("toughness_printed_sheets_2026.csv")?;
    let mut made: Vec<ToughnessSeries> = Vec::new();
    for row in rows {
        if steel(&row.steel).map(|known| known.name()) != Ok(of.name()) {
            continue;
        }
        let Some(joule) = row.joule else { continue };
        let place = made.iter().position(|series| {
            series.test == row.test && series.source == row.source && series.austenitize_c == row.austenitize_c
        });
        let index = place.unwrap_or_else(|| {
            made.push(ToughnessSeries {
                grade: row.steel.clone(),
                test: row.test.clone(),
                source: row.source.clone(),
                austenitize_c: row.austenitize_c,
                points: Vec::new(),
                notes: Vec::new(),
            });
            made.len() - 1
        });
        let Some(series) = made.get_mut(index) else { continue };
        series.points.push((row.temper_c, joule, row.hrc));
        // Without a temperature, what was printed in its place is the treatment.
        let treatment = if row.temper_c.is_none() { row.temper_printed.clone() } else { String::new() };
        for note in [treatment, row.note].into_iter().filter(|note| !note.is_empty()) {
            if !series.notes.contains(&note) {
                series.notes.push(note);
            }
        }
    }
    for series in &mut made {
        series.points.sort_by(|a, b| a.0.unwrap_or(0.0).total_cmp(&b.0.unwrap_or(0.0)));
    }
    Ok(made)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::steel::steels;

    /// Every row with an energy is in the series of exactly one steel of the catalogue.
    #[test]
    fn every_row_belongs_to_a_known_steel() {
        let (_, rows) = read::<Row>("toughness_printed_sheets_2026.csv").unwrap();
        let with_energy = rows.iter().filter(|row| row.joule.is_some()).count();
        let shown: usize = steels()
            .unwrap()
            .iter()
            .flat_map(|steel| toughness(steel).unwrap())
            .map(|series| series.points.len())
            .sum();
        assert_eq!(shown, with_energy);
    }
}
