//! From a hardness window to schedules: temperature, time, cycles, the chance of landing inside, what to watch.

use serde::{Deserialize, Serialize};

use super::cautions::{Band, usual_cautions};
use super::earlier::Earlier;
use super::equivalents::{Equivalent, REACH_H, equivalents, time_at};
use super::forward::Forward;
use super::needed::{SlopeDoubt, needed_temperature};
use super::request::{ID, Request};
use super::sensitivity::{Base, Sensitivity, sensitivity};
use super::spread::{Fineness, KNOWN, Outcome, outcome};
use super::window::{Window, windows};
use super::work::{assumptions, work};
use crate::curve::{BELOW_THE_SCALE, HardnessAfterTemper, SCALE_FROM_HRC, Side};
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::quantity::{HoldTime, Temperature};

/// One way to reach the window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Schedule {
    /// Temperature to set.
    pub temperature: Temperature,
    /// Time of one cycle.
    pub time: HoldTime,
    /// Number of cycles.
    pub cycles: u32,
    /// The hardness it gives.
    pub hrc: Estimate,
    /// The set temperature that would really give that hardness, if all that is unknown were known; none where the curve
    /// is flat.
    pub needed: Option<Estimate>,
    /// The chance that it lies inside the window.
    pub p_inside: f64,
    /// The chance that it comes out softer than the window: tempering can't take that back.
    pub p_too_soft: f64,
    /// Temperatures whose nominal hardness lies inside the window.
    pub window: Window,
    /// Temperatures that stay inside the window whichever way the curve is off by twice its uncertainty.
    pub sure_window: Option<Window>,
    /// Which side of a hump it lies on.
    pub side: Side,
    /// What to watch with this one.
    pub cautions: Vec<String>,
}

/// Schedules and what belongs with them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Hardness window asked for; HRC.
    pub target: (f64, f64),
    /// What the steel or curve is called.
    pub name: String,
    /// What was put in, as `(name, value with unit)`.
    pub inputs: Vec<(String, String)>,
    /// Every way found, coolest first.
    pub schedules: Vec<Schedule>,
    /// Index of the one to take.
    pub best: usize,
    /// A first step that stays on the hard side: for a part that is to be measured again.
    pub first_step: Option<Schedule>,
    /// What does the same as the best schedule.
    pub equivalents: Vec<Equivalent>,
    /// What changes are worth.
    pub sensitivity: Vec<Sensitivity>,
    /// Bands of temperature that sources warn of, wherever the schedules lie.
    pub bands: Vec<Band>,
    /// Cautions for the work itself.
    pub cautions: Vec<String>,
    /// What was assumed.
    pub assumptions: Vec<String>,
    /// What the part has had before the schedules: nothing for a plan.
    pub earlier: Earlier,
    /// Why the part is to be left as it is, where a measured one lies inside the window already.
    pub leave: Option<String>,
}

impl Plan {
    /// The schedule to take; none where the part is to be left as it is, though the schedules tell what would soften it.
    #[must_use]
    pub fn best(&self) -> Option<&Schedule> {
        if self.leave.is_some() { None } else { self.schedules.get(self.best) }
    }

    /// What a part has had once the schedule to take was carried out.
    #[must_use]
    pub fn carried_out(&self) -> Earlier {
        let mut earlier = self.earlier.clone();
        if let Some(best) = self.best() {
            earlier.holds.extend(std::iter::repeat_n((best.temperature, best.time), best.cycles as usize));
        }
        earlier
    }
}

