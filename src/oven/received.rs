//! What the steel got, from a record with its holes, its sensors and its lag: a two-hour equivalent with a range.

use serde::{Deserialize, Serialize};

use super::log::{Correction, OvenLog};
use super::repair::Gap;
use super::role::Role;
use crate::error::{Error, Result};
use crate::estimate::{Draws, Estimate, Shape, normal_quantile};
use crate::quantity::{Temperature, ZERO_CELSIUS_K};
use crate::temper::{ConstantBelief, History};

/// What to do with holes in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Gaps {
    /// Bound what happened: flat at the lower end's value, or flat at 15 °C above the higher.
    #[default]
    Bound,
    /// Join the ends by a straight line, and say so.
    Line,
    /// Refuse a record with holes.
    Refuse,
}

/// How far above the higher end of a hole the temperature may have been (an assumption).
const ABOVE_HIGHER_END_C: f64 = 15.0;

/// A first-order lag of the part behind the air, as a band.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LagBand {
    /// Shortest time constant, s.
    pub low_s: f64,
    /// The likely one.
    pub likely_s: f64,
    /// Longest.
    pub high_s: f64,
}

impl LagBand {
    /// What is assumed when only the air was logged and nothing is said of the part: a blade of 3 to 4 mm in an oven
    /// with a fan to one in still air.
    pub const UNKNOWN: Self = Self { low_s: 200.0, likely_s: 300.0, high_s: 450.0 };

    /// One value, taken as exact.
    #[must_use]
    pub const fn exactly(seconds: f64) -> Self {
        Self { low_s: seconds, likely_s: seconds, high_s: seconds }
    }

    /// The lag at a share of the band, even in its logarithm.
    fn at(&self, share: f64) -> f64 {
        self.low_s * (self.high_s / self.low_s).powf(share)
    }

    fn check(&self) -> Result<()> {
        let rising = self.low_s <= self.likely_s && self.likely_s <= self.high_s;
        if self.low_s > 0.0 && self.high_s.is_finite() && rising {
            return Ok(());
        }
        Err(Error::InvalidValue {
            model: "oven.history".into(),
            argument: "lag_s".into(),
            value: self.low_s,
            unit: "s".into(),
            why: "is no time constant".into(),
            failed: 1,
            of: 1,
            hint: "Give a positive number of seconds, or (low, high)".into(),
        })
    }
}

/// A sensor whose correction nobody stated, none preferred: within ±1.5 °C or 0.4 % of its reading, whichever is more, as
/// a thermocouple of tolerance class 1 (IEC 60584-1:2013, types K, J, N).
const UNSTATED_SENSOR_C: f64 = 1.5;
const UNSTATED_SENSOR_SHARE: f64 = 0.004;
/// A sensor beside the part sees some air too (an assumption; one standard uncertainty).
const BESIDE_THE_PART_C: f64 = 1.0;
/// The air at the part is not the air at its sensor: within ±5 °C, none preferred (an assumption).
const POSITION_C: f64 = 5.0;
/// What a part weighs in at when it goes into a hot oven.
const ROOM_C: f64 = 20.0;

/// Draws for the distribution, and the quantiles kept of it.
const DRAWS: u64 = 4000;
const QUANTILES: usize = 200;

/// How holes are filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fill {
    Low,
    Line,
    High,
}

/// The part's temperature over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trace {
    /// Elapsed seconds, rising.
    pub seconds: Vec<f64>,
    /// °C.
    pub celsius: Vec<f64>,
}

/// What the steel got.
#[derive(Debug, Clone, PartialEq)]
pub struct Received {
    /// The state it left, for the constants asked for; holes joined by lines, the likely lag.
    pub history: History,
    /// The two-hour equivalent with everything that is uncertain about it.
    pub estimate: Estimate,
    /// The trace behind the state.
    pub trace: Trace,
    /// Two-hour equivalent with every hole at its lower and at its upper bound, if there are holes.
    pub gap_bounds_c: Option<(f64, f64)>,
    /// The channel it comes from.
    pub channel: Role,
}

