//! A survey of an oven's evenness: extremes in place and time, spread of the means, the control sensor's offset.

mod columns;
mod limits;
mod received;

pub use columns::{SurveyColumn, survey_columns};
pub use limits::PublishedLimit;
pub use received::OvenNeeded;

use serde::{Deserialize, Serialize};

use super::log::Correction;
use super::received::unstated_sensor_delta_c;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, root_sum_of_squares};

/// What survey rules ask for as the shortest steady time (AMS2750, as quoted in trade texts).
const ASKED_MIN: f64 = 30.0;
/// How long an oven is left to settle before, where nobody says from when on it was steady (judgement).
const SETTLING_MIN: f64 = 15.0;
/// And the longest interval between readings (AMS2750, from memory).
const LONGEST_INTERVAL_S: f64 = 120.0;
/// The least number of sensors that any rule names for a working zone with corners and centre.
const LEAST_SENSORS: usize = 5;

/// One place of the survey, over the steady time, corrected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SurveyPlace {
    /// The sensor's name.
    pub name: String,
    /// Mean in °C.
    pub mean_c: f64,
    /// Mean less set point, °C.
    pub offset_delta_c: f64,
    /// Lowest sample, °C.
    pub low_c: f64,
    /// Highest sample, °C.
    pub high_c: f64,
    /// Highest less lowest: how unsteady the place is in time, °C.
    pub stability_delta_c: f64,
    /// One standard uncertainty of the sensor's correction, °C; of a sensor without one, its tolerance's.
    pub u_delta_c: f64,
    /// What was added to the readings, °C.
    pub correction_delta_c: f64,
    /// Readings used.
    pub readings: usize,
}

/// A single sample that lies farthest from the set point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Extreme {
    /// The sensor.
    pub place: String,
    /// When, in elapsed seconds.
    pub at_s: f64,
    /// Sample less set point, °C.
    pub delta_c: f64,
}

/// What a survey found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Survey {
    /// The set point, °C.
    pub setpoint_c: f64,
    /// First and last second of the steady time.
    pub from_s: f64,
    /// See [`Survey::from_s`].
    pub until_s: f64,
    /// The places, in the order of the columns.
    pub places: Vec<SurveyPlace>,
    /// Mean of the places' means.
    pub mean: Estimate,
    /// Highest sample in place and time.
    pub above: Extreme,
    /// Lowest sample in place and time.
    pub below: Extreme,
    /// Highest sample of the whole record, heating up included.
    pub highest_ever: Extreme,
    /// The largest difference between places at one instant, °C, and when.
    pub spread_at_once_delta_c: f64,
    /// See [`Survey::spread_at_once_delta_c`].
    pub spread_at_once_s: f64,
    /// The control sensor's mean less the mean of the places, °C, where the record has it.
    pub control_offset_delta_c: Option<f64>,
    /// Published limits beside the largest deviation from the set point.
    pub limits: Vec<PublishedLimit>,
    /// What must be known.
    pub notes: Vec<String>,
    pub(super) seconds: Vec<f64>,
    pub(super) traces: Vec<Vec<f64>>,
}

/// What a survey may be told.
#[derive(Debug, Clone, Default)]
pub struct SurveyOptions {
    /// What to add to a sensor's readings, by its name.
    pub corrections: Vec<(String, Correction)>,
    /// The steady time; without it the last 30 minutes of the record, of one under 45 minutes the second half.
    pub from_s: Option<f64>,
    /// See [`SurveyOptions::from_s`].
    pub until_s: Option<f64>,
    /// The control sensor's column; without it the one whose heading says so.
    pub control: Option<String>,
    /// Room temperature for limits that are shares of the rise above it; 20 °C without it.
    pub room_c: Option<f64>,
}

fn invalid(argument: &'static str, value: f64, unit: &'static str, why: String, hint: &'static str) -> Error {
    Error::invalid("oven.survey", argument, (value, unit), why, hint)
}

