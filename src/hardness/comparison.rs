//! What two independent results say of each other.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::estimate::Estimate;

/// What two laboratories' results say of each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// First less second, with its uncertainty.
    pub difference: Estimate,
    /// The difference over the expanded uncertainty (k = 2) of it.
    pub e_n: f64,
    /// Whether |E_n| ≤ 1.
    pub agree: bool,
    /// In words.
    pub why: String,
}

/// E_n of two independent results (ISO 13528 and ISO/IEC 17043, from memory).
///
/// # Errors
/// [`Error::Refused`] for results on two scales or without any uncertainty.
pub fn compare_results(first: &Estimate, second: &Estimate) -> Result<Comparison> {
    if first.unit() != second.unit() {
        return Err(Error::Refused {
            what: format!("comparing {} with {}", first.unit(), second.unit()).into(),
            why: "they are on two scales".into(),
            instead: "Have both laboratories read one scale; a conversion would add its own error".into(),
        });
    }
    let u = first.u().hypot(second.u());
    if u.is_nan() || u <= 0.0 {
        return Err(Error::Refused {
            what: "a comparison of results without uncertainty".into(),
            why: "any difference would be a disagreement".into(),
            instead: "Give both as Estimates with their u".into(),
        });
    }
    let by = first.value() - second.value();
    let e_n = by / (2.0 * u);
    let agree = e_n.abs() <= 1.0;
    let unit = first.unit().to_owned();
    let why = if agree {
        format!("they agree: the difference of {by:+.2} {unit} lies inside its ±{:.2} (k=2), E_n = {e_n:.2}", 2.0 * u)
    } else {
        format!(
            "they disagree: the difference of {by:+.2} {unit} exceeds its ±{:.2} (k=2), E_n = {e_n:.2}; at least one \
             uncertainty is too small: exchange the reference block",
            2.0 * u
        )
    };
    let difference = Estimate::new(by, unit).with("first", first.u()).with("second", second.u());
    Ok(Comparison { difference, e_n, agree, why })
}
