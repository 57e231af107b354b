//! What the steel got, from a record with its holes, its sensors and its lag: a two-hour equivalent with a range.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::contributions::Phases;
use super::course::Course;
use super::extent::upper_level;
use super::follow::Follower;
use super::log::{Correction, OvenLog};
use super::repair::Gap;
use super::response::{Following, LagBand, Response, Trace};
use super::role::Role;
use super::sample::stride;
use super::spread::{Source, distributed};
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::kernel::{beside, both};
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
pub(super) const ABOVE_HIGHER_END_C: f64 = 15.0;

/// A sensor whose correction nobody stated, none preferred: within ±1.5 °C or 0.4 % of its reading, whichever is more, as
/// a thermocouple of tolerance class 1 (IEC 60584-1:2013, types K, J, N).
pub(super) fn unstated_sensor_delta_c(reading_c: f64) -> f64 {
    const AT_LEAST_C: f64 = 1.5;
    const SHARE: f64 = 0.004;
    AT_LEAST_C.max(SHARE * reading_c)
}
/// A sensor beside the part sees some air too (an assumption; one standard uncertainty).
pub(super) const BESIDE_THE_PART_C: f64 = 1.0;
/// The air at the part is not the air at its sensor: within ±5 °C, none preferred (an assumption).
pub(super) const POSITION_C: f64 = 5.0;
/// The air moves by more than this while a dead probe beside the part shows one value (judgement).
const DEAD_PROBE_C: f64 = 50.0;
/// Air this near the hold's level counts as holding; what reads so far from it for so long is doubted (judgement).
const HOLDS_WITHIN_C: f64 = 20.0;
const FAR_FROM_AIR_C: f64 = 40.0;
const LAGS_NO_LONGER_S: f64 = 3600.0;
/// What a part weighs in at when it goes into a hot oven.
pub(super) const ROOM_C: f64 = 20.0;

/// How holes are filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fill {
    Low,
    Line,
    High,
}

/// One walk along the record that an answer needs: from where, through which lag, holes filled how, moved by what.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Walk {
    pub start: History,
    pub response: Option<Response>,
    pub fill: Fill,
    pub moved_c: f64,
}

