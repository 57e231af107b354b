//! The next step for a part that came out hard: what is still missing, on top of what is already in the steel.

use super::cautions::{Band, usual_cautions};
use super::earlier::Earlier;
use super::equivalents::{Equivalent, REACH_H};
use super::needed::needed_temperature;
use super::part::Part;
use super::request::{ID, hold_is_one, invalid, positive};
use super::schedule::{Plan, Schedule, best_of, figures};
use super::sensitivity::{Base, Sensitivity, sensitivity};
use super::spread::{Fineness, Outcome, Unknowns, outcome};
use super::window::Window;
use super::work::cycles_caution;
use crate::curve::HardnessAfterTemper;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};
use crate::quantity::{HoldTime, Temperature};
use crate::temper::ConstantBelief;

/// What is asked of the next step.
#[derive(Debug, Clone)]
pub struct RetemperRequest {
    /// What the part measures; HRC.
    pub measured_hrc: f64,
    /// Standard uncertainty of that; HRC.
    pub u_measured_hrc: f64,
    /// Hardness window wanted; HRC.
    pub target: (f64, f64),
    /// What the part has had; nothing where the curve itself is to say from the reading.
    pub earlier: Earlier,
    /// Time of the next step.
    pub time: HoldTime,
    /// The hottest the oven can do.
    pub oven_limit: Option<Temperature>,
    /// What is not known about oven and timer, in this step and the earlier ones. Curve and batch are in the reading; they
    /// count only where the reading alone has to name the earlier temper.
    pub unknowns: Unknowns,
    /// What is believed of C.
    pub c: ConstantBelief,
    /// Bands of temperature that sources warn of for this steel.
    pub bands: Vec<Band>,
}

/// How far under the answer the first step stays: measure after it, and repeat.
const FIRST_STEP_UNDER_C: f64 = 5.0;

impl RetemperRequest {
    fn checked(&self) -> Result<()> {
        let (low, high) = self.target;
        positive("measured_hrc", self.measured_hrc, "HRC")?;
        positive("target_hrc (lower)", low, "HRC")?;
        positive("target_hrc (upper)", high, "HRC")?;
        hold_is_one(self.time, &self.unknowns)?;
        if low >= high {
            let why = format!("is not below the upper limit {high}");
            return Err(invalid("target_hrc", low, "HRC", &why, "Give a number or (lower, upper)"));
        }
        if !(self.u_measured_hrc >= 0.0 && self.u_measured_hrc.is_finite()) {
            let why = "is not a standard uncertainty";
            return Err(invalid("u_measured", self.u_measured_hrc, "HRC", why, "Give zero or more"));
        }
        if let Some(limit) = self.oven_limit {
            positive("oven_limit_c", limit.celsius(), "°C")?;
        }
        self.unknowns.checked()?;
        self.c.checked()?;
        Ok(())
    }
}

/// Schedules for a further temper of a measured part. Where it lies inside the window already, the plan says to leave it
/// and shows what would soften it to the middle.
///
/// # Errors
/// [`Error::NoAnswer`] where the part is already softer than wanted on a curve that only falls; [`Error::InvalidValue`]
/// for a request that makes no sense; [`Error::SeveralAnswers`] where the reading alone does not say which temper the
/// part had; [`Error::Refused`] for a history made for another C.
pub fn retemper(curve: &dyn HardnessAfterTemper, request: &RetemperRequest) -> Result<Plan> {
    request.checked()?;
    let part = Part::new(curve, request)?;
    let (low, high) = request.target;
    let wanted = 0.5 * (low + high);
    let c = request.c.middle();
    let leave = request.leave();
    let may_go = request.measured_hrc > wanted || (curve.has_secondary_hardening() && leave.is_none());
    let goals = if may_go { part.goals(wanted, c)? } else { Vec::new() };
    if goals.is_empty() && leave.is_none() {
        return Err(impossible(curve, request));
    }
    let limit = request.oven_limit.map_or(f64::INFINITY, Temperature::celsius);
    let mut schedules = Vec::new();
    let mut ways = Vec::new();
    for &goal in &goals {
        let at = part.temperature_to(goal, request.time.hours(), c);
        if at <= limit {
            schedules.push(step(&part, goal, at)?);
            ways.push(goal);
        }
    }
    if schedules.is_empty() && leave.is_none() {
        return Err(too_hot(&part, &goals, limit));
    }
    let best = best_of(&schedules);
    let mut made = Plan {
        target: request.target,
        name: curve.name().to_owned(),
        inputs: request.inputs(),
        best,
        first_step: None,
        equivalents: Vec::new(),
        sensitivity: Vec::new(),
        bands: request.bands.clone(),
        cautions: usual_cautions(false)?,
        assumptions: part.assumptions(curve)?,
        schedules,
        earlier: part.earlier.clone(),
        leave,
    };
    if let (Some(chosen), Some(&goal)) = (made.schedules.get(best), ways.get(best)) {
        let first = step(&part, goal, chosen.temperature.celsius() - FIRST_STEP_UNDER_C)?;
        made.equivalents = other_times(&part, goal)?;
        made.sensitivity = changes(&part, chosen)?;
        made.cautions.push(format!(
            "go {FIRST_STEP_UNDER_C} °C under first ({:.0} °C, {} h), measure, repeat: softening can't be taken back, only \
             hardening again brings hardness back",
            first.temperature.celsius(),
            request.time.hours()
        ));
        made.cautions.push(cycles_caution(curve, chosen));
        made.first_step = made.leave.is_none().then_some(first);
    }
    made.cautions.extend(made.leave.clone());
    Ok(made)
}