impl OvenLog {
    /// What the steel got: from the part side where the record has it, else from the air through a lag.
    ///
    /// Counting starts when the part went in. Air is never taken for steel: without a part side the lag is a band.
    ///
    /// # Errors
    /// [`Error::Refused`] for a record with holes under [`Gaps::Refuse`], [`Error::InvalidValue`] for a lag that is none.
    ///
    /// ```
    /// use afterquench::oven::{Gaps, ReadOptions, read_log_bytes};
    /// use afterquench::temper::ConstantBelief;
    /// let text = b"elapsed_s,part_side_degc\n0,20\n60,200\n120,200\n180,200\n240,200\n";
    /// let log = read_log_bytes(text, "a text", &ReadOptions::default(), &mut |_, _| true).unwrap();
    /// let c = ConstantBelief::Fixed(20.0);
    /// let got = log.received(c, None, Gaps::Bound).unwrap();
    /// assert!(got.estimate.value() < 170.0);
    /// ```
    pub fn received(&self, c: ConstantBelief, lag: Option<LagBand>, gaps: Gaps) -> Result<Received> {
        match self.channel(Role::PartSide) {
            Some(_) if lag.is_none() => self.received_from(Role::PartSide, c, None, gaps),
            _ if self.channel(Role::Air).is_some() => {
                self.received_from(Role::Air, c, Some(lag.unwrap_or(LagBand::UNKNOWN)), gaps)
            }
            _ => Err(Error::Refused {
                what: "a lag for the part side".into(),
                why: "the record has no air channel, and the part side needs no lag".into(),
                instead: "Leave lag_s out".into(),
            }),
        }
    }

    pub(super) fn received_from(
        &self,
        role: Role,
        c: ConstantBelief,
        lag: Option<LagBand>,
        gaps: Gaps,
    ) -> Result<Received> {
        if let Some(lag) = &lag {
            lag.check()?;
        }
        let holes: Vec<Gap> = self.gaps_that_count(role);
        if gaps == Gaps::Refuse && !holes.is_empty() {
            return Err(Error::Refused {
                what: "a history of this log".into(),
                why: format!(
                    "it has {} gap(s), the first from {:.0} to {:.0} s",
                    holes.len(),
                    holes.first().map_or(0.0, |g| g.start_s),
                    holes.first().map_or(0.0, |g| g.end_s)
                )
                .into(),
                instead: "Ask for gaps=\"bound\" to have them bounded".into(),
            });
        }
        let likely = |fill| self.part_trace_filled(role, lag.map(|lag| lag.likely_s), fill);
        let trace = likely(Fill::Line)?;
        let history = accumulated(History::for_belief(c)?, &trace, 0.0)?;
        let middle = c.middle();
        let (low_c, high_c) = c.ends();
        let cs = [low_c, middle, high_c];
        let line = equivalents(&trace, &cs, 0.0)?;
        let nominal = line.get(1).copied().unwrap_or(f64::NAN);
        let shift = equivalents(&trace, &[middle], 1.0)?.first().map_or(1.0, |moved| moved - nominal);
        let mut parts: Vec<Part> = Vec::new();
        let mut estimate = Estimate::new(nominal, "°C").assuming(c.text());
        if !matches!(c, ConstantBelief::Fixed(_)) {
            parts.push(Part::Curve { name: "c", points: line.iter().map(|v| v - nominal).collect() });
        }
        let gap_bounds_c = if gaps == Gaps::Bound && !holes.is_empty() {
            let (low, high) =
                (equivalents(&likely(Fill::Low)?, &[middle], 0.0)?, equivalents(&likely(Fill::High)?, &[middle], 0.0)?);
            let only = |values: &[f64]| values.first().copied().unwrap_or(nominal);
            let bounds = (only(&low), only(&high));
            // The upper bound is far, and holds only for the worst: even odds lie on either side of the line, lest nearly
            // all of them lie above it.
            parts.push(Part::Curve { name: "gaps", points: vec![bounds.0 - nominal, 0.0, bounds.1 - nominal] });
            estimate = estimate.assuming(format!(
                "{}: taken between flat at the lower end's value and flat at {ABOVE_HIGHER_END_C} °C above the higher \
                 end, which gives {:.1} to {:.1} °C",
                described(&holes),
                bounds.0,
                bounds.1
            ));
            Some(bounds)
        } else {
            if !holes.is_empty() {
                estimate = estimate.assuming(format!(
                    "{}: joined by straight lines, by request; what happened there is unknown",
                    described(&holes)
                ));
            }
            None
        };
        estimate = self.with_lag(role, lag, middle, nominal, &mut parts, estimate)?;
        estimate = self.with_sensors(role, shift, &mut parts, estimate);
        estimate = self.with_loading(role, &trace, estimate);
        let estimate = distributed(estimate, &parts);
        Ok(Received { history, estimate, trace, gap_bounds_c, channel: role })
    }

