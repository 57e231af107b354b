//! Accumulated temper as a state: dM/dt = (T / ln 10) 10^(C - M/T).
//!
//! What time does to it, exactly at constant temperature and to a stated bound along a line, is in `advance`.

use serde::{Deserialize, Serialize};

use super::advance::State;
use super::constant::ConstantBelief;
use super::equivalence::TWO_HOURS;
use super::parameter::{check_temperature, check_time};
use crate::error::{Error, Result, Text};
use crate::estimate::{Estimate, Shape};
use crate::kernel::{all_between, never_falls};
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};

/// The record of accumulated temper.
pub static TEMPER_HISTORY: ModelRecord = ModelRecord {
    id: "temper.history",
    gives: "tempering parameter that a temperature history leaves",
    unit: "K",
    formula: "dM/dt = (T / ln 10) 10^(C - M/T), T in K, t in h; exact at constant T, within 1e-11 of the equivalent time for each piece of a ramp",
    ranges: &[ValidRange {
        argument: "temperature_c",
        unit: "°C",
        low: -273.15,
        high: 2862.0,
        stated_by: "absolute zero and the boiling point of iron",
    }],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "J. H. Hollomon and L. D. Jaffe, Time-temperature relations in tempering steel, Trans. AIME 162 (1945) 223",
        at: "M taken as the state of the steel (equal M, equal state): an assumption",
        origin: Origin::FromMemory,
    }],
    errata: &["the order of two steps matters by 0.03 to 0.2 °C: an artefact of the rule, far below its uncertainty"],
    not_for: "steels across a secondary-hardening peak, or where retained austenite transforms between cycles",
};

const ID: &str = TEMPER_HISTORY.id;

/// How finely a belief about C is carried along, where it is not one number.
const GRID: usize = 11;

/// The temper a part has received, for one C or several.
///
/// ```
/// use afterquench::temper::History;
/// use afterquench::Temperature;
/// let mut history = History::for_constants(&[20.0]).unwrap();
/// history.hold(Temperature::from_celsius(200.0), 7200.0).unwrap();
/// assert!((history.two_hour_equivalents()[0].celsius() - 200.0).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct History {
    belief: Option<ConstantBelief>,
    lanes: Vec<State>,
    last: Option<(f64, f64)>,
    seconds: f64,
    stretches: Vec<Stretch>,
}

/// A named stretch of a history and the state at its end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Stretch {
    label: Text,
    seconds: f64,
    m: Vec<f64>,
    /// Whether its seconds are of this history: what is named but left out has some too.
    counts: bool,
}

/// How much of a history came from one stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The stretch.
    pub label: Text,
    /// Its length.
    pub seconds: f64,
    /// Its share of the equivalent time at the two-hour equivalent temperature, at the middle C.
    pub share: f64,
}

impl History {
    /// A part as quenched, for each of these C (hours).
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a C that is not finite, [`Error::MissingArgument`] for none at all.
    pub fn for_constants(constants: &[f64]) -> Result<Self> {
        if constants.is_empty() {
            return Err(Error::MissingArgument {
                function: ID.into(),
                argument: "c".into(),
                why: "a history is the history for a C".into(),
                hint: "Give at least one number".into(),
            });
        }
        for &c in constants {
            ConstantBelief::Fixed(c).checked()?;
        }
        let lanes = constants.iter().map(|&c| State::new(c)).collect();
        Ok(Self { belief: None, lanes, last: None, seconds: 0.0, stretches: Vec::new() })
    }

    /// A part as quenched, for a belief about C that is carried along as a grid.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a belief whose numbers make no sense.
    pub fn for_belief(belief: ConstantBelief) -> Result<Self> {
        belief.checked()?;
        let (low, high) = belief.ends();
        let constants: Vec<f64> = if low == high {
            vec![low]
        } else {
            (0..GRID).map(|i| low + (high - low) * i as f64 / (GRID - 1) as f64).collect()
        };
        Ok(Self { belief: Some(belief), ..Self::for_constants(&constants)? })
    }

    /// The constants it was made for.
    #[must_use]
    pub fn constants(&self) -> Vec<f64> {
        self.lanes.iter().map(State::constant).collect()
    }

    /// The belief it was made for, if it was made for one.
    #[must_use]
    pub const fn belief(&self) -> Option<ConstantBelief> {
        self.belief
    }

    /// Seconds that passed.
    #[must_use]
    pub const fn seconds(&self) -> f64 {
        self.seconds
    }