/// What changes to a further step are worth.
fn changes(part: &Part<'_>, chosen: &Schedule) -> Result<Vec<Sensitivity>> {
    let request = part.request;
    let base = Base {
        temperature_c: chosen.temperature.celsius(),
        time_h: request.time.hours(),
        cycles: 1,
        target: request.target,
        unknowns: request.known_part(),
        c: request.c,
        u_reading_hrc: request.u_measured_hrc.hypot(part.u_offset(chosen.hrc.value())?),
        earlier: &part.off,
    };
    sensitivity(&|t, h, c, off| part.hardness(t, h, c, off), base)
}

impl RetemperRequest {
    /// What was put in, for the record.
    fn inputs(&self) -> Vec<(String, String)> {
        let (low, high) = self.target;
        let mut made = vec![
            ("measured".to_owned(), format!("{} HRC, u = {} HRC", self.measured_hrc, self.u_measured_hrc)),
            ("hardness wanted".to_owned(), format!("{low} to {high} HRC")),
            ("had before".to_owned(), self.earlier.text()),
            ("time of the next step".to_owned(), format!("{} h", self.time.hours())),
        ];
        made.extend(self.oven_limit.map(|limit| ("oven's limit".to_owned(), format!("{} °C", limit.celsius()))));
        made.push(("steel's constant".to_owned(), self.c.text()));
        made.extend(self.unknowns.hold.inputs());
        made
    }

    /// Why to leave a part that reads inside the window; nothing for one outside.
    fn leave(&self) -> Option<String> {
        let (low, high) = self.target;
        let inside = (low..=high).contains(&self.measured_hrc).then(|| {
            let reading = Estimate::new(self.measured_hrc, "HRC").with("reading", self.u_measured_hrc);
            reading.probability_inside(Some(low), Some(high))
        })?;
        Some(format!(
            "nothing to do: {} HRC lies inside {low} to {high} HRC (chance {inside:.2} by the reading's u of {} HRC); a \
             further temper only softens, and that can't be taken back",
            self.measured_hrc, self.u_measured_hrc
        ))
    }

    /// The unknowns that are left once the part itself was measured.
    pub(super) const fn known_part(&self) -> Unknowns {
        Unknowns { u_curve_hrc: 0.0, u_batch_hrc: 0.0, batch_in_curve: false, ..self.unknowns }
    }
}

/// One further hold, carried through.
fn step(part: &Part<'_>, goal_c: f64, temperature_c: f64) -> Result<Schedule> {
    let request = part.request;
    let c = request.c.middle();
    let hours = request.time.hours();
    let hardness = |t: f64, h: f64, c: f64, off: f64| part.hardness(t, h, c, off);
    let softer = hardness(temperature_c, hours, c, 0.0)?;
    let doubt = part.slope_doubt(temperature_c);
    let u_slope = (doubt.u * doubt.stretch_delta_c).abs();
    let normal = [("reading", request.u_measured_hrc), ("offset", part.u_offset(softer)?), ("slope", u_slope)];
    let unknowns = request.known_part();
    let known = (request.c, part.off.as_slice());
    let made = outcome(&hardness, (temperature_c, hours, 1), &unknowns, known, &normal, Fineness::Answer)?;
    let (low, high) = request.target;
    let p_too_soft = made.below(low);
    let mut cautions = vec![format!(
        "a chance of {:.0} in 100 to come out softer than {low} HRC, which can't be taken back",
        100.0 * p_too_soft
    )];
    let side = part.forward.side(goal_c, part.reference.hours(), c)?;
    cautions.extend(side.caution().map(str::to_owned));
    cautions.extend(request.bands.iter().filter_map(|band| band.says(temperature_c, unknowns.reach_delta_c())));
    let said = |outcome: &Outcome| {
        let shift = "offset from the curve carried as a shift";
        outcome.estimate("HRC").assuming(request.c.text()).assuming(shift)
    };
    let (hrc, spread) = (said(&made), said(&made.without("slope")));
    Ok(Schedule {
        temperature: Temperature::from_celsius(temperature_c),
        time: request.time,
        cycles: 1,
        needed: needed_temperature((&spread, &hrc), temperature_c, &|t| part.hardness(t, hours, c, 0.0), doubt),
        hrc,
        p_inside: made.inside(low, high),
        p_too_soft,
        window: window_around(part, goal_c)?,
        sure_window: None,
        side,
        cautions,
    })
}

