//! Channel corrections as they come from a comparison with a reference probe.

use super::dialect::{few, refusal};
use super::log::Correction;
use super::role::Role;
use crate::error::{Error, Result};

/// No sensor that is corrected by more than this, in °C, measures anything.
const LARGEST_CORRECTION_C: f64 = 100.0;

impl Correction {
    /// Refuses what can be no correction of the channel or sensor `of`.
    pub(super) fn check(self, model: &'static str, of: &str) -> Result<()> {
        let Self { value_delta_c, u_delta_c } = self;
        if !(value_delta_c.is_finite() && u_delta_c.is_finite() && u_delta_c >= 0.0) {
            let value = if value_delta_c.is_finite() { u_delta_c } else { value_delta_c };
            let hint = "Give {\"air\": (value_delta_c, u_delta_c)}, finite, with a standard uncertainty of 0 or more";
            return Err(Error::invalid(model, "corrections", (value, "°C"), format!("is no correction of {of}"), hint));
        }
        match [value_delta_c, u_delta_c].into_iter().find(|value| value.abs() > LARGEST_CORRECTION_C) {
            Some(value) => Err(Error::outside(
                model,
                "corrections",
                (value, "°C"),
                (-LARGEST_CORRECTION_C, LARGEST_CORRECTION_C),
                "this library: a sensor that is farther off measures nothing",
                "Give what is added to the readings and its standard uncertainty, both in °C",
            )),
            None => Ok(()),
        }
    }
}

const CHANNEL: [&str; 2] = ["channel", "sensor"];
const VALUE: &str = "correction_to_add_degc";
const EXPANDED: &str = "expanded_uncertainty_k2_degc";

/// Reads corrections from a table with the columns `channel`, `correction_to_add_degc` and
/// `expanded_uncertainty_k2_degc`; the uncertainty is halved. Rows of channels without a role here are left out.
///
/// # Errors
/// [`crate::Error::DataFile`] for missing columns or cells that are no numbers.
///
/// ```
/// use afterquench::oven::{Role, read_corrections};
/// let text = "channel,correction_to_add_degc,expanded_uncertainty_k2_degc\nair,-0.4,0.8\n";
/// let (role, correction) = read_corrections(text.as_bytes(), "channels.csv").unwrap()[0];
/// assert_eq!((role, correction.u_delta_c), (Role::Air, 0.4));
/// ```
pub fn read_corrections(bytes: &[u8], file: &str) -> Result<Vec<(Role, Correction)>> {
    let made: Vec<(Role, Correction)> = read_named_corrections(bytes, file)?
        .into_iter()
        .filter_map(|(name, correction)| Some((Role::named(&name)?, correction)))
        .collect();
    if made.is_empty() {
        return Err(refusal(file, None, "no row is for the air or the part side", "Name channels air and part_side"));
    }
    Ok(made)
}

/// The same by the names that stand in the table, as sensors of a survey have them.
///
/// # Errors
/// As [`read_corrections`], but for the names.
pub fn read_named_corrections(bytes: &[u8], file: &str) -> Result<Vec<(String, Correction)>> {
    let hint = "Give columns channel, correction_to_add_degc, expanded_uncertainty_k2_degc";
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(bytes);
    let heading = reader.headers().map_err(|error| refusal(file, None, error.to_string(), hint))?.clone();
    let place = |names: &[&str]| heading.iter().position(|name| names.contains(&name));
    let columns = (place(&CHANNEL), place(&[VALUE]), place(&[EXPANDED]));
    let (Some(channel), Some(value), Some(expanded)) = columns else {
        return Err(refusal(file, Some(1), format!("its columns are {}", few(&heading).join(", ")), hint));
    };
    let mut made = Vec::new();
    for row in reader.records() {
        let row = row.map_err(|error| refusal(file, None, error.to_string(), hint))?;
        let line = row.position().and_then(|at| usize::try_from(at.line()).ok());
        let number = |column: usize| -> Result<f64> {
            let text = row.get(column).unwrap_or("");
            text.parse().map_err(|_| refusal(file, line, format!("'{text}' is no number"), hint))
        };
        let name = row.get(channel).unwrap_or_default().to_owned();
        made.push((name, Correction { value_delta_c: number(value)?, u_delta_c: 0.5 * number(expanded)? }));
    }
    Ok(made)
}