    /// Time at one temperature, exactly.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a temperature at or below absolute zero, a negative or infinite time, or NaN.
    pub fn hold(&mut self, temperature: Temperature, seconds: f64) -> Result<()> {
        self.ramp(temperature, temperature, seconds)
    }

    /// Time along a straight line between two temperatures.
    ///
    /// # Errors
    /// As [`Self::hold`].
    pub fn ramp(&mut self, from: Temperature, to: Temperature, seconds: f64) -> Result<()> {
        for celsius in [from.celsius(), to.celsius()] {
            check_temperature(ID, "temperature_c", celsius)?;
            refuse_nan("temperature_c", "°C", celsius)?;
        }
        for celsius in [from.celsius(), to.celsius()] {
            TEMPER_HISTORY.check("temperature_c", celsius)?;
        }
        refuse_nan("time_s", "s", seconds)?;
        check_finite(ID, "time_s", "s", seconds)?;
        if seconds < 0.0 {
            return Err(invalid("time_s", "s", seconds, "is a negative time"));
        }
        let hours = seconds / 3600.0;
        for lane in &mut self.lanes {
            lane.ramp(from.kelvin(), to.kelvin(), hours);
        }
        self.seconds += seconds;
        Ok(())
    }

    /// The next sample of a trace; samples are joined by straight lines.
    ///
    /// # Errors
    /// As [`Self::hold`]; also when time does not move forward.
    pub fn push(&mut self, time_s: f64, temperature: Temperature) -> Result<()> {
        self.extend(&[time_s], &[temperature.celsius()])
    }

    /// The next samples of a trace, seconds and °C, as [`Self::push`] for each; if one is refused, none is taken.
    ///
    /// # Errors
    /// As [`Self::push`]; [`Error::Refused`] for columns of unequal length.
    pub fn extend(&mut self, time_s: &[f64], temperature_c: &[f64]) -> Result<()> {
        if time_s.len() != temperature_c.len() {
            return Err(Error::Refused {
                what: "a trace".into(),
                why: format!("it has {} times and {} temperatures", time_s.len(), temperature_c.len()).into(),
                instead: "Give one time for each temperature".into(),
            });
        }
        let (Some(&first), Some(&last)) = (time_s.first(), time_s.last()) else { return Ok(()) };
        check_samples(self.last.map(|(before, _)| before), time_s, temperature_c)?;
        if let (Some((before, from)), Some(&to)) = (self.last, temperature_c.first()) {
            for lane in &mut self.lanes {
                lane.trace(&[before, first], &[from, to]);
            }
        }
        for lane in &mut self.lanes {
            lane.trace(time_s, temperature_c);
        }
        self.seconds += last - self.last.map_or(first, |(before, _)| before);
        self.last = temperature_c.last().map(|&celsius| (last, celsius));
        Ok(())
    }

    /// Forgets where the last sample was, so that the next one starts a new trace on the same part.
    pub fn lift(&mut self) {
        self.last = None;
    }

    /// Ends a stretch under a name: what came since the last one is its contribution.
    pub fn mark(&mut self, label: impl Into<Text>) {
        let before: f64 = self.stretches.iter().filter(|stretch| stretch.counts).map(|stretch| stretch.seconds).sum();
        let m = self.lanes.iter().map(State::parameter).collect();
        self.stretches.push(Stretch { label: label.into(), seconds: self.seconds - before, m, counts: true });
    }

    /// Names a stretch of time that was left out, as an empty oven's: it contributes nothing, and is listed.
    pub fn mark_apart(&mut self, label: impl Into<Text>, seconds: f64) {
        let m = self.lanes.iter().map(State::parameter).collect();
        self.stretches.push(Stretch { label: label.into(), seconds, m, counts: false });
    }

    /// How many stretches are marked.
    pub(crate) fn marks(&self) -> usize {
        self.stretches.len()
    }

    /// Forgets the marks behind the first few: what they ended goes on.
    pub(crate) fn keep_marks(&mut self, count: usize) {
        self.stretches.truncate(count);
    }

    /// Takes one mark back: its stretch goes over into the next one.
    pub(crate) fn join_mark(&mut self, index: usize) {
        if index >= self.stretches.len() {
            return;
        }
        let joined = self.stretches.remove(index);
        if let Some(next) = self.stretches.get_mut(index) {
            next.seconds += joined.seconds;
        }
    }