    fn with_lag(
        &self,
        role: Role,
        lag: Option<LagBand>,
        middle_c: f64,
        nominal: f64,
        parts: &mut Vec<Part>,
        estimate: Estimate,
    ) -> Result<Estimate> {
        let Some(lag) = lag else { return Ok(estimate) };
        if lag.low_s == lag.high_s {
            return Ok(estimate
                .assuming(format!("the part follows the air with a lag of {:.0} s, taken as exact", lag.likely_s)));
        }
        let middle = [middle_c];
        let mut points = Vec::new();
        for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let trace = self.part_trace(role, Some(lag.at(share)))?;
            points.push(equivalents(&trace, &middle, 0.0)?.first().map_or(f64::NAN, |value| value - nominal));
        }
        let ends = (points.first().copied().unwrap_or(0.0) + nominal, points.last().copied().unwrap_or(0.0) + nominal);
        parts.push(Part::Curve { name: "lag", points });
        Ok(estimate.assuming(format!(
            "only the air was logged: the part follows it with a lag of {:.0} to {:.0} s, which gives {:.1} to {:.1} °C; \
             a probe beside the part settles it",
            lag.low_s, lag.high_s, ends.1.min(ends.0), ends.0.max(ends.1)
        )))
    }

    fn with_sensors(&self, role: Role, shift: f64, parts: &mut Vec<Part>, mut estimate: Estimate) -> Estimate {
        match self.channel(role).and_then(|channel| channel.correction) {
            Some(Correction { value_delta_c, u_delta_c }) => {
                parts.push(Part::Normal { name: "channel correction", u: u_delta_c * shift });
                estimate = estimate
                    .assuming(format!("{} is corrected by {value_delta_c:+} °C, u = {u_delta_c} °C", role.name()));
            }
            None => {
                let within = UNSTATED_SENSOR_C.max(UNSTATED_SENSOR_SHARE * estimate.value());
                parts.push(Part::Between { name: "sensor", low: -within * shift, high: within * shift });
                estimate = estimate.assuming(format!(
                    "no correction of {} is stated: its sensor is taken to be within {within:.1} °C",
                    role.name()
                ));
            }
        }
        if role == Role::PartSide {
            parts.push(Part::Normal { name: "beside the part", u: BESIDE_THE_PART_C * shift });
            estimate.assuming(format!("the sensor lies beside the part, not in it: u = {BESIDE_THE_PART_C} °C"))
        } else {
            let half = POSITION_C * shift;
            parts.push(Part::Between { name: "position", low: -half, high: half });
            estimate.assuming(format!("the air at the part is within {POSITION_C} °C of the air at its sensor"))
        }
    }

    fn with_loading(&self, role: Role, trace: &Trace, estimate: Estimate) -> Estimate {
        match self.load {
            Some(load) if load.found => {
                estimate.assuming(format!("the part went in at {:.0} s, found in the record", load.at_s))
            }
            Some(load) => estimate.assuming(format!("the part went in at {:.0} s, as given", load.at_s)),
            None => {
                let start = trace.celsius.first().copied().unwrap_or(ROOM_C);
                let from = if role == Role::Air { format!(", at {start:.0} °C") } else { String::new() };
                estimate.assuming(format!("the part was in the oven from the first row on{from}"))
            }
        }
    }

    /// The holes between the loading and the end that lie in this channel.
    fn gaps_that_count(&self, role: Role) -> Vec<Gap> {
        let start = self.load.map_or(f64::NEG_INFINITY, |load| load.at_s);
        let counts = |gap: &&Gap| gap.channel.is_none_or(|channel| channel == role) && gap.end_s > start;
        self.gaps.iter().filter(counts).copied().collect()
    }

    /// The part's temperature from one channel, holes joined by lines, through a lag if there is one.
    pub(super) fn part_trace(&self, role: Role, lag_s: Option<f64>) -> Result<Trace> {
        self.part_trace_filled(role, lag_s, Fill::Line)
    }

    /// The part's temperature from one channel, holes filled, through a lag if there is one.
    fn part_trace_filled(&self, role: Role, lag_s: Option<f64>, fill: Fill) -> Result<Trace> {
        let values = self.channel(role).map(|channel| channel.values.as_slice()).unwrap_or_default();
        let start = self.load.map_or(f64::NEG_INFINITY, |load| load.at_s);
        let holes = self.gaps_that_count(role);
        let mut made = Trace { seconds: Vec::with_capacity(values.len()), celsius: Vec::with_capacity(values.len()) };
        let mut next = holes.iter().peekable();
        for (&time, &value) in self.seconds.iter().zip(values) {
            if time < start || !value.is_finite() {
                continue;
            }
            if let (Some(&before), Some(&from)) = (made.celsius.last(), made.seconds.last()) {
                if next.peek().is_some_and(|gap| gap.start_s == from && gap.end_s == time) {
                    next.next();
                    fill_hole(&mut made, (from, before), (time, value), fill);
                }
            } else {
                while next.peek().is_some_and(|gap| gap.end_s <= time) {
                    next.next();
                }
            }
            made.seconds.push(time);
            made.celsius.push(value);
        }
        if made.seconds.len() < 2 {
            return Err(Error::NoAnswer {
                model: "oven.history".into(),
                asked: "what the steel got".into(),
                why: format!("{} has fewer than two readings after the part went in", role.name()).into(),
                hint: "Check load_s".into(),
            });
        }
        let Some(lag_s) = lag_s else { return Ok(made) };
        let first = made.celsius.first().copied().unwrap_or(ROOM_C);
        // A part put into a hot oven is at room temperature; one that heats with the oven starts with it.
        let part_start = if self.load.is_some() || first > 3.0 * ROOM_C { ROOM_C.min(first) } else { first };
        Ok(lagged(&made, lag_s, part_start))
    }
}

