//! Pass, fail or not decided: a value with its uncertainty against a tolerance, after JCGM 106:2012.

use serde::{Deserialize, Serialize};

use super::scale::ScaleName;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, normal_cdf};
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of the decision rule.
pub static DECISION: ModelRecord = ModelRecord {
    id: "hardness.decision",
    gives: "pass, fail or not decided",
    unit: "",
    formula: "pass if lower + w ≤ x ≤ upper − w; fail if x < lower − w or x > upper + w; otherwise not decided; w = 2 u \
              unless named otherwise; compared unrounded",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source {
        cite: "JCGM 106:2012, The role of measurement uncertainty in conformity assessment",
        at: "clauses 7 and 8, guarded acceptance and guarded rejection",
        origin: Origin::FromMemory,
    }],
    errata: &[],
    not_for: "a limit on another scale than the value without its conversion's uncertainty",
};

/// How wide the guard band is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum GuardBand {
    /// A multiple of the standard uncertainty.
    Times(f64),
    /// A width on the scale.
    Width(f64),
}

impl GuardBand {
    /// Reads "2u", "1.64u", "none" and the like.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn parse(text: &str) -> Result<Self> {
        let key = text.trim().to_ascii_lowercase();
        let times = match key.as_str() {
            "none" => Some(0.0),
            "u" => Some(1.0),
            other => other.strip_suffix('u').and_then(|number| number.trim().parse().ok()),
        };
        times.filter(|times: &f64| *times >= 0.0 && times.is_finite()).map(Self::Times).ok_or_else(|| {
            Error::UnknownName {
                kind: "guard band".into(),
                name: text.to_owned(),
                close: Vec::new(),
                hint: "Write \"2u\", \"1.64u\", \"none\", or a number on the scale".into(),
            }
        })
    }

    /// Its width for an uncertainty.
    #[must_use]
    pub fn width(self, u: f64) -> f64 {
        match self {
            Self::Times(times) => times * u,
            Self::Width(width) => width,
        }
    }
}

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    /// Inside, by more than the guard band.
    Pass,
    /// Outside, by more than the guard band.
    Fail,
    /// Too near a limit to say.
    NotDecided,
}

impl Verdict {
    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Fail => "fail",
            Self::NotDecided => "not decided",
        }
    }
}

/// A tolerance: at least one limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tolerance {
    /// Lower limit.
    pub lower: Option<f64>,
    /// Upper limit.
    pub upper: Option<f64>,
}

impl Tolerance {
    /// Checks the limits.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] without any, [`Error::InvalidValue`] for limits that are no numbers or cross.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Self> {
        if lower.is_none() && upper.is_none() {
            return Err(Error::MissingArgument {
                function: "decide".into(),
                argument: "lower or upper".into(),
                why: "there is no limit to decide about".into(),
                hint: "Give lower=, upper= or both, on the scale named by scale=".into(),
            });
        }
        let refuse = |argument: &'static str, value: f64, why: &'static str| {
            Error::invalid(DECISION.id, argument, (value, ""), why, "lower= is the smaller limit, upper= the larger")
        };
        for (argument, limit) in [("lower", lower), ("upper", upper)] {
            if let Some(value) = limit.filter(|value| !value.is_finite()) {
                return Err(refuse(argument, value, "is no limit"));
            }
        }
        match (lower, upper) {
            (Some(low), Some(high)) if low > high => Err(refuse("lower", low, "lies above upper")),
            _ => Ok(Self { lower, upper }),
        }
    }

    /// The zone in which a value passes; its ends may cross, when nothing can.
    #[must_use]
    pub fn acceptance(&self, guard: f64) -> (Option<f64>, Option<f64>) {
        (self.lower.map(|low| low + guard), self.upper.map(|high| high - guard))
    }

    /// Width of that zone; infinite with one limit, zero or less when no value can pass.
    #[must_use]
    pub fn acceptance_width(&self, guard: f64) -> f64 {
        match self.acceptance(guard) {
            (Some(low), Some(high)) => high - low,
            _ => f64::INFINITY,
        }
    }

    /// Whether no value at all can pass. A zone of zero width counts: a point is never met.
    #[must_use]
    pub fn is_unprovable(&self, guard: f64) -> bool {
        guard > 0.0 && self.acceptance_width(guard) <= 1e-9
    }

    /// The verdict on a value.
    #[must_use]
    pub fn verdict(&self, value: f64, guard: f64) -> Verdict {
        let (low, high) = (self.lower.unwrap_or(f64::NEG_INFINITY), self.upper.unwrap_or(f64::INFINITY));
        if value < low - guard || value > high + guard {
            Verdict::Fail
        } else if low + guard <= value && value <= high - guard && !self.is_unprovable(guard) {
            Verdict::Pass
        } else {
            Verdict::NotDecided
        }
    }

    /// P(inside) of a normal value.
    #[must_use]
    pub fn probability(&self, value: f64, u: f64) -> f64 {
        let below = |limit: f64| {
            if u > 0.0 {
                normal_cdf((limit - value) / u)
            } else if limit < value {
                0.0
            } else {
                1.0
            }
        };
        let under = self.lower.map_or(0.0, |low| if u > 0.0 { below(low) } else { f64::from(u8::from(value < low)) });
        (self.upper.map_or(1.0, below) - under).clamp(0.0, 1.0)
    }
}