    /// M for each C; -∞ for a part that was never warm.
    #[must_use]
    pub fn parameters(&self) -> Vec<f64> {
        self.lanes.iter().map(State::parameter).collect()
    }

    /// The flat temperature that does the same in two hours, for each C.
    #[must_use]
    pub fn two_hour_equivalents(&self) -> Vec<Temperature> {
        self.lanes.iter().map(|lane| Temperature::from_celsius(two_hours_celsius(lane))).collect()
    }

    /// The hours at a flat temperature that do the same, for each C.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a temperature at or below absolute zero.
    pub fn equivalent_times(&self, reference: Temperature) -> Result<Vec<HoldTime>> {
        check_temperature(ID, "reference_c", reference.celsius())?;
        let hours = |lane: &State| lane.log2_hours(reference.kelvin()).exp2();
        Ok(self.lanes.iter().map(|lane| HoldTime::from_hours(hours(lane))).collect())
    }

    /// The two-hour equivalent temperature with the range that C gives it.
    #[must_use]
    pub fn estimate(&self) -> Estimate {
        let belief = self.belief.unwrap_or_else(|| {
            let low = self.lanes.iter().map(State::constant).fold(f64::INFINITY, f64::min);
            let high = self.lanes.iter().map(State::constant).fold(f64::NEG_INFINITY, f64::max);
            if low == high { ConstantBelief::Fixed(low) } else { ConstantBelief::Flat { low, high } }
        });
        let value = self.at_constant(belief.middle());
        let (low, high) = belief.ends();
        let ends = (self.at_constant(low), self.at_constant(high));
        let estimate = Estimate::new(value, "°C")
            .with("c", spread(belief, 0.5 * (ends.1 - ends.0)))
            .assuming(belief.text())
            .assuming("two-hour equivalent: the flat temperature that leaves the same parameter in two hours");
        if ends.0 == ends.1 { estimate } else { estimate.shaped(self.skew(belief)) }
    }

    /// The two-hour equivalent at a C between those carried along, by interpolation; °C.
    #[must_use]
    pub fn at_constant(&self, c: f64) -> f64 {
        let mut sorted: Vec<(f64, f64)> =
            self.lanes.iter().map(|lane| (lane.constant(), two_hours_celsius(lane))).collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let above = sorted.partition_point(|&(known, _)| known < c);
        match (above.checked_sub(1).and_then(|i| sorted.get(i)), sorted.get(above)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (c - a.0) / (b.0 - a.0),
            (None, Some(end)) | (Some(end), None) => end.1,
            (None, None) => f64::NAN,
        }
    }

    /// The distribution that a belief about C gives the equivalent temperature: it need not be symmetric.
    fn skew(&self, belief: ConstantBelief) -> Shape {
        const POINTS: usize = 200;
        let mut values: Vec<f64> =
            (0..POINTS).map(|i| self.at_constant(belief.at((i as f64 + 0.5) / POINTS as f64))).collect();
        values.sort_by(f64::total_cmp);
        Shape::Quantiles(values)
    }

    /// How much came from each marked stretch, at the middle C; what came after the last mark is "the rest".
    #[must_use]
    pub fn contributions(&self) -> Vec<Contribution> {
        let middle = self.lanes.len() / 2;
        let Some(lane) = self.lanes.get(middle) else { return Vec::new() };
        let reference = lane.kelvin_for(TWO_HOURS.hours());
        let hours = |m: f64| State::restored(lane.constant(), m).log2_hours(reference).exp2();
        let total = hours(lane.parameter());
        let mut before = 0.0;
        let mut made = Vec::new();
        let mut marked = 0.0;
        for stretch in &self.stretches {
            let now = stretch.m.get(middle).map_or(0.0, |&m| hours(m));
            made.push(Contribution {
                label: stretch.label.clone(),
                seconds: stretch.seconds,
                share: (now - before) / total,
            });
            before = now;
            marked += if stretch.counts { stretch.seconds } else { 0.0 };
        }
        if self.seconds - marked > 1e-9 * self.seconds || made.is_empty() {
            let label = if made.is_empty() { "all of it" } else { "the rest" };
            made.push(Contribution {
                label: label.into(),
                seconds: self.seconds - marked,
                share: (total - before) / total,
            });
        }
        made
    }
}

/// Contributions of one label together, in the order of their first appearance.
#[must_use]
pub fn by_label(contributions: Vec<Contribution>) -> Vec<Contribution> {
    let mut made: Vec<Contribution> = Vec::new();
    for part in contributions {
        match made.iter_mut().find(|known| known.label == part.label) {
            Some(known) => {
                known.seconds += part.seconds;
                known.share += part.share;
            }
            None => made.push(part),
        }
    }
    made
}

