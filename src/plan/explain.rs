//! Why a part came out softer or harder than planned: each cause carried forward to HRC and held against the difference.

use serde::{Deserialize, Serialize};

use super::causes::{Frame, Kind, candidates};
use super::earlier::Earlier;
use super::forward::Forward;
use super::request::{hold_is_one, invalid, positive};
use super::spread::Unknowns;
use crate::curve::{AsQuenchedReading, HardnessAfterTemper};
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::quantity::{HoldTime, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source};
use crate::temper::ConstantBelief;

/// The record of the causes and their sizes.
pub static CAUSES: ModelRecord = ModelRecord {
    id: "plan.causes",
    gives: "how much softer or harder each cause makes a part",
    unit: "HRC",
    formula: "what heat does goes through the curve: H(what the steel got) − H(what was planned); hardening that failed −20 \
              to −5, decarburised skin −5 to −2, thin or bevelled spot −6 to −1, retained austenite −4 to −1, grinding burn \
              −10 to −2 HRC; a cause explains a difference that lies within two standard uncertainties of its range",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[
        Source { cite: "the sizes that no curve gives", at: "no source", origin: Origin::CommonPractice },
        Source { cite: "ASTM E18-19, limits for testers", at: "Table A1.3", origin: Origin::Printed },
    ],
    errata: &[],
    not_for: "blame: a cause that fits is one to check, and two small ones can fit together",
};

/// What is known of a part that came out wrong.
#[derive(Debug, Clone)]
pub struct ExplainRequest {
    /// What it measures; HRC.
    pub reading: Estimate,
    /// Why no reading counts, if none does.
    pub doubts: Vec<String>,
    /// Standard uncertainty left by a reference block; absent where the tester was not checked.
    pub u_tester: Option<f64>,
    /// The hardness planned; HRC.
    pub planned_hrc: f64,
    /// Temperature and whole time of the plan.
    pub hold: (Temperature, HoldTime),
    /// What the log left, if there is one.
    pub log: Earlier,
    /// Hardness before the temper, where it was measured.
    pub as_quenched: Option<AsQuenchedReading>,
    /// How much cooler and hotter than the display the part's place may be; °C.
    pub place_delta_c: Option<(f64, f64)>,
    /// What is not known about curve, batch, oven and timer.
    pub unknowns: Unknowns,
    /// What is believed of C.
    pub c: ConstantBelief,
}

/// How a cause's size compares with the difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Fit {
    /// Found, not guessed, and no other cause counts before it is mended.
    Found,
    /// All of it.
    All,
    /// A fifth at least.
    Part,
    /// Less than that, or the wrong way.
    TooSmall,
}

impl Fit {
    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::All => "explains it",
            Self::Part => "explains part of it",
            Self::TooSmall => "does not explain it",
        }
    }
}

/// One cause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cause {
    /// Its name.
    pub name: String,
    /// What it does to the reading, negative softer; HRC.
    pub effect: Estimate,
    /// The difference less the part of the effect nearest to it; HRC.
    pub left_hrc: f64,
    /// How it compares.
    pub fit: Fit,
    /// Whether its size was measured on this part and load; if not it is what such a cause can do.
    pub measured: bool,
    /// Whether it is in the reading alone and not in the part.
    pub reading_only: bool,
    /// What its size comes from.
    pub why: String,
    /// What would show it.
    pub check: String,
}

/// What may be behind a difference.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Explanation {
    /// Reading less plan, negative softer; HRC.
    pub difference: Estimate,
    /// The hardness planned; HRC.
    pub planned_hrc: f64,
    /// The causes, the likeliest first.
    pub causes: Vec<Cause>,
    /// The answer in a sentence or two.
    pub summary: String,
    /// What to look at before anything else.
    pub first_check: String,
    /// What can and can't be done about it.
    pub remedy: String,
    /// What was assumed.
    pub assumptions: Vec<String>,
}

