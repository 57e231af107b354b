//! How well a bar's own readings agree with one another and with what was expected of the steel before them.
//!
//! Their chi-square is that of the innovations, r' M⁻¹ r: r what they lie off the prediction made before them, M its
//! covariance with the readings' own errors. Beyond its 95 % point every uncertainty is multiplied by Birge's ratio, the root
//! of chi-square over the readings' number; beyond four times, and one chance in a million, nothing is answered.

use super::basis::Functions;
use super::posterior::Posterior;
use super::readings::OwnReading;
use super::weights::{Row, cholesky, dot, forward};
use crate::error::{Error, Result, Text};
use crate::estimate::chi_square_cdf;

/// Standard deviations from which a reading is called surprising.
const SURPRISING: f64 = 3.0;

/// Chance of a chi-square as large or larger below which the uncertainties are taken to be too small.
const ODD: f64 = 0.05;

/// The same below which the readings are not of one steel, or not of this one, if Birge's ratio is beyond [`MOST`] as well:
/// of many readings that err by twice what the fit's did the chance alone would make an absurdity.
const ABSURD: f64 = 1e-6;
const MOST: f64 = 4.0;

/// What the readings' agreement makes of the answers.
#[derive(Debug)]
pub(super) struct Agreement {
    /// What every standard uncertainty is multiplied by.
    pub factor: f64,
    /// What is to be said of the readings.
    pub said: Vec<Text>,
}

/// What the prediction before the readings leaves open beside its weights.
pub(super) struct Open<'a> {
    /// Variance of elements beyond what was measured, HV².
    pub beyond_hv2: f64,
    /// What the variance is multiplied by far from every measured steel.
    pub widening: f64,
    /// What the stated uncertainty of the as-quenched reading is worth: its product with the functions of a temper.
    pub by_as_quenched: Option<&'a Functions>,
}

/// Holds readings against the prediction made before them.
///
/// # Errors
/// [`Error::Refused`] for readings that no bar of this steel would give, naming the one that stands out.
pub(super) fn agreement(prior: &Posterior, readings: &[OwnReading], open: &Open<'_>) -> Result<Agreement> {
    let k = readings.len();
    let rows: Vec<Row> = readings.iter().map(|reading| prior.row(reading)).collect();
    let off: Vec<f64> = rows.iter().map(|row| row.above - prior.weights.mean(&row.functions)).collect();
    let expected = readings.iter().zip(&off).map(|(reading, off)| reading.hrc - off);
    let beyond: Vec<f64> = expected.map(|hrc| open.beyond_hv2.sqrt() / prior.read.slope.at(hrc)).collect();
    let quenched: Vec<f64> =
        rows.iter().map(|row| open.by_as_quenched.map_or(0.0, |by| dot(by, &row.functions))).collect();
    let mut matrix = prior.weights.between(&rows);
    for (i, row) in rows.iter().enumerate() {
        for j in 0..k {
            let shared = open.widening * (matrix[i * k + j] + beyond[i] * beyond[j]) + quenched[i] * quenched[j];
            matrix[i * k + j] = shared + if i == j { row.variance } else { 0.0 };
        }
    }
    let own: Vec<f64> = off.iter().enumerate().map(|(i, off)| off / matrix[i * k + i].sqrt()).collect();
    let mut said: Vec<Text> =
        readings.iter().zip(&own).filter_map(|(reading, &away)| surprise(reading, away)).collect();
    let lower = cholesky(matrix, k).ok_or_else(too_sure)?;
    let scaled = forward(&lower, k, off);
    let chi_square = dot(&scaled, &scaled);
    let chance = 1.0 - chi_square_cdf(chi_square, k as f64);
    if chance >= ODD {
        return Ok(Agreement { factor: 1.0, said });
    }
    let odd = odd_one(readings, &lower, &scaled);
    let factor = (chi_square / k as f64).sqrt();
    if chance < ABSURD && factor > MOST {
        let which = if k == 1 { "this reading".to_owned() } else { format!("these {k} readings") };
        return Err(Error::Refused {
            what: format!("conditioning on {which}").into(),
            why: format!(
                "no bar of this steel reads so (chi-square {chi_square:.0} where {k} is expected, a chance below one in a \
                 million): {odd}"
            )
            .into(),
            instead: "Check that reading first: its scale, the temper as written down, which bar it was, whether that bar \
                      hardened, its skin; then the composition. Give a u to a reading that is known badly, or leave it out"
                .into(),
        });
    }
    let chance = if chance < 1e-3 { "less than 0.1".to_owned() } else { format!("{:.1}", 100.0 * chance) };
    said.push(
        format!(
            "the bar's own readings disagree with one another or with the composition: chi-square {chi_square:.1} where {k} \
             is expected (a chance of {chance} %), so every uncertainty is multiplied by {factor:.2} (Birge's ratio); {odd}: \
             check that reading, its temper, its bar and the hardening"
        )
        .into(),
    );
    Ok(Agreement { factor, said })
}

/// The reading that lies farthest from what all the others and the composition let expect, in a clause.
fn odd_one(readings: &[OwnReading], lower: &[f64], scaled: &[f64]) -> String {
    let k = readings.len();
    let mut farthest = (0, 0.0, 0.0);
    for i in 0..k {
        // A column of the triangle's inverse: its square is what the reading weighs, by which its own part is divided.
        let mut unit = vec![0.0; k];
        unit[i] = 1.0;
        let column = forward(lower, k, unit);
        let (part, weight) = (dot(&column, scaled), dot(&column, &column));
        let (off, away) = (part / weight, part / weight.sqrt());
        if away.abs() > f64::abs(farthest.2) {
            farthest = (i, off, away);
        }
    }
    let (i, off, away) = farthest;
    let others = if k == 1 { "the composition lets" } else { "the others and the composition let" };
    format!(
        "{} lies {:.1} HRC {} what {others} expect ({:.1} standard deviations)",
        readings.get(i).map(OwnReading::text).unwrap_or_default(),
        off.abs(),
        if off > 0.0 { "above" } else { "below" },
        away.abs()
    )
}

/// What is to be said of a reading this many of its own standard deviations away from what was expected.
fn surprise(reading: &OwnReading, away: f64) -> Option<Text> {
    (away.abs() > SURPRISING).then(|| {
        format!(
            "{} lies {:.1} standard deviations {} what such a steel was expected to read: check it, the composition and the \
             hardening",
            reading.text(),
            away.abs(),
            if away > 0.0 { "above" } else { "below" }
        )
        .into()
    })
}

/// Readings with errors of nothing can't be told apart.
pub(super) fn too_sure() -> Error {
    Error::Refused {
        what: "conditioning on these readings".into(),
        why: "their errors are too small to tell them apart".into(),
        instead: "Give each reading a standard uncertainty above zero".into(),
    }
}
