//! The oven while it runs: samples as they come, what the steel got so far, what is left to do.

use serde::{Deserialize, Serialize};

use super::clean::is_no_oven;
use super::log::Correction;
use super::received::{ABOVE_HIGHER_END_C, BESIDE_THE_PART_C, POSITION_C, unstated_sensor_delta_c};
use super::response::{LagBand, Response, Trace};
use super::spike::is_spike;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};
use crate::quantity::{HoldTime, SteelConstant, Temperature};
use crate::record::check_number;
use crate::temper::{ConstantBelief, History, TWO_HOURS, equivalent_time};

/// One course that the steel may have taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Course {
    history: History,
    lag_s: Option<f64>,
    part_c: f64,
    /// The hottest end of what is possible in a hole, or the coldest.
    hole: Hole,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Hole {
    Low,
    Line,
    High,
}

/// What is known beforehand of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WatchOptions {
    /// What is believed of C.
    pub c: ConstantBelief,
    /// The lag of the part behind the air that is fed; nothing where what lies beside the part is fed.
    pub lag: Option<LagBand>,
    /// What is added to each reading.
    pub correction: Option<Correction>,
    /// The part's temperature at the first sample; nothing for the first reading itself.
    pub start_c: Option<f64>,
    /// Samples farther apart than this are a hole, s.
    pub longest_gap_s: f64,
}

/// A record that grows.
///
/// ```
/// use afterquench::oven::{Watch, WatchOptions};
/// use afterquench::temper::ConstantBelief;
/// let c = ConstantBelief::Fixed(18.0);
/// let mut watch = Watch::new(WatchOptions { c, lag: None, correction: None, start_c: None, longest_gap_s: 300.0 }).unwrap();
/// for minute in 0..=60 {
///     watch.feed(60.0 * f64::from(minute), 200.0).unwrap();
/// }
/// let left = watch.left_min(200.0, 200.0).unwrap();
/// assert!((left.value() - 60.0).abs() < 1e-6);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Watch {
    c: ConstantBelief,
    courses: Vec<Course>,
    correction: Option<Correction>,
    start_c: Option<f64>,
    longest_gap_s: f64,
    last: Option<(f64, f64)>,
    /// A sample that jumps; whether it is a spike, the next one tells.
    held: Option<(f64, f64)>,
    holes: usize,
    missing: usize,
    faults: usize,
    spikes: usize,
}

/// The model that its refusals name.
const WATCH: &str = "oven.watch";

impl Watch {
    /// A run that has not begun.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a belief about C, a lag or a gap that make no sense.
    pub fn new(options: WatchOptions) -> Result<Self> {
        if let Some(lag) = &options.lag {
            lag.check()?;
        }
        if let Some(correction) = options.correction {
            correction.check(WATCH, "the channel")?;
        }
        if options.longest_gap_s.is_nan() || options.longest_gap_s <= 0.0 {
            return Err(Error::invalid(
                WATCH,
                "longest_gap_s",
                (options.longest_gap_s, "s"),
                "is no length of time",
                "Give a few times the seconds between samples",
            ));
        }
        let history = History::for_belief(options.c)?;
        let course =
            |lag_s: Option<f64>, hole: Hole| Course { history: history.clone(), lag_s, part_c: f64::NAN, hole };
        let lag = |of: fn(&LagBand) -> f64| options.lag.as_ref().map(of);
        Ok(Self {
            c: options.c,
            courses: vec![
                course(lag(|band| band.high_s), Hole::Low),
                course(lag(|band| band.likely_s), Hole::Line),
                course(lag(|band| band.low_s), Hole::High),
            ],
            correction: options.correction,
            start_c: options.start_c,
            longest_gap_s: options.longest_gap_s,
            last: None,
            held: None,
            holes: 0,
            missing: 0,
            faults: 0,
            spikes: 0,
        })
    }