/// A decision and its reasons.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Decision {
    /// The verdict.
    pub verdict: Verdict,
    /// The chance that the true value lies inside the tolerance.
    pub p_inside: f64,
    /// The guard band used.
    pub guard_band: f64,
    /// Lower end of the acceptance zone.
    pub accept_lower: Option<f64>,
    /// Upper end of the acceptance zone.
    pub accept_upper: Option<f64>,
    /// What was decided about.
    pub estimate: Estimate,
    /// The tolerance.
    pub tolerance: Tolerance,
    /// Why, in words.
    pub why: String,
}

/// Decides about one estimate, unrounded.
///
/// # Errors
/// As [`Tolerance::new`]; [`Error::InvalidValue`] for an estimate or guard band that is no number.
pub fn decide(estimate: &Estimate, tolerance: Tolerance, guard: GuardBand) -> Result<Decision> {
    let width = guard.width(estimate.u());
    for (argument, value, good) in [
        ("value", estimate.value(), estimate.value().is_finite()),
        ("u", estimate.u(), estimate.u().is_finite()),
        ("guard_band", width, width.is_finite() && width >= 0.0),
    ] {
        if !good {
            return Err(Error::invalid(
                DECISION.id,
                argument,
                (value, estimate.unit().to_owned()),
                "can't be decided with",
                "Give finite numbers, zero or more for widths",
            ));
        }
    }
    let verdict = tolerance.verdict(estimate.value(), width);
    let p_inside = estimate.probability_inside(tolerance.lower, tolerance.upper);
    let (accept_lower, accept_upper) = tolerance.acceptance(width);
    let why = explained(estimate, &tolerance, width, verdict, p_inside);
    Ok(Decision {
        verdict,
        p_inside,
        guard_band: width,
        accept_lower,
        accept_upper,
        estimate: estimate.clone(),
        tolerance,
        why,
    })
}

/// A chance as it is said: a normal tail is no certainty.
fn in_per_cent(chance: f64) -> String {
    if chance > 0.99 {
        return "over 99 %".to_owned();
    }
    if chance < 0.01 { "under 1 %".to_owned() } else { format!("{:.0} %", 100.0 * chance) }
}

fn explained(estimate: &Estimate, tolerance: &Tolerance, guard: f64, verdict: Verdict, p_inside: f64) -> String {
    let unit = estimate.unit();
    let mut why = format!(
        "{:.2} {unit} with u = {:.2} against {}: {} with a guard band of {guard:.2}; {} chance to be inside",
        estimate.value(),
        estimate.u(),
        written(tolerance.lower, tolerance.upper),
        verdict.text(),
        in_per_cent(p_inside)
    );
    if tolerance.is_unprovable(guard) {
        why += &format!(
            ". The acceptance zone has no width: a tolerance of {:.2} {unit} can't be proven with ±{guard:.2}, whatever \
             the reading; widen the tolerance or find a better tester before measuring",
            2.0 * guard + tolerance.acceptance_width(guard)
        );
    } else if verdict == Verdict::NotDecided {
        let (low, high) = tolerance.acceptance(guard);
        why += &format!(
            ". A value passes within {}; more readings do not lessen the tester's own part",
            written(low, high)
        );
    }
    let scale = ScaleName::parse(unit).ok().map(|name| name.scale.record());
    if let Some(scale) = scale.filter(|scale| !(scale.low..=scale.high).contains(&estimate.value())) {
        why += &format!(
            ". The value lies outside {} to {} {}, the scale's own range ({})",
            scale.low, scale.high, scale.name, scale.stated_by
        );
    }
    if let Some(table) = estimate.tables().first() {
        why += &format!(
            ". The value was converted through {table}: agree the scale that is read and no conversion is needed"
        );
    }
    why
}

fn written(low: Option<f64>, high: Option<f64>) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{low:.2} to {high:.2}"),
        (Some(low), None) => format!("{low:.2} or more"),
        (None, Some(high)) => format!("{high:.2} or less"),
        (None, None) => "no limit".to_owned(),
    }
}
