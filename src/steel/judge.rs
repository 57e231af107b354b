//! Did the hardening work? A reading out of the quench against what the steel or its carbon lets expect.

use serde::{Deserialize, Serialize};

use super::quenched::{HODGE_OREHOSKI, QuenchedTable, as_quenched_hardness};
use super::tempered::CompositionSteel;
use crate::curve::{AsQuenched, Hardening};
use crate::error::{Error, Result};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};

/// The record of the judgement.
pub static JUDGE_HARDENING: ModelRecord = ModelRecord {
    id: "steel.judge_hardening",
    gives: "hardened, not hardened or not decided",
    unit: "",
    formula: "lowest = A0 - 2 u0; hardened if A - 2 u >= lowest; not hardened if A + 2 u < lowest; otherwise not decided; \
              A ± u read, A0 ± u0 expected: printed for the steel, or by carbon (Hodge and Orehoski at 99 % martensite up \
              to 0.53 %, beyond it the composition model's as-quenched hardness)",
    ranges: &[
        ValidRange { argument: "reading_hrc", unit: "HRC", low: 20.0, high: 70.0, stated_by: "the Rockwell C scale" },
        ValidRange {
            argument: "carbon_percent",
            unit: "%",
            low: 0.2,
            high: 1.2,
            stated_by: "the steels whose as-quenched hardness is known here",
        },
    ],
    scatter: Scatter::Exact,
    sources: &[
        Source {
            cite: "JCGM 106:2012, The role of measurement uncertainty in conformity assessment",
            at: "clauses 7 and 8, guarded acceptance and rejection with w = 2 u",
            origin: Origin::FromMemory,
        },
        HODGE_OREHOSKI.sources[0],
    ],
    errata: &[
        "ASTM A255 stops at 60 HRC above 0.5 % C by convention and is not used here: real martensite goes on to 64 to 67",
    ],
    not_for: "case-hardened or decarburised skins, and steel whose carbon is largely undissolved",
};

/// The judgement and what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HardeningJudgement {
    /// The answer.
    pub verdict: Hardening,
    /// The reading, HRC.
    pub reading_hrc: f64,
    /// Expected of full hardening.
    pub expected: AsQuenched,
    /// The lowest that full hardening gives, HRC.
    pub lowest_hrc: f64,
    /// Share of martensite at which such carbon reads this, after Hodge and Orehoski; inside their table only.
    pub martensite: Option<f64>,
    /// Why, in a sentence.
    pub why: String,
    /// What else it may be, and what to do.
    pub cautions: Vec<String>,
}

/// From this carbon on much austenite may be left after the quench, weight per cent (common practice, no source).
const RETAINED_FROM_CARBON: f64 = 0.6;

/// What full hardening of this carbon gives.
///
/// # Errors
/// [`Error::OutOfRange`] outside 0.2 to 1.2 %.
pub fn expected_from_carbon(carbon_percent: f64) -> Result<AsQuenched> {
    JUDGE_HARDENING.check("carbon_percent", carbon_percent)?;
    let printed = HODGE_OREHOSKI.range("carbon_percent").is_some_and(|range| range.contains(carbon_percent));
    if printed {
        let u = if let Scatter::Known { u, .. } = HODGE_OREHOSKI.scatter { u } else { 0.0 };
        return Ok(AsQuenched { hrc: as_quenched_hardness(carbon_percent, 0.99, QuenchedTable::HodgeOrehoski)?, u });
    }
    Ok(CompositionSteel::new(&[("C", carbon_percent)])?.expected_as_quenched())
}

/// Judges a reading out of the quench. `carbon_percent` is for the share of martensite and the cautions.
///
/// # Errors
/// [`Error::OutOfRange`] for a reading off the scale; [`Error::InvalidValue`] for one that is no number or an uncertainty
/// that is none.
///
/// ```
/// use afterquench::steel::{Hardening, expected_from_carbon, judge_hardening};
/// let expected = expected_from_carbon(0.45).unwrap();
/// assert_eq!(judge_hardening(58.0, 0.5, expected, Some(0.45)).unwrap().verdict, Hardening::Worked);
/// ```
pub fn judge_hardening(
    reading_hrc: f64,
    u: f64,
    expected: AsQuenched,
    carbon_percent: Option<f64>,
) -> Result<HardeningJudgement> {
    JUDGE_HARDENING.check("reading_hrc", reading_hrc)?;
    for (argument, value, fits) in
        [("reading_hrc", reading_hrc, !reading_hrc.is_nan()), ("u_reading", u, u >= 0.0 && u.is_finite())]
    {
        if !fits {
            return Err(Error::invalid(
                JUDGE_HARDENING.id,
                argument,
                (value, "HRC"),
                "is no number to judge by",
                "Give the mean of three or more indentations, and its standard uncertainty",
            ));
        }
    }
    let (lowest_hrc, verdict, why) =
        (expected.lowest(), expected.verdict(reading_hrc, u), expected.why(reading_hrc, u));
    let martensite = carbon_percent.and_then(|carbon| martensite_share(carbon, reading_hrc));
    let mut cautions = Vec::new();
    if let Some(share) = martensite.filter(|_| verdict != Hardening::Worked) {
        cautions.push(format!(
            "such carbon reads this at about {:.0} % martensite (Hodge and Orehoski, from memory): quenched too slowly for \
             the section, or too cold before it",
            100.0 * share
        ));
    }
    if verdict != Hardening::Worked {
        if carbon_percent.is_none_or(|carbon| carbon >= RETAINED_FROM_CARBON) {
            cautions.push(
                "retained austenite reads soft too, where carbon or alloy is high and the hardening was hot: a file, a \
                 magnet and a cold treatment tell it from a slow quench; do not temper it away (common practice, no source)"
                    .to_owned(),
            );
        }
        cautions.push(
            "a decarburised skin reads soft on a hard core: grind 0.2 mm off and read again (common practice, no source)"
                .to_owned(),
        );
    }
    if expected.is_exceeded_by(reading_hrc, u) {
        cautions.push("higher than such steel gets: check the tester on a block, and which steel it is".to_owned());
    }
    if verdict == Hardening::NotDecided {
        cautions.push("more indentations, or a block beside them, would decide".to_owned());
    }
    Ok(HardeningJudgement { verdict, reading_hrc, expected, lowest_hrc, martensite, why, cautions })
}

/// The share of martensite at which a carbon content reads this, inside the table.
fn martensite_share(carbon: f64, hrc: f64) -> Option<f64> {
    let reads = |share: f64| as_quenched_hardness(carbon, share, QuenchedTable::HodgeOrehoski).ok();
    let (mut low, mut high) = (0.5, 0.99);
    if !(reads(low)?..=reads(high)?).contains(&hrc) {
        return None;
    }
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if reads(middle)? < hrc { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}