/// Analyses a survey from its columns.
///
/// # Errors
/// [`Error::DataFile`] for columns that are no survey, [`Error::UnknownName`] for corrections of sensors that there are
/// not, [`Error::InvalidValue`] for a set point or a time that can't be.
///
/// ```
/// use afterquench::oven::{SurveyColumn, SurveyOptions, survey};
/// let column = |name: &str, values: &[f64]| SurveyColumn { name: name.into(), values: values.to_vec() };
/// let columns = [
///     column("elapsed_s", &[0.0, 60.0, 120.0, 180.0]),
///     column("s1_degc", &[199.0, 200.0, 201.0, 200.0]),
///     column("s2_degc", &[203.0, 204.0, 205.0, 204.0]),
/// ];
/// let found = survey(&columns, 200.0, &SurveyOptions { from_s: Some(0.0), ..SurveyOptions::default() }).unwrap();
/// assert_eq!((found.above.delta_c, found.below.delta_c), (5.0, -1.0));
/// ```
pub fn survey(columns: &[SurveyColumn], setpoint_c: f64, options: &SurveyOptions) -> Result<Survey> {
    if !(setpoint_c.is_finite() && setpoint_c > -200.0) {
        return Err(invalid("setpoint_c", setpoint_c, "°C", "is no set point".to_owned(), "Give it in °C"));
    }
    for (name, correction) in &options.corrections {
        correction.check("oven.survey", name)?;
    }
    let read = columns::read(columns, options, setpoint_c)?;
    let (first, last) = read.span();
    let until_s = options.until_s.unwrap_or(last);
    let from_s = options.from_s.unwrap_or_else(|| {
        let asked = until_s - ASKED_MIN * 60.0;
        if asked - first >= SETTLING_MIN * 60.0 { asked } else { 0.5 * (first + until_s) }
    });
    let inside = |time: f64| (from_s..=until_s).contains(&time);
    let rows: Vec<usize> =
        (0..read.seconds.len()).filter(|&i| read.seconds.get(i).is_some_and(|&t| inside(t))).collect();
    if rows.len() < 2 {
        let why = format!("to {until_s} s holds {} reading(s) of a record from {first} to {last} s", rows.len());
        return Err(invalid("from_s", from_s, "s", why, "Choose a steady time inside the record"));
    }
    let take =
        |values: &[f64]| -> Vec<f64> { rows.iter().map(|&row| values.get(row).copied().unwrap_or(f64::NAN)).collect() };
    let seconds = take(&read.seconds);
    let mut notes = read.notes.clone();
    if options.from_s.is_none() {
        notes.push(format!(
            "no from_s was given: the last {:.0} of {:.0} min were taken as the steady time",
            (until_s - from_s) / 60.0,
            (last - first) / 60.0
        ));
    }
    let (mut places, mut traces, mut whole) = (Vec::new(), Vec::new(), Vec::new());
    for sensor in &read.sensors {
        let trace = take(&sensor.values);
        let good: Vec<f64> = trace.iter().copied().filter(|value| value.is_finite()).collect();
        if good.is_empty() {
            notes.push(format!("{} has no reading in the steady time and is left out: a failed sensor", sensor.name));
            continue;
        }
        if good.len() < trace.len() {
            notes.push(format!("{} lacks {} of {} readings", sensor.name, trace.len() - good.len(), trace.len()));
        }
        let mean_c = good.iter().sum::<f64>() / good.len() as f64;
        let low_c = good.iter().copied().fold(f64::INFINITY, f64::min);
        let high_c = good.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        places.push(SurveyPlace {
            name: sensor.name.clone(),
            mean_c,
            offset_delta_c: mean_c - setpoint_c,
            low_c,
            high_c,
            stability_delta_c: high_c - low_c,
            u_delta_c: sensor
                .correction
                .map_or_else(|| unstated_sensor_delta_c(mean_c) / 3f64.sqrt(), |correction| correction.u_delta_c),
            correction_delta_c: sensor.correction.map_or(0.0, |correction| correction.value_delta_c),
            readings: good.len(),
        });
        traces.push(trace);
        whole.push(sensor.values.as_slice());
    }
    let names: Vec<&str> = places.iter().map(|place| place.name.as_str()).collect();
    let (Some(above), Some(below), Some(highest_ever)) = (
        extreme(&names, &seconds, traces.iter().map(Vec::as_slice), setpoint_c, 1.0),
        extreme(&names, &seconds, traces.iter().map(Vec::as_slice), setpoint_c, -1.0),
        extreme(&names, &read.seconds, whole.iter().copied(), setpoint_c, 1.0),
    ) else {
        let hint = "Check that the columns hold numbers";
        return Err(invalid("frame", f64::NAN, "", "holds no reading in the steady time".to_owned(), hint));
    };
    let count = places.len() as f64;
    let mean_c = places.iter().map(|place| place.mean_c).sum::<f64>() / count;
    let u_mean = root_sum_of_squares(places.iter().map(|place| place.u_delta_c)) / count;
    let mean = Estimate::new(mean_c, "°C")
        .with("sensor corrections", u_mean)
        .assuming(format!("{} points stand for the whole zone: they do not see wall and shelf edge", places.len()))
        .assuming("the corrections' uncertainties are independent; one reference for all would not average out");
    let (spread_at_once_delta_c, spread_at_once_s) = spread_at_once(&seconds, &traces);
    let control_offset_delta_c = read.control.as_ref().and_then(|control| {
        let good: Vec<f64> = take(&control.values).into_iter().filter(|value| value.is_finite()).collect();
        (!good.is_empty()).then(|| good.iter().sum::<f64>() / good.len() as f64 - mean_c)
    });
    let limits = limits::beside(above.delta_c.max(-below.delta_c), setpoint_c, options.room_c.unwrap_or(20.0))?;
    notes.extend(shortcomings(&seconds, places.len(), options.corrections.is_empty()));
    Ok(Survey {
        setpoint_c,
        from_s: seconds.first().copied().unwrap_or(from_s),
        until_s: seconds.last().copied().unwrap_or(until_s),
        places,
        mean,
        above,
        below,
        highest_ever,
        spread_at_once_delta_c,
        spread_at_once_s,
        control_offset_delta_c,
        limits,
        notes,
        seconds,
        traces,
    })
}