/// Ranks the causes that may have made a part softer, or harder, than planned.
///
/// # Errors
/// [`Error::InvalidValue`] for readings, times or widths that make no sense; [`Error::Refused`] for a history made for
/// another C.
pub fn explain(curve: &dyn HardnessAfterTemper, request: &ExplainRequest) -> Result<Explanation> {
    positive("reading", request.reading.value(), "HRC")?;
    positive("planned_hrc", request.planned_hrc, "HRC")?;
    if let Some(quenched) = request.as_quenched {
        positive("as_quenched_hrc", quenched.hrc, "HRC")?;
    }
    if let Some((low, high)) = request.place_delta_c.filter(|(low, high)| !(low.is_finite() && high >= low)) {
        let why = format!("is no range up to {high} °C");
        return Err(invalid("place_delta_c", low, "°C", &why, "Give (coolest, hottest) against the display"));
    }
    let (at, total) = request.hold;
    hold_is_one(total, &request.unknowns)?;
    request.unknowns.checked()?;
    request.log.checked(request.c.checked()?)?;
    let failed = match curve.conditioning(request.as_quenched) {
        Ok(_) => None,
        Err(Error::NoAnswer { why, .. }) => Some(why.into_owned()),
        Err(other) => return Err(other),
    };
    let forward = Forward::new(curve, if failed.is_some() { None } else { request.as_quenched })?;
    let difference = Estimate::new(request.reading.value() - request.planned_hrc, "HRC");
    let difference = request
        .reading
        .components()
        .iter()
        .fold(difference, |made, part| made.with(part.name.clone(), part.u))
        .assuming_all(&request.reading);
    let frame = Frame { curve, forward: &forward, request, at_c: at.celsius(), total_h: total.hours(), failed };
    let mut causes = candidates(&frame, difference.value())?
        .into_iter()
        .map(|candidate| candidate.held_against(&difference))
        .collect::<Vec<_>>();
    causes.sort_by_key(rank);
    let (summary, first_check) = summed_up(request, &difference, &causes, frame.failed.as_deref());
    let remedy = remedy(&difference, causes.first());
    Ok(Explanation {
        assumptions: vec![
            format!("planned {:.1} HRC by {}", request.planned_hrc, curve.name()),
            request.unknowns.text(),
            request.c.text(),
            "sizes of skin, spot, austenite, burn and failed hardening: common practice, no source".to_owned(),
        ],
        planned_hrc: request.planned_hrc,
        difference,
        causes,
        summary,
        first_check,
        remedy,
    })
}

/// What was found comes first, then what fits; what was measured before what is only possible.
fn rank(cause: &Cause) -> (Fit, bool) {
    (cause.fit, !cause.measured)
}

fn summed_up(
    request: &ExplainRequest,
    difference: &Estimate,
    causes: &[Cause],
    failed: Option<&str>,
) -> (String, String) {
    let (by, u) = (difference.value(), difference.u());
    let way = if by < 0.0 { "softer" } else { "harder" };
    let check = causes.first().map_or_else(String::new, |cause| format!("{}: {}", cause.name, cause.check));
    if let Some(failed) = failed {
        return (format!("the hardening failed, and no other cause counts before that: {failed}"), check);
    }
    if let Some(doubt) = request.doubts.first() {
        return (format!("no reading of the part itself: {doubt}"), check);
    }
    if by.abs() <= 2.0 * u {
        let said = format!(
            "nothing to explain yet: {:.1} HRC {way} than planned lies inside the reading's own ±{:.1} HRC (k = 2)",
            by.abs(),
            2.0 * u
        );
        return (said, "read again, on a block near that value and on a ground flat".to_owned());
    }
    let Some(first) = causes.first().filter(|cause| cause.fit == Fit::All) else {
        return (format!("no single cause explains {:.1} HRC {way}; look for two together", by.abs()), check);
    };
    let said = if first.measured {
        format!(
            "{} explains it: {:+.1} HRC of {by:+.1} ± {:.1} HRC (k = 2), {:+.1} HRC left",
            first.name,
            first.effect.value(),
            2.0 * u,
            first.left_hrc
        )
    } else {
        let fitting = causes.iter().filter(|cause| cause.fit == Fit::All);
        let names: Vec<&str> = fitting.map(|cause| cause.name.as_str()).collect();
        format!("{:.1} HRC {way} can come from: {}; none of them was measured", by.abs(), names.join(", "))
    };
    let hardening = "check the as-quenched hardness first: hardening that failed is the commonest cause";
    let unchecked = request.as_quenched.is_none() && by < 0.0 && !first.measured;
    (said, if unchecked { hardening.to_owned() } else { check })
}

fn remedy(difference: &Estimate, first: Option<&Cause>) -> String {
    if first.is_some_and(|cause| cause.reading_only && cause.fit <= Fit::All) {
        return "read again before anything is done to the part".to_owned();
    }
    if difference.value() < 0.0 {
        "softening can't be taken back by tempering: harden again, or use the part as it is".to_owned()
    } else {
        "a part that came out hard can be tempered again: retemper(), 5 °C under first, measure, repeat".to_owned()
    }
}

impl super::causes::Candidate {
    /// The cause as it compares with the difference.
    fn held_against(self, difference: &Estimate) -> Cause {
        let by = difference.value();
        let (low, high) = self.range;
        let nearest = by.clamp(low, high);
        let left_hrc = by - nearest;
        let (low95, high95) = self.effect.interval(0.95).unwrap_or((low, high));
        let reach = if by < 0.0 { low95.min(low) } else { high95.max(high) };
        let share = if by == 0.0 { 0.0 } else { (reach / by).clamp(0.0, 1.0) };
        let u = difference.u().hypot(if self.kind == Kind::Measured { self.effect.u() } else { 0.0 });
        let fit = if self.kind == Kind::Found {
            Fit::Found
        } else if left_hrc.abs() <= 2.0 * u && share >= 0.5 {
            Fit::All
        } else if share >= 0.2 && left_hrc.abs() < by.abs() {
            Fit::Part
        } else {
            Fit::TooSmall
        };
        Cause {
            name: self.name.to_owned(),
            effect: self.effect,
            left_hrc,
            fit,
            measured: self.kind != Kind::Possible,
            reading_only: self.reading_only,
            why: self.why,
            check: self.check.to_owned(),
        }
    }
}