    /// The next sample: elapsed seconds and a reading in °C.
    ///
    /// A missing reading, one that no oven gives, and a single one that jumps and comes back are left out, and said. A
    /// reading that jumps counts as soon as the next one stays with it.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for time running backwards, or a temperature that can't be.
    pub fn feed(&mut self, time_s: f64, celsius: f64) -> Result<()> {
        if celsius.is_nan() {
            self.missing += 1;
            return Ok(());
        }
        if is_no_oven(celsius, self.last.map_or(celsius, |(_, level)| level)) {
            self.faults += 1;
            return Ok(());
        }
        let celsius = celsius + self.correction.map_or(0.0, |correction| correction.value_delta_c);
        let now = (time_s, celsius);
        if let (Some(before), Some(held)) = (self.last, self.held) {
            if time_s <= held.0 {
                return Err(Error::invalid(
                    WATCH,
                    "time_s",
                    (time_s, "s"),
                    format!("does not come after {} s", held.0),
                    "Feed samples in the order of time",
                ));
            }
            if is_spike(before, held, now) {
                self.spikes += 1;
            } else {
                self.take(held)?;
            }
            self.held = None;
        }
        // A sample counts at once unless it would be a spike if the next were back at the level before.
        match self.last {
            Some(before) if time_s > before.0 && is_spike(before, now, (2.0 * time_s - before.0, before.1)) => {
                self.held = Some(now);
                Ok(())
            }
            _ => self.take(now),
        }
    }

    fn take(&mut self, (time_s, celsius): (f64, f64)) -> Result<()> {
        let Some((before_s, before_c)) = self.last else {
            for course in &mut self.courses {
                course.part_c = self.start_c.filter(|_| course.lag_s.is_some()).unwrap_or(celsius);
                course.history.push(time_s, Temperature::from_celsius(course.part_c))?;
            }
            self.last = Some((time_s, celsius));
            return Ok(());
        };
        let is_hole = time_s - before_s > self.longest_gap_s;
        // All courses take the sample, or none does.
        let mut courses = self.courses.clone();
        for course in &mut courses {
            course.advance((before_s, before_c), (time_s, celsius), is_hole)?;
        }
        self.courses = courses;
        self.holes += usize::from(is_hole);
        self.last = Some((time_s, celsius));
        Ok(())
    }

    /// What the steel got so far: its two-hour equivalent, °C.
    ///
    /// # Errors
    /// [`Error::NoAnswer`] before the second sample.
    pub fn so_far(&self) -> Result<Estimate> {
        let mut ends = self.courses.iter().map(|course| course.history.at_constant(self.c.middle()));
        let (low, likely, high) = (ends.next(), ends.next(), ends.next());
        let (Some(low), Some(likely), Some(high), Some(course)) = (low, likely, high, self.courses.get(1)) else {
            return Err(self.too_early());
        };
        if !likely.is_finite() || course.history.seconds() <= 0.0 {
            return Err(self.too_early());
        }
        let of_c = course.history.estimate();
        let mut made = Estimate::new(likely, "°C").assuming_all(&of_c);
        for part in of_c.components() {
            made = made.with(part.name.clone(), part.u);
        }
        if high > low {
            let name = if course.lag_s.is_some() { "lag and gaps" } else { "gaps" };
            made = made.with(name, (high - low) / 12f64.sqrt());
        }
        if course.lag_s.is_some() {
            made = made
                .with("position", POSITION_C / 3f64.sqrt())
                .assuming(format!("the air at the part is within {POSITION_C} °C of the air at its sensor"));
        } else {
            made = made.with("beside the part", BESIDE_THE_PART_C);
        }
        made = match self.correction {
            Some(correction) => made.with("channel correction", correction.u_delta_c),
            None => {
                let within = unstated_sensor_delta_c(likely);
                made.with("sensor", within / 3f64.sqrt())
                    .assuming(format!("no correction is stated: the sensor is taken to be within {within:.1} °C"))
            }
        };
        if self.holes > 0 {
            made = made.assuming(format!(
                "{} hole(s): taken between flat at the lower end's value and flat at {ABOVE_HIGHER_END_C} °C above the \
                 higher end",
                self.holes
            ));
        }
        if self.missing > 0 {
            made = made.assuming(format!("{} missing reading(s) were left out", self.missing));
        }
        if self.faults > 0 {
            made = made.assuming(format!("{} reading(s) that no oven gives were left out", self.faults));
        }
        if self.spikes > 0 {
            made = made.assuming(format!("{} reading(s) that jumped and came back were left out", self.spikes));
        }
        if let Some((time_s, celsius)) = self.held {
            made = made.assuming(format!(
                "the last reading, {celsius:.1} °C at {time_s:.0} s, jumps and does not count before the next one confirms it"
            ));
        }
        Ok(made)
    }