fn described(holes: &[Gap]) -> String {
    let spans: Vec<String> =
        holes.iter().take(3).map(|gap| format!("{:.0} to {:.0} s", gap.start_s, gap.end_s)).collect();
    let more = if holes.len() > 3 { format!(" and {} more", holes.len() - 3) } else { String::new() };
    format!("gap {}{more}", spans.join(", "))
}

/// Puts the points that stand for a hole between its ends. The steps at its ends take a thousandth of it.
fn fill_hole(made: &mut Trace, from: (f64, f64), to: (f64, f64), fill: Fill) {
    let level = match fill {
        Fill::Line => return,
        Fill::Low => from.1.min(to.1),
        Fill::High => from.1.max(to.1) + ABOVE_HIGHER_END_C,
    };
    let edge = 1e-3 * (to.0 - from.0);
    made.seconds.extend([from.0 + edge, to.0 - edge]);
    made.celsius.extend([level, level]);
}

/// A first-order lag behind a trace of straight lines, exact at its points; long steps are divided.
pub(super) fn lagged(air: &Trace, lag_s: f64, start_c: f64) -> Trace {
    let mut made =
        Trace { seconds: Vec::with_capacity(air.seconds.len()), celsius: Vec::with_capacity(air.seconds.len()) };
    let mut part = start_c;
    let mut before: Option<(f64, f64)> = None;
    for (&time, &value) in air.seconds.iter().zip(&air.celsius) {
        if let Some((then, from)) = before {
            let pieces = ((time - then) / (0.1 * lag_s)).ceil().clamp(1.0, 1e6);
            let dt = (time - then) / pieces;
            let rise = (value - from) / pieces;
            let fade = (-dt / lag_s).exp();
            for piece in 0..pieces as u64 {
                let goal = from + rise * piece as f64;
                let trailing = rise / dt * lag_s;
                part = goal + rise - trailing + (part - goal + trailing) * fade;
                made.seconds.push(then + dt * (piece + 1) as f64);
                made.celsius.push(part);
            }
            if let Some(last) = made.seconds.last_mut() {
                *last = time;
            }
        } else {
            made.seconds.push(time);
            made.celsius.push(part);
        }
        before = Some((time, value));
    }
    made
}