/// What the steel got.
#[derive(Debug, Clone, PartialEq)]
pub struct Received {
    /// The state it left, for the constants asked for; holes joined by lines, the likely lag.
    pub history: History,
    /// The two-hour equivalent with everything that is uncertain about it.
    pub estimate: Estimate,
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
            Some(_) if lag.is_none() => {
                self.refuse_dead_probe()?;
                let mut got = self.received_from(Role::PartSide, c, None, gaps)?;
                if let Some(doubt) = self.part_far_from_air() {
                    got.estimate = got.estimate.assuming(doubt);
                }
                Ok(got)
            }
            _ if self.channel(Role::Air).is_some() => {
                self.received_from(Role::Air, c, Some(Following::Lag(lag.unwrap_or(LagBand::UNKNOWN))), gaps)
            }
            _ => Err(Error::Refused {
                what: "a lag for the part side".into(),
                why: "the record has no air channel, and the part side needs no lag".into(),
                instead: "Leave lag_s out".into(),
            }),
        }
    }

    /// Says that what lies beside the part stays far from hot air for longer than parts lag: a dead or detached probe with
    /// some noise can't be told from a very thick part, so the answer stands.
    fn part_far_from_air(&self) -> Option<String> {
        let values = |role| self.channel(role).map(|channel| channel.values.as_slice());
        let (air, part) = (values(Role::Air)?, values(Role::PartSide)?);
        let every = stride(self.seconds.len());
        let rows = self.seconds.iter().zip(air.iter().zip(part)).step_by(every);
        let there: Vec<(f64, f64, f64)> = rows
            .filter(|(_, (air, part))| air.is_finite() && part.is_finite())
            .map(|(time, (air, part))| (*time, *air, part - air))
            .collect();
        let sampled: Vec<f64> = there.iter().map(|(_, air, _)| *air).collect();
        let hot = upper_level(&sampled) - HOLDS_WITHIN_C;
        let held: Vec<(f64, f64)> =
            there.into_iter().filter(|(_, air, _)| *air >= hot).map(|(time, _, off)| (time, off)).collect();
        let late = held.get(held.len() / 2..)?;
        let lasts = late.last()?.0 - late.first()?.0;
        let off = late.iter().map(|(_, off)| off).sum::<f64>() / late.len() as f64;
        (lasts >= LAGS_NO_LONGER_S && off.abs() >= FAR_FROM_AIR_C).then(|| {
            format!(
                "the probe beside the part is right, though it read {:.0} °C {} than the air on average over the last {:.0} min \
                 of the hold, longer than parts of usual size lag: see whether it was dead, loose or elsewhere",
                off.abs(),
                if off < 0.0 { "less" } else { "more" },
                lasts / 60.0
            )
        })
    }

    /// A probe that shows one value for hours while the air beside it heats or cools measures nothing.
    fn refuse_dead_probe(&self) -> Result<()> {
        let air = self.channel(Role::Air).map(|channel| channel.values.as_slice()).unwrap_or_default();
        for repair in self.repairs.iter().filter(|it| it.kind == "stuck" && it.channel == Some(Role::PartSide)) {
            let Some((from_s, until_s)) = repair.seconds else { continue };
            let inside =
                self.seconds.iter().zip(air).filter(|(time, v)| (from_s..=until_s).contains(*time) && v.is_finite());
            let (low, high) =
                inside.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, &v)| (low.min(v), high.max(v)));
            probe_is_alive((from_s, until_s), high - low)?;
        }
        Ok(())
    }

    pub(super) fn received_from(
        &self,
        role: Role,
        c: ConstantBelief,
        lag: Option<Following>,
        gaps: Gaps,
    ) -> Result<Received> {
        if let Some(lag) = &lag {
            lag.check()?;
        }
        let (hold_c, (doors, course)) = both(|| self.hold_level(), || (self.doors(), self.course(role)));
        let course = course?;
        let first_c = if lag.is_some() { course.part_start() } else { course.first_c() };
        let walks = self.walks(role, c, lag, gaps)?;
        let before_s = self.load.map_or(0.0, |load| load.at_s - self.span_s().0);
        let along = |walk: &Walk| {
            // The first walk is the history that is handed out: it tells its phases apart.
            if walks.first().is_some_and(|first| std::ptr::eq(first, walk)) {
                let mut phases = Phases::new(walk.start.clone(), hold_c, &doors, before_s);
                walk.along(&course, |seconds, celsius| phases.extend(seconds, celsius))?;
                Ok(phases.finish())
            } else {
                let mut history = walk.start.clone();
                walk.along(&course, |seconds, celsius| history.extend(seconds, celsius))?;
                Ok(history)
            }
        };
        let mut ends = each(&walks, &along)?.into_iter();
        self.received_by(role, c, lag, gaps, first_c, &mut |walk| Ok(ends.next().unwrap_or(walk.start)))
    }

    /// The walks that an answer needs, in the order in which it asks for their ends.
    pub(super) fn walks(&self, role: Role, c: ConstantBelief, lag: Option<Following>, gaps: Gaps) -> Result<Vec<Walk>> {
        let mut walks = Vec::new();
        self.received_by(role, c, lag, gaps, ROOM_C, &mut |walk| {
            walks.push(walk.clone());
            // Any end serves: what is asked for does not hang on it.
            let mut end = walk.start;
            end.hold(Temperature::from_celsius(200.0), 7200.0)?;
            Ok(end)
        })?;
        Ok(walks)
    }

    /// What the steel got, by the ends of the walks that `end` is asked for.
    pub(super) fn received_by(
        &self,
        role: Role,
        c: ConstantBelief,
        lag: Option<Following>,
        gaps: Gaps,
        first_c: f64,
        end: &mut dyn FnMut(Walk) -> Result<History>,
    ) -> Result<Received> {
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
        let response = lag.as_ref().map(Following::likely).transpose()?;
        let likely = |start, fill, moved_c| Walk { start, response: response.clone(), fill, moved_c };
        let history = end(likely(History::for_belief(c)?, Fill::Line, 0.0))?;
        let middle = c.middle();
        let at_middle = || History::for_constants(&[middle]);
        let (low_c, high_c) = c.ends();
        // A belief is carried along as a grid, which has its ends and its middle.
        let line = [low_c, middle, high_c].map(|c| history.at_constant(c));
        let nominal = line[1];
        let only = |end: &History| celsius(end).first().copied().unwrap_or(nominal);
        let shift = only(&end(likely(at_middle()?, Fill::Line, 1.0))?) - nominal;
        let mut parts: Vec<Source> = Vec::new();
        let mut estimate = Estimate::new(nominal, "°C").assuming(c.text());
        if !matches!(c, ConstantBelief::Fixed(_)) {
            parts.push(Source::Curve { name: "c", points: line.iter().map(|v| v - nominal).collect() });
        }
        let gap_bounds_c = if gaps == Gaps::Bound && !holes.is_empty() {
            let low = end(likely(at_middle()?, Fill::Low, 0.0))?;
            let bounds = (only(&low), only(&end(likely(at_middle()?, Fill::High, 0.0))?));
            // The upper bound is far, and holds only for the worst: even odds lie on either side of the line, lest nearly
            // all of them lie above it.
            parts.push(Source::Curve { name: "gaps", points: vec![bounds.0 - nominal, 0.0, bounds.1 - nominal] });
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
        if let Some(lag) = lag {
            let mut ends = Vec::new();
            for share in if lag.is_exact() { [].as_slice() } else { SHARES } {
                let (start, behind) = (at_middle()?, Some(lag.at(*share)?));
                // The likely lag has been gone along already.
                ends.push(if behind == response {
                    0.0
                } else {
                    only(&end(Walk { start, response: behind, fill: Fill::Line, moved_c: 0.0 })?) - nominal
                });
            }
            estimate = with_lag(lag, ends, nominal, &mut parts, estimate);
        }
        estimate = self.with_sensors(role, shift, &mut parts, estimate);
        if let Some(Following::Section(section)) =
            lag.filter(|lag| matches!(lag, Following::Section(section) if section.radiation_c > 0.0))
        {
            // Something may stand between: even odds for no rise at all, or the answer would lie outside its own range.
            parts.push(Source::Curve { name: "element", points: vec![0.0, 0.0, section.radiation_c * shift] });
            estimate = estimate.assuming(format!(
                "the part sees an element: it may be up to {:.0} °C hotter than its air; the air's sensor can't see this",
                section.radiation_c
            ));
        }
        estimate = self.with_loading(role, first_c, estimate);
        let estimate = distributed(estimate, &parts);
        Ok(Received { history, estimate, gap_bounds_c, channel: role })
    }

    fn with_sensors(&self, role: Role, shift: f64, parts: &mut Vec<Source>, mut estimate: Estimate) -> Estimate {
        match self.channel(role).and_then(|channel| channel.correction) {
            Some(Correction { value_delta_c, u_delta_c }) => {
                parts.push(Source::Normal { name: "channel correction", u: u_delta_c * shift });
                estimate = estimate
                    .assuming(format!("{} is corrected by {value_delta_c:+} °C, u = {u_delta_c} °C", role.name()));
            }
            None => {
                let within = unstated_sensor_delta_c(estimate.value());
                parts.push(Source::Between { name: "sensor", low: -within * shift, high: within * shift });
                estimate = estimate.assuming(format!(
                    "no correction of {} is stated: its sensor is taken to be within {within:.1} °C",
                    role.name()
                ));
            }
        }
        if role == Role::PartSide {
            parts.push(Source::Normal { name: "beside the part", u: BESIDE_THE_PART_C * shift });
            estimate.assuming(format!("the sensor lies beside the part, not in it: u = {BESIDE_THE_PART_C} °C"))
        } else {
            let half = POSITION_C * shift;
            parts.push(Source::Between { name: "position", low: -half, high: half });
            estimate.assuming(format!("the air at the part is within {POSITION_C} °C of the air at its sensor"))
        }
    }

    fn with_loading(&self, role: Role, first_c: f64, estimate: Estimate) -> Estimate {
        match self.load {
            Some(load) if load.found => {
                estimate.assuming(format!("the part went in at {:.0} s, found in the record", load.at_s))
            }
            Some(load) => estimate.assuming(format!("the part went in at {:.0} s, as given", load.at_s)),
            None => {
                let from = if role == Role::Air { format!(", at {first_c:.0} °C") } else { String::new() };
                estimate.assuming(format!("the part was in the oven from the first row on{from}"))
            }
        }
    }

    /// The holes between the loading and the end that lie in this channel.
    pub(super) fn gaps_that_count(&self, role: Role) -> Vec<Gap> {
        let start = self.load.map_or(f64::NEG_INFINITY, |load| load.at_s);
        let counts = |gap: &&Gap| gap.channel.is_none_or(|channel| channel == role) && gap.end_s > start;
        self.gaps.iter().filter(counts).copied().collect()
    }
}