/// Schedules that bring a steel into a hardness window.
///
/// # Errors
/// [`Error::InvalidValue`] for a request that makes no sense; [`Error::NoAnswer`] where no temperature of the curve
/// (or none within the oven's limit) gives the window; what the curve says about the as-quenched hardness.
pub fn plan(curve: &dyn HardnessAfterTemper, request: &Request) -> Result<Plan> {
    request.checked()?;
    if let Some(part) = request.as_quenched.map(|reading| curve.for_as_quenched(reading)).transpose()?.flatten() {
        return plan(part.as_ref(), request);
    }
    let forward = Forward::new(curve, request.as_quenched)?;
    let total_h = request.time.hours() * f64::from(request.cycles);
    let limit_c = request.oven_limit.map_or(f64::INFINITY, Temperature::celsius);
    let found = windows(&forward, request.target, total_h, request.c.middle())?;
    if found.is_empty() {
        return Err(unreachable(&forward, request, total_h)?);
    }
    let mut schedules = Vec::new();
    for window in found.iter().filter(|window| window.low_c <= limit_c) {
        let window = Window { high_c: window.high_c.min(limit_c), ..*window };
        let aim = aim(&forward, request, request.time.hours(), window)?;
        schedules.push(schedule(&forward, request, (aim, request.time.hours()), window)?);
    }
    if schedules.is_empty() {
        schedules.push(longer(&forward, request, &found, limit_c)?);
    }
    let best = best_of(&schedules);
    let Some(chosen) = schedules.get(best) else { return Err(unreachable(&forward, request, total_h)?) };
    let base = base(&forward, request, chosen)?;
    let equivalents = equivalents(
        chosen.temperature,
        HoldTime::from_hours(chosen.time.hours() * f64::from(chosen.cycles)),
        request.c,
        request.oven_limit,
    )?;
    let sensitivity = sensitivity(&|t, h, c, _| forward.hardness(t, h, c), base)?;
    let mut cautions = usual_cautions(true)?;
    cautions.extend(work(curve, request, chosen)?);
    let assumptions = assumptions(curve, &forward, request);
    Ok(Plan {
        target: request.target,
        name: curve.name().to_owned(),
        inputs: request.inputs(),
        best,
        first_step: None,
        equivalents,
        sensitivity,
        bands: request.bands.clone(),
        cautions,
        assumptions,
        schedules,
        earlier: Earlier::default(),
        leave: None,
    })
}