/// The standard uncertainty that half the change between the ends of a belief stands for.
fn spread(belief: ConstantBelief, half_change: f64) -> f64 {
    match belief {
        ConstantBelief::Fixed(_) => 0.0,
        ConstantBelief::Normal { .. } => 0.5 * half_change.abs(),
        ConstantBelief::Flat { .. } => half_change.abs() / 3f64.sqrt(),
    }
}

fn two_hours_celsius(lane: &State) -> f64 {
    lane.kelvin_for(TWO_HOURS.hours()) - ZERO_CELSIUS_K
}

/// Every value a finite number above `bound`.
fn check_column(argument: &'static str, unit: &'static str, values: &[f64], bound: f64) -> Result<()> {
    let good = |value: f64| value > bound && value < f64::INFINITY;
    if all_between(values, bound, f64::INFINITY) {
        return Ok(());
    }
    let failed = values.iter().filter(|&&value| !good(value)).count();
    let Some(&bad) = values.iter().find(|&&value| !good(value)) else { return Ok(()) };
    refuse_nan(argument, unit, bad)
        .and_then(|()| check_finite(ID, argument, unit, bad))
        .and_then(|()| check_temperature(ID, argument, bad))
        .map_err(|error| error.counted(failed, values.len()))
}

/// Every sample a number, every temperature above absolute zero, no time before the one it follows.
fn check_samples(before: Option<f64>, time_s: &[f64], temperature_c: &[f64]) -> Result<()> {
    check_column("time_s", "s", time_s, f64::NEG_INFINITY)?;
    check_column("temperature_c", "°C", temperature_c, -ZERO_CELSIUS_K)?;
    let hottest = TEMPER_HISTORY.ranges.iter().map(|range| range.high).fold(f64::INFINITY, f64::min);
    if !all_between(temperature_c, f64::NEG_INFINITY, hottest) {
        let hottest = temperature_c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        TEMPER_HISTORY.check("temperature_c", hottest)?;
    }
    let first = || before.iter().zip(time_s.first());
    if !first().any(|(before, now)| now < before) && never_falls(time_s) {
        return Ok(());
    }
    let steps = time_s.iter().zip(time_s.get(1..).unwrap_or_default());
    match first().chain(steps).find(|(before, now)| now < before) {
        None => Ok(()),
        Some((before, &now)) => Err(Error::invalid(
            ID,
            "time_s",
            (now, "s"),
            format!("comes after {before} s: time runs backwards"),
            "Sort by elapsed time, not by clock text; a clock that jumps must be mended first",
        )),
    }
}

fn refuse_nan(argument: &'static str, unit: &'static str, value: f64) -> Result<()> {
    if value.is_nan() { Err(invalid(argument, unit, value, "is missing inside a history")) } else { Ok(()) }
}

fn invalid(argument: &'static str, unit: &'static str, value: f64, why: &'static str) -> Error {
    Error::invalid(ID, argument, (value, unit), why, "Leave the sample out, or say how the hole is to be filled")
}

/// The history of flat holds, one after another, each a stretch of its own.
///
/// # Errors
/// [`Error::InvalidValue`] for times that are not positive, temperatures at or below absolute zero, or NaN.
pub fn combine(holds: &[(Temperature, HoldTime)], mut start: History) -> Result<History> {
    for &(temperature, time) in holds {
        check_time(ID, "time_h", time.hours())?;
        not_swapped(temperature, time)?;
        start.hold(temperature, time.hours() * 3600.0)?;
        start.mark(format!("{} °C for {} h", temperature.celsius(), time.hours()));
    }
    Ok(start)
}

/// Refuses a hold whose two numbers look like each other's: as many hours as an oven has degrees, at no tempering heat.
fn not_swapped(temperature: Temperature, time: HoldTime) -> Result<()> {
    const COLDEST_TEMPER_C: f64 = 60.0;
    if temperature.celsius() < COLDEST_TEMPER_C && time.hours() > COLDEST_TEMPER_C {
        return Err(Error::invalid(
            ID,
            "time_h",
            (time.hours(), "h"),
            format!("at {} °C looks like a temperature in the time's place", temperature.celsius()),
            "A hold is (temperature_c, time_h), as in (200, 2): is it the other way round?",
        ));
    }
    Ok(())
}