/// Refuses a probe that showed one value between two instants while the air beside it moved.
pub(super) fn probe_is_alive((from_s, until_s): (f64, f64), air_moved_c: f64) -> Result<()> {
    if air_moved_c > DEAD_PROBE_C {
        return Err(Error::Refused {
            what: "a history from the part side".into(),
            why: format!(
                "it shows one value from {from_s:.0} to {until_s:.0} s while the air moves by {air_moved_c:.0} °C: the \
                 probe is dead, or its channel stood still"
            )
            .into(),
            instead:
                "Ask log.soak(...) or history(lag_s=...), which follow the air, or read the log without that column"
                    .into(),
        });
    }
    Ok(())
}

impl Walk {
    /// Goes along a course: `each` is given the part's temperature, block by block.
    fn along(&self, course: &Course<'_>, mut each: impl FnMut(&[f64], &[f64]) -> Result<()>) -> Result<()> {
        let mut follower = self.response.as_ref().map(|response| Follower::new(response, course.part_start()));
        let (mut part, mut moved) = (Trace::default(), Vec::new());
        course.blocks(self.fill, |seconds, celsius| {
            let Some(follower) = &mut follower else {
                return each(seconds, moved_by(self.moved_c, celsius, &mut moved));
            };
            part.seconds.clear();
            part.celsius.clear();
            follower.follow(seconds, celsius, &mut part);
            each(&part.seconds, moved_by(self.moved_c, &part.celsius, &mut moved))
        })
    }
}