/// The state after a trace, moved by some degrees.
fn accumulated(mut history: History, trace: &Trace, moved_c: f64) -> Result<History> {
    for (&time, &celsius) in trace.seconds.iter().zip(&trace.celsius) {
        history.push(time, Temperature::from_celsius((celsius + moved_c).max(1.0 - ZERO_CELSIUS_K)))?;
    }
    Ok(history)
}

/// Two-hour equivalents of a trace moved by some degrees, for several constants.
fn equivalents(trace: &Trace, constants: &[f64], moved_c: f64) -> Result<Vec<f64>> {
    let history = accumulated(History::for_constants(constants)?, trace, moved_c)?;
    Ok(history.two_hour_equivalents().into_iter().map(Temperature::celsius).collect())
}

/// One source of uncertainty of the two-hour equivalent, as what it adds to the nominal value.
#[derive(Debug, Clone, PartialEq)]
enum Part {
    /// Along a curve of evenly spaced shares, none preferred.
    Curve { name: &'static str, points: Vec<f64> },
    /// Between two values, none preferred (JCGM 100:2008, 4.3.7: only bounds are known).
    Between { name: &'static str, low: f64, high: f64 },
    /// Normal.
    Normal { name: &'static str, u: f64 },
}

impl Part {
    const fn name(&self) -> &'static str {
        match self {
            Self::Curve { name, .. } | Self::Between { name, .. } | Self::Normal { name, .. } => name,
        }
    }

    /// What it adds at a probability.
    fn at(&self, probability: f64) -> f64 {
        match self {
            Self::Curve { points, .. } => {
                let place = probability * (points.len().saturating_sub(1)) as f64;
                let below = (place as usize).min(points.len().saturating_sub(2));
                match (points.get(below), points.get(below + 1)) {
                    (Some(a), Some(b)) => a + (b - a) * (place - below as f64),
                    _ => 0.0,
                }
            }
            Self::Between { low, high, .. } => low + probability * (high - low),
            Self::Normal { u, .. } => u * normal_quantile(probability),
        }
    }

    /// Its standard deviation.
    fn u(&self) -> f64 {
        let n = 200;
        let values: Vec<f64> = (0..n).map(|i| self.at((f64::from(i) + 0.5) / f64::from(n))).collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        match self {
            Self::Normal { u, .. } => *u,
            _ => (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / values.len() as f64).sqrt(),
        }
    }
}

/// The parts' joint distribution about the nominal value, by draws that depend on nothing but their number.
fn distributed(mut estimate: Estimate, parts: &[Part]) -> Estimate {
    let nominal = estimate.value();
    for part in parts {
        estimate = estimate.with(part.name(), part.u());
    }
    let streams: Vec<Draws> = (0..parts.len() as u64).map(|stream| Draws::new(2, stream)).collect();
    let mut values: Vec<f64> = (0..DRAWS)
        .map(|index| parts.iter().zip(&streams).fold(nominal, |sum, (part, draws)| sum + part.at(draws.uniform(index))))
        .collect();
    values.sort_by(f64::total_cmp);
    let stride = DRAWS as usize / QUANTILES;
    let kept: Vec<f64> = values.chunks(stride).map(|chunk| chunk.iter().sum::<f64>() / chunk.len() as f64).collect();
    if parts.is_empty() { estimate } else { estimate.shaped(Shape::Quantiles(kept)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A first-order lag behind a ramp trails it by rate × time constant (linear systems theory).
    #[test]
    fn lag_behind_a_ramp() {
        let air = Trace { seconds: vec![0.0, 6000.0], celsius: vec![20.0, 520.0] };
        let part = lagged(&air, 300.0, 20.0);
        let trailing = 520.0 - part.celsius.last().unwrap();
        assert!((trailing - 500.0 / 6000.0 * 300.0).abs() < 1e-6, "{trailing}");
    }
}