fn base(forward: &Forward<'_>, request: &Request, schedule: &Schedule) -> Result<Base<'static>> {
    let total_h = schedule.time.hours() * f64::from(schedule.cycles);
    Ok(Base {
        temperature_c: schedule.temperature.celsius(),
        time_h: schedule.time.hours(),
        cycles: schedule.cycles,
        target: request.target,
        unknowns: request.unknowns,
        c: request.c,
        u_reading_hrc: forward.u_as_quenched(schedule.temperature.celsius(), total_h, request.c.middle())?,
        earlier: &KNOWN,
    })
}

/// The schedule with the greatest chance; the rising side of a hump only where there is no other.
pub(super) fn best_of(schedules: &[Schedule]) -> usize {
    let rank = |schedule: &Schedule| (schedule.side != Side::Rising, schedule.p_inside);
    let mut best = 0;
    for (index, schedule) in schedules.iter().enumerate() {
        if schedules.get(best).is_some_and(|known| rank(schedule) > rank(known)) {
            best = index;
        }
    }
    best
}

pub(super) fn spread(
    forward: &Forward<'_>,
    request: &Request,
    temperature_c: f64,
    time_h: f64,
    fineness: Fineness,
) -> Result<Outcome> {
    let hardness = |t: f64, h: f64, c: f64, _: f64| forward.hardness(t, h, c);
    let hold = (temperature_c, time_h, request.cycles);
    let (total_h, c) = (time_h * f64::from(request.cycles), request.c.middle());
    let normal = [
        ("curve", request.unknowns.u_curve_hrc),
        ("batch", request.unknowns.u_batch_hrc),
        ("hold", forward.u_hold(temperature_c, total_h, c)?),
        ("as-quenched", forward.u_as_quenched(temperature_c, total_h, c)?),
    ];
    outcome(&hardness, hold, &request.unknowns, (request.c, &KNOWN), &normal, fineness)
}

/// Where in a window to aim: its middle, unless another temperature inside is better by half a per cent of chance. In a
/// window that spans a peak, the rising side is left for the other one where that costs less than five per cent.
fn aim(forward: &Forward<'_>, request: &Request, time_h: f64, window: Window) -> Result<f64> {
    const BETTER: f64 = 0.005;
    const WORTH_LEAVING_THE_RISE: f64 = 0.05;
    const MOST: f64 = 20.0;
    let (low, high) = request.target;
    let (total_h, c) = (time_h * f64::from(request.cycles), request.c.middle());
    let middle = window.middle_c();
    let half = 0.5 * (window.high_c - window.low_c);
    let step = (half / MOST).max(1.0);
    let mut places = vec![middle];
    let mut away = step;
    while away <= half {
        places.extend([middle - away, middle + away]);
        away += step;
    }
    let mut candidates = Vec::with_capacity(places.len());
    for at in places {
        let p = spread(forward, request, at, time_h, Fineness::Search)?.inside(low, high);
        let bonus = if at == middle { BETTER } else { 0.0 };
        candidates.push((at, p + bonus, forward.side(at, total_h, c)? == Side::Rising));
    }
    let top = candidates.iter().map(|(_, p, _)| *p).fold(0.0, f64::max);
    let leaves = |&(_, p, rising): &(f64, f64, bool)| !rising && p > top - WORTH_LEAVING_THE_RISE;
    let some_leave = candidates.iter().any(leaves);
    let best =
        candidates.iter().filter(|candidate| !some_leave || leaves(candidate)).max_by(|a, b| a.1.total_cmp(&b.1));
    Ok(best.map_or(middle, |(at, ..)| *at))
}

/// A longer hold at the oven's limit, for an oven that is not hot enough in the time asked for.
fn longer(forward: &Forward<'_>, request: &Request, found: &[Window], limit_c: f64) -> Result<Schedule> {
    const STEP_H: f64 = 0.25;
    let (low, high) = request.target;
    let cycles = f64::from(request.cycles);
    let mut best: Option<(f64, f64)> = None;
    let mut hours = request.time.hours() + STEP_H;
    while hours * cycles <= REACH_H.1 {
        let inside = forward.range(hours * cycles, request.c.middle());
        if (inside.0..=inside.1).contains(&limit_c) {
            let made = spread(forward, request, limit_c, hours, Fineness::Search)?;
            let p = made.inside(low, high);
            if (low..=high).contains(&made.nominal()) && best.is_none_or(|known| p > known.1) {
                best = Some((hours, p));
            }
        }
        hours += STEP_H;
    }
    let nearest = found.first().map_or(f64::NAN, |window| window.low_c);
    let total = HoldTime::from_hours(request.time.hours() * cycles);
    let Some((hours, _)) = best else {
        let from = (Temperature::from_celsius(nearest), total);
        let (short, long) = time_at(from, Temperature::from_celsius(limit_c), request.c)?.interval(0.95)?;
        return Err(Error::NoAnswer {
            model: ID.into(),
            asked: format!("{low} to {high} HRC in an oven that stops at {limit_c} °C").into(),
            why: format!(
                "{} h need at least {nearest:.0} °C; the same at {limit_c} °C takes {} to {} h ({}): not practical, \
                 and outside two-hour data",
                total.hours(),
                figures(short),
                figures(long),
                request.c.text()
            )
            .into(),
            hint: "Use a hotter oven, or accept a harder part".into(),
        });
    };
    let window = Window { low_c: limit_c, high_c: limit_c };
    let mut made = schedule(forward, request, (limit_c, hours), window)?;
    made.cautions.push(format!(
        "the oven stops at {limit_c} °C: {hours} h a cycle instead of {} h at {nearest:.0} °C or more; how much longer \
         depends on C, so measure before trusting it",
        request.time.hours()
    ));
    Ok(made)
}

/// Two figures, as hours are shown to people.
pub(super) fn figures(hours: f64) -> String {
    if hours >= 10.0 { format!("{hours:.0}") } else { format!("{hours:.1}") }
}

fn schedule(forward: &Forward<'_>, request: &Request, hold: (f64, f64), window: Window) -> Result<Schedule> {
    let (temperature_c, time_h) = hold;
    let (low, high) = request.target;
    let total_h = time_h * f64::from(request.cycles);
    let c = request.c.middle();
    let made = spread(forward, request, temperature_c, time_h, Fineness::Answer)?;
    let guard = 2.0 * request.unknowns.u_curve_hrc.hypot(forward.u_as_quenched(temperature_c, total_h, c)?);
    let narrowed = (low + guard, high - guard);
    // A hair of rounding must not turn a window of one point into none.
    let sure_window = if narrowed.0 <= narrowed.1 + 1e-9 {
        let narrowed = (narrowed.0.min(narrowed.1), narrowed.1);
        windows(forward, narrowed, total_h, c)?
            .into_iter()
            .find(|sure| window.low_c - 1e-6 <= sure.low_c && sure.high_c <= window.high_c + 1e-6)
    } else {
        None
    };
    let side = forward.side(temperature_c, total_h, c)?;
    let p_inside = made.inside(low, high);
    let mut cautions = Vec::new();
    if p_inside < 0.95 {
        cautions.push(format!(
            "a chance of {:.0} in 100 is not a promise: run a coupon of the same bar and hardening first",
            100.0 * p_inside
        ));
    }
    if sure_window.is_none_or(|sure| sure.high_c - sure.low_c < 0.5) {
        cautions.push(format!(
            "the curve is good to ±{guard:.1} HRC, which leaves no width of temperature to promise: it can't be \
             promised from the table alone"
        ));
    }
    cautions.extend(side.caution().map(str::to_owned));
    cautions.extend(forward.cautions(temperature_c, total_h, c));
    if low < SCALE_FROM_HRC {
        cautions.push(format!("the window reaches {BELOW_THE_SCALE}; ask for HRB or HV there"));
    }
    let reach = request.unknowns.reach_delta_c();
    cautions.extend(request.bands.iter().filter_map(|band| band.says(temperature_c, reach)));
    if total_h < REACH_H.0 || total_h > REACH_H.1 {
        cautions.push(format!(
            "{total_h} h in all lies outside {} to {} h, where two-hour data reach",
            REACH_H.0, REACH_H.1
        ));
    }
    let mut seen = Vec::new();
    cautions.retain(|caution| {
        !seen.contains(caution) && {
            seen.push(caution.clone());
            true
        }
    });
    let hrc = made.estimate("HRC").assuming(request.c.text()).assuming(request.unknowns.text());
    Ok(Schedule {
        temperature: Temperature::from_celsius(temperature_c),
        time: HoldTime::from_hours(time_h),
        cycles: request.cycles,
        needed: needed_temperature(
            (&hrc, &hrc),
            temperature_c,
            &|t| forward.hardness(t, total_h, c),
            SlopeDoubt::default(),
        ),
        hrc,
        p_inside,
        p_too_soft: made.below(low),
        window,
        sure_window,
        side,
        cautions,
    })
}

/// Why no temperature gives the window.
pub(super) fn unreachable(forward: &Forward<'_>, request: &Request, total_h: f64) -> Result<Error> {
    let c = request.c.middle();
    let (coolest, hottest) = forward.range(total_h, c);
    let mut reached = (f64::INFINITY, f64::NEG_INFINITY);
    for step in 0..=100 {
        let at = coolest + (hottest - coolest) * f64::from(step) / 100.0;
        let hardness = forward.hardness(at, total_h, c)?;
        reached = (reached.0.min(hardness), reached.1.max(hardness));
    }
    let (low, high) = request.target;
    Ok(Error::NoAnswer {
        model: ID.into(),
        asked: format!("{low} to {high} HRC after {total_h} h").into(),
        why: format!(
            "the curve covers {coolest:.0} to {hottest:.0} °C and gives {:.1} to {:.1} HRC there",
            reached.0, reached.1
        )
        .into(),
        hint: "Ask for a hardness inside that range, choose another steel, or give a curve that covers it".into(),
    })
}