/// The temperatures of the further hold between which the nominal hardness stays inside the target.
fn window_around(part: &Part<'_>, goal_c: f64) -> Result<Window> {
    let c = part.request.c.middle();
    let hours = part.request.time.hours();
    let (low, high) = part.request.target;
    let mut edges = [part.goals(low, c)?, part.goals(high, c)?].concat();
    edges.sort_by(f64::total_cmp);
    let below = edges.iter().rev().find(|&&edge| edge <= goal_c);
    let above = edges.iter().find(|&&edge| edge >= goal_c);
    let at = |edge: f64| part.temperature_to(edge, hours, c);
    // Without an edge below, the part is inside the window already.
    let low_c = below.map_or(f64::NEG_INFINITY, |&edge| at(edge));
    let high_c = above.map_or(f64::INFINITY, |&edge| at(edge));
    Ok(Window { low_c, high_c })
}

/// A band of a quantity over the ends of what is believed of C.
fn over_c(c: ConstantBelief, unit: &'static str, value: impl Fn(f64) -> f64) -> Estimate {
    let (low, high) = c.ends();
    let ends = (value(low), value(high));
    let (low, high) = (ends.0.min(ends.1), ends.0.max(ends.1));
    let made = Estimate::new(value(c.middle()), unit).assuming(c.text());
    if high > low { made.with("c", (high - low) / 12f64.sqrt()).shaped(Shape::Bounds { low, high }) } else { made }
}

/// Other times for the same step, and time alone at the last temperature.
fn other_times(part: &Part<'_>, goal_c: f64) -> Result<Vec<Equivalent>> {
    let request = part.request;
    let mut made = Vec::new();
    for factor in [0.5, 2.0] {
        let hours = request.time.hours() * factor;
        let temperature = over_c(request.c, "°C", |c| part.temperature_to(goal_c, hours, c));
        let practical = (REACH_H.0..=REACH_H.1).contains(&hours)
            && request.oven_limit.is_none_or(|limit| temperature.value() <= limit.celsius());
        made.push(Equivalent { temperature, time: Estimate::new(hours, "h"), practical, note: String::new() });
    }
    if let Some(last) = part.earlier.last(request.c.middle()) {
        let time = over_c(request.c, "h", |c| part.hours_to(goal_c, c));
        let (short, long) = time.interval(0.95)?;
        let practical = long <= REACH_H.1;
        let range = if short == long { figures(long) } else { format!("{} to {}", figures(short), figures(long)) };
        let verdict = if practical { "" } else { ": hopeless" };
        made.push(Equivalent {
            temperature: Estimate::new(last.celsius(), "°C"),
            time,
            practical,
            note: format!("by time alone, {range} h more at the last temperature{verdict}"),
        });
    }
    Ok(made)
}

fn impossible(curve: &dyn HardnessAfterTemper, request: &RetemperRequest) -> Error {
    let (low, high) = request.target;
    let measured = request.measured_hrc;
    let asked = format!("{low} to {high} HRC from a part that measures {measured} HRC").into();
    let why = if measured < low {
        "softening can't be reversed by tempering"
    } else {
        "no temperature of the curve beyond what the part has had gives it"
    };
    Error::NoAnswer {
        model: curve.name().to_owned().into(),
        asked,
        why: why.into(),
        hint: if measured < low { "Harden the part again, then temper" } else { "Give a curve that covers it" }.into(),
    }
}

fn too_hot(part: &Part<'_>, goals: &[f64], limit: f64) -> Error {
    let request = part.request;
    let goal = goals.first().copied().unwrap_or(f64::NAN);
    let needed = part.temperature_to(goal, request.time.hours(), request.c.middle());
    Error::NoAnswer {
        model: ID.into(),
        asked: format!("a further {} h in an oven that stops at {limit} °C", request.time.hours()).into(),
        why: format!("it needs {needed:.0} °C").into(),
        hint: "Use a hotter oven, or accept the harder part".into(),
    }
}