    /// Minutes at `hold_c` that are left until the steel has what `target_c` for two hours does: bounds over C, lag and
    /// holes. Zero or less: it has it already, and softening can't be taken back.
    ///
    /// # Errors
    /// As [`Self::so_far`]; [`Error::InvalidValue`] for temperatures that can't be.
    pub fn left_min(&self, target_c: f64, hold_c: f64) -> Result<Estimate> {
        self.so_far()?;
        for (argument, celsius) in [("target_c", target_c), ("at_c", hold_c)] {
            check_number(WATCH, argument, "°C", celsius)?;
            if is_no_oven(celsius, celsius) {
                return Err(Error::invalid(
                    WATCH,
                    argument,
                    (celsius, "°C"),
                    "is no temperature of a tempering oven",
                    "Give it in °C",
                ));
            }
        }
        let (target, hold) = (Temperature::from_celsius(target_c), Temperature::from_celsius(hold_c));
        let (mut low, mut high, mut value) = (f64::INFINITY, f64::NEG_INFINITY, f64::NAN);
        for (index, course) in self.courses.iter().enumerate() {
            let constants = course.history.constants();
            let done = course.history.equivalent_times(hold)?;
            let middle = constants.len() / 2;
            for (place, (c, done)) in constants.iter().zip(&done).enumerate() {
                let whole = equivalent_time(target, TWO_HOURS, hold, SteelConstant::for_hours(*c))?;
                let left = 60.0 * (whole.hours() - done.hours());
                low = low.min(left);
                high = high.max(left);
                if index == 1 && place == middle {
                    value = left;
                }
            }
        }
        Ok(Estimate::new(value, "min")
            .with("C, lag and gaps", (high - low) / 12f64.sqrt())
            .shaped(Shape::Bounds { low, high })
            .assuming(self.c.text())
            .assuming(format!("the steel itself at {hold_c} °C from now on"))
            .assuming("what sensor and position leave open is not in these bounds: see what it got so far"))
    }

    /// The state of the likely course.
    #[must_use]
    pub fn history(&self) -> Option<&History> {
        self.courses.get(1).map(|course| &course.history)
    }

    /// The part's temperature now, on the likely course, °C.
    #[must_use]
    pub fn part_c(&self) -> f64 {
        self.courses.get(1).map_or(f64::NAN, |course| course.part_c)
    }

    /// Seconds seen.
    #[must_use]
    pub fn seconds(&self) -> HoldTime {
        HoldTime::from_seconds(self.courses.get(1).map_or(0.0, |course| course.history.seconds()))
    }

    fn too_early(&self) -> Error {
        Error::NoAnswer {
            model: WATCH.into(),
            asked: "what the steel got so far".into(),
            why: "no time has passed yet".into(),
            hint: "Feed at least two samples".into(),
        }
    }
}

impl Course {
    fn advance(&mut self, before: (f64, f64), now: (f64, f64), is_hole: bool) -> Result<()> {
        let mut air = Trace { seconds: vec![before.0], celsius: vec![before.1] };
        let level = match self.hole {
            Hole::Low => Some(before.1.min(now.1)),
            Hole::Line => None,
            Hole::High => Some(before.1.max(now.1) + ABOVE_HIGHER_END_C),
        };
        if let (true, Some(level)) = (is_hole, level) {
            let edge = 1e-3 * (now.0 - before.0);
            air.seconds.extend([before.0 + edge, now.0 - edge]);
            air.celsius.extend([level, level]);
        }
        air.seconds.push(now.0);
        air.celsius.push(now.1);
        let trace = match self.lag_s {
            Some(lag_s) => Response::Lag(lag_s).follow(&air, self.part_c),
            None => air,
        };
        let (seconds, celsius) = (trace.seconds.get(1..), trace.celsius.get(1..));
        self.history.extend(seconds.unwrap_or_default(), celsius.unwrap_or_default())?;
        self.part_c = trace.celsius.last().copied().unwrap_or(self.part_c);
        Ok(())
    }
}