/// Temperatures moved by some degrees, no further down than above absolute zero.
pub(super) fn moved_by<'a>(moved_c: f64, celsius: &'a [f64], made: &'a mut Vec<f64>) -> &'a [f64] {
    if moved_c == 0.0 {
        return celsius;
    }
    made.clear();
    made.extend(celsius.iter().map(|celsius| (celsius + moved_c).max(1.0 - ZERO_CELSIUS_K)));
    made
}

/// Shares of a lag's band that stand for it.
const SHARES: &[f64] = &[0.0, 0.25, 0.5, 0.75, 1.0];

fn with_lag(lag: Following, points: Vec<f64>, nominal: f64, parts: &mut Vec<Source>, estimate: Estimate) -> Estimate {
    if lag.is_exact() {
        return estimate.assuming(format!("the part follows the air with {}, taken as exact", lag.text()));
    }
    let ends = (points.first().copied().unwrap_or(0.0) + nominal, points.last().copied().unwrap_or(0.0) + nominal);
    parts.push(Source::Curve { name: "lag", points });
    estimate.assuming(format!(
        "only the air was logged: the part follows it with {}, which gives {:.1} to {:.1} °C; a probe beside the part \
         settles it",
        lag.text(),
        ends.1.min(ends.0),
        ends.0.max(ends.1)
    ))
}

/// The ends of walks, on several threads where they are long.
fn each(walks: &[Walk], along: &(impl Fn(&Walk) -> Result<History> + Sync)) -> Result<Vec<History>> {
    let ends: Vec<Mutex<Option<Result<History>>>> = walks.iter().map(|_| Mutex::new(None)).collect();
    let next = AtomicUsize::new(0);
    let work = || {
        while let (Some(walk), Some(end)) = {
            let index = next.fetch_add(1, Ordering::Relaxed);
            (walks.get(index), ends.get(index))
        } {
            let made = along(walk);
            if let Ok(mut end) = end.lock() {
                *end = Some(made);
            }
        }
    };
    beside(walks.len(), work, work);
    ends.into_iter().filter_map(|end| end.into_inner().ok().flatten()).collect()
}

fn described(holes: &[Gap]) -> String {
    let spans: Vec<String> =
        holes.iter().take(3).map(|gap| format!("{:.0} to {:.0} s", gap.start_s, gap.end_s)).collect();
    let more = if holes.len() > 3 { format!(" and {} more", holes.len() - 3) } else { String::new() };
    format!("gap {}{more}", spans.join(", "))
}

/// The points that stand for a hole, between its ends. The steps at its ends take a thousandth of it.
pub(super) fn filled(from: (f64, f64), to: (f64, f64), fill: Fill) -> Option<[(f64, f64); 2]> {
    let level = match fill {
        Fill::Line => return None,
        Fill::Low => from.1.min(to.1),
        Fill::High => from.1.max(to.1) + ABOVE_HIGHER_END_C,
    };
    let edge = 1e-3 * (to.0 - from.0);
    Some([(from.0 + edge, level), (to.0 - edge, level)])
}

/// Two-hour equivalents of a history, °C.
fn celsius(history: &History) -> Vec<f64> {
    history.two_hour_equivalents().into_iter().map(Temperature::celsius).collect()
}