/// The sample farthest above the set point, or with `sign` -1 below it.
fn extreme<'a>(
    names: &[&str],
    seconds: &[f64],
    traces: impl Iterator<Item = &'a [f64]>,
    setpoint_c: f64,
    sign: f64,
) -> Option<Extreme> {
    let mut found: Option<Extreme> = None;
    for (name, trace) in names.iter().zip(traces) {
        for (&at_s, &celsius) in seconds.iter().zip(trace).filter(|(_, celsius)| celsius.is_finite()) {
            let delta_c = celsius - setpoint_c;
            if found.as_ref().is_none_or(|known| sign * delta_c > sign * known.delta_c) {
                found = Some(Extreme { place: (*name).to_owned(), at_s, delta_c });
            }
        }
    }
    found
}

/// The largest difference between places at one instant, and when.
fn spread_at_once(seconds: &[f64], traces: &[Vec<f64>]) -> (f64, f64) {
    let mut found = (f64::NAN, f64::NAN);
    for (row, &time) in seconds.iter().enumerate() {
        let now = traces.iter().filter_map(|trace| trace.get(row)).filter(|value| value.is_finite());
        let (low, high) =
            now.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &value| (low.min(value), high.max(value)));
        if high >= low && (found.0.is_nan() || high - low > found.0) {
            found = (high - low, time);
        }
    }
    found
}

/// What survey rules ask for and this survey does not have.
fn shortcomings(seconds: &[f64], sensors: usize, uncorrected: bool) -> Vec<String> {
    let mut notes = Vec::new();
    let minutes = (seconds.last().unwrap_or(&0.0) - seconds.first().unwrap_or(&0.0)) / 60.0;
    if minutes < ASKED_MIN - 1e-9 {
        notes.push(format!(
            "{minutes:.0} min of steady time is shorter than the {ASKED_MIN:.0} min that survey rules ask for (AMS2750)"
        ));
    }
    let longest = seconds.windows(2).map(|pair| pair.iter().rev().fold(0.0, |a, b| b - a).abs()).fold(0.0, f64::max);
    if longest > LONGEST_INTERVAL_S {
        notes.push(format!(
            "readings are up to {longest:.0} s apart; survey rules ask for {LONGEST_INTERVAL_S:.0} s (AMS2750, from memory)"
        ));
    }
    if sensors < LEAST_SENSORS {
        notes.push(format!(
            "{sensors} sensor(s): survey rules ask for {LEAST_SENSORS} in the smallest zone, corners and centre, and 9 above 0.085 m3"
        ));
    }
    if uncorrected {
        notes.push(
            "no sensor corrections were given: the differences between sensors are in the answer, each taken to be within \
             the tolerance of class 1"
                .to_owned(),
        );
    }
    notes.push(
        "limits stand beside the numbers found; a class needs the standard's own procedure, instruments and sensors"
            .to_owned(),
    );
    notes
}

impl Survey {
    fn by_mean(&self, better: impl Fn(f64, f64) -> bool) -> &SurveyPlace {
        let mut found = &self.places[0];
        for place in &self.places {
            if better(place.mean_c, found.mean_c) {
                found = place;
            }
        }
        found
    }

    /// The place with the lowest mean.
    #[must_use]
    pub fn coldest(&self) -> &SurveyPlace {
        self.by_mean(|a, b| a < b)
    }

    /// The place with the highest mean.
    #[must_use]
    pub fn hottest(&self) -> &SurveyPlace {
        self.by_mean(|a, b| a > b)
    }

    /// Highest mean less lowest mean, °C.
    #[must_use]
    pub fn spread_of_means_delta_c(&self) -> Estimate {
        let (cold, hot) = (self.coldest(), self.hottest());
        Estimate::new(hot.mean_c - cold.mean_c, "°C").with("sensor corrections", cold.u_delta_c.hypot(hot.u_delta_c))
    }

    /// Names of the places, nearest to the set point first: where to put the part.
    #[must_use]
    pub fn best_places(&self) -> Vec<&str> {
        let mut order: Vec<&SurveyPlace> = self.places.iter().collect();
        order.sort_by(|a, b| a.offset_delta_c.abs().total_cmp(&b.offset_delta_c.abs()));
        order.into_iter().map(|place| place.name.as_str()).collect()
    }

    /// What to add to the setting so that the coldest and the hottest mean lie evenly about the set point, °C.
    #[must_use]
    pub fn setting_change_delta_c(&self) -> f64 {
        self.setpoint_c - 0.5 * (self.coldest().mean_c + self.hottest().mean_c)
    }
}
